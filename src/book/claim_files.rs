//! The files of a machine's claim, next to the book: the door, the turn, and each turn's lock and holder.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::files::{make_private, make_private_folder};
use crate::fingerprint::Fingerprint;
use crate::quantity::moment::Moment;

/// The longest machine name that is written into a file name unchanged, in bytes; file systems allow 255.
const LONGEST: usize = 150;

/// How often the door is tried, and the time between two tries: 10 s in total.
const LOOKS: u32 = 500;
const BETWEEN: Duration = Duration::from_millis(20);

/// One terminal's claim on a machine's run. Dropping it releases the claim.
#[derive(Debug)]
pub struct Claim {
    // The open file is the lock; nothing is read from it.
    _lock: File,
    holder: PathBuf,
    /// The content of the file that names the holder.
    holder_text: String,
}

impl Claim {
    /// Ends every release for this claim's holder, who keeps the machine. This is for a failed write: an event that
    /// ends a release cannot be stored. Emptying the file works on a full disk too.
    ///
    /// # Errors
    /// The system's error.
    pub(crate) fn withhold(&self) -> io::Result<()> {
        emptied(&self.holder).map(drop)
    }

    /// Reverses [`Claim::withhold`]. If it fails, there is still no release for the holder.
    pub(crate) fn confirm(&self) {
        let _ =
            emptied(&self.holder).and_then(|mut file| file.write_all(self.holder_text.as_bytes()));
    }
}

impl Drop for Claim {
    fn drop(&mut self) {
        // This is done while the lock is still held, so that it cannot remove the name of the next holder. A failure is
        // harmless.
        let _ = emptied(&self.holder);
    }
}

/// The result of trying to claim a turn.
pub(super) enum ClaimAttempt {
    /// This process has the claim.
    Claim(Claim),
    /// Another terminal has it: its name, as far as it is known.
    Held(String),
}

/// The paths of a claim's files.
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

    /// Locks the door. It stays locked for others until the returned file is dropped.
    pub(super) fn door(&self) -> io::Result<File> {
        if let Some(folder) = self.stem.parent() {
            make_private_folder(folder)?;
            let _ = make_private(folder);
        }
        // The other files are opened at each claim and made private then.
        for what in ["turn", "seen"] {
            let _ = make_private(&self.stem.with_extension(what));
        }
        let door = open(&self.stem.with_extension("door"))?;
        lock_in_time(&door)?;
        Ok(door)
    }

    /// The number of the present turn; the first is 0.
    pub(super) fn turn(&self) -> io::Result<u64> {
        match fs::read_to_string(self.stem.with_extension("turn")) {
            Ok(text) => text.trim().parse().map_err(|_| {
                io::Error::new(ErrorKind::InvalidData, "its file `turn` holds no number")
            }),
            Err(error) if error.kind() == ErrorKind::NotFound => Ok(0),
            Err(error) => Err(error),
        }
    }

    /// Sets the number of the turn. It is on disk when this returns.
    pub(super) fn set_turn(&self, turn: u64) -> io::Result<()> {
        self.replace("turn", &turn.to_string())
    }

    /// The latest time seen since entry `n` of a run: `now`, or a later one that was seen before. It is stored when
    /// this returns.
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

    /// Replaces a file of the claim. It is on disk when this returns.
    fn replace(&self, what: &str, text: &str) -> io::Result<()> {
        let aside = self.stem.with_extension(format!("{what}-new"));
        let mut file = for_owner(OpenOptions::new().truncate(true), &aside)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        drop(file);
        fs::rename(&aside, self.stem.with_extension(what))
    }

    /// Tries to claim a turn. `seq` is the number of the book's last entry.
    pub(super) fn take(&self, turn: u64, at: &str, seq: u64) -> io::Result<ClaimAttempt> {
        let lock = open(&self.lock(turn))?;
        let holder = self.holder(turn);
        match lock.try_lock() {
            Ok(()) => {
                let holder_text =
                    format!("process {}, since {at}\nafter {seq}\n", std::process::id());
                // The content of the previous holder must be removed, so that its releases do not count as this one's.
                let mut file = emptied(&holder)?;
                // A failure is harmless, for example on a full disk: the holder then has no name and no release.
                let _ = file.write_all(holder_text.as_bytes());
                Ok(ClaimAttempt::Claim(Claim {
                    _lock: lock,
                    holder,
                    holder_text,
                }))
            }
            Err(TryLockError::WouldBlock) => Ok(ClaimAttempt::Held(read_holder(&holder))),
            Err(TryLockError::Error(source)) => Err(source),
        }
    }

    /// The number of the book's last entry when the present turn was claimed; `None` if nobody holds it. It is read
    /// behind the locked door, so it never blocks a claim.
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

/// Locks the door. It is locked for short times only, so waiting longer is an error and never endless.
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

/// Creates or empties the file that names the holder. `fs::write` would let others read it.
fn emptied(path: &Path) -> io::Result<File> {
    for_owner(OpenOptions::new().truncate(true), path)
}

fn for_owner(options: &mut OpenOptions, path: &Path) -> io::Result<File> {
    options.write(true).create(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(options, 0o600);
    let file = options.open(path)?;
    // An older file may be readable by others.
    let _ = make_private(path);
    Ok(file)
}

fn read_holder(path: &Path) -> String {
    let text = fs::read_to_string(path).unwrap_or_default();
    let who = text.lines().next().unwrap_or_default();
    // The claim was just made or just released, or the file cannot be read.
    if who.is_empty() {
        "just now".to_owned()
    } else {
        who.chars().filter(|c| !c.is_control()).take(80).collect()
    }
}

/// The number of the book's last entry when the holder made the claim. Where this is not known, no entry counts as the
/// holder's.
fn read_after(path: &Path) -> u64 {
    let text = fs::read_to_string(path).unwrap_or_default();
    let after = text.lines().find_map(|line| line.strip_prefix("after "));
    after.and_then(|seq| seq.parse().ok()).unwrap_or(u64::MAX)
}

/// The file name for a machine's name: different for different machines even where file names ignore case, and never a
/// name reserved by a system.
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
