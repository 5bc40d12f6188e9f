//! The computer's own cameras, through nokhwa, with its faults fenced off.
//!
//! Measured on Linux's video devices: opening fails when another program left the device in a format or at a rate
//! that nokhwa does not know, so a known one is set beforehand; formats are not checked against the camera's list,
//! so they are chosen from it here; devices that capture nothing are listed too and skipped here; it may hang for
//! ever, which [`keeper`] sees to; its decoder of JPEG frames is left out, see [`super::frame`].

#[path = "keeper.rs"]
mod keeper;

use super::{Frame, Locking, Pixels, Source, Trouble};
use keeper::{Device, Keeper, Open};
use nokhwa::Camera;
use nokhwa::utils::{
    ApiBackend, CameraFormat, CameraIndex, ControlValueSetter, FrameFormat, KnownCameraControl,
    RequestedFormat, RequestedFormatType, Resolution,
};
use std::sync::Arc;
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
    let open: Open = Arc::new(move |start| {
        let opened = Opened::new(&camera, start)?;
        Ok(Box::new(opened) as Box<dyn Device>)
    });
    Ok(Box::new(Keeper::new(name, open)))
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
    /// What was found before exposure and white balance were held.
    before: Vec<(KnownCameraControl, ControlValueSetter)>,
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
            before: Vec::new(),
        })
    }

    /// Sets a control and remembers what it was; the camera layer reads it back and fails if it differs.
    fn set(
        &mut self,
        control: KnownCameraControl,
        value: ControlValueSetter,
    ) -> Result<(), String> {
        let found = self
            .camera
            .camera_control(control)
            .map_err(|why| why.to_string())?
            .value();
        if found == value {
            return Ok(());
        }
        self.camera
            .set_camera_control(control, value)
            .map_err(|why| why.to_string())?;
        self.before.push((control, found));
        Ok(())
    }

    /// Switches an automatic off and keeps what it had arrived at.
    fn freeze(
        &mut self,
        automatic: (KnownCameraControl, ControlValueSetter),
        value: KnownCameraControl,
    ) -> Result<(), String> {
        let arrived = self.camera.camera_control(value).ok();
        self.set(automatic.0, automatic.1)?;
        match arrived {
            Some(arrived) => self.set(value, arrived.value()),
            None => Ok(()),
        }
    }

    fn give_back(&mut self) {
        while let Some((control, value)) = self.before.pop() {
            // A camera that has gone needs nothing back.
            let _ = self.camera.set_camera_control(control, value);
        }
    }
}

/// Identifiers of the kernel's camera controls (linux/v4l2-controls.h); nokhwa reaches these by number alone.
mod control {
    use super::KnownCameraControl;

    /// `V4L2_CID_EXPOSURE_AUTO`; 1 is manual.
    pub(super) const EXPOSURE_AUTO: KnownCameraControl = KnownCameraControl::Other(0x009a_0901);
    /// `V4L2_CID_EXPOSURE_ABSOLUTE`, in units of 100 µs.
    pub(super) const EXPOSURE_TIME: KnownCameraControl = KnownCameraControl::Other(0x009a_0902);
    /// `V4L2_CID_AUTO_WHITE_BALANCE`.
    pub(super) const WHITE_BALANCE_AUTO: KnownCameraControl =
        KnownCameraControl::Other(0x0098_090c);
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

    fn hold_exposure(&mut self, is_held: bool) -> Locking {
        if !is_held {
            self.give_back();
            return Locking::Free;
        }
        if cfg!(not(target_os = "linux")) {
            // There the camera layer cannot switch the automatics off; trying would only disturb the picture.
            return Locking::Refused("this system does not let programs hold it".to_owned());
        }
        let exposure = self.freeze(
            (control::EXPOSURE_AUTO, ControlValueSetter::Integer(1)),
            control::EXPOSURE_TIME,
        );
        let balance = self.freeze(
            (
                control::WHITE_BALANCE_AUTO,
                ControlValueSetter::Boolean(false),
            ),
            KnownCameraControl::WhiteBalance,
        );
        match (exposure, balance) {
            (Ok(()), Ok(())) => Locking::Held,
            (Err(why), Ok(())) => Locking::Refused(format!("exposure: {why}")),
            (Ok(()), Err(why)) => Locking::Refused(format!("white balance: {why}")),
            (Err(why), Err(other)) => {
                Locking::Refused(format!("exposure: {why}; white balance: {other}"))
            }
        }
    }
}

impl Drop for Opened {
    fn drop(&mut self) {
        self.give_back();
    }
}

#[cfg(target_os = "linux")]
mod system {
    use std::io;
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
                |why| why.kind() == io::ErrorKind::PermissionDenied,
                |formats| !formats.is_empty(),
            )
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
    use std::io;

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
