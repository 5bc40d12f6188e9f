//! Maps from one plane onto another as a pinhole camera makes them.

use super::{Point, Quad};
use nalgebra::{SMatrix, SVector};
use std::marker::PhantomData;

/// A plane map (homography): the point (x, y) of `From` goes to the point of `To` proportional to m·(x, y, 1).
#[derive(Debug, PartialEq)]
pub struct PlaneMap<From, To> {
    /// Row-major, the last value not nought.
    m: [[f64; 3]; 3],
    spaces: PhantomData<(From, To)>,
}

impl<From, To> Clone for PlaneMap<From, To> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<From, To> Copy for PlaneMap<From, To> {}

impl<From, To> PlaneMap<From, To> {
    /// The map with this matrix, row-major.
    pub const fn from_rows(m: [[f64; 3]; 3]) -> Self {
        Self {
            m,
            spaces: PhantomData,
        }
    }

    /// The matrix, row-major.
    pub const fn rows(&self) -> &[[f64; 3]; 3] {
        &self.m
    }

    /// The map that takes the corners of one quad to those of another; none when three corners of either lie on
    /// a line.
    pub fn between(from: &Quad<From>, to: &Quad<To>) -> Option<Self> {
        let pairs: [_; 4] = std::array::from_fn(|k| (from.0[k], to.0[k], 1.0));
        Self::fit(&pairs)
    }

    /// The map that takes the first points nearest to the second ones, by weighted least squares (normalised
    /// direct linear transform: Hartley and Zisserman, Multiple View Geometry, 2nd ed., section 4.4).
    ///
    /// None with fewer than four pairs or with points that do not span the plane.
    pub fn fit(pairs: &[(Point<From>, Point<To>, f64)]) -> Option<Self> {
        Self::fit_leaning(pairs, (0.0, 0.0), 0.0)
    }

    /// As [`PlaneMap::fit`], with what is known besides of how the map leans: how its denominator grows with x and with y,
    /// as a share of what it is in the middle of the points.
    ///
    /// `trust` is how well that is known, once both planes are scaled to points about 1 from their middle: the square of
    /// the points' standard error over that of the growth.
    pub fn fit_leaning(
        pairs: &[(Point<From>, Point<To>, f64)],
        lean: (f64, f64),
        trust: f64,
    ) -> Option<Self> {
        if pairs.len() < 4 {
            return None;
        }
        let before = Spread::of(
            pairs
                .iter()
                .map(|(from, _, weight)| (from.x, from.y, *weight)),
        )?;
        let after = Spread::of(pairs.iter().map(|(_, to, weight)| (to.x, to.y, *weight)))?;
        let mut normal = SMatrix::<f64, 8, 8>::zeros();
        let mut right = SVector::<f64, 8>::zeros();
        for (from, to, weight) in pairs {
            let (x, y) = before.shrink(from.x, from.y);
            let (u, v) = after.shrink(to.x, to.y);
            let rows = [
                ([x, y, 1.0, 0.0, 0.0, 0.0, -x * u, -y * u], u),
                ([0.0, 0.0, 0.0, x, y, 1.0, -x * v, -y * v], v),
            ];
            for (row, value) in rows {
                let row = SVector::<f64, 8>::from(row);
                normal += *weight * row * row.transpose();
                right += *weight * value * row;
            }
        }
        for (index, growth) in [(6, lean.0), (7, lean.1)] {
            normal[(index, index)] += trust;
            right[index] += trust * growth * before.size;
        }
        let solution = normal.cholesky()?.solve(&right);
        let h: [f64; 8] = solution.into();
        let inner = [[h[0], h[1], h[2]], [h[3], h[4], h[5]], [h[6], h[7], 1.0]];
        let m = product(&after.grow(), &product(&inner, &before.shrinking()));
        let scale = m[2][2];
        if scale.abs() < 1e-12 || !scale.is_finite() {
            return None;
        }
        Some(Self::from_rows(m.map(|row| row.map(|value| value / scale))))
    }

    /// Where a point goes.
    pub fn at(&self, x: f64, y: f64) -> Point<To> {
        let m = &self.m;
        let w = m[2][0] * x + m[2][1] * y + m[2][2];
        Point::new(
            (m[0][0] * x + m[0][1] * y + m[0][2]) / w,
            (m[1][0] * x + m[1][1] * y + m[1][2]) / w,
        )
    }

    /// Where a point goes.
    pub fn map(&self, point: Point<From>) -> Point<To> {
        self.at(point.x, point.y)
    }

    /// How the image of (x, y) moves with x and with y: the two columns of the derivative.
    pub fn steps(&self, x: f64, y: f64) -> [(f64, f64); 2] {
        let m = &self.m;
        let w = m[2][0] * x + m[2][1] * y + m[2][2];
        let to = self.at(x, y);
        [0, 1].map(|k| {
            (
                (m[0][k] - m[2][k] * to.x) / w,
                (m[1][k] - m[2][k] * to.y) / w,
            )
        })
    }

    /// How far the centre of mass of a small square's image lies from the image of its middle, as an offset of the middle
    /// to the right and down, for a square of this area at (x, y): what is nearer looks larger.
    ///
    /// The second-order term of ∫p·J over ∫J, where J ∝ w⁻³ is the map's magnification and w its denominator.
    pub fn centroid_shift(&self, x: f64, y: f64, area: f64) -> (f64, f64) {
        let (right, down) = self.lean(x, y);
        (-area * right / 3.0, -area * down / 3.0)
    }

    /// How the map's denominator grows with x and with y at a point, as a share of itself: how fast the image gets smaller.
    pub fn lean(&self, x: f64, y: f64) -> (f64, f64) {
        let m = &self.m;
        let w = m[2][0] * x + m[2][1] * y + m[2][2];
        (m[2][0] / w, m[2][1] / w)
    }

    /// The map back; none when this one flattens the plane.
    pub fn inverse(&self) -> Option<PlaneMap<To, From>> {
        let m = &self.m;
        let minor = |r: usize, c: usize| {
            let (r1, r2, c1, c2) = ((r + 1) % 3, (r + 2) % 3, (c + 1) % 3, (c + 2) % 3);
            m[r1][c1] * m[r2][c2] - m[r1][c2] * m[r2][c1]
        };
        let whole: f64 = (0..3).map(|c| m[0][c] * minor(0, c)).sum();
        let corner = minor(2, 2);
        if whole.abs() < 1e-12 || corner.abs() < 1e-15 {
            return None;
        }
        let back = std::array::from_fn(|r| std::array::from_fn(|c| minor(c, r) / corner));
        Some(PlaneMap::from_rows(back))
    }

    /// This map and then another.
    pub fn then<Last>(&self, next: &PlaneMap<To, Last>) -> PlaneMap<From, Last> {
        PlaneMap::from_rows(product(&next.m, &self.m))
    }
}

fn product(left: &[[f64; 3]; 3], right: &[[f64; 3]; 3]) -> [[f64; 3]; 3] {
    std::array::from_fn(|r| std::array::from_fn(|c| (0..3).map(|k| left[r][k] * right[k][c]).sum()))
}

/// Where points lie and how far they spread: least squares is well conditioned once both are taken out.
struct Spread {
    x: f64,
    y: f64,
    size: f64,
}

impl Spread {
    fn of(points: impl Iterator<Item = (f64, f64, f64)> + Clone) -> Option<Self> {
        let (mut x, mut y, mut weight) = (0.0, 0.0, 0.0);
        for (px, py, w) in points.clone() {
            x += w * px;
            y += w * py;
            weight += w;
        }
        x /= weight;
        y /= weight;
        let size = points
            .map(|(px, py, w)| w * (px - x).hypot(py - y))
            .sum::<f64>()
            / weight;
        (size > 1e-9 && size.is_finite()).then_some(Self { x, y, size })
    }

    fn shrink(&self, x: f64, y: f64) -> (f64, f64) {
        ((x - self.x) / self.size, (y - self.y) / self.size)
    }

    fn shrinking(&self) -> [[f64; 3]; 3] {
        let scale = 1.0 / self.size;
        [
            [scale, 0.0, -self.x * scale],
            [0.0, scale, -self.y * scale],
            [0.0, 0.0, 1.0],
        ]
    }

    fn grow(&self) -> [[f64; 3]; 3] {
        [
            [self.size, 0.0, self.x],
            [0.0, self.size, self.y],
            [0.0, 0.0, 1.0],
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{InFace, InPhoto};
    use proptest::prelude::*;

    fn unit_square() -> Quad<InFace> {
        Quad([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(x, y)| Point::new(x, y)))
    }

    fn check(corners: [(f64, f64); 4], inside: (f64, f64), expected: (f64, f64)) {
        let to = Quad::<InPhoto>(corners.map(|(x, y)| Point::new(x, y)));
        let map = PlaneMap::between(&unit_square(), &to).unwrap();
        let met = map.at(inside.0, inside.1);
        assert!(
            met.distance(Point::new(expected.0, expected.1)) < 1e-9,
            "{met:?}"
        );
    }

    #[test]
    fn centre_of_a_parallelogram_stays_its_centre() {
        check(
            [(10.0, 10.0), (30.0, 14.0), (36.0, 40.0), (16.0, 36.0)],
            (0.5, 0.5),
            (23.0, 25.0),
        );
    }

    #[test]
    fn centre_of_a_trapezium_goes_to_where_its_diagonals_cross() {
        // Diagonals of (0,0) (4,0) (3,2) (1,2): y = 2x/3 and y = -2(x-4)/3 cross at (2, 4/3).
        check(
            [(0.0, 0.0), (4.0, 0.0), (3.0, 2.0), (1.0, 2.0)],
            (0.5, 0.5),
            (2.0, 4.0 / 3.0),
        );
    }

    #[test]
    fn three_corners_on_a_line_give_no_map() {
        let flat = Quad::<InPhoto>(
            [(0.0, 0.0), (1.0, 0.0), (2.0, 0.0), (0.0, 1.0)].map(|(x, y)| Point::new(x, y)),
        );
        let map = PlaneMap::between(&flat, &unit_square());
        assert!(map.is_none_or(|map| map.inverse().is_none()), "{map:?}");
    }

    #[test]
    fn a_quad_knows_its_area_and_turn() {
        let quad = unit_square();
        assert!((quad.area() - 1.0).abs() < 1e-12);
        assert!(quad.is_convex());
        let crossed = Quad::<InFace>([quad.0[0], quad.0[2], quad.0[1], quad.0[3]]);
        assert!(!crossed.is_convex());
    }

    proptest! {
        #[test]
        fn going_there_and_back_is_nothing(
            jitter in proptest::array::uniform8(-0.2..0.2_f64),
            x in 0.0..1.0_f64,
            y in 0.0..1.0_f64,
        ) {
            let mut to = unit_square();
            for (k, corner) in to.0.iter_mut().enumerate() {
                *corner = Point::new(corner.x + jitter[2 * k], corner.y + jitter[2 * k + 1]);
            }
            let map = PlaneMap::<InFace, InFace>::between(&unit_square(), &to).unwrap();
            let back = map.inverse().unwrap().map(map.at(x, y));
            prop_assert!(back.distance(Point::new(x, y)) < 1e-9);
        }

        #[test]
        fn squares_weigh_most_where_they_are_near(x in 0.2..0.8_f64, y in 0.2..0.8_f64, side in 0.05..0.2_f64) {
            let to = Quad::<InPhoto>([(10.0, 10.0), (90.0, 20.0), (80.0, 70.0), (5.0, 95.0)].map(|(x, y)| Point::new(x, y)));
            let map = PlaneMap::between(&unit_square(), &to).unwrap();
            // The image of a square is a quad: its centre of mass from the shoelace formula.
            let half = side / 2.0;
            let corners = [(-half, -half), (half, -half), (half, half), (-half, half)]
                .map(|(right, down)| map.at(x + right, y + down));
            let (mut area, mut sum) = (0.0, (0.0, 0.0));
            for k in 0..4 {
                let (a, b) = (corners[k], corners[(k + 1) % 4]);
                let turn = a.x * b.y - b.x * a.y;
                area += turn / 2.0;
                sum.0 += (a.x + b.x) * turn / 6.0;
                sum.1 += (a.y + b.y) * turn / 6.0;
            }
            let (right, down) = map.centroid_shift(x, y, side * side);
            let expected = Point::new(sum.0 / area, sum.1 / area);
            let without = map.at(x, y).distance(expected);
            prop_assert!(map.at(x + right, y + down).distance(expected) < 0.1 * without + 1e-4);
        }

        #[test]
        fn steps_are_the_slopes(x in 0.1..0.9_f64, y in 0.1..0.9_f64) {
            let to = Quad::<InPhoto>([(10.0, 10.0), (90.0, 20.0), (80.0, 70.0), (5.0, 95.0)].map(|(x, y)| Point::new(x, y)));
            let map = PlaneMap::between(&unit_square(), &to).unwrap();
            let h = 1e-6;
            let [(ux, uy), (vx, vy)] = map.steps(x, y);
            let (here, right, below) = (map.at(x, y), map.at(x + h, y), map.at(x, y + h));
            prop_assert!(((right.x - here.x) / h - ux).abs() < 1e-3);
            prop_assert!(((right.y - here.y) / h - uy).abs() < 1e-3);
            prop_assert!(((below.x - here.x) / h - vx).abs() < 1e-3);
            prop_assert!(((below.y - here.y) / h - vy).abs() < 1e-3);
        }
    }
}
