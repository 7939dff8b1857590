//! Shared by the tests of programs: an invented cutter and mill, and a helper that follows a program with an observer.

use super::dialect::{Dialect, PanelSwitches};
use super::follow::{Followed, follow};
use super::observer::Observer;
use super::setup::{Cutter, Mill};

/// Invented: a cutter of 12 mm with three teeth.
pub(crate) const CUTTER: Cutter = Cutter {
    diameter: 12.0,
    corner: 0.2,
    teeth: Some(3.0),
    deepest_bite: Some(0.25),
    chip_load: Some([0.02, 0.1]),
    highest_speed: Some(10_000.0),
};

/// An invented machine.
pub(crate) const MILL: Mill = Mill {
    speeds: Some([200.0, 10_000.0]),
    highest_feed: Some(4000.0),
    travel: Some([500.0, 320.0]),
    lowest_z: Some(-200.0),
    coolant: Some(true),
    clear_at_home: None,
    length_offsets: None,
};

/// Follows a program from its beginning to its end; gives the result and the observer.
pub(crate) fn followed<O: Observer>(
    text: &str,
    dialect: &Dialect,
    mut observer: O,
) -> (Followed, O) {
    let mut bytes = text.as_bytes();
    let followed = follow(&mut bytes, dialect, PanelSwitches::default(), &mut observer).unwrap();
    (followed, observer)
}
