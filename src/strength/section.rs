//! Cross-sections of tubes.

use std::f64::consts::PI;

/// A round tube; a bar when the wall is half of the diameter.
///
/// Tested by `tests/strength/sections.rs` (handbook examples, and the same numbers by summing thin strips).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoundTube {
    /// Outside diameter, mm.
    pub od_mm: f64,
    /// Wall, mm; above 0, up to half of the diameter.
    pub wall_mm: f64,
}

impl RoundTube {
    fn id_mm(&self) -> f64 {
        (self.od_mm - 2.0 * self.wall_mm).max(0.0)
    }

    /// Area of the metal, mm².
    pub fn area_mm2(&self) -> f64 {
        PI / 4.0 * (self.od_mm.powi(2) - self.id_mm().powi(2))
    }

    /// Second moment of area about a diameter, mm⁴: `π (D⁴ − d⁴) / 64`.
    pub fn second_moment_mm4(&self) -> f64 {
        PI / 64.0 * (self.od_mm.powi(4) - self.id_mm().powi(4))
    }

    /// Elastic section modulus, mm³.
    pub fn modulus_mm3(&self) -> f64 {
        self.second_moment_mm4() / (0.5 * self.od_mm)
    }

    /// Radius of gyration, mm.
    pub fn gyration_mm(&self) -> f64 {
        (self.second_moment_mm4() / self.area_mm2()).sqrt()
    }
}

/// A square tube with sharp corners; a real one has round ones and a few per cent less of everything.
///
/// Tested by `tests/strength/sections.rs`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SquareTube {
    /// Outside of a side, mm.
    pub side_mm: f64,
    /// Wall, mm; above 0, up to half of the side.
    pub wall_mm: f64,
}

impl SquareTube {
    fn inside_mm(&self) -> f64 {
        (self.side_mm - 2.0 * self.wall_mm).max(0.0)
    }

    /// Area of the metal, mm².
    pub fn area_mm2(&self) -> f64 {
        self.side_mm.powi(2) - self.inside_mm().powi(2)
    }

    /// Second moment of area about a middle line, the same about every one, mm⁴.
    pub fn second_moment_mm4(&self) -> f64 {
        (self.side_mm.powi(4) - self.inside_mm().powi(4)) / 12.0
    }

    /// Elastic section modulus for bending about a line parallel to a side, mm³. Across the corners it is 0.71 of that.
    pub fn modulus_mm3(&self) -> f64 {
        self.second_moment_mm4() / (0.5 * self.side_mm)
    }
}
