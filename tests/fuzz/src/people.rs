//! The list of people: changes made from choices, signed or not, and any bytes as stored entries. Once anybody is on the
//! list there is an owner who can sign; nobody retired signs; what is rightly done checks, and nothing else does.

use super::pick::Picks;
use super::rig::{BEGUN, moment};
use skimgate::fingerprint::Fingerprint;
use skimgate::keys::Key;
use skimgate::people::{
    AloneScope, Event, NamedScenario, People, Person, PracticeDone, PracticeRequirement, Role,
    Signed,
};

/// More acts than this say nothing new.
const MOST: usize = 60;

const WHO: [&str; 5] = ["AB", "CD", "EF", "G", "ab"];

pub fn run(data: &[u8]) {
    let mut picks = Picks(data);
    let mut people = People::default();
    let mut done: Vec<(i64, Signed)> = Vec::new();
    // The present key of each, as the test knows it: the seed.
    let mut seeds: Vec<(String, u8)> = Vec::new();
    let mut fresh = 0_u8;
    let mut now = BEGUN;
    for _ in 0..MOST {
        if picks.is_over() {
            break;
        }
        now += (i64::from(picks.byte()) - 64) * 10_000;
        let at = moment(now);
        fresh = fresh.wrapping_add(1);
        let (event, seed) = event(&mut picks, fresh);
        let by = picks.of(&WHO);
        // Their own key, somebody's, or one that nobody has.
        let own = seeds.iter().find(|(who, _)| who == by).map(|(_, s)| *s);
        let signs = match picks.below(8) {
            0 => Some(picks.byte()),
            _ => own.or(seed),
        };
        let place = people.place(at);
        let signed = match signs {
            Some(signs) if !event.is_of_prompt() => {
                Signed::by(event.clone(), by, &key(signs), &place)
            }
            _ => Signed::of_prompt(event.clone()),
        };
        // Somebody recovers with the key of their code, and nobody makes or uses the code of another.
        let (of, with_code) = match &event {
            Event::RecoveryMade { initials, .. } => (Some(initials), false),
            Event::Recovered { initials, .. } => (Some(initials), true),
            _ => (None, false),
        };
        let owner_signs = people.active(by).is_some_and(|l| {
            let with = if with_code {
                l.recovery.as_deref()
            } else {
                l.key()
            };
            l.person.is(Role::Owner)
                && of.is_none_or(|of| of == by)
                && signs.is_some_and(|s| with == Some(&key(s).public()))
        });
        let first = people.is_empty()
            && matches!(&event, Event::Added { person, key: public, .. }
                if person.initials == by && signs.is_some_and(|s| *public == key(s).public()));
        let rightly = event.is_of_prompt()
            || people.possible(&event).is_ok() && (owner_signs || first) && signed.by.is_some();
        assert_eq!(people.check(at, &signed).is_ok(), rightly, "{signed:?}");
        if !rightly {
            continue;
        }
        let text = serde_json::to_string(&signed).expect("an entry can be written");
        assert_eq!(
            serde_json::from_str::<Signed>(&text).ok().as_ref(),
            Some(&signed)
        );
        people.apply(at, &signed);
        done.push((now, signed));
        if let (Event::Added { person, .. }, Some(seed)) = (&event, seed) {
            seeds.push((person.initials.clone(), seed));
        }
        if let (Event::KeyIssued { initials, .. } | Event::Recovered { initials, .. }, Some(seed)) =
            (&event, seed)
        {
            seeds.retain(|(who, _)| who != initials);
            seeds.push((initials.clone(), seed));
        }
        holds(&people, &seeds);
    }
    let mut again = People::default();
    for (at, signed) in &done {
        assert!(again.check(moment(*at), signed).is_ok());
        again.apply(moment(*at), signed);
    }
    assert_eq!(again, people);
    // Any bytes as what is stored: folded without a check, whatever it says.
    for line in data.split(|byte| *byte == b'\n').take(MOST) {
        if let Ok(signed) = serde_json::from_slice::<Signed>(line) {
            let _ = people.check(moment(now), &signed);
            people.apply(moment(now), &signed);
        }
    }
    for listed in people.all() {
        assert!(
            people
                .shut_for(&listed.person.initials, moment(now))
                .is_none_or(|ms| ms > 0)
        );
    }
}

fn holds(people: &People, seeds: &[(String, u8)]) {
    assert!(people.is_empty() || people.owners() > 0);
    for listed in people.all() {
        let initials = &listed.person.initials;
        assert!(!listed.person.roles.is_empty());
        if listed.retired.is_some() {
            assert!(people.active(initials).is_none() && listed.key().is_none());
        } else {
            let seed = seeds
                .iter()
                .find(|(who, _)| who == initials)
                .map(|(_, s)| *s);
            assert_eq!(listed.key(), seed.map(|s| key(s).public()).as_deref());
        }
    }
}

fn key(seed: u8) -> Key {
    Key::from_seed(&[seed; 32])
}

/// Something that may happen to the list, and the seed of the key that comes with it.
fn event(picks: &mut Picks, fresh: u8) -> (Event, Option<u8>) {
    let initials = picks.of(&WHO).to_owned();
    let alone = |picks: &mut Picks| match picks.below(3) {
        0 => AloneScope::All,
        1 => AloneScope::Only([].into()),
        _ => AloneScope::Only(["mill-a".to_owned()].into()),
    };
    let person = |picks: &mut Picks| {
        let byte = picks.byte();
        let roles = Role::ALL.into_iter().enumerate();
        Person {
            initials: initials.clone(),
            name: None,
            roles: roles
                .filter(|(i, _)| byte & (1 << i) > 0)
                .map(|(_, r)| r)
                .collect(),
            machines: alone(picks),
            procedures: alone(picks),
        }
    };
    let scenario = || NamedScenario {
        title: "Second day".to_owned(),
        file: "day-2.yaml".to_owned(),
        text: Fingerprint::NONE,
    };
    let practised = |picks: &mut Picks| {
        picks.yes().then(|| PracticeDone {
            rehearsals: u32::from(picks.byte() % 4),
            points: 80,
            last: Fingerprint::NONE.to_string(),
            scenarios: picks
                .yes()
                .then_some(Fingerprint::NONE)
                .into_iter()
                .collect(),
            trainer: picks.yes(),
        })
    };
    // Mostly a key of its own; now and then one that was somebody's.
    let seed = if picks.below(8) == 0 {
        picks.byte()
    } else {
        fresh
    };
    let recovery = |picks: &mut Picks| key(picks.byte()).public();
    match picks.below(11) {
        0..3 => {
            let (person, practised) = (person(picks), practised(picks));
            let key = key(seed).public();
            (
                Event::Added {
                    person,
                    key,
                    practised,
                },
                Some(seed),
            )
        }
        3 | 4 => {
            let (person, practised) = (person(picks), practised(picks));
            (Event::Changed { person, practised }, None)
        }
        5 => (Event::Retired { initials }, None),
        6 => {
            let key = key(seed).public();
            (Event::KeyIssued { initials, key }, Some(seed))
        }
        7 => {
            let practice = PracticeRequirement {
                rehearsals: u32::from(picks.byte() % 3),
                points: i64::from(picks.byte() % 101),
                scenarios: picks.yes().then(scenario).into_iter().collect(),
                trainer: picks.yes(),
            };
            (Event::Required { practice }, None)
        }
        8 => {
            let recovery = recovery(picks);
            (Event::RecoveryMade { initials, recovery }, None)
        }
        9 => {
            let (key, recovery) = (key(seed).public(), recovery(picks));
            let event = Event::Recovered {
                initials,
                key,
                recovery,
            };
            (event, Some(seed))
        }
        _ if picks.yes() => (Event::WrongPin { initials }, None),
        _ => (Event::Unlocked { initials }, None),
    }
}
