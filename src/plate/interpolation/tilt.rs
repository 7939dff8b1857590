//! Tilt and twist of the touched positions, continued beyond the outermost of them.

/// z = a x + b y + k (x - cx) (y - cy), up to a constant; in millimetres.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Tilt {
    slope: [f64; 2],
    twist: f64,
    centre: [f64; 2],
}

/// The positions determine the twist if their products vary by at least this fraction of what four corners would give;
/// below it, the fitted twist is mostly error of the touches.
const LEAST_TWIST: f64 = 0.05;

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The residuals of `z` about its least-squares plane over the columns `x` and `y`, all with mean 0, and the two
/// slopes.
fn above_plane(x: &[f64], y: &[f64], z: &[f64]) -> ([f64; 2], Vec<f64>) {
    let (xx, xy, yy) = (dot(x, x), dot(x, y), dot(y, y));
    let (xz, yz) = (dot(x, z), dot(y, z));
    let whole = xx * yy - xy * xy;
    if whole <= 1e-12 * xx * yy {
        return ([0.0; 2], z.to_vec());
    }
    let slope = [(xz * yy - yz * xy) / whole, (yz * xx - xz * xy) / whole];
    let left = (0..z.len()).map(|i| z[i] - slope[0] * x[i] - slope[1] * y[i]);
    (slope, left.collect())
}

impl Tilt {
    /// Least squares through the positions. Source: c + a x + b y + k x y, elementary statistics (from memory).
    pub(crate) fn of(places: &[[f64; 3]]) -> Self {
        #[allow(clippy::cast_precision_loss)]
        let count = places.len().max(1) as f64;
        let column = |k: usize| -> (f64, Vec<f64>) {
            let mean = places.iter().map(|p| p[k]).sum::<f64>() / count;
            (mean, places.iter().map(|p| p[k] - mean).collect())
        };
        let ((cx, x), (cy, y), (_, z)) = (column(0), column(1), column(2));
        let (slope, left) = above_plane(&x, &y, &z);
        let products: Vec<f64> = x.iter().zip(&y).map(|(x, y)| x * y).collect();
        let mean = products.iter().sum::<f64>() / count;
        let products: Vec<f64> = products.iter().map(|p| p - mean).collect();
        let (along, twisted) = above_plane(&x, &y, &products);
        let most = |c: &[f64]| c.iter().map(|v| v * v).fold(0.0, f64::max);
        let varies = dot(&twisted, &twisted);
        if places.len() < 4 || varies <= LEAST_TWIST * count * most(&x) * most(&y) {
            let (twist, centre) = (0.0, [cx, cy]);
            return Self {
                slope,
                twist,
                centre,
            };
        }
        let twist = dot(&twisted, &left) / varies;
        Self {
            slope: [slope[0] - twist * along[0], slope[1] - twist * along[1]],
            twist,
            centre: [cx, cy],
        }
    }

    /// The rise from one position to another, mm.
    pub(crate) fn rise(&self, from: [f64; 2], to: [f64; 2]) -> f64 {
        let of = |[x, y]: [f64; 2]| {
            self.slope[0] * x
                + self.slope[1] * y
                + self.twist * (x - self.centre[0]) * (y - self.centre[1])
        };
        of(to) - of(from)
    }

    /// The largest slope at any corner of a plate.
    pub(crate) fn steepest(&self, low: [f64; 2], high: [f64; 2]) -> f64 {
        let corners = [low[0], high[0]]
            .into_iter()
            .flat_map(|x| [[x, low[1]], [x, high[1]]]);
        let slope = |[x, y]: [f64; 2]| {
            let right = self.slope[0] + self.twist * (y - self.centre[1]);
            right.hypot(self.slope[1] + self.twist * (x - self.centre[0]))
        };
        corners.map(slope).fold(0.0, f64::max)
    }
}

#[cfg(test)]
mod tests {
    use super::Tilt;
    use proptest::prelude::{prop, prop_assert, proptest};

    proptest! {
        // Source: a surface of exactly this form is its own fit; derived.
        #[test]
        fn a_twisted_plane_is_found_again(
            others in prop::collection::vec((-9.0..9.0_f64, -9.0..9.0_f64), 0..20), a in -2.0..2.0_f64, b in -2.0..2.0_f64, k in -0.1..0.1_f64,
        ) {
            let z = |x: f64, y: f64| a * x + b * y + k * x * y + 3.0;
            let mut places = vec![(-10.0, -10.0), (10.0, -10.0), (-10.0, 10.0), (10.0, 10.0)];
            places.extend(others);
            let places: Vec<[f64; 3]> = places.iter().map(|(x, y)| [*x, *y, z(*x, *y)]).collect();
            let tilt = Tilt::of(&places);
            for to in [[14.0, 3.0], [-12.0, -11.0]] {
                let by_hand = z(to[0], to[1]) - z(10.0, 2.0);
                prop_assert!((tilt.rise([10.0, 2.0], to) - by_hand).abs() < 1e-9);
            }
        }
    }

    // Source: slope 3 in 4 and 4 in 4 by hand; a cross of positions has no corner, so it does not determine the twist.
    #[test]
    fn the_steepest_corner_and_no_twist_of_a_cross() {
        let cross = [
            [0.0, 0.0, 0.0],
            [4.0, 0.0, 3.0],
            [-4.0, 0.0, -3.0],
            [0.0, 4.0, 4.0],
            [0.0, -4.0, -4.0],
        ];
        let tilt = Tilt::of(&cross);
        assert!((tilt.steepest([-4.0; 2], [4.0; 2]) - 1.25).abs() < 1e-12);
        assert!((tilt.rise([4.0, 4.0], [5.0, 5.0]) - 1.75).abs() < 1e-12);
    }
}
