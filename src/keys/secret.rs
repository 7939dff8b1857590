//! A PIN or pass phrase as typed.

use std::fmt;

use zeroize::{Zeroize, Zeroizing};

/// The fewest characters of a PIN or pass phrase. Six digits hold off somebody at the prompt, where wrong ones cost time;
/// fewer would not hold off a colleague who watched half of it.
pub const SHORTEST: usize = 6;

/// What was typed and must not be seen: overwritten when dropped, never written out.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Secret(Zeroizing<String>);

impl Secret {
    /// Takes the text over.
    pub fn new(text: String) -> Self {
        Self(Zeroizing::new(text))
    }

    /// Whether it has the length that a new one must have.
    pub fn is_long_enough(&self) -> bool {
        self.0.chars().count() >= SHORTEST
    }

    /// Whether it is one of those tried first: one character over and over, or neighbours in a row up or down, such as
    /// 111111 and 654321 (common practice, no source).
    pub fn is_too_simple(&self) -> bool {
        let neighbours = |step: i16| {
            let mut pairs = self.bytes().iter().zip(self.bytes().iter().skip(1));
            pairs.all(|(a, b)| i16::from(*b) - i16::from(*a) == step)
        };
        [-1, 0, 1].into_iter().any(neighbours)
    }

    /// Whether nothing was typed.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub(super) fn bytes(&self) -> &[u8] {
        self.0.as_bytes()
    }
}

/// Overwrites bytes that may have held a secret.
pub fn wipe(bytes: &mut [u8]) {
    bytes.zeroize();
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret")
    }
}

#[cfg(test)]
mod tests {
    use super::Secret;

    #[test]
    fn what_is_tried_first_is_too_simple() {
        for simple in ["111111", "123456", "987654", "aaaaaa", "abcdef"] {
            assert!(Secret::new(simple.to_owned()).is_too_simple(), "{simple}");
        }
        for other in ["111112", "135790", "730154", "correct horse"] {
            assert!(!Secret::new(other.to_owned()).is_too_simple(), "{other}");
        }
    }
}
