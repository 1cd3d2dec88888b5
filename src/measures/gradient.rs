//! Derivatives of each measure by everything that a builder can move.
//!
//! A measure gives its partial derivatives by the pose and the motion of the upright and by the points that it uses;
//! [`PostureSensitivity`] turns those by the pose and the motion into derivatives by pickups and link lengths.
//!
//! Everything is built from four facts of a rigid upright, with `δθ` a small rotation and `ω` its angular velocity:
//! a direction `a` changes by `δθ × a`; a point at arm `r` by `δW + δθ × r`; the rate `ω × a` of a direction by
//! `δω × a + ω × (δθ × a)`; the velocity of a point by `δv` more. Angles in degrees, so the results are.
//!
//! Tested by `tests/kinematics/sensitivities.rs` (central differences on random corners).

use std::f64::consts::PI;

use nalgebra::{Point3, Vector3};

use super::quantity::Measure;
use super::road::Road;
use super::spring::spring_mount_point;
use super::wheel::spin_axis;
use crate::geometry::{Car, Corner, CornerPoint, End, Halfshaft, Pickup, Spring, SpringMount};
use crate::mechanism::{LinkGradient, PoseGradient, Posture, PostureSensitivity};

const DEG: f64 = 180.0 / PI;
/// A joint straighter than this has no derivative of its angle: it grows whichever way it is bent.
const STRAIGHT_RAD: f64 = 1e-9;

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

/// Derivatives of one measure with respect to everything that a builder can move; the measure's unit per mm, side axes,
/// every point at its drawn place.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Gradient {
    /// By pickups and link lengths.
    pub links: LinkGradient,
    /// By the inner joint centre.
    pub halfshaft_inner: Vector3<f64>,
    /// By the outer joint centre.
    pub halfshaft_outer: Vector3<f64>,
    /// By the spring's end on the frame.
    pub spring_chassis: Vector3<f64>,
    /// For a mount on the upright; one on a link moves with the link's points.
    pub spring_mount: Vector3<f64>,
    /// By the loaded tyre radius.
    pub tyre_radius: f64,
}

/// Derivatives of a measure at a posture; `None` when the geometry lacks the data or the measure has no derivative there
/// (a joint angle at 0°). For several measures of one posture make one [`Derivatives`].
pub fn gradient(
    measure: Measure,
    corner: &Corner,
    car: &Car,
    posture: &Posture,
    sensitivity: &PostureSensitivity,
) -> Option<Gradient> {
    Derivatives::at(corner, car, posture, sensitivity).of(measure)
}

/// One posture, ready to give the derivatives of any measure.
pub struct Derivatives<'a> {
    corner: &'a Corner,
    car: &'a Car,
    posture: &'a Posture,
    sensitivity: &'a PostureSensitivity,
    /// Spin axis now.
    s: Vector3<f64>,
    /// From the wheel centre towards the contact point of a level road, unit.
    down: Vector3<f64>,
    /// One over `√(1 − s_z²)`.
    per_root: f64,
}

impl<'a> Derivatives<'a> {
    /// A posture of this corner with its sensitivity.
    pub fn at(corner: &'a Corner, car: &'a Car, posture: &'a Posture, sensitivity: &'a PostureSensitivity) -> Self {
        let s = spin_axis(corner, posture);
        let per_root = 1.0 / (s.x * s.x + s.y * s.y).sqrt();
        let down = (s * s.z - Vector3::z()) * per_root;
        Self { corner, car, posture, sensitivity, s, down, per_root }
    }

    /// Derivatives of one measure; `None` as in [`gradient`].
    pub fn of(&self, measure: Measure) -> Option<Gradient> {
        let mut gradient = Gradient::default();
        self.write(measure, &mut gradient).then_some(gradient)
    }

    /// The same into a gradient that is there already, all of it written; false, and nothing written, where [`Self::of`]
    /// gives `None`. A gradient is large: this is for loops over many measures.
    pub fn write(&self, measure: Measure, to: &mut Gradient) -> bool {
        let mut parts = Partials { at: self, pose: PoseGradient::default(), direct: Direct::default() };
        if measure.differentiate(&mut parts).is_none() {
            return false;
        }
        let direct = &parts.direct;
        self.sensitivity.write(&parts.pose, &mut to.links);
        if let Some((index, chassis, upright)) = direct.on_link {
            to.links.chassis[index] += chassis;
            to.links.upright[index] += upright;
        }
        to.halfshaft_inner = direct.halfshaft_inner;
        to.halfshaft_outer = direct.halfshaft_outer;
        to.spring_chassis = direct.spring_chassis;
        to.spring_mount = direct.spring_mount;
        to.tyre_radius = direct.tyre_radius;
        true
    }

    /// Derivatives of the height of a tyre's lowest point above a road that stays, see [`Road::clearance_mm`].
    ///
    /// Tested by `roll_steer_has_the_derivatives_of_the_moved_car`.
    pub fn tyre_height(&self, road: &Road) -> Gradient {
        let n = road.normal();
        let lean = n.dot(&self.s);
        let by_spin_axis = n * (self.corner.wheel.tyre_radius_mm * lean / (1.0 - lean * lean).sqrt());
        let mut parts = Partials { at: self, pose: PoseGradient::default(), direct: Direct::default() };
        parts.pose.place += n;
        parts.direction(&self.s, &by_spin_axis);
        let mut gradient = Gradient::default();
        self.sensitivity.write(&parts.pose, &mut gradient.links);
        gradient
    }

    /// Derivatives of a figure that depends on places of points of the corner and on a direction `a` fixed to the upright;
    /// `None` when the corner lacks one of the points.
    pub(super) fn of_places(
        &self,
        points: &[(CornerPoint, Vector3<f64>)],
        a: &Vector3<f64>,
        by_a: &Vector3<f64>,
    ) -> Option<Gradient> {
        let mut parts = Partials { at: self, pose: PoseGradient::default(), direct: Direct::default() };
        let mut links = LinkGradient::default();
        for (point, by) in points {
            match *point {
                CornerPoint::WheelCentre => parts.pose.place += by,
                CornerPoint::Pickup(Pickup { link, end: End::Chassis }) => links.chassis[link] += by,
                CornerPoint::Pickup(Pickup { link, end: End::Upright }) => {
                    links.upright[link] += parts.carried(&self.corner.links[link].upright, by);
                }
                CornerPoint::HalfshaftInner => parts.direct.halfshaft_inner += by,
                CornerPoint::HalfshaftOuter => {
                    let by = parts.carried(&self.corner.halfshaft.as_ref()?.outer, by);
                    parts.direct.halfshaft_outer += by;
                }
                CornerPoint::SpringChassis => parts.direct.spring_chassis += by,
                CornerPoint::SpringMount => match self.corner.spring.as_ref()?.on {
                    SpringMount::Upright => {
                        let by = parts.carried(&self.corner.spring.as_ref()?.mount, by);
                        parts.direct.spring_mount += by;
                    }
                    SpringMount::Link { index, share } => {
                        links.chassis[index] += by * (1.0 - share);
                        links.upright[index] += parts.carried(&self.corner.links[index].upright, &(by * share));
                    }
                },
            }
        }
        parts.direction(a, by_a);
        let mut gradient = Gradient::default();
        self.sensitivity.write(&parts.pose, &mut gradient.links);
        for link in 0..5 {
            gradient.links.chassis[link] += links.chassis[link];
            gradient.links.upright[link] += links.upright[link];
        }
        let Direct { halfshaft_inner, halfshaft_outer, spring_chassis, spring_mount, .. } = parts.direct;
        Some(Gradient { halfshaft_inner, halfshaft_outer, spring_chassis, spring_mount, ..gradient })
    }

    /// From the wheel centre to the contact point of a level road, mm.
    fn contact_arm(&self) -> Vector3<f64> {
        self.down * self.corner.wheel.tyre_radius_mm
    }

    fn arm(&self, at_design: &Point3<f64>) -> Vector3<f64> {
        self.posture.direction(&(at_design - self.corner.wheel.centre))
    }
}

/// The partial derivatives of one measure: through the pose, and directly. Its methods named after a measure add every
/// dependence of that measure and give `None` without data or where there is no derivative.
pub(super) struct Partials<'p, 'a> {
    at: &'p Derivatives<'a>,
    pose: PoseGradient,
    direct: Direct,
}

/// Dependences on points that do not go through the pose.
#[derive(Default)]
struct Direct {
    halfshaft_inner: Vector3<f64>,
    halfshaft_outer: Vector3<f64>,
    spring_chassis: Vector3<f64>,
    spring_mount: Vector3<f64>,
    tyre_radius: f64,
    /// Of a spring on a link: its index, and the dependence on its chassis and its upright point.
    on_link: Option<(usize, Vector3<f64>, Vector3<f64>)>,
}

impl Partials<'_, '_> {
    pub(super) fn toe(&mut self) -> Option<()> {
        let Derivatives { s, per_root, .. } = *self.at;
        let per_flat = per_root * per_root;
        self.direction(&s, &Vector3::new(s.y * DEG * per_flat, -s.x * DEG * per_flat, 0.0));
        Some(())
    }

    pub(super) fn camber(&mut self) -> Option<()> {
        let Derivatives { s, per_root, .. } = *self.at;
        self.direction(&s, &Vector3::new(0.0, 0.0, -DEG * per_root));
        Some(())
    }

    pub(super) fn bump_steer_gradient(&mut self) -> Option<()> {
        let Derivatives { posture, s, per_root, .. } = *self.at;
        let per_flat = per_root * per_root;
        let rate = posture.motion.angular.cross(&s);
        let twice = 2.0 * (s.y * rate.x - s.x * rate.y) * per_flat;
        let by_s = Vector3::new(-rate.y - twice * s.x, rate.x - twice * s.y, 0.0);
        self.direction(&s, &(by_s * (DEG * per_flat)));
        self.rate(&s, &(Vector3::new(s.y, -s.x, 0.0) * (DEG * per_flat)));
        Some(())
    }

    pub(super) fn camber_gradient(&mut self) -> Option<()> {
        let Derivatives { posture, s, per_root, .. } = *self.at;
        let rate = posture.motion.angular.cross(&s);
        self.direction(&s, &(Vector3::new(s.x, s.y, 0.0) * (DEG * rate.z * per_root * per_root * per_root)));
        self.rate(&s, &Vector3::new(0.0, 0.0, -DEG * per_root));
        Some(())
    }

    pub(super) fn recession(&mut self) -> Option<()> {
        self.pose.place.x = -1.0;
        Some(())
    }

    pub(super) fn upright_pitch(&mut self) -> Option<()> {
        let up = self.at.posture.direction(&Vector3::z());
        let square = up.x * up.x + up.z * up.z;
        self.direction(&up, &(Vector3::new(up.z, 0.0, -up.x) * (DEG / square)));
        Some(())
    }

    pub(super) fn contact_x(&mut self) -> Option<()> {
        self.contact(&Vector3::x());
        Some(())
    }

    pub(super) fn contact_z(&mut self) -> Option<()> {
        self.contact(&Vector3::z());
        Some(())
    }

    pub(super) fn contact_lateral(&mut self) -> Option<()> {
        self.contact(&Vector3::y());
        // The place at design is taken off: it goes with the tyre radius.
        let s = self.at.corner.wheel.spin_axis;
        self.direct.tyre_radius -= s.y * s.z / s.x.hypot(s.y);
        Some(())
    }

    pub(super) fn wheel_centre_path(&mut self) -> Option<()> {
        let v = self.at.posture.motion.velocity;
        self.pose.velocity.x = -DEG * v.z / (v.z * v.z + v.x * v.x);
        Some(())
    }

    pub(super) fn anti_squat(&mut self) -> Option<()> {
        let car = self.at.car;
        self.pose.velocity.x = -per_wheelbase(car, car.rear_drive_share)? / self.at.posture.motion.velocity.z;
        Some(())
    }

    pub(super) fn anti_lift(&mut self) -> Option<()> {
        let Derivatives { car, posture, .. } = *self.at;
        let k = per_wheelbase(car, car.rear_brake_share)?;
        let v = posture.velocity_at(&(posture.wheel_centre() + self.at.contact_arm()));
        self.contact_velocity(&(Vector3::new(-1.0 / v.z, 0.0, v.x / (v.z * v.z)) * k));
        Some(())
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

    /// A dependence on the place of a point of the upright by way of the pose; returns that by the drawn point itself.
    fn carried(&mut self, at_design: &Point3<f64>, by_place: &Vector3<f64>) -> Vector3<f64> {
        self.point(&self.at.arm(at_design), by_place);
        self.at.posture.direction_at_design(by_place)
    }

    /// A dependence on the rate `ω × a` of a direction or an arm.
    fn rate(&mut self, a: &Vector3<f64>, by_rate: &Vector3<f64>) {
        self.pose.angular += a.cross(by_rate);
        self.pose.turn += a.cross(&by_rate.cross(&self.at.posture.motion.angular));
    }

    /// A dependence on the velocity of the upright's point at `arm`.
    fn velocity(&mut self, arm: &Vector3<f64>, by_velocity: &Vector3<f64>) {
        self.pose.velocity += by_velocity;
        self.rate(arm, by_velocity);
    }

    /// A dependence on the contact point of a level road.
    fn contact(&mut self, by_contact: &Vector3<f64>) {
        self.pose.place += by_contact;
        self.disc(by_contact);
    }

    /// A dependence on the arm from the wheel centre to the contact point, which leans with the wheel but does not turn
    /// with it.
    fn disc(&mut self, by_arm: &Vector3<f64>) {
        let Derivatives { corner, s, down, per_root, .. } = *self.at;
        let along = by_arm.dot(&down);
        let vertical = by_arm.dot(&s) * per_root + along * s.z * per_root * per_root;
        let by_s = by_arm * (s.z * per_root) + Vector3::new(0.0, 0.0, vertical);
        self.direction(&s, &(by_s * corner.wheel.tyre_radius_mm));
        self.direct.tyre_radius += along;
    }

    /// A dependence on the velocity of the upright-fixed point at the contact point.
    fn contact_velocity(&mut self, by_velocity: &Vector3<f64>) {
        self.pose.velocity += by_velocity;
        self.pose.angular += self.at.contact_arm().cross(by_velocity);
        self.disc(&by_velocity.cross(&self.at.posture.motion.angular));
    }

    /// `y_C v_y / v_z`.
    pub(super) fn roll_centre_height(&mut self) -> Option<()> {
        let contact = self.at.posture.wheel_centre() + self.at.contact_arm();
        let v = self.at.posture.velocity_at(&contact);
        let (slope, per_vz) = (v.y / v.z, 1.0 / v.z);
        self.contact(&Vector3::new(0.0, slope, 0.0));
        self.contact_velocity(&Vector3::new(0.0, contact.y * per_vz, -contact.y * slope * per_vz));
        Some(())
    }

    /// A dependence on the place of the halfshaft's two ends, by way of the line between them.
    fn shaft(&mut self, shaft: &Halfshaft, by_along: &Vector3<f64>) {
        self.point(&self.at.arm(&shaft.outer), by_along);
        self.direct.halfshaft_inner -= by_along;
        self.direct.halfshaft_outer += self.at.posture.direction_at_design(by_along);
    }

    pub(super) fn plunge(&mut self) -> Option<()> {
        let shaft = self.at.corner.halfshaft.as_ref()?;
        let along = self.at.posture.point(&shaft.outer) - shaft.inner;
        self.shaft(shaft, &along.normalize());
        // The design length is taken off: it depends on the drawn ends.
        let drawn = (shaft.outer - shaft.inner).normalize();
        self.direct.halfshaft_inner += drawn;
        self.direct.halfshaft_outer -= drawn;
        Some(())
    }

    pub(super) fn inner_angle(&mut self) -> Option<()> {
        let shaft = self.at.corner.halfshaft.as_ref()?;
        let along = self.at.posture.point(&shaft.outer) - shaft.inner;
        let (by_along, _) = angle_gradient(&along, &shaft.axis)?;
        self.shaft(shaft, &by_along);
        Some(())
    }

    pub(super) fn outer_angle(&mut self) -> Option<()> {
        let shaft = self.at.corner.halfshaft.as_ref()?;
        let s = &self.at.s;
        let along = self.at.posture.point(&shaft.outer) - shaft.inner;
        let (by_along, by_s) = angle_gradient(&along, s)?;
        self.shaft(shaft, &by_along);
        self.direction(s, &by_s);
        Some(())
    }

    pub(super) fn spring_length(&mut self) -> Option<()> {
        let Derivatives { corner, posture, .. } = *self.at;
        let spring = corner.spring.as_ref()?;
        let along = spring_mount_point(corner, spring, posture) - spring.chassis;
        self.mount(spring, &along.normalize(), &Vector3::zeros());
        self.direct.spring_chassis = -along.normalize();
        Some(())
    }

    pub(super) fn damper_per_wheel(&mut self) -> Option<()> {
        let Derivatives { corner, posture, .. } = *self.at;
        let spring = corner.spring.as_ref()?;
        let point = spring_mount_point(corner, spring, posture);
        let along = point - spring.chassis;
        let (length, unit) = (along.norm(), along.normalize());
        let velocity = match spring.on {
            SpringMount::Upright => posture.velocity_at(&point),
            SpringMount::Link { index, share } => {
                posture.velocity_at(&posture.point(&corner.links[index].upright)) * share
            }
        };
        let by_along = (unit * unit.dot(&velocity) - velocity) / length;
        self.mount(spring, &by_along, &-unit);
        self.direct.spring_chassis = -by_along;
        Some(())
    }

    /// A dependence on the place and the velocity of the spring's moving end.
    fn mount(&mut self, spring: &Spring, by_place: &Vector3<f64>, by_velocity: &Vector3<f64>) {
        let Derivatives { corner, posture, .. } = *self.at;
        let omega = posture.motion.angular;
        match spring.on {
            SpringMount::Upright => {
                let arm = self.at.arm(&spring.mount);
                self.direct.spring_mount = posture.direction_at_design(&(by_place + by_velocity.cross(&omega)));
                self.point(&arm, by_place);
                self.velocity(&arm, by_velocity);
            }
            SpringMount::Link { index, share } => {
                let arm = self.at.arm(&corner.links[index].upright);
                let (place, velocity) = (by_place * share, by_velocity * share);
                let upright = posture.direction_at_design(&(place + velocity.cross(&omega)));
                self.direct.on_link = Some((index, by_place * (1.0 - share), upright));
                self.point(&arm, &place);
                self.velocity(&arm, &velocity);
            }
        }
    }
}

/// Derivatives of the angle between `a` and the unit vector `b`, deg, by each; `None` when they are parallel.
fn angle_gradient(a: &Vector3<f64>, b: &Vector3<f64>) -> Option<(Vector3<f64>, Vector3<f64>)> {
    let unit = a.normalize();
    let (sin, cos) = (unit.cross(b).norm(), unit.dot(b));
    (sin > STRAIGHT_RAD).then(|| ((unit * cos - b) * (DEG / (sin * a.norm())), (b * cos - unit) * (DEG / sin)))
}

/// What the slope of a path is multiplied by to be per cent of a share of the force.
fn per_wheelbase(car: &Car, share: Option<f64>) -> Option<f64> {
    Some(100.0 * car.wheelbase_mm? / car.cg_height_mm? * share?)
}
