//! Values of the catalogue with the digits and the unit that the shop reads.

use super::length::{LengthFormat, rounded};
use crate::geometry::{Interval, Quantity, Unit};

/// As it stands at the head of a column, in the unit of the file.
pub fn unit(lengths: LengthFormat, unit: Unit) -> &'static str {
    match unit {
        Unit::Millimetres => lengths.symbol(),
        Unit::Percent => "%",
        other => other.symbol(),
    }
}

/// With the decimals of the catalogue, without its unit.
pub fn number(lengths: LengthFormat, quantity: Quantity, value: f64) -> String {
    match quantity.unit() {
        Unit::Millimetres => lengths.number(value),
        _ => rounded(value, quantity.definition().decimals),
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
