//! Tests of the list of people.

use super::{AloneScope, Event, Fault, People, Person, Refusal, Role, Signed};
use crate::keys::{Key, KeyError, Sealed, Secret, Work};
use crate::quantity::moment::Moment;

pub(super) fn key(seed: u8) -> Key {
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

pub(super) fn at(second: i64) -> Moment {
    Moment::from_ms(1_780_000_000_000 + second * 1000).unwrap()
}

pub(super) fn person(initials: &str, roles: &[Role]) -> Person {
    Person {
        initials: initials.to_owned(),
        name: None,
        roles: roles.iter().copied().collect(),
        machines: AloneScope::All,
        procedures: AloneScope::All,
    }
}

pub(super) fn added(initials: &str, roles: &[Role], key: &Key) -> Event {
    Event::Added {
        person: person(initials, roles),
        key: key.public(),
        practised: None,
    }
}

/// A list with an owner AB with key 1 and an operator CD with key 2.
pub(super) fn two() -> (People, Key, Key) {
    let (one, other) = (key(1), key(2));
    let mut people = People::default();
    let first = added("AB", &[Role::Owner], &one);
    let first = Signed::by(first, "AB", &one, &people.place(at(0)));
    people.check(at(0), &first).unwrap();
    people.apply(at(0), &first);
    let second = added("CD", &[Role::Operator], &other);
    let second = Signed::by(second, "AB", &one, &people.place(at(1)));
    people.check(at(1), &second).unwrap();
    people.apply(at(1), &second);
    (people, one, other)
}

pub(super) fn does(people: &mut People, event: Event, by: &str, with: &Key) -> Result<(), Fault> {
    let moment = at(100 + i64::from(people.n()));
    let signed = Signed::by(event, by, with, &people.place(moment));
    people.check(moment, &signed)?;
    people.apply(moment, &signed);
    Ok(())
}

#[test]
fn only_an_owner_with_the_key_of_that_time_can_change_the_list() {
    let (people, one, other) = two();
    let event = added("EF", &[Role::Trainer], &key(3));
    let place = people.place(at(2));
    let good = Signed::by(event.clone(), "AB", &one, &place);
    people.check(at(2), &good).unwrap();
    let by_operator = Signed::by(event.clone(), "CD", &other, &place);
    assert_eq!(
        people.check(at(2), &by_operator),
        Err(Fault::NoOwner("CD".into()))
    );
    let with_other_key = Signed::by(event.clone(), "AB", &other, &place);
    assert_eq!(
        people.check(at(2), &with_other_key),
        Err(Fault::Signature("AB".into()))
    );
    let mut unsigned = good.clone();
    unsigned.signature = None;
    assert_eq!(people.check(at(2), &unsigned), Err(Fault::Unsigned));
    // A valid signature is not valid for another time, another position or a changed event.
    assert!(people.check(at(3), &good).is_err());
    let mut later = people.clone();
    later.apply(
        at(2),
        &Signed::of_prompt(Event::WrongPin {
            initials: "CD".into(),
        }),
    );
    assert!(later.check(at(2), &good).is_err());
    let mut changed = good;
    changed.event = added("EF", &[Role::Owner], &key(3));
    assert_eq!(
        people.check(at(2), &changed),
        Err(Fault::Signature("AB".into()))
    );
}

#[test]
fn the_first_person_is_an_owner_and_signs_themselves() {
    let one = key(1);
    let people = People::default();
    assert_eq!(
        people.possible(&added("AB", &[Role::Operator], &one)),
        Err(Refusal::FirstOwner)
    );
    let first = added("AB", &[Role::Owner], &one);
    let by_other = Signed::by(first.clone(), "AB", &key(2), &people.place(at(0)));
    assert_eq!(
        people.check(at(0), &by_other),
        Err(Fault::Signature("AB".into()))
    );
    let as_other = Signed::by(first, "ZZ", &one, &people.place(at(0)));
    assert_eq!(
        people.check(at(0), &as_other),
        Err(Fault::NoOwner("ZZ".into()))
    );
}

#[test]
fn what_cannot_be_done_is_refused() {
    let (mut people, one, _) = two();
    let retire = |initials: &str| Event::Retired {
        initials: initials.into(),
    };
    let change = |person| Event::Changed {
        person,
        practised: None,
    };
    for (event, refusal) in [
        (
            added("CD", &[Role::Owner], &key(3)),
            Refusal::Taken("CD".into()),
        ),
        (added("EF", &[], &key(3)), Refusal::NoRole),
        (added("EF", &[Role::Owner], &one), Refusal::KeyKnown),
        (added("e f", &[Role::Owner], &key(3)), Refusal::Initials),
        (retire("AB"), Refusal::LastOwner("AB".into())),
        (retire("ZZ"), Refusal::Unknown("ZZ".into())),
        (
            change(person("AB", &[Role::Trainer])),
            Refusal::LastOwner("AB".into()),
        ),
        (
            change(person("CD", &[Role::Operator])),
            Refusal::Same("CD".into()),
        ),
    ] {
        assert_eq!(people.possible(&event), Err(refusal), "{event:?}");
    }
    let gone = Signed::by(retire("CD"), "AB", &one, &people.place(at(2)));
    people.apply(at(2), &gone);
    assert!(people.active("CD").is_none());
    assert_eq!(people.find("CD").unwrap().keys[0].until, Some(at(2)));
    assert_eq!(
        people.possible(&retire("CD")),
        Err(Refusal::Retired("CD".into()))
    );
    assert_eq!(
        people.possible(&added("CD", &[Role::Operator], &key(4))),
        Err(Refusal::Taken("CD".into()))
    );
}

#[test]
fn a_new_key_ends_the_old_one() {
    let (mut people, one, _) = two();
    let event = Event::KeyIssued {
        initials: "CD".into(),
        key: key(5).public(),
    };
    let issued = Signed::by(event, "AB", &one, &people.place(at(9)));
    people.check(at(9), &issued).unwrap();
    people.apply(at(9), &issued);
    let cd = people.active("CD").unwrap();
    assert_eq!(cd.key(), Some(key(5).public().as_str()));
    assert_eq!((cd.keys[0].from, cd.keys[0].until), (at(1), Some(at(9))));
}
