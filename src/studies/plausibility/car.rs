//! Numbers of the whole car, and limits, beside what rolls.

use super::Doubt;
use super::parts::{ANY_ROD_END_DEG, LEAST_ROD_END_DEG};
use super::slips::{as_typed, meant_of_car};
use crate::geometry::{Car, Geometry, Interval, LimitKey, Quantity, Side, Unit};

/// From the shortest to the longest, mm.
const WHEELBASE_MM: [f64; 2] = [1300.0, 4600.0];
/// Nobody is told to mean another one than most cars have, mm.
const USUAL_WHEELBASE_MM: [f64; 2] = [1700.0, 3300.0];
/// From a kart to a van, mm.
const CG_HEIGHT_MM: [f64; 2] = [120.0, 1200.0];
const USUAL_CG_HEIGHT_MM: [f64; 2] = [220.0, 900.0];

/// From a kart with its driver to a truck, kg.
const MASS_KG: [f64; 2] = [150.0, 5000.0];
/// From a car that is driven in front to one for a straight line.
const REAR_MASS_SHARE: [f64; 2] = [0.2, 0.85];

/// Half of what the rear axle carries, kg; `None` without masses of a car.
pub(super) fn on_wheel_kg(car: &Car) -> Option<f64> {
    let is_in =
        |number: Option<f64>, [low, high]: [f64; 2]| number.is_some_and(|number| (low..=high).contains(&number));
    let is_known = is_in(car.mass_kg, MASS_KG) && is_in(car.rear_mass_share, REAR_MASS_SHARE);
    car.static_wheel_load_n().filter(|_| is_known).map(|load_n| load_n / Car::GRAVITY_N_PER_KG)
}

pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let car = &geometry.car;
    let ranges_mm = [WHEELBASE_MM, USUAL_WHEELBASE_MM];
    let wheelbase = length(geometry, "wheelbase", "no car's", car.wheelbase_mm, ranges_mm);
    let ranges_mm = [CG_HEIGHT_MM, USUAL_CG_HEIGHT_MM];
    let height = length(geometry, "cg_height", "no car's centre of gravity", car.cg_height_mm, ranges_mm);
    wheelbase
        .into_iter()
        .chain(height)
        .chain(figures(geometry))
        .chain(undriven(geometry))
        .chain(Quantity::ALL.iter().flat_map(|q| limit(geometry, *q)))
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
    let is_in = |[least, most]: [f64; 2], mm: f64| (least..=most).contains(&mm);
    let mm = mm.filter(|mm| !is_in(any_mm, *mm))?;
    let units = geometry.units;
    let mut meant = meant_of_car(mm / units.in_mm(), units).into_iter();
    let slip = meant.find(|(_, number)| is_in(usual_mm, number * units.in_mm()));
    let probably = slip.map(|(_, meant)| format!("{meant:?}"));
    let why = match slip {
        Some((slip, meant)) => format!("probably {meant:?}: {}", slip.words()),
        None => "measure it again, or leave it out".to_owned(),
    };
    let written = as_typed(mm / units.in_mm());
    let sentence = format!("{key}: {written} {} is {whose}; {why}.", units.symbol());
    Some(Doubt::new(None, key, probably, sentence))
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

/// A number of which both ends are known.
struct Range {
    key: &'static str,
    number: f64,
    unit: Shown,
    low: f64,
    high: f64,
    /// What it is not.
    of: &'static str,
}

/// How a number of a range is shown.
#[derive(Clone, Copy)]
enum Shown {
    /// mm, in the unit of the file.
    Length,
    /// With this symbol.
    With(&'static str),
    /// A share.
    Plain,
}

/// Numbers that would make the program work on no car at all; the ends are common practice with much room.
fn figures(geometry: &Geometry) -> Vec<Doubt> {
    let (travel, wheel, car) = (&geometry.travel, &geometry.left.wheel, &geometry.car);
    let range = |key, number, unit, [low, high]: [f64; 2], of| Range { key, number, unit, low, high, of };
    let mm = |key, number, ends, of| range(key, number, Shown::Length, ends, of);
    let deg = |key, number, ends, of| range(key, number, Shown::With("deg"), ends, of);
    let moved = |key, number: f64| (number != 0.0).then(|| mm(key, number, [8.0, 350.0], "no wheel's travel"));
    let rod_ends = geometry.left.links.iter().filter_map(|link| link.rod_end_limit_deg);
    let rod_end = |number| deg("rod_end_limit", number, [LEAST_ROD_END_DEG, ANY_ROD_END_DEG], "no rod end's");
    let shafts = || Side::BOTH.into_iter().filter_map(|side| geometry.corner(side).halfshaft.as_ref());
    let joint = |key, number| deg(key, number, [3.0, 60.0], "no halfshaft joint's");
    let propshaft = geometry.propshaft.as_ref();
    let turns = |number| range("rpm", number, Shown::With("1/min"), [500.0, 20_000.0], "no propeller shaft's speed");
    let torque = |number| range("torque", number, Shown::With("N m"), [20.0, 12_000.0], "no propeller shaft's torque");
    let mut ranges: Vec<Range> =
        [moved("bump", travel.bump_mm), moved("droop", travel.droop_mm)].into_iter().flatten().collect();
    ranges.push(deg("roll", travel.roll_deg, [0.0, 15.0], "no car's body roll"));
    ranges.push(mm("toe_span", wheel.toe_span_mm, [150.0, 2500.0], "no plate or rim that toe is read over"));
    ranges.extend(wheel.tyre_width_mm.map(|width| mm("tyre_width", width, [80.0, 500.0], "no tyre's")));
    ranges.extend(geometry.weld.iter().map(|weld| mm("sd", weld.sd_mm, [0.0, 3.0], "no welder's error")));
    ranges.extend(rod_ends.map(rod_end));
    ranges.extend(shafts().filter_map(|shaft| shaft.inner_limit_deg).map(|limit| joint("inner_limit", limit)));
    ranges.extend(shafts().filter_map(|shaft| shaft.outer_limit_deg).map(|limit| joint("outer_limit", limit)));
    ranges.extend(car.mass_kg.map(|mass| range("mass", mass, Shown::With("kg"), MASS_KG, "no car's")));
    ranges.extend(
        car.rear_mass_share.map(|share| {
            range("rear_mass_share", share, Shown::Plain, REAR_MASS_SHARE, "no rear axle's share of a car")
        }),
    );
    ranges.extend(propshaft.and_then(|shaft| shaft.rpm).map(turns));
    ranges.extend(propshaft.and_then(|shaft| shaft.torque_nm).map(torque));
    let mut found: Vec<Doubt> = ranges.iter().filter_map(|range| range.doubt(geometry)).collect();
    found.dedup();
    found
}

impl Range {
    fn doubt(&self, geometry: &Geometry) -> Option<Doubt> {
        let shown = |number: f64| match self.unit {
            Shown::Length => geometry.units.show(number),
            Shown::With(symbol) => format!("{number} {symbol}"),
            Shown::Plain => number.to_string(),
        };
        (!(self.low..=self.high).contains(&self.number)).then(|| {
            let (key, of) = (self.key, self.of);
            let sentence = format!(
                "`{key}`: {} is {of}; {} to {} is what cars have.",
                shown(self.number),
                shown(self.low),
                shown(self.high)
            );
            Doubt::new(None, key, None, sentence)
        })
    }
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
