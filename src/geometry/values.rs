//! The kinds of value that a key can hold: numbers with their range and unit, points, directions, bands, words.
//!
//! Lengths become millimetres and right-side coordinates become side axes here, and nowhere else.

mod lists;

use nalgebra::{Point3, Unit, Vector3};
use toml_edit::{Item, Value};

use super::model::LengthUnit;
use super::problem::Span;
use super::side::Side;
use lists::numbers;
pub(super) use lists::{AdjustmentKind, IntervalKind, Numbers, Texts, numbers_of};

/// Farther than any point of a car from its datum, mm.
const MAX_MM: f64 = 1e5;

/// How the numbers of a table are to be understood.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scope {
    pub(super) units: LengthUnit,
    pub(super) side: Side,
    /// Points of the upright are given from the wheel centre along the spindle.
    pub(super) hub_axes: bool,
}

/// Why a value cannot be taken; `what` goes on after the name of the key.
pub(super) struct ValueError {
    /// The part of the value that is error, where the whole is not.
    pub(super) at: Option<Span>,
    pub(super) what: String,
}

impl ValueError {
    pub(super) fn new(what: impl Into<String>) -> Self {
        ValueError { at: None, what: what.into() }
    }

    pub(super) fn at(mut self, value: &Value) -> Self {
        self.at = self.at.or(value.span());
        self
    }
}

/// A kind of value: what it is called in advice, and how it is read.
pub(super) trait ValueKind {
    type Value;
    fn wants(&self, scope: Scope) -> String;
    fn read(&self, item: &Item, scope: Scope) -> Result<Self::Value, ValueError>;
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum NumberUnit {
    Length,
    Degrees,
    Percent,
    Share,
    Bare,
}

impl NumberUnit {
    /// By what a number of the file is multiplied.
    fn factor(self, units: LengthUnit) -> f64 {
        if self == NumberUnit::Length { units.in_mm() } else { 1.0 }
    }

    fn symbol(self, units: LengthUnit) -> &'static str {
        match self {
            NumberUnit::Length => units.symbol(),
            NumberUnit::Degrees => "deg",
            NumberUnit::Percent => "%",
            NumberUnit::Share | NumberUnit::Bare => "",
        }
    }

    /// " in mm", as advice says it.
    pub(super) fn in_words(self, units: LengthUnit) -> &'static str {
        match (self, units) {
            (NumberUnit::Length, LengthUnit::Millimetre) => " in mm",
            (NumberUnit::Length, LengthUnit::Inch) => " in inches",
            (NumberUnit::Degrees, _) => " in deg",
            (NumberUnit::Percent, _) => " in %",
            (NumberUnit::Share | NumberUnit::Bare, _) => "",
        }
    }
}

/// A number with its unit and range; the range is in millimetres or degrees.
#[derive(Debug, Clone, Copy)]
pub(super) struct Number {
    pub(super) measure: NumberUnit,
    pub(super) least: f64,
    pub(super) most: f64,
    /// The least value is itself allowed.
    pub(super) least_included: bool,
}

pub(super) const COORDINATE: Number =
    Number { measure: NumberUnit::Length, least: -MAX_MM, most: MAX_MM, least_included: true };
pub(super) const LENGTH: Number = Number { least: 0.0, least_included: false, ..COORDINATE };
/// A bracket off by more was not welded to the drawing.
pub(super) const WELD: Number = Number { most: 50.0, ..LENGTH };
pub(super) const TRAVEL: Number = Number { least: 0.0, most: 500.0, ..COORDINATE };
/// Of a wheel or of the body, up or down.
pub(super) const HEIGHT: Number = Number { least: -500.0, ..TRAVEL };
pub(super) const TURN: Number =
    Number { measure: NumberUnit::Degrees, least: -180.0, most: 180.0, least_included: true };
pub(super) const WEIGHT: Number = Number { measure: NumberUnit::Bare, most: 1e6, ..LENGTH };
/// No tyre of a road or race car is half as large.
pub(super) const TYRE_RADIUS: Number = Number { most: 1000.0, ..LENGTH };
/// Toe or camber; a wheel that leans more rolls on its side wall.
pub(super) const TOE_AND_CAMBER: Number =
    Number { measure: NumberUnit::Degrees, least: -20.0, most: 20.0, least_included: true };
/// A change of toe or camber that a target may ask for.
pub(super) const ANGLE_CHANGE: Number = Number { least: -45.0, most: 45.0, least_included: false, ..TOE_AND_CAMBER };
pub(super) const ROLL: Number = Number { least: 0.0, most: 45.0, ..TOE_AND_CAMBER };
pub(super) const ROLL_STEP: Number = Number { least_included: false, ..ROLL };
pub(super) const ANGLE: Number = Number { measure: NumberUnit::Degrees, most: 90.0, ..LENGTH };
pub(super) const SHARE: Number = Number { measure: NumberUnit::Share, least: 0.0, most: 1.0, least_included: true };
pub(super) const PERCENT: Number =
    Number { measure: NumberUnit::Percent, least: -1e4, most: 1e4, least_included: true };
const COMPONENT: Number = Number { measure: NumberUnit::Bare, ..COORDINATE };

impl Number {
    fn number(&self, value: &Value, scope: Scope) -> Result<f64, ValueError> {
        let written = match value {
            Value::Float(number) => *number.value(),
            Value::Integer(number) => *number.value() as f64,
            other => return Err(ValueError::new(format!("is {}, not a number", value_name(other))).at(value)),
        };
        let number = written * self.measure.factor(scope.units);
        let inside = if self.least_included { number >= self.least } else { number > self.least };
        if !written.is_finite() {
            return Err(ValueError::new("is not a finite number").at(value));
        }
        if !inside || number > self.most {
            let symbol = spaced(self.measure.symbol(scope.units));
            return Err(ValueError::new(format!("is out of range: {written:?}{symbol}")).at(value));
        }
        Ok(number)
    }

    fn range(&self, scope: Scope) -> String {
        let factor = self.measure.factor(scope.units);
        let [least, most] = [self.least, self.most].map(|limit| round(limit / factor));
        if self.least_included { format!("from {least} to {most}") } else { format!("above {least}, up to {most}") }
    }
}

fn round(number: f64) -> f64 {
    (number * 100.0).round() / 100.0
}

impl ValueKind for Number {
    type Value = f64;

    fn wants(&self, scope: Scope) -> String {
        format!("a number{}, {}", self.measure.in_words(scope.units), self.range(scope))
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<f64, ValueError> {
        self.number(value_of(item)?, scope)
    }
}

/// Whose axes a point or a direction is written in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Frame {
    Car,
    /// The car's, or the hub's when the file says so.
    Upright,
}

impl Frame {
    /// +1, or −1 where the file counts y from the centreline to the left and this is the right side.
    fn y_sign(self, scope: Scope) -> f64 {
        if self == Frame::Upright && scope.hub_axes { 1.0 } else { scope.side.sign() }
    }
}

/// A point `[x, y, z]`, read into side axes; hub axes stay as they are.
pub(super) struct PointKind(pub(super) Frame);

impl ValueKind for PointKind {
    type Value = Point3<f64>;

    fn wants(&self, scope: Scope) -> String {
        let most = COORDINATE.most / scope.units.in_mm();
        format!("[x, y, z]{}, each within ±{most:.0}", NumberUnit::Length.in_words(scope.units))
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Point3<f64>, ValueError> {
        let [x, y, z] = numbers::<3>(item, &COORDINATE, scope)?;
        Ok(Point3::new(x, self.0.y_sign(scope) * y, z))
    }
}

/// A direction `[x, y, z]` of any length, read into side axes; hub axes stay as they are.
pub(super) struct Direction(pub(super) Frame);

impl ValueKind for Direction {
    type Value = Unit<Vector3<f64>>;

    fn wants(&self, _: Scope) -> String {
        "a direction [x, y, z] of any length but zero".into()
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Unit<Vector3<f64>>, ValueError> {
        let [x, y, z] = numbers::<3>(item, &COMPONENT, scope)?;
        let along = Vector3::new(x, self.0.y_sign(scope) * y, z);
        Unit::try_new(along, 1e-9).ok_or_else(|| ValueError::new("points nowhere: its length is zero"))
    }
}

/// Text in quotes, on one line.
pub(super) struct Text;

impl ValueKind for Text {
    type Value = String;

    fn wants(&self, _: Scope) -> String {
        "text in quotes, on one line, of at most 80 characters".into()
    }

    fn read(&self, item: &Item, _: Scope) -> Result<String, ValueError> {
        let text = text_of(item)?;
        if text.trim().is_empty() {
            return Err(ValueError::new("is empty"));
        }
        if text.chars().any(char::is_control) || text.chars().count() > 80 {
            return Err(ValueError::new("is not one short line of text"));
        }
        Ok(text.to_owned())
    }
}

/// One of a few words, each with what it stands for.
pub(super) struct Word<T: 'static>(pub(super) &'static [(&'static str, T)]);

impl<T: Copy> ValueKind for Word<T> {
    type Value = T;

    fn wants(&self, _: Scope) -> String {
        self.0.iter().map(|(word, _)| format!("{word:?}")).collect::<Vec<_>>().join(" or ")
    }

    fn read(&self, item: &Item, _: Scope) -> Result<T, ValueError> {
        let text = text_of(item)?;
        let known = self.0.iter().find(|(word, _)| *word == text);
        known.map(|(_, meaning)| *meaning).ok_or_else(|| ValueError::new(format!("does not know {}", shown(text))))
    }
}

/// `true` or `false`.
pub(super) struct Flag;

impl ValueKind for Flag {
    type Value = bool;

    fn wants(&self, _: Scope) -> String {
        "true or false, without quotes".into()
    }

    fn read(&self, item: &Item, _: Scope) -> Result<bool, ValueError> {
        item.as_bool().ok_or_else(|| ValueError::new(format!("is {}, not true or false", kind_name(item))))
    }
}

/// The version of the file's own form; there is one.
pub(super) struct Schema;

impl ValueKind for Schema {
    type Value = ();

    fn wants(&self, _: Scope) -> String {
        "`schema = 1`, the only form that this version reads".into()
    }

    fn read(&self, item: &Item, _: Scope) -> Result<(), ValueError> {
        match item.as_integer() {
            Some(1) => Ok(()),
            Some(other) => Err(ValueError::new(format!("is {other}, which this version cannot read"))),
            None => Err(ValueError::new(format!("is {}, not the number 1", kind_name(item)))),
        }
    }
}

fn value_of(item: &Item) -> Result<&Value, ValueError> {
    item.as_value().ok_or_else(|| ValueError::new(format!("is {}, not a number", kind_name(item))))
}

fn text_of(item: &Item) -> Result<&str, ValueError> {
    item.as_str().ok_or_else(|| ValueError::new(format!("is {}, not text", kind_name(item))))
}

fn spaced(symbol: &str) -> String {
    if symbol.is_empty() { String::new() } else { format!(" {symbol}") }
}

/// Somebody's own words, short and fit for a terminal, in quotes.
pub(super) fn shown(text: &str) -> String {
    let cut: String = text.chars().take(40).collect();
    format!("{cut:?}{}", if cut.len() < text.len() { "…" } else { "" })
}

/// What a value is, in plain words.
pub(super) fn kind_name(item: &Item) -> &'static str {
    match item {
        Item::Value(value) => value_name(value),
        Item::ArrayOfTables(_) => "a list of tables",
        Item::Table(_) | Item::None => "a table",
    }
}

fn value_name(value: &Value) -> &'static str {
    match value {
        Value::String(_) => "text",
        Value::Integer(_) | Value::Float(_) => "a number",
        Value::Boolean(_) => "true or false",
        Value::Datetime(_) => "a date",
        Value::Array(_) => "a list",
        Value::InlineTable(_) => "a table",
    }
}
