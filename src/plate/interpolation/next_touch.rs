//! Where one more touch would be most useful, and which edges have no touch.

use super::thin_plate::ThinPlate;
use super::touched_plate::{TouchedPlate, TouchedPlateError, length};
use crate::quantity::Length;

/// Nobody touches nearer than this to another touch, nor with the cutter half over an edge, in mm: half an inch (common
/// practice, no source).
const APART: f64 = 12.7;
/// Factor on the scatter of the heights about their plane, which grows with the distance and is subtracted from the
/// expected height.
const WORRY: f64 = 2.0;
/// A part of an edge without a touch is named if it is longer than this fraction of the edge.
const BARE: f64 = 0.6;

impl TouchedPlate {
    /// Where one more touch is most useful: the middle if it was never touched, otherwise where the expected height
    /// minus the subtracted scatter is lowest. Source: measured on invented surfaces by another program.
    pub(super) fn next(
        &self,
        seen: &[(f64, f64)],
        at: impl Fn(usize) -> [f64; 2],
    ) -> Result<([Length; 2], bool), TouchedPlateError> {
        let size = self.size();
        let middle = [0, 1].map(|k| self.low[k].mm() + size[k] / 2.0);
        let near = self
            .places()
            .iter()
            .any(|p| (0..2).all(|k| (p[k] - middle[k]).abs() <= size[k] / 5.0));
        if !near {
            return Ok(([length(middle[0])?, length(middle[1])?], true));
        }
        let count = u32::try_from(self.spots.len()).unwrap_or(u32::MAX);
        let pitch = (size[0] * size[1] / f64::from(count)).sqrt();
        let places = self.places();
        let thin = ThinPlate::through(&places);
        let expected = |i: usize, flat: f64| {
            let [x, y] = at(i);
            thin.as_ref().map_or(flat, |t| t.at(x, y))
        };
        let worry = |(i, (z, d)): &(usize, (f64, f64))| {
            expected(*i, *z) - WORRY * self.scatter.mm() * d / pitch
        };
        let on = |i: usize| {
            let place = at(i);
            (0..2).all(|k| {
                let rim = APART.min(size[k] / 4.0);
                let way = place[k] - self.low[k].mm();
                way >= rim && size[k] - way >= rim
            })
        };
        let on = || seen.iter().copied().enumerate().filter(|(i, _)| on(*i));
        // On a plate too small for that distance, the position furthest from every touch.
        let far = on().map(|(_, s)| s.1).fold(0.0, f64::max);
        let apart = APART.min(far);
        let free = on().filter(|(_, s)| s.1 >= apart);
        let best = free.min_by(|a, b| worry(a).total_cmp(&worry(b)));
        let [x, y] = best.map_or(middle, |(i, _)| at(i));
        Ok(([length(x)?, length(y)?], false))
    }

    /// Edges on which a long part has no touch within a fifth of the plate.
    pub(super) fn bare_edges(&self) -> Vec<&'static str> {
        let (places, size) = (self.places(), self.size());
        let sides = [
            ("front", 1, false),
            ("back", 1, true),
            ("left", 0, false),
            ("right", 0, true),
        ];
        let bare = |(_, across, far): &(&str, usize, bool)| {
            let (across, along) = (*across, 1 - *across);
            let edge = if *far {
                self.high[across].mm()
            } else {
                self.low[across].mm()
            };
            let there = places
                .iter()
                .filter(|p| (p[across] - edge).abs() <= size[across] / 5.0);
            let mut stops: Vec<f64> = there.map(|p| p[along]).collect();
            stops.extend([self.low[along].mm(), self.high[along].mm()]);
            stops.sort_by(f64::total_cmp);
            stops.windows(2).any(|w| w[1] - w[0] > BARE * size[along])
        };
        sides.into_iter().filter(bare).map(|s| s.0).collect()
    }
}
