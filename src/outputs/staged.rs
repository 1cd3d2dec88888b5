//! One file, written beside its place and then renamed onto it: readers see the old one or the new one, never a half.

use std::fs::{self, FileType};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use tempfile::{Builder, NamedTempFile};

use super::error::{Action, WriteError};
use super::turn::{PART, PREFIX, Turn};

/// A file complete on disk under a temporary name; dropped without a rename, it is removed.
pub(super) struct Staged {
    file: NamedTempFile,
    path: PathBuf,
}

impl Staged {
    /// Writes and flushes the contents beside `path`.
    pub(super) fn beside(path: &Path, contents: &[u8]) -> Result<Self, WriteError> {
        let stage = || {
            let mut file = temporary_in(folder_of(path))?;
            file.write_all(contents)?;
            file.as_file().sync_all()?;
            Ok(file)
        };
        let file = stage().map_err(|source| cannot_write(path, source))?;
        Ok(Self { file, path: path.to_owned() })
    }

    /// Puts the file in its place, over what stands there.
    pub(super) fn replace(self) -> Result<(), WriteError> {
        let Self { file, path } = self;
        file.persist(&path).map(drop).map_err(|e| cannot_write(&path, e.error))
    }

    /// Puts the file in its place if nothing stands there.
    fn place_new(self) -> Result<(), WriteError> {
        let Self { file, path } = self;
        file.persist_noclobber(&path).map(drop).map_err(|e| match e.error.kind() {
            ErrorKind::AlreadyExists => WriteError::Exists { path: path.clone() },
            _ => cannot_write(&path, e.error),
        })
    }
}

/// Writes one file of the user's choice; one that exists is overwritten only with `force`.
pub fn write_file(path: &Path, contents: &str, force: bool) -> Result<(), WriteError> {
    write_files(&[(path, contents)], force)
}

/// The same of several files beside each other: none is put in place before each of them may be and is complete on disk.
pub fn write_files(files: &[(&Path, &str)], force: bool) -> Result<(), WriteError> {
    let _turn = files.first().map(|(path, _)| Turn::take(folder_of(path)));
    for (path, _) in files {
        if plain_file_at(path)? && !force {
            return Err(WriteError::Exists { path: path.to_path_buf() });
        }
    }
    let staged = files.iter().map(|(path, contents)| Staged::beside(path, contents.as_bytes()));
    for staged in staged.collect::<Result<Vec<_>, _>>()? {
        if force { staged.replace()? } else { staged.place_new()? }
    }
    Ok(())
}

/// Puts a changed text in the place of a file of the user's, which must still say what was read of it.
pub fn replace_file(path: &Path, as_read: &str, changed: &str) -> Result<(), WriteError> {
    let _turn = Turn::take(folder_of(path));
    let refuse_changed = || match plain_file_at(path)? && read(path)? == as_read.as_bytes() {
        true => Ok(()),
        false => Err(WriteError::Changed { path: path.to_owned() }),
    };
    refuse_changed()?;
    let staged = Staged::beside(path, changed.as_bytes())?;
    refuse_changed()?;
    staged.replace()
}

/// True when a plain file stands at `path`, false when nothing does; an error for anything else.
pub(super) fn plain_file_at(path: &Path) -> Result<bool, WriteError> {
    match fs::symlink_metadata(path) {
        Ok(found) if found.is_file() => Ok(true),
        Ok(found) => Err(WriteError::NotAFile { path: path.to_owned(), found: kind_of(found.file_type()) }),
        Err(source) if source.kind() == ErrorKind::NotFound => Ok(false),
        Err(source) => Err(cannot_write(path, source)),
    }
}

pub(super) fn is_plain_file(path: &Path) -> bool {
    path.symlink_metadata().is_ok_and(|found| found.is_file())
}

pub(super) fn read(path: &Path) -> Result<Vec<u8>, WriteError> {
    fs::read(path).map_err(|source| WriteError::System { action: Action::Read, path: path.to_owned(), source })
}

fn kind_of(found: FileType) -> &'static str {
    match found {
        t if t.is_dir() => "a folder",
        t if t.is_symlink() => "a link to another place",
        _ => "a device or a pipe",
    }
}

fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

pub(super) fn cannot_write(path: &Path, source: io::Error) -> WriteError {
    WriteError::System { action: Action::Write, path: path.to_owned(), source }
}

/// A temporary file of a name nobody else has, readable by whom the user lets read new files.
fn temporary_in(folder: &Path) -> io::Result<NamedTempFile> {
    let mut builder = Builder::new();
    builder.prefix(PREFIX).suffix(PART);
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    builder.tempfile_in(folder)
}
