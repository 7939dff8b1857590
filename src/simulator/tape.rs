//! An NC program as the virtual mill runs it: what the follower of programs says of the file, block by block.
//!
//! What cannot be followed is refused when the program is loaded, with its line: a practice mill that guessed would teach
//! something false. Arcs are cut into chords.

use super::mill::OFFSETS;
use super::{MM, Nm};
use crate::program::dialect::{Dialect, PanelSwitches};
use crate::program::fact::UnknownReason;
use crate::program::follow::follow;
use crate::program::motion::{Coord, FileLocation, Motion, MotionKind};
use crate::program::observer::Observer;
use crate::program::program_event::{ProgramEvent, ProgramEventKind};
use crate::program::setting::{LengthOffset, Spindle, Units};
use crate::quantity::UnitSystem;

/// One thing the mill does, in the order of the program: a block of the file gives one or several.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Block {
    /// The line of the file, from 1.
    pub line: u32,
    /// Its text.
    pub text: String,
    /// A unit set.
    pub unit: Option<UnitSystem>,
    /// A work offset called, by index.
    pub offset: Option<usize>,
    /// A length offset called; 0 cancels.
    pub length: Option<usize>,
    /// A speed set.
    pub speed: Option<i64>,
    /// The spindle started or stopped.
    pub spindle: Option<bool>,
    /// Coolant started or stopped.
    pub coolant: Option<bool>,
    /// A move: whether it is at rapid, and the work position called for each axis; an axis without one stays.
    pub goes: Option<(bool, [Option<Nm>; 3])>,
    /// Feed in nanometres a minute, where set.
    pub feed: Option<Nm>,
    /// The program ends here.
    pub ends: bool,
}

/// A program, read.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Tape {
    /// Its file's name.
    pub name: String,
    /// Its whole text.
    pub text: String,
    /// What it does.
    pub blocks: Vec<Block>,
}

/// Why a program cannot be run.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("line {line}, `{text}`: {why}")]
pub(crate) struct Unknown {
    /// The line, from 1.
    pub line: u32,
    /// The line's text.
    pub text: String,
    /// What is wrong with it.
    pub why: String,
}

/// How far a chord may stray from its arc, in millimetres.
const SAGITTA: f64 = 0.002;

/// Most blocks: no facing program has nearly as many, and they are all held in memory.
const MOST: usize = 500_000;

impl Tape {
    /// Reads a program.
    ///
    /// # Errors
    /// The first line that this mill cannot follow.
    pub(crate) fn read(name: &str, text: &str) -> Result<Self, Unknown> {
        let mut recorder = Recorder::default();
        let mut bytes = text.as_bytes();
        let followed = follow(
            &mut bytes,
            &Dialect::default(),
            PanelSwitches::default(),
            &mut recorder,
        );
        if let Err(e) = followed {
            recorder.refuse_at(0, String::new(), e.to_string());
        }
        match recorder.unknown {
            Some(unknown) => Err(unknown),
            None => Ok(Self {
                name: name.to_owned(),
                text: text.to_owned(),
                blocks: recorder.blocks,
            }),
        }
    }

    /// The length offset that it calls last, 0 where it calls none.
    pub(crate) fn length(&self) -> usize {
        let mut called = self.blocks.iter().filter_map(|b| b.length);
        called.next_back().unwrap_or(0)
    }

    /// The work offset that it calls first, by index.
    pub(crate) fn offset(&self) -> Option<usize> {
        self.blocks.iter().find_map(|b| b.offset)
    }

    /// The work positions that it calls for an axis, 0 to 2, in their order.
    pub(crate) fn called(&self, axis: usize) -> impl Iterator<Item = Nm> {
        let goes = self.blocks.iter().filter_map(|b| b.goes);
        goes.filter_map(move |(_, to)| to.get(axis).copied().flatten())
    }

    /// How long it runs at a feed override, in milliseconds; rapids at 3 m a minute.
    pub(crate) fn milliseconds(&self, percent: i64) -> i64 {
        let mut at = [0; 3];
        let mut feed = 0;
        let mut sum = 0_i64;
        for block in &self.blocks {
            feed = block.feed.unwrap_or(feed);
            let Some((rapid, to)) = block.goes else {
                continue;
            };
            let to = [0, 1, 2].map(|i: usize| to[i].unwrap_or(at[i]));
            let length =
                super::cutter::root((0..3).map(|i| (to[i] - at[i]) * (to[i] - at[i])).sum());
            let speed = if rapid {
                3000 * MM
            } else {
                feed * percent / 100
            };
            sum += length * 60 / (speed / 1000).max(1);
            at = to;
        }
        sum
    }
}

/// Keeps what the follower tells.
#[derive(Debug, Default)]
struct Recorder {
    blocks: Vec<Block>,
    unknown: Option<Unknown>,
}

impl Recorder {
    fn refuse_at(&mut self, line: u32, text: String, why: String) {
        self.unknown.get_or_insert(Unknown { line, text, why });
    }

    fn refuse(&mut self, at: FileLocation<'_>, why: impl Into<String>) {
        self.refuse_at(at.line, text(at), why.into());
    }

    fn push(&mut self, at: FileLocation<'_>, block: Block) {
        if self.blocks.len() >= MOST {
            self.refuse(at, "longer than a practice mill runs");
            return;
        }
        self.blocks.push(Block {
            line: at.line,
            text: text(at),
            ..block
        });
    }
}

fn text(at: FileLocation<'_>) -> String {
    String::from_utf8_lossy(at.text).trim().to_owned()
}

/// To whole nanometres; none beyond a hundred metres.
fn nm(mm: f64) -> Option<Nm> {
    #[allow(clippy::cast_possible_truncation)] // within the bounds just looked at
    (mm.abs() < 100_000.0).then(|| (mm * 1e6).round() as Nm)
}

/// A coordinate called; an error where it is not known for a reason that a mill cannot just stand still for.
fn called(coord: Coord) -> Result<Option<Nm>, UnknownReason> {
    match coord {
        Coord::Unset => Ok(None),
        Coord::Known(mm) => nm(mm).map(Some).ok_or(UnknownReason::Unreadable),
        Coord::Unknown(cause) => match cause.why {
            UnknownReason::WorkOffset | UnknownReason::LengthOffset | UnknownReason::ToolChange => {
                Ok(None)
            }
            why => Err(why),
        },
    }
}

impl Observer for Recorder {
    fn motion(&mut self, motion: &Motion<'_>) {
        let [x, y, z] = motion.to.map(called);
        let to = match (x, y, z) {
            (Ok(x), Ok(y), Ok(z)) => [x, y, z],
            (Err(why), ..) | (_, Err(why), _) | (.., Err(why)) => {
                self.refuse(motion.at, format!("where it goes is not known: {why}"));
                return;
            }
        };
        let feed = motion.feed.known().and_then(nm);
        let rapid = motion.kind == MotionKind::Rapid;
        if !rapid && feed.is_none_or(|f| f <= 0) {
            self.refuse(motion.at, "a feed move without a feed");
            return;
        }
        if motion.kind == MotionKind::Arc {
            let Some(arc) = motion.arc else {
                self.refuse(motion.at, "an arc that is not known whole");
                return;
            };
            let count = arc.chords(SAGITTA);
            for n in 1..=count {
                let at = arc.point(f64::from(n) / f64::from(count)).map(nm);
                let goes = Some((false, at));
                self.push(
                    motion.at,
                    Block {
                        goes,
                        feed,
                        ..Block::default()
                    },
                );
            }
            return;
        }
        let goes = Some((rapid, to));
        self.push(
            motion.at,
            Block {
                goes,
                feed,
                ..Block::default()
            },
        );
    }

    fn event(&mut self, event: &ProgramEvent<'_>) {
        let mut block = Block::default();
        match event.what {
            ProgramEventKind::Units(Units::Inch) => block.unit = Some(UnitSystem::Inch),
            ProgramEventKind::Units(Units::Millimetre) => block.unit = Some(UnitSystem::Mm),
            ProgramEventKind::Spindle(spindle) => block.spindle = Some(spindle != Spindle::Stopped),
            ProgramEventKind::Speed(speed) => {
                #[allow(clippy::cast_possible_truncation)] // no spindle turns so fast
                let turns = speed.known().map(|s| s.clamp(0.0, 1e6).round() as i64);
                block.speed = turns;
            }
            ProgramEventKind::Coolant(coolant) => block.coolant = Some(coolant.on()),
            ProgramEventKind::WorkOffset(offset) => {
                let index = usize::from(offset.0).wrapping_sub(1);
                if index >= OFFSETS.len() {
                    self.refuse(event.at, "this practice mill has G54 to G59");
                    return;
                }
                block.offset = Some(index);
            }
            ProgramEventKind::LengthOffset(LengthOffset::Cancelled) => block.length = Some(0),
            ProgramEventKind::LengthOffset(LengthOffset::Number(h)) => {
                let number = usize::try_from(h).unwrap_or(usize::MAX);
                if number > 9 {
                    self.refuse(event.at, "this practice mill has the lengths H1 to H9");
                    return;
                }
                block.length = Some(number);
            }
            ProgramEventKind::End(_) => block.ends = true,
            ProgramEventKind::MachineMove => {
                self.refuse(
                    event.at,
                    "this practice mill makes no moves in machine coordinates",
                );
                return;
            }
            ProgramEventKind::OffsetWritten | ProgramEventKind::Shift => {
                self.refuse(event.at, "this practice mill's offsets are set by hand");
                return;
            }
            ProgramEventKind::Lost(cause) => {
                self.refuse(event.at, format!("this cannot be followed: {}", cause.why));
                return;
            }
            _ => return,
        }
        self.push(event.at, block);
    }
}

#[cfg(test)]
mod tests {
    use super::{MM, Tape};
    use crate::quantity::UnitSystem;

    #[test]
    fn the_shipped_program_runs_for_about_the_time_its_rows_take() {
        let text = include_str!("../../checklists/answers/facing-12mm.nc");
        let tape = Tape::read("facing-12mm.nc", text).unwrap();
        // 17 or 18 rows of 258 mm at 600 mm a minute are some seven and a half minutes.
        let minutes = tape.milliseconds(100) / 60_000;
        assert!((7..=9).contains(&minutes), "{minutes}");
        assert!(tape.milliseconds(60) > tape.milliseconds(100) * 3 / 2);
    }

    #[test]
    fn inches_are_exact_and_arcs_are_cut_into_chords() {
        let tape = Tape::read(
            "a",
            "G20 G90 G17 G0 X1.5 Y-.0005 Z.2\nG21 G1 X0 Y0 F100\nG2 X10 Y0 I5 J0\n",
        )
        .unwrap();
        assert_eq!(tape.blocks[0].unit, Some(UnitSystem::Inch));
        let goes: Vec<_> = tape.blocks.iter().filter_map(|b| b.goes).collect();
        assert_eq!(
            goes[0],
            (true, [Some(38_100_000), Some(-12_700), Some(5_080_000)])
        );
        let arc = &goes[2..];
        assert!(arc.len() > 20, "{}", arc.len());
        for (rapid, to) in arc {
            let [x, y] = [to[0].unwrap() - 5 * MM, to[1].unwrap()];
            let radius = super::super::cutter::root(x * x + y * y);
            assert!(!rapid && (radius - 5 * MM).abs() < 10, "{radius}");
        }
        assert_eq!(
            arc.last().unwrap().1,
            [Some(10 * MM), Some(0), Some(5_080_000)]
        );
    }

    #[test]
    fn what_cannot_be_followed_is_refused_with_its_line() {
        for (text, line) in [
            ("G21 G90\nG0 X1 Y1\nG53 G0 Z0\n", 3),
            ("G21 G90\nG10 L2 P1 Z-1\n", 2),
            ("G21 G90\nG43 H77 G0 Z5\n", 2),
            ("G0 X1\n", 1),
            ("G21 G90 G1 X5\n", 1),
        ] {
            let error = Tape::read("a", text).unwrap_err();
            assert_eq!(error.line, line, "{error}");
        }
    }
}
