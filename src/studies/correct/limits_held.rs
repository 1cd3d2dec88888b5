//! Limits of the file other than that of bump steer, which no change may break.

use nalgebra::{Point3, Unit};

use super::finished_wheel::{Changes, DrawnWheel, FinishedWheel};
use super::fitting_cars::FittingCars;
use crate::gauge::Change;
use crate::geometry::{Coordinate, Corner, Geometry, Quantity, Side};
use crate::studies::errors::pickup_errors;
use crate::studies::judged_car::JudgedCar;
use crate::studies::rig::Rig;
use crate::studies::verdicts::State;

/// What of the limits of the file holds as the wheel stands, and has to go on holding.
pub(super) struct Limits<'c, 'd> {
    drawn: &'d DrawnWheel<'d>,
    cars: &'c FittingCars<'d>,
    broken_now: Vec<String>,
}

impl<'c, 'd> Limits<'c, 'd> {
    pub fn new(drawn: &'d DrawnWheel<'d>, cars: &'c FittingCars<'d>) -> Self {
        let mut limits = Self { drawn, cars, broken_now: Vec::new() };
        limits.broken_now = limits.broken(&[], cars.likely.toe_off_deg);
        limits
    }

    pub fn newly_broken(&self, changes: &[Change]) -> Vec<String> {
        if changes.is_empty() {
            return Vec::new();
        }
        let mut broken = self.broken(changes, 0.0);
        broken.retain(|broken| !self.broken_now.contains(broken));
        broken
    }

    /// Limits other than that of bump steer which the most likely wheel breaks after some changes, the other wheel as drawn.
    fn broken(&self, changes: &[Change], toe_off_deg: f64) -> Vec<String> {
        let (errors_mm, changes) = (&self.cars.likely.errors_mm, self.cars.changes.with(changes));
        let wheel = self.drawn.finished(errors_mm, &changes, toe_off_deg, &[]);
        let Some(corner) = wheel.and_then(|wheel| as_built(&wheel, errors_mm, &changes)) else {
            return vec!["the wheel does not close".to_owned()];
        };
        let side = corner.side;
        let mut geometry = self.drawn.geometry.clone();
        geometry.mirrored = false;
        *geometry.corner_mut(side) = corner;
        broken_limits(&geometry, side)
    }
}

fn broken_limits(geometry: &Geometry, side: Side) -> Vec<String> {
    let Ok(rig) = Rig::new(geometry) else { return vec!["the wheel does not hold".to_owned()] };
    let car = JudgedCar::of(rig);
    let verdicts = car.verdicts.iter().filter(|verdict| verdict.state == State::Fail);
    let judged = verdicts.filter(|verdict| verdict.quantity != Quantity::BumpSteer);
    let of_side = judged.filter(|verdict| verdict.side.is_none_or(|of| of == side));
    let mut broken: Vec<String> = of_side.map(|verdict| verdict.quantity.name().to_owned()).collect();
    broken.extend(car.clearance[side].failing().map(|pair| format!("clearance {}", pair.pair)));
    broken.extend(car.heave.binds_of(side).map(|bind| format!("binds on the way to {}", bind.towards.name())));
    broken
}

/// The corner as it was built, standing at design height: the pickups where they are, the wheel where they put it.
pub(super) fn as_built(
    wheel: &FinishedWheel<'_>,
    errors_mm: &[f64; Coordinate::COUNT],
    changes: &Changes,
) -> Option<Corner> {
    let posture = wheel.at(0.0)?;
    let errors = pickup_errors(errors_mm);
    let mut corner = wheel.drawn.corner.clone();
    for (index, link) in corner.links.iter_mut().enumerate() {
        link.chassis += errors.chassis[index] + changes.shims.chassis[index];
        link.upright += errors.upright[index] + changes.shims.upright[index];
    }
    let direction = |direction: &Unit<_>| Unit::new_normalize(posture.direction(direction));
    corner.map_upright(|place: &Point3<f64>| posture.point(place), direction);
    corner.wheel.centre = posture.wheel_centre();
    corner.wheel.spin_axis = direction(&corner.wheel.spin_axis);
    Some(corner)
}
