//! Active codes in answers files, in what is given out of a run, and in practice. Invented lines; the codes are those of
//! NISTIR 6556, table 4.

use crate::support::{Bench, shipped, told};
use skimgate::book::Book;
use skimgate::walk::practice::scores;
use std::fs;
use std::path::PathBuf;

const LINE: &str = "G54 G21 G90 G94 G17 G40 G49 G50 G69";

/// Answers for the whole of the small procedure with codes.
fn answers(bench: &Bench, control: &str, now: &str) -> PathBuf {
    bench.answers(
        "answers.yaml",
        [
            ("operator", "ab"),
            ("machine", "south"),
            ("nc", "face-12.nc"),
            ("control", control),
            ("codes_now", now),
            ("clear", "ab"),
            ("pass_cut", "finished"),
            ("looked", "clean"),
        ],
    )
}

#[test]
fn a_walk_from_a_file_answers_codes_and_the_record_gives_them_out() {
    let bench = Bench::new();
    // The first is there to be refused; then a line that leaves a group open, and that group.
    let control = "[{ try: G55 G21 }, G54 G21 G90 G94 G17 G40 G49 G50, { value: G68, accept: the plate is turned }]";
    let now = format!(
        "{{ value: {} G187, accept: as before }}",
        LINE.replace("G69", "G68")
    );
    let path = answers(&bench, control, &now);
    bench.walk_with(&path, &shipped("codes.yaml"), &[]).ended(0);
    let shown = bench.shown();
    let all = shown["answers"].as_array().unwrap();
    let of = |step: &str| all.iter().find(|a| a["step"] == step).unwrap();
    assert_eq!(of("control")["codes"]["rotation"], "G68");
    assert_eq!(of("control")["typed"][1], "G68");
    assert_eq!(of("codes_now")["not_known"][0], "G187");
    assert_eq!(told(&shown, "accepted").len(), 2);
    let run = bench.only_run();
    let csv = bench
        .run(&["record", "export", &run, "--as", "csv"])
        .ended(0)
        .out;
    let text = bench.run(&["record", "show", &run, "--all"]).ended(0).out;
    let page = bench.path("sheet.html");
    let html = [
        "record",
        "export",
        &run,
        "--as",
        "html",
        "-o",
        page.to_str().unwrap(),
    ];
    bench.run(&html).ended(0);
    let html = fs::read_to_string(page).unwrap();
    for given in [csv, text, html] {
        for part in ["mm G54 G90", "not known: G187", "the plate is turned"] {
            assert!(given.contains(part), "{part}: {given}");
        }
    }
    bench.run(&["record", "verify"]).ended(0);
}

#[test]
fn a_file_that_leaves_a_group_open_is_an_error_that_names_the_step() {
    let bench = Bench::new();
    let path = answers(&bench, "G54 G21 G90", LINE);
    bench
        .walk_with(&path, &shipped("codes.yaml"), &[])
        .ended(2)
        .says(&[
            "has no answer left for the step `control`",
            "Not in the line: what F means",
        ]);
}

/// The drills that change the control are seen in its line; a demonstration puts them right before it goes on.
#[test]
fn what_a_drill_changes_at_the_control_is_seen_in_its_line() {
    let must = "must: { unit: mm, offset: G54, h: 0, distance: G90,";
    let text = fs::read_to_string(shipped("codes.yaml")).unwrap();
    let text = text.replacen("must: { distance: G90,", must, 1);
    assert!(text.contains(must));
    for (drill, line) in [
        ("other-offset", "G55"),
        ("other-unit", "G20"),
        ("length-active", "G43 H5"),
    ] {
        let bench = Bench::new();
        let procedure = bench.write("codes.yaml", &text);
        let shop = shipped("shop.yaml");
        let (procedure, shop) = (procedure.to_str().unwrap(), shop.to_str().unwrap());
        let mut args = vec!["rehearse", procedure, "--shop", shop];
        args.extend([
            "--demo",
            "--at-once",
            "--plain",
            "--seed",
            "7",
            "--drill",
            drill,
        ]);
        let ran = bench.run(&args).ended(0);
        let book = Book::open_existing(scores::beside(&bench.book())).unwrap();
        let kept = scores::all(&book).unwrap();
        let score = &kept[0].rehearsed.score;
        assert_eq!((score.caught, score.missed), (1, 0), "{drill}: {}", ran.err);
        assert!(
            ran.err.contains("active codes> G0 G17 G90 G94 G21 G54 G49"),
            "{}",
            ran.err
        );
        assert!(
            !ran.err
                .contains(&format!("active codes> G0 G17 G90 G94 {line}"))
        );
    }
}
