//! Circular motion: computes the arc from the end points of a block and its centre or radius (NISTIR 6556, 3.5.3).

use super::arc::Arc;
use super::block::Word;
use super::decode::{AXES, Decoded, bit, fault};
use super::fact::StateFact;
use super::fault::FaultKind;
use super::machine::Machine;
use super::motion::{Coord, FileLocation, MotionKind};
use super::number::Value;
use super::observer::Observer;
use super::setting::{Plane, Units};
use std::f64::consts::TAU;

/// How far an arc's radius may differ between start and end: 0.002 mm or 0.0002 inch (NISTIR 6556, 3.5.3.2).
fn tolerance(units: StateFact<Units>) -> f64 {
    match units {
        StateFact::Known(Units::Inch) => 0.0002 * 25.4,
        _ => 0.002,
    }
}

/// Above this difference, in mm, no rounding in the program explains it (common practice, no source).
const WRONG: f64 = 0.02;

/// Why there is no arc.
enum NoArc {
    /// A value that the arc needs is unknown.
    Unknown,
    /// The block is wrong.
    Fault(FaultKind),
}

impl Machine<'_> {
    pub(super) fn circle<O: Observer>(
        &mut self,
        decoded: &mut Decoded<'_>,
        clockwise: bool,
        at: FileLocation<'_>,
        observer: &mut O,
    ) {
        let from = self.at;
        let to = self.targets(decoded, at.line);
        // A program that never sets a plane is taken to mean XY; the rule `plane-unset` reports it.
        let plane = match self.setting.plane {
            StateFact::Known(plane) => plane,
            StateFact::Unset => Plane::Xy,
            StateFact::Unknown(_) => {
                decoded.used |= decoded.mask;
                return self.go(MotionKind::Arc, to, None, at, observer);
            }
        };
        let arc = self.arc(decoded, plane, clockwise, [from, to], at, observer);
        match arc {
            Ok(arc) => self.go(MotionKind::Arc, to, Some(&arc), at, observer),
            Err(NoArc::Unknown) => self.go(MotionKind::Arc, to, None, at, observer),
            Err(NoArc::Fault(kind)) => {
                fault(kind, None, at, observer);
                self.go(MotionKind::Arc, to, None, at, observer);
            }
        }
    }

    fn arc<O: Observer>(
        &self,
        decoded: &mut Decoded<'_>,
        plane: Plane,
        clockwise: bool,
        [from, to]: [[Coord; 3]; 2],
        at: FileLocation<'_>,
        observer: &mut O,
    ) -> Result<Arc, NoArc> {
        let axes = plane.axes();
        let of = |coords: [Coord; 3], axis: usize| {
            coords
                .get(axis)
                .copied()
                .and_then(StateFact::known)
                .ok_or(NoArc::Unknown)
        };
        let [first, second, third] = axes;
        let radius_word = decoded.take(b'R');
        let offsets = axes.map(|axis| {
            b"IJK"
                .get(axis)
                .and_then(|letter| decoded.word(*letter))
                .copied()
        });
        for axis in [first, second] {
            if let Some(letter) = b"IJK".get(axis) {
                decoded.used |= bit(*letter);
            }
        }
        let in_plane = |axis: usize| AXES.get(axis).is_some_and(|l| decoded.mask & bit(*l) != 0);
        // Without any axis word it is a full circle; with only the third axis it is a mistake.
        if !in_plane(first) && !in_plane(second) && (decoded.axes() || radius_word.is_some()) {
            return Err(NoArc::Fault(FaultKind::MissingWord));
        }
        let [i, j, _] = offsets;
        if radius_word.is_none() && i.is_none() && j.is_none() {
            return Err(NoArc::Fault(FaultKind::MissingWord));
        }
        if radius_word.is_some() && (i.is_some() || j.is_some()) {
            return Err(NoArc::Fault(FaultKind::Conflict));
        }
        let start = [of(from, first)?, of(from, second)?];
        let end = [of(to, first)?, of(to, second)?];
        let rise = [of(from, third)?, of(to, third)?];
        let length = |word: Option<Word>| match word {
            Some(word) => self.length(&word, at.line).known().ok_or(NoArc::Unknown),
            None => Ok(0.0),
        };
        if let Some(word) = radius_word {
            let radius = length(Some(word))?;
            let centre = by_radius(start, end, radius, clockwise, tolerance(self.setting.units))
                .ok_or(NoArc::Fault(FaultKind::ArcRadius))?;
            let arc = turn(plane, centre, start, end, rise, clockwise);
            // The standard allows arcs of up to 165 degrees, and of 195 to 345 degrees (NISTIR 6556, 3.5.3.1).
            let degrees = arc.sweep.abs().to_degrees();
            if (165.0..195.0).contains(&degrees) || degrees > 345.0 {
                fault(FaultKind::ArcIllConditioned, Some(&word), at, observer);
            }
            return Ok(arc);
        }
        let (a, b) = (length(i)?, length(j)?);
        let shift = |axis: usize| {
            self.setting
                .shift
                .get(axis)
                .copied()
                .and_then(StateFact::known)
                .ok_or(NoArc::Unknown)
        };
        let absolute = [a + shift(first)?, b + shift(second)?];
        let relative = [start[0] + a, start[1] + b];
        let (centre, other) = if self.absolute_centres {
            (absolute, relative)
        } else {
            (relative, absolute)
        };
        let mismatch = |centre: [f64; 2]| {
            let distance = |p: [f64; 2]| (p[0] - centre[0]).hypot(p[1] - centre[1]);
            (distance(start) - distance(end)).abs()
        };
        let off = mismatch(centre);
        let fine = tolerance(self.setting.units);
        let digit = self.last_digit(decoded, axes);
        if off > fine {
            if off > WRONG.max(2.0 * digit) {
                let fits = mismatch(other) <= WRONG.max(2.0 * digit);
                return Err(NoArc::Fault(if fits {
                    FaultKind::ArcAbsolute
                } else {
                    FaultKind::ArcWrong
                }));
            }
            fault(FaultKind::ArcMismatch, None, at, observer);
        }
        let arc = turn(plane, centre, start, end, rise, clockwise);
        if arc.radius <= fine {
            return Err(NoArc::Fault(FaultKind::ArcWrong));
        }
        Ok(arc)
    }

    /// One unit of the last digit written in the dimensions of the block, in mm: the coarsest of them.
    fn last_digit(&self, decoded: &Decoded<'_>, axes: [usize; 3]) -> f64 {
        let unit = self.setting.units.known().map_or(1.0, Units::mm);
        let mut coarsest: f64 = 0.0;
        for axis in [axes[0], axes[1]] {
            for letters in [AXES, *b"IJK"] {
                let word = letters.get(axis).and_then(|l| decoded.word(*l));
                if let Some(Value::Exact(number)) = word.map(|w| w.value)
                    && number.has_point
                    && number.scale > 0
                {
                    coarsest = coarsest.max(10_f64.powi(-i32::from(number.scale)));
                }
            }
        }
        coarsest * unit
    }
}

/// The arc about a centre. Start and end at the same point mean a full turn (NISTIR 6556, 3.5.3.2).
fn turn(
    plane: Plane,
    centre: [f64; 2],
    start: [f64; 2],
    end: [f64; 2],
    rise: [f64; 2],
    clockwise: bool,
) -> Arc {
    let from = [start[0] - centre[0], start[1] - centre[1]];
    let to = [end[0] - centre[0], end[1] - centre[1]];
    let begins = from[1].atan2(from[0]);
    let mut sweep = to[1].atan2(to[0]) - begins;
    // An angle below a thousandth of a microradian is a full turn with a rounding error, not an arc of that size.
    if clockwise {
        while sweep > -1e-9 {
            sweep -= TAU;
        }
        if sweep < -TAU - 1e-9 {
            sweep += TAU;
        }
    } else {
        while sweep < 1e-9 {
            sweep += TAU;
        }
        if sweep > TAU + 1e-9 {
            sweep -= TAU;
        }
    }
    Arc {
        plane,
        centre,
        radius: from[0].hypot(from[1]),
        end_radius: to[0].hypot(to[1]),
        start: begins,
        sweep,
        rise,
    }
}

/// The centre of an arc given by its radius: a positive radius means at most half a turn, a negative one at least half
/// (NISTIR 6556, 3.5.3.1).
fn by_radius(
    start: [f64; 2],
    end: [f64; 2],
    radius: f64,
    clockwise: bool,
    tolerance: f64,
) -> Option<[f64; 2]> {
    let (dx, dy) = (end[0] - start[0], end[1] - start[1]);
    let chord = dx.hypot(dy);
    if chord == 0.0 || radius == 0.0 || chord / 2.0 > radius.abs() + tolerance {
        return None;
    }
    let height = (radius * radius - chord * chord / 4.0).max(0.0).sqrt();
    // An arc that turns counter-clockwise by less than half a turn has its centre to the left of the chord.
    let side = if clockwise == (radius > 0.0) {
        -1.0
    } else {
        1.0
    };
    let (nx, ny) = (-dy / chord * side, dx / chord * side);
    Some([
        f64::midpoint(start[0], end[0]) + nx * height,
        f64::midpoint(start[1], end[1]) + ny * height,
    ])
}

#[cfg(test)]
mod tests {
    use super::{by_radius, turn};
    use crate::program::setting::Plane;
    use std::f64::consts::PI as HALF;

    /// Plane geometry: from (0,0) to (10,0) with radius 5 is half a turn about (5,0).
    #[test]
    fn a_half_turn_by_radius_has_its_centre_midway() {
        for clockwise in [false, true] {
            let centre = by_radius([0.0, 0.0], [10.0, 0.0], 5.0, clockwise, 0.002).unwrap();
            assert!((centre[0] - 5.0).abs() < 1e-9 && centre[1].abs() < 1e-9);
        }
        assert_eq!(by_radius([0.0, 0.0], [10.0, 0.0], 4.9, true, 0.002), None);
        assert_eq!(by_radius([1.0, 1.0], [1.0, 1.0], 4.9, true, 0.002), None);
    }

    /// NISTIR 6556, 3.5.3.1: a positive radius means less than 180 degrees, a negative one more.
    #[test]
    fn the_sign_of_the_radius_chooses_the_side() {
        for (radius, more) in [(10.0, false), (-10.0, true)] {
            for clockwise in [false, true] {
                let (start, end) = ([0.0, 0.0], [10.0, 0.0]);
                let centre = by_radius(start, end, radius, clockwise, 0.002).unwrap();
                let arc = turn(Plane::Xy, centre, start, end, [0.0; 2], clockwise);
                assert_eq!(arc.sweep.abs() > HALF, more, "{radius} {clockwise}");
                assert_eq!(arc.sweep < 0.0, clockwise);
                let to = arc.point(1.0);
                assert!((to[0] - 10.0).abs() < 1e-9 && to[1].abs() < 1e-9);
            }
        }
    }

    #[test]
    fn equal_end_points_are_a_full_turn() {
        let arc = turn(
            Plane::Xy,
            [5.0, 0.0],
            [0.0, 0.0],
            [0.0, 0.0],
            [0.0; 2],
            true,
        );
        assert!((arc.sweep + 2.0 * HALF).abs() < 1e-9);
    }
}
