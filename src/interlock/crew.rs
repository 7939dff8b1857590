//! Invented people with keys, and a run that they sign, for the tests in this folder.

use super::answer::SigningMethod;
use super::command::{Command, Signing};
use super::event::Event;
use super::instance::Instance;
use super::refusal::Refusal;
use super::signing::SignatureRole;
use super::testing::{TINY, TestRun, at, pass};
use crate::keys::{Key, KeyError, Sealed, Secret, Work};
use crate::people::{self, AloneScope, People, Person, Role, Signed};
use crate::quantity::moment::Moment;
use std::collections::BTreeSet;
use std::sync::{Arc, LazyLock};

/// JT may run the machine alone, LE only with a second signer. TR is a trainer, OW the owner, OP an operator.
const ALL: [(&str, Role, bool); 5] = [
    ("JT", Role::Operator, true),
    ("LE", Role::Operator, false),
    ("TR", Role::Trainer, true),
    ("OW", Role::Owner, true),
    ("OP", Role::Operator, true),
];

pub(crate) static KEYS: LazyLock<Vec<Key>> = LazyLock::new(|| (1..=6).map(new_key).collect());

fn new_key(seed: u8) -> Key {
    let work = Work {
        memory_kib: 19 * 1024,
        passes: 2,
        lanes: 1,
    };
    let random = |bytes: &mut [u8]| {
        bytes.fill(seed);
        Ok::<(), KeyError>(())
    };
    let pin = Secret::new("482913".to_owned());
    Sealed::make("X", &pin, work, random).unwrap().1
}

pub(crate) fn key(who: &str) -> &'static Key {
    let place = ALL.iter().position(|(name, ..)| *name == who).unwrap();
    &KEYS[place]
}

pub(crate) fn person(who: &str) -> Person {
    let (_, role, alone) = ALL.into_iter().find(|(name, ..)| *name == who).unwrap();
    Person {
        initials: who.to_owned(),
        name: None,
        roles: BTreeSet::from([role]),
        machines: if alone {
            AloneScope::All
        } else {
            AloneScope::Only(BTreeSet::new())
        },
        procedures: AloneScope::All,
    }
}

pub(crate) fn listed() -> People {
    let mut people = People::default();
    for (who, ..) in ALL {
        let added = people::Event::Added {
            person: person(who),
            key: key(who).public(),
            practised: None,
        };
        and_then(&mut people, added);
    }
    people
}

pub(crate) fn and_then(people: &mut People, event: people::Event) {
    let at = Moment::from_ms(1_700_000_000_000).unwrap();
    people.apply(at, &Signed::of_prompt(event));
}

pub(crate) fn without(who: &str) -> People {
    let mut people = listed();
    let initials = who.to_owned();
    and_then(&mut people, people::Event::Retired { initials });
    people
}

/// A run of the tiny procedure up to its hold point, with `operator` as its operator.
pub(crate) fn held_by(operator: &str) -> TestRun {
    held_over(TINY, operator)
}

/// As [`held_by`], with another procedure text.
pub(crate) fn held_over(procedure: &str, operator: &str) -> TestRun {
    let mut rig = TestRun::of(procedure);
    rig.state.operator = operator.to_owned();
    rig.word(at("cutter"), "c12").unwrap();
    rig.word(at("eyes"), "worn").unwrap();
    rig.word(at("home"), "homed").unwrap();
    rig.load_program();
    rig.number(pass("bite", 1), "0.1").unwrap();
    rig.work_out(pass("plane", 1));
    rig
}

pub(crate) fn hold_point() -> Instance {
    pass("clear", 1)
}

/// The role in which a member of the crew signs.
pub(crate) fn role_of(rig: &TestRun, part: SignatureRole, who: &str) -> Option<Role> {
    rig.state.signs_as(&hold_point(), part, who, &listed())
}

pub(crate) fn signature(rig: &TestRun, part: SignatureRole, who: &str, with: &Key) -> String {
    signature_over(rig, part, who, with, &listed())
}

fn signature_over(
    rig: &TestRun,
    part: SignatureRole,
    who: &str,
    with: &Key,
    people: &People,
) -> String {
    let digest = rig.state.digest_before(&hold_point());
    let role = role_of(rig, part, who);
    let list = Some(people.digest());
    with.sign(
        &rig.state
            .text_to_sign(&hold_point(), part, who, role, digest, list),
    )
}

/// Signs as the operator, together with a second signer where one is named.
pub(crate) fn sign(
    rig: &mut TestRun,
    people: People,
    second: Option<&str>,
) -> Result<Vec<Event>, Refusal> {
    let operator = rig.state.operator.clone();
    let by = |part, who: &str| signature_over(rig, part, who, key(who), &people);
    let with = Signing {
        first: Some(by(SignatureRole::First, &operator)),
        second: second.map(|who| (who.to_owned(), by(SignatureRole::Second, who))),
        people: Arc::new(people),
    };
    rig.try_do(Command::Sign {
        at: hold_point(),
        initials: operator,
        means: SigningMethod::Key,
        with,
    })
}

pub(crate) fn signed_by(operator: &str, second: Option<&str>) -> TestRun {
    let mut rig = held_by(operator);
    sign(&mut rig, listed(), second).unwrap();
    rig
}
