//! A PIN or pass phrase as typed.

use std::fmt;

use zeroize::{Zeroize, Zeroizing};

use super::weakness::{self, Weakness};

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

    /// Why it is one of those tried first for somebody of these initials (common practice, no source).
    pub fn weakness(&self, initials: &str) -> Option<Weakness> {
        weakness::of(&self.0, initials)
    }

    /// Whether nothing was typed.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub(super) fn bytes(&self) -> &[u8] {
        self.0.as_bytes()
    }

    pub(super) fn text(&self) -> &str {
        &self.0
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
