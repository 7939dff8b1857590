//! Registered people: PINs at a hidden prompt, signatures with keys, second signers, and what a record proves of them.
//! Invented people.

use crate::operator::{Operator, Sitting, plain};
use crate::support::{Bench, flowing};
use skimgate::book::{Book, Draft, Entry};

pub(crate) const OWNER: &str = "a longer phrase of AB";
pub(crate) const LEARNER: &str = "730154";

pub(super) fn people(bench: &Bench, words: &str) -> Operator {
    let sitting = Sitting::at(bench);
    let command = sitting.other_command(&format!("people {words}"));
    sitting.does(&format!("exec {command}"))
}

/// AB, owner and operator, who may run everything; CD, an operator who may run nothing alone.
pub(crate) fn register(bench: &Bench) {
    let mut at = people(bench, "add ab --role owner,operator --name 'A. Bee'");
    at.goes(&[
        ("new PIN (not shown)", OWNER),
        ("the same again (not shown)", OWNER),
    ]);
    at.ends(0);
    at.has_seen(&["AB is on the list. Recorded, signed by AB."]);
    assert!(!at.screen.contains(OWNER), "{}", at.screen);
    let mut at = people(bench, "add cd --machines none");
    at.goes(&[
        ("PIN of AB (not shown)", OWNER),
        ("new PIN (not shown)", "12345"),
        ("new PIN (not shown)", "111111"),
        ("new PIN (not shown)", LEARNER),
        ("the same again (not shown)", LEARNER),
    ]);
    at.ends(0);
    at.has_seen(&[
        "at least 6 characters",
        "one of those that are tried first",
        "CD is on the list. Recorded, signed by AB.",
    ]);
    assert!(!at.screen.contains(LEARNER), "{}", at.screen);
}

/// CD's run, signed by CD and beside them by AB, up to the release; the terminal still stands there.
pub(super) fn released(bench: &Bench) -> Operator {
    let mut at = Sitting::at(bench).walks();
    at.goes(&[
        ("initials", "cd"),
        ("PIN of CD (not shown)", LEARNER),
        ("machine", "north"),
    ]);
    at.prepares();
    at.touches();
    at.plans();
    at.answers("initials", "cd");
    let code = at.reads_code();
    at.types(&code);
    at.answers("PIN of CD (not shown)", LEARNER);
    let shown = at.answers("second", "ab");
    assert!(
        flowing(&plain(&shown)).contains("CD may not run this alone."),
        "{shown}"
    );
    let code = at.reads_code();
    at.types(&code);
    at.answers("PIN of AB (not shown)", OWNER);
    at.is_shown(
        &[
            "Signed by CD, and beside them by AB.",
            "RELEASED: Cycle start, to CD",
        ],
        "started",
    );
    at
}

#[test]
fn two_people_sign_one_state_and_the_record_proves_it() {
    let bench = Bench::new();
    register(&bench);
    let mut at = released(&bench);
    at.types("leave");
    at.ends(130);
    let screen = plain(&at.screen);
    assert!(
        !screen.contains(OWNER) && !screen.contains(LEARNER),
        "{screen}"
    );
    let shown = bench.shown().to_string();
    for part in [
        "\"means\":\"key\"",
        "\"second\":{\"signed_by\":\"AB\"",
        "\"signed_by\":\"CD\"",
    ] {
        assert!(shown.contains(part), "`{part}` not in {shown}");
    }
    bench.run(&["record", "verify"]).ended(0);
    assert!(
        !std::fs::read(bench.book())
            .unwrap()
            .windows(6)
            .any(|w| w == LEARNER.as_bytes())
    );
}

/// A sign-off falls when the run goes on in other hands; who cleared what was cut stays told.
#[test]
fn the_record_names_who_cleared_each_cut() {
    let bench = Bench::new();
    register(&bench);
    let mut at = released(&bench);
    at.types("started");
    at.sees("Cutting. Press Enter");
    at.sees("roughing pass 1");
    at.presses("\r");
    at.answers("how it ended", "stopped");
    at.answers("why stopped", "planned");
    at.is_shown(&["stopped"], "initials");
    at.types("handover ab");
    at.answers("PIN of AB (not shown)", OWNER);
    at.is_shown(&["Handed over from CD to AB."], "confirm");
    at.types("leave");
    at.ends(130);
    let run = bench.only_run();
    let shown = bench.run(&["record", "show", &run]).ended(0);
    let told = flowing(&shown.out);
    let cut = told.split("Cuts, and who cleared each").nth(1).unwrap();
    assert!(
        cut.contains("by CD at")
            && cut.contains("cleared: signed by CD as operator, with their key; AB as owner with theirs; it was stopped before its end: planned, after 0:"),
        "{cut}"
    );
    let json = bench.shown();
    assert_eq!(json["cuts"][0]["cleared"]["signed_by"], "CD");
    assert_eq!(json["cuts"][0]["cleared"]["second"], "AB");
    assert_eq!(json["cuts"][0]["how"], "stopped");
}

#[test]
fn a_retired_signer_holds_the_start() {
    let bench = Bench::new();
    register(&bench);
    let mut at = released(&bench);
    bench.run(&["gate"]).ended(0);
    let mut owner = people(&bench, "retire cd");
    owner.answers("PIN of AB (not shown)", OWNER);
    owner.ends(0);
    let held = bench.run(&["gate", "--json"]).ended(3);
    assert!(
        held.out
            .contains("CD is not on the list of people, or is retired"),
        "{}",
        held.out
    );
    at.types("started");
    at.is_shown(&["this start was not released"], "initials");
    at.types("leave");
    at.ends(130);
    bench.run(&["record", "verify"]).ended(0);
}

/// A misspelt id lets nobody do anything, so it is said; what runs of the book were on is known.
#[test]
fn ids_that_nothing_knows_are_told_when_somebody_is_changed() {
    let bench = Bench::new();
    register(&bench);
    let mut at = people(
        &bench,
        "change cd --machines mil-a,mill-a,north --procedures base-plate,x",
    );
    at.answers("PIN of AB (not shown)", OWNER);
    at.ends(0);
    at.has_seen(&[
        "`mil-a`: no machine of that id is built in, and no run in this book had one. Did you mean `mill-a`?",
        "`north`: no machine of that id",
        "`x`: no procedure of that id",
        "If it is a slip: `skimgate people change CD --machines IDS`.",
    ]);
    assert!(!at.screen.contains("`mill-a`: no"), "{}", at.screen);
    assert!(!at.screen.contains("`base-plate`: no"), "{}", at.screen);

    let mut walk = Sitting::at(&bench).walks();
    walk.goes(&[
        ("initials", "ab"),
        ("PIN of AB (not shown)", OWNER),
        ("machine", "north"),
    ]);
    walk.sees("> ");
    walk.presses("\x03");
    walk.ends(130);
    let mut at = people(&bench, "change cd --machines north --procedures small");
    at.answers("PIN of AB (not shown)", OWNER);
    at.ends(0);
    assert!(!at.screen.contains("of that id"), "{}", at.screen);

    // Left at the PIN, the list stays as it was, and the status says so.
    let mut at = people(&bench, "change cd --machines all");
    at.sees("PIN of AB (not shown)> ");
    at.presses("\x03");
    at.ends(130);
    at.has_seen(&["Left. The list stays as it was."]);
}

#[test]
fn wrong_pins_are_recorded_and_shut_the_prompt() {
    let bench = Bench::new();
    register(&bench);
    let mut at = people(&bench, "change cd --role operator,trainer");
    for _ in 0..3 {
        at.answers("PIN of AB (not shown)", "not the phrase");
    }
    at.ends(3);
    at.has_seen(&[
        "wrong PIN or pass phrase; that is recorded",
        "These were too many wrong PINs for AB. The prompt for this PIN is shut for 30 seconds",
    ]);
    let book = Book::open_existing(bench.book()).unwrap();
    let kinds: Vec<String> = book
        .ledger("people")
        .unwrap()
        .into_iter()
        .map(|e| e.kind)
        .collect();
    assert_eq!(
        kinds,
        ["added", "added", "wrong_pin", "wrong_pin", "wrong_pin"]
    );
    at.has_seen(&["AB is the only owner, and nothing replaces an owner's key but another owner"]);
    let told = bench.run(&["people", "history"]).ended(0);
    assert_eq!(
        told.out.matches("A wrong PIN for AB.").count(),
        3,
        "{}",
        told.out
    );
    told.tells(&[
        "CD is on the list. Roles: operator; alone on machines: none, procedures: all. Signed by AB.",
    ]);
    let lines = bench.run(&["people", "history", "--json"]).ended(0).out;
    assert_eq!(lines.lines().count(), 5);
    // Another process, the right phrase: the wait is on record.
    let mut at = people(&bench, "change cd --role operator,trainer");
    at.ends(3);
    at.has_seen(&["too many wrong PINs for AB. The prompt for this PIN is shut for"]);
    bench.run(&["record", "verify"]).ended(0);
}

#[test]
fn ctrl_c_and_the_end_of_input_leave_the_terminal_as_it_was() {
    let bench = Bench::new();
    register(&bench);
    for key in ["\x03", "\x04"] {
        let sitting = Sitting::at(&bench);
        let command = sitting.other_command("people retire cd");
        let mut at = sitting.does(&format!("trap : INT; {command}; stty -a"));
        at.sees("PIN of AB (not shown)> ");
        at.presses(key);
        at.leaves();
        let told = flowing(&plain(&at.screen));
        assert!(told.contains("The list stays as it was."), "{told}");
        assert!(
            told.contains(" echo ") && told.contains(" icanon "),
            "{told}"
        );
        assert!(at.cursor_is_shown());
    }
    let json = bench.run(&["people", "list", "--json"]).ended(0);
    assert!(!json.out.contains("retired\":\""), "{}", json.out);
}

#[test]
fn an_answers_file_cannot_sign_where_people_are_registered() {
    let bench = Bench::new();
    register(&bench);
    let answers = bench.answers("answers.yaml", crate::support::WHOLE);
    bench
        .walk(&answers)
        .ended(2)
        .says(&["a PIN or pass phrase is typed at a terminal"]);
    let book = Book::open_existing(bench.book()).unwrap();
    assert_eq!(book.runs().unwrap(), []);
}

#[cfg(unix)]
#[test]
fn keys_and_book_are_for_their_owner_alone() {
    use std::os::unix::fs::PermissionsExt;
    let bench = Bench::new();
    register(&bench);
    let mut folder = bench.book().into_os_string();
    folder.push(".keys");
    let mode =
        |path: &std::path::Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(std::path::Path::new(&folder)), 0o700);
    assert_eq!(mode(&bench.book()), 0o600);
    let files: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|f| f.unwrap().path())
        .collect();
    assert_eq!(files.len(), 2);
    for file in files {
        assert_eq!(mode(&file), 0o600, "{}", file.display());
    }
}

/// Everything written again into a new book, each entry's body by `change` and left out where it gives none, so that the
/// chain holds. How many entries differ.
pub(super) fn written_again(
    bench: &Bench,
    other: &Bench,
    change: impl Fn(&Entry) -> Option<String>,
) -> usize {
    let old = Book::open_existing(bench.book()).unwrap();
    let mut new = Book::open(other.book()).unwrap();
    let run = old.runs().unwrap().remove(0);
    let mut all: Vec<Entry> = old.ledger("people").unwrap();
    all.extend(old.ledger("stock bed-a").unwrap());
    all.extend(old.entries(&run.run).unwrap());
    all.sort_by_key(|e| e.seq);
    let begun = skimgate::walk::log::load(&old, &run.run)
        .unwrap()
        .state
        .begun;
    let texts = [begun.procedure, begun.shop].map(|of| (of, old.document(of).unwrap()));
    let texts: Vec<_> = texts
        .iter()
        .map(|(of, text)| (*of, text.as_str()))
        .collect();
    let (mut changed, mut recorded) = (0, 0);
    let mut listed = std::collections::HashMap::<String, u32>::new();
    for entry in all {
        let body = change(&entry);
        changed += usize::from(body.as_ref() != Some(&entry.body));
        let Some(body) = body else { continue };
        let draft = [Draft {
            at: entry.at.clone(),
            kind: entry.kind.clone(),
            version: entry.version,
            body,
        }];
        match (entry.ledger(), &entry.opens) {
            (Some(ledger), _) => {
                let after = listed.entry(ledger.to_owned()).or_default();
                *after += 1;
                new.append_to_ledger(ledger, *after - 1, &draft).map(drop)
            }
            (None, Some(machine)) => {
                recorded += 1;
                new.begin(&run.run, machine, &texts, &draft).map(drop)
            }
            (None, None) => {
                recorded += 1;
                new.append(&run.run, recorded - 1, &draft, entry.ends)
                    .map(drop)
            }
        }
        .unwrap();
    }
    changed
}

fn rewritten(bench: &Bench, other: &Bench, from: &str, to: &str) {
    let changed = written_again(bench, other, |entry| Some(entry.body.replace(from, to)));
    assert!(changed > 0 || from == to, "`{from}` is nowhere");
}

#[test]
fn a_forged_book_whose_chain_holds_is_found_by_its_signatures() {
    let bench = Bench::new();
    register(&bench);
    let mut at = released(&bench);
    at.types("leave");
    at.ends(130);
    for (from, to, part) in [
        // Unchanged: what is checked is the change, not the writing again.
        ("worn", "worn", "Whole:"),
        (
            // With its quotation marks: four digits alone may stand in a key or a signature.
            "\"3000",
            "\"2999",
            "is no sign-off: it is signed over another state",
        ),
        (
            "\"initials\":\"AB\",\"proof\"",
            "\"initials\":\"CD\",\"proof\"",
            "somebody else than CD",
        ),
        (
            "[\"operator\",\"owner\"]",
            "[\"trainer\",\"owner\"]",
            "the list of people: the signature of AB",
        ),
    ] {
        let other = Bench::new();
        rewritten(&bench, &other, from, to);
        let verified = other.run(&["record", "verify"]);
        let told = flowing(&verified.out);
        assert!(told.contains(part), "{from}: {told}");
        assert_eq!(verified.code, Some(if part == "Whole:" { 0 } else { 4 }));
    }
}
