//! What a picture shows, in whole micrometres, so that two pictures can be compared.

use crate::program::coverage::Coverage;
use crate::scene::Rect;

/// A place, micrometres in the program's coordinates.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Spot {
    /// X.
    pub x: i64,
    /// Y.
    pub y: i64,
}

/// A rectangle.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Area {
    /// Its corner of lowest X and Y.
    pub low: Spot,
    /// Its corner of highest X and Y.
    pub high: Spot,
}

/// A connected part of the path, all of it run in one way.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Trace {
    /// Whether it is run at the rapid rate.
    pub rapid: bool,
    /// Whether its height changes along it.
    pub sloped: bool,
    /// Its lowest height in micrometres, where that is known.
    pub low: Option<i64>,
    /// Its places in order, two at least.
    pub spots: Vec<Spot>,
}

/// A way straight down, or straight up.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Upright {
    /// Its place seen from above.
    pub at: Spot,
    /// Its lower end in micrometres.
    pub low: i64,
    /// Whether it is run at the rapid rate.
    pub rapid: bool,
}

/// What the path does, for a picture.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Recorded {
    /// The path, in the order of execution.
    pub traces: Vec<Trace>,
    /// The ways straight down, the first so many.
    pub downs: Vec<Upright>,
    /// The last way straight up after a cut.
    pub lift: Option<Upright>,
}

/// A program seen from above.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Picture {
    /// The plate's outline, seen from above.
    pub plate: Area,
    /// The path.
    pub path: Recorded,
    /// What is not reached.
    pub missed: Vec<Area>,
    /// Whether `missed` is known; else nothing is to be said of what is reached.
    pub judged: bool,
    /// How high metal may stand, in micrometres, where anything is cut.
    pub top: Option<i64>,
    /// The cutter's diameter in micrometres, where it is known.
    pub cutter: Option<i64>,
    /// Where findings lie: the place of each in the list of findings, and where the cutter goes in its block.
    pub findings: Vec<(usize, Spot)>,
}

/// The nearest whole micrometre; what is beyond a kilometre is taken as a kilometre off.
pub(crate) fn micrometres(mm: f64) -> i64 {
    #[allow(clippy::cast_possible_truncation)]
    let whole = (mm * 1000.0).round().clamp(-1e9, 1e9) as i64;
    whole
}

/// In millimetres.
pub(crate) fn millimetres(um: i64) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let mm = um as f64 / 1000.0;
    mm
}

impl Spot {
    /// The nearest whole micrometre; places beyond a kilometre are taken as a kilometre off.
    pub(crate) fn at(place: [f64; 2]) -> Self {
        let [x, y] = place.map(micrometres);
        Self { x, y }
    }

    /// X and Y in millimetres.
    pub(crate) fn mm(self) -> [f64; 2] {
        [self.x, self.y].map(millimetres)
    }
}

impl Area {
    /// Of a rectangle in millimetres.
    pub(crate) fn of(frame: &Rect) -> Self {
        Self {
            low: Spot::at(frame.low),
            high: Spot::at(frame.high),
        }
    }

    /// In millimetres.
    pub(crate) fn mm(&self) -> Rect {
        Rect {
            low: self.low.mm(),
            high: self.high.mm(),
        }
    }
}

/// How far beyond the plate a picture reaches, as a share of the plate's longer side.
const BEYOND: f64 = 0.15;

impl Picture {
    /// Puts the path over the plate, and what of it is not reached where that is known.
    pub(crate) fn new(plate: &Rect, path: Recorded, covered: Option<&Coverage>) -> Self {
        Self {
            plate: Area::of(plate),
            path,
            missed: covered.map_or_else(Vec::new, |c| {
                c.missed.rectangles.iter().map(Area::of).collect()
            }),
            judged: covered.is_some(),
            top: None,
            cutter: None,
            findings: Vec::new(),
        }
    }

    /// Where the path starts.
    pub(crate) fn start(&self) -> Option<Spot> {
        self.path.traces.first()?.spots.first().copied()
    }

    /// Where it ends.
    pub(crate) fn end(&self) -> Option<Spot> {
        self.path.traces.last()?.spots.last().copied()
    }

    /// What is to be in sight: the plate, and the path as far as it keeps near the plate.
    pub(crate) fn sight(&self) -> Rect {
        let plate = self.plate.mm();
        let [x, y] = plate.size();
        let margin = BEYOND * x.max(y);
        let mut sight = plate;
        for spot in self.path.traces.iter().flat_map(|t| &t.spots) {
            for (axis, v) in spot.mm().into_iter().enumerate() {
                if let (Some(low), Some(high), Some(l), Some(h)) = (
                    sight.low.get_mut(axis),
                    sight.high.get_mut(axis),
                    plate.low.get(axis),
                    plate.high.get(axis),
                ) {
                    *low = low.min(v.max(l - margin));
                    *high = high.max(v.min(h + margin));
                }
            }
        }
        sight
    }
}
