//! Kinds of value that are lists: intervals, several numbers, several texts.

use toml_edit::{Array, Item, Value};

use super::number::Number;
use super::number_text;
use super::table::At;
use super::value::{Scope, ValueError, ValueKind, kind_name, shown, value_name};
use crate::geometry::Interval;

/// `[low, high]`, low below high.
pub(crate) struct IntervalKind(pub(crate) Number);

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

/// `[x, y, z]`, one number of a kind for each axis; they have no sign, so that a mirrored side has the same.
pub(crate) struct EachAxis(pub(crate) Number);

impl ValueKind for EachAxis {
    type Value = [f64; 3];

    fn wants(&self, scope: Scope) -> String {
        format!("[x, y, z]{}, each {}", self.0.measure.in_words(scope.units), self.0.range(scope))
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<[f64; 3], ValueError> {
        numbers::<3>(item, &self.0, scope)
    }
}

/// `[low, high]` of a box, low not above high: a plate is as thin as nothing.
pub(crate) struct EdgeKind(pub(crate) Number);

impl ValueKind for EdgeKind {
    type Value = Interval;

    fn wants(&self, scope: Scope) -> String {
        format!("[low, high]{}, low not above high", self.0.measure.in_words(scope.units))
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Interval, ValueError> {
        let [low, high] = numbers::<2>(item, &self.0, scope)?;
        match low <= high {
            true => Ok(Interval { low, high }),
            false => Err(ValueError::new("leaves no room: its low end is above its high end")),
        }
    }
}

/// A list of texts, each with its place.
pub(crate) struct Texts;

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
pub(crate) struct Numbers {
    pub(crate) each: Number,
    pub(crate) most: usize,
}

impl ValueKind for Numbers {
    type Value = Vec<f64>;

    fn wants(&self, scope: Scope) -> String {
        let Self { each, most } = self;
        format!("a list of up to {most} numbers{}, each {}", each.measure.in_words(scope.units), each.range(scope))
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Vec<f64>, ValueError> {
        let list =
            item.as_array().ok_or_else(|| ValueError::new(format!("is {}, not a list of numbers", kind_name(item))))?;
        if list.len() > self.most {
            return Err(ValueError::new(format!("holds {}", counted(list))));
        }
        let mut numbers: Vec<f64> = Vec::new();
        for value in list {
            let number = member(&self.each, value, scope)?;
            if numbers.contains(&number) {
                return Err(ValueError::new("holds one number twice").at(value));
            }
            numbers.push(number);
        }
        if numbers.is_empty() { Err(ValueError::new("holds no number")) } else { Ok(numbers) }
    }
}

pub(crate) fn numbers<const N: usize>(item: &Item, quantity: &Number, scope: Scope) -> Result<[f64; N], ValueError> {
    if let (Some(text), 2) = (item.as_str(), N)
        && let Some([low, high]) = number_text::meant_either_way(text, quantity.measure, scope.units)
    {
        return Err(ValueError::new(format!(
            "is {}, not a list of 2 numbers; probably [{low:?}, {high:?}]",
            shown(text)
        )));
    }
    let list =
        item.as_array().ok_or_else(|| ValueError::new(format!("is {}, not a list of {N} numbers", kind_name(item))))?;
    numbers_of(list, [quantity; N], scope)
}

/// As many numbers as there are quantities, each of its own.
pub(crate) fn numbers_of<const N: usize>(
    list: &Array,
    quantities: [&Number; N],
    scope: Scope,
) -> Result<[f64; N], ValueError> {
    if list.len() != N {
        // A comma within each number makes two of it.
        let comma =
            if list.len() > N && list.len() <= 2 * N { ": decimals stand behind a point, not a comma" } else { "" };
        return Err(ValueError::new(format!("has {}, not {N}{comma}", counted(list))));
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

pub(crate) fn counted(list: &Array) -> String {
    if list.len() == 1 { "1 number".into() } else { format!("{} numbers", list.len()) }
}
