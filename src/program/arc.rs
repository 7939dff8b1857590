//! A circular motion of the cutter.

use super::setting::Plane;
use std::f64::consts::TAU;

/// A circular motion or helix. Angles in radians, lengths in millimetres.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) struct Arc {
    /// The plane of the arc.
    pub plane: Plane,
    /// The centre, on the first and second axis of the plane.
    pub centre: [f64; 2],
    /// Distance from the centre to the start.
    pub radius: f64,
    /// Distance from the centre to the end. It equals `radius` within the tolerance; otherwise the block is a fault.
    pub end_radius: f64,
    /// Direction from the centre to the start: the angle from the plane's first axis towards its second.
    pub start: f64,
    /// The angle of the turn: positive is counter-clockwise. At most a full turn, never zero.
    pub sweep: f64,
    /// Start and end coordinate along the plane's third axis.
    pub rise: [f64; 2],
}

impl Arc {
    /// The point at the fraction `t` of the arc, 0 to 1, as X, Y, Z. A radius that differs at the end changes in
    /// proportion to `t`.
    pub(crate) fn point(&self, t: f64) -> [f64; 3] {
        let [first, second, third] = self.plane.axes();
        let radius = self.radius + (self.end_radius - self.radius) * t;
        let (sine, cosine) = (self.start + self.sweep * t).sin_cos();
        let mut at = [0.0; 3];
        let mut put = |axis: usize, value: f64| {
            if let Some(place) = at.get_mut(axis) {
                *place = value;
            }
        };
        put(first, self.centre[0] + radius * cosine);
        put(second, self.centre[1] + radius * sine);
        put(third, self.rise[0] + (self.rise[1] - self.rise[0]) * t);
        at
    }

    /// Length along the path.
    pub(crate) fn length(&self) -> f64 {
        let flat = self.sweep.abs() * f64::midpoint(self.radius, self.end_radius);
        flat.hypot(self.rise[1] - self.rise[0])
    }

    /// The number of chords into which the arc must be divided so that none deviates from it by more than `sagitta`, in
    /// mm: a chord over the angle a deviates by r (1 - cos(a / 2)).
    pub(crate) fn chords(&self, sagitta: f64) -> u32 {
        let radius = self.radius.max(self.end_radius);
        let least = 4.0 * self.sweep.abs() / TAU;
        let widest = 2.0 * (1.0 - (sagitta / radius).clamp(0.0, 1.0)).acos();
        let count = (self.sweep.abs() / widest).max(least).ceil();
        // An arc of a kilometre, to within a micrometre, needs some hundred thousand chords.
        if count.is_finite() {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let whole = count.clamp(1.0, 1_000_000.0) as u32;
            whole
        } else {
            1_000_000
        }
    }

    /// Smallest and largest coordinate on each axis, including the quadrant points.
    pub(crate) fn box_of(&self) -> [[f64; 2]; 3] {
        let [start, end] = [self.point(0.0), self.point(1.0)];
        let mut sides = [[0.0; 2]; 3];
        for (side, (a, b)) in sides.iter_mut().zip(start.iter().zip(end)) {
            *side = [a.min(b), a.max(b)];
        }
        let [first, second, _] = self.plane.axes();
        for quarter in -8_i32..=8 {
            let angle = f64::from(quarter) * TAU / 4.0;
            let t = (angle - self.start) / self.sweep;
            if t > 0.0 && t < 1.0 {
                let at = self.point(t);
                for axis in [first, second] {
                    if let (Some(side), Some(value)) = (sides.get_mut(axis), at.get(axis)) {
                        *side = [side[0].min(*value), side[1].max(*value)];
                    }
                }
            }
        }
        sides
    }
}

#[cfg(test)]
mod tests {
    use super::Arc;
    use crate::program::setting::Plane;
    use std::f64::consts::{FRAC_PI_2, PI};

    fn half() -> Arc {
        Arc {
            plane: Plane::Xy,
            centre: [10.0, 0.0],
            radius: 5.0,
            end_radius: 5.0,
            start: 0.0,
            sweep: PI,
            rise: [0.0, -1.0],
        }
    }

    /// Plane geometry: half a circle of radius 5 is 5 pi long, and rises to its quadrant point.
    #[test]
    fn a_half_circle_reaches_its_quadrant_point() {
        let sides = half().box_of();
        assert!((sides[0][0] - 5.0).abs() < 1e-12 && (sides[0][1] - 15.0).abs() < 1e-12);
        assert!((sides[1][1] - 5.0).abs() < 1e-12, "{sides:?}");
        assert!((half().length() - (5.0 * PI).hypot(1.0)).abs() < 1e-12);
    }

    /// In G18 counter-clockwise turns from Z to X.
    #[test]
    fn the_zx_plane_turns_from_z_to_x() {
        let arc = Arc {
            plane: Plane::Zx,
            sweep: FRAC_PI_2,
            ..half()
        };
        let (from, to) = (arc.point(0.0), arc.point(1.0));
        assert!((from[2] - 15.0).abs() < 1e-12 && from[0].abs() < 1e-12);
        assert!((to[2] - 10.0).abs() < 1e-12 && (to[0] - 5.0).abs() < 1e-12);
    }

    #[test]
    fn chords_stay_within_the_sagitta() {
        let arc = half();
        let count = arc.chords(0.002);
        let sagitta = |n: u32| 5.0 * (1.0 - (PI / f64::from(n) / 2.0).cos());
        assert!(
            sagitta(count) <= 0.002 && sagitta(count - 1) > 0.002,
            "{count}"
        );
    }
}
