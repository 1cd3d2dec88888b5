//! Limits of a file beside what is set on anything that rolls, and room for points beside what a frame has.

use super::boxes::LONGEST_MM;
use super::parts::ANY_ROD_END_DEG;
use super::{Doubt, is_in};
use crate::geometry::slips::{Slip, as_typed, meant_of_car, other_unit};
use crate::geometry::{
    Geometry, Interval, LengthUnit, LimitKey, Link, LinkAdjustments, PointAdjustment, Quantity, Side, Target, Unit,
};

/// Limits are set for a travel of so much either way, mm; more travel asks for more.
const TRAVEL_MM: f64 = 100.0;
/// Below this a limit is less than any gauge reads, deg and mm.
const UNREAD_DEG: f64 = 0.001;
const UNREAD_MM: f64 = 0.05;
/// A camber gauge reads no better, deg.
const CAMBER_DEG: f64 = 0.03;
/// From the least limit on a length that anybody sets, mm, to this share of what would hold nothing back.
const LEAST_SET_MM: f64 = 0.5;
const MOST_SET: f64 = 0.4;
/// A band of lengths whose two ends are nearer to the road than this was not meant in mm.
const NEAR_MM: f64 = 10.0;
/// No frame leaves a bracket more room, mm from end to end: in a tuned file the room is counted from one of its ends.
const ROOM_MM: f64 = 400.0;
/// Ends of a box are written in whole ones, mm, or else hundredths of an inch.
const ROUND_MM: f64 = 1.0;
const ROUND_IN: f64 = 0.01;
/// How far the sum of a point and its room is off them, as the two are written, of one.
const ROUNDED: f64 = 0.02;

/// What is aimed at beside what any car has: the range that odd corners are told by.
const CAMBER_GAINS: [f64; 2] = [-3.0, 1.0];
const ROLL_CENTRES_MM: [f64; 2] = [-160.0, 400.0];

/// Targets that no car has.
fn targets(geometry: &Geometry) -> Vec<Doubt> {
    let doubt = |target: &Target| {
        let definition = target.quantity.definition();
        let key = definition.target?.key;
        let range = match target.quantity {
            Quantity::CamberGain => CAMBER_GAINS,
            Quantity::RollCentreHeight => ROLL_CENTRES_MM,
            _ if definition.credible.is_finite() => [-definition.credible, definition.credible],
            _ => return None,
        };
        let is_any = |number: f64| !number.is_finite() || is_in(number, range);
        if is_any(target.band.low) && is_any(target.band.high) {
            return None;
        }
        let shown = |number: f64| match definition.unit {
            Unit::Millimetres => geometry.units.show(number),
            Unit::Percent => format!("{number} %"),
            unit => format!("{number} {}", unit.symbol()),
        };
        let wrong = [target.band.low, target.band.high].into_iter().find(|number| !is_any(*number))?;
        let sentence = format!(
            "`{key}` in [targets]: {} of {} is that of no car; {} to {} is what cars have.",
            target.quantity.name(),
            shown(wrong),
            shown(range[0]),
            shown(range[1])
        );
        Some(Doubt::new(None, format!("`{key}` in [targets]"), None, sentence))
    };
    geometry.targets.list.iter().filter_map(doubt).collect()
}

/// One for each limit, and each wheel or link that has its own.
pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let limits = Quantity::ALL.iter().flat_map(|quantity| limit(geometry, *quantity));
    limits.chain(targets(geometry)).chain(room(geometry)).collect()
}

fn limit(geometry: &Geometry, quantity: Quantity) -> Vec<Doubt> {
    let definition = quantity.definition();
    let Some(place) = definition.limit.place() else { return Vec::new() };
    let mut limits: Vec<Interval> = match definition.limit {
        LimitKey::RodEnd => {
            let links = Side::BOTH.into_iter().flat_map(|side| &geometry.corner(side).links);
            let limits = links.filter_map(|link| link.rod_end_limit_deg);
            limits.filter(|deg| *deg <= ANY_ROD_END_DEG).map(Interval::up_to).collect() // more is told of the rod end
        }
        _ => Side::BOTH.into_iter().filter_map(|side| geometry.limit(quantity, side)).collect(),
    };
    let all = std::mem::take(&mut limits);
    all.into_iter().for_each(|limit| {
        if !limits.contains(&limit) {
            limits.push(limit);
        }
    });
    let travel_mm = geometry.travel.bump_mm.max(geometry.travel.droop_mm);
    let credible = (100.0 * definition.credible * (travel_mm / TRAVEL_MM).max(1.0)).round() / 100.0;
    let shown = |number: f64| match definition.unit {
        Unit::Millimetres => geometry.units.show(number),
        unit => format!("{number} {}", unit.symbol()),
    };
    let why = |limit: Interval| {
        let most = largest(limit);
        let name = quantity.name();
        if most > credible {
            let most = shown(most);
            return Some(format!(
                "a limit of {most} on {name} holds nothing back; {} is much on anything that rolls",
                shown(credible)
            ));
        }
        let is_of_travel = matches!(quantity, Quantity::Scrub | Quantity::Recession | Quantity::TrackChange);
        let least = match (definition.limit, definition.unit) {
            (LimitKey::EitherWay(_), Unit::Degrees) if quantity == Quantity::CamberChange => CAMBER_DEG,
            (LimitKey::EitherWay(_), Unit::Degrees) => UNREAD_DEG,
            (LimitKey::EitherWay(_), Unit::Millimetres) if is_of_travel => {
                LEAST_SET_MM * (travel_mm / TRAVEL_MM).min(1.0)
            }
            (LimitKey::EitherWay(_), Unit::Millimetres) => UNREAD_MM,
            _ => 0.0,
        };
        if most > 0.0 && most < least {
            let (units, symbol) = (geometry.units, definition.unit.symbol());
            if definition.unit != Unit::Millimetres {
                return Some(format!("a limit of {most:?} {symbol} on {name} is less than any gauge reads"));
            }
            // A limit that is set is a small part of what would hold nothing back.
            let is_set = |meant: &f64| is_in(units.to_mm(*meant), [LEAST_SET_MM, MOST_SET * credible]);
            let meant = meant_of_car(most / units.in_mm(), units).into_iter();
            let meant = meant.filter(|(slip, _)| slip.is_of_size()).find(|(_, meant)| is_set(meant));
            let meant = meant.map_or(String::new(), |(slip, meant)| format!("; probably {meant:?}: {}", slip.words()));
            let (most, symbol) = (as_typed(most / units.in_mm()), units.symbol());
            return Some(format!("a limit of {most:?} {symbol} on {name} is less than any gauge reads{meant}"));
        }
        if matches!(definition.limit, LimitKey::Pair(_))
            && definition.unit == Unit::Percent
            && most > 0.0
            && most <= 1.0
        {
            let meant = [limit.low, limit.high].map(|end| as_typed(100.0 * end));
            let (low, high) = (limit.low, limit.high);
            return Some(format!(
                "{name} of {low:?} to {high:?} % is probably {meant:?}: it is a share, and the key is in per cent"
            ));
        }
        let is_near = matches!(definition.limit, LimitKey::Pair(_)) && definition.unit == Unit::Millimetres;
        (is_near && geometry.units == LengthUnit::Millimetre && limit.low > 0.0 && limit.high < NEAR_MM).then(|| {
            let in_metres = limit.high < NEAR_MM / 10.0;
            let (slip, factor) = if in_metres { (Slip::InMetres, 1e3) } else { other_unit(geometry.units) };
            let meant = [limit.low, limit.high].map(|end| (10.0 * factor * end).round() / 10.0);
            format!("{name} of {:?} to {:?} mm is probably {meant:?}: {}", limit.low, limit.high, slip.words())
        })
    };
    let doubt = |why: String| Doubt::new(None, place.clone(), None, format!("{place}: {why}."));
    limits.into_iter().filter_map(why).map(doubt).collect()
}

/// The end that is furthest from zero and not open.
fn largest(limit: Interval) -> f64 {
    [limit.low, limit.high].into_iter().map(f64::abs).filter(|end| end.is_finite()).fold(0.0, f64::max)
}

/// Room of a point that no frame has, one for each link and end.
fn room(geometry: &Geometry) -> Vec<Doubt> {
    let mut found: Vec<Doubt> = Vec::new();
    for &side in geometry.own_sides() {
        let links = geometry.corner(side).links.iter().zip(&geometry.adjustments[side].links);
        for (link, may) in links {
            // A box that was not doubted is none once a place was found in it.
            let of_box = is_left_of_box(geometry.units, link, may);
            let widest = |rooms: &PointAdjustment| {
                let widths = rooms.iter().flatten().map(|room| room.high - room.low);
                widths.filter(|mm| mm.is_finite()).fold(0.0, f64::max)
            };
            let [chassis_mm, upright_mm] = [&may.chassis, &may.upright].map(widest);
            let chassis_mm = if of_box && chassis_mm <= LONGEST_MM { 0.0 } else { chassis_mm };
            let most_mm = upright_mm.max(chassis_mm);
            if most_mm > ROOM_MM {
                let most = geometry.units.show(most_mm);
                let sentence = format!(
                    "`free` of link {:?} on the {}: {most} from end to end is more room than a frame has; {} is much.",
                    link.name,
                    side.name(),
                    geometry.units.show(ROOM_MM)
                );
                found.push(Doubt::new(Some(side), format!("{} free", link.name), None, sentence));
            }
        }
    }
    found.dedup_by(|a, b| a.suspects == b.suspects);
    found
}

/// True when the room of a bracket is what tuning leaves of `within`: its ends are round from the datum, and some not from the bracket.
fn is_left_of_box(units: LengthUnit, link: &Link, may: &LinkAdjustments) -> bool {
    let round_mm = if units == LengthUnit::Millimetre { ROUND_MM } else { units.to_mm(ROUND_IN) };
    let is_round = |mm: f64| (mm / round_mm - (mm / round_mm).round()).abs() <= ROUNDED;
    let ends = |from: &dyn Fn(usize) -> f64| {
        let rooms = may.chassis.iter().enumerate().filter_map(|(axis, room)| Some((from(axis), (*room)?)));
        rooms.flat_map(|(from, room)| [from + room.low, from + room.high]).all(is_round)
    };
    ends(&|axis| link.chassis[axis]) && !ends(&|_| 0.0)
}
