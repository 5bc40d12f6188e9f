//! Which two colours may have been taken for each other in a face or two.

use super::colours::Colours;
use super::ring::rings;
use super::solve::Task;

/// Two classes exchanged in some faces.
pub(super) struct Exchange {
    pub faces: Vec<usize>,
    pub one: usize,
    pub other: usize,
    cost: f64,
}

/// The ways to exchange two classes in one or two faces that the light of the faces and the balance of the rings allow, the
/// likeliest first.
pub(super) fn exchanges(task: &Task, colours: &Colours) -> Vec<Exchange> {
    /// Beyond this cost, in nats, an exchange is not tried.
    const MOST: f64 = 60.0;
    /// So many stickers are exchanged, if they should be, by piecing the cube together.
    const FEW: f64 = 2.5;
    /// What each sticker too many of a class in a ring is taken to cost.
    const UNBALANCED: f64 = 4.0;
    let (ring_of, count) = rings(task.n);
    // More stickers of one class than of the other, by face and ring.
    let surplus = |face: usize, one: usize, other: usize| -> Vec<f64> {
        let mut sums = vec![0.0; count];
        for (cell, share) in colours.shares[face].iter().enumerate() {
            sums[ring_of[cell]] += share[one] - share[other];
        }
        sums
    };
    let mut found = Vec::new();
    for one in 0..6 {
        for other in 0..one {
            let single: Vec<(f64, Vec<f64>)> = (0..task.seen.len())
                .map(|face| {
                    let cost = colours.cost_of_exchange(face, one, other, &task.light);
                    (cost, surplus(face, one, other))
                })
                .collect();
            let mut consider = |faces: Vec<usize>| {
                let cost: f64 = faces.iter().map(|&face| single[face].0).sum();
                let unbalanced: f64 = (0..count)
                    .map(|ring| {
                        faces
                            .iter()
                            .map(|&face| single[face].1[ring])
                            .sum::<f64>()
                            .abs()
                    })
                    .sum();
                let moved: f64 = faces
                    .iter()
                    .flat_map(|&face| &colours.shares[face])
                    .map(|share| share[one] + share[other])
                    .sum();
                if moved > FEW && cost + UNBALANCED * unbalanced < MOST {
                    found.push(Exchange {
                        cost: cost + UNBALANCED * unbalanced,
                        faces,
                        one,
                        other,
                    });
                }
            };
            for face in 0..task.seen.len() {
                consider(vec![face]);
                for second in 0..face {
                    consider(vec![second, face]);
                }
            }
        }
    }
    found.sort_by(|one, other| one.cost.total_cmp(&other.cost));
    found
}
