//! A car stood at one wheel travel and one body roll: where its points are then.

use nalgebra::Point3;
use serde::Serialize;

use super::rig::{NoContact, Rig, RigWheel};
use super::verdicts::State;
use crate::geometry::{PerSide, Side};
use crate::measures::{Bodies, ShaftMeasures, shaft, spin_axis, spring_mount_point};
use crate::mechanism::Posture;

/// Both wheels on the road at one travel and roll, in chassis axes: the body stays, road and wheels move.
#[derive(Debug, Clone)]
pub struct PosedCar {
    /// Over the road under each wheel, body up positive, mm: in roll that of the left wheel for both.
    pub ride_height_change_mm: PerSide<f64>,
    /// ISO 8855 sign, deg.
    pub body_roll_deg: f64,
    /// Each wheel, or why it cannot stand there.
    pub wheels: PerSide<Result<PosedWheel, NoContact>>,
    /// One that its stop or a bind keeps from there, at that end of its way.
    pub held_back: PerSide<Option<PosedWheel>>,
}

/// One wheel with what is bolted to it; places in car axes, mm.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PosedWheel {
    /// Its own travel, mm, up positive.
    pub bump_mm: f64,
    /// Wheel centre.
    pub centre: [f64; 3],
    /// Unit vector along the spindle, outboard.
    pub spin_axis: [f64; 3],
    /// Chassis and upright end of each link, in the order of the file.
    pub links: [[[f64; 3]; 2]; 5],
    /// Inner and outer joint.
    pub halfshaft: Option<[[f64; 3]; 2]>,
    /// The end on the frame and the end that moves.
    pub spring: Option<[[f64; 3]; 2]>,
    /// Pairs that come near each other here, the nearest first: those that are too near and three more.
    pub tight: Vec<TightGap>,
    /// Angles and plunge of the halfshaft.
    #[serde(skip)]
    pub shaft: Option<ShaftMeasures>,
}

/// Two parts that come near each other.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TightGap {
    /// `toe link / halfshaft`.
    #[serde(skip)]
    pub pair: String,
    /// Between the surfaces, mm; negative where they overlap.
    #[serde(skip)]
    pub gap_mm: f64,
    /// The points of the two surfaces that are nearest.
    pub between: [[f64; 3]; 2],
    /// Against the least gap.
    pub state: State,
}

/// A gap is tight below so many times the least one that is allowed.
const TIGHT: f64 = 3.0;
/// As many of a wheel are told beside those that are too small.
const NEAREST: usize = 3;

impl PosedCar {
    /// The body level with each wheel at this travel, as in the heave study; then rolled on the road of the left wheel. `None` where
    /// the left wheel does not get to.
    ///
    /// Two unlike wheels at one travel stand on roads that differ by a hair: on one road the other wheel would stand that hair beyond
    /// its stop where this one is at it.
    ///
    /// Tested by `tests/live/posed.rs`.
    pub fn of(rig: &Rig, bump_mm: f64, body_roll_deg: f64) -> Option<Self> {
        let level = |wheel: &RigWheel| {
            Some(wheel.design_contact.level_road(wheel.corner, &wheel.path.at(bump_mm)?).ride_height_change_mm)
        };
        let (left_mm, is_level) = (level(&rig.left)?, body_roll_deg == 0.0);
        let right_mm = if is_level { level(&rig.right).unwrap_or(left_mm) } else { left_mm };
        let wheels = PerSide::of(|side| {
            let wheel = rig.wheel(side);
            let posture = match is_level {
                true => wheel.path.at(bump_mm).ok_or_else(|| wheel.short_of(bump_mm))?,
                false => wheel.place_on(&wheel.road(body_roll_deg, left_mm), bump_mm)?.posture,
            };
            Ok(PosedWheel::of(wheel, &posture))
        });
        let held_back = PerSide::of(|side| {
            let is_held = matches!(wheels[side], Err(NoContact::BeyondStop | NoContact::Binds(_)));
            let wheel = rig.wheel(side);
            is_held.then(|| PosedWheel::of(wheel, wheel.end_towards(&wheel.road(body_roll_deg, left_mm))))
        });
        let ride_height_change_mm = PerSide { left: left_mm, right: right_mm };
        Some(Self { ride_height_change_mm, body_roll_deg, wheels, held_back })
    }

    /// Where the plane of the road under the wheel of that side cuts an upright line at this place left of the middle, mm.
    pub fn road_height_mm(&self, rig: &Rig, left_mm: f64) -> f64 {
        let side = if left_mm < 0.0 { Side::Right } else { Side::Left };
        let road = rig.wheel(side).road(self.body_roll_deg, self.ride_height_change_mm[side]);
        let normal = road.normal();
        -road.height_mm(&Point3::new(0.0, side.sign() * left_mm, 0.0)) / normal.z
    }
}

impl PosedWheel {
    fn of(wheel: &RigWheel, posture: &Posture) -> Self {
        let corner = wheel.corner;
        let car = |p: Point3<f64>| -> [f64; 3] { corner.side.to_car(p).into() };
        Self {
            bump_mm: posture.bump_mm,
            centre: car(posture.wheel_centre()),
            spin_axis: car(spin_axis(corner, posture).into()),
            links: corner.links.each_ref().map(|link| [car(link.chassis), car(posture.point(&link.upright))]),
            halfshaft: corner.halfshaft.as_ref().map(|shaft| [car(shaft.inner), car(posture.point(&shaft.outer))]),
            spring: corner
                .spring
                .as_ref()
                .map(|spring| [car(spring.chassis), car(spring_mount_point(corner, spring, posture))]),
            tight: TightGap::all(wheel, posture),
            shaft: shaft(corner, posture),
        }
    }
}

impl TightGap {
    /// Tested by `tests/live/posed.rs`.
    fn all(wheel: &RigWheel, posture: &Posture) -> Vec<Self> {
        let (geometry, corner) = (wheel.geometry, wheel.corner);
        let least_mm = geometry.clearance.least_mm();
        let bodies = Bodies::of(geometry, corner.side);
        let tight = bodies.pairs().filter_map(|pair| {
            let gap_mm = bodies.gap_mm(pair, corner, posture).filter(|gap_mm| *gap_mm < TIGHT * least_mm)?;
            let between = bodies.nearest(pair, corner, posture)?.map(|point| corner.side.to_car(point).into());
            let state = if gap_mm < least_mm { State::Fail } else { State::Pass };
            Some(Self { pair: bodies.name(pair), gap_mm, between, state })
        });
        let mut tight: Vec<Self> = tight.collect();
        tight.sort_by(|a, b| a.gap_mm.total_cmp(&b.gap_mm));
        let failing = tight.iter().take_while(|gap| gap.state == State::Fail).count();
        tight.truncate(failing + NEAREST);
        tight
    }
}
