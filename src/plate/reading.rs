//! One touch: the reading, the zeros that it counts from, and the resulting height.

use super::working::{Working, number, operand, result};
use crate::quantity::{Length, format::QuantityFormat};
use serde::{Deserialize, Serialize};

/// What is read, and what happens to the work readout between touches.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum ZeroMode {
    /// The readout is zeroed again at every point that is lower than its zero.
    Running,
    /// The readout is zeroed once and left alone.
    Fixed,
    /// Machine coordinates are read.
    Machine,
}

/// The zeros of the two columns; one series passes them to the next.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
pub struct Frame {
    /// Height at which the work readout shows zero; `None` before it is known.
    pub zero: Option<Length>,
    /// Machine Z at height zero; `None` before it is known.
    pub origin: Option<Length>,
}

impl Frame {
    /// The zeros after the entry for `plane` was typed: the readout then shows zero at the plane.
    #[must_use]
    pub(crate) fn entered(self, plane: Length) -> Self {
        Self {
            zero: Some(plane),
            ..self
        }
    }
}

/// The values read at one touch.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default, Serialize, Deserialize)]
pub struct Reading {
    /// The work readout; positive is up.
    pub readout: Option<Length>,
    /// Machine Z; positive is up.
    pub machine: Option<Length>,
}

/// What to do with the readout after a touch.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Advice {
    /// The point is lower than the readout's zero: zero the readout here.
    ZeroHere,
    /// Leave the readout alone.
    Leave,
}

/// One touch, with its height.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Touch {
    /// The point's name.
    pub point: String,
    /// The values read.
    pub reading: Reading,
    /// Its height above the first touch.
    pub height: Length,
    /// What to do with the readout.
    pub advice: Advice,
    /// Whether this was the second touch of the first point, which closes the series.
    pub closing: bool,
    /// Whether the readout was zeroed here on that advice.
    pub zeroed: bool,
    /// The zeros that the reading counts from.
    pub from: Frame,
    pub(super) mode: ZeroMode,
    pub(super) before: Frame,
}

impl Touch {
    /// The formula of the height, its numbers and result, and what it means for the readout.
    pub(crate) fn working(&self, show: &QuantityFormat) -> Working {
        let what = if self.closing {
            format!("height of {} again", self.point)
        } else {
            format!("height of {}", self.point)
        };
        let mut working = Working::new();
        let by_readout = self.from.zero.zip(self.reading.readout);
        let by_machine = self.reading.machine.zip(self.from.origin);
        let height = result(show, self.height);
        if self.before == Frame::default() {
            working.push(format!("{what} = {height} (first touch)"));
        } else if let (ZeroMode::Machine, Some((machine, origin))) = (self.mode, by_machine) {
            working.push(format!(
                "{what} = machine - machine at height 0 = {} - {} = {height}",
                number(show, machine),
                operand(show, origin)
            ));
        } else if let Some((zero, readout)) = by_readout {
            working.push(format!(
                "{what} = zero + reading = {} + {} = {height}",
                number(show, zero),
                operand(show, readout)
            ));
        }
        if self.advice == Advice::ZeroHere {
            working.push(format!(
                "{} is lower than the readout's zero: zero here, zero = {height}",
                self.point
            ));
        }
        working
    }
}
