//! An open series of touches: its heights, and what is still to be touched.

use super::answer::TouchResult;
use super::instance::Instance;
use super::state::State;
use crate::plate::{Frame, Reading, Series, Surface, TouchError, ZeroMode};
use crate::procedure::Kind;
use crate::procedure::model::{Touch, ZeroBy};
use crate::quantity::Length;

/// The word with which the operator ends a series whose points the operator chooses.
pub(crate) const DONE: &str = "done";

/// An open series of touches.
#[derive(Clone, Debug)]
pub struct OpenTouchSeries {
    /// The step it belongs to.
    pub at: Instance,
    series: Series,
    base: bool,
}

/// What to touch next.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NextTouch {
    /// A point of the step's list.
    Point(String),
    /// Any point that the operator names, or the end of the series.
    Any,
    /// The readout is to be zeroed at the last touched point.
    Zero(String),
    /// The first point again, to close the series.
    Closing(String),
    /// Nothing: the series is complete.
    Nothing,
}

impl OpenTouchSeries {
    /// The series that the first touch of a step begins; `None` where the step is not a touch step.
    pub(crate) fn begin(state: &State, at: &Instance) -> Option<Self> {
        let Kind::Touch(touch) = &state.step(at)?.kind else {
            return None;
        };
        let mode = mode(state, touch)?;
        let base = touch.continues.is_none();
        let frame = if base {
            Frame::default()
        } else {
            state.marks.frame()
        };
        let machine = state.chosen(crate::procedure::ShopList::Machines)?;
        // Two columns of one control may differ by rounding in their last digit.
        let tolerance = machine
            .quantity("readout_step")
            .and_then(Length::nearest)
            .unwrap_or(Length::ZERO);
        Some(Self {
            at: at.clone(),
            series: Series::new(mode, frame).agreeing_within(tolerance),
            base,
        })
    }

    /// Whether heights count from its first touch.
    pub(crate) fn is_base(&self) -> bool {
        self.base
    }

    /// The way in which the series is read.
    pub(crate) fn mode(&self) -> ZeroMode {
        self.series.mode()
    }

    /// The heights of the series.
    pub(crate) fn series(&self) -> &Series {
        &self.series
    }

    /// The position of the readout's zero after the series.
    pub(crate) fn frame(&self) -> Frame {
        self.series.frame()
    }

    /// Checks a reading without recording it, and returns what it would give.
    pub(crate) fn try_touch(
        &self,
        point: &str,
        reading: Reading,
        closing: bool,
    ) -> Result<crate::plate::Touch, TouchError> {
        let mut trial = self.series.clone();
        if closing {
            trial.close(reading)
        } else {
            trial.touch(point, reading)
        }
    }

    /// Applies a recorded reading.
    pub(crate) fn touch(&mut self, point: &str, reading: Reading, closing: bool) {
        // Recorded readings were checked before; one that does not fit any more changes nothing.
        let _ = if closing {
            self.series.close(reading)
        } else {
            self.series.touch(point, reading)
        };
    }

    /// Applies that the readout was zeroed.
    pub(crate) fn zeroed(&mut self) {
        let _ = self.series.zeroed();
    }

    /// Applies that the last reading was removed.
    pub(crate) fn take_back(&mut self) {
        let _ = self.series.fix();
    }

    /// What to touch next, by the step's list of points.
    pub(crate) fn due(&self, touch: &Touch) -> NextTouch {
        if self.series.zero_pending()
            && let Some(last) = self.series.last()
        {
            return NextTouch::Zero(last.point.clone());
        }
        let taken = |point: &str| {
            let own = |t: &&crate::plate::Touch| t.point == point && !t.closing;
            self.series.touches().iter().filter(own).count()
        };
        let wanted = usize::try_from(touch.repeats).unwrap_or(1);
        if let Some(next) = touch.points.iter().find(|p| taken(p) < wanted) {
            return NextTouch::Point(next.clone());
        }
        if touch.tip_stays && !self.series.touches().is_empty() {
            return NextTouch::Nothing;
        }
        let closed = self.series.touches().iter().any(|t| t.closing);
        match self.series.touches().first() {
            Some(first) if touch.closing && !closed => NextTouch::Closing(first.point.clone()),
            _ if touch.points.is_empty() => NextTouch::Any,
            _ => NextTouch::Nothing,
        }
    }

    /// The height of the last point minus the height that was known of it; `None` for a series with its own zero, and for a
    /// point that was not known.
    fn moved(&self, before: &Surface) -> Option<Length> {
        let last = self.series.last().filter(|_| !self.base)?;
        last.height.minus(before.heights().of(&last.point)?)
    }

    /// The result of the series so far, on the surface as it was known before; `None` while nothing is touched.
    pub(crate) fn summary(&self, before: &Surface) -> Option<TouchResult> {
        let heights = self.series.heights();
        let heights: Vec<(String, Length)> = heights
            .points()
            .iter()
            .map(|p| (p.point.clone(), p.height))
            .collect();
        (!heights.is_empty()).then(|| TouchResult {
            heights,
            drift: self.series.drift(),
            repeatability: self.series.repeatability(),
            moved: self.moved(before),
        })
    }
}

/// What to touch first.
pub(crate) fn first_due(touch: &Touch) -> NextTouch {
    match touch.points.first() {
        Some(point) => NextTouch::Point(point.clone()),
        None => NextTouch::Any,
    }
}

/// The way in which a touch step is read, from its own key or from an earlier choice.
pub(crate) fn mode(state: &State, touch: &Touch) -> Option<ZeroMode> {
    match &touch.zero {
        ZeroBy::Fixed(mode) => Some(*mode),
        ZeroBy::Chosen(id) => {
            let chosen = state.latest(id)?;
            mode_of(state.answer(&chosen)?.word()?)
        }
        ZeroBy::OfMachine => {
            let machine = state.chosen(crate::procedure::ShopList::Machines)?;
            mode_of(machine.word("readout_zero")?)
        }
    }
}

fn mode_of(word: &str) -> Option<ZeroMode> {
    match word {
        "running" => Some(ZeroMode::Running),
        "fixed" => Some(ZeroMode::Fixed),
        "machine" => Some(ZeroMode::Machine),
        _ => None,
    }
}
