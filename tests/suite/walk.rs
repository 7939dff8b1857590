//! `skimgate walk --answers` and the commands that tell of its runs, as shipped.
//!
//! The figures are those of the worked example of the touch-off (invented; worked by hand: heights 0, -0.12, +0.19, -0.04,
//! -0.17 mm, two passes of 0.18, then a low place at -0.24 with 0.05 clearance, then a finishing skim of 0.08).

use crate::support::{Bench, PROGRAM, ran, shipped, told, until, values, whole};
use serde_json::Value;
use std::fs;

/// Every key ending in `_mm` holds a number or nothing, and every time is RFC 3339 in UTC.
fn keys_mean_what_they_say(value: &Value, lengths: &mut usize, times: &mut usize) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                if key.ends_with("_mm") {
                    assert!(inner.is_number() || inner.is_null(), "{key}: {inner}");
                    *lengths += usize::from(inner.is_number());
                }
                if key == "at" || key == "begun" || key == "last" {
                    let text = inner.as_str().unwrap();
                    let read: Result<jiff::Timestamp, _> = text.parse();
                    assert!(read.is_ok() && text.contains('T'), "{key}: {text}");
                    *times += 1;
                }
                keys_mean_what_they_say(inner, lengths, times);
            }
        }
        Value::Array(items) => {
            for item in items {
                keys_mean_what_they_say(item, lengths, times);
            }
        }
        _ => {}
    }
}

fn close(found: &[f64], wanted: &[f64]) {
    let same =
        found.len() == wanted.len() && found.iter().zip(wanted).all(|(f, w)| (f - w).abs() < 1e-9);
    assert!(same, "{found:?}, not {wanted:?}");
}

#[test]
fn a_whole_walk_comes_to_the_figures_of_the_worked_example() {
    let bench = Bench::new();
    let file = bench.answers("whole.yaml", whole(&[]));
    bench.walk(&file).ended(0).prints_nothing().says(&[
        "The run is complete and recorded.",
        "nobody is at the machine",
    ]);
    let shown = bench.shown();
    assert_eq!(
        (&shown["outcome"], &shown["open"], &shown["operator"]),
        (&"complete".into(), &false.into(), &"AB".into())
    );
    close(&values(&shown, "plane"), &[0.01, -0.17, -0.29]);
    close(&values(&shown, "finish_plane"), &[-0.37]);
    close(&values(&shown, "entry"), &[-0.18, 0.18, 0.05]);
    close(&values(&shown, "found"), &[0.36]);
    let surface = shown["surface"].as_array().unwrap();
    let taken = |point: &str| {
        let found = surface.iter().find(|p| p["point"] == point).unwrap();
        found["taken_mm"].as_f64().unwrap()
    };
    close(&["P3", "P5", "L1"].map(taken), &[0.56, 0.20, 0.13]);
    assert_eq!(told(&shown, "cut_assumed").len(), 4);
    assert!(told(&shown, "released").is_empty() && told(&shown, "cut_started").is_empty());
    let means: Vec<&Value> = shown["answers"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|a| a.get("means"))
        .collect();
    assert_eq!(means.len(), 4);
    assert!(means.iter().all(|m| **m == "answers_file"), "{means:?}");
    let (mut lengths, mut times) = (0, 0);
    keys_mean_what_they_say(&shown, &mut lengths, &mut times);
    assert!(lengths > 20 && times > 50, "{lengths} {times}");
}

#[test]
fn a_try_is_there_to_be_refused() {
    let bench = Bench::new();
    let tries = [
        (
            "speed",
            "[{try: 9000 rpm}, {try: 12 mm}, {try: fast}, 3000 rpm]",
        ),
        ("eyes", "[{try: not here}, worn]"),
        ("entry", "[{try: 0.18}, -0.18, 0.18, 0.05]"),
        ("nc", "[{try: nowhere.nc}, face-12.nc]"),
        ("clear", "[{try: zz}, ab, ab, ab]"),
    ];
    let file = bench.answers("tries.yaml", whole(&tries));
    bench.walk(&file).ended(0).says(&[
        "Nobody can waive this",
        "the sign is wrong",
        "hold here, put it right",
        "nowhere.nc cannot be read",
        "is not the operator of this run",
    ]);
    assert_eq!(told(&bench.shown(), "refused").len(), 7);
}

/// Planted in the program of the whole walk, which agrees: a rapid at depth stops; a mix of numbers with and without a
/// point wants a look; flow control cannot be followed.
#[test]
fn the_program_is_examined_when_it_is_given() {
    let rapid = PROGRAM.replacen("G1 Z0 F250", "G0 Z0\nG1 F250", 1);
    let mixed = PROGRAM.replacen("X412\n", "X412.\n", 1);
    let flow = PROGRAM.replacen("M8\n", "M8\nM98 P77\n", 1);
    for (text, code, said) in [
        (
            mixed,
            "mixed-points",
            "Somebody must look at the program: mixed-points",
        ),
        (
            flow,
            "flow",
            "The examination cannot vouch for the program, because some of it cannot be followed",
        ),
    ] {
        let bench = Bench::new();
        bench.write("rapid.nc", &rapid);
        bench.write("other.nc", &text);
        let given = "[{try: rapid.nc}, {value: other.nc, accept: our post writes it so}]";
        let file = bench.answers("examined.yaml", whole(&[("nc", given)]));
        bench.walk(&file).ended(0).says(&[
            "STOP rapid-plunge - line 9",
            "the program must not be run as it is: rapid-plunge",
            said,
        ]);
        let shown = bench.shown();
        assert_eq!(told(&shown, "refused").len(), 1);
        let kept = shown.to_string();
        assert!(kept.contains("our post writes it so"), "{kept}");
        assert!(kept.contains(&format!("\"{code}\"")), "{kept}");
        // Without a reason it is not taken.
        let bare = Bench::new();
        bare.write("other.nc", &text);
        let file = bare.answers("bare.yaml", whole(&[("nc", "other.nc")]));
        bare.walk(&file).ended(2).says(&["is no reason"]);
    }
}

#[test]
fn a_try_that_is_taken_fails() {
    let bench = Bench::new();
    let file = bench.answers("try.yaml", whole(&[("speed", "{try: 3000 rpm}")]));
    bench
        .walk(&file)
        .ended(2)
        .says(&["the answer to `speed` was to be refused, and was taken"]);
}

#[test]
fn an_answer_that_is_refused_fails_with_step_and_reason() {
    for (step, answer, why) in [
        (
            "speed",
            "9000 rpm",
            "9000 rpm is above the most allowed, 6000 rpm",
        ),
        ("eyes", "not here", "hold here, put it right"),
        ("eyes", "sunglasses", "is none of the answers"),
        ("nc", "nowhere.nc", "nowhere.nc cannot be read"),
        ("nc", "../../../../dev/zero", "it is not a regular file"),
        ("entry", "0.18", "the sign is wrong"),
        ("clear", "zz", "`ZZ` is not the operator of this run, AB"),
        ("pass_cut", "done", "none of the answers"),
    ] {
        let bench = Bench::new();
        let file = bench.answers("refused.yaml", whole(&[(step, answer)]));
        let named = format!("the answer to `{step}` was refused");
        bench.walk(&file).ended(2).says(&[&named, why]);
        assert_eq!(bench.shown()["open"], true);
    }
}

#[test]
fn a_soft_limit_is_accepted_with_a_reason_and_a_hard_one_never() {
    let bench = Bench::new();
    let soft = ("speed", "{value: 150 rpm, accept: a worn spindle}");
    let file = bench.answers("soft.yaml", whole(&[soft]));
    bench.walk(&file).ended(0).says(&[
        "Out of the expected range",
        "accepted by AB: a worn spindle",
    ]);
    let shown = bench.shown();
    let speed = shown["answers"].as_array().unwrap().iter();
    let accepted = &speed.clone().find(|a| a["step"] == "speed").unwrap()["accepted"];
    assert_eq!(accepted["reason"], "a worn spindle");
    assert_eq!(accepted["by"], "AB");

    let bench = Bench::new();
    let file = bench.answers("none.yaml", whole(&[("speed", "150 rpm")]));
    bench.walk(&file).ended(2).says(&["`speed`", "reason"]);

    let bench = Bench::new();
    let hard = ("speed", "{value: 9000 rpm, accept: in a hurry}");
    let file = bench.answers("hard.yaml", whole(&[hard]));
    bench
        .walk(&file)
        .ended(2)
        .says(&["the answer to `speed` was refused", "Nobody can waive this"]);
}

#[test]
fn where_answers_end_the_run_stays_open_and_another_file_carries_on() {
    let bench = Bench::new();
    let first = bench.answers("first.yaml", until("skim", &[]));
    bench
        .walk(&first)
        .ended(2)
        .says(&["no answer left for the step `skim`"]);
    let shown = bench.shown();
    assert_eq!(
        (&shown["open"], &shown["outcome"]),
        (&true.into(), &Value::Null)
    );

    let rest = [
        ("operator", "ab"),
        ("machine", "north"),
        ("skim", "0.08"),
        ("finish_standing", "0"),
        ("finish_entry", "0.08"),
        ("clear_finish", "ab"),
        ("finish_cut", "finished"),
        ("remarks", "none"),
    ];
    let second = bench.answers("second.yaml", rest);
    bench
        .walk(&second)
        .ended(0)
        .says(&["complete and recorded"]);
    let shown = bench.shown();
    assert_eq!(shown["outcome"], "complete");
    close(&values(&shown, "finish_plane"), &[-0.37]);
    assert_eq!(told(&shown, "resumed").len(), 1);
}

#[test]
fn answers_that_no_question_asked_for_fail() {
    let bench = Bench::new();
    let over = [("skim", "[0.08, 0.05]")];
    let items = whole(&over).into_iter().chain([("skimm", "0.1")]);
    let file = bench.answers("over.yaml", items);
    bench.walk(&file).ended(2).says(&[
        "answers that no question asked for",
        "skim (1)",
        "skimm (1)",
    ]);
}

#[test]
fn a_malformed_answers_file_is_reported_with_its_places_and_nothing_is_begun() {
    for (text, parts) in [
        (
            "operator: ab\neyes:\n",
            ["bad.yaml", "2", "an answer is left blank"],
        ),
        (
            "operator: ab\nspeed: {try: 1, value: 2}\n",
            ["bad.yaml", "2", "there to be refused"],
        ),
        (
            "operator: ab\nspeed: {valeu: 2, accept: x}\n",
            ["bad.yaml", "2", "has no key `valeu`"],
        ),
        ("operator: [ab\n", ["bad.yaml", "1", "help"]),
        ("- ab\n", ["bad.yaml", "1", "a map of step id to answer"]),
        (
            "operator: ab\noperator: cd\n",
            ["bad.yaml", "2", "operator"],
        ),
    ] {
        let bench = Bench::new();
        let file = bench.write("bad.yaml", text);
        bench.walk(&file).ended(2).prints_nothing().says(&parts);
        assert!(!bench.book().exists(), "{text}");
    }
}

#[test]
fn without_a_terminal_the_walk_says_so_and_begins_nothing() {
    let bench = Bench::new();
    bench
        .run(&["walk"])
        .ended(2)
        .prints_nothing()
        .says(&["is not a terminal", "checklists/answers/two-roughing.yaml"]);
    assert!(!bench.book().exists());
}

#[test]
fn a_machine_that_is_not_in_the_shop_begins_nothing() {
    let bench = Bench::new();
    let file = bench.answers("west.yaml", whole(&[("machine", "west")]));
    bench.walk(&file).ended(2).says(&[
        "`west` is none of the machines of this shop",
        "`north`, `south`",
    ]);
    assert!(bench.runs().is_empty());
}

#[test]
fn leaving_saves_with_130_and_stopping_holds_with_3() {
    for (word, code, kind) in [
        ("leave", 130, "paused"),
        ("{value: stop chatter, why: planned}", 3, "stopped"),
    ] {
        let bench = Bench::new();
        let file = bench.answers("word.yaml", whole(&[("home", word)]));
        bench.walk(&file).ended(code);
        assert_eq!(told(&bench.shown(), kind).len(), 1);
        bench.run(&["gate"]).ended(3);
    }
}

#[test]
fn a_run_on_one_machine_leaves_the_others_free() {
    let bench = Bench::new();
    let north = bench.answers("north.yaml", until("eyes", &[]));
    bench.walk(&north).ended(2);
    // Somebody else's, and the one plate there is in both.
    let changed = [
        ("operator", "cd"),
        ("machine", "south"),
        ("plate", "{value: bed-a, accept: nothing is cut here}"),
    ];
    let south = bench.answers("south.yaml", until("eyes", &changed));
    bench.walk(&south).ended(2);
    let machines: Vec<Value> = bench.runs().iter().map(|r| r["machine"].clone()).collect();
    assert_eq!(machines, ["north", "south"]);
    bench
        .run(&["gate"])
        .ended(2)
        .says(&["runs are open on north, south", "--machine north"]);
    bench
        .run(&["gate", "--machine", "south"])
        .ended(3)
        .tells(&["HELD on south"]);
}

#[test]
fn a_book_that_cannot_be_made_fails_with_1() {
    let bench = Bench::new();
    let file = bench.answers("whole.yaml", whole(&[]));
    let mut command = bench.command();
    command.args(["walk", "--answers"]).arg(file);
    command.args(["--book", "face-12.nc/book.sqlite3"]);
    ran(command).ended(1).says(&["cannot be made"]);
}

#[test]
fn a_changed_byte_in_the_book_is_found_with_4() {
    let bench = Bench::new();
    let file = bench.answers("whole.yaml", until("remarks", &[]));
    bench.walk(&file).ended(2);
    let run = bench.only_run();
    let mut bytes = fs::read(bench.book()).unwrap();
    let word = b"skin left";
    let at = bytes.windows(word.len()).position(|w| w == word).unwrap();
    bytes[at] ^= 1;
    fs::write(bench.book(), bytes).unwrap();
    for args in [vec!["record", "show", &run], vec!["gate"], vec![]] {
        bench
            .run(&args)
            .ended(4)
            .says(&["is damaged"])
            .prints_nothing();
    }
    bench.walk(&file).ended(4).says(&["is damaged"]);
}

#[test]
fn the_gate_without_a_book_holds_and_makes_none() {
    let bench = Bench::new();
    bench
        .run(&["gate"])
        .ended(3)
        .quietly()
        .tells(&["HELD: no run is open", "skimgate walk"]);
    let json = bench.run(&["gate", "--json"]).ended(3).quietly().json();
    assert_eq!(json["released"], false);
    assert_eq!(json["holds"].as_array().unwrap().len(), 1);
    assert!(!bench.book().exists());
}

#[test]
fn the_gate_gives_every_reason_with_what_clears_it() {
    let bench = Bench::new();
    let file = bench.answers("part.yaml", until("clear", &[]));
    bench.walk(&file).ended(2);
    let reasons = |bench: &Bench| {
        let json = bench.run(&["gate", "--json"]).ended(3).quietly().json();
        let holds = json["holds"].as_array().unwrap().clone();
        for hold in &holds {
            assert!(!hold["why"].as_str().unwrap().is_empty(), "{hold}");
            assert!(!hold["clears"].as_str().unwrap().is_empty(), "{hold}");
        }
        let why = holds.iter().map(|h| h["why"].as_str().unwrap().to_owned());
        why.collect::<Vec<_>>()
    };
    let before = reasons(&bench);
    assert!(before.iter().any(|w| w.contains("was left")), "{before:?}");
    assert!(
        before.iter().any(|w| w == "Hold point: not answered"),
        "{before:?}"
    );
    assert!(
        before.iter().any(|w| w.contains("not released")),
        "{before:?}"
    );

    bench.write("face-12.nc", "%\nG20\nM30\n%\n");
    let after = reasons(&bench);
    assert_eq!(after.len(), before.len() + 1);
    assert!(
        after.iter().any(|w| w.contains("bytes changed")),
        "{after:?}"
    );
    let count = format!("{} reasons", after.len());
    let mut parts: Vec<&str> = after.iter().map(String::as_str).collect();
    parts.extend(["HELD on north", &count, "To clear:"]);
    bench.run(&["gate"]).ended(3).quietly().tells(&parts);

    fs::remove_file(bench.path("face-12.nc")).unwrap();
    let gone = reasons(&bench);
    assert!(
        gone.iter().any(|w| w.contains("cannot be read")),
        "{gone:?}"
    );
}

#[test]
fn the_record_lists_and_tells_in_text() {
    let bench = Bench::new();
    bench
        .run(&["record", "list"])
        .ended(2)
        .says(&["there is no book yet"]);
    let file = bench.answers("whole.yaml", whole(&[]));
    bench.walk(&file).ended(0);
    let run = bench.only_run();
    bench
        .run(&["record", "list"])
        .ended(0)
        .quietly()
        .tells(&[&run, "north", "over"]);
    bench
        .run(&["record", "show", &run])
        .ended(0)
        .quietly()
        .tells(&[
            "Outcome: complete",
            "signed as AB by an answers file",
            "P3 0.56",
            "Spindle speed in the program: 3000 rpm",
        ]);
    bench
        .run(&["record", "show", &run, "--all"])
        .ended(0)
        .tells(&[
            "Every entry",
            "the cut is assumed, nothing was started; plane +0.01 mm",
        ]);
    bench
        .run(&["record", "show", "1999"])
        .ended(2)
        .says(&["the book has no run"]);
    let (mut lengths, mut times) = (0, 0);
    for line in bench.runs() {
        keys_mean_what_they_say(&line, &mut lengths, &mut times);
    }
    assert_eq!(times, 2);
}

#[test]
fn init_writes_a_folder_once_and_what_it_writes_walks() {
    let bench = Bench::new();
    bench
        .run(&["init", "shop"])
        .ended(0)
        .quietly()
        .tells(&["shop/base-plate.yaml", "shop/shop.yaml"]);
    let edited = bench.path("shop/shop.yaml");
    fs::write(&edited, "mine").unwrap();
    fs::remove_file(bench.path("shop/base-plate.yaml")).unwrap();
    bench
        .run(&["init", "shop"])
        .ended(2)
        .says(&["are there already", "nothing was written"]);
    assert_eq!(fs::read_to_string(edited).unwrap(), "mine");
    assert!(!bench.path("shop/base-plate.yaml").exists());

    bench.run(&["init"]).ended(0);
    let answers = "checklists/answers/two-roughing.yaml";
    bench
        .run(&["walk", "--answers", answers])
        .ended(0)
        .says(&["complete and recorded"]);
}

#[test]
fn alone_it_says_what_is_open_and_what_to_type() {
    let bench = Bench::new();
    bench
        .run(&[])
        .ended(0)
        .quietly()
        .tells(&["No run is open.", "skimgate walk"]);
    assert!(!bench.book().exists());
    let file = bench.answers("part.yaml", until("eyes", &[]));
    bench.walk(&file).ended(2);
    let run = bench.only_run();
    bench.run(&[]).ended(0).quietly().tells(&[
        &run,
        "north",
        "cycle start is held",
        "skimgate walk",
        "skimgate gate",
    ]);
}

#[test]
fn the_book_is_where_the_flag_the_variable_or_the_state_folder_says() {
    let bench = Bench::new();
    let file = bench.answers("part.yaml", until("eyes", &[]));
    let walk = |flag: Option<&str>, variables: &[(&str, &str)]| {
        let mut command = bench.command();
        command.arg("walk").arg(shipped("small.yaml"));
        command.arg("--shop").arg(shipped("shop.yaml"));
        command.arg("--answers").arg(&file);
        for (name, value) in variables {
            command.env(name, bench.path(value));
        }
        if let Some(flag) = flag {
            command.arg("--book").arg(bench.path(flag));
        }
        ran(command).ended(2);
    };
    let all = [("SKIMGATE_BOOK", "variable"), ("XDG_STATE_HOME", "state")];
    let there = |name: &str| bench.path(name).exists();
    walk(Some("flag"), &all);
    assert!(there("flag") && !there("variable") && !there("state"));
    walk(None, &all);
    assert!(there("variable") && !there("state"));
    if cfg!(target_os = "linux") {
        walk(None, &all[1..]);
        assert!(there("state/skimgate/book.sqlite3") && !there("home"));
        walk(None, &[]);
        assert!(there("home/.local/state/skimgate/book.sqlite3"));
    }
}

#[test]
fn wrong_arguments_end_with_2_and_help_with_0() {
    let bench = Bench::new();
    bench
        .run(&["wlak"])
        .ended(2)
        .says(&["walk"])
        .prints_nothing();
    bench
        .run(&["walk", "--unit", "furlong"])
        .ended(2)
        .says(&["`furlong` is not mm or inch"]);
    bench
        .run(&["walk", "nowhere.yaml", "--answers", "nowhere.yaml"])
        .ended(2)
        .says(&["nowhere.yaml: cannot be read: there is no such file"]);
    bench
        .run(&["--help"])
        .ended(0)
        .quietly()
        .tells(&["Exit status"]);
}

/// The invented mill-a travels 500 mm, and its plate is 20 mm thick by the record. 25 in are 635 mm.
#[test]
fn figures_beyond_the_mill_and_the_plate_are_refused() {
    let bench = Bench::new();
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("checklists/answers");
    let mut edited = fs::read_to_string(root.join("two-roughing.yaml")).unwrap();
    for step in ["start_clear", "thickness_seen", "tram_span"] {
        let line = edited.lines().find(|l| l.starts_with(&format!("{step}: ")));
        let line = line.unwrap().to_owned();
        let right = line.strip_prefix(&format!("{step}: ")).unwrap();
        edited = edited.replace(&line, &format!("{step}: [{{ try: 25 in }}, {right}]"));
    }
    let program = fs::read_to_string(root.join("facing-12mm.nc")).unwrap();
    bench.write("facing-12mm.nc", &program);
    let of = |name: &str| root.with_file_name(name).display().to_string();
    let (base, shop) = (of("base-plate.yaml"), of("shop.yaml"));
    let answers = bench.write("answers.yaml", &edited).display().to_string();
    bench
        .run(&["walk", &base, "--shop", &shop, "--answers", &answers])
        .ended(0)
        .says(&[
            "further than this mill travels",
            "twice what the record says",
            "the sweep must fit on what it sweeps",
        ]);
}
