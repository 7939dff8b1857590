//! How many skims a plate has left, and when it is to be retired.

use super::account::Account;
use crate::plate::SkimsLeft;
use crate::plate::skims::OVER_STEEL;
use crate::quantity::Length;

/// What a skim takes while no cut says otherwise: 0.25 mm, the upper end of what is usual (common practice, no source).
const USUAL_SKIM: i64 = Length::COUNTS_PER_MM / 4;

/// Why a plate is to be retired, or nearly.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Retire {
    /// It is as thin as the shop allows, or thinner.
    Thin,
    /// No more than 0.5 mm is left over the steel.
    Steel,
    /// Not one more skim is left.
    NoSkim,
    /// No more than two skims are left.
    Soon,
}

impl Retire {
    /// Whether nothing more may be cut.
    pub fn now(self) -> bool {
        self != Self::Soon
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Thin => "retire it: it is as thin as the shop allows",
            Self::Steel => "retire it: no more than 0.5 mm (0.020 in) is left over the steel",
            Self::NoSkim => "retire it: one more skim would make it too thin or bare the steel",
            Self::Soon => "order the next plate: two skims are left at the most",
        }
    }
}

impl Account {
    /// What one skim takes: the finishing bite and margin of the cutter that cut last, else 0.25 mm.
    pub fn skim(&self) -> Length {
        self.skim
            .or_else(|| Length::from_counts(USUAL_SKIM))
            .unwrap_or_default()
    }

    /// Whether a cut says what a skim takes.
    pub fn skim_is_known(&self) -> bool {
        self.skim.is_some()
    }

    /// Skims left, by each limit.
    pub fn skims_left(&self) -> SkimsLeft {
        let least = self.basis.least_thickness;
        SkimsLeft::new(self.thickness(), least, self.steel(), self.skim())
    }

    /// Whether and why it is to be retired.
    pub fn retire(&self) -> Option<Retire> {
        let left = self.skims_left().count();
        if self.thickness() <= self.basis.least_thickness {
            Some(Retire::Thin)
        } else if self.steel().counts() <= OVER_STEEL {
            Some(Retire::Steel)
        } else if left == 0 {
            Some(Retire::NoSkim)
        } else if left <= 2 {
            Some(Retire::Soon)
        } else {
            None
        }
    }
}
