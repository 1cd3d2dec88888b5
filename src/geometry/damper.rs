//! What the spring and its damper are made of: rate, lengths, bump rubber, droop strap.

use nalgebra::Point3;

/// Data of a spring with its damper beside the two eyes; everything may be absent.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SpringMake {
    /// N/mm.
    pub rate_n_per_mm: Option<f64>,
    /// Length of the spring in nobody's hands, mm.
    pub free_length_mm: Option<f64>,
    /// Sprung mass that this wheel carries, kg.
    pub corner_mass_kg: Option<f64>,
    /// Eye to eye of the damper fully closed, metal to metal, mm.
    pub closed_mm: Option<f64>,
    /// Eye to eye of the damper fully open, mm.
    pub open_mm: Option<f64>,
    /// The rubber on the damper's rod, when there is one.
    pub bump_rubber: Option<BumpRubber>,
    /// A strap that holds the wheel in droop, when there is one.
    pub strap: Option<Strap>,
}

/// A bump rubber on the rod of a damper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BumpRubber {
    /// Uncompressed, mm.
    pub length_mm: f64,
    /// Squashed solid, mm; not above its length.
    pub solid_mm: f64,
}

/// A strap from the frame to the upright.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strap {
    /// Its end on the frame, side axes.
    pub chassis: Point3<f64>,
    /// Its end on the upright, at design, side axes.
    pub upright: Point3<f64>,
    /// Taut, mm; `None` for one that is still to be cut.
    pub length_mm: Option<f64>,
}
