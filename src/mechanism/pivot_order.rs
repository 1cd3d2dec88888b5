//! The order in which the five link rows are eliminated.
//!
//! The order found by a search for the largest pivots at design serves nearly the whole path, and without the search the
//! elimination is straight-line arithmetic. Where a pivot gets small all the same, the search is made again.
//!
//! Source: Gaussian elimination with partial pivoting, any numerical text.

use super::kernel::{Lu5, pivoted_order};

/// An order of the five rows, and the sign of the permutation, which the determinant takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PivotOrder {
    rows: [usize; 5],
    sign: f64,
}

/// Pivots above this cost at most three digits of sixteen: rows have entries of order one.
const SAFE_PIVOT: f64 = 1e-3;
/// Pivots below this are zero to rounding.
const MIN_PIVOT: f64 = 1e-13;

impl PivotOrder {
    /// The order that a search for the largest pivots finds.
    pub(super) fn with_search<const C: usize>(rows: [[f64; C]; 5]) -> Self {
        let rows = pivoted_order(rows);
        let swapped = (0..5).flat_map(|i| (0..i).map(move |j| (j, i))).filter(|&(j, i)| rows[j] > rows[i]).count();
        Self { rows, sign: if swapped.is_multiple_of(2) { 1.0 } else { -1.0 } }
    }

    /// Factors and determinant of the five rows; `None` when a pivot vanishes in every order.
    #[inline]
    pub(super) fn eliminate<const C: usize>(&self, row: impl Fn(usize) -> [f64; C]) -> Option<(Lu5<C>, f64)> {
        let lu = Lu5::of(self.rows.map(&row));
        if lu.pivots().iter().all(|pivot| pivot.abs() >= SAFE_PIVOT) {
            let determinant = lu.pivots().iter().product::<f64>() * self.sign;
            return Some((lu, determinant));
        }
        eliminate_with_search(std::array::from_fn(row))
    }
}

/// The same with a search for the largest pivots at these very rows.
#[cold]
fn eliminate_with_search<const C: usize>(rows: [[f64; C]; 5]) -> Option<(Lu5<C>, f64)> {
    let order = PivotOrder::with_search(rows);
    let lu = Lu5::of(order.rows.map(|i| rows[i]));
    // A NaN is no regular pivot either.
    let regular = lu.pivots().iter().all(|pivot| pivot.abs() > MIN_PIVOT);
    let determinant = lu.pivots().iter().product::<f64>() * order.sign;
    regular.then_some((lu, determinant))
}

#[cfg(test)]
mod tests {
    use super::PivotOrder;

    #[test]
    fn the_determinant_does_not_depend_on_the_order() {
        let rows = [
            [0.1, 2.0, -0.3, 0.7, 1.1],
            [1.5, 0.2, 0.4, -0.6, 0.3],
            [-0.2, 0.5, 0.9, 0.8, -1.3],
            [0.6, -0.7, 1.2, 0.1, 0.2],
            [0.3, 0.4, -0.5, 1.4, 0.9],
        ];
        let expected = nalgebra::Matrix5::from_fn(|i, j| rows[i][j]).determinant();
        for turned in 0..5 {
            let order = PivotOrder::with_search(std::array::from_fn::<_, 5, _>(|i| rows[(i + turned) % 5]));
            let (_, determinant) = order.eliminate(|i| rows[i]).expect("regular rows");
            assert!((determinant - expected).abs() < 1e-12, "{determinant} against {expected}");
        }
    }

    #[test]
    fn a_row_that_repeats_another_has_no_pivot() {
        let row = [0.1, 2.0, -0.3, 0.7, 1.1];
        let rows = [row, row, [0.0, 0.0, 1.0, 0.0, 0.0], [1.0, 0.0, 0.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0, 0.0]];
        assert!(PivotOrder::with_search(rows).eliminate(|i| rows[i]).is_none());
    }
}
