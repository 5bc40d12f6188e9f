//! What takes bytes from outside, each given bytes at will: it may refuse them, but not panic, hang or contradict itself.

use sixfold::app::files::{photo_from, read_state};
use sixfold::app::{Request, Roster};
use sixfold::cube::{Sequence, State};
use sixfold::reader::examine;
use sixfold::reader::session::{Mode, Session};
use sixfold::sight::{Photo, Trace, look};
use std::path::Path;

/// An entry takes any bytes at all.
pub type Entry = fn(&[u8]);

/// Every entry, under the name of its folder of seeds.
pub const ALL: [(&str, Entry); 5] = [
    ("notation", notation),
    ("picture", picture),
    ("request", request),
    ("roster", roster),
    ("state", state),
];

/// Moves in WCA notation: what was read must be the same when written and read again, and undone by its inverse.
pub fn notation(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    for n in [2, 3, 4, 7, 17] {
        let Ok(moves) = Sequence::for_order(&text, n) else {
            continue;
        };
        let written = moves.to_string();
        assert_eq!(
            Sequence::for_order(&written, n).ok().as_ref(),
            Some(&moves),
            "{written}"
        );
        if moves.0.len() > 200 {
            continue;
        }
        let there = State::solved(n).after(&moves.0);
        assert_eq!(
            there.after(&moves.inverse().0),
            State::solved(n),
            "{written}"
        );
    }
}

/// A state as JSON: if it can be read, it can be judged.
pub fn state(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let Ok(given) = read_state(&text) else {
        return;
    };
    let colouring = given.colouring;
    let Ok(scheme) = colouring.scheme() else {
        return;
    };
    if let Some(state) = colouring.state(scheme) {
        let _ = examine(&state, scheme);
    }
}

/// The bytes of a picture: if they can be decoded, they can be looked at.
pub fn picture(bytes: &[u8]) {
    let Ok(photo) = photo_from(Path::new("picture"), bytes) else {
        return;
    };
    if photo.pixels.width() * photo.pixels.height() < 400_000 {
        let _ = look(&mut Trace::default(), &Photo::from(photo.pixels));
    }
}

/// Requests to the live page, one a line, all to the same session.
pub fn request(bytes: &[u8]) {
    let mut session = Session::new(Mode::Learner);
    for line in bytes.split(|&byte| byte == b'\n') {
        match serde_json::from_slice(line) {
            Ok(Request::Correct {
                face,
                place,
                colour,
            }) => session.correct(face, place, colour),
            Ok(Request::Drop { face }) => session.drop_face(face),
            Ok(Request::Another) => session.add_look_alike(),
            Ok(Request::StartOver) => session.start_over(),
            Ok(Request::Locked { .. }) | Err(_) => {}
        }
        let _ = session.scene();
    }
}

/// A table of names.
pub fn roster(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    if let Ok(roster) = Roster::parse(&text) {
        let _ = roster.name(Some("blue-bag"), None, None);
    }
}
