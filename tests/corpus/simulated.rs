//! Made-up photographs by the thousand: painted faces through a simulated camera, and the fixtures' own patches in another
//! light. They say how far the stated confidence can be trusted.

use crate::photos::Cube;
use image::{Rgb, RgbImage};
use sixfold::calibration::{Calibration, Shade, ShadeSet};
use sixfold::colour::Linear;
use sixfold::cube::{Face, Layout, Move, Quarter, State};
use sixfold::geometry::{Point, Quad};
use sixfold::sight::{Patch, Photo, SeenFace, SeenPhoto, View, face_at};

/// Numbers that look random and are the same every time (`SplitMix64`).
pub struct Dice(pub u64);

impl Dice {
    /// The numbers of the `index`th set of a series.
    pub fn nth(series: u64, index: usize) -> Self {
        let mut dice = Self(series << 32 | index as u64);
        Self(dice.next())
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// Evenly from 0 to 1.
    pub fn even(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Evenly between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.even()
    }

    /// Normally, about 0 with standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.even()).sum::<f64>() - 6.0
    }

    /// One of so many.
    pub fn below(&mut self, count: usize) -> usize {
        (self.next() % count as u64) as usize
    }

    /// Whether something of this probability happens.
    pub fn happens(&mut self, probability: f64) -> bool {
        self.even() < probability
    }
}

/// How hard the light is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Light {
    Easy,
    Normal,
    Hard,
}

impl Light {
    pub const ALL: [Self; 3] = [Self::Easy, Self::Normal, Self::Hard];

    const fn force(self) -> f64 {
        match self {
            Self::Easy => 0.35,
            Self::Normal => 0.7,
            Self::Hard => 1.2,
        }
    }
}

/// A made-up cube with its photographs.
pub struct Scene {
    /// The stickers by their home faces; any word would do, the scheme being the shades'.
    pub state: State,
    pub photos: Vec<SeenPhoto>,
}

/// A cube as it may come: most legal, some not; most mixed, some nearly done.
pub fn any_state(dice: &mut Dice, n: usize) -> State {
    let mut state = State::solved(n);
    let all_layers = dice.happens(0.6);
    let moves = if dice.happens(0.08) {
        dice.below(3)
    } else {
        20 + 10 * n
    };
    for _ in 0..moves {
        let layers = if all_layers && n > 2 {
            1 + dice.below(n - 1)
        } else {
            1
        };
        let face = Face::ALL[dice.below(6)];
        let quarter = Quarter::ALL[dice.below(3)];
        state.turn(Move::Block {
            face,
            layers,
            quarter,
        });
    }
    let layout = Layout::of(n);
    if dice.happens(0.06) {
        let places = layout.corners[dice.below(8)].places.map(usize::from);
        let held = places.map(|place| state.at(place));
        for k in 0..3 {
            state.set(places[(k + 1) % 3], held[k]);
        }
    } else if n > 3 && dice.happens(0.04) {
        let orbit = &layout.wing_orbits[dice.below(layout.wing_orbits.len())];
        exchange(
            &mut state,
            orbit.wings[dice.below(24)].places.map(usize::from),
        );
    } else if dice.happens(0.04) {
        let places = [dice.below(layout.places()), dice.below(layout.places())];
        exchange(&mut state, places);
    }
    state
}

pub fn exchange(state: &mut State, [one, other]: [usize; 2]) {
    let held = state.at(one);
    state.set(one, state.at(other));
    state.set(other, held);
}

/// Paints of a kind of cube, on the usual scheme or now and then the other way round.
pub fn any_paints(dice: &mut Dice, calibration: &Calibration) -> [[f64; 3]; 6] {
    let mut paints = usual_paints(dice, calibration);
    if dice.happens(0.05) {
        paints.swap(1, 4);
    }
    paints
}

/// Paints of a kind of cube on the usual scheme.
pub fn usual_paints(dice: &mut Dice, calibration: &Calibration) -> [[f64; 3]; 6] {
    let mut rest = dice.even();
    let set = calibration.shade_sets.iter().find(|set| {
        rest -= set.share;
        rest < 0.0
    });
    paints_of(dice, set.unwrap_or(&calibration.shade_sets[0]))
}

/// Paints of a cube of this kind on the usual scheme.
pub fn paints_of(dice: &mut Dice, set: &ShadeSet) -> [[f64; 3]; 6] {
    let mut paint = |shade: &Shade| {
        let drawn: [f64; 3] = std::array::from_fn(|k| {
            let spread = shade.spread[k].min(0.25);
            ((shade.linear[k] + 0.04).ln() + spread * dice.normal()).exp() - 0.04
        });
        drawn.map(|channel| channel.clamp(0.002, 0.95))
    };
    set.shades.each_ref().map(&mut paint)
}

/// One photo's camera and light.
struct Camera {
    gain: [f64; 3],
    veil: f64,
    slope: [f64; 2],
    unevenness: f64,
    saturation: f64,
    contrast: f64,
    noise: f64,
    /// Middle, reach and strength of the image of a lamp, in faces.
    lamp: Option<[f64; 4]>,
}

impl Camera {
    fn any(dice: &mut Dice, light: Light) -> Self {
        let force = light.force();
        let exposure = 0.9 * (0.45 * force * dice.normal()).exp();
        let warmth = 0.22 * force * dice.normal();
        let tint = [warmth, 0.04 * force * dice.normal(), -warmth];
        Self {
            gain: tint.map(|tint| exposure * (tint + 0.03 * force * dice.normal()).exp()),
            veil: (0.04 * force * dice.even()).powi(2) * 25.0,
            slope: [0.3 * force * dice.normal(), 0.3 * force * dice.normal()],
            unevenness: 0.06 * force,
            saturation: 1.0 + 0.25 * force * dice.even(),
            contrast: 0.4 * force * dice.even(),
            noise: 0.015 * force,
            lamp: dice.happens(0.45 * force).then(|| {
                [
                    dice.even(),
                    dice.even(),
                    dice.between(0.08, 0.3),
                    dice.between(0.1, 1.6) * force,
                ]
            }),
        }
    }

    /// The eight-bit pixel of a paint at a point of the face, x and y running from 0 to 1.
    fn pixel(&self, dice: &mut Dice, paint: [f64; 3], shade: f64, x: f64, y: f64) -> [u8; 3] {
        let slope = (self.slope[0] * (x - 0.5) + self.slope[1] * (y - 0.5)).exp();
        let glare = self.lamp.map_or(0.0, |[u, v, reach, strength]| {
            strength * (-((x - u).powi(2) + (y - v).powi(2)) / (2.0 * reach * reach)).exp()
        });
        let raw: [f64; 3] = std::array::from_fn(|k| {
            let lit = self.gain[k] * (paint[k] * shade * slope + glare) + self.veil;
            lit + self.noise * lit.max(0.02).sqrt() * dice.normal()
        });
        let raw = raw.map(|channel| channel.clamp(0.0, 1.0));
        let grey = raw.iter().sum::<f64>() / 3.0;
        raw.map(|channel| {
            let vivid = (grey + self.saturation * (channel - grey)).clamp(0.0, 1.0);
            let coded = if vivid <= 0.003_130_8 {
                12.92 * vivid
            } else {
                1.055 * vivid.powf(1.0 / 2.4) - 0.055
            };
            let curved = coded + self.contrast * (coded - 0.5) * coded * (1.0 - coded) * 2.0;
            (curved.clamp(0.0, 1.0) * 255.0).round() as u8
        })
    }
}

/// A cube of order `n` photographed face by face, in any order and any way up.
pub fn scene(dice: &mut Dice, calibration: &Calibration, n: usize, light: Light) -> Scene {
    let state = any_state(dice, n);
    let paints = any_paints(dice, calibration);
    photographed(dice, state, paints, light)
}

/// A cube in these paints photographed face by face, in any order and any way up.
pub fn photographed(dice: &mut Dice, state: State, paints: [[f64; 3]; 6], light: Light) -> Scene {
    let mut order: Vec<Face> = Face::ALL.to_vec();
    for last in (1..6).rev() {
        order.swap(last, dice.below(last + 1));
    }
    let photos = order
        .into_iter()
        .map(|face| shot(dice, &state, &paints, face, light))
        .collect();
    Scene { state, photos }
}

/// One face photographed, any way up.
pub fn shot(
    dice: &mut Dice,
    state: &State,
    paints: &[[f64; 3]; 6],
    face: Face,
    light: Light,
) -> SeenPhoto {
    let n = state.n();
    let turns = dice.below(4);
    let cells: Vec<[f64; 3]> = (0..n * n)
        .map(|cell| {
            let place = face.index() * n * n + turned(n, cell, turns);
            paints[state.at(place).index()]
        })
        .collect();
    photo(dice, &cells, n, light)
}

/// The cell of a face that lies at `cell` of its picture when it was turned.
pub fn turned(n: usize, cell: usize, turns: usize) -> usize {
    let (mut row, mut col) = (cell / n, cell % n);
    for _ in 0..turns {
        (row, col) = (col, n - 1 - row);
    }
    row * n + col
}

fn photo(dice: &mut Dice, paints: &[[f64; 3]], n: usize, light: Light) -> SeenPhoto {
    const SIDE_PX: usize = 10;
    let camera = Camera::any(dice, light);
    let spoilt = 0.004 * light.force();
    let size = (n * SIDE_PX) as u32;
    let mut picture = RgbImage::new(size, size);
    for (cell, paint) in paints.iter().enumerate() {
        let shade = (camera.unevenness * dice.normal()).exp();
        // Now and then something else shows: a thumb, a missing sticker, an emblem.
        let cover = dice.happens(spoilt).then(|| {
            let other = [[0.02; 3], [0.8; 3], [0.4, 0.25, 0.18]][dice.below(3)];
            (other, dice.between(0.3, 1.0))
        });
        for at in 0..SIDE_PX * SIDE_PX {
            let (row, col) = (
                cell / n * SIDE_PX + at / SIDE_PX,
                cell % n * SIDE_PX + at % SIDE_PX,
            );
            let seen = match cover {
                Some((other, part)) if (at % SIDE_PX) as f64 <= part * SIDE_PX as f64 => other,
                _ => *paint,
            };
            let (x, y) = (col as f64 / f64::from(size), row as f64 / f64::from(size));
            let pixel = camera.pixel(dice, seen, shade, x, y);
            picture.put_pixel(col as u32, row as u32, Rgb(pixel));
        }
    }
    let far = f64::from(size);
    let corners = [(0.0, 0.0), (far, 0.0), (far, far), (0.0, far)];
    let quad = Quad(corners.map(|(x, y)| Point::new(x, y)));
    let face = face_at(&Photo::from(picture), quad, n).unwrap();
    one_face(face)
}

fn one_face(face: SeenFace) -> SeenPhoto {
    let view = View {
        faces: vec![face],
        joins: Vec::new(),
    };
    SeenPhoto { views: vec![view] }
}

/// The photographs of a cube in another light: each exposed anew, tinted, with noise and the image of a lamp.
pub fn relit(dice: &mut Dice, seen: &[SeenPhoto], light: Light) -> Vec<SeenPhoto> {
    let force = light.force();
    seen.iter()
        .map(|photo| {
            let mut photo = photo.clone();
            let exposure = (0.35 * force * dice.normal()).exp();
            let warmth = 0.12 * force * dice.normal();
            let gain = [warmth, 0.03 * dice.normal(), -warmth].map(|tint| exposure * tint.exp());
            for face in photo.views.iter_mut().flat_map(|view| &mut view.faces) {
                let lamp = dice.happens(0.3 * force).then(|| {
                    [
                        dice.even(),
                        dice.even(),
                        dice.between(0.1, 0.3),
                        dice.between(0.1, 1.0),
                    ]
                });
                let n = face.n;
                for (cell, patch) in face.patches.iter_mut().enumerate() {
                    let (x, y) = ((cell % n) as f64 / n as f64, (cell / n) as f64 / n as f64);
                    let glare = lamp.map_or(0.0, |[u, v, reach, strength]| {
                        let away = (x - u).powi(2) + (y - v).powi(2);
                        force * strength * (-away / (2.0 * reach * reach)).exp()
                    });
                    relight(dice, patch, gain, glare, force);
                }
            }
            photo
        })
        .collect()
}

fn relight(dice: &mut Dice, patch: &mut Patch, gain: [f64; 3], glare: f64, force: f64) {
    let linear = [patch.linear.red, patch.linear.green, patch.linear.blue];
    let shade = (0.05 * force * dice.normal()).exp();
    let lit: [f64; 3] = std::array::from_fn(|k| {
        let noise = 1.0 + 0.04 * force * dice.normal();
        gain[k] * (f64::from(linear[k]) * shade * noise + glare) + 0.002 * force * dice.normal()
    });
    for k in 0..3 {
        if lit[k] >= 0.99 {
            patch.clipped[k] = 1.0;
        } else if gain[k] < 0.9 && patch.clipped[k] > 0.0 {
            // What was lost at the sensor's end does not come back.
            patch.clipped[k] = 1.0;
        }
        patch.spread[k] *= gain[k] as f32;
    }
    if lit.iter().all(|&channel| channel >= 0.99) {
        patch.glare = 1.0;
    }
    let [red, green, blue] = lit.map(|channel| channel.clamp(0.0, 1.0) as f32);
    patch.linear = Linear::new(red, green, blue);
}

/// How stated confidence and truth agree.
#[derive(Default)]
pub struct Reliability {
    bins: [(usize, usize, f64); 7],
}

impl Reliability {
    const EDGES: [f64; 7] = [0.0, 0.5, 0.9, 0.99, 0.999, 0.9999, 0.99999];

    pub fn add(&mut self, confidence: f64, is_right: bool) {
        let at = Self::EDGES.iter().rposition(|&edge| confidence >= edge);
        let bin = &mut self.bins[at.unwrap_or(0)];
        bin.0 += 1;
        bin.1 += usize::from(is_right);
        bin.2 += confidence;
    }

    /// Readings told as certain, and how many of them were wrong.
    pub fn told(&self) -> (usize, usize) {
        let told = &self.bins[3..];
        let count = told.iter().map(|bin| bin.0).sum();
        (count, count - told.iter().map(|bin| bin.1).sum::<usize>())
    }

    /// The table of it, a line a bin.
    pub fn lines(&self) -> Vec<String> {
        let head = format!(
            "{:>10}{:>8}{:>8}{:>12}{:>12}",
            "from", "sets", "wrong", "stated", "observed"
        );
        let rows = Self::EDGES.iter().zip(&self.bins);
        let lines = rows.filter(|(_, bin)| bin.0 > 0).map(|(edge, bin)| {
            let &(count, right, sum) = bin;
            let (stated, observed) = (sum / count as f64, right as f64 / count as f64);
            format!(
                "{edge:>10}{count:>8}{:>8}{stated:>12.5}{observed:>12.5}",
                count - right
            )
        });
        std::iter::once(head).chain(lines).collect()
    }
}

/// How many of the stickers read agree with a scene.
pub fn agreement(scene: &Scene, read: &[&str]) -> usize {
    agreement_with(&scene.state, read)
}

/// How many of the stickers read agree with a cube.
pub fn agreement_with(state: &State, read: &[&str]) -> usize {
    let words: Vec<String> = state.stickers().iter().map(ToString::to_string).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    Cube::agree(state.n(), &words, read)
}
