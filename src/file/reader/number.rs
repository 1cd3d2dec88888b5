//! Numbers with their unit and range.

use toml_edit::{Item, Value};

use super::number_text;
use super::value::{Scope, ValueError, ValueKind, kind_name, shown, value_name};
use crate::geometry::slips::{as_measured, other_unit};
use crate::geometry::{LengthUnit, Unit};

/// Farther than any point of a car from its datum, mm.
pub const MAX_MM: f64 = 1e5;

/// What a number of the file is counted in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum NumberUnit {
    Length,
    Degrees,
    Percent,
    Share,
    Turns,
    /// A unit that no other key counts in, with how advice says it.
    Named {
        symbol: &'static str,
        in_words: &'static str,
    },
    Bare,
}

impl NumberUnit {
    /// A number of the file as the program counts it.
    fn counted(self, written: f64, units: LengthUnit) -> f64 {
        if self == NumberUnit::Length { units.to_mm(written) } else { written }
    }

    fn symbol(self, units: LengthUnit) -> &'static str {
        match self {
            NumberUnit::Length => units.symbol(),
            NumberUnit::Degrees => "deg",
            NumberUnit::Percent => "%",
            NumberUnit::Turns => "turns",
            NumberUnit::Named { symbol, .. } => symbol,
            NumberUnit::Share | NumberUnit::Bare => "",
        }
    }

    /// " in mm", as advice says it.
    pub(crate) fn in_words(self, units: LengthUnit) -> &'static str {
        match (self, units) {
            (NumberUnit::Length, LengthUnit::Millimetre) => " in mm",
            (NumberUnit::Length, LengthUnit::Inch) => " in inches",
            (NumberUnit::Degrees, _) => " in deg",
            (NumberUnit::Percent, _) => " in %",
            (NumberUnit::Turns, _) => " in turns",
            (NumberUnit::Named { in_words, .. }, _) => in_words,
            (NumberUnit::Share | NumberUnit::Bare, _) => "",
        }
    }
}

/// A number with its unit and range; the range is in millimetres or degrees.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Number {
    pub(crate) measure: NumberUnit,
    pub(crate) least: f64,
    pub(crate) most: f64,
    /// The least value is itself allowed.
    pub(crate) least_included: bool,
}

/// A coordinate, or a change of one.
pub(crate) const COORDINATE: Number =
    Number { measure: NumberUnit::Length, least: -MAX_MM, most: MAX_MM, least_included: true };
/// Above 0.
pub(crate) const LENGTH: Number = Number { least: 0.0, least_included: false, ..COORDINATE };
/// Above 0, deg.
pub(crate) const ANGLE: Number = Number { measure: NumberUnit::Degrees, most: 90.0, ..LENGTH };
const PERCENT: Number = Number { measure: NumberUnit::Percent, least: -1e4, most: 1e4, least_included: true };
/// A change of toe or camber.
pub(crate) const ANGLE_CHANGE: Number =
    Number { measure: NumberUnit::Degrees, least: -45.0, most: 45.0, least_included: false };
/// Of a direction of any length.
pub(crate) const COMPONENT: Number = Number { measure: NumberUnit::Bare, ..COORDINATE };

/// What must be above 0 is at least this: no tape and no scale tells less, and a quotient of much less is no number.
const MIN_ABOVE_ZERO: f64 = 1e-9;

impl Number {
    /// Above 0 up to `most`, in a unit of its own.
    pub(crate) const fn positive(symbol: &'static str, in_words: &'static str, most: f64) -> Self {
        Self { measure: NumberUnit::Named { symbol, in_words }, least: 0.0, most, least_included: false }
    }

    /// Numbers that a quantity of this unit can take.
    pub(crate) fn of_unit(unit: Unit) -> Self {
        match unit {
            Unit::Degrees => ANGLE,
            Unit::DegreesPerMillimetre | Unit::DegreesPer25Millimetres => ANGLE_CHANGE,
            Unit::Millimetres => COORDINATE,
            Unit::Percent => PERCENT,
        }
    }

    pub(super) fn number(&self, value: &Value, scope: Scope) -> Result<f64, ValueError> {
        let written = match value {
            Value::Float(number) => *number.value(),
            Value::Integer(number) => *number.value() as f64,
            Value::String(text) => return Err(ValueError::new(self.text_for_number(text.value(), scope)).at(value)),
            other => return Err(ValueError::new(format!("is {}, not a number", value_name(other))).at(value)),
        };
        let number = self.measure.counted(written, scope.units);
        let inside = if self.least_included { number >= self.least } else { number > self.least };
        if !written.is_finite() {
            return Err(ValueError::new("is not a finite number").at(value));
        }
        if inside && self.least == 0.0 && !self.least_included && number < MIN_ABOVE_ZERO {
            return Err(ValueError::new(format!("is too small to be measured: {written:?}")).at(value));
        }
        if !inside || number > self.most {
            let symbol = spaced(self.measure.symbol(scope.units));
            let meant = self.meant(number, written, scope.units).unwrap_or_default();
            return Err(ValueError::new(format!("is out of range: {written:?}{symbol}{meant}")).at(value));
        }
        Ok(number)
    }

    /// What is told of a text where this number stands, with the number that it means.
    fn text_for_number(&self, text: &str, scope: Scope) -> String {
        let what = format!("is {}, not a number", shown(text));
        if let Some(mm) = number_text::loaded_radius_mm(text).filter(|_| self.measure == NumberUnit::Length) {
            let (mm, symbol) = (as_measured(mm / scope.units.in_mm(), scope.units), scope.units.symbol());
            return format!(
                "{what}; a tyre of this size stands about {mm} {symbol} high, hub centre to floor: measure it"
            );
        }
        let meant = number_text::meant(text, self.measure, scope.units);
        meant.map_or(what.clone(), |meant| format!("{what}; probably {meant:?}"))
    }

    /// What a number out of range was probably meant to be: one without its sign, or a share that was written in per cent.
    fn meant(&self, number: f64, written: f64, units: LengthUnit) -> Option<String> {
        if self.least == 0.0 && number < 0.0 && -number <= self.most {
            return Some(format!("; it takes no sign: probably {:?}", -written));
        }
        // No length of an inch file is so large, and many of one in mm are.
        let (slip, factor) = other_unit(units);
        if units == LengthUnit::Inch
            && self.measure == NumberUnit::Length
            && number > self.most
            && number * factor <= self.most
        {
            return Some(format!("; probably {:?}: {}", as_measured(written * factor, units), slip.words()));
        }
        let times = written / self.most;
        let divisor = match self.measure {
            // Twice or ten times 1 is neither per cent nor a shifted point.
            NumberUnit::Share if times > 10.0 && times <= 100.0 => 100.0,
            NumberUnit::Share if times > 2.0 && times < 10.0 && written.fract() != 0.0 => 10.0,
            NumberUnit::Share if times > 1.0 => return Some("; it is a share of 1".to_owned()),
            _ => return None,
        };
        Some(format!("; it is a share of 1: probably {:?}", (1e4 * written / divisor).round() / 1e4))
    }

    pub(super) fn range(&self, scope: Scope) -> String {
        let unit = self.measure.counted(1.0, scope.units);
        let [least, most] = [self.least, self.most].map(|limit| round(limit / unit));
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

fn value_of(item: &Item) -> Result<&Value, ValueError> {
    item.as_value().ok_or_else(|| ValueError::new(format!("is {}, not a number", kind_name(item))))
}

fn spaced(symbol: &str) -> String {
    if symbol.is_empty() { String::new() } else { format!(" {symbol}") }
}
