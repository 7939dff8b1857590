//! An owner's lost PIN: the recovery code, made, used once, typed wrong, and gone with the owner. Invented people.

use super::people::{LEARNER, OWNER, kinds, people};
use crate::operator::{Operator, plain};
use crate::support::Bench;
use skimgate::book::Book;
use skimgate::clock::{Clock, SystemClock};
use skimgate::keys::{Key, RecoveryCode};
use skimgate::people::{Event, Signed};
use skimgate::walk::store::people_list;

const NEXT: &str = "another phrase, also long";
const PROMPT: &str = "recovery code of AB (not shown)";

/// The code on the screen, as three lines.
fn reads(at: &Operator) -> Vec<String> {
    let screen = plain(&at.screen);
    let (_, after) = screen.split_once("shown this once").unwrap();
    let lines = after.lines().map(str::trim);
    let is_line = |line: &&str| {
        let groups: Vec<&str> = line.split('-').collect();
        groups.len() == 3 && groups.iter().all(|group| group.len() == 4)
    };
    lines.filter(is_line).map(str::to_owned).collect()
}

/// AB, the only owner, and their recovery code.
fn register(bench: &Bench) -> Vec<String> {
    let mut at = people(bench, "add ab --role owner,operator");
    at.goes(&[
        ("new PIN (not shown)", OWNER),
        ("the same again (not shown)", OWNER),
    ]);
    at.ends(0);
    at.has_seen(&[
        "AB is on the list. Recorded, signed by AB.",
        "AB is the only owner. A second one can issue a new key when a PIN is lost: `skimgate people add INITIALS --role owner`.",
    ]);
    let code = reads(&at);
    assert_eq!(code.len(), 3, "{}", at.screen);
    code
}

fn chooses(at: &mut Operator, pin: &str) {
    at.goes(&[
        ("new PIN (not shown)", pin),
        ("the same again (not shown)", pin),
    ]);
}

/// A code as good as any, and not AB's.
fn another() -> String {
    let code = RecoveryCode::make(|bytes| {
        bytes.fill(7);
        Ok::<(), ()>(())
    });
    code.unwrap().lines().join(" ")
}

fn second_owner(bench: &Bench) {
    let mut at = people(bench, "add ef --role owner");
    at.answers("PIN of AB (not shown)", OWNER);
    chooses(&mut at, LEARNER);
    at.ends(0);
    assert!(!at.screen.contains("only owner"), "{}", at.screen);
    assert_eq!(reads_none(&at), 0);
}

fn reads_none(at: &Operator) -> usize {
    at.screen.matches("recovery code").count()
}

#[test]
fn the_only_owner_whose_pin_is_lost_has_a_new_key_by_the_code_once() {
    let bench = Bench::new();
    let code = register(&bench);
    let swapped = {
        let mut letters: Vec<char> = code.concat().chars().filter(|c| *c != '-').collect();
        let at = (1..letters.len()).find(|i| letters[i - 1] != letters[*i]);
        let at = at.unwrap();
        letters.swap(at - 1, at);
        letters.into_iter().collect::<String>()
    };
    let mut at = people(&bench, "key ab --recovery");
    at.goes(&[
        (PROMPT, &swapped),
        (PROMPT, &code[..2].join("-")),
        (PROMPT, OWNER),
        (PROMPT, &another()),
    ]);
    // As it stands on paper, in small letters and with other gaps.
    let typed = code.join("  ").to_lowercase();
    at.answers(PROMPT, &typed);
    chooses(&mut at, NEXT);
    at.ends(0);
    at.has_seen(&[
        "mistyped, so nothing was tried: a letter in it is wrong, or two are swapped",
        "mistyped, so nothing was tried: a recovery code has 36 letters, but this has 24",
        "wrong recovery code, perhaps one that was used or replaced; that is recorded",
        "AB has a new key, by the recovery code, and a new recovery code. Recorded, signed by AB.",
    ]);
    for hidden in [&typed, &code[0], &swapped, NEXT, OWNER] {
        assert!(!at.screen.contains(hidden), "{hidden}: {}", at.screen);
    }
    let next = reads(&at);
    assert_ne!(next, code);
    // Slips are not tried, so they cost nothing.
    assert_eq!(
        kinds(&bench),
        [
            "added",
            "recovery_made",
            "wrong_code",
            "unlocked",
            "recovered"
        ]
    );

    // The lost PIN opens nothing more, nor does the code; the new ones do.
    let mut at = people(&bench, "code ab");
    at.answers("PIN of AB (not shown)", OWNER);
    at.answers("PIN of AB (not shown)", NEXT);
    at.ends(0);
    at.has_seen(&["wrong PIN or pass phrase", "AB has a new recovery code."]);
    let last = reads(&at);
    for spent in [&code, &next] {
        let mut at = people(&bench, "key ab --recovery");
        at.answers(PROMPT, &spent.concat());
        at.sees("perhaps one that was used or replaced");
        at.sees(PROMPT);
        at.presses("\x03");
        at.ends(130);
        at.has_seen(&["Left. The list stays as it was."]);
    }
    let mut at = people(&bench, "key ab --recovery");
    at.answers(PROMPT, &last.concat());
    chooses(&mut at, OWNER);
    at.ends(0);
    bench.run(&["record", "verify"]).ended(0);
    bench.run(&["people", "history"]).ended(0).tells(&[
        "A wrong recovery code for AB.",
        "AB has a new key, by the recovery code, and a new recovery code. Signed by AB.",
    ]);
    is_nowhere(&bench, &[code, next, last, reads(&at)]);
}

/// No line of a code, nor its letters without gaps, in any file that was written.
fn is_nowhere(bench: &Bench, codes: &[Vec<String>]) {
    let mut folder = bench.book().into_os_string();
    folder.push(".keys");
    let keys = std::fs::read_dir(folder)
        .unwrap()
        .map(|f| f.unwrap().path());
    let mut looked = 0;
    for file in keys.chain([bench.book()]) {
        looked += 1;
        let bytes = std::fs::read(&file).unwrap();
        let holds = |text: &str| bytes.windows(text.len()).any(|w| w == text.as_bytes());
        for line in codes.iter().flatten() {
            assert!(!holds(line), "{}", file.display());
            assert!(!holds(&line.replace('-', "")), "{}", file.display());
        }
    }
    assert!(looked > 4);
}

#[test]
fn wrong_codes_and_wrong_pins_shut_both_prompts() {
    let bench = Bench::new();
    register(&bench);
    let mut at = people(&bench, "code ab");
    at.goes(&[
        ("PIN of AB (not shown)", "not the phrase"),
        ("PIN of AB (not shown)", "nor is this"),
    ]);
    at.sees("PIN of AB (not shown)> ");
    at.presses("\x03");
    at.ends(130);
    let mut at = people(&bench, "key ab --recovery");
    at.answers(PROMPT, &another());
    at.ends(3);
    at.has_seen(&["These were too many wrong recovery codes for AB."]);
    // The right ones, at other terminals: neither is asked for.
    for command in ["key ab --recovery", "code ab"] {
        let mut at = people(&bench, command);
        at.ends(3);
        at.has_seen(&["for AB. The prompt for this", "is shut for"]);
    }
    bench.run(&["record", "verify"]).ended(0);
}

#[test]
fn a_code_ends_with_its_owner_and_with_the_key_it_stands_for() {
    let bench = Bench::new();
    let code = register(&bench);
    second_owner(&bench);
    let refused = |why: &str| {
        // Before anything is asked.
        let mut at = people(&bench, "key ab --recovery");
        at.ends(2);
        at.has_seen(&[why]);
        assert!(!at.screen.contains("(not shown)"), "{}", at.screen);
    };
    // Another owner issues AB a new key, for whoever had the old PIN may have made the code; AB is shown the next.
    let mut at = people(&bench, "key ab --by ef");
    at.answers("PIN of EF (not shown)", LEARNER);
    chooses(&mut at, NEXT);
    at.ends(0);
    let next = reads(&at);
    assert!(next.len() == 3 && next != code, "{}", at.screen);
    for (change, why) in [
        ("change ab --role operator", "AB is no owner"),
        ("change ab --role owner", "AB has no recovery code"),
        ("retire ab", "AB is retired"),
    ] {
        let mut at = people(&bench, &format!("{change} --by ef"));
        at.answers("PIN of EF (not shown)", LEARNER);
        at.ends(0);
        refused(why);
    }
    // EF is the only owner now, and never made one.
    bench.run(&["people", "list"]).ended(0).tells(&[
        "EF is the only owner and has no recovery code (`skimgate people code EF` makes one).",
    ]);
    let mut at = people(&bench, "key ef --recovery");
    at.ends(2);
    at.has_seen(&["EF has no recovery code", "The way on is a new book"]);
    let mut at = people(&bench, "code ef");
    at.answers("PIN of EF (not shown)", LEARNER);
    at.ends(0);
    assert_eq!(reads(&at).len(), 3);
    bench.run(&["record", "verify"]).ended(0);
}

/// Whoever can write the book, and even the keys beside it, but has no code and no PIN.
#[test]
fn a_recovery_without_the_code_is_found() {
    let own = Key::from_seed(&[9; 32]);
    let initials = || "AB".to_owned();
    let made = Event::RecoveryMade {
        initials: initials(),
        recovery: own.public(),
    };
    let recovered = Event::Recovered {
        initials: initials(),
        key: own.public(),
        recovery: Key::from_seed(&[10; 32]).public(),
    };
    for event in [made, recovered] {
        let bench = Bench::new();
        register(&bench);
        let mut book = Book::open(bench.book()).unwrap();
        let mut list = people_list::load(&book).unwrap();
        let now = SystemClock.now();
        let signed = Signed::by(event, "AB", &own, &list.place(now));
        people_list::append(&mut book, &mut list, now, &signed).unwrap();
        drop(book);
        bench
            .run(&["record", "verify"])
            .ended(4)
            .tells(&["the signature of AB is not valid"]);
        let mut at = people(&bench, "code ab");
        at.ends(4);
    }
}
