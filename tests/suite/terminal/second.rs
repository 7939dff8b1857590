//! Hold points that ask for a second signature, and signatures checked by another program. Invented people.

use super::people::{LEARNER, OWNER, people, register, released};
use crate::operator::{Operator, Sitting, plain};
use crate::support::{Bench, flowing, shipped};
use skimgate::book::Book;
use skimgate::interlock::Event;
use skimgate::interlock::answer::{Answer, Proof};
use skimgate::interlock::signing::SignatureRole;
use skimgate::walk::store::log;
use std::path::PathBuf;
use std::process::Command;

const TRAINER: &str = "EF teaches since long";

/// The small procedure, its first hold point with a second signer.
fn asking(bench: &Bench, second: &str) -> PathBuf {
    let text = std::fs::read_to_string(shipped("small.yaml")).unwrap();
    let with = text.replacen(
        "        role: operator\n",
        &format!("        role: operator\n        second: {second}\n"),
        1,
    );
    assert_ne!(with, text);
    bench.write("second.yaml", &with)
}

fn signs(at: &mut Operator, initials: &str, pin: &str) {
    let code = at.reads_code();
    at.types(&code);
    at.answers(&format!("PIN of {initials} (not shown)"), pin);
}

#[test]
fn a_hold_point_takes_the_second_signer_it_asks_for_and_nobody_else() {
    let bench = Bench::new();
    register(&bench);
    let mut at = people(&bench, "add ef --role trainer");
    at.goes(&[
        ("PIN of AB (not shown)", OWNER),
        ("new PIN (not shown)", TRAINER),
        ("the same again (not shown)", TRAINER),
    ]);
    at.ends(0);
    let procedure = asking(&bench, "trainer");
    let mut at = Sitting::at(&bench).procedure(procedure).walks();
    at.goes(&[
        ("initials", "ab"),
        ("PIN of AB (not shown)", OWNER),
        ("machine", "north"),
    ]);
    at.prepares();
    at.touches();
    at.plans();
    let shown = flowing(&plain(&at.answers("initials", "ab")));
    assert!(
        shown.contains("Beside you signs a trainer or an owner, at this terminal."),
        "{shown}"
    );
    signs(&mut at, "AB", OWNER);
    // Not themselves, though an owner may sign beside others; not an operator. What AB signed stands meanwhile.
    for other in ["ab", "cd"] {
        let shown = flowing(&plain(&at.answers("second", other)));
        if other == "ab" {
            assert!(
                shown.contains("Two sign here. Hand the keyboard to a trainer or an owner"),
                "{shown}"
            );
            assert!(shown.contains("As operator you sign:"), "{shown}");
        }
        at.sees("cannot sign beside AB here");
    }
    at.answers("second", "ef");
    at.sees("To sign as EF");
    at.answers("code", "ZZZZ");
    at.sees("that is not the code shown");
    at.answers("second", "ef");
    signs(&mut at, "EF", TRAINER);
    at.is_shown(
        &["Signed by AB, and beside them by EF.", "RELEASED"],
        "started",
    );
    bench.run(&["gate"]).ended(0);
    at.types("leave");
    at.ends(130);
    let run = bench.only_run();
    bench
        .run(&["record", "show", &run, "--all"])
        .ended(0)
        .tells(&["signed by AB as operator, with their key; EF as trainer with theirs"]);
    let shown = bench.shown().to_string();
    for part in [
        "\"as\":\"operator\"",
        "\"second\":{\"signed_by\":\"EF\"",
        "\"as\":\"trainer\"",
    ] {
        assert!(shown.contains(part), "`{part}` not in {shown}");
    }
    bench.run(&["record", "verify"]).ended(0);
}

/// A PIN typed on while the prompt has shut goes nowhere: not on the screen, not into the record.
#[test]
fn a_pin_typed_at_a_shut_prompt_is_neither_shown_nor_recorded() {
    const TYPED_ON: &str = "444444";
    let bench = Bench::new();
    register(&bench);
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "cd"), ("PIN of CD (not shown)", LEARNER)]);
    let shown = flowing(&plain(&at.answers("machine", "north")));
    assert!(!shown.contains("signs beside CD"), "{shown}");
    at.prepares();
    assert!(
        flowing(&plain(&at.screen))
            .contains("at every sign-off a trainer or an owner signs beside CD"),
        "{}",
        at.screen
    );
    at.touches();
    at.plans();
    at.answers("initials", "cd");
    signs(&mut at, "CD", LEARNER);
    at.answers("second", "ab");
    let code = at.reads_code();
    at.types(&code);
    for _ in 0..3 {
        at.answers("PIN of AB (not shown)", "not the phrase");
    }
    let shown = flowing(&plain(&at.answers("Enter goes on (not shown)", TYPED_ON)));
    assert!(
        shown.contains(
            "The prompt for this PIN is shut for 30 seconds, at every terminal of this book"
        ),
        "{shown}"
    );
    at.sees("Enter alone drops what CD signed");
    assert!(!plain(&at.screen).contains(TYPED_ON), "{}", at.screen);
    // Typed where it is shown, the next time: that cannot be helped, but it is not kept.
    at.answers("second", TYPED_ON);
    at.sees("that is nobody on the list of people");
    // Enter alone drops what CD signed, and says so.
    let shown = flowing(&plain(&at.answers("second", "")));
    assert!(
        shown.contains("Enter alone drops what CD signed"),
        "{shown}"
    );
    at.sees("what CD signed is dropped, and asked again");
    at.answers("initials", TYPED_ON);
    at.sees("that is nobody on the list of people; CD has this run");
    at.answers("initials", "cd");
    at.answers("code", TYPED_ON);
    at.sees("that is not the code shown");
    at.answers("initials", "leave");
    at.ends(130);
    let book = std::fs::read(bench.book()).unwrap();
    assert!(!book.windows(6).any(|w| w == TYPED_ON.as_bytes()));
    bench.run(&["record", "verify"]).ended(0);
}

/// Nobody is registered, so nobody can be known for a trainer: the run goes no further than the hold point.
#[test]
fn a_second_signer_needs_a_list_of_people() {
    let bench = Bench::new();
    let procedure = asking(&bench, "trainer");
    let mut at = Sitting::at(&bench).procedure(procedure).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.is_shown(
        &["this hold point asks for a second signature, by a trainer or an owner, and nobody is registered"],
        "initials",
    );
    bench.run(&["gate"]).ended(3);
}

/// What is signed with keys on record: text, public key, signature.
fn signed(bench: &Bench) -> Vec<(String, Proof)> {
    let book = Book::open_existing(bench.book()).unwrap();
    let mut found = Vec::new();
    log::replay(&book, &bench.only_run(), |_, state, event| {
        if let Event::Answered {
            at,
            answer:
                Answer::Signed {
                    initials,
                    digest,
                    proof: Some(proof),
                    second,
                    list,
                    ..
                },
            ..
        } = event
        {
            let text = |part, who: &str, proof: &Proof| {
                (
                    state.text_to_sign(at, part, who, proof.role, *digest, *list),
                    proof.clone(),
                )
            };
            found.push(text(SignatureRole::First, initials, proof));
            let second = second.as_ref();
            found.extend(second.map(|s| text(SignatureRole::Second, &s.initials, &s.proof)));
        }
        Ok(())
    })
    .unwrap();
    found
}

fn bytes(hex: &str) -> Vec<u8> {
    (0..hex.len() / 2)
        .map(|i| u8::from_str_radix(&hex[2 * i..2 * i + 2], 16).unwrap())
        .collect()
}

/// Both signatures of a hold point hold for OpenSSL too, and for no other text.
#[test]
fn signatures_hold_for_another_program() {
    if Command::new("openssl").arg("version").output().is_err() {
        println!("not tried: there is no openssl here");
        return;
    }
    let bench = Bench::new();
    register(&bench);
    let mut at = released(&bench);
    at.types("leave");
    at.ends(130);
    assert_ne!(OWNER, LEARNER);
    let signed = signed(&bench);
    assert_eq!(signed.len(), 2);
    assert_ne!(signed[0].1.key, signed[1].1.key);
    for (text, proof) in signed {
        // RFC 8410 section 4: the head of a SubjectPublicKeyInfo of ed25519, before the 32 bytes of the key.
        let mut key = bytes("302a300506032b6570032100");
        key.extend(bytes(&proof.key));
        std::fs::write(bench.path("key.der"), key).unwrap();
        std::fs::write(bench.path("signature"), bytes(&proof.signature)).unwrap();
        for (text, holds) in [(text.clone(), true), (format!("{text} "), false)] {
            std::fs::write(bench.path("text"), text).unwrap();
            let told = Command::new("openssl")
                .args(["pkeyutl", "-verify", "-rawin", "-pubin", "-keyform", "DER"])
                .arg("-inkey")
                .arg(bench.path("key.der"))
                .arg("-sigfile")
                .arg(bench.path("signature"))
                .arg("-in")
                .arg(bench.path("text"))
                .output()
                .unwrap();
            assert_eq!(told.status.success(), holds, "{told:?}");
        }
    }
}
