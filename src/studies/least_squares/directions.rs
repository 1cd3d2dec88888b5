//! The directions in which parameters change residuals, strongest first, and how many of them do so at all.

use nalgebra::{DMatrix, DVector};

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
        let svd = scaled.svd(true, true);
        let singular_values = svd.singular_values;
        let least = min_singular_ratio * singular_values.max();
        let rank = singular_values.iter().filter(|&&value| value > least).count();
        let left = svd.u?.rows(0, rows).into_owned();
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
    pub(super) fn covariance(&self) -> DMatrix<f64> {
        let columns = self.right.ncols();
        let roots =
            DMatrix::from_fn(columns, self.rank, |j, k| self.scale[j] * self.right[(k, j)] / self.singular_values[k]);
        &roots * roots.transpose()
    }
}
