//! A line as it is typed: what keys do to it, and how it is drawn.

use super::keys::{Decoder, Press};
use super::line::LineRead;
use super::tty;
use crate::keys::wipe;
use crate::terminal::screen::width;
use crate::visible;
use console::Term;
use dialoguer::{Completion, History};
use std::fmt::Write;
use std::io;
use std::time::{Duration, Instant};

/// Room for a line before it moves in memory, which would leave a copy of a PIN behind.
const ROOM: usize = 4096;

/// Columns where the terminal does not say.
const COLUMNS: usize = 80;

/// How a line is shown while it is typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Echo {
    /// With a cursor that moves in it.
    Edited,
    /// As a terminal's own line mode does: characters, and backspaces over the last ones. Nothing moves the cursor.
    Plain,
    /// Not at all.
    Nothing,
}

/// What was typed of a line, and where the cursor stands in it.
#[derive(Debug, Default)]
pub(crate) struct Line {
    text: String,
    /// In bytes, at a character's beginning or behind the last one.
    cursor: usize,
}

/// What a key came to.
#[derive(Debug, PartialEq, Eq)]
enum Done {
    /// The line is finished.
    Line(String),
    End,
    Interrupted,
    /// It goes on; the cursor stood behind the last character and a character was typed there.
    Appended(char),
    /// It goes on, with something changed before or under the cursor, or the cursor moved.
    Changed,
    /// It goes on, and is to be drawn again.
    Redraw,
    /// An answer given before, or after that one, is to stand in its place.
    Older,
    Newer,
    /// It is to be completed.
    Complete,
    Nothing,
}

/// What helps with typing a line.
#[derive(Clone, Copy, Default)]
pub(crate) struct Assistance<'a> {
    /// Answers given before.
    pub history: Option<&'a dyn History<String>>,
    /// What completes a line.
    pub completion: Option<&'a dyn Completion>,
}

/// Where in the history the line stands, and what was typed before that.
#[derive(Default)]
struct Recalling {
    at: Option<usize>,
    typed: String,
}

impl Recalling {
    /// The line one step older or newer than the one at hand; none where there is none.
    fn step(&mut self, older: bool, line: &str, history: &dyn History<String>) -> Option<String> {
        let next = match (self.at, older) {
            (None, true) => Some(0),
            (Some(n), true) => Some(n + 1),
            (Some(n), false) => n.checked_sub(1),
            (None, false) => return None,
        };
        let found = match next {
            Some(n) => history.read(n)?,
            None => std::mem::take(&mut self.typed),
        };
        if self.at.is_none() {
            line.clone_into(&mut self.typed);
        }
        self.at = next;
        Some(found)
    }
}

impl Line {
    fn press(&mut self, key: Press, moves: bool) -> Done {
        let before = (self.text.len(), self.cursor);
        let (head, tail) = self.text.split_at(self.cursor);
        let previous = || head.char_indices().next_back().map_or(0, |(at, _)| at);
        let next = || self.cursor + tail.chars().next().map_or(0, char::len_utf8);
        match key {
            Press::Enter => {
                self.cursor = 0;
                return Done::Line(std::mem::take(&mut self.text));
            }
            Press::End if self.text.is_empty() => return Done::End,
            Press::Interrupt => return Done::Interrupted,
            Press::Redraw => return Done::Redraw,
            Press::Older => return Done::Older,
            Press::Newer => return Done::Newer,
            Press::Complete => return Done::Complete,
            Press::Char(c) => {
                let appends = tail.is_empty();
                self.text.reserve(ROOM);
                self.text.insert(self.cursor, c);
                self.cursor += c.len_utf8();
                return if appends {
                    Done::Appended(c)
                } else {
                    Done::Changed
                };
            }
            Press::Backspace => self.erase(previous(), self.cursor),
            Press::EraseWord => self.erase(word_before(head), self.cursor),
            Press::EraseBefore => self.erase(0, self.cursor),
            _ if !moves => {}
            Press::Delete | Press::End => self.erase(self.cursor, next()),
            Press::EraseAfter => self.erase(self.cursor, self.text.len()),
            Press::Left => self.cursor = previous(),
            Press::Right => self.cursor = next(),
            Press::WordLeft => self.cursor = word_before(head),
            Press::WordRight => self.cursor += word_after(tail),
            Press::Home => self.cursor = 0,
            Press::Last => self.cursor = self.text.len(),
        }
        if (self.text.len(), self.cursor) == before {
            Done::Nothing
        } else {
            Done::Changed
        }
    }

    fn erase(&mut self, from: usize, to: usize) {
        self.text.drain(from..to);
        self.cursor = from;
    }

    /// Puts another text in its place, the cursor behind it.
    fn replace(&mut self, text: &str) {
        self.text.clear();
        self.text.push_str(text);
        self.cursor = self.text.len();
    }

    fn wipe(&mut self) {
        let mut bytes = std::mem::take(&mut self.text).into_bytes();
        wipe(&mut bytes);
        self.cursor = 0;
    }
}

/// Where the last word of a text begins.
fn word_before(text: &str) -> usize {
    let words = text.trim_end();
    words
        .char_indices()
        .rev()
        .find(|(_, c)| c.is_whitespace())
        .map_or(0, |(at, c)| at + c.len_utf8())
}

/// Where the first word of a text ends.
fn word_after(text: &str) -> usize {
    let blank = text.len() - text.trim_start().len();
    text.get(blank..)
        .and_then(|words| words.find(char::is_whitespace))
        .map_or(text.len(), |end| blank + end)
}

/// A character as it is shown; one that would steer the terminal is written out.
fn shown(c: char, out: &mut String) {
    let mut one = [0; 4];
    out.push_str(&visible::line(c.encode_utf8(&mut one)));
}

/// Rows and columns from where a text begins to where the cursor stands behind it.
fn place(text: &str, columns: usize) -> (usize, usize) {
    let (mut row, mut column) = (0, 0);
    let mut one = [0; 4];
    for c in text.chars() {
        let wide = width(c.encode_utf8(&mut one));
        if column + wide > columns {
            row += 1;
            column = 0;
        }
        column += wide;
    }
    // A character in the last column leaves the cursor there; `draw` sends it on.
    if column >= columns {
        (row + 1, 0)
    } else {
        (row, column)
    }
}

/// Keys as they come in, and the line they have made so far.
#[derive(Debug, Default)]
pub(crate) struct Lines {
    line: Line,
    decoder: Decoder,
    /// A key that came with the same byte as the one before it.
    second: Option<Press>,
}

impl Lines {
    /// Nothing typed yet.
    pub(crate) fn new() -> Self {
        Self::default()
    }

    /// Throws away everything typed so far; how many bytes that was, where the system says.
    pub(crate) fn discard(&mut self) -> io::Result<u64> {
        self.line.wipe();
        (self.decoder, self.second) = (Decoder::default(), None);
        tty::discard()
    }

    /// Waits for a line of which nothing is shown, but no longer than this. To be called while `tty::keys` is in force.
    pub(crate) fn next(&mut self, wait: Duration) -> io::Result<LineRead> {
        let since = Instant::now();
        loop {
            match self.key(wait.saturating_sub(since.elapsed()), false)? {
                None => return Ok(LineRead::Nothing),
                Some(Done::Line(line)) => return Ok(LineRead::Line(line)),
                Some(Done::End) => return Ok(LineRead::End),
                Some(Done::Interrupted) => return Ok(LineRead::Interrupted),
                Some(_) => {}
            }
        }
    }

    /// Asks for one line on standard error. `called_off` is asked now and then whether to give up.
    pub(crate) fn ask(
        &mut self,
        prompt: &str,
        echo: Echo,
        assistance: Assistance<'_>,
        tick: Duration,
        called_off: impl Fn() -> bool,
    ) -> io::Result<LineRead> {
        match self.asked(prompt, echo, assistance, tick, called_off) {
            // Once the terminal has hung up, what fails says nothing of that.
            Err(_) if tty::gone() => Ok(LineRead::End),
            asked => asked,
        }
    }

    fn asked(
        &mut self,
        prompt: &str,
        echo: Echo,
        assistance: Assistance<'_>,
        tick: Duration,
        called_off: impl Fn() -> bool,
    ) -> io::Result<LineRead> {
        let mut recalling = Recalling::default();
        let _keys = tty::keys()?;
        let term = Term::stderr();
        let mut continued = tty::continued();
        let mut drawing = Drawing {
            prompt,
            echo,
            term: &term,
            at: (0, 0),
            below: 0,
            plain: 0,
        };
        drawing.begin(&self.line)?;
        loop {
            if called_off() {
                return Ok(LineRead::Interrupted);
            }
            if continued != tty::continued() {
                continued = tty::continued();
                drawing.begin(&self.line)?;
            }
            match self.key(tick, echo == Echo::Edited)? {
                None | Some(Done::Nothing) => {}
                Some(key @ (Done::Older | Done::Newer)) => {
                    let found = assistance.history.and_then(|history| {
                        recalling.step(key == Done::Older, &self.line.text, history)
                    });
                    if let Some(found) = found {
                        self.line.replace(&found);
                        drawing.replaced(&self.line)?;
                    }
                }
                Some(Done::Complete) => {
                    let at_end = self.line.cursor == self.line.text.len();
                    let completion = assistance.completion.filter(|_| at_end);
                    if let Some(found) = completion.and_then(|c| c.get(&self.line.text)) {
                        self.line.replace(&found);
                        drawing.replaced(&self.line)?;
                    }
                }
                Some(Done::Appended(c)) => drawing.appended(c, &self.line)?,
                Some(Done::Redraw) => drawing.again(&self.line)?,
                Some(Done::Changed) => drawing.changed(&self.line)?,
                Some(Done::Line(line)) => {
                    drawing.finished()?;
                    return Ok(LineRead::Line(line));
                }
                Some(Done::End) => return Ok(LineRead::End),
                Some(Done::Interrupted) => return Ok(LineRead::Interrupted),
            }
        }
    }

    /// Waits for a byte and takes it in; nothing where none came, else what it came to.
    fn key(&mut self, wait: Duration, moves: bool) -> io::Result<Option<Done>> {
        if let Some(key) = self.second.take() {
            return Ok(Some(self.line.press(key, moves)));
        }
        let byte = match tty::byte(wait)? {
            tty::Got::Byte(byte) => byte,
            tty::Got::End => return Ok(Some(Done::End)),
            tty::Got::Nothing => {
                self.decoder.pause();
                return Ok(None);
            }
        };
        let (first, second) = self.decoder.push(byte);
        self.second = second;
        Ok(Some(match first {
            Some(key) => self.line.press(key, moves),
            None => Done::Nothing,
        }))
    }
}

/// A prompt and the line behind it on a terminal.
struct Drawing<'a> {
    prompt: &'a str,
    echo: Echo,
    term: &'a Term,
    /// Row and column of the cursor, counted from the prompt's beginning.
    at: (usize, usize),
    /// Rows of the drawing below the cursor.
    below: usize,
    /// How many columns of the line a plain terminal shows.
    plain: usize,
}

impl Drawing<'_> {
    /// Draws it at the beginning of a row.
    fn begin(&mut self, line: &Line) -> io::Result<()> {
        (self.at, self.below, self.plain) = ((0, 0), 0, 0);
        if self.echo == Echo::Edited && !line.text.is_empty() {
            return self.draw(line);
        }
        self.at = place(self.prompt, columns());
        self.term.write_str(self.prompt)?;
        self.over(line)
    }

    fn appended(&mut self, c: char, line: &Line) -> io::Result<()> {
        let mut out = String::new();
        shown(c, &mut out);
        let wide = width(&out);
        match self.echo {
            Echo::Nothing => Ok(()),
            Echo::Plain => {
                self.plain += wide;
                self.term.write_str(&out)
            }
            Echo::Edited if self.at.1 + wide < columns() => {
                self.at.1 += wide;
                self.term.write_str(&out)
            }
            Echo::Edited => self.draw(line),
        }
    }

    fn changed(&mut self, line: &Line) -> io::Result<()> {
        if self.echo == Echo::Edited {
            self.draw(line)
        } else {
            self.over(line)
        }
    }

    /// Draws a line that stands in the place of another.
    fn replaced(&mut self, line: &Line) -> io::Result<()> {
        match self.echo {
            Echo::Edited => self.draw(line),
            Echo::Plain => {
                self.term
                    .write_str(&"\u{8} \u{8}".repeat(std::mem::take(&mut self.plain)))?;
                self.over(line)
            }
            Echo::Nothing => Ok(()),
        }
    }

    fn again(&mut self, line: &Line) -> io::Result<()> {
        if self.echo == Echo::Edited {
            return self.draw(line);
        }
        self.term.write_str("\n")?;
        self.begin(line)
    }

    /// Draws all of it over what stands there, the cursor where it stands in the line.
    fn draw(&mut self, line: &Line) -> io::Result<()> {
        let columns = columns();
        let (head, tail) = line.text.split_at(line.cursor);
        let mut text = self.prompt.to_owned();
        head.chars().for_each(|c| shown(c, &mut text));
        let at = place(&text, columns);
        tail.chars().for_each(|c| shown(c, &mut text));
        let end = place(&text, columns);
        let mut out = String::new();
        if self.at.0 > 0 {
            let _ = write!(out, "\x1b[{}A", self.at.0);
        }
        let _ = write!(out, "\r\x1b[J{text}");
        if end.1 == 0 {
            // The last column is filled: the cursor goes on only when something follows.
            out.push_str("\r\n");
        }
        if at != end {
            if end.0 > at.0 {
                let _ = write!(out, "\x1b[{}A", end.0 - at.0);
            }
            out.push('\r');
            if at.1 > 0 {
                let _ = write!(out, "\x1b[{}C", at.1);
            }
        }
        (self.at, self.below) = (at, end.0 - at.0);
        self.term.write_str(&out)
    }

    /// Without moving the cursor back further than over the last characters: takes those away that are gone, or shows those
    /// that are not shown yet.
    fn over(&mut self, line: &Line) -> io::Result<()> {
        if self.echo == Echo::Nothing {
            return Ok(());
        }
        let mut out = String::new();
        line.text.chars().for_each(|c| shown(c, &mut out));
        let wide = width(&out);
        if wide < self.plain {
            out = "\u{8} \u{8}".repeat(self.plain - wide);
        }
        self.plain = wide;
        self.term.write_str(&out)
    }

    /// Leaves the cursor on the row below the drawing.
    fn finished(&mut self) -> io::Result<()> {
        self.term.write_str(&"\n".repeat(self.below + 1))
    }
}

fn columns() -> usize {
    tty::columns().unwrap_or(COLUMNS)
}

#[cfg(test)]
mod tests {
    use super::{Done, Line, Press, Recalling, place};
    use dialoguer::{BasicHistory, History};

    #[test]
    fn stepping_through_answers_comes_back_to_what_was_typed() {
        let mut history = BasicHistory::new();
        for said in ["0.1", "0.2"] {
            history.write(&said.to_owned());
        }
        let mut recalling = Recalling::default();
        let mut line = "0.".to_owned();
        let mut steps = |older| {
            let found = recalling.step(older, &line, &history);
            if let Some(found) = &found {
                line.clone_from(found);
            }
            found
        };
        assert_eq!(steps(false), None);
        assert_eq!(steps(true).as_deref(), Some("0.2"));
        assert_eq!(steps(true).as_deref(), Some("0.1"));
        assert_eq!(steps(true), None);
        assert_eq!(steps(false).as_deref(), Some("0.2"));
        assert_eq!(steps(false).as_deref(), Some("0."));
        assert_eq!(steps(false), None);
    }

    fn typed(text: &str) -> Line {
        let mut line = Line::default();
        for c in text.chars() {
            assert_eq!(line.press(Press::Char(c), true), Done::Appended(c));
        }
        line
    }

    fn taken(mut line: Line) -> String {
        match line.press(Press::Enter, true) {
            Done::Line(text) => text,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn keys_change_the_line_where_the_cursor_stands() {
        use Press::{
            Backspace, Char, Delete, End, EraseAfter, EraseBefore, EraseWord, Home, Last, Left,
            Right, WordLeft, WordRight,
        };
        let cases: [(&str, &[Press], &str); 12] = [
            ("0.15", &[Left, Backspace, Char('2')], "0.25"),
            ("größe", &[Left, Left, Backspace, Char('s')], "grsße"),
            ("abc", &[Home, Delete], "bc"),
            ("abc", &[Home, End], "bc"),
            ("abc", &[Home, Right, EraseAfter], "a"),
            ("abc", &[Left, EraseBefore], "c"),
            ("note a clamp", &[EraseWord], "note a "),
            ("note a  ", &[EraseWord, EraseWord], ""),
            ("note a clamp", &[WordLeft, Char('x')], "note a xclamp"),
            ("note a", &[Home, WordRight, Char('s')], "notes a"),
            ("a", &[Left, Left, Right, Right, Last, Char('b')], "ab"),
            ("", &[Backspace, Delete, EraseWord, Left, Right], ""),
        ];
        for (text, keys, wanted) in cases {
            let mut line = typed(text);
            for &key in keys {
                line.press(key, true);
            }
            assert_eq!(taken(line), wanted, "{text} {keys:?}");
        }
    }

    #[test]
    fn without_a_moving_cursor_a_line_changes_only_at_its_end() {
        let mut line = typed("12");
        for key in [Press::Left, Press::Home, Press::Delete, Press::End] {
            assert_eq!(line.press(key, false), Done::Nothing);
        }
        assert_eq!(line.press(Press::Backspace, false), Done::Changed);
        assert_eq!(line.press(Press::Char('3'), false), Done::Appended('3'));
        assert_eq!(taken(line), "13");
        assert_eq!(Line::default().press(Press::End, false), Done::End);
    }

    #[test]
    fn a_row_that_is_full_leaves_the_cursor_on_the_next() {
        assert_eq!(place("> abc", 8), (0, 5));
        assert_eq!(place("> abcdef", 8), (1, 0));
        assert_eq!(place("> abcdefg", 8), (1, 1));
        // A sign of two columns does not fit in the last one.
        assert_eq!(place("> abcde\u{5e73}", 8), (1, 2));
    }
}
