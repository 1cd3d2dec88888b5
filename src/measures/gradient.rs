//! What each measure depends on, to first order: the partial derivatives beside which [`Response`] needs nothing else.
//!
//! Everything is built from four facts of a rigid upright, with `δθ` a small rotation and `ω` its angular velocity:
//! a direction `a` changes by `δθ × a`; a point at arm `r` by `δW + δθ × r`; the rate `ω × a` of a direction by
//! `δω × a + ω × (δθ × a)`; the velocity of a point by `δv` more. Angles in degrees, so the results are.
//!
//! Held by `tests/kinematics/sensitivities.rs` (central differences on random corners).

use std::f64::consts::PI;

use nalgebra::{Point3, Vector3};

use super::centres::{RollCentreLine, anti_lift_pct, anti_squat_pct, wheel_centre_path_deg};
use super::road::Road;
use super::shaft::shaft;
use super::spring::{spring, spring_mount_point};
use super::wheel::{
    camber_deg, camber_gradient_deg_per_mm, recession_mm, spin_axis, toe_deg, toe_gradient_deg_per_mm,
    upright_pitch_deg,
};
use crate::geometry::{Car, Corner, Halfshaft, Spring, SpringMount};
use crate::mechanism::{LinkGradient, PoseGradient, Posture, Response};

const DEG: f64 = 180.0 / PI;
/// A joint straighter than this has no derivative of its angle: it grows whichever way it is bent.
const STRAIGHT_RAD: f64 = 1e-9;

/// The measures of one wheel in bump and droop (body level) that have derivatives.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Measured {
    Toe,
    Camber,
    HalfTrack,
    Recession,
    UprightPitch,
    ContactX,
    ContactZ,
    Plunge,
    InnerJointAngle,
    OuterJointAngle,
    BumpSteerGradient,
    CamberGradient,
    RollCentreHeight,
    WheelCentrePath,
    AntiSquat,
    AntiLift,
    SpringLength,
    SpringRatio,
}

impl Measured {
    pub const ALL: [Measured; 18] = [
        Measured::Toe,
        Measured::Camber,
        Measured::HalfTrack,
        Measured::Recession,
        Measured::UprightPitch,
        Measured::ContactX,
        Measured::ContactZ,
        Measured::Plunge,
        Measured::InnerJointAngle,
        Measured::OuterJointAngle,
        Measured::BumpSteerGradient,
        Measured::CamberGradient,
        Measured::RollCentreHeight,
        Measured::WheelCentrePath,
        Measured::AntiSquat,
        Measured::AntiLift,
        Measured::SpringLength,
        Measured::SpringRatio,
    ];
}

impl Gradient {
    /// The gradient of the difference of two figures.
    pub fn minus(&self, other: &Gradient) -> Gradient {
        let points = |a: &[Vector3<f64>; 5], b: &[Vector3<f64>; 5]| std::array::from_fn(|i| a[i] - b[i]);
        let (a, b) = (&self.links, &other.links);
        Gradient {
            links: LinkGradient {
                chassis: points(&a.chassis, &b.chassis),
                upright: points(&a.upright, &b.upright),
                length: std::array::from_fn(|i| a.length[i] - b.length[i]),
            },
            halfshaft_inner: self.halfshaft_inner - other.halfshaft_inner,
            halfshaft_outer: self.halfshaft_outer - other.halfshaft_outer,
            spring_chassis: self.spring_chassis - other.spring_chassis,
            spring_mount: self.spring_mount - other.spring_mount,
            tyre_radius: self.tyre_radius - other.tyre_radius,
        }
    }
}

/// The measure itself on a level road; `None` when the geometry lacks the data.
pub fn value(measured: Measured, corner: &Corner, car: &Car, posture: &Posture) -> Option<f64> {
    let s = spin_axis(corner, posture);
    let contact = || posture.wheel_centre() + contact_arm(corner, &s);
    Some(match measured {
        Measured::Toe => toe_deg(&s),
        Measured::Camber => camber_deg(&s),
        Measured::HalfTrack => contact().y,
        Measured::Recession => recession_mm(posture),
        Measured::UprightPitch => upright_pitch_deg(posture),
        Measured::ContactX => contact().x,
        Measured::ContactZ => contact().z,
        Measured::Plunge => shaft(corner, posture)?.plunge_mm,
        Measured::InnerJointAngle => shaft(corner, posture)?.inner_angle_deg,
        Measured::OuterJointAngle => shaft(corner, posture)?.outer_angle_deg,
        Measured::BumpSteerGradient => toe_gradient_deg_per_mm(&s, &posture.motion),
        Measured::CamberGradient => camber_gradient_deg_per_mm(&s, &posture.motion),
        Measured::RollCentreHeight => {
            let road = Road::new(corner.side, 0.0, 0.0, contact().z);
            RollCentreLine::new(posture, &contact(), &road).own_side_height_mm()?
        }
        Measured::WheelCentrePath => wheel_centre_path_deg(posture),
        Measured::AntiSquat => anti_squat_pct(posture, car)?,
        Measured::AntiLift => anti_lift_pct(posture, &contact(), car)?,
        Measured::SpringLength => spring(corner, posture)?.length_mm,
        Measured::SpringRatio => spring(corner, posture)?.ratio,
    })
}

/// Derivatives of one measure with respect to everything that a builder can move; the measure's unit per mm, side axes,
/// every point at its drawn place.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Gradient {
    pub links: LinkGradient,
    pub halfshaft_inner: Vector3<f64>,
    pub halfshaft_outer: Vector3<f64>,
    pub spring_chassis: Vector3<f64>,
    /// For a mount on the upright; one on a link moves with the link's points.
    pub spring_mount: Vector3<f64>,
    pub tyre_radius: f64,
}

/// Derivatives of a measure at a posture; `None` when the geometry lacks the data or the measure has no derivative there
/// (a joint angle at 0°).
pub fn gradient(
    measured: Measured,
    corner: &Corner,
    car: &Car,
    posture: &Posture,
    response: &Response,
) -> Option<Gradient> {
    let parts = Parts::of(measured, corner, car, posture)?;
    let mut gradient = parts.direct;
    let through_pose = response.of(&parts.pose);
    for i in 0..5 {
        gradient.links.chassis[i] += through_pose.chassis[i];
        gradient.links.upright[i] += through_pose.upright[i];
        gradient.links.length[i] += through_pose.length[i];
    }
    Some(gradient)
}

/// The partial derivatives of one measure: through the pose, and directly.
struct Parts<'a> {
    posture: &'a Posture,
    pose: PoseGradient,
    direct: Gradient,
}

impl<'a> Parts<'a> {
    fn of(measured: Measured, corner: &Corner, car: &Car, posture: &'a Posture) -> Option<Self> {
        let mut parts = Self { posture, pose: PoseGradient::default(), direct: Gradient::default() };
        let s = spin_axis(corner, posture);
        let rate = posture.motion.angular.cross(&s);
        let flat = s.x * s.x + s.y * s.y;
        let per_wheelbase = |share: Option<f64>| Some(100.0 * car.wheelbase_mm? / car.cg_height_mm? * share?);
        match measured {
            Measured::Toe => parts.direction(&s, &(Vector3::new(s.y, -s.x, 0.0) * (DEG / flat))),
            Measured::Camber => parts.direction(&s, &Vector3::new(0.0, 0.0, -DEG / flat.sqrt())),
            Measured::BumpSteerGradient => {
                let twice = 2.0 * (s.y * rate.x - s.x * rate.y) / flat;
                let by_s = Vector3::new(-rate.y - twice * s.x, rate.x - twice * s.y, 0.0);
                parts.direction(&s, &(by_s * (DEG / flat)));
                parts.rate(&s, &(Vector3::new(s.y, -s.x, 0.0) * (DEG / flat)));
            }
            Measured::CamberGradient => {
                let h = flat.sqrt();
                parts.direction(&s, &(Vector3::new(s.x, s.y, 0.0) * (DEG * rate.z / (h * flat))));
                parts.rate(&s, &Vector3::new(0.0, 0.0, -DEG / h));
            }
            Measured::Recession => parts.pose.place.x = -1.0,
            Measured::UprightPitch => {
                let up = posture.direction(&Vector3::z());
                let square = up.x * up.x + up.z * up.z;
                parts.direction(&up, &(Vector3::new(up.z, 0.0, -up.x) * (DEG / square)));
            }
            Measured::HalfTrack => parts.contact(corner, &s, &Vector3::y()),
            Measured::ContactX => parts.contact(corner, &s, &Vector3::x()),
            Measured::ContactZ => parts.contact(corner, &s, &Vector3::z()),
            Measured::RollCentreHeight => parts.roll_centre(corner, &s),
            Measured::AntiLift => {
                let k = per_wheelbase(car.rear_brake_share)?;
                let v = posture.velocity_at(&(posture.wheel_centre() + contact_arm(corner, &s)));
                let by_v = Vector3::new(-1.0 / v.z, 0.0, v.x / (v.z * v.z)) * k;
                parts.contact_velocity(corner, &s, &by_v);
            }
            Measured::WheelCentrePath => {
                let v = posture.motion.velocity;
                parts.pose.velocity.x = -DEG * v.z / (v.z * v.z + v.x * v.x);
            }
            Measured::AntiSquat => {
                let k = per_wheelbase(car.rear_drive_share)?;
                parts.pose.velocity.x = -k / posture.motion.velocity.z;
            }
            Measured::Plunge => parts.plunge(corner.halfshaft.as_ref()?),
            Measured::InnerJointAngle => parts.inner_angle(corner.halfshaft.as_ref()?)?,
            Measured::OuterJointAngle => parts.outer_angle(corner.halfshaft.as_ref()?, &s)?,
            Measured::SpringLength => {
                let spring = corner.spring.as_ref()?;
                let along = spring_mount_point(corner, spring, posture) - spring.chassis;
                parts.mount(corner, spring, &along.normalize(), &Vector3::zeros());
                parts.direct.spring_chassis = -along.normalize();
            }
            Measured::SpringRatio => parts.spring_ratio(corner, corner.spring.as_ref()?),
        }
        Some(parts)
    }

    fn arm(&self, at_design: &Point3<f64>) -> Vector3<f64> {
        self.posture.point(at_design) - self.posture.wheel_centre()
    }

    /// A dependence on a direction `a` fixed to the upright.
    fn direction(&mut self, a: &Vector3<f64>, by_a: &Vector3<f64>) {
        self.pose.turn += a.cross(by_a);
    }

    /// A dependence on the place of the upright's point at `arm`.
    fn point(&mut self, arm: &Vector3<f64>, by_place: &Vector3<f64>) {
        self.pose.place += by_place;
        self.pose.turn += arm.cross(by_place);
    }

    /// A dependence on the rate `ω × a` of a direction or an arm.
    fn rate(&mut self, a: &Vector3<f64>, by_rate: &Vector3<f64>) {
        self.pose.angular += a.cross(by_rate);
        self.pose.turn += a.cross(&by_rate.cross(&self.posture.motion.angular));
    }

    /// A dependence on the velocity of the upright's point at `arm`.
    fn velocity(&mut self, arm: &Vector3<f64>, by_velocity: &Vector3<f64>) {
        self.pose.velocity += by_velocity;
        self.rate(arm, by_velocity);
    }

    /// A dependence on the contact point of a level road.
    fn contact(&mut self, corner: &Corner, s: &Vector3<f64>, by_contact: &Vector3<f64>) {
        self.pose.place += by_contact;
        self.disc(corner, s, by_contact);
    }

    /// A dependence on the arm from the wheel centre to the contact point, which leans with the wheel but does not turn
    /// with it.
    fn disc(&mut self, corner: &Corner, s: &Vector3<f64>, by_arm: &Vector3<f64>) {
        let root = (1.0 - s.z * s.z).sqrt();
        let down = contact_direction(s);
        let by_s =
            by_arm * (s.z / root) + Vector3::z() * (by_arm.dot(s) / root + by_arm.dot(&down) * s.z / (root * root));
        self.direction(s, &(by_s * corner.wheel.tyre_radius_mm));
        self.direct.tyre_radius += by_arm.dot(&down);
    }

    /// A dependence on the velocity of the upright-fixed point at the contact point.
    fn contact_velocity(&mut self, corner: &Corner, s: &Vector3<f64>, by_velocity: &Vector3<f64>) {
        self.pose.velocity += by_velocity;
        self.pose.angular += contact_arm(corner, s).cross(by_velocity);
        self.disc(corner, s, &by_velocity.cross(&self.posture.motion.angular));
    }

    /// `y_C v_y / v_z`.
    fn roll_centre(&mut self, corner: &Corner, s: &Vector3<f64>) {
        let contact = self.posture.wheel_centre() + contact_arm(corner, s);
        let v = self.posture.velocity_at(&contact);
        self.contact(corner, s, &(Vector3::y() * (v.y / v.z)));
        let by_v = Vector3::new(0.0, contact.y / v.z, -contact.y * v.y / (v.z * v.z));
        self.contact_velocity(corner, s, &by_v);
    }

    /// A dependence on the place of the halfshaft's two ends, by way of the line between them.
    fn shaft(&mut self, shaft: &Halfshaft, by_along: &Vector3<f64>) {
        self.point(&self.arm(&shaft.outer), by_along);
        self.direct.halfshaft_inner -= by_along;
        self.direct.halfshaft_outer += self.posture.rotation.tr_mul(by_along);
    }

    fn plunge(&mut self, shaft: &Halfshaft) {
        let along = self.posture.point(&shaft.outer) - shaft.inner;
        self.shaft(shaft, &along.normalize());
        // The design length is taken off: it depends on the drawn ends.
        let drawn = (shaft.outer - shaft.inner).normalize();
        self.direct.halfshaft_inner += drawn;
        self.direct.halfshaft_outer -= drawn;
    }

    fn inner_angle(&mut self, shaft: &Halfshaft) -> Option<()> {
        let along = self.posture.point(&shaft.outer) - shaft.inner;
        let (by_along, _) = angle_gradient(&along, &shaft.axis)?;
        self.shaft(shaft, &by_along);
        Some(())
    }

    fn outer_angle(&mut self, shaft: &Halfshaft, s: &Vector3<f64>) -> Option<()> {
        let along = self.posture.point(&shaft.outer) - shaft.inner;
        let (by_along, by_s) = angle_gradient(&along, s)?;
        self.shaft(shaft, &by_along);
        self.direction(s, &by_s);
        Some(())
    }

    fn spring_ratio(&mut self, corner: &Corner, spring: &Spring) {
        let point = spring_mount_point(corner, spring, self.posture);
        let along = point - spring.chassis;
        let (length, unit) = (along.norm(), along.normalize());
        let velocity = match spring.on {
            SpringMount::Upright => self.posture.velocity_at(&point),
            SpringMount::Link { index, share } => {
                self.posture.velocity_at(&self.posture.point(&corner.links[index].upright)) * share
            }
        };
        let by_along = (unit * unit.dot(&velocity) - velocity) / length;
        self.mount(corner, spring, &by_along, &-unit);
        self.direct.spring_chassis = -by_along;
    }

    /// A dependence on the place and the velocity of the spring's moving end.
    fn mount(&mut self, corner: &Corner, spring: &Spring, by_place: &Vector3<f64>, by_velocity: &Vector3<f64>) {
        let omega = self.posture.motion.angular;
        let back = |v: &Vector3<f64>| self.posture.rotation.tr_mul(v);
        match spring.on {
            SpringMount::Upright => {
                let arm = self.arm(&spring.mount);
                self.direct.spring_mount = back(&(by_place + by_velocity.cross(&omega)));
                self.point(&arm, by_place);
                self.velocity(&arm, by_velocity);
            }
            SpringMount::Link { index, share } => {
                let arm = self.arm(&corner.links[index].upright);
                let (place, velocity) = (by_place * share, by_velocity * share);
                self.direct.links.upright[index] = back(&(place + velocity.cross(&omega)));
                self.direct.links.chassis[index] = by_place * (1.0 - share);
                self.point(&arm, &place);
                self.velocity(&arm, &velocity);
            }
        }
    }
}

/// From the wheel centre to the contact point of a level road, mm.
fn contact_arm(corner: &Corner, s: &Vector3<f64>) -> Vector3<f64> {
    contact_direction(s) * corner.wheel.tyre_radius_mm
}

fn contact_direction(s: &Vector3<f64>) -> Vector3<f64> {
    (s * s.z - Vector3::z()).normalize()
}

/// Derivatives of the angle between `a` and the unit vector `b`, deg, by each; `None` when they are parallel.
fn angle_gradient(a: &Vector3<f64>, b: &Vector3<f64>) -> Option<(Vector3<f64>, Vector3<f64>)> {
    let unit = a.normalize();
    let (sin, cos) = (unit.cross(b).norm(), unit.dot(b));
    (sin > STRAIGHT_RAD).then(|| ((unit * cos - b) * (DEG / (sin * a.norm())), (b * cos - unit) * (DEG / sin)))
}
