//! Numbers with something at them that a number of the file does not have: a unit, a sign of both signs, the ET of a wheel.

use super::number::NumberUnit;
use crate::file::starter::Tyre;
use crate::geometry::LengthUnit;
use crate::geometry::slips::{as_measured, as_typed};

/// What `text` says as a number of a key in this measure, in the unit of the file.
pub(super) fn meant(text: &str, measure: NumberUnit, units: LengthUnit) -> Option<f64> {
    let text = text.trim();
    if let Some(et) =
        text.strip_prefix("ET").or_else(|| text.strip_prefix("et")).filter(|_| measure == NumberUnit::Length)
    {
        let mm: f64 = number(et)?;
        return Some(as_measured(mm / units.in_mm(), units));
    }
    let text = text.strip_prefix('±').unwrap_or(text).trim_start();
    let behind = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+'));
    let number = number(&text[..text.len() - behind.len()])?;
    let unit = behind.trim().to_lowercase();
    let in_mm = |mm: f64| if mm == units.in_mm() { number } else { as_measured(number * mm / units.in_mm(), units) };
    match (measure, unit.as_str()) {
        (_, "") => Some(number),
        (NumberUnit::Length, "mm") => Some(in_mm(1.0)),
        (NumberUnit::Length, "cm") => Some(in_mm(10.0)),
        (NumberUnit::Length, "in" | "inch" | "inches" | "''" | "\"") => Some(in_mm(LengthUnit::Inch.in_mm())),
        (NumberUnit::Degrees, "deg" | "°" | "degrees") | (NumberUnit::Percent, "%" | "pct") => Some(number),
        (NumberUnit::Turns, "turns" | "turn") => Some(number),
        (NumberUnit::Share, "%" | "pct") => Some(as_typed(number / 100.0)),
        (NumberUnit::Named { symbol, .. }, unit) if unit == symbol.to_lowercase() => Some(number),
        _ => None,
    }
}

/// The same of a room or a band: both ends of what a ± means.
pub(super) fn meant_either_way(text: &str, measure: NumberUnit, units: LengthUnit) -> Option<[f64; 2]> {
    let size = meant(text, measure, units).filter(|size| *size > 0.0)?;
    text.trim().starts_with('±').then_some([-size, size])
}

/// What a size from a sidewall says of the lengths of a tyre, mm: hub centre to floor with the car on its wheels, as a start.
pub(super) fn loaded_radius_mm(text: &str) -> Option<f64> {
    text.trim().parse::<Tyre>().ok().map(|tyre| tyre.loaded_radius_mm())
}

fn number(text: &str) -> Option<f64> {
    text.trim().replace(',', ".").parse().ok().filter(|number: &f64| number.is_finite())
}
