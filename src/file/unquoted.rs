//! A value that is no number and has no quotes, such as `35mm`, `yes` or `E355`: what its key takes is told, not that text is quoted.
//!
//! The text is read again with quotes round the value: where the key takes no text, the table that it stands in says what it wants.

use std::ops::Range;

use toml_edit::Document;

use super::reader::{Diagnostics, Span, shown};

/// What is wrong with the unquoted value at this place, and with those behind it, and what to write; `read` is what notes the
/// mistakes of a document. Empty where none stands here.
pub(super) fn notes(
    text: &str,
    at: usize,
    read: impl FnOnce(&Document<&str>, &Diagnostics),
) -> Vec<(Span, String, String)> {
    let Some(first) = word(text, at) else { return Vec::new() };
    let mut quoted = with_quotes(text, &first);
    let mut words = vec![first];
    while words.len() < MOST_AT_ONCE {
        let Err(error) = Document::parse(quoted.as_str()) else { break };
        let Some(next) = error.span().and_then(|at| word(&quoted, at.start)) else { break };
        quoted = with_quotes(&quoted, &next);
        let moved = QUOTES * words.len();
        words.push(next.start - moved..next.end - moved);
    }
    let Ok(document) = Document::parse(quoted.as_str()) else {
        let advice =
            "write a number, or true or false, alone; text in \"quotes\"; and correct what else stands in this line";
        let what = format!("{} is no number and has no quotes", shown(&text[words[0].clone()]));
        return vec![(words.swap_remove(0), what, advice.to_owned())];
    };
    let diagnostics = Diagnostics::default();
    read(&document, &diagnostics);
    let note = |(nth, at): (usize, Range<usize>)| {
        let start = at.start + QUOTES * nth;
        let (what, advice) = diagnostics.about(&(start..at.end + QUOTES * (nth + 1))).unwrap_or_else(|| {
            let word = shown(&text[at.clone()]);
            (format!("{word} is text and has no quotes"), format!("write {word}, in quotes"))
        });
        (at, what, advice)
    };
    words.into_iter().enumerate().map(note).collect()
}

/// Characters that quotes round a value add.
const QUOTES: usize = 2;

/// A car has so many values of its own without quotes; a text with more is no file of this program.
const MOST_AT_ONCE: usize = 20;

fn with_quotes(text: &str, word: &Range<usize>) -> String {
    format!("{}\"{}\"{}", &text[..word.start], &text[word.clone()], &text[word.end..])
}

/// The value of a key or a list at this place, when it has no quotes and a letter or a sign that no number has.
fn word(text: &str, at: usize) -> Option<Range<usize>> {
    const LONGEST: usize = 40; // so much of it is shown
    let before = text.get(..at)?;
    let ends = |c: char| matches!(c, ',' | ']' | '}' | '#' | '\n' | '\r');
    let start = before.rfind(|c: char| ends(c) || matches!(c, '=' | '[' | '{')).map_or(0, |i| i + 1);
    let rest = text.get(start..)?;
    let value = rest[..rest.find(ends).unwrap_or(rest.len())].trim_end();
    let start = start + value.len() - value.trim_start().len();
    let value = value.trim_start();
    let before = text[..start].trim_end();
    let is_header = before.rsplit('\n').next().is_some_and(|line| line.trim_start().starts_with('['));
    let is_value = before.ends_with(['=', '[', ',']) && !is_header;
    let is_word = value.contains(|c: char| c.is_alphabetic() || matches!(c, '%' | '±' | '°' | '?'));
    let is_plain = !value.contains(|c: char| {
        matches!(c, '"' | '\'' | '=' | '[' | '{' | '\\' | '(' | ';')
            || c.is_control()
            || ('\u{2018}'..='\u{201e}').contains(&c)
    });
    (is_value && is_word && is_plain && value.chars().count() <= LONGEST).then(|| start..start + value.len())
}
