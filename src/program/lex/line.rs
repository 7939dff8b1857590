//! Reads a line, byte by byte.

use super::comment::comment;
use super::label::label;
use super::parameter::assignment;
use super::word::word;
use crate::program::block::Block;
use crate::program::expr::Parameters;
use crate::program::fault::FaultKind;

/// Longest line that a control must accept, in characters (NISTIR 6556, 3.3).
pub const LONGEST_LINE: usize = 256;

/// Reads the first line of `text` into `block`; gives the length of the line without its end. `text` may continue after
/// the line.
#[inline]
pub fn line(text: &[u8], parameters: &Parameters, block: &mut Block) -> usize {
    block.clear();
    let mut at = 0;
    // Whether the line had anything but blanks before: N and the slash must come first.
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
                first = first && matches!(byte, b'/' | b'(' | b'%');
            }
        }
    }
    if at > LONGEST_LINE {
        block.fault(FaultKind::LongLine, LONGEST_LINE, at);
    }
    at
}

#[cold]
fn other(text: &[u8], at: usize, first: bool, parameters: &Parameters, block: &mut Block) -> usize {
    match text.get(at) {
        Some(b'(') => comment(text, at, Some(b')'), block),
        Some(b';') => comment(text, at, None, block),
        Some(b'/') if first && !block.deletable => {
            block.deletable = true;
            // A digit after the slash names one of several switches.
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
            let named = rest.iter().find(|b| !matches!(b, b' ' | b'\t'));
            if first && (bare || matches!(named, Some(b'(' | b';' | b'O' | b'o' | b':'))) {
                // The number of the program, or a comment, may follow.
                block.percent = true;
            } else if first {
                block.percent = true;
                block.fault(FaultKind::PercentText, at + 1, at + 1 + end);
                return at + 1 + end;
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
