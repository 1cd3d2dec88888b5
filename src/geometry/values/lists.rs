//! The kinds that are lists: bands, play, several numbers, several texts.

use toml_edit::{Array, Item, Value};

use super::super::freedom::AdjustmentRange;
use super::super::interval::Interval;
use super::super::reader::At;
use super::{Number, Scope, ValueError, ValueKind, kind_name, value_name};

/// `[low, high]`, low below high.
pub(in crate::geometry) struct IntervalKind(pub(in crate::geometry) Number);

impl ValueKind for IntervalKind {
    type Value = Interval;

    fn wants(&self, scope: Scope) -> String {
        format!("[low, high]{}, low below high", self.0.measure.in_words(scope.units))
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Interval, ValueError> {
        let [low, high] = numbers::<2>(item, &self.0, scope)?;
        match low < high {
            true => Ok(Interval { low, high }),
            false => Err(ValueError::new("leaves no room: its low end is not below its high end")),
        }
    }
}

/// How far something may move around where it stands: `[low, high]` or `[low, high, step]`, with zero inside.
pub(in crate::geometry) struct AdjustmentKind {
    pub(in crate::geometry) of: Number,
    /// It counts the other way in side axes.
    pub(in crate::geometry) mirrored: bool,
}

impl ValueKind for AdjustmentKind {
    type Value = AdjustmentRange;

    fn wants(&self, scope: Scope) -> String {
        let unit = self.of.measure.in_words(scope.units);
        format!("how far it may move, [low, high]{unit}, with 0 inside; or [low, high, step]")
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<AdjustmentRange, ValueError> {
        let (low, high, step) = match item.as_array() {
            Some(list) if list.len() == 3 => {
                let [low, high, step] = numbers(item, &self.of, scope)?;
                (low, high, Some(step))
            }
            Some(list) if list.len() != 2 => return Err(ValueError::new(format!("has {}, not 2 or 3", counted(list)))),
            _ => {
                let [low, high] = numbers(item, &self.of, scope)?;
                (low, high, None)
            }
        };
        if low >= high {
            return Err(ValueError::new("leaves no room: its low end is not below its high end"));
        }
        if low > 0.0 || high < 0.0 {
            return Err(ValueError::new("leaves out where it stands: 0 is not inside"));
        }
        if step.is_some_and(|step| step <= 0.0) {
            return Err(ValueError::new("has a step that is not above 0"));
        }
        if step.is_some_and(|step| step > high && step > -low) {
            return Err(ValueError::new("has a step longer than the room: nothing can move"));
        }
        let (low, high) = if self.mirrored { (-high, -low) } else { (low, high) };
        Ok(AdjustmentRange { low, high, step })
    }
}

/// A list of texts, each with its place.
pub(in crate::geometry) struct Texts;

impl ValueKind for Texts {
    type Value = Vec<At<String>>;

    fn wants(&self, _: Scope) -> String {
        "a list of texts, such as [\"toe link chassis\", \"upper front upright\"]".into()
    }

    fn read(&self, item: &Item, _: Scope) -> Result<Self::Value, ValueError> {
        let list = item.as_array().ok_or_else(|| ValueError::new(format!("is {}, not a list", kind_name(item))))?;
        let text = |value: &Value| {
            let error = || ValueError::new(format!("holds a value that is {}, not text", value_name(value))).at(value);
            let span = value.span().unwrap_or_default();
            value.as_str().map(|text| At { value: text.to_owned(), span }).ok_or_else(error)
        };
        if list.is_empty() { Err(ValueError::new("names nothing")) } else { list.iter().map(text).collect() }
    }
}

/// Different numbers of one kind, one or more.
pub(in crate::geometry) struct Numbers(pub(in crate::geometry) Number);

impl ValueKind for Numbers {
    type Value = Vec<f64>;

    fn wants(&self, scope: Scope) -> String {
        format!("a list of numbers{}, each {}", self.0.measure.in_words(scope.units), self.0.range(scope))
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Vec<f64>, ValueError> {
        let list =
            item.as_array().ok_or_else(|| ValueError::new(format!("is {}, not a list of numbers", kind_name(item))))?;
        let mut numbers: Vec<f64> = Vec::new();
        for value in list {
            let number = member(&self.0, value, scope)?;
            if numbers.contains(&number) {
                return Err(ValueError::new("holds one number twice").at(value));
            }
            numbers.push(number);
        }
        if numbers.is_empty() { Err(ValueError::new("holds no number")) } else { Ok(numbers) }
    }
}

pub(in crate::geometry) fn numbers<const N: usize>(
    item: &Item,
    quantity: &Number,
    scope: Scope,
) -> Result<[f64; N], ValueError> {
    let list =
        item.as_array().ok_or_else(|| ValueError::new(format!("is {}, not a list of {N} numbers", kind_name(item))))?;
    numbers_of(list, [quantity; N], scope)
}

/// As many numbers as there are quantities, each of its own.
pub(in crate::geometry) fn numbers_of<const N: usize>(
    list: &Array,
    quantities: [&Number; N],
    scope: Scope,
) -> Result<[f64; N], ValueError> {
    if list.len() != N {
        return Err(ValueError::new(format!("has {}, not {N}", counted(list))));
    }
    let mut out = [0.0; N];
    for ((number, quantity), value) in out.iter_mut().zip(quantities).zip(list) {
        *number = member(quantity, value, scope)?;
    }
    Ok(out)
}

fn member(quantity: &Number, value: &Value, scope: Scope) -> Result<f64, ValueError> {
    quantity
        .number(value, scope)
        .map_err(|error| ValueError { what: format!("holds a value that {}", error.what), ..error })
}

fn counted(list: &Array) -> String {
    if list.len() == 1 { "1 number".into() } else { format!("{} numbers", list.len()) }
}
