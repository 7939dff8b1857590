//! One motion of the cutter.

use super::arc::Arc;
use super::fact::StateFact;
use super::setting::Setting;

/// A coordinate in millimetres.
pub(crate) type Coord = StateFact<f64>;

/// A location in the file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct FileLocation<'a> {
    /// The line, from 1.
    pub line: u32,
    /// The N word.
    pub number: Option<u32>,
    /// The bytes of the line without its end. Only borrowed: an observer copies what it needs.
    pub text: &'a [u8],
}

/// The kinds of motion.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum MotionKind {
    /// At the traverse rate. The axes may run independently, so the path is anywhere in the box between the two ends.
    Rapid,
    /// A straight line at the feed.
    Feed,
    /// A circular motion or helix at the feed.
    Arc,
}

/// One motion. Positions are in the coordinates of the active work offset, with a G92 shift added: as the control would
/// show them without the shift. In mm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Motion<'a> {
    /// The kind of motion.
    pub kind: MotionKind,
    /// X, Y, Z before the motion.
    pub from: [Coord; 3],
    /// X, Y, Z after the motion.
    pub to: [Coord; 3],
    /// The arc, where the motion is one and all of it is known.
    pub arc: Option<&'a Arc>,
    /// Feed along the path in mm/min, whatever the feed mode; unset for rapids.
    pub feed: StateFact<f64>,
    /// The modal state during the motion.
    pub setting: &'a Setting,
    /// The block that causes the motion.
    pub at: FileLocation<'a>,
}

/// A straight cut between known positions at a known feed. Nearly every block of a program is one, so it has a type of
/// its own, whose fields are known without asking.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Straight<'a> {
    /// X, Y, Z before the cut, mm.
    pub from: [f64; 3],
    /// X, Y, Z after the cut, mm.
    pub to: [f64; 3],
    /// Feed along the path, mm/min.
    pub feed: f64,
    /// Whether the report before this one was a straight cut too, in the same modal state and at the same feed.
    pub steady: bool,
    /// The modal state during the cut.
    pub setting: &'a Setting,
    /// The block that causes the cut.
    pub at: FileLocation<'a>,
}

impl<'a> Straight<'a> {
    /// The same cut as a general motion.
    pub(crate) fn motion(&self) -> Motion<'a> {
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
    /// Both end points, where all coordinates are known.
    pub(crate) fn ends(&self) -> Option<[[f64; 3]; 2]> {
        Some([point(self.from)?, point(self.to)?])
    }

    /// Length along the path in millimetres, where it is known.
    pub(crate) fn length(&self) -> Option<f64> {
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

/// The point, where all three coordinates are known.
pub(crate) fn point(coords: [Coord; 3]) -> Option<[f64; 3]> {
    let [x, y, z] = coords;
    Some([x.known()?, y.known()?, z.known()?])
}
