//! The two rod ends of a link against each other: at which angle they are locked, and how much that may be off.
//!
//! Over the travel the bolts of a link turn against each other about the link. Locked at one angle, the link shares what is
//! off between its two ends, each of which then leans by `acos(cos m₀ · cos τ)`.

use std::f64::consts::PI;

use nalgebra::Vector3;
use serde::Serialize;

use super::brackets::{RodEnd, along, rod_ends};
use super::points::on_side;
use crate::geometry::{Interval, Side};
use crate::mechanism::Posture;
use crate::studies::bolts::places;
use crate::studies::rig::RigWheel;

/// A bolt that leaves less than this square to its link lies along it and has no clock angle (no unit).
const MIN_SQUARE: f64 = 1e-6;

/// How the ends of one link are clocked against each other.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LinkClock {
    /// Which wheel.
    pub side: Side,
    /// What the builder calls the link, with `right` before it on the right.
    pub link: String,
    /// Best angle from the bore of the inner to that of the outer rod end, deg, clockwise positive looking from the inner to
    /// the outer end, 0 with both bores parallel, −90 to 90; `None` for a bolt along its link.
    pub best_deg: Option<f64>,
    /// The angle between the bolts over the travel, deg, signed alike, about `best_deg`.
    pub over_travel_deg: Option<Interval>,
    /// How much the angle may be off either way before a rod end reaches its limit somewhere in the travel, deg; below 0 none
    /// fits; `None` without a limit, and when a rod end is beyond its limit already.
    pub permitted_deg: Option<f64>,
}

/// The two bolts of a link at one place of the wheel.
struct Place {
    /// From the inner to the outer bolt about the link, rad, modulo a half turn.
    angle_rad: f64,
    /// Twist that the two ends take together, rad; `None` when one of them is beyond its limit.
    takes_rad: Option<f64>,
}

/// Every link of a wheel.
pub(super) fn clocking(wheel: &RigWheel) -> Vec<LinkClock> {
    let postures = places(wheel);
    rod_ends(wheel).iter().map(|ends| clock(wheel.corner.side, ends, &postures)).collect()
}

fn clock(side: Side, ends: &[RodEnd; 2], postures: &[Posture]) -> LinkClock {
    let link = on_side(side, &ends[0].link.name);
    let found: Option<Vec<Place>> = postures.iter().map(|posture| place(side, ends, posture)).collect();
    let Some(places) = found.filter(|places| !places.is_empty()) else {
        return LinkClock { side, link, best_deg: None, over_travel_deg: None, permitted_deg: None };
    };
    // Bolts have no sense: each angle is taken as near to that at design, the first one, as half turns allow.
    let first = places[0].angle_rad;
    let near = |angle: f64| angle - PI * ((angle - first) / PI).round();
    let angles: Vec<f64> = places.iter().map(|place| near(place.angle_rad)).collect();
    let takes: Option<Vec<f64>> = places.iter().map(|place| place.takes_rad).collect();
    // The locked angle must be within what is taken of every one of them.
    let (from, to) = match &takes {
        None => (
            angles.iter().copied().fold(f64::INFINITY, f64::min),
            angles.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ),
        Some(takes) => {
            angles.iter().zip(takes).fold((f64::NEG_INFINITY, f64::INFINITY), |(from, to), (angle, takes)| {
                (from.max(angle - takes), to.min(angle + takes))
            })
        }
    };
    let best = 0.5 * (from + to);
    // Shown within a quarter turn of parallel.
    let shown_deg = |angle: f64| (angle - PI * (best / PI).round()).to_degrees();
    LinkClock {
        side,
        link,
        best_deg: Some(shown_deg(best)),
        over_travel_deg: Interval::of(angles.iter().copied().map(shown_deg)),
        permitted_deg: takes.map(|_| (0.5 * (to - from)).to_degrees()),
    }
}

/// `None` for a bolt along its link, and without a bolt.
fn place(side: Side, ends: &[RodEnd; 2], posture: &Posture) -> Option<Place> {
    let in_car = |v: Vector3<f64>| side.to_car(v.into()).coords;
    let along = in_car(along(ends[0].link, posture));
    let bolts = [in_car(ends[0].bolt_at(posture)?), in_car(ends[1].bolt_at(posture)?)];
    let square = bolts.map(|bolt| bolt - along * along.dot(&bolt));
    if square.iter().any(|part| part.norm() < MIN_SQUARE) {
        return None;
    }
    let angle_rad = along.dot(&square[0].cross(&square[1])).atan2(square[0].dot(&square[1]));
    let takes = |end: usize| twist_taken_rad(square[end].norm(), ends[end].link.rod_end_limit_deg?);
    Some(Place { angle_rad, takes_rad: takes(0).zip(takes(1)).map(|(a, b)| a + b) })
}

/// By how much a rod end may be twisted off its best clocking until it leans as far as it can, rad: τ of
/// `cos limit = cos m₀ · cos τ`, with the cosine of `m₀` given; `None` when it is beyond that already.
fn twist_taken_rad(cos_misalignment: f64, limit_deg: f64) -> Option<f64> {
    let cos = limit_deg.to_radians().cos() / cos_misalignment;
    (cos <= 1.0).then(|| cos.acos())
}

#[cfg(test)]
mod tests {
    use super::twist_taken_rad;
    use crate::measures::misalignment_when_twisted_deg;

    /// A rod end that is twisted by what it takes leans as far as its limit.
    #[test]
    fn the_twist_taken_brings_a_rod_end_to_its_limit() {
        for (at_best_deg, limit_deg) in [(0.0, 13.0), (7.0, 13.0), (12.9, 13.0), (30.0, 65.0)] {
            let taken = twist_taken_rad(f64::to_radians(at_best_deg).cos(), limit_deg).expect("inside");
            let leans_deg = misalignment_when_twisted_deg(at_best_deg, taken.to_degrees());
            assert!((leans_deg - limit_deg).abs() < 1e-9, "{leans_deg}");
        }
        assert!(twist_taken_rad(f64::to_radians(13.1).cos(), 13.0).is_none());
    }
}
