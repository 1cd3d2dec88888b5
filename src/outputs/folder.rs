//! The folder that a command writes into: all of its files or none, and never over a file of the user's.
//!
//! A list of hashes in the folder ([`MANIFEST_NAME`]) tells own files from others. A file is own when it is listed and
//! still has its hash, so one that the user edited afterwards is the user's. A file that already holds what would be
//! written is in nobody's way.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use super::error::{Action, WriteError};
use super::manifest::{MANIFEST_NAME, Manifest};
use super::staged::{Staged, plain_file_at};

/// Finished files in memory, waiting for their folder.
#[derive(Debug, Clone, Default)]
pub struct OutputFolder {
    files: BTreeMap<String, Vec<u8>>,
}

/// What was written where, for the summary.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    pub folder: PathBuf,
    /// In alphabetical order, without the list of hashes.
    pub names: Vec<String>,
}

impl OutputFolder {
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a file; `name` is a plain file name. A second file of the same name takes the place of the first.
    pub fn add(&mut self, name: impl Into<String>, contents: impl Into<Vec<u8>>) {
        self.files.insert(name.into(), contents.into());
    }

    /// Writes every file into `folder`, which is created when missing, and lists them there.
    ///
    /// Nothing is touched before every file is complete on disk under a temporary name. `force` overwrites files that
    /// this program did not write. Runs that share a folder take turns.
    pub fn write(&self, folder: &Path, force: bool) -> Result<Written, WriteError> {
        create(folder)?;
        let _turn = take_turn(folder);
        let manifest = read_manifest(folder, force)?;
        self.refuse_foreign(folder, &manifest, force)?;
        self.replace_all(folder, &manifest)?;
        Ok(Written { folder: folder.to_owned(), names: self.files.keys().cloned().collect() })
    }

    fn refuse_foreign(&self, folder: &Path, manifest: &Manifest, force: bool) -> Result<(), WriteError> {
        let mut names = Vec::new();
        for (name, contents) in &self.files {
            let path = folder.join(name);
            if !plain_file_at(&path)? || force {
                continue;
            }
            let found = read(&path)?;
            if found != *contents && !manifest.lists(name, &found) {
                names.push(name.clone());
            }
        }
        if names.is_empty() { Ok(()) } else { Err(WriteError::Foreign { folder: folder.to_owned(), names }) }
    }

    fn replace_all(&self, folder: &Path, before: &Manifest) -> Result<(), WriteError> {
        let stage = |(name, contents): (&String, &Vec<u8>)| Staged::beside(&folder.join(name), contents);
        let staged = self.files.iter().map(stage).collect::<Result<Vec<_>, _>>()?;
        let list = |manifest: &Manifest| Staged::beside(&folder.join(MANIFEST_NAME), manifest.text().as_bytes());
        let mut complete = before.clone();
        self.files.iter().for_each(|(name, contents)| complete.record(name, contents));
        let complete_list = list(&complete)?;

        let mut so_far = before.clone();
        for (file, name) in staged.into_iter().zip(self.files.keys()) {
            if let Err(error) = file.replace() {
                // The files already in place stay own ones; the first error is the one to tell.
                let _ = list(&so_far).and_then(Staged::replace);
                return Err(error);
            }
            so_far.adopt(name, &complete);
        }
        complete_list.replace()
    }
}

fn create(folder: &Path) -> Result<(), WriteError> {
    match fs::create_dir_all(folder) {
        Ok(()) => Ok(()),
        Err(e) if matches!(e.kind(), ErrorKind::AlreadyExists | ErrorKind::NotADirectory) => {
            Err(WriteError::NotAFolder { path: first_that_is_no_folder(folder) })
        }
        Err(source) => Err(WriteError::System { action: Action::CreateFolder, path: folder.to_owned(), source }),
    }
}

fn first_that_is_no_folder(folder: &Path) -> PathBuf {
    let in_the_way = folder.ancestors().find(|p| p.symlink_metadata().is_ok() && !p.is_dir());
    in_the_way.unwrap_or(folder).to_owned()
}

/// Waits until no other run writes into the folder. Where the system has no such lock every file is still whole, and a
/// list that another run replaced makes a later run ask before it overwrites.
fn take_turn(folder: &Path) -> Option<File> {
    let handle = File::open(folder).ok()?;
    handle.lock().ok()?;
    Some(handle)
}

fn read_manifest(folder: &Path, force: bool) -> Result<Manifest, WriteError> {
    let path = folder.join(MANIFEST_NAME);
    if !plain_file_at(&path)? {
        return Ok(Manifest::default());
    }
    match Manifest::parse(&read(&path)?) {
        Some(manifest) => Ok(manifest),
        None if force => Ok(Manifest::default()),
        None => Err(WriteError::ManifestUnreadable { path }),
    }
}

fn read(path: &Path) -> Result<Vec<u8>, WriteError> {
    fs::read(path).map_err(|source| WriteError::System { action: Action::Read, path: path.to_owned(), source })
}
