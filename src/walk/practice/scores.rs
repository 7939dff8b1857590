//! Scores in the practice book: one entry of its ledger `practice` for each rehearsal.
//!
//! Practice has a book of its own beside the real one: it can hold no machine of the real book, is never an open run of
//! one, and a real book is byte for byte the same after any number of rehearsals.

use crate::book::{Book, Draft};
use crate::fingerprint::Fingerprint;
use crate::interlock::answer::Proof;
use crate::keys;
use crate::people::fold::ListedPerson;
use crate::people::{People, PracticeRequirement, Role};
use crate::quantity::moment::Moment;
use crate::report::spreadsheet;
use crate::simulator::{Decision, Score};
use crate::walk::error::WalkError;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Not;
use std::path::{Path, PathBuf};

/// The ledger.
pub(crate) const LEDGER: &str = "practice";

/// The kind of its entries.
const KIND: &str = "rehearsed";

/// The version of what is stored.
const VERSION: u32 = 1;

/// One rehearsal, as it is kept.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Rehearsed {
    /// The run's id in the practice book.
    pub run: String,
    /// The initials of the person who practised.
    pub operator: String,
    /// Whether nobody was asked.
    pub demo: bool,
    /// The scenario's title, where there was one.
    pub scenario: Option<String>,
    /// The seed.
    pub seed: u64,
    /// The level's word.
    pub level: String,
    /// The drills' ids.
    pub drills: Vec<String>,
    /// What it is worth.
    pub score: Score,
    /// Every answer that could be judged.
    pub decisions: Vec<Decision>,
    /// The fingerprint of the scenario's text; none where there was none, or where options changed what it says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scenario_text: Option<Fingerprint>,
    /// Whether it went into other hands on the way: then it is nobody's own.
    #[serde(default, skip_serializing_if = "Not::not")]
    pub handed_over: bool,
    /// The signature of who practised, where people are registered, over [`Rehearsed::text_to_sign`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub proof: Option<Proof>,
    /// The trainer who was beside.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trainer: Option<Trainer>,
}

/// A trainer who was beside somebody who practised.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub struct Trainer {
    /// The trainer's initials.
    pub initials: String,
    /// Their signature over [`Rehearsed::text_to_sign`].
    pub proof: Proof,
}

impl Rehearsed {
    /// The text that `initials` sign, who practised or was beside: all that is stored of the rehearsal but signatures.
    pub fn text_to_sign(&self, initials: &str) -> String {
        let unsigned = Self {
            proof: None,
            trainer: None,
            ..self.clone()
        };
        // Plain data; writing it cannot fail.
        let body = serde_json::to_string(&unsigned).unwrap_or_default();
        let whole = Fingerprint::builder()
            .field("skimgate rehearsal 1")
            .field(initials)
            .field(body)
            .finish();
        format!("skimgate rehearsal 1\n{whole}")
    }

    /// Whether `proof` is the signature of somebody on the list, with a key that is or was theirs.
    fn is_signed(&self, initials: &str, proof: &Proof, people: &People) -> bool {
        let own = |l: &ListedPerson| l.keys.iter().any(|k| k.public == proof.key);
        people.find(initials).is_some_and(own)
            && keys::holds(&proof.key, &self.text_to_sign(initials), &proof.signature)
    }

    /// Whether it is clean with a fault in the way, so that it may count as practice of whoever made it.
    pub(crate) fn is_clean(&self, points: i64) -> bool {
        !self.demo && self.score.caught > 0 && self.score.is_clean() && self.score.points >= points
    }

    fn has_trainer(&self, people: &People) -> bool {
        self.trainer.as_ref().is_some_and(|trainer| {
            let who = &trainer.initials;
            let teaches = |l: &ListedPerson| l.person.at_least(Role::Trainer).is_some();
            *who != self.operator
                && people.find(who).is_some_and(teaches)
                && self.is_signed(who, &trainer.proof, people)
        })
    }

    /// Why a clean one does not count; none where it does.
    fn counts_not(&self, people: &People, trainer: bool) -> Option<Uncounted> {
        let proof = self.proof.as_ref();
        if self.handed_over {
            Some(Uncounted::HandedOver)
        } else if !proof.is_some_and(|proof| self.is_signed(&self.operator, proof, people)) {
            Some(Uncounted::Unsigned)
        } else if trainer && !self.has_trainer(people) {
            Some(Uncounted::NoTrainer)
        } else {
            None
        }
    }
}

/// Why a clean rehearsal is not counted.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub(crate) enum Uncounted {
    /// No PIN was typed, or what is stored was changed.
    Unsigned,
    /// Somebody else had it for a while.
    HandedOver,
    /// No trainer signed for it.
    NoTrainer,
    /// Its demonstration was shown before.
    Shown,
}

impl Uncounted {
    /// In words.
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::Unsigned => "no PIN was typed for it",
            Self::HandedOver => "it was handed over on the way",
            Self::NoTrainer => "no trainer signed for it",
            Self::Shown => "the demonstration of its seed was shown before",
        }
    }
}

/// What counts of somebody's rehearsals, and what does not.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub(crate) struct Counted {
    /// The seeds that count.
    pub seeds: BTreeSet<u64>,
    /// The texts of the scenarios that count.
    pub scenarios: BTreeSet<Fingerprint>,
    /// Why clean ones do not, with how many.
    pub uncounted: BTreeMap<Uncounted, usize>,
}

/// One rehearsal and when it was.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Kept {
    /// When it ended, RFC 3339.
    pub at: String,
    /// The rehearsal.
    pub rehearsed: Rehearsed,
}

/// Where practice is kept: beside the real book, under its name.
pub fn beside(book: &Path) -> PathBuf {
    book.with_extension("practice.sqlite3")
}

/// Whether a book is one of practice, by its name.
pub(crate) fn is_practice(book: &Path) -> bool {
    let name = book.file_name().map(|n| n.to_string_lossy());
    name.is_some_and(|n| n.ends_with(".practice.sqlite3"))
}

/// Where the practice mill's programs lie.
pub(crate) fn programs(book: &Path) -> PathBuf {
    book.with_extension("practice")
}

/// Keeps a rehearsal.
pub fn keep(book: &mut Book, rehearsed: &Rehearsed, now: Moment) -> Result<(), WalkError> {
    let body = serde_json::to_string(rehearsed)
        .map_err(|e| WalkError::Fault(format!("a score cannot be written: {e}")))?;
    let draft = Draft {
        at: now.to_string(),
        kind: KIND.to_owned(),
        version: VERSION,
        body,
    };
    let after = book.ledger(LEDGER)?.last().map_or(0, |e| e.n);
    book.append_to_ledger(LEDGER, after, &[draft])?;
    Ok(())
}

/// All rehearsals kept, oldest first.
pub fn all(book: &Book) -> Result<Vec<Kept>, WalkError> {
    let entries = book.ledger(LEDGER)?;
    let read = |entry: crate::book::Entry| {
        let fault = |reason: String| WalkError::Event {
            run: LEDGER.to_owned(),
            n: entry.n,
            reason,
        };
        if entry.version > VERSION {
            return Err(WalkError::Newer {
                run: LEDGER.to_owned(),
                n: entry.n,
                found: entry.version,
                known: VERSION,
            });
        }
        let rehearsed = serde_json::from_str(&entry.body).map_err(|e| fault(e.to_string()))?;
        Ok(Kept {
            at: entry.at.clone(),
            rehearsed,
        })
    };
    entries.into_iter().map(read).collect()
}

/// The digest of the last score; empty where there is none.
pub(crate) fn last(book: &Book) -> Result<String, WalkError> {
    let last = book.ledger(LEDGER)?.pop();
    Ok(last.map_or(String::new(), |entry| entry.digest.to_string()))
}

/// The clean rehearsals of a person that count towards what is wanted: with a fault that came up and enough points, signed by
/// who practised and, where that is wanted, by a trainer beside. A seed counts once, and not when its demonstration was shown
/// before: its answers could be repeated from memory. Nobody knows who watched a demonstration, so it counts as shown to
/// everybody.
pub(crate) fn counted(
    kept: &[Kept],
    operator: &str,
    people: &People,
    wanted: &PracticeRequirement,
) -> Counted {
    let mut shown = BTreeSet::new();
    let mut counted = Counted::default();
    for r in kept.iter().map(|k| &k.rehearsed) {
        if r.demo {
            shown.insert(r.seed);
        }
        if r.operator != operator || !r.is_clean(wanted.points) {
            continue;
        }
        let was_shown = shown.contains(&r.seed).then_some(Uncounted::Shown);
        if let Some(why) = was_shown.or_else(|| r.counts_not(people, wanted.trainer)) {
            *counted.uncounted.entry(why).or_default() += 1;
        } else {
            counted.seeds.insert(r.seed);
            counted.scenarios.extend(r.scenario_text);
        }
    }
    counted
}

/// The sheet of results: one line a rehearsal, comma-separated, marked as practice in every line.
pub(crate) fn sheet(kept: &[Kept]) -> String {
    let mut lines =
        "record,run,ended,operator,demo,scenario,seed,level,drills,points,clean,complete,caught,out_of_order,missed,\
         not_reached,false_alarms,untrue,gouges,crashes,other_faults,cleaned_percent,wasted_mm,finish_right,minutes\r\n"
            .to_owned();
    for Kept { at, rehearsed: r } in kept {
        let s = &r.score;
        let yes = |is: bool| if is { "yes" } else { "no" }.to_owned();
        let fields = [
            "practice".to_owned(),
            r.run.clone(),
            at.clone(),
            r.operator.clone(),
            yes(r.demo),
            r.scenario.clone().unwrap_or_default(),
            r.seed.to_string(),
            r.level.clone(),
            r.drills.join(" "),
            s.points.to_string(),
            yes(s.is_clean()),
            yes(s.complete),
            s.caught.to_string(),
            s.out_of_order.to_string(),
            s.missed.to_string(),
            s.not_reached.to_string(),
            s.false_alarms.to_string(),
            s.untrue.to_string(),
            s.gouges.to_string(),
            s.crashes.to_string(),
            s.faults.to_string(),
            format!("{}.{}", s.cleaned / 10, s.cleaned % 10),
            format!("{}.{:03}", s.wasted_um / 1000, s.wasted_um % 1000),
            s.finish.map_or(String::new(), yes),
            (s.seconds / 60).to_string(),
        ];
        lines.push_str(&spreadsheet::line(fields.iter().map(String::as_str)));
    }
    lines
}

/// A rehearsal for programs.
pub(crate) fn json(kept: &Kept) -> Value {
    let r = &kept.rehearsed;
    let s = &r.score;
    json!({
        "run": r.run, "ended": kept.at, "operator": r.operator, "demo": r.demo, "scenario": r.scenario,
        "seed": r.seed, "level": r.level, "drills": r.drills, "points": s.points, "clean": s.is_clean(),
        "complete": s.complete, "caught": s.caught, "missed": s.missed, "out_of_order": s.out_of_order,
        "not_reached": s.not_reached, "false_alarms": s.false_alarms, "untrue": s.untrue, "gouges": s.gouges,
        "crashes": s.crashes, "other_faults": s.faults, "finish_right": s.finish, "seconds": s.seconds,
    })
}

#[cfg(test)]
mod tests {
    use super::{Counted, Kept, Rehearsed, Trainer, Uncounted, counted, sheet};
    use crate::fingerprint::Fingerprint;
    use crate::interlock::answer::Proof;
    use crate::keys::Key;
    use crate::people::{AloneScope, Event, People, Person, PracticeRequirement, Role, Signed};
    use crate::quantity::moment::Moment;
    use crate::simulator::Score;

    fn key(who: &str) -> Key {
        let mut seed = [0; 32];
        seed[..2].copy_from_slice(who.as_bytes());
        Key::from_seed(&seed)
    }

    /// QZ and AB work, TR teaches, OW owns. Invented.
    fn people() -> People {
        let mut people = People::default();
        for (who, role) in [
            ("OW", Role::Owner),
            ("QZ", Role::Operator),
            ("AB", Role::Operator),
            ("TR", Role::Trainer),
        ] {
            let person = Person {
                initials: who.to_owned(),
                name: None,
                roles: [role].into(),
                machines: AloneScope::All,
                procedures: AloneScope::All,
            };
            let event = Event::Added {
                person,
                key: key(who).public(),
                practised: None,
            };
            let at = Moment::from_ms(1_780_000_000_000).unwrap();
            people.apply(at, &Signed::by(event, "OW", &key("OW"), &people.place(at)));
        }
        people
    }

    fn proof(rehearsed: &Rehearsed, initials: &str, with: &str) -> Proof {
        Proof {
            key: key(with).public(),
            signature: key(with).sign(&rehearsed.text_to_sign(initials)),
            role: None,
        }
    }

    fn kept(operator: &str, demo: bool, missed: usize) -> Kept {
        of_seed(7, operator, demo, missed)
    }

    fn of_seed(seed: u64, operator: &str, demo: bool, missed: usize) -> Kept {
        let mut rehearsed = Rehearsed {
            run: "2026-03-01-1".to_owned(),
            operator: operator.to_owned(),
            demo,
            scenario: Some("Day 2, \"hard\"".to_owned()),
            seed,
            level: "usual".to_owned(),
            drills: vec!["visitor".to_owned()],
            score: Score {
                points: 95,
                complete: true,
                cleaned: 1000,
                caught: 1,
                missed,
                ..Score::default()
            },
            decisions: Vec::new(),
            scenario_text: Some(Fingerprint::of(seed.to_string())),
            handed_over: false,
            proof: None,
            trainer: None,
        };
        rehearsed.proof = Some(proof(&rehearsed, operator, operator));
        Kept {
            at: "2026-03-01T10:00:00Z".to_owned(),
            rehearsed,
        }
    }

    fn wanted(points: i64, trainer: bool) -> PracticeRequirement {
        PracticeRequirement {
            points,
            trainer,
            ..PracticeRequirement::default()
        }
    }

    fn seeds(kept: &[Kept], operator: &str, points: i64) -> usize {
        counted(kept, operator, &people(), &wanted(points, false))
            .seeds
            .len()
    }

    #[test]
    fn only_own_clean_rehearsals_count() {
        let all = [
            kept("QZ", false, 0),
            kept("QZ", false, 1),
            kept("QZ", true, 0),
            kept("AB", false, 0),
        ];
        assert_eq!(seeds(&all, "QZ", 90), 1);
        assert_eq!(seeds(&all, "QZ", 96), 0);
        // AB's is after the demonstration of the same seed.
        assert_eq!(seeds(&all, "AB", 90), 0);
        // A fault that never came up was in nobody's way.
        let mut unreached = kept("QZ", false, 0);
        unreached.rehearsed.score.caught = 0;
        unreached.rehearsed.score.not_reached = 1;
        assert_eq!(seeds(&[unreached], "QZ", 90), 0);
    }

    #[test]
    fn a_seed_counts_once_and_not_after_its_demonstration() {
        let mut all = vec![of_seed(1, "QZ", false, 0), of_seed(1, "QZ", false, 0)];
        assert_eq!(seeds(&all, "QZ", 90), 1);
        all.push(of_seed(2, "QZ", true, 0));
        all.push(of_seed(2, "QZ", false, 0));
        assert_eq!(seeds(&all, "QZ", 90), 1);
        // Seen afterwards, the demonstration takes nothing back.
        all.push(of_seed(1, "QZ", true, 0));
        all.push(of_seed(3, "QZ", false, 1));
        all.push(of_seed(3, "QZ", false, 0));
        assert_eq!(seeds(&all, "QZ", 90), 2);
    }

    /// Whatever is not signed as it stands by who practised, and by a trainer where one is wanted.
    #[test]
    fn what_nobody_signed_does_not_count_and_why_is_said() {
        let told = |change: &dyn Fn(&mut Rehearsed), trainer| {
            let mut one = kept("QZ", false, 0);
            change(&mut one.rehearsed);
            let Counted {
                seeds, uncounted, ..
            } = counted(&[one], "QZ", &people(), &wanted(90, trainer));
            let why: Vec<Uncounted> = uncounted.into_keys().collect();
            assert_eq!(seeds.len() + why.len(), 1);
            why.first().copied()
        };
        let by = |who: &'static str, with: &'static str| {
            move |r: &mut Rehearsed| {
                let proof = proof(r, who, with);
                r.trainer = Some(Trainer {
                    initials: who.to_owned(),
                    proof,
                });
            }
        };
        assert_eq!(told(&|_| {}, false), None);
        assert_eq!(told(&|r| r.proof = None, false), Some(Uncounted::Unsigned));
        let other = |r: &mut Rehearsed| r.proof = Some(proof(r, "QZ", "AB"));
        assert_eq!(told(&other, false), Some(Uncounted::Unsigned));
        // Changed after it was signed: another seed, more points, another scenario.
        let changes: [&dyn Fn(&mut Rehearsed); 3] =
            [&|r| r.seed = 8, &|r| r.score.points = 99, &|r| {
                r.scenario_text = None;
            }];
        for change in changes {
            assert_eq!(told(change, false), Some(Uncounted::Unsigned));
        }
        let shared = |r: &mut Rehearsed| {
            r.handed_over = true;
            r.proof = Some(proof(r, "QZ", "QZ"));
        };
        assert_eq!(told(&shared, false), Some(Uncounted::HandedOver));
        assert_eq!(told(&|_| {}, true), Some(Uncounted::NoTrainer));
        for (who, with) in [("QZ", "QZ"), ("AB", "AB"), ("TR", "AB"), ("ZZ", "TR")] {
            let why = told(&by(who, with), true);
            assert_eq!(why, Some(Uncounted::NoTrainer), "{who} {with}");
        }
        for who in ["TR", "OW"] {
            assert_eq!(told(&by(who, who), true), None, "{who}");
        }
    }

    /// A score stored before scenarios and signatures were, reads; it counts for nobody where people are registered.
    #[test]
    fn an_older_score_reads() {
        let mut one = kept("QZ", false, 0).rehearsed;
        (one.proof, one.scenario_text) = (None, None);
        let text = serde_json::to_string(&one).unwrap();
        for new in ["scenario_text", "handed_over", "proof", "trainer"] {
            assert!(!text.contains(new), "{text}");
        }
        let again: Rehearsed = serde_json::from_str(&text).unwrap();
        assert_eq!(again, one);
    }

    #[test]
    fn the_sheet_has_as_many_fields_in_every_line() {
        let text = sheet(&[kept("QZ", false, 0)]);
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines[0].split(',').count(), 25);
        assert!(lines[1].starts_with("practice,2026-03-01-1,"));
        assert!(lines[1].contains("\"Day 2, \"\"hard\"\"\""));
    }
}
