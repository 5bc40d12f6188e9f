//! How the stickers of a face lie off one plane: single lines turned a little, the whole face bulging, the lens
//! bending straight lines.

use super::net::Place;
use crate::geometry::{InFace, PlaneMap};
use nalgebra::{DMatrix, DVector};

/// Which way an offset is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// To the right, along rows.
    Right,
    /// Downwards, along columns.
    Down,
}

/// How far something was found from where a net has it, in sticker sides.
#[derive(Clone, Copy, Debug)]
pub struct Sighting {
    /// The cells it belongs to: a sticker's own twice, or the two on both sides of a gap.
    pub cells: [Place; 2],
    /// Which way it is measured.
    pub way: Way,
    /// How far off it is that way.
    pub off: f64,
    /// One over the square of its standard error.
    pub trust: f64,
}

/// Standard deviations of what a bend may be, in sticker sides for each sticker along a side.
///
/// A layer turned by 3 degrees shifts its stickers by 0.026 of the face's side; most are turned by far less.
const SHIFT: f64 = 0.012;
/// Of a smooth bend's terms, at the face's rim.
const CURVE: f64 = 0.01;
/// Of a line's slope, in sticker sides across for each along.
const SLOPE: f64 = 0.012;

/// Of the plane of a face foretold from two others, at its rim.
const FORETOLD: f64 = 0.15;

/// Of how it leans, likewise: a turned layer turns within its plane, and four stickers say little of the perspective.
const FORETOLD_LEAN: f64 = 0.04;

/// Of how the plane leans, by the sizes of regions: the share by which its denominator grows from the middle to the rim.
const LEAN: f64 = 0.05;

/// How freely the plane of a net may be moved to where sightings have it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Firmness {
    /// Nothing but the sightings tells where it is.
    Free,
    /// Other faces tell where it must be, about.
    Foretold,
}

/// The number of terms of a smooth bend.
const TERMS: usize = 7;

/// The terms of a smooth bend: powers of the place to the right and down, of second and third degree.
fn terms(x: f64, y: f64) -> [f64; TERMS] {
    let (xx, xy, yy) = (x * x, x * y, y * y);
    [xx, xy, yy, x * xx, x * xy, y * xy, y * yy]
}

/// What a sighting measures by the unknowns: each as its index and factor.
type Row = Vec<(usize, f64)>;

/// The displacement of each cell of an n×n square from its place on a plane.
#[derive(Clone, Debug, Default)]
pub struct Bend {
    first: Place,
    n: usize,
    /// How far each row is shifted to the right, each column down.
    rows: Vec<f64>,
    columns: Vec<f64>,
    /// How much each row falls to the right, each column goes right downwards, per sticker.
    row_slopes: Vec<f64>,
    column_slopes: Vec<f64>,
    /// Factors of the terms, to the right and down.
    curve: [[f64; TERMS]; 2],
}

/// Adds a sighting to the normal equations. Their decomposition reads the lower half alone.
fn add_to(normal: &mut DMatrix<f64>, right: &mut DVector<f64>, row: &Row, trust: f64, target: f64) {
    for &(index, factor) in row {
        right[index] += trust * factor * target;
        for &(other, by) in row.iter().filter(|(other, _)| *other <= index) {
            normal[(index, other)] += trust * factor * by;
        }
    }
}

impl Bend {
    /// No bend of an n×n square with this first cell.
    pub fn none(first: Place, n: usize) -> Self {
        Self {
            first,
            n,
            rows: vec![0.0; n],
            columns: vec![0.0; n],
            row_slopes: vec![0.0; n],
            column_slopes: vec![0.0; n],
            curve: [[0.0; TERMS]; 2],
        }
    }

    /// A bend of shifted rows and columns alone.
    pub fn of_lines(first: Place, rows: Vec<f64>, columns: Vec<f64>) -> Self {
        Self {
            rows,
            columns,
            ..Self::none(first, 0)
        }
        .sized()
    }

    fn sized(mut self) -> Self {
        self.n = self.rows.len();
        self.row_slopes = vec![0.0; self.n];
        self.column_slopes = vec![0.0; self.n];
        self
    }

    /// A cell's place about the middle of the square, -1..=1 from rim to rim.
    fn about_middle(&self, cell: Place) -> (f64, f64) {
        let half = self.n as f64 / 2.0;
        (
            (f64::from(cell.0 - self.first.0) + 0.5 - half) / half,
            (f64::from(cell.1 - self.first.1) + 0.5 - half) / half,
        )
    }

    /// The place of the middle of the square.
    pub fn middle(&self) -> (f64, f64) {
        let half = self.n as f64 / 2.0;
        (
            f64::from(self.first.0) - 0.5 + half,
            f64::from(self.first.1) - 0.5 + half,
        )
    }

    /// How far a cell's middle lies from its place on the plane, in sticker sides to the right and down.
    pub fn at(&self, cell: Place) -> (f64, f64) {
        if self.n == 0 {
            return (0.0, 0.0);
        }
        let (x, y) = self.about_middle(cell);
        let half = self.n as f64 / 2.0;
        let line = |lines: &[f64], index: i32| {
            usize::try_from(index)
                .ok()
                .and_then(|index| lines.get(index))
                .copied()
                .unwrap_or(0.0)
        };
        let (column, row) = (cell.0 - self.first.0, cell.1 - self.first.1);
        // Beyond the square a cubic runs away: it is held at its rim.
        let (held_x, held_y) = (x.clamp(-1.0, 1.0), y.clamp(-1.0, 1.0));
        let terms = terms(held_x, held_y);
        let curve = |factors: &[f64; TERMS]| -> f64 {
            let products = terms.iter().zip(factors);
            products.map(|(term, factor)| term * factor).sum()
        };
        (
            line(&self.rows, row)
                + line(&self.column_slopes, column) * y * half
                + curve(&self.curve[0]),
            line(&self.columns, column)
                + line(&self.row_slopes, row) * x * half
                + curve(&self.curve[1]),
        )
    }

    /// The bend and the change of plane that explain sightings best, made on a net with this bend.
    ///
    /// The sum of squares over the sightings and over the bend itself, each by its standard deviation, is least;
    /// sightings far off are trusted less and less (Huber's weights).
    /// `lean` is how much more the plane should lean than it does, as [`PlaneMap::lean`] has it, if that is known.
    /// Returns the new bend and the map from the new plane places to the old ones.
    pub fn explained(
        &self,
        sightings: &[Sighting],
        firmness: Firmness,
        lean: Option<(f64, f64)>,
    ) -> Option<(Self, PlaneMap<InFace, InFace>)> {
        let n = self.n;
        let unknowns = 8 + 2 * TERMS + 4 * n;
        let rows: Vec<Row> = sightings.iter().map(|s| self.design(s)).collect();
        let dot = |row: &Row, values: &DVector<f64>| -> f64 {
            row.iter()
                .map(|&(index, factor)| factor * values[index])
                .sum()
        };
        let old = self.as_vector();
        // What the sightings measure is the old displacement and what is still off.
        let targets: Vec<f64> = sightings
            .iter()
            .zip(&rows)
            .map(|(sighting, row)| sighting.off + dot(row, &old))
            .collect();
        let mut normal = DMatrix::<f64>::from_diagonal(&self.stiffness(firmness));
        let mut right = DVector::<f64>::zeros(unknowns);
        for ((sighting, row), target) in sightings.iter().zip(&rows).zip(&targets) {
            add_to(&mut normal, &mut right, row, sighting.trust, *target);
        }
        // What the seventh and eighth unknown take off the lean, from the middle to the rim, over half a side.
        if let Some((x, y)) = lean {
            let half = n as f64 / 2.0;
            let trust = 1.0 / (LEAN * half).powi(2);
            for (index, more) in [(6, x), (7, y)] {
                add_to(
                    &mut normal,
                    &mut right,
                    &vec![(index, 1.0)],
                    trust,
                    -more * half * half,
                );
            }
        }
        let mut solution = normal.clone().cholesky()?.solve(&right);
        for _ in 0..2 {
            let (mut normal, mut right) = (normal.clone(), right.clone());
            for ((sighting, row), target) in sightings.iter().zip(&rows).zip(&targets) {
                let miss = (target - dot(row, &solution)).abs() * sighting.trust.sqrt();
                if miss > 1.5 {
                    let less = sighting.trust * (1.5 / miss - 1.0);
                    add_to(&mut normal, &mut right, row, less, *target);
                }
            }
            solution = normal.cholesky()?.solve(&right);
        }
        let plane = self.plane_change(&solution);
        Some((self.with_vector(&solution), plane))
    }

    fn stiffness(&self, firmness: Firmness) -> DVector<f64> {
        let n = self.n as f64;
        let stiff = |deviation: f64| 1.0 / (deviation * deviation);
        let (plane, lean) = match firmness {
            Firmness::Free => (1e-6, 1e-6),
            Firmness::Foretold => (stiff(FORETOLD), stiff(FORETOLD_LEAN)),
        };
        let mut values = vec![plane; 6];
        values.extend([lean; 2]);
        values.extend(vec![stiff(CURVE * n); 2 * TERMS]);
        values.extend(vec![stiff(SHIFT * n); 2 * self.n]);
        values.extend(vec![stiff(SLOPE); 2 * self.n]);
        DVector::from_vec(values)
    }

    /// The derivative of what a sighting measures by each unknown: eight of the plane, the terms to the right and
    /// down, the shifts of rows and columns, their slopes. Those that are nought are left out.
    fn design(&self, sighting: &Sighting) -> Row {
        let n = self.n;
        let half = n as f64 / 2.0;
        let mut row: Row = Vec::with_capacity(16);
        for cell in sighting.cells {
            let (x, y) = self.about_middle(cell);
            let column = usize::try_from(cell.0 - self.first.0)
                .unwrap_or(0)
                .min(n - 1);
            let line = usize::try_from(cell.1 - self.first.1)
                .unwrap_or(0)
                .min(n - 1);
            let terms = terms(x, y);
            let after = 8 + 2 * TERMS;
            let mut add = |index: usize, value: f64| match row
                .iter_mut()
                .find(|(known, _)| *known == index)
            {
                Some((_, factor)) => *factor += 0.5 * value,
                None => row.push((index, 0.5 * value)),
            };
            match sighting.way {
                Way::Right => {
                    for (index, value) in [(0, 1.0), (1, x), (2, y), (6, x * x), (7, x * y)] {
                        add(index, value);
                    }
                    for (index, term) in terms.into_iter().enumerate() {
                        add(8 + index, term);
                    }
                    add(after + line, 1.0);
                    add(after + 3 * n + column, y * half);
                }
                Way::Down => {
                    for (index, value) in [(3, 1.0), (4, x), (5, y), (6, x * y), (7, y * y)] {
                        add(index, value);
                    }
                    for (index, term) in terms.into_iter().enumerate() {
                        add(8 + TERMS + index, term);
                    }
                    add(after + n + column, 1.0);
                    add(after + 2 * n + line, x * half);
                }
            }
        }
        row
    }

    fn as_vector(&self) -> DVector<f64> {
        let mut values = vec![0.0; 8];
        values.extend(self.curve[0]);
        values.extend(self.curve[1]);
        for lines in [
            &self.rows,
            &self.columns,
            &self.row_slopes,
            &self.column_slopes,
        ] {
            values.extend(lines);
        }
        DVector::from_vec(values)
    }

    fn with_vector(&self, values: &DVector<f64>) -> Self {
        let (n, terms) = (self.n, TERMS);
        let after = 8 + 2 * terms;
        let lines = |k: usize| values.as_slice()[after + k * n..after + (k + 1) * n].to_vec();
        Self {
            first: self.first,
            n,
            rows: lines(0),
            columns: lines(1),
            row_slopes: lines(2),
            column_slopes: lines(3),
            curve: [0, 1].map(|k| std::array::from_fn(|term| values[8 + k * terms + term])),
        }
    }

    /// The map of plane places whose first-order change is that of the first eight unknowns.
    fn plane_change(&self, values: &DVector<f64>) -> PlaneMap<InFace, InFace> {
        let a = values.as_slice();
        let half = self.n as f64 / 2.0;
        let middle = self.middle();
        let to_rim = PlaneMap::<InFace, InFace>::from_rows([
            [1.0 / half, 0.0, -middle.0 / half],
            [0.0, 1.0 / half, -middle.1 / half],
            [0.0, 0.0, 1.0],
        ]);
        let from_rim = PlaneMap::<InFace, InFace>::from_rows([
            [half, 0.0, middle.0],
            [0.0, half, middle.1],
            [0.0, 0.0, 1.0],
        ]);
        // Offsets are in sticker sides, places here in half face sides.
        let s = 1.0 / half;
        let change = PlaneMap::<InFace, InFace>::from_rows([
            [1.0 + s * a[1], s * a[2], s * a[0]],
            [s * a[4], 1.0 + s * a[5], s * a[3]],
            [-s * a[6], -s * a[7], 1.0],
        ]);
        to_rim.then(&change).then(&from_rim)
    }
}
