//! One answer: what moved, and what it reaches.

use nalgebra::Point3;

use super::as_built::BuiltCar;
use super::clearance::{SHORT_MM, UnclearedPair};
use super::descent::Descent;
use super::given_up::GivenUp;
use super::held_back::{HeldBack, at_ends, at_limits, held_back};
use super::iterate::{Bounds, Iterate};
use super::problem::TuneProblem;
use super::residual::{Evaluation, Residual, ResidualOf};
use super::search::LIMIT_TOLERANCE;
use super::through_travel::AsDrawn;
use crate::geometry::{Adjustments, Corner, CornerPoint, End, Pickup, Quantity, Side};
use crate::studies::design_variables::{DesignVariables, VariableKind};
use crate::studies::heave::SideBind;
use crate::studies::plausibility::Doubt;
use crate::studies::termination::Termination;
use crate::studies::verdicts::{State, Verdict};

/// Which answer is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Choice {
    /// The one that forgives the weld error best.
    #[default]
    MostForgiving,
    /// The one with the least bump steer as drawn.
    Flattest,
}

/// One side of a car, tuned.
#[derive(Debug, Clone)]
pub struct TunedSide {
    /// Which side.
    pub side: Side,
    /// What the drawn wheel does.
    pub as_drawn: AsDrawn,
    /// Distinct good answers, best first; at least one.
    pub answers: Vec<Answer>,
    /// The answer that forgives the weld error best, when it could be found: of which most built cars pass every limit, or
    /// without a limit to pass the one of the least expected square of the toe curve.
    pub forgiving: Option<Answer>,
    /// Cars that were built to choose it.
    pub(super) built: Vec<BuiltCar>,
    /// How the descent from each start ended, in the order of the starts.
    pub starts: Vec<Termination>,
    /// Parts that are too near, as drawn where there is a drawing, and that no design variable can part; they were held at less.
    pub uncleared: Vec<UnclearedPair>,
    /// Limits that no answer within the free boxes keeps, alone or beside the others; they were let go.
    pub given_up: Vec<GivenUp>,
    /// What `check` doubts of the flattest answer and not of the drawn car, where it doubts every answer.
    pub(super) doubts: Vec<Doubt>,
    /// The same of the most forgiving one: that of a search that was stopped is the best there is.
    pub(super) forgiving_doubts: Vec<Doubt>,
    /// Where the other wheel, which has points of its own, binds inside its travel; then no limit of the axle was held.
    pub other_binds: Option<SideBind>,
}

impl TunedSide {
    /// The good answers beside the chosen one, best first.
    pub fn others(&self, choice: Choice) -> Vec<&Answer> {
        let chosen = &self.chosen(choice).corner;
        self.answers.iter().filter(|answer| answer.corner != *chosen).collect()
    }

    /// The limits that were let go, gaps between parts among them; built cars are told by the others too.
    pub(super) fn let_go(&self) -> Vec<Quantity> {
        limits_let_go(&self.given_up, !self.uncleared.is_empty())
    }

    /// What `check` doubts of the chosen answer and not of the drawn car.
    pub fn doubts_of(&self, choice: Choice) -> &[Doubt] {
        let is_flattest = self.chosen(choice).corner == self.answers[0].corner;
        if is_flattest { &self.doubts } else { &self.forgiving_doubts }
    }

    /// The same of the first of [`Self::others`]; none where that is not the flattest one.
    pub fn doubts_of_first_other(&self, choice: Choice) -> &[Doubt] {
        let is_flattest = self.others(choice).first().is_some_and(|other| other.corner == self.answers[0].corner);
        if is_flattest { &self.doubts } else { &[] }
    }

    /// The written answer as the tuned car is judged: limits that fail there are neither held nor just kept, and one that was let go
    /// has its nearest value there where it was found no nearer. Of the parts those are told that are too near there.
    pub(super) fn judged_by(mut self, written: Choice, verdicts: &[&Verdict], too_near: &[(String, f64)]) -> Self {
        for of in &mut self.uncleared {
            of.tuned_mm = too_near.iter().find(|(pair, _)| *pair == of.pair).map(|(_, mm)| *mm);
        }
        self.uncleared.retain(|of| of.tuned_mm.is_some());
        let fails = verdicts.iter().filter(|verdict| verdict.state == State::Fail);
        let failed: Vec<Quantity> = fails.map(|verdict| verdict.quantity).collect();
        let keeps = |of: &GivenUp| {
            let mut own = verdicts.iter().filter(|verdict| verdict.quantity == of.quantity).peekable();
            own.peek().is_some() && own.all(|verdict| verdict.state == State::Pass)
        };
        let was_given_up = !self.given_up.is_empty();
        self.given_up.retain(|of| !keeps(of));
        // What one wheel could not keep, the other one makes up for.
        let is_kept_now = was_given_up && self.given_up.is_empty();
        for of in &mut self.given_up {
            let worst = verdicts.iter().filter(|verdict| verdict.quantity == of.quantity && verdict.gap.is_none());
            if let [value] = worst.filter_map(|verdict| verdict.worst()).collect::<Vec<f64>>()[..] {
                of.met_by(value);
            }
        }
        let corner = self.chosen(written).corner.clone();
        for answer in self.answers.iter_mut().chain(&mut self.forgiving).filter(|answer| answer.corner == corner) {
            answer.limits_hold = (answer.limits_hold || is_kept_now) && failed.is_empty();
            answer.at_limits.retain(|at| failed.iter().all(|&quantity| *at != ResidualOf::Limit(quantity)));
        }
        self
    }

    /// The chosen answer steers more on paper than the car of the file, by what three decimals of a degree show, and the flattest
    /// does not: it was taken for what the welds make of it.
    pub fn is_less_flat_on_paper(&self, choice: Choice) -> bool {
        let AsDrawn::Moves { worst_deg } = self.as_drawn else { return false };
        let is_forgiving = choice == Choice::MostForgiving && self.forgiving.is_some();
        let steers_more = |answer: &Answer| answer.worst_bump_steer_deg.abs() > worst_deg.abs() + 0.5e-3;
        is_forgiving && steers_more(self.chosen(choice)) && !steers_more(&self.answers[0])
    }

    /// The answer that was asked for; the flattest when no forgiving one was found.
    pub fn chosen(&self, choice: Choice) -> &Answer {
        self.forgiving.as_ref().filter(|_| choice == Choice::MostForgiving).unwrap_or(&self.answers[0])
    }
}

/// Limits that were given up, and that of the gaps where some stay too small, in the order of the catalogue.
pub(super) fn limits_let_go(given_up: &[GivenUp], has_uncleared: bool) -> Vec<Quantity> {
    let is_let_go = |quantity: &&Quantity| {
        given_up.iter().any(|of| of.quantity == **quantity) || has_uncleared && **quantity == Quantity::Clearance
    };
    Quantity::ALL.iter().filter(is_let_go).copied().collect()
}

/// One answer for one side.
#[derive(Debug, Clone)]
pub struct Answer {
    /// The corner at its new drawn posture.
    pub corner: Corner,
    /// What of the first room is left, counted from the new places.
    pub room_left: Adjustments,
    /// Worst bump steer over the travel, per wheel.
    pub worst_bump_steer_deg: f64,
    /// How the descent to it ended.
    pub termination: Termination,
    /// True when every limit that tuning knows holds.
    pub limits_hold: bool,
    /// Points that moved.
    pub moves: Vec<Move>,
    /// Links that become longer or shorter.
    pub lengths: Vec<NewLength>,
    /// Values of the design variables that are no coordinates (spacers, tube brackets, lengths, clock angle), mm or deg from
    /// the drawn place, counted as in the file.
    pub settings: Vec<(VariableKind, f64)>,
    /// The targets of the file, in its order.
    pub targets: Vec<TargetReached>,
    /// By how much the toe curve that the file asks for is missed at most, deg; `None` when it asks for none.
    pub toe_curve_missed_by_deg: Option<f64>,
    /// Design variables at an end of their range whose range could be wider, the one that gains most first.
    pub held_back: Vec<HeldBack>,
    /// Every design variable that stands at an end of its range, and at which, mm or deg from the drawn place.
    pub at_ends: Vec<(VariableKind, f64)>,
    /// Limits that are just kept, of an answer that misses a target.
    pub at_limits: Vec<ResidualOf>,
}

impl Answer {
    /// It is the drawn car: no other answer is better by more than chance and toe differ from search to search.
    pub fn stays(&self) -> bool {
        self.moves.is_empty() && self.lengths.is_empty() && self.settings.is_empty()
    }

    /// It misses targets though nothing stands at an end of its room or at a limit: more of one is less of another. The drawn car
    /// says nothing of it, for nobody looked for the best place there.
    pub fn is_pulled_apart(&self) -> bool {
        let misses = self.targets.iter().any(|target| !target.reached);
        let is_held = !(self.held_back.is_empty() && self.at_limits.is_empty() && self.at_ends.is_empty());
        misses && self.limits_hold && !is_held && !self.stays()
    }

    /// The furthest that any point went, mm; `None` where every point that was placed is new.
    pub fn longest_move_mm(&self) -> Option<f64> {
        let distances = self.moves.iter().filter_map(Move::distance_mm);
        if self.moves.is_empty() { Some(0.0) } else { distances.reduce(f64::max) }
    }
}

/// A point that went somewhere else, car axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// Its name.
    pub point: String,
    /// `None` for a pickup that the file did not have yet.
    pub from: Option<Point3<f64>>,
    /// Where it belongs now, car axes, mm.
    pub to: Point3<f64>,
}

impl Move {
    /// Between both places; `None` for a point that is new.
    pub fn distance_mm(&self) -> Option<f64> {
        self.from.map(|from| (self.to - from).norm())
    }
}

/// The length of a link between the centres of its rod ends, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct NewLength {
    /// What the builder calls it.
    pub link: String,
    /// As drawn; `None` for a link that had no bracket yet.
    pub drawn_mm: Option<f64>,
    /// What it is to be made or set to.
    pub new_mm: f64,
}

/// How far a target was met.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TargetReached {
    /// What was aimed at.
    pub quantity: Quantity,
    /// The value furthest from its band.
    pub value: f64,
    /// Inside its band to a hundredth of the departure that matters.
    pub reached: bool,
}

/// Miss below which a target counts as reached: a hundredth of what matters in the shop.
const REACHED: f64 = 0.01;
/// Moves shorter than this are none, mm: half a last digit of a written file.
const MOVED_MM: f64 = 5e-5;

pub(super) fn answer(problem: &TuneProblem, bounds: &Bounds, end: &Descent) -> Option<Answer> {
    let Descent { iterate, termination } = end;
    let corner = problem.variables.apply(&iterate.design_vector).at_rest()?;
    Some(Answer {
        moves: moves(&problem.variables, &corner),
        lengths: lengths(&problem.variables, &corner),
        room_left: problem.variables.room_left(&problem.geometry.adjustments[corner.side], &iterate.design_vector),
        corner,
        worst_bump_steer_deg: problem.worst_bump_steer_deg(&iterate.design_vector, &iterate.evaluation)?,
        termination: *termination,
        limits_hold: iterate.evaluation.worst_violation() <= LIMIT_TOLERANCE
            && keeps_gaps(problem, &iterate.evaluation),
        settings: settings(problem, iterate),
        targets: targets(&iterate.evaluation.objective),
        toe_curve_missed_by_deg: problem.geometry.targets.toe.is_some().then(|| toe_miss_deg(&iterate.evaluation)),
        at_ends: at_ends(problem, bounds, iterate),
        at_limits: at_limits(&iterate.evaluation),
        held_back: held_back(problem, bounds, iterate),
    })
}

/// Parts that were too near as drawn, and are held at less, are as far apart all the same as the file asks.
fn keeps_gaps(problem: &TuneProblem, evaluation: &Evaluation) -> bool {
    let mut gaps = evaluation.limits.iter().filter(|residual| residual.subject == ResidualOf::TooNear);
    gaps.all(|gap| gap.value >= problem.gaps.least_mm - SHORT_MM)
}

fn settings(problem: &TuneProblem, iterate: &Iterate) -> Vec<(VariableKind, f64)> {
    let is_coordinate = |kind: &VariableKind| {
        matches!(
            kind,
            VariableKind::Pickup { .. }
                | VariableKind::SpringChassis { .. }
                | VariableKind::SpringMount { .. }
                | VariableKind::FinalDrive { .. }
        )
    };
    let all = problem.variables.list.iter().map(|variable| variable.kind).zip(iterate.design_vector.iter().copied());
    all.filter(|(kind, by)| !is_coordinate(kind) && by.abs() > MOVED_MM).collect()
}

fn moves(variables: &DesignVariables, tuned: &Corner) -> Vec<Move> {
    let drawn = variables.drawn();
    let pairs = drawn.points().into_iter().zip(tuned.points());
    pairs
        .filter_map(|((point, from), (_, to))| {
            let is_new = is_unplaced(variables, point);
            (is_new || (to - from).norm() > MOVED_MM).then(|| Move {
                point: drawn.name_of(point),
                from: (!is_new).then(|| drawn.side.to_car(from)),
                to: drawn.side.to_car(to),
            })
        })
        .collect()
}

pub(super) fn lengths(variables: &DesignVariables, tuned: &Corner) -> Vec<NewLength> {
    let pairs = variables.drawn().links.iter().zip(&tuned.links).zip(variables.unplaced);
    let new = pairs.filter_map(|((drawn, tuned), is_new)| {
        let drawn_mm = (!is_new).then(|| drawn.length_mm());
        let (link, new_mm) = (tuned.name.clone(), tuned.length_mm());
        let changes = drawn_mm.is_none_or(|drawn_mm| (new_mm - drawn_mm).abs() > MOVED_MM);
        changes.then_some(NewLength { link, drawn_mm, new_mm })
    });
    new.collect()
}

/// The point stands for a pickup that the file does not have yet.
fn is_unplaced(variables: &DesignVariables, point: CornerPoint) -> bool {
    matches!(point, CornerPoint::Pickup(Pickup { link, end: End::Chassis }) if variables.unplaced[link])
}

/// One line a target: the worst of its figures.
pub(super) fn targets(objective: &[Residual]) -> Vec<TargetReached> {
    let mut reached: Vec<TargetReached> = Vec::new();
    let mut misses: Vec<f64> = Vec::new();
    for residual in objective {
        let ResidualOf::Target(quantity) = residual.subject else { continue };
        let miss = residual.scaled().abs();
        let this = TargetReached { quantity, value: residual.value, reached: miss <= REACHED };
        match reached.iter().position(|target| target.quantity == quantity) {
            None => {
                reached.push(this);
                misses.push(miss);
            }
            Some(index) if miss > misses[index] => {
                reached[index] = this;
                misses[index] = miss;
            }
            Some(_) => {}
        }
    }
    reached
}

/// The largest departure from the toe curve that is asked for.
fn toe_miss_deg(evaluation: &Evaluation) -> f64 {
    let toe = evaluation.objective.iter().filter(|residual| matches!(residual.subject, ResidualOf::Toe { .. }));
    toe.map(|residual| (residual.value - residual.band.low).abs()).fold(0.0, f64::max)
}
