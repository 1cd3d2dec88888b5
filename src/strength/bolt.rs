//! The bolt through a rod end: shear in one or two planes, and bending between the cheeks of its bracket.

use std::f64::consts::PI;

use super::thread::Thread;

/// Partial factor on the strength of a bolt (no unit), EN 1993-1-8, γ_M2.
const GAMMA_M2: f64 = 1.25;

/// Property class of a bolt, ISO 898-1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BoltClass {
    /// 8.8
    C8_8,
    /// 10.9
    C10_9,
    /// 12.9
    C12_9,
}

impl BoltClass {
    /// As bolt heads have it.
    pub const BY_NAME: [(&'static str, Self); 3] = [("8.8", Self::C8_8), ("10.9", Self::C10_9), ("12.9", Self::C12_9)];

    /// `8.8`, `10.9`, `12.9`.
    pub fn name(self) -> &'static str {
        match self {
            Self::C8_8 => "8.8",
            Self::C10_9 => "10.9",
            Self::C12_9 => "12.9",
        }
    }

    /// Least tensile strength and least 0.2 % proof stress, MPa.
    ///
    /// Source: ISO 898-1 as listed by a stockholder; 8.8 differs above 16 mm. Tested by `tests/strength/bolts.rs`.
    pub fn strength_mpa(self, diameter_mm: f64) -> (f64, f64) {
        match self {
            Self::C8_8 if diameter_mm <= 16.0 => (800.0, 640.0),
            Self::C8_8 => (830.0, 660.0),
            Self::C10_9 => (1040.0, 940.0),
            Self::C12_9 => (1220.0, 1100.0),
        }
    }

    /// Nominal tensile strength, MPa: a hundred times the first number of the class, as design codes use it.
    fn nominal_mpa(self) -> f64 {
        match self {
            Self::C8_8 => 800.0,
            Self::C10_9 => 1000.0,
            Self::C12_9 => 1200.0,
        }
    }

    /// Shear strength over tensile strength of a thread in the shear plane (no unit), EN 1993-1-8, table 3.4: harder bolts
    /// have less.
    fn alpha_v(self) -> f64 {
        if self == Self::C8_8 { 0.6 } else { 0.5 }
    }
}

/// How many planes of the bolt carry the load.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShearPlanes {
    /// The rod end hangs on one side of a plate.
    Single,
    /// The rod end stands between two cheeks.
    Double,
}

impl ShearPlanes {
    /// As the file has it.
    pub const BY_NAME: [(&'static str, Self); 2] = [("single", Self::Single), ("double", Self::Double)];

    /// `single` or `double`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Single => "single",
            Self::Double => "double",
        }
    }
}

/// A bolt that carries a load across itself.
#[derive(Debug, Clone, PartialEq)]
pub struct Bolt {
    /// Its thread, which may lie in a shear plane.
    pub thread: Thread,
    /// ISO 898-1.
    pub class: BoltClass,
    /// One or two planes.
    pub planes: ShearPlanes,
    /// In double shear between the cheeks; in single shear from the face of the plate to the middle of the ball. mm; without
    /// it bending is not looked at.
    pub gap_mm: Option<f64>,
}

impl Bolt {
    /// What the bolt bears across itself, N: `α_v f_ub A_s / γ_M2` a plane, the thread taken to lie in it.
    ///
    /// A bolt that fits its holes; codes take 0.85 of it for M12 and M14 in holes 2 mm larger. Source: EN 1993-1-8, table 3.4,
    /// with the nominal strength. Tested by `tests/strength/bolts.rs`.
    pub fn shear_n(&self) -> f64 {
        let planes = if self.planes == ShearPlanes::Double { 2.0 } else { 1.0 };
        planes * self.class.alpha_v() * self.class.nominal_mpa() * self.thread.stress_area_mm2() / GAMMA_M2
    }

    /// What the bolt bears along itself, N: `0.9 f_ub A_s / γ_M2`.
    ///
    /// Source: EN 1993-1-8, table 3.4, with the nominal strength. Tested by `tests/strength/bolts.rs`.
    pub fn pull_n(&self) -> f64 {
        0.9 * self.class.nominal_mpa() * self.thread.stress_area_mm2() / GAMMA_M2
    }

    /// By what a pull along the bolt and a load across it can grow together (no unit); a push along it counts as nothing.
    /// Infinite without a load.
    ///
    /// Source: EN 1993-1-8, table 3.4: `F_v/F_v,Rd + F_t/(1.4 F_t,Rd) ≤ 1`, and the pull alone. Tested by
    /// `tests/strength/bolts.rs`.
    pub fn pull_and_shear_reserve(&self, pull_n: f64, shear_n: f64) -> f64 {
        let (pull, shear) = (pull_n.max(0.0) / self.pull_n(), shear_n / self.shear_n());
        1.0 / (shear + pull / 1.4).max(pull)
    }

    /// Bending moment of a load across the bolt, N·m: as a pin on two supports at the cheeks with the ball in the middle, or as
    /// one that stands out of its plate. `None` without a gap.
    pub fn bending_nm(&self, load_n: f64) -> Option<f64> {
        let arm = if self.planes == ShearPlanes::Double { 0.25 } else { 1.0 };
        Some(load_n * arm * self.gap_mm? / 1000.0)
    }

    /// Bending moment that the bolt bears, N·m: `1.5 W f_y`, `W` of its stress diameter.
    ///
    /// Source: EN 1993-1-8, table 3.10, pins (from memory), with the nominal proof stress.
    pub fn bending_resistance_nm(&self) -> f64 {
        let modulus_mm3 = PI / 32.0 * self.thread.stress_diameter_mm.powi(3);
        let (_, proof_mpa) = self.class.strength_mpa(self.thread.diameter_mm);
        1.5 * modulus_mm3 * proof_mpa / 1000.0
    }

    /// By what a load across the bolt can grow (no unit): shear alone, or with bending by the sum of squares where the gap is
    /// known; infinite without a load.
    ///
    /// Source: EN 1993-1-8, 3.13.2 (pins; from memory). Tested by `tests/strength/bolts.rs`.
    pub fn reserve(&self, load_n: f64) -> f64 {
        let shear = load_n / self.shear_n();
        let bending = self.bending_nm(load_n).map_or(0.0, |nm| nm / self.bending_resistance_nm());
        1.0 / shear.hypot(bending)
    }
}
