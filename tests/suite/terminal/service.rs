//! A machine out of service: the answer that says so, every way around it, the next run, and putting it back. Invented
//! people.

use super::people::{LEARNER, OWNER, register};
use crate::operator::{Operator, Sitting, plain};
use crate::support::{Bench, flowing, told, whole};
use skimgate::book::{Book, Draft};
use skimgate::walk::practice::scores;
use skimgate::walk::store::replay::replay;

const PROMPT: &str = "out of service";
const SEEN: &str = "north is OUT OF SERVICE. Machine homed: `it ran away`, seen by AB in run";
const LOCK_OUT: &str =
    "Do not use the machine. Switch it off, lock it out, and get a competent person.";

/// AB answers that an axis ran away.
fn reports(bench: &Bench) -> Operator {
    let mut at = Sitting::at(bench).walks();
    at.goes(&[("initials", "ab"), ("machine", "north"), ("choose", "c12")]);
    at.goes(&[("choose", "bed-a"), ("confirm", "worn")]);
    at.answers("confirm", "it ran away");
    at.is_shown(&[SEEN, LOCK_OUT], PROMPT);
    at
}

fn takes_up(bench: &Bench) -> Operator {
    let mut at = Sitting::at(bench).walks();
    at.goes(&[("initials", "ab")]);
    at.is_shown(&[SEEN, LOCK_OUT], PROMPT);
    at
}

fn is_held(bench: &Bench) {
    let gate = bench.run(&["gate", "--json"]).ended(3).json();
    let first = &gate["holds"][0];
    let why = first["why"].as_str().unwrap();
    assert!(
        why.contains("is out of service. Machine homed: `it ran away`"),
        "{gate}"
    );
    let clears = first["clears"].as_str().unwrap();
    assert!(clears.contains("lock the machine out"), "{gate}");
    bench.run(&[]).ended(0).tells(&[SEEN, LOCK_OUT]);
}

#[test]
fn a_machine_out_of_service_stays_so_over_runs_until_it_is_put_back_with_a_reason() {
    let bench = Bench::new();
    let mut at = reports(&bench);
    is_held(&bench);
    for (wrong, why) in [
        ("homed", "`homed` does not clear it"),
        ("1", "`1` does not clear it"),
        ("it ran away", "`it ran away` does not clear it"),
        ("clear", "`clear` does not clear it"),
        ("", "Nothing typed"),
        ("back eyes", "nothing is answered before it is put back"),
        ("holds", "the machine is out of service. Machine homed"),
    ] {
        at.types(wrong);
        at.is_shown(&[why], PROMPT);
    }
    at.presses("\x03");
    at.ends(130);
    is_held(&bench);
    let mut at = takes_up(&bench);
    at.types("homed");
    at.is_shown(&["`homed` does not clear it"], PROMPT);
    at.is_cut_off();
    // Given up, and the machine is held all the same.
    let mut at = takes_up(&bench);
    at.types("end");
    at.answers("give up", "give up");
    at.ends(0);
    is_held(&bench);
    bench.run(&["gate", "--machine", "north"]).ended(3).tells(&[
        SEEN,
        LOCK_OUT,
        "no run is open on north",
    ]);
    let other = bench.run(&["gate", "--machine", "south"]).ended(3);
    assert!(!other.out.contains("SERVICE"), "{other:?}");

    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "cd"), ("machine", "north")]);
    at.is_shown(&[SEEN, LOCK_OUT], PROMPT);
    at.types("in service");
    at.answers("initials", "c d");
    at.sees("initials are one to eight letters or digits");
    at.answers("initials", "cd");
    for (wrong, why) in [
        ("homed", "`homed` is not a reason"),
        ("It ran away", "`It ran away` is not a reason"),
        ("7", "`7` is not a reason"),
        ("", "Nothing typed"),
    ] {
        at.answers("reason", wrong);
        at.sees(why);
    }
    at.sees("reason> ");
    at.presses("\x03");
    at.ends(130);
    is_held(&bench);

    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "cd"), (PROMPT, "in service")]);
    at.goes(&[
        ("initials", "no"),
        (PROMPT, "In service"),
        ("initials", "cd"),
    ]);
    at.answers("reason", "new limit switch, tried by EF");
    at.is_shown(
        &["Recorded: north is back in service, by CD", "Which cutter"],
        "choose",
    );
    at.types("leave");
    at.ends(130);
    let gate = bench.run(&["gate", "--json"]).ended(3).json();
    assert!(!gate.to_string().contains("out of service"), "{gate}");
    let open = bench
        .runs()
        .into_iter()
        .find(|run| run["open"] == true)
        .unwrap();
    let open = open["run"].as_str().unwrap();
    let shown = bench.json(&["record", "show", open, "--json"]);
    assert_eq!(
        told(&shown, "back_in_service"),
        ["CD put the machine back in service: new limit switch, tried by EF"]
    );
    assert_eq!(told(&shown, "out_of_service").len(), 1);
    bench.run(&["record", "verify"]).ended(0);
}

#[test]
fn where_people_are_registered_a_trainer_or_an_owner_puts_it_back_with_their_pin() {
    let bench = Bench::new();
    register(&bench);
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[
        ("initials", "cd"),
        ("PIN of CD (not shown)", LEARNER),
        ("machine", "north"),
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("confirm", "worn"),
        ("confirm", "it ran away"),
        (PROMPT, "in service"),
    ]);
    for nobody in ["cd", "zz"] {
        at.answers("initials", nobody);
        at.sees("is no trainer and no owner on the list");
    }
    at.answers("initials", "ab");
    at.answers("PIN of AB (not shown)", LEARNER);
    at.sees("wrong PIN or pass phrase");
    at.answers("PIN of AB (not shown)", OWNER);
    at.answers("reason", "new limit switch, tried by EF");
    at.is_shown(&["back in service, by AB"], "confirm");
    at.types("homed");
    at.sees("value in rpm> ");
    at.types("leave");
    at.ends(130);
    assert!(!plain(&at.screen).contains(OWNER), "{}", at.screen);
    assert_eq!(
        told(&bench.shown(), "back_in_service"),
        ["AB put the machine back in service, with their key: new limit switch, tried by EF"]
    );
    bench.run(&["record", "verify"]).ended(0);
}

/// Put back by hand in the book alone, it is found; and nothing that no person saw is written into a machine's record.
#[test]
fn the_record_of_a_machine_is_held_against_its_runs() {
    let bench = Bench::new();
    let mut at = reports(&bench);
    at.types("leave");
    at.ends(130);
    bench.run(&["record", "verify"]).ended(0);
    let mut book = Book::open(bench.book()).unwrap();
    let entries = book.ledger("machine north").unwrap();
    assert_eq!(entries.len(), 1);
    let forged = Draft {
        at: entries[0].at.clone(),
        kind: "back_in_service".into(),
        version: 1,
        body: r#"{"back_in_service":{"run":"r","reason":"mended","by":"CD"}}"#.into(),
    };
    book.append_to_ledger("machine north", 1, &[forged])
        .unwrap();
    drop(book);
    let verified = bench.run(&["record", "verify"]).ended(4);
    let words = flowing(&verified.out);
    assert!(words.contains("does not hold what its runs say"), "{words}");

    let bench = Bench::new();
    let file = bench.answers("away.yaml", whole(&[("home", "it ran away")]));
    bench
        .walk(&file)
        .ended(3)
        .says(&[SEEN, "it is put back at a terminal"]);
    let book = Book::open(bench.book()).unwrap();
    assert!(book.ledger("machine north").unwrap().is_empty());
}

/// Good answers do not help: the machine was put out of service by a person.
#[test]
fn a_walk_from_a_file_on_a_machine_out_of_service_ends_as_held() {
    let bench = Bench::new();
    let mut at = reports(&bench);
    at.types("end");
    at.answers("give up", "give up");
    at.ends(0);
    let file = bench.answers("whole.yaml", whole(&[]));
    for _ in 0..2 {
        bench
            .walk(&file)
            .ended(3)
            .says(&[SEEN, LOCK_OUT, "it is put back at a terminal"]);
        is_held(&bench);
    }
    let run = &bench.runs()[1];
    assert_eq!(
        (&run["open"], &run["from_file"]),
        (&true.into(), &true.into())
    );
    let shown = bench.json(&["record", "show", run["run"].as_str().unwrap(), "--json"]);
    assert!(told(&shown, "cut_assumed").is_empty());
    assert!(told(&shown, "back_in_service").is_empty());
    assert!(told(&shown, "paused")[0].ends_with("cannot answer what is asked"));
    bench.run(&["record", "verify"]).ended(0);
}

/// In practice as in earnest, and the real machine is not touched by it.
#[test]
fn a_rehearsal_is_held_by_a_state_that_puts_its_machine_out_of_service() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench)
        .command("rehearse")
        .args(&["--drills", "0", "--plain"])
        .walks();
    at.goes(&[("initials", "ab"), ("machine", "north"), ("choose", "c12")]);
    at.goes(&[("choose", "bed-a"), ("confirm", "m glasses on")]);
    at.goes(&[("confirm", "worn"), ("confirm", "it ran away")]);
    at.is_shown(&[SEEN, LOCK_OUT], PROMPT);
    at.types("homed");
    at.is_shown(&["`homed` does not clear it"], PROMPT);
    // A stop is taken up again at once, and clears nothing.
    at.types("stop planned");
    at.is_shown(&["The run is taken up again now", SEEN], PROMPT);
    at.types("in service");
    at.goes(&[("initials", "ab"), ("reason", "the limit switch is clean")]);
    at.is_shown(&["back in service, by AB", "Machine homed"], "confirm");
    at.presses("\x03");
    at.ends(130);
    assert!(!bench.book().exists(), "a real book was made");
    let practice = Book::open(scores::beside(&bench.book())).unwrap();
    assert!(practice.ledger("machine north").unwrap().is_empty());
    let run = &practice.runs().unwrap()[0].run;
    replay(&practice, run).unwrap();
    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "ab"), ("machine", "north")]);
    at.is_shown(&["Which cutter"], "choose");
    at.types("leave");
    at.ends(130);
}

/// An owner who takes the run over from the terminal that reported it is asked for it like anybody else.
#[test]
fn a_machine_out_of_service_stays_so_when_an_owner_takes_the_run_over() {
    let bench = Bench::new();
    register(&bench);
    let mut first = Sitting::at(&bench).walks();
    first.goes(&[
        ("initials", "cd"),
        ("PIN of CD (not shown)", LEARNER),
        ("machine", "north"),
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("confirm", "worn"),
        ("confirm", "homed"),
        ("value in rpm", "back home"),
        ("confirm", "it ran away"),
    ]);
    first.sees("out of service> ");
    let mut at = Sitting::at(&bench).command("walk --take-over").walks();
    at.goes(&[("initials", "ab"), ("PIN of AB (not shown)", OWNER)]);
    let seen = SEEN.replace("seen by AB", "seen by CD");
    at.is_shown(&[&seen, LOCK_OUT], PROMPT);
    at.types("homed");
    at.is_shown(&["`homed` does not clear it"], PROMPT);
    first.types("homed");
    first.ends(3);
    first.has_seen(&["was taken over by AB at another terminal"]);
    let gate = bench.run(&["gate", "--json"]).ended(3).json();
    assert!(gate.to_string().contains("is out of service"), "{gate}");
    at.types("in service");
    at.goes(&[
        ("initials", "ab"),
        ("PIN of AB (not shown)", OWNER),
        ("reason", "new limit switch, tried by EF"),
    ]);
    at.is_shown(&["back in service, by AB"], "confirm");
    at.types("leave");
    at.ends(130);
    let shown = bench.shown();
    assert_eq!(told(&shown, "taken_over").len(), 1);
    assert_eq!(
        told(&shown, "back_in_service"),
        ["AB put the machine back in service, with their key: new limit switch, tried by EF"]
    );
    bench.run(&["record", "verify"]).ended(0);
}
