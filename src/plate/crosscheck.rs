//! The two columns of a touch against each other, and the slip that most likely parts them.

use super::reading::Touch;
use super::working::{operand, plain, result};
use crate::quantity::slip::{self, Slip};
use crate::quantity::{Length, Quantity, show::Show};

/// How near a supposed slip of unit must bring the columns to be named: half of the coarsest readout step in use, 0.01 mm
/// (common practice, no source). It decides what is suspected, never what passes.
const NEAR: i64 = 50_000;

/// Both columns of one touch with their noughts.
#[derive(Clone, Copy, Debug)]
pub(super) struct Columns {
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
    /// The slip whose undoing would make them agree, where a single one does.
    pub suspect: Option<Suspect>,
}

/// A slip that would explain a mismatch.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub enum Suspect {
    /// The sign of the readout was lost or added.
    ReadoutSign,
    /// The readout was zeroed at this point although it was higher.
    ZeroedHigher(String),
    /// The readout was not zeroed at this point although it was lower.
    NotZeroed(String),
    /// The two columns were swapped.
    Swapped,
    /// The readout was mistyped or read in another unit.
    Readout(&'static str),
    /// The machine coordinate was mistyped or read in another unit.
    Machine(&'static str),
}

impl Suspect {
    /// The slip in words that complete "perhaps …".
    pub fn words(&self) -> String {
        match self {
            Self::ReadoutSign => "the sign of the readout was lost or added".into(),
            Self::ZeroedHigher(p) => {
                format!("the readout was zeroed at {p} although {p} was higher")
            }
            Self::NotZeroed(p) => {
                format!("the readout was not zeroed at {p} although {p} was lower")
            }
            Self::Swapped => "the two columns were swapped".into(),
            Self::Readout(slip) => format!("in the readout's column {slip}"),
            Self::Machine(slip) => format!("in the machine column {slip}"),
        }
    }
}

impl Mismatch {
    /// Both heights, how far apart, the likely slip and what to do, with lengths as `show` shows them.
    pub fn words(&self, show: &Show) -> String {
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
        format!(
            "the columns disagree: height {} by the readout, {} by machine coordinates, apart {apart}{perhaps}; \
             touch the point again and read both",
            result(show, self.by_readout),
            result(show, self.by_machine),
        )
    }
}

/// Whether the columns agree within `tolerance`; `None` when a height is beyond what a length holds.
pub(super) fn agree(
    columns: Columns,
    tolerance: Length,
    earlier: &[Touch],
) -> Option<Result<(), Mismatch>> {
    let by_readout = columns.zero.plus(columns.readout)?;
    let by_machine = columns.machine.minus(columns.origin)?;
    if near(Some(by_readout), Some(by_machine), tolerance) {
        return Some(Ok(()));
    }
    let slack = Length::from_counts(NEAR)?.max(tolerance);
    let fits = Fits {
        columns,
        by_readout,
        by_machine,
    };
    // Only a value converted by the control is rounded on the way; every other slip keeps its digits.
    let suspect = fits.suspect(tolerance, earlier).or_else(|| {
        let apart = !near(Some(by_readout), Some(by_machine), slack);
        apart.then(|| fits.mistyped(slack, &[Slip::MmAsInch, Slip::InchAsMm]))?
    });
    Some(Err(Mismatch {
        by_readout,
        by_machine,
        suspect,
    }))
}

fn near(a: Option<Length>, b: Option<Length>, within: Length) -> bool {
    a.zip(b)
        .and_then(|(a, b)| a.minus(b))
        .is_some_and(|d| d.abs() <= within)
}

struct Fits {
    columns: Columns,
    by_readout: Length,
    by_machine: Length,
}

impl Fits {
    fn suspect(&self, within: Length, earlier: &[Touch]) -> Option<Suspect> {
        let c = self.columns;
        let fits = |height: Option<Length>| near(height, Some(self.by_machine), within);
        if c.readout != Length::ZERO && fits(c.zero.minus(c.readout)) {
            return Some(Suspect::ReadoutSign);
        }
        for touch in earlier.iter().rev().filter(|t| !t.closing) {
            let zero = touch.from.zero;
            if touch.zeroed && zero.is_some_and(|z| fits(z.plus(c.readout))) {
                return Some(Suspect::NotZeroed(touch.point.clone()));
            }
            let higher = zero.is_some_and(|z| touch.height > z);
            if higher && fits(touch.height.plus(c.readout)) {
                return Some(Suspect::ZeroedHigher(touch.point.clone()));
            }
        }
        if near(c.zero.plus(c.machine), c.readout.minus(c.origin), within) {
            return Some(Suspect::Swapped);
        }
        self.mistyped(within, &[])
    }

    /// A slip in the typing of one column; only of the kinds `among`, if any are named.
    fn mistyped(&self, within: Length, among: &[Slip]) -> Option<Suspect> {
        let c = self.columns;
        let named = |slip: &Slip| among.is_empty() || among.contains(slip);
        let readout = slip_in(c.readout, |v| {
            near(c.zero.plus(v), Some(self.by_machine), within)
        });
        let machine = slip_in(c.machine, |v| {
            near(v.minus(c.origin), Some(self.by_readout), within)
        });
        let readout = readout.filter(named).map(|s| Suspect::Readout(s.words()));
        readout.or_else(|| machine.filter(named).map(|s| Suspect::Machine(s.words())))
    }
}

fn slip_in(typed: Length, fits: impl Fn(Length) -> bool) -> Option<Slip> {
    let found = slip::likeliest(Quantity::from(typed), |v| {
        Length::nearest(v).is_some_and(&fits)
    });
    found.map(|likely| likely.slip)
}
