//! Weak PINs and pass phrases, which an attacker tries first.

use std::collections::BTreeSet;
use zeroize::Zeroizing;

use super::secret::SHORTEST;

/// Neighbouring keys: rows and columns of keyboards and number pads, the alphabet, the digits.
const ROWS: [&str; 17] = [
    "0123456789",
    "1234567890",
    "abcdefghijklmnopqrstuvwxyz",
    "qwertyuiop",
    "qwertzuiop",
    "azertyuiop",
    "asdfghjkl",
    "qsdfghjklm",
    "zxcvbnm",
    "yxcvbnm",
    "789",
    "741",
    "852",
    "963",
    "1qaz2wsx3edc4rfv5tgb",
    "1qay2wsx3edc4rfv5tgb",
    "159",
];

/// Why a PIN is weak.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub(crate) enum Weakness {
    /// It is the person's initials with too few other characters.
    #[error("it is made of the person's own initials")]
    Initials,
    /// It has only one or two different characters.
    #[error("it has fewer than three different characters")]
    FewCharacters,
    /// It repeats one part.
    #[error("it repeats one part over and over")]
    Repeats,
    /// It has each character twice in a row.
    #[error("it is made of pairs")]
    Pairs,
    /// It is made of neighbours on the keyboard or in the alphabet.
    #[error("it is a run of neighbouring keys, digits or letters")]
    Run,
}

/// Why `secret` is weak for a person with these initials; `None` where no weakness is found.
pub(super) fn of(secret: &str, initials: &str) -> Option<Weakness> {
    let lower = Zeroizing::new(secret.to_lowercase());
    let letters = Zeroizing::new(lower.chars().collect::<Vec<char>>());
    let different: BTreeSet<&char> = letters.iter().collect();
    if is_run(&letters) {
        Some(Weakness::Run)
    } else if repeats(&letters) {
        Some(Weakness::Repeats)
    } else if different.len() < 3 {
        Some(Weakness::FewCharacters)
    } else if pairs(&letters) {
        Some(Weakness::Pairs)
    } else if is_initials(&lower, &initials.to_lowercase()) {
        Some(Weakness::Initials)
    } else {
        None
    }
}

/// Whether the rest without the initials would be too short for a PIN. Most words contain any single letter, so a
/// single letter counts only at the beginning or end.
fn is_initials(secret: &str, initials: &str) -> bool {
    if initials.is_empty() || !secret.contains(initials) {
        return false;
    }
    let rest = Zeroizing::new(if initials.chars().count() == 1 {
        secret
            .trim_matches(|c: char| initials.contains(c))
            .to_owned()
    } else {
        secret.replace(initials, "")
    });
    rest.chars().count() < SHORTEST
}

/// Whether it is a repetition of one part that is at most half of it.
fn repeats(letters: &[char]) -> bool {
    (1..=letters.len() / 2).any(|part| {
        letters
            .iter()
            .zip(letters.iter().skip(part))
            .all(|(a, b)| a == b)
    })
}

fn pairs(letters: &[char]) -> bool {
    letters.len().is_multiple_of(2)
        && letters
            .chunks_exact(2)
            .all(|pair| matches!(pair, [a, b] if a == b))
}

/// Whether it consists of runs of at least three neighbours, such as 654321, qweasd and 123321.
fn is_run(letters: &[char]) -> bool {
    let mut rest = letters;
    while !rest.is_empty() {
        let longest = (3..=rest.len())
            .rev()
            .find(|length| rest.get(..*length).is_some_and(in_a_row));
        match longest.and_then(|length| rest.get(length..)) {
            Some(after) => rest = after,
            None => return false,
        }
    }
    true
}

fn in_a_row(part: &[char]) -> bool {
    let forward: Zeroizing<String> = Zeroizing::new(part.iter().collect());
    let back: Zeroizing<String> = Zeroizing::new(part.iter().rev().collect());
    ROWS.iter()
        .any(|row| row.contains(forward.as_str()) || row.contains(back.as_str()))
}

#[cfg(test)]
mod tests {
    use super::{Weakness, of};

    #[test]
    fn weak_secrets_are_refused_with_a_reason() {
        for (weak, why) in [
            ("111111", Weakness::Repeats),
            ("aaaaaa", Weakness::Repeats),
            ("121212", Weakness::Repeats),
            ("482482", Weakness::Repeats),
            ("4824824", Weakness::Repeats),
            ("passpass", Weakness::Repeats),
            ("111112", Weakness::FewCharacters),
            ("112233", Weakness::Pairs),
            ("774411", Weakness::Pairs),
            ("123456", Weakness::Run),
            ("567890", Weakness::Run),
            ("987654", Weakness::Run),
            ("123321", Weakness::Run),
            ("abcdef", Weakness::Run),
            ("qwerty", Weakness::Run),
            ("QWERTZ", Weakness::Run),
            ("poiuyt", Weakness::Run),
            ("qweasd", Weakness::Run),
            ("147258", Weakness::Run),
            ("741852", Weakness::Run),
            ("1qaz2wsx", Weakness::Run),
            ("ababab", Weakness::Repeats),
            ("AB4821", Weakness::Initials),
            ("12ab34", Weakness::Initials),
        ] {
            assert_eq!(of(weak, "AB"), Some(why), "{weak}");
        }
        assert_eq!(of("qzqz12", "QZ"), Some(Weakness::Initials));
        assert_eq!(of("a4821b", "A"), Some(Weakness::Initials));
    }

    #[test]
    fn other_secrets_are_accepted() {
        for other in [
            "730154",
            "482913",
            "135790",
            "918273",
            "correct horse",
            "a longer phrase of AB",
            "AB rides 482913",
        ] {
            assert_eq!(of(other, "AB"), None, "{other}");
        }
    }
}
