//! Collects the mistakes of a file, so that one pass finds them all, and finds their lines.

use std::cell::RefCell;
use std::ops::Range;

use crate::file::problem::Problem;
use crate::plain_text::is_plain;

/// Bytes of the file that a mistake concerns.
pub(crate) type Span = Range<usize>;

/// Characters of a source line that are shown.
const SNIPPET_CHARS: usize = 100;

/// Problems shown at once; a file with more is another kind of file, or broken from one cause.
const SHOWN: usize = 100;

#[derive(Debug, Clone, PartialEq, Eq)]
struct Note {
    at: Span,
    /// What else takes part in it.
    with: Vec<Span>,
    what: String,
    advice: String,
}

/// Collects mistakes while a file is read.
#[derive(Debug, Default)]
pub(crate) struct Diagnostics {
    /// For which the file is refused.
    refused: RefCell<Vec<Note>>,
    /// For which a part is left out that nothing else stands on.
    set_aside: RefCell<Vec<Note>>,
    /// Which keys were asked for as lists of tables, each with the tables that it stands in: `right.link`.
    lists: RefCell<Vec<String>>,
}

impl Diagnostics {
    pub(crate) fn note_list(&self, name: String) {
        self.lists.borrow_mut().push(name);
    }

    /// True of what is written `[[name]]`, once for each.
    pub(crate) fn is_list(&self, name: &str) -> bool {
        self.lists.borrow().iter().any(|list| list == name)
    }

    /// Adds a mistake; the same one found twice, as on a mirrored side, is kept once.
    pub(crate) fn add(&self, at: &Span, what: impl Into<String>, advice: impl Into<String>) {
        self.add_with((at, &[]), what, advice);
    }

    /// The same of a mistake in which other parts of the file take part: their lines are told too.
    pub(crate) fn add_with(&self, (at, with): (&Span, &[&Span]), what: impl Into<String>, advice: impl Into<String>) {
        self.refused.borrow_mut().push(Note::new((at, with), what, advice));
    }

    /// Adds a mistake for which a part is left out, and everything else goes on.
    pub(crate) fn set_aside(&self, at: &Span, what: impl Into<String>, advice: impl Into<String>) {
        self.set_aside_with((at, &[]), what, advice);
    }

    /// The same of a mistake in which other parts of the file take part.
    pub(crate) fn set_aside_with(
        &self,
        (at, with): (&Span, &[&Span]),
        what: impl Into<String>,
        advice: impl Into<String>,
    ) {
        self.set_aside.borrow_mut().push(Note::new((at, with), what, advice));
    }

    /// Nothing was noted for which the file is refused.
    pub(crate) fn is_empty(&self) -> bool {
        self.refused.borrow().is_empty()
    }

    /// What is wrong at this place, first of all inside it, and what to write instead.
    pub(crate) fn about(&self, at: &Span) -> Option<(String, String)> {
        let refused = self.refused.borrow();
        let mut at_it = refused.iter().filter(|note| note.at.start < at.end && at.start < note.at.end);
        at_it.next().map(|note| (note.what.clone(), note.advice.clone()))
    }

    /// The mistakes for which a part is left out, in the order of the file.
    pub(crate) fn set_aside_problems(&self, source: &Source<'_>) -> Vec<Problem> {
        sorted(self.set_aside.borrow().clone()).iter().map(|note| note.problem(source)).collect()
    }

    /// Every mistake in the order of the file, and how many more there are than can be shown.
    pub(crate) fn into_problems(self, source: &Source<'_>) -> (Vec<Problem>, usize) {
        let notes = sorted([self.refused.into_inner(), self.set_aside.into_inner()].concat());
        let left_out = notes.len().saturating_sub(SHOWN);
        let problems = notes.iter().take(SHOWN).map(|note| note.problem(source)).collect();
        (problems, left_out)
    }
}

impl Note {
    fn new((at, with): (&Span, &[&Span]), what: impl Into<String>, advice: impl Into<String>) -> Self {
        let with = with.iter().map(|&at| at.clone()).collect();
        Self { at: at.clone(), with, what: what.into(), advice: advice.into() }
    }

    fn problem(&self, source: &Source<'_>) -> Problem {
        let own = source.line(&self.at);
        let mut lines: Vec<usize> = self.with.iter().map(|at| source.line(at)).filter(|line| *line != own).collect();
        lines.sort_unstable();
        lines.dedup();
        Problem { with: lines, ..source.problem(&self.at, &self.what, &self.advice) }
    }
}

/// In the order of the file; the same one found twice is kept once.
fn sorted(mut notes: Vec<Note>) -> Vec<Note> {
    notes.sort_by(|a, b| (a.at.start, a.at.end, &a.what).cmp(&(b.at.start, b.at.end, &b.what)));
    notes.dedup();
    notes
}

/// The text of a file with the name it is called by.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Source<'a> {
    pub(crate) name: &'a str,
    pub(crate) text: &'a str,
}

impl Source<'_> {
    /// The line on which something begins, counted from 1.
    pub(crate) fn line(&self, at: &Span) -> usize {
        self.text.get(..at.start).unwrap_or(self.text).matches('\n').count() + 1
    }

    pub(crate) fn problem(&self, at: &Span, what: &str, advice: &str) -> Problem {
        let before = self.text.get(..at.start).unwrap_or(self.text);
        let line_start = before.rfind('\n').map_or(0, |i| i + 1);
        let column = before[line_start..].chars().count() + 1;
        let line = self.text[line_start..].lines().next().unwrap_or_default();
        Problem {
            source: self.name.to_owned(),
            line: self.line(at),
            column,
            snippet: snippet(line, column),
            what: what.to_owned(),
            with: Vec::new(),
            advice: advice.to_owned(),
        }
    }
}

/// A line fit for a terminal: what steers it or cannot be seen is blanked, and a window around the column when it is long.
fn snippet(line: &str, column: usize) -> String {
    let first = if column > SNIPPET_CHARS { column - SNIPPET_CHARS / 2 } else { 0 };
    let shown = line.chars().skip(first).take(SNIPPET_CHARS);
    let shown: String = shown.map(|c| if is_plain(c) { c } else { ' ' }).collect();
    let head = if first > 0 { "…" } else { "" };
    let tail = if line.chars().nth(first + SNIPPET_CHARS).is_some() { "…" } else { "" };
    format!("{head}{}{tail}", shown.trim_end())
}
