//! The shortest cure for a toe curve: one bracket moved in one direction, or in its plane, confirmed by solving the moved
//! car.

use nalgebra::{DMatrix, DVector};
use rayon::prelude::*;
use serde::Serialize;

use super::design_variables::{DesignVariable, DesignVariables, VariableKind};
use super::least_squares::Directions;
use super::rig::Rig;
use super::sensitivity::Sensitivity;
use super::termination::Termination;
use super::toe_curve::slope_through_design;
use super::tune::{Descent, LIMIT_TOLERANCE, NoPosture, Objective, TuneProblem, descend, descend_on};
use crate::geometry::{AdjustmentRange, Axis, Coordinate, End, Geometry, PointAdjustment, Quantity};

/// What a toe curve mostly consists of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Mostly {
    /// More of it is slope.
    Slope,
    /// More of it is bow.
    Bow,
}

/// Where one bracket must go, and what is then left.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cure {
    /// What the curve is mostly made of.
    pub mostly: Mostly,
    /// Name of the link whose chassis bracket moves.
    pub link: String,
    /// One or two.
    pub moves: Vec<BracketMove>,
    /// What of the moves lies beyond the free room of the bracket; empty inside of it, and where the file gives the bracket none.
    pub beyond_room: Vec<BracketMove>,
    /// Worst bump steer of the moved car, solved, deg per wheel.
    pub leaves_deg: f64,
    /// The moved car keeps its bump-steer limit; `None` without one. Every other limit that tuning holds is kept in any case, or no
    /// worse than on the drawn car where that breaks it.
    pub cures: Option<bool>,
    /// Length of the link as drawn and with its bracket moved, between the centres of its rod ends, mm.
    pub drawn_length_mm: f64,
    /// See `drawn_length_mm`.
    pub new_length_mm: f64,
    /// How the descent to it ended.
    pub termination: Termination,
}

/// A move of a bracket along one axis of its side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct BracketMove {
    /// y is outboard on both sides.
    pub axis: Axis,
    /// How far, mm; x forward, y outboard, z up.
    pub by_mm: f64,
}

/// A bracket that had to go further than this is another bracket, mm.
const MAX_MM: f64 = 40.0;
/// Brackets that are solved first, best by first order first.
const TRIED: usize = 3;
/// Of moves that leave at most this share of the limit the shortest is told: what they leave no weld holds.
const WELL_INSIDE: f64 = 0.5;
/// A second coordinate must at least halve what the first one leaves.
const WORTH_A_SECOND: f64 = 0.5;
/// Less than this beyond its room is no digit that is shown, mm.
const BEYOND_MM: f64 = 0.05;
/// A direction of a bracket that does less than this, against its strongest, does nothing that rounding leaves to be seen.
const MIN_SINGULAR_RATIO: f64 = 1e-9;

/// What is broken as drawn may be broken by this share of its band more: a bracket that cures toe is not given up for less.
const WORSE_SHARE: f64 = 0.05;

/// The cure of one wheel's present curve, other limits held as tuning holds them, or no worse than they are where they are broken
/// already; `None` when no single bracket helps.
pub fn cure(rig: &Rig, sensitivity: &Sensitivity) -> Option<Cure> {
    // Toe alone is to be cured: another target would draw the bracket away until the curve is as steep as its limit allows.
    let mut asked = rig.geometry.clone();
    asked.targets.list.clear();
    let search = Search { rig, sensitivity, asked: &asked };
    let best = search.best()?;
    let (bracket, _) = best.moves.first()?;
    let link = &rig.geometry.corner(sensitivity.side).links[bracket.link];
    let moved = best.moves.iter().fold(link.chassis, |place, (c, by_mm)| place + c.axis.direction() * *by_mm);
    (best.leaves_deg < sensitivity.worst_deg()).then(|| Cure {
        mostly: mostly(sensitivity),
        link: link.name.clone(),
        moves: best.moves.iter().map(|(c, by_mm)| BracketMove { axis: c.axis, by_mm: *by_mm }).collect(),
        beyond_room: search.beyond_room(&best),
        leaves_deg: best.leaves_deg,
        cures: search.cures(&best),
        drawn_length_mm: link.length_mm(),
        new_length_mm: (link.upright - moved).norm(),
        termination: best.termination,
    })
}

/// Of moves of a bracket what its room does not hold; a coordinate that is not free has none where another one is.
///
/// Tested by `a_cure_says_how_far_it_is_beyond_the_free_room`.
fn beyond_room(room: &PointAdjustment, moves: &[(Coordinate, f64)]) -> Vec<BracketMove> {
    if room.iter().all(Option::is_none) {
        return Vec::new();
    }
    let beyond = |(coordinate, by_mm): &(Coordinate, f64)| {
        let inside_mm = room[coordinate.axis.index()].map_or(0.0, |range| by_mm.clamp(range.low, range.high));
        BracketMove { axis: coordinate.axis, by_mm: by_mm - inside_mm }
    };
    moves.iter().map(beyond).filter(|beyond| beyond.by_mm.abs() > BEYOND_MM).collect()
}

/// The coordinates of the chassis brackets.
fn chassis() -> impl Iterator<Item = Coordinate> {
    Coordinate::all().filter(|coordinate| coordinate.end == End::Chassis)
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

/// Sum of squares of the toe curve when these coordinates go where first order puts them, inside their reach.
fn left_by_first_order(sensitivity: &Sensitivity, set: &[Coordinate]) -> f64 {
    let columns: Vec<usize> = Coordinate::all().enumerate().filter(|(_, c)| set.contains(c)).map(|(i, _)| i).collect();
    let rows = sensitivity.toe_change_deg.len();
    let slopes = DMatrix::from_fn(rows, columns.len(), |i, j| sensitivity.toe_by_coordinate[i][columns[j]]);
    let curve = DVector::from_column_slice(&sensitivity.toe_change_deg);
    let directions = Directions::new(&slopes, &DVector::from_element(columns.len(), 1.0), MIN_SINGULAR_RATIO);
    directions.map_or(f64::INFINITY, |directions| {
        let reached = directions.solve(&curve).map(|mm| mm.clamp(-MAX_MM, MAX_MM));
        (curve + slopes * reached).norm_squared()
    })
}

#[derive(Clone)]
struct Candidate {
    moves: Vec<(Coordinate, f64)>,
    leaves_deg: f64,
    termination: Termination,
}

impl Candidate {
    fn length_mm(&self) -> f64 {
        self.moves.iter().map(|(_, by_mm)| by_mm * by_mm).sum::<f64>().sqrt()
    }
}

/// The one that leaves least.
fn least(candidates: &[Candidate]) -> Option<Candidate> {
    candidates.iter().min_by(|a, b| a.leaves_deg.total_cmp(&b.leaves_deg)).cloned()
}

/// Two coordinates where they are worth it, of those that do not cure.
fn better(single: Option<Candidate>, plane: Option<Candidate>) -> Option<Candidate> {
    let worth_deg = single.as_ref().map_or(f64::INFINITY, |single| WORTH_A_SECOND * single.leaves_deg);
    plane.filter(|plane| plane.leaves_deg < worth_deg).or(single)
}

/// Brackets to be tried on one wheel.
struct Search<'s, 'g> {
    rig: &'s Rig<'g>,
    sensitivity: &'s Sensitivity,
    /// The car with what is asked of it.
    asked: &'s Geometry,
}

impl Search<'_, '_> {
    /// One coordinate where that cures, or else two in the plane of a bracket where they cure or are worth it. Those that first order puts in front
    /// are tried first; where none of them cures, every other bracket is tried too.
    fn best(&self) -> Option<Candidate> {
        let singles = self.in_order(chassis().map(|coordinate| vec![coordinate]).collect());
        let of_link = |link| chassis().filter(|c| c.link == link && c.axis != Axis::X).collect();
        let planes = self.in_order((0..5).map(of_link).collect());
        let single = self.solved_each(&singles[..TRIED]);
        if let Some(cure) = self.shortest_cure(&single) {
            return Some(cure);
        }
        let plane = self.solved_each(&planes[..TRIED]);
        if let Some(cure) = self.shortest_cure(&plane) {
            return Some(cure);
        }
        // What a bracket can do up and down or in and out alone, it can do in its plane.
        let along: Vec<_> = singles[TRIED..].iter().filter(|set| set[0].axis == Axis::X).cloned().collect();
        let plane = [plane, self.solved_each(&planes[TRIED..])].concat();
        if let Some(cure) = self.shortest_cure(&plane) {
            return Some(cure);
        }
        better(least(&[single, self.solved_each(&along)].concat()), least(&plane))
    }

    /// By what first order leaves.
    fn in_order(&self, mut sets: Vec<Vec<Coordinate>>) -> Vec<Vec<Coordinate>> {
        let left = |set: &[Coordinate]| left_by_first_order(self.sensitivity, set);
        sets.sort_by(|a, b| left(a).total_cmp(&left(b)));
        sets
    }

    /// Those that break no limit.
    fn solved_each(&self, sets: &[Vec<Coordinate>]) -> Vec<Candidate> {
        let solved: Vec<_> = sets.par_iter().map(|set| self.solved(set).ok().flatten()).collect();
        solved.into_iter().flatten().collect()
    }

    /// Of candidates that cure, the shortest of those that leave next to nothing, one inside the free room of its bracket first; else
    /// the one that leaves least.
    fn shortest_cure(&self, candidates: &[Candidate]) -> Option<Candidate> {
        let limit_deg = self.asked.bump_steer_limit_deg()?;
        let well_inside = candidates.iter().filter(|candidate| candidate.leaves_deg <= WELL_INSIDE * limit_deg);
        let rank = |candidate: &&Candidate| (!self.beyond_room(candidate).is_empty(), candidate.length_mm());
        let in_order =
            |(a_beyond, a_mm): (bool, f64), (b_beyond, b_mm)| a_beyond.cmp(&b_beyond).then(a_mm.total_cmp(&b_mm));
        let shortest = well_inside.min_by(|a, b| in_order(rank(a), rank(b))).cloned();
        shortest.or_else(|| least(candidates)).filter(|candidate| self.cures(candidate) == Some(true))
    }

    fn beyond_room(&self, candidate: &Candidate) -> Vec<BracketMove> {
        let room = |link: usize| &self.rig.geometry.adjustments[self.sensitivity.side].links[link].chassis;
        candidate.moves.first().map_or_else(Vec::new, |(of, _)| beyond_room(room(of.link), &candidate.moves))
    }

    /// `None` without a bump-steer limit.
    fn cures(&self, candidate: &Candidate) -> Option<bool> {
        let limit_deg = self.asked.bump_steer_limit_deg()?;
        Some(candidate.leaves_deg <= limit_deg)
    }

    /// Tunes these coordinates alone; `None` where that breaks a limit.
    fn solved(&self, coordinates: &[Coordinate]) -> Result<Option<Candidate>, NoPosture> {
        let (rig, side) = (self.rig, self.sensitivity.side);
        let range = AdjustmentRange { low: -MAX_MM, high: MAX_MM, step: None };
        let list = coordinates
            .iter()
            .map(|c| DesignVariable { kind: VariableKind::Pickup { link: c.link, end: c.end, axis: c.axis }, range })
            .collect();
        let variables = DesignVariables::chosen(self.asked.corner(side), list);
        let problem = TuneProblem::new(self.asked, side, variables, Some(rig.wheel(side)));
        // Toe is what is made better: as a limit that cannot be kept it would be weighed against the others.
        let problem = problem.no_worse_than_drawn(WORSE_SHARE).without_limit(Quantity::BumpSteer);
        let bounds = vec![range.interval(); coordinates.len()];
        let start = vec![0.0; coordinates.len()];
        let squares = descend(&problem, &bounds, &start, Objective::Squares, &|| false)?;
        let Descent { iterate, termination } =
            descend_on(&problem, &bounds, squares.iterate, Objective::Worst, &|| false)?;
        let leaves_deg = problem.worst_bump_steer_deg(&iterate.design_vector, &iterate.evaluation).ok_or(NoPosture)?;
        let moves = coordinates.iter().copied().zip(iterate.design_vector).collect();
        let keeps_limits = iterate.evaluation.worst_violation() <= LIMIT_TOLERANCE;
        Ok(keeps_limits.then_some(Candidate { moves, leaves_deg, termination }))
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::{Cure, cure};
    use crate::file::GeometryFile;
    use crate::geometry::{Geometry, Interval, Quantity, Side, Target};
    use crate::studies::State;
    use crate::studies::judged_car::JudgedCar;
    use crate::studies::rig::Rig;
    use crate::studies::sensitivity::Sensitivity;

    #[test]
    fn what_a_cure_leaves_is_that_of_all_rows_of_the_moved_car() {
        let file = GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a sound file");
        let mut geometry = file.geometry;
        for step_mm in [5.0, 0.02] {
            geometry.travel.step_mm = step_mm;
            let rig = Rig::new(&geometry).expect("a sound design");
            let sensitivity = Sensitivity::of(&rig, Side::Left).expect("a car that moves");
            let Cure { link, moves, leaves_deg, .. } = cure(&rig, &sensitivity).expect("a cure");
            let mut moved = geometry.clone();
            let link = moved.left.links.iter_mut().find(|found| found.name == link).expect("the link");
            moves.iter().for_each(|made| link.chassis[made.axis.index()] += made.by_mm);
            let car = JudgedCar::of(Rig::new(&moved).expect("a sound design"));
            let worst_deg = car.toe.left.worst_bump_steer_deg;
            assert!((worst_deg - leaves_deg).abs() < 1e-12, "step {step_mm} mm: {worst_deg} for {leaves_deg}");
        }
    }

    /// The roll centre is too low as drawn, and its target is far off: the toe link's bracket goes where toe is flat all the same.
    /// The moved car is judged by itself.
    #[test]
    fn a_cure_is_found_beside_limits_that_are_broken_already_and_targets_that_are_far() {
        let file = GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a sound file");
        let mut geometry = file.geometry;
        let cured = |geometry: &Geometry| {
            let rig = Rig::new(geometry).expect("a sound design");
            let sensitivity = Sensitivity::of(&rig, Side::Left).expect("a car that moves");
            cure(&rig, &sensitivity).expect("a cure")
        };
        let free = cured(&geometry);
        let drawn_mm = JudgedCar::of(Rig::new(&geometry).expect("a sound design"))
            .verdicts
            .iter()
            .find(|verdict| verdict.quantity == Quantity::RollCentreHeight)
            .and_then(|verdict| verdict.range)
            .expect("a roll centre")
            .high;
        // The cure takes it 1.5 mm further down.
        let just_broken = Interval { low: drawn_mm + 0.5, high: drawn_mm + 45.0 };
        geometry.limits.set(Quantity::RollCentreHeight, Some(just_broken));
        geometry.targets.list =
            vec![Target { quantity: Quantity::RollCentreHeight, band: Interval::single(drawn_mm + 40.0), weight: 1.0 }];
        let found = cured(&geometry);
        assert_eq!((free.cures, found.cures), (Some(true), Some(true)), "{free:?} {found:?}");
        assert!(found.leaves_deg < 0.7 * 0.05, "no margin: {found:?}");
        let mut moved = geometry.clone();
        let link = moved.left.links.iter_mut().find(|link| link.name == found.link).expect("the link");
        found.moves.iter().for_each(|made| link.chassis[made.axis.index()] += made.by_mm);
        let states = |geometry: &Geometry| {
            let car = JudgedCar::of(Rig::new(geometry).expect("a sound design"));
            let of_left = car.verdicts.iter().filter(|verdict| verdict.side == Some(Side::Left));
            of_left.map(|verdict| (verdict.quantity, verdict.state)).collect::<Vec<_>>()
        };
        for (before, after) in states(&geometry).iter().zip(&states(&moved)) {
            let expected = if before.0 == Quantity::BumpSteer { (before.0, State::Pass) } else { *before };
            assert_eq!(*after, expected);
        }
    }

    /// A car that is nearly flat as drawn, the toe link's bracket 0.8 mm too high: it goes back down, though a long move leaves less.
    #[test]
    fn of_moves_that_leave_next_to_nothing_the_shortest_is_told() {
        let file = GeometryFile::read(Path::new("geometries/double-wishbone.toml")).expect("a sound file");
        let mut geometry = file.geometry;
        let toe_link = geometry.left.links.iter_mut().find(|link| link.name == "toe link").expect("the link");
        toe_link.chassis.z += 0.8;
        let rig = Rig::new(&geometry).expect("a sound design");
        let sensitivity = Sensitivity::of(&rig, Side::Left).expect("a car that moves");
        let found = cure(&rig, &sensitivity).expect("a cure");
        let length_mm = found.moves.iter().map(|made| made.by_mm * made.by_mm).sum::<f64>().sqrt();
        assert!(found.cures == Some(true) && length_mm < 1.5 && found.leaves_deg < 0.025, "{found:?}");
    }

    /// Roll centre and anti-squat may hardly leave where they are drawn, and the bracket that would make the toe curve flat moves them:
    /// the moved car is judged by itself.
    #[test]
    fn a_move_that_does_not_cure_breaks_no_other_limit() {
        let file = GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a sound file");
        let mut geometry = file.geometry;
        let state_of = |geometry: &Geometry, of: Quantity| {
            let car = JudgedCar::of(Rig::new(geometry).expect("a sound design"));
            let verdict = car.verdicts.iter().find(|verdict| verdict.quantity == of).expect("a verdict");
            (verdict.state, verdict.range.expect("a range"))
        };
        for of in [Quantity::RollCentreHeight, Quantity::AntiSquat] {
            let drawn = state_of(&geometry, of).1;
            geometry.limits.set(of, Some(Interval { low: drawn.low - 0.3, high: drawn.high + 0.3 }));
        }
        let rig = Rig::new(&geometry).expect("a sound design");
        let sensitivity = Sensitivity::of(&rig, Side::Left).expect("a car that moves");
        let found = cure(&rig, &sensitivity).expect("a move that helps");
        let mut moved = geometry.clone();
        let link = moved.left.links.iter_mut().find(|link| link.name == found.link).expect("the link");
        found.moves.iter().for_each(|made| link.chassis[made.axis.index()] += made.by_mm);
        assert_eq!(found.cures, Some(false));
        assert_eq!(state_of(&moved, Quantity::BumpSteer).0, State::Fail);
        for of in [Quantity::RollCentreHeight, Quantity::AntiSquat] {
            assert_eq!(state_of(&moved, of).0, State::Pass, "{of:?}");
        }
    }
}
