//! Small pure functions of a posture and its first-order motion: what a builder reads at the wheel.
//!
//! Formulas are those of a left wheel in side axes; a right wheel is mirrored before it comes here. What is measured
//! against the chassis ([`WheelMeasures`]) depends on bump travel alone; what is measured against the road
//! ([`RoadMeasures`]) needs the [`Road`] as well. Knows nothing of solver settings or of studies.

mod approach;
mod axle;
mod carrying_tube;
mod centres;
mod clearance;
mod closest;
mod gradient;
mod placed;
mod quantity;
mod road;
mod rod_end;
mod row;
mod shaft;
mod shaft_travel;
mod shared_joints;
mod spring;
mod wheel;

use nalgebra::Point3;

use crate::geometry::{Car, Corner};
use crate::mechanism::Posture;

pub(crate) use approach::Approach;
pub use axle::WheelStance;
pub(crate) use carrying_tube::{CarryingTube, head_radius_mm};
pub use centres::{
    InstantAxis, RollCentre, RollCentreLine, anti_lift_pct, anti_squat_pct, instant_axis, roll_centre,
    wheel_centre_path_deg,
};
pub use clearance::{Bodies, Pair};
pub(crate) use closest::segments_apart_mm;
pub use closest::{LeastPlace, least_places};
pub use gradient::{Derivatives, Gradient, gradient};
pub use placed::Placed;
pub use quantity::{Measure, Reading};
pub use road::Road;
pub use rod_end::{
    RodEndMeasures, SignedRodEnd, misalignment_when_twisted_deg, out_of_square_deg, rod_ends, signed_rod_end,
};
pub use row::{DesignContact, Row};
pub(crate) use shaft::angle_between_rad;
pub use shaft::{ShaftMeasures, shaft};
pub use shaft_travel::ShaftFigure;
pub(crate) use shared_joints::SAME_JOINT_MM;
pub use spring::{SpringMeasures, spring, spring_mount_point, strap_mm};
pub use wheel::{
    camber_deg, camber_gradient_deg_per_mm, camber_to_road_deg, contact_point, recession_mm, spin_axis, steer_deg,
    toe_deg, toe_gradient_deg_per_mm, toe_mm, upright_pitch_deg,
};

/// Everything that is measured against the chassis at one bump travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelMeasures {
    /// See [`toe_deg`].
    pub toe_deg: f64,
    /// See [`steer_deg`].
    pub steer_deg: f64,
    /// See [`camber_deg`].
    pub camber_deg: f64,
    /// See [`recession_mm`].
    pub recession_mm: f64,
    /// See [`upright_pitch_deg`].
    pub upright_pitch_deg: f64,
    /// Wheel centre, side axes.
    pub wheel_centre: Point3<f64>,
    /// `None` without a halfshaft.
    pub shaft: Option<ShaftMeasures>,
    /// See [`toe_gradient_deg_per_mm`].
    pub bump_steer_gradient_deg_per_mm: f64,
    /// See [`camber_gradient_deg_per_mm`].
    pub camber_gradient_deg_per_mm: f64,
    /// See [`wheel_centre_path_deg`].
    pub wheel_centre_path_deg: f64,
    /// See [`anti_squat_pct`].
    pub anti_squat_pct: Option<f64>,
    /// `None` without a spring.
    pub spring: Option<SpringMeasures>,
}

impl WheelMeasures {
    /// At a posture of this corner.
    pub fn of(corner: &Corner, car: &Car, posture: &Posture) -> Self {
        let s = spin_axis(corner, posture);
        let toe_deg = toe_deg(&s);
        Self {
            toe_deg,
            steer_deg: steer_deg(corner.side, toe_deg),
            camber_deg: camber_deg(&s),
            recession_mm: recession_mm(posture),
            upright_pitch_deg: upright_pitch_deg(posture),
            wheel_centre: posture.wheel_centre(),
            shaft: shaft(corner, posture),
            bump_steer_gradient_deg_per_mm: toe_gradient_deg_per_mm(&s, &posture.motion),
            camber_gradient_deg_per_mm: camber_gradient_deg_per_mm(&s, &posture.motion),
            wheel_centre_path_deg: wheel_centre_path_deg(posture),
            anti_squat_pct: anti_squat_pct(posture, car),
            spring: spring(corner, posture),
        }
    }
}

/// Everything that needs the road under the wheel: bump travel, body roll and ride height together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoadMeasures {
    /// Camber to the road.
    pub inclination_deg: f64,
    /// Contact point, side axes, measured against the chassis.
    pub contact: Point3<f64>,
    /// Along the road from the design contact point, outboard positive.
    pub lateral_mm: f64,
    /// The line on which this wheel puts the roll centre.
    pub roll_centre_line: RollCentreLine,
    /// See [`anti_lift_pct`].
    pub anti_lift_pct: Option<f64>,
}

impl RoadMeasures {
    /// `design_lateral_mm`: place of the contact point along the road at design (see [`Road::lateral_mm`]).
    pub fn of(corner: &Corner, car: &Car, posture: &Posture, road: &Road, design_lateral_mm: f64) -> Self {
        let s = spin_axis(corner, posture);
        let contact = contact_point(&posture.wheel_centre(), &s, corner.wheel.tyre_radius_mm, &road.normal());
        Self {
            inclination_deg: camber_to_road_deg(&s, road),
            contact,
            lateral_mm: road.lateral_mm(&contact) - design_lateral_mm,
            roll_centre_line: RollCentreLine::new(posture, &contact, road),
            anti_lift_pct: anti_lift_pct(posture, &contact, car),
        }
    }
}
