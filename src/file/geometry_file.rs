//! From a path or a text to a checked geometry, or to every reason why not.

use std::fs::File;
use std::io::{self, Read};
use std::path::Path;

use toml_edit::{Document, TomlError};

use super::error::ReadError;
use super::locate;
use super::reader::{Diagnostics, Source, Span, shown};
use super::tables::RawFile;
use super::upright_frame::UprightAxes;
use crate::geometry::{Geometry, PerSide, Side};
use crate::plain_text::{plain, plain_path};

/// Much more than any geometry; keeps a wrong path from filling the memory.
const LIMIT_BYTES: u64 = 1_000_000;

/// A geometry file that was read and found sound.
#[derive(Debug, Clone)]
pub struct GeometryFile {
    /// What the file says.
    pub geometry: Geometry,
    /// The axes in which the file writes the points of the upright; those of `geometry` are always side axes.
    pub upright_axes: UprightAxes,
    /// The file as it stands, comments and a byte-order mark included.
    pub text: String,
    /// The name by which messages call the file.
    pub source: String,
    first_links: PerSide<Option<Span>>,
}

impl GeometryFile {
    /// Reads and checks a file; without a `name` the geometry is called after it.
    pub fn read(path: &Path) -> Result<Self, ReadError> {
        let source = plain_path(path);
        let bytes = read_bytes(path, &source)?;
        let text = String::from_utf8(bytes).map_err(|error| not_utf8(&source, error))?;
        let stem = path.file_stem().map(|stem| stem.to_string_lossy());
        parse_named(&source, &text, &plain(stem.as_deref().unwrap_or("unnamed")))
    }

    /// Checks the text of a file; without a `name` the geometry is called "unnamed".
    pub fn parse(source_name: &str, text: &str) -> Result<Self, ReadError> {
        parse_named(&plain(source_name), text, "unnamed")
    }

    /// A mistake of a whole side that shows only later, such as links that cannot hold the wheel: points at the side's
    /// first link table.
    pub fn problem_at_links(&self, side: Side, what: &str, advice: &str) -> ReadError {
        self.problem_at(self.first_link(side), what, advice)
    }

    /// A mistake of one link: points at this key of it, or at the link when the key is not there.
    pub fn problem_at_link(&self, side: Side, link: &str, key: &str, what: &str, advice: &str) -> ReadError {
        let at = locate::link(without_mark(&self.text), side, link, key);
        self.problem_at(at.unwrap_or_else(|| self.first_link(side)), what, advice)
    }

    /// A mistake of a key below tables, outermost first: points at the innermost of them that is there, on the right under
    /// `[right]` where that has the outermost.
    pub fn problem_at_key(&self, side: Side, path: &[&str], what: &str, advice: &str) -> ReadError {
        let at = locate::key(without_mark(&self.text), side, path);
        self.problem_at(at.unwrap_or_else(|| self.first_link(side)), what, advice)
    }

    fn first_link(&self, side: Side) -> Span {
        self.first_links[side].clone().or_else(|| self.first_links.left.clone()).unwrap_or_default()
    }

    fn problem_at(&self, at: Span, what: &str, advice: &str) -> ReadError {
        let source = Source { name: &self.source, text: without_mark(&self.text) };
        ReadError::Problems { problems: vec![source.problem(&at, what, advice)], left_out: 0 }
    }
}

/// The byte-order mark.
const MARK: char = '\u{feff}';

/// The text behind the byte-order mark that some editors put first.
fn without_mark(text: &str) -> &str {
    text.strip_prefix(MARK).unwrap_or(text)
}

fn parse_named(source_name: &str, as_read: &str, fallback_name: &str) -> Result<GeometryFile, ReadError> {
    let text = without_mark(as_read);
    if text.trim().is_empty() {
        return Err(ReadError::Empty { source: source_name.to_owned() });
    }
    let diagnostics = Diagnostics::default();
    match parse_noted(source_name, text, fallback_name, &diagnostics) {
        Some(file) => Ok(GeometryFile { text: as_read.to_owned(), ..file }),
        None => {
            let (problems, left_out) = diagnostics.into_problems(&Source { name: source_name, text });
            Err(ReadError::Problems { problems, left_out })
        }
    }
}

fn parse_noted(source_name: &str, text: &str, fallback_name: &str, diagnostics: &Diagnostics) -> Option<GeometryFile> {
    if text.starts_with(MARK) {
        let advice = "save the file as UTF-8 without a byte-order mark, or delete the character before the first word";
        diagnostics.add(&(0..MARK.len_utf8()), "a second byte-order mark stands at the head of the file", advice);
        return None;
    }
    let document = Document::parse(text).map_err(|error| note_syntax(&error, text, diagnostics)).ok()?;
    let raw = RawFile::read(&document, diagnostics);
    let (upright_axes, first_links) = (raw.upright_axes, raw.first_links());
    let geometry = raw.checked(fallback_name, diagnostics)?;
    let (text, source) = (text.to_owned(), source_name.to_owned());
    Some(GeometryFile { geometry, upright_axes, text, source, first_links })
}

fn note_syntax(error: &TomlError, text: &str, diagnostics: &Diagnostics) {
    let message = plain(&error.message().lines().collect::<Vec<_>>().join("; ")).into_owned();
    let at = error.span().unwrap_or(text.len()..text.len());
    if message == "duplicate key" {
        let key = shown(text.get(at.clone()).unwrap_or_default());
        diagnostics.add(&at, format!("{key} stands twice"), "remove this one or the other");
    } else if message.contains("overflowed") {
        diagnostics.add(
            &at,
            "no car has a number as large as this",
            "write a length in the file's unit, or an angle in deg",
        );
    } else {
        let advice =
            "write `key = value`, one a line: text in \"quotes\", points as [x, y, z]; close every quote and bracket";
        diagnostics.add(&at, format!("not valid TOML: {message}"), advice);
    }
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
