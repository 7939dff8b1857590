//! A rectangle along the axes.

/// A rectangle, millimetres.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Rect {
    /// Lowest X and Y.
    pub low: [f64; 2],
    /// Highest X and Y.
    pub high: [f64; 2],
}

impl Rect {
    /// A rectangle from any two opposite corners.
    pub(crate) fn between(a: [f64; 2], b: [f64; 2]) -> Self {
        Self {
            low: [a[0].min(b[0]), a[1].min(b[1])],
            high: [a[0].max(b[0]), a[1].max(b[1])],
        }
    }

    /// Its extent in X and Y.
    pub(crate) fn size(&self) -> [f64; 2] {
        [self.high[0] - self.low[0], self.high[1] - self.low[1]]
    }

    /// Its area, mm2.
    pub(crate) fn area(&self) -> f64 {
        let [x, y] = self.size();
        x * y
    }

    /// Whether it is a plate at all: finite, and with an inside.
    pub(crate) fn is_sound(&self) -> bool {
        let finite = self.low.iter().chain(&self.high).all(|v| v.is_finite());
        finite && self.size().iter().all(|s| *s > 0.0)
    }

    /// The same with so much more on every side.
    #[must_use]
    pub(crate) fn grown(&self, by: f64) -> Self {
        Self {
            low: self.low.map(|v| v - by),
            high: self.high.map(|v| v + by),
        }
    }

    /// Whether a point lies in it or on its border.
    pub(crate) fn holds(&self, at: [f64; 2]) -> bool {
        (0..2).all(|k| at[k] >= self.low[k] && at[k] <= self.high[k])
    }

    /// Which part of the segment from `a` to `b` lies in it, as shares of the way; none where it passes by.
    /// Source: Liang and Barsky's line clipping, from memory.
    pub(crate) fn clip(&self, a: [f64; 2], b: [f64; 2]) -> Option<[f64; 2]> {
        let mut part = [0.0_f64, 1.0_f64];
        for axis in 0..2 {
            let way = b[axis] - a[axis];
            let (to_low, to_high) = (self.low[axis] - a[axis], self.high[axis] - a[axis]);
            if way == 0.0 {
                if to_low > 0.0 || to_high < 0.0 {
                    return None;
                }
                continue;
            }
            let (enter, leave) = if way > 0.0 {
                (to_low / way, to_high / way)
            } else {
                (to_high / way, to_low / way)
            };
            part = [part[0].max(enter), part[1].min(leave)];
        }
        (part[0] < part[1]).then_some(part)
    }
}

/// Whether two places are one, but for rounding.
pub(crate) fn one_place(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-6
}
