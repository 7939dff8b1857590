//! The explorations.

use crate::explore::explore;
use crate::table::{CODES, PASSES, TINY, Table, Val};
use crate::world::Scope;
use std::time::Instant;

/// The smallest useful scope; the others extend it.
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

/// People on a list who sign with keys. The list can change to any other list.
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

/// Hold points that a trainer must sign. The list does not change.
pub const TAUGHT: Scope = Scope {
    taught: true,
    lists: &[],
    ..SIGNERS
};

/// An owner takes the run over from terminals that hang and continue later. The owner can be retired or lose the role.
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
            scope.in_words(&way)
        );
    }
    if let Some(way) = found.stuck {
        panic!(
            "{name}: nothing leads to the end after {}",
            scope.in_words(&way)
        );
    }
}

/// Without optimisation the bounds are narrower, because this test runs every time.
const WIDE: bool = cfg!(not(debug_assertions));

/// The table, reduced to a single roughing pass where two would take too long.
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

/// Always two passes, also with narrow bounds.
#[test]
fn one_person() {
    holds("one person", SCOPE);
}

/// Active codes typed in lines and in parts, compared with two programs and with the reading before.
#[test]
fn active_codes() {
    let table: &Table = if WIDE {
        &CODES
    } else {
        &Table {
            most_passes: 1,
            ..CODES
        }
    };
    holds(
        "active codes",
        Scope {
            table,
            files: if WIDE { &[0, 1] } else { &[0] },
            ..SCOPE
        },
    );
}

/// Every answer, change and reason, by one person with a clock that stands still.
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

/// Stops that are explained later or by another person, and a machine that may have changed in the meantime.
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

/// Time that passes or is set back, and answers and releases that lapse.
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

/// Another terminal asks whether cycle start is released, while time passes and is set back.
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

/// Two people who hand the run over, resume it after a crash, and sign for each other.
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

/// A learner and a trainer who sign with keys, each alone, with the other or twice as the same person, and either of
/// them takes the run over. The list of people does not change.
#[test]
fn two_signers() {
    let lists: &[u8] = &[];
    holds("two signers", Scope { lists, ..SIGNERS });
}

/// As before, with hold points that a trainer must sign.
#[test]
fn a_hold_point_for_a_trainer() {
    holds("a hold point for who teaches", TAUGHT);
}

/// As before, while people are retired, get new keys or lose the trainer's role. The test of planted faults searches
/// the same worlds in every test run.
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

/// The run is taken over from a terminal that no longer exists, and from one that hangs and continues later with the
/// old state; by people who may and may not do so, with a valid and an invalid key, while the owner is retired or loses
/// the role.
#[test]
#[ignore = "takes a minute with --release, longer without; run it with -- --ignored after a change to taking over"]
fn taking_over() {
    holds("taking over", TAKERS);
}

/// The run is resumed from an answers file and at a terminal, in turn.
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

/// One person finds the machine out of service before and after the sign-off.
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

/// As before, in a run that is also resumed from an answers file, which cannot put a machine back. Such a run can only
/// be abandoned, so no path leads to its completion.
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

/// As before, with people on a list, of whom one may put the machine back.
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

/// The program file changes, disappears and comes back.
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

/// Two people with a clock that runs and is set back: a quarter of a million worlds.
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

/// A rehearsal cannot be cut, so it cannot be completed. All other properties are true for it.
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
