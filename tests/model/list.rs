//! The possible lists of people of a world, as real lists and as tables by hand. JT is a learner. MK may run alone, is
//! a trainer and may take over.

use crate::world::{PEOPLE, moment};
use skimgate::keys::{Key, KeyError, Sealed, Secret, Work};
use skimgate::people::{AloneScope, Event, People, Person, Role, Signed};
use std::sync::{Arc, OnceLock};

/// A list of people by hand; JT first, then MK.
#[derive(Clone, Copy, Debug)]
pub struct ByHand {
    pub listed: [bool; 2],
    pub alone: [bool; 2],
    pub teaches: [bool; 2],
    /// The number of each person's valid key.
    pub key: [u8; 2],
    /// The numbers of the lists that it can change to.
    pub becomes: &'static [u8],
}

const BASE: ByHand = ByHand {
    listed: [true, true],
    alone: [false, true],
    teaches: [false, true],
    key: [1, 1],
    becomes: &[1, 2, 3, 4],
};

/// The lists by number. Each allows the run to continue: where no trainer is left, JT may run alone.
pub const BY_HAND: [ByHand; 7] = [
    BASE,
    // MK is retired.
    ByHand {
        listed: [true, false],
        becomes: &[5],
        ..BASE
    },
    // JT is retired.
    ByHand {
        listed: [false, true],
        becomes: &[],
        ..BASE
    },
    // JT has a new key.
    ByHand {
        key: [2, 1],
        becomes: &[],
        ..BASE
    },
    // MK is no longer a trainer or an owner.
    ByHand {
        teaches: [false, false],
        becomes: &[6],
        ..BASE
    },
    // MK is retired, JT may run alone.
    ByHand {
        listed: [true, false],
        alone: [true, true],
        becomes: &[],
        ..BASE
    },
    // MK is no longer a trainer, JT may run alone.
    ByHand {
        teaches: [false, false],
        alone: [true, true],
        becomes: &[],
        ..BASE
    },
];

/// A list that no world has, for the planted faults: MK is a trainer, but JT may run alone.
pub const LEARNER_ALONE: u8 = 7;

struct Lists {
    keys: [[Key; 2]; 2],
    lists: Vec<Arc<People>>,
}

fn lists() -> &'static Lists {
    static LISTS: OnceLock<Lists> = OnceLock::new();
    LISTS.get_or_init(|| {
        let keys = [[key(1), key(2)], [key(3), key(4)]];
        let changed = |person: Person| Event::Changed {
            person,
            practised: None,
        };
        let learner_alone = || changed(person(0, &[Role::Operator], AloneScope::All));
        let teaches_no_more = || changed(person(1, &[Role::Operator], AloneScope::All));
        let retired = |of: usize| Event::Retired {
            initials: PEOPLE[of].to_owned(),
        };
        let mut owner = person(0, &[Role::Owner], AloneScope::All);
        "OW".clone_into(&mut owner.initials);
        let base = || {
            [
                (owner.clone(), &key(9)),
                (
                    person(0, &[Role::Operator], AloneScope::Only([].into())),
                    &keys[0][0],
                ),
                (
                    person(
                        1,
                        &[Role::Operator, Role::Trainer, Role::Owner],
                        AloneScope::All,
                    ),
                    &keys[1][0],
                ),
            ]
            .map(|(person, key)| Event::Added {
                person,
                key: key.public(),
                practised: None,
            })
        };
        let new_key = Event::KeyIssued {
            initials: PEOPLE[0].to_owned(),
            key: keys[0][1].public(),
        };
        let lists = [
            vec![],
            vec![retired(1)],
            vec![retired(0)],
            vec![new_key],
            vec![teaches_no_more()],
            vec![retired(1), learner_alone()],
            vec![teaches_no_more(), learner_alone()],
            vec![learner_alone()],
        ]
        .into_iter()
        .map(|then| {
            let mut people = People::default();
            for event in base().into_iter().chain(then) {
                people.apply(moment(0), &Signed::of_prompt(event));
            }
            Arc::new(people)
        })
        .collect();
        Lists { keys, lists }
    })
}

/// The list with this number.
pub fn people(list: u8) -> Arc<People> {
    Arc::clone(&lists().lists[usize::from(list)])
}

/// The number of a list.
pub fn number(people: &People) -> u8 {
    let all = &lists().lists;
    let found = all.iter().position(|p| p.digest() == people.digest());
    u8::try_from(found.unwrap()).unwrap()
}

/// The key of a person that is valid on this list.
pub fn key_of(person: u8, list: u8) -> &'static Key {
    let which = BY_HAND[usize::from(list)].key[usize::from(person)] - 1;
    &lists().keys[usize::from(person)][usize::from(which)]
}

/// A key of a person that is not valid on this list.
pub fn other_key_of(person: u8, list: u8) -> &'static Key {
    let which = 2 - BY_HAND[usize::from(list)].key[usize::from(person)];
    &lists().keys[usize::from(person)][usize::from(which)]
}

fn person(of: usize, roles: &[Role], machines: AloneScope) -> Person {
    Person {
        initials: PEOPLE[of].to_owned(),
        name: None,
        roles: roles.iter().copied().collect(),
        machines,
        procedures: AloneScope::All,
    }
}

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
