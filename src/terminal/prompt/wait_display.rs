//! What is seen of a wait: a bar where the cursor may be moved, a line now and then where not.

use super::ask::Wait;
use crate::terminal::screen::{Bar, Screen, clean, minutes};
use std::io;
use std::time::Duration;

/// Without an expected time, and past it, a line this often.
const EVERY: Duration = Duration::from_secs(30);

/// A wait on show; a bar is taken away when this is dropped.
#[derive(Debug)]
pub(crate) enum WaitDisplay {
    /// Drawn.
    Bar(Bar),
    /// Told.
    Told(Narration),
}

impl WaitDisplay {
    /// Begins to show a wait.
    pub(crate) fn start(watch: &Wait<'_>, screen: &Screen) -> io::Result<Self> {
        let style = screen.style();
        if !style.still {
            return Ok(Self::Bar(Bar::start(watch.title, watch.expected, &style)));
        }
        let mut narration = Narration::new(&clean(watch.title, style.unicode), watch.expected);
        let line = if watch.before.is_zero() {
            narration.first()
        } else {
            let line = narration.line(watch.before);
            line.unwrap_or_else(|| format!("{}: {}", narration.title, minutes(watch.before)))
        };
        Screen::write(&format!("{line}\n"))?;
        Ok(Self::Told(narration))
    }

    /// Shows how far along it is.
    pub(crate) fn at(&mut self, elapsed: Duration) -> io::Result<()> {
        match self {
            Self::Bar(bar) => bar.at(elapsed),
            Self::Told(narration) => {
                if let Some(line) = narration.line(elapsed) {
                    Screen::write(&format!("{line}\n"))?;
                }
            }
        }
        Ok(())
    }
}

/// Says when a quarter of the expected time has gone by, and every 30 seconds where there is no such time left.
#[derive(Debug)]
pub(crate) struct Narration {
    title: String,
    expected: Option<Duration>,
    quarter: u32,
    spoken: Duration,
}

impl Narration {
    /// A wait that has just begun.
    pub(crate) fn new(title: &str, expected: Option<Duration>) -> Self {
        Self {
            title: title.to_owned(),
            expected: expected.filter(|e| !e.is_zero()),
            quarter: 0,
            spoken: Duration::ZERO,
        }
    }

    /// The line at the start.
    pub(crate) fn first(&self) -> String {
        match self.expected {
            Some(expected) => format!(
                "{}: begun, about {} expected",
                self.title,
                minutes(expected)
            ),
            None => format!("{}: begun", self.title),
        }
    }

    /// The line due at this time, if one is.
    pub(crate) fn line(&mut self, elapsed: Duration) -> Option<String> {
        let title = &self.title;
        if let Some(expected) = self.expected.filter(|_| self.quarter < 4) {
            let reached = (1..=4_u32)
                .rev()
                .find(|&q| elapsed >= expected * q / 4)
                .unwrap_or(0);
            if reached <= self.quarter {
                return None;
            }
            self.quarter = reached;
            self.spoken = elapsed;
            let percent = reached * 25;
            return Some(format!("{title}: {}, {percent} %", minutes(elapsed)));
        }
        if elapsed < self.spoken + EVERY {
            return None;
        }
        self.spoken = elapsed;
        Some(match self.expected {
            Some(expected) => {
                let over = minutes(elapsed.saturating_sub(expected));
                format!("{title}: {}, {over} over", minutes(elapsed))
            }
            None => format!("{title}: {}", minutes(elapsed)),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::Narration;
    use std::time::Duration;

    fn narrated(expected: Option<u64>, until: u64) -> Vec<String> {
        let mut narration = Narration::new("cut", expected.map(Duration::from_secs));
        let mut lines = vec![narration.first()];
        lines.extend((0..=until).filter_map(|s| narration.line(Duration::from_secs(s))));
        lines
    }

    #[test]
    fn quarters_are_told_and_then_every_half_minute_over() {
        assert_eq!(
            narrated(Some(240), 305),
            [
                "cut: begun, about 4:00 expected",
                "cut: 1:00, 25 %",
                "cut: 2:00, 50 %",
                "cut: 3:00, 75 %",
                "cut: 4:00, 100 %",
                "cut: 4:30, 0:30 over",
                "cut: 5:00, 1:00 over",
            ]
        );
    }

    #[test]
    fn without_an_expected_time_every_half_minute() {
        let lines = ["cut: begun", "cut: 0:30", "cut: 1:00"];
        assert_eq!(narrated(None, 65), lines);
        assert_eq!(narrated(Some(0), 65), lines);
    }
}
