//! The files of a machine's claim beside the book: the door, the turn, and each turn's lock and holder.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::files::{make_private, make_private_folder};
use crate::fingerprint::Fingerprint;
use crate::quantity::moment::Moment;

/// The longest machine name that stands in a file name as it is; file systems end at 255 bytes.
const LONGEST: usize = 150;

/// How often a door is tried, and how long apart: for 10 s together.
const LOOKS: u32 = 500;
const BETWEEN: Duration = Duration::from_millis(20);

/// One terminal's hold on a machine's run. Dropping it lets go.
#[derive(Debug)]
pub struct Claim {
    // Held for its lock alone.
    _lock: File,
    holder: PathBuf,
    /// What the file of who holds it says.
    told: String,
}

impl Claim {
    /// From here on nothing counts as released to this claim's holder, who still has the machine: what would end a release
    /// cannot be stored. Emptying the file needs no room on the disk.
    ///
    /// # Errors
    /// Those of the system.
    pub fn withhold(&self) -> io::Result<()> {
        emptied(&self.holder).map(drop)
    }

    /// Ends what [`Claim::withhold`] began. Where it fails, nothing counts as released to the holder, as before.
    pub fn confirm(&self) {
        let _ = emptied(&self.holder).and_then(|mut file| file.write_all(self.told.as_bytes()));
    }
}

impl Drop for Claim {
    fn drop(&mut self) {
        // While the lock still holds, so that it cannot be the next holder's name that goes. Failing is harmless.
        let _ = emptied(&self.holder);
    }
}

/// What trying for a turn came to.
pub(super) enum ClaimAttempt {
    /// It is ours.
    Claim(Claim),
    /// Another terminal has it: who, as far as is known.
    Held(String),
}

/// Where the files are.
pub(super) struct ClaimFiles {
    stem: PathBuf,
}

impl ClaimFiles {
    pub(super) fn of(book: &Path, machine: &str) -> Self {
        let mut folder = book.as_os_str().to_owned();
        folder.push(".claims");
        Self {
            stem: Path::new(&folder).join(file_stem(machine)),
        }
    }

    pub(super) fn stem(&self) -> &Path {
        &self.stem
    }

    /// Goes through the door; it stays shut for others until what this returns is dropped.
    pub(super) fn door(&self) -> io::Result<File> {
        if let Some(folder) = self.stem.parent() {
            make_private_folder(folder)?;
            let _ = make_private(folder);
        }
        // The others are opened at each claim, and made private then.
        for what in ["turn", "seen"] {
            let _ = make_private(&self.stem.with_extension(what));
        }
        let door = open(&self.stem.with_extension("door"))?;
        lock_in_time(&door)?;
        Ok(door)
    }

    /// Whose turn it is; the first is 0.
    pub(super) fn turn(&self) -> io::Result<u64> {
        match fs::read_to_string(self.stem.with_extension("turn")) {
            Ok(text) => text.trim().parse().map_err(|_| {
                io::Error::new(ErrorKind::InvalidData, "its file `turn` holds no number")
            }),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(0),
            Err(error) => Err(error),
        }
    }

    /// Sets the turn; on disk when this returns.
    pub(super) fn set_turn(&self, turn: u64) -> io::Result<()> {
        self.replace("turn", &turn.to_string())
    }

    /// The latest time seen at entry `n` of a run, which is `now` or one that was seen before; stored when this returns.
    pub(super) fn latest_seen(&self, run: &str, n: u32, now: Moment) -> io::Result<Moment> {
        let at = format!("{n} {run}");
        let stored = match fs::read_to_string(self.stem.with_extension("seen")) {
            Ok(text) => text
                .split_once(' ')
                .filter(|(_, of)| *of == at)
                .and_then(|(time, _)| time.parse::<Moment>().ok()),
            Err(error) if error.kind() == ErrorKind::NotFound => None,
            Err(error) => return Err(error),
        };
        if let Some(stored) = stored.filter(|stored| *stored >= now) {
            return Ok(stored);
        }
        self.replace("seen", &format!("{now} {at}"))?;
        Ok(now)
    }

    /// Writes a file of the claim whole; on disk when this returns.
    fn replace(&self, what: &str, text: &str) -> io::Result<()> {
        let aside = self.stem.with_extension(format!("{what}-new"));
        let mut file = for_owner(OpenOptions::new().truncate(true), &aside)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        drop(file);
        fs::rename(&aside, self.stem.with_extension(what))
    }

    /// Tries for a turn, while the last entry of the book is `seq`.
    pub(super) fn take(&self, turn: u64, at: &str, seq: u64) -> io::Result<ClaimAttempt> {
        let lock = open(&self.lock(turn))?;
        let holder = self.holder(turn);
        match lock.try_lock() {
            Ok(()) => {
                let told = format!("process {}, since {at}\nafter {seq}\n", std::process::id());
                // What the holder before wrote must go, so that its releases are not taken for this one's.
                let mut file = emptied(&holder)?;
                // Failing here is harmless, as on a full disk: who holds it is then not told, and nothing is released to it.
                let _ = file.write_all(told.as_bytes());
                Ok(ClaimAttempt::Claim(Claim {
                    _lock: lock,
                    holder,
                    told,
                }))
            }
            Err(TryLockError::WouldBlock) => Ok(ClaimAttempt::Held(read_holder(&holder))),
            Err(TryLockError::Error(source)) => Err(source),
        }
    }

    /// Since which entry of the book somebody holds the turn that it is, if anybody does. Looks behind the door, so that it
    /// is never in the way of a claim.
    pub(super) fn taken_after(&self) -> io::Result<Option<u64>> {
        let Some(door) = existing(&self.stem.with_extension("door"))? else {
            return Ok(None);
        };
        lock_in_time(&door)?;
        let turn = self.turn()?;
        let Some(lock) = existing(&self.lock(turn))? else {
            return Ok(None);
        };
        match lock.try_lock_shared() {
            Ok(()) => Ok(None),
            Err(TryLockError::WouldBlock) => Ok(Some(read_after(&self.holder(turn)))),
            Err(TryLockError::Error(source)) => Err(source),
        }
    }

    fn lock(&self, turn: u64) -> PathBuf {
        self.of_turn(turn, "lock")
    }

    fn holder(&self, turn: u64) -> PathBuf {
        self.of_turn(turn, "holder")
    }

    fn of_turn(&self, turn: u64, what: &str) -> PathBuf {
        if turn == 0 {
            self.stem.with_extension(what)
        } else {
            self.stem.with_extension(format!("{turn}.{what}"))
        }
    }
}

/// A door is shut for moments only; whoever finds it shut for longer is told so, and never waits without end.
fn lock_in_time(door: &File) -> io::Result<()> {
    for _ in 0..LOOKS {
        match door.try_lock() {
            Ok(()) => return Ok(()),
            Err(TryLockError::WouldBlock) => std::thread::sleep(BETWEEN),
            Err(TryLockError::Error(source)) => return Err(source),
        }
    }
    Err(io::Error::new(
        ErrorKind::TimedOut,
        "another program keeps the claim locked; close it and try again",
    ))
}

fn existing(path: &Path) -> io::Result<Option<File>> {
    match File::open(path) {
        Ok(file) => Ok(Some(file)),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
    }
}

fn open(path: &Path) -> io::Result<File> {
    for_owner(OpenOptions::new().read(true).truncate(false), path)
}

/// The file of who holds it, empty; not made with `fs::write`, which would let others read it.
fn emptied(path: &Path) -> io::Result<File> {
    for_owner(OpenOptions::new().truncate(true), path)
}

fn for_owner(options: &mut OpenOptions, path: &Path) -> io::Result<File> {
    options.write(true).create(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(options, 0o600);
    let file = options.open(path)?;
    // One from before may be looser.
    let _ = make_private(path);
    Ok(file)
}

fn read_holder(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap_or_default();
    let who = text.lines().next().unwrap_or_default();
    // Just taken or just let go, or the file is not to be read.
    if who.is_empty() {
        "just now".to_owned()
    } else {
        who.chars().filter(|c| !c.is_control()).take(80).collect()
    }
}

/// The book's last entry when the holder claimed; where that is not known, no entry is the holder's.
fn read_after(path: &Path) -> u64 {
    let text = fs::read_to_string(path).unwrap_or_default();
    let after = text.lines().find_map(|line| line.strip_prefix("after "));
    after.and_then(|seq| seq.parse().ok()).unwrap_or(u64::MAX)
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
