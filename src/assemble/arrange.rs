//! Which seen face is which face of the cube, and which way up: a bounded search over soft scores.
//!
//! It trusts no single label: an edge scores by the chance that its two cells are a piece, a corner by the chance that
//! its three are, both against chance alone.

use super::evidence::{Block, Pose, Seen, beyond, corner_cell, side_cell};
use super::ring::Logs;
use super::scheme::Arrangement;
use crate::cube::{Face, Layout};

/// A way to lay the seen faces on the cube.
#[derive(Clone, Debug)]
pub(super) struct Laid {
    /// The arrangement of the colours, as an index.
    pub arrangement: usize,
    /// The seen faces lying on each face of the cube, in the order of [`Face::ALL`], with quarter turns.
    pub on: [Vec<(usize, u8)>; 6],
    /// The log-likelihood ratio against chance.
    pub score: f64,
    /// The part of it that is not of corners.
    pub edges: f64,
}

/// A laying in the making.
#[derive(Clone, Copy)]
struct Node {
    arrangement: u8,
    /// The seen face on each face that was laid first, with its quarter turns.
    on: [Option<(u8, u8)>; 6],
    /// The way each block lies, as an index into its poses.
    poses: [Option<u8>; MOST_BLOCKS],
    score: f64,
    edges: f64,
}

/// What the search needs at every step.
struct Search<'a> {
    n: usize,
    blocks: &'a [Block],
    arrangements: &'a [Arrangement],
    may_overlap: bool,
    /// Probabilities of the classes, never quite 0.
    chances: Vec<Vec<Logs>>,
    /// `[pairing][seen · 4 + side][seen · 4 + side]`.
    edges: Vec<Vec<Vec<f64>>>,
    /// The poses of each block that look different from all before them.
    distinct: Vec<Vec<usize>>,
    /// `[arrangement][three corners of seen faces]`, filled as asked for.
    corners: Vec<Vec<f32>>,
}

/// The likeliest ways to lay all blocks.
pub(super) struct Lays {
    /// Best first; empty if the blocks cannot cover the cube.
    pub found: Vec<Laid>,
    /// The weight of ways given up for want of room, as a share of the weight of the best.
    pub lost: f64,
}

/// How far behind the best a way may lie and still be followed, in nats.
const FOLLOWED: f64 = 14.0;
/// How many ways are followed at most. The smallest cube has no edges to tell early.
const fn width(n: usize) -> usize {
    if n == 2 { 20_000 } else { 4_000 }
}
/// How many blocks the search moves about; further ones are laid where they agree best.
const MOST_BLOCKS: usize = 12;

/// Searches for the likeliest ways to lay all blocks.
pub(super) fn lay(
    seen: &[Seen],
    blocks: &[Block],
    shares: &[Vec<Logs>],
    arrangements: &[Arrangement],
    log_shares: &[f64],
) -> Lays {
    let mut search = Search::new(seen, blocks, shares, arrangements);
    let mut lays = Lays {
        found: Vec::new(),
        lost: 0.0,
    };
    let Some(root) = root_block(blocks) else {
        return lays;
    };
    let mut nodes: Vec<Node> = log_shares
        .iter()
        .enumerate()
        .filter_map(|(index, &log_share)| {
            let start = Node {
                arrangement: index as u8,
                on: [None; 6],
                poses: [None; MOST_BLOCKS],
                score: log_share,
                edges: log_share,
            };
            search.place(&start, root, 0)
        })
        .collect();
    let mut lost = 0.0;
    for _ in 0..6 {
        let mut next = Vec::new();
        let mut best = f64::NEG_INFINITY;
        for node in &nodes {
            search.extend(node, &mut next, &mut best);
        }
        next.retain(|node: &Node| node.score > best - FOLLOWED);
        next.sort_by(|one, other| other.score.total_cmp(&one.score));
        // Scores are ratios to chance, so each way to go on from here can be expected to leave them as they are.
        let dropped = next.iter().skip(width(search.n));
        lost += dropped
            .map(|node| node.score.exp() * node.ways_on())
            .sum::<f64>();
        next.truncate(width(search.n));
        nodes = next;
    }
    lays.lost = nodes.first().map_or(0.0, |best| lost / best.score.exp());
    lays.found = nodes.iter().map(|node| search.laid(node)).collect();
    lays
}

/// The block with most faces.
fn root_block(blocks: &[Block]) -> Option<usize> {
    (0..blocks.len().min(MOST_BLOCKS))
        .max_by_key(|&block| (blocks[block].members.len(), usize::MAX - block))
}

impl Node {
    /// In how many ways single faces could cover what is uncovered.
    fn ways_on(&self) -> f64 {
        let uncovered = self.on.iter().filter(|face| face.is_none()).count();
        (1..=uncovered).map(|count| 4.0 * count as f64).product()
    }

    /// The uncovered face with most covered neighbours.
    fn target(&self) -> Option<Face> {
        let covered = |face: Face| self.on[face.index()].is_some();
        Face::ALL
            .into_iter()
            .filter(|&face| !covered(face))
            .max_by_key(|&face| {
                let beside = Face::ALL
                    .iter()
                    .filter(|&&other| other != face.opposite() && covered(other))
                    .count();
                (beside, 6 - face.index())
            })
    }
}

impl<'a> Search<'a> {
    fn new(
        seen: &'a [Seen],
        blocks: &'a [Block],
        shares: &[Vec<Logs>],
        arrangements: &'a [Arrangement],
    ) -> Self {
        /// The share of stickers on which the colours may be quite mistaken.
        const MISTAKEN: f64 = 0.005;
        let chances: Vec<Vec<Logs>> = shares
            .iter()
            .map(|face| {
                face.iter()
                    .map(|share| share.map(|value| value * (1.0 - MISTAKEN) + MISTAKEN / 6.0))
                    .collect()
            })
            .collect();
        let n = seen.first().map_or(2, |face| face.n);
        let pairings = arrangements
            .iter()
            .map(|one| one.pairing + 1)
            .max()
            .unwrap_or(0);
        let edges = (0..pairings)
            .map(|pairing| {
                let across = arrangements
                    .iter()
                    .find(|one| one.pairing == pairing)
                    .map_or([0; 6], |one| one.across);
                edge_table(n, &chances, &across)
            })
            .collect();
        Self {
            n,
            blocks,
            arrangements,
            may_overlap: seen.len() > 6,
            distinct: blocks
                .iter()
                .map(|block| distinct_poses(block, n, shares))
                .collect(),
            corners: vec![Vec::new(); arrangements.len()],
            chances,
            edges,
        }
    }

    /// All ways to cover one more face, unless they fall too far behind the best; a node that covers all stays.
    fn extend(&mut self, node: &Node, next: &mut Vec<Node>, best: &mut f64) {
        let Some(target) = node.target() else {
            *best = best.max(node.score);
            next.push(*node);
            return;
        };
        for block in 0..self.blocks.len().min(MOST_BLOCKS) {
            if node.poses[block].is_some() {
                continue;
            }
            for number in 0..self.distinct[block].len() {
                let index = self.distinct[block][number];
                let poses = &self.blocks[block].poses[index];
                if poses.iter().any(|pose| pose.face == target)
                    && let Some(placed) = self.place(node, block, index)
                    && placed.score > *best - FOLLOWED
                {
                    *best = best.max(placed.score);
                    next.push(placed);
                }
            }
        }
    }

    /// The node with one more block, unless it would lie on a face already seen when every face is seen but once.
    fn place(&mut self, node: &Node, block: usize, index: usize) -> Option<Node> {
        let mut next = *node;
        if let Some(pose) = next.poses.get_mut(block) {
            *pose = Some(index as u8);
        }
        for (&member, &pose) in self.blocks[block]
            .members
            .iter()
            .zip(&self.blocks[block].poses[index])
        {
            if let Some((known, turns)) = next.on[pose.face.index()] {
                if !self.may_overlap {
                    return None;
                }
                let known = (
                    usize::from(known),
                    Pose {
                        face: pose.face,
                        turns,
                    },
                );
                let gain = self.agreement(known, (member, pose));
                next.score += gain;
                next.edges += gain;
            } else {
                let (edges, corners) = self.gain(&next, member, pose);
                next.score += edges + corners;
                next.edges += edges;
                next.on[pose.face.index()] = Some((member as u8, pose.turns));
            }
        }
        Some(next)
    }

    /// What laying a seen face there adds to the score, by its edges and by its corners.
    fn gain(&mut self, node: &Node, member: usize, pose: Pose) -> (f64, f64) {
        let arrangement = usize::from(node.arrangement);
        let table = &self.edges[self.arrangements[arrangement].pairing];
        let (mut edges, mut corners) = (0.0, 0.0);
        let mut beside = [None; 4];
        for side in 0..4 {
            let (other, back) = beyond(pose.face, pose.side(side));
            if let Some((neighbour, turns)) = node.on[other.index()] {
                let far = (back + turns) % 4;
                edges += table[member * 4 + usize::from(side)][usize::from(neighbour * 4 + far)];
                beside[usize::from(side)] = Some((usize::from(neighbour), far));
            }
        }
        for corner in 0..4_u8 {
            // Clockwise from outside: this face, the one beyond the side before the corner, the one beyond the side after.
            let before = beside[usize::from((corner + 3) % 4)];
            let after = beside[usize::from(corner)];
            if let (Some((one, one_side)), Some((other, other_side))) = (before, after) {
                let cells = [
                    (member, corner),
                    (one, one_side),
                    (other, (other_side + 1) % 4),
                ];
                corners += self.corner(cells, arrangement);
            }
        }
        (edges, corners)
    }

    /// The log-ratio of three corners of seen faces, clockwise, being a corner piece; on an odd cube, with a quarter of
    /// that of the three fixed centres, which are as a corner of the solved cube: eight corners say so.
    fn corner(&mut self, cells: [(usize, u8); 3], arrangement: usize) -> f64 {
        let corners = self.chances.len() * 4;
        let number = cells.iter().fold(0, |number, &(face, corner)| {
            number * corners + face * 4 + usize::from(corner)
        });
        let known = &mut self.corners[arrangement];
        if known.is_empty() {
            known.resize(corners.pow(3), f32::NAN);
        }
        if known[number].is_nan() {
            let triples = &self.arrangements[arrangement].corners;
            let n = self.n;
            let at_corner = cells.map(|(face, corner)| &self.chances[face][corner_cell(n, corner)]);
            let mut log = log_ratio(at_corner, triples);
            if n % 2 == 1 {
                let middles = cells.map(|(face, _)| &self.chances[face][n * n / 2]);
                log += 0.25 * log_ratio(middles, triples);
            }
            known[number] = log as f32;
        }
        f64::from(known[number])
    }

    /// The log-ratio of two seen faces, so turned, being one.
    fn agreement(&self, one: (usize, Pose), other: (usize, Pose)) -> f64 {
        let mut sum = 0.0;
        for row in 0..self.n {
            for col in 0..self.n {
                let a = &self.chances[one.0][one.1.cell(self.n, row, col)];
                let b = &self.chances[other.0][other.1.cell(self.n, row, col)];
                let same: f64 = (0..6).map(|k| a[k] * b[k]).sum();
                sum += (6.0 * same).max(1e-3).ln();
            }
        }
        sum
    }

    /// A finished node with every block on it: those left over lie where they agree best with what is there.
    fn laid(&mut self, node: &Node) -> Laid {
        let mut node = *node;
        let mut chosen: Vec<usize> = Vec::with_capacity(self.blocks.len());
        for block in 0..self.blocks.len() {
            let known = node.poses.get(block).copied().flatten().map(usize::from);
            chosen.push(known.unwrap_or_else(|| {
                let best = (0..self.blocks[block].poses.len())
                    .filter_map(|index| Some((index, self.place(&node, block, index)?)))
                    .max_by(|one, other| one.1.score.total_cmp(&other.1.score));
                best.map_or(0, |(index, placed)| {
                    node = placed;
                    index
                })
            }));
        }
        let mut on: [Vec<(usize, u8)>; 6] = Default::default();
        for (block, &index) in self.blocks.iter().zip(&chosen) {
            for (&member, pose) in block.members.iter().zip(&block.poses[index]) {
                on[pose.face.index()].push((member, pose.turns));
            }
        }
        Laid {
            arrangement: usize::from(node.arrangement),
            on,
            score: node.score,
            edges: node.edges,
        }
    }
}

/// The log-ratio of three cells, clockwise, being one of these triples of classes, against chance.
fn log_ratio([a, b, c]: [&Logs; 3], triples: &[[usize; 3]]) -> f64 {
    let sum: f64 = triples.iter().map(|&[x, y, z]| a[x] * b[y] * c[z]).sum();
    let by_chance = triples.len() as f64 / 216.0;
    (sum / by_chance).max(1e-3).ln()
}

/// The poses of a block that look different from all before them: of a single face whose clear stickers are the same after
/// a half or quarter turn, some do not.
fn distinct_poses(block: &Block, n: usize, shares: &[Vec<Logs>]) -> Vec<usize> {
    /// From this share on a sticker is clear.
    const CLEAR: f64 = 0.98;
    let all = 0..block.poses.len();
    let [member] = block.members[..] else {
        return all.collect();
    };
    let labels: Option<Vec<usize>> = shares[member]
        .iter()
        .map(|share| share.iter().position(|&value| value > CLEAR))
        .collect();
    let Some(labels) = labels else {
        return all.collect();
    };
    let read = |index: usize| -> (Face, Vec<usize>) {
        let pose = block.poses[index][0];
        let spots = (0..n * n).map(|cell| labels[pose.cell(n, cell / n, cell % n)]);
        (pose.face, spots.collect())
    };
    let mut known = Vec::new();
    let mut found = Vec::new();
    for index in all {
        let reading = read(index);
        if !known.contains(&reading) {
            known.push(reading);
            found.push(index);
        }
    }
    found
}

/// The log-ratios of every side of every seen face lying against every other.
fn edge_table(n: usize, chances: &[Vec<Logs>], across: &[usize; 6]) -> Vec<Vec<f64>> {
    let sides = chances.len() * 4;
    let by_chance = 24.0 / 36.0;
    let mut table = vec![vec![0.0; sides]; sides];
    for one in 0..sides {
        for other in 0..one {
            if one / 4 == other / 4 {
                continue;
            }
            // Ratios multiply up to 1.5 or down to 0.015 a cell: a few fit into a number before a logarithm is due.
            let mut sum = 0.0;
            let mut product = 1.0;
            for along in 1..n - 1 {
                let a = &chances[one / 4][side_cell(n, (one % 4) as u8, along)];
                let b = &chances[other / 4][side_cell(n, (other % 4) as u8, n - 1 - along)];
                let not: f64 = (0..6).map(|k| a[k] * (b[k] + b[across[k]])).sum();
                product *= ((1.0 - not) / by_chance).max(1e-3);
                if along % 8 == 0 {
                    sum += product.ln();
                    product = 1.0;
                }
            }
            sum += product.ln();
            table[one][other] = sum;
            table[other][one] = sum;
        }
    }
    table
}

/// Something known of every cell brought to the places of the cube, the views of a place added up by `add`.
pub(super) fn places(
    laid: &Laid,
    n: usize,
    cells: &[Vec<Logs>],
    add: fn(&mut Logs, &Logs),
) -> Vec<Logs> {
    let mut found = Vec::with_capacity(Layout::of(n).places());
    for face in Face::ALL {
        for row in 0..n {
            for col in 0..n {
                let mut sum = [0.0; 6];
                for &(member, turns) in &laid.on[face.index()] {
                    add(
                        &mut sum,
                        &cells[member][Pose { face, turns }.cell(n, row, col)],
                    );
                }
                found.push(sum);
            }
        }
    }
    found
}
