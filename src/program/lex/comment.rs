//! Reads comments.

use crate::program::block::Block;
use crate::program::fault::FaultKind;

/// Reads a comment; gives the position of its end: the first of `ends`, or the end of the line.
pub(super) fn comment(
    text: &[u8],
    start: usize,
    closed_by: Option<u8>,
    block: &mut Block,
) -> usize {
    let mut at = start + 1;
    let mut stray = None;
    let mut nested = None;
    while let Some(&byte) = text.get(at) {
        match byte {
            b'\n' | b'\r' => break,
            b if Some(b) == closed_by => {
                remember(block, start, at + 1);
                if let Some(end) = closed_late(text, at + 1) {
                    note(block, stray, None);
                    block.lose(FaultKind::CommentClosedEarly, at, end);
                    return end;
                }
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
    remember(block, start, at);
    note(block, stray, nested);
    if closed_by.is_some() {
        block.lose(FaultKind::OpenComment, start, at);
    }
    at
}

fn remember(block: &mut Block, start: usize, end: usize) {
    let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
    block.comment = block.comment.or(Some((small(start), small(end))));
}

/// The position after a closing bracket in the rest of the line that has no opening one: the text of the comment
/// continued after its end.
fn closed_late(text: &[u8], from: usize) -> Option<usize> {
    let mut open = false;
    for (n, byte) in text.get(from..)?.iter().enumerate() {
        match byte {
            b'\n' | b'\r' | b';' => return None,
            b'(' => open = true,
            b')' if open => open = false,
            b')' => return Some(from + n + 1),
            _ => {}
        }
    }
    None
}

fn note(block: &mut Block, stray: Option<usize>, nested: Option<usize>) {
    if let Some(at) = stray {
        block.fault(FaultKind::StrayByteInComment, at, at + 1);
    }
    if let Some(at) = nested {
        block.fault(FaultKind::NestedComment, at, at + 1);
    }
}
