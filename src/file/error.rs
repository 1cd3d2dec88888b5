//! Why a file could not be used.

use std::error::Error;
use std::fmt;
use std::io;
use std::str::Utf8Error;

use super::problem::Problem;

/// Why a file could not be used; `source` is the name by which the file is called.
#[derive(Debug)]
pub enum ReadError {
    /// The path is a folder.
    Directory {
        /// The path.
        source: String,
    },
    /// The system gave no bytes.
    Unreadable {
        /// The path.
        source: String,
        /// What the system says.
        cause: io::Error,
    },
    /// The file is none of this program's: none is as large.
    TooLarge {
        /// The path.
        source: String,
        /// The most that is read.
        limit_bytes: u64,
    },
    /// The bytes are no text.
    NotUtf8 {
        /// The path.
        source: String,
        /// Of the first wrong byte, counted from 1.
        line: usize,
        /// Its place in the file, counted from 1.
        byte: usize,
        /// What the check of the text says.
        cause: Utf8Error,
    },
    /// There is nothing in the file.
    Empty {
        /// The name of the file.
        source: String,
    },
    /// The text says something that cannot be.
    Problems {
        /// In the order of the file; at least one.
        problems: Vec<Problem>,
        /// How many more were found than are listed.
        left_out: usize,
    },
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReadError::Directory { source } => write!(f, "{source} is a folder, not a file"),
            ReadError::Unreadable { source, cause } => write!(f, "{source} cannot be read: {cause}"),
            ReadError::TooLarge { source, limit_bytes } => {
                write!(f, "{source} is larger than {} MB", limit_bytes / 1_000_000)
            }
            ReadError::NotUtf8 { source, line, byte, .. } => {
                write!(f, "{source}, line {line}: byte {byte} of the file is not UTF-8 text")
            }
            ReadError::Empty { source } => write!(f, "{source} is empty"),
            ReadError::Problems { problems, left_out } => {
                for (i, problem) in problems.iter().enumerate() {
                    write!(f, "{}{problem}", if i == 0 { "" } else { "\n" })?;
                }
                if *left_out == 0 { Ok(()) } else { write!(f, "\n{left_out} more problems") }
            }
        }
    }
}

impl Error for ReadError {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        match self {
            ReadError::Unreadable { cause, .. } => Some(cause),
            ReadError::NotUtf8 { cause, .. } => Some(cause),
            _ => None,
        }
    }
}
