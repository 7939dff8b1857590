//! Tests: lines as controls show them. The lines are invented; what each code means is from NISTIR 6556, table 4, and
//! ISO 6983-1 (from memory), as in the table of groups.

use super::{ActiveCodes, ActiveGroup, LineFault, Meaning, read};
use crate::program::fault::FaultKind;
use proptest::prelude::*;

/// The groups of a line as `word value`, in the order of the table.
fn shown(line: &str) -> String {
    shown_as(line, &[])
}

fn shown_as(line: &str, meanings: &[Meaning]) -> String {
    let read = read(line, meanings).unwrap_or_else(|f| panic!("{line}: {}", f.words()));
    words(&read)
}

fn words(read: &ActiveCodes) -> String {
    let group = |(g, v): (&ActiveGroup, &String)| format!("{} {v}", g.word());
    let mut all: Vec<String> = read.groups.iter().map(group).collect();
    all.extend(read.unknown.iter().map(|u| format!("unknown {u}")));
    all.join(", ")
}

fn fault(line: &str) -> LineFault {
    match read(line, &[]) {
        Err(fault) => fault,
        Ok(read) => panic!("{line}: {}", words(&read)),
    }
}

const WHOLE: &str = "unit mm, offset G54, distance G90, feed mode G94, plane G17, length offset G43, h 1, cutter compensation G40, cycle G80, feed 1200, speed 8000, tool 3";

#[test]
fn a_line_is_read_in_any_order_spacing_and_case() {
    for line in [
        "G54 G21 G90 G94 G17 G40 G43 H1 G80 F1200 S8000 T3",
        "G54G21G90G94G17G40G43H1G80F1200S8000T3",
        "t3 s8000 f1200 g80 h1 g43 g40 g17 g94 g90 g21 g54",
        "G54 | G21 | G90 | G94 | G17 | G40 | G43 | H1 | G80 | F1200 | S8000 | T3",
        "G54, G21, G90, G94,G17,G40 ,G43,H1; G80; F1200.; S8000.0; T03",
        "G54\tG21  G090 G94 G17 G40 G43 H01 G80 F1200.000 S8000 T3",
        "G 54 G 21 G 90 G 94 G 17 G 40 G 43 H 1 G 80 F 1200 S 8000 T 3",
        "\u{2502} G54 \u{2502} G21 \u{b7} G90 \u{2022} G94 G17 G40 \u{a0}G43 H1 G80 F1200 S8000 T3 \u{2502}",
        "G54 G54 G21 G71 G90 G94 G17 G40 G43 H1 G80 F1200 S8000 T3",
    ] {
        assert_eq!(shown(line), WHOLE, "{line}");
    }
}

#[test]
fn each_code_has_its_group_and_value() {
    for (line, expected) in [
        ("G20", "unit inch"),
        ("G70", "unit inch"),
        ("G71", "unit mm"),
        ("G01", "motion G1"),
        ("G00 G80", "motion G0, cycle G80"),
        ("G1 G81", "motion G1, cycle G81"),
        ("G59.1", "offset G59.1"),
        ("G59.3", "offset G59.3"),
        ("G54.1 P3", "offset G54.1 P3"),
        ("G54.1P48 G21", "unit mm, offset G54.1 P48"),
        ("G49", "length offset G49"),
        ("G43.1", "length offset G43.1"),
        ("G90 G90.1", "distance G90, arc centres G90.1"),
        (
            "G50 G69 G50.1 G15",
            "scaling G50, mirror G50.1, rotation G69, polar G15",
        ),
        (
            "G51 G68 G51.1 G16",
            "scaling G51, mirror G51.1, rotation G68, polar G16",
        ),
        ("G92", "shift G92"),
        ("G92.1", "shift none"),
        ("G52", "shift G52"),
        ("G61.1 G98 G67", "retract G98, path G61.1, macro G67"),
        (
            "M3 M8 M48 M7",
            "spindle M3, coolant M8, mist M7, override M48",
        ),
        (
            "F0.15 S0 T0 H0 D12",
            "h 0, feed 0.15, speed 0, tool 0, d 12",
        ),
        ("F.5", "feed 0.5"),
        // What is not known is named, and never lost.
        ("G187 M62 G54", "offset G54, unknown G187, unknown M62"),
        (
            "G54 X0 Y-12.5 P3",
            "offset G54, unknown X0, unknown Y-12.5, unknown P3",
        ),
        ("N10 G54", "offset G54, unknown N10"),
        ("O1001 G54", "offset G54, unknown O1001"),
        ("G54 21", "unknown G54 21"),
        ("G1.23", "unknown G1.23"),
    ] {
        assert_eq!(shown(line), expected, "{line}");
    }
}

#[test]
fn two_codes_of_a_group_are_named() {
    for (line, group, first, second) in [
        ("G54 G90 G55", ActiveGroup::WorkOffset, "G54", "G55"),
        ("G21 G20", ActiveGroup::Unit, "G21", "G20"),
        ("G70 G21", ActiveGroup::Unit, "G70", "G21"),
        ("G90 G91", ActiveGroup::Distance, "G90", "G91"),
        ("G0 G1", ActiveGroup::Motion, "G0", "G1"),
        (
            "G54.1 P1 G54.1 P2",
            ActiveGroup::WorkOffset,
            "G54.1 P1",
            "G54.1 P2",
        ),
        ("H1 H2", ActiveGroup::H, "H1", "H2"),
        ("F100 F200", ActiveGroup::Feed, "F100", "F200"),
    ] {
        let expected = LineFault::TwoOfGroup {
            group,
            first: first.into(),
            second: second.into(),
        };
        assert_eq!(fault(line), expected);
        let words = expected.words();
        assert!(words.contains(first) && words.contains(second), "{words}");
    }
}

#[test]
fn what_cannot_be_read_is_quoted() {
    let text = |line: &str| match fault(line) {
        LineFault::Text { kind, text } => (kind, text),
        other => panic!("{line}: {other:?}"),
    };
    assert_eq!(text("G54 G9O G21"), (FaultKind::LetterO, "G9O".into()));
    assert_eq!(text("G54|g9o|G21"), (FaultKind::LetterO, "g9o".into()));
    assert_eq!(text("G59,1").0, FaultKind::DecimalComma);
    assert_eq!(text("G54 G"), (FaultKind::NoNumber, "G".into()));
    assert_eq!(text("Gl7").0, FaultKind::NoNumber);
    assert_eq!(text("G54 ?").0, FaultKind::NotAWord);
    assert_eq!(text("G54 = 3").0, FaultKind::NotAWord);
    assert_eq!(text("(G91)").0, FaultKind::NestedComment);
    assert_eq!(text("G54 (G91) G90").1, "(G91)");
    assert_eq!(text("G[50+4]").0, FaultKind::BadExpression);
    assert_eq!(text("hello there"), (FaultKind::NoNumber, "hello".into()));
    assert_eq!(fault(""), LineFault::NoCode);
    assert_eq!(fault(" | ; "), LineFault::NoCode);
    assert_eq!(fault("G54.1"), LineFault::WithoutP);
    assert_eq!(fault("G54.1 P0"), LineFault::WithoutP);
    assert_eq!(fault("G43 H-1"), LineFault::Number("H-1".into()));
    assert_eq!(fault("H1.5"), LineFault::Number("H1.5".into()));
}

/// A control that numbers its work offsets otherwise, as the shop file's dialect says. Invented.
#[test]
fn a_code_may_mean_another_one_on_this_control() {
    let offset = (ActiveGroup::WorkOffset, "G55".to_owned());
    let meanings = [
        (('G', 5050), Some(offset)),
        (('G', 7100), Some((ActiveGroup::Unit, "mm".to_owned()))),
        (('G', 5000), None),
    ];
    assert_eq!(
        shown_as("G500 G505 G710 G187", &meanings),
        "unit mm, offset G55, unknown G187"
    );
    assert!(matches!(
        read("G505 G54", &meanings),
        Err(LineFault::TwoOfGroup {
            group: ActiveGroup::WorkOffset,
            ..
        })
    ));
}

/// One code of each of some groups.
fn codes() -> impl Strategy<Value = Vec<String>> {
    let rows: Vec<Vec<String>> = ActiveGroup::ALL
        .iter()
        .map(|group| {
            let row = group.row();
            let codes = row.codes.iter().filter(|(_, _, v)| *v != "G54.1");
            let codes = codes.map(|(letter, tenfold, _)| match tenfold % 10 {
                0 => format!("{letter}{}", tenfold / 10),
                tenth => format!("{letter}{}.{tenth}", tenfold / 10),
            });
            let number = row.number.map(|(letter, _)| format!("{letter}7"));
            codes.chain(number).collect()
        })
        .collect();
    let count = rows.len();
    let rows = proptest::sample::subsequence(rows, 1..=count);
    rows.prop_flat_map(|rows| {
        rows.into_iter()
            .map(proptest::sample::select)
            .collect::<Vec<_>>()
    })
}

proptest! {
    /// Order, case, leading zeros and separators change nothing that is read.
    #[test]
    fn the_same_codes_are_read_however_they_are_written(
        (plain, shuffled) in codes().prop_flat_map(|c| (Just(c.clone()), Just(c).prop_shuffle())),
        separators in proptest::collection::vec(proptest::sample::select(vec!["", " ", " | ", ";", ", ", "\t", "  "]), 40),
        lower in any::<bool>(),
        zero in any::<bool>(),
    ) {
        let mut line = String::new();
        for (code, separator) in shuffled.iter().zip(&separators) {
            let (letter, number) = code.split_at(1);
            let zero = if zero && number.len() == 1 { "0" } else { "" };
            line.push_str(&format!("{letter}{zero}{number}{separator}"));
        }
        if lower {
            line = line.to_lowercase();
        }
        prop_assert_eq!(read(&line, &[]), read(&plain.join(" "), &[]));
    }

    #[test]
    fn any_text_is_read_or_refused(line in ".{0,80}") {
        let _ = read(&line, &[]);
    }

    #[test]
    fn any_text_of_codes_is_read_or_refused(line in "[GMHTFSPXNO0-9., |;()\\[\\]#=%/:\\-]{0,60}") {
        let _ = read(&line, &[]);
    }
}
