//! Walks the tables of a parsed file and notes every key that is unknown, missing or wrong.
//!
//! A key is known because it was asked for, so the list of keys is written once: where they are read.

use toml_edit::{Item, TableLike};

use super::diagnostics::{Diagnostics, Span};
use super::value::{Scope, ValueKind, kind_name, shown};
use crate::geometry::LengthUnit;

/// Keys that mean one thing in one table and another in another: a message about one names its table, and says which is meant.
const IN_TWO_TABLES: [(&str, &str, &str); 2] = [
    ("within", "link", " (the box in which tuning looks for a chassis point)"),
    ("within", "weld", " (how near 19 of 20 coordinates are to the drawing)"),
];

/// A value with the place where it was written.
#[derive(Debug, Clone)]
pub(crate) struct At<T> {
    pub(crate) value: T,
    pub(crate) span: Span,
}

/// One table of the file while its keys are taken out one by one; [`Table::finish`] notes what is left over.
pub(crate) struct Table<'a> {
    keys: &'a dyn TableLike,
    /// `right.wheel`; empty for the file itself.
    path: String,
    /// What the table is called in messages.
    title: String,
    pub(crate) header: Span,
    pub(crate) scope: Scope,
    diagnostics: &'a Diagnostics,
    known: Vec<&'static str>,
    /// Keys that are needed and not there, as messages write them, with what to add.
    missing: Vec<(&'static str, String, String)>,
}

impl<'a> Table<'a> {
    pub(crate) fn top(keys: &'a dyn TableLike, scope: Scope, diagnostics: &'a Diagnostics) -> Self {
        let title = "the file".to_owned();
        Table { keys, path: String::new(), title, header: 0..0, scope, diagnostics, known: vec![], missing: vec![] }
    }

    fn inner(&self, key: &str, keys: &'a dyn TableLike, header: Span, double: bool) -> Table<'a> {
        let path = self.inside(key);
        let title = if double { format!("[[{path}]]") } else { format!("[{path}]") };
        Table {
            keys,
            path,
            title,
            header,
            scope: self.scope,
            diagnostics: self.diagnostics,
            known: vec![],
            missing: vec![],
        }
    }

    /// Calls the table by something better than its header.
    pub(crate) fn rename(&mut self, title: String) {
        self.title = title;
    }

    pub(crate) fn has(&self, key: &str) -> bool {
        self.keys.contains_key(key)
    }

    /// The key is there and is a table of its own.
    pub(crate) fn holds_table(&self, key: &str) -> bool {
        self.keys.get(key).is_some_and(|item| item.as_table_like().is_some())
    }

    /// Notes a mistake at a place inside this table.
    pub(crate) fn note(&self, at: &Span, what: impl Into<String>, advice: impl Into<String>) {
        self.diagnostics.add(at, what, advice);
    }

    fn item(&mut self, key: &'static str) -> Option<(Span, &'a Item)> {
        self.known.push(key);
        let (name, item) = self.keys.get_key_value(key)?;
        let span = item.span().or(name.span()).unwrap_or_else(|| self.header.clone());
        Some((span, item))
    }

    pub(crate) fn optional<K: ValueKind>(&mut self, key: &'static str, kind: &K) -> Option<At<K::Value>> {
        let (span, item) = self.item(key)?;
        match kind.read(item, self.scope) {
            Ok(value) => Some(At { value, span }),
            Err(error) => {
                let advice = format!("write {}", kind.wants(self.scope));
                self.note(&error.at.unwrap_or(span), format!("{} {}", self.called(key), error.what), advice);
                None
            }
        }
    }

    /// The value alone, where nothing later needs its place.
    pub(crate) fn value<K: ValueKind>(&mut self, key: &'static str, kind: &K) -> Option<K::Value> {
        self.optional(key, kind).map(|at| at.value)
    }

    /// A value without which the table means nothing; `meaning` says what to write.
    pub(crate) fn required<K: ValueKind>(
        &mut self,
        key: &'static str,
        kind: &K,
        meaning: &str,
    ) -> Option<At<K::Value>> {
        if !self.has(key) {
            let wants = kind.wants(self.scope);
            self.miss(key, format!("`{key}`"), format!("{meaning}: {wants}"));
        }
        self.optional(key, kind)
    }

    pub(crate) fn table(&mut self, key: &'static str) -> Option<Table<'a>> {
        let (span, item) = self.item(key)?;
        match item.as_table_like() {
            Some(keys) => Some(self.inner(key, keys, span, false)),
            None => {
                let what = format!("{} is {}, not a table", self.called(key), kind_name(item));
                let advice = match self.path.is_empty() {
                    _ if item.is_array_of_tables() => in_single_brackets(&self.inside(key)),
                    true => format!("write {} on a line of its own and its keys below it", self.header_of(key)),
                    // Below a header of its own the other keys of this table would be keys of that one.
                    false => format!("write its keys in braces: {}", in_braces(key, self.scope.units)),
                };
                self.note(&span, what, advice);
                None
            }
        }
    }

    pub(crate) fn required_table(&mut self, key: &'static str, meaning: &str) -> Option<Table<'a>> {
        if !self.has(key) {
            self.miss(key, self.header_of(key), meaning.to_owned());
        }
        self.table(key)
    }

    pub(crate) fn required_tables(&mut self, key: &'static str, meaning: &str) -> Vec<Table<'a>> {
        if !self.has(key) {
            self.miss(key, format!("[{}]", self.header_of(key)), meaning.to_owned());
        }
        self.tables(key)
    }

    /// `` `key` ``, with its table where the key means something else in another.
    pub(crate) fn called(&self, key: &str) -> String {
        let table = self.path.rsplit('.').next().unwrap_or_default();
        let meaning = IN_TWO_TABLES.iter().find(|(name, of, _)| *name == key && *of == table);
        match meaning {
            None if table == "within" => format!("`{key}` of {}", self.title),
            None => format!("`{key}`"),
            Some((_, _, meaning)) => {
                let header = if table == "link" { format!("[[{}]]", self.path) } else { format!("[{}]", self.path) };
                format!("`{key}` of {header}{meaning}")
            }
        }
    }

    fn miss(&mut self, key: &'static str, label: String, meaning: String) {
        self.missing.push((key, label, meaning));
    }

    fn header_of(&self, key: &str) -> String {
        format!("[{}]", self.inside(key))
    }

    /// `right.wheel`.
    fn inside(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    /// Every table of a `[[list]]`; an inline list of inline tables is the same thing.
    pub(crate) fn tables(&mut self, key: &'static str) -> Vec<Table<'a>> {
        self.diagnostics.note_list(self.inside(key));
        let Some((span, item)) = self.item(key) else { return Vec::new() };
        match list_of_tables(item) {
            Some(list) if !list.is_empty() => {
                list.into_iter().map(|(keys, at)| self.inner(key, keys, at.unwrap_or(span.clone()), true)).collect()
            }
            _ => {
                let what = format!("`{key}` is {}, not a list of tables", kind_name(item));
                let header = format!("[{}]", self.header_of(key));
                self.note(&span, what, format!("write {header}, in double brackets, above the keys of each one"));
                Vec::new()
            }
        }
    }

    /// Notes the keys that nobody asked for, and the missing ones. A missing key that was only misspelt is noted once.
    pub(crate) fn finish(mut self) {
        for (key, item) in self.keys.iter().filter(|(key, _)| !self.known.contains(key)) {
            let nearest = nearest(key, &self.known);
            self.missing.retain(|(missing, _, _)| Some(*missing) != nearest);
            let span = self.keys.key(key).and_then(|name| name.span()).or(item.span());
            let what = format!("unknown key {} in {}", shown(key), self.title);
            let advice = match nearest {
                _ if OF_THE_FILE.contains(&key) => "move it above the first table: it is of the whole file".to_owned(),
                _ if key == "damper" => "write its keys under [spring], which has those of the damper too".to_owned(),
                Some(near) => format!("write `{near}`, or remove it"),
                None => format!("remove it; the keys here are {}", listed(&self.known)),
            };
            self.note(&span.unwrap_or(self.header.clone()), what, advice);
        }
        for (_, label, meaning) in &self.missing {
            self.note(&self.header, format!("{} lacks {label}", self.title), format!("add {label}, {meaning}"));
        }
    }
}

/// Tables that either side of a car has.
const OF_A_SIDE: [&str; 3] = ["wheel", "halfshaft", "spring"];

/// What to write for a table that was taken for one of a list.
fn in_single_brackets(name: &str) -> String {
    format!("write [{name}], in single brackets: {}", only_one(name).unwrap_or("there is only one".to_owned()))
}

/// Which one a table of one side is, and where the other one stands; `None` of other tables.
pub(crate) fn only_one(name: &str) -> Option<String> {
    OF_A_SIDE
        .contains(&name)
        .then(|| format!("[{name}] is the left one, and a right one that is no mirror image of it is [right.{name}]"))
}

/// A table on the line of its key.
fn in_braces(key: &str, units: LengthUnit) -> String {
    let room = match units {
        LengthUnit::Millimetre => "[-25.0, 25.0]",
        LengthUnit::Inch => "[-1.0, 1.0]",
    };
    match key {
        "free" => format!("`free = {{ chassis = {{ y = {room}, z = {room} }} }}`"),
        "chassis" | "upright" | "mount" => format!("`{key} = {{ y = {room}, z = {room} }}`"),
        "within" => {
            "`within = { x = [low, high], y = [low, high], z = [low, high] }`, all in the axes of the car".to_owned()
        }
        _ => format!("`{key} = {{ key = value, … }}`"),
    }
}

/// Keys that stand in no table, which are easily written below the header of one.
const OF_THE_FILE: [&str; 3] = ["schema", "units", "upright_axes"];

pub(crate) type Listed<'a> = (&'a dyn TableLike, Option<Span>);

pub(crate) fn list_of_tables(item: &Item) -> Option<Vec<Listed<'_>>> {
    match item {
        Item::ArrayOfTables(list) => Some(list.iter().map(|table| (table as &dyn TableLike, table.span())).collect()),
        _ => item
            .as_array()?
            .iter()
            .map(|value| Some((value.as_inline_table()? as &dyn TableLike, value.span())))
            .collect(),
    }
}

fn listed(keys: &[&str]) -> String {
    keys.iter().map(|key| format!("`{key}`")).collect::<Vec<_>>().join(", ")
}

/// The known word that was most likely meant, when one is close.
pub(crate) fn nearest<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
    if word.len() > 40 {
        return None;
    }
    let word = word.to_lowercase();
    let distance = |key: &str| strsim::osa_distance(&word, &key.to_lowercase());
    let best = known.iter().min_by_key(|key| distance(key))?;
    (distance(best) <= (best.len() / 3).max(1)).then_some(*best)
}
