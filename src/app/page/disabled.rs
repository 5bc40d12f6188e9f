//! Stands in for the page where it was left out of the build.

use super::Plan;
use crate::app::report::Screen;
use anyhow::bail;

/// Would serve the page.
///
/// # Errors
///
/// Always: this build has no page.
pub fn live(plan: &Plan, screen: &mut Screen) -> anyhow::Result<()> {
    let _ = (plan, screen);
    bail!("this program was built without its live page: build it with the feature \"web\"")
}
