//! Points as floating-point numbers, in columns that the compiler can process several at a time. They find the reading
//! furthest from a plane, and the readings that are certainly within the zone, so that integers need not check them.

#![allow(clippy::many_single_char_names)] // coordinates

/// Number of readings processed at a time.
const LANES: usize = 8;
/// Number of readings searched for the furthest one once it is known to be among them.
const BLOCK: usize = 256;

/// Points, stored in columns.
pub(super) struct PointColumns {
    x: Vec<f64>,
    y: Vec<f64>,
    z: Vec<f64>,
    /// Largest absolute value in each column.
    most: [f64; 3],
}

/// The plane c + a x + b y.
pub(super) struct Plane {
    c: f64,
    a: f64,
    b: f64,
    /// A reading nearer than this is within half the zone, whatever the rounding.
    pub surely: f64,
}

impl Plane {
    fn off(&self, x: f64, y: f64, z: f64) -> f64 {
        (z - self.c - self.a * x - self.b * y).abs()
    }
}

impl PointColumns {
    /// Coordinates of a fit are below 2^53, so a double represents them exactly.
    #[allow(clippy::cast_precision_loss)]
    pub(crate) fn of(exact: &[[i64; 3]]) -> Self {
        let column = |k: usize| -> Vec<f64> { exact.iter().map(|p| p[k] as f64).collect() };
        let [x, y, z] = [0, 1, 2].map(column);
        let most = [&x, &y, &z].map(|c| largest(c.iter().map(|v| v.abs())));
        Self { x, y, z, most }
    }

    /// A plane and half the width of its zone, each the rounded quotient of two rounded integers.
    pub(crate) fn plane(&self, [c, a, b]: [f64; 3], half: f64) -> Plane {
        // Each quotient has at most three roundings of 2^-53, its product one more, and three differences add one each:
        // at most seven roundings of the sum of the terms. More than four times that is used.
        let [x, y, z] = self.most;
        let terms = z + c.abs() + a.abs() * x + b.abs() * y;
        let surely = half - 16.0 * f64::EPSILON * (terms + half);
        Plane { c, a, b, surely }
    }

    /// The reading furthest from a plane, and its distance.
    pub(crate) fn farthest(&self, plane: &Plane) -> (usize, f64) {
        let blocks = self.x.chunks(BLOCK);
        let blocks = blocks.zip(self.y.chunks(BLOCK)).zip(self.z.chunks(BLOCK));
        let (mut most, mut which) = (-1.0, 0);
        for (i, ((x, y), z)) in blocks.enumerate() {
            let here = farthest_of(x, y, z, plane);
            if here > most {
                (most, which) = (here, i * BLOCK);
            }
        }
        let index = (which..self.x.len()).find(|i| self.off(*i, plane) >= most);
        (index.unwrap_or(which), most)
    }

    /// The readings that are not certainly within the zone.
    pub(crate) fn beyond(&self, plane: &Plane) -> Vec<usize> {
        // The comparison is written so that NaN counts as beyond.
        let within = |i: &usize| self.off(*i, plane) < plane.surely;
        (0..self.x.len()).filter(|i| !within(i)).collect()
    }

    fn off(&self, i: usize, plane: &Plane) -> f64 {
        match (self.x.get(i), self.y.get(i), self.z.get(i)) {
            (Some(x), Some(y), Some(z)) => plane.off(*x, *y, *z),
            _ => 0.0,
        }
    }
}

fn largest(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(0.0, |most, v| if v > most { v } else { most })
}

fn farthest_of(x: &[f64], y: &[f64], z: &[f64], plane: &Plane) -> f64 {
    let mut lanes = [0.0_f64; LANES];
    let parts = [x, y, z].map(|c| c.chunks_exact(LANES));
    let rest = [x, y, z].map(|c| c.chunks_exact(LANES).remainder());
    let [xs, ys, zs] = parts;
    for ((x, y), z) in xs.zip(ys).zip(zs) {
        for (((most, x), y), z) in lanes.iter_mut().zip(x).zip(y).zip(z) {
            let off = plane.off(*x, *y, *z);
            *most = if off > *most { off } else { *most };
        }
    }
    let [xs, ys, zs] = rest;
    let rest = xs
        .iter()
        .zip(ys)
        .zip(zs)
        .map(|((x, y), z)| plane.off(*x, *y, *z));
    largest(lanes.into_iter().chain(rest))
}
