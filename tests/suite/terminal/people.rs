//! Registered people: PINs at a hidden prompt, signatures with keys, second signers, and what a record proves of them.
//! Invented people.

use crate::operator::{Operator, Sitting, plain};
use crate::support::{Bench, flowing};
use skimgate::book::{Book, Draft, Entry};
use skimgate::clock::{Clock, SystemClock};
use skimgate::people::{Event, Signed};
use skimgate::quantity::moment::Moment;
use skimgate::walk::store::people_list;

pub(crate) const OWNER: &str = "a longer phrase of AB";
pub(crate) const LEARNER: &str = "730154";

pub(crate) fn people(bench: &Bench, words: &str) -> Operator {
    let sitting = Sitting::at(bench);
    let command = sitting.other_command(&format!("people {words}"));
    sitting.does(&format!("exec {command}"))
}

/// The kinds of the entries in the list of people.
pub(super) fn kinds(bench: &Bench) -> Vec<String> {
    let book = Book::open_existing(bench.book()).unwrap();
    let entries = book.ledger("people").unwrap();
    entries.into_iter().map(|e| e.kind).collect()
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
        ("new PIN (not shown)", "qweasd"),
        ("new PIN (not shown)", "cd4821"),
        ("new PIN (not shown)", LEARNER),
        ("the same again (not shown)", LEARNER),
    ]);
    at.ends(0);
    at.has_seen(&[
        "at least 6 characters",
        "tried first: it repeats one part over and over",
        "tried first: it is a run of neighbouring keys, digits or letters",
        "tried first: it is made of the person's own initials",
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
            "RELEASED to CD, once",
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
    assert_eq!(
        kinds(&bench),
        [
            "added",
            "recovery_made",
            "added",
            "wrong_pin",
            "wrong_pin",
            "wrong_pin"
        ]
    );
    at.has_seen(&["`skimgate people key AB --recovery` asks for your recovery code"]);
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
    let history = bench.json(&["people", "history", "--json"]);
    assert_eq!(history["entries"].as_array().unwrap().len(), 6);
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
    assert_eq!(files.len(), 3);
    for file in &files {
        assert_eq!(mode(file), 0o600, "{}", file.display());
    }

    // Loosened since, they are made private before a PIN is asked for, and that is said: the key may have been copied.
    let loosen = |path: &std::path::Path, mode| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    for (loosened, wide) in [(&files, 0o644), (&vec![folder.clone().into()], 0o750)] {
        for path in loosened {
            loosen(path, wide);
        }
        let mut at = Sitting::at(&bench).walks();
        at.answers("initials", "cd");
        at.is_shown(
            &[
                "Other accounts of this computer had rights to the key of CD or its folder. Both are private again.",
                "`skimgate people key CD`",
            ],
            "PIN of CD (not shown)",
        );
        at.presses("\x03");
        at.ends(130);
        assert_eq!(mode(std::path::Path::new(&folder)), 0o700);
        let own = files.iter().find(|f| f.to_string_lossy().contains("CD-"));
        assert_eq!(mode(own.unwrap()), 0o600);
        let mut at = Sitting::at(&bench).walks();
        at.answers("initials", "cd");
        let shown = at.sees("PIN of CD (not shown)> ");
        assert!(!shown.contains("Other accounts"), "{shown}");
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
    let mut all: Vec<Entry> = Vec::new();
    for ledger in old.ledgers().unwrap() {
        all.extend(old.ledger(&ledger).unwrap());
    }
    all.extend(old.entries(&run.run).unwrap());
    all.sort_by_key(|e| e.seq);
    let begun = skimgate::walk::store::log::load(&old, &run.run)
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
            "is not a sign-off: it was signed for another state of the run",
        ),
        (
            "\"initials\":\"AB\",\"proof\"",
            "\"initials\":\"CD\",\"proof\"",
            "the second signer must be another person than CD",
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

/// Many prompts that were all open before the first wrong PIN: together they are allowed what one prompt is. Real processes,
/// a terminal each; `SKIMGATE_TEST_PROMPTS=100` opens a hundred.
#[test]
fn parallel_prompts_try_no_more_pins_than_one() {
    let prompts = std::env::var("SKIMGATE_TEST_PROMPTS");
    let prompts: usize = prompts.map_or(12, |n| n.parse().unwrap());
    let bench = Bench::new();
    register(&bench);
    let mut open: Vec<Operator> = (0..prompts)
        .map(|_| people(&bench, "change cd --role operator,trainer"))
        .collect();
    for at in &mut open {
        at.sees("PIN of AB (not shown)> ");
    }
    // The last one has the right phrase, typed when the prompt has shut.
    let mut last = open.pop().unwrap();
    let (mut tried, mut refused) = (0, 0);
    for at in &mut open {
        at.types("not the phrase");
    }
    for at in &mut open {
        at.sees("Not taken: ");
        match at.sees("PIN").as_str() {
            "wrong PIN" => tried += 1,
            "the PIN" => refused += 1,
            other => panic!("`{other}` after: {}", at.screen),
        }
    }
    println!("{prompts} prompts open, {tried} PINs tried, {refused} not tried");
    assert_eq!((tried, refused), (3, prompts - 4));
    assert_eq!(
        kinds(&bench),
        [
            "added",
            "recovery_made",
            "added",
            "wrong_pin",
            "wrong_pin",
            "wrong_pin"
        ]
    );
    last.types(OWNER);
    last.ends(3);
    last.has_seen(&["the PIN was not tried"]);
    assert_eq!(kinds(&bench).len(), 6);
    bench.run(&["record", "verify"]).ended(0);
}

/// Bytes that are no text would all read the same, so none of them is tried, and none becomes a PIN.
#[test]
fn bytes_that_are_no_text_are_no_pin() {
    let bench = Bench::new();
    register(&bench);
    let mut at = people(&bench, "add ef --machines none");
    at.answers("PIN of AB (not shown)", OWNER);
    at.sees("new PIN (not shown)> ");
    at.presses(b"\xe4\xf6\xfc\xe4\xf6\xfc\r");
    at.sees("Not taken: some of these keys gave bytes that are no UTF-8");
    at.goes(&[
        ("new PIN (not shown)", "918273"),
        ("the same again (not shown)", "918273"),
    ]);
    at.ends(0);
    let mut at = people(&bench, "retire ef");
    at.sees("PIN of AB (not shown)> ");
    at.presses(b"\xff\xfe\xfd\xff\xfe\xfd\r");
    at.sees("Not taken: some of these keys");
    at.sees("PIN of AB (not shown)> ");
    at.presses("\x03");
    at.ends(130);
    assert_eq!(kinds(&bench), ["added", "recovery_made", "added", "added"]);
}

/// A wrong PIN on record from a clock that stood a year ahead: the wait begins anew, once, and then ends.
#[test]
fn an_entry_dated_ahead_shuts_no_prompt_for_ever() {
    const YEAR_MS: i64 = 365 * 24 * 3_600_000;
    let bench = Bench::new();
    register(&bench);
    let now = || SystemClock.now();
    let later = |ms: i64| Moment::from_ms(now().as_ms() + ms).unwrap();
    let mut book = Book::open(bench.book()).unwrap();
    let mut list = people_list::load(&book).unwrap();
    for _ in 0..3 {
        let initials = "AB".to_owned();
        let wrong = Signed::of_prompt(Event::WrongPin { initials });
        people_list::append(&mut book, &mut list, later(YEAR_MS), &wrong).unwrap();
    }
    assert!(list.shut_for("AB", later(31_000)).is_some());
    for _ in 0..2 {
        let mut at = people(&bench, "retire cd");
        at.ends(3);
        at.has_seen(&["too many wrong PINs for AB. The prompt for this PIN is shut for"]);
    }
    let kinds = kinds(&bench);
    assert_eq!(kinds.iter().filter(|k| *k == "wait_restarted").count(), 1);
    let list = people_list::load(&book).unwrap();
    assert!(list.shut_for("AB", now()).is_some());
    assert_eq!(list.shut_for("AB", later(31_000)), None);
    bench
        .run(&["people", "history"])
        .ended(0)
        .tells(&["The clock stood before the last wrong PIN for AB; the wait began anew."]);
    bench.run(&["record", "verify"]).ended(0);
}

/// While the key is being opened, and after, nothing that is typed stands on the screen or answers the next question.
#[test]
fn what_is_typed_after_a_pin_is_neither_shown_nor_taken() {
    const TWICE: &str = "730154730154";
    let bench = Bench::new();
    register(&bench);
    let mut at = Sitting::at(&bench).walks();
    at.answers("initials", "cd");
    at.sees("PIN of CD (not shown)> ");
    at.presses(format!("{LEARNER}\r{TWICE}\r"));
    at.sees("machine> ");
    assert!(!plain(&at.screen).contains(TWICE), "{}", at.screen);
    assert!(
        !plain(&at.screen).contains("is no machine"),
        "{}",
        at.screen
    );
    at.types("north");
    at.sees("choose> ");
    // A PIN typed where a word is asked for: its length is stored, not itself.
    at.types(LEARNER);
    at.sees("Not taken");
    at.presses("\x03");
    at.ends(130);
    let shown = bench.shown().to_string();
    assert!(!shown.contains(LEARNER), "{shown}");
    assert!(shown.contains("(6 characters, not recorded)"), "{shown}");
}
