//! Whole walks: with a second roughing pass, plain, without colour, wide, in inches.

use crate::operator::{Operator, Sitting, plain, widest};
use crate::support::{Bench, told, values};

/// The second roughing pass, the first one having left skin, and the finishing pass, to the end of the run.
fn finishes(at: &mut Operator) {
    at.answers("inspect", "skin left");
    at.goes(&[
        ("choose", "none"),
        ("value in mm", "0"),
        ("value in mm", "0"),
        ("shows now, mm", "0.18"),
    ]);
    at.signs();
    at.cuts("roughing pass 2");
    at.answers("inspect", "clean");
    at.goes(&[
        ("value in mm", "0.08"),
        ("value in mm", "0"),
        ("shows now, mm", "0.08"),
    ]);
    // The finishing skim is signed over its own figures, not those of the first roughing pass.
    let shown = plain(&at.sees("initials> "));
    assert!(shown.contains("Plane: -0.25 mm"), "{shown}");
    assert_eq!(shown.matches("Plane: ").count(), 1, "{shown}");
    assert_eq!(shown.matches("Set Z: ").count(), 1, "{shown}");
    at.types("ab");
    let code = at.reads_code();
    at.types(&code);
    at.cuts("finishing pass 1");
    at.answers("text", "none");
    at.sees("The run is complete and recorded.");
    at.ends(0);
}

pub(super) fn whole_walk(at: &mut Operator) {
    at.reaches_the_hold_point();
    at.signs();
    at.cuts("roughing pass 1");
    finishes(at);
}

#[test]
fn a_whole_walk_with_a_second_roughing_pass_because_the_first_left_skin() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).with("LC_ALL", "C.UTF-8").walks();
    whole_walk(&mut at);
    assert!(widest(&at.screen) <= 80, "{}", at.screen);
    assert!(at.cursor_is_shown());
    assert!(at.screen.contains("\x1b[31m"), "in colour: {:?}", at.screen);
    let shown = bench.shown();
    assert_eq!(shown["outcome"], "complete");
    assert_eq!(values(&shown, "plane"), [0.01, -0.17]);
    assert_eq!(values(&shown, "finish_plane"), [-0.25]);
    assert_eq!(told(&shown, "cut_started").len(), 3);
    let answers = shown["answers"].as_array().unwrap().iter();
    let means: Vec<_> = answers.filter_map(|a| a.get("means")).collect();
    assert_eq!(means, ["typed_with_code"; 3]);
}

// Worked by hand: the highest place comes down from +0.19 to 0.01, -0.17 and -0.25: 0.18, 0.18 and 0.08 off 20 mm.
#[test]
fn what_was_cut_is_in_the_account_of_the_plate_and_the_next_run_goes_by_it() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).walks();
    whole_walk(&mut at);
    at.has_seen(&["The account of bed-a now says 19.56 mm"]);
    let account = bench.json(&["stock", "show", "bed-a", "--json"]);
    assert_eq!(account["thickness_mm"], 19.56);
    assert_eq!(account["over_steel_mm"], 5.56);
    let lines = account["lines"].as_array().unwrap();
    let most: Vec<_> = lines.iter().filter_map(|l| l["most_mm"].as_f64()).collect();
    assert_eq!(most, [0.18, 0.18, 0.08]);
    bench.run(&["record", "verify"]).ended(0).tells(&["Whole"]);

    let mut at = Sitting::at(&bench).walks();
    at.goes(&[("initials", "ab"), ("machine", "north"), ("choose", "c12")]);
    let told = [
        "The account of bed-a rules: 19.56 mm",
        "The shop file says 20 mm",
        "They differ by 0.44 mm",
    ];
    at.is_told("choose", "bed-a", &told, "confirm");
    at.types("leave");
    at.leaves();
}

/// A walk that ends with `skims_left`, the plate's steel at `steel`: what the walk, the account and the record say.
fn skims_left(steel: &str) -> (Bench, String) {
    let bench = Bench::new();
    let text = std::fs::read_to_string(crate::support::shipped("small.yaml")).unwrap();
    let closing = "      - note: remarks\n";
    let step = "      - work out: skims\n        title: Skims left\n        why: To order in time.\n        value: skims_left(plate.thickness - gone, plate.least_thickness, plate.steel_depth - gone, cutter.finishing_bite)\n";
    let gone = "      - work out: gone\n        title: Taken off\n        why: It is gone.\n        value: highest(corners) - finish_plane\n";
    assert!(text.contains(closing));
    let procedure = bench.write(
        "left.yaml",
        &text.replace(closing, &format!("{gone}{step}{closing}")),
    );
    let shop = std::fs::read_to_string(crate::support::shipped("shop.yaml")).unwrap();
    let depth = "    steel depth: 6 mm\n";
    assert!(shop.contains(depth), "{shop}");
    let shop = bench.write(
        "left-shop.yaml",
        &shop.replacen(depth, &format!("    steel depth: {steel}\n"), 1),
    );
    let mut at = Sitting::at(&bench).procedure(procedure).shop(shop).walks();
    whole_walk(&mut at);
    let shown = plain(&at.screen);
    (bench, shown)
}

// By hand: 0.44 mm are gone. A skim takes the finishing bite of 0.15 mm and 0.05 mm.
// (19.56 - 15) / 0.2 = 22.8 by thickness, (5.56 - 0.5) / 0.2 = 25.3 and (3.56 - 0.5) / 0.2 = 15.3 by the steel.
#[test]
fn skims_left_are_the_same_in_walk_account_and_record_and_name_their_limit() {
    for (steel, count, limit, words) in [
        (
            "6 mm",
            22,
            "thickness",
            "limited by the least thickness; 25 by the steel",
        ),
        (
            "4 mm",
            15,
            "steel",
            "limited by the steel; 22 by the least thickness",
        ),
    ] {
        let (bench, walk) = skims_left(steel);
        let said = format!("Skims left: {count}, {words}");
        assert!(
            crate::support::flowing(&walk).contains(&said),
            "{said}\n{walk}"
        );
        // The ways side by side reckon the same cuts beforehand: the same touches, planes and finishing skim.
        let shop = bench.path("left-shop.yaml");
        let mut plane = bench.command();
        plane
            .args([
                "plane",
                "--unit",
                "mm",
                "--max-bite",
                "0.25",
                "--finish",
                "0.08",
            ])
            .args(
                ["P1=0", "P2=-0.12", "P3=0.31", "P4=0.08", "P5=-0.05"]
                    .map(|t| format!("--touch={t}")),
            )
            .args(["--cutter", "c12", "--plate", "bed-a", "--json", "--shop"])
            .arg(shop);
        let ways = crate::support::ran(plane).ended(0).json();
        let way = &ways["ways"][0];
        assert_eq!(way["figures"]["skims_left"]["value"], f64::from(count));
        let working = way["figures"]["skims_left"]["working"][0].as_str().unwrap();
        let by = match limit {
            "steel" => "by the steel",
            _ => "by thickness",
        };
        assert!(working.contains(by), "{working}");
        let account = bench.json(&["stock", "show", "bed-a", "--json"]);
        assert_eq!(account["skims_left"], count);
        assert_eq!(account["skims_limited_by"], limit);
        let both = format!("{count}, {words}");
        bench
            .run(&["stock", "show", "bed-a"])
            .ended(0)
            .tells(&[&both]);
        let row = [&count.to_string()[..], "limited by", "the"];
        bench.run(&["stock", "list"]).ended(0).tells(&row);
        let shown = bench.shown();
        let answers = shown["answers"].as_array().unwrap();
        let skims = answers.iter().find(|a| a["step"] == "skims").unwrap();
        assert_eq!(skims["remark"], words);
        let run = shown["run"].as_str().unwrap();
        bench.run(&["record", "show", run]).ended(0).tells(&[&said]);
        let sheet = bench
            .run(&["record", "export", run, "--as", "html"])
            .ended(0);
        assert!(sheet.out.contains(&both), "{}", sheet.out);
        bench.run(&["record", "verify"]).ended(0).tells(&["Whole"]);
    }
}

#[test]
fn a_cut_that_ends_far_too_early_is_asked_about() {
    let bench = Bench::new();
    let text = std::fs::read_to_string(crate::support::shipped("small.yaml")).unwrap();
    let slow = text.replace("expected time: 5 s", "expected time: 30 min");
    assert_ne!(slow, text);
    let mut at = Sitting::at(&bench)
        .procedure(bench.write("slow.yaml", &slow))
        .walks();
    at.reaches_the_hold_point();
    at.signs();
    at.cuts("roughing pass 1");
    at.is_shown(
        &["It ended much sooner than expected", "30:00 were reckoned"],
        "why",
    );
    at.types("12");
    at.is_shown(&["Not taken: say it in words"], "why");
    at.types("tried it in air first");
    at.sees("inspect> ");
    at.types("leave");
    at.leaves();
    assert_eq!(told(&bench.shown(), "noted").len(), 1);
}

#[test]
fn plain_has_no_escape_byte_in_a_whole_walk() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench)
        .with("LC_ALL", "C.UTF-8")
        .args(&["--plain"])
        .walks();
    whole_walk(&mut at);
    assert!(!at.screen.contains('\x1b'), "{:?}", at.screen);
    assert!(at.screen.is_ascii(), "{:?}", at.screen);
    assert!(widest(&at.screen) <= 80, "{}", at.screen);
}

#[test]
fn no_color_paints_nothing_and_a_wide_terminal_is_not_overrun() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench)
        .columns(120)
        .with("NO_COLOR", "1")
        .with("LC_ALL", "C.UTF-8")
        .walks();
    whole_walk(&mut at);
    assert!(widest(&at.screen) <= 120, "{}", at.screen);
    let sequences = at.screen.split('\x1b').skip(1);
    let paint: Vec<&str> = sequences
        .filter_map(|s| s.split_inclusive(|c: char| c.is_ascii_alphabetic()).next())
        .filter(|s| s.ends_with('m') && *s != "[0m")
        .collect();
    assert!(paint.is_empty(), "{paint:?}");
}

#[test]
fn a_walk_in_inches() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).args(&["--unit", "inch"]).walks();
    at.sets_up();
    at.goes(&[
        ("P1 in in", "0"),
        ("P2 in in", "-5 thou"),
        ("shows now, in", "0"),
        ("P3 in in", ".012"),
        ("P4 in in", "3/1000"),
        ("P5 in in", "-0.002"),
        ("shows now, in", "0"),
        ("value in in", "0"),
        ("value in in", "0"),
        ("shows now, in", "-.007"),
    ]);
    at.signs();
    at.cuts("roughing pass 1");
    at.answers("inspect", "clean");
    // The plane stands at 0, the lowest touch at -0.007 in, so this cannot be clean; a number is no reason for it. The
    // finishing skim is 3 thou of at most 0.15 mm.
    at.goes(&[
        ("reason", "5"),
        ("reason", "the touches were taken on burrs"),
        ("value in in", "3 thou"),
        ("value in in", "0"),
        ("shows now, in", "0.003"),
    ]);
    at.signs();
    at.cuts("finishing pass 1");
    at.answers("text", "none");
    at.ends(0);
    let shown = bench.shown();
    // Exact by definition of the inch: 25.4 mm.
    assert_eq!(values(&shown, "plane"), [0.0]);
    assert_eq!(values(&shown, "finish_plane"), [-0.0762]);
    assert_eq!(values(&shown, "found"), [0.3556]);
}
