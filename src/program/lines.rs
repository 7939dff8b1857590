//! The lines of a program, read through a buffer of fixed size.
//!
//! The buffer always holds whole lines, so that the end of a line is found while the line is read and not in a pass
//! before it.

use super::source::{Source, SourceError};

/// Size of the first buffer, in bytes: most programs are no longer, and allocating more takes time.
const FIRST: usize = 32 * 1024;
/// Size of the buffer for a longer program, in bytes.
const BUFFER: usize = 256 * 1024;
/// Length in bytes from which a line is reported and not read.
pub(crate) const LONGEST: usize = 64 * 1024;

/// A position in the file to return to.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct ReturnPoint {
    /// Offset in the file, in bytes.
    pub offset: u64,
    /// The line at that offset, from 1.
    pub line: u32,
}

/// The kinds of line ends in the file.
#[allow(clippy::struct_excessive_bools)]
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(crate) struct Ends {
    /// LF.
    pub lf: bool,
    /// CR LF.
    pub crlf: bool,
    /// CR alone.
    pub cr: bool,
    /// The last line had no line end.
    pub missing: bool,
}

impl Ends {
    /// Whether more than one kind was seen.
    pub(crate) fn mixed(self) -> bool {
        u8::from(self.lf) + u8::from(self.crlf) + u8::from(self.cr) > 1
    }
}

/// The lines of a source.
pub struct Lines<'s, S> {
    source: &'s mut S,
    buffer: Vec<u8>,
    at: usize,
    safe: usize,
    filled: usize,
    base: u64,
    line: u32,
    finished: bool,
    endless: bool,
    ends: Ends,
}

fn is_end(byte: u8) -> bool {
    matches!(byte, b'\n' | b'\r')
}

impl<'s, S: Source> Lines<'s, S> {
    /// The lines from the beginning. A byte order mark at the start is left for the reader of words.
    pub fn new(source: &'s mut S) -> Self {
        Self {
            source,
            buffer: vec![0; FIRST],
            at: 0,
            safe: 0,
            filled: 0,
            base: 0,
            line: 1,
            finished: false,
            endless: false,
            ends: Ends::default(),
        }
    }

    /// The text from the current line on, including its end; `None` at the end of the file.
    #[inline]
    pub fn window(&mut self) -> Result<Option<&[u8]>, SourceError> {
        if self.at >= self.safe {
            self.fill()?;
            if self.at >= self.safe {
                return Ok(None);
            }
        }
        Ok(self.buffer.get(self.at..self.safe))
    }

    /// The number of the current line.
    pub fn line(&self) -> u32 {
        self.line
    }

    /// The line ends so far.
    pub(crate) fn ends(&self) -> Ends {
        self.ends
    }

    /// The position of the current line.
    pub(crate) fn place(&self) -> ReturnPoint {
        ReturnPoint {
            offset: self.base + u64::try_from(self.at).unwrap_or(u64::MAX),
            line: self.line,
        }
    }

    /// Goes to a stored position.
    pub(crate) fn go_to(&mut self, place: ReturnPoint) {
        // The part that is still in the buffer need not be read again.
        let held = place
            .offset
            .checked_sub(self.base)
            .and_then(|n| usize::try_from(n).ok());
        if let Some(at) = held.filter(|at| *at < self.safe && !self.endless) {
            self.at = at;
            self.line = place.line;
            return;
        }
        self.base = place.offset;
        self.line = place.line;
        (self.at, self.safe, self.filled) = (0, 0, 0);
        (self.finished, self.endless) = (false, false);
    }

    /// Moves on to the line after the current one, which is `length` bytes long without its end.
    #[inline]
    pub fn advance(&mut self, length: usize) -> Result<(), SourceError> {
        if self.endless {
            return self.skip();
        }
        let end = self.at + length;
        let taken = match (self.buffer.get(end), self.buffer.get(end + 1)) {
            (Some(b'\n'), _) if end < self.safe => {
                self.ends.lf = true;
                1
            }
            (Some(b'\r'), Some(b'\n')) if end + 1 < self.safe => {
                self.ends.crlf = true;
                2
            }
            (Some(b'\r'), _) if end < self.safe => {
                self.ends.cr = true;
                1
            }
            _ => {
                self.ends.missing = true;
                0
            }
        };
        self.at = end + taken;
        self.line = self.line.saturating_add(1);
        Ok(())
    }

    /// Skips the rest of a line that is too long.
    fn skip(&mut self) -> Result<(), SourceError> {
        self.endless = false;
        loop {
            let rest = self.buffer.get(self.at..self.filled).unwrap_or_default();
            if let Some(length) = rest.iter().position(|b| is_end(*b)) {
                // The text up to `filled` may be examined: the end of the line is in it.
                self.safe = self.filled;
                let end = self.at + length;
                // A CR at the end of the buffer may belong to an LF that is not read yet.
                if end + 1 < self.filled || self.finished {
                    self.advance(length)?;
                    self.mark();
                    return Ok(());
                }
                self.at = end;
            } else {
                self.at = self.filled;
                if self.finished {
                    self.line = self.line.saturating_add(1);
                    self.ends.missing = true;
                    self.safe = self.at;
                    return Ok(());
                }
            }
            self.more()?;
        }
    }

    /// Reads more bytes, after moving the unread rest to the front.
    fn more(&mut self) -> Result<(), SourceError> {
        self.buffer.copy_within(self.at..self.filled, 0);
        self.base += u64::try_from(self.at).unwrap_or(u64::MAX);
        self.filled -= self.at;
        self.at = 0;
        while !self.finished {
            if self.filled == self.buffer.len() {
                if self.filled >= BUFFER {
                    break;
                }
                self.buffer.resize(BUFFER, 0);
            }
            let offset = self.base + u64::try_from(self.filled).unwrap_or(u64::MAX);
            let room = self.buffer.get_mut(self.filled..).unwrap_or_default();
            let count = self.source.read_at(offset, room)?;
            self.filled = (self.filled + count).min(self.buffer.len());
            self.finished = count == 0;
        }
        Ok(())
    }

    /// Records up to which byte the buffer holds whole lines.
    fn mark(&mut self) {
        self.safe = if self.finished {
            self.filled
        } else {
            let held = self.buffer.get(self.at..self.filled).unwrap_or_default();
            // The LF of a CR at the very end may still follow.
            let last = held.len().saturating_sub(1);
            let end = held
                .iter()
                .enumerate()
                .rposition(|(i, b)| *b == b'\n' || (*b == b'\r' && i < last));
            end.map_or(self.at, |e| self.at + e + 1)
        };
    }

    #[cold]
    fn fill(&mut self) -> Result<(), SourceError> {
        self.more()?;
        self.mark();
        let none = self.safe <= self.at && self.filled > self.at;
        let long = self.finished
            && self.filled - self.at > LONGEST
            && !self
                .buffer
                .get(self.at..self.at + LONGEST)
                .unwrap_or_default()
                .iter()
                .any(|b| is_end(*b));
        if none || long {
            self.endless = true;
            self.safe = (self.at + LONGEST).min(self.filled);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::Lines;
    use crate::program::source::{Source, SourceError};

    /// Gives a few bytes at a time, as a slow file may.
    struct Slow<'a>(&'a [u8], usize);

    impl Source for Slow<'_> {
        fn read_at(&mut self, offset: u64, into: &mut [u8]) -> Result<usize, SourceError> {
            let most = into.len().min(self.1);
            self.0.read_at(offset, &mut into[..most])
        }
    }

    fn lines(bytes: &[u8], step: usize) -> Vec<(u32, Vec<u8>)> {
        let mut slow = Slow(bytes, step);
        let mut lines = Lines::new(&mut slow);
        let mut all = Vec::new();
        while let Some(window) = lines.window().unwrap() {
            let length = window
                .iter()
                .position(|b| matches!(b, b'\n' | b'\r'))
                .unwrap_or(window.len());
            let text = window[..length].to_vec();
            all.push((lines.line(), text));
            lines.advance(length).unwrap();
        }
        all
    }

    #[test]
    fn every_kind_of_line_end_ends_one_line() {
        let text = b"a\nb\r\nc\rd\n\r\ne";
        let expected: Vec<(u32, Vec<u8>)> = (1..)
            .zip(["a", "b", "c", "d", "", "e"])
            .map(|(n, t)| (n, t.into()))
            .collect();
        for step in 1..5 {
            assert_eq!(lines(text, step), expected);
        }
    }

    #[test]
    fn a_long_file_is_the_same_through_the_buffer() {
        let all: Vec<String> = (0..60_000).map(|n| format!("N{n} X{n}.5\r\n")).collect();
        let text = all.concat();
        let read = lines(text.as_bytes(), 100_000);
        let expected: Vec<&str> = text.lines().collect();
        assert_eq!(read.len(), expected.len());
        assert!(
            read.iter()
                .zip(&expected)
                .all(|((_, a), b)| a == b.as_bytes())
        );
    }

    #[test]
    fn a_line_without_end_does_not_fill_the_memory_and_the_next_is_read() {
        let mut text = vec![b'1'; 1_000_000];
        text.extend(b"\r\nM30\n");
        let read = lines(&text, 70_000);
        assert_eq!(read.len(), 2);
        assert_eq!(read[1], (2, b"M30".to_vec()));
    }
}
