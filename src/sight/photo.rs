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
}
