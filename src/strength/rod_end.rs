//! Rod ends by their maker's static rating, and their shanks.

use std::f64::consts::PI;

use super::member::BarLoad;
use super::thread::Thread;

/// Least engagement of a rod end's thread over its diameter (no unit): lower bound of what is recommended (common practice).
pub const ENGAGEMENT_IN_DIAMETERS: f64 = 1.5;

/// What a rod end is asked, over what it may be asked (no unit): static rating over application factor, load along its shank.
///
/// Makers do not mean the same by a static rating: with one it is 80 % of the load at yield. The factor stands for the kind
/// of load; infinite without a load.
///
/// Source: permissible load = C₀ b₂ b₆ of a bearing maker's pages; b₆ = 0.35 for alternating load (from memory). Tested by
/// `tests/strength/rod_ends.rs`.
pub fn static_reserve(static_n: f64, application_factor: f64, load_n: f64) -> f64 {
    static_n / (application_factor * load_n.abs())
}

/// By what a force of any direction on the ball can grow until the outermost fibre of a shank that a bracket holds yields (no unit);
/// the ball stands off the face that holds it. Infinite without a load.
///
/// Along the shank by an angle θ: `F cos θ/A_s + F sin θ · 32 s/(π d_s³)`, at most `F √(1/A_s² + (32 s/(π d_s³))²)`.
///
/// Source: cantilever, any text on strength of materials. Tested by `tests/strength/rod_ends.rs`.
pub fn held_shank_reserve(thread: &Thread, yield_mpa: f64, load_n: f64, stand_off_mm: f64) -> f64 {
    let per_newton = (1.0 / thread.stress_area_mm2()).hypot(stand_off_mm / modulus_mm3(thread));
    yield_mpa / (load_n.abs() * per_newton)
}

fn modulus_mm3(thread: &Thread) -> f64 {
    PI / 32.0 * thread.stress_diameter_mm.powi(3)
}

/// By what both loads of a shank can grow until its outermost fibre yields (no unit), pulled or pushed, on its stress area;
/// infinite without a load.
///
/// Source: `N/A_s + 32 M/(π d_s³)`. Tested by `tests/strength/rod_ends.rs`.
pub fn shank_reserve(thread: &Thread, yield_mpa: f64, load: &BarLoad) -> f64 {
    let stress_mpa = load.axial_n.abs() / thread.stress_area_mm2() + 1000.0 * load.bending_nm / modulus_mm3(thread);
    yield_mpa / stress_mpa
}
