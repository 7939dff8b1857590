//! The list of people tampered with by somebody who makes the chain whole again: every digest is right, and only the
//! signatures are left to tell. Invented people, keys from seeds.

use crate::workshop::Seeded;
use skimgate::book::{Book, Draft, Entry};
use skimgate::fingerprint::Fingerprint;
use skimgate::keys::Key;
use skimgate::people::{
    AloneScope, Event, People, Person, PracticeDone, PracticeRequirement, Role, Signed,
};
use skimgate::quantity::moment::Moment;
use skimgate::walk::store::people_list::{self, LEDGER};

const CASES: usize = 300;

fn key(seed: u8) -> Key {
    Key::from_seed(&[seed; 32])
}

fn person(initials: &str, roles: &[Role], alone: bool) -> Person {
    let what = || {
        if alone {
            AloneScope::All
        } else {
            AloneScope::Only([].into())
        }
    };
    Person {
        initials: initials.into(),
        name: Some("invented".into()),
        roles: roles.iter().copied().collect(),
        machines: what(),
        procedures: what(),
    }
}

/// Everything that can happen to a list, by its owner AB and, from the middle on, by CD too.
fn made(book: &mut Book) {
    let mut people = People::default();
    let (ab, cd, code) = (key(1), key(2), key(6));
    let practised = PracticeDone {
        rehearsals: 3,
        points: 80,
        last: Fingerprint::NONE.to_string(),
        ..PracticeDone::default()
    };
    let added = |person, seed: u8, practised| Event::Added {
        person,
        key: key(seed).public(),
        practised,
    };
    let initials = |who: &str| who.to_owned();
    let acts: [(Event, Option<(&str, &Key)>); 14] = [
        (
            added(person("AB", &[Role::Owner], true), 1, None),
            Some(("AB", &ab)),
        ),
        (
            Event::RecoveryMade {
                initials: initials("AB"),
                recovery: code.public(),
            },
            Some(("AB", &ab)),
        ),
        (
            added(person("CD", &[Role::Operator], false), 2, None),
            Some(("AB", &ab)),
        ),
        (
            added(person("EF", &[Role::Trainer], true), 3, None),
            Some(("AB", &ab)),
        ),
        (
            Event::WrongPin {
                initials: initials("CD"),
            },
            None,
        ),
        (
            Event::Unlocked {
                initials: initials("CD"),
            },
            None,
        ),
        (
            Event::Required {
                practice: PracticeRequirement {
                    rehearsals: 3,
                    points: 80,
                    ..PracticeRequirement::default()
                },
            },
            Some(("AB", &ab)),
        ),
        (
            Event::Changed {
                person: person("CD", &[Role::Operator, Role::Owner], true),
                practised: Some(practised),
            },
            Some(("AB", &ab)),
        ),
        (
            Event::WrongCode {
                initials: initials("AB"),
            },
            None,
        ),
        (
            Event::Recovered {
                initials: initials("AB"),
                key: key(7).public(),
                recovery: key(8).public(),
            },
            Some(("AB", &code)),
        ),
        (
            Event::KeyIssued {
                initials: initials("EF"),
                key: key(4).public(),
            },
            Some(("CD", &cd)),
        ),
        (
            Event::Retired {
                initials: initials("AB"),
            },
            Some(("CD", &cd)),
        ),
        (
            added(person("GH", &[Role::Operator], false), 5, None),
            Some(("CD", &cd)),
        ),
        (
            Event::WrongPin {
                initials: initials("GH"),
            },
            None,
        ),
    ];
    for (n, (event, by)) in (0_i64..).zip(acts) {
        let at = Moment::from_ms(1_800_000_000_000 + n * 60_000).unwrap();
        let signed = match by {
            Some((who, key)) => Signed::by(event, who, key, &people.place(at)),
            None => Signed::of_prompt(event),
        };
        people.check(at, &signed).unwrap();
        people_list::append(book, &mut people, at, &signed).unwrap();
    }
}

/// What owners did, in its order, as stored.
fn by_owners(book: &Book) -> Vec<(Moment, Signed)> {
    let mut all = people_list::entries(book).unwrap();
    all.retain(|(_, signed)| !signed.event.is_of_prompt());
    all
}

fn draft(entry: &Entry) -> Draft {
    Draft {
        at: entry.at.clone(),
        kind: entry.kind.clone(),
        version: entry.version,
        body: entry.body.clone(),
    }
}

fn tampered(drafts: &mut Vec<Draft>, random: &mut Seeded) -> String {
    let at = random.below(drafts.len());
    match random.below(6) {
        0 => {
            drafts.remove(at);
            format!("entry {at} dropped")
        }
        1 => {
            let other = random.below(drafts.len());
            drafts.swap(at, other);
            format!("entries {at} and {other} swapped")
        }
        2 => {
            let to = random.below(drafts.len() + 1);
            drafts.insert(to, drafts[at].clone());
            format!("entry {at} repeated at {to}")
        }
        3 => {
            let ms = 1_800_000_000_000 + i64::try_from(random.below(14)).unwrap() * 60_000 + 1;
            drafts[at].at = Moment::from_ms(ms).unwrap().to_string();
            format!("moment of entry {at} changed")
        }
        4 => {
            let (from, to) = [
                ("\"operator\"", "\"owner\""),
                ("\"AB\"", "\"CD\""),
                ("\"rehearsals\":3", "\"rehearsals\":0"),
                ("{\"only\":[]}", "\"all\""),
                ("invented", "somebody"),
            ][random.below(5)];
            drafts[at].body = drafts[at].body.replacen(from, to, 1);
            format!("{from} for {to} in entry {at}")
        }
        _ => {
            let body = &drafts[at].body;
            let place = random.below(body.len());
            let letter = [b'a', b'0', b'7', b'"'][random.below(4)];
            let mut bytes = body.clone().into_bytes();
            bytes[place] = letter;
            drafts[at].body = String::from_utf8(bytes).unwrap();
            format!("byte {place} of entry {at} changed")
        }
    }
}

#[test]
fn a_list_changed_and_chained_anew_is_found_by_its_signatures() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite3");
    let mut book = Book::open(&path).unwrap();
    made(&mut book);
    assert_eq!(people_list::verify(&book).unwrap(), 14);
    let entries = book.ledger(LEDGER).unwrap();
    let before = by_owners(&book);
    let untouched: Vec<String> = entries.iter().map(|e| e.body.clone()).collect();
    let mut random = Seeded(11);
    let (mut found, mut harmless) = (0, Vec::new());
    let mut tried = 0;
    while tried < CASES {
        let mut drafts: Vec<Draft> = entries.iter().map(draft).collect();
        let what = tampered(&mut drafts, &mut random);
        let same = drafts.iter().map(|d| &d.body).eq(&untouched);
        if same && !what.starts_with("moment") {
            continue;
        }
        tried += 1;
        let other = folder.path().join("other.sqlite3");
        let _ = std::fs::remove_file(&other);
        let mut changed = Book::open(&other).unwrap();
        changed.append_to_ledger(LEDGER, 0, &drafts).unwrap();
        changed.verify_chain().unwrap();
        if people_list::verify(&changed).is_err() {
            found += 1;
            continue;
        }
        // What owners did stands as they did it. A tail cut off shows against a last digest on paper only; and what happens
        // at the prompt nobody signs, though it may not stand between two signatures otherwise than it did.
        let after = by_owners(&changed);
        let cut = before.len() - 1;
        assert!(
            after == before || after == before[..cut],
            "{what}: not found"
        );
        harmless.push(what);
    }
    println!("{found} found, {} not: {harmless:?}", harmless.len());
    assert!(found > CASES * 8 / 10, "{harmless:?}");
}
