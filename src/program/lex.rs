//! Bytes to words. No byte is passed over in silence: each belongs to a word, a comment, a blank or a fault.
//!
//! Our own, since a checker must not lose a word: general readers swallow the rest of a file after a comment that is
//! not closed, drop words with a trailing point, or give up at the first oddity. A line is looked at once, its end found
//! on the way; nothing is allocated for a clean line.

use super::block::{Block, Word};
use super::expr::{self, Parameters, Without};
use super::fault::FaultKind;
use super::number::{MOST_DIGITS, Number, Value};

/// Longest line that a control must take (NISTIR 6556, 3.3).
pub const LONGEST_LINE: usize = 256;

/// Reads the line that begins `text`, which may go on behind it, into `block`; gives the line's length without its end.
#[inline]
pub fn line(text: &[u8], parameters: &Parameters, block: &mut Block) -> usize {
    block.clear();
    let mut at = 0;
    // Whether anything stood before, blanks apart: N and the stroke must come first.
    let mut first = true;
    while let Some(&byte) = text.get(at) {
        match byte {
            b'\n' | b'\r' => break,
            b' ' | b'\t' => at += 1,
            b'A'..=b'Z' | b'a'..=b'z' => {
                at = word(text, at, first, parameters, block);
                first = false;
            }
            _ => {
                at = other(text, at, first, parameters, block);
                first = first && (byte == b'/' || byte == b'(');
            }
        }
    }
    if at > LONGEST_LINE {
        block.fault(FaultKind::LongLine, LONGEST_LINE, at);
    }
    at
}

/// Where a comment or the like ends: the first of `ends`, or the line's end.
fn comment(text: &[u8], start: usize, closed_by: Option<u8>, block: &mut Block) -> usize {
    let mut at = start + 1;
    let mut stray = None;
    let mut nested = None;
    while let Some(&byte) = text.get(at) {
        match byte {
            b'\n' | b'\r' => break,
            b if Some(b) == closed_by => {
                note(block, stray, nested);
                return at + 1;
            }
            b'(' if closed_by.is_some() => nested = nested.or(Some(at)),
            b'\t' => {}
            0..=0x1f | 0x7f..=0xff => stray = stray.or(Some(at)),
            _ => {}
        }
        at += 1;
    }
    note(block, stray, nested);
    if closed_by.is_some() {
        block.lose(FaultKind::OpenComment, start, at);
    }
    at
}

fn note(block: &mut Block, stray: Option<usize>, nested: Option<usize>) {
    if let Some(at) = stray {
        block.fault(FaultKind::StrayByteInComment, at, at + 1);
    }
    if let Some(at) = nested {
        block.fault(FaultKind::NestedComment, at, at + 1);
    }
}

#[cold]
fn other(text: &[u8], at: usize, first: bool, parameters: &Parameters, block: &mut Block) -> usize {
    match text.get(at) {
        Some(b'(') => comment(text, at, Some(b')'), block),
        Some(b';') => comment(text, at, None, block),
        Some(b'/') if first && !block.deletable => {
            block.deletable = true;
            // A digit after it names one of several switches.
            match text.get(at + 1) {
                Some(b'1'..=b'9') => at + 2,
                _ => at + 1,
            }
        }
        Some(b'%') => {
            let rest = text.get(at + 1..).unwrap_or_default();
            let end = rest
                .iter()
                .position(|b| matches!(b, b'\n' | b'\r'))
                .unwrap_or(rest.len());
            let bare = rest.iter().take(end).all(|b| matches!(b, b' ' | b'\t'));
            if first && bare {
                block.percent = true;
            } else {
                block.lose(FaultKind::Percent, at, at + 1);
            }
            at + 1
        }
        Some(b':') if first => label(text, at, block),
        Some(b'#') => assignment(text, at, parameters, block),
        Some(0..=0x1f | 0x7f..=0xff) => {
            let rest = text.get(at..).unwrap_or_default();
            let more = rest
                .iter()
                .take_while(|b| matches!(b, 0..=0x08 | 0x0b | 0x0c | 0x0e..=0x1f | 0x7f..=0xff));
            let end = at + more.count().max(1);
            block.lose(FaultKind::StrayByte, at, end);
            end
        }
        _ => {
            let rest = text.get(at..).unwrap_or_default();
            let more = rest.iter().take_while(|b| {
                b.is_ascii_graphic()
                    && !b.is_ascii_alphabetic()
                    && !matches!(b, b'(' | b';' | b'#' | b'%')
            });
            let end = at + more.count().max(1);
            block.lose(FaultKind::NotAWord, at, end);
            end
        }
    }
}

fn skip_blanks(text: &[u8], mut at: usize) -> usize {
    while let Some(b' ' | b'\t') = text.get(at) {
        at += 1;
    }
    at
}

/// `#n=value`.
fn assignment(text: &[u8], start: usize, parameters: &Parameters, block: &mut Block) -> usize {
    let broken = |block: &mut Block, end: usize| {
        block.lose(FaultKind::BadExpression, start, end);
        end.max(start + 1)
    };
    if text.get(skip_blanks(text, start + 1)) == Some(&b'<') {
        return flow(text, start, block);
    }
    let (number, end) = expr::value(text, start + 1, parameters);
    let number = match number {
        Ok(n) if (1.0..=5399.0).contains(&n) && (n - n.round()).abs() <= 0.0001 => {
            Value::Computed(n).whole()
        }
        Err(Without::Unset) => {
            // Any parameter may have been set.
            block.lose(FaultKind::UnsetParameter, start, end);
            None
        }
        _ => return broken(block, end),
    };
    let equals = skip_blanks(text, end);
    if text.get(equals) != Some(&b'=') {
        return broken(block, end);
    }
    let (value, end) = expr::value(text, equals + 1, parameters);
    match value {
        Ok(value) => {
            if let Some(number) = number {
                block.assignments.push((number, Some(value)));
            }
        }
        Err(Without::Unset) => {
            if let Some(number) = number {
                block.assignments.push((number, None));
            }
        }
        Err(Without::Undefined) => {
            block.lose(FaultKind::NoValue, start, end);
        }
        Err(Without::Unreadable) => return broken(block, end),
    }
    end
}

/// An O word or a colon: a label where digits and nothing of flow control follow.
fn label(text: &[u8], start: usize, block: &mut Block) -> usize {
    let mut at = skip_blanks(text, start + 1);
    let mut number: Option<u32> = None;
    while let Some(digit @ b'0'..=b'9') = text.get(at) {
        let so_far = number.unwrap_or(0);
        number = so_far
            .checked_mul(10)
            .and_then(|n| n.checked_add(u32::from(digit - b'0')))
            .or(Some(u32::MAX));
        at += 1;
    }
    let next = skip_blanks(text, at);
    match text.get(next) {
        _ if number.is_none() => flow(text, start, block),
        // A letter with a number behind it is a word of the same line; a name is flow control.
        Some(b) if b.is_ascii_alphabetic() => {
            let after = text.get(skip_blanks(text, next + 1));
            if after.is_some_and(u8::is_ascii_alphabetic) {
                flow(text, start, block)
            } else {
                block.label = number;
                at
            }
        }
        _ => {
            block.label = number;
            at
        }
    }
}

/// Flow control and macros: read over to the line's end, and said.
fn flow(text: &[u8], start: usize, block: &mut Block) -> usize {
    let rest = text.get(start..).unwrap_or_default();
    let length = rest
        .iter()
        .position(|b| matches!(b, b'\n' | b'\r'))
        .unwrap_or(rest.len());
    block.lose(FaultKind::FlowControl, start, start + length);
    start + length.max(1)
}

/// Words of flow control: none of them can be a letter with a value.
const FLOW: [&[u8]; 7] = [b"IF", b"WHILE", b"GOTO", b"DO", b"END", b"THEN", b"ELSE"];

#[inline]
fn word(
    text: &[u8],
    start: usize,
    first: bool,
    parameters: &Parameters,
    block: &mut Block,
) -> usize {
    let letter = text.get(start).map_or(0, u8::to_ascii_uppercase);
    if letter == b'O' {
        return label(text, start, block);
    }
    let mut at = skip_blanks(text, start + 1);
    let mut negative = false;
    let signed = matches!(text.get(at), Some(b'+' | b'-'));
    if signed {
        negative = text.get(at) == Some(&b'-');
        at += 1;
    }
    let mut mantissa: i64 = 0;
    let mut digits: u8 = 0;
    let mut any = false;
    let mut scale: u8 = 0;
    let mut has_point = false;
    let mut too_many = false;
    let mut end = at;
    loop {
        match text.get(at) {
            Some(digit @ b'0'..=b'9') => {
                any = true;
                if digits < MOST_DIGITS {
                    mantissa = mantissa * 10 + i64::from(digit - b'0');
                    // Leading noughts count for nothing.
                    digits += u8::from(mantissa != 0);
                    // A fraction of nothing but noughts could outgrow the count of digits.
                    if has_point {
                        if scale < MOST_DIGITS {
                            scale += 1;
                        } else {
                            too_many = true;
                            mantissa /= 10;
                        }
                    }
                } else {
                    too_many = true;
                    if !has_point {
                        // The size itself is lost.
                        digits = u8::MAX;
                    }
                }
                at += 1;
                end = at;
            }
            Some(b'.') if !has_point => {
                has_point = true;
                at += 1;
                end = at;
            }
            Some(b' ' | b'\t') => at = skip_blanks(text, at),
            _ => break,
        }
    }
    if !any {
        return without_digits(text, start, signed || has_point, letter, parameters, block);
    }
    if too_many || matches!(text.get(at), Some(b',' | b'.' | b'+' | b'-')) {
        return odd(
            text,
            start,
            end,
            too_many && digits != u8::MAX,
            block,
            || Word {
                letter,
                value: Value::Exact(Number {
                    mantissa: if negative { -mantissa } else { mantissa },
                    scale,
                    has_point,
                }),
                start: small(start),
                end: small(end),
            },
        );
    }
    if letter == b'N' {
        return line_number(start, end, first, signed || has_point, mantissa, block);
    }
    block.words.push(Word {
        letter,
        value: Value::Exact(Number {
            mantissa: if negative { -mantissa } else { mantissa },
            scale,
            has_point,
        }),
        start: small(start),
        end: small(end),
    });
    end
}

fn small(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

fn line_number(
    start: usize,
    end: usize,
    first: bool,
    odd: bool,
    mantissa: i64,
    block: &mut Block,
) -> usize {
    if !first || odd {
        block.fault(FaultKind::BadNumber, start, end);
    } else if mantissa > 99_999 {
        block.fault(FaultKind::LongNumber, start, end);
    }
    block.number = block.number.or(u32::try_from(mantissa).ok());
    end
}

/// A number that goes on in a way no number does.
#[cold]
fn odd(
    text: &[u8],
    start: usize,
    end: usize,
    only_long: bool,
    block: &mut Block,
    whole: impl FnOnce() -> Word,
) -> usize {
    let next = text.get(end).copied();
    let goes_on = |b: &u8| b.is_ascii_digit() || matches!(b, b'.' | b',' | b'+' | b'-');
    let tail = text.get(end..).unwrap_or_default();
    let stop = end + tail.iter().take_while(|b| goes_on(b)).count();
    if next == Some(b',') {
        block.lose(FaultKind::DecimalComma, start, stop);
    } else if stop > end {
        block.lose(FaultKind::NotAWord, start, stop);
    } else if only_long {
        block.fault(FaultKind::TooManyDigits, start, end);
        block.words.push(whole());
    } else {
        block.lose(FaultKind::TooManyDigits, start, end);
    }
    stop.max(start + 1)
}

/// A letter that no digit follows: an expression, flow control, or a fault.
#[cold]
fn without_digits(
    text: &[u8],
    start: usize,
    marked: bool,
    letter: u8,
    parameters: &Parameters,
    block: &mut Block,
) -> usize {
    let at = skip_blanks(text, start + 1);
    // A sign may stand before a parameter or a function, not before a bracket only.
    let bare = match text.get(at) {
        Some(b'+' | b'-') => skip_blanks(text, at + 1),
        _ => at,
    };
    if expr::begins(text, bare) {
        let (result, end) = expr::value(text, at, parameters);
        let value = match result {
            Ok(value) => Value::Computed(value),
            Err(Without::Unset) => {
                block.fault(FaultKind::UnsetParameter, start, end);
                Value::Unknown
            }
            Err(Without::Undefined) => {
                block.lose(FaultKind::NoValue, start, end);
                Value::Unknown
            }
            Err(Without::Unreadable) => {
                block.lose(FaultKind::BadExpression, start, end);
                return end.max(start + 1);
            }
        };
        block.words.push(Word {
            letter,
            value,
            start: small(start),
            end: small(end),
        });
        return end;
    }
    let rest = text.get(start..).unwrap_or_default();
    let is_flow = FLOW.iter().any(|word| {
        rest.get(..word.len())
            .is_some_and(|r| r.eq_ignore_ascii_case(word))
    });
    if is_flow {
        return flow(text, start, block);
    }
    let end = if marked {
        let odd = |b: &&u8| matches!(**b, b'+' | b'-' | b'.' | b',' | b'0'..=b'9' | b' ' | b'\t');
        start + 1 + rest.iter().skip(1).take_while(odd).count()
    } else {
        start + 1
    };
    block.lose(FaultKind::NoNumber, start, end);
    end
}

#[cfg(test)]
mod tests {
    use super::{Block, FaultKind, Parameters, line};

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
    fn nothing_is_lost_in_silence() {
        faulty(b"G1 X1 (oops", FaultKind::OpenComment);
        faulty(b"X--5", FaultKind::NoNumber);
        faulty(b"G1 X Y2", FaultKind::NoNumber);
        faulty(b"X1O Y2", FaultKind::FlowControl);
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
        faulty(b"% X1", FaultKind::Percent);
        faulty(
            format!("X1 ({})", "a".repeat(300)).as_bytes(),
            FaultKind::LongLine,
        );
    }

    /// Every byte of any text belongs to a word, a comment, a blank or a fault, so any text comes to its end.
    #[test]
    fn any_bytes_come_to_an_end() {
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
}
