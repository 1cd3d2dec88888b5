//! What a builder is told of a text that is no TOML: the slips that hands make first, then what the parser says.

use std::ops::Range;

use toml_edit::{Document, TomlError};

use super::reader::{Diagnostics, only_one, shown};
use super::unquoted;
use crate::plain_text::plain;

pub(super) fn note_syntax(
    error: &TomlError,
    text: &str,
    diagnostics: &Diagnostics,
    reread: &dyn Fn(&Document<&str>, &Diagnostics),
) {
    let message = plain(&error.message().lines().collect::<Vec<_>>().join("; ")).into_owned();
    let at = error.span().unwrap_or(text.len()..text.len());
    let (what, advice) = if message == "duplicate key" {
        let key = text.get(at.clone()).unwrap_or_default();
        let (at, what, advice) = twice(text, key, at, reread);
        return diagnostics.add(&at, what, advice);
    } else if message.contains("overflowed") {
        ("no car has a number as large as this".into(), "write a length in the file's unit, or an angle in deg".into())
    } else if let Some((written, meant)) = unread_number(text, at.start).or_else(|| number_before(text, at.start)) {
        let why = match written.contains(is_printed_minus) {
            true => "with the minus of the keyboard",
            false => "a number has a decimal point, with a digit on either side of it",
        };
        (format!("{} is no number", shown(written)), format!("write {meant}: {why}"))
    } else if let Some((at, what, advice)) = unclosed_list(text, at.start, &message) {
        return diagnostics.add(&at, what, advice);
    } else if let Some(notes) = Some(unquoted::notes(text, at.start, reread)).filter(|notes| !notes.is_empty()) {
        return notes.into_iter().for_each(|(at, what, advice)| diagnostics.add(&at, what, advice));
    } else if let Some(slip) = apart(text, at.start).or_else(|| behind_number(text, at.start)) {
        slip
    } else if let Some(quote) = printed_quote(text, at.start) {
        (
            format!("`{quote}` is no quote of TOML"),
            "write the straight \" of the keyboard on both ends of a text".to_owned(),
        )
    } else {
        let advice =
            "write `key = value`, one a line: text in \"quotes\", points as [x, y, z]; close every quote and bracket";
        (format!("not valid TOML: {message}"), advice.to_owned())
    };
    diagnostics.add(&at, what, advice);
}

/// A list whose end is missing, at the line of its start: the parser finds out where the next key stands.
fn unclosed_list(text: &str, at: usize, message: &str) -> Option<(Range<usize>, String, String)> {
    let line_start = text.get(..at)?.rfind('\n')? + 1;
    let line = text[line_start..].lines().next()?.trim_start();
    let is_next = line.starts_with('[') || line.split('#').next()?.contains('=');
    if !message.contains("array element") || !is_next {
        return None;
    }
    // From the end: the first bracket that nothing behind it closes.
    let mut open = 0_i32;
    let (start, _) = text[..line_start].char_indices().rev().find(|&(_, c)| {
        open += match c {
            '[' => 1,
            ']' => -1,
            _ => 0,
        };
        open > 0
    })?;
    let what = "the list that begins here has no end".to_owned();
    Some((start..start + 1, what, "write ] behind its last value".to_owned()))
}

/// A key that stands twice, or a table of a list without its double brackets, or another one with them, and where; `read` is what asks for
/// the tables of a document.
fn twice(
    text: &str,
    key: &str,
    at: Range<usize>,
    read: impl Fn(&Document<&str>, &Diagnostics),
) -> (Range<usize>, String, String) {
    let line = text.get(..at.start).map_or(0, |before| before.matches('\n').count());
    let headers: Vec<&str> = text.lines().map(|line| line.split('#').next().unwrap_or_default().trim()).collect();
    let name = headers.get(line).map_or("", |header| header.trim_matches(['[', ']']));
    let (one, of_list) = (format!("[{name}]"), format!("[[{name}]]"));
    let count = |header: &str| headers.iter().filter(|other| **other == header).count();
    let is_header = headers.get(line).is_some_and(|header| header.starts_with('['));
    let is_list = || {
        let diagnostics = Diagnostics::default();
        Document::parse(of_list.as_str()).iter().for_each(|document| read(document, &diagnostics));
        diagnostics.is_list(name)
    };
    let first = |header: &str| {
        let start = text.find(&format!("\n{header}")).map_or(at.start, |end| end + 1);
        start..start
    };
    let in_double = || format!("of a list each table has double brackets: write {of_list} over every one");
    let remove = || {
        let only_one = only_one(name).filter(|_| is_header).map_or(String::new(), |why| format!(": {why}"));
        format!("remove this one or the other{only_one}")
    };
    match (count(&one), count(&of_list)) {
        (1.., 1..) if is_header && is_list() => (first(&one), format!("{one} stands among {of_list}"), in_double()),
        (1.., 1..) if is_header => (first(&of_list), format!("{of_list} stands beside {one}"), remove()),
        (2.., 0) if is_header && is_list() => (at, format!("{one} stands more than once"), in_double()),
        _ => (at, format!("{} stands twice", shown(key)), remove()),
    }
}

/// One number that is written in parts: its sign with a blank behind it, or a fraction as on a tape in inches.
fn apart(text: &str, at: usize) -> Option<(String, String)> {
    let is_part = |c: char| c == ' ' || c == '/' || is_of_number(c);
    let written = run(text, at, is_part)?.trim();
    let typed = written.replace(is_printed_minus, "-");
    let (sign, size) = typed.strip_prefix('-').map_or(("", typed.as_str()), |size| ("-", size.trim_start()));
    let Some((before, divisor)) = size.split_once('/') else {
        let is_number = size.starts_with(|c: char| c.is_ascii_digit()) && size.parse::<f64>().is_ok();
        return (is_number && typed != format!("{sign}{size}")).then(|| {
            (format!("{} is no number", shown(written)), format!("write {sign}{size}: the sign stands at its number"))
        });
    };
    let (whole, dividend) = before.trim_end().rsplit_once([' ', '-']).unwrap_or(("0", before));
    let of = |part: &str| part.trim().trim_end_matches('-').parse::<u32>().ok().map(f64::from);
    let value = of(whole)? + of(dividend)? / of(divisor).filter(|divisor| *divisor > 0.0)?;
    Some((format!("{} is no number of TOML", shown(written)), format!("write it with a decimal point: {sign}{value}")))
}

/// A quote of printed text in the line of this place, outside its comment.
fn printed_quote(text: &str, at: usize) -> Option<char> {
    let start = text.get(..at)?.rfind('\n').map_or(0, |end| end + 1);
    let line = text.get(start..)?.lines().next()?.split('#').next()?;
    line.chars().find(|c| {
        matches!(c, '\u{201c}' | '\u{201d}' | '\u{201e}' | '\u{2018}' | '\u{2019}' | '\u{201a}' | '\u{ab}' | '\u{bb}')
    })
}

/// What stands behind the number at this place and does not belong there: its unit, or the next number without a comma.
fn behind_number(text: &str, at: usize) -> Option<(String, String)> {
    let line = text.get(at..)?.lines().next()?;
    let behind = line.trim_start_matches(is_of_number);
    let number: f64 = line[..line.len() - behind.len()].parse().ok()?;
    let next: &str = behind.split([',', ']', '}', '#']).next()?.trim();
    if next.starts_with(';') {
        return Some(("`;` stands behind a number".to_owned(), format!("write a comma behind {number}")));
    }
    if next.starts_with(|c: char| c.is_alphabetic() || c == '°') {
        let advice = "write the number alone: lengths are in the `units` of the file, angles in deg";
        return Some((format!("{} stands behind a number", shown(next)), advice.to_owned()));
    }
    let is_number = next.split_whitespace().next()?.parse::<f64>().is_ok();
    is_number.then(|| ("a comma is missing between two numbers".to_owned(), format!("write a comma behind {number}")))
}

/// A number with a decimal comma, or without a digit before or behind its point, and how it is written; for one that stands
/// at this place.
fn unread_number(text: &str, at: usize) -> Option<(&str, String)> {
    mended(run(text, at, is_of_number)?).or_else(|| mended(run(text, at, |c| c == ',' || is_of_number(c))?))
}

/// The same of the number before this place: in a table in braces what is behind the comma reads like its next key.
fn number_before(text: &str, at: usize) -> Option<(&str, String)> {
    let before = text.get(..at)?.trim_end_matches([' ', ',']);
    let start = before.trim_end_matches(|c| c == ',' || is_of_number(c)).len();
    mended(&before[start..])
}

fn is_of_number(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '.' | '+' | '-') || is_printed_minus(c)
}

/// The minus and dashes of printed text, which come with numbers that were copied from it.
fn is_printed_minus(c: char) -> bool {
    matches!(c, '\u{2212}' | '\u{2013}' | '\u{2010}' | '\u{2011}')
}

/// The run of such characters round a place.
fn run(text: &str, at: usize, is_part: impl Fn(char) -> bool) -> Option<&str> {
    let start = text.get(..at)?.trim_end_matches(&is_part).len();
    let behind = text.get(at..)?;
    text.get(start..text.len() - behind.trim_start_matches(&is_part).len())
}

fn mended(written: &str) -> Option<(&str, String)> {
    let typed = written.replace(is_printed_minus, "-");
    let (sign, digits) = typed.split_at(usize::from(typed.starts_with(['+', '-'])));
    let digits = digits.replace(',', ".");
    let before = if digits.starts_with('.') { "0" } else { "" };
    let behind = if digits.ends_with('.') { "0" } else { "" };
    let meant = format!("{sign}{before}{digits}{behind}");
    let is_number = digits.contains(|c: char| c.is_ascii_digit()) && meant.parse::<f64>().is_ok();
    (is_number && meant != written).then_some((written, meant))
}
