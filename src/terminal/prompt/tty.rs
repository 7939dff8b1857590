//! The terminal by way of POSIX: its modes, what waits in it, and its keys one byte at a time.
//!
//! Lines are edited here and not by the system: the system's line mode cuts a line after 4095 bytes in silence, and throws a
//! begun line away when the program is suspended. A read is only made once `poll` says that there is something to read, so a
//! question can be called off and no read steals a key meant for the next one.
//!
//! The modes in force are one stack for the process: whoever suspends or ends it puts the terminal back as it was found, and
//! whoever continues it sets them again, without knowing what is being asked.

use crate::keys::wipe;
use rustix::event::{PollFd, PollFlags, Timespec, poll};
use rustix::io::{Errno, ioctl_fionread, read, write};
use rustix::process::{getpgrp, getsid};
use rustix::stdio::{stderr, stdin};
use rustix::termios::{
    InputModes, LocalModes, OptionalActions, QueueSelector, SpecialCodeIndex, Termios, tcflush,
    tcgetattr, tcgetpgrp, tcgetwinsize, tcsetattr,
};
use std::collections::VecDeque;
use std::io;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::Duration;

/// The modes that are in force until they are put back.
#[derive(Debug)]
struct Held {
    /// As the terminal was before the first of `wanted`.
    found: Option<Termios>,
    /// The last one is in force.
    wanted: Vec<(u64, Termios)>,
    next: u64,
    /// What was typed before the terminal was given back to the shell, which would take it for its own.
    ahead: VecDeque<u8>,
}

static HELD: Mutex<Held> = Mutex::new(Held {
    found: None,
    wanted: Vec::new(),
    next: 0,
    ahead: VecDeque::new(),
});

/// Counts how often the terminal was given back to this process.
static CONTINUED: AtomicU64 = AtomicU64::new(0);

/// Whether `suspend` has done already what the next SIGCONT asks for.
static CONTINUED_HERE: AtomicBool = AtomicBool::new(false);

/// Whether the terminal belonged to another process when it was looked at last.
static ELSEWHERE: AtomicBool = AtomicBool::new(false);

fn held() -> MutexGuard<'static, Held> {
    HELD.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Held {
    fn take_ahead(&mut self) -> Option<u8> {
        // It may be part of a PIN, so no copy stays.
        let byte = self.ahead.front_mut().map(std::mem::take);
        self.ahead.pop_front();
        byte
    }

    /// Takes in what was typed for the prompt that stands.
    fn read_ahead(&mut self) {
        let keys = self
            .in_force()
            .is_some_and(|modes| !modes.local_modes.contains(LocalModes::ICANON));
        let mut some = [0_u8; 256];
        while keys && foreground() && ready(Duration::ZERO) == Ok(true) {
            match read(stdin(), &mut some) {
                Ok(n @ 1..) => self.ahead.extend(some.iter().take(n)),
                _ => break,
            }
        }
        wipe(&mut some);
    }

    fn in_force(&self) -> Option<&Termios> {
        self.wanted.last().map(|(_, modes)| modes)
    }

    /// Sets what is in force, or what was found.
    fn set(&self, how: OptionalActions) -> io::Result<()> {
        match self.in_force().or(self.found.as_ref()) {
            Some(modes) => set(how, modes),
            None => Ok(()),
        }
    }
}

/// Sets modes, unless the terminal belongs to another process: that would stop this one, and spoil the other's.
fn set(how: OptionalActions, modes: &Termios) -> io::Result<()> {
    if foreground() {
        tcsetattr(stdin(), how, modes)?;
    }
    Ok(())
}

/// Whether the terminal is this process's to read. One that controls no process is nobody else's.
fn foreground() -> bool {
    tcgetpgrp(stdin()).map_or(true, |group| group == getpgrp())
}

/// Puts the terminal's modes back when dropped.
#[derive(Debug)]
pub(crate) struct Back {
    id: u64,
    how: OptionalActions,
}

impl Drop for Back {
    fn drop(&mut self) {
        let mut held = held();
        held.wanted.retain(|(id, _)| *id != self.id);
        let _ = held.set(self.how);
    }
}

/// Changes the modes for as long as the result lives.
fn hold(how: OptionalActions, change: impl FnOnce(&mut Termios)) -> io::Result<Back> {
    let mut held = held();
    if held.wanted.is_empty() && (held.found.is_none() || foreground()) {
        held.found = Some(tcgetattr(stdin())?);
    }
    let Some(mut modes) = held.in_force().or(held.found.as_ref()).cloned() else {
        return Err(Errno::NOTTY.into());
    };
    change(&mut modes);
    set(how, &modes)?;
    held.next = held.next.wrapping_add(1);
    let id = held.next;
    held.wanted.push((id, modes));
    Ok(Back {
        id,
        how: OptionalActions::Now,
    })
}

/// Gives keys as they are pressed, unechoed, as long as the result lives; what was typed up to now is thrown away. Ctrl-C,
/// Ctrl-Z and Ctrl-\ still signal, and throw nothing away that was typed.
pub(crate) fn keys() -> io::Result<Back> {
    hold(OptionalActions::Flush, |modes| {
        modes.local_modes.remove(
            LocalModes::ICANON | LocalModes::ECHO | LocalModes::ECHONL | LocalModes::IEXTEN,
        );
        modes
            .local_modes
            .insert(LocalModes::ISIG | LocalModes::NOFLSH);
        modes.input_modes.insert(InputModes::ICRNL);
        modes.special_codes[SpecialCodeIndex::VMIN] = 1;
        modes.special_codes[SpecialCodeIndex::VTIME] = 0;
    })
}

/// Keeps what is typed from being echoed as long as the result lives, and throws it away then.
pub(crate) fn hush_until_flushed() -> Option<Back> {
    let mut back = hold(OptionalActions::Now, |modes| {
        modes
            .local_modes
            .remove(LocalModes::ECHO | LocalModes::ECHONL);
    })
    .ok()?;
    back.how = OptionalActions::Flush;
    Some(back)
}

/// Puts the terminal back as it was found, for a program that is about to leave without dropping anything.
pub(crate) fn restore() {
    let mut held = held();
    held.wanted.clear();
    let _ = held.set(OptionalActions::Flush);
}

/// Stops this process as Ctrl-Z does, with the terminal as it was found; returns once it is continued. Where no shell could
/// continue it, nothing happens, as the system has it for programs that do not catch the signal.
pub(crate) fn suspend(cursor: bool, stop: impl FnOnce()) {
    // The first group of a session has no shell above it that watches it.
    if getsid(None).is_ok_and(|session| session == getpgrp()) {
        return;
    }
    // Held until it is continued, so that no other thread sets modes or reads meanwhile.
    let mut held = held();
    held.read_ahead();
    if let Some(found) = held.found.as_ref().filter(|_| !held.wanted.is_empty()) {
        let _ = set(OptionalActions::Now, found);
        let line: &[u8] = if cursor { b"\x1b[?25h\r\n" } else { b"\r\n" };
        let _ = write(stderr(), line);
    }
    stop();
    // The signal that continued it is still to be handled; the prompt must not be drawn for both.
    CONTINUED_HERE.store(true, Ordering::SeqCst);
    again(&held);
}

/// Sets the modes again after this process was stopped: who stopped it, and how, need not be known.
pub(crate) fn resume() {
    let held = held();
    if CONTINUED_HERE.swap(false, Ordering::SeqCst) {
        set_again(&held);
    } else {
        again(&held);
    }
}

fn set_again(held: &Held) {
    if held.in_force().is_some() {
        let _ = held.set(OptionalActions::Now);
    }
}

fn again(held: &Held) {
    set_again(held);
    CONTINUED.fetch_add(1, Ordering::SeqCst);
}

/// A number that changes each time the terminal is given back: the prompt must be drawn again.
pub(crate) fn continued() -> u64 {
    CONTINUED.load(Ordering::SeqCst)
}

/// Throws away everything typed so far; how many bytes that was, where the system says.
pub(crate) fn discard() -> io::Result<u64> {
    if !foreground() {
        return Ok(0);
    }
    let ahead = {
        let mut held = held();
        let mut ahead = 0;
        while held.take_ahead().is_some() {
            ahead += 1;
        }
        ahead
    };
    let waiting = waiting() + ahead;
    match tcflush(stdin(), QueueSelector::IFlush) {
        // A terminal that hung up has nothing to throw away; the read that follows finds out.
        Ok(()) | Err(Errno::IO) => Ok(waiting),
        Err(error) => Err(error.into()),
    }
}

/// Bytes waiting to be read, begun lines included. In line mode the system counts only finished ones, so line mode is
/// left for the moment of counting.
fn waiting() -> u64 {
    let counting = hold(OptionalActions::Now, |modes| {
        modes.local_modes.remove(LocalModes::ICANON);
    });
    let Ok(_back) = counting else {
        return 0;
    };
    ioctl_fionread(stdin()).unwrap_or(0)
}

/// What there was to read of the terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Got {
    /// A byte.
    Byte(u8),
    /// Nothing yet.
    Nothing,
    /// The terminal has hung up.
    End,
}

/// Waits for a byte, but no longer than this. Only one is taken, so that all behind a line's end stays where `discard`
/// finds it.
pub(crate) fn byte(wait: Duration) -> io::Result<Got> {
    if !foreground() {
        // Reading now would stop this process, though it may have to end, or to count a wait's time.
        ELSEWHERE.store(true, Ordering::SeqCst);
        thread::sleep(wait);
        return Ok(Got::Nothing);
    }
    if ELSEWHERE.swap(false, Ordering::SeqCst) {
        // A shell that brings a running job to the front sends it no signal.
        resume();
    }
    let wait = if held().ahead.is_empty() {
        wait
    } else {
        Duration::ZERO
    };
    let waited = ready(wait);
    let mut held = held();
    if let Some(byte) = held.take_ahead() {
        return Ok(Got::Byte(byte));
    }
    // Suspended since, somebody else may have read it.
    let readable = match waited {
        Ok(true) if foreground() => ready(Duration::ZERO),
        Ok(true) => Ok(false),
        other => other,
    };
    match readable {
        Ok(true) => {}
        Ok(false) => return Ok(Got::Nothing),
        Err(Errno::IO) => return Ok(Got::End),
        Err(error) => return Err(error.into()),
    }
    let mut one = [0_u8; 1];
    match read(stdin(), &mut one) {
        Ok(0) | Err(Errno::IO) => Ok(Got::End),
        Ok(_) => Ok(Got::Byte(one[0])),
        Err(Errno::INTR | Errno::AGAIN) => Ok(Got::Nothing),
        Err(error) => Err(error.into()),
    }
}

/// Waits until there is something to read, but no longer than this.
fn ready(wait: Duration) -> Result<bool, Errno> {
    let terminal = stdin();
    let mut polled = [PollFd::new(&terminal, PollFlags::IN)];
    let wait = Timespec {
        tv_sec: i64::try_from(wait.as_secs()).unwrap_or(i64::MAX),
        tv_nsec: i64::from(wait.subsec_nanos()),
    };
    match poll(&mut polled, Some(&wait)) {
        Ok(0) | Err(Errno::INTR) => Ok(false),
        // Hung up with nothing left to read: whoever waited for a key would wait in a circle.
        Ok(_) if !polled.iter().any(|p| p.revents().contains(PollFlags::IN)) => Err(Errno::IO),
        Ok(_) => Ok(true),
        Err(error) => Err(error),
    }
}

/// Whether the terminal on standard input has hung up.
pub(crate) fn gone() -> bool {
    tcgetattr(stdin()).is_err()
}

/// Columns of the terminal on standard error, if it says.
pub(crate) fn columns() -> Option<usize> {
    let size = tcgetwinsize(stderr()).ok()?;
    Some(usize::from(size.ws_col)).filter(|&columns| columns > 0)
}

/// Makes the cursor visible again and ends the line, without waiting for any lock: the program is about to leave.
pub(crate) fn cursor_back() {
    let _ = write(stderr(), b"\x1b[?25h\r\n");
}
