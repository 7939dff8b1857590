//! Finds the nearest touch to a position; the positions are sorted into squares.

/// Positions sorted into squares of about two each.
pub(super) struct NearestTouch<'a> {
    places: &'a [[f64; 3]],
    low: [f64; 2],
    step: f64,
    size: [usize; 2],
    squares: Vec<Vec<usize>>,
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss
)] // clamped to the squares
impl<'a> NearestTouch<'a> {
    pub(crate) fn new(places: &'a [[f64; 3]]) -> Self {
        let end = |k: usize, from: f64, pick: fn(f64, f64) -> f64| {
            places.iter().map(|p| p[k]).fold(from, pick)
        };
        let low = [0, 1].map(|k| end(k, f64::INFINITY, f64::min));
        let high = [0, 1].map(|k| end(k, f64::NEG_INFINITY, f64::max));
        let wide = [high[0] - low[0], high[1] - low[1]];
        let area = (wide[0] * wide[1]).max(wide[0].max(wide[1]).powi(2) * 1e-4);
        let step = (2.0 * area / places.len().max(1) as f64).sqrt().max(1e-9);
        let size = wide.map(|w| ((w / step) as usize + 1).min(1000));
        let mut near = Self {
            places,
            low,
            step,
            size,
            squares: vec![Vec::new(); size[0] * size[1]],
        };
        for (i, p) in places.iter().enumerate() {
            let [a, b] = near.square([p[0], p[1]]);
            if let Some(square) = near.squares.get_mut(b * near.size[0] + a) {
                square.push(i);
            }
        }
        near
    }

    fn square(&self, at: [f64; 2]) -> [usize; 2] {
        [0, 1]
            .map(|k| (((at[k] - self.low[k]) / self.step).max(0.0) as usize).min(self.size[k] - 1))
    }

    /// The distance to the nearest stored position; infinite where there is none.
    pub(crate) fn distance(&self, at: [f64; 2]) -> f64 {
        let [a, b] = self.square(at);
        let mut best = f64::INFINITY;
        for ring in 0..self.size[0].max(self.size[1]) {
            // Squares one ring further out are at least this far away, wherever in its own square the position is.
            if ring > 0 && ((ring - 1) as f64 * self.step).powi(2) > best {
                break;
            }
            for row in b.saturating_sub(ring)..=(b + ring).min(self.size[1] - 1) {
                let edge = row.abs_diff(b) == ring;
                for column in a.saturating_sub(ring)..=(a + ring).min(self.size[0] - 1) {
                    if !edge && column.abs_diff(a) != ring {
                        continue;
                    }
                    for p in self.squares[row * self.size[0] + column]
                        .iter()
                        .filter_map(|i| self.places.get(*i))
                    {
                        best = least(best, squared(p, at));
                    }
                }
            }
        }
        best.sqrt()
    }

    /// The distances from every grid position of `xs` and `ys`, row by row. A few positions are each compared with a
    /// whole row, which the compiler can do for several grid positions at a time.
    pub(crate) fn over(&self, xs: &[f64], ys: &[f64]) -> Vec<f64> {
        if self.places.len() > FEW {
            let crossings = ys.iter().flat_map(|y| xs.iter().map(move |x| [*x, *y]));
            return crossings.map(|at| self.distance(at)).collect();
        }
        let mut out = vec![f64::INFINITY; xs.len() * ys.len()];
        for (row, y) in out.chunks_mut(xs.len().max(1)).zip(ys) {
            for p in self.places {
                for (best, x) in row.iter_mut().zip(xs) {
                    *best = least(*best, squared(p, [*x, *y]));
                }
            }
            for best in row {
                *best = best.sqrt();
            }
        }
        out
    }
}

/// Up to this number, comparing all positions is faster than sorting them into squares.
const FEW: usize = 64;

fn least(a: f64, b: f64) -> f64 {
    if b < a { b } else { a }
}

fn squared(p: &[f64; 3], at: [f64; 2]) -> f64 {
    let [x, y] = [p[0] - at[0], p[1] - at[1]];
    x * x + y * y
}

#[cfg(test)]
#[allow(clippy::float_cmp)] // the same sums either way
mod tests {
    use super::NearestTouch;
    use proptest::prelude::{prop, proptest};

    proptest! {
        #[test]
        fn the_nearest_is_what_a_look_at_all_finds(
            places in prop::collection::vec((-9.0..9.0_f64, -3.0..3.0_f64), 1..40), x in -20.0..20.0_f64, y in -20.0..20.0_f64,
        ) {
            let places: Vec<[f64; 3]> = places.iter().map(|(x, y)| [*x, *y, 0.0]).collect();
            let all = places.iter().map(|p| (p[0] - x).hypot(p[1] - y)).fold(f64::INFINITY, f64::min);
            let near = NearestTouch::new(&places);
            let found = near.distance([x, y]);
            assert!((found - all).abs() < 1e-12);
            assert_eq!(near.over(&[0.0, x], &[y, 1.0])[1], found);
        }
    }
}
