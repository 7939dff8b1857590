//! The whole practice workshop: mill, plate, surroundings, and what happened so far.
//!
//! Words typed at the mill change it and answer with what a person would see. It does what it is told: a wrong order is
//! carried out, and its consequences are kept for the debrief.

use super::drills::Drill;
use super::facing::Facing;
use super::mill::Mill;
use super::place::Place;
use super::tape::Tape;
use super::{Cutter, Nm, Plate};

/// How a line of what is seen is meant.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Mood {
    /// As it goes.
    Plain,
    /// What was wanted.
    Good,
    /// Worth a look.
    Look,
    /// Something went wrong.
    Bad,
}

/// One line of what is seen, heard or read.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Said {
    /// How it is meant.
    pub mood: Mood,
    /// What is shown to the learner, one sentence or more.
    pub text: String,
    /// Whether it is a line of a drawing or a file, shown as it stands.
    pub drawn: bool,
}

impl Said {
    /// A line.
    pub(crate) fn new(mood: Mood, text: impl Into<String>) -> Self {
        Self {
            mood,
            text: text.into(),
            drawn: false,
        }
    }

    /// An ordinary line.
    pub(crate) fn plain(text: impl Into<String>) -> Self {
        Self::new(Mood::Plain, text)
    }

    /// A line of a drawing or a file.
    pub(crate) fn drawn(text: impl Into<String>) -> Self {
        Self {
            drawn: true,
            ..Self::plain(text)
        }
    }

    /// A line of something that went wrong.
    pub(crate) fn bad(text: impl Into<String>) -> Self {
        Self::new(Mood::Bad, text)
    }
}

/// Something that the score counts.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum What {
    /// A mark, as every touch leaves one.
    Mark,
    /// Metal gone where none was to go.
    Gouge,
    /// Cutter run into something at speed, standing, or far too deep.
    Crash,
    /// Into a screw head or a clamp.
    Steel,
    /// A cut deeper than the cutter may bite.
    TooDeep,
    /// Cut with no coolant at the cutter.
    Dry,
    /// Cut with the door open or the screens down.
    OpenDoor,
    /// A hand went in while the spindle turned.
    HandIn,
    /// The program was started without a release.
    Unreleased,
    /// The emergency stop.
    EmergencyStop,
}

impl What {
    /// In words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Mark => "a touch mark",
            Self::Gouge => "the plate was gouged",
            Self::Crash => "the cutter crashed",
            Self::Steel => "the cutter ran into steel",
            Self::TooDeep => "the cut went deeper than the cutter may bite",
            Self::Dry => "the cut ran without coolant at the cutter",
            Self::OpenDoor => "the cut ran with the door open or the screens down",
            Self::HandIn => "a hand went in while the spindle turned",
            Self::Unreleased => "cycle start was pressed without a release",
            Self::EmergencyStop => "the emergency stop was pressed",
        }
    }

    /// Whether a rehearsal with it can still be a clean one.
    pub(crate) fn is_fault(self) -> bool {
        !matches!(self, Self::Mark | Self::EmergencyStop)
    }
}

/// Something that happened.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Happening {
    /// After how many acts at the mill.
    pub after: usize,
    /// What happened, as the debrief counts it.
    pub what: What,
    /// How deep, where that says something.
    pub depth: Nm,
    /// The readout's work Z, or where it was: what could be known.
    pub known: String,
}

/// What a pass did.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Passed {
    /// Deepest metal taken off a cell.
    pub deepest: Nm,
    /// Metal taken, in cubic millimetres.
    pub volume: i64,
    /// Share of the face that wears no old skin afterwards, in thousandths.
    pub cleaned: u64,
    /// Lowest height of the plate afterwards.
    pub lowest: Nm,
    /// Feed override it ran at.
    pub feed: i64,
}

/// Facts that questions are about and that no arithmetic gives.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Facts {
    /// Ids of machine, plate and cutter in the shop file.
    pub ids: [String; 3],
    /// Their titles.
    pub titles: [String; 3],
    /// The plate's thickness by its record, and the steel's depth.
    pub thickness: Nm,
    /// How deep the steel lies by the record.
    pub steel: Nm,
    /// Spindle tram: difference and span.
    pub tram: [Nm; 2],
    /// From the nut to the tip.
    pub stick_out: Nm,
    /// Tallest thing above the plate.
    pub tallest: Nm,
    /// Whether length offsets are used.
    pub lengths: bool,
    /// The program that belongs to plate and cutter.
    pub facing: Facing,
    /// Its name.
    pub program: String,
    /// Points of the procedure that have places, as true positions.
    pub points: Vec<(String, [Nm; 2])>,
}

/// A program in the control's memory.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Stored {
    /// Its name.
    pub name: String,
    /// Its text.
    pub text: String,
    /// What it was made for.
    pub made_for: Facing,
}

/// A drill and how it went so far.
#[derive(Clone, Debug)]
#[allow(clippy::struct_excessive_bools)] // each is a fact of its own
pub struct Running {
    /// The drill whose fault is put in the way.
    pub drill: &'static Drill,
    /// Whether its fault is in the way by now.
    pub begun: bool,
    /// How many acts had been done when it began.
    pub since: usize,
    /// Whether the walk came to its step.
    pub armed: bool,
    /// How many touches had been made by then.
    pub marks: usize,
    /// Whether the spindle stood already when it began: then nobody has to stop it.
    pub standing: bool,
    /// Said in time that something is wrong: the walk was held, or `hold` was typed.
    pub held: bool,
    /// How it ended.
    pub end: Option<DrillEnd>,
    /// How many acts had been done when it was cleared.
    pub until: Option<usize>,
}

/// How a drill ended.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum DrillEnd {
    /// Cleared before it could do harm.
    Caught,
    /// Still there when it did harm.
    Missed,
}

/// The workshop of a rehearsal: mill, plate and surroundings as they truly are, whatever is answered.
#[derive(Clone, Debug)]
pub struct World {
    /// The seed of it all.
    pub seed: u64,
    /// The virtual mill, with its axes in whole nanometres.
    pub mill: Mill,
    /// The plate with its hidden heights, changed by every cut.
    pub plate: Plate,
    /// What stands and who is around the mill.
    pub place: Place,
    /// The cutter in the spindle.
    pub cutter: Cutter,
    /// Where the plate's nominal top is, in true machine Z.
    pub top: Nm,
    /// Facts.
    pub facts: Facts,
    /// Programs in the control.
    pub store: Vec<Stored>,
    /// The loaded one.
    pub tape: Option<Tape>,
    /// The block that runs next.
    pub block: usize,
    /// Whether the walk has released cycle start, for practice.
    pub released: bool,
    /// What happened.
    pub happened: Vec<Happening>,
    /// Every word typed at the mill, in order.
    pub acts: Vec<String>,
    /// Passes cut.
    pub passes: Vec<Passed>,
    /// Drills.
    pub drills: Vec<Running>,
    /// `hold` typed while nothing was wrong.
    pub false_alarms: usize,
    /// What has been heard since the last look.
    pub heard: Vec<Said>,
    /// Whether a program runs.
    pub running: bool,
    /// The pass under way.
    pub pass: Option<Passed>,
    /// Metal it took so far, in cells times nanometres.
    pub taken: i64,
    /// The feed that the program set last, nanometres a minute.
    pub feed: Nm,
    /// What was decided, in order.
    pub decisions: Vec<super::score::Decision>,
}

impl World {
    /// The tip's true position, Z above the plate's nominal top.
    pub(crate) fn tip(&self) -> [Nm; 3] {
        let [x, y, z] = self.mill.tip();
        [x, y, z - self.top]
    }

    /// Keeps what happened.
    pub(crate) fn happen(&mut self, what: What, depth: Nm) {
        let [x, y, z] = self.mill.work();
        let show = |nm| super::words::length(nm, self.mill.system);
        let known = format!("readout X {} Y {} Z {}", show(x), show(y), show(z));
        self.happened.push(Happening {
            after: self.acts.len(),
            what,
            depth,
            known,
        });
    }

    /// How often something happened.
    pub(crate) fn count(&self, what: What) -> usize {
        self.happened.iter().filter(|h| h.what == what).count()
    }

    /// The gap under the tip as it really is; none beside the plate.
    pub(crate) fn gap(&self) -> Option<Nm> {
        let [x, y, z] = self.tip();
        let contact = if self.mill.spindle > 0 {
            self.plate.contact(&self.cutter, [x, y])
        } else {
            self.plate.contact_standing(&self.cutter, [x, y])
        };
        contact.map(|c| z - c)
    }

    /// The gap as it looks from the operator's place.
    pub(crate) fn gap_by_eye(&self) -> String {
        let Some(gap) = self.gap() else {
            return "beside the plate".to_owned();
        };
        let mm = gap / super::MM;
        match mm {
            20.. => format!("about {} mm over the plate", mm / 10 * 10),
            2..=19 => format!("about {mm} mm over the plate"),
            _ if gap > 700_000 => "a millimetre over the plate".to_owned(),
            _ if gap > 150_000 => "a few tenths over the plate".to_owned(),
            _ if gap > 0 => "a hair over the plate".to_owned(),
            _ => "on the plate".to_owned(),
        }
    }

    /// Named places over the plate, as true positions: where the procedure has them, else a cutter and a half in.
    pub(crate) fn point(&self, name: &str) -> Option<[Nm; 2]> {
        let mut placed = self.facts.points.iter();
        if let Some((_, at)) = placed.find(|(n, _)| n.eq_ignore_ascii_case(name)) {
            return Some(*at);
        }
        let inset = self.cutter.diameter * 3 / 2;
        let [x0, y0] = self.plate.corner;
        let [w, h] = self.plate.size;
        let (left, right) = (x0 + inset, x0 + w - inset);
        let (front, back) = (y0 + inset, y0 + h - inset);
        Some(match name.to_ascii_uppercase().as_str() {
            "SW" => [left, front],
            "SE" => [right, front],
            "NE" => [right, back],
            "NW" => [left, back],
            "C" => [x0 + w / 2, y0 + h / 2],
            "START" => [0, 0],
            _ => return None,
        })
    }

    /// The lowest place that still wears its old skin, as a true position.
    pub(crate) fn skin(&self) -> Option<[Nm; 2]> {
        let p = &self.plate;
        let left = p.found.iter().zip(&p.heights).enumerate();
        let (index, _) = left
            .filter(|(_, (found, now))| **found - **now < super::plate::SKIN)
            .min_by_key(|(_, (_, now))| **now)?;
        Some(p.middle(index % p.columns.max(1), index / p.columns.max(1)))
    }
}
