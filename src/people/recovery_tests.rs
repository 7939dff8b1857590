//! Tests of recovery codes and of the wait that wrong PINs make.

use super::tests::{added, at, does, key, person, two};
use super::{Event, Fault, Refusal, Role, Signed};

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
