//! The number of skims that a plate has left: one function for the walk, the account, the sheet and the comparison of
//! ways.

use crate::quantity::Length;

/// Metal that must remain above steel: 0.5 mm, 0.020 in (common practice, no source). With less, a plate is at its end.
pub(crate) const OVER_STEEL: i64 = Length::COUNTS_PER_MM / 2;

/// What a skim takes in addition to its finishing bite: 0.05 mm, so that the lowest place is cleaned too (common
/// practice, no source).
const MARGIN: i64 = Length::COUNTS_PER_MM / 20;

/// What one skim takes off: the finishing bite and the margin.
///
/// Source: derived, loss per skim = spread + margin; a plate is skimmed again when it is dinged by about a finishing bite.
pub(crate) fn one_skim(finishing_bite: Length) -> Length {
    let margin = Length::from_counts(MARGIN).unwrap_or_default();
    finishing_bite.plus(margin).unwrap_or(finishing_bite)
}

/// What limits the number of skims.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum SkimLimit {
    /// The smallest thickness that the shop allows.
    Thickness,
    /// The steel under the surface.
    Steel,
}

impl SkimLimit {
    /// The limit in words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Thickness => "the least thickness",
            Self::Steel => "the steel",
        }
    }

    /// The limit as a key in JSON.
    pub(crate) fn key(self) -> &'static str {
        match self {
            Self::Thickness => "thickness",
            Self::Steel => "steel",
        }
    }
}

/// The skims left, by each limit.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct SkimsLeft {
    /// Skims left above the smallest thickness.
    pub by_thickness: i64,
    /// Skims left above the steel, of which 0.5 mm stays covered.
    pub by_steel: i64,
    /// The limit with the least room; with equal room the thickness.
    pub limit: SkimLimit,
}

impl SkimsLeft {
    /// Rounds down each room divided by `skim`: `thickness` minus `least`, and `steel` (metal above the shallowest
    /// steel) minus what must remain above it.
    pub(crate) fn new(thickness: Length, least: Length, steel: Length, skim: Length) -> Self {
        let above_least = thickness.counts().saturating_sub(least.counts());
        let above_steel = steel.counts().saturating_sub(OVER_STEEL);
        let skims = |room: i64| (room / skim.counts().max(1)).max(0);
        let limit = if above_steel < above_least {
            SkimLimit::Steel
        } else {
            SkimLimit::Thickness
        };
        Self {
            by_thickness: skims(above_least),
            by_steel: skims(above_steel),
            limit,
        }
    }

    /// The smaller of the two counts.
    pub fn count(self) -> i64 {
        self.by_thickness.min(self.by_steel)
    }

    /// The limit that applies, and the count by the other: `limited by the steel; 25 by the least thickness`.
    pub(crate) fn words(self) -> String {
        let (other, count) = match self.limit {
            SkimLimit::Steel => (SkimLimit::Thickness, self.by_thickness),
            SkimLimit::Thickness => (SkimLimit::Steel, self.by_steel),
        };
        format!(
            "limited by {}; {count} by {}",
            self.limit.words(),
            other.words()
        )
    }
}

#[cfg(test)]
mod tests {
    use super::{SkimLimit, SkimsLeft, one_skim};
    use crate::quantity::Length;

    fn um(n: i64) -> Length {
        Length::from_counts(n * 10_000).unwrap()
    }

    // By hand: (19.28 - 15) / 0.17 = 25.2 and (3.28 - 0.5) / 0.17 = 16.4; where the quotient is a whole number, the
    // last skim counts.
    #[test]
    fn the_smaller_count_applies_and_names_its_limit() {
        let skim = one_skim(um(120));
        assert_eq!(skim, um(170));
        let left = SkimsLeft::new(um(19_280), um(15_000), um(3_280), skim);
        assert_eq!((left.by_thickness, left.by_steel), (25, 16));
        assert_eq!((left.count(), left.limit), (16, SkimLimit::Steel));
        assert_eq!(
            left.words(),
            "limited by the steel; 25 by the least thickness"
        );
        let left = SkimsLeft::new(um(15_340), um(15_000), um(3_280), skim);
        assert_eq!((left.count(), left.limit), (2, SkimLimit::Thickness));
        assert_eq!(
            left.words(),
            "limited by the least thickness; 16 by the steel"
        );
        let left = SkimsLeft::new(um(14_000), um(15_000), um(400), skim);
        assert_eq!((left.count(), left.limit), (0, SkimLimit::Thickness));
    }

    // Source: thickness .985, least .875, .006 a skim: 18 left (the whole part of .110 / .006, computed from the formula).
    #[test]
    fn an_inch_plate() {
        let thou = |n: i64| Length::from_counts(n * 254_000).unwrap();
        let left = SkimsLeft::new(thou(985), thou(875), thou(400), thou(6));
        assert_eq!((left.count(), left.limit), (18, SkimLimit::Thickness));
    }
}
