//! The plate's surface after touches and cuts, and the position of the readout's zero.
//!
//! Stored as a list of events in order and computed when needed: an invalid series of touches is removed, but real cuts
//! and real zeroings of the readout remain.

use super::instance::Instance;
use crate::plate::{Frame, Surface};
use crate::quantity::Length;

/// Something that happened to the surface or to the readout.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) enum SurfaceEvent {
    /// A series with its own zero began: heights count from its first touch.
    Base,
    /// A series ended with these heights.
    Touched(Instance, Vec<(String, Length)>),
    /// The readout's zero moved.
    Frame(Frame),
    /// A cut ran to its end at this height.
    Cut(Length),
}

/// The surface events of a run, in order.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct SurfaceHistory(Vec<SurfaceEvent>);

impl SurfaceHistory {
    /// Adds an event.
    pub(crate) fn push(&mut self, mark: SurfaceEvent) {
        self.0.push(mark);
    }

    /// Removes the heights of a series that is no longer valid.
    pub(crate) fn void(&mut self, at: &Instance) {
        self.0
            .retain(|mark| !matches!(mark, SurfaceEvent::Touched(of, _) if of == at));
    }

    fn since_base(&self) -> &[SurfaceEvent] {
        let base = self
            .0
            .iter()
            .rposition(|m| *m == SurfaceEvent::Base)
            .unwrap_or(0);
        self.0.get(base..).unwrap_or(&[])
    }

    /// The surface as it is now.
    pub fn surface(&self) -> Surface {
        let mut surface = Surface::new();
        for mark in self.since_base() {
            match mark {
                SurfaceEvent::Touched(_, heights) => {
                    for (point, height) in heights {
                        surface.touch(point, *height);
                    }
                }
                // A cut over a surface without touches changes no known height.
                SurfaceEvent::Cut(plane) => {
                    let _ = surface.cut(*plane);
                }
                SurfaceEvent::Base | SurfaceEvent::Frame(_) => {}
            }
        }
        surface
    }

    /// The old surface: each point at the height it was last touched at before it was cut, in the order of touching.
    pub(crate) fn before_cuts(&self) -> Vec<(String, Length)> {
        let mut found: Vec<(String, Length, bool)> = Vec::new();
        for mark in self.since_base() {
            match mark {
                SurfaceEvent::Touched(_, heights) => {
                    for (point, height) in heights {
                        match found.iter_mut().find(|(p, ..)| p == point) {
                            // The surface there now was made by a cut and says nothing about the old one.
                            Some((_, _, true)) => {}
                            Some((_, known, false)) => *known = *height,
                            None => found.push((point.clone(), *height, false)),
                        }
                    }
                }
                SurfaceEvent::Cut(plane) => {
                    for (_, height, cut) in &mut found {
                        *cut |= *height > *plane;
                    }
                }
                SurfaceEvent::Base | SurfaceEvent::Frame(_) => {}
            }
        }
        found.into_iter().map(|(p, h, _)| (p, h)).collect()
    }

    /// The plane of the last cut since the touch-off.
    pub(crate) fn last_cut(&self) -> Option<Length> {
        self.since_base().iter().rev().find_map(|mark| match mark {
            SurfaceEvent::Cut(plane) => Some(*plane),
            _ => None,
        })
    }

    /// The position of the readout's zero.
    pub fn frame(&self) -> Frame {
        self.since_base()
            .iter()
            .rev()
            .find_map(|mark| match mark {
                SurfaceEvent::Frame(frame) => Some(*frame),
                _ => None,
            })
            .unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::{SurfaceEvent, SurfaceHistory};
    use crate::interlock::Instance;
    use crate::quantity::Length;

    fn um(n: i64) -> Length {
        Length::from_counts(n * 10_000).unwrap()
    }

    fn touched(pass: Option<u32>, all: &[(&str, i64)]) -> SurfaceEvent {
        let heights = all.iter().map(|(p, h)| ((*p).to_owned(), um(*h)));
        SurfaceEvent::Touched(Instance::new("touch", pass), heights.collect())
    }

    #[test]
    fn a_point_that_was_cut_keeps_the_height_of_its_old_skin() {
        let mut marks = SurfaceHistory::default();
        marks.push(SurfaceEvent::Base);
        marks.push(touched(None, &[("a", 50), ("b", -40)]));
        assert_eq!(marks.last_cut(), None);
        marks.push(SurfaceEvent::Cut(um(-10)));
        // A freshly cut surface at a, a new touch at b, and a point not touched before.
        marks.push(touched(Some(2), &[("a", -10), ("b", -45), ("c", -30)]));
        let names = |m: &SurfaceHistory| m.before_cuts();
        let expected = [("a", 50), ("b", -45), ("c", -30)].map(|(p, h)| (p.to_owned(), um(h)));
        assert_eq!(names(&marks), expected);
        assert_eq!(marks.last_cut(), Some(um(-10)));
        // A point exactly at the height of the plane is not cut.
        let mut level = SurfaceHistory::default();
        level.push(touched(None, &[("a", 50)]));
        level.push(SurfaceEvent::Cut(um(50)));
        level.push(touched(Some(2), &[("a", 45)]));
        assert_eq!(level.before_cuts(), [("a".to_owned(), um(45))]);
        // The present surface differs from the old skin.
        assert_eq!(marks.surface().heights().of("a"), Some(um(-10)));
        marks.push(SurfaceEvent::Base);
        assert!(names(&marks).is_empty() && marks.last_cut().is_none());
    }
}
