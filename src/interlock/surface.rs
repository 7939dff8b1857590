//! The plate's surface as touches and cuts leave it, and where the control's readout stands.
//!
//! Kept as marks in the order in which things happened, and played through when asked: a series of touches that no
//! longer holds drops out, while what was really cut, and where the readout was really zeroed, stays.

use super::instance::Instance;
use crate::plate::{Frame, Surface};
use crate::quantity::Length;

/// Something that happened to the surface or the readout.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Mark {
    /// A series with a nought of its own began: heights count from its first touch.
    Base,
    /// A series ended with these heights.
    Touched(Instance, Vec<(String, Length)>),
    /// The readout's noughts moved.
    Frame(Frame),
    /// A cut ran to its end at this height.
    Cut(Length),
}

/// The marks of a run.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Marks(Vec<Mark>);

impl Marks {
    /// Adds one.
    pub fn push(&mut self, mark: Mark) {
        self.0.push(mark);
    }

    /// Drops the heights of a series that no longer holds.
    pub fn void(&mut self, at: &Instance) {
        self.0
            .retain(|mark| !matches!(mark, Mark::Touched(of, _) if of == at));
    }

    fn since_base(&self) -> &[Mark] {
        let base = self.0.iter().rposition(|m| *m == Mark::Base).unwrap_or(0);
        self.0.get(base..).unwrap_or(&[])
    }

    /// The surface as it stands.
    pub fn surface(&self) -> Surface {
        let mut surface = Surface::new();
        for mark in self.since_base() {
            match mark {
                Mark::Touched(_, heights) => {
                    for (point, height) in heights {
                        surface.touch(point, *height);
                    }
                }
                // A cut over a surface with nothing touched takes nothing that is known.
                Mark::Cut(plane) => {
                    let _ = surface.cut(*plane);
                }
                Mark::Base | Mark::Frame(_) => {}
            }
        }
        surface
    }

    /// Where the readout's noughts stand.
    pub fn frame(&self) -> Frame {
        self.since_base()
            .iter()
            .rev()
            .find_map(|mark| match mark {
                Mark::Frame(frame) => Some(*frame),
                _ => None,
            })
            .unwrap_or_default()
    }
}
