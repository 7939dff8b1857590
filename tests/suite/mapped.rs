//! Positions of points in a walk: the map where a plane is chosen, the result of an inspection compared with the
//! expected one, and both in the record.

use crate::operator::{Sitting, plain};
use crate::support::{Bench, flowing, shipped, told};
use std::path::PathBuf;

/// The small procedure with positions: P5 in the middle, the others in the corners of the plate.
fn placed(bench: &Bench) -> PathBuf {
    let text = std::fs::read_to_string(shipped("small.yaml")).unwrap();
    let points = "points: [P1, P2, P3, P4, P5]\n";
    let places = "        places: { P1: [20 mm, 20 mm], P2: [95%, 20 mm], P3: [95%, 92%], P4: [20 mm, 92%], P5: [50%, 50%] }\n        doubt: 0.01 mm\n";
    let target =
        "value: next_plane(surface.highest, surface.lowest - clearance, cutter.deepest_bite)\n";
    assert!(text.contains(points) && text.contains(target));
    let text = text
        .replace(points, &format!("{points}{places}"))
        .replace(target, &format!("{target}        map: yes\n"));
    bench.write("placed.yaml", &text)
}

#[test]
fn a_person_sees_the_map_and_enters_where_skin_is_left() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).procedure(placed(&bench)).walks();
    at.reaches_the_hold_point();
    at.signs();
    at.cuts("roughing pass 1");
    at.answers("inspect", "map");
    at.is_shown(
        &["seen from above", "front, where the operator stands"],
        "inspect",
    );
    at.types("more");
    at.is_shown(&["One more touch would tell most"], "inspect");
    at.types("why plane");
    at.is_shown(
        &["Why, between the touches:", "share of a normal"],
        "inspect",
    );
    at.types("clean near P5");
    at.answers("inspect", "skin left near P9");
    at.answers("inspect", "skin left");
    at.is_shown(
        &[
            "Near which touched points is it?",
            "Touched were: P1, P2, P3, P4, P5.",
        ],
        "near points",
    );
    at.types("P9");
    at.is_shown(&["`P9` is not a touched point"], "near points");
    at.types("P5, P2 P5");
    // Plane +0.01 mm: P2 at -0.12, P4 at -0.04 and P5 at -0.17 are below it by more than the uncertainty of setting Z.
    // P1 at 0 is within that uncertainty. P3 at 0.19 is cut, and halfway from it to P5, at 0.01, the result is unknown.
    at.is_shown(
        &[
            "Skin expected near P2, P4, P5, and not known near P1, P3.",
            "Found near P5, P2.",
            "Cleaner than expected near P4.",
            "Reckoned from the map",
        ],
        "choose",
    );
    let found = told(&bench.shown(), "looked");
    assert_eq!(found.len(), 1);
    assert!(found[0].contains("Found near P5, P2."), "{found:?}");
}

#[test]
fn an_answers_file_gives_places_and_skin_and_needs_none() {
    let bench = Bench::new();
    bench.run(&["init"]).ended(0);
    let answers = "checklists/answers/two-roughing.yaml";
    bench.run(&["walk", "--answers", answers]).ended(0).says(&[
        "At -0.22 mm all 5 touched places clean up for certain. Between the touches 4 % cleans, 87 % likely, 9 % not known, 0 % stays.",
        "At -0.01 mm old skin stays: the lowest touch, C, is 0.16 mm below it.",
        "`more`, `map`, `ways` and `why STEP` show the rest.",
        "What it proves: How thick the plate is at this place.",
    ]);
    let shown = bench.shown();
    assert_eq!(told(&shown, "looked").len(), 4, "{shown}");
    let run = bench.only_run();
    bench.run(&["record", "show", &run]).ended(0).tells(&[
        "Skin expected near SE, NW, C, and not known near SW, NE.",
        "what it proves: How thick the plate is at this place.",
    ]);

    // Positions typed with the readings, the first one off the plate, and old surface left near one of them.
    let text = std::fs::read_to_string(bench.path(answers)).unwrap();
    let low = "  - LOW1: { readout: -0.02 mm, machine: -151.64 mm }";
    assert!(text.contains(low));
    let text = text
        .replace(low, "  - LOW1: -0.02 mm; -151.64 mm at 60 mm, 40 mm")
        .replace(
            "[skin left, skin left, clean]",
            "[skin left near C SE, skin left near C, clean]",
        );
    let bench = Bench::new();
    bench.run(&["init"]).ended(0);
    bench.write("checklists/answers/placed.yaml", &text);
    let walk = ["walk", "--answers", "checklists/answers/placed.yaml"];
    bench.run(&walk).ended(0);
    let shown = bench.shown();
    let looked = told(&shown, "looked");
    assert!(looked[1].contains("Found near C."), "{looked:?}");
    let touched = told(&shown, "touched");
    let low = touched.iter().find(|t| t.contains("LOW1")).unwrap();
    assert!(
        low.contains("(60 mm from the left, 40 mm from the front)"),
        "{low}"
    );
    bench.run(&["record", "verify"]).ended(0);

    let off = text.replace("at 60 mm, 40 mm", "at 60 mm, 400 mm");
    let bench = Bench::new();
    bench.run(&["init"]).ended(0);
    bench.write("checklists/answers/placed.yaml", &off);
    bench
        .run(&walk)
        .ended(2)
        .says(&["that place is off the plate, which is 240 mm long and 120 mm wide"]);
}

/// Positions computed by a script are rounded to the stored grid; a reading shown by the control is not rounded.
#[test]
fn places_with_many_decimals_are_rounded_and_readings_are_not() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench).procedure(placed(&bench)).walks();
    at.sets_up();
    at.answers("P1 in mm", "0 at 20.000000000000004, 20.12345678901234");
    at.is_told(
        "P2 in mm",
        "-0.123456789012 at 228,20",
        &["finer than"],
        "P2 in mm",
    );
    at.types("-0.12 at 228.00000000001");
    at.is_shown(&["is no place; type two lengths"], "P2 in mm");
    at.types("-0.12 at 228, 1000000");
    at.is_shown(&["100 m"], "P2 in mm");
    at.types("-0.12 at 8.976377952755906 in, 20");
    at.answers("shows now, mm", "0");
    let touched = told(&bench.shown(), "touched");
    // 8.976377952755906 x 25.4 = 228.0000000000000124.
    for (touch, place) in touched.iter().zip([
        "(20 mm from the left, ~20.1235 mm from the front)",
        "(228 mm from the left, 20 mm from the front)",
    ]) {
        assert!(touch.contains(place), "{touch}");
    }
}

#[test]
fn four_corners_ask_for_the_centre_and_give_no_share() {
    let bench = Bench::new();
    let text = std::fs::read_to_string(placed(&bench)).unwrap();
    let text = text.replace(", P5: [50%, 50%] }", " }");
    let procedure = bench.write("corners.yaml", &text);
    let mut at = Sitting::at(&bench).procedure(procedure).walks();
    at.sets_up();
    at.touches();
    at.answers("value in mm", "0");
    let shown = flowing(&plain(&at.sees("value in mm> ")));
    let text = "Nothing is known of the middle: touch the centre to know.";
    assert!(shown.contains(text) && !shown.contains('%'), "{shown}");
    at.types("more");
    let more = flowing(&plain(&at.sees("value in mm> ")));
    for text in ["no share of the plate can be given", "(the centre)"] {
        assert!(more.contains(text), "{more}");
    }
    assert!(!more.contains('%'), "{more}");
}

/// The lines between two prompts, of which the later is the last in `shown`.
fn lines_before_the_prompt(shown: &str) -> usize {
    plain(shown).matches('\n').count()
}

// 22 lines at 80x24: design of the program, the window less a prompt above and one below.
#[test]
fn a_plane_is_chosen_on_one_small_screen_and_the_rest_comes_by_a_word() {
    let bench = Bench::new();
    let text = std::fs::read_to_string(placed(&bench)).unwrap();
    let compared = "        map: yes\n";
    assert!(text.contains(compared));
    let text = text.replace(
        compared,
        "        map: yes\n        ways: { from: surface.highest, to: surface.lowest - clearance, most: cutter.deepest_bite }\n",
    );
    let procedure = bench.write("compared.yaml", &text);
    let mut at = Sitting::at(&bench).procedure(procedure).walks();
    at.sets_up();
    at.touches();
    at.answers("value in mm", "0");
    let shown = at.sees("value in mm> ");
    let flat = flowing(&plain(&shown));
    for part in [
        "Plane of this pass: 0.01 mm",
        "old skin stays",
        "`more`, `map`, `ways` and `why STEP` show the rest.",
    ] {
        assert!(flat.contains(part), "`{part}` not in {shown}");
    }
    assert!(!flat.contains("seen from above"), "{shown}");
    assert!(lines_before_the_prompt(&shown) <= 22, "{shown}");
    for (word, parts) in [
        (
            "more",
            &["plane = next_plane(", "One more touch would tell most"][..],
        ),
        ("ways", &["largest bite", "2 passes"]),
        ("why plane", &["Why, between the touches:"]),
        (
            "map",
            &["seen from above", "front, where the operator stands"],
        ),
    ] {
        at.types(word);
        let shown = at.sees("value in mm> ");
        for part in parts {
            assert!(flowing(&plain(&shown)).contains(part), "{word}: {shown}");
        }
        if word == "map" {
            assert!(lines_before_the_prompt(&shown) <= 23, "{shown}");
        }
    }
}

#[test]
fn a_large_window_has_room_for_the_map() {
    let bench = Bench::new();
    let mut at = Sitting::at(&bench)
        .columns(120)
        .rows(40)
        .procedure(placed(&bench))
        .walks();
    at.sets_up();
    at.touches();
    at.answers("value in mm", "0");
    let shown = at.sees("value in mm> ");
    assert!(shown.contains("seen from above"), "{shown}");
    assert!(lines_before_the_prompt(&shown) < 40, "{shown}");
}
