//! The command `skimgate plane`, run as the real binary. The readings are invented; the expected results were computed
//! by hand.
#![allow(clippy::unwrap_used, clippy::panic)]

use assert_cmd::Command;
use serde_json::{Value, json};

const TOUCHES: [&str; 5] = ["P1=0", "P2=-0.12", "P3=0.31", "P4=0.08", "P5=-0.05"];
const CSV: &str = "# invented\npoint,reading\nP1,0\nP2,-0.12\nP3,0.31\nP4,0.08\nP5,-0.05\n";

struct Ran {
    code: i32,
    out: String,
    err: String,
}

fn run(args: &[&str], input: &str) -> Ran {
    let mut command = Command::cargo_bin("skimgate").unwrap();
    let output = command
        .env_clear()
        .arg("plane")
        .args(args)
        .write_stdin(input)
        .output()
        .unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// Runs with the example's touches as flags, in millimetres.
fn with_touches(more: &[&str]) -> Ran {
    let touches = TOUCHES.iter().flat_map(|t| ["--touch", t]);
    let args: Vec<&str> = ["--unit", "mm"]
        .into_iter()
        .chain(touches)
        .chain(more.iter().copied())
        .collect();
    run(&args, "")
}

fn parsed(ran: &Ran) -> Value {
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    serde_json::from_str(&ran.out).unwrap()
}

fn numbers(answer: &Value, list: &str, key: &str) -> Vec<f64> {
    let items = answer[list].as_array().unwrap();
    items.iter().map(|i| i[key].as_f64().unwrap()).collect()
}

fn refused(ran: &Ran, code: i32, parts: &[&str]) {
    assert_eq!((ran.code, ran.out.as_str()), (code, ""), "{}", ran.err);
    for part in parts {
        assert!(ran.err.contains(part), "`{part}` not in: {}", ran.err);
    }
}

#[test]
fn the_example_as_json_has_exactly_this_shape() {
    let zero = [
        "--zero",
        "running",
        "--clearance",
        "0",
        "--max-bite",
        "0.25",
    ];
    let ran = with_touches(&[&zero[..], &["--json"]].concat());
    assert!(ran.out.starts_with("{\"format\":1,") && ran.out.ends_with("}\n"));
    assert_eq!(ran.out.lines().count(), 1);
    let mut answer = parsed(&ran);
    let working = answer["working"].take();
    let cautions = answer["cautions"].take();
    let height = |point, mm: f64| json!({"point": point, "height_mm": mm, "touches": 1});
    let pass = |plane: f64, entry: f64| {
        json!({
            "plane_mm": plane, "entry_mm": entry, "entry_at": "P5",
            "max_bite_mm": 0.18, "max_bite_at": ["P3"], "finishing": false,
        })
    };
    assert_eq!(
        answer,
        json!({
            "format": 1,
            "heights": [
                height("P1", 0.0), height("P2", -0.12), height("P3", 0.19),
                height("P4", -0.04), height("P5", -0.17),
            ],
            "lowest": "P5",
            "highest": "P3",
            "spread_mm": 0.36,
            "passes": [pass(0.01, -0.18), pass(-0.17, 0.0)],
            "finish": null,
            "touched_last": "P5",
            "zero": "running",
            "drift_mm": null,
            "repeatability_mm": null,
            "working": null,
            "cautions": null,
        })
    );
    let working = working.as_array().unwrap();
    let line = "height of P3 = zero + reading = -0.12 + 0.31 = +0.19 mm";
    assert!(working.contains(&json!(line)), "{working:?}");
    let cautions: Vec<_> = cautions.as_array().unwrap().iter().collect();
    assert!(
        cautions
            .iter()
            .all(|c| !c.as_str().unwrap().contains("four corners"))
    );
}

#[test]
fn flags_file_lines_and_standard_input_give_the_same_result() {
    let folder = tempfile::tempdir().unwrap();
    let csv = folder.path().join("touches.csv");
    std::fs::write(&csv, CSV).unwrap();
    let yaml = folder.path().join("touches.yaml");
    std::fs::write(
        &yaml,
        "P1: 0\nP2: -0.12 # low\nP3: 0.31\nP4: 0.08\nP5: -0.05\n",
    )
    .unwrap();
    let same = ["--max-bite", "0.25", "--json"];
    let flags = parsed(&with_touches(&same));
    let args = |file: &str| {
        let args = [&same[..], &["--unit", "mm", file]].concat();
        parsed(&run(&args, CSV))
    };
    assert_eq!(args(csv.to_str().unwrap()), flags);
    assert_eq!(args(yaml.to_str().unwrap()), flags);
    assert_eq!(args("-"), flags);
}

#[test]
fn a_person_sees_heights_working_and_passes() {
    let ran = with_touches(&["--max-bite", "0.25"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    for line in [
        "  P3     +0.19 mm (~+0.00748 in)  1        highest",
        "  P5     -0.17 mm (~-0.00669 in)  1        lowest",
        "  spread = highest - lowest = 0.19 - (-0.17) = 0.36 mm",
        "  pass  plane                    entry at P5              largest bite  where",
        "  1     +0.01 mm (~+0.00039 in)  -0.18 mm (~-0.00709 in)  0.18 mm       P3",
        "  pass 1: entry = height of tip - plane = -0.17 - 0.01 = -0.18 mm",
        "note: plus is up: a plane below 0 lies deeper than the first touch",
    ] {
        assert!(ran.out.lines().any(|l| l == line), "{line}\n{}", ran.out);
    }
    assert!(ran.out.lines().all(|l| l.len() <= 110));
}

#[test]
fn clearance_and_finish_go_below_the_lowest_point() {
    // The low place of the second round: the readout was not zeroed there, its height is -0.24, and it is the lowest.
    let args = ["--unit", "mm", "--touch", "low=0", "--touch", "high=0.07"];
    let more = [
        "--clearance",
        "0.05",
        "--finish",
        "0.08",
        "--max-bite",
        "0.25",
        "--json",
    ];
    let answer = parsed(&run(&[&args[..], &more].concat(), ""));
    assert_eq!(numbers(&answer, "passes", "plane_mm"), [-0.05, -0.13]);
    assert_eq!(numbers(&answer, "passes", "entry_mm"), [0.12, 0.2]);
    assert_eq!(numbers(&answer, "passes", "max_bite_mm"), [0.12, 0.08]);
    assert_eq!(answer["finish"], json!({"plane_mm": -0.13}));
}

#[test]
fn plus_is_up_and_the_entry_is_what_the_readout_shows_at_the_tip() {
    // The tip is on the high place, 0.1 above the future plane: the entry is +0.1.
    let args = ["--unit=mm", "--max-bite=0.25", "--json", "--zero=fixed"];
    let touches = ["--touch", "low=0", "--touch", "high=+0.1"];
    let answer = parsed(&run(&[&args[..], &touches].concat(), ""));
    assert_eq!(answer["lowest"], json!("low"));
    assert_eq!(numbers(&answer, "passes", "entry_mm"), [0.1]);
    // In the opposite case the tip is on the plane.
    let touches = ["--touch", "high=0", "--touch", "low=-0.1"];
    let answer = parsed(&run(&[&args[..], &touches].concat(), ""));
    assert_eq!(numbers(&answer, "passes", "plane_mm"), [-0.1]);
    assert_eq!(numbers(&answer, "passes", "entry_mm"), [0.0]);
}

// Source: heights 0, -.0040, -.0015, -.0055, +.0005 in from readings 0, -.0040, +.0025, -.0015, +.0060; derived and
// computed from the formula; 1 in = 25.4 mm.
#[test]
fn inches_in_any_spelling() {
    let touches = ["A=0", "B=-4 thou", "C=.0025", "D=-0.0381mm", "E=6thou"];
    let touches = touches.iter().flat_map(|t| ["--touch", t]);
    let more = ["--unit", "in", "--max-bite", "10 thou", "--json"];
    let args: Vec<&str> = touches.chain(more).collect();
    let answer = parsed(&run(&args, ""));
    assert_eq!(
        numbers(&answer, "heights", "height_mm"),
        [0.0, -0.1016, -0.0381, -0.1397, 0.0127]
    );
    assert_eq!(answer["spread_mm"], json!(0.1524));
}

#[test]
fn machine_coordinates_alone_give_the_same_heights() {
    let csv = "point,machine\nP1,-152.25\nP2,-152.37\nP3,-152.06\nP4,-152.29\nP5,-152.42\n";
    let args = [
        "--unit",
        "mm",
        "--max-bite",
        "0.25",
        "--zero",
        "machine",
        "--json",
        "-",
    ];
    let answer = parsed(&run(&args, csv));
    let heights = numbers(&answer, "heights", "height_mm");
    assert_eq!(heights, [0.0, -0.12, 0.19, -0.04, -0.17]);
    let flags = ["--machine", "P1=-152.25", "--machine", "P2=-152.37"];
    let more = [
        "--unit",
        "mm",
        "--max-bite",
        "0.25",
        "--zero",
        "machine",
        "--json",
    ];
    let answer = parsed(&run(
        &[&flags[..], &more, &["--closing", "-152.24"]].concat(),
        "",
    ));
    assert_eq!(numbers(&answer, "heights", "height_mm"), [0.0, -0.12]);
    assert_eq!(answer["drift_mm"], json!(0.01));
    assert_eq!(answer["touched_last"], json!("P1"));
}

#[test]
fn columns_that_disagree_are_refused() {
    let machine = ["P1=-152.25", "P2=-152.37", "P3=-152.06", "P4=-152.45"];
    let machine = machine.iter().flat_map(|m| ["--machine", m]);
    let more: Vec<&str> = machine.chain(["--max-bite", "0.25"]).collect();
    let ran = with_touches(&more);
    let parts = [
        "error: --touch P4=0.08: at P4 ",
        "the sign of the readout was lost",
    ];
    refused(&ran, 3, &parts);
    // Within a tolerance the columns agree; and with `--json` the refusal is JSON too.
    assert_eq!(
        with_touches(&[&more[..], &["--tolerance", "0.2"]].concat()).code,
        0
    );
    let ran = with_touches(&[&more[..], &["--json"]].concat());
    refused(&ran, 3, &[]);
    let wrong: Value = serde_json::from_str(&ran.err).unwrap();
    assert_eq!(
        (&wrong["format"], &wrong["code"]),
        (&json!(1), &json!("mismatch"))
    );
    assert_eq!(wrong["place"], json!("--touch P4=0.08"));
}

#[test]
fn a_point_given_twice_is_a_repeat() {
    let more = ["--touch", "P3=0.362", "--max-bite", "0.25", "--json"];
    let answer = parsed(&with_touches(&more));
    assert_eq!(answer["heights"][2]["height_mm"], json!(0.191));
    // d = 0.002: s = sqrt(d^2 / 2) = 0.0014142... mm, to the nearest tenth of a nanometre.
    assert_eq!(answer["repeatability_mm"], json!(0.001_414_2));
}

#[test]
fn machine_readings_of_a_repeat_belong_to_its_touches_in_order() {
    let machine = ["P1=-152.25", "P3=-152.06", "P3=-152.059"];
    let machine = machine.iter().flat_map(|m| ["--machine", m]);
    let more = machine.chain(["--touch", "P3=0.361", "--max-bite", "0.25"]);
    // P3 is touched again after the readout was zeroed at P5, -0.17: 0.361 there is +0.191.
    let more: Vec<&str> = more.collect();
    assert_eq!(with_touches(&more).code, 0);
    let third = [&more[..], &["--machine", "P3=-152.06"]].concat();
    refused(&with_touches(&third), 2, &["no touch of P3"]);
}

#[test]
fn few_points_and_drift_give_warnings() {
    let corners = "point,reading\nA,0\nB,0.1\nC,0.1\nD,0.1\n";
    let args = [
        "--unit",
        "mm",
        "--max-bite",
        "0.25",
        "-",
        "--closing",
        "0.03",
    ];
    let ran = run(&args, corners);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out
            .contains("four corners say nothing about the middle")
    );
    assert!(ran.out.contains("moved by +0.03 mm"));
    let drifted = |closing| run(&[&args[..6], &[closing]].concat(), corners).out;
    assert!(drifted("-0.03").contains("moved by -0.03 mm"));
    assert!(!drifted("0.025").contains("moved by"));
    let five = run(&args[..5], &format!("{corners}E,0.2\n"));
    assert!(!five.out.contains("four corners") && !five.out.contains("moved by"));
}

#[test]
fn planes_are_multiples_of_the_readout_step() {
    let more = ["--max-bite", "0.15", "--step", "0.05", "--json"];
    let answer = parsed(&with_touches(&more));
    // Thirds of 0.39 from +0.19: +0.06 and -0.07 are rounded up to whole steps, -0.17 is rounded down.
    let planes = numbers(&answer, "passes", "plane_mm");
    assert_eq!(planes, [0.1, -0.05, -0.2]);
    assert!(
        numbers(&answer, "passes", "max_bite_mm")
            .iter()
            .all(|b| *b <= 0.15)
    );
}

#[test]
fn nothing_to_take_off_is_reported() {
    let args = ["--touch", "P1=0", "--touch", "P2=0", "--max-bite", "1 mm"];
    let ran = run(&args, "");
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("nothing to take off"));
    assert_eq!(
        parsed(&run(&[&args[..], &["--json"]].concat(), ""))["passes"],
        json!([])
    );
}

#[test]
fn unusable_arguments_are_refused_by_name() {
    let bite = ["--max-bite", "0.25"];
    for (more, parts) in [
        (&["--touch", "P6=abc"][..], &["--touch P6=abc: `abc`"][..]),
        (&["--touch", "P6=3 kg"], &["--touch P6=3 kg", "a mass"]),
        (&["--touch", "P6=-0,05"], &["--touch P6=-0,05", "comma"]),
        (&["--touch", "P6"], &["--touch P6", "P1=0.31"]),
        (&["--touch", "=1"], &["--touch =1", "no point"]),
        (
            &["--machine", "P9=-150"],
            &["--machine P9=-150", "no touch of P9"],
        ),
        (&["--clearance", "-0.05"], &["--clearance -0.05", "below 0"]),
        (&["--finish", "0"], &["--finish", "above 0"]),
        (
            &["--finish", "0.3"],
            &["--finish", "more than the largest bite"],
        ),
        (
            &["--step", "0.3"],
            &["--step", "more than the largest bite"],
        ),
        (&["--closing", "x"], &["--closing x"]),
    ] {
        refused(&with_touches(&[more, &bite].concat()), 2, parts);
    }
    for (bite, part) in [
        ("0", "above 0"),
        ("-0.25", "above 0"),
        ("0.0001", "passes would be needed"),
    ] {
        refused(
            &with_touches(&["--max-bite", bite]),
            2,
            &["--max-bite", part],
        );
    }
    refused(&with_touches(&[]), 2, &["--max-bite"]);
    let not_zero = ["--unit", "mm", "--max-bite", "1", "--touch", "P1=0.2"];
    refused(
        &run(&not_zero, ""),
        2,
        &["--touch P1=0.2", "+0.2 mm", "zero it there"],
    );
    refused(
        &run(&["--max-bite", "0.25 mm"], ""),
        2,
        &["--touch", "no readings"],
    );
    let unitless = [
        "--max-bite",
        "0.25 mm",
        "--touch",
        "P1=0",
        "--touch",
        "P2=-0.12",
    ];
    refused(&run(&unitless, ""), 2, &["--touch P2=-0.12", "--unit mm"]);
}

#[test]
fn unusable_lines_of_a_file_are_refused_by_number() {
    let args = ["--unit", "mm", "--max-bite", "0.25", "-"];
    for (text, parts) in [
        (
            "point,reading\nP1,0\nP2,-0,12\n",
            &["<stdin>:3: ", "decimal mark"][..],
        ),
        ("point,reading\nP1,0\nP2,?\n", &["<stdin>:3: ", "`?`"]),
        (
            "point,reading\nP1,0\nP2,\n",
            &["<stdin>:3: ", "no readout reading at P2"],
        ),
        (
            "point,reading\nP1,0\n,1\n",
            &["<stdin>:3: ", "without a name"],
        ),
        (
            "point,reading\nP1,0\nP\u{1b}[2J,1\n",
            &["<stdin>:3: ", "control characters"],
        ),
        ("point,depth\n", &["<stdin>:1: ", "`depth`"]),
        ("P1: 0\n- P2\n", &["<stdin>:2: ", "P1: 0.31"]),
        ("", &["<stdin>: ", "no readings"]),
    ] {
        refused(&run(&args, text), 2, parts);
    }
    let missing = ["--unit", "mm", "--max-bite", "0.25", "no-such-file.csv"];
    refused(
        &run(&missing, ""),
        2,
        &["no-such-file.csv", "cannot be read"],
    );
    let both = [&args[..], &["--touch", "P1=0"]].concat();
    refused(&run(&both, CSV), 2, &["--touch"]);
    let large = "#".repeat(2 << 20);
    refused(&run(&args, &large), 2, &["<stdin>", "1 MiB"]);
}

#[cfg(target_os = "linux")]
#[test]
fn output_that_cannot_be_written_is_a_failure() {
    let full = std::fs::File::options().write(true).open("/dev/full");
    let ran = std::process::Command::new(assert_cmd::cargo::cargo_bin("skimgate"))
        .args(["plane", "--touch", "P1=0", "--max-bite", "1 mm"])
        .stdout(full.unwrap())
        .output()
        .unwrap();
    assert_eq!(ran.status.code(), Some(1));
    let err = String::from_utf8(ran.stderr).unwrap();
    assert!(err.starts_with("error: standard output: "), "{err}");
}

/// The nine touches of the worked example, in inches, with the positions given in three ways.
const NINE: [(&str, &str, &str); 9] = [
    ("SW", "0,0", "0"),
    ("S", "12,0", "-3.5 thou"),
    ("SE", "24,0", "-7.5 thou"),
    ("W", "0,8", "-1.5 thou"),
    ("C", "12,8", "-8.5 thou"),
    ("E", "24,8", "-7 thou"),
    ("NW", "0,16", "-2.5 thou"),
    ("N", "12,16", "-4 thou"),
    ("NE", "24,16", "-6 thou"),
];

// Source: worked example on 24 by 16 in: zone 5.5, twist 4.0 thousandths, held by C below; touch (18, 4) next. Computed
// by another program.
#[test]
fn places_as_flags_columns_or_in_lines_give_form_map_and_verdict() {
    let common = [
        "--unit",
        "in",
        "--zero",
        "fixed",
        "--max-bite",
        "10thou",
        "--clearance",
        "1thou",
        "--touch-within",
        "0.5thou",
        "--json",
    ];
    let csv: String = NINE
        .iter()
        .map(|(p, at, r)| format!("{p},{at},{r}\n"))
        .collect::<Vec<_>>()
        .concat();
    let lines: String = NINE
        .iter()
        .map(|(p, at, r)| format!("{p}: {r} at {at}\n"))
        .collect::<Vec<_>>()
        .concat();
    let from = |text: &str| parsed(&run(&[&common[..], &["-"]].concat(), text));
    let answer = from(&format!("point,x,y,reading\n{csv}"));
    assert_eq!(from(&lines), answer);
    let flags: Vec<String> = NINE
        .iter()
        .flat_map(|(p, at, r)| [format!("--touch={p}={r}"), format!("--at={p}={at}")])
        .collect();
    let flags: Vec<&str> = common
        .iter()
        .copied()
        .chain(flags.iter().map(String::as_str))
        .collect();
    assert_eq!(parsed(&run(&flags, "")), answer);
    let thou = |v: &Value| (v.as_f64().unwrap() / 0.0254 * 100.0).round() / 100.0;
    let form = &answer["form"];
    let found =
        ["raw_spread_mm", "flatness_mm", "twist_corners_mm"].map(|k| thou(&form[k]).to_string());
    assert_eq!(found, ["8.5", "5.5", "4"]);
    assert_eq!(form["held_below_by"], json!(["C"]));
    let next = &answer["verdict"]["touch_next"];
    assert_eq!(
        [thou(&next["x_mm"]), thou(&next["y_mm"])].map(|t| t.to_string()),
        ["18000", "4000"]
    );
    assert_eq!(answer["map"]["rows"].as_array().unwrap().len(), 24);
    // The rest of the text: positions, guess errors (C by 4.5 thousandths), uncertainties, what can be hidden (see the
    // unit tests).
    let c = &answer["heights"][4];
    let found = ["x_mm", "y_mm", "height_mm"].map(|k| thou(&c[k]).to_string());
    assert_eq!(found, ["12000", "8000", "-8.5"]);
    let verdict = &answer["verdict"];
    assert_eq!(verdict["misses"].as_array().unwrap().len(), 5);
    assert_eq!(verdict["worst_miss"]["point"], "C");
    assert_eq!(thou(&verdict["worst_miss"]["off_mm"]).to_string(), "-4.5");
    assert_eq!(
        thou(&verdict["touch_doubt"]["never_more_than_mm"]).to_string(),
        "0.5"
    );
    assert_eq!(verdict["can_hide_share_95"], 0.284);
    assert_eq!(thou(&answer["map"]["length_mm"]).to_string(), "24000");
}

#[test]
fn an_impossible_place_is_refused_and_four_corners_give_no_share() {
    let all = ["--max-bite", "0.25"];
    refused(
        &with_touches(&[&all[..], &["--at", "P9=1,2"]].concat()),
        2,
        &["P9 was not touched"],
    );
    refused(
        &with_touches(&[&all[..], &["--at", "P1=1"]].concat()),
        2,
        &["two lengths with a comma"],
    );
    refused(
        &with_touches(&[&all[..], &["--at", "P1=1,2", "--at", "P1=1,3"]].concat()),
        2,
        &["another place"],
    );
    let line = with_touches(
        &[
            &all[..],
            &["--at", "P1=0,0", "--at", "P2=1,0", "--at", "P3=2,0"],
        ]
        .concat(),
    );
    assert!(
        line.code == 0 && line.out.contains("are on one line"),
        "{}",
        line.out
    );
    let corners = [
        "--at", "P1=0,0", "--at", "P2=9,0", "--at", "P3=9,9", "--at", "P4=0,9",
    ];
    let four = with_touches(&[&all[..], &corners].concat());
    assert!(
        !four.out.contains('%') && four.out.contains("(the centre)"),
        "{}",
        four.out
    );
    let four = with_touches(&[&all[..], &corners, &["--json"]].concat());
    let verdict = &parsed(&four)["verdict"];
    for share in ["shares", "touched_clean_at_least", "can_hide_share_95"] {
        assert!(verdict[share].is_null(), "{verdict}");
    }
}

const SHOP: [&str; 6] = [
    "--shop",
    "tests/procedures/shop.yaml",
    "--cutter",
    "c12",
    "--mill",
    "north",
];

/// The cutter c12 of the test shop: at most 0.25 mm, 0.15 mm finishing, 12000 rpm; its mill 100 to 6000 rpm, 2000 mm/min.
#[test]
fn figures_beyond_the_limits_of_cutter_and_mill_are_refused() {
    let on = |more: &[&str]| with_touches(&[&SHOP[..], more].concat());
    for (more, parts) in [
        (
            &["--finish", "0.16"][..],
            &["--finish: 0.16 mm", "the cutter's finishing bite, 0.15 mm"][..],
        ),
        (
            &["--max-bite", "0.3"],
            &["--max-bite: 0.3 mm", "the cutter's deepest bite, 0.25 mm"],
        ),
        (
            &["--speed", "12001"],
            &[
                "--speed: 12001 rpm",
                "the cutter's highest speed, 12000 rpm",
            ],
        ),
        (
            &["--speed", "6001"],
            &["--speed: 6001 rpm", "the mill's highest speed, 6000 rpm"],
        ),
        (
            &["--speed", "99"],
            &["--speed: 99 rpm", "the mill's lowest speed, 100 rpm"],
        ),
        (
            &["--feed", "2001"],
            &[
                "--feed: 2001 mm/min",
                "the mill's highest feed, 2000 mm/min",
            ],
        ),
    ] {
        refused(&on(more), 3, parts);
        let wrong = on(&[more, &["--json"]].concat());
        assert!(wrong.err.contains("\"code\":\"limit\""), "{}", wrong.err);
    }
    let most = ["--finish", "0.15", "--speed", "6000", "--feed", "2000"];
    assert_eq!(on(&most).code, 0, "{}", on(&most).err);
}

/// On a readout in steps of 0.0005 in (0.0127 mm) a finishing skim of 0.12 mm becomes nine steps, 0.1143 mm, and not ten,
/// 0.127 mm. No plane ends above its target.
#[test]
fn planes_are_rounded_so_that_no_limit_is_passed() {
    let more = [
        "--max-bite",
        "0.25",
        "--finish",
        "0.12",
        "--step",
        "0.0005 in",
    ];
    let answer = parsed(&with_touches(&[&more[..], &["--json"]].concat()));
    let bites = numbers(&answer, "passes", "max_bite_mm");
    assert_eq!(bites.last(), Some(&0.1143));
    let planes = numbers(&answer, "passes", "plane_mm");
    assert!(*planes.last().unwrap() <= -0.17 - 0.12, "{planes:?}");
    assert!(bites.iter().all(|b| *b <= 0.25), "{bites:?}");
    let shown = with_touches(&more).out;
    let shown = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        shown.contains("the last rounded down, so that no old surface remains"),
        "{shown}"
    );
}

#[test]
fn many_decimals_of_a_script_are_rounded_and_reported_for_readings() {
    let csv = "point,reading,x,y\nA,0,0.123456789012,0\nB,0.1,133.33333333333334,0\nC,-0.1,0,90.00000000000001\nD,0.05,133.3,90\n";
    let args = ["--unit", "mm", "--max-bite", "0.25", "--zero", "fixed", "-"];
    let ran = run(&args, csv);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{}", ran.out);
    assert!(!ran.out.contains("more decimals"), "{}", ran.out);
    let ran = run(&args, &csv.replace("B,0.1,", "B,0.10000000001,"));
    assert_eq!(ran.code, 0, "{}", ran.err);
    let shown = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        shown.contains("more decimals than any readout shows at B"),
        "{shown}"
    );
}

#[test]
fn lines_are_wrapped_between_words_and_formulas_are_in_words() {
    let corners = [
        "--max-bite",
        "0.25",
        "--finish",
        "0.08",
        "--at",
        "P1=0,0",
        "--at",
        "P2=90,0",
        "--at",
        "P3=90,60",
        "--at",
        "P4=0,60",
        "--at",
        "P5=45,30",
        "--diameter",
        "12 mm",
        "--why",
    ];
    let ran = with_touches(&corners);
    assert_eq!(ran.code, 0, "{}", ran.err);
    for line in ran.out.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    assert!(
        !ran.out.contains("Phi") && !ran.out.contains("u'"),
        "{}",
        ran.out
    );
    let flowing = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flowing.contains("normal distribution"), "{}", ran.out);
}

/// By hand: five corners and a middle on 240 x 120 mm. P6 is the lowest, and its position is unknown.
#[test]
fn a_touch_without_a_position_is_named_and_counts() {
    let touches = [
        "--touch=P1=0",
        "--touch=P2=-0.12",
        "--touch=P3=0.31",
        "--touch=P4=0.08",
        "--touch=P5=-0.05",
        "--touch=P6=-0.03",
        "--at=P1=20,18",
        "--at=P2=220,18",
        "--at=P3=220,102",
        "--at=P4=20,102",
        "--at=P5=120,60",
    ];
    let more = [
        "--unit=mm",
        "--max-bite=0.25",
        "--clearance=0.05",
        "--size=240,120",
        "--diameter=12",
    ];
    let args: Vec<&str> = touches.into_iter().chain(more).collect();
    let ran = run(&args, "");
    assert_eq!(ran.code, 0, "{}", ran.err);
    for part in [
        "All 6 touched places clean up",
        "below P6",
        "P6 has no place: the map leaves it out.",
        "Setting Z can put this plane up to 0.03 mm off: jog step 0.01 mm + half a readout step 0.005 mm + drift 0.01 mm + tool length 0.005 mm.",
        "doubt of a plane = jog step + half a readout step + drift + tool length (common practice, no source)",
        "doubt of a plane = 0.01 mm + 0.005 mm + 0.01 mm + 0.005 mm = 0.03 mm at most",
        "Only what lies within 12 mm of a touch is called clean",
        "the old surface waves by 0.03 mm (common practice, no source",
    ] {
        let flat = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(part), "`{part}` not in: {}", ran.out);
    }
    let answer = parsed(&run(&[args.as_slice(), &["--json"]].concat(), ""));
    let verdict = &answer["verdict"];
    assert_eq!(verdict["without_place"], json!(["P6"]));
    assert_eq!(verdict["lowest"], "P6");
    assert_eq!(verdict["waviness_mm"], 0.03);
    assert_eq!(verdict["clean_within_mm"], 12.0);
    assert_eq!(verdict["shared_doubt"]["never_more_than_mm"], 0.03);
    // Geometry: the position furthest from any touch is on a long edge, as far from its corner touch as from the
    // middle: (x - 20)^2 + 18^2 = (120 - x)^2 + 60^2, x = 86.38, and twice that distance is 137.5544 mm.
    let hides = verdict["can_hide_mm"].as_f64().unwrap();
    assert!((hides - 137.5544).abs() < 1e-3, "{hides}");
    assert!(ran.out.contains("up to 137.6 mm wide"), "{}", ran.out);
}

/// Names as a spreadsheet writes them: what is exported is read back.
#[test]
fn names_with_commas_quotes_and_signs_come_back_from_a_list() {
    let args = ["--unit", "mm", "--max-bite", "0.25", "--json", "-"];
    for name in ["P1, left", "5\" pin", "=1+1", "'=1+1", "-0.5", "#2", "'P1'"] {
        let list = skimgate::report::spreadsheet::line(["point", "reading", "x", "y"])
            + &skimgate::report::spreadsheet::line([name, "0", "10", "20"])
            + &skimgate::report::spreadsheet::line(["P2", "-0.12", "30", "40"]);
        let answer = parsed(&run(&args, &list));
        assert_eq!(answer["heights"][0]["point"], name, "{list}");
        assert_eq!(answer["heights"][1]["height_mm"], -0.12, "{list}");
    }
    let open = "point,reading\n\"P1, left\",0\nP2,\"-0.12\nP3,0.31\n";
    refused(&run(&args, open), 2, &["<stdin>:3", "never closed"]);
    let two_lines = "point,reading\n\"P1\nleft\",0\n";
    refused(
        &run(&args, two_lines),
        2,
        &["<stdin>:2", "control characters"],
    );
}
