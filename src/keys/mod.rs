//! A person's signing key, and the PIN or pass phrase that unlocks it. Only this module uses the cryptography crates.
//!
//! The key is an ed25519 key (RFC 8032) made from 32 random bytes. These bytes are stored encrypted with
//! XChaCha20-Poly1305 (draft-irtf-cfrg-xchacha), with a key that argon2id (RFC 9106) makes from the PIN. The caller
//! passes random bytes, so nothing here asks the system for anything. Secrets are overwritten when they are dropped,
//! and `Debug` never shows them.
//!
//! A PIN has a limit: there are only a million PINs of six digits, and a thief of the sealed file can try them all in
//! days (see SECURITY.md in this folder). A pass phrase of several words protects against that.

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
