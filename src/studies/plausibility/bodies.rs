//! Sizes of the parts between which gaps are judged: each beside what such parts have, and the halfshaft beside its boots.

use super::figures::Range;
use super::{Doubt, is_in};
use crate::geometry::slips::{Slip, as_typed, meant};
use crate::geometry::{Clearance, Geometry, LengthUnit};

const SHAFT_MM: [f64; 2] = [6.0, 70.0];
const USUAL_SHAFT_MM: [f64; 2] = [9.0, 35.0];
const BOOT_MM: [f64; 2] = [15.0, 130.0];
const USUAL_BOOT_MM: [f64; 2] = [25.0, 80.0];

pub(super) fn ranges(clearance: &Clearance) -> Vec<Range> {
    let gap = clearance.least_mm.filter(|mm| *mm != 0.0);
    let gap = gap.map(|mm| Range::mm("least", mm, [0.9, 80.0], "no gap between parts that bend", [3.0, 15.0]));
    let radius = |key, mm: Option<f64>, ends_mm, of, usual_mm| mm.map(|mm| Range::mm(key, mm, ends_mm, of, usual_mm));
    let boots = clearance.boots.as_ref();
    let all = [
        gap,
        radius("shaft_radius", clearance.shaft_radius_mm, SHAFT_MM, "no halfshaft's radius", USUAL_SHAFT_MM),
        radius("spring_radius", clearance.spring_radius_mm, [12.0, 130.0], "no spring's radius", [22.0, 80.0]),
        radius("boot_radius", boots.map(|boots| boots.radius_mm), BOOT_MM, "no boot's radius", USUAL_BOOT_MM),
        radius("boot_length", boots.map(|boots| boots.length_mm), [12.0, 250.0], "no boot's length", [35.0, 160.0]),
    ];
    all.into_iter().flatten().collect()
}

/// A halfshaft that is thicker than the boots over its joints, which are over the shaft as well.
pub(super) fn thicker_than_boot(geometry: &Geometry) -> Option<Doubt> {
    let (units, clearance) = (geometry.units, &geometry.clearance);
    let (shaft_mm, boot_mm) = (clearance.shaft_radius_mm?, clearance.boots?.radius_mm);
    // What is none of any car is told by itself.
    if shaft_mm <= boot_mm || !is_in(shaft_mm, SHAFT_MM) || !is_in(boot_mm, BOOT_MM) {
        return None;
    }
    // Of the two the one is wrong that is not usual.
    let (key, mm, usual_mm) = match is_in(shaft_mm, USUAL_SHAFT_MM) {
        true => ("boot_radius", boot_mm, [USUAL_BOOT_MM[0].max(shaft_mm), USUAL_BOOT_MM[1]]),
        false => ("shaft_radius", shaft_mm, [USUAL_SHAFT_MM[0], USUAL_SHAFT_MM[1].min(boot_mm)]),
    };
    let fits = meant(mm / units.in_mm(), units).into_iter().find(|&(_, meant)| is_in(units.to_mm(meant), usual_mm));
    let is = format!(
        "the halfshaft is thicker than the boot over its joint, `shaft_radius` {} and `boot_radius` {}",
        typed(shaft_mm, units),
        typed(boot_mm, units)
    );
    let why = match fits {
        Some((slip, meant)) => format!("probably `{key}` is {meant:?}: {}", Slip::words(slip)),
        None => "measure both again".to_owned(),
    };
    let probably = fits.map(|(_, meant)| format!("{meant:?}"));
    Some(Doubt::new(None, key, probably, format!("`{key}`: {is}; {why}.")))
}

fn typed(mm: f64, units: LengthUnit) -> String {
    format!("{:?} {}", as_typed(mm / units.in_mm()), units.symbol())
}
