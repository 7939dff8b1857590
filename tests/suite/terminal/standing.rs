//! Answers of earlier runs that stand: taken over on one page, and asked anew where anything speaks against it.

use crate::operator::{Operator, Sitting, plain};
use crate::support::{Bench, flowing, shipped, told};
use crate::workshop::entries;
use serde_json::Value;
use skimgate::book::{Book, Draft};
use skimgate::interlock::event::Event;
use skimgate::quantity::moment::Moment;
use std::path::PathBuf;

/// The prompt of the page of earlier answers.
const PAGE: &str = "earlier answers";

fn sitting(bench: &Bench) -> Sitting<'_> {
    Sitting::at(bench).procedure(shipped("standing.yaml"))
}

/// From the first question to the first answer that may stand.
fn begins(at: &mut Operator) {
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("confirm", "worn"),
    ]);
}

/// Signs, cuts, and sees the run complete.
fn finishes(at: &mut Operator) {
    at.answers("value in mm", "0.1");
    at.signs();
    at.cuts("skim pass 1");
    at.sees("The run is complete and recorded.");
    at.ends(0);
}

/// Answers every question that can stand.
const ASKED: [(&str, &str); 7] = [
    ("value in mm", "0.02"),
    ("choose", "up"),
    ("choose", "c12"),
    ("confirm", "marked"),
    ("choose", "bed-a"),
    ("file", "face-12.nc"),
    ("value in rpm", "3000"),
];

/// A whole run at a terminal in which every answer is seen.
fn walked() -> Bench {
    let bench = Bench::new();
    let mut at = sitting(&bench).walks();
    begins(&mut at);
    at.goes(&ASKED);
    finishes(&mut at);
    bench
}

/// The step ids whose answers stand in a run, with the run each was seen in.
fn standing(bench: &Bench, run: &Value) -> Vec<(String, String)> {
    let id = run["run"].as_str().unwrap();
    let shown = bench.json(&["record", "show", id, "--json"]);
    let answers = shown["answers"].as_array().unwrap();
    let seen = answers.iter().filter(|a| a.get("seen").is_some());
    seen.map(|a| {
        let text = |v: &Value| v.as_str().unwrap().to_owned();
        (text(&a["step"]), text(&a["seen"]["run"]))
    })
    .collect()
}

fn steps(bench: &Bench, run: &Value) -> Vec<String> {
    standing(bench, run)
        .into_iter()
        .map(|(step, _)| step)
        .collect()
}

/// Gives the run up, so that the next sitting begins another.
fn gives_up(mut at: Operator) {
    at.types("end");
    at.answers("give up", "give up");
    at.ends(0);
}

#[test]
fn a_next_walk_takes_over_what_stands_by_one_word_and_the_record_names_the_run() {
    let bench = walked();
    let first = bench.only_run();
    let mut at = sitting(&bench).walks();
    begins(&mut at);
    let parts = [
        "Answers of earlier runs that may stand",
        &format!("AB, run {first}:"),
        "1. Spindle tram over 100 mm: 0.02 mm",
        "2. Readout grows: up",
        "3. Cutter marked on its shank: marked (only if the cutter is c12 again)",
        "4. Spindle speed in the program: 3000 rpm (only if the program is the same again)",
        "Type `unchanged` if all of this is still so",
    ];
    at.is_shown(&parts, PAGE);
    at.types("unchanged");
    at.is_shown(
        &[
            "Stands: Spindle tram over 100 mm: 0.02 mm",
            "Stands: Readout grows: up",
        ],
        "choose",
    );
    at.types("c12");
    at.is_shown(&["Stands: Cutter marked on its shank: marked"], "choose");
    at.types("bed-a");
    at.answers("file", "face-12.nc");
    finishes(&mut at);

    let runs = bench.runs();
    let stood = ["tram", "sense", "marked", "speed"].map(|step| (step.to_owned(), first.clone()));
    assert_eq!(standing(&bench, &runs[1]), stood);
    bench.run(&["record", "verify"]).ended(0).tells(&["Whole"]);
    let second = runs[1]["run"].as_str().unwrap().to_owned();
    let seen = format!("by AB in run {first}");
    for args in [
        &["record", "show", &second][..],
        &["record", "show", &second, "--all"],
        &["record", "export", &second, "--as", "html"],
        &["record", "export", &second, "--as", "csv"],
    ] {
        let ran = bench.run(args).ended(0);
        let wanted = if args.contains(&"csv") { &first } else { &seen };
        assert!(
            flowing(&ran.out).contains(wanted.as_str()),
            "{args:?}: {}",
            ran.out
        );
    }

    // What stood was not seen, so a third run names the first one too: a chain makes nothing younger.
    let mut at = sitting(&bench).walks();
    begins(&mut at);
    at.is_shown(&[&format!("run {first}:")], PAGE);
    at.types("unchanged");
    at.answers("choose", "leave");
    at.leaves();
}

/// One slip after the other at the page, and nothing is taken over by any of them.
#[test]
fn only_the_one_word_takes_over_and_slips_take_nothing() {
    let bench = walked();
    let mut at = sitting(&bench).walks();
    begins(&mut at);
    at.sees(&format!("{PAGE}> "));
    for (slip, shown) in [
        ("", "Nothing typed"),
        (
            "y",
            "`y` is no answer here; type `unchanged`, numbers, or `none`",
        ),
        ("yes", "`yes` is no answer here"),
        ("ok", "`ok` is no answer here"),
        ("unchange", "`unchange` is no answer here"),
        ("5", "there is no number 5; they go from 1 to 4"),
        ("0", "there is no number 0"),
        ("2 9", "there is no number 9"),
        ("-1", "`-1` is no answer here"),
        ("?", "Answers of earlier runs that may stand"),
        ("holds", "Cycle start is held"),
    ] {
        at.types(slip);
        at.is_shown(&[shown], PAGE);
    }
    at.presses("\x03");
    at.sees("Saved. Cycle start is held.");
    at.ends(130);
    assert!(steps(&bench, &bench.runs()[1]).is_empty());

    // The page comes again, and numbers ask those anew.
    let mut at = sitting(&bench).walks();
    at.goes(&[("initials", "ab")]);
    at.answers(PAGE, "2, 4");
    at.is_shown(
        &["if the other 2 are still so, more numbers, or `none`"],
        PAGE,
    );
    at.types("unchanged");
    at.is_shown(&["Stands: Spindle tram", "Readout grows"], "choose");
    at.types("up");
    at.goes(&[
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("file", "face-12.nc"),
    ]);
    at.goes(&[("value in rpm", "3000")]);
    finishes(&mut at);
    assert_eq!(steps(&bench, &bench.runs()[1]), ["tram", "marked"]);
    bench.run(&["record", "verify"]).ended(0);
}

/// Where the first question after the eyes is the tram again, nothing of the machine stood.
fn asks_the_tram(at: &mut Operator) {
    begins(at);
    let shown = flowing(&plain(&at.sees("> ")));
    assert!(shown.ends_with("value in mm>"), "{shown}");
}

/// A procedure or a shop file with one part of its text changed.
fn changed(bench: &Bench, file: &str, from: &str, to: &str) -> PathBuf {
    let text = std::fs::read_to_string(shipped(file)).unwrap();
    assert!(text.contains(from), "{from}");
    bench.write(&format!("changed-{file}"), &text.replacen(from, to, 1))
}

#[test]
fn a_changed_fact_of_the_machine_asks_anew_and_a_changed_title_of_it_does_not() {
    let bench = walked();
    let titled = changed(
        &bench,
        "shop.yaml",
        "title: The north mill",
        "title: The old mill",
    );
    let mut at = sitting(&bench).shop(titled).walks();
    begins(&mut at);
    at.is_shown(&["1. Spindle tram over 100 mm", "3. Cutter marked"], PAGE);
    gives_up(at);

    let slower = changed(
        &bench,
        "shop.yaml",
        "highest speed: 6000 rpm",
        "highest speed: 5000 rpm",
    );
    let mut at = sitting(&bench).shop(slower).walks();
    asks_the_tram(&mut at);
    at.types("0.03");
    at.answers("choose", "up");
    at.answers("choose", "c12");
    // What is about the cutter and the program alone may stand all the same.
    at.is_shown(
        &[
            "1. Cutter marked on its shank",
            "2. Spindle speed in the program",
        ],
        PAGE,
    );
    gives_up(at);

    // That run was given up, and it saw something else: the answer of the first is no longer the last that was seen.
    asks_the_tram(&mut sitting(&bench).walks());
}

#[test]
fn another_cutter_is_asked_about_anew_when_it_is_known() {
    let bench = walked();
    let mut at = sitting(&bench).walks();
    begins(&mut at);
    at.answers(PAGE, "unchanged");
    at.answers("choose", "c16");
    at.is_shown(
        &["Cutter marked on its shank is asked anew: the cutter is not the same as then."],
        "confirm",
    );
    at.types("leave");
    at.leaves();
}

/// Adds a line that changes nothing at the machine.
fn changes_the_program(bench: &Bench) {
    let program = std::fs::read_to_string(bench.path("face-12.nc")).unwrap();
    bench.write("face-12.nc", &program.replacen("\nM30", "\n\nM30", 1));
    assert_ne!(
        std::fs::read_to_string(bench.path("face-12.nc")).unwrap(),
        program
    );
}

#[test]
fn a_changed_program_is_asked_about_anew_when_it_is_known() {
    let bench = walked();
    changes_the_program(&bench);
    let mut at = sitting(&bench).walks();
    begins(&mut at);
    at.answers(PAGE, "unchanged");
    at.goes(&[
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("file", "face-12.nc"),
    ]);
    at.is_shown(
        &["Spindle speed in the program is asked anew: the program is not the same as then."],
        "value in rpm",
    );
    at.types("leave");
    at.leaves();
}

#[test]
fn a_changed_question_or_limit_asks_anew_and_changed_explanations_do_not() {
    let bench = walked();
    for (from, to) in [
        (
            "title: Spindle tram over 100 mm",
            "title: Spindle tram over 200 mm",
        ),
        ("at most: 0.2 mm", "at most: 0.01 mm"),
        (
            "expect: { at most: 0.05 mm }",
            "expect: { at most: 0.01 mm }",
        ),
        ("stands for: 30 d", "stands for: 1 ms"),
    ] {
        let procedure = changed(&bench, "standing.yaml", from, to);
        let mut at = sitting(&bench).procedure(procedure).walks();
        asks_the_tram(&mut at);
        gives_up(at);
    }
    let why = changed(
        &bench,
        "standing.yaml",
        "A leaning spindle cuts steps.",
        "It cuts steps.",
    );
    let mut at = sitting(&bench).procedure(why).walks();
    begins(&mut at);
    at.is_shown(&["1. Spindle tram over 100 mm: 0.02 mm"], PAGE);
}

#[test]
fn a_stop_in_between_asks_anew_unless_it_was_planned() {
    for (word, anew) in [("stop planned", false), ("stop hit", true)] {
        let bench = walked();
        let mut at = sitting(&bench).walks();
        begins(&mut at);
        at.answers(PAGE, word);
        at.ends(3);
        let mut at = sitting(&bench).walks();
        at.goes(&[("initials", "ab")]);
        if anew {
            at.sees("value in mm> ");
        } else {
            at.sees(&format!("{PAGE}> "));
        }
        gives_up(at);
        let mut at = sitting(&bench).walks();
        if anew {
            asks_the_tram(&mut at);
        } else {
            begins(&mut at);
            at.sees(&format!("{PAGE}> "));
        }
    }
}

#[test]
fn a_stop_later_in_the_run_ends_what_stood_in_it() {
    let bench = walked();
    let mut at = sitting(&bench).walks();
    begins(&mut at);
    at.answers(PAGE, "unchanged");
    at.answers("choose", "stop hit");
    at.ends(3);
    let mut at = sitting(&bench).walks();
    at.goes(&[("initials", "ab")]);
    at.is_shown(
        &[
            "Spindle tram",
            "no longer holds: the machine was stopped, not as planned",
        ],
        "value in mm",
    );
    at.types("0.02");
    at.goes(&ASKED[1..]);
    finishes(&mut at);
    assert!(steps(&bench, &bench.runs()[1]).is_empty());
    bench.run(&["record", "verify"]).ended(0);
}

#[test]
fn a_program_changed_later_in_the_run_ends_what_stood_with_it() {
    let bench = walked();
    let mut at = sitting(&bench).walks();
    begins(&mut at);
    at.answers(PAGE, "unchanged");
    at.goes(&[
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("file", "face-12.nc"),
    ]);
    at.sees("value in mm> ");
    changes_the_program(&bench);
    at.types("0.1");
    at.is_shown(
        &["No longer holds (the program file changed): [look] The program [look] Spindle speed in the program"],
        "file",
    );
    at.types("face-12.nc");
    at.is_shown(&["Spindle speed in the program"], "value in rpm");
}

/// The book of a bench as it would be had everything in it been written so many days earlier. Its sign-offs no longer fit
/// their times, which only `record verify` looks at in a finished run.
fn aged(bench: &Bench, days: f64) -> Bench {
    let other = Bench::new();
    let old = Book::open(bench.book()).unwrap();
    let mut book = Book::open(other.book()).unwrap();
    #[allow(clippy::cast_possible_truncation)]
    let ms = (days * 86_400_000.0) as i64;
    for run in old.runs().unwrap() {
        let entries = old.entries(&run.run).unwrap();
        let drafts: Vec<Draft> = entries
            .iter()
            .map(|entry| Draft {
                at: entry
                    .at
                    .parse::<Moment>()
                    .unwrap()
                    .plus_ms(-ms)
                    .unwrap()
                    .to_string(),
                kind: entry.kind.clone(),
                version: entry.version,
                body: entry.body.clone(),
            })
            .collect();
        let Event::Began(begun) = serde_json::from_str(&entries[0].body).unwrap() else {
            panic!("{entries:?}");
        };
        let texts = [begun.procedure, begun.shop].map(|of| (of, old.document(of).unwrap()));
        let texts = texts.each_ref().map(|(of, text)| (*of, text.as_str()));
        let (last, before) = drafts.split_last().unwrap();
        book.begin(&run.run, &run.machine, &texts, before).unwrap();
        let n = u32::try_from(before.len()).unwrap();
        book.append(&run.run, n, std::slice::from_ref(last), true)
            .unwrap();
    }
    drop(book);
    assert_eq!(
        entries(&Book::open(other.book()).unwrap()).len(),
        entries(&old)
            .iter()
            .filter(|e| e.ledger().is_none())
            .count()
    );
    other
}

#[test]
fn after_its_days_it_is_asked_anew_and_a_day_before_it_stands() {
    let bench = walked();
    let young = aged(&bench, 29.0);
    let mut at = sitting(&young).walks();
    begins(&mut at);
    at.is_shown(&["1. Spindle tram", "4. Spindle speed"], PAGE);
    let old = aged(&bench, 31.0);
    asks_the_tram(&mut sitting(&old).walks());
    // The run is of tomorrow: the clock was set back since.
    let ahead = aged(&bench, -1.0);
    asks_the_tram(&mut sitting(&ahead).walks());
}

/// The answers of a whole run, as a file has them, with these lines more.
fn from_file(bench: &Bench, more: &[(&'static str, &'static str)]) -> crate::support::Ran {
    let mut answers = vec![("operator", "ab"), ("machine", "north"), ("eyes", "worn")];
    answers.extend(
        ["tram", "sense", "cutter", "marked", "plate", "nc", "speed"]
            .into_iter()
            .zip(ASKED.map(|a| a.1)),
    );
    answers.extend([("bite", "0.1"), ("clear", "ab"), ("skim_cut", "finished")]);
    answers.extend(more);
    let file = bench.answers("answers.yaml", answers);
    bench.walk_with(&file, &shipped("standing.yaml"), &[])
}

#[test]
fn walks_from_files_carry_on_only_to_walks_from_files_and_say_so_under_a_key() {
    let bench = walked();
    let unchanged = [("earlier answers", "unchanged")];
    // A person's answers do not stand in a walk from a file.
    from_file(&bench, &unchanged).ended(0);
    assert!(steps(&bench, &bench.runs()[1]).is_empty());
    // Those of a walk from a file do, and its own answers are left out without a word.
    from_file(&bench, &unchanged).ended(0).prints_nothing();
    let runs = bench.runs();
    let second = runs[1]["run"].as_str().unwrap();
    let stood = standing(&bench, &runs[2]);
    assert_eq!(stood.len(), 4);
    assert!(stood.iter().all(|(_, run)| run == second), "{stood:?}");
    // Numbers, and a file that says nothing of it.
    let numbers = [("earlier answers", "[{try: yes}, 1 2, unchanged]")];
    from_file(&bench, &numbers).ended(0);
    assert_eq!(steps(&bench, &bench.runs()[3]), ["marked", "speed"]);
    from_file(&bench, &[]).ended(0);
    assert!(steps(&bench, &bench.runs()[4]).is_empty());
    bench.run(&["record", "verify"]).ended(0).tells(&["Whole"]);

    // At a terminal the person's own run is offered, and never one of a file.
    let first = runs[0]["run"].as_str().unwrap();
    let mut at = sitting(&bench).walks();
    begins(&mut at);
    at.is_shown(&[&format!("run {first}:")], PAGE);
}

#[test]
fn a_rehearsal_takes_nothing_over() {
    let bench = walked();
    let mut at = sitting(&bench)
        .command("rehearse")
        .args(&["--seed", "1"])
        .walks();
    at.goes(&[("initials", "ab"), ("machine", "north")]);
    at.sees("confirm> ");
    at.types("worn");
    let shown = flowing(&plain(&at.sees("> ")));
    assert!(shown.ends_with("value in mm>"), "{shown}");
}

#[test]
fn a_record_that_names_a_run_which_did_not_say_so_is_found() {
    let bench = walked();
    let mut at = sitting(&bench).walks();
    begins(&mut at);
    at.answers(PAGE, "none");
    at.sees("value in mm> ");
    at.types("leave");
    at.leaves();
    let first = bench.runs()[0]["run"].as_str().unwrap().to_owned();
    let open = bench.runs()[1]["run"].as_str().unwrap().to_owned();
    let entries = Book::open(bench.book()).unwrap().entries(&first).unwrap();
    let honest = entries
        .iter()
        .find(|e| e.body.contains("\"tram\""))
        .unwrap();
    let seen_at = &honest.at;
    for (run, by, value, fault) in [
        (first.as_str(), "AB", "0.02", None),
        ("2020-01-01-1", "AB", "0.02", Some("is not in the book")),
        (
            first.as_str(),
            "CD",
            "0.02",
            Some("does not say that CD answered so then"),
        ),
        (
            first.as_str(),
            "AB",
            "0.03",
            Some("does not say that AB answered so then"),
        ),
    ] {
        let other = bench.copied();
        let mut book = Book::open(other.book()).unwrap();
        let own = book.entries(&open).unwrap();
        let last = own.last().unwrap();
        let mut body: Value = serde_json::from_str(&honest.body).unwrap();
        let text = serde_json::to_string(&body).unwrap();
        if value != "0.02" {
            let changed = text.replacen("0.02 mm", "0.03 mm", 1);
            assert_ne!(changed, text, "{text}");
            body = serde_json::from_str(&changed).unwrap();
        }
        body["answered"]["seen"] = serde_json::json!({ "run": run, "by": by, "at": seen_at });
        let draft = Draft {
            at: last.at.clone(),
            kind: "answered".into(),
            version: last.version,
            body: body.to_string(),
        };
        book.append(&open, last.n, &[draft], false).unwrap();
        drop(book);
        match fault {
            None => {
                other.run(&["record", "verify"]).ended(0).tells(&["Whole"]);
            }
            Some(fault) => {
                let ran = other.run(&["record", "verify"]);
                assert_ne!(ran.code, Some(0), "{fault}");
                assert!(
                    flowing(&format!("{}{}", ran.out, ran.err)).contains(fault),
                    "{ran:?}"
                );
            }
        }
    }
    assert!(
        told(
            &bench.json(&["record", "show", &open, "--json"]),
            "answered"
        )
        .len()
            == 1
    );
}
