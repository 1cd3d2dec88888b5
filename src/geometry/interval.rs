//! A range of values: a limit, an adjustment range, the lowest and highest value of a curve.

use serde::Serialize;

/// All values from `low` to `high`, both ends included, in the unit of what holds it. Either end may be infinite.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Interval {
    /// The low end.
    pub low: f64,
    /// The high end, at or above the low one.
    pub high: f64,
}

impl Interval {
    /// From −`size` to +`size`.
    pub const fn either_way(size: f64) -> Self {
        Self { low: -size, high: size }
    }

    /// From 0 to `high`, for what is never negative.
    pub const fn up_to(high: f64) -> Self {
        Self { low: 0.0, high }
    }

    /// One value alone.
    pub const fn single(value: f64) -> Self {
        Self { low: value, high: value }
    }

    /// From the lowest to the highest of some values; `None` when there are none. Values that are no number are left out.
    pub fn of(values: impl IntoIterator<Item = f64>) -> Option<Self> {
        values.into_iter().filter(|value| !value.is_nan()).map(Self::single).reduce(Self::with)
    }

    /// The same where every entry counts: `None` when one of them is lacking or no finite number, or when there are none.
    pub fn of_all(values: impl IntoIterator<Item = Option<f64>>) -> Option<Self> {
        let mut all: Option<Self> = None;
        for value in values {
            let this = Self::single(value.filter(|value| value.is_finite())?);
            all = Some(all.map_or(this, |all| all.with(this)));
        }
        all
    }

    /// The shortest interval that holds both.
    fn with(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
    }

    /// True when all of `other` lies inside; never with an end that is no number.
    pub fn holds(&self, other: &Self) -> bool {
        other.low >= self.low && other.high <= self.high
    }

    /// From the low end to the high one.
    pub fn width(&self) -> f64 {
        self.high - self.low
    }

    /// Half-way between the ends.
    pub fn middle(&self) -> f64 {
        f64::midpoint(self.low, self.high)
    }

    /// The largest absolute value inside.
    pub fn largest(&self) -> f64 {
        self.low.abs().max(self.high.abs())
    }

    /// The same values counted the other way.
    pub const fn reversed(self) -> Self {
        Self { low: -self.high, high: -self.low }
    }
}

#[cfg(test)]
mod tests {
    use super::Interval;

    #[test]
    fn values_span_the_interval_from_the_lowest_to_the_highest() {
        assert_eq!(Interval::of([2.0, -1.0, f64::NAN, 0.5]), Some(Interval { low: -1.0, high: 2.0 }));
        assert_eq!(Interval::of([]), None);
        assert_eq!(Interval::of([f64::NAN]), None);
    }

    #[test]
    fn where_every_value_counts_one_that_is_lacking_leaves_none() {
        assert_eq!(Interval::of_all([Some(2.0), Some(-1.0)]), Some(Interval { low: -1.0, high: 2.0 }));
        for lacking in [None, Some(f64::NAN), Some(f64::INFINITY)] {
            assert_eq!(Interval::of_all([Some(2.0), lacking, Some(-1.0)]), None);
        }
        assert_eq!(Interval::of_all([]), None);
    }

    #[test]
    fn an_interval_holds_another_only_with_both_its_ends() {
        let limit = Interval::either_way(2.0);
        assert!(limit.holds(&Interval { low: -2.0, high: 2.0 }));
        assert!(!limit.holds(&Interval { low: -2.1, high: 0.0 }));
        assert!(!limit.holds(&Interval { low: 0.0, high: 2.1 }));
        assert!(!limit.holds(&Interval::single(f64::NAN)));
    }

    #[test]
    fn counted_the_other_way_low_and_high_change_places() {
        assert_eq!(Interval { low: -1.0, high: 3.0 }.reversed(), Interval { low: -3.0, high: 1.0 });
        assert_eq!(Interval { low: -3.0, high: 1.0 }.largest(), 3.0);
    }
}
