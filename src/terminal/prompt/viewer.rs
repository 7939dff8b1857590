//! A desk for whoever only looks on: shows pages, at reading speed or at once, and is never asked anything.

use super::ask::{PromptError, Prompter, Question, Reply, Wait, WaitEnd};
use super::randomness;
use super::signals::{Signals, install};
use super::wait_display::WaitDisplay;
use crate::report::page::Page;
use crate::terminal::screen::{Screen, render};
use std::io;
use std::thread::sleep;
use std::time::{Duration, Instant};

/// How long a letter takes to read: some 1500 letters a minute.
const LETTER: Duration = Duration::from_millis(40);

/// The longest pause for one page.
const LONGEST: Duration = Duration::from_secs(8);

/// How often a pause looks up.
const TICK: Duration = Duration::from_millis(50);

/// Somebody looking on.
#[derive(Debug)]
pub(crate) struct Viewer {
    screen: Screen,
    /// None shows everything at once.
    signals: Option<&'static Signals>,
    ended: bool,
}

impl Viewer {
    /// An onlooker who is shown everything at once.
    pub(crate) fn at_once(screen: Screen) -> Self {
        Self {
            screen,
            signals: None,
            ended: false,
        }
    }

    /// An onlooker who reads. Ctrl-C ends it.
    ///
    /// # Errors
    /// Where Ctrl-C cannot be caught.
    pub(crate) fn reading(screen: Screen) -> Result<Self, PromptError> {
        let signals = install(!screen.style().still)?;
        Ok(Self {
            screen,
            signals: Some(signals),
            ended: false,
        })
    }

    fn wait(&mut self, time: Duration) {
        let Some(signals) = self.signals else {
            return;
        };
        let since = Instant::now();
        while since.elapsed() < time && !self.ended {
            if signals.take_pending() {
                self.ended = true;
            }
            sleep(TICK.min(time.saturating_sub(since.elapsed())));
        }
    }
}

fn failed(source: io::Error) -> PromptError {
    PromptError::Terminal {
        doing: "showing a page",
        source,
    }
}

impl Prompter for Viewer {
    fn show(&mut self, page: &Page) -> Result<(), PromptError> {
        self.screen.show(page).map_err(failed)?;
        if self.signals.is_some() {
            let text = render(page, &self.screen.style());
            let letters = text.chars().filter(|c| c.is_alphanumeric()).count();
            let letters = u32::try_from(letters).unwrap_or(u32::MAX);
            self.wait(LETTER.saturating_mul(letters).min(LONGEST));
        }
        if self.ended {
            return Err(PromptError::Disagrees("looking on was ended".to_owned()));
        }
        Ok(())
    }

    fn ask(&mut self, ask: &Question<'_>) -> Result<Reply, PromptError> {
        Err(PromptError::Unanswered {
            key: ask.key.clone(),
        })
    }

    fn watch(&mut self, watch: &Wait<'_>) -> Result<WaitEnd, PromptError> {
        let Some(limit) = watch.limit.filter(|_| self.signals.is_some()) else {
            return Ok(WaitEnd::Reached);
        };
        let mut shown = WaitDisplay::start(watch, &self.screen).map_err(failed)?;
        let since = Instant::now();
        while since.elapsed() < limit && !self.ended {
            shown.at(since.elapsed()).map_err(failed)?;
            self.wait(Duration::from_millis(100));
        }
        Ok(if self.ended {
            WaitEnd::Interrupted
        } else {
            WaitEnd::Reached
        })
    }

    fn pick_order(&mut self, n: usize) -> Result<Vec<usize>, PromptError> {
        Ok((0..n).collect())
    }

    fn code(&mut self) -> Result<String, PromptError> {
        randomness::code(randomness::system)
    }
}
