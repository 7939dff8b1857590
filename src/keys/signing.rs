//! Signing and checking of signatures with ed25519 (RFC 8032).

use std::fmt;

use ed25519_dalek::{Signature, Signer, SigningKey, VerifyingKey};

use super::hex;

/// An unlocked key. It is overwritten when dropped.
pub struct Key(SigningKey);

impl Key {
    /// The key made from a seed of 32 bytes (RFC 8032, section 5.1.5, from memory).
    pub fn from_seed(seed: &[u8; 32]) -> Self {
        Self(SigningKey::from_bytes(seed))
    }

    /// The public key, 64 hexadecimal digits.
    pub fn public(&self) -> String {
        hex::write(self.0.verifying_key().as_bytes())
    }

    /// The signature over `text`, 128 hexadecimal digits.
    pub fn sign(&self, text: &str) -> String {
        hex::write(&self.0.sign(text.as_bytes()).to_bytes())
    }
}

impl fmt::Debug for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Key({})", self.public())
    }
}

/// Whether `signature` over `text` was made with the key whose public half is `public`. The check is strict: it refuses
/// weak keys and signatures that could be read in two ways.
pub fn holds(public: &str, text: &str, signature: &str) -> bool {
    let (Some(public), Some(signature)) = (hex::read::<32>(public), hex::read::<64>(signature))
    else {
        return false;
    };
    VerifyingKey::from_bytes(&public).is_ok_and(|key| {
        key.verify_strict(text.as_bytes(), &Signature::from_bytes(&signature))
            .is_ok()
    })
}

#[cfg(test)]
mod tests {
    use super::{Key, hex, holds};

    /// Source: RFC 8032 section 7.1, TEST 1 (empty message) and TEST 2 (one byte, 0x72).
    #[test]
    fn signs_as_the_standard_says() {
        let seed = "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60";
        let key = Key::from_seed(&hex::read(seed).unwrap());
        let public = "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a";
        assert_eq!(key.public(), public);
        let signature = "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b";
        assert_eq!(key.sign(""), signature);
        assert!(holds(public, "", signature));
        let seed = "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb";
        let key = Key::from_seed(&hex::read(seed).unwrap());
        let signature = "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00";
        assert_eq!(key.sign("r"), signature);
    }

    #[test]
    fn another_text_key_or_signature_is_not_valid() {
        let (one, other) = (Key::from_seed(&[1; 32]), Key::from_seed(&[2; 32]));
        let signature = one.sign("text");
        assert!(holds(&one.public(), "text", &signature));
        assert!(!holds(&one.public(), "texts", &signature));
        assert!(!holds(&other.public(), "text", &signature));
        assert!(!holds(&one.public(), "text", &other.sign("text")));
        assert!(!holds(&one.public(), "text", &signature.to_uppercase()));
        assert!(!holds(&"0".repeat(64), "text", &signature));
        assert!(!holds("", "text", ""));
    }

    #[test]
    fn a_key_shows_only_its_public_half() {
        let key = Key::from_seed(&[1; 32]);
        assert_eq!(format!("{key:?}"), format!("Key({})", key.public()));
    }
}
