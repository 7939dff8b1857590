//! The reader under mangled files, and the shipped answers against the shipped procedure.

use proptest::prelude::*;
use proptest::sample::Index;
use skimgate::diagnostics::render::{FindingStyle, render};
use skimgate::diagnostics::{Findings, Source};
use skimgate::procedure::file::read_any;
use skimgate::procedure::node::Node;
use skimgate::procedure::yaml;
use skimgate::procedure::{Kind, Options, Procedure};
use std::fs;

fn shipped(path: &str) -> String {
    fs::read_to_string(format!("{}/{path}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

/// One way of spoiling a file; places are taken modulo its length.
#[derive(Clone, Debug)]
enum Slip {
    DeleteLines(Index, usize),
    DoubleLine(Index),
    Swap(Index, Index),
    Replace(Index, char),
    Insert(Index, String),
    Truncate(Index),
    Indent(Index, usize),
}

fn slip() -> impl Strategy<Value = Slip> {
    let at = any::<Index>;
    // Signs that mean something to YAML or to formulas, and some that mean nothing to either.
    let sign = prop::sample::select(
        " \t\n\r:-?[]{},#&*!|>'\"%@`\\~.()<>=+/0759aZäµ\u{2212}\u{0}\u{feff}\u{1f600}"
            .chars()
            .collect::<Vec<_>>(),
    );
    let piece = prop::sample::select(vec![
        "---\n",
        "...\n",
        "&a ",
        "*a ",
        "!!str ",
        "{ a: b, ",
        "[ ",
        "] ",
        "} ",
        ": ",
        "- ",
        "\"",
        "'",
        "|\n",
        ">-\n",
        "null",
        "at most:\n",
        "99999999999999999999999 mm",
        "1/0",
        "((((((((",
        "is not ",
        "previous(",
        "same as: eyes\n",
    ]);
    prop_oneof![
        (at(), 1..40_usize).prop_map(|(i, n)| Slip::DeleteLines(i, n)),
        at().prop_map(Slip::DoubleLine),
        (at(), at()).prop_map(|(a, b)| Slip::Swap(a, b)),
        (at(), sign).prop_map(|(i, c)| Slip::Replace(i, c)),
        (at(), piece).prop_map(|(i, s)| Slip::Insert(i, s.to_owned())),
        at().prop_map(Slip::Truncate),
        (at(), 0..5_usize).prop_map(|(i, n)| Slip::Indent(i, n)),
    ]
}

fn spoil(text: &str, slip: &Slip) -> String {
    if text.is_empty() {
        return String::new();
    }
    let mut lines: Vec<&str> = text.split_inclusive('\n').collect();
    let mut chars: Vec<char> = text.chars().collect();
    let count = chars.len();
    match slip {
        Slip::DeleteLines(at, n) => {
            let from = at.index(lines.len());
            lines.drain(from..lines.len().min(from + n));
            return lines.concat();
        }
        Slip::DoubleLine(at) => {
            let i = at.index(lines.len());
            lines.insert(i, lines[i]);
            return lines.concat();
        }
        Slip::Indent(at, n) => {
            let i = at.index(lines.len());
            let changed = format!("{}{}", " ".repeat(*n), lines[i].trim_start_matches(' '));
            lines[i] = &changed;
            return lines.concat();
        }
        Slip::Truncate(at) => {
            // At any byte; half a character is what a lossy reader makes of it.
            return String::from_utf8_lossy(&text.as_bytes()[..at.index(text.len())]).into_owned();
        }
        Slip::Swap(a, b) => chars.swap(a.index(count), b.index(count)),
        Slip::Replace(at, c) => chars[at.index(count)] = *c,
        Slip::Insert(at, piece) => {
            let at = at.index(count);
            chars.splice(at..at, piece.chars());
        }
    }
    chars.into_iter().collect()
}

/// Reads `text`; every finding lies inside of it, on whole characters, and can be drawn.
fn read_and_look(text: &str) -> Result<(), TestCaseError> {
    let mut findings = Findings::default();
    let read = read_any(text, &mut findings);
    prop_assert!(
        read.content.is_some() != findings.any_error(),
        "a file is either sound or has an error"
    );
    let source = Source::new("mangled.yaml", text);
    for finding in findings.sorted() {
        let span = finding.span;
        prop_assert!(span.start <= span.end, "{finding:?}");
        prop_assert!(
            text.get(span.start..span.end).is_some(),
            "{finding:?} of {}",
            text.len()
        );
        prop_assert!(!finding.message.is_empty());
        for look in [FindingStyle::Ascii, FindingStyle::Narrated] {
            prop_assert!(!render(&source, &finding, look).is_empty());
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, ..ProptestConfig::default() })]

    #[test]
    fn no_mangled_file_makes_the_reader_fail(
        file in prop::sample::select(vec![
            "checklists/base-plate.yaml",
            "checklists/shop.yaml",
            "tests/procedures/small.yaml",
            "tests/procedures/small.yaml",
            "tests/procedures/shop.yaml",
        ]),
        slips in prop::collection::vec(slip(), 1..6),
    ) {
        let text = slips.iter().fold(shipped(file), |text, slip| spoil(&text, slip));
        read_and_look(&text)?;
    }

    #[test]
    fn no_text_at_all_makes_the_reader_fail(text in "(format: 1\n(procedure|shop): )?\\PC{0,200}") {
        read_and_look(&text)?;
    }

    #[test]
    fn no_formula_makes_the_reader_fail(formula in "[-a-z0-9 .,()+*/<>=!'µ%]{0,60}") {
        let text = shipped("tests/procedures/small.yaml")
            .replace("value: spread(corners)", &format!("value: \"{formula}\""));
        read_and_look(&text)?;
    }
}

#[test]
fn a_file_cut_off_anywhere_is_read_without_failing() {
    let text = shipped("tests/procedures/small.yaml");
    // A stride that shares no factor with the file's indents meets every place of a line.
    for end in (0..text.len()).step_by(13) {
        if let Some(part) = text.get(..end) {
            read_and_look(part).unwrap();
        }
    }
}

fn base_plate() -> Procedure {
    let mut findings = Findings::default();
    let text = shipped("checklists/base-plate.yaml");
    skimgate::procedure::read::read(&text, &mut findings).unwrap()
}

/// The answers as typed, one or a list, without what is typed first and refused.
fn typed(node: &Node) -> Vec<String> {
    match node {
        Node::Scalar(text) => vec![text.text.clone()],
        Node::List(items, _) => items.iter().flat_map(typed).collect(),
        Node::Map(pairs, _) => {
            let value = pairs.iter().filter(|(k, _)| k.text == "value");
            value.flat_map(|(_, node)| typed(node)).collect()
        }
        Node::Blank(_) => Vec::new(),
    }
}

#[test]
fn the_shipped_answers_are_answers_to_the_shipped_procedure() {
    answers_fit("one-roughing.yaml");
    answers_fit("two-roughing.yaml");
}

fn answers_fit(file: &str) {
    let procedure = base_plate();
    let text = shipped(&format!("checklists/answers/{file}"));
    let Some(Node::Map(pairs, _)) = yaml::parse(&text, &mut Findings::default()) else {
        panic!("the answers are no map");
    };
    let order: Vec<&str> = procedure.steps().map(|s| s.id.as_str()).collect();
    let mut last = 0;
    for (key, node) in pairs
        .iter()
        .filter(|(k, _)| !["operator", "earlier answers"].contains(&k.text.as_str()))
    {
        let Some(place) = order.iter().position(|id| *id == key.text) else {
            panic!("`{}` is no step", key.text);
        };
        assert!(
            place >= last,
            "`{}` stands out of the procedure's order",
            key.text
        );
        last = place;
        for answer in typed(node) {
            let known = match &procedure.step(&key.text).unwrap().kind {
                Kind::Confirm { answer: right, .. } => answer == *right,
                Kind::Choose {
                    options: Options::Listed(words),
                    ..
                } => words.iter().any(|(w, _)| *w == answer),
                _ => true,
            };
            assert!(known, "`{answer}` is no answer to `{}`", key.text);
        }
    }
    let unanswered: Vec<&str> = procedure
        .steps()
        .filter(|s| s.when.is_none() && !matches!(s.kind, Kind::WorkOut { .. }))
        // What the program answers is not asked.
        .filter(|s| s.from_program.is_none())
        .map(|s| s.id.as_str())
        .filter(|id| !pairs.iter().any(|(k, _)| k.text == *id))
        .collect();
    assert_eq!(unanswered, [""; 0]);
}

/// Long walks are skipped through; the sums are this project's own choice.
#[test]
fn the_default_walk_stays_short() {
    let procedure = base_plate();
    let (mut before, mut roughing, mut finishing, mut closing) = (0, 0, 0, 0);
    for phase in &procedure.phases {
        // Of a pair of steps under opposite conditions one is asked; `_dribble` and `touch_still` are the rarer halves.
        let asked = phase.steps.iter().filter(|s| {
            !matches!(s.kind, Kind::WorkOut { .. })
                && !s.id.ends_with("_dribble")
                && s.id != "touch_still"
                && s.id != "proof_outside"
        });
        let n = asked.count();
        match phase.each.as_deref() {
            Some("roughing") => roughing += n,
            Some(_) => finishing += n,
            None if roughing == 0 => before += n,
            None => closing += n,
        }
    }
    assert!(
        before <= 50 && roughing <= 18 && finishing <= 18 && closing <= 9,
        "{before} before, {roughing} a roughing pass, {finishing} for finishing, {closing} to close"
    );
}
