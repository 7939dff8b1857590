//! Tests of the list of people.

use super::{
    AloneScope, Event, Fault, NamedScenario, People, Person, PracticeDone, PracticeRequirement,
    Refusal, Role, Signed,
};
use crate::fingerprint::Fingerprint;
use crate::keys::{Key, KeyError, Sealed, Secret, Work};
use crate::quantity::moment::Moment;

fn key(seed: u8) -> Key {
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

fn at(second: i64) -> Moment {
    Moment::from_ms(1_780_000_000_000 + second * 1000).unwrap()
}

fn person(initials: &str, roles: &[Role]) -> Person {
    Person {
        initials: initials.to_owned(),
        name: None,
        roles: roles.iter().copied().collect(),
        machines: AloneScope::All,
        procedures: AloneScope::All,
    }
}

fn added(initials: &str, roles: &[Role], key: &Key) -> Event {
    Event::Added {
        person: person(initials, roles),
        key: key.public(),
        practised: None,
    }
}

/// A list with an owner AB with key 1 and an operator CD with key 2.
fn two() -> (People, Key, Key) {
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

fn made(initials: &str, seed: u8) -> Event {
    Event::RecoveryMade {
        initials: initials.into(),
        recovery: key(seed).public(),
    }
}

fn recovered(new: u8, next: u8) -> Event {
    Event::Recovered {
        initials: "AB".into(),
        key: key(new).public(),
        recovery: key(next).public(),
    }
}

/// Signs an event as `by`, checks it and applies it.
fn does(people: &mut People, event: Event, by: &str, with: &Key) -> Result<(), Fault> {
    let moment = at(100 + i64::from(people.n()));
    let signed = Signed::by(event, by, with, &people.place(moment));
    people.check(moment, &signed)?;
    people.apply(moment, &signed);
    Ok(())
}

#[test]
fn a_recovery_code_issues_its_owner_one_new_key() {
    let (mut people, one, other) = two();
    let no_code = Fault::Cannot(Refusal::NoCode("AB".into()).to_string());
    assert_eq!(does(&mut people, recovered(5, 6), "AB", &one), Err(no_code));
    // Only an owner can have a recovery code, and only its owner can make it.
    let of_operator = Fault::Cannot(Refusal::CodeForOwners("CD".into()).to_string());
    assert_eq!(
        does(&mut people, made("CD", 4), "AB", &one),
        Err(of_operator)
    );
    does(
        &mut people,
        added("EF", &[Role::Owner], &key(3)),
        "AB",
        &one,
    )
    .unwrap();
    let not_own = Fault::OtherOwner("AB".into(), "EF".into());
    assert_eq!(
        does(&mut people, made("AB", 4), "EF", &key(3)),
        Err(not_own.clone())
    );
    let known = Fault::Cannot(Refusal::KeyKnown.to_string());
    assert_eq!(does(&mut people, made("AB", 2), "AB", &one), Err(known));
    does(&mut people, made("AB", 4), "AB", &one).unwrap();

    // No other key is accepted, not even an owner's, and nobody else may use the code.
    let broken = Fault::Signature("AB".into());
    for wrong in [&one, &other, &key(3), &key(5)] {
        let result = does(&mut people, recovered(5, 6), "AB", wrong);
        assert_eq!(result, Err(broken.clone()));
    }
    let result = does(&mut people, recovered(5, 6), "EF", &key(4));
    assert_eq!(result, Err(not_own));
    does(&mut people, recovered(5, 6), "AB", &key(4)).unwrap();
    assert_eq!(
        people.active("AB").unwrap().key(),
        Some(key(5).public().as_str())
    );
    // The code is used up; the next one is another code.
    let result = does(&mut people, recovered(7, 8), "AB", &key(4));
    assert_eq!(result, Err(broken.clone()));
    does(&mut people, recovered(7, 8), "AB", &key(6)).unwrap();
    // The key of a code cannot change the list.
    let result = does(&mut people, made("AB", 9), "AB", &key(8));
    assert_eq!(result, Err(broken.clone()));
    // A new code replaces the old one.
    does(&mut people, made("AB", 9), "AB", &key(7)).unwrap();
    assert_eq!(
        does(&mut people, recovered(10, 11), "AB", &key(8)),
        Err(broken)
    );
    does(&mut people, recovered(10, 11), "AB", &key(9)).unwrap();
}

#[test]
fn a_recovery_code_ends_with_its_key_and_role() {
    let retired = Event::Retired {
        initials: "AB".into(),
    };
    let changed = Event::Changed {
        person: person("AB", &[Role::Trainer]),
        practised: None,
    };
    // Somebody who had the PIN may have made the code.
    let issued = Event::KeyIssued {
        initials: "AB".into(),
        key: key(20).public(),
    };
    for (event, why) in [
        (retired, Refusal::Retired("AB".into())),
        (changed, Refusal::CodeForOwners("AB".into())),
        (issued, Refusal::NoCode("AB".into())),
    ] {
        let (mut people, one, _) = two();
        does(
            &mut people,
            added("EF", &[Role::Owner], &key(3)),
            "AB",
            &one,
        )
        .unwrap();
        does(&mut people, made("AB", 4), "AB", &one).unwrap();
        does(&mut people, event.clone(), "EF", &key(3)).unwrap();
        let why = Fault::Cannot(why.to_string());
        assert_eq!(
            does(&mut people, recovered(5, 6), "AB", &key(4)),
            Err(why),
            "{event:?}"
        );
        // The code does not become valid again when the role is given back.
        if matches!(event, Event::Changed { .. }) {
            let again = Event::Changed {
                person: person("AB", &[Role::Owner]),
                practised: None,
            };
            does(&mut people, again, "EF", &key(3)).unwrap();
            let why = Fault::Cannot(Refusal::NoCode("AB".into()).to_string());
            assert_eq!(does(&mut people, recovered(5, 6), "AB", &key(4)), Err(why));
        }
    }
}

#[test]
fn wrong_codes_make_the_same_wait_as_wrong_pins() {
    let (mut people, one, _) = two();
    does(&mut people, made("AB", 4), "AB", &one).unwrap();
    let initials = || "AB".to_owned();
    for event in [
        Event::WrongPin {
            initials: initials(),
        },
        Event::WrongCode {
            initials: initials(),
        },
        Event::WrongCode {
            initials: initials(),
        },
    ] {
        assert_eq!(people.shut_for("AB", at(500)), None);
        people.apply(at(500), &Signed::of_prompt(event));
    }
    assert_eq!(people.shut_for("AB", at(500)), Some(30_000));
    does(&mut people, recovered(5, 6), "AB", &key(4)).unwrap();
    assert_eq!(people.shut_for("AB", at(500)), None);
}

#[test]
fn wrong_pins_make_a_wait_that_a_clock_set_back_does_not_shorten() {
    let (mut people, ..) = two();
    let wrong = || {
        Signed::of_prompt(Event::WrongPin {
            initials: "CD".into(),
        })
    };
    for second in [10, 11] {
        people.apply(at(second), &wrong());
        assert_eq!(people.shut_for("CD", at(second)), None);
    }
    people.apply(at(12), &wrong());
    assert_eq!(people.shut_for("CD", at(12)), Some(30_000));
    assert_eq!(people.shut_for("CD", at(41)), Some(1_000));
    assert_eq!(people.shut_for("CD", at(42)), None);
    assert_eq!(people.shut_for("CD", at(-9000)), Some(30_000));
    assert_eq!(people.shut_for("AB", at(12)), None);
    people.apply(at(50), &wrong());
    assert_eq!(people.shut_for("CD", at(50)), Some(60_000));
    // A wrong PIN recorded with the clock set back counts from the latest recorded time.
    people.apply(at(-9000), &wrong());
    assert_eq!(people.shut_for("CD", at(50)), Some(120_000));
    for _ in 0..60 {
        people.apply(at(60), &wrong());
    }
    assert_eq!(people.shut_for("CD", at(60)), Some(3_600_000));
    let opened = Signed::of_prompt(Event::Unlocked {
        initials: "CD".into(),
    });
    people.apply(at(7000), &opened);
    assert_eq!(people.shut_for("CD", at(7000)), None);
}

/// With an entry dated a year ahead, the wait starts again at the clock's time and then ends, instead of lasting a
/// year.
#[test]
fn a_wrong_pin_dated_ahead_does_not_shut_the_prompt_for_ever() {
    let (mut people, _, _) = two();
    let of_prompt = |event| Signed::of_prompt(event);
    let year = 365 * 86_400;
    for _ in 0..3 {
        let initials = "CD".into();
        people.apply(at(year), &of_prompt(Event::WrongPin { initials }));
    }
    assert!(people.wait_is_ahead("CD", at(10)));
    assert!(!people.wait_is_ahead("CD", at(year)));
    assert!(!people.wait_is_ahead("AB", at(10)));
    let initials = "CD".into();
    people.apply(at(10), &of_prompt(Event::WaitRestarted { initials }));
    assert_eq!(people.shut_for("CD", at(10)), Some(30_000));
    assert_eq!(people.shut_for("CD", at(40)), None);
    // The wrong PINs still count, and the next wait is no longer dated ahead.
    let initials = "CD".into();
    people.apply(at(41), &of_prompt(Event::WrongPin { initials }));
    assert!(!people.wait_is_ahead("CD", at(41)));
    assert_eq!(people.shut_for("CD", at(41)), Some(60_000));
}

#[test]
fn nobody_may_run_more_alone_with_less_practice_than_required() {
    let (mut people, one, _) = two();
    let practice = PracticeRequirement {
        rehearsals: 2,
        points: 80,
        ..PracticeRequirement::default()
    };
    let asked = || Event::Required {
        practice: practice.clone(),
    };
    assert_eq!(People::default().possible(&asked()), Err(Refusal::Nobody));
    let required = Signed::by(asked(), "AB", &one, &people.place(at(2)));
    people.check(at(2), &required).unwrap();
    people.apply(at(2), &required);
    assert_eq!(people.possible(&asked()), Err(Refusal::SameRequired));

    let only = |ids: &[&str]| AloneScope::Only(ids.iter().map(|&id| id.to_owned()).collect());
    let stands = |machines: AloneScope, procedures: AloneScope| Person {
        machines,
        procedures,
        ..person("EF", &[Role::Operator])
    };
    let practised = |rehearsals, points| {
        Some(PracticeDone {
            rehearsals,
            points,
            last: "0".to_owned(),
            ..PracticeDone::default()
        })
    };
    let add = |person: Person, practised| Event::Added {
        person,
        key: key(3).public(),
        practised,
    };
    let too_little = |has| {
        Err(Refusal::NotPractised {
            initials: "EF".into(),
            wanted: practice.clone(),
            has,
            missing: Vec::new(),
        })
    };
    // A person who runs nothing alone needs no practice. A machine without a procedure counts as nothing.
    for person in [
        stands(only(&[]), AloneScope::All),
        stands(only(&["m1"]), only(&[])),
    ] {
        assert_eq!(people.possible(&add(person, None)), Ok(()));
    }
    for (has, expected) in [
        (None, too_little(0)),
        (practised(1, 80), too_little(1)),
        (practised(9, 79), too_little(0)),
        (practised(2, 80), Ok(())),
    ] {
        let event = add(stands(only(&["m1"]), AloneScope::All), has);
        assert_eq!(people.possible(&event), expected, "{event:?}");
    }

    let event = add(stands(only(&["m1"]), AloneScope::All), practised(2, 80));
    let added = Signed::by(event, "AB", &one, &people.place(at(3)));
    people.check(at(3), &added).unwrap();
    people.apply(at(3), &added);
    let change = |machines: AloneScope, practised| Event::Changed {
        person: stands(machines, AloneScope::All),
        practised,
    };
    assert_eq!(
        people.possible(&change(only(&["m1", "m2"]), None)),
        too_little(0)
    );
    assert_eq!(
        people.possible(&change(AloneScope::All, None)),
        too_little(0)
    );
    assert_eq!(
        people.possible(&change(AloneScope::All, practised(3, 90))),
        Ok(())
    );
    // A change to fewer rights needs no practice.
    assert_eq!(people.possible(&change(only(&[]), None)), Ok(()));
    // An event signed without the required practice is a fault of the record, no matter who signed it.
    let slipped = Signed::by(
        change(AloneScope::All, None),
        "AB",
        &one,
        &people.place(at(4)),
    );
    assert!(matches!(
        people.check(at(4), &slipped),
        Err(Fault::Cannot(_))
    ));
}

/// Each required scenario counts by its text, and a trainer must be present where this is required.
#[test]
fn required_scenarios_and_a_present_trainer_are_checked_against_what_was_counted() {
    let (mut people, one, _) = two();
    let scenario = |title: &str, text: &str| NamedScenario {
        title: title.to_owned(),
        file: "day.yaml".to_owned(),
        text: Fingerprint::of(text),
    };
    let practice = PracticeRequirement {
        points: 80,
        scenarios: vec![scenario("First day", "1"), scenario("Second day", "2")],
        trainer: true,
        ..PracticeRequirement::default()
    };
    assert!(practice.asks());
    let event = Event::Required {
        practice: practice.clone(),
    };
    does(&mut people, event.clone(), "AB", &one).unwrap();
    assert_eq!(people.possible(&event), Err(Refusal::SameRequired));
    let add = |texts: &[&str], points, trainer| Event::Added {
        person: person("EF", &[Role::Operator]),
        key: key(3).public(),
        practised: Some(PracticeDone {
            rehearsals: 9,
            points,
            trainer,
            scenarios: texts.iter().map(Fingerprint::of).collect(),
            ..PracticeDone::default()
        }),
    };
    let refused = |event: &Event| match people.possible(event) {
        Err(refusal @ Refusal::NotPractised { .. }) => refusal.to_string(),
        other => panic!("{other:?}"),
    };
    for (texts, points, trainer, lacks) in [
        (&["1", "3"][..], 80, true, "EF has 9 and lacks `Second day`"),
        (
            &["1", "2"],
            79,
            true,
            "EF has 0 and lacks `First day`, `Second day`",
        ),
        (
            &["1", "2"],
            80,
            false,
            "EF has 0 and lacks `First day`, `Second day`",
        ),
    ] {
        let result = refused(&add(texts, points, trainer));
        assert!(result.ends_with(lacks), "{result}");
        assert!(
            result.contains("the shop asks for the scenario `First day` (day.yaml), the scenario `Second day` (day.yaml), each of at least 80 points and with a trainer present who signs for it"),
            "{result}"
        );
    }
    assert_eq!(people.possible(&add(&["2", "4", "1"], 80, true)), Ok(()));
    // A requirement without scenarios is stored as before scenarios existed.
    let plain = PracticeRequirement {
        rehearsals: 2,
        points: 80,
        ..PracticeRequirement::default()
    };
    let text = serde_json::to_string(&plain).unwrap();
    assert_eq!(text, r#"{"rehearsals":2,"points":80}"#);
}

/// The signed text of an event without practice is the same as before practice existed, so old signatures stay valid.
#[test]
fn an_event_without_practice_is_stored_as_before() {
    let text = serde_json::to_string(&added("CD", &[Role::Operator], &key(2))).unwrap();
    assert!(!text.contains("practised"), "{text}");
}
