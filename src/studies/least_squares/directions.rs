//! The directions in which parameters change residuals, strongest first, and how many of them do so at all.

use nalgebra::{DMatrix, DVector};

/// From so many parameters on, a tall matrix is made square by a QR decomposition first: a third of the time.
const MIN_REDUCED_COLUMNS: usize = 16;

/// A linear least-squares problem `|r + J p| → least` for any `r`: the singular value decomposition of `J`, its columns
/// in the scale of the parameters.
#[derive(Debug, Clone)]
pub struct Directions {
    scale: DVector<f64>,
    /// What each direction does to the residuals.
    left: DMatrix<f64>,
    /// Norm of that, the largest first.
    singular_values: DVector<f64>,
    /// The directions as rows, in `scale`.
    right: DMatrix<f64>,
    rank: usize,
}

impl Directions {
    /// `min_singular_ratio` as in [`FitOptions`](super::FitOptions); `None` when a derivative is not finite.
    pub fn new(jacobian: &DMatrix<f64>, scale: &DVector<f64>, min_singular_ratio: f64) -> Option<Self> {
        let (rows, columns) = jacobian.shape();
        let scaled = DMatrix::from_fn(rows.max(columns), columns, |i, j| {
            // With fewer residuals than parameters, rows of zeros bring the directions of no residual.
            if i < rows { jacobian[(i, j)] * scale[j] } else { 0.0 }
        });
        if scaled.iter().any(|derivative| !derivative.is_finite()) {
            return None;
        }
        let (scaled, orthonormal) = match rows > columns && columns >= MIN_REDUCED_COLUMNS {
            true => {
                let qr = scaled.qr();
                (qr.r(), Some(qr.q()))
            }
            false => (scaled, None),
        };
        let svd = scaled.svd(true, true);
        let singular_values = svd.singular_values;
        let least = min_singular_ratio * singular_values.max();
        let rank = singular_values.iter().filter(|&&value| value > least).count();
        let left = match orthonormal {
            Some(orthonormal) => orthonormal * svd.u?,
            None => svd.u?.rows(0, rows).into_owned(),
        };
        Some(Self { scale: scale.clone(), left, singular_values, right: svd.v_t?, rank })
    }

    /// How many directions are determined.
    pub fn rank(&self) -> usize {
        self.rank
    }

    /// The change of the parameters, each in its unit, that makes the sum of squares least to first order; nothing along
    /// the null directions.
    pub fn solve(&self, residuals: &DVector<f64>) -> DVector<f64> {
        self.in_units(&self.step(&self.parts(residuals), 0.0))
    }

    /// The part of the residuals that each direction can change.
    pub(super) fn parts(&self, residuals: &DVector<f64>) -> DVector<f64> {
        self.left.columns(0, self.rank).tr_mul(residuals)
    }

    /// The damped step, in `scale`.
    pub(super) fn step(&self, parts: &DVector<f64>, damping: f64) -> DVector<f64> {
        let along = DVector::from_fn(self.rank, |k, _| {
            let value = self.singular_values[k];
            -parts[k] * value / (value * value + damping)
        });
        self.right.rows(0, self.rank).tr_mul(&along)
    }

    /// What the damped step takes off the sum of squares to first order.
    pub(super) fn predicted_gain(&self, parts: &DVector<f64>, damping: f64) -> f64 {
        let gain = |k: usize| {
            let left = damping / (self.singular_values[k].powi(2) + damping);
            parts[k].powi(2) * (1.0 - left * left)
        };
        (0..self.rank).map(gain).sum()
    }

    /// What residuals become by the undamped step to first order.
    pub(super) fn left_by(&self, parts: &DVector<f64>, residuals: &DVector<f64>) -> DVector<f64> {
        residuals - self.left.columns(0, self.rank) * parts
    }

    /// A change in `scale` as one in the units of the parameters.
    pub(super) fn in_units(&self, step: &DVector<f64>) -> DVector<f64> {
        step.component_mul(&self.scale)
    }

    /// The strongest and the weakest of the singular values that count; `None` when no direction does.
    pub(super) fn extremes(&self) -> Option<(f64, f64)> {
        let weakest = self.rank.checked_sub(1)?;
        Some((self.singular_values[0], self.singular_values[weakest]))
    }

    /// The directions that are not determined, orthonormal, in `scale`.
    pub(super) fn null_directions(&self) -> Vec<DVector<f64>> {
        (self.rank..self.right.nrows()).map(|k| self.right.row(k).transpose()).collect()
    }

    /// The pseudo-inverse of JᵀJ, in the units of the parameters.
    pub fn covariance(&self) -> DMatrix<f64> {
        let columns = self.right.ncols();
        let roots =
            DMatrix::from_fn(columns, self.rank, |j, k| self.scale[j] * self.right[(k, j)] / self.singular_values[k]);
        &roots * roots.transpose()
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{DMatrix, DVector};

    use super::Directions;

    #[test]
    fn a_damped_step_gains_what_is_predicted_and_solves_the_damped_normal_equations() {
        let jacobian = DMatrix::from_row_slice(4, 2, &[1.0, 2.0, -3.0, 0.5, 0.0, 4.0, 2.0, -1.0]);
        let residuals = DVector::from_vec(vec![1.0, -2.0, 0.5, 3.0]);
        let scale = DVector::from_vec(vec![0.5, 2.0]);
        let directions = Directions::new(&jacobian, &scale, 1e-9).expect("finite numbers");
        let parts = directions.parts(&residuals);
        for damping in [0.0, 0.3, 20.0] {
            let step = directions.step(&parts, damping);
            let there = &residuals + &jacobian * directions.in_units(&step);
            let gain = residuals.norm_squared() - there.norm_squared();
            assert!((directions.predicted_gain(&parts, damping) - gain).abs() < 1e-12, "{gain} with {damping}");
            // (J D)ᵀ (r + J p) + λ step = 0
            let gradient = jacobian.tr_mul(&there).component_mul(&scale) + damping * step;
            assert!(gradient.amax() < 1e-12, "{gradient} with {damping}");
        }
    }
}
