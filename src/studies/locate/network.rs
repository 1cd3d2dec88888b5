//! Places that are sought together, as one least-squares problem.

use std::convert::Infallible;

use nalgebra::{DMatrix, DVector, Matrix3, Point3};

use super::observation::{Observation, Observed};
use crate::studies::least_squares::{FitOptions, LeastSquaresProblem, Linearisation, fit};

/// A direction that changes the readings by less than this share of what the strongest one does is not determined: with
/// readings of 1 mm it would be known to kilometres.
const MIN_SINGULAR_RATIO: f64 = 1e-7;
/// A step no longer than this is the last, mm; far below what any tape shows.
const SETTLED_MM: f64 = 1e-7;
const MAX_STEPS: u64 = 100;
/// A place moves along a null direction when it takes at least this part in it (no unit).
const TAKES_PART: f64 = 1e-4;

/// Places that are sought, among all places, and what was observed of them.
pub(super) struct Network<'a> {
    pub(super) unknowns: &'a [usize],
    pub(super) observations: &'a [&'a Observation],
}

/// Where the sought places are, and how well that is known.
#[derive(Debug, Clone)]
pub(super) struct Solved {
    /// All places; those that were not sought stand where they stood.
    pub(super) places: Vec<Point3<f64>>,
    /// Of each place: the first of its three columns, when it was sought.
    columns: Vec<Option<usize>>,
    /// mm², of the sought places, in their columns.
    covariance: DMatrix<f64>,
    null_directions: Vec<DVector<f64>>,
    /// Of squares of residuals over their standard deviations.
    pub(super) sum_of_squares: f64,
    pub(super) rank: usize,
}

impl Network<'_> {
    /// The places at which the sum of squares is least, sought downhill from `start`.
    pub(super) fn solve(&self, start: &[Point3<f64>]) -> Solved {
        let columns = self.columns(start.len());
        let problem = Problem { network: self, places: start, columns: &columns };
        let parameters = DVector::from_iterator(
            3 * self.unknowns.len(),
            self.unknowns.iter().flat_map(|&place| start[place].iter().copied()),
        );
        let options = FitOptions {
            scale: DVector::from_element(parameters.len(), 1.0),
            min_singular_ratio: MIN_SINGULAR_RATIO,
            settled: SETTLED_MM,
            max_steps: MAX_STEPS,
        };
        // Finite places have finite residuals, so a fit always starts; without unknowns there is nothing to fit.
        let fitted = if parameters.is_empty() { None } else { fit(&problem, parameters, &options).ok() };
        match fitted {
            Some(fit) => Solved {
                places: problem.places_of(&fit.parameters),
                sum_of_squares: fit.sum_of_squares(),
                rank: fit.rank,
                covariance: fit.covariance,
                null_directions: fit.null_directions,
                columns,
            },
            None => Solved {
                places: start.to_vec(),
                sum_of_squares: self.sum_of_squares(start),
                rank: 0,
                covariance: DMatrix::zeros(3 * self.unknowns.len(), 3 * self.unknowns.len()),
                null_directions: Vec::new(),
                columns,
            },
        }
    }

    pub(super) fn sum_of_squares(&self, places: &[Point3<f64>]) -> f64 {
        let residual = |seen: &&Observation| (seen.of.value_mm(places) - seen.value_mm) / seen.sd_mm;
        self.observations.iter().map(|seen| residual(seen).powi(2)).sum()
    }

    fn columns(&self, places: usize) -> Vec<Option<usize>> {
        let mut columns = vec![None; places];
        self.unknowns.iter().enumerate().for_each(|(k, &place)| columns[place] = Some(3 * k));
        columns
    }
}

struct Problem<'a> {
    network: &'a Network<'a>,
    places: &'a [Point3<f64>],
    columns: &'a [Option<usize>],
}

impl Problem<'_> {
    fn places_of(&self, parameters: &DVector<f64>) -> Vec<Point3<f64>> {
        let mut places = self.places.to_vec();
        for (k, &place) in self.network.unknowns.iter().enumerate() {
            places[place] = Point3::from(parameters.fixed_rows::<3>(3 * k).into_owned());
        }
        places
    }
}

impl LeastSquaresProblem for Problem<'_> {
    type Failure = Infallible;

    fn linearised(&self, parameters: &DVector<f64>) -> Result<Linearisation, Infallible> {
        let (places, seen) = (self.places_of(parameters), self.network.observations);
        let mut residuals = DVector::zeros(seen.len());
        let mut jacobian = DMatrix::zeros(seen.len(), parameters.len());
        for (row, observation) in seen.iter().enumerate() {
            residuals[row] = (observation.of.value_mm(&places) - observation.value_mm) / observation.sd_mm;
            for (place, by) in observation.of.derivatives(&places) {
                let Some(column) = self.columns[place] else { continue };
                (0..3).for_each(|axis| jacobian[(row, column + axis)] = by[axis] / observation.sd_mm);
            }
        }
        Ok(Linearisation { residuals, jacobian })
    }
}

impl Solved {
    /// Places none of which is sought.
    pub(super) fn exact(places: &[Point3<f64>]) -> Self {
        Network { unknowns: &[], observations: &[] }.solve(places)
    }

    /// What the places make of an observation, mm.
    pub(super) fn value_mm(&self, of: Observed) -> f64 {
        of.value_mm(&self.places)
    }

    /// The derivatives of an observation by the sought places, as columns with numbers.
    pub(super) fn row(&self, of: Observed) -> Vec<(usize, f64)> {
        let by_place = of.derivatives(&self.places).filter_map(|(place, by)| Some((self.columns[place]?, by)));
        by_place.flat_map(|(column, by)| (0..3).map(move |axis| (column + axis, by[axis]))).collect()
    }

    /// Covariance of two observations as the places make them, mm².
    pub(super) fn covariance_of(&self, a: &[(usize, f64)], b: &[(usize, f64)]) -> f64 {
        a.iter().map(|(i, by_i)| by_i * b.iter().map(|(j, by_j)| by_j * self.covariance[(*i, *j)]).sum::<f64>()).sum()
    }

    /// Variance of an observation as the places make it, mm².
    pub(super) fn variance_of(&self, of: Observed) -> f64 {
        let row = self.row(of);
        self.covariance_of(&row, &row)
    }

    /// Covariance of two places, mm²; zero for one that was not sought.
    pub(super) fn block(&self, a: usize, b: usize) -> Matrix3<f64> {
        match (self.columns[a], self.columns[b]) {
            (Some(a), Some(b)) => self.covariance.fixed_view::<3, 3>(a, b).into_owned(),
            _ => Matrix3::zeros(),
        }
    }

    /// True for a place that the observations fix.
    pub(super) fn is_determined(&self, place: usize) -> bool {
        let Some(column) = self.columns[place] else { return true };
        self.null_directions.iter().all(|along| along.fixed_rows::<3>(column).norm() < TAKES_PART)
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::Point3;

    use super::super::observation::Source;
    use super::{Network, Observation, Observed};
    use crate::geometry::Axis;

    #[test]
    fn residuals_count_over_their_standard_deviations() {
        let places = [Point3::origin(), Point3::new(30.0, 40.0, 0.0)];
        let seen = |of, value_mm, sd_mm| Observation { source: Source::Reading(0), of, value_mm, sd_mm };
        // Off by 6 mm with 2 mm each, and by 2 mm with half a millimetre.
        let taped = seen(Observed::Distance([0, 1]), 56.0, 2.0);
        let plumbed = seen(Observed::Coordinate { of: 1, axis: Axis::Y }, 38.0, 0.5);
        let network = Network { unknowns: &[], observations: &[&taped, &plumbed] };
        assert_eq!(network.sum_of_squares(&places), 25.0);
        assert_eq!(network.solve(&places).sum_of_squares, 25.0);
    }
}
