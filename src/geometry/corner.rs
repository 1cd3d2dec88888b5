//! One wheel with its links, halfshaft and spring.
//!
//! Everything is kept in **side axes**: x forward, **y outboard from the centreline**, z up. For the left side these are the
//! car's own axes; the right side has its y mirrored as it is read, so that one set of formulas serves both.
//! [`Side::to_car`] turns a place or a direction back into the car's axes.

use std::ops::RangeInclusive;

use nalgebra::{Point3, Rotation3, Unit, Vector3};

use super::adjusters::LinkAdjusters;
use super::clearance::LinkTube;
use super::damper::SpringMake;
use super::halfshaft::HalfshaftMake;
use super::hardware::LinkHardware;
use super::interval::Interval;
use super::measured::MeasuredSd;
use super::side::Side;

/// One wheel with its five links, in side axes (y outboard), at design height.
#[derive(Debug, Clone, PartialEq)]
pub struct Corner {
    /// The side of the car that the corner stands on.
    pub side: Side,
    /// The wheel and the tyre on it.
    pub wheel: Wheel,
    /// In the order of the file.
    pub links: [Link; 5],
    /// The driven shaft, when the car gives one.
    pub halfshaft: Option<Halfshaft>,
    /// The spring with its damper, when the car gives one.
    pub spring: Option<Spring>,
}

impl Corner {
    /// Height of the contact point at design, mm above the datum: `W + R d`, `d` the direction in the wheel plane that points
    /// most nearly down.
    pub(crate) fn contact_height_mm(&self) -> f64 {
        let (up, spin) = (Vector3::z(), self.wheel.spin_axis);
        let down = (spin.into_inner() * up.dot(&spin) - up).normalize();
        self.wheel.centre.z + self.wheel.tyre_radius_mm * down.z
    }
}

/// The wheel, locked to the upright.
#[derive(Debug, Clone, PartialEq)]
pub struct Wheel {
    /// Where the spindle meets the wheel's centre plane, at design height.
    pub centre: Point3<f64>,
    /// Unit spin axis, pointing outboard: (cos camber · sin toe, cos camber · cos toe, −sin camber).
    pub spin_axis: Unit<Vector3<f64>>,
    /// Loaded radius, mm.
    pub tyre_radius_mm: f64,
    /// Length over which toe is stated in millimetres.
    pub toe_span_mm: f64,
    /// How far the face on which the wheel seats lies outboard of the wheel's centre plane, mm, when the file gives it: the
    /// number stamped on the wheel.
    pub offset_mm: Option<f64>,
    /// Inside radius of the rim, mm, when the file gives it.
    pub rim_radius_mm: Option<f64>,
    /// Width of the tyre or the rim, whichever is wider, half of it either side of the centre plane, mm, when the file
    /// gives it.
    pub tyre_width_mm: Option<f64>,
}

impl Wheel {
    /// Loaded radii of tyres, mm, from a kart's to those of a car for the desert, with room.
    pub(crate) const TYRE_RADIUS_MM: RangeInclusive<f64> = 110.0..=470.0;
    /// Static camber of rear wheels, deg, with room.
    pub(crate) const CAMBER_DEG: RangeInclusive<f64> = -8.0..=3.0;

    /// A wheel set to a static toe (deg per wheel, toe-in positive) and camber (deg, top outboard positive); toe in
    /// millimetres is stated over the diameter of the loaded tyre.
    ///
    /// Tested by `a_wheel_set_in_code_is_that_of_the_file` in `tests/geometry_file.rs`.
    pub fn new(centre: Point3<f64>, toe_deg: f64, camber_deg: f64, tyre_radius_mm: f64) -> Self {
        let spin_axis = hub_rotation(toe_deg.to_radians(), camber_deg.to_radians()) * Vector3::y_axis();
        Self {
            centre,
            spin_axis,
            tyre_radius_mm,
            toe_span_mm: 2.0 * tyre_radius_mm,
            offset_mm: None,
            rim_radius_mm: None,
            tyre_width_mm: None,
        }
    }
}

/// From hub axes (y along the spindle) to side axes: `Rz(−toe)·Rx(−camber)`.
pub(crate) fn hub_rotation(toe_rad: f64, camber_rad: f64) -> Rotation3<f64> {
    let yaw = Rotation3::from_axis_angle(&Vector3::z_axis(), -toe_rad);
    yaw * Rotation3::from_axis_angle(&Vector3::x_axis(), -camber_rad)
}

/// A rigid link with a rod end at either end.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// What the builder calls it; no other link of the corner is called so.
    pub name: String,
    /// Centre of the inner rod end; the middle of its box while the car gives no point, see
    /// [`super::LinkAdjustments::within`].
    pub chassis: Point3<f64>,
    /// Centre of the outer rod end, at design height.
    pub upright: Point3<f64>,
    /// How well its two points are known, as they were measured.
    pub measured_sd: MeasuredSd,
    /// Length measured on the real link, mm, when the file gives it; compared with the points, never used to move.
    pub taped_mm: Option<f64>,
    /// Bolt through the rod end on the chassis, when given.
    pub chassis_bolt: Option<Unit<Vector3<f64>>>,
    /// Bolt through the rod end on the upright, at design, when given; it turns with the upright.
    pub upright_bolt: Option<Unit<Vector3<f64>>>,
    /// Largest misalignment that the rod ends of this link allow, degrees.
    pub rod_end_limit_deg: Option<f64>,
    /// The tube it is made of, when given.
    pub tube: Option<LinkTube>,
    /// What of it can be adjusted at the finished car.
    pub adjusters: LinkAdjusters,
    /// It is the link that the builder turns to set static toe; of at most one link of a corner.
    pub sets_toe: bool,
    /// Its rod ends and bolts.
    pub hardware: LinkHardware,
}

impl Link {
    /// Of the thread by which its length is changed, mm: of `adjust`, else of its rod ends; `None` where the file gives neither.
    pub fn pitch_mm(&self) -> Option<f64> {
        let of_rod_end = || self.hardware.rod_end.as_ref()?.thread.as_ref().map(|thread| thread.pitch_mm);
        self.adjusters.length.map(|length| length.pitch_mm).or_else(of_rod_end)
    }

    /// A link between two points, nothing else known of it.
    pub fn new(name: impl Into<String>, chassis: Point3<f64>, upright: Point3<f64>) -> Self {
        Self {
            name: name.into(),
            chassis,
            upright,
            measured_sd: MeasuredSd::default(),
            taped_mm: None,
            chassis_bolt: None,
            upright_bolt: None,
            rod_end_limit_deg: None,
            tube: None,
            adjusters: LinkAdjusters::default(),
            sets_toe: false,
            hardware: LinkHardware::default(),
        }
    }

    /// Half of the outside diameter of its tube, mm.
    pub fn radius_mm(&self) -> f64 {
        0.5 * self.tube.as_ref().map_or(LinkTube::DEFAULT_OD_MM, |tube| tube.od_mm)
    }

    /// Eye to eye, mm.
    pub fn length_mm(&self) -> f64 {
        (self.upright - self.chassis).norm()
    }

    /// The place on its line at a share of its length from the chassis end (no unit).
    pub fn at_share(&self, share: f64) -> Point3<f64> {
        self.chassis + (self.upright - self.chassis) * share
    }

    /// The share at which its line passes nearest to a place; below 0 or above 1 beyond its ends.
    pub fn share_nearest(&self, place: &Point3<f64>) -> f64 {
        let along = self.upright - self.chassis;
        (place - self.chassis).dot(&along) / along.norm_squared()
    }
}

/// The shaft from the final drive to the wheel.
#[derive(Debug, Clone, PartialEq)]
pub struct Halfshaft {
    /// Inner joint centre, fixed to the chassis.
    pub inner: Point3<f64>,
    /// Output-flange axis of the final drive, pointing outboard.
    pub axis: Unit<Vector3<f64>>,
    /// Outer joint centre at design; it moves with the upright.
    pub outer: Point3<f64>,
    /// Largest angle that the inner joint allows, deg.
    pub inner_limit_deg: Option<f64>,
    /// Largest angle that the outer joint allows, deg.
    pub outer_limit_deg: Option<f64>,
    /// Least and greatest plunge, mm from the design length, joint pulled apart positive.
    pub plunge_window_mm: Option<Interval>,
    /// Kinds of its joints, how long it is and how far it can plunge.
    pub make: HalfshaftMake,
}

impl Halfshaft {
    /// A shaft between two joints, the output flange square to the car's middle plane, without limits.
    pub fn new(inner: Point3<f64>, outer: Point3<f64>) -> Self {
        Self {
            inner,
            axis: Vector3::y_axis(),
            outer,
            inner_limit_deg: None,
            outer_limit_deg: None,
            plunge_window_mm: None,
            make: HalfshaftMake::default(),
        }
    }
}

impl Halfshaft {
    /// Between the joint centres at design, mm: what a tape shows with the shaft in the car.
    pub fn length_mm(&self) -> f64 {
        (self.outer - self.inner).norm()
    }

    /// How near together and how far apart its joint centres can be, mm; `None` where the file does not say.
    pub fn reach_mm(&self) -> Option<Interval> {
        let drawn_mm = self.length_mm();
        let window = self.make.window_mm(drawn_mm).map(|(window, _)| window).or(self.plunge_window_mm)?;
        Some(Interval { low: drawn_mm + window.low, high: drawn_mm + window.high })
    }
}

/// The spring with its damper.
#[derive(Debug, Clone, PartialEq)]
pub struct Spring {
    /// The end that is fixed to the frame.
    pub chassis: Point3<f64>,
    /// The end that moves, at design height.
    pub mount: Point3<f64>,
    /// What carries the end that moves.
    pub on: SpringMount,
    /// Rate, lengths of spring and damper, bump rubber and strap.
    pub make: SpringMake,
}

/// What the spring's moving end is bolted to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpringMount {
    /// The upright itself.
    Upright,
    /// Part-way along a link.
    Link {
        /// Index into [`Corner::links`].
        index: usize,
        /// Share of the link's length from its chassis end (no unit).
        share: f64,
    },
}
