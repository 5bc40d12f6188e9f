//! A square as it lies in a picture: slanted, but with parallel sides.

use std::fmt;

/// A point or step in a picture: to the right, downwards.
pub(super) type Step = (f64, f64);

/// A slanted square, or any square after a plane map that keeps parallels. Shows itself as the SVG attribute
/// that maps the square 0..1 × 0..1 onto it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Slant {
    /// Where its top left corner lies.
    pub corner: Step,
    /// The way from there to its top right corner.
    pub across: Step,
    /// The way from there to its bottom left corner.
    pub down: Step,
}

impl Slant {
    /// An upright square.
    pub(super) const fn upright(corner: Step, side: f64) -> Self {
        Self {
            corner,
            across: (side, 0.0),
            down: (0.0, side),
        }
    }

    /// The point at these shares of its sides.
    pub(super) fn at(self, (across, down): Step) -> Step {
        (
            self.corner.0 + across * self.across.0 + down * self.down.0,
            self.corner.1 + across * self.across.1 + down * self.down.1,
        )
    }

    /// The part of it whose top left corner lies at these shares of its sides, `scale` times as large.
    pub(super) fn part(self, at: Step, scale: f64) -> Self {
        Self {
            corner: self.at(at),
            across: (self.across.0 * scale, self.across.1 * scale),
            down: (self.down.0 * scale, self.down.1 * scale),
        }
    }

    /// The same square with left and right exchanged.
    pub(super) fn mirrored_across(self) -> Self {
        Self {
            corner: self.at((1.0, 0.0)),
            across: (-self.across.0, -self.across.1),
            ..self
        }
    }

    /// The same square with top and bottom exchanged.
    pub(super) fn mirrored_down(self) -> Self {
        Self {
            corner: self.at((0.0, 1.0)),
            down: (-self.down.0, -self.down.1),
            ..self
        }
    }

    /// Its corners, clockwise from the top left.
    pub(super) fn corners(self) -> [Step; 4] {
        [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|share| self.at(share))
    }
}

impl fmt::Display for Slant {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            out,
            r#"transform="matrix({:.4} {:.4} {:.4} {:.4} {:.2} {:.2})""#,
            self.across.0, self.across.1, self.down.0, self.down.1, self.corner.0, self.corner.1
        )
    }
}
