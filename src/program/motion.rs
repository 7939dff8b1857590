//! One motion of the cutter.

use super::arc::Arc;
use super::fact::StateFact;
use super::setting::Setting;

/// A coordinate in millimetres.
pub type Coord = StateFact<f64>;

/// Where in the file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct FileLocation<'a> {
    /// The line, from 1.
    pub line: u32,
    /// The N word.
    pub number: Option<u32>,
    /// The line's bytes without its end. Only lent: an observer keeps the few it needs.
    pub text: &'a [u8],
}

/// What kind of motion.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum MotionKind {
    /// At the traverse rate. The axes may run independently, so the path is anywhere in the box between the ends.
    Rapid,
    /// A straight line at the feed.
    Feed,
    /// A circular motion or helix at the feed.
    Arc,
}

/// One motion. Places are in the coordinates of the work offset that is active, a G92 shift added, and so where the
/// control would show them without the shift.
#[derive(Clone, Copy, Debug)]
pub struct Motion<'a> {
    /// What kind.
    pub kind: MotionKind,
    /// X, Y, Z before it.
    pub from: [Coord; 3],
    /// X, Y, Z after it.
    pub to: [Coord; 3],
    /// The arc, where it is one and all of it is known.
    pub arc: Option<&'a Arc>,
    /// Feed along the path in mm/min, whatever the feed mode; unset for rapids.
    pub feed: StateFact<f64>,
    /// The modal state in which it is made.
    pub setting: &'a Setting,
    /// The block that makes it.
    pub at: FileLocation<'a>,
}

/// A straight cut between known places at a known feed. Nearly every block of a program is one, so it has a shape of
/// its own: what reads it need not ask what is known.
#[derive(Clone, Copy, Debug)]
pub struct Straight<'a> {
    /// X, Y, Z before it, mm.
    pub from: [f64; 3],
    /// X, Y, Z after it, mm.
    pub to: [f64; 3],
    /// Feed along the path, mm/min.
    pub feed: f64,
    /// Whether what was told before it was a straight cut too, in the same modal state and at the same feed.
    pub steady: bool,
    /// The modal state in which it is made.
    pub setting: &'a Setting,
    /// The block that makes it.
    pub at: FileLocation<'a>,
}

impl<'a> Straight<'a> {
    /// As a motion like any other.
    pub fn motion(&self) -> Motion<'a> {
        Motion {
            kind: MotionKind::Feed,
            from: self.from.map(StateFact::Known),
            to: self.to.map(StateFact::Known),
            arc: None,
            feed: StateFact::Known(self.feed),
            setting: self.setting,
            at: self.at,
        }
    }
}

impl Motion<'_> {
    /// Both ends, where all of them are known.
    pub fn ends(&self) -> Option<[[f64; 3]; 2]> {
        Some([point(self.from)?, point(self.to)?])
    }

    /// Length along the path in millimetres, where it is known.
    pub fn length(&self) -> Option<f64> {
        match self.kind {
            MotionKind::Arc => self.arc.map(Arc::length),
            MotionKind::Rapid | MotionKind::Feed => {
                let [from, to] = self.ends()?;
                let squares: f64 = from.iter().zip(to).map(|(a, b)| (b - a) * (b - a)).sum();
                Some(squares.sqrt())
            }
        }
    }
}

/// A place, where all three coordinates are known.
pub fn point(coords: [Coord; 3]) -> Option<[f64; 3]> {
    let [x, y, z] = coords;
    Some([x.known()?, y.known()?, z.known()?])
}
