//! Lines by way of a thread, for platforms where the terminal cannot be polled.
//!
//! A read that was asked for and not yet answered cannot be called off, so it is kept for the next question.

use super::line::LineRead;
use std::io::{self, BufRead, BufReader};
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread;
use std::time::Duration;

/// Lines from a reader, mostly standard input.
#[derive(Debug)]
pub(crate) struct Lines {
    want: Sender<()>,
    have: Receiver<io::Result<LineRead>>,
    outstanding: bool,
}

impl Lines {
    /// Lines of standard input.
    #[cfg_attr(unix, allow(dead_code))]
    pub(crate) fn new() -> Self {
        Self::over(BufReader::new(io::stdin()))
    }

    fn over(mut from: impl BufRead + Send + 'static) -> Self {
        let (want, wanted) = channel::<()>();
        let (give, have) = channel();
        thread::spawn(move || {
            while wanted.recv().is_ok() {
                let mut bytes = Vec::new();
                let got = match from.read_until(b'\n', &mut bytes) {
                    // A last line without an end is a half answer, and half answers are not taken.
                    Ok(_) if !bytes.ends_with(b"\n") => Ok(LineRead::End),
                    Ok(_) => Ok(LineRead::Line(text(&bytes))),
                    Err(error) => Err(error),
                };
                if give.send(got).is_err() {
                    break;
                }
            }
        });
        Self {
            want,
            have,
            outstanding: false,
        }
    }

    /// Throws away a line that came in since the last question; what still waits in the system cannot be reached here, so
    /// the asker distrusts replies that come too fast instead.
    pub(crate) fn discard(&mut self) -> io::Result<u64> {
        match self.have.try_recv() {
            Ok(got) => {
                self.outstanding = false;
                Ok(match got? {
                    LineRead::Line(line) => line.len() as u64 + 1,
                    _ => 0,
                })
            }
            Err(_) => Ok(0),
        }
    }

    /// Waits for a line, but no longer than this.
    pub(crate) fn next(&mut self, wait: Duration) -> io::Result<LineRead> {
        if !self.outstanding {
            if self.want.send(()).is_err() {
                return Ok(LineRead::End);
            }
            self.outstanding = true;
        }
        match self.have.recv_timeout(wait) {
            Ok(got) => {
                self.outstanding = false;
                got
            }
            Err(RecvTimeoutError::Timeout) => Ok(LineRead::Nothing),
            Err(RecvTimeoutError::Disconnected) => Ok(LineRead::End),
        }
    }
}

/// Bytes of a line as text, its end taken off. What is not UTF-8 becomes the replacement sign, which no answer contains.
fn text(bytes: &[u8]) -> String {
    let text = String::from_utf8_lossy(bytes);
    text.trim_end_matches(['\r', '\n']).to_owned()
}

#[cfg(test)]
mod tests {
    use super::{LineRead, Lines};
    use std::io::{BufReader, Read};
    use std::sync::mpsc::{Receiver, channel};
    use std::time::Duration;

    const SOON: Duration = Duration::from_secs(5);
    const NOW: Duration = Duration::from_millis(5);

    struct Slow(Receiver<&'static [u8]>);

    impl Read for Slow {
        fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
            let Ok(bytes) = self.0.recv() else {
                return Ok(0);
            };
            buffer[..bytes.len()].copy_from_slice(bytes);
            Ok(bytes.len())
        }
    }

    #[test]
    fn lines_come_one_at_a_time_and_half_a_line_is_none() {
        let mut lines = Lines::over(&b"one\r\ntwo\nhalf"[..]);
        assert_eq!(lines.next(SOON).unwrap(), LineRead::Line("one".into()));
        assert_eq!(lines.next(SOON).unwrap(), LineRead::Line("two".into()));
        assert_eq!(lines.next(SOON).unwrap(), LineRead::End);
    }

    #[test]
    fn a_read_that_was_not_answered_is_kept_for_the_next_question() {
        let (keys, typed) = channel::<&'static [u8]>();
        let mut lines = Lines::over(BufReader::new(Slow(typed)));
        assert_eq!(lines.next(NOW).unwrap(), LineRead::Nothing);
        assert!(lines.outstanding);
        keys.send(b"late\n").unwrap();
        assert_eq!(lines.next(SOON).unwrap(), LineRead::Line("late".into()));
        assert!(!lines.outstanding);
    }

    #[test]
    fn a_line_that_came_between_two_questions_is_thrown_away() {
        let (keys, typed) = channel::<&'static [u8]>();
        let mut lines = Lines::over(BufReader::new(Slow(typed)));
        assert_eq!(lines.next(NOW).unwrap(), LineRead::Nothing);
        keys.send(b"early\n").unwrap();
        let dropped = (0..1000).find_map(|_| {
            std::thread::sleep(Duration::from_millis(2));
            Some(lines.discard().unwrap()).filter(|&n| n > 0)
        });
        assert_eq!(dropped, Some(6));
        keys.send(b"meant\n").unwrap();
        assert_eq!(lines.next(SOON).unwrap(), LineRead::Line("meant".into()));
    }
}
