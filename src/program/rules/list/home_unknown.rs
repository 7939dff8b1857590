//! Moves in X and Y after a move in machine coordinates.

use crate::program::fact::Fact;
use crate::program::fact::Why;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, look};

/// What it is.
pub const RULE: Rule = look(
    "home-unknown",
    "moves in X and Y after a move in machine coordinates",
    "how high the cutter then stands over the plate is not known here",
    "say a Z in the work offset first, or check the height on the machine",
);

/// At a rapid across.
pub fn rapid(rapid: &Motion<'_>, found: &mut Found) {
    let to = rapid.to[2];
    if let Fact::Unknown(cause) = to
        && matches!(cause.why, Why::MachineCoordinates | Why::ToolChange)
        && rapid.from[2] == to
    {
        found.once(&RULE, rapid.at, || {
            format!("Z is not known since line {}", cause.line)
        });
    }
}
