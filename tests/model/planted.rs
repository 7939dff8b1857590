//! The planted faults: the test checks that each is found, and after how many steps.

use crate::check::{
    CODES_AGREE, EXPLAINED, LIVES_AGAIN, OF_PERSON, ORIGIN_SAID, PUTS_BACK, SERVICE, STAYED,
    TAKES_OVER,
};
use crate::explore::explore;
use crate::fault::Fault;
use crate::runs::{SCOPE, SIGNERS, TAKERS, TAUGHT};
use crate::table::{CODES, PASSES, Val};
use crate::world::Scope;

const SIGNATURES: &str = "no start without its signatures";

/// Each planted fault is found as the property that it breaks, after a shortest path of this many steps.
#[test]
fn every_planted_fault_is_found() {
    let clock = Scope {
        ticks: true,
        backs: 1,
        ..SCOPE
    };
    let asked = Scope {
        asks: true,
        ..clock.clone()
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
    let passes = Scope {
        table: &PASSES,
        ..SCOPE
    };
    let stops = Scope {
        stops: true,
        ..SCOPE
    };
    let from_file = Scope {
        from_file: true,
        ..SCOPE
    };
    let rehearsal = Scope {
        rehearsal: true,
        ..SCOPE
    };
    let service = Scope {
        service: true,
        ..SCOPE
    };
    let service_from_file = Scope {
        from_file: true,
        ..service.clone()
    };
    let signed_service = Scope {
        service: true,
        ..SIGNERS
    };
    let codes = Scope {
        table: &CODES,
        files: &[0, 1],
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
            Fault::LongReleaseCounts,
            &clock,
            "no start without every condition",
            11,
        ),
        (Fault::FileTakesUpCut, &from_file, OF_PERSON, 10),
        (Fault::LapsedLivesAgain, &asked, LIVES_AGAIN, 13),
        (
            Fault::FileReleases,
            &from_file,
            "a run from a file is never released",
            9,
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
            Fault::HitLeavesHeights,
            &passes,
            "signed only over what holds",
            5,
        ),
        (Fault::StopNeedsNoCause, &stops, EXPLAINED, 2),
        (Fault::OtherAnswerClears, &service, SERVICE, 4),
        (Fault::LeavingClears, &service, SERVICE, 5),
        (Fault::NoReasonNeeded, &service, PUTS_BACK, 4),
        (Fault::FilePutsBack, &service_from_file, PUTS_BACK, 5),
        (Fault::AnybodyPutsBack, &signed_service, PUTS_BACK, 4),
        (
            Fault::PowerLostKeepsHome,
            &stops,
            "every number is right",
            7,
        ),
        (
            Fault::LostInCutKeepsHome,
            &stops,
            "every number is right",
            12,
        ),
        (Fault::MachineNotAskedAbout, &stops, STAYED, 4),
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
        (Fault::AnyRoleSigns, &TAUGHT, SIGNATURES, 7),
        (Fault::StartByOldList, &SIGNERS, SIGNATURES, 10),
        (Fault::AnybodyTakesOver, &SIGNERS, TAKES_OVER, 1),
        (
            Fault::TakeOverKeepsRelease,
            &SIGNERS,
            "a release dies with any change",
            10,
        ),
        (
            Fault::TakeOverKeepsSignature,
            &SIGNERS,
            "no signature outlives a change",
            9,
        ),
        (Fault::AnyKeyTakesOver, &TAKERS, TAKES_OVER, 1),
        (Fault::OldHolderMayWrite, &TAKERS, "never two holders", 2),
        (Fault::StopSaysNoOrigin, &SCOPE, ORIGIN_SAID, 1),
        (Fault::OtherOffsetPasses, &codes, CODES_AGREE, 2),
        (Fault::ReadingsMayDiffer, &codes, CODES_AGREE, 3),
        (Fault::LeftOverNeedsNoReason, &codes, CODES_AGREE, 2),
    ];
    let mut wrong = Vec::new();
    for (fault, scope, property, length) in cases {
        let scope = Scope {
            fault: Some(fault),
            ..scope.clone()
        };
        let found = explore(scope.clone(), 1, true);
        let found_as = match (found.broken, found.stuck) {
            (Some((name, seen, way)), _) => Some((name, seen, way)),
            (None, Some(way)) => Some(("some way leads to the end", String::new(), way)),
            (None, None) => None,
        };
        let Some((name, seen, way)) = found_as else {
            wrong.push(format!("{fault:?} is not found in {} states", found.states));
            continue;
        };
        let steps = way.len();
        println!(
            "{fault:?}: `{name}` ({seen}) after {steps} steps, {} states: {}",
            found.states,
            scope.in_words(&way)
        );
        if (name, steps) != (property, length) {
            wrong.push(format!(
                "{fault:?}: `{name}` after {steps}, expected `{property}` after {length}"
            ));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
