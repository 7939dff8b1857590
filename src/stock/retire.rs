//! The number of skims that a plate has left, and when it must be retired.

use super::account::Account;
use crate::plate::SkimsLeft;
use crate::plate::skims::OVER_STEEL;
use crate::quantity::Length;

/// What a skim takes off as long as no cut has another figure: 0.25 mm, the upper end of the usual range (common
/// practice, no source).
const USUAL_SKIM: i64 = Length::COUNTS_PER_MM / 4;

/// Why a plate must be retired now or soon.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Retire {
    /// The plate is as thin as the shop allows, or thinner.
    Thin,
    /// No more than 0.5 mm is left over the steel.
    Steel,
    /// Not one more skim is left.
    NoSkim,
    /// No more than two skims are left.
    Soon,
}

impl Retire {
    /// Whether the plate must be retired now.
    pub(crate) fn now(self) -> bool {
        self != Self::Soon
    }

    /// The reason in words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Thin => "retire it: it is as thin as the shop allows",
            Self::Steel => "retire it: no more than 0.5 mm (0.020 in) is left over the steel",
            Self::NoSkim => "retire it: one more skim would make it too thin or bare the steel",
            Self::Soon => "order the next plate: at most two skims are left",
        }
    }
}

impl Account {
    /// What one skim takes off: the finishing bite and margin of the last cutter, or 0.25 mm where they are not known.
    pub(crate) fn skim(&self) -> Length {
        self.skim
            .or_else(|| Length::from_counts(USUAL_SKIM))
            .unwrap_or_default()
    }

    /// Whether what a skim takes off is known from a cut.
    pub(crate) fn skim_is_known(&self) -> bool {
        self.skim.is_some()
    }

    /// The number of skims left, by each limit.
    pub fn skims_left(&self) -> SkimsLeft {
        let least = self.basis.least_thickness;
        SkimsLeft::new(self.thickness(), least, self.steel(), self.skim())
    }

    /// Why the plate must be retired; `None` if it need not be.
    pub(crate) fn retire(&self) -> Option<Retire> {
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
