//! How the file and the program end, and what block delete changes.

use crate::program::fact::StateFact;
use crate::program::finding::FindingList;
use crate::program::follow::Followed;
use crate::program::program_event::{ProgramEvent, ProgramEventKind};
use crate::program::rules::rule::rules;
use crate::program::rules::{settings, text};
use crate::program::setting::{Coolant, Distance, Spindle};

rules! {
    stop NO_END = "no-end" {
        title: "no M2 or M30",
        why: "the control stops at the end of the file with everything left on, or starts again",
        mend: "end with M30",
    }
    note LINE_ENDS = "line-ends" {
        title: "line ends of more than one kind",
        why: "the file was joined from parts or sent through several systems; some controls skip or join lines",
        mend: "save it again with one kind of line end",
    }
    look DISTANCE_END = "distance-end" {
        title: "ends in incremental mode",
        why: "the next program may start in this mode",
        mend: "write G90 before the end",
    }
    note END_COOLANT = "end-coolant" {
        title: "coolant is still on at the end code",
        why: "most end codes turn it off",
        mend: "write M9 before the end",
    }
    note END_SPINDLE = "end-spindle" {
        title: "the spindle still turns at the end code",
        why: "most end codes stop it",
        mend: "write M5 before the end",
    }
    note BLOCKS_DELETED = "blocks-deleted" {
        title: "blocks with a slash",
        why: "a switch on the panel decides whether they run; both ways were followed",
        mend: "know the position of the switch",
    }
    look BLOCK_DELETE = "block-delete" {
        title: "block delete changes the verdict",
        why: "a switch on the panel decides whether blocks with a slash run",
        mend: "state the position of the switch, or remove the slashes",
    }
}

/// Follows the end of a program.
#[derive(Debug, Default)]
pub(crate) struct End {
    /// The number of M2 or M30, once reached.
    pub code: Option<u8>,
}

impl End {
    /// Receives an event.
    pub(crate) fn event(&mut self, event: &ProgramEvent<'_>, found: &mut FindingList) {
        let ProgramEventKind::End(code) = event.what else {
            return;
        };
        self.code = Some(code);
        end_spindle(event, found);
        end_coolant(event, found);
        distance_end(event, found);
    }

    /// Checks the end of the file.
    pub(crate) fn end(&self, followed: &Followed, found: &mut FindingList) {
        no_end(self.code, found);
        line_ends(followed, found);
        settings::at_end(followed, found);
    }
}

/// Checks that the program has an end code. A file that is cut off, or that continues elsewhere, has a finding of its
/// own instead.
fn no_end(code: Option<u8>, found: &mut FindingList) {
    if code.is_none() && !text::cut_short(found) && found.count(&text::FLOW) == 0 {
        found.whole(&NO_END, String::new());
    }
}

/// Checks the line ends, at the end of the file.
fn line_ends(followed: &Followed, found: &mut FindingList) {
    if followed.ends.mixed() {
        found.whole(&LINE_ENDS, String::new());
    }
}

/// Checks the distance mode, at the end code.
fn distance_end(end: &ProgramEvent<'_>, found: &mut FindingList) {
    if end.setting.distance == StateFact::Known(Distance::Incremental) {
        found.add(&DISTANCE_END, end.at, None, String::new);
    }
}

/// Checks the coolant, at the end code.
fn end_coolant(end: &ProgramEvent<'_>, found: &mut FindingList) {
    if end.setting.coolant.known().is_some_and(Coolant::on) {
        found.add(&END_COOLANT, end.at, None, String::new);
    }
}

/// Checks the spindle, at the end code.
fn end_spindle(end: &ProgramEvent<'_>, found: &mut FindingList) {
    let turns = StateFact::Known(Spindle::Clockwise) == end.setting.spindle
        || StateFact::Known(Spindle::CounterClockwise) == end.setting.spindle;
    if turns {
        found.add(&END_SPINDLE, end.at, None, String::new);
    }
}
