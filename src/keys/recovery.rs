//! A recovery code: random letters that a person writes down, and that open a key instead of a PIN.
//!
//! It has 128 random bits and a checksum of 16 bits, four bits for each letter: 36 letters in nine groups. The checksum
//! shows whether a code was mistyped, so that a mistyped code does not count as a wrong one. It is a cyclic checksum
//! because that finds every mistake within four neighbouring letters, including two swapped ones.

use std::fmt;

use zeroize::Zeroizing;

use super::secret::Secret;

/// Sixteen letters: no vowels, so that they form no words, and none that looks like another letter or a digit in common
/// screen fonts (I and L for 1, O, Q and D for 0, S for 5).
pub const CODE_LETTERS: &str = "BCFGHJKMNPRTVWXZ";

/// The number of random bytes in a code.
const CODE_BYTES: usize = 16;

/// The number of letters in a code, including the checksum.
const LENGTH: usize = (CODE_BYTES + 2) * 2;

/// The number of letters in a group.
const GROUP: usize = 4;
const GROUPS: usize = 3;

/// A recovery code. It is overwritten when dropped, and `Debug` never shows it.
pub struct RecoveryCode(Zeroizing<String>);

/// Why a typed text cannot be any recovery code.
#[derive(Clone, Copy, PartialEq, Eq, Debug, thiserror::Error)]
pub enum Slip {
    /// The number of letters is wrong.
    #[error("a recovery code has {LENGTH} letters, but this has {0}")]
    Count(usize),
    /// The text has a character that is in no code.
    #[error("it has a character that is in no recovery code; the letters are {CODE_LETTERS}")]
    Letter,
    /// The checksum is wrong.
    #[error("a letter in it is wrong, or two are swapped")]
    Checksum,
}

impl RecoveryCode {
    /// Makes a new code. `random` fills a buffer with random bytes.
    ///
    /// # Errors
    /// Those of `random`.
    pub fn make<E>(random: impl FnOnce(&mut [u8]) -> Result<(), E>) -> Result<Self, E> {
        let mut bytes = Zeroizing::new([0; CODE_BYTES]);
        random(bytes.as_mut_slice())?;
        Ok(Self::of(&bytes))
    }

    fn of(random: &[u8; CODE_BYTES]) -> Self {
        let mut bytes = Zeroizing::new(random.to_vec());
        bytes.extend(checksum(random).to_be_bytes());
        let mut letters = Zeroizing::new(String::with_capacity(LENGTH));
        for byte in bytes.iter() {
            letters.extend([byte >> 4, byte & 15].into_iter().filter_map(letter));
        }
        Self(letters)
    }

    /// Reads a typed code: in capitals or not, with or without spaces and hyphens anywhere.
    ///
    /// # Errors
    /// The [`Slip`] that says why the text is no code.
    pub(crate) fn read(typed: &Secret) -> Result<Self, Slip> {
        let mut letters = Zeroizing::new(String::with_capacity(typed.text().len()));
        let ignored = |c: &char| c.is_whitespace() || *c == '-';
        letters.extend(typed.text().chars().filter(|c| !ignored(c)));
        letters.make_ascii_uppercase();
        let count = letters.chars().count();
        if count != LENGTH {
            return Err(Slip::Count(count));
        }
        let halves: Option<Vec<u8>> = letters.chars().map(value).collect();
        let halves = Zeroizing::new(halves.ok_or(Slip::Letter)?);
        let (pairs, _) = halves.as_chunks::<2>();
        let bytes: Vec<u8> = pairs.iter().map(|[high, low]| high << 4 | low).collect();
        let bytes = Zeroizing::new(bytes);
        let (random, check) = bytes.split_at(CODE_BYTES);
        if check == checksum(random).to_be_bytes() {
            Ok(Self(letters))
        } else {
            Err(Slip::Checksum)
        }
    }

    /// The secret that opens the key sealed with this code.
    pub(crate) fn secret(&self) -> Secret {
        Secret::new(self.0.to_string())
    }

    /// The code as it is written down: three lines of three groups of four letters.
    pub fn lines(&self) -> Vec<String> {
        let letters: Vec<char> = self.0.chars().collect();
        let group = |part: &[char]| part.iter().collect::<String>();
        let line = |part: &[char]| part.chunks(GROUP).map(group).collect::<Vec<_>>().join("-");
        letters.chunks(GROUP * GROUPS).map(line).collect()
    }
}

impl fmt::Debug for RecoveryCode {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("RecoveryCode")
    }
}

fn letter(half: u8) -> Option<char> {
    CODE_LETTERS.chars().nth(usize::from(half))
}

fn value(letter: char) -> Option<u8> {
    let at = CODE_LETTERS.chars().position(|l| l == letter)?;
    u8::try_from(at).ok()
}

/// CRC-16/CCITT-FALSE: polynomial 0x1021, initial value 0xFFFF (from memory).
fn checksum(bytes: &[u8]) -> u16 {
    let mut sum = u16::MAX;
    for byte in bytes {
        sum ^= u16::from(*byte) << 8;
        for _ in 0..8 {
            let carry = sum & 0x8000 != 0;
            sum = sum << 1 ^ if carry { 0x1021 } else { 0 };
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::{CODE_LETTERS, GROUP, LENGTH, RecoveryCode, Slip, checksum};
    use crate::keys::Secret;

    fn code() -> RecoveryCode {
        RecoveryCode::of(&std::array::from_fn(|i| {
            u8::try_from(i * 37 % 256).unwrap()
        }))
    }

    fn read(text: &str) -> Result<String, Slip> {
        let read = RecoveryCode::read(&Secret::new(text.to_owned()));
        read.map(|code| code.0.to_string())
    }

    /// Source: the check value for these parameters over the digits 1 to 9 in catalogues of cyclic checksums (from
    /// memory).
    #[test]
    fn the_checksum_is_the_published_one() {
        assert_eq!(checksum(b"123456789"), 0x29B1);
    }

    #[test]
    fn a_code_is_read_in_every_way_of_typing_it() {
        let code = code();
        let letters = code.0.to_string();
        let lines = code.lines();
        assert_eq!(lines.len(), 3);
        let written = lines.join(" ");
        assert_eq!(written.split([' ', '-']).count() * GROUP, LENGTH);
        for typed in [
            letters.clone(),
            written.clone(),
            written.to_lowercase(),
            format!("  {}\t", written.replace('-', "   ")),
            written.replace(' ', "--"),
        ] {
            assert_eq!(read(&typed).as_ref(), Ok(&letters), "{typed}");
        }
        assert!(code.secret() == Secret::new(letters));
    }

    /// The test changes every letter to every other one, swaps all neighbours, and leaves out or doubles every letter.
    #[test]
    fn every_single_typing_mistake_is_recognised() {
        let letters: Vec<char> = code().0.chars().collect();
        let typed = |letters: &[char]| read(&letters.iter().collect::<String>());
        for at in 0..LENGTH {
            for other in CODE_LETTERS.chars().filter(|c| *c != letters[at]) {
                let mut slip = letters.clone();
                slip[at] = other;
                assert_eq!(typed(&slip), Err(Slip::Checksum), "{at} {other}");
            }
            let mut slip = letters.clone();
            slip.remove(at);
            assert_eq!(typed(&slip), Err(Slip::Count(LENGTH - 1)));
            slip.insert(at, '0');
            assert_eq!(typed(&slip), Err(Slip::Letter));
            if at > 0 && letters[at - 1] != letters[at] {
                let mut slip = letters.clone();
                slip.swap(at - 1, at);
                assert_eq!(typed(&slip), Err(Slip::Checksum), "{at}");
            }
        }
        assert_eq!(read(""), Err(Slip::Count(0)));
        assert_eq!(read("é"), Err(Slip::Count(1)));
    }

    #[test]
    fn a_code_is_not_shown_by_debug() {
        assert_eq!(format!("{:?}", code()), "RecoveryCode");
    }
}
