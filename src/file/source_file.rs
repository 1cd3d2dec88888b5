//! From a path to a text, and from a text to what it says or to every mistake in it; for every TOML file of the program.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use toml_edit::Document;

use super::error::ReadError;
use super::reader::{Diagnostics, Source};
use super::syntax::note_syntax;
use crate::plain_text::{plain, plain_path};

/// Much more than any file of this program; keeps a wrong path from filling the memory.
const LIMIT_BYTES: u64 = 1_000_000;

/// The byte-order mark.
const MARK: char = '\u{feff}';

/// What `parse` makes of a file: it is given the name by which messages call the file, the text, a byte-order mark included,
/// and what to call its content when that gives no name.
pub(crate) fn read<T>(
    path: &Path,
    parse: impl FnOnce(&str, &str, &str) -> Result<T, ReadError>,
) -> Result<T, ReadError> {
    let source = plain_path(path);
    let text = String::from_utf8(read_bytes(path, &source)?).map_err(|error| not_utf8(&source, error))?;
    let stem = path.file_stem().map(|stem| stem.to_string_lossy());
    parse(&source, &text, &plain(stem.as_deref().unwrap_or(UNNAMED)))
}

/// The name of what gives none and comes from no file.
pub(crate) const UNNAMED: &str = "unnamed";

/// The text behind the byte-order mark that some editors put first.
pub(crate) fn without_mark(text: &str) -> &str {
    text.strip_prefix(MARK).unwrap_or(text)
}

/// What `read` makes of the document; it gives none only when it has noted a mistake.
pub(crate) fn parsed<T>(
    source_name: &str,
    as_read: &str,
    read: impl Fn(&Document<&str>, &Diagnostics) -> Option<T>,
) -> Result<T, ReadError> {
    let text = without_mark(as_read);
    if text.trim().is_empty() {
        return Err(ReadError::Empty { source: source_name.to_owned() });
    }
    let diagnostics = Diagnostics::default();
    let reread = |document: &Document<&str>, diagnostics: &Diagnostics| drop(read(document, diagnostics));
    match document(text, &diagnostics, &reread).and_then(|document| read(&document, &diagnostics)) {
        Some(value) => Ok(value),
        None => {
            let (problems, left_out) = diagnostics.into_problems(&Source { name: source_name, text });
            Err(ReadError::Problems { problems, left_out })
        }
    }
}

fn document<'t>(
    text: &'t str,
    diagnostics: &Diagnostics,
    reread: &dyn Fn(&Document<&str>, &Diagnostics),
) -> Option<Document<&'t str>> {
    if text.starts_with(MARK) {
        let advice = "save the file as UTF-8 without a byte-order mark, or delete the character before the first word";
        diagnostics.add(&(0..MARK.len_utf8()), "a second byte-order mark stands at the head of the file", advice);
        return None;
    }
    Document::parse(text).map_err(|error| note_syntax(&error, text, diagnostics, reread)).ok()
}

fn read_bytes(path: &Path, source: &str) -> Result<Vec<u8>, ReadError> {
    let unreadable = |cause: io::Error| ReadError::Unreadable { source: source.to_owned(), cause };
    if path.is_dir() {
        return Err(ReadError::Directory { source: source.to_owned() });
    }
    let file = File::open(path).map_err(unreadable)?;
    let mut bytes = Vec::new();
    file.take(LIMIT_BYTES + 1).read_to_end(&mut bytes).map_err(unreadable)?;
    if bytes.len() as u64 > LIMIT_BYTES {
        return Err(ReadError::TooLarge { source: source.to_owned(), limit_bytes: LIMIT_BYTES });
    }
    Ok(bytes)
}

fn not_utf8(source: &str, error: std::string::FromUtf8Error) -> ReadError {
    let cause = error.utf8_error();
    let before = &error.as_bytes()[..cause.valid_up_to()];
    let line = before.iter().filter(|byte| **byte == b'\n').count() + 1;
    ReadError::NotUtf8 { source: source.to_owned(), line, byte: cause.valid_up_to() + 1, cause }
}
