//! Claims: only one terminal at a time has a machine's run.
//!
//! A claim is the operating system's lock on a file next to the book. The system releases it when the process ends in
//! any way, so a crash or a power cut leaves nothing to clean up.
//!
//! The lock file is never removed: a second terminal could open it just before, a third could create it again just
//! after, and both would hold "the" lock. A second file names the holder, because on Windows others cannot read a
//! locked file. It is only for the message and decides nothing.
//!
//! A running terminal cannot be forced to release its lock. Therefore each takeover starts a new turn: from then on
//! another lock file counts. The old terminal still has the old lock, which means nothing now, and finds at its next
//! write that the run was continued elsewhere. A third lock file, the door, lets only one process at a time change the
//! turn or make a claim.

use std::io;

use super::claim_files::{ClaimAttempt, ClaimFiles};
use super::error::BookError;
use super::opening::Book;
use crate::quantity::moment::Moment;

pub(crate) use super::claim_files::Claim;

impl Book {
    /// Claims the machine for this terminal until the claim is dropped or the process ends. `at` is the present time,
    /// for the message to a second terminal.
    ///
    /// # Errors
    /// [`BookError::Held`] when another terminal has it, [`BookError::CannotClaim`].
    pub fn claim(&self, machine: &str, at: &str) -> Result<Claim, BookError> {
        let files = ClaimFiles::of(self.path(), machine);
        let cannot = cannot(machine, &files);
        let _door = files.door().map_err(&cannot)?;
        let turn = files.turn().map_err(&cannot)?;
        match files.take(turn, at, self.last_seq()?).map_err(&cannot)? {
            ClaimAttempt::Claim(claim) => Ok(claim),
            ClaimAttempt::Held(by) => Err(BookError::Held {
                machine: machine.to_owned(),
                by,
            }),
        }
    }

    /// Whether a terminal holds the machine now. Creates no file.
    ///
    /// # Errors
    /// [`BookError::CannotClaim`] where this cannot be read.
    #[cfg(test)]
    pub(crate) fn is_claimed(&self, machine: &str) -> Result<bool, BookError> {
        self.claimed_after(machine).map(|after| after.is_some())
    }

    /// The number of the book's last entry when the present holder claimed the machine; `None` if no terminal holds it.
    /// Entries up to this number are not from that terminal. Creates no file.
    ///
    /// # Errors
    /// [`BookError::CannotClaim`] where this cannot be read.
    pub(crate) fn claimed_after(&self, machine: &str) -> Result<Option<u64>, BookError> {
        let files = ClaimFiles::of(self.path(), machine);
        files.taken_after().map_err(cannot(machine, &files))
    }

    /// The latest time that any terminal saw since entry `n` became the run's last one, `now` included. It is stored
    /// next to the claim, so that a clock set back later is noticed. Times seen before the run's last entry do not
    /// count.
    ///
    /// # Errors
    /// [`BookError::CannotClaim`] where it cannot be stored.
    pub(crate) fn latest_seen(
        &self,
        machine: &str,
        (run, n): (&str, u32),
        now: Moment,
    ) -> Result<Moment, BookError> {
        let files = ClaimFiles::of(self.path(), machine);
        let cannot = cannot(machine, &files);
        let _door = files.door().map_err(&cannot)?;
        files.latest_seen(run, n, now).map_err(&cannot)
    }

    /// Takes the machine over, from a running terminal that holds it or from nobody. `record` writes the takeover into
    /// the book; if it fails, or the process ends during it, the old holder keeps the machine. Returns the claim and
    /// the result of `record`.
    ///
    /// # Errors
    /// [`BookError::CannotClaim`], and those of `record`.
    pub(crate) fn take_over<T, E: From<BookError>>(
        &mut self,
        machine: &str,
        at: &str,
        record: impl FnOnce(&mut Self) -> Result<T, E>,
    ) -> Result<(Claim, T), E> {
        let files = ClaimFiles::of(self.path(), machine);
        let cannot = cannot(machine, &files);
        let _door = files.door().map_err(&cannot)?;
        let turn = files.turn().map_err(&cannot)?;
        // The holder may have ended by now, but the takeover is still recorded.
        let seq = self.last_seq()?;
        if let ClaimAttempt::Claim(claim) = files.take(turn, at, seq).map_err(&cannot)? {
            return Ok((claim, record(self)?));
        }
        let next = turn.saturating_add(1);
        match files.take(next, at, seq).map_err(&cannot)? {
            ClaimAttempt::Claim(claim) => {
                let recorded = record(self)?;
                files.set_turn(next).map_err(&cannot)?;
                Ok((claim, recorded))
            }
            ClaimAttempt::Held(by) => Err(BookError::Held {
                machine: machine.to_owned(),
                by,
            }
            .into()),
        }
    }
}

fn cannot<'a>(machine: &'a str, files: &'a ClaimFiles) -> impl Fn(io::Error) -> BookError + 'a {
    move |source| BookError::CannotClaim {
        machine: machine.to_owned(),
        path: files.stem().to_path_buf(),
        source,
    }
}

#[cfg(test)]
mod tests {
    use crate::book::testing::new_path;
    use crate::book::{Book, BookError};
    use std::io::{BufRead, BufReader};
    use std::process::{Command, Stdio};

    const BOOK: &str = "SKIMGATE_TEST_CLAIMED_BOOK";

    #[test]
    fn the_second_terminal_is_shown_who_holds_the_machine() {
        let (_folder, path) = new_path();
        let (one, other) = (Book::open(&path).unwrap(), Book::open(&path).unwrap());
        let claim = one.claim("Mill 1", "2026-03-01T13:32:05.250Z").unwrap();
        let error = other.claim("Mill 1", "later").unwrap_err();
        let BookError::Held { machine, by } = error else {
            panic!("{error}")
        };
        assert_eq!(machine, "Mill 1");
        assert_eq!(
            by,
            format!(
                "process {}, since 2026-03-01T13:32:05.250Z",
                std::process::id()
            )
        );
        other.claim("mill 1", "now").unwrap();
        drop(claim);
        other.claim("Mill 1", "now").unwrap();
        one.claim("Mill 1", "now").unwrap();
    }

    #[test]
    fn of_many_at_once_one_gets_it() {
        let (_folder, path) = new_path();
        let book = &Book::open(&path).unwrap();
        let path = book.path();
        let held = std::sync::Barrier::new(8);
        let got: usize = std::thread::scope(|scope| {
            let terminals: Vec<_> = (0..8)
                .map(|_| {
                    scope.spawn(|| {
                        let book = Book::open(path).unwrap();
                        held.wait();
                        let claim = book.claim("mill", "now");
                        held.wait();
                        usize::from(claim.is_ok())
                    })
                })
                .collect();
            terminals
                .into_iter()
                .map(|terminal| terminal.join().unwrap())
                .sum()
        });
        assert_eq!(got, 1);
    }

    /// The other process of the next test. Started by itself it claims nothing and ends.
    #[test]
    #[ignore = "started by a_killed_process_releases_its_claim"]
    fn hold_until_killed() {
        let Some(path) = std::env::var_os(BOOK) else {
            return;
        };
        let _claim = Book::open(path).unwrap().claim("mill", "then").unwrap();
        println!("\nheld");
        std::thread::sleep(std::time::Duration::from_secs(60));
    }

    #[test]
    fn a_killed_process_releases_its_claim() {
        let (_folder, path) = new_path();
        let book = Book::open(&path).unwrap();
        let mut other = Command::new(std::env::current_exe().unwrap())
            .args([
                "--exact",
                "book::claim::tests::hold_until_killed",
                "--ignored",
                "--nocapture",
            ])
            .env(BOOK, &path)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = BufReader::new(other.stdout.take().unwrap()).lines();
        let said = lines.map_while(Result::ok).any(|line| line == "held");
        let while_alive = book.claim("mill", "now");
        other.kill().unwrap();
        other.wait().unwrap();
        assert!(said, "the other process never held the machine");
        let Err(BookError::Held { by, .. }) = while_alive else {
            panic!("{while_alive:?}")
        };
        assert_eq!(by, format!("process {}, since then", other.id()));
        book.claim("mill", "now").unwrap();
    }

    #[test]
    fn checking_for_a_claim_creates_nothing_and_blocks_nobody() {
        let (_folder, path) = new_path();
        let (one, other) = (Book::open(&path).unwrap(), Book::open(&path).unwrap());
        assert!(!one.is_claimed("mill").unwrap());
        let mut claims = path.clone().into_os_string();
        claims.push(".claims");
        assert!(!std::path::Path::new(&claims).exists());
        let claim = one.claim("mill", "now").unwrap();
        assert!(other.is_claimed("mill").unwrap());
        assert!(!other.is_claimed("router").unwrap());
        drop(claim);
        assert!(!other.is_claimed("mill").unwrap());
        std::thread::scope(|scope| {
            let looks = scope.spawn(|| {
                let other = Book::open(&path).unwrap();
                (0..500).all(|_| other.is_claimed("mill").is_ok())
            });
            for _ in 0..500 {
                one.claim("mill", "now").unwrap();
            }
            assert!(looks.join().unwrap());
        });
    }

    #[test]
    fn a_running_claim_is_taken_over_once_and_the_old_one_no_longer_counts() {
        let (_folder, path) = new_path();
        let (old, mut new) = (Book::open(&path).unwrap(), Book::open(&path).unwrap());
        let claim = old.claim("mill", "then").unwrap();
        let failed: Result<(_, ()), BookError> = new.take_over("mill", "now", |_| {
            Err(BookError::RunEnded { run: "r1".into() })
        });
        assert!(matches!(failed, Err(BookError::RunEnded { .. })));
        assert!(
            matches!(new.claim("mill", "now"), Err(BookError::Held { by, .. }) if by.ends_with("then"))
        );
        let (taken, recorded) = new
            .take_over("mill", "now", |_| Ok::<_, BookError>(7))
            .unwrap();
        assert_eq!(recorded, 7);
        drop(claim);
        assert!(
            matches!(old.claim("mill", "later"), Err(BookError::Held { by, .. }) if by.ends_with("now"))
        );
        assert!(old.is_claimed("mill").unwrap());
        drop(taken);
        // A process that another test starts has a copy of every lock until it starts its own program.
        let free = (0..1000).any(|_| {
            let free = old.claim("mill", "later").is_ok();
            if !free {
                std::thread::sleep(std::time::Duration::from_millis(5));
            }
            free
        });
        assert!(free && !old.is_claimed("mill").unwrap());
    }

    /// Each process takes the machine over from its holder: never do two hold the turn that counts.
    #[test]
    fn of_many_that_take_over_the_last_has_it() {
        let (_folder, path) = new_path();
        let book = Book::open(&path).unwrap();
        let first = book.claim("mill", "first").unwrap();
        let order = std::sync::Mutex::new(Vec::new());
        let claims: Vec<_> = std::thread::scope(|scope| {
            let terminals: Vec<_> = (0..8)
                .map(|i| {
                    let (path, order) = (&path, &order);
                    scope.spawn(move || {
                        let mut book = Book::open(path).unwrap();
                        let record = |_: &mut Book| {
                            order.lock().unwrap().push(i);
                            Ok::<_, BookError>(())
                        };
                        (i, book.take_over("mill", &i.to_string(), record).unwrap().0)
                    })
                })
                .collect();
            terminals.into_iter().map(|t| t.join().unwrap()).collect()
        });
        let last = *order.lock().unwrap().last().unwrap();
        let Err(BookError::Held { by, .. }) = book.claim("mill", "now") else {
            panic!("two have it")
        };
        assert!(by.ends_with(&format!("since {last}")), "{by}, {last}");
        let (last, others): (Vec<_>, Vec<_>) = claims.into_iter().partition(|(i, _)| *i == last);
        drop((first, others));
        assert!(book.is_claimed("mill").unwrap());
        drop(last);
        assert!(!book.is_claimed("mill").unwrap());
    }
}
