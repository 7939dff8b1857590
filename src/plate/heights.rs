//! Heights of named points: lowest, highest and spread.

use super::working::{Working, operand, plain, result};
use crate::quantity::{Length, format::QuantityFormat};

/// A point's height above the first touch of the run; positive is up.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct PointHeight {
    /// The point's name.
    pub point: String,
    /// The mean of its touches, rounded once to the length grid.
    pub height: Length,
    /// Number of touches that the height is the mean of.
    pub touches: usize,
}

/// Heights in the order in which the points were first touched.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct Heights(Vec<PointHeight>);

impl Heights {
    /// Heights from a list in order of touching. A name that occurs twice gives two entries, so the caller must make
    /// names unique.
    pub(crate) fn new(points: Vec<PointHeight>) -> Self {
        Self(points)
    }

    /// The points in order.
    pub fn points(&self) -> &[PointHeight] {
        &self.0
    }

    /// The height of a point by name.
    pub(crate) fn of(&self, point: &str) -> Option<Length> {
        self.0.iter().find(|p| p.point == point).map(|p| p.height)
    }

    /// The lowest point, the first touched of equal ones; `None` without points.
    pub fn lowest(&self) -> Option<&PointHeight> {
        self.all_lowest().next()
    }

    /// The highest point, the first touched of equal ones; `None` without points.
    pub(crate) fn highest(&self) -> Option<&PointHeight> {
        self.all_highest().next()
    }

    /// Every point that is as low as the lowest.
    pub(crate) fn all_lowest(&self) -> impl Iterator<Item = &PointHeight> {
        let low = self.0.iter().map(|p| p.height).min();
        self.0.iter().filter(move |p| Some(p.height) == low)
    }

    /// Every point that is as high as the highest.
    pub(crate) fn all_highest(&self) -> impl Iterator<Item = &PointHeight> {
        let high = self.0.iter().map(|p| p.height).max();
        self.0.iter().filter(move |p| Some(p.height) == high)
    }

    /// Highest minus lowest; `None` without points, or where it is larger than a length can be.
    pub fn spread(&self) -> Option<Length> {
        self.highest()?.height.minus(self.lowest()?.height)
    }

    /// Each point's height above the lowest one, in order; `None` where one is larger than a length can be.
    #[cfg(test)]
    pub(crate) fn above_lowest(&self) -> Option<Vec<(&str, Length)>> {
        let Some(low) = self.lowest() else {
            return Some(Vec::new());
        };
        self.0
            .iter()
            .map(|p| Some((p.point.as_str(), p.height.minus(low.height)?)))
            .collect()
    }

    /// Lowest, highest and spread, as lines of working.
    pub(crate) fn working(&self, show: &QuantityFormat) -> Working {
        let mut working = Working::new();
        let names = |points: Vec<&PointHeight>| {
            let names: Vec<&str> = points.iter().map(|p| p.point.as_str()).collect();
            names.join(", ")
        };
        if let (Some(low), Some(high)) = (self.lowest(), self.highest()) {
            let (lows, highs) = (self.all_lowest().collect(), self.all_highest().collect());
            working.push(format!(
                "lowest = {} at {}",
                result(show, low.height),
                names(lows)
            ));
            working.push(format!(
                "highest = {} at {}",
                result(show, high.height),
                names(highs)
            ));
            if let Some(spread) = self.spread() {
                working.push(format!(
                    "spread = highest - lowest = {} - {} = {}",
                    super::working::number(show, high.height),
                    operand(show, low.height),
                    plain(show, spread)
                ));
            }
        }
        working
    }
}
