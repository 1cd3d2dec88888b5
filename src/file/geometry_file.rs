//! From a path or a text to a checked geometry, or to every reason why not.

use std::path::Path;

use super::error::ReadError;
use super::locate;
use super::problem::Problem;
use super::reader::{Source, Span};
use super::source_file::{self, UNNAMED, without_mark};
use super::tables::RawFile;
use crate::geometry::{Geometry, PerSide, Side};
use crate::plain_text::plain;

/// A geometry file that was read and found sound.
#[derive(Debug, Clone)]
pub struct GeometryFile {
    /// What the file says.
    pub geometry: Geometry,
    /// The file as it stands, comments and a byte-order mark included.
    pub text: String,
    /// The name by which messages call the file.
    pub source: String,
    /// Mistakes for which a part of the driveline is left out of the geometry, in the order of the file; nothing else stands
    /// on it.
    pub set_aside: Vec<Problem>,
    first_links: PerSide<Option<Span>>,
}

impl GeometryFile {
    /// Reads and checks a file; without a `name` the geometry is called after it.
    pub fn read(path: &Path) -> Result<Self, ReadError> {
        source_file::read(path, parse_named)
    }

    /// Checks the text of a file; without a `name` the geometry is called "unnamed".
    pub fn parse(source_name: &str, text: &str) -> Result<Self, ReadError> {
        parse_named(&plain(source_name), text, UNNAMED)
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

    /// The line of a point by its name, of a link as `link "NAME"`, or of a key; `None` of what does not stand in the file.
    pub fn line_of(&self, side: Side, about: &str) -> Option<usize> {
        let text = without_mark(&self.text);
        let at = locate::about(text, side, about)?;
        Some(Source { name: &self.source, text }.line(&at))
    }

    fn first_link(&self, side: Side) -> Span {
        self.first_links[side].clone().or_else(|| self.first_links.left.clone()).unwrap_or_default()
    }

    fn problem_at(&self, at: Span, what: &str, advice: &str) -> ReadError {
        let source = Source { name: &self.source, text: without_mark(&self.text) };
        ReadError::Problems { problems: vec![source.problem(&at, what, advice)], left_out: 0 }
    }
}

fn parse_named(source_name: &str, as_read: &str, fallback_name: &str) -> Result<GeometryFile, ReadError> {
    source_file::parsed(source_name, as_read, |document, diagnostics| {
        let raw = RawFile::read(document, diagnostics);
        let first_links = raw.first_links();
        let geometry = raw.checked(fallback_name, diagnostics)?;
        let (text, source) = (as_read.to_owned(), source_name.to_owned());
        let set_aside = diagnostics.set_aside_problems(&Source { name: &source, text: without_mark(&text) });
        Some(GeometryFile { geometry, text, source, set_aside, first_links })
    })
}
