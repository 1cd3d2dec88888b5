//! Where a part of a sound file is written, for mistakes that show only when it is put to use.

use toml_edit::{Document, Item, Table, TableLike};

use super::reader::Span;
use crate::geometry::Side;

/// Of a key of a link, or of the link when it has no such key. A mirrored right link stands on the left.
pub(super) fn link(text: &str, side: Side, name: &str, key: &str) -> Option<Span> {
    let document = Document::parse(text).ok()?;
    let right = right(&document, side).and_then(|right| right.get("link"));
    let lists = right.into_iter().chain(document.get("link"));
    let found = lists.filter_map(Item::as_array_of_tables).flatten().find(|table| is_called(table, name))?;
    found.get(key).and_then(Item::span).or_else(|| found.span())
}

fn is_called(table: &Table, name: &str) -> bool {
    table.get("name").and_then(Item::as_str) == Some(name)
}

/// Of a key below tables, or of the innermost of these tables that is there.
pub(super) fn key(text: &str, side: Side, path: &[&str]) -> Option<Span> {
    let document = Document::parse(text).ok()?;
    let (outermost, inner) = path.split_first()?;
    let right = right(&document, side).and_then(|right| right.get(outermost));
    let mut item = right.or_else(|| document.get(outermost))?;
    for key in inner {
        match item.as_table_like().and_then(|table| table.get(key)) {
            Some(inner) => item = inner,
            None => break,
        }
    }
    item.span()
}

/// The table `[right]`, for the right side.
fn right<'d>(document: &'d Document<&str>, side: Side) -> Option<&'d dyn TableLike> {
    if side == Side::Right { document.get("right")?.as_table_like() } else { None }
}
