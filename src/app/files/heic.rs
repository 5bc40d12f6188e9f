//! The bytes of a HEIC file to an upright picture: its container's tiles, each decoded as HEVC, laid side by side
//! (ISO/IEC 23008-12 and 23008-2).
//!
//! What it does not understand, or finds damaged, is no picture to it; it gives no reasons.

use image::RgbImage;
use oxideav_core::{CodecId, CodecParameters, Frame, Packet, TimeBase};
use oxideav_heif::compose::{GridCanvas, apply_transforms_owned};
use oxideav_heif::derived::{ImageKind, ImageNode, build_primary_graph};
use oxideav_heif::{HeifFileRef, HeifFrame, HeifPixelFormat, Plane, to_rgb};
use std::panic::catch_unwind;

/// Whether the bytes are an ISO base media file of a HEIF brand.
pub fn is_heic(bytes: &[u8]) -> bool {
    const BRANDS: [&[u8]; 7] = [
        b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1",
    ];
    let brand = bytes.get(4..12);
    brand.is_some_and(|brand| {
        brand.starts_with(b"ftyp") && BRANDS.iter().any(|known| brand.ends_with(known))
    })
}

/// The picture a HEIC file is there for; `None` if it cannot be understood.
pub fn picture_of_heic(bytes: &[u8]) -> Option<RgbImage> {
    // The decoder is young: bytes it does not expect must not stop the photos after them.
    catch_unwind(|| decoded(bytes)).ok().flatten()
}

fn decoded(bytes: &[u8]) -> Option<RgbImage> {
    let file = HeifFileRef::parse_borrowed(bytes).ok()?;
    let root = build_primary_graph(&file).ok()?;
    let frame = shown(&file, &root)?;
    let colours = root.properties.colrs();
    let rgb = to_rgb(&frame, colours.into_iter().find(|colr| !colr.is_icc())).ok()?;
    let shift = rgb.bit_depth.saturating_sub(8);
    let channels = rgb.channels;
    let pixels = rgb.data.chunks_exact(channels);
    let narrow = |value: u16| u8::try_from(value >> shift).unwrap_or(u8::MAX);
    let bytes = pixels.flat_map(|pixel| [narrow(pixel[0]), narrow(pixel[1]), narrow(pixel[2])]);
    RgbImage::from_raw(rgb.width, rgb.height, bytes.collect())
}

/// The width and height of the primary picture as it is shown.
pub fn size_of_heic(bytes: &[u8]) -> Option<(u32, u32)> {
    let file = HeifFileRef::parse_borrowed(bytes).ok()?;
    build_primary_graph(&file).ok()?.output_size().ok()
}

/// A picture with its turns and crops.
fn shown(file: &HeifFileRef, node: &ImageNode) -> Option<HeifFrame> {
    let frame = match &node.kind {
        ImageKind::Coded(_) => coded(file, node)?,
        ImageKind::Grid(grid) => {
            let mut canvas = GridCanvas::new(grid);
            for (index, tile) in node.inputs.iter().enumerate() {
                canvas.place(index, &shown(file, tile)?).ok()?;
            }
            canvas.finish().ok()?
        }
        ImageKind::Identity => shown(file, node.inputs.first()?)?,
        _ => return None,
    };
    apply_transforms_owned(frame, node.properties.transformative(), false).ok()
}

/// One HEVC picture.
fn coded(file: &HeifFileRef, node: &ImageNode) -> Option<HeifFrame> {
    let settings = node.properties.hvcc()?;
    let mut parameters = CodecParameters::video(CodecId::new("h265"));
    parameters.extradata.clone_from(&settings.raw);
    let mut decoder = oxideav_h265::make_decoder(&parameters).ok()?;
    let data = file.item_data(node.item.id).ok()?.into_owned();
    let packet = Packet::new(0, TimeBase::new(1, 1), data)
        .with_pts(0)
        .with_keyframe(true);
    decoder.send_packet(&packet).ok()?;
    decoder.flush().ok()?;
    let Frame::Video(picture) = decoder.receive_frame().ok()? else {
        return None;
    };
    let format: HeifPixelFormat = oxideav_heif::layout::hevc_layout(settings).ok()?;
    let luma = picture.planes.first()?;
    let width = u32::try_from(luma.stride / format.bytes_per_sample()).ok()?;
    let height = u32::try_from(luma.data.len().checked_div(luma.stride)?).ok()?;
    let planes = picture.planes.into_iter().take(format.plane_count());
    let planes = planes.map(|plane| Plane::new(plane.stride, plane.data));
    let frame = HeifFrame {
        width,
        height,
        format,
        planes: planes.collect(),
    };
    frame.validate().ok()?;
    let (shown_width, shown_height) = node.ispe().unwrap_or((width, height));
    if (shown_width, shown_height) == (width, height) {
        Some(frame)
    } else {
        oxideav_heif::compose::crop(&frame, 0, 0, shown_width, shown_height).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RED: [u8; 3] = [200, 30, 30];
    const GREEN: [u8; 3] = [30, 160, 30];
    const GREY: [u8; 3] = [230, 230, 230];
    const BLUE: [u8; 3] = [30, 30, 200];

    /// Source: the files were written with libheif 1.23.6 and x265 4.3 from a drawing of four even quarters, 96×64; the second is
    /// turned a quarter clockwise by the container, the third laid together from tiles of 64×64 as phones do it, cut at
    /// the right. All were read back by libheif to the values below.
    #[test]
    fn pictures_are_read() {
        let check = |name: &str, size: (u32, u32), corners: [[u8; 3]; 4]| {
            let path = format!("{}/fixtures/heic/{name}", env!("CARGO_MANIFEST_DIR"));
            let bytes = std::fs::read(path).unwrap();
            assert!(is_heic(&bytes));
            assert_eq!(size_of_heic(&bytes), Some(size));
            let picture = picture_of_heic(&bytes).unwrap();
            assert_eq!(picture.dimensions(), size);
            let (right, bottom) = (size.0 - 6, size.1 - 6);
            let at = [(5, 5), (right, 5), (right, bottom), (5, bottom)];
            for ((x, y), expected) in at.into_iter().zip(corners) {
                let met = picture.get_pixel(x, y).0;
                let is_near = met
                    .iter()
                    .zip(expected)
                    .all(|(&met, expected)| met.abs_diff(expected) <= 2);
                assert!(is_near, "{name} at {x}, {y}: {met:?}, not {expected:?}");
            }
        };
        check("quarters.heic", (96, 64), [RED, GREEN, GREY, BLUE]);
        check("quarters-turned.heic", (64, 96), [BLUE, RED, GREEN, GREY]);
        check("quarters-tiled.heic", (96, 64), [RED, GREEN, GREY, BLUE]);
    }

    #[test]
    fn what_breaks_off_is_no_picture() {
        let path = format!("{}/fixtures/heic/photo-1.heic", env!("CARGO_MANIFEST_DIR"));
        let bytes = std::fs::read(path).unwrap();
        for end in [12, 100, 600, bytes.len() / 2] {
            assert!(picture_of_heic(&bytes[..end]).is_none(), "{end}");
        }
    }
}
