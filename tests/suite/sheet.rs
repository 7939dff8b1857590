//! A run given out: the sheet to print and the lines for a spreadsheet.

use crate::support::{Bench, PROGRAM, whole};
use std::fs;

/// The built-in procedure walked from the answers that ship.
fn walked() -> Bench {
    let bench = Bench::new();
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/checklists");
    let answers = format!("{root}/answers/two-roughing.yaml");
    bench.run(&["walk", "--answers", &answers]).ended(0);
    bench
}

/// The fields of comma-separated lines, after RFC 4180.
fn fields(text: &str) -> Vec<Vec<String>> {
    let mut rows = vec![vec![String::new()]];
    let mut quoted = false;
    let mut characters = text.chars().peekable();
    while let Some(c) = characters.next() {
        let row = rows.last_mut().unwrap();
        match c {
            '"' if quoted && characters.peek() == Some(&'"') => {
                characters.next();
                row.last_mut().unwrap().push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => row.push(String::new()),
            '\r' if !quoted => {}
            '\n' if !quoted => rows.push(vec![String::new()]),
            other => row.last_mut().unwrap().push(other),
        }
    }
    assert_eq!(rows.pop().unwrap(), [""], "the last line has no end");
    rows
}

#[test]
fn the_lines_hold_every_answer_with_the_limits_of_then() {
    let bench = walked();
    let run = bench.only_run();
    let out = bench
        .run(&["record", "export", &run, "--as", "csv"])
        .ended(0)
        .quietly()
        .out;
    let rows = fields(&out);
    let column = |name: &str| rows[0].iter().position(|h| h == name).unwrap();
    assert!(rows.iter().all(|r| r.len() == rows[0].len()));
    let shown = bench.shown();
    let answers = shown["answers"].as_array().unwrap();
    assert_eq!(rows.len() - 1, answers.len());
    for (row, answer) in rows[1..].iter().zip(answers) {
        assert_eq!(row[column("step")], answer["step"].as_str().unwrap());
        assert_eq!(row[column("at")], answer["at"].as_str().unwrap());
        if let Some(mm) = answer["value_mm"].as_f64() {
            assert_eq!(row[column("value_mm")].parse(), Ok(mm));
        }
    }
    let row = |step: &str, pass: &str| {
        let fits = |r: &&Vec<String>| r[column("step")] == step && r[column("pass")] == pass;
        rows.iter().find(fits).unwrap()
    };
    // The surface was another one at each pass, and so were the limits that rest on it.
    let left = ["1", "2"].map(|pass| row("rough_thickness", pass)[column("value_mm")].clone());
    assert_ne!(left[0], left[1]);
    assert!(row("rough_thickness", "1")[column("limits")].contains("must be at least 15 mm"));
    let thickness = row("thickness_seen", "");
    assert!(thickness[column("limits")].contains("must be at least 15 mm"));
    assert_eq!(thickness[column("accepted_by")], "QZ");
    assert!(thickness[column("accepted_because")].starts_with("measured at the worn corner"));
}

/// A reason somebody typed and the name of a program, as spreadsheets read them that take `,` or `;` as the separator.
#[test]
fn no_cell_begins_a_formula_whatever_separates_and_negative_numbers_stay_numbers() {
    let bench = Bench::new();
    bench.write("=1+1;@x.nc", PROGRAM);
    let answers = bench.answers(
        "all.yaml",
        whole(&[
            (
                "speed",
                r#"{value: 100 rpm, accept: "=HYPERLINK(1);+cmd; \t-2+3"}"#,
            ),
            ("nc", r#""=1+1;@x.nc""#),
        ]),
    );
    bench.walk(&answers).ended(0);
    let run = bench.only_run();
    let text = bench
        .run(&["record", "export", &run, "--as", "csv"])
        .ended(0)
        .out;
    assert!(
        text.contains("HYPERLINK") && text.contains("x.nc"),
        "{text}"
    );
    let mut cells: Vec<String> = fields(&text).concat();
    let by_semicolons = text.split([';', '\t', '\r', '\n']).map(|cell| {
        let bare = cell.trim_start_matches(['"', ' ']);
        bare.trim_end_matches('"').to_owned()
    });
    cells.extend(by_semicolons);
    let signed: Vec<&String> = cells
        .iter()
        .filter(|cell| cell.starts_with(['=', '+', '-', '@', '\t', '\r']))
        .collect();
    assert!(signed.len() >= 3, "{signed:?}");
    for cell in signed {
        assert!(cell.parse::<f64>().is_ok(), "{cell}");
    }
}

#[test]
fn the_sheet_is_one_file_with_everything_in_it() {
    let bench = walked();
    let run = bench.only_run();
    let file = bench.path("sheet.html");
    let give = || {
        let name = file.to_str().unwrap();
        bench.run(&["record", "export", &run, "--as", "html", "-o", name])
    };
    give().ended(0).quietly().prints_nothing();
    let sheet = fs::read_to_string(&file).unwrap();
    let shown = bench.shown();
    for answer in shown["answers"].as_array().unwrap() {
        let title = answer["title"].as_str().unwrap();
        assert!(sheet.contains(&title.replace('"', "&quot;")), "{title}");
    }
    for part in [
        shown["last_digest"].as_str().unwrap(),
        "-0.16 mm",
        "<polyline",
        ">last lift: X279 Y146<",
        "accepted by QZ: measured at the worn corner",
        "signed as QZ by an answers file",
        "No sensor stood behind it",
        ">SE -0.12</text>",
        "for the plane -0.37 mm",
    ] {
        assert!(sheet.contains(part), "{part} is missing");
    }
    for foreign in ["<script", "href=", "src=", "@import", "NaN"] {
        assert!(!sheet.contains(foreign), "{foreign}");
    }
    // Patterns are named within the file, and each name is there once, though there are two drawings.
    for name in sheet.split("url(").skip(1) {
        let name = name.strip_prefix('#').unwrap().split(')').next().unwrap();
        let there = sheet.matches(&format!("id=\"{name}\"")).count();
        assert_eq!(there, 1, "{name}");
    }
    assert_eq!(sheet.matches("role=\"img\"").count(), 2);
    for tag in ["table", "tr", "td", "ul", "li", "svg", "p", "h2", "main"] {
        let opened =
            sheet.matches(&format!("<{tag}>")).count() + sheet.matches(&format!("<{tag} ")).count();
        assert_eq!(opened, sheet.matches(&format!("</{tag}>")).count(), "{tag}");
    }
    // What is in a book is its owner's.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(
            fs::metadata(&file).unwrap().permissions().mode() & 0o777,
            0o600
        );
    }
    give()
        .ended(1)
        .says(&["sheet.html cannot be written", "not there yet"]);
}

#[test]
fn a_program_that_changed_is_not_drawn_as_the_one_that_ran() {
    let bench = Bench::new();
    let answers = include_str!("../../checklists/answers/two-roughing.yaml");
    let program = include_str!("../../checklists/answers/facing-12mm.nc");
    let answers = bench.write("answers.yaml", answers);
    let file = bench.write("facing-12mm.nc", program);
    let answers = answers.to_str().unwrap();
    bench.run(&["walk", "--answers", answers]).ended(0);
    let run = bench.only_run();
    let sheet = || {
        bench
            .run(&["record", "export", &run, "--as", "html"])
            .ended(0)
            .out
    };
    assert!(sheet().contains("<polyline"));
    fs::write(&file, program.replace("Y48", "Y47")).unwrap();
    let changed = sheet();
    assert!(!changed.contains("<polyline"));
    assert!(changed.contains("is not drawn: the file is another one by now."));
    fs::remove_file(&file).unwrap();
    assert!(sheet().contains("is not drawn: the file cannot be read any more."));
}
