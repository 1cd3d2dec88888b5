//! What every kind of value has in common.
//!
//! Lengths become millimetres and right-side coordinates become side axes while a value is read, and nowhere else.

use toml_edit::{Item, Value};

use super::diagnostics::Span;
use crate::geometry::{LengthUnit, Side};

/// How the numbers of a table are to be understood.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Scope {
    pub(crate) units: LengthUnit,
    pub(crate) side: Side,
    /// Points of the upright are given from the wheel centre along the spindle.
    pub(crate) hub_axes: bool,
    /// The file has a final drive, which gives the inner joints of the halfshafts.
    pub(crate) final_drive: bool,
}

/// Why a value cannot be taken; `what` goes on after the name of the key.
pub(crate) struct ValueError {
    /// The part of the value that is wrong, where the whole is not.
    pub(crate) at: Option<Span>,
    pub(crate) what: String,
}

impl ValueError {
    pub(crate) fn new(what: impl Into<String>) -> Self {
        ValueError { at: None, what: what.into() }
    }

    pub(crate) fn at(mut self, value: &Value) -> Self {
        self.at = self.at.or(value.span());
        self
    }
}

/// A kind of value: what it is called in advice, and how it is read.
pub(crate) trait ValueKind {
    type Value;
    fn wants(&self, scope: Scope) -> String;
    fn read(&self, item: &Item, scope: Scope) -> Result<Self::Value, ValueError>;
}

/// Somebody's own words, short and fit for a terminal, in quotes.
pub(crate) fn shown(text: &str) -> String {
    let cut: String = text.chars().take(40).collect();
    format!("{cut:?}{}", if cut.len() < text.len() { "…" } else { "" })
}

/// What a value is, in plain words.
pub(crate) fn kind_name(item: &Item) -> &'static str {
    match item {
        Item::Value(value) => value_name(value),
        Item::ArrayOfTables(_) => "a list of tables",
        Item::Table(_) | Item::None => "a table",
    }
}

pub(super) fn value_name(value: &Value) -> &'static str {
    match value {
        Value::String(_) => "text",
        Value::Integer(_) | Value::Float(_) => "a number",
        Value::Boolean(_) => "true or false",
        Value::Datetime(_) => "a date",
        Value::Array(_) => "a list",
        Value::InlineTable(_) => "a table",
    }
}
