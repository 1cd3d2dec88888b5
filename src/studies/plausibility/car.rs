//! Lengths of the whole car and its steps of travel, beside what rolls; `figures` and `limits` have the rest.

use super::wheel::is_tyre;
use super::{Doubt, bodies, figures, is_in, limits, plunge};
use crate::geometry::slips::{Slip, as_typed, meant_of_car};
use crate::geometry::{Car, Geometry, Side};

/// From the shortest to the longest, mm.
pub(super) const WHEELBASE_MM: [f64; 2] = [1300.0, 4600.0];
/// Nobody is told to mean another one than most cars have, mm.
const USUAL_WHEELBASE_MM: [f64; 2] = [1700.0, 3300.0];
/// From a kart to a van, mm.
const CG_HEIGHT_MM: [f64; 2] = [120.0, 1200.0];
const USUAL_CG_HEIGHT_MM: [f64; 2] = [220.0, 900.0];

/// From a kart with its driver to a truck, kg.
pub(super) const MASS_KG: [f64; 2] = [150.0, 5000.0];
/// From a car that is driven in front to one for a straight line.
pub(super) const REAR_MASS_SHARE: [f64; 2] = [0.2, 0.85];

/// Half of what the rear axle carries, kg; `None` without masses of a car.
pub(super) fn on_wheel_kg(car: &Car) -> Option<f64> {
    let is_known = car.mass_kg.is_some_and(|kg| is_in(kg, MASS_KG))
        && car.rear_mass_share.is_some_and(|share| is_in(share, REAR_MASS_SHARE));
    car.static_wheel_load_n().filter(|_| is_known).map(|load_n| load_n / Car::GRAVITY_N_PER_KG)
}

pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let car = &geometry.car;
    let ranges_mm = [WHEELBASE_MM, USUAL_WHEELBASE_MM];
    let wheelbase = length(geometry, "wheelbase", "no car's", car.wheelbase_mm, ranges_mm);
    let ranges_mm = [CG_HEIGHT_MM, USUAL_CG_HEIGHT_MM];
    let height = length(geometry, "cg_height", "no car's centre of gravity", car.cg_height_mm, ranges_mm)
        .or_else(|| beside_tyre(geometry));
    wheelbase
        .into_iter()
        .chain(height)
        .chain(figures::doubts(geometry))
        .chain(bodies::thicker_than_boot(geometry))
        .chain(plunge::doubt(geometry))
        .chain(undriven(geometry))
        .chain(coarse_steps(geometry))
        .chain(limits::doubts(geometry))
        .collect()
}

/// A length that no car has, with what was meant if one slip makes it a usual one.
fn length(
    geometry: &Geometry,
    key: &str,
    whose: &str,
    mm: Option<f64>,
    [any_mm, usual_mm]: [[f64; 2]; 2],
) -> Option<Doubt> {
    let mm = mm.filter(|mm| !is_in(*mm, any_mm))?;
    let units = geometry.units;
    let mut meant = meant_of_car(mm / units.in_mm(), units).into_iter();
    let slip = meant.find(|(_, number)| is_in(units.to_mm(*number), usual_mm));
    let probably = slip.map(|(_, meant)| format!("{meant:?}"));
    let why = match slip {
        Some((slip, meant)) => format!("probably {meant:?}: {}", slip.words()),
        None => "measure it again, or leave it out".to_owned(),
    };
    let written = as_typed(mm / units.in_mm());
    let sentence = format!("{key}: {written:?} {} is {whose}; {why}.", units.symbol());
    Some(Doubt::new(None, key, probably, sentence))
}

/// The centre of gravity of no car that is driven is higher than so many radii of its tyre: a van has two and a half; no unit.
const CG_RADII: f64 = 3.0;

/// A height of the centre of gravity that is that of a car on much larger tyres.
fn beside_tyre(geometry: &Geometry) -> Option<Doubt> {
    let (units, radius_mm) = (geometry.units, geometry.left.wheel.tyre_radius_mm);
    let mm = geometry.car.cg_height_mm.filter(|mm| is_tyre(radius_mm) && *mm > CG_RADII * radius_mm)?;
    let written = as_typed(mm / units.in_mm());
    let usual_mm = [0.7 * radius_mm, 2.0 * radius_mm];
    let slip = meant_of_car(written, units).into_iter().find(|(_, number)| is_in(units.to_mm(*number), usual_mm));
    let why =
        slip.map_or("measure it again".to_owned(), |(slip, meant)| format!("probably {meant:?}: {}", slip.words()));
    let sentence = format!(
        "cg_height: {written:?} {} is {:.1} times the radius of the tyre, and no car is so high; {why}.",
        units.symbol(),
        mm / radius_mm
    );
    Some(Doubt::new(None, "cg_height", slip.map(|(_, meant)| format!("{meant:?}")), sentence))
}

/// A rear axle that the file drives and does not.
fn undriven(geometry: &Geometry) -> Option<Doubt> {
    let driven = Side::BOTH.into_iter().any(|side| geometry.corner(side).halfshaft.is_some());
    (driven && geometry.car.rear_drive_share == Some(0.0)).then(|| {
        let sentence = "rear_drive_share: 0.0 says that the rear wheels are not driven, and the file has a halfshaft for them; \
                        1.0 is a car that only they drive.";
        Doubt::new(None, "rear_drive_share", Some("1.0".to_owned()), sentence.to_owned())
    })
}

/// A car is rolled by more to see anything of it, and most by this, deg.
const LEAST_ROLL_DEG: f64 = 0.6;
const USUAL_ROLL_DEG: [f64; 2] = [1.5, 6.0];

/// Steps with which next to nothing is seen of travel and roll.
fn coarse_steps(geometry: &Geometry) -> Vec<Doubt> {
    const MOST_OF_TRAVEL: f64 = 0.5;
    let (travel, units) = (&geometry.travel, geometry.units);
    // A roll that is less than any car's beside a usual step is itself the one that is wrong.
    let roll = as_typed(10.0 * travel.roll_deg);
    if travel.roll_deg > 0.0
        && travel.roll_deg < LEAST_ROLL_DEG
        && is_in(roll, USUAL_ROLL_DEG)
        && travel.step_roll_deg <= roll / 4.0
    {
        let sentence = format!(
            "`roll`: {:?} deg is little for a car, with a step of {:?} deg; probably {roll:?}: {}.",
            travel.roll_deg,
            travel.step_roll_deg,
            Slip::PointShifted.words()
        );
        return vec![Doubt::new(None, "roll", Some(format!("{roll:?}")), sentence)];
    }
    let doubt = |key: &str, what: &str, [step, end]: [f64; 2], [step_shown, end_shown]: [String; 2]| {
        (step > MOST_OF_TRAVEL * end && end > 0.0).then(|| {
            let meant = Some(as_typed(step / 10.0)).filter(|meant| *meant <= MOST_OF_TRAVEL * end);
            let probably = meant.map_or(String::new(), |meant| format!("; probably {meant:?}"));
            let sentence = format!(
                "`{key}`: {step_shown} is more than half of the {what}, {end_shown}, and little is seen of it{probably}."
            );
            Doubt::new(None, key, meant.map(|meant| format!("{meant:?}")), sentence)
        })
    };
    let of_travel = [travel.step_mm, travel.bump_mm.max(travel.droop_mm)];
    let of_roll = [travel.step_roll_deg, travel.roll_deg];
    let deg = |number: f64| format!("{number:?} deg");
    let travel = doubt("step", "travel", of_travel.map(|mm| mm / units.in_mm()), of_travel.map(|mm| units.show(mm)));
    travel.into_iter().chain(doubt("step_roll", "roll", of_roll, of_roll.map(deg))).collect()
}
