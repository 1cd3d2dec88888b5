//! Runs that write into one folder take turns, and the one whose turn it is clears away what a killed run left.

use std::fs::{self, File};
use std::path::{Path, PathBuf};

/// Unfinished work is named `.hubtrace-….part`; work that is complete and only has to be put in place,
/// `.hubtrace-….commit`.
pub(super) const PREFIX: &str = ".hubtrace-";
pub(super) const PART: &str = ".part";
pub(super) const COMMIT: &str = ".commit";

/// The right to write into a folder, until it is dropped.
pub(super) struct Turn {
    _handle: Option<File>,
}

impl Turn {
    /// Waits until no other run writes into the folder, then removes unfinished work, which nobody goes on with.
    ///
    /// Where the system cannot lock a folder nobody waits and nothing is removed; every file is still whole.
    pub(super) fn take(folder: &Path) -> Self {
        let handle = File::open(folder).ok().filter(|handle| handle.lock().is_ok());
        if handle.is_some() {
            for path in left_in(folder, PART) {
                // What cannot be removed is in nobody's way.
                let _ = if path.is_dir() { fs::remove_dir_all(&path) } else { fs::remove_file(&path) };
            }
        }
        Self { _handle: handle }
    }
}

/// Paths of the unfinished or complete work in a folder.
pub(super) fn left_in(folder: &Path, suffix: &str) -> Vec<PathBuf> {
    let is_left = |name: &str| name.starts_with(PREFIX) && name.ends_with(suffix);
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries.filter(|entry| entry.file_name().to_str().is_some_and(is_left)).map(|entry| entry.path()).collect()
}
