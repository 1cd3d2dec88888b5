//! Why a geometry file could not be used.

use std::error::Error;
use std::fmt;
use std::io;
use std::str::Utf8Error;

use super::problem::Problem;

/// Why a geometry file could not be used.
#[derive(Debug)]
pub enum ReadError {
    Directory {
        source: String,
    },
    Unreadable {
        source: String,
        cause: io::Error,
    },
    TooLarge {
        source: String,
        limit_bytes: u64,
    },
    /// `line` and `byte` are those of the first byte that is no text, counted from 1.
    NotUtf8 {
        source: String,
        line: usize,
        byte: usize,
        cause: Utf8Error,
    },
    Empty {
        source: String,
    },
    /// In the order of the file; `left_out` more were found than are listed.
    Problems {
        problems: Vec<Problem>,
        left_out: usize,
    },
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ReadError::Directory { source } => write!(f, "{source} is a folder, not a geometry file"),
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
