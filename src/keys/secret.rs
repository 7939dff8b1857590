//! A PIN or pass phrase as typed.

use std::fmt;

use zeroize::{Zeroize, Zeroizing};

use super::weakness::{self, Weakness};

/// The fewest characters of a PIN or pass phrase. Six digits protect against guessing at the prompt, where wrong ones
/// cost time. Fewer would not protect against a colleague who saw half of them.
pub const SHORTEST: usize = 6;

/// A typed secret. It is overwritten when dropped and never written out.
#[derive(Clone, Default, PartialEq, Eq)]
pub struct Secret(Zeroizing<String>);

impl Secret {
    /// Makes a secret of the text.
    pub fn new(text: String) -> Self {
        Self(Zeroizing::new(text))
    }

    /// Whether it is long enough for a new PIN or pass phrase.
    pub(crate) fn is_long_enough(&self) -> bool {
        self.0.chars().count() >= SHORTEST
    }

    /// Why an attacker would try it first for a person with these initials; `None` if no reason is found (common
    /// practice, no source).
    pub(crate) fn weakness(&self, initials: &str) -> Option<Weakness> {
        weakness::of(&self.0, initials)
    }

    /// Whether nothing was typed.
    pub(crate) fn is_empty(&self) -> bool {
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
