//! What can keep a camera from giving frames, each in a sentence that says what to do.

/// Why no frame comes.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Trouble {
    /// There is no camera at all.
    #[error("no camera was found: plug one in, or use the browser's with --browser-camera")]
    NoCamera,
    /// No camera goes by the name or number asked for.
    #[error("no camera is called {asked:?}; there are {known}")]
    Unknown {
        /// What was asked for.
        asked: String,
        /// The cameras there are.
        known: String,
    },
    /// Another program holds it.
    #[error(
        "{camera} is in use by another program: close that program, and reading goes on by itself"
    )]
    Busy {
        /// The camera's name.
        camera: String,
    },
    /// It was unplugged or switched off.
    #[error("{camera} is gone: plug it in again, and reading goes on by itself")]
    Gone {
        /// The camera's name.
        camera: String,
    },
    /// The system does not let this program open it.
    #[error(
        "this program may not open {camera}: allow it in the system's privacy settings (on Linux, join the group \"video\")"
    )]
    NotAllowed {
        /// The camera's name.
        camera: String,
    },
    /// It is open but sends nothing.
    #[error(
        "{camera} has sent no picture for {seconds} seconds: check its cable and its shutter; it is being opened anew"
    )]
    Silent {
        /// The camera's name.
        camera: String,
        /// How long it has been silent.
        seconds: u64,
    },
    /// None of its picture formats can be read.
    #[error(
        "{camera} sends no picture format that can be read here (MJPEG, YUYV, NV12, RGB): try --browser-camera"
    )]
    NoFormat {
        /// The camera's name.
        camera: String,
    },
    /// Anything else, in the system's words.
    #[error("{camera} does not work: {detail}; it is being opened anew")]
    Other {
        /// The camera's name.
        camera: String,
        /// The system's words.
        detail: String,
    },
    /// The browser has not sent a frame yet, or no longer does.
    #[error("the browser sends no pictures: open the page and allow it to use the camera")]
    NoBrowser,
    /// A picture of a recording cannot be read.
    #[error("a picture of the recording cannot be read ({detail}): {path}")]
    Unreadable {
        /// The file.
        path: String,
        /// Why.
        detail: String,
    },
    /// The program was built without the camera feature.
    #[error(
        "this program was built without cameras of its own: use the browser's with --browser-camera"
    )]
    NotBuilt,
}

impl Trouble {
    /// The trouble behind an answer of the system's camera layer, which gives its reasons as text.
    ///
    /// `os error` numbers are those of errno.h, which Linux appends to its messages.
    #[cfg_attr(
        not(feature = "camera"),
        expect(dead_code, reason = "only cameras of our own answer so")
    )]
    pub(super) fn from_answer(camera: &str, answer: &str) -> Self {
        let camera = camera.to_owned();
        let says = |number: u8| answer.contains(&format!("os error {number})"));
        if says(16) {
            Self::Busy { camera }
        } else if says(2) || says(5) || says(6) || says(19) {
            Self::Gone { camera }
        } else if says(1) || says(13) {
            Self::NotAllowed { camera }
        } else if answer.contains("Failed to Fufill") {
            Self::NoFormat { camera }
        } else {
            Self::Other {
                camera,
                detail: answer.to_owned(),
            }
        }
    }
}

#[cfg(all(test, feature = "camera"))]
mod tests {
    use super::*;

    #[test]
    fn answers_of_the_system_become_sentences() {
        let check = |answer: &str, expected: &str| {
            assert_eq!(
                Trouble::from_answer("Desk camera", answer).to_string(),
                expected
            );
        };
        // Answers as measured on a loopback device.
        check(
            "Could not open device stream: Device or resource busy (os error 16)",
            "Desk camera is in use by another program: close that program, and reading goes on by itself",
        );
        check(
            "Could not open device 3: V4L2 Error: No such file or directory (os error 2)",
            "Desk camera is gone: plug it in again, and reading goes on by itself",
        );
        check(
            "Could not get device property CameraFormat: Failed to Fufill",
            "Desk camera sends no picture format that can be read here (MJPEG, YUYV, NV12, RGB): try --browser-camera",
        );
        check(
            "Could not capture frame: on fire",
            "Desk camera does not work: Could not capture frame: on fire; it is being opened anew",
        );
    }
}
