//! NC programs: words and values compared with another reader on the programs in its package, and the command itself.

use assert_cmd::Command;
use skimgate::program::block::Block;
use skimgate::program::expr::Parameters;
use skimgate::program::lex;
use std::path::PathBuf;

/// The directory into which cargo unpacked a dev-dependency: its programs are read there and not copied.
fn package(name: &str) -> PathBuf {
    let cargo = PathBuf::from(env!("CARGO"));
    let version = std::process::Command::new(cargo.with_file_name("rustc"))
        .arg("-vV")
        .output()
        .unwrap();
    let version = String::from_utf8(version.stdout).unwrap();
    let host = version
        .lines()
        .find_map(|l| l.strip_prefix("host: "))
        .unwrap();
    // Packages only needed on other systems are absent on a machine that never fetched them.
    let output = std::process::Command::new(cargo)
        .args(["metadata", "--format-version", "1", "--offline", "--locked"])
        .args(["--filter-platform", host])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .unwrap();
    let metadata: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let packages = metadata["packages"].as_array().unwrap();
    let found = packages.iter().find(|p| p["name"] == name).unwrap();
    let manifest = PathBuf::from(found["manifest_path"].as_str().unwrap());
    manifest.parent().unwrap().to_path_buf()
}

fn value(value: &gcode::Value) -> f32 {
    match value {
        gcode::Value::Literal(number) => *number,
        other => panic!("{other:?}"),
    }
}

/// The words of a line by the other reader; `None` where it reports a fault in the line.
fn theirs(line: &str) -> Option<Vec<(char, f32)>> {
    let program = gcode::parse(line).ok()?;
    let mut words = Vec::new();
    for block in &program.blocks {
        for code in &block.codes {
            let (letter, number, args) = match code {
                gcode::Code::General(c) => ('G', &c.number, &c.args),
                gcode::Code::Miscellaneous(c) => ('M', &c.number, &c.args),
                gcode::Code::ToolChange(c) => ('T', &c.number, &c.args),
                _ => return None,
            };
            words.push((letter, number.to_string().parse().unwrap()));
            words.extend(
                args.iter()
                    .map(|a| (a.letter.to_ascii_uppercase(), value(&a.value))),
            );
        }
        let bare = block.word_addresses.iter();
        words.extend(bare.map(|w| (w.letter.to_ascii_uppercase(), value(&w.value))));
    }
    words.sort_by(|a, b| a.partial_cmp(b).unwrap());
    Some(words)
}

/// Our words of a line; `None` where there is a fault, an expression, or something the other reader does not know.
fn ours(line: &str) -> Option<Vec<(char, f32)>> {
    let mut block = Block::default();
    let length = lex::line(line.as_bytes(), &Parameters::default(), &mut block);
    assert_eq!(length, line.len());
    if !block.faults.is_empty() || block.deletable || !block.assignments.is_empty() {
        return None;
    }
    #[allow(clippy::cast_possible_truncation)]
    let mut words: Vec<(char, f32)> = block
        .words
        .iter()
        .map(|w| (char::from(w.letter), w.value.real().unwrap() as f32))
        .collect();
    words.sort_by(|a, b| a.partial_cmp(b).unwrap());
    Some(words)
}

/// Lines that the other reader is known to misread: a blank inside a number, a point at the end of a code's number,
/// brackets.
fn misread(line: &str) -> bool {
    line.contains(['[', '#', '%'])
        || line.as_bytes().windows(3).any(|w| {
            let digit = |b: u8| b.is_ascii_digit() || b == b'.';
            w[1] == b' '
                && digit(w[2])
                && (digit(w[0]) || w[0].is_ascii_alphabetic() || b"+-".contains(&w[0]))
        })
}

fn near(a: f32, b: f32) -> bool {
    (a - b).abs() <= 2e-7 * a.abs().max(b.abs()).max(1.0)
}

#[test]
fn words_agree_with_another_reader_on_the_programs_in_its_package() {
    let folder = package("gcode").join("tests/data");
    let mut compared = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let bytes = std::fs::read(&path).unwrap();
        let Ok(text) = String::from_utf8(bytes) else {
            continue;
        };
        for line in text.split(['\n', '\r']).filter(|l| !misread(l)) {
            let (Some(ours), Some(theirs)) = (ours(line), theirs(line)) else {
                continue;
            };
            let same = ours.len() == theirs.len()
                && ours
                    .iter()
                    .zip(&theirs)
                    .all(|(a, b)| a.0 == b.0 && near(a.1, b.1));
            assert!(same, "{}: {line:?}: {ours:?}, {theirs:?}", path.display());
            compared += ours.len();
        }
    }
    assert!(compared > 5_000, "only {compared} words compared");
}

/// The expected value is in the comment of each line of the program: the expression test of NISTIR 6556.
#[test]
fn expressions_give_the_results_of_the_published_test() {
    let path = package("async-gcode").join("assets/example2.gcode");
    let text = std::fs::read_to_string(path).unwrap();
    let mut parameters = Parameters::default();
    let mut block = Block::default();
    let mut tried = 0;
    for line in text.lines() {
        lex::line(line.as_bytes(), &parameters, &mut block);
        assert_eq!(block.faults, [], "{line}");
        let x = block
            .words
            .iter()
            .find(|w| w.letter == b'X')
            .and_then(|w| w.value.real());
        let expected = line.split("x should be ").nth(1);
        let expected = expected.map(|s| s.split([')', ',']).next().unwrap().trim());
        if let Some(expected) = expected {
            // As exact as written there; whole numbers to one decimal.
            let decimals = expected.split_once('.').map_or(0, |(_, d)| d.len()).max(1);
            let half = 0.5001 * 0.1_f64.powi(i32::try_from(decimals).unwrap());
            let expected: f64 = expected.parse().unwrap();
            assert!((x.unwrap() - expected).abs() <= half, "{line}: {x:?}");
            tried += 1;
        }
        for (number, value) in &block.assignments {
            parameters.set(*number, *value);
        }
    }
    assert!(tried >= 40, "only {tried} expressions");
}

fn program(args: &[&str]) -> (Option<i32>, String) {
    let mut command = Command::cargo_bin("skimgate").unwrap();
    let output = command
        .env_clear()
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .arg("program")
        .args(args)
        .output()
        .unwrap();
    (
        output.status.code(),
        String::from_utf8(output.stdout).unwrap(),
    )
}

#[test]
fn the_exit_status_shows_the_verdict_and_is_never_zero_in_doubt() {
    let folder = tempfile::tempdir().unwrap();
    let good = std::fs::read_to_string("checklists/answers/facing-12mm.nc").unwrap();
    let cases = [
        (good.clone(), "agrees", 0),
        (good.replace("M8\n", ""), "look", 0),
        (good.replace("M8\n", "M8\nM62\n"), "cannot vouch", 3),
        (good.replace("G54\n", ""), "stop", 3),
    ];
    for (text, verdict, status) in cases {
        let path = folder.path().join("try.nc");
        std::fs::write(&path, text).unwrap();
        let (code, out) = program(&[path.to_str().unwrap(), "--json"]);
        let json: serde_json::Value = serde_json::from_str(&out).unwrap();
        assert_eq!(
            (json["verdict"].as_str(), code),
            (Some(verdict), Some(status)),
            "{out}"
        );
        assert_eq!(json.as_object().unwrap().keys().next().unwrap(), "format");
    }
    assert_eq!(program(&["no-such-file.nc"]).0, Some(2));
    assert_eq!(program(&["."]).0, Some(2));
}

#[test]
fn every_rule_can_be_explained() {
    for rule in skimgate::program::rules::table::all() {
        let (code, out) = program(&["--explain", rule.code]);
        assert_eq!(code, Some(0));
        assert!(
            out.contains(rule.code) && out.contains("What to do"),
            "{out}"
        );
    }
    assert_eq!(program(&["--explain", "rapid-lwo"]).0, Some(2));
}

/// Each rule is declared once, in a file of its subject, and is in the table.
#[test]
fn every_rule_is_declared_once_and_in_the_table() {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("src/program/rules");
    let mut codes = Vec::new();
    let mut files = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if !path.is_file() {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        let before = codes.len();
        codes.extend(text.lines().filter_map(|line| {
            let (name, rest) = line.split_once(" = \"")?;
            let grade = name.trim().split(' ').next()?;
            let declares = ["stop", "look", "note", "unsure"].contains(&grade);
            (declares && rest.ends_with("\" {")).then(|| rest.trim_end_matches("\" {").to_owned())
        }));
        files += usize::from(codes.len() > before);
    }
    codes.sort();
    let all: Vec<&str> = skimgate::program::rules::table::all()
        .iter()
        .map(|rule| rule.code)
        .collect();
    assert_eq!(codes, all);
    assert!(files <= 6, "{files}");
}

/// The invented walk that is shipped, with typed figures that its program does not have: both values are shown, and the
/// person is asked again. The values of the program are in its own text: G21, G54, Z0, S4000, F250 and F600.
#[test]
fn typed_facts_are_compared_with_the_program() {
    let folder = tempfile::tempdir().unwrap();
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("checklists");
    // The shipped procedure with its questions about the program asked, and compared with what was read in it.
    let shipped = std::fs::read_to_string(root.join("base-plate.yaml")).unwrap();
    let asked: Vec<&str> = shipped
        .lines()
        .filter(|line| !line.starts_with("        from program: "))
        .collect();
    let program = "      - program: nc\n";
    let says = "        says: { unit: program_unit, work offset: program_offset, length offset: program_h, \
                lowest z: program_lowest_z, speed: program_speed, feed: program_feed }\n";
    let asked = (asked.join("\n") + "\n").replacen(program, &format!("{program}{says}"), 1);
    let procedure = folder.path().join("asked.yaml");
    std::fs::write(&procedure, asked).unwrap();
    let mut edited = std::fs::read_to_string(root.join("answers/two-roughing.yaml")).unwrap();
    edited.push_str(
        "program_cutter: 12 mm\nprogram_shifts: none in it\nprogram_begins: X and Y before Z\n\
         program_ends: a lift and the spindle off at the end\nprogram_step_over: 7 mm\noverrun: 2 mm\n",
    );
    for (question, wrong, right) in [
        ("program_unit", "inch", "metric"),
        ("program_offset", "G55", "G54"),
        ("program_h", "2", "1"),
        ("program_lowest_z", "-0.5 mm", "0 mm"),
        ("program_speed", "3000 rpm", "4000 rpm"),
        ("program_feed", "500 mm/min", "600 mm/min"),
    ] {
        edited.push_str(&format!("{question}: [{{ try: {wrong} }}, {right}]\n"));
    }
    let answers = folder.path().join("answers.yaml");
    std::fs::write(&answers, edited).unwrap();
    std::fs::copy(
        root.join("answers/facing-12mm.nc"),
        folder.path().join("facing-12mm.nc"),
    )
    .unwrap();
    let output = Command::cargo_bin("skimgate")
        .unwrap()
        .arg("walk")
        .arg(&procedure)
        .arg("--shop")
        .arg(root.join("shop.yaml"))
        .arg("--answers")
        .arg(&answers)
        .arg("--book")
        .arg(folder.path().join("book.sqlite3"))
        .env("NO_COLOR", "1")
        .output()
        .unwrap();
    let shown = String::from_utf8(output.stderr).unwrap();
    let shown = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(output.status.code(), Some(0), "{shown}");
    for message in [
        "`inch` was typed, but the unit read in the program: metric",
        "`G55` was typed, but the work offset read in the program: G54",
        "`2` was typed, but the length offset read in the program: 1",
        "but the lowest z read in the program: 0 mm",
        "`3000 rpm` was typed, but the speed read in the program: 4000 rpm",
        "`500 mm/min` was typed, but the feed read in the program: 250, 600 mm/min",
    ] {
        assert!(shown.contains(message), "{message}: {shown}");
    }
    // The screen must not show the value before it is asked for.
    for fact in ["Lowest Z 0 mm", "Speeds 4000", "Work offset G54"] {
        assert!(!shown.contains(fact), "{fact}");
    }
}

/// The invented program without its row at Y90, and its plate at the position in the program's own comment: 14 mm
/// between two rows of a flat of 11.6 mm leave 2.4 x 240 of 240 x 120 mm, 2 %.
#[test]
fn the_uncovered_part_and_the_time_are_reported_and_drawn() {
    let folder = tempfile::tempdir().unwrap();
    let good = std::fs::read_to_string("checklists/answers/facing-12mm.nc").unwrap();
    let gap = good.replace("Y90\nX279\nY97\n", "Y97\nX279\n");
    // From there on the rows run in the opposite direction, so that no row is run twice.
    let (before, after) = gap.split_once("Y97\nX279\n").unwrap();
    let after = after
        .replace("X279", "X#")
        .replace("X21\n", "X279\n")
        .replace("X#", "X21");
    let gap = format!("{before}Y97\nX279\n{}", after.trim_start_matches("X279\n"));
    let path = folder.path().join("try.nc");
    let drawing = folder.path().join("try.svg");
    let on = [
        path.to_str().unwrap(),
        "--plate",
        "plate-1",
        "--cutter",
        "em-12",
        "--machine",
        "mill-a",
        "--corner",
        "30,30",
        "--json",
    ];
    let run = |text: &str, more: &[&str]| {
        std::fs::write(&path, text).unwrap();
        let args: Vec<&str> = on.iter().chain(more).copied().collect();
        let (code, out) = program(&args);
        let json: serde_json::Value = serde_json::from_str(&out).unwrap();
        (code, json)
    };
    let (code, whole) = run(&good, &[]);
    assert_eq!((code, &whole["uncovered_percent"]), (Some(0), &0.0.into()));
    let time = whole["time_s"].as_f64().unwrap();
    let range = whole["time_range_s"].as_array().unwrap();
    assert!(range[0].as_f64().unwrap() <= time && time <= range[1].as_f64().unwrap());
    let (_, short) = run(&gap, &["--svg", drawing.to_str().unwrap()]);
    let uncovered = short["uncovered_percent"].as_f64().unwrap();
    assert!((uncovered - 2.0).abs() < 0.1, "{uncovered}");
    let codes: Vec<&str> = short["findings"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|f| f["code"].as_str())
        .collect();
    assert!(codes.contains(&"not-reached"), "{codes:?}");
    let svg = std::fs::read_to_string(&drawing).unwrap();
    assert!(svg.contains("Not reached: 2.0 % of the plate"), "{svg}");
    // The shop file gives the position of this plate, so no flag is needed.
    let shop = folder.path().join("shop.svg");
    let mut bare = on[..7].to_vec();
    bare.extend(["--svg", shop.to_str().unwrap()]);
    program(&bare);
    assert_eq!(std::fs::read_to_string(&shop).unwrap(), svg);
    // Only a drawing is overwritten.
    let over = [&on[..9], &["--svg", path.to_str().unwrap()]].concat();
    assert_eq!(program(&over).0, Some(2));
    assert_eq!(std::fs::read_to_string(&path).unwrap(), gap);
    // Without a position neither is known.
    let (_, bare) = {
        let (code, out) = program(&[path.to_str().unwrap(), "--json"]);
        (
            code,
            serde_json::from_str::<serde_json::Value>(&out).unwrap(),
        )
    };
    assert!(bare["uncovered_percent"].is_null() && bare["time_s"].is_null());
}

/// The invented program in inches: 25.4 mm is one inch, by hand.
#[test]
fn a_program_in_inches_is_shown_in_inches_first_and_every_figure_has_a_unit() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("inch.nc");
    let text = "%\nO1\nG20 G90 G17 G94 G54\nS4000 M3\nG0 X-1 Y0\nG0 Z0.5\nG1 Z-0.01 F20\nX11\nY0.3\nX-1\nG0 Z0.5\nM5\nM30\n%\n";
    std::fs::write(&path, text).unwrap();
    let name = path.to_str().unwrap();
    let run = |more: &[&str]| {
        let (_, out) = program(&[&[name], more].concat());
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let own = run(&[]);
    for text in [
        "Lowest Z -0.01 in (-0.254 mm)",
        "Cuts X -1 to 11 in (-25.4 to 279.4 mm)",
        "Feeds 20 in/min (508 mm/min)",
    ] {
        assert!(own.contains(text), "{text}: {own}");
    }
    // A stated unit takes precedence, in any spelling that `plane` reads too.
    assert!(run(&["--unit", "millimetre"]).contains("Cuts X -25.4 to 279.4 mm"));
    for unit in ["in", "inch", "IN"] {
        assert!(run(&["--unit", unit]).contains("Feeds 20 in/min"), "{unit}");
    }
    let (code, _) = program(&[name, "--unit", "furlong"]);
    assert_eq!(code, Some(2));
}

/// The findings are in the chosen unit too. By hand: 0.1 in is 2.54 mm, 70 in/min is 1778 mm/min, and 1778 / 12 000 =
/// 0.1482 mm = 0.0058 in.
#[test]
fn findings_of_inch_work_are_in_inches_followed_by_millimetres() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("inch.nc");
    let text = "%\nO1\nG20 G90 G17 G94 G54\nS4000 M3\nG0 X-1 Y0\nG0 Z0.5\nG1 Z-0.1 F70\nX11\nY0.3\nX-1\nG0 Z-0.05\nM5\nM30\n%\n";
    std::fs::write(&path, text).unwrap();
    let name = path.to_str().unwrap();
    let on = [
        name,
        "--plate",
        "plate-1",
        "--cutter",
        "em-12",
        "--machine",
        "mill-a",
        "--lowest-z",
        "-0.05 in",
        "--stock-top",
        "0",
    ];
    let shown = |more: &[&str]| {
        let (_, out) = program(&[&on, more].concat());
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    for part in [
        "Z-0.1 in (-2.54 mm), stated Z-0.05 in (-1.27 mm)",
        "0.1 in (2.54 mm) from Z0 in (0 mm) to Z-0.1 in (-2.54 mm)",
        "70 in/min (1778 mm/min) / (4000 rpm x 3) = 0.0058 in (0.1482 mm), range 0.0008 in (0.02 mm)",
        "at Z-0.05 in (-1.27 mm)",
    ] {
        for inch in [shown(&[]), shown(&["--unit", "in"])] {
            assert!(inch.contains(part), "{part}: {inch}");
        }
    }
    let mm = shown(&["--unit", "mm"]);
    for part in [
        "Z-2.54 mm, stated Z-1.27 mm",
        "1778 mm/min / (4000 rpm x 3) = 0.1482 mm, range 0.02 mm to 0.1 mm",
    ] {
        assert!(mm.contains(part), "{part}: {mm}");
    }
}

/// A walk in inches shows a program in millimetres in inches first, including its findings. By hand: 5 mm/min is 0.1969
/// in/min.
#[test]
fn a_walk_in_inches_shows_the_program_and_its_findings_in_inches() {
    let bench = crate::support::Bench::new();
    bench.run(&["init"]).ended(0);
    let name = "checklists/answers/facing-12mm.nc";
    let text = std::fs::read_to_string(bench.path(name)).unwrap();
    let slow = text.replace("F600", "F5");
    assert_ne!(slow, text);
    bench.write(name, &slow);
    let answers = "checklists/answers/two-roughing.yaml";
    for (unit, cuts, feed) in [
        (
            "inch",
            "0 to 10.984 in plate 1.181 to 10.63 in",
            "0.1969 in/min (5 mm/min)",
        ),
        (
            "mm",
            "0 to 279 mm plate 30 to 270 mm",
            "a feed below 10 mm/min: 5 mm/min",
        ),
    ] {
        let book = format!("{unit}.sqlite3");
        let mut command = bench.command();
        command.args([
            "walk",
            "--answers",
            answers,
            "--unit",
            unit,
            "--book",
            &book,
        ]);
        crate::support::ran(command).says(&[cuts, feed]);
    }
}

/// Invented: a rapid at depth across the plate into a plunge, and an end far from it.
#[test]
fn a_drawing_shows_danger_and_where_the_findings_lie() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bad.nc");
    let text = "%\nG21 G17 G90 G94 G40 G49 G80\nG54\nT1 M6\nS4000 M3\nG0 G43 H1 Z30\nG0 X0 Y0\nM8\nG0 Z5\nG1 Z0.2 F250\nG1 X21 Y34 F600\nX279\nY41\nX21\nG0 X150 Y90\nG1 Z0 F250\nX279 F600\nG0 Z30\nG0 X-300 Y-100\nM9\nM5\nM30\n%\n";
    std::fs::write(&path, text).unwrap();
    let name = path.to_str().unwrap();
    let on = [
        name,
        "--plate",
        "plate-1",
        "--cutter",
        "em-12",
        "--machine",
        "mill-a",
    ];
    let (_, drawn) = program(&on);
    let said = drawn.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in [
        "STOP rapid-low - line 15, a in the drawing:",
        "STOP plunge - line 16, b in the drawing:",
        "! LOW RAPID: at or below Z 0.45 mm",
        "- feed: lowest first, Z 0 mm, Z 0.2 mm",
        "S start: X0 Y0; also first cut",
        "L last lift: X279 Y90",
        "Out of the picture: end, X-300 Y-100.",
        "X to the right; the plate begins at X30 Y30",
    ] {
        assert!(said.contains(part), "{part}: {drawn}");
    }
    let picture: Vec<&str> = drawn
        .lines()
        .skip_while(|l| !l.contains("[="))
        .take_while(|l| !l.contains("X to the right"))
        .collect();
    let picture = picture.join("\n");
    for glyph in ['!', 'a', 'b', 'S', '#', ','] {
        assert!(picture.contains(glyph), "{glyph}: {drawn}");
    }
    let (_, told) = program(&[&on[..], &["--plain"]].concat());
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    for part in [
        "LOW RAPID: at or below Z 0.45 mm. 1 place, within X21 to X150, Y41 to Y90.",
        "PLUNGE into the plate: X150 Y90.",
        "findings: a rapid-low, b plunge",
        "last lift: X279 Y90.",
    ] {
        assert!(told.contains(part), "{part}: {told}");
    }
}
