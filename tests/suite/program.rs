//! NC programs: words and values against another reader on programs inside its package, and the command.

use assert_cmd::Command;
use skimgate::program::block::Block;
use skimgate::program::expr::Parameters;
use skimgate::program::lex;
use std::path::PathBuf;

/// Where cargo has unpacked a dev-dependency: its programs are read there and not copied.
fn package(name: &str) -> PathBuf {
    let output = std::process::Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--offline", "--locked"])
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

/// The words of a line as the other reader sees them; nothing where it finds fault with the line.
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

/// Our words of a line; nothing where there is a fault, an expression, or what the other reader does not know.
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

/// The expected value stands in the comment of each line of the program: the expression test of NISTIR 6556.
#[test]
fn expressions_come_to_what_the_published_test_says() {
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
        let said = line.split("x should be ").nth(1);
        let said = said.map(|s| s.split([')', ',']).next().unwrap().trim());
        if let Some(said) = said {
            // As exact as it is written there, whole numbers to one decimal.
            let decimals = said.split_once('.').map_or(0, |(_, d)| d.len()).max(1);
            let half = 0.5001 * 0.1_f64.powi(i32::try_from(decimals).unwrap());
            let said: f64 = said.parse().unwrap();
            assert!((x.unwrap() - said).abs() <= half, "{line}: {x:?}");
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
fn the_exit_status_tells_the_verdict_and_doubt_is_never_nought() {
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
