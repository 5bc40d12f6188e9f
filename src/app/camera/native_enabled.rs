//! The computer's own cameras, through nokhwa, with its faults fenced off.
//!
//! Measured on Linux's video devices: opening fails when another program left the device in a format or at a rate
//! that nokhwa does not know, so a known one is set beforehand; formats are not checked against the camera's list,
//! so they are chosen from it here; devices that capture nothing are listed too and skipped here; it may hang for
//! ever, which [`keeper`] sees to; its decoder of JPEG frames is left out, see [`super::frame`].

#[cfg(target_os = "linux")]
#[path = "controls.rs"]
mod controls;
#[path = "keeper.rs"]
mod keeper;

use super::{Frame, Pixels, Source, Trouble};
use keeper::{Device, Keeper, Open};
use nokhwa::Camera;
use nokhwa::utils::{
    ApiBackend, CameraFormat, CameraIndex, FrameFormat, RequestedFormat, RequestedFormatType,
    Resolution,
};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::Instant;

/// A camera of this computer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// The number it is chosen by.
    pub number: u32,
    /// Its name.
    pub name: String,
}

/// The cameras of this computer, those with the smallest number first.
///
/// # Errors
///
/// If the system does not tell.
pub fn list() -> Result<Vec<Listed>, Trouble> {
    let found = nokhwa::query(ApiBackend::Auto)
        .map_err(|why| Trouble::from_answer("the system's list of cameras", &why.to_string()))?;
    let mut cameras: Vec<_> = found
        .iter()
        .filter_map(|info| {
            let number = info.index().as_index().ok()?;
            let name = info.human_name();
            system::can_capture(number).then_some(Listed { number, name })
        })
        .collect();
    cameras.sort_by_key(|camera| camera.number);
    Ok(cameras)
}

/// A camera of this computer by number or part of its name, or the first one.
///
/// # Errors
///
/// If there is none, or none of that name. A camera that is there but busy is no error: it is tried again.
pub fn native(chosen: Option<&str>) -> Result<Box<dyn Source>, Trouble> {
    system::ask_leave();
    let camera = choose(&list()?, chosen)?;
    let name = camera.name.clone();
    let number = Arc::new(AtomicU32::new(camera.number));
    let holding = system::holding(name.clone(), Arc::clone(&number));
    let open: Open = Arc::new(move |start| {
        let camera = found_again(list()?, &camera)?;
        number.store(camera.number, Ordering::Release);
        let opened = Opened::new(&camera, start)?;
        Ok(Box::new(opened) as Box<dyn Device>)
    });
    Ok(Box::new(Keeper::new(name, open, holding)))
}

/// The same camera among those there are now: plugged in again it may have another number.
fn found_again(cameras: Vec<Listed>, camera: &Listed) -> Result<Listed, Trouble> {
    let mut namesakes: Vec<Listed> = cameras
        .into_iter()
        .filter(|other| other.name == camera.name)
        .collect();
    namesakes.sort_by_key(|other| other.number != camera.number);
    namesakes.into_iter().next().ok_or_else(|| Trouble::Gone {
        camera: camera.name.clone(),
    })
}

fn choose(cameras: &[Listed], chosen: Option<&str>) -> Result<Listed, Trouble> {
    let Some(asked) = chosen else {
        return cameras.first().cloned().ok_or(Trouble::NoCamera);
    };
    let number = asked.trim_start_matches("/dev/video").parse().ok();
    let wanted = asked.to_lowercase();
    let found = cameras
        .iter()
        .find(|camera| Some(camera.number) == number)
        .or_else(|| {
            let mut named = cameras.iter();
            named.find(|camera| camera.name.to_lowercase().contains(&wanted))
        });
    found.cloned().ok_or_else(|| {
        let names = cameras
            .iter()
            .map(|camera| format!("{} ({})", camera.number, camera.name));
        let known = names.collect::<Vec<_>>().join(", ");
        Trouble::Unknown {
            asked: asked.to_owned(),
            known: if known.is_empty() {
                "none".to_owned()
            } else {
                known
            },
        }
    })
}

/// The formats read here.
const FORMATS: [FrameFormat; 5] = [
    FrameFormat::NV12,
    FrameFormat::YUYV,
    FrameFormat::MJPEG,
    FrameFormat::RAWRGB,
    FrameFormat::RAWBGR,
];

/// The size wished for: stickers of an 11×11×11 across half the height still have 30 pixels.
const WISHED: Resolution = Resolution {
    width_x: 1280,
    height_y: 720,
};

/// The rate below which hands blur and the drawn lattice lags.
const FLUENT_FPS: u32 = 20;

/// How many of the camera's formats are tried, the best first.
const TRIES: usize = 8;

/// How unwelcome a format is: first too slow, then far from the wished size, then costly to decode.
fn unwelcome(format: &CameraFormat) -> (bool, u32, u32, usize) {
    let size = format.resolution();
    let off = size.width_x.abs_diff(WISHED.width_x) + size.height_y.abs_diff(WISHED.height_y);
    let place = FORMATS.iter().position(|known| *known == format.format());
    (
        format.frame_rate() < FLUENT_FPS,
        off,
        format.frame_rate().abs_diff(30),
        place.unwrap_or(FORMATS.len()),
    )
}

/// A camera being captured from.
struct Opened {
    camera: Camera,
    name: String,
    start: Instant,
}

impl Opened {
    fn new(listed: &Listed, start: Instant) -> Result<Self, Trouble> {
        let name = listed.name.clone();
        let trouble = |why: &dyn std::fmt::Display| Trouble::from_answer(&name, &why.to_string());
        system::set_known_format(listed.number).map_err(|why| trouble(&why))?;
        let any = RequestedFormat::with_formats(RequestedFormatType::None, &FORMATS);
        let mut camera =
            Camera::new(CameraIndex::Index(listed.number), any).map_err(|why| trouble(&why))?;
        // A camera that tells no list stays as it is.
        let mut formats = camera.compatible_camera_formats().unwrap_or_default();
        formats.retain(|format| FORMATS.contains(&format.format()));
        formats.sort_by_key(unwelcome);
        formats.dedup();
        for format in formats.into_iter().take(TRIES) {
            if format == camera.camera_format() {
                break;
            }
            let exact = RequestedFormatType::Exact(format);
            if camera
                .set_camera_requset(RequestedFormat::with_formats(exact, &FORMATS))
                .is_ok()
            {
                break;
            }
        }
        camera.open_stream().map_err(|why| trouble(&why))?;
        Ok(Self {
            camera,
            name,
            start,
        })
    }
}

impl Device for Opened {
    fn frame(&mut self) -> Result<Frame, Trouble> {
        let buffer = self
            .camera
            .frame()
            .map_err(|why| Trouble::from_answer(&self.name, &why.to_string()))?;
        let size = buffer.resolution();
        let pixels = match buffer.source_frame_format() {
            FrameFormat::MJPEG => Pixels::Jpeg,
            FrameFormat::YUYV => Pixels::Yuyv,
            FrameFormat::NV12 => Pixels::Nv12,
            FrameFormat::RAWRGB => Pixels::Rgb,
            FrameFormat::RAWBGR => Pixels::Bgr,
            FrameFormat::GRAY => Pixels::Grey,
        };
        Ok(Frame {
            number: 0,
            at: self.start.elapsed(),
            size_px: (size.width_x, size.height_y),
            pixels,
            bytes: buffer.buffer().to_vec(),
        })
    }
}

#[cfg(target_os = "linux")]
mod system {
    use super::controls::Held;
    use super::keeper::Hold;
    use std::io;
    use std::sync::Arc;
    use std::sync::atomic::AtomicU32;
    use v4l::video::Capture;
    use v4l::video::capture::Parameters;
    use v4l::{Device, Format, FourCC};

    /// Formats that nokhwa knows, in its own names.
    const KNOWN: [&[u8; 4]; 5] = [b"YUYV", b"NV12", b"MJPG", b"RGB3", b"BGR3"];

    /// Nothing needs to be asked here.
    pub(super) fn ask_leave() {}

    /// Whether the device gives pictures: cameras have further devices for other data.
    ///
    /// One that cannot be asked (busy, forbidden) counts as a camera, so that its trouble is told.
    pub(super) fn can_capture(number: u32) -> bool {
        Device::new(number as usize)
            .and_then(|device| Capture::enum_formats(&device))
            .map_or_else(
                |why| {
                    let kinds = [io::ErrorKind::PermissionDenied, io::ErrorKind::ResourceBusy];
                    kinds.contains(&why.kind())
                },
                |formats| !formats.is_empty(),
            )
    }

    /// Exposure and white balance are held by the kernel's controls.
    pub(super) fn holding(name: String, number: Arc<AtomicU32>) -> Box<dyn Hold> {
        Box::new(Held::new(name, number))
    }

    /// Puts the device into a format and a rate that nokhwa knows, before it looks.
    pub(super) fn set_known_format(number: u32) -> io::Result<()> {
        let device = Device::new(number as usize)?;
        let offered = Capture::enum_formats(&device)?;
        let known = KNOWN.map(FourCC::new);
        let Some(fourcc) = known
            .iter()
            .find(|known| offered.iter().any(|format| format.fourcc == **known))
        else {
            return Ok(());
        };
        Capture::set_format(&device, &Format::new(640, 480, *fourcc))?;
        // Some devices have no rate to set; nokhwa will say so if it matters.
        let _ = Capture::set_params(&device, &Parameters::with_fps(30));
        Ok(())
    }
}

#[cfg(not(target_os = "linux"))]
mod system {
    use super::super::Locking;
    use super::keeper::Hold;
    use std::io;
    use std::sync::Arc;
    use std::sync::atomic::AtomicU32;

    /// There the camera layer cannot switch the automatics off; trying would only disturb the picture.
    struct NotHere;

    impl Hold for NotHere {
        fn hold(&mut self) -> Locking {
            let why = "exposure and white balance (this system does not let programs hold them)";
            Locking::Refused(why.to_owned())
        }

        fn let_go(&mut self) {}
    }

    pub(super) fn holding(_name: String, _number: Arc<AtomicU32>) -> Box<dyn Hold> {
        Box::new(NotHere)
    }

    /// macOS asks the person once; elsewhere this does nothing.
    pub(super) fn ask_leave() {
        nokhwa::nokhwa_initialize(|_| {});
    }

    pub(super) fn can_capture(_number: u32) -> bool {
        true
    }

    pub(super) fn set_known_format(_number: u32) -> io::Result<()> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn listed() -> Vec<Listed> {
        [(0, "Lid camera"), (2, "Desk camera")]
            .map(|(number, name)| Listed {
                number,
                name: name.to_owned(),
            })
            .to_vec()
    }

    #[test]
    fn a_camera_is_chosen_by_number_or_name() {
        let check = |chosen: Option<&str>, expected: Result<u32, &str>| {
            let found = choose(&listed(), chosen).map(|camera| camera.number);
            assert_eq!(
                found.map_err(|trouble| trouble.to_string()),
                expected.map_err(str::to_owned)
            );
        };
        check(None, Ok(0));
        check(Some("2"), Ok(2));
        check(Some("/dev/video2"), Ok(2));
        check(Some("desk"), Ok(2));
        check(
            Some("wall"),
            Err("no camera is called \"wall\"; there are 0 (Lid camera), 2 (Desk camera)"),
        );
        assert_eq!(choose(&[], None), Err(Trouble::NoCamera));
    }

    #[test]
    fn a_camera_plugged_in_again_is_known_by_its_name() {
        let desk = &listed()[1];
        let check = |numbers: [(u32, &str); 2], expected: Option<u32>| {
            let cameras = numbers.map(|(number, name)| Listed {
                number,
                name: name.to_owned(),
            });
            let found = found_again(cameras.to_vec(), desk).map(|camera| camera.number);
            let gone = Trouble::Gone {
                camera: "Desk camera".to_owned(),
            };
            assert_eq!(found, expected.ok_or(gone));
        };
        check([(0, "Lid camera"), (4, "Desk camera")], Some(4));
        check([(0, "Desk camera"), (2, "Desk camera")], Some(2));
        check([(0, "Lid camera"), (2, "Wall camera")], None);
    }

    #[test]
    fn a_fluent_picture_of_the_wished_size_is_preferred() {
        let format = |wide, high, format, fps| CameraFormat::new_from(wide, high, format, fps);
        let mut formats = [
            format(1280, 720, FrameFormat::YUYV, 10),
            format(1920, 1080, FrameFormat::MJPEG, 30),
            format(640, 480, FrameFormat::YUYV, 30),
            format(1280, 720, FrameFormat::MJPEG, 30),
            format(1280, 720, FrameFormat::MJPEG, 60),
        ];
        formats.sort_by_key(unwelcome);
        assert_eq!(formats[0], format(1280, 720, FrameFormat::MJPEG, 30));
        assert_eq!(formats[4], format(1280, 720, FrameFormat::YUYV, 10));
    }
}
