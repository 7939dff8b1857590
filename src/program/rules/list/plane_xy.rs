//! Cutting arcs outside the XY plane.

use crate::program::fact::Fact;
use crate::program::finding::Found;
use crate::program::motion::Motion;
use crate::program::rules::rule::{Rule, look};
use crate::program::setting::Plane;

/// What it is.
pub const RULE: Rule = look(
    "plane-xy",
    "cutting arcs outside the XY plane",
    "a facing program has no reason to",
    "look whether it is the right program",
);

/// At an arc.
pub fn arc(arc: &Motion<'_>, found: &mut Found) {
    if let Fact::Known(Plane::Zx | Plane::Yz) = arc.setting.plane {
        found.once(&RULE, arc.at, String::new);
    }
}
