//! What the readings tell of the pickups, and what they cannot tell apart.

use super::estimate::Estimate;
use super::finding::{Estimated, PickupEstimate, ToldApart};
use crate::geometry::{Axis, Coordinate, Corner, CornerPoint};

/// A combination that is known at least twice as well as before.
const KNOWN: f64 = 0.5;
/// A combination of which less than this is gone was not seen.
const UNSEEN: f64 = 0.99;
/// Coordinates whose effects on the readings are correlated as closely as this do the same to them.
const ALIKE: f64 = 0.98;
/// Coordinates that do less than this share of what the strongest does to the readings are not worth telling of.
const WEAK: f64 = 0.25;
/// Pairs that are told.
const PAIRS: usize = 3;

pub(super) fn told_apart(estimate: &Estimate<'_>, wheel: usize) -> ToldApart {
    let sd_left = estimate.sd_left(wheel);
    ToldApart {
        known: sd_left.iter().filter(|left| **left <= KNOWN).count(),
        sd_left: sd_left.into_iter().filter(|left| *left < UNSEEN).collect(),
        alike: alike(estimate, wheel),
    }
}

fn alike(estimate: &Estimate<'_>, wheel: usize) -> Vec<[String; 2]> {
    let corner = estimate.problem.wheels[wheel].drawn.corner;
    let first = estimate.problem.first_of(wheel);
    // The first thirty independent errors are the coordinates' own.
    let effects: Vec<_> = (0..Coordinate::COUNT).map(|k| estimate.jacobian.column(first + k)).collect();
    let strongest = effects.iter().map(|effect| effect.norm()).fold(0.0, f64::max);
    let strong: Vec<usize> = (0..Coordinate::COUNT).filter(|&k| effects[k].norm() > WEAK * strongest).collect();
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for (i, &k) in strong.iter().enumerate() {
        for &l in &strong[..i] {
            let sizes = effects[k].norm() * effects[l].norm();
            if effects[k].dot(&effects[l]).abs() > ALIKE * sizes {
                pairs.push((sizes, l, k));
            }
        }
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    pairs.into_iter().take(PAIRS).map(|(_, k, l)| [k, l].map(|k| title(corner, Coordinate::nth(k)))).collect()
}

/// `toe link chassis z`.
fn title(corner: &Corner, coordinate: Coordinate) -> String {
    format!("{} {}", point(corner, coordinate), coordinate.axis.name())
}

fn point(corner: &Corner, coordinate: Coordinate) -> String {
    corner.name_of(CornerPoint::Pickup(coordinate.pickup()))
}

/// Every coordinate with what the readings make of it.
pub(super) fn pickups(estimate: &Estimate<'_>, wheel: usize) -> Vec<PickupEstimate> {
    let problem = &estimate.problem;
    let prior = &problem.wheels[wheel];
    let values = problem.wheel(&estimate.unknowns, wheel, problem.rounds() - 1).errors_mm;
    let covariance = estimate.covariance_of_errors(wheel);
    let of = |k: usize| {
        let coordinate = Coordinate::nth(k);
        let by = nalgebra::DVector::from_vec(prior.errors.effects(&unit(k)));
        PickupEstimate {
            point: point(prior.drawn.corner, coordinate),
            axis: Axis::ALL[k % 3].name(),
            off_mm: Estimated { value: values[k], sd: by.dot(&(&covariance * &by)).max(0.0).sqrt() },
            prior_sd_mm: by.norm(),
            coordinate,
        }
    };
    (0..Coordinate::COUNT).map(of).collect()
}

fn unit(of: usize) -> [f64; Coordinate::COUNT] {
    std::array::from_fn(|k| f64::from(k == of))
}
