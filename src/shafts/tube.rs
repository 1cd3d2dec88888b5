//! Round tubes in torsion, and their welds.

use std::f64::consts::PI;

use crate::geometry::{ShaftTube, TubeSection};

/// What the section of a round tube is good for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Area, mm².
    pub area_mm2: f64,
    /// Second moment of area about a diameter, mm⁴.
    pub second_moment_mm4: f64,
    /// Polar second moment of area, mm⁴: twice that about a diameter.
    pub polar_mm4: f64,
    /// Half the outside diameter, mm.
    pub radius_mm: f64,
}

impl Section {
    /// `A = π/4 (D² − d²)`, `I = π/64 (D⁴ − d⁴)`, `J = 2 I`.
    ///
    /// Source: any book on strength of materials. Tested by `tests/shafts/tube.rs`.
    pub fn of(tube: &TubeSection) -> Self {
        let (outer, inner) = (tube.od_mm, tube.od_mm - 2.0 * tube.wall_mm);
        let second_moment_mm4 = PI / 64.0 * (outer.powi(4) - inner.powi(4));
        Self {
            area_mm2: PI / 4.0 * (outer * outer - inner * inner),
            second_moment_mm4,
            polar_mm4: 2.0 * second_moment_mm4,
            radius_mm: 0.5 * outer,
        }
    }

    /// Shear stress at the outside under a torque, MPa: `T r / J`.
    ///
    /// Source: Saint-Venant torsion of a round bar. Tested by `tests/shafts/tube.rs`.
    pub fn torsion_mpa(&self, torque_nm: f64) -> f64 {
        1000.0 * torque_nm * self.radius_mm / self.polar_mm4
    }
}

/// Twist from end to end under a torque, deg: `Σ T L / (G J)`.
///
/// Source: as [`Section::torsion_mpa`]. Tested by `tests/shafts/tube.rs`.
pub fn twist_deg(tube: &ShaftTube, torque_nm: f64) -> f64 {
    let per_piece = tube.pieces.iter().map(|piece| piece.length_mm / Section::of(&piece.section).polar_mm4);
    (torque_nm * per_piece.sum::<f64>() / tube.g_gpa).to_degrees()
}

/// Of all pieces, kg.
pub fn mass_kg(tube: &ShaftTube) -> f64 {
    let volume_mm3: f64 = tube.pieces.iter().map(|piece| Section::of(&piece.section).area_mm2 * piece.length_mm).sum();
    1e-9 * volume_mm3 * tube.density_kg_per_m3
}

/// Shear stress in the throat of a weld round the smaller of two tubes, MPa: `T / (2π r² a)`, all of its round carrying alike.
///
/// Source: thin ring in torsion, its radius that of the smaller tube. Tested by `tests/shafts/tube.rs`.
pub fn splice_weld_mpa(smaller_od_mm: f64, throat_mm: f64, torque_nm: f64) -> f64 {
    let radius_mm = 0.5 * smaller_od_mm;
    1000.0 * torque_nm / (2.0 * PI * radius_mm * radius_mm * throat_mm)
}
