//! Tests of who may run a machine alone, by practice.

use super::tests::{added, at, does, key, person, two};
use super::{
    AloneScope, Event, Fault, NamedScenario, People, Person, PracticeDone, PracticeRequirement,
    Refusal, Role, Signed,
};
use crate::fingerprint::Fingerprint;

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
