//! Tests of every form of word, of the faults in other text, and of arbitrary bytes.

use super::line;
use crate::program::block::Block;
use crate::program::expr::Parameters;
use crate::program::fault::FaultKind;

/// The words of a line as letter and value, its faults, and its length.
fn read(text: &[u8]) -> (Vec<(char, f64)>, Vec<FaultKind>, usize) {
    let mut block = Block::default();
    let length = line(text, &Parameters::default(), &mut block);
    let words = block
        .words
        .iter()
        .map(|w| (char::from(w.letter), w.value.real().unwrap_or(f64::NAN)));
    let faults = block.faults.iter().map(|f| f.kind);
    (words.collect(), faults.collect(), length)
}

fn clean(text: &str, expected: &[(char, f64)]) {
    assert_eq!(
        read(text.as_bytes()),
        (expected.to_vec(), vec![], text.len()),
        "{text}"
    );
}

fn faulty(text: &[u8], kind: FaultKind) {
    assert_eq!(read(text).1, [kind], "{}", String::from_utf8_lossy(text));
}

/// NISTIR 6556, 3.3.2.1 and 3.3: forms of numbers, and blanks anywhere, even inside a number.
#[test]
fn every_form_of_number_is_read() {
    clean("x +0. 12 34y 7", &[('X', 0.1234), ('Y', 7.0)]);
    clean("G01.", &[('G', 1.0)]);
    clean("G1\tX1", &[('G', 1.0), ('X', 1.0)]);
    clean(
        "X.5Y-.5Z+1A10.",
        &[('X', 0.5), ('Y', -0.5), ('Z', 1.0), ('A', 10.0)],
    );
    clean("g0x000123.4500", &[('G', 0.0), ('X', 123.45)]);
    clean("X16777217", &[('X', 16_777_217.0)]);
    clean("X1e3", &[('X', 1.0), ('E', 3.0)]);
    clean("X[1+2]Y-[2*3]", &[('X', 3.0), ('Y', -6.0)]);
    clean(
        "X sin [30] z-1",
        &[('X', 30_f64.to_radians().sin()), ('Z', -1.0)],
    );
    clean(
        "N10 G1 (comment; with a stroke /) X2 ; rest",
        &[('G', 1.0), ('X', 2.0)],
    );
    clean("/ N10 G1 X2", &[('G', 1.0), ('X', 2.0)]);
    clean("O1001 (NAME)", &[]);
}

#[test]
fn every_lost_word_is_reported() {
    faulty(b"G1 X1 (oops", FaultKind::OpenComment);
    faulty(b"X--5", FaultKind::NoNumber);
    faulty(b"G1 X Y2", FaultKind::NoNumber);
    faulty(b"X1O Y2", FaultKind::LetterO);
    faulty(b"X12,5", FaultKind::DecimalComma);
    faulty(b"X1.2.3", FaultKind::NotAWord);
    faulty(b"X1 $2", FaultKind::NotAWord);
    faulty(b"G1 \x01X1", FaultKind::StrayByte);
    faulty(b"\xef\xbb\xbfG21", FaultKind::StrayByte);
    faulty(b"(\xe4)", FaultKind::StrayByteInComment);
    faulty(b"(a (b)", FaultKind::NestedComment);
    faulty(b"X0.12345678901234567890", FaultKind::TooManyDigits);
    faulty(b"X1234567890123456789012", FaultKind::TooManyDigits);
    faulty(b"G1 N10 X1", FaultKind::BadNumber);
    faulty(b"N100000 X1", FaultKind::LongNumber);
    faulty(b"X[1+", FaultKind::BadExpression);
    faulty(b"X#5", FaultKind::UnsetParameter);
    faulty(b"X[1/0]", FaultKind::NoValue);
    faulty(b"IF [#1 EQ 2] GOTO 5", FaultKind::FlowControl);
    faulty(b"O100 call [1]", FaultKind::FlowControl);
    faulty(b"#<depth>=3", FaultKind::FlowControl);
    faulty(b"% X1", FaultKind::PercentText);
    faulty(
        format!("X1 ({})", "a".repeat(300)).as_bytes(),
        FaultKind::LongLine,
    );
}

/// Every byte of any text belongs to a word, a comment, a blank or a fault, so reading any text ends.
#[test]
fn reading_any_bytes_ends() {
    let mut seed = 1_u64;
    let mut next = || {
        seed = seed
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (seed >> 33) as usize
    };
    let alphabet = b"GXYZMNO#[]()=+-.,/%;:* 0123456789\t\x00\xffSINIFabcE<>";
    for _ in 0..20_000 {
        let length = next() % 40;
        let text: Vec<u8> = (0..length)
            .map(|_| alphabet[next() % alphabet.len()])
            .collect();
        assert_eq!(
            read(&text).2,
            text.len(),
            "{}",
            String::from_utf8_lossy(&text)
        );
    }
}
