//! A person at a terminal.

use super::ask::{PromptError, Prompter, Question, Reply, SecretReply, Taken, Wait, WaitEnd};
use super::assist::{Completions, Recall, prompt_line};
use super::line::{LineRead, Lines};
use super::signals::{Signals, install};
#[cfg(unix)]
use super::{edit, tty};
use super::{randomness, wait_display};
use crate::keys::Secret;
use crate::report::page::{Page, Tone};
use crate::terminal::screen::{Screen, clean, width};
use std::io::{self, IsTerminal};
use std::time::{Duration, Instant};

/// Longest prompt that shares its line with the answer.
const PROMPT: usize = 20;

/// Below this many columns an edited line would wrap at once.
#[cfg(unix)]
const ROOM_TO_EDIT: usize = 40;

/// How often a wait looks up from the keyboard.
const TICK: Duration = Duration::from_millis(100);

/// A reply this soon after its prompt was typed before it. Where input can be thrown away this is not needed, and would
/// only get in the way of programs that type.
const TOO_SOON: Duration = if cfg!(unix) {
    Duration::ZERO
} else {
    Duration::from_millis(60)
};

/// Asks on standard error and reads from standard input, both terminals.
#[derive(Debug)]
pub struct Terminal {
    screen: Screen,
    lines: Lines,
    recall: Recall,
    signals: &'static Signals,
    /// From a PIN to the next question nothing is echoed: a PIN typed a second time while the key is being opened must
    /// not stand on the screen.
    #[cfg(unix)]
    hushed: Option<tty::Back>,
}

impl Terminal {
    /// Opens the desk. Refused with `NoTerminal` unless standard input and standard error are terminals: an
    /// answer that a program types is for an answers file, and a prompt that nobody sees asks nobody.
    pub fn open(screen: Screen) -> Result<Self, PromptError> {
        if !io::stdin().is_terminal() {
            return Err(PromptError::NoTerminal {
                stream: "standard input",
            });
        }
        if !io::stderr().is_terminal() {
            return Err(PromptError::NoTerminal {
                stream: "standard error",
            });
        }
        let signals = install(!screen.style().still)?;
        Ok(Self {
            screen,
            lines: Lines::new(),
            recall: Recall::new(),
            signals,
            #[cfg(unix)]
            hushed: None,
        })
    }

    /// The prompt as it will stand before the cursor, and what goes on a line of its own above it.
    fn prompt(&self, prompt: &str) -> (String, Option<String>) {
        let prompt = clean(prompt, self.screen.style().unicode);
        if width(&prompt) > PROMPT {
            (prompt_line("", true), Some(prompt))
        } else {
            (prompt_line(&prompt, true), None)
        }
    }

    /// Throws away what was typed too early, and says so.
    fn discard(&mut self) -> Result<(), PromptError> {
        if self.lines.discard().map_err(failed("reading"))? > 0 {
            self.ignored()?;
        }
        Ok(())
    }

    /// Throws away what was typed since a PIN, and echoes again.
    fn unhush(&mut self) -> Result<(), PromptError> {
        self.discard()?;
        #[cfg(unix)]
        drop(self.hushed.take());
        Ok(())
    }

    /// What was read, or an interruption where a signal is pending: the signal outranks what the prompt made of it.
    fn or_interrupted(&self, got: LineRead) -> LineRead {
        let got = if self.signals.take_pending() {
            LineRead::Interrupted
        } else {
            got
        };
        if got == LineRead::Interrupted {
            self.signals.settle();
        }
        got
    }

    fn ignored(&mut self) -> Result<(), PromptError> {
        let page = Page::new().toned(
            Tone::Quiet,
            "What was typed before this prompt was not taken.",
        );
        self.show(&page)
    }

    /// Reads one line behind the prompt, in whichever way this terminal allows.
    #[cfg(unix)]
    fn read(&mut self, prompt: &str, completions: &Completions) -> io::Result<LineRead> {
        let style = self.screen.style();
        let echo = if style.still || style.width < ROOM_TO_EDIT {
            edit::Echo::Plain
        } else {
            edit::Echo::Edited
        };
        let assistance = edit::Assistance {
            history: Some(self.recall.history()),
            completion: Some(completions),
        };
        self.lines
            .ask(prompt, echo, assistance, TICK, || self.signals.pending())
    }

    /// Here the console edits the line.
    #[cfg(not(unix))]
    fn read(&mut self, prompt: &str, _completions: &Completions) -> io::Result<LineRead> {
        Screen::write(prompt)?;
        loop {
            if self.signals.pending() {
                return Ok(LineRead::Interrupted);
            }
            match self.lines.next(TICK)? {
                LineRead::Nothing => {}
                got => return Ok(got),
            }
        }
    }

    #[cfg(unix)]
    fn read_hidden(&mut self, prompt: &str) -> io::Result<LineRead> {
        let (echo, none) = (edit::Echo::Nothing, edit::Assistance::default());
        self.lines
            .ask(prompt, echo, none, TICK, || self.signals.pending())
    }

    #[cfg(not(unix))]
    fn read_hidden(&mut self, prompt: &str) -> io::Result<LineRead> {
        Screen::write(prompt)?;
        console::Term::stderr()
            .read_secure_line()
            .map(LineRead::Line)
    }

    /// Ends the line, puts the cursor back, and tells an interruption from a terminal that is gone.
    fn interrupted(&mut self) -> io::Result<bool> {
        let style = self.screen.style();
        Screen::write(if style.still { "\n" } else { "\x1b[?25h\n" })?;
        #[cfg(unix)]
        return Ok(!tty::gone());
        #[cfg(not(unix))]
        return Ok(true);
    }
}

fn failed(doing: &'static str) -> impl Fn(io::Error) -> PromptError {
    move |source| PromptError::Terminal { doing, source }
}

impl Prompter for Terminal {
    fn show(&mut self, page: &Page) -> Result<(), PromptError> {
        self.screen.show(page).map_err(failed("showing a page"))
    }

    fn lines_left(&self, page: &Page) -> usize {
        self.screen.lines_left(page)
    }

    fn ask(&mut self, ask: &Question<'_>) -> Result<Reply, PromptError> {
        let asking = failed("asking a question");
        loop {
            self.unhush()?;
            let (prompt, above) = self.prompt(ask.prompt);
            if let Some(above) = above {
                Screen::write(&format!("{above}\n")).map_err(&asking)?;
            }
            let reading = self.signals.reading();
            let since = Instant::now();
            let got = self.read(&prompt, &ask.completions).map_err(&asking)?;
            let got = self.or_interrupted(got);
            drop(reading);
            match got {
                LineRead::Line(_) if since.elapsed() < TOO_SOON => self.ignored()?,
                LineRead::Line(said) => {
                    self.signals.answered();
                    self.recall.answered(&said, ask.may_be_recalled);
                    return Ok(Reply::Said(said));
                }
                LineRead::End | LineRead::Nothing => {
                    Screen::write("\n").map_err(&asking)?;
                    return Ok(Reply::Closed);
                }
                LineRead::Interrupted => {
                    return if self.interrupted().map_err(&asking)? {
                        Ok(Reply::Interrupted)
                    } else {
                        Ok(Reply::Closed)
                    };
                }
            }
        }
    }

    fn secret(&mut self, prompt: &str) -> Result<SecretReply, PromptError> {
        self.recall.refused();
        let asking = failed("asking for a PIN");
        #[cfg(unix)]
        if self.hushed.is_none() {
            self.hushed = tty::hush_until_flushed();
            if self.hushed.is_none() {
                return Ok(SecretReply::Closed);
            }
        }
        let prompt = clean(prompt, self.screen.style().unicode);
        loop {
            self.discard()?;
            let reading = self.signals.reading();
            let got = self
                .read_hidden(&prompt_line(&prompt, false))
                .map_err(&asking)?;
            let got = self.or_interrupted(got);
            drop(reading);
            // The line end was not shown either.
            Screen::write("\n").map_err(&asking)?;
            return Ok(match got {
                // Different bytes that are no text would all read the same, so none of them is a PIN.
                LineRead::Line(typed) if typed.contains(char::REPLACEMENT_CHARACTER) => {
                    drop(Secret::new(typed));
                    let why = "Not taken: some of these keys gave bytes that are no UTF-8 text, so nothing was tried. Set the terminal to UTF-8, or use other keys.";
                    self.show(&Page::new().toned(Tone::Stop, why))?;
                    continue;
                }
                LineRead::Line(typed) => {
                    self.signals.answered();
                    SecretReply::Typed(Secret::new(typed))
                }
                LineRead::Interrupted if self.interrupted().map_err(&asking)? => {
                    SecretReply::Interrupted
                }
                LineRead::Interrupted | LineRead::End | LineRead::Nothing => SecretReply::Closed,
            });
        }
    }

    fn watch(&mut self, watch: &Wait<'_>) -> Result<WaitEnd, PromptError> {
        let watching = failed("waiting beside the machine");
        self.unhush()?;
        let reading = self.signals.reading();
        // Before anything is shown: it throws away what was typed, and Enter may be pressed as soon as there is something to see.
        #[cfg(unix)]
        let _keys = tty::keys();
        let mut shown = wait_display::WaitDisplay::start(watch, &self.screen).map_err(&watching)?;
        let since = Instant::now();
        let ended = loop {
            if self.signals.take_pending() {
                break WaitEnd::Interrupted;
            }
            let elapsed = watch.before + since.elapsed();
            let left = watch.limit.map(|limit| limit.saturating_sub(elapsed));
            if left == Some(Duration::ZERO) {
                break WaitEnd::Reached;
            }
            shown.at(elapsed).map_err(&watching)?;
            match self
                .lines
                .next(left.map_or(TICK, |left| left.min(TICK)))
                .map_err(&watching)?
            {
                LineRead::Line(said) => {
                    let elapsed = watch.before + since.elapsed();
                    break WaitEnd::Enter { elapsed, said };
                }
                LineRead::End => break WaitEnd::Closed,
                LineRead::Interrupted => break WaitEnd::Interrupted,
                LineRead::Nothing => {}
            }
        };
        drop(shown);
        if ended == WaitEnd::Interrupted {
            self.signals.settle();
        }
        drop(reading);
        if matches!(ended, WaitEnd::Enter { .. }) {
            self.signals.answered();
        }
        if ended == WaitEnd::Interrupted && !self.interrupted().map_err(&watching)? {
            return Ok(WaitEnd::Closed);
        }
        Ok(ended)
    }

    fn taken(&mut self, _as: Taken<'_>) -> Result<(), PromptError> {
        self.recall.taken();
        Ok(())
    }

    fn refused(&mut self, _why: &str) -> Result<(), PromptError> {
        self.recall.refused();
        Ok(())
    }

    fn pick_order(&mut self, n: usize) -> Result<Vec<usize>, PromptError> {
        randomness::order(n, randomness::system)
    }

    fn code(&mut self) -> Result<String, PromptError> {
        randomness::code(randomness::system)
    }
}
