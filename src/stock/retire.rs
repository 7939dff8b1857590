//! How many skims a plate has left, and when it is to be retired.

use super::account::{Account, less};
use crate::quantity::Length;

/// Metal over steel below which a plate is at its end: 0.5 mm, 0.020 in (common practice, no source).
const OVER_STEEL: i64 = Length::COUNTS_PER_MM / 2;

/// What a skim is reckoned to take while no run has shown otherwise: 0.25 mm, the upper end of what is usual (common
/// practice, no source).
const USUAL_SKIM: i64 = Length::COUNTS_PER_MM / 4;

/// The least that a skim is reckoned to take: 0.08 mm, the lower end of what is usual (common practice, no source).
const LEAST_SKIM: i64 = 8 * Length::COUNTS_PER_MM / 100;

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
    /// What a skim is reckoned to take: the mean of its runs, no less than 0.08 mm; 0.25 mm while there is none.
    pub fn skim(&self) -> Length {
        let Ok(runs) = i64::try_from(self.runs.len()) else {
            return Length::from_counts(USUAL_SKIM).unwrap_or_default();
        };
        let counts = if runs == 0 {
            USUAL_SKIM
        } else {
            (self.taken.counts() / runs).max(LEAST_SKIM)
        };
        Length::from_counts(counts).unwrap_or_default()
    }

    /// Skims left above the least thickness: the whole part of (thickness - least) / what a skim takes, derived.
    pub fn skims_above_least(&self) -> i64 {
        self.skims(less(self.thickness(), self.basis.least_thickness))
    }

    /// Skims left above the steel, of which 0.5 mm stays covered.
    pub fn skims_above_steel(&self) -> i64 {
        let covered = Length::from_counts(OVER_STEEL).unwrap_or_default();
        self.skims(less(self.steel(), covered))
    }

    fn skims(&self, room: Length) -> i64 {
        (room.counts() / self.skim().counts().max(1)).max(0)
    }

    /// Whether and why it is to be retired.
    pub fn retire(&self) -> Option<Retire> {
        let left = self.skims_above_least().min(self.skims_above_steel());
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
