//! Books with entries left out and the chain made anew: what clears a start must stand before it, and sign-offs cover the
//! list of people. Invented people.

use super::people::{LEARNER, OWNER, people, register, released, written_again};
use crate::operator::Sitting;
use crate::support::{Bench, flowing, whole};
use skimgate::book::Entry;

/// What `record verify` says of the book without some of its entries.
fn verified(
    bench: &Bench,
    dropped: usize,
    drops: impl Fn(&Entry) -> bool,
) -> (Option<i32>, String) {
    let other = Bench::new();
    let changed = written_again(bench, &other, |e| (!drops(e)).then(|| e.body.clone()));
    assert_eq!(changed, dropped);
    let ran = other.run(&["record", "verify"]);
    (ran.code, flowing(&ran.out))
}

fn is_found(bench: &Bench, part: &str, dropped: usize, drops: impl Fn(&Entry) -> bool) {
    let (code, told) = verified(bench, dropped, drops);
    assert!(told.contains(part), "`{part}` not in: {told}");
    assert_eq!(code, Some(4), "{told}");
}

fn is_sign_off(entry: &Entry) -> bool {
    entry.body.contains("\"signed\"")
}

const KINDS: [(&str, &str); 2] = [
    (
        "released",
        "is no start that was cleared: there is no release for it",
    ),
    ("cut_started", "this cut ended but was never started"),
];

#[test]
fn a_cut_whose_sign_off_or_release_was_left_out_is_found_without_a_list_of_people() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.starts("roughing pass 1");
    at.presses("\r");
    at.answers("how it ended", "finished");
    at.sees("> ");
    at.types("leave");
    at.ends(130);
    assert_eq!(verified(&bench, 0, |_| false).0, Some(0));
    for (kind, part) in KINDS {
        is_found(&bench, part, 1, |e| e.kind == kind);
    }
    is_found(&bench, "the sign-off \"Hold point", 1, is_sign_off);
}

/// No cut of a run from a file is released, but each is signed for.
#[test]
fn an_assumed_cut_whose_sign_off_was_left_out_is_found() {
    let bench = Bench::new();
    let file = bench.answers("whole.yaml", whole(&[]));
    bench.walk(&file).ended(0);
    assert_eq!(verified(&bench, 0, |_| false).0, Some(0));
    for step in [
        "\"clear\",\"pass\":1",
        "\"clear\",\"pass\":3",
        "\"clear_finish\"",
    ] {
        let part = "the sign-off \"Hold point";
        is_found(&bench, part, 1, |e| is_sign_off(e) && e.body.contains(step));
    }
}

#[test]
fn a_cut_whose_sign_off_or_release_was_left_out_is_found_where_people_sign() {
    let bench = Bench::new();
    register(&bench);
    let mut at = released(&bench);
    at.types("started");
    at.sees("Cutting. Press Enter");
    at.is_sent(rexpect::process::Signal::SIGKILL);
    at.is_cut_off();
    assert_eq!(verified(&bench, 0, |_| false).0, Some(0));
    is_found(&bench, KINDS[0].1, 1, |e| e.kind == "released");
    is_found(&bench, "the sign-off \"", 1, is_sign_off);
}

/// AB and CD as elsewhere, and EF, who never signs and is retired.
fn registers_and_retires(bench: &Bench) {
    const TEACHES: &str = "EF teaches since long";
    register(bench);
    let mut at = people(bench, "add ef --role trainer");
    at.goes(&[
        ("PIN of AB (not shown)", OWNER),
        ("new PIN (not shown)", TEACHES),
        ("the same again (not shown)", TEACHES),
    ]);
    at.ends(0);
    let mut at = people(bench, "retire ef");
    at.answers("PIN of AB (not shown)", OWNER);
    at.ends(0);
}

/// Without EF's retirement, and without EF, the list is another one than was signed over.
fn each_entry_of_ef_is_covered(bench: &Bench) {
    assert_eq!(verified(bench, 0, |_| false).0, Some(0));
    let part = "it covers another list of people than the one recorded at that time";
    is_found(bench, part, 1, |e| e.kind == "retired");
    is_found(bench, part, 2, |e| {
        e.ledger().is_some() && e.body.contains("EF")
    });
}

#[test]
fn an_entry_of_the_list_left_out_is_found_by_the_sign_off_after_it() {
    let bench = Bench::new();
    registers_and_retires(&bench);
    let mut at = released(&bench);
    at.types("leave");
    at.ends(130);
    each_entry_of_ef_is_covered(&bench);
}

#[test]
fn an_entry_of_the_list_left_out_is_found_by_the_putting_back_in_service_after_it() {
    let bench = Bench::new();
    registers_and_retires(&bench);
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "cd"),
        ("PIN of CD (not shown)", LEARNER),
        ("machine", "north"),
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("confirm", "worn"),
        ("confirm", "it ran away"),
        ("out of service", "in service"),
        ("initials", "ab"),
        ("PIN of AB (not shown)", OWNER),
        ("reason", "new limit switch, tried by GH"),
    ]);
    at.sees("confirm> ");
    at.types("leave");
    at.ends(130);
    each_entry_of_ef_is_covered(&bench);
    // Who put it back is not another, for all that the machine's record agrees.
    let other = Bench::new();
    let changed = written_again(&bench, &other, |entry| {
        let words = "\"new limit switch, tried by GH\"";
        Some(entry.body.replace(words, "\"as good as before\""))
    });
    assert_eq!(changed, 2);
    let ran = other.run(&["record", "verify"]).ended(4);
    let told = flowing(&ran.out);
    let part = "the signature of AB is not valid for this state";
    assert!(told.contains(part), "{told}");
}
