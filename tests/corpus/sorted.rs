//! Photos of many cubes thrown together: what is sorted out as a cube shows one cube.

use crate::simulated::{Dice, Light, photographed, usual_paints};
use sixfold::assemble::{assemble, glance};
use sixfold::calibration::Calibration;
use sixfold::cube::{Face, Move, Quarter, State};
use sixfold::reader::sorting::{Judge, sort_out};
use sixfold::sight::SeenPhoto;

/// Cubes whose centres and edge groups are whole: their faces have most stickers in common.
fn reduced(dice: &mut Dice, n: usize) -> State {
    let mut state = State::solved(n);
    for _ in 0..40 {
        state.turn(Move::Block {
            face: Face::ALL[dice.below(6)],
            layers: 1,
            quarter: Quarter::ALL[dice.below(3)],
        });
    }
    state
}

/// Photos of so many cubes, so many of each, shuffled; with each the cube it is of.
fn thrown_together(
    dice: &mut Dice,
    calibration: &Calibration,
    cubes: usize,
    photos: usize,
) -> Vec<(usize, SeenPhoto)> {
    let mut all = Vec::new();
    for cube in 0..cubes {
        let state = reduced(dice, 6);
        let paints = usual_paints(dice, calibration);
        let scene = photographed(dice, state, paints, Light::Normal);
        all.extend(
            scene
                .photos
                .into_iter()
                .take(photos)
                .map(|photo| (cube, photo)),
        );
    }
    for last in (1..all.len()).rev() {
        all.swap(last, dice.below(last + 1));
    }
    all
}

/// The cubes sorted out, each as the cubes its photos are of.
fn sorted(calibration: &Calibration, photos: &[(usize, SeenPhoto)]) -> Vec<Vec<usize>> {
    let seen: Vec<&SeenPhoto> = photos.iter().map(|(_, photo)| photo).collect();
    let judge = Judge {
        glance: &|sets| {
            let sets = sets.iter();
            sets.map(|set| Some(glance(calibration, set).ok()?.over_faces))
                .collect()
        },
        judge: &|sets| {
            let sets = sets.iter();
            sets.map(|set| assemble(calibration, set).ok()).collect()
        },
    };
    let cubes = sort_out(calibration, &seen, judge).cubes.into_iter();
    let of = |company: &Vec<usize>| company.iter().map(|&photo| photos[photo].0).collect();
    cubes.map(|company| of(&company.photos)).collect()
}

#[test]
fn whole_cubes_at_one_stage_are_sorted_out() {
    let calibration = Calibration::built_in().unwrap();
    let mut dice = Dice::nth(11, 0);
    let photos = thrown_together(&mut dice, &calibration, 5, 6);
    let mut cubes = sorted(&calibration, &photos);
    cubes.sort();
    let whole: Vec<Vec<usize>> = (0..5).map(|cube| vec![cube; 6]).collect();
    assert_eq!(cubes, whole);
}

/// Of each a face is missing: what the photos of several have in common makes no cube of them.
#[test]
fn cubes_at_one_stage_are_not_mixed() {
    let calibration = Calibration::built_in().unwrap();
    for index in 0..4 {
        let mut dice = Dice::nth(12, index);
        let photos = thrown_together(&mut dice, &calibration, 5, 5);
        let cubes = sorted(&calibration, &photos);
        assert!(cubes.is_empty(), "{index}: {cubes:?}");
    }
}
