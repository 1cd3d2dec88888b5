//! What a geometry amounts to before anything moves, and how far it could be driven: what a builder compares with the
//! car in the shop.

use nalgebra::{Point3, Vector3};

use crate::geometry::Corner;
use crate::measures::{camber_deg, contact_point, toe_deg, toe_mm};
use crate::mechanism::{Bind, Linkage, SolveError, WheelPath, margin_at_design};

/// How far a wheel is driven on in search of a bind, mm either way; a racing car's stops come earlier.
pub const OVERTRAVEL_MM: f64 = 150.0;

/// One corner at design, side axes.
#[derive(Debug, Clone)]
pub struct Inspection<'g> {
    pub corner: &'g Corner,
    pub toe_deg: f64,
    /// Toe of the wheel over [`crate::geometry::Wheel::toe_span_mm`].
    pub toe_mm: f64,
    pub camber_deg: f64,
    /// Contact point on a level road.
    pub contact: Point3<f64>,
    /// Margin against binding at design, see [`margin_at_design`]; no unit.
    pub margin: f64,
    /// Where the wheel binds below and above design when driven on to [`OVERTRAVEL_MM`], if it does.
    pub binds_in_droop: Option<Bind>,
    pub binds_in_bump: Option<Bind>,
}

impl<'g> Inspection<'g> {
    /// The only error is a design that is singular.
    pub fn of(corner: &'g Corner) -> Result<Self, SolveError> {
        let linkage = Linkage::new(corner);
        let path = WheelPath::follow(&linkage, &[-OVERTRAVEL_MM, OVERTRAVEL_MM])?;
        let wheel = &corner.wheel;
        let toe_deg = toe_deg(&wheel.spin_axis);
        Ok(Self {
            corner,
            toe_deg,
            toe_mm: toe_mm(toe_deg, wheel.toe_span_mm),
            camber_deg: camber_deg(&wheel.spin_axis),
            contact: contact_point(&wheel.centre, &wheel.spin_axis, wheel.tyre_radius_mm, &Vector3::z()),
            margin: margin_at_design(&linkage),
            binds_in_droop: path.binds_in_droop,
            binds_in_bump: path.binds_in_bump,
        })
    }

    /// Distance between the upright holes of two links, mm, as callipers show it.
    pub fn hole_to_hole_mm(&self, a: usize, b: usize) -> f64 {
        (self.corner.links[a].upright - self.corner.links[b].upright).norm()
    }
}

/// Distance between the contact points at design, across the car, mm.
pub fn track_mm(left: &Inspection<'_>, right: &Inspection<'_>) -> f64 {
    left.contact.y + right.contact.y
}
