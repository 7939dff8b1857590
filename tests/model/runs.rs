//! The explorations.

use crate::explore::explore;
use crate::table::{PASSES, TINY, Table, Val};
use crate::world::Scope;
use std::time::Instant;

/// The least that is worth exploring; others widen it.
pub const SCOPE: Scope = Scope {
    table: &TINY,
    rehearsal: false,
    people: 1,
    signers: false,
    taught: false,
    lists: &[],
    files: &[0],
    backs: 0,
    ticks: false,
    stops: false,
    behind: 2,
    wakes: false,
    from_file: false,
    asks: false,
    service: false,
    terminals: false,
    without: &[Val::Word("c16"), Val::Um(300), Val::Word("south")],
    fault: None,
};

/// People on a list, signing with keys; the list can become any of the others.
pub const SIGNERS: Scope = Scope {
    people: 2,
    signers: true,
    lists: &[1, 2, 3, 4, 5, 6],
    table: &Table {
        most_passes: 1,
        ..TINY
    },
    ..SCOPE
};

/// Hold points for who teaches; the list stays as it is.
pub const TAUGHT: Scope = Scope {
    taught: true,
    lists: &[],
    ..SIGNERS
};

/// An owner takes the run over from terminals that hang and wake up; the list can lose the owner or take the role away.
pub const TAKERS: Scope = Scope {
    lists: &[1, 4, 5, 6],
    behind: 1,
    wakes: true,
    ..SIGNERS
};

fn holds(name: &str, scope: Scope) {
    let began = Instant::now();
    let found = explore(scope.clone(), 2, false);
    println!(
        "{name}: {} states, {} steps, at most {} deep, {:.1?}",
        found.states,
        found.steps,
        found.deepest,
        began.elapsed()
    );
    if let Some((property, seen, way)) = found.broken {
        panic!(
            "{name}: `{property}` does not hold ({seen}) after {}",
            scope.tell(&way)
        );
    }
    if let Some(way) = found.stuck {
        panic!(
            "{name}: nothing leads to the end after {}",
            scope.tell(&way)
        );
    }
}

/// Without optimisation the bounds are narrower: this has to stay bearable in every test run.
const WIDE: bool = cfg!(not(debug_assertions));

/// The tables, cut down to a single roughing pass where two would take too long.
const TINY_NOW: &Table = if WIDE {
    &TINY
} else {
    &Table {
        most_passes: 1,
        ..TINY
    }
};
const PASSES_NOW: &Table = if WIDE {
    &PASSES
} else {
    &Table {
        most_passes: 1,
        ..PASSES
    }
};

/// Two passes, whatever the bounds.
#[test]
fn one_person() {
    holds("one person", SCOPE);
}

/// Every answer, change and reason, by one person on a clock that stands still.
#[test]
fn answers_and_reasons() {
    let without: &[Val] = if WIDE { &[] } else { &[Val::Word("south")] };
    holds(
        "answers and reasons",
        Scope {
            without,
            table: TINY_NOW,
            ..SCOPE
        },
    );
}

#[test]
fn touches_and_passes() {
    holds(
        "touches and passes",
        Scope {
            table: PASSES_NOW,
            without: &[],
            ..SCOPE
        },
    );
}

/// Stops that are explained later or by somebody else, and a machine that may not have stayed as it was meanwhile.
#[test]
fn stops_and_their_causes() {
    holds(
        "stops and their causes",
        Scope {
            stops: true,
            people: 1 + u8::from(WIDE),
            table: TINY_NOW,
            ..SCOPE
        },
    );
}

/// Time going by, set back, and answers and releases that lapse.
#[test]
fn the_clock() {
    holds(
        "the clock",
        Scope {
            ticks: true,
            backs: u8::from(WIDE),
            table: TINY_NOW,
            ..SCOPE
        },
    );
}

/// Somebody elsewhere asking whether cycle start is released, while time goes by and is set back.
#[test]
fn asked_elsewhere() {
    holds(
        "asked elsewhere",
        Scope {
            ticks: true,
            backs: 1,
            asks: true,
            table: TINY_NOW,
            ..SCOPE
        },
    );
}

/// Two people handing over, taking over after a crash, signing for each other.
#[test]
fn two_people() {
    holds(
        "two people",
        Scope {
            people: 2,
            table: TINY_NOW,
            ..SCOPE
        },
    );
}

/// A learner and one who teaches, signing with keys, each alone, beside each other and beside themselves, and either of
/// them taking the run over. The list of people stays as it is.
#[test]
fn two_signers() {
    let lists: &[u8] = &[];
    holds("two signers", Scope { lists, ..SIGNERS });
}

/// The same where the hold points are for who teaches.
#[test]
fn a_hold_point_for_who_teaches() {
    holds("a hold point for who teaches", TAUGHT);
}

/// The same while people are retired, get new keys, teach no more. The planted faults look for their ways in the same
/// worlds in every test run.
#[test]
#[ignore = "takes minutes; run it with --release and -- --ignored after a change to signing"]
fn two_signers_on_a_changing_list() {
    for (name, lists) in [
        ("the teacher is retired", &[1, 5][..]),
        ("the learner is retired", &[2]),
        ("the learner has a new key", &[3]),
        ("the teacher teaches no more", &[4, 6]),
    ] {
        holds(name, Scope { lists, ..SIGNERS });
    }
}

/// The run taken over from a terminal that is gone, and from one that hangs and wakes up with the run as it was; by who may
/// and who may not, with the key that counts and another, while the owner is retired or is one no more.
#[test]
#[ignore = "takes a minute with --release, longer without; run it with -- --ignored after a change to taking over"]
fn taking_over() {
    holds("taking over", TAKERS);
}

/// The run taken up from an answers file and at a terminal, in turn.
#[test]
fn answers_from_a_file() {
    holds(
        "answers from a file",
        Scope {
            from_file: true,
            table: TINY_NOW,
            ..SCOPE
        },
    );
}

/// The machine found out of service before and after it is signed for, by one person.
#[test]
fn out_of_service() {
    holds(
        "out of service",
        Scope {
            service: true,
            table: &Table {
                most_passes: 1,
                ..TINY
            },
            ..SCOPE
        },
    );
}

/// The same in a run that is taken up from an answers file too, which puts no machine back. A run that a file took up out of
/// service is ended, so none of its ways leads to the end.
#[test]
fn out_of_service_and_a_file() {
    let scope = Scope {
        service: true,
        from_file: true,
        table: &Table {
            most_passes: 1,
            ..TINY
        },
        ..SCOPE
    };
    let found = explore(scope, 2, false);
    println!(
        "out of service and a file: {} states, {} steps, at most {} deep",
        found.states, found.steps, found.deepest
    );
    assert!(found.broken.is_none(), "{:?}", found.broken);
    assert!(found.stuck.is_some());
}

/// The same among people on a list, of whom one may put it back.
#[test]
fn out_of_service_among_signers() {
    holds(
        "out of service among signers",
        Scope {
            service: true,
            lists: &[],
            ..SIGNERS
        },
    );
}

/// The program file changing, going, and coming back.
#[test]
fn the_program_file() {
    holds(
        "the program file",
        Scope {
            files: &[0, 1, 2],
            table: TINY_NOW,
            ..SCOPE
        },
    );
}

#[test]
fn two_terminals() {
    holds(
        "two terminals",
        Scope {
            terminals: true,
            table: TINY_NOW,
            ..SCOPE
        },
    );
}

/// Two people on a clock that goes on and is set back: a quarter of a million worlds.
#[test]
#[ignore = "takes minutes even with --release; run it with -- --ignored after a change to the interlock"]
fn people_and_clock() {
    holds(
        "people and clock",
        Scope {
            people: 2,
            ticks: true,
            backs: 1,
            table: TINY_NOW,
            ..SCOPE
        },
    );
}

/// A rehearsal cannot be cut, so it cannot come to its end; everything else holds of it.
#[test]
fn a_rehearsal() {
    let scope = Scope {
        rehearsal: true,
        people: 2,
        files: &[0, 1],
        table: TINY_NOW,
        ..SCOPE
    };
    let found = explore(scope.clone(), 2, false);
    println!(
        "rehearsal: {} states, {} steps, at most {} deep",
        found.states, found.steps, found.deepest
    );
    assert!(found.broken.is_none(), "{:?}", found.broken);
    assert_eq!(found.stuck, Some(Vec::new()));
}
