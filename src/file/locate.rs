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

/// Tables of which no two have a key of one name.
const TABLES: [&str; 9] = ["wheel", "car", "travel", "weld", "spring", "halfshaft", "limits", "tape", "clearance"];

/// Of a point by its name, of a link as `link "NAME"`, of a datum as `datum "NAME"`, of a group as `weld group "NAME"`, of a key
/// of a tube, a load or a metal as `tube "NAME" to`, of a joint as `propshaft joint 2`, of a key alone or as "`key` in [table]". An inner joint that a
/// final drive gives stands at its flange.
pub(super) fn about(text: &str, side: Side, about: &str) -> Option<Span> {
    let document = Document::parse(text).ok()?;
    let exact = |path: &[&str]| {
        let mut item = right(&document, side).and_then(|right| right.get(path[0])).or_else(|| document.get(path[0]))?;
        for key in &path[1..] {
            item = item.as_table_like()?.get(key)?;
        }
        item.span()
    };
    if let Some(name) = about.strip_prefix("link ").and_then(|rest| rest.strip_prefix('"')?.strip_suffix('"')) {
        return link(text, side, name, "name");
    }
    if let Some(span) = in_list(&document, about) {
        return Some(span);
    }
    if let Some((key, table)) = about.strip_prefix('`').and_then(|rest| rest.split_once("` in [")) {
        return exact(&[table.trim_end_matches(']'), key]);
    }
    let of_link = about.rsplit_once(' ').and_then(|(name, key)| link(text, side, name, key));
    let of_table = || about.split_once(' ').and_then(|(table, key)| exact(&[table, key]));
    let of_key = || TABLES.into_iter().find_map(|table| exact(&[table, about]));
    let of_flange = || (about == "halfshaft inner").then(|| exact(&["final_drive", side.name()])).flatten();
    of_link.or_else(of_table).or_else(|| exact(&[about])).or_else(of_key).or_else(of_flange)
}

/// Of what stands in a list of tables other than links: a datum, a group of brackets, a tube's end, a joint.
fn in_list(document: &Document<&str>, about: &str) -> Option<Span> {
    if let Some(nth) = about.strip_prefix("propshaft joint ") {
        let nth: usize = nth.parse().ok()?;
        let joints = document.get("propshaft")?.as_table_like()?.get("joint")?.as_array_of_tables()?;
        return joints.get(nth.checked_sub(1)?)?.get("at")?.span();
    }
    let (list, rest) = about.split_once(" \"")?;
    let (name, key) = rest.rsplit_once('"')?;
    let (list, key) = match list {
        "datum" => (document.get("datum")?, "at"),
        "tube" | "load" | "material" => (document.get(list)?, key.trim_start()),
        "weld group" => (document.get("weld")?.as_table_like()?.get("group")?, "sd"),
        _ => return None,
    };
    list.as_array_of_tables()?.iter().find(|table| is_called(table, name))?.get(key)?.span()
}

/// The table `[right]`, for the right side.
fn right<'d>(document: &'d Document<&str>, side: Side) -> Option<&'d dyn TableLike> {
    if side == Side::Right { document.get("right")?.as_table_like() } else { None }
}
