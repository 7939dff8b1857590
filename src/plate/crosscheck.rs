//! Compares the two columns of a touch, and finds the slip that most likely explains a difference.

use super::reading::Touch;
use super::working::{operand, plain, result};
use crate::quantity::slip::{self, Slip};
use crate::quantity::{Length, Quantity, format::QuantityFormat};

/// How near a supposed slip of unit must bring the columns to be named: half of the coarsest readout step in use, 0.01
/// mm (common practice, no source). It decides what is suspected, never what passes.
const NEAR: i64 = 50_000;

/// Both columns of one touch, with their zeros.
#[derive(Clone, Copy, Debug)]
pub(super) struct ReadingColumns {
    pub zero: Length,
    pub origin: Length,
    pub readout: Length,
    pub machine: Length,
}

/// The columns give two different heights.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Mismatch {
    /// Height by the work readout.
    pub by_readout: Length,
    /// Height by machine coordinates.
    pub by_machine: Length,
    /// The slip that explains the difference, where exactly one does.
    pub suspect: Option<SuspectedSlip>,
    /// The first point, where its machine coordinate alone defines height 0 and no other touch has confirmed it yet:
    /// the slip may be there as well.
    pub unproven: Option<String>,
}

/// A slip that would explain a mismatch.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub enum SuspectedSlip {
    /// The sign of the readout was lost or added.
    ReadoutSign,
    /// The readout was zeroed at this point although it was higher.
    ZeroedHigher(String),
    /// The readout was not zeroed at this point although it was lower.
    NotZeroed(String),
    /// The two columns were swapped.
    Swapped,
    /// The machine coordinate was typed in both columns.
    MachineTwice,
    /// The readout was mistyped or read in another unit.
    Readout(&'static str),
    /// The machine coordinate was mistyped or read in another unit.
    Machine(&'static str),
    /// The machine coordinate of this earlier point was mistyped or read in another unit; the machine column counts
    /// from it.
    MachineAt(String, &'static str),
}

impl SuspectedSlip {
    /// The slip in words that complete "perhaps …".
    pub(crate) fn words(&self) -> String {
        match self {
            Self::ReadoutSign => "the sign of the readout was lost or added".into(),
            Self::ZeroedHigher(p) => {
                format!("the readout was zeroed at {p} although {p} was higher")
            }
            Self::NotZeroed(p) => {
                format!("the readout was not zeroed at {p} although {p} was lower")
            }
            Self::Swapped => "the two columns were swapped".into(),
            Self::MachineTwice => "machine Z was typed in both columns".into(),
            Self::Readout(slip) => format!("in the readout's column {slip}"),
            Self::Machine(slip) => format!("in the machine column {slip}"),
            Self::MachineAt(point, slip) => format!("in the machine column at {point} {slip}"),
        }
    }
}

impl Mismatch {
    /// Both heights, their difference, the likely slip and what to do, with lengths formatted by `show`.
    pub(crate) fn words(&self, show: &QuantityFormat) -> String {
        let apart = self.by_readout.minus(self.by_machine).map_or_else(
            || "by more than 100 m".to_owned(),
            |d| {
                format!(
                    "by {} - {} = {}",
                    super::working::number(show, self.by_readout),
                    operand(show, self.by_machine),
                    plain(show, d)
                )
            },
        );
        let perhaps = self
            .suspect
            .as_ref()
            .map_or_else(String::new, |s| format!("; perhaps {}", s.words()));
        let again = match (&self.unproven, &self.suspect) {
            (Some(first), Some(SuspectedSlip::MachineAt(..))) => {
                format!("begin the series again and read both columns at {first}")
            }
            (Some(first), None) => format!(
                "either may be misread, here or at {first}, from which the machine column counts: touch the point again \
                 and read both, and if they still disagree begin anew at {first}"
            ),
            _ => "touch the point again and read both".to_owned(),
        };
        format!(
            "the columns disagree: height {} by the readout, {} by machine coordinates, apart {apart}{perhaps}; {again}",
            result(show, self.by_readout),
            result(show, self.by_machine),
        )
    }
}

/// Whether the columns agree within `tolerance`; `None` when a height is larger than a length can be.
pub(super) fn agree(
    columns: ReadingColumns,
    tolerance: Length,
    earlier: &[Touch],
) -> Option<Result<(), Mismatch>> {
    let by_readout = columns.zero.plus(columns.readout)?;
    let by_machine = columns.machine.minus(columns.origin)?;
    if near(Some(by_readout), Some(by_machine), tolerance) {
        return Some(Ok(()));
    }
    let slack = Length::from_counts(NEAR)?.max(tolerance);
    let unproven = unproven(earlier);
    let fits = Fits {
        columns,
        by_readout,
        by_machine,
        first: unproven,
    };
    // Only a value converted by the control is rounded; every other slip keeps its digits.
    let mut suspects = fits.suspects(tolerance, earlier);
    if suspects.is_empty() && !near(Some(by_readout), Some(by_machine), slack) {
        suspects = fits.mistyped(slack, &[Slip::MmAsInch, Slip::InchAsMm]);
    }
    // Where several slips explain the difference, none of them is reported.
    let suspect = match suspects.as_slice() {
        [only] => Some(only.clone()),
        _ => None,
    };
    Some(Err(Mismatch {
        by_readout,
        by_machine,
        suspect,
        unproven: unproven.map(|t| t.point.clone()),
    }))
}

/// The touch that alone defines height 0 in machine coordinates, if it is the only one with both columns.
fn unproven(earlier: &[Touch]) -> Option<&Touch> {
    let mut both = earlier
        .iter()
        .filter(|t| t.reading.readout.is_some() && t.reading.machine.is_some());
    let first = both.next()?;
    let alone = both.next().is_none() && first.before.origin.is_none();
    alone.then_some(first)
}

fn near(a: Option<Length>, b: Option<Length>, within: Length) -> bool {
    a.zip(b)
        .and_then(|(a, b)| a.minus(b))
        .is_some_and(|d| d.abs() <= within)
}

struct Fits<'a> {
    columns: ReadingColumns,
    by_readout: Length,
    by_machine: Length,
    first: Option<&'a Touch>,
}

impl Fits<'_> {
    /// Every slip that would explain the mismatch.
    fn suspects(&self, within: Length, earlier: &[Touch]) -> Vec<SuspectedSlip> {
        let c = self.columns;
        // An absolute value in the readout's column; any other slip that would explain it is a coincidence.
        if c.readout == c.machine && c.machine != Length::ZERO {
            return vec![SuspectedSlip::MachineTwice];
        }
        let fits = |height: Option<Length>| near(height, Some(self.by_machine), within);
        let mut found = Vec::new();
        let mut add = |suspect: SuspectedSlip| {
            if !found.contains(&suspect) {
                found.push(suspect);
            }
        };
        for touch in earlier.iter().rev().filter(|t| !t.closing) {
            let zero = touch.from.zero;
            if touch.zeroed && zero.is_some_and(|z| fits(z.plus(c.readout))) {
                add(SuspectedSlip::NotZeroed(touch.point.clone()));
            }
            let higher = zero.is_some_and(|z| touch.height > z);
            if higher && fits(touch.height.plus(c.readout)) {
                add(SuspectedSlip::ZeroedHigher(touch.point.clone()));
            }
        }
        // Machine coordinates count from home, far above the plate.
        let swapped = c.readout.abs() > c.machine.abs();
        if swapped && near(c.zero.plus(c.machine), c.readout.minus(c.origin), within) {
            add(SuspectedSlip::Swapped);
        }
        self.mistyped(within, &[]).into_iter().for_each(add);
        found
    }

    /// Typing slips in one column; only those of the kinds in `among`, unless that is empty.
    fn mistyped(&self, within: Length, among: &[Slip]) -> Vec<SuspectedSlip> {
        let c = self.columns;
        let named = |slip: &Slip| among.is_empty() || among.contains(slip);
        let readout = slips_in(c.readout, |v| {
            near(c.zero.plus(v), Some(self.by_machine), within)
        });
        let machine = slips_in(c.machine, |v| {
            near(v.minus(c.origin), Some(self.by_readout), within)
        });
        let readout = readout.into_iter().filter(named).map(|s| match s {
            Slip::Sign => SuspectedSlip::ReadoutSign,
            other => SuspectedSlip::Readout(other.words()),
        });
        let machine = machine.into_iter().filter(named);
        let mut found: Vec<SuspectedSlip> = readout
            .chain(machine.map(|s| SuspectedSlip::Machine(s.words())))
            .collect();
        if let Some((first, typed)) = self.first.and_then(|f| Some((f, f.reading.machine?))) {
            // An error in that coordinate shifts height 0 by the opposite amount.
            let origin = |meant: Length| meant.minus(first.height);
            let earlier = slips_in(typed, |v| {
                let height = origin(v).and_then(|o| c.machine.minus(o));
                near(height, Some(self.by_readout), within)
            });
            let earlier = earlier.into_iter().filter(named);
            found.extend(earlier.map(|s| SuspectedSlip::MachineAt(first.point.clone(), s.words())));
        }
        found
    }
}

fn slips_in(typed: Length, fits: impl Fn(Length) -> bool) -> Vec<Slip> {
    let fits = |v: Quantity| Length::nearest(v).is_some_and(&fits);
    slip::explanations(Quantity::from(typed), fits)
        .map(|likely| likely.slip)
        .collect()
}
