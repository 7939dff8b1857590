//! Reads one word: a letter and its number, or the text in place of the number.

use super::label::{flow, label};
use crate::program::block::{Block, Word};
use crate::program::expr::{self, NoValue, Parameters};
use crate::program::fault::FaultKind;
use crate::program::number::{MOST_DIGITS, Number, Value};

/// Words of flow control; none of them can be a letter with a value.
const FLOW: [&[u8]; 7] = [b"IF", b"WHILE", b"GOTO", b"DO", b"END", b"THEN", b"ELSE"];

pub(super) fn skip_blanks(text: &[u8], mut at: usize) -> usize {
    while let Some(b' ' | b'\t') = text.get(at) {
        at += 1;
    }
    at
}

#[inline]
pub(super) fn word(
    text: &[u8],
    start: usize,
    first: bool,
    parameters: &Parameters,
    block: &mut Block,
) -> usize {
    let letter = text.get(start).map_or(0, u8::to_ascii_uppercase);
    if letter == b'O' {
        if block.words.is_empty() {
            return label(text, start, block);
        }
        // After any other letter, the letter O is a slip for the digit zero.
        let rest = text.get(start + 1..).unwrap_or_default();
        let digits = |b: &&u8| b.is_ascii_digit() || matches!(**b, b'O' | b'o' | b'.');
        let end = start + 1 + rest.iter().take_while(digits).count();
        block.lose(FaultKind::LetterO, start, end);
        return end;
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
                    // Leading zeros do not count as digits.
                    digits += u8::from(mantissa != 0);
                    // A fraction of only zeros could exceed the largest number of digits.
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
                        // Without these digits the size of the number is unknown.
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
    let word = || Word {
        letter,
        value: Value::Exact(Number {
            mantissa: if negative { -mantissa } else { mantissa },
            scale,
            has_point,
        }),
        start: small(start),
        end: small(end),
    };
    if too_many || matches!(text.get(at), Some(b',' | b'.' | b'+' | b'-')) {
        let only_long = too_many && digits != u8::MAX;
        return odd(text, start, end, only_long, block, word);
    }
    if letter == b'N' {
        return line_number(start, end, first, signed || has_point, mantissa, block);
    }
    block.words.push(word());
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

/// Reports a number followed by characters that cannot belong to it.
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

/// Reads a letter without a digit after it: an expression, flow control, or a fault.
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
    // A sign may come before a parameter or a function too, not only before a bracket.
    let bare = match text.get(at) {
        Some(b'+' | b'-') => skip_blanks(text, at + 1),
        _ => at,
    };
    if expr::begins(text, bare) {
        let (result, end) = expr::value(text, at, parameters);
        let value = match result {
            Ok(value) => Value::Computed(value),
            Err(NoValue::Unset) => {
                block.fault(FaultKind::UnsetParameter, start, end);
                Value::Unknown
            }
            Err(NoValue::Undefined) => {
                block.lose(FaultKind::NoValue, start, end);
                Value::Unknown
            }
            Err(NoValue::Unreadable) => {
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
