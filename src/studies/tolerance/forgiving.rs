//! For tests: how forgiving a drawing is, the bump steer to expect once it is welded, worked out row by row.

use crate::geometry::{Car, Coordinate, Corner};
use crate::measures::{Measure, gradient, spin_axis, toe_deg};
use crate::mechanism::{Linkage, Posture, PostureSensitivity};
use crate::studies::errors::ErrorModel;

/// Mean over the rows of the expected square of the change of toe from design, deg², links adjusted; `None` when a row is
/// singular or the design row (0 mm of bump) is not among the postures.
///
/// `E[(t + J e)²] = t² + J Σ Jᵀ` at each row, with the drawn change `t`, its exact derivatives `J` by the thirty pickup
/// coordinates and the covariance `Σ` of the errors. First order: it stops being true where errors are a few per cent of the
/// shortest arm. Costs one posture sensitivity a row. Tested by `the_expected_square_is_that_of_built_cars`.
pub fn expected_square_bump_steer(
    corner: &Corner,
    car: &Car,
    linkage: &Linkage,
    postures: &[Posture],
    error_model: &ErrorModel,
) -> Option<f64> {
    let toe = |posture: &Posture| {
        let sensitivity = PostureSensitivity::new(linkage, posture).ok()?;
        let by = gradient(Measure::Toe, corner, car, posture, &sensitivity)?;
        Some((toe_deg(&spin_axis(corner, posture)), by))
    };
    let (at_design, by_design) = toe(postures.iter().find(|posture| posture.bump_mm == 0.0)?)?;
    let mut sum = 0.0;
    for posture in postures {
        let (toe_deg, by) = toe(posture)?;
        let change = by.minus(&by_design);
        let by: Vec<f64> = Coordinate::all().map(|coordinate| change.links.by(coordinate)).collect();
        sum += (toe_deg - at_design).powi(2) + error_model.variance(&by);
    }
    Some(sum / postures.len() as f64)
}
