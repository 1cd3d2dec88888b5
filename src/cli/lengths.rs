//! LengthFormat for people, in the unit of the file.

use hubtrace::geometry::LengthUnit;

/// Writes millimetres in the unit that the builder uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LengthFormat(pub LengthUnit);

impl LengthFormat {
    /// As fine as callipers read, without the unit: for columns whose head says it.
    pub fn number(self, mm: f64) -> String {
        let decimals = match self.0 {
            LengthUnit::Millimetre => 1,
            LengthUnit::Inch => 3,
        };
        rounded(mm / self.0.in_mm(), decimals)
    }

    /// A tenth of what [`Self::number`] shows, for what dial gauges read.
    pub fn finer(self, mm: f64) -> String {
        let decimals = match self.0 {
            LengthUnit::Millimetre => 2,
            LengthUnit::Inch => 4,
        };
        rounded(mm / self.0.in_mm(), decimals)
    }

    /// [`Self::finer`] with its unit.
    pub fn finer_unit(self, mm: f64) -> String {
        format!("{} {}", self.finer(mm), self.0.symbol())
    }

    pub fn with_unit(self, mm: f64) -> String {
        format!("{} {}", self.number(mm), self.0.symbol())
    }
}

/// A number with so many decimals, and no minus sign before a zero.
pub fn rounded(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    let is_zero = text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
    if is_zero { text.trim_start_matches('-').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::{LengthFormat, rounded};
    use hubtrace::geometry::LengthUnit;

    #[test]
    fn lengths_follow_the_unit_of_the_file() {
        assert_eq!(LengthFormat(LengthUnit::Millimetre).with_unit(304.8), "304.8 mm");
        assert_eq!(LengthFormat(LengthUnit::Inch).with_unit(304.8), "12.000 in");
    }

    #[test]
    fn zero_has_no_sign() {
        assert_eq!(rounded(-0.04, 1), "0.0");
        assert_eq!(rounded(-0.06, 1), "-0.1");
    }
}
