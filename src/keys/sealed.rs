//! The sealed key: its form on disk, and opening it with the PIN.

use argon2::{Algorithm, Argon2, Params, Version};
use chacha20poly1305::aead::{Aead, KeyInit, Payload};
use chacha20poly1305::{XChaCha20Poly1305, XNonce};
use serde::{Deserialize, Serialize};
use zeroize::Zeroizing;

use super::hex;
use super::secret::Secret;
use super::signing::Key;

/// The number of random bytes for a new key: seed, salt and nonce.
const RANDOM: usize = 32 + 16 + 24;

/// The parameters of argon2id for one PIN. They are stored with each key, so that later keys may need more work.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Work {
    /// Memory in KiB.
    pub memory_kib: u32,
    /// The number of passes over the memory.
    pub passes: u32,
    /// The number of lanes.
    pub lanes: u32,
}

impl Work {
    /// The second recommended choice of RFC 9106 section 4, 64 MiB and 3 passes, but with one lane because the program
    /// computes one at a time. This is more than OWASP's Password Storage Cheat Sheet requires of argon2id (19 MiB, 2
    /// passes, 1 lane).
    pub(crate) const NOW: Self = Self {
        memory_kib: 64 * 1024,
        passes: 3,
        lanes: 1,
    };
    /// The smallest parameters that are accepted for a key.
    const LEAST: Self = Self {
        memory_kib: 19 * 1024,
        passes: 2,
        lanes: 1,
    };
    /// The largest accepted parameters, so that a tampered file cannot make the program use all memory.
    const MOST: Self = Self {
        memory_kib: 1024 * 1024,
        passes: 16,
        lanes: 4,
    };

    fn is_sound(self) -> bool {
        (Self::LEAST.memory_kib..=Self::MOST.memory_kib).contains(&self.memory_kib)
            && (Self::LEAST.passes..=Self::MOST.passes).contains(&self.passes)
            && (Self::LEAST.lanes..=Self::MOST.lanes).contains(&self.lanes)
    }
}

/// A key sealed with a PIN. All bytes in hexadecimal digits.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Sealed {
    /// The version of the format, always 1.
    pub format: u32,
    /// The initials of the key's owner.
    pub initials: String,
    /// The public half of the key.
    pub public: String,
    /// The argon2id parameters that turn the PIN into the sealing key.
    pub argon2id: Work,
    /// The salt for argon2id, 16 bytes.
    pub salt: String,
    /// The nonce for XChaCha20-Poly1305, 24 bytes.
    pub nonce: String,
    /// The sealed seed: 32 bytes and a tag of 16 bytes.
    pub sealed: String,
}

/// Why a key cannot be opened or made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum KeyError {
    /// The PIN is wrong or the file was changed. The two cannot be distinguished.
    #[error("wrong PIN or pass phrase")]
    Wrong,
    /// The file is not a sealed key that this program can open.
    #[error("the key's file is damaged or from another version; an owner can issue a new key")]
    Unusable,
    /// The caller passed too few random bytes.
    #[error("there are not enough random bytes to make a key")]
    Random,
}

impl Sealed {
    /// Makes a key for `initials`, sealed with `pin`. `random` fills a buffer with random bytes.
    ///
    /// # Errors
    /// Those of `random`, and [`KeyError`] turned into its error.
    pub fn make<E: From<KeyError>>(
        initials: &str,
        pin: &Secret,
        work: Work,
        random: impl FnOnce(&mut [u8]) -> Result<(), E>,
    ) -> Result<(Self, Key), E> {
        let mut bytes = Zeroizing::new([0_u8; RANDOM]);
        random(bytes.as_mut_slice())?;
        let (seed, rest) = bytes.split_first_chunk::<32>().ok_or(KeyError::Random)?;
        let (salt, nonce) = rest.split_first_chunk::<16>().ok_or(KeyError::Random)?;
        let key = Key::from_seed(seed);
        let mut sealed = Self {
            format: 1,
            initials: initials.to_owned(),
            public: key.public(),
            argon2id: work,
            salt: hex::write(salt),
            nonce: hex::write(nonce),
            sealed: String::new(),
        };
        let bound = sealed.bound();
        let payload = Payload {
            msg: seed,
            aad: bound.as_bytes(),
        };
        let cipher = sealed.cipher(pin)?;
        let text = cipher
            .encrypt(XNonce::from_slice(nonce), payload)
            .map_err(|_| KeyError::Unusable)?;
        sealed.sealed = hex::write(&text);
        Ok((sealed, key))
    }

    /// Opens the key.
    ///
    /// # Errors
    /// [`KeyError::Wrong`] for another PIN, [`KeyError::Unusable`] for a file that is no sealed key.
    pub fn open(&self, pin: &Secret) -> Result<Key, KeyError> {
        let nonce: [u8; 24] = hex::read(&self.nonce).ok_or(KeyError::Unusable)?;
        let text = hex::bytes(&self.sealed).ok_or(KeyError::Unusable)?;
        let bound = self.bound();
        let payload = Payload {
            msg: &text,
            aad: bound.as_bytes(),
        };
        let seed = self
            .cipher(pin)?
            .decrypt(XNonce::from_slice(&nonce), payload)
            .map(Zeroizing::new)
            .map_err(|_| KeyError::Wrong)?;
        let seed = seed.first_chunk::<32>().ok_or(KeyError::Unusable)?;
        let key = Key::from_seed(seed);
        if key.public() == self.public {
            Ok(key)
        } else {
            Err(KeyError::Unusable)
        }
    }

    /// The data that the seal protects in addition to the seed: the key's owner, so that files cannot be exchanged.
    fn bound(&self) -> String {
        format!("skimgate key 1\n{}\n{}", self.initials, self.public)
    }

    fn cipher(&self, pin: &Secret) -> Result<XChaCha20Poly1305, KeyError> {
        let work = self.argon2id;
        if self.format != 1 || !work.is_sound() {
            return Err(KeyError::Unusable);
        }
        let salt: [u8; 16] = hex::read(&self.salt).ok_or(KeyError::Unusable)?;
        let params = Params::new(work.memory_kib, work.passes, work.lanes, Some(32))
            .map_err(|_| KeyError::Unusable)?;
        let mut key = Zeroizing::new([0_u8; 32]);
        Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
            .hash_password_into(pin.bytes(), &salt, key.as_mut_slice())
            .map_err(|_| KeyError::Unusable)?;
        XChaCha20Poly1305::new_from_slice(key.as_slice()).map_err(|_| KeyError::Unusable)
    }
}

#[cfg(test)]
mod tests {
    use super::{KeyError, Sealed, Work};
    use crate::keys::{Secret, holds};

    const QUICK: Work = Work::LEAST;

    fn secret(text: &str) -> Secret {
        Secret::new(text.to_owned())
    }

    fn made(seed: u8) -> Sealed {
        let random = |bytes: &mut [u8]| {
            bytes.fill(seed);
            Ok::<(), KeyError>(())
        };
        Sealed::make("AB", &secret("482913"), QUICK, random)
            .unwrap()
            .0
    }

    #[test]
    fn opens_only_with_its_pin() {
        let sealed = made(7);
        let key = sealed.open(&secret("482913")).unwrap();
        assert_eq!(key.public(), sealed.public);
        assert!(holds(&sealed.public, "text", &key.sign("text")));
        for wrong in ["482914", "", "482913 "] {
            assert_eq!(sealed.open(&secret(wrong)).unwrap_err(), KeyError::Wrong);
        }
    }

    #[test]
    fn a_changed_or_exchanged_file_does_not_open() {
        let changes: [fn(&mut Sealed); 8] = [
            |s| s.initials = "CD".into(),
            |s| s.public = made(8).public,
            |s| s.sealed = made(8).sealed,
            |s| s.nonce = made(8).nonce,
            |s| s.salt = made(8).salt,
            |s| s.argon2id.passes += 1,
            |s| s.argon2id.memory_kib = u32::MAX,
            |s| s.format = 2,
        ];
        for (number, change) in changes.iter().enumerate() {
            let mut sealed = made(7);
            change(&mut sealed);
            assert!(sealed.open(&secret("482913")).is_err(), "change {number}");
        }
    }

    #[test]
    fn the_work_is_at_least_the_published_minimum() {
        // OWASP Password Storage Cheat Sheet, argon2id: at least 19 MiB, 2 passes, 1 lane.
        let least = Work {
            memory_kib: 19_456,
            passes: 2,
            lanes: 1,
        };
        assert_eq!(Work::LEAST, least);
        assert!(Work::NOW.is_sound());
        let less = Work {
            memory_kib: 19_455,
            ..least
        };
        assert!(!less.is_sound());
    }

    #[test]
    fn a_secret_is_not_shown() {
        assert_eq!(format!("{:?}", secret("482913")), "Secret");
        assert!(!format!("{:?}", made(7)).contains("482913"));
    }
}
