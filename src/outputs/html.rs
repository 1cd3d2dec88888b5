//! Pieces of a page of HTML that is sound XML too. Every text is escaped here.

use super::markup::escaped;
use crate::studies::State;

/// A cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cell {
    /// At the left.
    Words(String),
    /// At the right.
    Number(String),
    /// At the right, across two columns: of both that these head.
    OfBoth(String),
    /// What a limit comes to, in words of its own.
    Judged(State, String),
    /// To be filled in by hand.
    Fill,
}

pub(super) fn words(text: impl Into<String>) -> Cell {
    Cell::Words(text.into())
}

pub(super) fn number(text: impl Into<String>) -> Cell {
    Cell::Number(text.into())
}

/// A table with its caption and head. The first cell of a row names it; a row of one cell heads those below it.
pub(super) fn table(caption: &str, head: &[&str], rows: &[Vec<Cell>]) -> String {
    let full = rows.iter().find(|row| row.len() == head.len());
    let is_judged = rows.iter().flatten().any(|cell| matches!(cell, Cell::Judged(..)));
    let kind = if is_judged { " class=\"judged\"" } else { "" };
    let is_number = |k: usize| full.is_some_and(|row| matches!(row.get(k), Some(Cell::Number(_))));
    let class = |k: usize| if is_number(k) { " class=\"n\"" } else { "" };
    let head_cell = |(k, name): (usize, &&str)| match name.is_empty() {
        true => format!("<td{}></td>", class(k)),
        false => format!("<th scope=\"col\"{}>{}</th>", class(k), escaped(name)),
    };
    let columns: String = head.iter().enumerate().map(head_cell).collect();
    let body: String = rows.iter().map(|row| table_row(row, head.len())).collect();
    let caption = escaped(caption);
    format!(
        "<div class=\"wide\" role=\"region\" aria-label=\"{caption}\" tabindex=\"0\"><table{kind}>\n<caption>{caption}</caption>\n\
         <thead><tr>{columns}</tr></thead>\n<tbody>\n{body}</tbody>\n</table></div>\n"
    )
}

fn table_row(row: &[Cell], columns: usize) -> String {
    match row {
        [Cell::Words(group)] => {
            format!("<tr><th scope=\"rowgroup\" class=\"group\" colspan=\"{columns}\">{}</th></tr>\n", escaped(group))
        }
        [first, rest @ ..] => {
            let rest: String = rest.iter().map(|of| cell("td", "", of)).collect();
            format!("<tr>{}{rest}</tr>\n", cell("th", " scope=\"row\"", first))
        }
        [] => String::new(),
    }
}

/// One cell; `scope` is an attribute with a blank before it, or nothing.
pub(super) fn cell(tag: &str, scope: &str, cell: &Cell) -> String {
    let (class, text) = match cell {
        Cell::Words(text) => ("", &text[..]),
        Cell::Number(text) => (" class=\"n\"", &text[..]),
        Cell::OfBoth(text) => (" class=\"n\" colspan=\"2\"", &text[..]),
        Cell::Judged(State::Pass, text) => (" class=\"pass\"", &text[..]),
        Cell::Judged(State::Fail, text) => (" class=\"fail\"", &text[..]),
        Cell::Judged(State::NotChecked, text) => (" class=\"open\"", &text[..]),
        Cell::Fill => (" class=\"fill\"", ""),
    };
    format!("<{tag}{scope}{class}>{}</{tag}>", escaped(text))
}

pub(super) fn paragraph(text: &str) -> String {
    format!("<p>{}</p>\n", escaped(text))
}

pub(super) fn paragraphs(texts: impl IntoIterator<Item = String>) -> String {
    texts.into_iter().map(|text| paragraph(&text)).collect()
}

/// Paragraphs that are printed on the page of what follows them.
pub(super) fn lead(paragraphs: &str) -> String {
    format!("<div class=\"lead\">\n{paragraphs}</div>\n")
}

/// A heading below that of a section.
pub(super) fn heading(text: &str) -> String {
    format!("<h3>{}</h3>\n", escaped(text))
}

/// Nothing of an empty list.
pub(super) fn list(items: &[String]) -> String {
    if items.is_empty() {
        return String::new();
    }
    let items: String = items.iter().map(|item| format!("<li>{}</li>\n", escaped(item))).collect();
    format!("<ul>\n{items}</ul>\n")
}

/// Tables two beside each other where there is room; the first of three goes across.
pub(super) fn beside(tables: &str) -> String {
    format!("<div class=\"beside\">\n{tables}</div>\n")
}

/// A chart in its frame; its own title is told to who cannot see it.
pub(super) fn figure(svg: &str) -> String {
    framed("wide", svg)
}

/// The same with the drawing that takes its place on a phone.
pub(super) fn figure_with_narrow(svg: &str, narrow: &str) -> String {
    framed("wide for-print", svg) + &framed("for-phone", narrow)
}

/// The same of a drawing that is printed as large as it says.
pub(super) fn to_scale(svg: &str) -> String {
    framed("wide to-scale", svg)
}

fn framed(class: &str, svg: &str) -> String {
    format!("<figure class=\"{class}\" tabindex=\"0\">\n{svg}</figure>\n")
}

/// A text as a string of CSS, which no letter of it can end.
pub(super) fn css_string(text: &str) -> String {
    let letter = |c: char| if c.is_ascii_alphanumeric() { c.to_string() } else { format!("\\{:x} ", u32::from(c)) };
    format!("\"{}\"", text.chars().map(letter).collect::<String>())
}

#[cfg(test)]
mod tests {
    use super::{css_string, list, number, table, words};

    #[test]
    fn names_are_text_in_every_piece() {
        let name = "<b onclick=\"x\">&'";
        let told = "&lt;b onclick=&quot;x&quot;&gt;&amp;'";
        let piece = table(name, &[name, "mm"], &[vec![words(name), number("1.0")], vec![words(name)]]);
        assert_eq!((piece.matches(told).count(), piece.contains("<b")), (5, false), "{piece}");
        assert_eq!(list(&[name.to_owned()]), format!("<ul>\n<li>{told}</li>\n</ul>\n"));
        assert_eq!(list(&[]), "");
    }

    #[test]
    fn a_string_of_css_ends_where_its_text_does() {
        // CSS 2.1, 4.1.3: a backslash, hexadecimal digits and one blank.
        assert_eq!(css_string("a\"\\</"), "\"a\\22 \\5c \\3c \\2f \"");
    }
}
