//! Killed at any moment, the program loses nothing that was answered, uses no release twice, and carries on.
//!
//! The runs are read from an answers file, where one answer follows the other as fast as the disk takes them: a kill then
//! mostly falls into work, not into waiting for a person. `SKIMGATE_TEST_KILLS` asks for more kills than usual.

use crate::workshop::{Seeded, Workshop, events, whole};
use skimgate::book::{Book, Entry};
use skimgate::interlock::answer::Answer;
use skimgate::interlock::{Event, Instance};
use std::fs::File;
use std::os::unix::process::ExitStatusExt;
use std::time::{Duration, Instant};

const KILLS: usize = 200;
/// What the kills may take before half of them must do.
const TIME: Duration = Duration::from_secs(90);
const SIGKILL: i32 = 9;

/// The steps of the small procedure whose answer is worked out, or closes a series of touches, without a question.
const UNASKED: [&str; 5] = ["corners", "found", "plane", "over_steel", "finish_plane"];

#[test]
fn killed_at_random_moments_a_run_loses_nothing_and_is_finished() {
    let wanted = std::env::var("SKIMGATE_TEST_KILLS");
    let wanted = wanted.ok().and_then(|n| n.parse().ok()).unwrap_or(KILLS);
    let shop = Workshop::new();
    let since = Instant::now();
    shop.walked();
    let whole_run = since.elapsed();
    let expected = answers(&events(&whole(&shop.book())));
    let mut random = Seeded(20_260_301);
    // The longest wait before a kill: grows where kills come too early, and shrinks where runs end, since other work on
    // the machine makes walks slower and faster.
    let mut most = usize::try_from(whole_run.as_micros()).unwrap() * 3 / 5;
    // On a machine too busy for all of them in time, half must do.
    let enough = |kills| {
        kills >= wanted || (kills >= KILLS / 2 && wanted == KILLS && since.elapsed() > TIME)
    };
    let (mut kills, mut finished, mut nothing, mut before) = (0, 0, 0, whole(&shop.book()));
    while !enough(kills) || finished == 0 || open(&shop) {
        let log = shop.at("said");
        let mut walk = shop
            .walk()
            .stderr(File::create(&log).unwrap())
            .spawn()
            .unwrap();
        // Until enough kills are done; then the last run is let through.
        if !enough(kills) {
            std::thread::sleep(Duration::from_micros(random.below(most) as u64));
            walk.kill().unwrap();
        }
        let status = walk.wait().unwrap();
        let told = std::fs::read_to_string(&log).unwrap();
        let killed = status.signal() == Some(SIGKILL);
        if !killed {
            most = (most * 4 / 5).max(1000);
            assert_eq!(status.code(), Some(0), "{told}");
        }

        let after = whole(&shop.book());
        assert!(after.len() >= before.len(), "entries were lost");
        assert_eq!(after[..before.len()], before, "entries were changed");
        let new = &after[before.len()..];
        recorded_what_was_shown(&told, new);
        // A kill before anything was recorded counts for nothing.
        if killed && new.is_empty() {
            nothing += 1;
            most = most * 6 / 5;
            assert!(nothing < 100 + wanted * 5, "kills meet no work");
        }
        kills += usize::from(killed && !new.is_empty());
        nothing_is_released(&after);
        if !open(&shop) && !new.is_empty() {
            finished += 1;
            let run = &after[after.len() - 1].run;
            let own: Vec<Entry> = after.iter().filter(|e| e.run == *run).cloned().collect();
            assert_eq!(answers(&events(&own)), expected, "run {run}");
        }
        before = after;
    }
    println!(
        "{kills} kills at work, {finished} runs finished, {nothing} kills before anything was recorded"
    );
}

fn open(shop: &Workshop) -> bool {
    let book = Book::open_existing(shop.book()).unwrap();
    !book.open_runs().unwrap().is_empty()
}

/// What was answered, in the end.
fn answers(events: &[Event]) -> Vec<String> {
    // A sign-off that fell unspent, as it does when a run is taken up again, was given once more.
    let fell = |i: usize, of: &Instance| {
        events[i..].iter().any(|event| match event {
            Event::Voided { steps, .. } => steps.contains(of),
            _ => false,
        })
    };
    let given = events
        .iter()
        .enumerate()
        .filter_map(|(i, event)| match event {
            Event::Answered {
                at,
                answer: Answer::Signed { .. },
                ..
            } if fell(i, at) => None,
            // What is signed names the run, so no two digests are alike.
            Event::Answered {
                at,
                answer: Answer::Signed { initials, .. },
                ..
            } => Some(format!("{at}: signed {initials}")),
            Event::Answered { at, answer, by, .. } => Some(format!("{at}: {answer:?} by {by}")),
            Event::Refused { at, typed, .. } => Some(format!("{at}: not {typed}")),
            Event::Accepted { at, reason, .. } => Some(format!("{at}: {reason}")),
            Event::Touched {
                at, point, reading, ..
            } => Some(format!("{at}: {point} {reading:?}")),
            Event::Zeroed { at, .. } => Some(format!("{at}: zeroed")),
            Event::CutEnded { at, how, .. } => Some(format!("{at}: {}", how.word())),
            _ => None,
        });
    given.collect()
}

/// Each question shown with its answer was recorded before the next was shown: all but the last are there, and nothing
/// is there that was not shown.
fn recorded_what_was_shown(told: &str, new: &[Entry]) {
    let asked = told.lines().filter_map(|line| line.split_once("> "));
    // Without a prompt it is a line that says what to do next.
    let prompts: Vec<&str> = asked
        .map(|(prompt, _)| prompt.trim())
        .filter(|prompt| !prompt.is_empty())
        .collect();
    let new = events(new);
    // The code belongs to the initials, the reason to the value, the machine since then to whoever takes the run up; nothing
    // is recorded before operator and machine are known.
    let beginning = usize::from(prompts.len() > 1 && told.contains("machine> "));
    let alone = prompts
        .iter()
        .filter(|prompt| !["code", "reason", "machine since"].contains(*prompt))
        .count();
    let shown = alone - beginning;
    let recorded = new
        .iter()
        .filter(|event| match event {
            Event::Answered { at, .. } => !UNASKED.contains(&at.step.as_str()),
            Event::Began(_)
            | Event::Resumed { .. }
            | Event::Refused { .. }
            | Event::Touched { .. }
            | Event::Zeroed { .. }
            | Event::CutEnded { .. } => true,
            _ => false,
        })
        .count();
    assert!(
        recorded == shown || recorded + 1 == shown,
        "{shown} answers were shown, {recorded} are recorded: {told}\n{new:#?}"
    );
}

/// A run whose answers come from a file is never released, and each cut that it assumes has a sign-off of its own.
fn nothing_is_released(entries: &[Entry]) {
    let mut signed = false;
    for event in events(entries) {
        match event {
            Event::Began(_) => signed = false,
            Event::Answered {
                answer: Answer::Signed { .. },
                ..
            } => signed = true,
            Event::CutAssumed { at, .. } => {
                assert!(std::mem::take(&mut signed), "{at} without its own sign-off");
            }
            Event::Released { .. } | Event::CutStarted { .. } => {
                panic!("released from a file: {event:?}")
            }
            _ => {}
        }
    }
}
