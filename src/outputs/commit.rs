//! Many files put in place as one step.
//!
//! The files are completed in a folder of their own (`.part`) together with the lists as they will be. Renaming that
//! folder (`.commit`) decides: before it nothing has changed; after it whoever comes next goes on from any point, because
//! what is still to be done can be read from the two folders.

use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};

use tempfile::{Builder, TempDir};

use super::error::{Action, WriteError};
use super::file_list::{Lists, command_of, list_name};
use super::staged::{Staged, cannot_write, is_plain_file};
use super::turn::{COMMIT, PART, PREFIX, left_in};

/// Files complete on disk, and nothing changed yet; dropped without a commit, they are removed.
pub(super) struct Staging {
    folder: TempDir,
}

impl Staging {
    /// Beside the files that are to be replaced.
    pub(super) fn within(folder: &Path) -> Result<Self, WriteError> {
        let made = Builder::new().prefix(PREFIX).suffix(PART).tempdir_in(folder);
        made.map(|folder| Self { folder }).map_err(|source| cannot_write(folder, source))
    }

    /// Writes and flushes one file; an error names the place where it was to go.
    pub(super) fn add(&self, name: &str, contents: &[u8], goes_to: &Path) -> Result<(), WriteError> {
        write_through(&self.folder.path().join(name), contents).map_err(|source| cannot_write(goes_to, source))
    }

    /// Adds the lists that differ from those before.
    pub(super) fn add_lists(&self, after: &Lists, before: &Lists, folder: &Path) -> Result<(), WriteError> {
        for (command, list) in after.of.iter().filter(|(command, list)| before.of.get(*command) != Some(list)) {
            let name = list_name(command);
            self.add(&name, list.text().as_bytes(), &folder.join(&name))?;
        }
        Ok(())
    }

    /// Decides: from here on the files will be in place, whatever happens to this run.
    pub(super) fn commit(self) -> Result<Commit, WriteError> {
        let path = self.folder.path().with_extension(&COMMIT[1..]);
        // A rename that outlives a power failure must not outlive what it decides about.
        sync_folder(self.folder.path());
        fs::rename(self.folder.path(), &path).map_err(|source| cannot_write(&path, source))?;
        let _ = self.folder.keep();
        Ok(Commit { staged: path })
    }
}

/// Files that are to be put in place.
pub(super) struct Commit {
    staged: PathBuf,
}

impl Commit {
    /// What killed runs left to be done in a folder.
    pub(super) fn left_in(folder: &Path) -> Vec<Self> {
        left_in(folder, COMMIT).into_iter().map(|staged| Self { staged }).collect()
    }

    /// Takes back what must not be done any more: files of the user's that came since, and files for which `keep` says
    /// so, stay as they are, and the lists say what is there.
    pub(super) fn sparing(self, folder: &Path, keep: impl Fn(&str) -> bool) -> Result<Self, WriteError> {
        let before = Lists::read_what_can_be(folder)?;
        let decided = before.clone().overlaid(Lists::read_what_can_be(&self.staged)?);
        let mut after = decided.clone();
        for name in decided.names() {
            let (staged, place) = (self.staged.join(name), folder.join(name));
            let known =
                |lists: &[&Lists]| fs::read(&place).is_ok_and(|found| lists.iter().any(|l| l.know(name, &found)));
            let is_the_users = || place.symlink_metadata().is_ok() && !known(&[&before, &decided]);
            if staged.exists() {
                if !keep(name) && !is_the_users() {
                    continue;
                }
                remove(&staged)?;
            } else if known(&[&decided]) {
                continue;
            }
            after.restore(name, &before);
        }
        for name in before.names().difference(&decided.names()).filter(|name| keep(name)) {
            after.restore(name, &before);
        }
        for (command, list) in after.of.iter().filter(|(command, list)| decided.of.get(*command) != Some(list)) {
            Staged::beside(&self.staged.join(list_name(command)), list.text().as_bytes())?.replace()?;
        }
        Ok(self)
    }

    /// Puts the files in place, removes what the lists name no longer, then puts the lists in place. Returns the names
    /// of what was removed.
    pub(super) fn finish(self, folder: &Path) -> Result<Vec<String>, WriteError> {
        let before = Lists::read_what_can_be(folder)?;
        let after = before.clone().overlaid(Lists::read_what_can_be(&self.staged)?);
        for name in self.names()? {
            rename(&self.staged.join(&name), &folder.join(&name))?;
        }
        let mut removed = Vec::new();
        for name in before.names().difference(&after.names()) {
            let path = folder.join(name);
            if is_plain_file(&path) && fs::read(&path).is_ok_and(|found| before.know(name, &found)) {
                remove(&path)?;
                removed.push((*name).to_owned());
            }
        }
        for command in Lists::read_what_can_be(&self.staged)?.of.keys() {
            let name = list_name(command);
            if after.of[command].hash_of.is_empty() {
                remove(&folder.join(&name))?;
                remove(&self.staged.join(&name))?;
            } else {
                rename(&self.staged.join(&name), &folder.join(&name))?;
            }
        }
        fs::remove_dir_all(&self.staged)
            .or_else(absent_is_fine)
            .map_err(|source| cannot_write(&self.staged, source))?;
        Ok(removed)
    }

    /// Names of the files to be put in place, without the lists.
    fn names(&self) -> Result<Vec<String>, WriteError> {
        let cannot_read = |source| WriteError::System { action: Action::Read, path: self.staged.clone(), source };
        let entries = fs::read_dir(&self.staged).map_err(cannot_read)?.collect::<io::Result<Vec<_>>>();
        let names = entries.map_err(cannot_read)?.into_iter().filter_map(|entry| entry.file_name().into_string().ok());
        Ok(names.filter(|name| command_of(name).is_none() && !name.starts_with(PREFIX)).collect())
    }
}

fn write_through(path: &Path, contents: &[u8]) -> io::Result<()> {
    let mut file = File::create(path)?;
    file.write_all(contents)?;
    file.sync_all()
}

/// Where the system cannot flush a folder it keeps the order by itself, or not at all.
fn sync_folder(path: &Path) {
    let _ = File::open(path).and_then(|folder| folder.sync_all());
}

/// A file that is gone was put in place already.
fn rename(from: &Path, to: &Path) -> Result<(), WriteError> {
    fs::rename(from, to).or_else(absent_is_fine).map_err(|source| cannot_write(to, source))
}

fn remove(path: &Path) -> Result<(), WriteError> {
    let cannot_remove = |source| WriteError::System { action: Action::Remove, path: path.to_owned(), source };
    fs::remove_file(path).or_else(absent_is_fine).map_err(cannot_remove)
}

fn absent_is_fine(error: io::Error) -> io::Result<()> {
    if error.kind() == ErrorKind::NotFound { Ok(()) } else { Err(error) }
}
