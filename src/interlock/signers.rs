//! Tests: who signs, with which key, and what a signature covers, with the invented people of `crew` and the tiny
//! procedure.

use super::answer::{Answer, Proof, SecondSignature, SigningMethod};
use super::answer_status::{AnswerStatus, Next};
use super::command::{Command, Signing};
use super::crew::{
    KEYS, and_then, held_by, held_over, hold_point, key, listed, person, role_of, sign, signature,
    signed_by, without,
};
use super::event::Event;
use super::gate::HoldReason;
use super::refusal::Refusal;
use super::signing::{Rules, SignFault, SignatureRole};
use super::testing::{TINY, TestRun, pass};
use crate::fingerprint::Fingerprint;
use crate::people::{self, AloneScope, People, Person, Role};
use std::collections::BTreeSet;
use std::sync::Arc;

/// The fault found in a sign-off that the test changed, and which nobody could have made at the prompt.
fn fault(rig: &TestRun, people: &People, change: impl FnOnce(&mut Answer)) -> Option<SignFault> {
    let mut answer = rig.state.answer(&hold_point()).unwrap().clone();
    change(&mut answer);
    let at = hold_point();
    rig.state.check_signed(&at, &answer, people).err()
}

#[test]
fn a_registered_person_signs_with_their_key_and_the_record_has_it() {
    let rig = signed_by("JT", None);
    let Some(Answer::Signed { proof, second, .. }) = rig.state.answer(&hold_point()) else {
        panic!("not signed");
    };
    let expected = Proof {
        key: key("JT").public(),
        signature: signature(&rig, SignatureRole::First, "JT", key("JT")),
        role: role_of(&rig, SignatureRole::First, "JT"),
    };
    assert_eq!(proof.as_ref(), Some(&expected));
    assert_eq!(*second, None);
    assert_eq!(fault(&rig, &listed(), |_| {}), None);
}

#[test]
fn once_people_are_registered_typed_initials_sign_nothing() {
    let mut rig = held_by("JT");
    let with = Signing {
        people: Arc::new(listed()),
        ..Signing::default()
    };
    let result = rig.try_do(Command::Sign {
        at: hold_point(),
        initials: "JT".into(),
        means: SigningMethod::TypedWithCode,
        with,
    });
    assert_eq!(result, Err(Refusal::Unsigned(SignFault::NoKey)));
    // A sign-off marked as given by key but without a signature is not valid, and neither is a signature with another
    // mark.
    let rig = signed_by("JT", None);
    for bare in [true, false] {
        let found = fault(&rig, &listed(), |answer| {
            if let Answer::Signed { means, proof, .. } = answer {
                if bare {
                    *proof = None;
                } else {
                    *means = SigningMethod::AnswersFile;
                }
            }
        });
        assert_eq!(found, Some(SignFault::NoKey), "{bare}");
    }
}

/// Nobody was registered, so no key belongs to anybody.
#[test]
fn where_nobody_is_registered_no_sign_off_has_a_key() {
    let nobody = People::default();
    let mut rig = held_by("JT");
    rig.sign(hold_point()).unwrap();
    assert_eq!(fault(&rig, &nobody, |_| {}), None);
    let forged = || Proof {
        key: key("JT").public(),
        signature: signature(&rig, SignatureRole::First, "JT", key("JT")),
        role: role_of(&rig, SignatureRole::First, "JT"),
    };
    for which in 0..3 {
        let found = fault(&rig, &nobody, |answer| {
            let Answer::Signed {
                means,
                proof,
                second,
                ..
            } = answer
            else {
                panic!("not signed");
            };
            match which {
                0 => *means = SigningMethod::Key,
                1 => *proof = Some(forged()),
                _ => {
                    *second = Some(SecondSignature {
                        initials: "TR".into(),
                        proof: forged(),
                    });
                }
            }
        });
        assert_eq!(found, Some(SignFault::NobodyListed), "{which}");
    }
}

#[test]
fn a_sign_off_is_by_the_operator_and_covers_the_present_state() {
    let rig = signed_by("JT", None);
    let other = fault(&rig, &listed(), |answer| {
        if let Answer::Signed { initials, .. } = answer {
            *initials = "OP".into();
        }
    });
    assert_eq!(other, Some(SignFault::NotOperator("OP".into())));
    let other = fault(&rig, &listed(), |answer| {
        if let Answer::Signed { digest, .. } = answer {
            *digest = Fingerprint::of("another");
        }
    });
    assert_eq!(other, Some(SignFault::OtherState));
}

#[test]
fn a_key_signs_only_for_the_person_who_has_it_now() {
    let rig = signed_by("JT", None);
    let gone = fault(&rig, &without("JT"), |_| {});
    assert_eq!(gone, Some(SignFault::NotListed("JT".into())));
    let mut people = listed();
    let issued = people::Event::KeyIssued {
        initials: "JT".into(),
        key: KEYS[5].public(),
    };
    and_then(&mut people, issued);
    let old = fault(&rig, &people, |_| {});
    assert_eq!(old, Some(SignFault::OtherKey("JT".into())));
    // The key of another person, and the signature of another person with the right key.
    for (of, expected) in [
        (true, SignFault::OtherKey("JT".into())),
        (false, SignFault::Broken("JT".into())),
    ] {
        let found = fault(&rig, &listed(), |answer| {
            if let Answer::Signed {
                proof: Some(proof), ..
            } = answer
            {
                if of {
                    proof.key = key("OP").public();
                } else {
                    proof.signature = signature(&rig, SignatureRole::First, "JT", key("OP"));
                }
            }
        });
        assert_eq!(found, Some(expected));
    }
}

/// A signature is for one run, hold point, role, meaning, part, person and state. If any of these differs, the text
/// differs.
#[test]
fn no_two_sign_offs_are_over_the_same_text() {
    let rig = held_by("JT");
    let digest = rig.state.digest_before(&hold_point());
    let text = |rig: &TestRun| {
        let of = hold_point();
        rig.state.text_to_sign(
            &of,
            SignatureRole::First,
            "JT",
            Some(Role::Operator),
            digest,
            None,
        )
    };
    let (state, role) = (&rig.state, Some(Role::Operator));
    let mut other_run = held_by("JT");
    other_run.state.begun.run = "r2".into();
    let other_text = |from: &str, to: &str| {
        let changed = TINY.replace(from, to);
        assert_ne!(changed, TINY);
        text(&TestRun::of(&changed))
    };
    let texts = [
        text(&rig),
        text(&other_run),
        state.text_to_sign(
            &pass("clear", 2),
            SignatureRole::First,
            "JT",
            role,
            digest,
            None,
        ),
        state.text_to_sign(
            &hold_point(),
            SignatureRole::Second,
            "JT",
            role,
            digest,
            None,
        ),
        state.text_to_sign(
            &hold_point(),
            SignatureRole::First,
            "OP",
            role,
            digest,
            None,
        ),
        state.text_to_sign(
            &hold_point(),
            SignatureRole::First,
            "JT",
            role,
            digest,
            Some(digest),
        ),
        state.text_to_sign(
            &hold_point(),
            SignatureRole::First,
            "JT",
            Some(Role::Trainer),
            digest,
            None,
        ),
        state.text_to_sign(
            &hold_point(),
            SignatureRole::First,
            "JT",
            role,
            Fingerprint::of("x"),
            None,
        ),
        other_text("role: operator", "role: owner"),
        other_text("as I answered.", "as I was asked."),
    ];
    let all: BTreeSet<&String> = texts.iter().collect();
    assert_eq!(all.len(), texts.len());
    for text in texts {
        assert!(text.starts_with("skimgate sign-off 1\n"), "{text}");
    }
}

#[test]
fn a_person_who_may_not_run_alone_needs_a_trainer_or_an_owner_as_second_signer() {
    let needed = Err(Refusal::Unsigned(SignFault::SecondNeeded("LE".into())));
    assert_eq!(sign(&mut held_by("LE"), listed(), None), needed);
    for signer in ["TR", "OW"] {
        let rig = signed_by("LE", Some(signer));
        let Some(Answer::Signed {
            second: Some(second),
            ..
        }) = rig.state.answer(&hold_point())
        else {
            panic!("no second signature");
        };
        assert_eq!(second.initials, signer);
        assert_eq!(second.proof.key, key(signer).public());
    }
    let role = SignFault::SecondRole("OP".into(), Role::Trainer);
    let result = sign(&mut held_by("LE"), listed(), Some("OP"));
    assert_eq!(result, Err(Refusal::Unsigned(role)));
    // Where no second signer is needed, anybody on the list may still be one.
    assert!(sign(&mut held_by("JT"), listed(), Some("OP")).is_ok());
    let gone = SignFault::NotListed("TR".into());
    let result = sign(&mut held_by("LE"), without("TR"), Some("TR"));
    assert_eq!(result, Err(Refusal::Unsigned(gone)));
}

#[test]
fn either_machine_or_procedure_can_be_what_one_may_not_run_alone() {
    let only = |id: &str| AloneScope::Only(BTreeSet::from([id.to_owned()]));
    let rig = held_by("JT");
    let (machine, procedure) = (&rig.state.begun.machine, &rig.state.begun.procedure_id);
    for (machines, procedures, needs) in [
        (only(machine), only(procedure), false),
        (only("another"), only(procedure), true),
        (only(machine), only("another"), true),
    ] {
        let mut people = listed();
        let changed = Person {
            machines,
            procedures,
            ..person("JT")
        };
        and_then(
            &mut people,
            people::Event::Changed {
                person: changed,
                practised: None,
            },
        );
        assert_eq!(rig.state.needs_second("JT", &people), needs);
        assert_eq!(sign(&mut held_by("JT"), people, None).is_err(), needs);
    }
    // A person who cannot sign at all needs no second signer.
    assert!(!rig.state.needs_second("??", &listed()));
}

#[test]
fn the_second_signer_is_another_person_with_another_key() {
    let same = SignFault::SamePerson("LE".into());
    let result = sign(&mut held_by("LE"), listed(), Some("LE"));
    assert_eq!(result, Err(Refusal::Unsigned(same.clone())));
    let rig = signed_by("LE", Some("TR"));
    let shared = fault(&rig, &listed(), |answer| {
        if let Answer::Signed {
            second: Some(second),
            ..
        } = answer
        {
            second.proof.key = key("LE").public();
        }
    });
    assert_eq!(shared, Some(same));
    // The operator signs another text than the second signer.
    let swapped = fault(&rig, &listed(), |answer| {
        if let Answer::Signed {
            second: Some(second),
            ..
        } = answer
        {
            second.proof.signature = signature(&rig, SignatureRole::First, "TR", key("TR"));
        }
    });
    assert_eq!(swapped, Some(SignFault::Broken("TR".into())));
}

/// The list of people is checked when a release is asked for and again at the start, because a signer may have retired
/// in between.
#[test]
fn a_release_ends_when_its_signer_retires() {
    for (operator, second, gone) in [("JT", None, "JT"), ("LE", Some("TR"), "TR")] {
        let program = held_by(operator).program;
        let release = |people: People| Command::Release {
            program,
            people: Arc::new(people),
        };
        let start = |people: People| Command::Start {
            program,
            people: Arc::new(people),
        };
        let fault_of = |result: Result<Vec<Event>, Refusal>| match result {
            Err(Refusal::Held(holds)) => holds.into_iter().map(|h| h.why).collect(),
            other => panic!("{other:?}"),
        };
        let mut rig = signed_by(operator, second);
        let why: Vec<HoldReason> = fault_of(rig.try_do(release(without(gone))));
        let fault = HoldReason::Signed(SignFault::NotListed(gone.into()));
        assert!(why.contains(&fault), "{why:?}");
        assert_eq!(
            why.contains(&HoldReason::NotListed),
            gone == operator,
            "{why:?}"
        );
        rig.go(release(listed()));
        let why: Vec<HoldReason> = fault_of(rig.try_do(start(without(gone))));
        assert!(why.contains(&fault), "{why:?}");
        rig.go(start(listed()));
    }
}

#[test]
fn checking_the_people_invalidates_a_sign_off_that_is_no_longer_valid() {
    let look = |people: People| Command::LookAtPeople {
        people: Arc::new(people),
    };
    let mut rig = signed_by("JT", None);
    assert_eq!(rig.go(look(listed())), []);
    assert_eq!(rig.go(look(without("OP"))), []);
    let invalidated = Event::Voided {
        steps: vec![hold_point()],
        because: SignFault::NotListed("JT".into()).to_string(),
    };
    assert_eq!(rig.go(look(without("JT"))), [invalidated]);
    assert!(matches!(
        rig.state.next(rig.now),
        Next::Ask(of, AnswerStatus::Invalidated { .. }) if of == hold_point()
    ));
    // A sign-off over another state, or by a former operator, is asked for again with its own message.
    let mut rig = signed_by("JT", None);
    rig.state.operator = "OP".into();
    assert_eq!(rig.go(look(listed())), []);
}

/// `role: trainer` is checked for every operator, everywhere. A rehearsal has no people.
#[test]
fn a_hold_point_is_signed_only_in_its_role() {
    for (word, least) in [("trainer", Role::Trainer), ("owner", Role::Owner)] {
        let text = TINY.replacen("role: operator", &format!("role: {word}"), 1);
        for (who, is) in [
            ("JT", Role::Operator),
            ("TR", Role::Trainer),
            ("OW", Role::Owner),
        ] {
            let mut rig = held_over(&text, who);
            let result = sign(&mut rig, listed(), None);
            if is < least {
                let fault = SignFault::NotOfRole(who.into(), least);
                assert_eq!(result, Err(Refusal::Unsigned(fault)));
                continue;
            }
            result.unwrap();
            let Some(Answer::Signed { proof, .. }) = rig.state.answer(&hold_point()) else {
                panic!("not signed");
            };
            assert_eq!(proof.as_ref().and_then(|p| p.role), Some(is));
        }
        let mut rig = held_over(&text, "JT");
        let result = rig.sign(hold_point());
        let fault = SignFault::RoleUnlisted(least);
        assert_eq!(result, Err(Refusal::Unsigned(fault)));
        rig.state.begun.rehearsal = true;
        rig.sign(hold_point()).unwrap();
    }
    let mut rig = held_over(&TINY.replacen("role: operator", "role: trainer", 1), "TR");
    sign(&mut rig, listed(), None).unwrap();
    // The signer is no longer a trainer when the start is asked for.
    let mut people = listed();
    let person = Person {
        roles: BTreeSet::from([Role::Operator]),
        ..person("TR")
    };
    let practised = None;
    and_then(&mut people, people::Event::Changed { person, practised });
    let found = fault(&rig, &people, |_| {});
    assert_eq!(
        found,
        Some(SignFault::NotOfRole("TR".into(), Role::Trainer))
    );
}

/// A sign-off covers the list of people. One from before version 5 covers none, and its role was not enforced.
#[test]
fn a_recorded_sign_off_covers_the_list_it_was_given_under() {
    let rig = signed_by("JT", None);
    let answer = rig.state.answer(&hold_point()).unwrap().clone();
    let at = hold_point();
    let check = |answer: &Answer, people: &People, rules| {
        rig.state.check_recorded(&at, answer, people, rules).err()
    };
    assert_eq!(check(&answer, &listed(), Rules::Now), None);
    assert_eq!(
        check(&answer, &without("OP"), Rules::Now),
        Some(SignFault::OtherList)
    );
    let mut older = answer.clone();
    if let Answer::Signed {
        list,
        digest,
        proof: Some(proof),
        ..
    } = &mut older
    {
        *list = None;
        let text =
            rig.state
                .text_to_sign(&at, SignatureRole::First, "JT", proof.role, *digest, None);
        proof.signature = key("JT").sign(&text);
    }
    assert_eq!(check(&older, &without("OP"), Rules::Older), None);
    assert_eq!(
        check(&older, &listed(), Rules::Now),
        Some(SignFault::NoList)
    );
    assert_eq!(
        fault(&rig, &listed(), |a| *a = older),
        Some(SignFault::NoList)
    );
}
