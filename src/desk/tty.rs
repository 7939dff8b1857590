//! The terminal by way of POSIX: waits for a line without being stuck in a read, throws away what was typed too early,
//! keeps Enter from being echoed into a bar.
//!
//! A blocking read on a thread would be portable, but could not be called off: it would steal the line meant for the next
//! question. Here the read is only made once `poll` says there is a line.

use super::line::{Got, text};
use crate::keys::wipe;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::io::{Errno, ioctl_fionread, read, write};
use rustix::stdio::{stderr, stdin};
use rustix::termios::{
    LocalModes, OptionalActions, QueueSelector, Termios, tcflush, tcgetattr, tcsetattr,
};
use std::io;
use std::time::Duration;

/// Lines from the terminal on standard input.
#[derive(Debug, Default)]
pub struct Lines {
    partial: Vec<u8>,
}

impl Lines {
    /// Nothing read yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Whether part of a line has been taken already, so that another way of reading would get only the rest.
    pub fn busy(&self) -> bool {
        !self.partial.is_empty()
    }

    /// Throws away everything typed so far; how many bytes that was, where the system says.
    pub fn discard(&mut self) -> io::Result<u64> {
        wipe(&mut self.partial);
        self.partial.clear();
        let waiting = waiting();
        match tcflush(stdin(), QueueSelector::IFlush) {
            // A terminal that hung up has nothing to throw away; the read that follows finds out.
            Ok(()) | Err(Errno::IO) => Ok(waiting),
            Err(error) => Err(error.into()),
        }
    }

    /// Waits for a line, but no longer than this.
    pub fn next(&mut self, wait: Duration) -> io::Result<Got> {
        match ready(wait) {
            Ok(true) => {}
            Ok(false) => return Ok(Got::Nothing),
            Err(error) if error.raw_os_error() == Some(Errno::IO.raw_os_error()) => {
                return Ok(Got::End);
            }
            Err(error) => return Err(error),
        }
        let mut buffer = [0_u8; 4096];
        // A read from a terminal in line mode gives one line at most; the lines after it stay where they can be flushed.
        let taken = match read(stdin(), &mut buffer) {
            Ok(0) | Err(Errno::IO) => return Ok(Got::End),
            Ok(taken) => taken,
            Err(Errno::INTR | Errno::AGAIN) => return Ok(Got::Nothing),
            Err(error) => return Err(error.into()),
        };
        self.partial.extend(buffer.iter().take(taken));
        wipe(&mut buffer);
        if self.partial.ends_with(b"\n") || self.partial.ends_with(b"\r") {
            let line = text(&self.partial);
            wipe(&mut self.partial);
            self.partial.clear();
            return Ok(Got::Line(line));
        }
        Ok(Got::Nothing)
    }
}

/// Bytes waiting to be read, begun lines included. In line mode the system counts only finished ones, so line mode is
/// left for the moment of counting.
fn waiting() -> u64 {
    let Ok(before) = tcgetattr(stdin()) else {
        return 0;
    };
    let mut counting = before.clone();
    counting.local_modes.remove(LocalModes::ICANON);
    if tcsetattr(stdin(), OptionalActions::Now, &counting).is_err() {
        return 0;
    }
    let _back = Back::now(before);
    ioctl_fionread(stdin()).unwrap_or(0)
}

/// Waits until there is something to read, a line in line mode or a key in raw mode, but no longer than this.
pub fn ready(wait: Duration) -> io::Result<bool> {
    let terminal = stdin();
    let mut polled = [PollFd::new(&terminal, PollFlags::IN)];
    let wait = Timespec {
        tv_sec: i64::try_from(wait.as_secs()).unwrap_or(i64::MAX),
        tv_nsec: i64::from(wait.subsec_nanos()),
    };
    match poll(&mut polled, Some(&wait)) {
        Ok(0) | Err(Errno::INTR) => Ok(false),
        // Hung up with nothing left to read: whoever waited for a key would wait in a circle.
        Ok(_) if !polled.iter().any(|p| p.revents().contains(PollFlags::IN)) => {
            Err(Errno::IO.into())
        }
        Ok(_) => Ok(true),
        Err(error) => Err(error.into()),
    }
}

/// Hands over keys as they are pressed, unechoed, as long as the result lives; what was typed up to now is thrown away.
/// The prompt crate goes back to line mode between any two keys: what arrives then is echoed twice, and a Ctrl-C is a
/// signal instead of a key. Held around it, this leaves no such gap.
pub fn raw() -> io::Result<Back> {
    let before = tcgetattr(stdin())?;
    let mut raw = before.clone();
    raw.make_raw();
    raw.output_modes = before.output_modes;
    tcsetattr(stdin(), OptionalActions::Flush, &raw)?;
    Ok(Back::now(before))
}

/// Whether the terminal on standard input has hung up.
pub fn gone() -> bool {
    tcgetattr(stdin()).is_err()
}

/// Makes the cursor visible again and ends the line, without waiting for any lock: the program is about to leave.
pub fn cursor_back() {
    let _ = write(stderr(), b"\x1b[?25h\r\n");
}

/// Puts the terminal's modes back when dropped.
#[derive(Debug)]
pub struct Back {
    before: Termios,
    how: OptionalActions,
}

impl Back {
    fn now(before: Termios) -> Self {
        Self {
            before,
            how: OptionalActions::Now,
        }
    }
}

impl Drop for Back {
    fn drop(&mut self) {
        let _ = tcsetattr(stdin(), self.how, &self.before);
    }
}

/// Echoes again, for a program that is about to leave without dropping anything.
pub fn echo() {
    if let Ok(mut modes) = tcgetattr(stdin()) {
        modes.local_modes.insert(LocalModes::ECHO);
        let _ = tcsetattr(stdin(), OptionalActions::Flush, &modes);
    }
}

/// As [`hush`]; what is typed until the result is dropped is thrown away then.
pub fn hush_until_flushed() -> Option<Back> {
    let mut back = hush()?;
    back.how = OptionalActions::Flush;
    Some(back)
}

/// Keeps what is typed from being echoed, as long as the result lives. Ctrl-C still signals, lines are still lines.
pub fn hush() -> Option<Back> {
    let before = tcgetattr(stdin()).ok()?;
    let mut hushed = before.clone();
    hushed
        .local_modes
        .remove(LocalModes::ECHO | LocalModes::ECHONL);
    tcsetattr(stdin(), OptionalActions::Now, &hushed).ok()?;
    Some(Back::now(before))
}
