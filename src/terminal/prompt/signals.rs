//! Signals: Ctrl-C and being told to end are noticed at once, and acted on when a question returns; Ctrl-Z suspends.
//!
//! The handler is installed once for the process, so its state is a static. Every signal that would end the program means
//! the same: save and leave. A second one while nothing is being read leaves at once: the program may be busy with
//! something that never returns to a question. Every answer was on disk before, so nothing is lost by that.

use super::ask::PromptError;
use std::process;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, OnceLock, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

/// Exit status of an interrupted program, as shells count it: 128 and the number of SIGINT.
const INTERRUPTED: i32 = 130;

/// Whoever ends a program may send several signals at once; signals closer together than this are one press.
const ONE_PRESS: Duration = Duration::from_millis(250);

/// How long the handler, on its own thread, may need to catch up with a prompt that has returned already.
const SETTLE: Duration = Duration::from_millis(50);

/// What the handler and the prompts share.
#[derive(Debug, Default)]
pub(crate) struct Signals {
    pending: AtomicBool,
    heeded: AtomicBool,
    reading: AtomicBool,
    cursor: AtomicBool,
    last: Mutex<Option<Instant>>,
}

/// Installs the handler, the first time; `moves` says whether the cursor may have been hidden and has to be put back.
pub(crate) fn install(moves: bool) -> Result<&'static Signals, PromptError> {
    static SIGNALS: Signals = Signals::new();
    static INSTALLED: OnceLock<Result<(), String>> = OnceLock::new();
    INSTALLED
        .get_or_init(|| {
            let caught = || {
                if SIGNALS.caught(Instant::now()) {
                    leave(SIGNALS.cursor.load(Ordering::SeqCst));
                }
            };
            #[cfg(unix)]
            let installed = unix::listen(caught, || SIGNALS.cursor.load(Ordering::SeqCst));
            #[cfg(not(unix))]
            let installed = ctrlc::set_handler(caught);
            installed.map_err(|error| error.to_string())
        })
        .clone()
        .map_err(|reason| PromptError::Signals { reason })?;
    SIGNALS.cursor.store(moves, Ordering::SeqCst);
    Ok(&SIGNALS)
}

fn leave(cursor: bool) {
    if cursor {
        #[cfg(unix)]
        super::tty::cursor_back();
        #[cfg(not(unix))]
        let _ = console::Term::stderr().show_cursor();
    }
    #[cfg(unix)]
    super::tty::restore();
    process::exit(INTERRUPTED);
}

#[cfg(unix)]
mod unix {
    use crate::terminal::prompt::tty;
    use signal_hook::consts::{
        SIGBUS, SIGCHLD, SIGCONT, SIGFPE, SIGHUP, SIGILL, SIGINT, SIGKILL, SIGPIPE, SIGSEGV,
        SIGSTOP, SIGTERM, SIGTSTP, SIGTTIN, SIGTTOU, SIGURG, SIGWINCH, SIGXFSZ,
    };
    use signal_hook::iterator::Signals;
    use signal_hook::low_level::emulate_default_handler;
    use std::io;
    use std::thread;

    /// The highest number of a signal on any system this is built for, real-time signals included.
    const HIGHEST: i32 = 64;

    /// Signals that are left alone. In this order: those that cannot be caught; those by which the system says that the
    /// program itself is at fault, which would meet the same fault again; a pipe without a reader, which Rust makes an error of
    /// the write; those that end nothing unless they are caught; those of a terminal that belongs to another program.
    const OTHERS: [i32; 12] = [
        SIGKILL, SIGSTOP, SIGBUS, SIGFPE, SIGILL, SIGSEGV, SIGPIPE, SIGCHLD, SIGURG, SIGWINCH,
        SIGTTIN, SIGTTOU,
    ];

    fn ends(signal: i32) -> bool {
        // Where there is one, it shows a program's state.
        #[cfg(any(
            target_os = "macos",
            target_os = "freebsd",
            target_os = "dragonfly",
            target_os = "netbsd",
            target_os = "openbsd"
        ))]
        if signal == signal_hook::consts::SIGINFO {
            return false;
        }
        // The C library has 32 and 33 for itself.
        !OTHERS.contains(&signal) && !matches!(signal, SIGCONT | SIGTSTP | SIGXFSZ | 32 | 33)
    }

    /// Calls `caught` for every signal that would end the program, and suspends it for Ctrl-Z, on a thread of its own.
    pub(crate) fn listen(
        caught: impl Fn() + Send + 'static,
        moves: impl Fn() -> bool + Send + 'static,
    ) -> io::Result<()> {
        // With SIGXFSZ caught, a file that may not grow is an error of the write, as a full disk is.
        let mut signals = Signals::new([SIGINT, SIGTERM, SIGHUP, SIGTSTP, SIGCONT, SIGXFSZ])?;
        let handle = signals.handle();
        for signal in (1..=HIGHEST).filter(|&signal| ends(signal)) {
            // Not every number is a signal everywhere.
            let _ = handle.add_signal(signal);
        }
        thread::Builder::new()
            .name("signals".to_owned())
            .spawn(move || {
                for signal in &mut signals {
                    match signal {
                        SIGTSTP => tty::suspend(moves(), || {
                            let _ = emulate_default_handler(SIGTSTP);
                        }),
                        SIGCONT => tty::resume(),
                        SIGXFSZ => {}
                        _ => caught(),
                    }
                }
            })?;
        Ok(())
    }
}

impl Signals {
    const fn new() -> Self {
        Self {
            pending: AtomicBool::new(false),
            heeded: AtomicBool::new(false),
            reading: AtomicBool::new(false),
            cursor: AtomicBool::new(false),
            last: Mutex::new(None),
        }
    }

    /// A signal came; whether to leave at once.
    fn caught(&self, now: Instant) -> bool {
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        let same = last.is_some_and(|then| now.saturating_duration_since(then) < ONE_PRESS);
        *last = Some(now);
        let before = self.pending.load(Ordering::SeqCst) || self.heeded.load(Ordering::SeqCst);
        if before && !same && !self.reading.load(Ordering::SeqCst) {
            return true;
        }
        if !same || !self.heeded.load(Ordering::SeqCst) {
            self.pending.store(true, Ordering::SeqCst);
        }
        false
    }

    /// Marks that something is being read, as long as the mark lives.
    pub(crate) fn reading(&self) -> Reading<'_> {
        self.reading.store(true, Ordering::SeqCst);
        Reading { signals: self }
    }

    /// Whether a signal waits to be heeded.
    pub(crate) fn pending(&self) -> bool {
        self.pending.load(Ordering::SeqCst)
    }

    /// Heeds what is pending: the question at hand is interrupted, once.
    pub(crate) fn take_pending(&self) -> bool {
        let pending = self.pending.swap(false, Ordering::SeqCst);
        if pending {
            self.heeded.store(true, Ordering::SeqCst);
        }
        pending
    }

    /// A prompt came back interrupted, by the signal or by itself: waits for the handler to have seen the signal, if there was one, so that
    /// it does not interrupt the next question too. To be called while `reading`, or the late signal would look like a
    /// second press.
    pub(crate) fn settle(&self) {
        let since = Instant::now();
        while !self.pending() && since.elapsed() < SETTLE {
            thread::sleep(Duration::from_millis(2));
        }
        *self.last.lock().unwrap_or_else(PoisonError::into_inner) = Some(Instant::now());
        self.heeded.store(true, Ordering::SeqCst);
        self.pending.store(false, Ordering::SeqCst);
    }

    /// The person answered a question, so an earlier interruption is over.
    pub(crate) fn answered(&self) {
        self.heeded.store(false, Ordering::SeqCst);
    }
}

/// See `Signals::reading`.
#[derive(Debug)]
pub(crate) struct Reading<'a> {
    signals: &'a Signals,
}

impl Drop for Reading<'_> {
    fn drop(&mut self) {
        self.signals.reading.store(false, Ordering::SeqCst);
    }
}

#[cfg(test)]
mod tests {
    use super::{ONE_PRESS, Signals};
    use std::time::Instant;

    #[test]
    fn a_second_press_leaves_at_once_only_while_nothing_is_read() {
        let signals = Signals::new();
        let start = Instant::now();
        assert!(!signals.caught(start));
        assert!(signals.pending());
        {
            let _reading = signals.reading();
            assert!(!signals.caught(start + ONE_PRESS * 2));
        }
        assert!(signals.caught(start + ONE_PRESS * 4));
    }

    #[test]
    fn two_signals_of_one_press_count_once() {
        let signals = Signals::new();
        let start = Instant::now();
        assert!(!signals.caught(start));
        assert!(signals.take_pending());
        assert!(!signals.caught(start + ONE_PRESS / 2));
        assert!(!signals.take_pending());
    }

    #[test]
    fn a_signal_the_prompt_has_told_of_already_is_not_heeded_again() {
        let signals = Signals::new();
        signals.settle();
        assert!(!signals.caught(Instant::now()));
        assert!(!signals.take_pending());
        assert!(signals.caught(Instant::now() + ONE_PRESS * 2));
    }

    #[test]
    fn an_answer_ends_an_interruption() {
        let signals = Signals::new();
        let start = Instant::now();
        assert!(!signals.caught(start));
        assert!(signals.take_pending());
        signals.answered();
        assert!(!signals.caught(start + ONE_PRESS * 2));
        assert!(signals.take_pending());
        assert!(signals.caught(start + ONE_PRESS * 4));
    }
}
