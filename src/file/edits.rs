//! Numbers of a file replaced where they stand.

use nalgebra::{Point3, Unit, Vector3};
use toml_edit::{Document, Item, TableLike, TomlError, Value};

use super::reader::Span;
use crate::geometry::{AdjustmentRange, LengthUnit};

/// Digits behind the point of an angle in deg: below 0.00001 mm at a wheel's radius.
const ANGLE_DECIMALS: usize = 6;

/// Digits behind the point of a part of a direction.
const DIRECTION_DECIMALS: usize = 6;
/// Directions nearer than this, rad, are the same.
const SAME_DIRECTION_RAD: f64 = 1e-7;

/// By so many digits a standard deviation is written shorter than a length.
const LESS_DIGITS: usize = 2;

/// Pieces of the text and what shall stand there.
pub(crate) struct Edits<'a> {
    text: &'a str,
    units: LengthUnit,
    list: Vec<(Span, String)>,
}

impl<'a> Edits<'a> {
    /// Lengths are written in these units.
    pub(crate) fn new(text: &'a str, units: LengthUnit) -> Self {
        Self { text, units, list: Vec::new() }
    }

    /// A point in the axes of the file, where the file gives it and it differs.
    pub(crate) fn point(&mut self, keys: &dyn TableLike, key: &str, p_mm: &Point3<f64>) {
        let written = keys.get(key).and_then(Item::as_array).into_iter().flatten();
        for (value, mm) in written.zip(p_mm.iter()) {
            self.number(value, mm / self.units.in_mm(), decimals(self.units));
        }
    }

    /// A direction in the axes of the file, where the file gives it and it differs, as long as the one that stood there.
    pub(crate) fn direction(&mut self, keys: &dyn TableLike, key: &str, unit: &Unit<Vector3<f64>>) {
        let Some(array) = keys.get(key).and_then(Item::as_array) else { return };
        let old = Vector3::from_iterator(array.iter().filter_map(number).chain([0.0; 3]).take(3));
        if (old.normalize() - unit.as_ref()).norm() > SAME_DIRECTION_RAD {
            for (value, part) in array.iter().zip(unit.iter()) {
                self.number(value, part * old.norm(), DIRECTION_DECIMALS);
            }
        }
    }

    pub(crate) fn length(&mut self, keys: &dyn TableLike, key: &str, mm: f64) {
        if let Some(value) = keys.get(key).and_then(Item::as_value) {
            self.number(value, mm / self.units.in_mm(), decimals(self.units));
        }
    }

    pub(crate) fn angle(&mut self, keys: &dyn TableLike, key: &str, rad: f64) {
        if let Some(value) = keys.get(key).and_then(Item::as_value) {
            self.number(value, rad.to_degrees(), ANGLE_DECIMALS);
        }
    }

    /// Both ends of a range of lengths, where the file gives it and they differ.
    pub(crate) fn range(&mut self, keys: &dyn TableLike, key: &str, range: Option<AdjustmentRange>) {
        let in_mm = self.units.in_mm();
        self.ends(keys, key, range.map(|range| [range.low / in_mm, range.high / in_mm]), decimals(self.units));
    }

    /// The same as a file that does not give it yet is to have it.
    pub(crate) fn range_text(&self, range: &AdjustmentRange) -> String {
        let ends = [range.low, range.high].map(|end| number_text(end / self.units.in_mm(), decimals(self.units)));
        format!("[{}]", ends.join(", "))
    }

    /// Both ends of a range of angles.
    pub(crate) fn angle_range(&mut self, keys: &dyn TableLike, key: &str, range: Option<AdjustmentRange>) {
        self.ends(keys, key, range.map(|range| [range.low, range.high]), ANGLE_DECIMALS);
    }

    fn ends(&mut self, keys: &dyn TableLike, key: &str, ends: Option<[f64; 2]>, decimals: usize) {
        let written = keys.get(key).and_then(Item::as_array).into_iter().flatten();
        for (value, end) in written.zip(ends.into_iter().flatten()) {
            self.number(value, end, decimals);
        }
    }

    fn number(&mut self, value: &Value, new: f64, decimals: usize) {
        let is_same = number(value).is_some_and(|old| (old - new).abs() <= 0.5 / 10_f64.powi(decimals as i32));
        if let Some(span) = value.span().filter(|_| !is_same) {
            self.replace(span, number_text(new, decimals));
        }
    }

    pub(crate) fn replace(&mut self, span: Span, new: String) {
        self.list.push((span, new));
    }

    /// A point as the file writes it.
    pub(crate) fn point_text(&self, p_mm: &Point3<f64>) -> String {
        point_text(self.units, p_mm)
    }

    /// Standard deviations along x, y and z, where the file gives them and they differ.
    pub(crate) fn sds(&mut self, keys: &dyn TableLike, key: &str, sd_mm: [f64; 3]) {
        let written = keys.get(key).and_then(Item::as_array).into_iter().flatten();
        for (value, mm) in written.zip(sd_mm) {
            self.number(value, mm / self.units.in_mm(), decimals(self.units) - LESS_DIGITS);
        }
    }

    /// The same as the file writes them.
    pub(crate) fn sds_text(&self, sd_mm: [f64; 3]) -> String {
        sds_text(self.units, sd_mm)
    }

    /// Adds `key = value` behind a value: on a line of its own when nothing but a comment follows, else after a comma.
    pub(crate) fn insert_key_behind(&mut self, value: Span, text: String) {
        let rest = &self.text[value.end..];
        let line = rest.find('\n').unwrap_or(rest.len());
        let follows = rest[..line].trim();
        if follows.is_empty() || follows.starts_with('#') {
            let at = value.end + rest[..line].trim_end_matches('\r').len();
            self.list.push((at..at, format!("{}{text}", self.line_end())));
        } else {
            self.list.push((value.end..value.end, format!(", {text}")));
        }
    }

    /// Takes a key out with what stands before it on its line; the whole line when nothing follows.
    pub(crate) fn remove(&mut self, span: Span) {
        let start = self.text[..span.start].rfind('\n').map_or(0, |at| at + 1);
        let rest = &self.text[span.end..];
        let line = rest.find('\n').map_or(rest.len(), |at| at + 1);
        let end = if rest[..line].trim().is_empty() { span.end + line } else { span.end };
        self.list.push((start..end, String::new()));
    }

    pub(crate) fn line_end(&self) -> &'static str {
        if self.text.contains("\r\n") { "\r\n" } else { "\n" }
    }

    /// The text with every piece replaced.
    pub(crate) fn applied(mut self) -> String {
        self.list.sort_by_key(|(span, _)| span.start);
        let mut text = self.text.to_owned();
        for (span, new) in self.list.into_iter().rev() {
            text.replace_range(span, &new);
        }
        text
    }
}

/// A point as a file in these units writes it.
pub(crate) fn point_text(units: LengthUnit, p_mm: &Point3<f64>) -> String {
    let numbers = p_mm.iter().map(|mm| number_text(mm / units.in_mm(), decimals(units)));
    format!("[{}]", numbers.collect::<Vec<_>>().join(", "))
}

/// Standard deviations along x, y and z as a file in these units writes them: to 0.01 mm or 0.001 in.
pub(crate) fn sds_text(units: LengthUnit, sd_mm: [f64; 3]) -> String {
    let decimals = decimals(units) - LESS_DIGITS;
    format!("[{}]", sd_mm.map(|mm| number_text(mm / units.in_mm(), decimals)).join(", "))
}

/// A text with a key of its top set: in place of its old value, else behind `schema`, with a comment.
pub(super) fn with_top_key(
    text: &str,
    units: LengthUnit,
    key: &str,
    value: &str,
    comment: &str,
) -> Result<String, TomlError> {
    let document = Document::parse(text)?;
    let span = |key: &str| document.get(key).and_then(Item::span);
    let mut edits = Edits::new(text, units);
    match (span(key), span("schema")) {
        (Some(old), _) => edits.replace(old, value.to_owned()),
        (None, Some(schema)) => edits.insert_key_behind(schema, format!("{key} = {value}{comment}")),
        (None, None) => {}
    }
    Ok(edits.applied())
}

/// A number with or without a decimal point.
pub(crate) fn number(value: &Value) -> Option<f64> {
    value.as_float().or(value.as_integer().map(|whole| whole as f64))
}

/// Digits behind the point of a length: 0.0001 mm or 0.00001 in.
pub(crate) fn decimals(units: LengthUnit) -> usize {
    match units {
        LengthUnit::Millimetre => 4,
        LengthUnit::Inch => 5,
    }
}

/// At most so many decimals and at least one; never `-0.0`.
fn number_text(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    let text = text.trim_end_matches('0');
    let text = if text.ends_with('.') { format!("{text}0") } else { text.to_owned() };
    if text == "-0.0" { "0.0".to_owned() } else { text }
}
