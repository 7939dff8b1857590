//! The explorations.

use crate::check::TAKES_OVER;
use crate::explore::explore;
use crate::fault::Fault;
use crate::table::{PASSES, TINY, Table, Val};
use crate::world::Scope;
use std::time::Instant;

/// The least that is worth exploring; others widen it.
const SCOPE: Scope = Scope {
    table: &TINY,
    rehearsal: false,
    people: 1,
    signers: false,
    lists: &[],
    files: &[0],
    backs: 0,
    ticks: false,
    terminals: false,
    without: &[Val::Word("c16"), Val::Um(300), Val::Word("south")],
    fault: None,
};

/// People on a list, signing with keys; the list can become any of the others.
const SIGNERS: Scope = Scope {
    people: 2,
    signers: true,
    lists: &[1, 2, 3, 4, 5, 6],
    table: &Table {
        most_passes: 1,
        ..TINY
    },
    ..SCOPE
};

const SIGNATURES: &str = "no start without its signatures";

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

/// Each planted fault is found, as the property it breaks and at the end of a shortest way of this many steps.
#[test]
fn every_planted_fault_is_found() {
    let clock = Scope {
        ticks: true,
        backs: 1,
        ..SCOPE
    };
    let people = Scope { people: 2, ..SCOPE };
    let files = Scope {
        files: &[0, 1],
        ..SCOPE
    };
    let reasons = Scope {
        without: &[Val::Word("south")],
        ..SCOPE
    };
    let terminals = Scope {
        terminals: true,
        ..SCOPE
    };
    let rehearsal = Scope {
        rehearsal: true,
        ..SCOPE
    };
    let cases = [
        (
            Fault::SignatureOutlivesChange,
            &SCOPE,
            "no signature outlives a change",
            8,
        ),
        (
            Fault::HandoverKeepsRelease,
            &people,
            "a release dies with any change",
            9,
        ),
        (
            Fault::StartSpendsNothing,
            &SCOPE,
            "a release dies with any change",
            9,
        ),
        (
            Fault::StartNeedsNoRelease,
            &SCOPE,
            "no release used twice",
            8,
        ),
        (
            Fault::ReleaseNeverLapses,
            &clock,
            "no start without every condition",
            11,
        ),
        (
            Fault::NothingGoesStale,
            &clock,
            "signed only over what holds",
            8,
        ),
        (
            Fault::ClockBackUnseen,
            &clock,
            "signed only over what holds",
            11,
        ),
        (
            Fault::HardTakenForSoft,
            &reasons,
            "a hard limit never passes",
            5,
        ),
        (
            Fault::HandoverKeepsAnswers,
            &people,
            "signed only over what holds",
            8,
        ),
        (
            Fault::ProgramNotLookedAt,
            &files,
            "no release without every condition",
            9,
        ),
        (Fault::OldViewMayWrite, &terminals, "never two holders", 3),
        (
            Fault::RehearsalReleases,
            &rehearsal,
            "a rehearsal never releases",
            8,
        ),
        (
            Fault::OnlyDirectFalls,
            &reasons,
            "a reason covers its own value only",
            7,
        ),
        (
            Fault::EmergencyLeavesPositions,
            &SCOPE,
            "every number is right",
            7,
        ),
        (
            Fault::ReasonOutlivesValue,
            &reasons,
            "a reason covers its own value only",
            6,
        ),
        (
            Fault::LeavingHoldsNothing,
            &SCOPE,
            "no release without every condition",
            9,
        ),
        (
            Fault::CompleteTooSoon,
            &SCOPE,
            "complete only when all is done",
            1,
        ),
        (Fault::LeftForGood, &SCOPE, "some way leads to the end", 1),
        (Fault::LearnerRunsAlone, &SIGNERS, SIGNATURES, 7),
        (Fault::OneSignsTwice, &SIGNERS, SIGNATURES, 7),
        (Fault::RetiredSignerCounts, &SIGNERS, SIGNATURES, 9),
        (Fault::OldKeyCounts, &SIGNERS, SIGNATURES, 9),
        (Fault::AnybodyBeside, &SIGNERS, SIGNATURES, 9),
        (Fault::StartByOldList, &SIGNERS, SIGNATURES, 10),
        (Fault::AnybodyTakesOver, &SIGNERS, TAKES_OVER, 1),
        (
            Fault::TakeOverKeepsRelease,
            &SIGNERS,
            "a release dies with any change",
            10,
        ),
    ];
    let mut wrong = Vec::new();
    for (fault, scope, property, length) in cases {
        let scope = Scope {
            fault: Some(fault),
            ..scope.clone()
        };
        let found = explore(scope.clone(), 1, true);
        let told = match (found.broken, found.stuck) {
            (Some((name, seen, way)), _) => Some((name, seen, way)),
            (None, Some(way)) => Some(("some way leads to the end", String::new(), way)),
            (None, None) => None,
        };
        let Some((name, seen, way)) = told else {
            wrong.push(format!("{fault:?} is not found in {} states", found.states));
            continue;
        };
        let steps = way.len();
        println!(
            "{fault:?}: `{name}` ({seen}) after {steps} steps, {} states: {}",
            found.states,
            scope.tell(&way)
        );
        if (name, steps) != (property, length) {
            wrong.push(format!(
                "{fault:?}: `{name}` after {steps}, expected `{property}` after {length}"
            ));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
