//! How much practice an owner asks for before somebody runs alone.

use super::people::{LEARNER, OWNER, people, register};
use crate::support::Bench;
use skimgate::book::Book;
use skimgate::interlock::answer::Proof;
use skimgate::keys::{Key, Sealed, Secret};
use skimgate::walk::practice::scores;

/// The key that a PIN opens.
fn key_of(bench: &Bench, who: &str, pin: &str) -> Key {
    let mut folder = bench.book().into_os_string();
    folder.push(".keys");
    let files = std::fs::read_dir(folder).unwrap().map(|f| f.unwrap());
    let own = |f: &std::fs::DirEntry| f.file_name().to_string_lossy().starts_with(who);
    let texts = files.filter(own).map(|f| std::fs::read(f.path()).unwrap());
    let sealed = texts.map(|text| serde_json::from_slice::<Sealed>(&text).unwrap());
    let pin = Secret::new(pin.to_owned());
    sealed
        .into_iter()
        .find_map(|sealed| sealed.open(&pin).ok())
        .unwrap()
}

/// Keeps a clean rehearsal of CD, made of the demonstration that is kept already, with the seed of another; signed by whoever
/// typed a PIN.
fn keep(bench: &Bench, seed: u64, points: i64, key: Option<&Key>) {
    let mut book = Book::open(scores::beside(&bench.book())).unwrap();
    let mut rehearsed = scores::all(&book).unwrap()[0].rehearsed.clone();
    assert!(rehearsed.score.is_clean());
    rehearsed.demo = false;
    rehearsed.seed = seed;
    "CD".clone_into(&mut rehearsed.operator);
    rehearsed.score.points = points;
    rehearsed.proof = key.map(|key| Proof {
        key: key.public(),
        signature: key.sign(&rehearsed.text_to_sign("CD")),
        role: None,
    });
    let now = "2026-03-01T10:00:00Z".parse().unwrap();
    scores::keep(&mut book, &rehearsed, now).unwrap();
}

#[test]
fn who_has_not_practised_enough_is_not_let_alone() {
    let bench = Bench::new();
    register(&bench);
    let mut at = people(&bench, "require --rehearsals 1 --points 90");
    at.answers("PIN of AB (not shown)", OWNER);
    at.ends(0);
    at.has_seen(&["1 clean rehearsal with a fault in the way, each of at least 90 points."]);
    bench
        .run(&["people", "list"])
        .ended(0)
        .tells(&["Before somebody runs alone: 1 clean rehearsal"]);

    let refused = |wanted: &str| {
        // Refused before anybody types a PIN.
        let mut at = people(&bench, "change cd --machines all");
        at.ends(3);
        at.has_seen(&[wanted, "skimgate rehearse --scores", "--machines none"]);
    };
    refused("CD has 0");
    // Of a demonstration nobody has learnt anything.
    // About one seed in twelve leaves skin that five touches do not show; this one comes clean.
    let demo = "rehearse --demo --at-once --drill visitor --seed 1";
    let demo: Vec<&str> = demo.split(' ').collect();
    bench.run(&demo).ended(0);
    refused("CD has 0");
    // Nor of the answers of a demonstration, given again.
    let cd = key_of(&bench, "CD", LEARNER);
    keep(&bench, 1, 95, Some(&cd));
    refused("1 clean rehearsal does not count: the demonstration of its seed was shown before");
    keep(&bench, 2, 85, Some(&cd));
    refused("CD has 0");
    // Nor where nobody typed a PIN, or somebody typed another's.
    keep(&bench, 2, 95, None);
    refused("1 clean rehearsal does not count: no PIN was typed for it");
    keep(&bench, 2, 95, Some(&key_of(&bench, "AB", OWNER)));
    refused("2 clean rehearsals do not count: no PIN was typed for it");
    keep(&bench, 2, 95, Some(&cd));
    let mut at = people(&bench, "change cd --machines all");
    at.answers("PIN of AB (not shown)", OWNER);
    at.ends(0);
    at.has_seen(&["CD is changed. Recorded, signed by AB."]);
    bench.run(&["record", "verify"]).ended(0);
    assert!(!at.screen.contains(LEARNER));

    // Somebody new has practised nothing; beside a trainer they may begin.
    let mut at = people(&bench, "add ef");
    at.ends(3);
    at.has_seen(&["EF cannot be let run alone yet", "EF has 0"]);
    let mut at = people(&bench, "add ef --machines none");
    at.answers("PIN of AB (not shown)", OWNER);
    at.goes(&[
        ("new PIN (not shown)", "918273"),
        ("the same again (not shown)", "918273"),
    ]);
    at.ends(0);
}
