//! The margin of a design against binding, and the links that carry a bind.

use nalgebra::{Matrix3, Matrix6, Vector3};

use super::linkage::Linkage;
use super::posture::Posture;

/// A design whose margin ([`margin_at_design`], no unit) is below this is singular and refused.
pub const SINGULAR: f64 = 1e-8;
/// A design whose margin ([`margin_at_design`], no unit) is below this is so near to binding that the builder is warned.
pub const NEARLY_SINGULAR: f64 = 1e-3;
/// A link carries a bind when its force in the bind is at least this proportion of the largest.
const MIN_BIND_PROPORTION: f64 = 0.3;

/// Margin against binding at design: the smallest singular value of the 6 × 6 Jacobian ([`Linkage::jacobian`]), no unit.
///
/// Zero when the links and the bump travel leave the upright a motion that stretches no link; 0.1 to 1 for a healthy
/// corner. It depends on [`ROTATION_SCALE_MM`](super::ROTATION_SCALE_MM), 100 mm.
///
/// Source: `docs/theory.md`, "Designs that cannot be moved". Tested by `tests/kinematics/closed_form.rs`.
pub fn margin_at_design(linkage: &Linkage) -> f64 {
    singular_values(&design_jacobian(linkage))[5]
}

/// Rank of the five link rows at design: how many links hold the upright independently of each other (5 when healthy).
///
/// Tested by `tests/kinematics/closed_form.rs`.
pub fn independent_links_at_design(linkage: &Linkage) -> usize {
    let links = design_jacobian(linkage).fixed_rows::<5>(0).into_owned();
    links.singular_values().iter().filter(|&&s| s > SINGULAR).count()
}

fn design_jacobian(linkage: &Linkage) -> Matrix6<f64> {
    linkage.jacobian(&Vector3::zeros(), &Matrix3::identity())
}

fn singular_values(jacobian: &Matrix6<f64>) -> [f64; 6] {
    let mut values: [f64; 6] = jacobian.singular_values().into();
    values.sort_by(|a, b| b.total_cmp(a));
    values
}

/// The links that carry a bind at the last posture before it: entries of the left null vector of the Jacobian, which are
/// the link forces that balance each other with no load on the wheel.
pub(super) fn links_that_bind(linkage: &Linkage, posture: &Posture) -> [bool; 5] {
    let jacobian = linkage.jacobian(&posture.displacement, &posture.rotation);
    let svd = jacobian.svd(true, false);
    let Some(u) = svd.u else { return [true; 5] };
    let smallest = svd.singular_values.imin();
    let forces = std::array::from_fn::<f64, 5, _>(|i| u[(i, smallest)].abs());
    let largest = forces.iter().fold(0.0_f64, |a, &b| a.max(b));
    forces.map(|force| force >= MIN_BIND_PROPORTION * largest)
}
