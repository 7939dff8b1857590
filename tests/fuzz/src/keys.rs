//! Key files and signatures. Any bytes as a key's file never open; a good file with bytes changed opens to the same key or
//! not at all; a signature with anything changed does not hold.

use super::pick::Picks;
use skimgate::keys::{Key, KeyError, Sealed, Secret, Work, holds};
use std::sync::OnceLock;

/// The least work that a key's file may ask for: what is tried here is not how long it takes.
const WORK: Work = Work {
    memory_kib: 19 * 1024,
    passes: 2,
    lanes: 1,
};
const PIN: &str = "482913";

fn good() -> &'static (String, String) {
    static GOOD: OnceLock<(String, String)> = OnceLock::new();
    GOOD.get_or_init(|| {
        let random = |bytes: &mut [u8]| {
            bytes.fill(7);
            Ok::<(), KeyError>(())
        };
        let pin = Secret::new(PIN.to_owned());
        let (sealed, key) = Sealed::make("AB", &pin, WORK, random).expect("a key");
        let text = serde_json::to_string(&sealed).expect("a key can be written");
        (text, key.public())
    })
}

pub fn run(data: &[u8]) {
    let mut picks = Picks(data);
    signature(&mut picks);
    if let Ok(sealed) = serde_json::from_slice::<Sealed>(data) {
        opens(&sealed, PIN);
    }
    let (text, _) = good();
    let mut bytes = text.clone().into_bytes();
    let pin = match picks.below(4) {
        0 => picks.text(),
        _ => PIN.to_owned(),
    };
    for _ in 0..picks.below(3) {
        let at = picks.below(bytes.len());
        bytes[at] ^= 1 << picks.below(8);
    }
    // Opening takes the time it is meant to take: only what still reads as a key's file is tried.
    if let Ok(sealed) = serde_json::from_slice::<Sealed>(&bytes)
        && sealed.argon2id == WORK
    {
        opens(&sealed, &pin);
    }
}

fn opens(sealed: &Sealed, pin: &str) {
    let work = sealed.argon2id;
    // What a file may ask for is bounded; a fuzzer need not wait for all of it.
    if work.memory_kib > WORK.memory_kib && work.memory_kib <= 1024 * 1024 {
        return;
    }
    let (text, public) = good();
    // Digits of what is sealed may stand in either case; whose key it is, is sealed with it letter by letter.
    let written = serde_json::to_string(sealed).unwrap_or_default();
    let same = sealed.initials == "AB"
        && sealed.public == *public
        && written.to_lowercase() == text.to_lowercase();
    match sealed.open(&Secret::new(pin.to_owned())) {
        Ok(key) => {
            assert!(same && pin == PIN, "opened: {sealed:?}");
            assert_eq!(key.public(), *public);
        }
        Err(error) => assert!(!(same && pin == PIN) || error == KeyError::Unusable),
    }
}

fn signature(picks: &mut Picks) {
    let key = Key::from_seed(&[picks.byte(); 32]);
    let text = picks.text();
    let signature = key.sign(&text);
    assert!(holds(&key.public(), &text, &signature));
    let other = picks.text();
    assert!(other == text || !holds(&key.public(), &other, &signature));
    let mut changed = signature.clone().into_bytes();
    let at = picks.below(changed.len());
    changed[at] ^= 1 << picks.below(7);
    if let Ok(changed) = String::from_utf8(changed)
        && !changed.eq_ignore_ascii_case(&signature)
    {
        assert!(!holds(&key.public(), &text, &changed), "{changed}");
    }
    let _ = holds(&picks.text(), &text, &picks.text());
}
