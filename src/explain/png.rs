//! Any of the pictures as pixels.

use resvg::{tiny_skia, usvg};
use thiserror::Error;

/// Why a picture could not be made into pixels.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PictureError {
    /// The picture's text is no SVG.
    #[error("the picture is no SVG: {0}")]
    NotSvg(#[from] usvg::Error),
    /// The picture is empty or larger than memory allows.
    #[error("a picture of {wide_px}×{high_px} pixels cannot be made")]
    Size {
        /// Its width in pixels.
        wide_px: u32,
        /// Its height in pixels.
        high_px: u32,
    },
    /// The pixels could not be written as PNG.
    #[error("the pixels could not be written as PNG")]
    Encoding,
}

/// The picture as a PNG file, `scale` pixels for each of its units.
///
/// # Errors
///
/// If the text is no SVG, or the picture is empty or huge.
pub fn png(svg: &str, scale: f32) -> Result<Vec<u8>, PictureError> {
    let tree = usvg::Tree::from_str(svg, &usvg::Options::default())?;
    let (wide_px, high_px) = (
        (tree.size().width() * scale).ceil() as u32,
        (tree.size().height() * scale).ceil() as u32,
    );
    let mut pixels =
        tiny_skia::Pixmap::new(wide_px, high_px).ok_or(PictureError::Size { wide_px, high_px })?;
    resvg::render(
        &tree,
        tiny_skia::Transform::from_scale(scale, scale),
        &mut pixels.as_mut(),
    );
    pixels.encode_png().or(Err(PictureError::Encoding))
}
