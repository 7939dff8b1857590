//! Twist: the height of one corner above the plane of the other three.
#![allow(clippy::cast_precision_loss)] // a fit rounds at its edge
#![allow(clippy::many_single_char_names)] // coordinates

use super::lsq::{centred, dot, slopes};
use super::zone::Site;

/// z(SW) - z(SE) - z(NW) + z(NE) of four sites.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct Corners {
    /// The sites nearest the corners: front left, front right, back left, back right.
    pub sites: [usize; 4],
    /// The sum, in counts of z.
    pub twist: i128,
    /// Whether all four are exactly at the corners.
    pub exact: bool,
}

/// The twist from the sites nearest the corners of the box between `low` and `high` (x and y of each); `None` where two
/// corners share a site.
///
/// For the four corners of a rectangle, half of its absolute value is the flatness, both by least squares and by
/// minimum zone. Source: derived.
pub(crate) fn corners(sites: &[Site], low: (i64, i64), high: (i64, i64)) -> Option<Corners> {
    let at = [
        (low.0, low.1),
        (high.0, low.1),
        (low.0, high.1),
        (high.0, high.1),
    ];
    let (wide, deep) = (high.0.checked_sub(low.0)?, high.1.checked_sub(low.1)?);
    let mut found = [0; 4];
    let mut exact = true;
    for (slot, corner) in found.iter_mut().zip(at) {
        // Relative to the box, so that a long side does not outweigh a short one.
        let share = |a: i64, b: i64, whole: i64| {
            (i128::from(a) - i128::from(b)) as f64 / (whole as f64).max(1.0)
        };
        let away =
            |s: &Site| share(s.x, corner.0, wide).powi(2) + share(s.y, corner.1, deep).powi(2);
        let near = |a: &(usize, &Site), b: &(usize, &Site)| away(a.1).total_cmp(&away(b.1));
        let (index, site) = sites.iter().enumerate().min_by(near)?;
        *slot = index;
        exact &= (site.x, site.y) == corner;
    }
    let place = |i: usize| sites.get(i).map(|s| (s.x, s.y));
    let shared = (0..4).any(|i| (0..i).any(|k| place(found[i]) == place(found[k])));
    if shared {
        return None;
    }
    let z = |i: usize| sites.get(i).map_or(0, |s| i128::from(s.z));
    let [sw, se, nw, ne] = found.map(z);
    Some(Corners {
        sites: found,
        twist: sw - se - nw + ne,
        exact,
    })
}

/// The twist k Lx Ly of the least-squares surface c + a x + b y + k x y over the box of the sites, in counts of z;
/// `None` where the sites determine no such surface. One low spot can imitate a twist: where the corners were touched,
/// they are more reliable.
pub(crate) fn bilinear(sites: &[Site]) -> Option<f64> {
    let [x, y, z] = centred(sites);
    let product: Vec<f64> = x.iter().zip(&y).map(|(x, y)| x * y).collect();
    let mean = product.iter().sum::<f64>() / product.len().max(1) as f64;
    let product: Vec<f64> = product.iter().map(|w| w - mean).collect();
    let [a, b] = slopes(&x, &y, &product);
    let rest: Vec<f64> = (0..product.len())
        .map(|i| product[i] - a * x[i] - b * y[i])
        .collect();
    let own = dot(&rest, &rest);
    let whole = dot(&product, &product);
    if sites.len() < 4 || own <= whole * 1e-18 {
        return None;
    }
    let wide = |c: &[f64]| {
        let high = c.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        high - c.iter().copied().fold(f64::INFINITY, f64::min)
    };
    Some(dot(&rest, &z) / own * wide(&x) * wide(&y))
}

#[cfg(test)]
mod tests {
    use super::{bilinear, corners};
    use crate::plate::fit::reference::plates;

    // Source: tests/vectors/vectors.json, exact rationals by another program (numpy above 1000 points).
    #[test]
    fn every_reference_plate_has_its_twist() {
        for plate in plates() {
            let box_of = |of: fn(&crate::plate::fit::Site) -> i64| {
                let all = plate.sites.iter().map(of);
                (all.clone().min().unwrap(), all.max().unwrap())
            };
            let ((x0, x1), (y0, y1)) = (box_of(|s| s.x), box_of(|s| s.y));
            let found = corners(&plate.sites, (x0, y0), (x1, y1)).unwrap();
            assert_eq!(
                Some(found.exact),
                plate.entry["twist"]["corners_exact"].as_bool()
            );
            plate.close(found.twist as f64, &plate.entry["twist"]["corners"], 1e-12);
            let fitted = bilinear(&plate.sites).unwrap();
            plate.close(fitted, &plate.entry["twist"]["bilinear_lsq"], 1e-11);
        }
    }

    #[test]
    fn three_places_have_no_fourth_corner() {
        let plate = &plates()[0];
        assert_eq!(corners(&plate.sites[..3], (0, 0), (9, 9)), None);
        assert_eq!(bilinear(&plate.sites[..3]), None);
    }
}
