//! Gross errors found by testing standardised residuals, and taken out one by one.
//!
//! A residual over its own standard deviation `σ √r` (r its redundancy: the share of its error that shows in it) is a
//! standard normal number as long as nothing was misread. The largest of all is tested; when it is too large, that
//! observation is taken out, the rest is adjusted anew, and so on. An observation that fits in the end is taken back.
//!
//! Source: W. Baarda, *A testing procedure for use in geodetic networks*, 1968 (from memory). Tested by
//! `tests/survey/errors.rs`.

use nalgebra::Point3;

use super::network::{Network, Solved};
use super::observation::Observation;

/// An observation with less redundancy is not controlled by the others (no unit).
const MIN_REDUNDANCY: f64 = 1e-6;
/// Residuals that are correlated as closely as this rise and fall together: which of them is wrong cannot be told.
const INSEPARABLE: f64 = 0.995;
/// At most this share of the observations is taken out; where more are wrong, nothing can be told from the rest.
const MAX_REMOVED: f64 = 1.0 / 3.0;
/// Squares of standardised residuals that differ by less leave open which of the two is wrong: odds of about 1 in 90.
const AS_LIKELY: f64 = 9.0;

/// Places from what agrees, and what does not.
#[derive(Debug, Clone)]
pub(super) struct Snooped {
    pub(super) solved: Solved,
    /// Of the observations, by index: those that were used.
    pub(super) used: Vec<usize>,
    pub(super) suspects: Vec<SuspectObservation>,
    /// Observations that cannot all be right and cannot be told apart; used all the same.
    pub(super) contradiction: Vec<usize>,
}

impl Snooped {
    /// How many observations do not fit.
    pub(super) fn doubts(&self) -> usize {
        self.suspects.len() + self.contradiction.len()
    }
}

#[derive(Debug, Clone)]
pub(super) struct SuspectObservation {
    pub(super) index: usize,
    /// Others that could be the wrong ones as well.
    pub(super) or: Vec<usize>,
}

/// The residual of one observation that was used.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tested {
    index: usize,
    /// Over its own standard deviation (no unit).
    pub(super) standardised: f64,
    pub(super) redundancy: f64,
}

/// The redundancy of an observation that was used, and its residual over its standard deviation, when it is controlled.
pub(super) fn tested(seen: &Observation, index: usize, solved: &Solved) -> Option<Tested> {
    let redundancy = 1.0 - solved.variance_of(seen.of) / seen.sd_mm.powi(2);
    let residual = (seen.value_mm - solved.value_mm(seen.of)) / seen.sd_mm;
    (redundancy > MIN_REDUNDANCY).then(|| Tested { index, standardised: residual / redundancy.sqrt(), redundancy })
}

/// Adjusts some observations of some places from a start, and takes out what does not fit.
pub(super) fn snoop(
    unknowns: &[usize],
    members: &[usize],
    observations: &[Observation],
    start: &[Point3<f64>],
    critical: f64,
) -> Snooped {
    let solve = |used: &[usize], start: &[Point3<f64>]| {
        let seen: Vec<&Observation> = used.iter().map(|&index| &observations[index]).collect();
        Network { unknowns, observations: &seen }.solve(start)
    };
    let mut used = members.to_vec();
    let mut solved = solve(&used, start);
    let mut suspects: Vec<SuspectObservation> = Vec::new();
    let mut contradiction = Vec::new();
    let most = (MAX_REMOVED * members.len() as f64).floor() as usize;
    loop {
        let mut residuals: Vec<Tested> =
            used.iter().filter_map(|&index| tested(&observations[index], index, &solved)).collect();
        residuals.sort_by(|a, b| b.standardised.abs().total_cmp(&a.standardised.abs()));
        let Some(worst) = residuals.first().filter(|worst| worst.standardised.abs() > critical) else { break };
        let correlated =
            residuals[1..].iter().filter(|other| correlation(worst, other, observations, &solved) > INSEPARABLE);
        let inseparable: Vec<usize> = correlated.map(|other| other.index).collect();
        if !inseparable.is_empty() || suspects.len() == most {
            contradiction = inseparable;
            contradiction.push(worst.index);
            contradiction.sort_unstable();
            break;
        }
        let as_likely = |other: &&Tested| other.standardised.powi(2) > worst.standardised.powi(2) - AS_LIKELY;
        let or = residuals[1..].iter().take_while(as_likely).map(|other| other.index).collect();
        suspects.push(SuspectObservation { index: worst.index, or });
        used.retain(|&index| index != worst.index);
        solved = solve(&used, &solved.places);
    }
    if contradiction.is_empty() {
        take_back(&mut used, &mut suspects, observations, &mut solved, critical, &solve);
    }
    Snooped { solved, used, suspects, contradiction }
}

/// Takes back what fits after all: an observation that was only taken out for the error of another.
fn take_back(
    used: &mut Vec<usize>,
    suspects: &mut Vec<SuspectObservation>,
    observations: &[Observation],
    solved: &mut Solved,
    critical: f64,
    solve: &impl Fn(&[usize], &[Point3<f64>]) -> Solved,
) {
    let fits = |suspect: &SuspectObservation, solved: &Solved| {
        let seen = &observations[suspect.index];
        let sd_mm = (seen.sd_mm.powi(2) + solved.variance_of(seen.of)).sqrt();
        (seen.value_mm - solved.value_mm(seen.of)).abs() <= critical * sd_mm
    };
    while let Some(at) = suspects.iter().position(|suspect| fits(suspect, solved)) {
        used.push(suspects.remove(at).index);
        used.sort_unstable();
        *solved = solve(used, &solved.places);
    }
}

/// Size of the correlation of two residuals.
fn correlation(a: &Tested, b: &Tested, observations: &[Observation], solved: &Solved) -> f64 {
    let [seen_a, seen_b] = [a, b].map(|tested| &observations[tested.index]);
    let covariance = solved.covariance_of(&solved.row(seen_a.of), &solved.row(seen_b.of));
    (covariance / (seen_a.sd_mm * seen_b.sd_mm) / (a.redundancy * b.redundancy).sqrt()).abs()
}

#[cfg(test)]
mod tests {
    use nalgebra::Point3;

    use super::super::observation::{Observed, Source};
    use super::{Network, Observation, SuspectObservation, take_back};
    use crate::geometry::Axis;

    /// A mean of three readings of 1 mm has a standard deviation of 0.577 mm, so one reading more is off by 1.155 mm: twice that
    /// is 2.309 mm.
    #[test]
    fn a_reading_that_fits_after_all_is_taken_back() {
        for (read_mm, fits) in [(2.2, true), (2.4, false), (-2.2, true)] {
            let seen = |axis: Axis, value_mm: f64| Observation {
                source: Source::Reading(0),
                of: Observed::Coordinate { of: 0, axis },
                value_mm,
                sd_mm: 1.0,
            };
            let x = [-0.1, 0.1, 0.0, read_mm].map(|value_mm| seen(Axis::X, value_mm));
            let all = [x[0], x[1], x[2], seen(Axis::Y, 0.0), seen(Axis::Z, 0.0), x[3]];
            let solve = |used: &[usize], start: &[Point3<f64>]| {
                let observations: Vec<&Observation> = used.iter().map(|&index| &all[index]).collect();
                Network { unknowns: &[0], observations: &observations }.solve(start)
            };
            let (mut used, mut suspects) = (vec![0, 1, 2, 3, 4], vec![SuspectObservation { index: 5, or: Vec::new() }]);
            let mut solved = solve(&used, &[Point3::new(1.0, 1.0, 1.0)]);
            take_back(&mut used, &mut suspects, &all, &mut solved, 2.0, &solve);
            assert_eq!((used.len() == 6, suspects.is_empty()), (fits, fits), "{read_mm} mm");
            let mean_mm = if fits { read_mm / 4.0 } else { 0.0 };
            assert!((solved.places[0].x - mean_mm).abs() < 1e-6, "{read_mm} mm: {}", solved.places[0]);
        }
    }
}
