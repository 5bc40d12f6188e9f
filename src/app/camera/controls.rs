//! Holds a camera's exposure, white balance and gain where its automatics have brought them, and gives them back,
//! through the kernel's controls (linux/v4l2-controls.h).
//!
//! On a handle of its own, which the kernel allows beside the stream's: a stream that hangs is no hindrance.
//! A camera's answer is never believed; what was set is read back.

use super::super::Locking;
use super::keeper::Hold;
use std::collections::BTreeMap;
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use v4l::context::Node;
use v4l::control::{Control, Value};

/// One thing that a camera sets by itself.
struct Automatic {
    /// What to call it before people.
    name: &'static str,
    /// The control that switches the automatic.
    switch: u32,
    /// The switch's value for "by hand".
    by_hand: i64,
    /// The control it sets.
    value: u32,
    /// Whether a camera without it changes it nevertheless.
    is_expected: bool,
}

const AUTOMATICS: [Automatic; 3] = [
    Automatic {
        name: "exposure",
        // V4L2_CID_EXPOSURE_AUTO, V4L2_EXPOSURE_MANUAL, V4L2_CID_EXPOSURE_ABSOLUTE.
        switch: 0x009a_0901,
        by_hand: 1,
        value: 0x009a_0902,
        is_expected: true,
    },
    Automatic {
        name: "white balance",
        // V4L2_CID_AUTO_WHITE_BALANCE, V4L2_CID_WHITE_BALANCE_TEMPERATURE.
        switch: 0x0098_090c,
        by_hand: 0,
        value: 0x0098_091a,
        is_expected: true,
    },
    Automatic {
        name: "gain",
        // V4L2_CID_AUTOGAIN, V4L2_CID_GAIN. Most cameras set the gain together with the exposure.
        switch: 0x0098_0912,
        by_hand: 0,
        value: 0x0098_0913,
        is_expected: false,
    },
];

/// How far a value may be from the one the automatic had arrived at: one f-stop, which leaves faces readable.
const MOST_RATIO: f64 = 2.0;

/// A camera's controls by their numbers.
trait Controls {
    fn get(&self, control: u32) -> io::Result<i64>;
    fn set(&self, control: u32, value: i64) -> io::Result<()>;
}

impl Controls for v4l::Device {
    fn get(&self, control: u32) -> io::Result<i64> {
        match self.control(control)?.value {
            Value::Integer(value) => Ok(value),
            Value::Boolean(value) => Ok(i64::from(value)),
            _ => Err(io::ErrorKind::Unsupported.into()),
        }
    }

    fn set(&self, control: u32, value: i64) -> io::Result<()> {
        self.set_control(Control {
            id: control,
            value: Value::Integer(value),
        })
    }
}

/// What a camera had before it was held.
pub(super) struct Held {
    name: String,
    number: Arc<AtomicU32>,
    before: BTreeMap<u32, i64>,
}

impl Held {
    /// Holds the camera of that name that has the number when it is asked to.
    pub(super) fn new(name: String, number: Arc<AtomicU32>) -> Self {
        Self {
            name,
            number,
            before: BTreeMap::new(),
        }
    }

    fn device(&self) -> io::Result<v4l::Device> {
        let number = self.number.load(Ordering::Acquire);
        let now = Node::new(format!("/dev/video{number}")).name();
        if now.as_ref() != Some(&self.name) {
            // Unplugged; another camera may have its number by now, and keeps its own settings.
            return Err(io::ErrorKind::NotFound.into());
        }
        v4l::Device::new(number as usize)
    }
}

impl Hold for Held {
    fn hold(&mut self) -> Locking {
        match self.device() {
            Ok(camera) => hold(&camera, &mut self.before),
            Err(why) => Locking::Refused(format!("exposure and white balance ({})", plain(&why))),
        }
    }

    fn let_go(&mut self) {
        // A camera that has gone needs nothing back.
        if !self.before.is_empty()
            && let Ok(camera) = self.device()
        {
            let_go(&camera, &mut self.before);
        }
    }
}

/// The system's words without its number for them.
fn plain(why: &io::Error) -> String {
    let words = why.to_string();
    words
        .split(" (os error")
        .next()
        .unwrap_or_default()
        .to_owned()
}

fn hold(camera: &impl Controls, before: &mut BTreeMap<u32, i64>) -> Locking {
    let refusals: Vec<String> = AUTOMATICS
        .iter()
        .filter_map(|automatic| {
            let why = freeze(camera, automatic, before).err()?;
            Some(format!("{} ({why})", automatic.name))
        })
        .collect();
    if refusals.is_empty() {
        Locking::Held
    } else {
        Locking::Refused(refusals.join(", "))
    }
}

/// Switches an automatic off and keeps what it had arrived at, or leaves all as it was and says why.
fn freeze(
    camera: &impl Controls,
    automatic: &Automatic,
    before: &mut BTreeMap<u32, i64>,
) -> Result<(), String> {
    let &Automatic { switch, value, .. } = automatic;
    let Ok(found) = camera.get(switch) else {
        return if automatic.is_expected {
            Err("the camera has no switch for it".to_owned())
        } else {
            Ok(())
        };
    };
    if found == automatic.by_hand {
        return Ok(());
    }
    let arrived = camera.get(value).ok();
    camera
        .set(switch, automatic.by_hand)
        .map_err(|why| format!("the camera refuses: {}", plain(&why)))?;
    if camera.get(switch).ok() != Some(automatic.by_hand) {
        return Err("the camera goes on by itself".to_owned());
    }
    // What a camera opened anew had at first counts, not what was set since.
    before.entry(switch).or_insert(found);
    let Some(arrived) = arrived else {
        return Ok(());
    };
    before.entry(value).or_insert(arrived);
    let is_near = |now: i64| {
        let ratio = now as f64 / arrived as f64;
        now == arrived || (1.0 / MOST_RATIO..=MOST_RATIO).contains(&ratio)
    };
    if camera.get(value).ok() != Some(arrived) {
        // Whether it worked is read back below, which says more than the answer.
        let _ = camera.set(value, arrived);
    }
    if camera.get(value).is_ok_and(is_near) {
        return Ok(());
    }
    let _ = camera.set(switch, found);
    Err("the camera jumps to another value".to_owned())
}

/// Values first, for an automatic switched on again may forbid them.
fn let_go(camera: &impl Controls, before: &mut BTreeMap<u32, i64>) {
    for automatic in AUTOMATICS {
        for control in [automatic.value, automatic.switch] {
            if let Some(value) = before.remove(&control) {
                let _ = camera.set(control, value);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::RefCell;

    const EXPOSURE: u32 = 0x009a_0901;
    const TIME: u32 = 0x009a_0902;
    const BALANCE: u32 = 0x0098_090c;
    const KELVINS: u32 = 0x0098_091a;

    /// A camera made up of its controls, and what it does when one is set.
    struct Puppet {
        controls: RefCell<BTreeMap<u32, i64>>,
        set: fn(&mut BTreeMap<u32, i64>, u32, i64) -> io::Result<()>,
    }

    impl Controls for Puppet {
        fn get(&self, control: u32) -> io::Result<i64> {
            let controls = self.controls.borrow();
            let value = controls.get(&control).copied();
            value.ok_or_else(|| io::ErrorKind::InvalidInput.into())
        }

        fn set(&self, control: u32, value: i64) -> io::Result<()> {
            (self.set)(&mut self.controls.borrow_mut(), control, value)
        }
    }

    const AUTOMATIC: [(u32, i64); 4] = [(EXPOSURE, 3), (TIME, 156), (BALANCE, 1), (KELVINS, 4600)];

    /// Holds a camera, compares what it has then, lets it go, and compares again.
    fn check(
        controls: &[(u32, i64)],
        set: fn(&mut BTreeMap<u32, i64>, u32, i64) -> io::Result<()>,
        expected: &(Locking, &[(u32, i64)]),
    ) {
        let has = |controls: &[(u32, i64)]| controls.iter().copied().collect::<BTreeMap<_, _>>();
        let camera = Puppet {
            controls: RefCell::new(has(controls)),
            set,
        };
        let mut before = BTreeMap::new();
        let locking = hold(&camera, &mut before);
        assert_eq!(locking, expected.0);
        assert_eq!(*camera.controls.borrow(), has(expected.1), "held");
        // Held once more, as after it was opened anew, it still remembers the first.
        hold(&camera, &mut before);
        let_go(&camera, &mut before);
        assert_eq!(*camera.controls.borrow(), has(controls), "given back");
    }

    fn refused(why: &str) -> Locking {
        Locking::Refused(why.to_owned())
    }

    #[test]
    fn automatics_are_switched_off_and_on_again() {
        check(
            &AUTOMATIC,
            |controls, control, value| {
                controls.insert(control, value);
                Ok(())
            },
            &(
                Locking::Held,
                &[(EXPOSURE, 1), (TIME, 156), (BALANCE, 0), (KELVINS, 4600)],
            ),
        );
    }

    #[test]
    fn what_the_automatic_had_arrived_at_is_kept() {
        check(
            &AUTOMATIC,
            |controls, control, value| {
                controls.insert(control, value);
                if (control, value) == (EXPOSURE, 1) {
                    controls.insert(TIME, 20);
                }
                Ok(())
            },
            &(
                Locking::Held,
                &[(EXPOSURE, 1), (TIME, 156), (BALANCE, 0), (KELVINS, 4600)],
            ),
        );
    }

    #[test]
    fn a_camera_without_controls_is_said_to_have_none() {
        check(
            &[(TIME, 156)],
            |_, _, _| Err(io::ErrorKind::InvalidInput.into()),
            &(
                refused(
                    "exposure (the camera has no switch for it), white balance (the camera has no switch for it)",
                ),
                &[(TIME, 156)],
            ),
        );
    }

    #[test]
    fn a_camera_that_says_yes_and_goes_on_is_found_out() {
        check(
            &AUTOMATIC,
            |controls, control, value| {
                if control != EXPOSURE {
                    controls.insert(control, value);
                }
                Ok(())
            },
            &(
                refused("exposure (the camera goes on by itself)"),
                &[(EXPOSURE, 3), (TIME, 156), (BALANCE, 0), (KELVINS, 4600)],
            ),
        );
    }

    #[test]
    fn one_that_refuses_is_told_in_its_words() {
        check(
            &AUTOMATIC,
            |controls, control, value| {
                if control == BALANCE {
                    // EBUSY, as a driver answers whose control another program has taken.
                    return Err(io::Error::from_raw_os_error(16));
                }
                controls.insert(control, value);
                Ok(())
            },
            &(
                refused("white balance (the camera refuses: Device or resource busy)"),
                &[(EXPOSURE, 1), (TIME, 156), (BALANCE, 1), (KELVINS, 4600)],
            ),
        );
    }

    /// Too dark to read would be worse than following the light.
    #[test]
    fn one_that_jumps_is_left_to_its_automatic() {
        check(
            &AUTOMATIC,
            |controls, control, value| {
                if control == EXPOSURE {
                    controls.insert(EXPOSURE, value);
                    controls.insert(TIME, if value == 1 { 20 } else { 156 });
                } else if control != TIME {
                    controls.insert(control, value);
                }
                Ok(())
            },
            &(
                refused("exposure (the camera jumps to another value)"),
                &[(EXPOSURE, 3), (TIME, 156), (BALANCE, 0), (KELVINS, 4600)],
            ),
        );
    }

    #[test]
    fn what_somebody_set_by_hand_stays_as_it_is() {
        let by_hand = [(EXPOSURE, 1), (TIME, 20), (BALANCE, 0), (KELVINS, 3000)];
        check(
            &by_hand,
            |_, _, _| Err(io::Error::other("must not be set")),
            &(Locking::Held, &by_hand),
        );
    }
}
