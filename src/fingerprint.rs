//! Fingerprints: SHA-256 over bytes, or over a list of fields in an unambiguous encoding.
//!
//! Only this file uses the hash crate. It is SHA-256 because anyone can check a text's fingerprint with `sha256sum`.
//! Speed does not matter here.
//!
//! Invariant: a fingerprint has exactly one written form, 64 lower-case hexadecimal digits, so texts can be compared
//! instead of values.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

/// A SHA-256 digest (FIPS 180-4). Written as 64 lower-case hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub struct Fingerprint([u8; 32]);

impl Fingerprint {
    /// All zeros: the digest before the first entry of a chain. No input is known that has this digest.
    pub const NONE: Self = Self([0; 32]);

    /// The fingerprint of `bytes`: what `sha256sum` prints for a file with this content.
    pub fn of(bytes: impl AsRef<[u8]>) -> Self {
        Self(Sha256::digest(bytes.as_ref()).into())
    }

    /// Starts a fingerprint over several fields.
    pub(crate) fn builder() -> Builder {
        Builder(Sha256::new())
    }
}

/// Collects fields into one fingerprint.
///
/// Each field is hashed as its length in bytes (unsigned, 64 bits, most significant byte first) followed by its bytes,
/// so `("ab", "c")` and `("a", "bc")` differ.
#[derive(Clone)]
pub(crate) struct Builder(Sha256);

impl Builder {
    /// Adds one field.
    #[must_use]
    pub(crate) fn field(mut self, bytes: impl AsRef<[u8]>) -> Self {
        let bytes = bytes.as_ref();
        // A `usize` has at most 64 bits on every Rust target, so this loses nothing.
        self.0.update((bytes.len() as u64).to_be_bytes());
        self.0.update(bytes);
        self
    }

    /// The fingerprint of the fields so far.
    pub(crate) fn finish(self) -> Fingerprint {
        Fingerprint(self.0.finalize().into())
    }
}

/// A text that is not a fingerprint.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a fingerprint, which has 64 digits from 0-9 and a-f")]
pub struct NotAFingerprint(String);

impl fmt::Display for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for byte in self.0 {
            write!(f, "{byte:02x}")?;
        }
        Ok(())
    }
}

impl fmt::Debug for Fingerprint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Fingerprint({self})")
    }
}

impl FromStr for Fingerprint {
    type Err = NotAFingerprint;

    fn from_str(text: &str) -> Result<Self, NotAFingerprint> {
        parse(text).ok_or_else(|| NotAFingerprint(text.chars().take(80).collect()))
    }
}

fn parse(text: &str) -> Option<Fingerprint> {
    let (pairs, rest) = text.as_bytes().as_chunks::<2>();
    if pairs.len() != 32 || !rest.is_empty() {
        return None;
    }
    let mut bytes = [0; 32];
    for (byte, [high, low]) in bytes.iter_mut().zip(pairs) {
        *byte = digit(*high)? << 4 | digit(*low)?;
    }
    Some(Fingerprint(bytes))
}

fn digit(character: u8) -> Option<u8> {
    match character {
        b'0'..=b'9' => Some(character - b'0'),
        b'a'..=b'f' => Some(character - b'a' + 10),
        _ => None,
    }
}

impl From<Fingerprint> for String {
    fn from(fingerprint: Fingerprint) -> Self {
        fingerprint.to_string()
    }
}

impl TryFrom<String> for Fingerprint {
    type Error = NotAFingerprint;

    fn try_from(text: String) -> Result<Self, NotAFingerprint> {
        text.parse()
    }
}

#[cfg(test)]
mod tests {
    use super::Fingerprint;

    /// Source: FIPS 180-2 appendix B.1, the one-block message "abc"; the empty message from the NIST example values.
    #[test]
    fn agrees_with_the_published_examples() {
        assert_eq!(
            Fingerprint::of("abc").to_string(),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
        );
        assert_eq!(
            Fingerprint::of("").to_string(),
            "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
        );
    }

    /// Source: Python 3 hashlib,
    /// `sha256(b"".join(len(f).to_bytes(8, "big") + f for f in [b"ab", b"", b"c"])).hexdigest()`.
    #[test]
    fn fields_are_length_prefixed() {
        let fields = Fingerprint::builder().field("ab").field("").field("c");
        assert_eq!(
            fields.finish().to_string(),
            "9c24d27974bb3b173e762a999df89274e93d1e37cba113b996aa47139a011d4a"
        );
    }

    #[test]
    fn moving_a_letter_over_a_border_changes_the_fingerprint() {
        let one = Fingerprint::builder().field("ab").field("c").finish();
        let other = Fingerprint::builder().field("a").field("bc").finish();
        let merged = Fingerprint::builder().field("abc").finish();
        assert_ne!(one, other);
        assert_ne!(one, merged);
    }

    #[test]
    fn reads_back_what_it_writes_and_nothing_else() {
        let written = Fingerprint::of("abc").to_string();
        assert_eq!(written.parse(), Ok(Fingerprint::of("abc")));
        let bad = [
            String::new(),
            written.to_uppercase(),
            written[1..].to_owned(),
            format!("{written}0"),
            format!(" {}", &written[1..]),
            written.replace('f', "g"),
            "é".repeat(32),
        ];
        for text in bad {
            assert!(text.parse::<Fingerprint>().is_err(), "{text:?} was read");
        }
    }

    #[test]
    fn is_a_plain_string_in_json() {
        let json = serde_json::to_string(&Fingerprint::of("abc")).unwrap();
        assert_eq!(json, format!("\"{}\"", Fingerprint::of("abc")));
        assert_eq!(
            serde_json::from_str::<Fingerprint>(&json).unwrap(),
            Fingerprint::of("abc")
        );
        assert!(serde_json::from_str::<Fingerprint>("\"abc\"").is_err());
    }
}
