//! One bracket welded last: the others are welded first, the toe curve is gauged, and this one is placed where the curve comes
//! flat.
//!
//! Where the gauge puts it is found in [`placing`](super::placing); welding it there leaves a placing error.

use std::error::Error;
use std::fmt;

use nalgebra::DVector;

use super::placing::{GaugedCar, MIN_SHARE, Placing, along, plane_of, scale, toe_by_move};
use super::statistics::percentile;
use crate::geometry::{Corner, Side};
use crate::mechanism::{BuildFailure, PickupErrors};
use crate::studies::errors::ErrorModel;
use crate::studies::errors::random::{Purpose, UnitDeviates, stream};
use crate::studies::least_squares::Directions;
use crate::studies::sensitivity::Sensitivity;

/// The bracket that is welded last, and how well that is done.
#[derive(Debug, Clone, PartialEq)]
pub struct LastBracket {
    /// Name of the link whose bracket on the frame it is, on both sides.
    pub link: String,
    /// One standard deviation of a toe reading, deg.
    pub gauge_sd_deg: f64,
    /// One standard deviation of each of the two coordinates in its plane after welding, mm; normal.
    pub placing_sd_mm: f64,
}

/// Why a bracket cannot be the last.
#[derive(Debug, Clone, PartialEq)]
pub enum NoLastBracket {
    /// No link has its name.
    NoSuchLink {
        /// On this wheel.
        side: Side,
    },
    /// Moving it changes toe too little to flatten a toe curve.
    ChangesNothing {
        /// Of this wheel.
        side: Side,
        /// The most that it changes toe by, anywhere in the travel, deg per mm.
        deg_per_mm: f64,
    },
}

impl fmt::Display for NoLastBracket {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoLastBracket::NoSuchLink { side } => {
                write!(f, "no link of the {} side has that name; name one of its five", side.name())
            }
            NoLastBracket::ChangesNothing { side, deg_per_mm } => write!(
                f,
                "moving it changes toe of the {} wheel by {deg_per_mm:.4} deg per mm at most; name another link",
                side.name()
            ),
        }
    }
}

impl Error for NoLastBracket {}

/// A bracket whose millimetre does less to toe than this, deg, cannot flatten anything.
const MIN_EFFECT_DEG: f64 = 1e-3;
/// Slots and shims of a bracket seldom give more than this either way, mm: common practice.
pub const SLOTS_AND_SHIMS_MM: f64 = 10.0;
/// Cars in which every bracket is tried to first order.
const TRIAL_CARS: u64 = 400;

impl LastBracket {
    /// Index of its link on a wheel, when it can flatten a curve there.
    pub fn on(&self, sensitivity: &Sensitivity, corner: &Corner) -> Result<usize, NoLastBracket> {
        let side = corner.side;
        let link =
            corner.links.iter().position(|link| link.name == self.link).ok_or(NoLastBracket::NoSuchLink { side })?;
        let plane = plane_of(corner, link);
        let effect = |row: &Vec<f64>| plane.iter().map(|way| along(row, link, way).powi(2)).sum::<f64>().sqrt();
        let deg_per_mm = sensitivity.toe_by_coordinate.iter().map(effect).fold(0.0, f64::max);
        if deg_per_mm < MIN_EFFECT_DEG {
            return Err(NoLastBracket::ChangesNothing { side, deg_per_mm });
        }
        Ok(link)
    }

    /// The bracket of some cars of a study, gauged, placed and welded: how far it was moved in each, and the car with it there.
    pub(super) fn finish(
        &self,
        placing: &Placing<'_>,
        seed: u64,
        cars: &[(u64, PickupErrors)],
    ) -> Vec<Result<([f64; 2], PickupErrors), BuildFailure>> {
        let (model, side) = (placing.model, placing.model.corner.side);
        let read = |&(car, errors): &(u64, PickupErrors)| GaugedCar {
            errors,
            gauge_errors_deg: gauge_errors_deg(seed, car, side, self.gauge_sd_deg, model.bump_mm.len()),
        };
        let moves = placing.moves_mm(&cars.iter().map(read).collect::<Vec<_>>());
        let weld = |(&(car, errors), move_mm): (&(u64, PickupErrors), Result<[f64; 2], BuildFailure>)| {
            let move_mm = move_mm?;
            let placing_mm = placing_errors_mm(seed, car, side, self.placing_sd_mm);
            Ok((move_mm, placing.moved(&errors, [0, 1].map(|k| move_mm[k] + placing_mm[k]))))
        };
        cars.iter().zip(moves).map(weld).collect()
    }
}

/// Errors of the toe gauge at so many heights, each of one standard deviation of `sd_deg`, for one wheel of a car.
fn gauge_errors_deg(seed: u64, car: u64, side: Side, sd_deg: f64, heights: usize) -> Vec<f64> {
    let mut units = UnitDeviates::new(stream(seed, car, side, Purpose::Gauge), false);
    (0..heights).map(|_| sd_deg * units.next()).collect()
}

/// How far a bracket that was placed to the gauge ends up from there, in its plane, mm.
fn placing_errors_mm(seed: u64, car: u64, side: Side, sd_mm: f64) -> [f64; 2] {
    let mut units = UnitDeviates::new(stream(seed, car, side, Purpose::Placing), false);
    std::array::from_fn(|_| sd_mm * units.next())
}

/// Names of the links whose bracket may be welded last, on this wheel and to first order in a few hundred cars: of those that
/// need not go further than a bracket's slots and shims allow, the one that leaves the flattest curves first; where there is
/// none such, the one alone that goes least far. None that cannot flatten anything.
pub fn last_brackets(
    sensitivity: &Sensitivity,
    corner: &Corner,
    error_model: &ErrorModel,
    seed: u64,
    trial: &LastBracket,
) -> Vec<String> {
    let able = corner.links.iter().filter_map(|link| {
        let bracket = LastBracket { link: link.name.clone(), ..trial.clone() };
        let index = bracket.on(sensitivity, corner).ok()?;
        Some((first_order(sensitivity, corner, error_model, seed, index, &bracket)?, bracket.link))
    });
    let (mut near, mut far): (Vec<_>, Vec<_>) = able.partition(|(trial, _)| trial.move_mm <= SLOTS_AND_SHIMS_MM);
    near.sort_by(|(a, _), (b, _)| a.worst_deg.total_cmp(&b.worst_deg));
    far.sort_by(|(a, _), (b, _)| a.move_mm.total_cmp(&b.move_mm));
    far.truncate(usize::from(near.is_empty()));
    near.into_iter().chain(far).map(|(_, link)| link).collect()
}

/// What a last bracket does to first order.
struct Trial {
    /// Mean of the worst bump steer that is left, deg.
    worst_deg: f64,
    /// 95 of 100 moves are shorter, mm.
    move_mm: f64,
}

fn first_order(
    sensitivity: &Sensitivity,
    corner: &Corner,
    error_model: &ErrorModel,
    seed: u64,
    link: usize,
    bracket: &LastBracket,
) -> Option<Trial> {
    let rows = &sensitivity.toe_by_coordinate;
    let by_move = toe_by_move(sensitivity, corner, link);
    let directions = Directions::new(&by_move, &scale(), MIN_SHARE)?;
    let one = |car: u64| {
        let errors_mm = error_model.draw(seed, car, corner.side);
        let gauge = gauge_errors_deg(seed, car, corner.side, bracket.gauge_sd_deg, rows.len());
        let change = |(drawn, by): (&f64, &Vec<f64>)| {
            drawn + by.iter().zip(&errors_mm).map(|(by, error)| by * error).sum::<f64>()
        };
        let changes = DVector::from_iterator(rows.len(), sensitivity.toe_change_deg.iter().zip(rows).map(change));
        let move_mm = directions.solve(&(&changes + DVector::from_vec(gauge)));
        let placing_mm = placing_errors_mm(seed, car, corner.side, bracket.placing_sd_mm);
        let left = changes + &by_move * (&move_mm + DVector::from_row_slice(&placing_mm));
        (left.amax(), move_mm.norm())
    };
    let (worst, mut moves): (Vec<f64>, Vec<f64>) = (0..TRIAL_CARS).map(one).unzip();
    Some(Trial {
        worst_deg: worst.iter().sum::<f64>() / TRIAL_CARS as f64,
        move_mm: percentile(&mut moves, 0.95).unwrap_or(0.0),
    })
}
