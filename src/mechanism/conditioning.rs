//! How near a posture is to binding, and which links carry it.

use nalgebra::{Matrix3, Matrix6, Vector3};

use super::closure::Linkage;
use super::solve::Posture;

/// Below this smallest singular value a design is singular and refused.
pub const SINGULAR: f64 = 1e-8;
/// Below this one a design is so near to binding that the builder is warned.
pub const NEARLY_SINGULAR: f64 = 1e-3;
/// A link carries a bind when its share is at least this part of the largest.
const CARRIES: f64 = 0.3;

/// Margin against binding at design: the smallest singular value of the scaled 6 × 6 Jacobian, no unit.
///
/// Zero when the links and the driver leave the upright a motion that stretches nothing; of order 0.1 to 1 for a healthy
/// corner. Rotations are scaled by 100 mm.
pub fn margin_at_design(linkage: &Linkage) -> f64 {
    singular_values(&design_jacobian(linkage))[5]
}

/// How many of the five links hold independent motions of the upright at design (5 when healthy).
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

/// The links that carry a bind: entries of the left null vector of the Jacobian, at least 0.3 of the largest.
pub(super) fn links_that_bind(linkage: &Linkage, posture: &Posture) -> [bool; 5] {
    let jacobian = linkage.jacobian(&posture.displacement, &posture.rotation);
    let svd = jacobian.svd(true, false);
    let Some(u) = svd.u else { return [true; 5] };
    let smallest = svd.singular_values.imin();
    let shares = std::array::from_fn::<f64, 5, _>(|i| u[(i, smallest)].abs());
    let largest = shares.iter().fold(0.0_f64, |a, &b| a.max(b));
    shares.map(|share| share >= CARRIES * largest)
}
