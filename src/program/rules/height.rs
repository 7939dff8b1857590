//! How low the cutter goes, how it gets there, and what it does at that height.

use crate::program::fact::{Fact, Why};
use crate::program::finding::{Found, Kept};
use crate::program::motion::{Coord, Motion, MotionKind, Straight};
use crate::program::setup::Setup;
use std::collections::BTreeSet;

/// Most ways down and most levels that are kept.
const MOST: usize = 1_000;
/// Heights nearer than this are one.
pub(super) const SAME: f64 = 5e-4;

/// A motion that counts by its lowest height.
#[derive(Debug, Default)]
pub(super) struct Lowest {
    pub(super) z: Option<f64>,
    pub(super) at: Kept,
}

impl Lowest {
    #[inline]
    fn see(&mut self, z: f64, motion: &Motion<'_>) {
        if self.z.is_none_or(|lowest| z < lowest) {
            self.z = Some(z);
            self.at.keep(motion.at);
        }
    }
}

/// A way down at a place.
#[derive(Debug)]
pub(super) struct Down {
    pub(super) at: Kept,
    pub(super) from: [f64; 2],
    pub(super) to: [f64; 2],
    pub(super) z: f64,
    pub(super) straight: bool,
}

/// Watches heights.
#[allow(clippy::struct_excessive_bools)]
#[derive(Debug)]
pub struct Height {
    pub(super) setup: Setup,
    pub(super) lowest_cut: Lowest,
    pub(super) across: Lowest,
    pub(super) plunge: Lowest,
    pub(super) dip: Lowest,
    pub(super) downs: Vec<Down>,
    pub(super) levels: BTreeSet<i64>,
    last_level: f64,
    pub(super) last_z: Coord,
    moved: bool,
    home: bool,
    said_unknown: bool,
    said_lost: bool,
}

fn moves(from: Coord, to: Coord) -> bool {
    from != to
}

#[allow(clippy::cast_possible_truncation)]
fn level(z: f64) -> i64 {
    (z * 10_000.0).round() as i64
}

impl Height {
    /// Against a set-up.
    pub fn new(setup: Setup) -> Self {
        Self {
            setup,
            lowest_cut: Lowest::default(),
            across: Lowest::default(),
            plunge: Lowest::default(),
            dip: Lowest::default(),
            downs: Vec::new(),
            levels: BTreeSet::new(),
            last_level: f64::NAN,
            last_z: Fact::Unset,
            moved: false,
            home: false,
            said_unknown: false,
            said_lost: false,
        }
    }

    /// The lowest cut.
    pub fn lowest(&self) -> Option<f64> {
        self.lowest_cut.z
    }

    /// The next rapid is the first leg of a way home.
    pub fn goes_home(&mut self) {
        self.home = true;
    }

    /// Looks at a motion.
    #[inline]
    pub fn motion(&mut self, motion: &Motion<'_>, found: &mut Found) {
        let (from, to) = (motion.from[2], motion.to[2]);
        self.last_z = to;
        let across = moves(motion.from[0], motion.to[0]) || moves(motion.from[1], motion.to[1]);
        match motion.kind {
            MotionKind::Rapid => self.rapid(motion, across, found),
            MotionKind::Feed | MotionKind::Arc => {
                if let Some(end) = to.known() {
                    let mut low = from.known().map_or(end, |z| z.min(end));
                    if let Some(arc) = motion.arc {
                        low = low.min(arc.box_of()[2][0]);
                    }
                    self.lowest_cut.see(low, motion);
                    if across && end.to_bits() != self.last_level.to_bits() {
                        self.last_level = end;
                        if self.levels.len() < MOST {
                            self.levels.insert(level(end));
                        }
                    }
                    if from.known().is_none_or(|z| z > end) {
                        self.down(motion, end, !across);
                    }
                }
                if !self.said_lost && motion.to.iter().any(|c| !Self::told(*c)) {
                    self.said_lost = true;
                    Self::lost(motion, found);
                }
            }
        }
        self.home = false;
        self.moved |= across;
    }

    /// Looks at a straight cut: one at the level that was last cut across at goes no lower and to no other level.
    #[inline]
    pub fn straight(&mut self, cut: &Straight<'_>, found: &mut Found) {
        let z = cut.to[2];
        let level =
            z.to_bits() == self.last_level.to_bits() && z.to_bits() == cut.from[2].to_bits();
        if !(level && self.lowest_cut.z.is_some_and(|lowest| lowest <= z)) {
            self.motion(&cut.motion(), found);
            return;
        }
        self.last_z = Fact::Known(z);
        self.home = false;
        #[allow(clippy::float_cmp)]
        let across = cut.from[0] != cut.to[0] || cut.from[1] != cut.to[1];
        self.moved |= across;
    }

    /// Whether a coordinate is known, or another finding already says why it is not.
    fn told(coord: Coord) -> bool {
        match coord {
            Fact::Known(_) => true,
            Fact::Unset => false,
            Fact::Unknown(cause) => !matches!(
                cause.why,
                Why::MachineCoordinates
                    | Why::WorkOffset
                    | Why::LengthOffset
                    | Why::Incremental
                    | Why::Shift
                    | Why::ToolChange
            ),
        }
    }

    #[cold]
    fn lost(motion: &Motion<'_>, found: &mut Found) {
        let unknown = b"XYZ".iter().zip(motion.to).find(|(_, c)| !Self::told(*c));
        let Some((axis, coord)) = unknown else {
            return;
        };
        let axis = char::from(*axis);
        found.add("lost", motion.at, None, || match coord.cause() {
            Some(cause) => format!("{axis}, since line {}: {}", cause.line, cause.why),
            None => format!("{axis} was never said"),
        });
    }

    fn rapid(&mut self, motion: &Motion<'_>, across: bool, found: &mut Found) {
        let (from, to) = (motion.from[2], motion.to[2]);
        let (start, end) = (from.known(), to.known());
        if self.home
            && let Some(end) = end
            && from != to
            && start.is_none_or(|z| end < z - SAME)
        {
            found.add("home-dips", motion.at, None, || {
                format!("first to Z{end:.3} of the work offset")
            });
            return;
        }
        if across && end.is_none() {
            match to {
                Fact::Unset if !self.moved => {
                    found.add("first-move", motion.at, None, String::new);
                }
                Fact::Unknown(cause)
                    if matches!(cause.why, Why::MachineCoordinates | Why::ToolChange)
                        && !self.said_unknown
                        && from == to =>
                {
                    self.said_unknown = true;
                    found.add("home-unknown", motion.at, None, || {
                        format!("Z is not known since line {}", cause.line)
                    });
                }
                _ => {}
            }
        }
        let Some(end) = end else {
            return;
        };
        if across && let Some(start) = start {
            if end >= start - SAME {
                // On the way up the axes may run apart, so the start's height counts.
                self.across.see(start, motion);
            } else {
                self.dip.see(end, motion);
            }
        }
        if start.is_none_or(|z| z > end + SAME) {
            self.plunge.see(end, motion);
            self.down(motion, end, !across);
        }
    }

    fn down(&mut self, motion: &Motion<'_>, z: f64, straight: bool) {
        let flat = |coords: [Coord; 3]| Some([coords[0].known()?, coords[1].known()?]);
        let (Some(from), Some(to)) = (flat(motion.from), flat(motion.to)) else {
            return;
        };
        if self.downs.len() < MOST {
            let mut at = Kept::default();
            at.keep(motion.at);
            self.downs.push(Down {
                at,
                from,
                to,
                z,
                straight,
            });
        }
    }
}
