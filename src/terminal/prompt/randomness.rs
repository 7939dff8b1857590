//! Chance: codes that cannot be typed ahead, and orders that cannot be learnt by heart.
//!
//! The only place that takes random bytes from the system. The functions are handed their source, so that tests can hand
//! in a known one.

use super::ask::PromptError;
use crate::keys::CODE_LETTERS;

/// Letters in a code: 65 536 codes, enough against typing ahead, which is all it is for.
pub(crate) const CODE_LENGTH: usize = 4;

/// Fills a buffer from the system.
pub(crate) fn system(buffer: &mut [u8]) -> Result<(), PromptError> {
    getrandom::fill(buffer).map_err(|error| PromptError::Chance {
        reason: error.to_string(),
    })
}

/// A code.
pub(crate) fn code(
    mut source: impl FnMut(&mut [u8]) -> Result<(), PromptError>,
) -> Result<String, PromptError> {
    let mut bytes = [0_u8; CODE_LENGTH];
    source(&mut bytes)?;
    // Sixteen divides 256, so taking the remainder favours no letter.
    Ok(bytes
        .iter()
        .filter_map(|byte| CODE_LETTERS.chars().nth(usize::from(byte % 16)))
        .collect())
}

/// A permutation of 0 to n - 1, every one as likely (Fisher and Yates; Knuth, The Art of Computer Programming 2, 3.4.2
/// algorithm P; from memory).
pub(crate) fn order(
    n: usize,
    mut source: impl FnMut(&mut [u8]) -> Result<(), PromptError>,
) -> Result<Vec<usize>, PromptError> {
    let mut order: Vec<usize> = (0..n).collect();
    for last in (1..n).rev() {
        order.swap(last, below(last + 1, &mut source)?);
    }
    Ok(order)
}

/// A number below `bound`, which is at least 1. Draws from the uneven end of the range are thrown away.
fn below(
    bound: usize,
    source: &mut impl FnMut(&mut [u8]) -> Result<(), PromptError>,
) -> Result<usize, PromptError> {
    let bound = bound as u64;
    let even = u64::MAX - u64::MAX % bound;
    loop {
        let mut bytes = [0_u8; 8];
        source(&mut bytes)?;
        let drawn = u64::from_le_bytes(bytes);
        if drawn < even {
            // Smaller than `bound`, which came from a usize.
            return Ok(usize::try_from(drawn % bound).unwrap_or(0));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{CODE_LENGTH, code, order, system};
    use crate::keys::CODE_LETTERS;
    use std::collections::BTreeSet;

    #[test]
    fn letters_are_sixteen_without_vowels_or_look_alikes() {
        let letters: BTreeSet<char> = CODE_LETTERS.chars().collect();
        assert_eq!(letters.len(), 16);
        assert!(
            "AEIOUYLQDS0123456789"
                .chars()
                .all(|c| !letters.contains(&c))
        );
    }

    #[test]
    fn codes_are_four_of_these_letters_and_differ() {
        let codes: BTreeSet<String> = (0..64).map(|_| code(system).unwrap()).collect();
        for code in &codes {
            assert_eq!(code.len(), CODE_LENGTH);
            assert!(code.chars().all(|c| CODE_LETTERS.contains(c)));
        }
        // 64 draws out of 65 536: three or more repeats come up less than once in 100 000 runs.
        assert!(codes.len() >= 62);
    }

    #[test]
    fn every_order_of_three_comes_up_about_as_often() {
        let mut counts = std::collections::BTreeMap::new();
        for _ in 0..6000 {
            *counts.entry(order(3, system).unwrap()).or_insert(0) += 1;
        }
        assert_eq!(counts.len(), 6);
        // 1000 expected, standard deviation 29: seven of them is never seen.
        assert!(
            counts.values().all(|&n| (800..1200).contains(&n)),
            "{counts:?}"
        );
    }

    #[test]
    fn none_and_one_have_only_one_order() {
        assert!(order(0, system).unwrap().is_empty());
        assert_eq!(order(1, system).unwrap(), [0]);
    }

    #[test]
    fn draws_from_the_uneven_end_are_thrown_away() {
        let mut draws = vec![0_u64, 2, u64::MAX];
        let source = |buffer: &mut [u8]| {
            buffer.copy_from_slice(&draws.pop().unwrap().to_le_bytes());
            Ok(())
        };
        // MAX is not below the largest multiple of three; then 2 of 3 stays put, then 0 of 2 swaps the first two.
        assert_eq!(order(3, source).unwrap(), [1, 0, 2]);
    }
}
