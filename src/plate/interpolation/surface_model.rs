//! A surface through positions: bilinear over a full grid, flat triangles otherwise. Beyond its outline the tilt is
//! continued: a surface that stays level there is too high on the low side of every tilted plate.

#![allow(clippy::many_single_char_names)] // coordinates

use super::mesh::{Mesh, joined};
use super::tilt::Tilt;

/// The surface. Positions and heights in mm.
#[derive(Clone, Debug)]
pub(super) enum SurfaceModel {
    Grid {
        xs: Vec<f64>,
        ys: Vec<f64>,
        z: Vec<f64>,
    },
    Flat {
        places: Vec<[f64; 3]>,
        mesh: Mesh,
    },
}

fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values.dedup();
    values
}

/// The interval of grid lines that contains `v`, and the fraction of it at `v`; clamped to the grid.
fn stretch(lines: &[f64], v: f64) -> (usize, f64) {
    let after = lines.partition_point(|l| *l <= v).clamp(1, lines.len() - 1);
    let (a, b) = (lines[after - 1], lines[after]);
    (after - 1, ((v - a) / (b - a)).clamp(0.0, 1.0))
}

/// The value itself, or the outermost grid line if it is beyond that.
fn onto(lines: &[f64], v: f64) -> f64 {
    let (first, last) = (lines.first(), lines.last());
    v.max(first.copied().unwrap_or(v))
        .min(last.copied().unwrap_or(v))
}

impl SurfaceModel {
    /// Builds the surface through positions of which no two coincide; `None` where they are on one line.
    pub(crate) fn of(places: &[[f64; 3]]) -> Option<Self> {
        let (xs, ys) = (
            sorted(places.iter().map(|p| p[0])),
            sorted(places.iter().map(|p| p[1])),
        );
        if xs.len() < 2 || ys.len() < 2 {
            return None;
        }
        if xs.len() * ys.len() == places.len() {
            let mut z = vec![f64::NAN; places.len()];
            for p in places {
                let column = xs.partition_point(|x| *x < p[0]);
                let row = ys.partition_point(|y| *y < p[1]);
                z[row * xs.len() + column] = p[2];
            }
            if z.iter().all(|z| !z.is_nan()) {
                return Some(Self::Grid { xs, ys, z });
            }
        }
        let mesh = joined(places)?;
        Some(Self::Flat {
            places: places.to_vec(),
            mesh,
        })
    }

    /// The height at every grid position of `xs` and `ys`, row by row; beyond the outline it continues along `tilt`.
    pub(crate) fn over(&self, xs: &[f64], ys: &[f64], tilt: &Tilt) -> Vec<f64> {
        match self {
            Self::Grid {
                xs: lines,
                ys: rows,
                z,
            } => {
                let columns: Vec<(usize, f64)> = xs.iter().map(|x| stretch(lines, *x)).collect();
                let wide = lines.len();
                let mut out = Vec::with_capacity(xs.len() * ys.len());
                for y in ys {
                    let (row, t) = stretch(rows, *y);
                    let rim_y = onto(rows, *y);
                    for ((column, s), x) in columns.iter().zip(xs) {
                        let at = |r: usize, c: usize| z[(row + r) * wide + column + c];
                        let front = at(0, 0) + s * (at(0, 1) - at(0, 0));
                        let back = at(1, 0) + s * (at(1, 1) - at(1, 0));
                        let rim = [onto(lines, *x), rim_y];
                        out.push(front + t * (back - front) + tilt.rise(rim, [*x, *y]));
                    }
                }
                out
            }
            Self::Flat { places, mesh } => {
                let mut out = vec![f64::NAN; xs.len() * ys.len()];
                for t in &mesh.triangles {
                    fill(&t.map(|i| places[i]), xs, ys, &mut out);
                }
                let edges = Edge::all(places, &mesh.rim);
                for (row, y) in out.chunks_mut(xs.len().max(1)).zip(ys) {
                    for (cell, x) in row.iter_mut().zip(xs) {
                        if cell.is_nan() {
                            let (z, nearest, _) = rim(&edges, [*x, *y]);
                            *cell = z + tilt.rise(nearest, [*x, *y]);
                        }
                    }
                }
                out
            }
        }
    }

    /// The height at a position that the touches surround; `None` beyond them.
    pub(crate) fn within(&self, x: f64, y: f64) -> Option<f64> {
        let inside = |lines: &[f64], v: f64| lines.first() <= Some(&v) && Some(&v) <= lines.last();
        match self {
            Self::Grid { xs, ys, .. } => {
                let one = || self.over(&[x], &[y], &Tilt::default()).first().copied();
                (inside(xs, x) && inside(ys, y)).then(one)?
            }
            Self::Flat { places, mesh } => {
                let mut out = [f64::NAN];
                for t in &mesh.triangles {
                    fill(&t.map(|i| places[i]), &[x], &[y], &mut out);
                    if !out[0].is_nan() {
                        return Some(out[0]);
                    }
                }
                // Rounding can put a position on the outline just outside every triangle.
                let (z, _, away) = rim(&Edge::all(places, &mesh.rim), [x, y]);
                (away < 1e-14).then_some(z)
            }
        }
    }
}

/// Fills in every grid position inside one triangle, part of a row at a time.
fn fill(t: &[[f64; 3]; 3], xs: &[f64], ys: &[f64], out: &mut [f64]) {
    // A grid position on an edge belongs to either triangle; rounding must not leave it to neither.
    const OVER: f64 = 1e-12;
    let [a, b, c] = t;
    let (low, high) = (a[1].min(b[1]).min(c[1]), a[1].max(b[1]).max(c[1]));
    let [b, c] = [b, c].map(|p| [p[0] - a[0], p[1] - a[1], p[2] - a[2]]);
    let whole = b[0] * c[1] - c[0] * b[1];
    if whole == 0.0 {
        return;
    }
    // Barycentric coordinates v of b and w of c at (dx, dy) from a, each linear in dx along a row.
    let (along_v, along_w) = (c[1] / whole, -b[1] / whole);
    let first = ys.partition_point(|y| *y < low);
    let rows = ys
        .iter()
        .enumerate()
        .skip(first)
        .take_while(|(_, y)| **y <= high);
    for (row, y) in rows {
        let dy = y - a[1];
        let (v, w) = (-c[0] * dy / whole, b[0] * dy / whole);
        let mut span = [f64::NEG_INFINITY, f64::INFINITY];
        // None of v, w and 1 - v - w is below zero.
        for (at, slope) in [
            (v, along_v),
            (w, along_w),
            (1.0 - v - w, -along_v - along_w),
        ] {
            let at = at + OVER;
            if slope > 0.0 {
                span[0] = span[0].max(-at / slope);
            } else if slope < 0.0 {
                span[1] = span[1].min(-at / slope);
            } else if at < 0.0 {
                span[1] = f64::NEG_INFINITY;
            }
        }
        let first = xs.partition_point(|x| x - a[0] < span[0]);
        let last = xs.partition_point(|x| x - a[0] <= span[1]);
        let start = row * xs.len();
        let (rise, here) = (along_v * b[2] + along_w * c[2], a[2] + v * b[2] + w * c[2]);
        let cells = out.get_mut(start + first..start + last.max(first));
        for (cell, x) in cells.into_iter().flatten().zip(&xs[first..]) {
            *cell = here + rise * (x - a[0]);
        }
    }
}

/// An edge of the outline, from its first end.
struct Edge {
    from: [f64; 3],
    to: [f64; 3],
    /// One divided by the length squared.
    short: f64,
}

impl Edge {
    fn all(places: &[[f64; 3]], rim: &[usize]) -> Vec<Self> {
        let ends = rim.iter().zip(rim.iter().cycle().skip(1));
        ends.map(|(i, k)| {
            let (from, end) = (places[*i], places[*k]);
            let to = [end[0] - from[0], end[1] - from[1], end[2] - from[2]];
            let long = (to[0] * to[0] + to[1] * to[1]).max(f64::MIN_POSITIVE);
            Self {
                from,
                to,
                short: 1.0 / long,
            }
        })
        .collect()
    }
}

/// The height of the nearest point on the outline, that point, and the square of its distance.
fn rim(edges: &[Edge], at: [f64; 2]) -> (f64, [f64; 2], f64) {
    let mut best = (f64::NAN, at, f64::INFINITY);
    for Edge { from, to, short } in edges {
        let [x, y] = [at[0] - from[0], at[1] - from[1]];
        let t = ((x * to[0] + y * to[1]) * short).clamp(0.0, 1.0);
        let [x, y] = [t * to[0] - x, t * to[1] - y];
        let away = x * x + y * y;
        if away < best.2 {
            let place = [from[0] + t * to[0], from[1] + t * to[1]];
            best = (from[2] + t * to[2], place, away);
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::{SurfaceModel, Tilt};
    use proptest::prelude::{prop, proptest};

    proptest! {
        // Source: a tilted plane is its own surface, by grid and by triangles alike; derived.
        #[test]
        fn a_tilted_plane_is_found_again(
            places in prop::collection::vec((0_i32..20, 0_i32..20), 6..30), a in -3_i32..3, b in -3_i32..3,
        ) {
            let z = |x: f64, y: f64| f64::from(a) * x + f64::from(b) * y;
            let mut places = places;
            places.extend([(1, 1), (19, 1), (1, 19), (19, 19)]);
            places.sort_unstable();
            places.dedup();
            let places: Vec<[f64; 3]> = places.iter().map(|(x, y)| (f64::from(*x), f64::from(*y))).map(|(x, y)| [x, y, z(x, y)]).collect();
            let shape = SurfaceModel::of(&places).unwrap();
            let lines: Vec<f64> = (0..=40).map(|i| f64::from(i) / 2.0).collect();
            let tilt = Tilt::of(&places);
            for (i, found) in shape.over(&lines, &lines, &tilt).iter().enumerate() {
                let (x, y) = (lines[i % 41], lines[i / 41]);
                assert!((found - z(x, y)).abs() < 1e-9, "{x} {y} {found}");
                if let Some(found) = shape.within(x, y) {
                    assert!((found - z(x, y)).abs() < 1e-9);
                }
            }
        }
    }

    // Source: by hand, a slope of 0.25 to the right and 1 to the back.
    #[test]
    fn the_tilt_continues_beyond_the_touches_and_a_line_has_no_surface() {
        let three = [[0.0, 0.0, 1.0], [4.0, 0.0, 2.0], [0.0, 4.0, 5.0]];
        let shape = SurfaceModel::of(&three).unwrap();
        let found = shape.over(&[-3.0, 2.0], &[-1.0], &Tilt::of(&three));
        assert!((found[0] + 0.75).abs() < 1e-12 && (found[1] - 0.5).abs() < 1e-12);
        assert_eq!(shape.within(-3.0, -1.0), None);
        assert!(SurfaceModel::of(&[[0.0, 0.0, 1.0], [1.0, 1.0, 2.0], [2.0, 2.0, 5.0]]).is_none());
    }
}
