//! The folder that a command writes into: all of its files or none, and never over a file of the user's.
//!
//! Each command keeps a list of what it wrote there ([`super::list_name`]). A file is own when a list has it with its
//! hash, so one that the user edited afterwards is the user's. A run replaces or removes what the same command wrote
//! before and leaves the results of other commands, but a name that two commands use is of the one that wrote it last. A
//! file that already holds what would be written is in nobody's way.

use std::collections::BTreeMap;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use super::commit::{Commit, Staging};
use super::error::{Action, WriteError};
use super::file_list::{FileList, Lists, list_name, sha256_hex};
use super::staged::{is_plain_file, plain_file_at, read};
use super::turn::Turn;
use crate::plain_text::plain;

/// Which run writes, and from what.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Origin {
    /// Name of the command; it names the list.
    pub command: &'static str,
    /// The name by which messages call the geometry, or the survey.
    pub geometry: String,
    /// SHA-256 of its text.
    pub geometry_sha256: String,
    /// Every file that the run has read: none of them is replaced or removed.
    pub inputs: Vec<PathBuf>,
}

/// Finished files in memory, waiting for their folder.
#[derive(Debug, Clone)]
pub struct OutputFolder {
    origin: Origin,
    files: BTreeMap<String, Vec<u8>>,
}

/// What was written where, for the screen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// As it was given.
    pub folder: PathBuf,
    /// In alphabetical order, without the list of hashes.
    pub names: Vec<String>,
    /// What the same command wrote there before and this run has no more of.
    pub removed: Vec<String>,
    /// The same, but changed by the user since, and therefore left.
    pub left: Vec<String>,
    /// Results of other commands that were made from another geometry.
    pub others: Vec<OtherResults>,
}

/// What another command left in the folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OtherResults {
    /// Its name.
    pub command: String,
    /// The name of the geometry at that time; `None` when its list does not say.
    pub geometry: Option<String>,
}

impl OutputFolder {
    /// Without files as yet.
    pub fn new(origin: Origin) -> Self {
        Self { origin, files: BTreeMap::new() }
    }

    /// Adds a file; `name` is a plain file name. A second file of the same name takes the place of the first.
    pub fn add(&mut self, name: impl Into<String>, contents: impl Into<Vec<u8>>) {
        self.files.insert(name.into(), contents.into());
    }

    /// Writes every file into `folder`, which is created when missing, and lists them there.
    ///
    /// Nothing is touched before every file is complete on disk. From then on all is put in place, by the next run if
    /// this one is killed. `force` overwrites files that this program did not write, but never an input. Runs that share
    /// a folder take turns.
    pub fn write(&self, folder: &Path, force: bool) -> Result<Written, WriteError> {
        create(folder)?;
        let _turn = Turn::take(folder);
        for commit in Commit::left_in(folder) {
            commit.sparing(folder, |name| self.origin.has_read(&folder.join(name)))?.finish(folder)?;
        }
        self.refuse_input(folder, &self.names())?;
        let before = if force { Lists::read_what_can_be(folder)? } else { Lists::read(folder)? };
        self.refuse_foreign(folder, &before, force)?;

        let after = self.lists_after(&before, folder);
        let staging = Staging::within(folder)?;
        self.files.par_iter().try_for_each(|(name, contents)| staging.add(name, contents, &folder.join(name)))?;
        staging.add_lists(&after, &before, folder)?;
        let removed = staging.commit()?.finish(folder)?;
        Ok(self.written(folder, &before, &after, removed))
    }

    /// Refuses names in a folder that belong to a file which the run has read; for a run that is long, before it begins.
    pub fn refuse_input(&self, folder: &Path, names: &[String]) -> Result<(), WriteError> {
        match names.iter().map(|name| folder.join(name)).find(|path| self.origin.has_read(path)) {
            Some(path) => Err(WriteError::Input { path }),
            None => Ok(()),
        }
    }

    fn refuse_foreign(&self, folder: &Path, lists: &Lists, force: bool) -> Result<(), WriteError> {
        plain_file_at(&folder.join(list_name(self.origin.command)))?;
        let mut names = Vec::new();
        for (name, contents) in &self.files {
            let path = folder.join(name);
            if !plain_file_at(&path)? || force {
                continue;
            }
            let found = read(&path)?;
            if found != *contents && !lists.know(name, &found) {
                names.push(name.clone());
            }
        }
        if names.is_empty() { Ok(()) } else { Err(WriteError::Foreign { folder: folder.to_owned(), names }) }
    }

    fn names(&self) -> Vec<String> {
        self.files.keys().cloned().collect()
    }

    /// The lists as they will be: an input stays listed, so that a later run may remove it.
    fn lists_after(&self, before: &Lists, folder: &Path) -> Lists {
        let mut after = before.clone();
        let made_from = Some((self.origin.geometry_sha256.clone(), plain(&self.origin.geometry).into_owned()));
        let hash_of = self.files.par_iter().map(|(name, contents)| (name.clone(), sha256_hex(contents))).collect();
        after.set(self.origin.command, FileList { made_from, hash_of });
        let stays = |name: &&&str| self.origin.has_read(&folder.join(name));
        for name in before.names().difference(&after.clone().names()).filter(stays) {
            after.restore(name, before);
        }
        after
    }

    fn written(&self, folder: &Path, before: &Lists, after: &Lists, removed: Vec<String>) -> Written {
        let (named, names) = (before.names(), after.names());
        let no_more = named.difference(&names).map(|name| (*name).to_owned());
        let left = no_more.filter(|name| !removed.contains(name) && is_plain_file(&folder.join(name))).collect();
        let is_other = |list: &FileList| {
            let hash = list.made_from.as_ref().map(|(hash, _)| hash);
            !list.hash_of.is_empty() && hash != Some(&self.origin.geometry_sha256)
        };
        let others = after.of.iter().filter(|(_, list)| is_other(list)).map(|(command, list)| OtherResults {
            command: command.clone(),
            geometry: list.made_from.as_ref().map(|(_, name)| name.clone()),
        });
        Written { folder: folder.to_owned(), names: self.names(), removed, left, others: others.collect() }
    }
}

impl Origin {
    fn has_read(&self, path: &Path) -> bool {
        let is_there =
            |input: &PathBuf| input.canonicalize().is_ok_and(|input| Ok(input) == path.canonicalize().map_err(drop));
        self.inputs.iter().any(is_there)
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
