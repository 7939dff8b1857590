//! A bar of elapsed against expected time. Drawn only where the cursor may be moved and there is room.

use super::style::Style;
use super::words::clean;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::time::Duration;

/// A bar on standard error, gone when dropped.
#[derive(Debug)]
pub(crate) struct Bar {
    drawn: ProgressBar,
    expected: Option<Duration>,
}

impl Bar {
    /// Draws a bar; without an expected time it is a running clock.
    pub(crate) fn start(title: &str, expected: Option<Duration>, style: &Style) -> Self {
        let title = clean(title, style.unicode).replace(['{', '}'], "");
        let room = style.width.saturating_sub(super::words::width(&title) + 32);
        let template = match expected {
            Some(_) if room >= 8 => format!("  {title}  {{bar:{}}}  {{msg}}", room.min(40)),
            _ if style.width >= 50 => format!("  {title}  {{msg}}"),
            _ => "  {msg}".to_owned(),
        };
        let signs = if style.unicode { "█░" } else { "#-" };
        let look = ProgressStyle::with_template(&template)
            .unwrap_or_else(|_| ProgressStyle::default_bar())
            .progress_chars(signs);
        let length = expected.map_or(1, millis).max(1);
        let drawn =
            ProgressBar::with_draw_target(Some(length), ProgressDrawTarget::stderr_with_hz(8));
        drawn.set_style(look);
        let bar = Self { drawn, expected };
        bar.at(Duration::ZERO);
        bar
    }

    /// Shows how far along it is.
    pub(crate) fn at(&self, elapsed: Duration) {
        self.drawn.set_message(said(elapsed, self.expected));
        if let Some(expected) = self.expected {
            self.drawn.set_position(millis(elapsed.min(expected)));
        }
        self.drawn.tick();
    }
}

impl Drop for Bar {
    fn drop(&mut self) {
        self.drawn.finish_and_clear();
    }
}

fn millis(time: Duration) -> u64 {
    u64::try_from(time.as_millis()).unwrap_or(u64::MAX)
}

/// `1:05 of about 4:10`, `4:30, 0:20 over`.
fn said(elapsed: Duration, expected: Option<Duration>) -> String {
    match expected {
        None => minutes(elapsed),
        Some(e) if elapsed.as_secs() > e.as_secs() => {
            let over = elapsed.saturating_sub(e);
            format!("{}, {} over", minutes(elapsed), minutes(over))
        }
        Some(e) => format!("{} of about {}", minutes(elapsed), minutes(e)),
    }
}

/// A time as minutes and seconds, `4:05`, begun seconds left out; hours in front where there are any, `1:02:03`.
pub(crate) fn minutes(time: Duration) -> String {
    let seconds = time.as_secs();
    let (hours, minutes, seconds) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
    match hours {
        0 => format!("{minutes}:{seconds:02}"),
        _ => format!("{hours}:{minutes:02}:{seconds:02}"),
    }
}

#[cfg(test)]
mod tests {
    use super::{minutes, said};
    use std::time::Duration;

    #[test]
    fn times_read_as_minutes_and_seconds() {
        assert_eq!(minutes(Duration::from_millis(5_900)), "0:05");
        assert_eq!(minutes(Duration::from_secs(250)), "4:10");
        assert_eq!(minutes(Duration::from_secs(3723)), "1:02:03");
    }

    #[test]
    fn past_the_expected_time_the_bar_says_by_how_much() {
        let expected = Some(Duration::from_secs(250));
        assert_eq!(
            said(Duration::from_secs(65), expected),
            "1:05 of about 4:10"
        );
        assert_eq!(
            said(Duration::from_secs(250), expected),
            "4:10 of about 4:10"
        );
        assert_eq!(said(Duration::from_secs(270), expected), "4:30, 0:20 over");
        assert_eq!(said(Duration::from_secs(65), None), "1:05");
    }
}
