//! What the examination of the program answers, and what it must leave to the person. Invented programs and figures; the
//! expected values are read off the program's text.

use crate::operator::{Operator, Sitting, plain};
use crate::support::{Bench, PROGRAM, flowing, shipped, told, values};
use serde_json::Value;
use std::path::PathBuf;

/// The prompt of the first question that no program answers.
const BITE: &str = "value in mm";

/// The test shop with the plate's place.
fn placed_shop(bench: &Bench) -> PathBuf {
    let shop = std::fs::read_to_string(shipped("shop.yaml")).unwrap();
    let side = "    y width: 250 mm\n";
    assert!(shop.contains(side));
    let corner = format!("{side}    x corner: 0 mm\n    y corner: 0 mm\n");
    bench.write("placed.yaml", &shop.replacen(side, &corner, 1))
}

/// A run up to its program, which has this text.
fn gives(bench: &Bench, text: &str) -> Operator {
    bench.write("given.nc", text);
    let mut at = Sitting::at(bench)
        .procedure(shipped("from_program.yaml"))
        .shop(placed_shop(bench))
        .walks();
    at.goes(&[
        ("initials", "ab"),
        ("machine", "north"),
        ("choose", "c12"),
        ("choose", "bed-a"),
        ("file", "given.nc"),
    ]);
    at
}

fn changed(from: &str, to: &str) -> String {
    let text = PROGRAM.replacen(from, to, 1);
    assert_ne!(text, PROGRAM);
    text
}

fn answer<'a>(shown: &'a Value, step: &str) -> &'a Value {
    let answers = shown["answers"].as_array().unwrap();
    let found = answers.iter().rfind(|a| a["step"] == step);
    found.unwrap_or_else(|| panic!("no `{step}` in {shown:#}"))
}

/// The program of the tests: G21, G54, no H, rows 10 mm apart at Z0 with S3000 F600, X from -12 to 412 over 0 to 400 and
/// Y from 2 to 252 over 0 to 250. The rim passes the front edge by 6 - 2 = 4 mm, the least of the four.
#[test]
fn a_good_program_answers_for_itself_on_one_page() {
    let bench = Bench::new();
    let mut at = gives(&bench, PROGRAM);
    let shown = plain(&at.sees(&format!("{BITE}> ")));
    let page = flowing(&shown);
    for part in [
        "AGREES",
        "Modes mm, G54, no H mm typed here, H not used",
        "Cutter 12 mm 12 mm (c12)",
        "Speed 3000 rpm 100 to 6000 rpm",
        "Feed 250, 600 mm/min at most 2000 mm/min",
        "Step-over 10 mm flat 12 mm",
        "Rim 4 mm past the edges",
        "Cuts X -20 to 412 mm plate 0 to 400 mm",
        "Moves: X and Y before Z, lifted at the end, no shifts, nothing not reached.",
        "Bite of this pass",
    ] {
        assert!(page.contains(part), "`{part}` not in: {shown}");
    }
    assert!(!page.contains("asked"), "{shown}");
    // From one prompt to the next, so that the window of 24 lines shows both.
    let from = shown.find("AGREES").unwrap();
    let lines = shown[from..].lines().count();
    assert!(lines <= 22, "{lines} lines: {shown}");
    assert!(
        shown.lines().all(|line| line.chars().count() <= 80),
        "{shown}"
    );
    at.types("0.1");
    at.sees("initials> ");
    at.types("leave");
    at.ends(130);
    let run = bench.shown();
    for (step, value) in [
        ("program_lowest_z", 0.0),
        ("program_step_over", 10.0),
        ("program_overrun", 4.0),
        ("made_for", 12.0),
    ] {
        assert_eq!(values(&run, step), [value], "{step}");
        assert_eq!(answer(&run, step)["from"], "program", "{step}");
    }
    assert_eq!(answer(&run, "bite")["from"], "terminal");
    let record = bench
        .run(&["record", "show", &bench.only_run(), "--all"])
        .ended(0);
    assert!(
        record.out.contains("(read in the program)"),
        "{}",
        record.out
    );
    bench.run(&["record", "verify"]).ended(0);
}

/// A call of a subprogram that the file lacks: what the unit is behind it, nobody can say.
#[test]
fn what_is_lost_is_asked_singly_and_names_the_block() {
    let bench = Bench::new();
    let mut at = gives(&bench, &changed("M8\n", "M8\nM98 P1000\n"));
    at.is_shown(
        &["CANNOT VOUCH", "flow - line 6", "Type the reason"],
        "reason",
    );
    at.types("proven on the machine in air");
    // A comment stands whatever is called, so the cutter is not asked.
    at.is_shown(
        &["Its unit", "cannot vouch for this", "(line 6: M98 P1000)"],
        "choose",
    );
    at.types("metric");
    at.is_shown(&["Its work offset", "(line 6: M98 P1000)"], "choose");
    at.types("leave");
    at.ends(130);
    let run = bench.shown();
    assert_eq!(answer(&run, "made_for")["from"], "program");
    assert_eq!(answer(&run, "program_unit")["from"], "terminal");
}

/// A fact outside a limit that nobody can waive holds the run, as if it were typed.
#[test]
fn a_wrong_length_offset_holds_the_run() {
    let bench = Bench::new();
    let mut at = gives(&bench, &changed("G0 Z30\n", "G0 G43 H7 Z30\n"));
    at.is_shown(&["LOOK length-none", "H7", "DIFFERS"], "reason");
    at.types("it has a table after all");
    at.is_shown(
        &[
            "Its length offset",
            "Read in the program: 7.",
            "this mill has no length offsets",
            "Nobody can waive this",
            "This holds the run. It is read in the program, not typed.",
            "`back nc`",
        ],
        "back STEP",
    );
    // Typing the wanted value does not answer what the program says.
    at.types("0");
    at.is_shown(&["cannot be typed"], "back STEP");
    bench.write("right.nc", PROGRAM);
    at.types("back nc");
    at.answers("file", "right.nc");
    at.is_shown(&["AGREES", "Bite of this pass"], BITE);
}

/// A fact outside a limit that a person may accept needs a reason.
#[test]
fn a_lowest_z_out_of_the_expected_range_needs_a_reason() {
    let bench = Bench::new();
    let mut at = gives(&bench, &changed("G1 Z0 F250", "G1 Z-2 F250"));
    at.is_shown(
        &[
            "Lowest Z -2 mm",
            "Its lowest Z",
            "Read in the program: -2 mm",
            "Out of the expected range",
        ],
        "reason",
    );
    at.types("the zero is set above the plane");
    at.is_shown(&["Bite of this pass"], BITE);
    at.types("back program_lowest_z");
    at.is_shown(
        &[
            "`program_lowest_z` is read in the program, not typed",
            "`back nc`",
        ],
        BITE,
    );
    at.types("findings");
    at.is_shown(&["The program", "Not judged"], BITE);
    at.types("leave");
    at.ends(130);
    let run = bench.shown();
    assert_eq!(told(&run, "accepted").len(), 1);
}

/// A changed byte ends what was read in the program, and it is read anew.
#[test]
fn a_changed_program_is_read_anew() {
    let bench = Bench::new();
    let mut at = gives(&bench, PROGRAM);
    at.answers(BITE, "0.1");
    at.sees("initials> ");
    bench.write("given.nc", &changed("F600", "F700"));
    at.types("ab");
    let code = at.reads_code();
    at.types(&code);
    at.is_shown(&["the program file changed"], "file");
    at.types("given.nc");
    at.is_shown(&["Feed 250, 700 mm/min"], "initials");
    at.types("leave");
    at.ends(130);
    // 700 mm/min; the record shows the unit of the answer's kind.
    let run = bench.shown();
    let feed = answer(&run, "program_feed");
    assert_eq!(feed["from"], "program");
    assert!(feed.to_string().contains("700"), "{feed}");
}
