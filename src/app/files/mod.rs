//! Files in and out: photos, states, results.
//!
//! It turns paths into plain values and back; what the values mean is no concern of it.

mod heic;
mod moment;
mod photo;
mod state;
mod text;
mod write;

pub use moment::Moment;
pub use photo::{PhotoProblem, decode, photo_from, read_bytes, read_photo};
pub use state::{GivenState, read_state};
pub use text::read_text;
pub use write::{make_folder, write_new, write_whole};
