//! What runs beside the program in the emulated machine: `feed` gives a loopback device known frames, `watch` looks
//! at the program's page the way a browser does and prints what it tells.

#![expect(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a helper of a test: whatever fails must show in its log"
)]

#[cfg(target_os = "linux")]
fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match arguments.as_slice() {
        ["feed", device, kind, picture, frames, rate] => linux::feed(
            device,
            kind,
            picture,
            frames.parse().unwrap(),
            rate.parse().unwrap(),
        ),
        ["watch", url, pictures @ ..] => linux::watch(url, pictures),
        other => println!("FAILED: no such errand: {other:?}"),
    }
}

#[cfg(not(target_os = "linux"))]
fn main() {
    println!("FAILED: loopback devices are Linux's");
}

#[cfg(target_os = "linux")]
mod linux {
    use image::RgbImage;
    use image::codecs::jpeg::JpegEncoder;
    use serde_json::Value;
    use sixfold::sight::{Photo, SeenFace, Trace, look};
    use std::io::Write;
    use std::thread::sleep;
    use std::time::{Duration, Instant};
    use tungstenite::Message;
    use v4l::video::Output;
    use v4l::{Device, Format, FourCC};

    /// Writes one picture to a device over and over, as YUYV or MJPG, then closes it.
    pub fn feed(device: &str, kind: &str, picture: &str, frames: u32, rate: u32) {
        let picture = image::open(picture).unwrap().into_rgb8();
        let (wide, high) = picture.dimensions();
        let bytes = match kind {
            "YUYV" => yuyv(&picture),
            "MJPG" => {
                let mut jpeg = Vec::new();
                let encoder = JpegEncoder::new_with_quality(&mut jpeg, 95);
                picture.write_with_encoder(encoder).unwrap();
                jpeg
            }
            other => panic!("no such kind of frame: {other}"),
        };
        let mut output = Device::with_path(device).unwrap();
        let code: [u8; 4] = kind.as_bytes().try_into().unwrap();
        let format =
            Output::set_format(&output, &Format::new(wide, high, FourCC::new(&code))).unwrap();
        println!(
            "feed: {device} takes {} at {}x{}",
            format.fourcc, format.width, format.height
        );
        let start = Instant::now();
        for frame in 0..frames {
            output.write_all(&bytes).unwrap();
            let due = Duration::from_secs_f64(f64::from(frame + 1) / f64::from(rate));
            sleep(due.saturating_sub(start.elapsed()));
        }
        println!("feed: {device} ends after {frames} frames");
    }

    /// Y U Y V in the limited range of ITU-R BT.601, colour differences averaged over each pair of pixels.
    fn yuyv(picture: &RgbImage) -> Vec<u8> {
        let ycc = |[red, green, blue]: [f64; 3]| {
            [
                16.0 + 0.256_788 * red + 0.504_129 * green + 0.097_906 * blue,
                128.0 - 0.148_223 * red - 0.290_993 * green + 0.439_216 * blue,
                128.0 + 0.439_216 * red - 0.367_788 * green - 0.071_427 * blue,
            ]
        };
        let pixels: Vec<[f64; 3]> = picture
            .pixels()
            .map(|pixel| ycc(pixel.0.map(f64::from)))
            .collect();
        let pairs = pixels.chunks_exact(2);
        pairs
            .flat_map(|pair| {
                let mean = |k: usize| f64::midpoint(pair[0][k], pair[1][k]);
                [pair[0][0], mean(1), pair[1][0], mean(2)].map(|value| value.round() as u8)
            })
            .collect()
    }

    /// Prints, each once: the first frame, which of the pictures' faces is seen, troubles and their end, and the
    /// number of faces held.
    pub fn watch(url: &str, pictures: &[&str]) {
        let expected: Vec<SeenFace> = pictures
            .iter()
            .map(|picture| {
                let photo = Photo::from(image::open(picture).unwrap().into_rgb8());
                look(&mut Trace::default(), &photo).views[0].faces[0].clone()
            })
            .collect();
        let address = format!("{}socket", url.replace("http:", "ws:"));
        let (mut socket, _) = tungstenite::connect(address).unwrap();
        let start = Instant::now();
        let mut told: Vec<String> = Vec::new();
        let mut tell = |what: String| {
            if told.last() != Some(&what) && !(what.starts_with("frame") && told.contains(&what)) {
                println!("watch {:5.1} s: {what}", start.elapsed().as_secs_f64());
                told.push(what);
            }
        };
        loop {
            let Ok(message) = socket.read() else {
                return;
            };
            let Message::Text(text) = message else {
                continue;
            };
            let said: Value = serde_json::from_str(&text).unwrap();
            match said["kind"].as_str() {
                Some("source") => match said["trouble"].as_str() {
                    Some(trouble) => tell(format!("trouble: {trouble}")),
                    None => tell("no trouble".to_owned()),
                },
                Some("scene") => tell(format!(
                    "{} faces held",
                    said["faces"].as_array().unwrap().len()
                )),
                Some("glimpse") => {
                    socket.send(Message::text(r#"{"do":"drawn"}"#)).unwrap();
                    tell(format!("frame of {}", said["size_px"]));
                    let lattice = &said["lattice"];
                    if lattice["n"].is_u64() {
                        let off: Vec<(f64, f64)> = expected
                            .iter()
                            .map(|face| farthest(lattice, face))
                            .collect();
                        match off
                            .iter()
                            .position(|&(corner, colour)| corner < 1.0 && colour < 4.0)
                        {
                            Some(number) => {
                                tell(format!("frame shows the face of picture {}", number + 1));
                            }
                            None => {
                                tell(format!("frame shows a face of NO picture, off by {off:?}"));
                            }
                        }
                    }
                }
                _ => {}
            }
        }
    }

    /// How far corners (the farthest, in pixels) and colours (the mean, in 8-bit levels) are from those expected.
    fn farthest(lattice: &Value, expected: &SeenFace) -> (f64, f64) {
        if lattice["n"] != expected.n {
            return (f64::INFINITY, f64::INFINITY);
        }
        let corners = lattice["corners"].as_array().unwrap();
        let turned = (0..4).map(|k| {
            let farthest = (0..4)
                .map(|corner| {
                    let found = &corners[(corner + k) % 4];
                    let own = expected.corners_in_photo.0[corner];
                    (found[0].as_f64().unwrap() - own.x).hypot(found[1].as_f64().unwrap() - own.y)
                })
                .fold(0.0, f64::max);
            (farthest, k)
        });
        let (corner, quarters) = turned.min_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
        let n = expected.n;
        let mut sum = 0.0;
        for (place, patch) in expected.patches.iter().enumerate() {
            let (mut row, mut col) = (place / n, place % n);
            for _ in 0..quarters {
                (row, col) = (n - 1 - col, row);
            }
            let fill = lattice["fills"][row * n + col].as_str().unwrap();
            let found = [1, 3, 5].map(|at| u8::from_str_radix(&fill[at..at + 2], 16).unwrap());
            let own: [u8; 3] = palette::Srgb::<u8>::from_linear(patch.linear).into();
            let off = (0..3).map(|k| f64::from(found[k].abs_diff(own[k])));
            sum += off.sum::<f64>() / 3.0;
        }
        (corner, sum / expected.patches.len() as f64)
    }
}
