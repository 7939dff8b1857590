//! Taking a run over from a terminal that lives: by an owner's signature, and then the other can write nothing more.
//! Invented people.

use super::people::{LEARNER, OWNER, register, released};
use crate::operator::{Operator, Sitting, plain};
use crate::support::{Bench, flowing, told};

fn takes_over(bench: &Bench) -> Operator {
    Sitting::at(bench).command("walk --take-over").walks()
}

#[test]
fn an_owner_takes_over_and_the_other_terminal_ends_at_its_next_entry() {
    let bench = Bench::new();
    register(&bench);
    let mut first = released(&bench);
    bench.run(&["gate"]).ended(0);
    let mut at = takes_over(&bench);
    at.answers("initials", "cd");
    let shown = flowing(&plain(&at.sees("initials> ")));
    assert!(shown.contains("only an owner takes a run over"), "{shown}");
    // Until it is signed for, nothing has changed.
    bench.run(&["gate"]).ended(0);
    at.types("ab");
    at.answers("PIN of AB (not shown)", OWNER);
    at.answers("machine since", "kept");
    at.is_shown(
        &[
            "The run is taken over by AB. Recorded, signed by AB.",
            "answered by CD, but each operator must answer it",
        ],
        "confirm",
    );
    at.types("worn");
    bench.run(&["gate"]).ended(3);
    first.types("started");
    first.ends(3);
    first.has_seen(&["was taken over by AB at another terminal"]);
    // The machine is still the new terminal's, now that the old one is gone.
    let mut third = Sitting::at(&bench).walks();
    third.answers("run", "1");
    third.ends(3);
    third.has_seen(&["is in use at another terminal"]);
    let shown = flowing(&plain(&at.answers("initials", "ab")));
    assert!(
        shown.contains("no longer holds: the run was handed over by CD"),
        "{shown}"
    );
    let code = at.reads_code();
    at.types(&code);
    at.answers("PIN of AB (not shown)", OWNER);
    at.is_shown(&["RELEASED to AB, once"], "started");
    bench.run(&["gate"]).ended(0);
    at.types("leave");
    at.ends(130);
    let run = bench.only_run();
    bench
        .run(&["record", "show", &run])
        .ended(0)
        .tells(&["taken over by AB as owner, with their key, from the terminal where CD had it"]);
    bench.run(&["record", "verify"]).ended(0);
    // A crash or a leave afterwards is as any other: nobody has to sign for taking the run up.
    let mut at = Sitting::at(&bench).walks();
    at.answers("initials", "cd");
    at.answers("PIN of CD (not shown)", LEARNER);
    at.answers("machine since", "kept");
    at.sees("CD takes over from AB");
}

/// Four terminals sign at once; whoever was recorded last has the run, and no other writes to it.
#[test]
fn of_several_that_take_over_at_once_one_can_write() {
    let bench = Bench::new();
    register(&bench);
    let first = released(&bench);
    let mut all: Vec<Operator> = (0..3)
        .map(|_| {
            let mut at = takes_over(&bench);
            at.answers("initials", "ab");
            at.sees("PIN of AB (not shown)> ");
            at
        })
        .collect();
    for at in &mut all {
        at.presses(format!("{OWNER}\r"));
        at.answers("machine since", "kept");
    }
    for at in &mut all {
        at.sees("confirm> ");
    }
    all.push(first);
    for at in &mut all {
        at.presses("leave\r");
    }
    let mut left = 0;
    for mut at in all {
        match at.leaves() {
            130 => left += 1,
            code => {
                assert_eq!(code, 3, "{}", at.screen);
                at.has_seen(&["was taken over by AB at another terminal"]);
            }
        }
    }
    assert_eq!(left, 1);
    assert_eq!(told(&bench.shown(), "paused").len(), 1);
    assert_eq!(told(&bench.shown(), "taken_over").len(), 3);
    bench.run(&["record", "verify"]).ended(0);
}

#[test]
fn without_an_owner_nothing_is_taken_over() {
    let bench = Bench::new();
    let mut first = Sitting::at(&bench).walks();
    first.goes(&[("initials", "ab"), ("machine", "north")]);
    first.sees("choose> ");
    let mut at = takes_over(&bench);
    at.ends(3);
    at.has_seen(&["an owner signs for taking a run over, and nobody is registered"]);
    first.types("c12");
    first.is_shown(&["Which plate"], "choose");
}
