//! A person's signing key, and the PIN or pass phrase that unlocks it. The only place that names the cryptography.
//!
//! An ed25519 key (RFC 8032) made from 32 random bytes. Those bytes lie sealed with XChaCha20-Poly1305 (draft-irtf-cfrg-
//! xchacha) under a key that argon2id (RFC 9106) makes from the PIN. Random bytes are handed in, so nothing here asks the
//! system for anything. Whatever is secret is overwritten when it is dropped, and is never shown by `Debug`.
//!
//! What a PIN cannot do: of six digits there are a million, and whoever steals the sealed file can try them all in days
//! (see DEVELOPERS.md, Security). A pass phrase of several words is what withstands that.

mod hex;
mod recovery;
mod sealed;
mod secret;
mod signing;
mod weakness;

pub use recovery::{CODE_LETTERS, RecoveryCode, Slip};
pub use sealed::{KeyError, Sealed, Work};
pub use secret::{SHORTEST, Secret, wipe};
pub use signing::{Key, holds};
pub use weakness::Weakness;
