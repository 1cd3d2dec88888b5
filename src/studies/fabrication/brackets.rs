//! Every rod end: where it is, which way its bolt points, and how far it tilts from square over the travel.

use nalgebra::{Unit, Vector3};
use serde::Serialize;

use super::points::{pickup_name, pickup_place};
use crate::geometry::{End, Link, Pickup, Side};
use crate::mechanism::Posture;
use crate::studies::bolts::{best_bolts, places};
use crate::studies::rig::RigWheel;

/// A bolt steeper than this to level has no direction in plan, deg.
const UPRIGHT_DEG: f64 = 89.9;
/// The part of a direction along an axis that is none (no unit).
const NOTHING: f64 = 1e-9;

/// One rod end with its bolt.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bracket {
    /// Which wheel.
    pub side: Side,
    /// As sheets call it: `toe link chassis`, `right toe link chassis`.
    pub point: String,
    /// Centre of the rod end, mm, axes of the car, at design height.
    pub at_mm: [f64; 3],
    /// Where the direction of the bolt is from; `None` when there is no direction.
    pub bolt_from: Option<BoltFrom>,
    /// Unit vector along the bolt at design, axes of the car (no unit); either sense is the same bolt.
    pub bolt: Option<[f64; 3]>,
    /// The same as two angles.
    pub angles: Option<BoltAngles>,
    /// Largest misalignment over the travel, the rod end clocked at its best, deg; 0 is square.
    pub misalignment_deg: Option<f64>,
    /// What the rod end takes, deg, when the file says.
    pub limit_deg: Option<f64>,
    /// What is left of that, deg; below 0 it binds.
    pub margin_deg: Option<f64>,
    /// What the best direction would leave, deg.
    pub best_leaves_deg: Option<f64>,
    #[serde(skip)]
    /// Which end of which link.
    pub pickup: Pickup,
}

/// Where the direction of a bolt is from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum BoltFrom {
    /// `chassis_bolt` or `upright_bolt`.
    File,
    /// The file gives none: the direction that leaves the least misalignment.
    Best,
}

/// The way a bolt points as two angles that an angle finder shows, read at the end of the bolt that points forward, or
/// outboard when it lies square across the car.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BoltAngles {
    /// From straight ahead, seen from above, outboard positive, −90 to 90 deg; `None` for a bolt that stands upright.
    pub plan_deg: Option<f64>,
    /// From level, this end up positive, deg.
    pub tilt_deg: f64,
}

impl BoltAngles {
    /// Of a direction of either sense, side axes (y outboard).
    ///
    /// Tested by `angles_of_a_bolt_turn_a_straight_one_into_it`.
    pub fn of(bolt: &Vector3<f64>) -> Self {
        let points_back = bolt.x < -NOTHING || (bolt.x.abs() <= NOTHING && bolt.y < 0.0);
        let bolt = if points_back { -bolt } else { *bolt };
        let tilt_deg = bolt.z.atan2(bolt.x.hypot(bolt.y)).to_degrees();
        if tilt_deg.abs() > UPRIGHT_DEG {
            return Self { plan_deg: None, tilt_deg: tilt_deg.abs() };
        }
        let forward = if bolt.x.abs() <= NOTHING { 0.0 } else { bolt.x };
        Self { plan_deg: Some(bolt.y.atan2(forward).to_degrees()), tilt_deg }
    }
}

/// A rod end with the bolt that it is to have.
pub(super) struct RodEnd<'c> {
    pub(super) link: &'c Link,
    pub(super) pickup: Pickup,
    /// At design, side axes.
    pub(super) bolt: Option<Unit<Vector3<f64>>>,
    pub(super) from: BoltFrom,
    best_leaves_deg: Option<f64>,
}

impl RodEnd<'_> {
    /// The bolt at a posture, side axes.
    pub(super) fn bolt_at(&self, posture: &Posture) -> Option<Vector3<f64>> {
        let bolt = self.bolt?;
        Some(match self.pickup.end {
            End::Chassis => bolt.into_inner(),
            End::Upright => posture.direction(&bolt),
        })
    }
}

/// Unit vector from the inner to the outer eye of a link at a posture, side axes.
pub(super) fn along(link: &Link, posture: &Posture) -> Vector3<f64> {
    (posture.point(&link.upright) - link.chassis).normalize()
}

/// Both ends of every link, each with the bolt of the file or the best one.
pub(super) fn rod_ends<'g>(wheel: &RigWheel<'g>) -> Vec<[RodEnd<'g>; 2]> {
    let corner = wheel.corner;
    let best = best_bolts(wheel);
    let rod_end = |index: usize, end: End| {
        let link = &corner.links[index];
        let found = best.iter().find(|bolt| bolt.link == link.name && bolt.end == end.name());
        let of_file = match end {
            End::Chassis => link.chassis_bolt,
            End::Upright => link.upright_bolt,
        };
        let direction = |way: [f64; 3]| corner.side.to_car(way.into()).coords;
        let best_bolt = found.and_then(|bolt| Unit::try_new(direction(bolt.direction), NOTHING));
        RodEnd {
            link,
            pickup: Pickup { link: index, end },
            bolt: of_file.or(best_bolt),
            from: if of_file.is_some() { BoltFrom::File } else { BoltFrom::Best },
            best_leaves_deg: found.map(|bolt| bolt.leaves_deg),
        }
    };
    (0..corner.links.len()).map(|index| End::BOTH.map(|end| rod_end(index, end))).collect()
}

/// Every rod end of a wheel.
pub(super) fn brackets(wheel: &RigWheel) -> Vec<Bracket> {
    let corner = wheel.corner;
    let postures = places(wheel);
    let bracket = |rod_end: &RodEnd| {
        let sine = |posture: &Posture| Some(along(rod_end.link, posture).dot(&rod_end.bolt_at(posture)?).abs());
        let worst = postures.iter().filter_map(sine).reduce(f64::max);
        let misalignment_deg = worst.map(|sine| sine.min(1.0).asin().to_degrees());
        let limit_deg = rod_end.link.rod_end_limit_deg;
        Bracket {
            side: corner.side,
            point: pickup_name(corner, rod_end.pickup),
            at_mm: pickup_place(corner, rod_end.pickup).coords.into(),
            bolt_from: rod_end.bolt.map(|_| rod_end.from),
            bolt: rod_end.bolt.map(|bolt| corner.side.to_car(bolt.into_inner().into()).coords.into()),
            angles: rod_end.bolt.map(|bolt| BoltAngles::of(&bolt)),
            misalignment_deg,
            limit_deg,
            margin_deg: limit_deg.zip(misalignment_deg).map(|(limit, worst)| limit - worst),
            best_leaves_deg: rod_end.best_leaves_deg,
            pickup: rod_end.pickup,
        }
    };
    rod_ends(wheel).iter().flatten().map(bracket).collect()
}

#[cfg(test)]
mod tests {
    use nalgebra::{Rotation3, Vector3};

    use super::BoltAngles;

    /// A bolt straight ahead, tilted up at its front and then turned outboard, is the bolt of these angles.
    #[test]
    fn angles_of_a_bolt_turn_a_straight_one_into_it() {
        for (plan_deg, tilt_deg) in [(0.0, 0.0), (30.0, -12.0), (-75.0, 40.0), (90.0, 5.0), (90.0, -5.0), (-89.0, 0.1)]
        {
            let tilted = Rotation3::from_axis_angle(&Vector3::y_axis(), -f64::to_radians(tilt_deg));
            let turned = Rotation3::from_axis_angle(&Vector3::z_axis(), f64::to_radians(plan_deg));
            let bolt = turned * (tilted * Vector3::x());
            for sense in [bolt, -bolt] {
                let found = BoltAngles::of(&sense);
                let plan = found.plan_deg.expect("not upright");
                assert!((plan - plan_deg).abs() < 1e-9 && (found.tilt_deg - tilt_deg).abs() < 1e-9, "{found:?}");
            }
        }
    }

    #[test]
    fn an_upright_bolt_has_no_direction_in_plan() {
        for bolt in [Vector3::z(), -Vector3::z(), Vector3::new(1e-4, -1e-4, 1.0).normalize()] {
            let found = BoltAngles::of(&bolt);
            assert!(found.plan_deg.is_none() && found.tilt_deg > 89.9, "{found:?}");
        }
    }
}
