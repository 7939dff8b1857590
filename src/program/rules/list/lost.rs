//! Where the cutter is cannot be told.

use crate::program::fact::Fact;
use crate::program::fact::Why;
use crate::program::finding::Found;
use crate::program::motion::Coord;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, unsure};

/// What it is.
pub const RULE: Rule = unsure(
    "lost",
    "where the cutter is cannot be told",
    "what depends on it is not judged",
    "mend what the finding before says",
);

/// At a cut to somewhere that is not known.
#[inline]
pub fn cut(cut: &Motion<'_>, found: &mut Found) {
    if cut.to.iter().any(|c| !told(*c)) {
        say(cut, found);
    }
}

/// Whether a coordinate is known, or another finding already says why it is not.
#[inline]
fn told(coord: Coord) -> bool {
    match coord {
        Fact::Known(_) => true,
        Fact::Unset => false,
        Fact::Unknown(cause) => !matches!(
            cause.why,
            Why::MachineCoordinates
                | Why::WorkOffset
                | Why::LengthOffset
                | Why::Incremental
                | Why::Shift
                | Why::ToolChange
        ),
    }
}

#[cold]
fn say(cut: &Motion<'_>, found: &mut Found) {
    let unknown = b"XYZ".iter().zip(cut.to).find(|(_, c)| !told(*c));
    let Some((axis, coord)) = unknown else {
        return;
    };
    let axis = char::from(*axis);
    found.once(&RULE, cut.at, || match coord.cause() {
        Some(cause) => format!("{axis}, since line {}: {}", cause.line, cause.why),
        None => format!("{axis} was never said"),
    });
}
