//! The other side: places that fit the same readings as well, or nearly so.
//!
//! Datums in a plane leave a point on either side of it, and a group of points that hang together can stand on the other
//! side as a whole. Each other branch is adjusted with everything beside it before it is taken for one.

use nalgebra::{Matrix3, Point3, Vector3};
use rayon::prelude::*;

use super::network::{Network, Solved};
use super::observation::Observation;
use super::start::minima;

/// A branch whose sum of squares is larger by this is not meant: a chance below 1 in 10,000.
const TELLS_APART: f64 = 15.0;
/// A single point whose own readings fit worse by this on the other side is not tried there.
const WORTH_A_TRIAL: f64 = 1e3;
/// Two branches of a point are apart when they are this many of its standard deviations apart, and this many mm.
const APART_SDS: f64 = 3.0;
const APART_MM: f64 = 1.0;
/// Places that stray from a plane by more than this (root mean square) tell its two sides apart, mm: far more than any
/// reading errs.
const NEARLY_A_PLANE_MM: f64 = 100.0;

/// The other branches of a solution, as good as it is or nearly so; `points` are those of the unknowns that may change sides.
pub(super) fn others(
    here: &Solved,
    unknowns: &[usize],
    points: &[usize],
    used: &[usize],
    observations: &[Observation],
) -> Vec<Solved> {
    let seen: Vec<&Observation> = used.iter().map(|&index| &observations[index]).collect();
    let network = Network { unknowns, observations: &seen };
    let mut starts: Vec<Vec<Point3<f64>>> = Vec::new();
    for &point in points.iter().filter(|&&point| here.is_determined(point)) {
        let own: Vec<&Observation> =
            seen.iter().copied().filter(|seen| seen.of.stations().any(|end| end == point)).collect();
        let sum_here = Network { unknowns: &[point], observations: &own }.sum_of_squares(&here.places);
        for (other, sum) in minima(point, &own, &here.places) {
            if is_apart(here, point, &other) && sum <= sum_here + WORTH_A_TRIAL {
                let mut start = here.places.clone();
                start[point] = other;
                starts.push(start);
            }
        }
    }
    if points.len() > 1 {
        starts.extend(reflected(here, points, &seen));
    }
    let is_other = |other: &Solved| {
        other.sum_of_squares <= here.sum_of_squares + TELLS_APART && !moved(here, other, points).is_empty()
    };
    starts.par_iter().map(|start| network.solve(start)).filter(is_other).collect()
}

/// The points that stand elsewhere on another branch.
pub(super) fn moved(here: &Solved, other: &Solved, points: &[usize]) -> Vec<usize> {
    let has_moved = |point: &usize| here.is_determined(*point) && is_apart(here, *point, &other.places[*point]);
    points.iter().copied().filter(has_moved).collect()
}

fn is_apart(here: &Solved, point: usize, other: &Point3<f64>) -> bool {
    let largest_sd_mm = here.block(point, point).symmetric_eigenvalues().max().max(0.0).sqrt();
    (here.places[point] - other).norm() > (APART_SDS * largest_sd_mm).max(APART_MM)
}

/// All points on the other side of the plane in which the places that they were taped from lie, more or less.
fn reflected(here: &Solved, points: &[usize], seen: &[&Observation]) -> Option<Vec<Point3<f64>>> {
    let mut from: Vec<usize> = seen.iter().flat_map(|seen| seen.of.stations()).collect();
    from.sort_unstable();
    from.dedup();
    from.retain(|place| !points.contains(place));
    if from.is_empty() {
        return None;
    }
    let middle = from.iter().map(|&place| here.places[place].coords).sum::<Vector3<f64>>() / from.len() as f64;
    let spread: Matrix3<f64> =
        from.iter().map(|&place| here.places[place].coords - middle).map(|from| from * from.transpose()).sum();
    let eigen = spread.symmetric_eigen();
    if (eigen.eigenvalues.min() / from.len() as f64).sqrt() > NEARLY_A_PLANE_MM {
        return None;
    }
    let normal = eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned();
    let mut places = here.places.clone();
    for &point in points {
        let height_mm = (places[point].coords - middle).dot(&normal);
        places[point] -= 2.0 * height_mm * normal;
    }
    Some(places)
}
