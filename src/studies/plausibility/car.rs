//! Numbers of the whole car, and limits, beside what rolls.

use super::Doubt;
use super::slips::one_slip;
use crate::geometry::{Geometry, Interval, LimitKey, Quantity, Side, Unit};

/// From the shortest to the longest, mm.
const WHEELBASE_MM: [f64; 2] = [1300.0, 4600.0];
/// From a kart to a van, mm.
const CG_HEIGHT_MM: [f64; 2] = [120.0, 1200.0];

pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let car = &geometry.car;
    let wheelbase = length(geometry, "wheelbase", "no car's", car.wheelbase_mm, WHEELBASE_MM);
    let height = length(geometry, "cg_height", "no car's centre of gravity", car.cg_height_mm, CG_HEIGHT_MM);
    wheelbase.into_iter().chain(height).chain(Quantity::ALL.iter().flat_map(|q| limit(geometry, *q))).collect()
}

fn length(geometry: &Geometry, key: &str, whose: &str, mm: Option<f64>, range_mm: [f64; 2]) -> Option<Doubt> {
    let mm = mm.filter(|mm| !(range_mm[0]..=range_mm[1]).contains(mm))?;
    let units = geometry.units;
    let fits = |number: f64| (range_mm[0]..=range_mm[1]).contains(&(number * units.in_mm()));
    let slip = one_slip(mm / units.in_mm(), units, fits);
    let probably = slip.map(|(_, meant)| format!("{meant:?}"));
    let why = match slip {
        Some((slip, meant)) => format!("probably {meant:?}: {}", slip.words()),
        None => "measure it again, or leave it out".to_owned(),
    };
    let sentence = format!("{key}: {} is {whose}; {why}.", units.show(mm));
    Some(Doubt::new(None, key, probably, sentence))
}

/// A limit beyond what is set on anything that rolls; one for each wheel or link that has its own.
fn limit(geometry: &Geometry, quantity: Quantity) -> Vec<Doubt> {
    let definition = quantity.definition();
    let Some(place) = definition.limit.place() else { return Vec::new() };
    let mut limits: Vec<f64> = match definition.limit {
        LimitKey::RodEnd => {
            let links = Side::BOTH.into_iter().flat_map(|side| &geometry.corner(side).links);
            links.filter_map(|link| link.rod_end_limit_deg).collect()
        }
        _ => Side::BOTH.into_iter().filter_map(|side| geometry.limit(quantity, side)).map(largest).collect(),
    };
    limits.retain(|limit| *limit > definition.credible);
    limits.dedup();
    let shown = |number: f64| match definition.unit {
        Unit::Millimetres => geometry.units.show(number),
        unit => format!("{number} {}", unit.symbol()),
    };
    let doubt = |limit: f64| {
        let sentence = format!(
            "{place}: a limit of {} on {} holds nothing back; {} is much on anything that rolls.",
            shown(limit),
            quantity.name(),
            shown(definition.credible)
        );
        Doubt::new(None, place.clone(), None, sentence)
    };
    limits.into_iter().map(doubt).collect()
}

/// The end that is furthest from zero and not open.
fn largest(limit: Interval) -> f64 {
    [limit.low, limit.high].into_iter().map(f64::abs).filter(|end| end.is_finite()).fold(0.0, f64::max)
}
