//! The uncertainty of the height of one touch.

use super::rounding::{float, rounded};
use crate::quantity::{Dimension, Quantity, QuantityError};

/// The parts of the uncertainty of a touch; each is a length.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct UncertaintyParts {
    /// The last jog step: contact is anywhere within it.
    pub step: Quantity,
    /// Half the range within which the mark becomes visible.
    pub seeing: Quantity,
    /// Standard deviation of the axis when it returns to a position.
    pub axis: Quantity,
    /// Standard deviation of the spindle's growth between touches.
    pub growth: Quantity,
}

/// The standard uncertainty of one touch, and twice that.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TouchUncertainty {
    /// One standard uncertainty.
    pub standard: Quantity,
    /// Twice the standard uncertainty: the touch is within this of its height about 19 times in 20.
    pub expanded: Quantity,
}

impl UncertaintyParts {
    /// u = root(step^2 / 12 + seeing^2 / 3 + axis^2 + growth^2), and 2 u.
    ///
    /// Source: a rectangular distribution of width q has u = q / root 12, one of half-width a has a / root 3, and the
    /// squares of independent uncertainties add up (JCGM 100:2008, from memory).
    ///
    /// # Errors
    /// [`QuantityError`] for other kinds than lengths.
    pub fn uncertainty(&self) -> Result<TouchUncertainty, QuantityError> {
        let Self {
            step,
            seeing,
            axis,
            growth,
        } = *self;
        step.plus(seeing)?.plus(axis)?.plus(growth)?;
        let squares = float(step).powi(2) / 12.0
            + float(seeing).powi(2) / 3.0
            + float(axis).powi(2)
            + float(growth).powi(2);
        let standard = rounded(squares.sqrt(), Dimension::LENGTH)?;
        let expanded = standard.times(Quantity::whole(2))?;
        Ok(TouchUncertainty { standard, expanded })
    }
}

#[cfg(test)]
mod tests {
    use super::UncertaintyParts;
    use crate::quantity::{Dimension, Exact, Quantity};

    // Derived: a step alone gives q / root 12.
    #[test]
    fn a_jog_step_alone_gives_the_uncertainty_of_a_rectangular_distribution() {
        let mm = |n| Quantity {
            amount: Exact::fraction(n, 1000).unwrap(),
            dimension: Dimension::LENGTH,
        };
        let parts = UncertaintyParts {
            step: mm(20),
            seeing: mm(0),
            axis: mm(0),
            growth: mm(0),
        };
        let u = parts.uncertainty().unwrap().standard.amount.to_f64();
        assert!((u - 0.02 / 12_f64.sqrt()).abs() < 1e-15);
        let wrong = UncertaintyParts {
            axis: Quantity::whole(1),
            ..parts
        };
        assert!(wrong.uncertainty().is_err());
    }
}
