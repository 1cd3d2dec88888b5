//! Why something could not be written, and what to do next.

use std::error::Error;
use std::fmt::{self, Display, Formatter};
use std::io;
use std::path::PathBuf;

use crate::plain_text::plain_path;

/// Why something could not be written. Whatever it is, no file that was there before has been lost.
#[derive(Debug)]
pub enum WriteError {
    /// The file to be written exists already, and nobody said that it may be overwritten.
    Exists {
        /// That was to be written.
        path: PathBuf,
    },
    /// The output folder holds files of these names that this program did not write, or that were changed since.
    Foreign {
        /// The output folder.
        folder: PathBuf,
        /// Of its files that this program did not write, or that were changed since.
        names: Vec<String>,
    },
    /// A list of own files in the output folder is none, so that no file can be told from the user's.
    ListUnreadable {
        /// Of the list.
        path: PathBuf,
    },
    /// A result would take the place of the file that it was made from.
    Input {
        /// Of the input that a result would replace.
        path: PathBuf,
    },
    /// A file that was to be changed says something else than when it was read.
    Changed {
        /// Of that file.
        path: PathBuf,
    },
    /// Something other than a plain file stands in the place of a file.
    NotAFile {
        /// Where a result was to go.
        path: PathBuf,
        /// What stands there instead.
        found: &'static str,
    },
    /// The output folder's name belongs to something that is no folder.
    NotAFolder {
        /// Given as a folder.
        path: PathBuf,
    },
    /// The system refused.
    System {
        /// What was tried.
        action: Action,
        /// On which file.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// What was being done when the system refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Action {
    /// The output folder was to be made.
    CreateFolder,
    /// A file was to be read.
    Read,
    /// A file was to be written.
    Write,
    /// A file of an earlier run was to be removed.
    Remove,
}

impl Display for WriteError {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match self {
            Self::Exists { path } => write!(f, "{} exists already", plain_path(path)),
            Self::Foreign { folder, names } => {
                let (noun, verb) = if names.len() == 1 { ("a file", "was") } else { ("files", "were") };
                write!(
                    f,
                    "{} holds {noun} that {verb} not written by hubtrace, or changed since: ",
                    plain_path(folder)
                )?;
                f.write_str(&names.join(", "))
            }
            Self::ListUnreadable { path } => {
                write!(f, "{} is not the list of files that hubtrace keeps there", plain_path(path))
            }
            Self::Input { path } => write!(f, "the results would overwrite their own source {}", plain_path(path)),
            Self::Changed { path } => write!(f, "{} has changed since it was read", plain_path(path)),
            Self::NotAFile { path, found } => write!(f, "{} is {found}, not a plain file", plain_path(path)),
            Self::NotAFolder { path } => write!(f, "{} is not a folder", plain_path(path)),
            Self::System { action, path, source } => {
                let action = match action {
                    Action::CreateFolder => "create the folder",
                    Action::Read => "read",
                    Action::Write => "write",
                    Action::Remove => "remove",
                };
                write!(f, "cannot {action} {}: {source}", plain_path(path))
            }
        }
    }
}

impl Error for WriteError {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        match self {
            Self::System { source, .. } => Some(source),
            _ => None,
        }
    }
}
