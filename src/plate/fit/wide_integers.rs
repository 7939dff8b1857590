//! Integer arithmetic beyond the standard types: products of twice the width, and the greatest common divisor.

/// The product of two numbers, as high and low halves, which compare as the product does. A number below zero counts as
/// zero.
pub(super) fn product(a: i128, b: i128) -> (u128, u128) {
    const HALF: u32 = 64;
    const MASK: u128 = u64::MAX as u128;
    let [a, b] = [a, b].map(|n| u128::try_from(n).unwrap_or(0));
    let [(a1, a0), (b1, b0)] = [a, b].map(|n| (n >> HALF, n & MASK));
    let low = a0 * b0;
    let cross = a1 * b0 + (low >> HALF); // below 2^128: (2^64 - 1)^2 + 2^64 - 1
    let more = a0 * b1 + (cross & MASK);
    let high = a1 * b1 + (cross >> HALF) + (more >> HALF);
    (high, (more << HALF) | (low & MASK))
}

/// The greatest common divisor; of zero and a number, the absolute value of that number.
pub(super) fn common(a: i128, b: i128) -> i128 {
    // Lengths fit into half the width, where division is ten times as fast, and most soon have no common divisor left.
    if let (Ok(mut a), Ok(mut b)) = (
        u64::try_from(a.unsigned_abs()),
        u64::try_from(b.unsigned_abs()),
    ) {
        while b != 0 && a != 1 {
            (a, b) = (b, a % b);
        }
        return i128::from(a);
    }
    let (mut a, mut b) = (a.abs(), b.abs());
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

#[cfg(test)]
mod tests {
    use super::{common, product};
    use proptest::prelude::{any, proptest};

    proptest! {
        #[test]
        fn a_product_that_fits_is_that_product(a in any::<u64>(), b in 0_i128..(1 << 62)) {
            let exact = u128::from(a) * u128::try_from(b).unwrap();
            assert_eq!(product(i128::from(a), b), (0, exact));
        }

        #[test]
        fn a_shift_of_one_side_shifts_the_product(a in any::<u64>(), b in any::<u64>()) {
            let exact = u128::from(a) * u128::from(b);
            let shifted = product(i128::from(a) << 62, i128::from(b) << 60);
            assert_eq!(shifted, (exact >> 6, exact << 122));
        }
    }

    #[test]
    fn common_divisors() {
        assert_eq!([common(12, -18), common(0, 5), common(0, 0)], [6, 5, 0]);
        assert_eq!([common(1, 0), common(0, -1), common(7, 3)], [1, 1, 1]);
        let wide = 1 << 80;
        assert_eq!(
            [common(6 * wide, 4), common(6 * wide, 4 * wide)],
            [4, 2 * wide]
        );
    }
}
