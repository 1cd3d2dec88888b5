//! Everything that is read from one wheel at one position of the car.

use nalgebra::{Point3, Vector3};

use super::axle::WheelStance;
use super::road::Road;
use super::wheel::{contact_point, spin_axis};
use super::{RoadMeasures, WheelMeasures};
use crate::geometry::{Car, Corner, PerSide, Side};
use crate::mechanism::Posture;

/// One wheel at one position of the car: a row of a table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// Which wheel.
    pub side: Side,
    /// Bump travel of this wheel, mm.
    pub bump_mm: f64,
    /// Body roll, deg, left side of the body up positive.
    pub body_roll_deg: f64,
    /// Body up positive, mm.
    pub ride_height_change_mm: f64,
    /// What is measured against the chassis.
    pub wheel: WheelMeasures,
    /// What is measured against the road.
    pub road: RoadMeasures,
    /// mm above the road. In heave the side's own value, else that of the axle; `None` where the lines do not meet.
    pub roll_centre_height_mm: Option<f64>,
    /// mm to the left of the middle of the car, along the road; `None` in heave and where the lines do not meet.
    pub roll_centre_lateral_mm: Option<f64>,
    /// Where the other wheel stands in the same row; `None` where it has none.
    pub other: Option<WheelStance>,
    /// Largest error of any link, of the driving equation and of the height over the road, mm.
    pub closure_error_mm: f64,
}

/// Where the tyre of a wheel meets the road at design.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DesignContact {
    /// Side axes.
    pub point: Point3<f64>,
    /// Height of the road under this wheel, mm.
    pub ground_mm: f64,
}

impl DesignContact {
    /// From the drawn wheel.
    pub fn of(corner: &Corner) -> Self {
        let wheel = &corner.wheel;
        let point = contact_point(&wheel.centre, &wheel.spin_axis, wheel.tyre_radius_mm, &Vector3::z());
        Self { point, ground_mm: lowest_mm(corner, &wheel.centre, &wheel.spin_axis) }
    }

    /// The road under the wheel when it is moved to a posture and the body is level; at design it is that of the design.
    pub fn level_road(&self, corner: &Corner, posture: &Posture) -> Road {
        let s = spin_axis(corner, posture);
        let lifted_mm = self.ground_mm - lowest_mm(corner, &posture.wheel_centre(), &s);
        Road::new(corner.side, 0.0, lifted_mm, self.ground_mm)
    }
}

/// Height of the lowest point of a tyre in side axes, mm: the height of a level road that it stands on.
fn lowest_mm(corner: &Corner, centre: &Point3<f64>, s: &Vector3<f64>) -> f64 {
    Road::new(corner.side, 0.0, 0.0, 0.0).clearance_mm(centre, s, corner.wheel.tyre_radius_mm).0
}

impl Row {
    /// A wheel that stands on a road; the roll centre is still to come from both wheels.
    pub fn on_road(
        corner: &Corner,
        car: &Car,
        posture: &Posture,
        design: &DesignContact,
        (road, body_roll_deg): (&Road, f64),
    ) -> Self {
        Self {
            side: corner.side,
            bump_mm: posture.bump_mm,
            body_roll_deg,
            ride_height_change_mm: road.ride_height_change_mm,
            wheel: WheelMeasures::of(corner, car, posture),
            road: RoadMeasures::of(corner, car, posture, road, design.point.y),
            roll_centre_height_mm: None,
            roll_centre_lateral_mm: None,
            other: None,
            closure_error_mm: posture.closure_error_mm,
        }
    }

    /// A wheel moved with the body level, as in bump and droop, its roll centre by its own side alone.
    pub fn level(corner: &Corner, car: &Car, posture: &Posture, design: &DesignContact) -> Self {
        let road = design.level_road(corner, posture);
        let row = Self::on_road(corner, car, posture, design, (&road, 0.0));
        Self { roll_centre_height_mm: row.road.roll_centre_line.own_side_height_mm(), ..row }
    }

    /// Both wheels, when the other has a row too.
    pub fn axle(&self) -> Option<PerSide<WheelStance>> {
        let (own, other) = (self.stance(), self.other?);
        Some(PerSide::of(|side| if side == self.side { own } else { other }))
    }

    /// What the measures of the axle need of it.
    pub fn stance(&self) -> WheelStance {
        WheelStance {
            toe_deg: self.wheel.toe_deg,
            wheel_centre_x_mm: self.wheel.wheel_centre.x,
            lateral_mm: self.road.lateral_mm,
        }
    }
}
