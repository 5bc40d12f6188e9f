//! Stands in for the computer's own cameras where they were left out of the build.

use super::{Source, Trouble};

/// A camera of this computer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// The number it is chosen by.
    pub number: u32,
    /// Its name.
    pub name: String,
}

/// The cameras of this computer: none can be reached.
///
/// # Errors
///
/// Always: this build has no cameras.
pub fn list() -> Result<Vec<Listed>, Trouble> {
    Err(Trouble::NotBuilt)
}

/// A camera of this computer by number or part of its name, or the first one.
///
/// # Errors
///
/// Always: this build has no cameras.
pub fn native(chosen: Option<&str>) -> Result<Box<dyn Source>, Trouble> {
    let _ = chosen;
    Err(Trouble::NotBuilt)
}
