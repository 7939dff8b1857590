//! Claims: one terminal to a machine's run.
//!
//! A claim is the operating system's lock on a file beside the book. It goes with its process however that ends, so a
//! crash or a power cut leaves nothing to clear away.
//!
//! The lock file is never removed: a second terminal could open it just before, a third could make it anew just after,
//! and both would hold "the" lock. Who holds it stands in a second file, because on Windows a locked file cannot be
//! read by others; it is for the message only and decides nothing.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use super::error::BookError;
use super::opening::{Book, make_folder};
use crate::fingerprint::Fingerprint;

/// The longest machine name that stands in a file name as it is; file systems end at 255 bytes.
const LONGEST: usize = 150;

/// One terminal's hold on a machine's run. Dropping it lets go.
#[derive(Debug)]
pub struct Claim {
    // Held for its lock alone.
    _lock: File,
    holder: PathBuf,
}

impl Claim {
    fn new(book: &Path, machine: &str, at: &str) -> Result<Self, BookError> {
        let mut folder = book.as_os_str().to_owned();
        folder.push(".claims");
        let stem = Path::new(&folder).join(file_stem(machine));
        let (path, holder) = (stem.with_extension("lock"), stem.with_extension("holder"));
        let cannot = |source| BookError::CannotClaim {
            machine: machine.to_owned(),
            path: path.clone(),
            source,
        };
        let lock = make_folder(Path::new(&folder))
            .and_then(|()| open(&path))
            .map_err(cannot)?;
        match lock.try_lock() {
            Ok(()) => {
                let who = format!("process {}, since {at}", std::process::id());
                // Failing is harmless, as on a full disk: who holds it is then not told.
                let _ = write(&holder, &who);
                Ok(Self {
                    _lock: lock,
                    holder,
                })
            }
            Err(TryLockError::WouldBlock) => Err(BookError::Held {
                machine: machine.to_owned(),
                by: read_holder(&holder),
            }),
            Err(TryLockError::Error(source)) => Err(cannot(source)),
        }
    }
}

impl Drop for Claim {
    fn drop(&mut self) {
        // While the lock still holds, so that it cannot be the next holder's name that goes. Failing is harmless.
        let _ = write(&self.holder, "");
    }
}

impl Book {
    /// Claims the machine for this terminal until the claim is dropped or the process ends. `at` is the present
    /// moment, for the message to a second terminal.
    ///
    /// # Errors
    /// [`BookError::Held`] when another terminal has it, [`BookError::CannotClaim`].
    pub fn claim(&self, machine: &str, at: &str) -> Result<Claim, BookError> {
        Claim::new(self.path(), machine, at)
    }
}

fn open(path: &Path) -> io::Result<File> {
    for_owner(OpenOptions::new().read(true).truncate(false), path)
}

/// Writes who holds it; not with `fs::write`, which would let others read the file.
fn write(path: &Path, who: &str) -> io::Result<()> {
    for_owner(OpenOptions::new().truncate(true), path)?.write_all(who.as_bytes())
}

fn for_owner(options: &mut OpenOptions, path: &Path) -> io::Result<File> {
    options.write(true).create(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(options, 0o600);
    options.open(path)
}

fn read_holder(path: &Path) -> String {
    let who = fs::read_to_string(path).unwrap_or_default();
    // Just taken or just let go, or the file is not to be read.
    if who.is_empty() {
        "just now".to_owned()
    } else {
        who.chars().filter(|c| !c.is_control()).take(80).collect()
    }
}

/// A file name for a machine's name: different for different machines, also where file names ignore case, and never one
/// that a system keeps for itself.
fn file_stem(machine: &str) -> String {
    let mut stem = String::from("machine-");
    for byte in machine.bytes() {
        match byte {
            b'a'..=b'z' | b'0'..=b'9' | b'-' => stem.push(char::from(byte)),
            _ => stem.push_str(&format!("%{byte:02x}")),
        }
    }
    if stem.len() <= LONGEST {
        stem
    } else {
        format!("long-{}", Fingerprint::of(machine))
    }
}

#[cfg(test)]
mod tests {
    use super::file_stem;
    use crate::book::testing::new_path;
    use crate::book::{Book, BookError};
    use std::io::{BufRead, BufReader};
    use std::process::{Command, Stdio};

    const BOOK: &str = "SKIMGATE_TEST_CLAIMED_BOOK";

    #[test]
    fn the_second_terminal_is_told_who_holds_the_machine() {
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

    /// The other process in the next test; on its own it holds nothing and ends.
    #[test]
    #[ignore = "started by a_killed_process_lets_go"]
    fn hold_until_killed() {
        let Some(path) = std::env::var_os(BOOK) else {
            return;
        };
        let _claim = Book::open(path).unwrap().claim("mill", "then").unwrap();
        println!("\nheld");
        std::thread::sleep(std::time::Duration::from_secs(60));
    }

    #[test]
    fn a_killed_process_lets_go() {
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
    fn machines_have_different_and_harmless_file_names() {
        let long = "x".repeat(300);
        let names = [
            "mill",
            "Mill",
            "mill 1",
            "mill_1",
            "mill%201",
            "../mill",
            "..",
            "",
            "con",
            "a/b",
            "a\\b",
            "fräse",
            "a:b",
            &long,
            &long[1..],
        ];
        let mut stems: Vec<_> = names.iter().map(|name| file_stem(name)).collect();
        for stem in &stems {
            let harmless =
                |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || "-%".contains(c);
            assert!(stem.chars().all(harmless) && stem.len() <= 200, "{stem}");
        }
        stems.sort();
        stems.dedup();
        assert_eq!(stems.len(), names.len());
    }
}
