//! The shortest cure for a toe curve: one bracket moved in one direction, or in its plane, confirmed by solving the moved
//! car.

use super::rig::Rig;
use super::sensitivity::{Coordinate, Sensitivity};
use super::toe_curve::slope_through_design;
use super::tune::{Aim, Freedom, Freedoms, Judge, Place, Settled, descend};
use crate::geometry::{Band, End, Play, Side};

/// What a toe curve mostly consists of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mostly {
    Slope,
    Bow,
}

/// Where one bracket must go, and what is then left.
#[derive(Debug, Clone, PartialEq)]
pub struct Cure {
    pub mostly: Mostly,
    /// Moves of one chassis bracket, mm in side axes; one or two coordinates.
    pub moves: Vec<(Coordinate, f64)>,
    /// Worst bump steer of the moved car, solved, deg per wheel.
    pub leaves_deg: f64,
}

/// A bracket that had to go further than this is another bracket, mm.
const FURTHEST_MM: f64 = 40.0;
/// Coordinates that are tried, best by first order first.
const TRIED: usize = 4;
/// A second coordinate must at least halve what the first one leaves.
const WORTH_A_SECOND: f64 = 0.5;

/// The cure of one wheel's present curve, other limits held; `None` when no single bracket helps.
pub fn cure(rig: &Rig, sensitivity: &Sensitivity) -> Option<Cure> {
    let mut candidates: Vec<(Coordinate, f64)> = Coordinate::all()
        .enumerate()
        .filter(|(_, coordinate)| coordinate.end == End::Chassis)
        .map(|(index, coordinate)| (coordinate, left_by_first_order(sensitivity, index)))
        .collect();
    candidates.sort_by(|a, b| a.1.total_cmp(&b.1));
    let side = sensitivity.side;
    let singles = candidates.iter().take(TRIED).filter_map(|(coordinate, _)| solved(rig, side, &[*coordinate]));
    let single = singles.min_by(|a, b| a.leaves_deg.total_cmp(&b.leaves_deg))?;
    let first = single.moves.first()?.0;
    let pairs = (0..3).filter(|&axis| axis != first.axis).map(|axis| [first, Coordinate { axis, ..first }]);
    let pair = pairs.filter_map(|pair| solved(rig, side, &pair)).min_by(|a, b| a.leaves_deg.total_cmp(&b.leaves_deg));
    let limit_deg = rig.geometry.limits.bump_steer_deg.unwrap_or(0.0);
    let better =
        pair.filter(|pair| single.leaves_deg > limit_deg && pair.leaves_deg < WORTH_A_SECOND * single.leaves_deg);
    let best = better.unwrap_or(single);
    (best.leaves_deg < sensitivity.worst_deg()).then(|| Cure {
        mostly: mostly(sensitivity),
        moves: best.moves,
        leaves_deg: best.leaves_deg,
    })
}

/// Slope when the fitted line accounts for more of the worst value than what it leaves.
fn mostly(sensitivity: &Sensitivity) -> Mostly {
    let pairs: Vec<(f64, f64)> =
        sensitivity.bump_mm.iter().copied().zip(sensitivity.toe_change_deg.iter().copied()).collect();
    let slope = slope_through_design(&pairs);
    let (line, left) = pairs.iter().fold((0.0_f64, 0.0_f64), |(line, left), (bump, change)| {
        (line.max((slope * bump).abs()), left.max((change - slope * bump).abs()))
    });
    if line >= left { Mostly::Slope } else { Mostly::Bow }
}

/// Sum of squares left when one coordinate is moved to where first order puts it, inside its reach.
fn left_by_first_order(sensitivity: &Sensitivity, index: usize) -> f64 {
    let rows = || sensitivity.toe_change_deg.iter().zip(&sensitivity.toe_by_coordinate);
    let square: f64 = rows().map(|(_, by)| by[index] * by[index]).sum();
    let cross: f64 = rows().map(|(change, by)| change * by[index]).sum();
    let by_mm = if square > 0.0 { (-cross / square).clamp(-FURTHEST_MM, FURTHEST_MM) } else { 0.0 };
    rows().map(|(change, by)| (change + by[index] * by_mm).powi(2)).sum()
}

struct Candidate {
    moves: Vec<(Coordinate, f64)>,
    leaves_deg: f64,
}

/// Tunes these coordinates alone.
fn solved(rig: &Rig, side: Side, coordinates: &[Coordinate]) -> Option<Candidate> {
    let play = Play { low: -FURTHEST_MM, high: FURTHEST_MM, step: None };
    let list = coordinates
        .iter()
        .map(|c| Freedom { place: Place::Pickup { link: c.link, end: c.end, axis: c.axis }, play })
        .collect();
    let freedoms = Freedoms::chosen(rig.geometry.corner(side), list);
    let judge = Judge::new(rig.geometry, side, freedoms, Some(rig.wheel(side)));
    let bounds = vec![Band { low: play.low, high: play.high }; coordinates.len()];
    let start = vec![0.0; coordinates.len()];
    let squares = descend(&judge, &bounds, &start, Aim::Squares, &|| false)?;
    let Settled { setting, judgement } = descend(&judge, &bounds, &squares.setting, Aim::Worst, &|| false)?;
    let moves = coordinates.iter().copied().zip(setting).collect();
    Some(Candidate { moves, leaves_deg: judgement.worst_toe_deg() })
}
