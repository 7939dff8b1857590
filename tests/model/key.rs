//! Decides when two worlds are the same: by everything that can still make a difference, and nothing else.
//!
//! A time counts as minutes before now, and no further back than the longest limit. A digest counts as whether it is
//! still the digest of the state. Where it is not, the whole digest counts with every time and name, because an earlier
//! state could come back.

use crate::shadow::{Shadow, Spot, What};
use crate::table::{Group, Sort};
use crate::world::{BACK, LONGEST, World, minute};
use skimgate::interlock::answer::Answer;
use skimgate::interlock::{Instance, State};
use skimgate::procedure::model::Kind;
use std::collections::hash_map::DefaultHasher;
use std::hash::{Hash, Hasher};

/// A world's key.
pub type Key = (u64, u64);

/// How far back times still make a difference, in minutes.
#[derive(Clone, Copy)]
struct Reach {
    /// For answers and releases: the longest freshness in the tables, plus what the clock can still be set back.
    ages: i64,
    /// For the last event: what the clock can still be set back.
    last: i64,
}

pub fn of(world: &World, backs_left: u8) -> Key {
    let mut hasher = Twice::default();
    let back = i64::from(backs_left) * BACK;
    let reach = Reach {
        ages: LONGEST + 1 + back,
        last: back,
    };
    state(&world.state, world.now, reach, &mut hasher);
    shadow(&world.shadow, world.now, reach, &mut hasher);
    (world.file, world.list, world.backs, world.violated).hash(&mut hasher);
    let asked = |at: Option<i64>| at.map(|at| (world.now - at).min(reach.last));
    (asked(world.asked), asked(world.shadow.last_asked())).hash(&mut hasher);
    world.shadow.last_signed().hash(&mut hasher);
    world.other.is_some().hash(&mut hasher);
    if let Some(other) = &world.other {
        (other.behind, other.taken_over).hash(&mut hasher);
        if other.behind > 0 {
            state(&other.state, world.now, reach, &mut hasher);
        }
    }
    (hasher.0.finish(), hasher.1.finish())
}

/// Two hashes of the same bytes, because 64 bits are too few for so many worlds.
struct Twice(DefaultHasher, DefaultHasher);

impl Default for Twice {
    fn default() -> Self {
        let mut other = DefaultHasher::new();
        1u8.hash(&mut other);
        Self(DefaultHasher::new(), other)
    }
}

impl Hasher for Twice {
    fn write(&mut self, bytes: &[u8]) {
        self.0.write(bytes);
        self.1.write(bytes);
    }

    fn finish(&self) -> u64 {
        self.0.finish()
    }
}

/// The key of a state only, with every age in full.
pub fn of_state(s: &State, now: i64) -> u64 {
    let mut hasher = DefaultHasher::new();
    let all = Reach {
        ages: i64::MAX,
        last: i64::MAX,
    };
    state(s, now, all, &mut hasher);
    hasher.finish()
}

fn state(s: &State, now: i64, reach: Reach, h: &mut impl Hasher) {
    let age = |at| (now - minute(at)).min(reach.ages);
    s.operator.hash(h);
    s.begun.rehearsal.hash(h);
    (s.origin.word(), s.from_file).hash(h);
    s.ended.is_some().hash(h);
    s.left.is_some().hash(h);
    s.open_stop.is_some().hash(h);
    s.out_of_service.is_some().hash(h);
    (now - minute(s.latest)).min(reach.last).hash(h);
    let so_far = s.codes_so_far.as_ref();
    so_far
        .map(|(of, codes)| (of, &codes.read, codes.accepted.len()))
        .hash(h);
    let mut whole = false;
    for (of, given) in &s.answers {
        of.hash(h);
        match &given.answer {
            Answer::Word(word) | Answer::Text(word) => word.hash(h),
            Answer::Quantity(q) => format!("{q:?}").hash(h),
            Answer::Touched(touched) => format!("{touched:?}").hash(h),
            Answer::Entered { value, read_back } => format!("{value:?} {read_back:?}").hash(h),
            Answer::Codes(codes) => (&codes.read, codes.accepted.len()).hash(h),
            Answer::File { fingerprint, .. } => fingerprint.hash(h),
            Answer::Signed {
                initials,
                digest,
                proof,
                second,
                ..
            } => {
                initials.hash(h);
                proof.as_ref().map(|p| (&p.key, p.signs_as())).hash(h);
                let second = second.as_ref();
                second
                    .map(|s| (&s.initials, &s.proof.key, s.proof.signs_as()))
                    .hash(h);
                // A sign-off for a finished cut is never checked again.
                if is_cut(s, of) {
                    continue;
                }
                let same = *digest == s.digest_before(of);
                same.hash(h);
                if !same {
                    digest.hash(h);
                    whole = true;
                }
            }
        }
        let step = s.step(of);
        let ages = step.is_some_and(|s| s.fresh_for.is_some());
        if step.is_some_and(|s| s.of_person) {
            given.by.hash(h);
        }
        if ages {
            (age(given.at), given.stretch == s.stretch).hash(h);
        }
    }
    s.invalidated.len().hash(h);
    s.invalidated.keys().for_each(|of| of.hash(h));
    s.deviations.keys().for_each(|of| of.hash(h));
    s.shaken.iter().for_each(|of| of.hash(h));
    if let Some(release) = &s.release {
        (
            &release.at,
            &release.to,
            age(release.from),
            (minute(release.until) - now).max(-1 - reach.last),
        )
            .hash(h);
        let same = release.digest == s.digest_before(&release.at);
        same.hash(h);
        if !same {
            release.digest.hash(h);
            whole = true;
        }
    }
    if let Some(cutting) = &s.cutting {
        (&cutting.at, cutting.plane).hash(h);
    }
    let touches = s
        .procedure
        .steps()
        .any(|s| matches!(s.kind, Kind::Touch(_)));
    if touches {
        format!(
            "{:?} {:?} {:?}",
            s.touching,
            s.marks.surface(),
            s.marks.frame()
        )
        .hash(h);
    }
    if whole {
        s.answers
            .values()
            .for_each(|given| minute(given.at).hash(h));
        now.hash(h);
    }
}

/// Whether the cut of an instance's pass ran to its end.
fn is_cut(s: &State, of: &Instance) -> bool {
    s.answers.keys().any(|cut| {
        let same_round =
            cut.pass == of.pass && s.procedure.pass_of(&cut.step) == s.procedure.pass_of(&of.step);
        let cuts = s
            .step(cut)
            .is_some_and(|s| matches!(s.kind, Kind::Cut { .. }));
        same_round && cuts && s.is_finished(cut)
    })
}

/// Hashes the result of every query that the shadow can answer.
fn shadow(s: &Shadow, now: i64, reach: Reach, h: &mut impl Hasher) {
    (s.operator(), s.left(), s.cutting(), s.surface()).hash(h);
    (s.any_from_file(), s.reads_file()).hash(h);
    (s.unexplained(), s.lost_in_cut(), s.out_of_service()).hash(h);
    (s.signed(), s.unused_releases().min(2)).hash(h);
    s.list
        .last()
        .map(|(at, _)| (now - at).min(reach.last))
        .hash(h);
    let release = s.release();
    release
        .map(|(i, at, to)| (at, to, s.age(i, now).map(|a| a.min(reach.ages))))
        .hash(h);
    for row in 0..s.table.rows.len() {
        let passes = match s.table.rows[row].group {
            Group::Once => 0..=0,
            Group::Rough => 1..=s.table.most_passes,
            Group::Finish => 1..=1,
        };
        for pass in passes {
            let at = Spot { row, pass };
            match s.table.rows[row].sort {
                Sort::Cut => s.finished(at).hash(h),
                Sort::Sign => {}
                _ => {
                    let last = s
                        .list
                        .iter()
                        .rposition(|(_, w)| matches!(w, What::Said { at: of, .. } if *of == at));
                    let Some(i) = last else {
                        false.hash(h);
                        continue;
                    };
                    let (
                        when,
                        What::Said {
                            val, by, reason, ..
                        },
                    ) = s.list[i]
                    else {
                        continue;
                    };
                    (val, s.stands(at).is_some(), reason).hash(h);
                    if s.table.rows[row].of_person {
                        by.hash(h);
                    }
                    if s.table.rows[row].fresh.is_some() {
                        (s.age(i, now).is_some(), (now - when).min(reach.ages)).hash(h);
                    }
                }
            }
        }
    }
}
