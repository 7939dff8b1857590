//! Reads labels of subprograms, and reports flow control, which is not followed.

use super::word::skip_blanks;
use crate::program::block::Block;
use crate::program::fault::FaultKind;

/// Reads an O word or a colon: a label where digits follow, unless flow control follows them.
pub(super) fn label(text: &[u8], start: usize, block: &mut Block) -> usize {
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
        // A letter followed by a number is a word of the same line; a name is flow control.
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

/// Flow control and macros: skips the rest of the line and reports them.
pub(super) fn flow(text: &[u8], start: usize, block: &mut Block) -> usize {
    let rest = text.get(start..).unwrap_or_default();
    let length = rest
        .iter()
        .position(|b| matches!(b, b'\n' | b'\r'))
        .unwrap_or(rest.len());
    block.lose(FaultKind::FlowControl, start, start + length);
    start + length.max(1)
}
