//! The finished tuning: the car before and after, the answers, the coordinates that matter most, and what a single bracket
//! could do.

use super::answer::{Answer, Choice, TunedSide};
use super::odds::{TunedOdds, WorstOfWheel};
use super::other_shaft::of_other_shaft;
use super::through_travel::{AsWritten, hidden_doubts};
use crate::geometry::{Coordinate, Geometry, Quantity, Side};
use crate::studies::car_findings::CarFindings;
use crate::studies::cure::{Cure, cure};
use crate::studies::curves::Curves;
use crate::studies::judged_car::JudgedCar;
use crate::studies::plausibility::{Doubt, doubts};
use crate::studies::rig::{Rig, SingularDesign};
use crate::studies::sensitivity::Sensitivity;
use crate::studies::termination::Termination;
use crate::studies::tolerance::Watch;
use crate::studies::verdicts::{State, Verdict};

/// How a tuning was run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TuneRun {
    /// The same seed gives the same answers.
    pub seed: u64,
    /// Places that the search started from.
    pub starts: usize,
    /// Which answer is written.
    pub choice: Choice,
    /// By the user.
    pub stopped_early: bool,
    /// Cars built for the chance that a welded one passes.
    pub cars: usize,
}

/// Everything that `tune` tells of a car.
#[derive(Debug, Clone)]
pub struct TuneFindings<'g> {
    /// How it was run.
    pub run: TuneRun,
    /// `None` for a car that has no pickups yet or cannot be moved.
    pub drawn: Option<JudgedCar<'g>>,
    /// The drawn car for charts.
    pub drawn_curves: Option<Curves>,
    /// Of the tuned car; its warnings are of the file that was tuned.
    pub car: CarFindings<'g>,
    /// Those that were tuned.
    pub sides: Vec<SideFindings>,
    /// Sides that were asked for and of which the file leaves nothing free, so that nothing of them was tuned.
    pub without_room: Vec<Side>,
    /// Of the answers, once welded.
    pub odds: TunedOdds,
    /// What `check` doubts of the drawn car, and no longer of the tuned one.
    pub hidden_doubts: Vec<Doubt>,
}

/// One side, tuned.
#[derive(Debug, Clone)]
pub struct SideFindings {
    /// The search and its answers.
    pub tuned: TunedSide,
    /// Of the drawn car, or of the tuned one when the drawn one has no pickups; `None` when a posture is singular.
    pub sensitivity: Option<Sensitivity>,
    /// Coordinates on which toe depends most, the strongest first, and least, the weakest first.
    pub most: Vec<Strength>,
    /// The weakest first.
    pub least: Vec<Strength>,
    /// What one bracket alone would do to the drawn car.
    pub cure: Option<Cure>,
}

/// Largest change of toe anywhere in the travel with one millimetre of a coordinate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strength {
    /// That is moved.
    pub coordinate: Coordinate,
    /// Size of the change of toe.
    pub deg_per_mm: f64,
}

/// Coordinates that are named at either end of the ranking.
const MOST: usize = 3;
const LEAST: usize = 2;

impl<'g> TuneFindings<'g> {
    /// Of a car, its answers, and the car as it was written down; as far as these wheels go.
    pub fn of(
        geometry: &'g Geometry,
        tuned: Vec<TunedSide>,
        (written, as_written): (&'g Geometry, AsWritten),
        sides: &[Side],
        run: TuneRun,
        watch: Watch<'_>,
    ) -> Result<Self, SingularDesign> {
        let after = JudgedCar::of(Rig::new(written)?);
        let drawn = geometry.unplaced().is_empty().then(|| Rig::new(geometry).ok().map(JudgedCar::of)).flatten();
        let is_tuned = |side: Side| geometry.mirrored || tuned.iter().any(|of| of.side == side);
        let without_room = sides.iter().copied().filter(|&side| !is_tuned(side)).collect();
        let judged = |side: TunedSide| {
            let is_of = |verdict: &&Verdict| verdict.side.is_none_or(|of| of == side.side);
            let verdicts: Vec<&Verdict> = after.verdicts.iter().filter(is_of).collect();
            let too_near = too_near(&after, side.side);
            side.judged_by(run.choice, &verdicts, &too_near)
        };
        let tuned: Vec<TunedSide> = tuned.into_iter().map(judged).collect();
        let odds = TunedOdds::of(geometry, &tuned, as_written, run.choice, run.cars, watch);
        let found = |side| SideFindings::of(side, drawn.as_ref(), &after);
        let sides_found = tuned.into_iter().map(found).collect();
        let drawn_curves = drawn.as_ref().map(|car| Curves::of(&car.rig));
        let (car, warnings) = (CarFindings::of(after, sides), doubts(geometry));
        Ok(Self {
            run,
            without_room,
            hidden_doubts: hidden_doubts(&warnings, &car.warnings),
            // What is doubted of the answer is told beside it.
            car: CarFindings { warnings, ..car },
            sides: sides_found,
            odds,
            drawn,
            drawn_curves,
        })
    }

    /// The answer of a side that was written.
    pub fn chosen<'a>(&self, side: &'a SideFindings) -> &'a Answer {
        side.tuned.chosen(self.run.choice)
    }

    /// The car whose sensitivities are told: as drawn, or as tuned when it had no pickups.
    pub fn reference(&self) -> &JudgedCar<'g> {
        self.drawn.as_ref().unwrap_or(&self.car.judged)
    }

    /// Counting was stopped: fewer cars than asked for tell the odds of the written answer.
    pub fn cars_stopped_at(&self) -> Option<usize> {
        self.odds.written().map(|odds| odds.cars).filter(|cars| *cars < self.run.cars)
    }

    /// The wheel that was not asked for, and the limits that it breaks beside those of the wheels that were; none where both were, or where
    /// it is the mirror image.
    pub fn broken_by_other_wheel(&self) -> (Side, Vec<Quantity>) {
        let (car, asked) = (&self.car.judged, &self.car.sides);
        let other = Side::BOTH.into_iter().find(|side| !asked.contains(side) && !car.geometry().mirrored);
        let Some(other) = other else { return (Side::Right, Vec::new()) };
        let fails = car.verdicts.iter().filter(|of| of.side == Some(other) && of.state == State::Fail);
        let mut broken: Vec<Quantity> = fails.map(|of| of.quantity).collect();
        broken.dedup();
        (other, broken)
    }

    /// Starts from which each side was searched to the end: fewer than asked for where it was stopped.
    pub fn starts_ended(&self) -> usize {
        let ended = |of: &SideFindings| of.tuned.starts.iter().filter(|start| **start != Termination::Stopped).count();
        let fewest = self.sides.iter().map(ended).min();
        fewest.filter(|_| self.run.stopped_early).unwrap_or(self.run.starts)
    }

    /// Sides of which no search had ended when it was stopped: what is told of them is hardly more than a start.
    pub fn hardly_searched(&self) -> Vec<Side> {
        let is_stopped = |found: &&SideFindings| found.tuned.starts.iter().all(|start| *start == Termination::Stopped);
        self.sides.iter().filter(|_| self.run.stopped_early).filter(is_stopped).map(|found| found.tuned.side).collect()
    }

    /// How those tuned wheels spread of which the written answer is flatter than a shop can measure and weld; none of a car that
    /// breaks a limit, for which flat is not what it lacks least.
    pub fn flatter_than_built(&self) -> Vec<(Side, WorstOfWheel)> {
        let Some(odds) = self.odds.written().filter(|_| self.car.limit_totals.fail == 0) else { return Vec::new() };
        let worst = self.sides.iter().map(|found| (found.tuned.side, odds.worst[found.tuned.side]));
        worst.filter(|(_, worst)| worst.is_flatter_than_built()).collect()
    }

    /// The flattest answer is the one that forgives most.
    pub fn is_flattest_forgiving(&self) -> bool {
        let corner = |side: &'_ SideFindings, choice| side.tuned.chosen(choice).corner.clone();
        self.sides.iter().all(|side| corner(side, Choice::Flattest) == corner(side, Choice::MostForgiving))
    }
}

/// Pairs of parts that are nearer than the file asks, by the names of the side that was tuned, with their least gaps.
fn too_near(car: &JudgedCar, tuned: Side) -> Vec<(String, f64)> {
    let of_side = |side: Side| {
        let fails = car.clearance[side].pairs.iter().filter(|pair| pair.state == State::Fail);
        fails.map(move |of| {
            let name = if side == tuned { of.pair.clone() } else { of_other_shaft(&of.pair, side) };
            (name, of.least_mm)
        })
    };
    Side::BOTH.into_iter().flat_map(of_side).collect()
}

impl SideFindings {
    fn of(tuned: TunedSide, drawn: Option<&JudgedCar>, after: &JudgedCar) -> Self {
        let sensitivity = Sensitivity::of(&drawn.unwrap_or(after).rig, tuned.side);
        let ranked = sensitivity.as_ref().map(ranked).unwrap_or_default();
        let drawn = drawn.filter(|_| tuned.as_drawn.worst_deg().is_some());
        Self {
            cure: drawn.zip(sensitivity.as_ref()).and_then(|(car, sensitivity)| cure(&car.rig, sensitivity)),
            most: ranked.iter().take(MOST).copied().collect(),
            least: ranked.iter().rev().take(LEAST).copied().collect(),
            sensitivity,
            tuned,
        }
    }
}

/// The strongest first.
fn ranked(sensitivity: &Sensitivity) -> Vec<Strength> {
    let strength = |(index, coordinate)| Strength { coordinate, deg_per_mm: sensitivity.strength_deg(index) };
    let mut all: Vec<Strength> = Coordinate::all().enumerate().map(strength).collect();
    all.sort_by(|a, b| b.deg_per_mm.total_cmp(&a.deg_per_mm));
    all
}
