//! Whether cycle start is released, asked in every way: with answers from a file, a terminal that is gone, a clock set back, a
//! damaged book. Invented figures.

use crate::operator::{Operator, Sitting};
use crate::support::{Bench, ENDING, WHOLE, told, until};
use crate::workshop::{events, whole};
use rusqlite::Connection;
use skimgate::book::{Book, Draft};
use skimgate::interlock::answer::Origin;
use skimgate::interlock::event::Event;
use skimgate::interlock::{Instance, State};
use skimgate::stock::StockEntry;
use skimgate::walk::store::{accounts, log};
use std::fs;

/// The answers of a whole walk but for these steps.
fn without(steps: &[&str]) -> Vec<(&'static str, &'static str)> {
    let mut kept = WHOLE.to_vec();
    kept.extend(ENDING);
    kept.retain(|(step, _)| !steps.contains(step));
    kept
}

fn released(bench: &Bench) -> Operator {
    let mut at = Sitting::at(bench).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.sees("started> ");
    bench.run(&["gate"]).ended(0);
    at
}

/// As `gate`, as JSON and `skimgate` alone say it.
fn held(bench: &Bench, why: &str) {
    bench.run(&["gate"]).ended(3).tells(&["HELD", why]);
    bench.run(&["gate", "--json"]).ended(3).tells(&[why]);
    bench.run(&[]).ended(0).tells(&["cycle start is held"]);
}

const FROM_FILE: &str = "came from an answers file; it is never released";

#[test]
fn a_run_from_a_file_that_stops_in_the_middle_of_a_cut_is_held() {
    let bench = Bench::new();
    let file = bench.answers("part.yaml", without(&["pass_cut"]));
    bench
        .walk(&file)
        .ended(2)
        .says(&["HELD: answers come from a file, so cycle start is not released"]);
    bench.run(&["gate"]).ended(3).tells(&[FROM_FILE]);
    let shown = bench.shown();
    assert_eq!(told(&shown, "cut_assumed").len(), 1);
    assert!(told(&shown, "released").is_empty());
    assert_eq!(shown["from_file"], true);
}

#[test]
fn a_run_begun_from_a_file_and_continued_by_hand_is_held() {
    let bench = Bench::new();
    let file = bench.answers("part.yaml", without(&["clear"]));
    bench.walk(&file).ended(2);
    let mut at = Sitting::at(&bench).walks();
    at.answers("initials", "ab");
    at.answers("machine since", "3");
    at.is_shown(&["it is never released, whoever signs"], "initials");
    at.types("ab");
    let code = at.reads_code();
    at.types(&code);
    at.is_shown(&[FROM_FILE], "held");
    held(&bench, FROM_FILE);
    at.types("leave");
    at.ends(130);
    let shown = bench.shown();
    assert!(told(&shown, "released").is_empty() && told(&shown, "cut_assumed").is_empty());
    // The entry says that a person typed the sign-off.
    let answers = shown["answers"].as_array().unwrap();
    let from = |step: &str| {
        let answer = answers.iter().find(|a| a["step"] == step).unwrap();
        answer["from"].clone()
    };
    assert_eq!(from("home"), "answers_file");
}

#[test]
fn a_run_begun_at_a_terminal_and_continued_from_a_file_signs_and_counts_as_one_from_a_file() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.reaches_the_hold_point();
    at.is_shown(&[], "initials");
    at.types("leave");
    at.ends(130);
    let rest = "operator: ab\nmachine: north\nlow_places: [none, touch]\nlows: [{L1: -0.07}]\nclearance: [0, 0.05 mm]\n\
                standing: [0, -0.07]\nentry: [0.18, 0.05]\nclear: [ab, ab, ab]\n\
                pass_cut: [finished, finished, finished]\nlook: [skin left, skin left, clean]\n\
                skim: 0.08\nfinish_standing: 0\nfinish_entry: 0.08\nclear_finish: ab\nfinish_cut: finished\nremarks: none\n";
    let file = bench.write("rest.yaml", rest);
    bench.walk(&file).ended(0).says(&["do not count"]);
    let shown = bench.shown();
    assert!(told(&shown, "released").is_empty());
    let answers = shown["answers"].as_array().unwrap();
    let signed: Vec<_> = answers
        .iter()
        .filter(|a| a.get("means").is_some())
        .collect();
    assert_eq!(signed.len(), 4);
    for sign in signed {
        assert_eq!(
            (&sign["means"], &sign["from"]),
            (&"answers_file".into(), &"answers_file".into())
        );
    }
    let home = answers.iter().find(|a| a["step"] == "home").unwrap();
    assert_eq!(home["from"], "terminal");
    for event in shown["events"].as_array().unwrap() {
        assert!(event["from"].is_string(), "{event}");
    }
    let book = Book::open_existing(bench.book()).unwrap();
    let cuts: Vec<bool> = accounts::stored_account(&book, "bed-a")
        .unwrap()
        .entries
        .into_iter()
        .filter_map(|(_, entry)| match entry {
            StockEntry::Cut(cut) => Some(cut.counts),
            _ => None,
        })
        .collect();
    assert_eq!(cuts, [false; 4]);
    let run = bench.only_run();
    let mixed = "from a terminal, and from an answers file; never released";
    bench
        .run(&["record", "show", &run])
        .ended(0)
        .tells(&[mixed, "signed as AB by an answers file"]);
    bench
        .run(&["record", "show", &run, "--all"])
        .ended(0)
        .tells(&["(finishing pass 1): 0.08 mm (~0.00315 in) (answers file)"]);
    let sheet = bench
        .run(&["record", "export", &run, "--as", "html"])
        .ended(0);
    for part in [mixed, "signed as AB by an answers file"] {
        assert!(sheet.out.contains(part), "{part}: {}", sheet.out);
    }
    bench
        .run(&["record", "list"])
        .ended(0)
        .tells(&["over, file", "file: answers come from a file"]);
    assert_eq!(bench.runs()[0]["from_file"], true);
    bench.run(&["record", "verify"]).ended(0);
}

/// What an entry says by itself, without the entries before it.
#[test]
fn every_entry_that_holds_something_said_says_where_it_came_from() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    at.sets_up();
    at.goes(&[("P1 in mm", "0"), ("P2 in mm", "-0.12")]);
    at.goes(&[("shows now, mm", "0"), ("P3 in mm", "0.13")]);
    at.goes(&[("P4 in mm", "fix"), ("P3 in mm", "again")]);
    at.touches();
    at.plans();
    at.answers("initials", "note the belt squeals");
    at.answers("initials", "handover cd");
    at.answers("confirm", "worn");
    at.signs_as("cd");
    at.starts("roughing pass 1");
    at.presses("stop chips\r");
    at.answers("why stopped", "seen");
    at.answers("initials", "stop planned");
    at.ends(3);
    let terminal = events(&whole(&bench.book()));
    let mut kinds: Vec<&str> = Vec::new();
    for event in &terminal {
        match event.origin() {
            Some(from) => {
                assert_eq!(from, Origin::Terminal, "{event:?}");
                kinds.push(event.kind());
            }
            None => assert!(
                ["voided", "released", "looked"].contains(&event.kind()),
                "{event:?}"
            ),
        }
    }
    for kind in [
        "zeroed",
        "touch_taken_back",
        "touches_restarted",
        "noted",
        "handed_over",
        "cut_started",
        "stopped",
        "stop_explained",
    ] {
        assert!(kinds.contains(&kind), "{kind}");
    }
    bench.run(&["record", "list"]).ended(0).tells(&["open"]);
    assert_eq!(bench.runs()[0]["from_file"], false);

    // From a file the same kinds of entries name the file.
    let bench = Bench::new();
    let cut = "[{value: stopped, why: planned}, finished, finished]";
    let file = bench.answers("why.yaml", until("look", &[("pass_cut", cut)]));
    bench.walk(&file);
    let from: Vec<_> = events(&whole(&bench.book()))
        .iter()
        .filter(|e| ["zeroed", "stop_explained", "paused"].contains(&e.kind()))
        .map(Event::origin)
        .collect();
    assert!(from.len() >= 3, "{from:?}");
    assert!(from.iter().all(|from| *from == Some(Origin::AnswersFile)));
    assert_eq!(bench.runs()[0]["from_file"], true);
}

/// A file from which everything is answered changes nothing about a cut that a person started.
#[test]
fn a_cut_that_a_person_started_is_not_ended_by_a_file() {
    let bench = Bench::new();
    let mut at = released(&bench);
    at.types("started");
    at.sees("Cutting.");
    at.is_cut_off();
    let file = bench.answers("whole.yaml", without(&[]));
    bench
        .walk(&file)
        .ended(3)
        .says(&["has a cut under way that a person started"]);
}

#[test]
fn without_arguments_too_a_release_whose_terminal_is_gone_is_held() {
    let bench = Bench::new();
    let mut at = released(&bench);
    bench.run(&[]).ended(0).tells(&["cycle start is released"]);
    at.is_cut_off();
    held(&bench, "no terminal has the run open");
}

/// A look at a later time is stored with the entry that the run stood at; the clock now stands before it.
#[test]
fn a_clock_set_back_after_somebody_looked_shows_from_elsewhere() {
    let bench = Bench::new();
    let mut at = released(&bench);
    let path = bench.path("book.sqlite3.claims/machine-north.seen");
    let stored = fs::read_to_string(&path).unwrap();
    let (_, entry) = stored.split_once(' ').unwrap();
    fs::write(&path, format!("2099-01-01T00:00:00.000Z {entry}")).unwrap();
    held(
        &bench,
        "the clock shows a time before the latest one recorded or seen",
    );
    // What is recorded since is newer than what was seen then.
    at.types("nonsense");
    at.is_shown(&["RELEASED"], "started");
    bench.run(&["gate"]).ended(0);
    // Where the time cannot be stored, nothing is said to be released.
    fs::create_dir(bench.path("book.sqlite3.claims/machine-north.seen-new")).unwrap();
    fs::write(&path, "nonsense").unwrap();
    held(&bench, "the time cannot be stored next to the book");
}

/// The latest time counts too where it was only recorded elsewhere in the book, here of a correction of another plate.
#[test]
fn a_clock_set_back_after_something_else_was_recorded_shows_from_elsewhere() {
    let bench = Bench::new();
    let mut at = released(&bench);
    let mut book = Book::open(bench.book()).unwrap();
    let later = Draft {
        at: "2099-01-01T00:00:00.000Z".to_owned(),
        kind: "note".to_owned(),
        version: 1,
        body: "{}".to_owned(),
    };
    book.append_to_ledger("other", 0, &[later]).unwrap();
    drop(book);
    let why = "the clock shows a time before the latest one recorded or seen";
    held(&bench, why);
    at.types("nonsense");
    at.is_shown(&["RELEASED"], "started");
    bench.run(&["gate"]).ended(0);
}

/// A terminal that has claimed the run, and not yet come to drop the release that it found there.
#[test]
fn a_release_does_not_pass_to_the_next_terminal_for_a_moment() {
    let bench = Bench::new();
    let mut at = released(&bench);
    at.is_cut_off();
    let book = Book::open(bench.book()).unwrap();
    let claim = book.claim("north", "2026-03-01T13:32:05.250Z").unwrap();
    held(&bench, "the terminal that had the release is gone");
    // Not either where the claim cannot say what it found, as on a full disk.
    fs::write(bench.path("book.sqlite3.claims/machine-north.holder"), "").unwrap();
    held(&bench, "the terminal that had the release is gone");
    drop(claim);
    held(&bench, "no terminal has the run open");
}

/// Changes an entry behind the book's back.
fn damage(bench: &Bench) {
    let plain = Connection::open(bench.book()).unwrap();
    plain
        .execute_batch("DROP TRIGGER entries_stay; UPDATE entries SET at = '2026-01-01T00:00:00.000Z' WHERE seq = 3")
        .unwrap();
}

#[test]
fn in_a_damaged_book_nothing_is_released_and_no_start_is_taken() {
    let bench = Bench::new();
    let mut at = released(&bench);
    damage(&bench);
    bench.run(&["gate"]).ended(4).prints_nothing();
    let told_so = bench.run(&["gate", "--json"]).ended(4);
    assert_eq!(told_so.json()["released"], false);
    bench.run(&[]).ended(4);
    at.types("started");
    at.ends(4);
    at.has_seen(&["this start is not taken"]);
    let plain = Connection::open(bench.book()).unwrap();
    let starts: u32 = plain
        .query_row(
            "SELECT count(*) FROM entries WHERE kind = 'cut_started'",
            [],
            |row| row.get(0),
        )
        .unwrap();
    assert_eq!(starts, 0);
}

/// With the list of runs forged there seems to be no open run; that is damage, and not "no run is open".
#[test]
fn a_forged_list_of_runs_is_damage_too() {
    let bench = Bench::new();
    let _at = released(&bench);
    Connection::open(bench.book())
        .unwrap()
        .execute_batch("UPDATE runs SET open = 0")
        .unwrap();
    bench.run(&["gate"]).ended(4);
}

#[test]
fn a_recorded_release_for_longer_than_its_step_allows_is_damage() {
    let bench = Bench::new();
    let mut at = released(&bench);
    at.types("leave");
    at.ends(130);
    let run = bench.only_run();
    let mut book = Book::open(bench.book()).unwrap();
    let loaded = log::load(&book, &run).unwrap();
    let state: &State = &loaded.state;
    let now = state.latest;
    let cut = Instance::new("pass_cut", Some(1));
    let forged = Event::Released {
        until: now.plus_ms(24 * 3_600_000).unwrap(),
        to: state.operator.clone(),
        digest: state.digest_before(&cut),
        at: cut,
    };
    let drafts = log::drafts(&[forged], now).unwrap();
    book.append(&run, loaded.n, &drafts, false).unwrap();
    drop(book);
    bench
        .run(&["record", "verify"])
        .ended(4)
        .tells(&["it is good for longer than its step allows"]);
    bench.run(&["gate"]).ended(4);
}
