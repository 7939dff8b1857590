//! Tests: who may take a run over from a running terminal, what that invalidates, and what other terminals see.
//! Invented people.

use super::answer::Proof;
use super::command::Command;
use super::crew::{hold_point, key, listed, signed_by, without};
use super::elsewhere::Elsewhere;
use super::event::{Event, Outcome};
use super::gate::{Held, Hold, HoldReason, LatestSeen, Requester, start};
use super::refusal::Refusal;
use super::signing::SignFault;
use super::stopping::MachineContinuity;
use super::testing::TestRun;
use crate::people::People;
use std::sync::Arc;

fn take_over(
    rig: &mut TestRun,
    by: &str,
    signature: String,
    people: People,
) -> Result<Vec<Event>, Refusal> {
    rig.try_do(Command::TakeOver {
        by: by.to_owned(),
        signature,
        people: Arc::new(people),
        kept: Some(MachineContinuity::Kept),
        elsewhere: Elsewhere::default(),
    })
}

fn signature(rig: &TestRun, by: &str, with: &str) -> String {
    key(with).sign(&rig.state.text_to_take_over(by, Some(listed().digest())))
}

#[test]
fn only_an_owner_takes_a_run_over_with_their_own_key_over_its_present_state() {
    let mut rig = signed_by("JT", None);
    let fault = |result: Result<Vec<Event>, Refusal>| match result {
        Err(Refusal::Unsigned(fault)) => fault,
        other => panic!("{other:?}"),
    };
    let own = |rig: &TestRun, by: &str| signature(rig, by, by);
    for by in ["TR", "OP", "JT", "ZZ"] {
        let text = signature(&rig, by, "OW");
        let result = take_over(&mut rig, by, text, listed());
        assert_eq!(fault(result), SignFault::NoOwner(by.into()));
    }
    let text = own(&rig, "OW");
    let result = take_over(&mut rig, "OW", text, without("OW"));
    assert_eq!(fault(result), SignFault::NoOwner("OW".into()));
    let broken = SignFault::Broken("OW".into());
    for text in [signature(&rig, "OW", "TR"), own(&rig, "TR"), String::new()] {
        assert_eq!(fault(take_over(&mut rig, "OW", text, listed())), broken);
    }
    // A signature made before another event was recorded is over another state.
    let early = own(&rig, "OW");
    rig.go(Command::Note { text: "one".into() });
    assert_eq!(fault(take_over(&mut rig, "OW", early, listed())), broken);
    let text = own(&rig, "OW");
    let proof = |who: &str| Proof {
        key: key(who).public(),
        signature: text.clone(),
        role: None,
    };
    let check = |proof: &Proof| {
        rig.state
            .check_taken_over("OW", proof, Some(listed().digest()), &listed())
    };
    assert_eq!(check(&proof("TR")), Err(SignFault::OtherKey("OW".into())));
    assert_eq!(check(&proof("OW")), Ok(()));

    take_over(&mut rig, "OW", text, listed()).unwrap();
    assert_eq!(rig.state.operator, "OW");
    assert!(rig.state.answer(&hold_point()).is_none());
}

#[test]
fn an_owner_who_takes_over_their_own_run_signs_it_again() {
    let mut rig = signed_by("OW", None);
    let text = signature(&rig, "OW", "OW");
    let events = take_over(&mut rig, "OW", text, listed()).unwrap();
    assert!(!events.iter().any(|e| matches!(e, Event::HandedOver { .. })));
    assert_eq!(rig.state.operator, "OW");
    assert!(rig.state.answer(&hold_point()).is_none());
}

#[test]
fn a_release_is_valid_only_where_a_terminal_has_the_run_open() {
    let mut rig = signed_by("JT", None);
    rig.try_do(Command::Release {
        program: rig.program,
        people: Arc::new(listed()),
    })
    .unwrap();
    let look = |rig: &TestRun, held| {
        let seen = LatestSeen::Stored(rig.now);
        let asks = Requester::Elsewhere { held, seen };
        start(&rig.state, rig.now, rig.program, &listed(), asks).map(drop)
    };
    let nobody = |holds: &[Hold]| holds.iter().any(|h| h.why == HoldReason::NoTerminal);
    assert!(look(&rig, Held::ByReleaser).is_ok());
    assert!(nobody(&look(&rig, Held::ByNobody).unwrap_err()));
    let another = look(&rig, Held::ByAnother).unwrap_err();
    assert_eq!(another[0].why, HoldReason::ReleaserGone);
    // The clock shows a time before one that was seen since, or that time cannot be stored.
    let from_afar = |seen| {
        let held = Held::ByReleaser;
        let asks = Requester::Elsewhere { held, seen };
        let found = start(&rig.state, rig.now, rig.program, &listed(), asks).map(drop);
        found.err().map(|holds| holds[0].why.clone())
    };
    let latest = rig.now.plus_ms(1).unwrap();
    assert_eq!(
        from_afar(LatestSeen::Stored(latest)),
        Some(HoldReason::ClockBack { latest })
    );
    assert_eq!(
        from_afar(LatestSeen::NotStored),
        Some(HoldReason::TimeNotStored)
    );
    // A run that was left or is over is held for that reason, not because it has no terminal.
    rig.state.left = Some("left".into());
    assert!(!nobody(&look(&rig, Held::ByNobody).unwrap_err()));
    rig.state.left = None;
    rig.state.ended = Some(Outcome::Abandoned);
    assert!(!nobody(&look(&rig, Held::ByNobody).unwrap_err()));
}
