//! Numbers for people: lengths in the unit of the file, and so many decimals.

use crate::geometry::LengthUnit;

/// Writes millimetres in the unit that the builder uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LengthFormat(pub LengthUnit);

impl LengthFormat {
    /// `mm` or `in`.
    pub fn symbol(self) -> &'static str {
        self.0.symbol()
    }

    /// The bump travel over which a slope of toe is told, in words, and how much longer it is than 25 mm.
    pub fn slope_span(self) -> (&'static str, f64) {
        match self.0 {
            LengthUnit::Millimetre => ("25 mm", 1.0),
            LengthUnit::Inch => ("1 in", LengthUnit::Inch.in_mm() / 25.0),
        }
    }

    /// So many degrees a millimetre, a unit of length of the file, with their unit: `0.137 deg/mm`, `3.48 deg/in`.
    pub fn deg_per_length(self, deg_per_mm: f64) -> String {
        let decimals = 4 - self.decimals().min(2);
        format!("{} deg/{}", rounded(deg_per_mm * self.0.in_mm(), decimals), self.symbol())
    }

    /// A length in the unit of the file.
    pub fn value(self, mm: f64) -> f64 {
        mm / self.0.in_mm()
    }

    /// Decimals that callipers read.
    pub fn decimals(self) -> usize {
        match self.0 {
            LengthUnit::Millimetre => 1,
            LengthUnit::Inch => 3,
        }
    }

    /// As fine as callipers read, without the unit: for columns whose head says it.
    pub fn number(self, mm: f64) -> String {
        rounded(self.value(mm), self.decimals())
    }

    /// The same with as many decimals as tell it from another length.
    pub fn number_beside(self, mm: f64, other_mm: f64) -> String {
        let pair = [(self.value(mm), self.value(other_mm))];
        rounded(self.value(mm), decimals_apart(pair.into_iter(), self.decimals()))
    }

    /// A tenth of what [`Self::number`] shows, for what dial gauges read.
    pub fn finer(self, mm: f64) -> String {
        rounded(self.value(mm), self.decimals() + 1)
    }

    /// [`Self::finer`] with its unit.
    pub fn finer_unit(self, mm: f64) -> String {
        format!("{} {}", self.finer(mm), self.symbol())
    }

    /// A limit, as fine as it takes to tell it: `5.0`, `0.04`.
    pub fn limit(self, mm: f64) -> String {
        rounded(self.value(mm), decimals_of(self.value(mm), self.decimals()))
    }

    /// One standard deviation with its unit, as fine as [`Self::finer`] or as it takes to tell it: `0.50 mm`, `0.004 mm`.
    pub fn sd(self, mm: f64) -> String {
        let number = rounded(self.value(mm), decimals_of(self.value(mm), self.decimals() + 1));
        format!("{number} {}", self.symbol())
    }

    /// [`Self::with_unit`] of the most that something may be: rounded down, so that what is cut to it holds.
    pub fn at_most(self, mm: f64) -> String {
        let digit = 10_f64.powi(self.decimals() as i32);
        // A number of whole digits stays what it is.
        let whole = (self.value(mm) * digit + 1e-6).floor() / digit;
        format!("{} {}", rounded(whole, self.decimals()), self.symbol())
    }

    /// In the unit of the file, with its symbol: `12.5 mm`.
    pub fn with_unit(self, mm: f64) -> String {
        format!("{} {}", self.number(mm), self.symbol())
    }
}

/// So many decimals, or as many more as tell the number to one per cent: what is demanded must not read as nothing.
pub fn decimals_of(number: f64, decimals: usize) -> usize {
    const MOST: usize = 12;
    let tells = |decimals: &usize| {
        let parts = 10_f64.powi(*decimals as i32);
        ((number * parts).round() / parts - number).abs() <= 0.01 * number.abs()
    };
    (decimals..MOST).find(tells).unwrap_or(MOST)
}

/// So many decimals, or as many more as tell the two numbers of every pair from each other.
pub fn decimals_apart(pairs: impl Iterator<Item = (f64, f64)> + Clone, decimals: usize) -> usize {
    const MORE: usize = 4;
    let tells = |decimals: &usize| pairs.clone().all(|(a, b)| rounded(a, *decimals) != rounded(b, *decimals));
    (decimals..decimals + MORE).find(tells).unwrap_or(decimals + MORE)
}

/// A number with so many decimals, and no minus sign before a zero.
pub fn rounded(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    let is_zero = text.bytes().all(|b| matches!(b, b'-' | b'0' | b'.'));
    if is_zero { text.trim_start_matches('-').to_owned() } else { text }
}

/// `40.0` as `40`: limits are round numbers, as the file gives them.
pub fn trimmed(number: &str) -> &str {
    if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number }
}

#[cfg(test)]
mod tests {
    use super::{LengthFormat, decimals_of, rounded};
    use crate::geometry::LengthUnit;

    #[test]
    fn lengths_follow_the_unit_of_the_file() {
        assert_eq!(LengthFormat(LengthUnit::Millimetre).with_unit(304.8), "304.8 mm");
        assert_eq!(LengthFormat(LengthUnit::Inch).with_unit(304.8), "12.000 in");
    }

    #[test]
    fn a_slope_of_a_coordinate_counts_in_the_unit_of_the_file() {
        // By hand: 0.137 x 25.4 = 3.4798.
        let [mm, inches] = [LengthUnit::Millimetre, LengthUnit::Inch].map(LengthFormat);
        assert_eq!([mm.deg_per_length(0.137), inches.deg_per_length(0.137)], ["0.137 deg/mm", "3.48 deg/in"]);
    }

    #[test]
    fn a_small_limit_never_reads_as_nothing() {
        let [mm, inches] = [LengthUnit::Millimetre, LengthUnit::Inch].map(LengthFormat);
        assert_eq!([5.0, 0.2, 0.04, 0.0012].map(|limit| mm.limit(limit)), ["5.0", "0.2", "0.04", "0.0012"]);
        // By hand: 5 / 25.4 = 0.19685, 0.2 / 25.4 = 0.0078740, 0.01 / 25.4 = 0.00039370.
        assert_eq!([5.0, 0.2, 0.01].map(|limit| inches.limit(limit)), ["0.197", "0.0079", "0.00039"]);
        assert_eq!([0.5, 0.004].map(|sd| mm.sd(sd)), ["0.50 mm", "0.004 mm"]);
        assert_eq!([0.05, 0.005, 0.0004].map(|deg| decimals_of(deg, 2)), [2, 3, 4]);
    }

    #[test]
    fn zero_has_no_sign() {
        assert_eq!(rounded(-0.04, 1), "0.0");
        assert_eq!(rounded(-0.06, 1), "-0.1");
    }
}
