//! A corner held to the camera after six faces.

use super::*;
use crate::reader::session::testing::corner_of;

fn show_corner(stage: &mut Stage, view: &View) {
    let seen = SeenPhoto {
        views: vec![view.clone()],
    };
    // Longer than it takes to read a face: what was said stays while the corner is held.
    for _ in 0..20 {
        stage.see(&seen);
    }
    stage.wait(Duration::from_secs(1));
}

#[test]
fn a_corner_tells_how_plain_faces_lie() {
    let mut stage = Stage::new(Mode::Learner, 4, "R");
    stage.certainty = Certainty::FacesOnly;
    stage.show_all();
    let corner = corner_of(&stage.state);
    // Where one corner leaves it open, the other is asked for, once.
    show_corner(&mut stage, &corner);
    assert!(
        stage.says().contains("the opposite corner"),
        "{}",
        stage.says()
    );
    show_corner(&mut stage, &corner);
    assert!(
        stage.says().starts_with("If all six faces"),
        "{}",
        stage.says()
    );
    stage.unmade = Some(Unmade::NoCube);
    show_corner(&mut stage, &corner);
    assert!(
        stage.says().starts_with("This corner does not fit"),
        "{}",
        stage.says()
    );
    assert_eq!(stage.standing(), "answered");
    stage.unmade = None;
    stage.certainty = Certainty::Certain;
    // After a turn the faces held are others, whatever they could be pieced together to.
    let turned = Sequence::for_order("U", 4).unwrap();
    let later = corner_of(&stage.state.after(&turned.0));
    show_corner(&mut stage, &later);
    assert!(
        stage.says().starts_with("This corner does not fit"),
        "{}",
        stage.says()
    );
    show_corner(&mut stage, &corner);
    let known = "Now I know how the faces lie. ";
    assert!(stage.says().starts_with(known), "{}", stage.says());
    assert!(!stage.session.wants_corner());
    assert_eq!(stage.session.scene().caution, None);
    // Three faces at once tell nothing more, and are followed as any others.
    show_corner(&mut stage, &corner);
    assert!(!stage.says().contains("corner"), "{}", stage.says());
}

/// Without a piecing together that is made up: one turn from solved single faces leave it open, a corner does not.
#[test]
fn a_corner_settles_the_very_cube() {
    let moves = Sequence::for_order("U", 3).unwrap();
    let state = State::solved(3).after(&moves.0);
    let calibration = Calibration::built_in().unwrap();
    let job = |corners| Job {
        number: 0,
        faces: Face::ALL
            .into_iter()
            .zip([0, 3, 1, 2, 2, 1])
            .map(|(face, quarters)| painted(&state, face, quarters, Light::DAY))
            .collect(),
        corners,
    };
    let open = job(Vec::new()).run(&calibration).unwrap();
    assert_eq!(open.certainty, Certainty::FacesOnly);
    let settled = job(vec![corner_of(&state)]).run(&calibration).unwrap();
    assert_eq!(settled.certainty, Certainty::Certain);
    let truth = Colouring::painted(&state, Scheme::COMMON);
    assert_eq!(settled.colouring.stickers(), truth.stickers());
}
