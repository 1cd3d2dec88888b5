//! A straight bar between two ball joints: pull, push and bending.

use std::f64::consts::PI;

use super::material::Material;
use super::section::RoundTube;

/// Buckling load of a bar that stays elastic, N: `π² E I / L²`, with the length between hinges.
///
/// Source: L. Euler, 1744; any text on strength of materials. Tested by `tests/strength/columns.rs`.
pub fn euler_n(material: &Material, tube: &RoundTube, length_mm: f64) -> f64 {
    PI.powi(2) * material.e_mpa * tube.second_moment_mm4() / length_mm.powi(2)
}

/// Load at which a bar between hinges fails in compression, N: Euler's where it is slender, J. B. Johnson's parabola
/// `A S_y (1 − S_y λ² / (4 π² E))` where its slenderness `λ = L / k` is below `√(2 π² E / S_y)`; there the two meet.
///
/// Source: Shigley, *Mechanical Engineering Design*, chapter 4 (from memory). Tested by `tests/strength/columns.rs`.
pub fn johnson_euler_n(material: &Material, tube: &RoundTube, length_mm: f64) -> f64 {
    let slenderness = length_mm / tube.gyration_mm();
    let meet = (2.0 * PI.powi(2) * material.e_mpa / material.yield_mpa).sqrt();
    if slenderness >= meet {
        return euler_n(material, tube, length_mm);
    }
    let lost = material.yield_mpa * slenderness.powi(2) / (4.0 * PI.powi(2) * material.e_mpa);
    tube.area_mm2() * material.yield_mpa * (1.0 - lost)
}

/// What a bar is asked to bear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BarLoad {
    /// Along it, N, pull positive.
    pub axial_n: f64,
    /// Largest bending moment, N·m; never negative.
    pub bending_nm: f64,
}

/// By what both loads of a pulled bar can grow until its outermost fibre yields (no unit); infinite without a load.
///
/// Source: `N/A + M/W = S_y`. Tested by `tests/strength/columns.rs`.
pub fn pull_and_bending_reserve(material: &Material, tube: &RoundTube, load: &BarLoad) -> f64 {
    let stress_mpa = load.axial_n.max(0.0) / tube.area_mm2() + 1000.0 * load.bending_nm / tube.modulus_mm3();
    material.yield_mpa / stress_mpa
}

/// By what both loads of a pushed bar can grow until it buckles or yields (no unit); infinite without a load.
///
/// With `n = N/N_c` (column), `e = N/N_E` (Euler) and `m = M/(W S_y)`, the push makes the bending grow by `1/(1 − e)`:
/// `s n + s m / (1 − s e) = 1`, a quadratic in the reserve `s`. Without bending `s = N_c/N`.
///
/// Source: amplified moment with the linear interaction of column and beam (from memory, as in AISC and Timoshenko). Tested by
/// `tests/strength/columns.rs`.
pub fn push_and_bending_reserve(material: &Material, tube: &RoundTube, length_mm: f64, load: &BarLoad) -> f64 {
    let push_n = (-load.axial_n).max(0.0);
    let n = push_n / johnson_euler_n(material, tube, length_mm);
    let e = push_n / euler_n(material, tube, length_mm);
    let m = 1000.0 * load.bending_nm / (tube.modulus_mm3() * material.yield_mpa);
    let sum = n + e + m;
    2.0 / (sum + (sum * sum - 4.0 * n * e).max(0.0).sqrt())
}
