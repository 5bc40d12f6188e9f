//! What runs beside the program in the emulated machine: `feed` gives a loopback device known frames, `capture` holds a
//! device as another program would, `controls` prints how its exposure and white balance stand, and `watch` looks at
//! the program's page the way a browser does and prints what it tells.

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
        ["feed", device, kind, picture, rate] => {
            linux::feed(device, kind, picture, rate.parse().unwrap());
        }
        ["capture", device] => linux::capture(device),
        ["controls", device] => linux::controls(device),
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
    use serde_json::Value as Json;
    use sixfold::sight::{Photo, SeenFace, Trace, look};
    use std::fs::OpenOptions;
    use std::io::Write;
    use std::thread::sleep;
    use std::time::{Duration, Instant};
    use tungstenite::Message;
    use v4l::buffer::Type;
    use v4l::control::Value;
    use v4l::io::traits::CaptureStream;
    use v4l::prelude::MmapStream;
    use v4l::video::Output;
    use v4l::{Device, Format, FourCC};

    /// Tells the console, and whoever waits for it.
    fn say(what: &str) {
        println!("{what}");
        let mut heard = OpenOptions::new()
            .append(true)
            .create(true)
            .open("/tmp/said")
            .unwrap();
        writeln!(heard, "{what}").unwrap();
    }

    /// Writes one picture to a device over and over, as YUYV, NV12 or MJPG, until it is ended or the device is gone.
    pub fn feed(device: &str, kind: &str, picture: &str, rate: u32) {
        let picture = image::open(picture).unwrap().into_rgb8();
        let (wide, high) = picture.dimensions();
        let bytes = match kind {
            "YUYV" => yuyv(&picture),
            "NV12" => nv12(&picture),
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
        say(&format!(
            "feed: {device} takes {} at {}x{}",
            format.fourcc, format.width, format.height
        ));
        let start = Instant::now();
        for frame in 1.. {
            match output.write_all(&bytes) {
                // ENODEV.
                Err(why) if why.raw_os_error() == Some(19) => {
                    println!("feed: {device} is no more");
                    return;
                }
                written => written.unwrap(),
            }
            let due = Duration::from_secs_f64(f64::from(frame) / f64::from(rate));
            sleep(due.saturating_sub(start.elapsed()));
        }
    }

    /// Captures from a device until it is ended.
    pub fn capture(device: &str) {
        let camera = Device::with_path(device).unwrap();
        let mut stream = MmapStream::new(&camera, Type::VideoCapture).unwrap();
        stream.next().unwrap();
        say(&format!("capture: {device} gives pictures"));
        loop {
            stream.next().unwrap();
        }
    }

    /// Prints what a camera's exposure and white balance do, and that they do it for a while.
    pub fn controls(device: &str) {
        let camera = Device::with_path(device).unwrap();
        let value = |id: u32| camera.control(id).ok().map(|control| control.value);
        // linux/v4l2-controls.h: the switch and the value of exposure and of white balance.
        for (name, switch, set) in [
            ("exposure", 0x009a_0901, 0x009a_0902),
            ("white balance", 0x0098_090c, 0x0098_091a),
        ] {
            let how = match value(switch) {
                None => "has no switch",
                Some(Value::Integer(1) | Value::Boolean(false)) => "by hand",
                Some(_) => "automatic",
            };
            let before = value(set);
            sleep(Duration::from_millis(600));
            let moves = if value(set) == before {
                "stands"
            } else {
                "moves"
            };
            say(&format!("controls: {device} {name} {how}, {moves}"));
        }
    }

    /// Every pixel in the limited range of ITU-R BT.601.
    fn ycc(picture: &RgbImage) -> Vec<[f64; 3]> {
        let pixels = picture.pixels().map(|pixel| pixel.0.map(f64::from));
        pixels
            .map(|[red, green, blue]| {
                [
                    16.0 + 0.256_788 * red + 0.504_129 * green + 0.097_906 * blue,
                    128.0 - 0.148_223 * red - 0.290_993 * green + 0.439_216 * blue,
                    128.0 + 0.439_216 * red - 0.367_788 * green - 0.071_427 * blue,
                ]
            })
            .collect()
    }

    /// Y U Y V, colour differences averaged over each pair of pixels.
    fn yuyv(picture: &RgbImage) -> Vec<u8> {
        let pixels = ycc(picture);
        let pairs = pixels.chunks_exact(2);
        pairs
            .flat_map(|pair| {
                let mean = |k: usize| f64::midpoint(pair[0][k], pair[1][k]);
                [pair[0][0], mean(1), pair[1][0], mean(2)].map(|value| value.round() as u8)
            })
            .collect()
    }

    /// All Y, then U V averaged over each two by two pixels.
    fn nv12(picture: &RgbImage) -> Vec<u8> {
        let pixels = ycc(picture);
        let wide = picture.width() as usize;
        let mut bytes: Vec<u8> = pixels.iter().map(|pixel| pixel[0].round() as u8).collect();
        for rows in pixels.chunks_exact(2 * wide) {
            for left in (0..wide).step_by(2) {
                let four = [left, left + 1, wide + left, wide + left + 1];
                bytes.extend([1, 2].map(|k| {
                    let sum: f64 = four.iter().map(|&place| rows[place][k]).sum();
                    (sum / 4.0).round() as u8
                }));
            }
        }
        bytes
    }

    /// Prints, each once: the first frame, which of the pictures' faces is seen, troubles and their end, whether
    /// exposure and white balance are held, and the number of faces held.
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
        let mut locking = String::new();
        let mut tell = |what: String| {
            if told.last() != Some(&what) && !(what.starts_with("frame") && told.contains(&what)) {
                say(&format!(
                    "watch {:5.1} s: {what}",
                    start.elapsed().as_secs_f64()
                ));
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
            let said: Json = serde_json::from_str(&text).unwrap();
            match said["kind"].as_str() {
                Some("source") => {
                    match said["trouble"].as_str() {
                        Some(trouble) => tell(format!("trouble: {trouble}")),
                        None => tell("no trouble".to_owned()),
                    }
                    let why = said["refusal"].as_str().unwrap_or_default();
                    let now = format!("locking: {} {why}", said["locking"].as_str().unwrap());
                    if locking != now {
                        tell(now.clone());
                        locking = now;
                    }
                }
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
    fn farthest(lattice: &Json, expected: &SeenFace) -> (f64, f64) {
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
