//! The NC program file: read for its fingerprint, nothing else yet.

use super::session::Session;
use crate::fingerprint::Fingerprint;
use crate::interlock::command::Seen;
use std::io;
use std::path::{Path, PathBuf};

/// A program file as it is now.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Found {
    /// Its path, made absolute.
    pub path: PathBuf,
    /// Fingerprint of its bytes.
    pub fingerprint: Fingerprint,
    /// Its size.
    pub bytes: u64,
    /// Its number of lines.
    pub lines: usize,
}

/// Reads a file that is one: a device or a pipe could give bytes without end.
fn read(path: &Path) -> io::Result<Vec<u8>> {
    if !std::fs::metadata(path)?.is_file() {
        return Err(io::Error::other("it is not a file"));
    }
    std::fs::read(path)
}

/// Reads a program file; a relative path counts from `folder`.
pub fn find(folder: &Path, typed: &str) -> io::Result<Found> {
    let path = std::path::absolute(folder.join(typed))?;
    let bytes = read(&path)?;
    Ok(Found {
        fingerprint: Fingerprint::of(&bytes),
        bytes: u64::try_from(bytes.len()).unwrap_or(u64::MAX),
        lines: bytes
            .split(|b| *b == b'\n')
            .filter(|l| !l.is_empty())
            .count(),
        path,
    })
}

/// The program file of a run as it is now; nothing where there is none or it cannot be read.
pub fn seen(state: &crate::interlock::State) -> Seen {
    let (_, path, _) = state.program()?;
    let bytes = read(Path::new(path)).ok()?;
    Some(Fingerprint::of(bytes))
}

impl Session<'_> {
    /// The program file as it is now.
    pub fn seen(&self) -> Seen {
        seen(&self.state)
    }
}
