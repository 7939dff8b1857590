//! Tests of hold points that need a second signer for every operator, with the invented people of `crew`.

use super::answer::{Answer, Proof, SigningMethod};
use super::command::{Command, Signing};
use super::crew::{
    and_then, held_by, held_over, hold_point, key, listed, role_of, sign, signature, without,
};
use super::refusal::Refusal;
use super::signing::{SignFault, SignatureRole, second_signers};
use super::testing::{TINY, TestRun};
use crate::people::{self, People, Role};

const ROLES: [(&str, Role); 3] = [
    ("operator", Role::Operator),
    ("trainer", Role::Trainer),
    ("owner", Role::Owner),
];

/// The tiny procedure with a hold point that needs a second signer of the role `least`.
fn asking(least: &str) -> String {
    let text = TINY.replacen(
        "        role: operator\n",
        &format!("        role: operator\n        second: {least}\n"),
        1,
    );
    assert_ne!(text, TINY);
    text
}

#[test]
fn every_operator_needs_a_second_signer_of_that_role() {
    for (word, least) in ROLES {
        let rig = held_over(&asking(word), "JT");
        let wanted = rig
            .state
            .second_signer_required(&hold_point(), "JT", &listed());
        assert_eq!(wanted, Some(least));
        let alone = sign(&mut held_over(&asking(word), "JT"), listed(), None);
        assert_eq!(alone, Err(Refusal::Unsigned(SignFault::SecondAsked(least))));
        for (who, is) in [
            ("OP", Role::Operator),
            ("TR", Role::Trainer),
            ("OW", Role::Owner),
        ] {
            let mut rig = held_over(&asking(word), "JT");
            let result = sign(&mut rig, listed(), Some(who));
            if is < least {
                let refused = SignFault::SecondRole(who.into(), least);
                assert_eq!(result, Err(Refusal::Unsigned(refused)), "{word} {who}");
                continue;
            }
            result.unwrap();
            let Some(Answer::Signed {
                second: Some(second),
                proof: Some(proof),
                ..
            }) = rig.state.answer(&hold_point())
            else {
                panic!("no second signature");
            };
            // The first signs in the lowest role they have, the second in the lowest role that is enough.
            assert_eq!(proof.role, Some(Role::Operator));
            assert_eq!(second.proof.role, Some(is.max(least)), "{word} {who}");
            assert_eq!(second.proof.signs_as(), Some(is.max(least).word()));
            rig.go(release(&rig, listed()));
        }
    }
}

fn release(rig: &TestRun, people: People) -> Command {
    Command::Release {
        program: rig.program,
        people: people.into(),
    }
}

/// Older signatures have no role. Then any role that the person has counts.
#[test]
fn a_second_signature_without_a_role_counts_by_the_roles_of_its_owner() {
    for (who, enough) in [("OP", false), ("TR", true), ("OW", true)] {
        let mut rig = held_over(&asking("trainer"), "JT");
        sign(&mut rig, listed(), Some("TR")).unwrap();
        let mut answer = rig.state.answer(&hold_point()).unwrap().clone();
        let Answer::Signed {
            second: Some(second),
            digest,
            list,
            ..
        } = &mut answer
        else {
            panic!("no second signature");
        };
        second.initials = who.into();
        let text = rig.state.text_to_sign(
            &hold_point(),
            SignatureRole::Second,
            who,
            None,
            *digest,
            *list,
        );
        second.proof = Proof {
            key: key(who).public(),
            signature: key(who).sign(&text),
            role: None,
        };
        assert_eq!(second.proof.signs_as(), None);
        let result = rig.state.check_signed(&hold_point(), &answer, &listed());
        let refused = SignFault::SecondRole(who.into(), Role::Trainer);
        assert_eq!(result, if enough { Ok(()) } else { Err(refused) });
    }
}

/// A learner needs a trainer as second signer. If the hold point asks for another role, the higher of the two counts.
#[test]
fn the_higher_of_the_roles_that_the_learner_and_the_hold_point_need_counts() {
    for (word, least) in [
        ("operator", Role::Trainer),
        ("trainer", Role::Trainer),
        ("owner", Role::Owner),
    ] {
        let rig = held_over(&asking(word), "LE");
        let wanted = rig
            .state
            .second_signer_required(&hold_point(), "LE", &listed());
        assert_eq!(wanted, Some(least));
    }
    let rig = held_over(TINY, "JT");
    let wanted = |who: &str| {
        rig.state
            .second_signer_required(&hold_point(), who, &listed())
    };
    assert_eq!(wanted("JT"), None);
    assert_eq!(wanted("LE"), Some(Role::Trainer));
}

/// Without a list of people nobody can be shown to be another person. A rehearsal has no people and needs no second
/// signer.
#[test]
fn without_a_list_of_people_it_is_held_and_a_rehearsal_needs_nobody() {
    let mut rig = held_over(&asking("trainer"), "JT");
    let result = rig.sign(hold_point());
    let unknown = SignFault::SecondUnknown(Role::Trainer);
    assert_eq!(result, Err(Refusal::Unsigned(unknown)));
    rig.state.begun.rehearsal = true;
    let wanted = rig
        .state
        .second_signer_required(&hold_point(), "JT", &People::default());
    assert_eq!(wanted, None);
    rig.sign(hold_point()).unwrap();
}

#[test]
fn who_may_be_second_signer_is_said_in_words() {
    let words = ROLES.map(|(_, role)| second_signers(role));
    assert_eq!(
        words,
        [
            "another person on the list of people",
            "a trainer or an owner",
            "an owner"
        ]
    );
}

/// The signature covers the role: the same person in another role signs another text.
#[test]
fn a_signature_in_one_role_is_not_valid_in_another() {
    let mut rig = held_over(&asking("trainer"), "JT");
    let first = signature(&rig, SignatureRole::First, "JT", key("JT"));
    assert_eq!(
        role_of(&rig, SignatureRole::Second, "OW"),
        Some(Role::Owner)
    );
    let as_operator = {
        let digest = rig.state.digest_before(&hold_point());
        let role = Some(Role::Operator);
        let list = Some(listed().digest());
        key("OW").sign(&rig.state.text_to_sign(
            &hold_point(),
            SignatureRole::Second,
            "OW",
            role,
            digest,
            list,
        ))
    };
    let result = rig.try_do(Command::Sign {
        at: hold_point(),
        initials: "JT".into(),
        means: SigningMethod::Key,
        with: Signing {
            people: listed().into(),
            first: Some(first),
            second: Some(("OW".into(), as_operator)),
        },
    });
    let broken = SignFault::Broken("OW".into());
    assert_eq!(result, Err(Refusal::Unsigned(broken)));
}

/// Another terminal adds to the list of people after the signature was made and before it is recorded.
#[test]
fn a_wrong_pin_elsewhere_leaves_a_signature_valid_and_a_change_of_the_list_does_not() {
    let signed_over_listed = |people: People| {
        let mut rig = held_by("JT");
        let by_jt = signature(&rig, SignatureRole::First, "JT", key("JT"));
        rig.try_do(Command::Sign {
            at: hold_point(),
            initials: "JT".into(),
            means: SigningMethod::Key,
            with: Signing {
                first: Some(by_jt),
                second: None,
                people: people.into(),
            },
        })
        .map(|_| ())
    };
    for initials in ["JT", "OP"] {
        let initials = initials.to_owned();
        let mut people = listed();
        and_then(
            &mut people,
            people::Event::WrongPin {
                initials: initials.clone(),
            },
        );
        assert_eq!(signed_over_listed(people.clone()), Ok(()));
        and_then(&mut people, people::Event::Unlocked { initials });
        assert_eq!(signed_over_listed(people), Ok(()));
    }
    let broken = SignFault::Broken("JT".into());
    assert_eq!(
        signed_over_listed(without("OP")),
        Err(Refusal::Unsigned(broken))
    );
}
