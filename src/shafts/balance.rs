//! How much unbalance a shaft may keep.

use std::f64::consts::PI;

/// Unbalance that a rotor of a balance grade may keep, g·mm: `1000 G m / ω`, G in mm/s, ω in rad/s.
///
/// Source: ISO 21940-11 (formerly ISO 1940-1). Tested by `tests/shafts/tube.rs`.
pub fn permissible_unbalance_g_mm(grade_mm_per_s: f64, mass_kg: f64, rpm: f64) -> f64 {
    1000.0 * grade_mm_per_s * mass_kg / (rpm * PI / 30.0)
}
