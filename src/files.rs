//! The only way to files that a person names, and to the key files: reading, and writing whole files.
//!
//! Only regular files are read, through symbolic links too. A named pipe would block the open and a device could give bytes
//! without end, so the kind is looked at before the open, and again on the open file, which is opened without blocking.
//! Every read has a limit that depends on what is read. Files are written beside their name and renamed, so a reader never sees half
//! of one; a name that is taken, a symbolic link included, is only replaced when the caller says so.

use std::fs::{self, DirBuilder, File, OpenOptions};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// What a file is read as: its largest size, and what a larger one is not.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ReadAs {
    /// A procedure, shop file, answers file or scenario.
    Checklist,
    /// A list of readings.
    Readings,
    /// An NC program.
    Program,
    /// A sealed key.
    Key,
}

impl ReadAs {
    /// The largest size in bytes.
    pub fn most(self) -> u64 {
        match self {
            Self::Checklist => 4 << 20,
            Self::Readings => 1 << 20,
            Self::Program => 256 << 20,
            Self::Key => 64 << 10,
        }
    }

    fn limit(self) -> &'static str {
        match self {
            Self::Checklist => "4 MiB; no procedure, shop, answers or scenario file is that long",
            Self::Readings => "1 MiB; no list of readings is that long",
            Self::Program => "256 MiB; programs larger than that are not read",
            Self::Key => "64 KiB; no key is that long",
        }
    }
}

/// Why a file cannot be read or written. The caller names the file.
#[derive(Debug, Error)]
pub enum FileFault {
    /// A folder.
    #[error("it is a folder; name a file in it")]
    Folder,
    /// A pipe, a device or a socket.
    #[error("it is not a regular file")]
    NotAFile,
    /// Larger than the limit.
    #[error("it is larger than {}", .0.limit())]
    TooLarge(ReadAs),
    /// A symbolic link, or a name that is taken.
    #[error("it is there already{}", if *.link { ", as a symbolic link" } else { "" })]
    Taken {
        /// Whether it is a symbolic link.
        link: bool,
    },
    /// The system's reason.
    #[error(transparent)]
    System(#[from] io::Error),
}

impl From<FileFault> for io::Error {
    fn from(fault: FileFault) -> Self {
        match fault {
            FileFault::System(error) => error,
            other => Self::other(other.to_string()),
        }
    }
}

/// Opens a regular file for reading; neither a pipe nor a device is waited for.
///
/// # Errors
/// Any [`FileFault`] but `Taken`.
pub fn open(path: &Path, read_as: ReadAs) -> Result<File, FileFault> {
    // Even opening a device can have an effect, so it is not opened to be looked at.
    suits(&fs::metadata(path)?, read_as)?;
    let mut options = OpenOptions::new();
    options.read(true);
    #[cfg(unix)]
    never_waiting(&mut options);
    let file = options.open(path)?;
    suits(&file.metadata()?, read_as)?;
    Ok(file)
}

#[cfg(unix)]
fn never_waiting(options: &mut OpenOptions) {
    use rustix::fs::OFlags;
    use std::os::unix::fs::OpenOptionsExt;
    let flags = OFlags::NONBLOCK | OFlags::NOCTTY;
    options.custom_flags(flags.bits().cast_signed());
}

fn suits(meta: &fs::Metadata, read_as: ReadAs) -> Result<(), FileFault> {
    if meta.is_dir() {
        Err(FileFault::Folder)
    } else if !meta.is_file() {
        Err(FileFault::NotAFile)
    } else if meta.len() > read_as.most() {
        Err(FileFault::TooLarge(read_as))
    } else {
        Ok(())
    }
}

/// The bytes of a regular file.
///
/// # Errors
/// As [`open`].
pub fn read(path: &Path, read_as: ReadAs) -> Result<Vec<u8>, FileFault> {
    read_from(&mut open(path, read_as)?, read_as)
}

/// The bytes of a stream up to its end, such as standard input.
///
/// # Errors
/// [`FileFault::TooLarge`], and the system's.
pub fn read_from(input: &mut (impl Read + ?Sized), read_as: ReadAs) -> Result<Vec<u8>, FileFault> {
    let mut bytes = Vec::new();
    input.take(read_as.most() + 1).read_to_end(&mut bytes)?;
    if u64::try_from(bytes.len()).is_ok_and(|n| n <= read_as.most()) {
        Ok(bytes)
    } else {
        Err(FileFault::TooLarge(read_as))
    }
}

/// Whether a written file replaces one that is there.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Replace {
    /// A name that is taken is refused.
    Never,
    /// A file or a symbolic link of that name goes; what the link points to stays as it is.
    Yes,
}

/// Who may read a written file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum ReadableBy {
    /// Its owner alone: what comes out of a book, and keys.
    Owner,
    /// Whoever the system's default lets.
    Default,
}

/// Writes a whole file; on disk when this returns.
///
/// # Errors
/// [`FileFault::Taken`] for a name that is not to be replaced, [`FileFault::Folder`] and [`FileFault::NotAFile`] for one that never is,
/// and the system's.
pub fn write(
    path: &Path,
    content: &[u8],
    replace: Replace,
    by: ReadableBy,
) -> Result<(), FileFault> {
    match fs::symlink_metadata(path) {
        Ok(meta) if replace == Replace::Never => {
            return Err(FileFault::Taken {
                link: meta.is_symlink(),
            });
        }
        Ok(meta) if meta.is_dir() => return Err(FileFault::Folder),
        Ok(meta) if !meta.is_file() && !meta.is_symlink() => return Err(FileFault::NotAFile),
        Ok(_) => {}
        Err(error) if error.kind() == ErrorKind::NotFound => {}
        Err(error) => return Err(error.into()),
    }
    if replace == Replace::Never {
        return match write_new(path, content, by) {
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {
                Err(FileFault::Taken { link: false })
            }
            other => Ok(other?),
        };
    }
    let aside = aside(path);
    // One left behind by a power cut; a new file is made in its place, never written through.
    match fs::remove_file(&aside) {
        Err(error) if error.kind() != ErrorKind::NotFound => return Err(error.into()),
        _ => write_new(&aside, content, by)?,
    }
    fs::rename(&aside, path)?;
    Ok(sync_folder_of(path)?)
}

fn aside(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".new");
    PathBuf::from(name)
}

fn write_new(path: &Path, content: &[u8], by: ReadableBy) -> io::Result<()> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    if by == ReadableBy::Owner {
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    }
    #[cfg(not(unix))]
    let _ = by;
    let mut file = options.open(path)?;
    let written = file.write_all(content).and_then(|()| file.sync_all());
    if written.is_err() {
        // Half a file would be in the way of the next try. It was made here, so it is nobody else's.
        let _ = fs::remove_file(path);
    }
    written
}

/// A name is on disk once its folder is; elsewhere than on Unix a folder cannot be opened for that.
fn sync_folder_of(path: &Path) -> io::Result<()> {
    match path.parent().filter(|_| cfg!(unix)) {
        Some(folder) if folder.as_os_str().is_empty() => File::open(".")?.sync_all(),
        Some(folder) => File::open(folder)?.sync_all(),
        None => Ok(()),
    }
}

/// Makes a folder and those above it, as far as there are none; on Unix what it makes is for its owner alone.
///
/// # Errors
/// The system's.
pub fn make_private_folder(folder: &Path) -> io::Result<()> {
    let mut builder = DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

/// Takes a file or a folder from all but its owner; whether others had any right to it. By its path, because opening a book's
/// file a second time would drop its locks. Nothing there is nothing to do.
///
/// # Errors
/// The system's, as where it is somebody else's.
#[cfg(unix)]
pub fn make_private(path: &Path) -> io::Result<bool> {
    use std::os::unix::fs::PermissionsExt;
    let mode = match fs::metadata(path) {
        Ok(found) => found.permissions().mode() & 0o777,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(false),
        Err(error) => return Err(error),
    };
    if mode & 0o700 == mode {
        return Ok(false);
    }
    fs::set_permissions(path, fs::Permissions::from_mode(mode & 0o700))?;
    Ok(true)
}

/// Elsewhere rights are the folder's, which the system keeps to the account.
///
/// # Errors
/// None.
#[cfg(not(unix))]
pub fn make_private(_: &Path) -> io::Result<bool> {
    Ok(false)
}

/// The paths that begin as typed, as typed: relative ones count from `folder`, a folder ends with the separator, hidden names only
/// where their dot is typed. Nothing where the folder cannot be read.
pub fn paths_beginning(folder: &Path, typed: &str) -> Vec<String> {
    let (head, tail) = typed
        .rfind(std::path::is_separator)
        .map_or(("", typed), |at| typed.split_at(at + 1));
    let Ok(entries) = fs::read_dir(folder.join(head)) else {
        return Vec::new();
    };
    let mut found: Vec<String> = entries
        .flatten()
        .filter_map(|entry| {
            let name = entry.file_name().into_string().ok()?;
            if !name.starts_with(tail) || (name.starts_with('.') && !tail.starts_with('.')) {
                return None;
            }
            let end = if entry.path().is_dir() {
                std::path::MAIN_SEPARATOR_STR
            } else {
                ""
            };
            Some(format!("{head}{name}{end}"))
        })
        .collect();
    found.sort();
    found
}

#[cfg(test)]
#[cfg(unix)]
mod tests {
    use super::{FileFault, ReadAs, ReadableBy, Replace, read, write};
    use std::os::unix::fs::symlink;

    #[test]
    fn a_taken_name_stays_and_a_replaced_link_leaves_its_target() {
        let folder = tempfile::tempdir().unwrap();
        let (real, link) = (folder.path().join("real"), folder.path().join("link"));
        std::fs::write(&real, "mine").unwrap();
        symlink(&real, &link).unwrap();
        for (path, linked) in [(&real, false), (&link, true)] {
            let refused = write(path, b"x", Replace::Never, ReadableBy::Default).unwrap_err();
            assert!(matches!(refused, FileFault::Taken { link } if link == linked));
        }
        write(&link, b"new", Replace::Yes, ReadableBy::Default).unwrap();
        assert_eq!(std::fs::read(&real).unwrap(), b"mine");
        assert_eq!(std::fs::read(&link).unwrap(), b"new");
        assert!(!link.is_symlink());
    }

    #[test]
    fn devices_and_large_files_are_refused_before_they_are_read() {
        let folder = tempfile::tempdir().unwrap();
        let sparse = folder.path().join("sparse");
        std::fs::File::create(&sparse)
            .unwrap()
            .set_len(2 << 30)
            .unwrap();
        let refused = read(&sparse, ReadAs::Program).unwrap_err();
        assert!(matches!(refused, FileFault::TooLarge(_)), "{refused}");
        let refused = read("/dev/zero".as_ref(), ReadAs::Program).unwrap_err();
        assert!(matches!(refused, FileFault::NotAFile), "{refused}");
        let refused = read(folder.path(), ReadAs::Program).unwrap_err();
        assert!(matches!(refused, FileFault::Folder), "{refused}");
    }
}
