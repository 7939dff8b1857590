//! Joins the uncovered intervals of the lines into patches.
//!
//! A patch is connected from line to line. A thin slanting ridge shifts between two lines by more than its width, so
//! pieces up to two pitches apart count as one patch: at that distance two patches cannot be distinguished.

use super::lines::Lines;
use crate::scene::Rect;

/// Most rectangles stored for drawings; above that number they are made coarser.
pub(crate) const MOST_RECTANGLES: usize = 4000;

/// Most patches taken over from the other family of lines.
const MOST_UNSEEN: usize = 500;

/// A connected part of the plate that is not reached.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Patch {
    /// Its area, mm2.
    pub area: f64,
    /// The rectangle around the patch.
    pub frame: Rect,
}

/// Everything that one family of lines shows as uncovered.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Uncovered {
    /// Its area, mm2.
    pub area: f64,
    /// The patches, the largest first.
    pub patches: Vec<Patch>,
    /// Rectangles that together make up the uncovered area, for drawing.
    pub rectangles: Vec<Rect>,
}

/// The direction of the lines.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum LineDirection {
    /// Along X.
    Rows,
    /// Along Y.
    Columns,
}

impl LineDirection {
    /// The rectangle with these ends along and across the lines.
    fn frame(self, along: [f64; 2], across: [f64; 2]) -> Rect {
        let (low, high) = ([along[0], across[0]], [along[1], across[1]]);
        match self {
            Self::Rows => Rect { low, high },
            Self::Columns => Rect {
                low: [low[1], low[0]],
                high: [high[1], high[0]],
            },
        }
    }
}

/// An uncovered piece of a line, its patch and its rectangle.
#[derive(Clone, Copy)]
struct UncoveredPiece {
    ends: [f64; 2],
    patch: usize,
    rectangle: usize,
}

/// A patch or a rectangle that is still growing, along and across the lines.
#[derive(Clone, Copy)]
struct GrowingPatch {
    area: f64,
    along: [f64; 2],
    across: [f64; 2],
    /// The patch that this one was joined to; its own number while it is separate.
    part_of: usize,
}

fn root(patches: &mut [GrowingPatch], mut of: usize) -> usize {
    while let Some(patch) = patches.get(of)
        && patch.part_of != of
    {
        let up = patches.get(patch.part_of).map_or(of, |p| p.part_of);
        if let Some(patch) = patches.get_mut(of) {
            patch.part_of = up;
        }
        of = up;
    }
    of
}

/// Joins two patches into one; gives its number.
fn join(patches: &mut [GrowingPatch], a: usize, b: usize) -> usize {
    let (a, b) = (root(patches, a), root(patches, b));
    if a == b {
        return a;
    }
    let Some(gone) = patches.get(b).copied() else {
        return a;
    };
    if let Some(joined) = patches.get_mut(a) {
        joined.area += gone.area;
        joined.along = hull(joined.along, gone.along);
        joined.across = hull(joined.across, gone.across);
    }
    if let Some(gone) = patches.get_mut(b) {
        gone.part_of = a;
    }
    a
}

fn hull(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0].min(b[0]), a[1].max(b[1])]
}

impl Uncovered {
    /// The uncovered area of these lines.
    pub(crate) fn of(lines: &Lines, way: LineDirection) -> Self {
        let mut coarse = 0.75 * lines.pitch;
        loop {
            let (missed, fits) = gather(lines, way, coarse);
            if fits {
                return missed;
            }
            coarse *= 4.0;
        }
    }

    /// Adds from the other family the patches that these lines cannot find: those narrower than twice the pitch on the
    /// axis `across` the lines that are in none of the patches here.
    pub(crate) fn add_narrow_patches(&mut self, other: &Self, across: usize, pitch: f64) {
        let narrow = |f: &Rect| f.size().get(across).is_some_and(|s| *s < 2.0 * pitch);
        let unseen: Vec<Patch> = other
            .patches
            .iter()
            .filter(|p| narrow(&p.frame))
            .take(MOST_UNSEEN)
            .filter(|p| {
                !self
                    .patches
                    .iter()
                    .any(|own| own.frame.meets(&p.frame, pitch))
            })
            .copied()
            .collect();
        for patch in unseen {
            self.area += patch.area;
            self.rectangles.push(patch.frame);
            self.patches.push(patch);
        }
        self.patches.sort_by(|a, b| b.area.total_cmp(&a.area));
    }
}

/// `coarse`: ends that differ by no more than this, in mm, continue a rectangle.
fn gather(lines: &Lines, way: LineDirection, coarse: f64) -> (Uncovered, bool) {
    let mut patches: Vec<GrowingPatch> = Vec::new();
    let mut rectangles: Vec<GrowingPatch> = Vec::new();
    let mut before: Vec<UncoveredPiece> = Vec::new();
    let mut area = 0.0;
    for number in 0..lines.count() {
        let at = lines.at(number);
        let across = [at - lines.pitch / 2.0, at + lines.pitch / 2.0];
        let mut here: Vec<UncoveredPiece> = Vec::new();
        let mut start = 0;
        for ends in lines.missed(number) {
            let this = GrowingPatch {
                area: (ends[1] - ends[0]) * lines.pitch,
                along: ends,
                across,
                part_of: patches.len(),
            };
            area += this.area;
            let mut patch = patches.len();
            patches.push(this);
            let mut rectangle = None;
            let reach = 2.0 * lines.pitch;
            while before
                .get(start)
                .is_some_and(|p| p.ends[1] + reach < ends[0])
            {
                start += 1;
            }
            for piece in before.iter().skip(start) {
                if piece.ends[0] > ends[1] + reach {
                    break;
                }
                patch = join(&mut patches, piece.patch, patch);
                // Measured from the first line of the rectangle, so that a gentle slope ends it too.
                if let Some(first) = rectangles.get(piece.rectangle).map(|r| r.along)
                    && (first[0] - ends[0]).abs() <= coarse
                    && (first[1] - ends[1]).abs() <= coarse
                {
                    rectangle = Some(piece.rectangle);
                }
            }
            let rectangle = if let Some(known) = rectangle {
                if let Some(known) = rectangles.get_mut(known) {
                    known.across = hull(known.across, across);
                }
                known
            } else {
                rectangles.push(this);
                rectangles.len() - 1
            };
            here.push(UncoveredPiece {
                ends,
                patch,
                rectangle,
            });
        }
        before = here;
    }
    let whole = patches.iter().enumerate().filter(|(n, p)| p.part_of == *n);
    let mut found: Vec<Patch> = whole
        .map(|(_, p)| Patch {
            area: p.area,
            frame: way.frame(p.along, p.across),
        })
        .collect();
    found.sort_by(|a, b| b.area.total_cmp(&a.area));
    let fits = rectangles.len() <= MOST_RECTANGLES || coarse > 1e6;
    rectangles.truncate(MOST_RECTANGLES);
    let missed = Uncovered {
        area,
        patches: found,
        rectangles: rectangles
            .iter()
            .map(|r| way.frame(r.along, r.across))
            .collect(),
    };
    (missed, fits)
}

#[cfg(test)]
mod tests {
    use super::{LineDirection, Uncovered};
    use crate::program::coverage::lines::Lines;

    /// A 40 x 20 plate, all covered except a U (two legs that join at the far end) and one separate patch.
    fn lines() -> Lines {
        let mut lines = Lines::over([0.0, 40.0], [0.0, 20.0], 0.1);
        // Pieces so flat that each line is covered as if by a strip from u to v.
        for number in 0..lines.count() {
            let s = lines.at(number);
            let strips: &[[f64; 2]] = match s {
                s if s < 15.0 => &[[0.0, 10.0], [12.0, 20.0], [22.0, 40.0]],
                s if s < 17.0 => &[[0.0, 10.0], [22.0, 30.0], [31.0, 40.0]],
                _ => &[[0.0, 40.0]],
            };
            for [u, v] in strips {
                lines.sweep([*u, s], [*v, s], 1e-9);
            }
        }
        lines
    }

    // Areas by hand: legs 2 x 15 twice, bridge 12 x 2, separate patch 1 x 2.
    #[test]
    fn two_legs_that_join_are_one_patch() {
        let missed = Uncovered::of(&lines(), LineDirection::Rows);
        let found: Vec<(f64, [f64; 2], [f64; 2])> = missed
            .patches
            .iter()
            .map(|p| (p.area, p.frame.low, p.frame.high))
            .collect();
        assert_eq!(found.len(), 2, "{found:?}");
        assert!((found[0].0 - 84.0).abs() < 1e-4, "{found:?}");
        assert!((found[0].1[0] - 10.0).abs() < 1e-6 && (found[0].2[1] - 17.0).abs() < 1e-6);
        assert!((found[1].0 - 2.0).abs() < 1e-4);
        assert!((missed.area - 86.0).abs() < 1e-4);
        assert_eq!(missed.rectangles.len(), 4, "{:?}", missed.rectangles);
        let of_rectangles: f64 = missed.rectangles.iter().map(super::Rect::area).sum();
        assert!((of_rectangles - 86.0).abs() < 1e-3);
    }

    #[test]
    fn columns_give_the_same_rectangle_turned() {
        let missed = Uncovered::of(&lines(), LineDirection::Columns);
        assert!((missed.patches[1].frame.low[1] - 30.0).abs() < 1e-6);
        assert!((missed.patches[1].frame.low[0] - 15.0).abs() < 1e-6);
    }
}
