//! The bounds that chance alone seldom crosses.

use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};

/// So often a survey without any gross error has one suspected, and so often its readings seem noisier than they are.
const FALSE_ALARM: f64 = 0.01;

/// The bound on the largest of `count` standardised residuals (no unit): Bonferroni's, for all of them together.
pub(in crate::studies) fn critical_residual(count: usize) -> f64 {
    Normal::standard().inverse_cdf(1.0 - 0.5 * FALSE_ALARM / count.max(1) as f64)
}

/// The bound on a sum of squares with so much redundancy (no unit).
pub(super) fn critical_sum(redundancy: usize) -> f64 {
    sum_by_chance(redundancy, FALSE_ALARM)
}

/// What chance alone brings a sum of squares with so much redundancy above so often (no unit).
pub(in crate::studies) fn sum_by_chance(redundancy: usize, so_often: f64) -> f64 {
    ChiSquared::new(redundancy as f64).map_or(f64::INFINITY, |distribution| distribution.inverse_cdf(1.0 - so_often))
}

#[cfg(test)]
mod tests {
    use super::{critical_residual, critical_sum};

    /// Tables of the normal and the χ² distribution: 2.5758 for 1 % both ways, 3.2905 for 0.1 %; 6.635 and 23.209 for one
    /// and ten degrees of freedom at 1 %.
    #[test]
    fn bounds_are_those_of_the_tables() {
        assert!((critical_residual(1) - 2.5758).abs() < 1e-4);
        assert!((critical_residual(10) - 3.2905).abs() < 1e-4);
        assert!((critical_sum(1) - 6.635).abs() < 1e-3);
        assert!((critical_sum(10) - 23.209).abs() < 1e-3);
    }
}
