//! The real thickness of a chip: away from the middle of the cutter, and under a rounded corner.

use super::rounding::{float, root, rounded};
use crate::quantity::{Dimension, Quantity, QuantityError};

/// Largest chip thickness as a fraction of the feed per tooth, for a cutter of `diameter` engaged over `width` at one
/// side: 2 root(k (1 - k)) with k = width / diameter below one half, else 1.
///
/// Source: chord geometry, derived; El-Hofy, Fundamentals of Machining Processes, 2nd ed. 2013, p. 174, gives the
/// approximation 2 root(k), which is 5 % high at a tenth and 29 % high at four tenths and is not used.
///
/// # Errors
/// [`QuantityError`] for other kinds than lengths or a diameter of zero.
pub fn beside_the_middle(width: Quantity, diameter: Quantity) -> Result<Quantity, QuantityError> {
    let k = width.over(diameter)?;
    if float(k) >= 0.5 {
        return Ok(Quantity::whole(1));
    }
    let rest = Quantity::whole(1).minus(k)?;
    rounded(2.0 * root(k.times(rest)?), Dimension::RATIO)
}

/// Chip thickness as a fraction of the feed per tooth, for a `bite` smaller than the corner radius `corner`: root(1 -
/// (1 - bite / corner)^2), else 1. A chamfered or sharp corner does not thin the chip in this way.
///
/// Source: geometry of the arc, derived.
///
/// # Errors
/// [`QuantityError`] for other kinds than lengths.
pub(crate) fn under_the_corner(
    bite: Quantity,
    corner: Quantity,
) -> Result<Quantity, QuantityError> {
    if bite.compare(corner)?.is_ge() {
        return Ok(Quantity::whole(1));
    }
    let above = Quantity::whole(1).minus(bite.over(corner)?)?;
    rounded(
        root(Quantity::whole(1).minus(above.times(above)?)?),
        Dimension::RATIO,
    )
}

#[cfg(test)]
mod tests {
    use super::{beside_the_middle, under_the_corner};
    use crate::quantity::{Dimension, Exact, Quantity};

    fn mm(n: i128, d: i128) -> Quantity {
        Quantity {
            amount: Exact::fraction(n, d).unwrap(),
            dimension: Dimension::LENGTH,
        }
    }

    // Computed from the formula: k .05 0.436, .20 0.800, .30 0.917, .50 1.000.
    #[test]
    fn thickest_chip_over_the_width() {
        for (k, share) in [(5, 0.436), (20, 0.8), (30, 0.917), (50, 1.0)] {
            let found = beside_the_middle(mm(k, 10), mm(10, 1))
                .unwrap()
                .amount
                .to_f64();
            assert!((found - share).abs() < 5e-4, "{k}: {found}");
        }
        assert!(beside_the_middle(mm(1, 1), mm(0, 1)).is_err());
    }

    // Computed from the formula: r .015, bite .005 gives 0.745; bite .002 gives 0.499.
    #[test]
    fn a_worn_corner_thins_a_skim() {
        for (bite, share) in [(5, 0.745), (2, 0.499), (15, 1.0), (40, 1.0)] {
            let found = under_the_corner(mm(bite, 1000), mm(15, 1000)).unwrap();
            assert!((found.amount.to_f64() - share).abs() < 5e-4, "{bite}");
        }
        assert_eq!(under_the_corner(mm(1, 1), mm(0, 1)), Ok(Quantity::whole(1)));
    }
}
