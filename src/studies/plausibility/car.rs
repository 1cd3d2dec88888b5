//! Numbers of the whole car, and limits, beside what rolls.

use super::parts::{ANY_ROD_END_DEG, LEAST_ROD_END_DEG};
use super::slips::{as_typed, meant_of_car};
use super::{Doubt, is_in, limits};
use crate::geometry::{Car, Geometry, Side};

/// From the shortest to the longest, mm.
pub(super) const WHEELBASE_MM: [f64; 2] = [1300.0, 4600.0];
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
    let is_known = car.mass_kg.is_some_and(|kg| is_in(kg, MASS_KG))
        && car.rear_mass_share.is_some_and(|share| is_in(share, REAR_MASS_SHARE));
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
        .chain(coarse_step(geometry))
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
    let slip = meant.find(|(_, number)| is_in(number * units.in_mm(), usual_mm));
    let probably = slip.map(|(_, meant)| format!("{meant:?}"));
    let why = match slip {
        Some((slip, meant)) => format!("probably {meant:?}: {}", slip.words()),
        None => "measure it again, or leave it out".to_owned(),
    };
    let written = as_typed(mm / units.in_mm());
    let sentence = format!("{key}: {written:?} {} is {whose}; {why}.", units.symbol());
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

/// Steps with which next to nothing is seen of the travel.
fn coarse_step(geometry: &Geometry) -> Option<Doubt> {
    const MOST_OF_TRAVEL: f64 = 0.5;
    let (travel, units) = (&geometry.travel, geometry.units);
    let end_mm = travel.bump_mm.max(travel.droop_mm);
    (travel.step_mm > MOST_OF_TRAVEL * end_mm && end_mm > 0.0).then(|| {
        let meant = format!("{:?}", as_typed(travel.step_mm / units.in_mm() / 10.0));
        let sentence = format!(
            "`step`: {} is more than half of the travel, {}, and little is seen of it; probably {meant}.",
            units.show(travel.step_mm),
            units.show(end_mm)
        );
        Doubt::new(None, "step", Some(meant), sentence)
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
    /// What most cars have, mm: with a slip that makes it that, what was meant is told.
    usual_mm: Option<[f64; 2]>,
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
    let range =
        |key, number, unit, [low, high]: [f64; 2], of| Range { key, number, unit, low, high, of, usual_mm: None };
    let mm = |key, number, ends, of, usual_mm| Range { usual_mm, ..range(key, number, Shown::Length, ends, of) };
    let deg = |key, number, ends, of| range(key, number, Shown::With("deg"), ends, of);
    let moved = |key, number: f64| {
        (number != 0.0).then(|| mm(key, number, [8.0, 350.0], "no wheel's travel", Some([30.0, 150.0])))
    };
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
    ranges.push(mm(
        "toe_span",
        wheel.toe_span_mm,
        [150.0, 2500.0],
        "no plate or rim that toe is read over",
        Some([250.0, 700.0]),
    ));
    ranges.extend(
        wheel.tyre_width_mm.map(|width| mm("tyre_width", width, [80.0, 500.0], "no tyre's", Some([130.0, 350.0]))),
    );
    let errors = geometry.weld.iter().map(|weld| weld.sd_mm).filter(|sd_mm| *sd_mm != 0.0);
    ranges.extend(errors.map(|sd_mm| mm("sd", sd_mm, [0.02, 3.0], "no welder's error", Some([0.2, 2.0]))));
    let gaps = geometry.clearance.least_mm.filter(|mm| *mm != 0.0);
    ranges.extend(gaps.map(|gap| mm("least", gap, [0.9, 80.0], "no gap between parts that bend", Some([3.0, 15.0]))));
    let windows = shafts().filter_map(|shaft| shaft.plunge_window_mm).map(|window| window.high - window.low);
    let window =
        |wide| mm("plunge_window", wide, [3.0, 200.0], "no halfshaft's plunge, end to end", Some([12.0, 80.0]));
    ranges.extend(windows.map(window));
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
        let units = geometry.units;
        let shown = |number: f64| match self.unit {
            Shown::Length => format!("{:?} {}", as_typed(number / units.in_mm()), units.symbol()),
            Shown::With(symbol) => format!("{number} {symbol}"),
            Shown::Plain => number.to_string(),
        };
        (!(self.low..=self.high).contains(&self.number)).then(|| {
            let (key, of) = (self.key, self.of);
            let is_usual = |number: &f64| self.usual_mm.is_some_and(|usual_mm| is_in(number * units.in_mm(), usual_mm));
            let meant = meant_of_car(self.number / units.in_mm(), units).into_iter();
            let meant = meant.filter(|(slip, _)| slip.is_of_size()).find(|(_, number)| is_usual(number));
            let why = meant.map_or(String::new(), |(slip, meant)| format!(", probably {meant:?}: {}", slip.words()));
            let sentence = format!(
                "`{key}`: {} is {of}{why}; {} to {} is what cars have.",
                shown(self.number),
                shown(self.low),
                shown(self.high)
            );
            Doubt::new(None, key, meant.map(|(_, meant)| format!("{meant:?}")), sentence)
        })
    }
}
