//! After the advice: where the learner has got to, and how to go on.

use super::follow::{Follow, Found, Progress, Slip};
use super::plan::Plan;
use super::{Answer, Mood, Session, Slot, Standing, Turning};
use crate::cube::State;
use crate::explain::spoken;
use crate::reader::{Colouring, examine};
use crate::sight::SeenFace;

impl Session {
    pub(super) fn followed(&mut self, found: Found, face: SeenFace, showing: u64) {
        match found {
            Found::Ask(turning) => {
                let words = format!("Let me see one more face. {}", turning.words());
                self.say(Mood::Ask, &words, Some(turning));
            }
            Found::Doubt => {
                let words = "I am not certain of this face. Take it away and show it once more, without glare or fingers";
                self.say(Mood::Doubt, words, Some(Turning::Same));
            }
            Found::Here(progress, state) => self.here(progress, state),
            Found::Lost => {
                self.start_over();
                self.slots.push(Slot::new(face, showing));
                self.walk.took(0);
                self.ask_next("Nothing I advised leads to this face, so I read the cube anew. ");
            }
        }
    }

    fn here(&mut self, progress: Progress, state: State) {
        let Standing::Answered(answer) = &mut self.standing else {
            return;
        };
        let Some(plan) = &answer.plan else {
            return;
        };
        let palette = answer.follow.as_ref().map(Follow::palette);
        let total = plan.moves.len();
        let next = plan.moves.get(progress.done).map(|&step| spoken(step));
        match (progress.slip, next) {
            (None, Some(next)) => {
                answer.done = progress.done;
                answer.follow =
                    palette.map(|palette| Follow::new(&plan.states[0], &plan.moves, palette));
                let words = match progress.done {
                    0 => format!("This is where the moves begin. {next}"),
                    done => format!("Right so far: {done} of {total} moves are done. Next: {next}"),
                };
                self.say(Mood::Answer, &words, None);
            }
            (None, None) => self.go_on("Well done. ", state),
            (Some(slip), _) => {
                let words = match slip {
                    Slip::Instead { at, made } => format!(
                        "At move {} there was a slip: you made {made}, and it should have been {}. We go on from here. ",
                        at + 1,
                        plan.moves[at]
                    ),
                    Slip::LeftOut { at } => format!(
                        "Move {}, {}, was left out. We go on from here. ",
                        at + 1,
                        plan.moves[at]
                    ),
                };
                self.go_on(&words, state);
            }
        }
    }

    /// Gives the next advice for a cube whose state is known without reading it anew.
    fn go_on(&mut self, before: &str, state: State) {
        let Some(pieced) = &mut self.pieced else {
            return;
        };
        let scheme = pieced.scheme;
        pieced.colouring = Colouring::painted(&state, scheme);
        pieced.doubts.clear();
        let Standing::Answered(answer) = &self.standing else {
            return;
        };
        let palette = answer.follow.as_ref().map(Follow::palette);
        let examination = examine(&state, scheme);
        let sentence = format!("{before}{}", examination.sentence());
        let advice = examination.advice.as_ref();
        let plan = advice.map(|advice| Plan::of(&state, advice));
        let follow = plan
            .as_ref()
            .zip(palette)
            .map(|(plan, palette)| Follow::new(&plan.states[0], &plan.moves, palette));
        self.examination = Some(examination);
        for slot in &mut self.slots {
            slot.fixed.clear();
        }
        self.say(Mood::Answer, &sentence, None);
        self.standing = Standing::Answered(Box::new(Answer {
            state,
            plan,
            follow,
            done: 0,
            is_followed: true,
        }));
    }
}
