//! The picture to look at: eight-bit sRGB pixels, upright, already decoded.

use image::RgbImage;

/// A decoded photo, upright as it is to be looked at.
///
/// Pixel (column, row) covers column..column + 1 and row..row + 1 in [`crate::geometry::InPhoto`].
#[derive(Clone, Debug)]
pub struct Photo {
    pixels: RgbImage,
}

impl From<RgbImage> for Photo {
    fn from(pixels: RgbImage) -> Self {
        Self { pixels }
    }
}

impl Photo {
    /// Columns of pixels.
    pub fn width_px(&self) -> usize {
        self.pixels.width() as usize
    }

    /// Rows of pixels.
    pub fn height_px(&self) -> usize {
        self.pixels.height() as usize
    }

    /// Red, green, blue of every pixel, row by row.
    pub fn bytes(&self) -> &[u8] {
        self.pixels.as_raw()
    }

    /// The pixels as a picture.
    pub const fn picture(&self) -> &RgbImage {
        &self.pixels
    }

    /// The pixel at a column and row, which are moved to the nearest edge when outside.
    pub fn pixel(&self, column: i32, row: i32) -> [u8; 3] {
        let column = column.clamp(0, self.pixels.width() as i32 - 1) as usize;
        let row = row.clamp(0, self.pixels.height() as i32 - 1) as usize;
        let at = 3 * (row * self.width_px() + column);
        let bytes = self.bytes();
        [bytes[at], bytes[at + 1], bytes[at + 2]]
    }

    /// The pixels of two columns and two rows from this column and row on, each row of two as six bytes; those
    /// outside are taken from the nearest edge.
    pub fn square_at(&self, column: i32, row: i32) -> [[u8; 6]; 2] {
        let stride = 3 * self.width_px();
        if let (Ok(column), Ok(row)) = (usize::try_from(column), usize::try_from(row))
            && column + 1 < self.width_px()
        {
            let at = row * stride + 3 * column;
            let six = |at: usize| self.bytes().get(at..)?.first_chunk::<6>();
            if let (Some(above), Some(below)) = (six(at), six(at + stride)) {
                return [*above, *below];
            }
        }
        [row, row + 1].map(|row| {
            let [left, right] = [column, column + 1].map(|column| self.pixel(column, row));
            [left[0], left[1], left[2], right[0], right[1], right[2]]
        })
    }
}
