//! A program file as a source of bytes.

use crate::cli::failure::Failure;
use crate::cli::files::failure;
use crate::files::{self, ReadAs};
use crate::program::source::{Source, SourceError};
use std::fs::File;
use std::io::{ErrorKind, Read, Seek, SeekFrom};
use std::path::Path;

/// An open file, read where it is asked for.
#[derive(Debug)]
pub struct ProgramFile {
    file: File,
    at: u64,
}

/// Opens a program file; a device or a pipe could give bytes without end, and cannot be read twice.
pub fn open(path: &Path) -> Result<ProgramFile, Failure> {
    let file = files::open(path, ReadAs::Program).map_err(|fault| failure(path, &fault))?;
    Ok(ProgramFile { file, at: 0 })
}

impl Source for ProgramFile {
    fn read_at(&mut self, offset: u64, into: &mut [u8]) -> Result<usize, SourceError> {
        let failed = |e: std::io::Error| SourceError(e.to_string());
        if offset != self.at {
            self.file.seek(SeekFrom::Start(offset)).map_err(failed)?;
            self.at = offset;
        }
        loop {
            match self.file.read(into) {
                Ok(count) => {
                    self.at += u64::try_from(count).unwrap_or(0);
                    return Ok(count);
                }
                Err(e) if e.kind() == ErrorKind::Interrupted => {}
                Err(e) => return Err(failed(e)),
            }
        }
    }
}
