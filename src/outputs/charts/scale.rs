//! The range of an axis and its round numbers.

/// From where to where an axis goes, and where it is marked.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    pub low: f64,
    pub high: f64,
    pub ticks: Vec<f64>,
    decimals: usize,
}

impl Scale {
    /// Covers all values with a little room, and never less than `least`; at most about `marks` round numbers.
    pub fn covering(values: impl IntoIterator<Item = f64>, least: f64, marks: f64) -> Self {
        let (low, high) = values
            .into_iter()
            .filter(|value| value.is_finite())
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
        let (low, high) = if low > high { (0.0, 0.0) } else { (low, high) };
        let (middle, half) = ((low + high) / 2.0, ((high - low) / 2.0).max(least / 2.0) * 1.08);
        Self::from_to(middle - half, middle + half, marks)
    }

    fn from_to(low: f64, high: f64, marks: f64) -> Self {
        let step = round_step((high - low) / marks);
        let (first, last) = ((low / step).ceil() as i64, (high / step).floor() as i64);
        Self {
            low,
            high,
            ticks: (first..=last).map(|k| k as f64 * step).collect(),
            decimals: (-(step.log10() + 1e-9).floor()).max(0.0) as usize,
        }
    }

    /// SheetPoint of a value along the axis, 0 at its low end and 1 at its high end.
    pub fn share(&self, value: f64) -> f64 {
        (value - self.low) / (self.high - self.low)
    }

    pub fn label(&self, tick: f64) -> String {
        number(tick, self.decimals)
    }
}

/// The least of 1, 2 and 5 times a power of ten that is not below `size`.
pub fn round_step(size: f64) -> f64 {
    let power = 10f64.powf(size.log10().floor());
    let enough = [1.0, 2.0, 5.0].into_iter().find(|step| step * power >= size * (1.0 - 1e-9));
    enough.unwrap_or(10.0) * power
}

/// A number with so many decimals, a true minus sign, and none before a zero.
pub fn number(value: f64, decimals: usize) -> String {
    let size = format!("{:.decimals$}", value.abs());
    let is_zero = size.bytes().all(|b| matches!(b, b'0' | b'.'));
    if value < 0.0 && !is_zero { format!("\u{2212}{size}") } else { size }
}

/// As [`number`], without zeros at the end of the decimals.
pub fn short(value: f64, decimals: usize) -> String {
    let text = number(value, decimals);
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::{Scale, number, round_step, short};

    #[test]
    fn steps_are_one_two_or_five() {
        assert_eq!([0.7, 1.0, 3.9, 49.0].map(round_step), [1.0, 1.0, 5.0, 50.0]);
    }

    #[test]
    fn a_flat_curve_still_has_an_axis() {
        let scale = Scale::covering([1e-17, -2e-17], 0.02, 6.0);
        assert!(scale.ticks.len() >= 4 && scale.high - scale.low >= 0.02);
        assert_eq!(scale.label(0.0), "0.000");
    }

    #[test]
    fn an_axis_without_values_is_still_an_axis() {
        assert!(Scale::covering([f64::NAN], 1.0, 5.0).ticks.len() > 2);
    }

    #[test]
    fn zero_has_no_sign_and_minus_is_a_minus() {
        assert_eq!(number(-0.001, 2), "0.00");
        assert_eq!(number(-0.5, 1), "\u{2212}0.5");
        assert_eq!([short(14.0, 1), short(0.05, 3), short(100.0, 0)], ["14", "0.05", "100"]);
    }
}
