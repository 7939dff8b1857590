//! A thin plate bent through the touches: smoother than flat triangles, so it may dip between them. Used only to choose
//! where to touch next, for which it was measured; no statement about the plate depends on it.

/// Above this number of touches the solution takes too long for a suggestion.
const MOST: usize = 300;

/// The bent plate: z = c + a x + b y + sum of w r^2 ln r.
pub(super) struct ThinPlate<'a> {
    places: &'a [[f64; 3]],
    weights: Vec<f64>,
    scale: f64,
}

/// r^2 ln r, from the squared distance.
fn bend(squared: f64) -> f64 {
    if squared > 0.0 {
        0.5 * squared * squared.ln()
    } else {
        0.0
    }
}

impl<'a> ThinPlate<'a> {
    /// Builds the plate through positions of which no two coincide; `None` where the solution is not unique, or where
    /// there are too many positions. Source: thin-plate spline (Duchon, from memory).
    pub(crate) fn through(places: &'a [[f64; 3]]) -> Option<Self> {
        let n = places.len();
        if n > MOST {
            return None;
        }
        let most = places
            .iter()
            .flat_map(|p| [p[0].abs(), p[1].abs()])
            .fold(0.0, f64::max);
        let scale = if most > 0.0 { 1.0 / most } else { 1.0 };
        let basis = |p: &[f64; 3]| [1.0, p[0] * scale, p[1] * scale];
        let mut rows = vec![vec![0.0; n + 4]; n + 3];
        for (i, p) in places.iter().enumerate() {
            for (k, q) in places.iter().enumerate() {
                rows[i][k] =
                    bend(((p[0] - q[0]) * scale).powi(2) + ((p[1] - q[1]) * scale).powi(2));
            }
            for (k, value) in basis(p).into_iter().enumerate() {
                rows[i][n + k] = value;
                rows[n + k][i] = value;
            }
            rows[i][n + 3] = p[2];
        }
        Some(Self {
            places,
            weights: solved(rows)?,
            scale,
        })
    }

    pub(crate) fn at(&self, x: f64, y: f64) -> f64 {
        let n = self.places.len();
        let level = self.weights[n]
            + self.weights[n + 1] * x * self.scale
            + self.weights[n + 2] * y * self.scale;
        let bent = self.places.iter().zip(&self.weights).map(|(p, w)| {
            w * bend(((p[0] - x) * self.scale).powi(2) + ((p[1] - y) * self.scale).powi(2))
        });
        level + bent.sum::<f64>()
    }
}

/// Solves linear equations whose last column is the right side, with row pivoting.
fn solved(mut rows: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let n = rows.len();
    for k in 0..n {
        let best = (k..n).max_by(|a, b| rows[*a][k].abs().total_cmp(&rows[*b][k].abs()))?;
        rows.swap(k, best);
        if rows[k][k].abs() < 1e-12 {
            return None;
        }
        let pivot = rows[k].clone();
        for row in rows.iter_mut().skip(k + 1) {
            let share = row[k] / pivot[k];
            for (value, of) in row.iter_mut().zip(&pivot).skip(k) {
                *value -= share * of;
            }
        }
    }
    let mut found = vec![0.0; n];
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|i| rows[k][i] * found[i]).sum();
        found[k] = (rows[k][n] - known) / rows[k][k];
    }
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::ThinPlate;

    // Source: derived: it passes through every touch, and through a tilted plane without bending.
    #[test]
    fn it_passes_through_the_touches_and_does_not_bend_a_plane() {
        let places = [
            [0.0, 0.0, 1.0],
            [9.0, 1.0, 2.0],
            [3.0, 7.0, -4.0],
            [8.0, 8.0, 0.5],
            [4.0, 3.0, 2.5],
        ];
        let thin = ThinPlate::through(&places).unwrap();
        assert!(
            places
                .iter()
                .all(|p| (thin.at(p[0], p[1]) - p[2]).abs() < 1e-9)
        );
        let plane = places.map(|p| [p[0], p[1], 2.0 * p[0] - p[1] + 3.0]);
        assert!((ThinPlate::through(&plane).unwrap().at(5.0, 2.0) - 11.0).abs() < 1e-9);
        assert!(ThinPlate::through(&[[0.0, 0.0, 1.0], [1.0, 1.0, 1.0], [2.0, 2.0, 2.0]]).is_none());
    }
}
