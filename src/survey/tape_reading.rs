//! A reading as it stands on the tape: a number, or in inches a text such as `31 15/16`.

use toml_edit::{Item, Value};

use crate::file::reader::{Number, Scope, ValueError, ValueKind, shown};
use crate::geometry::LengthUnit;

/// A length in mm; `None` for `""`, a reading that is still to be taken.
pub(super) struct TapeReading(pub(super) Number);

/// No tape is divided finer.
const MAX_DENOMINATOR: f64 = 128.0;

impl ValueKind for TapeReading {
    type Value = Option<f64>;

    fn wants(&self, scope: Scope) -> String {
        let number = self.0.wants(scope);
        match scope.units {
            LengthUnit::Millimetre => format!("{number}; or \"\" when it is still to be taken"),
            LengthUnit::Inch => format!("{number}, or as on the tape, \"31 15/16\"; \"\" when it is still to be taken"),
        }
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Option<f64>, ValueError> {
        match (item.as_str(), scope.units) {
            (Some(text), _) if text.trim().is_empty() => Ok(None),
            (Some(text), LengthUnit::Inch) => {
                let inches = Item::Value(Value::from(inches(text)?));
                self.0.read(&inches, scope).map(Some)
            }
            _ => self.0.read(item, scope).map(Some),
        }
    }
}

/// Inches of a text: `31`, `31.94`, `15/16`, `31 15/16` or `31-15/16`, an inch mark behind it or not.
fn inches(text: &str) -> Result<f64, ValueError> {
    let wrong = |what: &str| ValueError::new(format!("{what}: {}", shown(text)));
    let unmarked = text.trim().trim_end_matches(['"', '″']).trim_end_matches("in").trim_end();
    let is_number = |part: &str| !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    let number = |part: &str| part.parse::<f64>().ok().filter(|_| is_number(part));
    let (whole, fraction) = match unmarked.split_once([' ', '-']) {
        Some((whole, fraction)) => (whole, Some(fraction.trim())),
        None if unmarked.contains('/') => ("0", Some(unmarked)),
        None => (unmarked, None),
    };
    let whole = number(whole).ok_or_else(|| wrong("is no length in inches"))?;
    let Some(fraction) = fraction else { return Ok(whole) };
    let parts = fraction.split_once('/').map(|(top, bottom)| (number(top.trim()), number(bottom.trim())));
    let Some((Some(top), Some(bottom))) = parts.filter(|_| whole.fract() == 0.0) else {
        return Err(wrong("is no length in inches"));
    };
    if top.fract() != 0.0 || bottom.fract() != 0.0 || !(1.0..=MAX_DENOMINATOR).contains(&bottom) {
        return Err(wrong("has a fraction that no tape shows"));
    }
    if top >= bottom {
        return Err(wrong("has a fraction that is not below one inch"));
    }
    Ok(whole + top / bottom)
}

#[cfg(test)]
mod tests {
    use super::inches;

    #[test]
    fn a_text_reads_as_it_stands_on_the_tape() {
        for (text, expected) in [
            ("31 15/16", 31.9375),
            ("31-15/16\"", 31.9375),
            ("15/16", 0.9375),
            (" 12 ", 12.0),
            ("7.25 in", 7.25),
            ("40 1/2 in", 40.5),
            ("6 3 / 8", 6.375),
        ] {
            assert_eq!(inches(text).ok(), Some(expected), "{text}");
        }
    }

    #[test]
    fn what_no_tape_shows_is_refused() {
        for text in [
            "11 3/0", "11 17/16", "11 16/16", "1/256", "31.5 1/2", "-3", "a", "1/2/3", "3 ", "12' 3", "1e3",
            "5 1.5/16", "nan", "5/", "/8", "1 2 3/4",
        ] {
            assert_eq!(inches(text).ok(), (text == "3 ").then_some(3.0), "{text}");
        }
    }
}
