//! A tuned car: what moved, and what it reaches.

use nalgebra::{Point3, Unit};

use super::already_tuned::{self, is_clearly_flatter, is_clearly_more_forgiving};
use super::clearance::UnclearedPair;
use super::descent::Descent;
use super::design_variable::{DesignVariables, Moved, VariableKind};
use super::forgiveness::Forgiveness;
use super::given_up::{GivenUp, within_reach};
use super::held_back::{HeldBack, at_ends, at_limits, chance_held_back, held_back};
use super::iterate::{Bounds, Iterate};
use super::problem::{Evaluation, Residual, ResidualOf, TuneProblem};
use super::search::{
    LIMIT_TOLERANCE, SearchOptions, SearchResult, bounds_of, differ, distinct, is_idle, most_forgiving, search,
};
use super::through_travel::{Against, AsDrawn, AsWritten, Reader};
use crate::geometry::{Adjustments, Axis, Corner, CornerPoint, End, Geometry, LinkAdjustments, Pickup, Quantity, Side};
use crate::studies::errors::ErrorModel;
use crate::studies::heave::SideBind;
use crate::studies::plausibility::Doubt;
use crate::studies::rig::RigWheel;
use crate::studies::termination::Termination;

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
    /// How the descent from each start ended, in the order of the starts.
    pub starts: Vec<Termination>,
    /// Parts that are too near as drawn and that no design variable can part; they were not held.
    pub uncleared: Vec<UnclearedPair>,
    /// Limits that no answer within the free boxes keeps, alone or beside the others; they were let go.
    pub given_up: Vec<GivenUp>,
    /// What `check` doubts of the best answer and not of the drawn car, where it doubts every answer.
    pub doubts: Vec<Doubt>,
    /// Where the other wheel, which has points of its own, binds inside its travel; then no limit of the axle was held.
    pub other_binds: Option<SideBind>,
}

impl TunedSide {
    /// The good answers beside the chosen one, best first.
    pub fn others(&self, choice: Choice) -> &[Answer] {
        let both_stay = self.answers[0].stays() && self.chosen(choice).stays();
        let from = if choice == Choice::MostForgiving && self.forgiving.is_some() && !both_stay { 0 } else { 1 };
        &self.answers[from..]
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

/// Why a car cannot be tuned.
#[derive(Debug, Clone, PartialEq)]
pub enum TuneError {
    /// Nothing is free on any side asked for.
    NothingFree,
    /// A variable changes no figure that is wanted or limited.
    ChangesNothing {
        /// Of the corner.
        side: Side,
        /// What does nothing.
        variable: VariableKind,
    },
    /// A target on a figure that the file lacks the data for.
    NotMeasurable {
        /// Of the corner.
        side: Side,
        /// What cannot be measured.
        quantity: Quantity,
    },
    /// No start could be moved through its travel.
    NoStart {
        /// Of the corner.
        side: Side,
    },
    /// The other side has points of its own, lacks pickups too, and was not asked for: there would be no car to judge.
    OtherSideWithoutPickups {
        /// That was not asked for.
        side: Side,
    },
    /// A target has no finite value on a wheel that moves.
    NoValue {
        /// Of the corner.
        side: Side,
        /// What has none.
        quantity: Quantity,
    },
    /// Every answer binds inside its travel once it is written down.
    BindsAsWritten {
        /// Where the best one does.
        bind: SideBind,
    },
}

impl std::fmt::Display for TuneError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            TuneError::NothingFree => write!(f, "nothing is free to move"),
            TuneError::ChangesNothing { side, .. } => {
                write!(f, "a variable of the {} side changes nothing that is wanted or limited", side.name())
            }
            TuneError::NotMeasurable { side, .. } => {
                write!(f, "a target of the {} side cannot be measured for want of data", side.name())
            }
            TuneError::NoStart { side } => {
                write!(f, "no place inside the boxes lets the {} wheel move through its travel", side.name())
            }
            TuneError::OtherSideWithoutPickups { side } => {
                write!(f, "the {} side has no pickups yet, and is not tuned", side.name())
            }
            TuneError::NoValue { side, quantity } => {
                write!(f, "the target {} has no finite value on the {} wheel as drawn", quantity.name(), side.name())
            }
            TuneError::BindsAsWritten { bind } => {
                let (side, way) = (bind.side.name(), bind.towards.name());
                write!(f, "the {side} side of every answer binds, the best at {:.1} mm of {way}", bind.at_bump_mm.abs())
            }
        }
    }
}

impl std::error::Error for TuneError {}

/// The coordinate itself, car axes, mm, of an end of the box in which a point that was not there was looked for; `None` of what
/// is counted from a drawn place.
pub fn new_coordinate_mm(geometry: &Geometry, side: Side, kind: &VariableKind, at: f64) -> Option<(Axis, f64)> {
    let VariableKind::Pickup { link, end: End::Chassis, axis } = *kind else { return None };
    let is_new = !geometry.adjustments[side].links[link].is_placed();
    let sign = if axis == Axis::Y { side.sign() } else { 1.0 };
    is_new.then(|| (axis, sign * (geometry.corner(side).links[link].chassis[axis.index()] + at)))
}

/// Miss below which a target counts as reached: a hundredth of what matters in the shop.
const REACHED: f64 = 0.01;
/// Moves shorter than this are none, mm: half a last digit of a written file.
const MOVED_MM: f64 = 5e-5;

/// Tunes every side of a car that has variables of its own; a mirrored car is tuned on the left. An answer that binds
/// inside its travel once it is written down is none.
pub fn tune(
    geometry: &Geometry,
    sides: &[Side],
    options: &SearchOptions,
    as_written: AsWritten,
) -> Result<Vec<TunedSide>, TuneError> {
    let sides = if geometry.mirrored { &[Side::Left][..] } else { sides };
    let lacking = Side::BOTH.into_iter().find(|side| !sides.contains(side) && !geometry.is_placed(*side));
    if let Some(side) = lacking.filter(|_| !geometry.mirrored) {
        return Err(TuneError::OtherSideWithoutPickups { side });
    }
    let free = sides.iter().copied().filter(|&side| !DesignVariables::of(geometry, side).list.is_empty());
    let tuned = free.map(|side| tune_side(geometry, side, options, as_written)).collect::<Result<Vec<_>, _>>()?;
    if tuned.is_empty() { Err(TuneError::NothingFree) } else { Ok(tuned) }
}

fn tune_side(
    geometry: &Geometry,
    side: Side,
    options: &SearchOptions,
    as_written: AsWritten,
) -> Result<TunedSide, TuneError> {
    if let Some(target) = geometry.targets.list.iter().find(|target| !geometry.has_data_for(target.quantity, side)) {
        return Err(TuneError::NotMeasurable { side, quantity: target.quantity });
    }
    let drawn = geometry.is_placed(side).then(|| RigWheel::new(geometry, side).ok()).flatten();
    let problem = TuneProblem::new(geometry, side, DesignVariables::of(geometry, side), drawn.as_ref());
    let idle = (0..problem.variables.list.len()).find(|&index| is_idle(&problem, index) == Some(true));
    if let Some(index) = idle {
        return Err(TuneError::ChangesNothing { side, variable: problem.variables.list[index].kind });
    }
    let as_drawn = AsDrawn::of(&problem, drawn.as_ref());
    let bounds = bounds_of(&problem);
    let found = search(&problem, options);
    let (problem, found) = without_lost_gaps(&problem, &found, options).unwrap_or((problem, found));
    let (problem, found, given_up) =
        within_reach(&problem, &found, options).unwrap_or_else(|| (problem, found, Vec::new()));
    let reader = Reader::new(geometry, side, as_written);
    // A search that was stopped leaves many ends that are no more than starts: the best that moves is told with its doubts.
    let is_stopped = (options.stop)();
    let corner_of = |end: &Descent| at_rest(problem.variables.apply(&end.iterate.design_vector));
    let against = |end: &Descent| reader.against(&corner_of(end)?, !is_stopped);
    let (mut first_bind, mut doubts) = (None, Vec::new());
    let mut good = distinct(&found.ends, |end| match against(end) {
        None => true,
        Some(Against::Bind(bind)) => {
            first_bind.get_or_insert(bind);
            false
        }
        Some(Against::Doubts(_)) => false,
    });
    let drawn = already_tuned::drawn(&problem).filter(|_| as_drawn.worst_deg().is_some());
    if let Some(drawn) = drawn.filter(|drawn| !good.first().is_some_and(|best| is_clearly_flatter(best, drawn))) {
        good.retain(|end| differ(end, &drawn));
        good.insert(0, drawn);
    }
    if good.is_empty() {
        good = distinct(&found.ends, |end| match against(end) {
            Some(Against::Doubts(of_best)) => {
                let is_best = doubts.is_empty();
                doubts.extend(is_best.then_some(of_best).into_iter().flatten());
                is_best
            }
            _ => false,
        });
    }
    if let Some(best) = good.first().filter(|_| is_stopped)
        && let Some(Against::Doubts(of_best)) = corner_of(best).and_then(|corner| reader.against(&corner, true))
    {
        doubts = of_best;
    }
    let answers: Vec<Answer> = good.iter().filter_map(|end| answer(&problem, &bounds, end)).collect();
    if answers.is_empty() {
        let no_start = without_value(&problem)
            .map_or(TuneError::NoStart { side }, |quantity| TuneError::NoValue { side, quantity });
        return Err(first_bind.map_or(no_start, |bind| TuneError::BindsAsWritten { bind }));
    }
    // No limit may be broken that the flattest answer keeps.
    let worst_violation = good[0].evaluation().worst_violation().max(LIMIT_TOLERANCE);
    let keeps_limits = |end: &Descent| end.evaluation().worst_violation() <= worst_violation;
    let stages = stages(&problem, good[0].evaluation());
    let forgiving = most_forgiving(&stages, &found, options)
        .into_iter()
        .filter_map(|end| Some((as_drawn_there(&problem, &end)?, end)))
        .find(|(drawn, _)| keeps_limits(drawn) && against(drawn).is_none());
    let stayed = already_tuned::drawn(&problem).zip(stages.last().and_then(already_tuned::drawn));
    let forgiving = match (forgiving, stayed.filter(|_| as_drawn.worst_deg().is_some())) {
        (Some((_, end)), Some((drawn, stayed))) if !is_clearly_more_forgiving(&end, &stayed) => Some((drawn, stayed)),
        (None, Some(stayed)) => Some(stayed),
        (forgiving, _) => forgiving,
    };
    let forgiving = forgiving.and_then(|(drawn, end)| {
        let answer = answer(&problem, &bounds, &drawn)?;
        let has_chance = !geometry.limits.is_empty() && answer.limits_hold && given_up.is_empty();
        let held_back = if has_chance { chance_held_back(&problem, &bounds, &end.iterate) } else { answer.held_back };
        Some(Answer { held_back, ..answer })
    });
    let let_go = |mut answer: Answer| {
        answer.limits_hold &= given_up.is_empty();
        answer.at_limits.retain(|at| given_up.iter().all(|of| *at != ResidualOf::Limit(of.quantity)));
        answer
    };
    let (answers, forgiving) = (answers.into_iter().map(let_go).collect(), forgiving.map(let_go));
    let (starts, other_binds) = (found.starts, problem.other_binds);
    let mut uncleared = problem.gaps.uncleared;
    uncleared.extend(problem.other_shaft.into_iter().flat_map(|other| {
        let named =
            move |of: UnclearedPair| UnclearedPair { pair: format!("{}, {},", of.pair, other.side.name()), ..of };
        other.gaps.uncleared.into_iter().map(named)
    }));
    Ok(TunedSide { side, as_drawn, answers, forgiving, starts, uncleared, given_up, doubts, other_binds })
}

/// The search again without the gaps that its best answer does not open, when that keeps every other limit: a gap that
/// cannot be kept would draw the answer away from what can.
fn without_lost_gaps<'g>(
    problem: &TuneProblem<'g>,
    found: &SearchResult,
    options: &SearchOptions,
) -> Option<(TuneProblem<'g>, SearchResult)> {
    let best = found.ends.first().filter(|end| end.evaluation().worst_violation() > LIMIT_TOLERANCE)?;
    let problem = problem.without_lost_gaps(&best.iterate.design_vector)?;
    let found = search(&problem, &SearchOptions { progress: &|| {}, ..*options });
    let keeps_the_others = found.ends.first()?.evaluation().worst_violation() <= LIMIT_TOLERANCE;
    keeps_the_others.then_some((problem, found))
}

/// A target that has no finite value on the drawn car, though that moves.
fn without_value(problem: &TuneProblem) -> Option<Quantity> {
    let mut targets = problem.geometry.targets.list.iter().map(|target| target.quantity);
    targets.find(|&quantity| problem.has_value_as_drawn(quantity) == Some(false))
}

/// The end of a descent as the flattest answer is judged: figures of the drawing, limits as the file has them.
fn as_drawn_there(problem: &TuneProblem, end: &Descent) -> Option<Descent> {
    let design_vector = end.iterate.design_vector.clone();
    let evaluation = problem.evaluate(&design_vector)?;
    Some(Descent { iterate: Iterate { design_vector, evaluation }, ..*end })
}

/// A chance is first blurred so far that cars which fail by much count too, then nearly as sharp as it is, in standard
/// deviations.
const BLUR_SD: [f64; 2] = [0.6, 0.15];

/// What is forgiven in turn, from the smoothest to what decides; targets with room that the flattest answer reaches are held.
fn stages<'g>(problem: &TuneProblem<'g>, flattest: &Evaluation) -> Vec<TuneProblem<'g>> {
    let (geometry, side) = (problem.geometry, problem.variables.drawn().side);
    let errors = ErrorModel::of_file(geometry)[side].clone();
    let mut forgiven = vec![Forgiveness::least_square(errors.clone())];
    if !geometry.limits.is_empty() {
        forgiven.extend(BLUR_SD.map(|blur_sd| Forgiveness::largest_chance(errors.clone(), side, blur_sd)));
    }
    let reached = flattest.targets_with_room_reached();
    forgiven.into_iter().map(|forgiven| problem.forgiving(forgiven.holding(reached.clone()))).collect()
}

fn answer(problem: &TuneProblem, bounds: &Bounds, end: &Descent) -> Option<Answer> {
    let Descent { iterate, termination } = end;
    let corner = at_rest(problem.variables.apply(&iterate.design_vector))?;
    Some(Answer {
        moves: moves(&problem.variables, &corner),
        lengths: lengths(&problem.variables, &corner),
        room_left: problem.variables.room_left(&problem.geometry.adjustments[corner.side], &iterate.design_vector),
        corner,
        worst_bump_steer_deg: problem.worst_bump_steer_deg(&iterate.design_vector, &iterate.evaluation)?,
        termination: *termination,
        limits_hold: iterate.evaluation.worst_violation() <= LIMIT_TOLERANCE,
        settings: settings(problem, iterate),
        targets: targets(&iterate.evaluation.objective),
        toe_curve_missed_by_deg: problem.geometry.targets.toe.is_some().then(|| toe_miss_deg(&iterate.evaluation)),
        at_ends: at_ends(problem, bounds, iterate),
        at_limits: at_limits(&iterate.evaluation),
        held_back: held_back(problem, bounds, iterate),
    })
}

/// The moved corner drawn where it stands at design height: links that were made longer have carried the wheel along.
fn at_rest(moved: Moved) -> Option<Corner> {
    if moved.longer_mm == [0.0; 5] {
        return Some(moved.corner);
    }
    let posture = moved.linkage().design().ok()?;
    let mut corner = moved.corner;
    corner.map_upright(|p| posture.point(p), |d| Unit::new_normalize(posture.direction(d)));
    corner.wheel.spin_axis = Unit::new_normalize(posture.direction(&corner.wheel.spin_axis));
    corner.wheel.centre = posture.wheel_centre();
    Some(corner)
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

/// A geometry with some of its sides tuned. Its room is what was left of the first, so that tuning again stays inside.
pub fn tuned_geometry(geometry: &Geometry, answers: &[(Side, &Answer)]) -> Geometry {
    let corners: Vec<_> = answers.iter().map(|&(side, answer)| (side, &answer.corner)).collect();
    let mut tuned = with_corners(geometry, &corners);
    tuned.tuned = true;
    for &(side, answer) in answers {
        let links = answer.room_left.links.map(|link| LinkAdjustments { within: None, ..link });
        tuned.adjustments[side] = Adjustments { links, ..answer.room_left.clone() };
    }
    if tuned.mirrored {
        tuned.adjustments.right = tuned.adjustments.left.clone();
    }
    tuned
}

/// A geometry with the corners of some of its sides in place of its own. The length of a link by tape goes along with the
/// length between its points: it stays off by what the drawing was off.
pub(super) fn with_corners(geometry: &Geometry, corners: &[(Side, &Corner)]) -> Geometry {
    let mut tuned = geometry.clone();
    for &(side, corner) in corners {
        *tuned.corner_mut(side) = corner.clone();
        let drawn = geometry.corner(side).links.iter().zip(&geometry.adjustments[side].links);
        for (link, (drawn, may)) in tuned.corner_mut(side).links.iter_mut().zip(drawn) {
            let longer_mm = if may.is_placed() { link.length_mm() - drawn.length_mm() } else { 0.0 };
            link.taped_mm = link.taped_mm.map(|taped_mm| taped_mm + longer_mm);
        }
    }
    for (_, may) in tuned.adjustments.as_mut() {
        may.links.iter_mut().for_each(|link| link.within = None);
    }
    if tuned.mirrored {
        tuned.mirror_left();
    }
    tuned
}
