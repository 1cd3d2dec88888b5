//! A checked geometry: what the file said, in millimetres and degrees, ready to be moved.
//!
//! Both corners are kept in **side axes**: x forward, **y outboard from the centreline**, z up. For the left
//! side these are the car's own axes; the right side has its y mirrored as it is read, so that one set of
//! formulas serves both. [`Side::to_car`] turns a place or a direction back into the car's axes.

use nalgebra::{Point3, Unit, Vector3};

use super::freedom::{AdjustmentRange, Free, Tube};
use super::interval::Interval;
use super::quantity::Limits;
use super::side::Side;
use super::targets::Targets;
use super::weld::{Tape, Weld};

/// The unit of length a file is written in. Numbers are millimetres once read; this is kept so that what is
/// written for people follows the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LengthUnit {
    Millimetre,
    Inch,
}

impl LengthUnit {
    /// Millimetres in one of this unit (the inch is 25.4 mm exactly).
    pub fn in_mm(self) -> f64 {
        match self {
            LengthUnit::Millimetre => 1.0,
            LengthUnit::Inch => 25.4,
        }
    }

    pub fn symbol(self) -> &'static str {
        match self {
            LengthUnit::Millimetre => "mm",
            LengthUnit::Inch => "in",
        }
    }

    /// A length in this unit with its unit, to 0.1 mm or 0.001 in, as people read it.
    pub fn show(self, mm: f64) -> String {
        let decimals = match self {
            LengthUnit::Millimetre => 1,
            LengthUnit::Inch => 3,
        };
        format!("{:.decimals$} {}", mm / self.in_mm(), self.symbol())
    }
}

/// One car's rear suspension as its file describes it.
#[derive(Debug, Clone)]
pub struct Geometry {
    pub name: String,
    pub units: LengthUnit,
    /// The wheel and track that the starter numbers of the file were made for, when it began as a starter.
    pub starter: Option<String>,
    pub left: Corner,
    pub right: Corner,
    /// True when the file gives no `[right]` and the right side is the mirror image of the left.
    pub mirrored: bool,
    pub car: Car,
    pub travel: Travel,
    pub limits: Limits,
    /// How exactly the brackets are placed, when the file says so.
    pub weld: Option<Weld>,
    /// How exactly the points were measured, when the file says so.
    pub tape: Option<Tape>,
    /// Members of the frame that brackets ride on.
    pub tubes: Vec<Tube>,
    /// What tuning aims at.
    pub targets: Targets,
}

impl Geometry {
    pub fn corner(&self, side: Side) -> &Corner {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }

    /// Names of the links that have no chassis point yet, on either side, in the order of the file.
    pub fn unplaced(&self) -> Vec<String> {
        let pairs = self.left.links.iter().zip(&self.right.links);
        let without = pairs.filter(|(left, right)| left.within.is_some() || right.within.is_some());
        without.map(|(left, _)| left.name.clone()).collect()
    }
}

/// One wheel with its five links, in side axes (y outboard), at design height.
#[derive(Debug, Clone, PartialEq)]
pub struct Corner {
    pub side: Side,
    pub wheel: Wheel,
    pub links: [Link; 5],
    pub halfshaft: Option<Halfshaft>,
    pub spring: Option<Spring>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Wheel {
    pub centre: Point3<f64>,
    /// Unit spin axis, pointing outboard: (cos camber · sin toe, cos camber · cos toe, −sin camber).
    pub spin_axis: Unit<Vector3<f64>>,
    /// Loaded radius, mm.
    pub tyre_radius_mm: f64,
    /// Length over which toe is stated in millimetres.
    pub toe_span_mm: f64,
    /// Inside radius of the rim, mm, when the file gives it.
    pub rim_radius_mm: Option<f64>,
    /// How far the upright may be clocked about the spindle, deg, right-hand about the spin axis in side axes (top forward
    /// positive on both sides), when it can be.
    pub clock: Option<AdjustmentRange>,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    pub name: String,
    /// The middle of `within` while the link has no chassis point.
    pub chassis: Point3<f64>,
    pub upright: Point3<f64>,
    /// Box for the chassis point of a link that has none yet: lowest and highest x, y (outboard) and z, mm, from the datum.
    pub within: Option<[Interval; 3]>,
    /// Length measured on the real link, mm, when the file gives it; compared with the points, never used to move.
    pub taped_mm: Option<f64>,
    /// Bolt through the rod end on the chassis, when given.
    pub chassis_bolt: Option<Unit<Vector3<f64>>>,
    /// Bolt through the rod end on the upright, at design, when given; it turns with the upright.
    pub upright_bolt: Option<Unit<Vector3<f64>>>,
    /// Largest misalignment that the rod ends of this link allow, degrees.
    pub rod_end_limit_deg: Option<f64>,
    /// What tuning may move.
    pub free: Free,
}

impl Link {
    /// Eye to eye, mm.
    pub fn length_mm(&self) -> f64 {
        (self.upright - self.chassis).norm()
    }
}

#[derive(Debug, Clone, PartialEq)]
pub struct Halfshaft {
    /// Inner joint centre, fixed to the chassis.
    pub inner: Point3<f64>,
    /// Output-flange axis of the final drive, pointing outboard.
    pub axis: Unit<Vector3<f64>>,
    /// Outer joint centre at design; it moves with the upright.
    pub outer: Point3<f64>,
    pub inner_limit_deg: Option<f64>,
    pub outer_limit_deg: Option<f64>,
    /// Least and greatest plunge, mm from the design length, joint pulled apart positive.
    pub plunge_window_mm: Option<Interval>,
    /// How far the final drive, and with it the inner joint, may move along the side axes, mm.
    pub free_inner: [Option<AdjustmentRange>; 3],
}

#[derive(Debug, Clone, PartialEq)]
pub struct Spring {
    pub chassis: Point3<f64>,
    /// Lower mounting at design.
    pub mount: Point3<f64>,
    pub on: SpringMount,
    /// How far the end on the frame may move along the side axes, mm.
    pub free_chassis: [Option<AdjustmentRange>; 3],
    /// How far the mounting on the upright may move along the side axes, mm; none on a link.
    pub free_mount: [Option<AdjustmentRange>; 3],
}

/// What the spring's moving end is bolted to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SpringMount {
    Upright,
    /// On the link of this index, at this share of its length from the chassis end (no unit).
    Link {
        index: usize,
        share: f64,
    },
}

#[derive(Debug, Clone, Default, PartialEq)]
pub struct Car {
    pub wheelbase_mm: Option<f64>,
    pub cg_height_mm: Option<f64>,
    /// Share of the driving force at this axle, 0 to 1.
    pub rear_drive_share: Option<f64>,
    /// Share of the braking force at this axle, 0 to 1.
    pub rear_brake_share: Option<f64>,
}

/// Wheel travel between the stops and the steps in which it is shown.
#[derive(Debug, Clone, PartialEq)]
pub struct Travel {
    pub bump_mm: f64,
    pub droop_mm: f64,
    pub step_mm: f64,
    pub roll_deg: f64,
    pub step_roll_deg: f64,
    /// Ride heights about which the toe curve is judged, mm from the drawn one, body up positive, as the file has them; empty
    /// for the drawn one alone.
    pub ride_heights_mm: Vec<f64>,
}

impl Travel {
    /// Rows that one study may have; more is a slip of a finger.
    const MAX_ROWS: f64 = 20_000.0;
    /// Rows that the study of heave and roll together may have.
    const MAX_GRID_ROWS: f64 = 1_000_000.0;

    /// Says how many rows the steps make when those are more than anybody can want.
    pub fn too_many_rows(&self) -> Option<String> {
        let heave = (self.bump_mm + self.droop_mm) / self.step_mm + 1.0;
        let roll = 2.0 * self.roll_deg / self.step_roll_deg + 1.0;
        let most = heave.max(roll);
        (most > Self::MAX_ROWS || heave * roll > Self::MAX_GRID_ROWS)
            .then(|| format!("these steps make {heave:.0} rows of heave and {roll:.0} of roll"))
    }
}
