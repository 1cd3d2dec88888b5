//! Values of the catalogue with the digits and the unit that the shop reads.

use super::length::{LengthFormat, decimals_apart, decimals_of, rounded};
use crate::geometry::{Interval, Quantity, Unit};
use crate::studies::{State, Verdict};

/// As it stands at the head of a column, in the unit of the file.
pub fn unit(lengths: LengthFormat, unit: Unit) -> &'static str {
    match unit {
        Unit::Millimetres => lengths.symbol(),
        Unit::Percent => "%",
        other => other.symbol(),
    }
}

/// Decimals of a quantity: those of the catalogue or of callipers, more beside a limit that takes more to tell it.
pub fn decimals(lengths: LengthFormat, quantity: Quantity, limit: Option<Interval>) -> usize {
    let is_length = quantity.unit() == Unit::Millimetres;
    let usual = if is_length { lengths.decimals() } else { quantity.definition().decimals };
    let ends = limit.into_iter().flat_map(|Interval { low, high }| [low, high]).filter(|end| end.is_finite());
    let ends = ends.map(|end| if is_length { lengths.value(end) } else { end });
    ends.map(|end| decimals_of(end, usual)).max().unwrap_or(usual)
}

/// The same for who compares a value with its limit: three at least of an angle.
pub(super) fn finest(lengths: LengthFormat, quantity: Quantity, limit: Option<Interval>) -> usize {
    let is_angle = !matches!(quantity.unit(), Unit::Millimetres | Unit::Percent);
    let decimals = decimals(lengths, quantity, limit);
    if is_angle { decimals.max(3) } else { decimals }
}

/// So many decimals, or as many more as tell each value that just fails from its limit: 5.997 is not at least 6.
pub(super) fn telling(lengths: LengthFormat, quantity: Quantity, decimals: usize, verdicts: &[&Verdict]) -> usize {
    let failing = verdicts.iter().filter(|of| of.state == State::Fail).filter_map(|of| of.range.zip(of.limit));
    let beyond = failing.flat_map(|(range, limit)| {
        let high = (limit.high < range.high).then_some((range.high, limit.high));
        high.into_iter().chain((range.low < limit.low).then_some((range.low, limit.low)))
    });
    let shown = |value: f64| if quantity.unit() == Unit::Millimetres { lengths.value(value) } else { value };
    decimals_apart(beyond.map(|(value, end)| (shown(value), shown(end))), decimals)
}

/// With so many decimals, in the unit of the file and without it.
pub fn number(lengths: LengthFormat, quantity: Quantity, decimals: usize, value: f64) -> String {
    match quantity.unit() {
        Unit::Millimetres => rounded(lengths.value(value), decimals),
        _ => rounded(value, decimals),
    }
}

/// `-0.164 to 0.031`, or one number when both ends show the same digits.
pub fn band(number: impl Fn(f64) -> String, band: Interval) -> String {
    let (low, high) = (number(band.low), number(band.high));
    if low == high { high } else { format!("{low} to {high}") }
}

/// As [`band`], one that holds either way as `±0.05`, one without an upper end as `≥5`.
pub fn limit_band(number: impl Fn(f64) -> String, limit: Interval) -> String {
    let Interval { low, high } = limit;
    if high == f64::INFINITY {
        return format!("≥{}", number(low));
    }
    if low == -high { format!("±{}", number(high)) } else { band(number, limit) }
}
