//! Which seen face is which face of the cube, and which way up: a bounded search over soft scores.
//!
//! It trusts no single label: an edge scores by the chance that its two cells are a piece, a corner by the chance that
//! its three are, both against chance alone.

use super::evidence::{Block, Pose, Seen, beyond, corner_cell, side_cell};
use super::ring::Logs;
use super::scheme::Arrangement;
use crate::cube::{Face, Spot};
use std::cmp::Ordering;

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

/// A way to go on from a laying in the making.
struct Step {
    score: f64,
    /// What is gained by edges and by corners, where a single face is laid.
    gain: [f64; 2],
    /// The node it starts from, as an index.
    from: u32,
    /// The block laid and its pose; `None` for a node that stays as it is.
    laid: Option<(u8, u8)>,
}

impl Step {
    /// The better one first, of equals the one found first.
    fn order(&self, other: &Self) -> Ordering {
        let by_score = other.score.total_cmp(&self.score);
        by_score.then_with(|| (self.from, self.laid).cmp(&(other.from, other.laid)))
    }
}

/// What lies about an uncovered face, by the sides and corners of that face.
#[derive(Default)]
struct Surroundings {
    /// The side of a seen face that meets a side, if one does.
    sides: [Option<usize>; 4],
    /// The corners of the two seen faces that meet in a corner, if they do: the one on the side before it first.
    corners: [Option<[(usize, u8); 2]>; 4],
}

/// What a seen face laid there is judged by: where in the tables its sides and corners are to be looked up, by the side or
/// corner of the uncovered face. Only the first so many of each are filled.
#[derive(Clone, Copy, Default)]
struct Beside {
    arrangement: usize,
    sides: [(u8, usize); 4],
    side_count: usize,
    corners: [(u8, usize); 4],
    corner_count: usize,
    /// No less than what any seen face gains by its corners.
    most: f64,
}

/// What the search needs at every step.
struct Search<'a> {
    n: usize,
    blocks: &'a [Block],
    arrangements: &'a [Arrangement],
    may_overlap: bool,
    /// Probabilities of the classes, never quite 0.
    chances: Vec<Vec<Logs>>,
    /// `[pairing][(seen · 4 + side) · sides + seen · 4 + side]`.
    edges: Vec<Vec<f64>>,
    /// `[block][face]`: the poses of a block that have something on the face and look different from all before them.
    facing: Vec<[Vec<usize>; 6]>,
    /// For each arrangement.
    corners: Vec<Corners>,
}

/// The log-ratios of corners under one arrangement, worked out as they are asked for: `NaN` until then.
#[derive(Clone, Default)]
struct Corners {
    /// `[two corners of seen faces]`: where they stand among the pairs met so far.
    met: Vec<Option<u16>>,
    pairs: Vec<Pair>,
    /// `[pair met][corner of a seen face]`: being a corner piece.
    pieces: Vec<f32>,
    /// `[three seen faces, clockwise]`: what their fixed centres add.
    middles: Vec<f32>,
}

/// Two corners of seen faces that meet.
#[derive(Clone, Copy)]
struct Pair {
    /// The faces.
    faces: [usize; 2],
    /// How likely they make a corner piece with each class.
    thirds: Logs,
    /// The most that any third corner adds to the score.
    most: f64,
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
/// How much three fixed centres count against the corner piece between them.
const MIDDLES_COUNT: f64 = 0.25;
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
        let mut steps = Vec::new();
        let mut best = f64::NEG_INFINITY;
        for (from, node) in nodes.iter().enumerate() {
            search.extend(from, node, &mut steps, &mut best);
        }
        steps.retain(|step: &Step| step.score > best - FOLLOWED);
        let width = width(search.n);
        if steps.len() > width {
            steps.select_nth_unstable_by(width, Step::order);
            // Scores are ratios to chance, so each way to go on from here can be expected to leave them as they are.
            for step in steps.drain(width..) {
                let ways_on = search.ways_on(&nodes[step.from as usize], &step);
                lost += step.score.exp() * ways_on;
            }
        }
        steps.sort_unstable_by(Step::order);
        nodes = steps
            .iter()
            .filter_map(|step| search.taken(&nodes[step.from as usize], step))
            .collect();
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

    /// What lies about an uncovered face.
    fn about(&self, target: Face) -> Surroundings {
        let mut found = Surroundings::default();
        let mut beside = [None; 4];
        for side in 0..4_u8 {
            let (other, back) = beyond(target, side);
            if let Some((neighbour, turns)) = self.on[other.index()] {
                let (neighbour, far) = (usize::from(neighbour), (back + turns) % 4);
                found.sides[usize::from(side)] = Some(neighbour * 4 + usize::from(far));
                beside[usize::from(side)] = Some((neighbour, far));
            }
        }
        for corner in 0..4_u8 {
            let before = beside[usize::from((corner + 3) % 4)];
            let after = beside[usize::from(corner)];
            if let (Some(one), Some((other, other_side))) = (before, after) {
                let corners = [one, (other, (other_side + 1) % 4)];
                found.corners[usize::from(corner)] = Some(corners);
            }
        }
        found
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
        let across: Vec<[usize; 6]> = (0..pairings)
            .map(|pairing| {
                let mut arrangements = arrangements.iter();
                let first = arrangements.find(|one| one.pairing == pairing);
                first.map_or([0; 6], |one| one.across)
            })
            .collect();
        Self {
            n,
            blocks,
            arrangements,
            may_overlap: seen.len() > 6,
            facing: blocks
                .iter()
                .map(|block| facing(block, n, shares))
                .collect(),
            corners: vec![Corners::default(); arrangements.len()],
            edges: edge_tables(n, &chances, &across),
            chances,
        }
    }

    /// All ways to cover one more face, unless they fall too far behind the best; a node that covers all stays.
    fn extend(&mut self, from: usize, node: &Node, steps: &mut Vec<Step>, best: &mut f64) {
        let mut step = Step {
            score: node.score,
            gain: [0.0; 2],
            from: from as u32,
            laid: None,
        };
        let Some(target) = node.target() else {
            *best = best.max(node.score);
            steps.push(step);
            return;
        };
        let beside = self.beside(node.arrangement, &node.about(target));
        for block in 0..self.blocks.len().min(MOST_BLOCKS) {
            if node.poses[block].is_some() {
                continue;
            }
            for number in 0..self.facing[block][target.index()].len() {
                let index = self.facing[block][target.index()][number];
                if let [member] = self.blocks[block].members[..] {
                    let turns = self.blocks[block].poses[index][0].turns;
                    let edges = self.gain_by_edges(&beside, member, turns);
                    if node.score + edges + beside.most <= *best - FOLLOWED {
                        continue;
                    }
                    let corners = self.gain_by_corners(&beside, member, turns);
                    step.gain = [edges, corners];
                    step.score = node.score + edges + corners;
                } else if let Some(placed) = self.place(node, block, index) {
                    step.score = placed.score;
                } else {
                    continue;
                }
                if step.score > *best - FOLLOWED {
                    *best = best.max(step.score);
                    steps.push(Step {
                        laid: Some((block as u8, index as u8)),
                        ..step
                    });
                }
            }
        }
    }

    /// The node to which a step leads.
    fn taken(&mut self, node: &Node, step: &Step) -> Option<Node> {
        let Some((block, index)) = step.laid else {
            return Some(*node);
        };
        let (block, pose) = (usize::from(block), usize::from(index));
        let [member] = self.blocks[block].members[..] else {
            return self.place(node, block, pose);
        };
        let mut next = *node;
        let [edges, corners] = step.gain;
        next.score += edges + corners;
        next.edges += edges;
        next.poses[block] = Some(index);
        let pose = self.blocks[block].poses[pose][0];
        next.on[pose.face.index()] = Some((member as u8, pose.turns));
        Some(next)
    }

    /// In how many ways one could go on from where a step leads.
    fn ways_on(&mut self, node: &Node, step: &Step) -> f64 {
        self.taken(node, step).map_or(0.0, |next| next.ways_on())
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
                let beside = self.beside(next.arrangement, &next.about(pose.face));
                let edges = self.gain_by_edges(&beside, member, pose.turns);
                let corners = self.gain_by_corners(&beside, member, pose.turns);
                next.score += edges + corners;
                next.edges += edges;
                next.on[pose.face.index()] = Some((member as u8, pose.turns));
            }
        }
        Some(next)
    }

    /// What a seen face laid there is judged by.
    fn beside(&mut self, arrangement: u8, about: &Surroundings) -> Beside {
        let mut beside = Beside {
            arrangement: usize::from(arrangement),
            ..Beside::default()
        };
        let sides = self.chances.len() * 4;
        for (side, far) in (0..4).zip(about.sides) {
            if let Some(far) = far {
                beside.sides[beside.side_count] = (side, far * sides);
                beside.side_count += 1;
            }
        }
        for (corner, two) in (0..4).zip(about.corners) {
            if let Some(two) = two {
                let pair = self.pair(beside.arrangement, two);
                beside.corners[beside.corner_count] = (corner, pair * sides);
                beside.corner_count += 1;
                beside.most += self.corners[beside.arrangement].pairs[pair].most;
            }
        }
        beside
    }

    /// What laying a seen face there adds to the score by its edges.
    fn gain_by_edges(&self, beside: &Beside, member: usize, turns: u8) -> f64 {
        let table = &self.edges[self.arrangements[beside.arrangement].pairing];
        let mut gain = 0.0;
        for &(side, row) in &beside.sides[..beside.side_count] {
            gain += table[row + member * 4 + usize::from((turns + side) % 4)];
        }
        gain
    }

    /// What laying a seen face there adds to the score by its corners.
    fn gain_by_corners(&mut self, beside: &Beside, member: usize, turns: u8) -> f64 {
        let mut gain = 0.0;
        for &(corner, row) in &beside.corners[..beside.corner_count] {
            let corner = (turns + corner) % 4;
            let at = row + member * 4 + usize::from(corner);
            let known = self.corners[beside.arrangement].pieces[at];
            gain += f64::from(if known.is_nan() {
                self.corner(beside.arrangement, at, (member, corner))
            } else {
                known
            });
        }
        gain
    }

    /// Where two corners that meet stand among the pairs met so far.
    fn pair(&mut self, arrangement: usize, beside: [(usize, u8); 2]) -> usize {
        /// Rounding may put a gain so far above its bound.
        const ROUNDING: f64 = 1e-4;
        let faces = self.chances.len();
        let sides = faces * 4;
        let known = &mut self.corners[arrangement];
        if known.met.is_empty() {
            known.met.resize(sides.pow(2), None);
            known.middles.resize(faces.pow(3), f32::NAN);
        }
        let [one, other] = beside.map(|(face, corner)| face * 4 + usize::from(corner));
        let met = &mut known.met[one * sides + other];
        if let Some(pair) = *met {
            return usize::from(pair);
        }
        let pair = known.pairs.len();
        *met = u16::try_from(pair).ok();
        let (n, chances) = (self.n, &self.chances);
        let at_corner = |(face, corner): (usize, u8)| &chances[face][corner_cell(n, corner)];
        let triples = &self.arrangements[arrangement].corners;
        let thirds = thirds(beside.map(at_corner), triples);
        let top = thirds.iter().copied().fold(1e-3, f64::max).ln();
        let middles = match n % 2 {
            1 => MIDDLES_COUNT * (216.0 / triples.len() as f64).ln(),
            _ => 0.0,
        };
        known.pairs.push(Pair {
            faces: beside.map(|(face, _)| face),
            thirds,
            most: top + middles + ROUNDING,
        });
        known.pieces.resize(known.pieces.len() + sides, f32::NAN);
        pair
    }

    /// The log-ratio of three corners of seen faces, clockwise, being a corner piece, which is to stand at this place of the
    /// table; on an odd cube, with a quarter of that of the three fixed centres, which are as a corner of the solved cube: eight
    /// corners say so.
    fn corner(&mut self, arrangement: usize, at: usize, (face, corner): (usize, u8)) -> f32 {
        let pair = self.corners[arrangement].pairs[at / (self.chances.len() * 4)];
        let cell = &self.chances[face][corner_cell(self.n, corner)];
        let [one, other] = pair.faces;
        let log = log_ratio(cell, &pair.thirds) + self.middle(arrangement, [one, other, face]);
        self.corners[arrangement].pieces[at] = log;
        log
    }

    /// What the fixed centres of three seen faces add to a corner in which these meet, clockwise.
    fn middle(&mut self, arrangement: usize, [one, other, face]: [usize; 3]) -> f32 {
        if self.n.is_multiple_of(2) {
            return 0.0;
        }
        let faces = self.chances.len();
        let at = (one * faces + other) * faces + face;
        let known = self.corners[arrangement].middles[at];
        if !known.is_nan() {
            return known;
        }
        let middle = |face: usize| &self.chances[face][self.n * self.n / 2];
        let triples = &self.arrangements[arrangement].corners;
        let thirds = thirds([middle(one), middle(other)], triples);
        let log = MIDDLES_COUNT as f32 * log_ratio(middle(face), &thirds);
        self.corners[arrangement].middles[at] = log;
        log
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

/// How likely two cells make one of these triples with a third of each class before them, clockwise, against chance.
fn thirds([b, c]: [&Logs; 2], triples: &[[usize; 3]]) -> Logs {
    let by_chance = triples.len() as f64 / 216.0;
    let mut thirds = [0.0; 6];
    for &[x, y, z] in triples {
        thirds[x] += b[y] * c[z];
    }
    thirds.map(|third| third / by_chance)
}

/// The log-ratio of a cell making a triple with two others, by how likely those do with each class.
fn log_ratio(cell: &Logs, thirds: &Logs) -> f32 {
    let sum: f64 = cell.iter().zip(thirds).map(|(a, third)| a * third).sum();
    (sum.max(1e-3) as f32).ln()
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

/// The poses of a block by the faces on which they have something, those left out that look like one before.
fn facing(block: &Block, n: usize, shares: &[Vec<Logs>]) -> [Vec<usize>; 6] {
    let mut facing: [Vec<usize>; 6] = Default::default();
    for index in distinct_poses(block, n, shares) {
        for pose in &block.poses[index] {
            facing[pose.face.index()].push(index);
        }
    }
    facing
}

/// The log-ratios of every side of every seen face lying against every other, for each way to pair off the classes.
fn edge_tables(n: usize, chances: &[Vec<Logs>], across: &[[usize; 6]]) -> Vec<Vec<f64>> {
    let sides = chances.len() * 4;
    let by_chance = 24.0 / 36.0;
    let mut tables = vec![vec![0.0; sides * sides]; across.len()];
    let mut sums = vec![0.0; across.len()];
    let mut products = vec![1.0; across.len()];
    for one in 0..sides {
        for other in (0..one).filter(|other| one / 4 != other / 4) {
            sums.fill(0.0);
            products.fill(1.0);
            for along in 1..n - 1 {
                let a = &chances[one / 4][side_cell(n, (one % 4) as u8, along)];
                let b = &chances[other / 4][side_cell(n, (other % 4) as u8, n - 1 - along)];
                let same: f64 = (0..6).map(|k| a[k] * b[k]).sum();
                let both: [Logs; 6] =
                    std::array::from_fn(|k| std::array::from_fn(|other| a[k] * b[other]));
                for ((across, product), sum) in across.iter().zip(&mut products).zip(&mut sums) {
                    let opposite: f64 = (0..6).map(|k| both[k][across[k]]).sum();
                    *product *= ((1.0 - same - opposite) / by_chance).max(1e-3);
                    // Ratios multiply up to 1.5 or down to 0.001 a cell: a few fit into a number before a logarithm is due.
                    if along % 8 == 0 {
                        *sum += product.ln();
                        *product = 1.0;
                    }
                }
            }
            for ((table, product), sum) in tables.iter_mut().zip(&products).zip(&sums) {
                let log = sum + product.ln();
                table[one * sides + other] = log;
                table[other * sides + one] = log;
            }
        }
    }
    tables
}

/// Something known of every cell brought to a place of the cube, the views of the place added up by `add`.
pub(super) fn at_place(
    laid: &Laid,
    n: usize,
    place: usize,
    cells: &[Vec<Logs>],
    add: impl Fn(&mut Logs, &Logs),
) -> Logs {
    let Spot { face, row, col } = Spot::from_place(place, n);
    let mut sum = [0.0; 6];
    for &(member, turns) in &laid.on[face.index()] {
        let cell = Pose { face, turns }.cell(n, row, col);
        add(&mut sum, &cells[member][cell]);
    }
    sum
}
