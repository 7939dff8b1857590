//! Reads and writes whole files. All files that a person names, and the key files, go through this module.
//!
//! Only regular files are read, also through symbolic links. Opening a named pipe would block, and a device could give
//! bytes without end, so the kind of file is checked before opening, and again on the open file, which is opened
//! without blocking. Every read has a size limit that depends on what is read. A file is written under a temporary name
//! next to its own and then renamed, so a reader never sees half a file. An existing file or symbolic link is replaced
//! only when the caller says so.

use std::fs::{self, DirBuilder, File, OpenOptions};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// The kind of content that a file is read as. It decides the largest size.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum ReadAs {
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
    pub(crate) fn most(self) -> u64 {
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
pub(crate) enum FileFault {
    /// It is a folder.
    #[error("it is a folder; name a file in it")]
    Folder,
    /// It is a pipe, a device or a socket.
    #[error("it is not a regular file")]
    NotAFile,
    /// It is larger than the limit.
    #[error("it is larger than {}", .0.limit())]
    TooLarge(ReadAs),
    /// The name is in use, perhaps by a symbolic link.
    #[error("it exists already{}", if *.link { ", as a symbolic link" } else { "" })]
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

/// Opens a regular file for reading. It never waits for a pipe or a device.
///
/// # Errors
/// Any [`FileFault`] except `Taken`.
pub(crate) fn open(path: &Path, read_as: ReadAs) -> Result<File, FileFault> {
    // Opening a device can have side effects, so its kind is checked before it is opened.
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
pub(crate) fn read(path: &Path, read_as: ReadAs) -> Result<Vec<u8>, FileFault> {
    read_from(&mut open(path, read_as)?, read_as)
}

/// The bytes of a stream up to its end, such as standard input.
///
/// # Errors
/// [`FileFault::TooLarge`], and the system's errors.
pub(crate) fn read_from(
    input: &mut (impl Read + ?Sized),
    read_as: ReadAs,
) -> Result<Vec<u8>, FileFault> {
    let mut bytes = Vec::new();
    input.take(read_as.most() + 1).read_to_end(&mut bytes)?;
    if u64::try_from(bytes.len()).is_ok_and(|n| n <= read_as.most()) {
        Ok(bytes)
    } else {
        Err(FileFault::TooLarge(read_as))
    }
}

/// Whether writing a file may replace an existing one.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum Replace {
    /// An existing name is refused.
    Never,
    /// An existing file or symbolic link is replaced; the target of the link does not change.
    Yes,
}

/// Who may read a written file.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) enum ReadableBy {
    /// Only its owner: for content from a book, and for keys.
    Owner,
    /// Everybody whom the system's default allows.
    Default,
}

/// Writes a whole file. It is on disk when this returns.
///
/// # Errors
/// [`FileFault::Taken`] for an existing name that may not be replaced, [`FileFault::Folder`] and
/// [`FileFault::NotAFile`] for a name that can never be replaced, and the system's errors.
pub(crate) fn write(
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
    // A power cut may have left this file. It is removed and created again, so that nothing is written through a link.
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
        // Half a file would block the next try. This function created it, so it can be removed.
        let _ = fs::remove_file(path);
    }
    written
}

/// Writes the folder to disk, which makes a new name in it permanent. Other systems than Unix cannot open a folder for
/// this.
fn sync_folder_of(path: &Path) -> io::Result<()> {
    match path.parent().filter(|_| cfg!(unix)) {
        Some(folder) if folder.as_os_str().is_empty() => File::open(".")?.sync_all(),
        Some(folder) => File::open(folder)?.sync_all(),
        None => Ok(()),
    }
}

/// Creates a folder, and those above it where they are missing. On Unix only the owner can use what it creates.
///
/// # Errors
/// The system's errors.
pub(crate) fn make_private_folder(folder: &Path) -> io::Result<()> {
    let mut builder = DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(folder)
}

/// Removes all rights to a file or folder except the owner's. Returns whether others had any. It works by path, because
/// opening a book's file a second time would release its locks. A missing file is no error.
///
/// # Errors
/// The system's errors, for example when the file belongs to another user.
#[cfg(unix)]
pub(crate) fn make_private(path: &Path) -> io::Result<bool> {
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

/// On other systems the rights come from the folder, which the system limits to the user's account.
///
/// # Errors
/// It never fails.
#[cfg(not(unix))]
pub(crate) fn make_private(_: &Path) -> io::Result<bool> {
    Ok(false)
}

/// The paths that begin as typed, as typed: relative ones count from `folder`, a folder ends with the separator, hidden names only
/// where their dot is typed. Nothing where the folder cannot be read.
pub(crate) fn paths_beginning(folder: &Path, typed: &str) -> Vec<String> {
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
    fn an_existing_name_is_not_replaced_and_a_replaced_link_leaves_its_target() {
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
