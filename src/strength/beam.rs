//! A frame tube between its nodes with a force across it: how stiff it is where a bracket stands.

/// Force across a beam over what it gives under it, N/mm, `a` and `b` from the force to the two ends: hinged ends, `3 E I L / (a² b²)`.
///
/// Source: beam tables, any text on strength of materials. Tested by `tests/strength/beams.rs`, also by integrating the
/// bending moment.
pub fn hinged_stiffness_n_per_mm(e_mpa: f64, second_moment_mm4: f64, a_mm: f64, b_mm: f64) -> f64 {
    3.0 * e_mpa * second_moment_mm4 * (a_mm + b_mm) / (a_mm * b_mm).powi(2)
}

/// The same with both ends built in, `3 E I L³ / (a³ b³)`. A tube welded into a frame of others lies between the two.
///
/// Source and tests as [`hinged_stiffness_n_per_mm`].
pub fn built_in_stiffness_n_per_mm(e_mpa: f64, second_moment_mm4: f64, a_mm: f64, b_mm: f64) -> f64 {
    3.0 * e_mpa * second_moment_mm4 * ((a_mm + b_mm) / (a_mm * b_mm)).powi(3)
}

/// Largest bending moment of a force across a beam with hinged ends, N·m: `F a b / L`. Built-in ends have less.
pub fn hinged_bending_nm(force_n: f64, a_mm: f64, b_mm: f64) -> f64 {
    force_n * a_mm * b_mm / (a_mm + b_mm) / 1000.0
}
