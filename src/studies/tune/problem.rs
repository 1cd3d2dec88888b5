//! One design vector judged: every wanted and every limited figure, with its derivatives.

use std::collections::HashMap;

use super::clearance::{Gap, HeldGaps};
use super::design_variable::{DesignVariables, Moved, VariableKind};
use super::spacing::{PickupSpacing, spacings};
use crate::geometry::{Car, Coordinate, Geometry, Interval, LimitKey, PerSide, Quantity, Side, Whose};
use crate::measures::{DesignContact, Measure, Reading, Row, WheelStance, camber_deg, gradient, toe_deg};
use crate::mechanism::{Linkage, Posture, PostureSensitivity, WheelPath};
use crate::studies::errors::ErrorModel;
use crate::studies::rig::RigWheel;
use crate::studies::stations::stations;

/// What a figure is about, for the words of the result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ResidualOf {
    /// Change of toe at a bump travel, mm, from a ride height's own place on the path.
    Toe {
        /// Up positive.
        bump_mm: f64,
    },
    /// Change of toe that one standard deviation of one independent error of the pickups makes at a bump travel.
    Spread,
    /// A target of the file.
    Target(Quantity),
    /// A limit of the file.
    Limit(Quantity),
    /// Toe or camber where the car stands: as drawn, also when a link's length may change.
    AsSet(Measure),
    /// Room of pickups that tuning places itself.
    PickupsApart,
    /// The least length of a link whose pickup tuning places.
    LinkLength,
}

/// A figure, the band it should keep, and how it changes with each number of the design vector.
#[derive(Debug, Clone, PartialEq)]
pub struct Residual {
    /// What it is about.
    pub subject: ResidualOf,
    /// In the unit of its subject.
    pub value: f64,
    /// Inside it the residual is zero.
    pub band: Interval,
    /// Makes misses of different units comparable: 1 is a miss that matters in the shop.
    pub scale: f64,
    /// Derivative of the value by each design variable, per mm or deg.
    pub gradient: Vec<f64>,
}

impl Residual {
    /// How far outside its band, signed and scaled; 0 inside.
    pub fn scaled(&self) -> f64 {
        (self.value - self.value.clamp(self.band.low, self.band.high)) * self.scale
    }

    /// The same limit a little narrower, so that rounding of the answer cannot take it across; one that is too narrow for
    /// that stays as the file has it.
    fn inside(mut self) -> Residual {
        let width = self.band.width().min(100.0 / self.scale);
        let margin = INSIDE * width + WRITTEN;
        if 2.0 * margin < self.band.width() {
            self.band = Interval { low: self.band.low + margin, high: self.band.high - margin };
        }
        self
    }
}

/// Everything that is wanted and everything that is held, at one design vector.
#[derive(Debug, Clone)]
pub struct Evaluation {
    /// Residuals to be minimised.
    pub objective: Vec<Residual>,
    /// Residuals to be held at zero.
    pub limits: Vec<Residual>,
}

impl Evaluation {
    /// The worst wanted figure, scaled.
    pub fn worst_residual(&self) -> f64 {
        self.objective.iter().map(|residual| residual.scaled().abs()).fold(0.0, f64::max)
    }

    /// The worst broken limit, scaled; 0 when all hold.
    pub fn worst_violation(&self) -> f64 {
        self.limits.iter().map(|residual| residual.scaled().abs()).fold(0.0, f64::max)
    }

    /// Worst change of toe from design over the travel, about the worst ride height, deg per wheel.
    pub fn worst_toe_deg(&self) -> f64 {
        let toe = self.objective.iter().filter(|residual| matches!(residual.subject, ResidualOf::Toe { .. }));
        toe.map(|residual| (residual.value - residual.band.low).abs()).fold(0.0, f64::max)
    }
}

/// Limits are held by this share of their width more than the file asks: some times what the convex programs lose.
const INSIDE: f64 = 5e-5;
/// And by this much in their own unit: what the digits of a written file are worth in degrees of toe.
const WRITTEN: f64 = 2e-5;
/// What a setting of static toe and camber is worth in a shop, deg.
const SET_WITHIN_DEG: f64 = 0.01;
/// A gap that is short by this matters, mm.
const GAP_MM: f64 = 0.5;
/// A toe change that matters: a hundredth of a degree.
const TOE_DEG: f64 = 0.01;

/// The question put to one corner.
pub struct TuneProblem<'g> {
    /// What may move.
    pub variables: DesignVariables<'g>,
    car: &'g Car,
    geometry: &'g Geometry,
    stations_mm: Vec<f64>,
    /// Places on the path that the ride heights stand for; the drawn one alone when the file gives none.
    references_mm: Vec<f64>,
    /// Where the other wheel stands as drawn at each station, for figures of the axle; empty when it cannot be moved, or
    /// mirrors this one.
    other_wheel: Vec<WheelStance>,
    /// Gaps between parts that are held, and those that nothing free can open.
    pub(super) gaps: HeldGaps,
    /// The errors that the answer should forgive; `None` asks for the flattest.
    forgiven: Option<ErrorModel>,
}

impl<'g> TuneProblem<'g> {
    /// For one side of a car; `drawn` follows the drawn path when there is one (ride heights are places on it).
    pub fn new(geometry: &'g Geometry, side: Side, variables: DesignVariables<'g>, drawn: Option<&RigWheel>) -> Self {
        let travel = &geometry.travel;
        let mut references_mm: Vec<f64> = travel
            .ride_heights_mm
            .iter()
            .filter_map(|&height| drawn.map_or(Some(-height), |wheel| wheel.bump_at_ride_height_mm(height)))
            .collect();
        if references_mm.is_empty() {
            references_mm.push(0.0);
        }
        let mut stations_mm = stations(-travel.droop_mm, travel.bump_mm, travel.step_mm);
        stations_mm.extend(&references_mm);
        stations_mm.sort_by(f64::total_cmp);
        stations_mm.dedup();
        debug_assert_eq!(variables.drawn().side, side);
        let other_wheel = other_wheel(geometry, side, &stations_mm).unwrap_or_default();
        let gaps = HeldGaps::new(geometry, side, &variables, &stations_mm);
        Self { variables, car: &geometry.car, geometry, stations_mm, references_mm, other_wheel, gaps, forgiven: None }
    }

    /// The same question, but for the least expected square of the toe changes of wheels that are built with these errors:
    /// `E Σ toe² = Σ (toe² + J C Jᵀ)` to first order, with `J` the derivatives of toe by the coordinates and `C` the
    /// covariance of the errors.
    pub fn forgiving(self, errors: ErrorModel) -> Self {
        Self { forgiven: Some(errors), ..self }
    }

    /// `None` when the design vector cannot be moved through the whole travel.
    pub fn evaluate(&self, design_vector: &[f64]) -> Option<Evaluation> {
        let moved = self.variables.apply(design_vector);
        let linkage = moved.linkage();
        let path = WheelPath::follow(&linkage, &self.stations_mm).ok()?;
        if path.binds_in_bump.is_some() || path.binds_in_droop.is_some() {
            return None;
        }
        let design = DesignContact::of(&moved.corner);
        let stops = self
            .stations_mm
            .iter()
            .map(|&bump_mm| {
                let posture = path.at(bump_mm)?;
                let sensitivity = PostureSensitivity::new(&linkage, &posture).ok()?;
                let row = Row::level(&moved.corner, self.car, &posture, &design);
                Some(SolvedStation { bump_mm, posture, sensitivity, row })
            })
            .collect::<Option<Vec<SolvedStation>>>()?;
        let gaps = self.gaps.gaps(self.car, &self.variables, design_vector, (&moved, &linkage, &path))?;
        let mut view = Evaluator { problem: self, design_vector, moved, stops, known: HashMap::new() };
        let mut objective = view.objective()?;
        let gaps = gaps.into_iter().map(|gap| self.gap_residual(gap));
        let mut limits: Vec<Residual> = view.limits()?.into_iter().chain(gaps).map(Residual::inside).collect();
        limits.extend(view.as_set()?);
        if let Some(errors) = &self.forgiven {
            objective.extend(self.spread_residuals(errors, design_vector)?);
        }
        Some(Evaluation { objective, limits })
    }

    fn gap_residual(&self, gap: Gap) -> Residual {
        let band = Interval { low: self.gaps.least_mm, high: f64::INFINITY };
        let subject = ResidualOf::Limit(Quantity::Clearance);
        Residual { subject, value: gap.mm, band, scale: 1.0 / GAP_MM, gradient: gap.gradient }
    }

    /// What each independent error makes of the toe curve, as figures to be kept small. How they change with the design vector is a
    /// second derivative of the mechanism; it only steers the descent, so differences serve.
    fn spread_residuals(&self, errors: &ErrorModel, design_vector: &[f64]) -> Option<Vec<Residual>> {
        const STEP: f64 = 0.05;
        let here = self.spread_deg(errors, design_vector)?;
        let beside = (0..design_vector.len())
            .map(|k| {
                let mut moved = design_vector.to_vec();
                moved[k] += STEP;
                self.spread_deg(errors, &moved)
            })
            .collect::<Option<Vec<_>>>()?;
        let scale = self.toe_weight() / TOE_DEG;
        let residual = |(i, &value): (usize, &f64)| Residual {
            subject: ResidualOf::Spread,
            value,
            band: Interval::single(0.0),
            scale,
            gradient: beside.iter().map(|moved| (moved[i] - value) / STEP).collect(),
        };
        Some(here.iter().enumerate().map(residual).collect())
    }

    /// Change of toe that one standard deviation of each independent error makes at each station, deg.
    fn spread_deg(&self, errors: &ErrorModel, design_vector: &[f64]) -> Option<Vec<f64>> {
        let moved = self.variables.apply(design_vector);
        let linkage = moved.linkage();
        let path = WheelPath::follow(&linkage, &self.stations_mm).ok()?;
        let by_toe = |bump_mm: f64| {
            let posture = path.at(bump_mm)?;
            let sensitivity = PostureSensitivity::new(&linkage, &posture).ok()?;
            gradient(Measure::Toe, &moved.corner, self.car, &posture, &sensitivity)
        };
        let design = by_toe(0.0)?;
        let mut spread_deg = Vec::with_capacity(Coordinate::COUNT * self.stations_mm.len());
        for &bump_mm in &self.stations_mm {
            let change = by_toe(bump_mm)?.minus(&design);
            let by: Vec<f64> = Coordinate::all().map(|coordinate| change.links.by(coordinate)).collect();
            spread_deg.extend(errors.effects(&by));
        }
        Some(spread_deg)
    }

    fn toe_target_deg(&self, bump_mm: f64) -> f64 {
        self.geometry.targets.toe.as_ref().map_or(0.0, |toe| toe.toe_change_deg(bump_mm))
    }

    fn toe_weight(&self) -> f64 {
        self.geometry.targets.toe.as_ref().map_or(1.0, |toe| toe.weight)
    }
}

struct SolvedStation {
    bump_mm: f64,
    posture: Posture,
    sensitivity: PostureSensitivity,
    row: Row,
}

/// A figure with its derivatives.
#[derive(Debug, Clone)]
struct Differentiated {
    value: f64,
    gradient: Vec<f64>,
}

impl Differentiated {
    fn minus(&self, other: &Differentiated) -> Differentiated {
        let gradient = self.gradient.iter().zip(&other.gradient).map(|(a, b)| a - b).collect();
        Differentiated { value: self.value - other.value, gradient }
    }

    fn times(mut self, factor: f64) -> Differentiated {
        self.value *= factor;
        self.gradient.iter_mut().for_each(|slope| *slope *= factor);
        self
    }

    fn residual(self, subject: ResidualOf, band: Interval, scale: f64) -> Residual {
        Residual { subject, value: self.value, band, scale, gradient: self.gradient }
    }
}

/// A moved car with the figures taken so far.
struct Evaluator<'a, 'g> {
    problem: &'a TuneProblem<'g>,
    design_vector: &'a [f64],
    moved: Moved,
    stops: Vec<SolvedStation>,
    known: HashMap<Measure, Vec<Option<Differentiated>>>,
}

impl Evaluator<'_, '_> {
    /// A measure at every stop; an entry is `None` where the measure has no value or no derivative.
    fn over_travel(&mut self, measure: Measure) -> Vec<Option<Differentiated>> {
        if let Some(known) = self.known.get(&measure) {
            return known.clone();
        }
        let (corner, car) = (&self.moved.corner, self.problem.car);
        let figures: Vec<Option<Differentiated>> = self
            .stops
            .iter()
            .map(|stop| {
                let gradient = gradient(measure, corner, car, &stop.posture, &stop.sensitivity)?;
                let gradient = self.problem.variables.by_variable(self.design_vector, &self.moved, &gradient);
                Some(Differentiated { value: measure.of(&stop.row)?, gradient })
            })
            .collect();
        self.known.insert(measure, figures.clone());
        figures
    }

    fn at(&mut self, measure: Measure, bump_mm: f64) -> Option<Differentiated> {
        let index = self.stops.iter().position(|stop| stop.bump_mm == bump_mm)?;
        self.over_travel(measure).swap_remove(index)
    }

    /// Changes from the drawn height over the travel.
    fn changes(&mut self, measure: Measure) -> Option<Vec<Differentiated>> {
        let design = self.at(measure, 0.0)?;
        Some(self.over_travel(measure).iter().flatten().map(|figure| figure.minus(&design)).collect())
    }

    fn objective(&mut self) -> Option<Vec<Residual>> {
        let problem = self.problem;
        let mut objective = self.toe_residuals(None)?;
        for target in &problem.geometry.targets.list {
            let matters = target.quantity.definition().target.map_or(1.0, |key| key.matters);
            let subject = ResidualOf::Target(target.quantity);
            let figures = self.read(target.quantity)?;
            objective.extend(
                figures.into_iter().map(|figure| figure.residual(subject, target.band, target.weight / matters)),
            );
        }
        Some(objective)
    }

    /// Every value of a quantity of the wheel over its travel, or the one at design; `None` without one.
    fn read(&mut self, quantity: Quantity) -> Option<Vec<Differentiated>> {
        match quantity.reading() {
            Reading::Change(measure) => self.changes(measure),
            Reading::Value(measure) => Some(self.over_travel(measure).into_iter().flatten().collect()),
            Reading::Design(measure, factor) => Some(vec![self.at(measure, 0.0)?.times(factor)]),
            Reading::Migration(measure) => {
                let over = self.over_travel(measure);
                let by_value = |a: &&Differentiated, b: &&Differentiated| a.value.total_cmp(&b.value);
                let highest = over.iter().flatten().max_by(by_value)?;
                Some(vec![highest.minus(over.iter().flatten().min_by(by_value)?)])
            }
            Reading::AxleOverTravel(value) => self.axle(value),
            Reading::ChangeAboutHeights(_)
            | Reading::Slope(_)
            | Reading::Bow(_)
            | Reading::RodEnds
            | Reading::LeastGap
            | Reading::AxleAtDesign(_)
            | Reading::AxleInRoll(_) => None,
        }
    }

    /// A figure of the axle at every stop: the other wheel mirrors this one, or stays as drawn. Such figures are linear in
    /// where the wheels stand, so a difference over one unit is their derivative.
    fn axle(&mut self, value: fn(PerSide<WheelStance>, PerSide<WheelStance>) -> f64) -> Option<Vec<Differentiated>> {
        let (problem, side) = (self.problem, self.problem.variables.drawn().side);
        const PARTS: [Measure; 3] = [Measure::Toe, Measure::Recession, Measure::Scrub];
        let one_more = |measure: Measure, stance: WheelStance| match measure {
            Measure::Toe => WheelStance { toe_deg: stance.toe_deg + 1.0, ..stance },
            Measure::Recession => WheelStance { wheel_centre_x_mm: stance.wheel_centre_x_mm - 1.0, ..stance },
            _ => WheelStance { lateral_mm: stance.lateral_mm + 1.0, ..stance },
        };
        let slopes = PARTS.map(|measure| self.over_travel(measure));
        let design_at = self.stops.iter().position(|stop| stop.bump_mm == 0.0)?;
        let axle = |index: usize, own: WheelStance| {
            let other = if problem.geometry.mirrored { own } else { *problem.other_wheel.get(index)? };
            Some(PerSide::of(|of| if of == side { own } else { other }))
        };
        let own = |index: usize| self.stops[index].row.stance();
        let design = axle(design_at, own(design_at))?;
        let figure = |index: usize| {
            let now = axle(index, own(index))?;
            let mut figure =
                Differentiated { value: value(now, design), gradient: vec![0.0; self.design_vector.len()] };
            for (measure, slopes) in PARTS.into_iter().zip(&slopes) {
                for (at, is_design) in [(index, false), (design_at, true)] {
                    let moved = axle(at, one_more(measure, own(at)))?;
                    let by = if is_design { value(now, moved) } else { value(moved, design) } - figure.value;
                    let slopes = slopes[at].as_ref()?;
                    figure.gradient.iter_mut().zip(&slopes.gradient).for_each(|(sum, slope)| *sum += by * slope);
                }
            }
            Some(figure)
        };
        (0..self.stops.len()).map(figure).collect()
    }

    /// The toe curve about every ride height: as wanted, or against the limit.
    fn toe_residuals(&mut self, limit_deg: Option<Interval>) -> Option<Vec<Residual>> {
        let problem = self.problem;
        let toe = self.over_travel(Measure::Toe);
        let mut residuals = Vec::with_capacity(problem.references_mm.len() * problem.stations_mm.len());
        for &reference_mm in &problem.references_mm {
            let reference = self.at(Measure::Toe, reference_mm)?;
            for (stop, figure) in self.stops.iter().zip(&toe) {
                let change = figure.as_ref()?.minus(&reference);
                let about_mm = stop.bump_mm - reference_mm;
                let residual = match limit_deg {
                    Some(limit) => change.residual(ResidualOf::Limit(Quantity::BumpSteer), limit, 1.0 / TOE_DEG),
                    None => {
                        let target = problem.toe_target_deg(about_mm) - problem.toe_target_deg(0.0);
                        let band = Interval::single(target);
                        change.residual(ResidualOf::Toe { bump_mm: stop.bump_mm }, band, problem.toe_weight() / TOE_DEG)
                    }
                };
                residuals.push(residual);
            }
        }
        Some(residuals)
    }

    /// A link that is made longer turns the wheel where it stands; toe and camber as drawn must come out all the same.
    fn as_set(&mut self) -> Option<Vec<Residual>> {
        let lengths =
            self.problem.variables.list.iter().any(|variable| matches!(variable.kind, VariableKind::Length { .. }));
        if !lengths {
            return Some(Vec::new());
        }
        let spin = self.problem.variables.drawn().wheel.spin_axis;
        let drawn = [(Measure::Toe, toe_deg(&spin)), (Measure::Camber, camber_deg(&spin))];
        let residual = |(measure, deg): (Measure, f64)| {
            let band = Interval { low: deg - SET_WITHIN_DEG, high: deg + SET_WITHIN_DEG };
            Some(self.at(measure, 0.0)?.residual(ResidualOf::AsSet(measure), band, 1.0 / SET_WITHIN_DEG))
        };
        drawn.into_iter().map(residual).collect()
    }

    fn limits(&mut self) -> Option<Vec<Residual>> {
        let problem = self.problem;
        let side = problem.variables.drawn().side;
        let mut residuals = Vec::new();
        for quantity in Quantity::limited(Whose::Wheel).chain(Quantity::limited(Whose::Axle)) {
            let Some(limit) = problem.geometry.limit(quantity, side) else { continue };
            if quantity == Quantity::BumpSteer {
                residuals.extend(self.toe_residuals(Some(limit))?);
                continue;
            }
            // What is never negative has no lower side to keep away from.
            let one_sided = matches!(quantity.definition().limit, LimitKey::InnerLimit | LimitKey::OuterLimit);
            let limit = if one_sided { Interval { low: f64::NEG_INFINITY, ..limit } } else { limit };
            let figures = self.read(quantity).unwrap_or_default();
            let subject = ResidualOf::Limit(quantity);
            residuals.extend(figures.into_iter().map(|figure| figure.residual(subject, limit, limit_scale(&limit))));
        }
        residuals.extend(self.spacing_residuals());
        Some(residuals)
    }

    fn spacing_residuals(&self) -> Vec<Residual> {
        let residual = |spacing: PickupSpacing| {
            let gradient = self.problem.variables.by_variable(self.design_vector, &self.moved, &spacing.gradient);
            let band = Interval { low: spacing.least_mm, high: f64::INFINITY };
            Differentiated { value: spacing.mm, gradient }.residual(spacing.on, band, 1.0)
        };
        spacings(&self.moved.corner, &self.problem.variables.unplaced).into_iter().map(residual).collect()
    }
}

/// Where the wheel of the other side stands as drawn at each station; `None` when it cannot be moved there.
fn other_wheel(geometry: &Geometry, side: Side, stations_mm: &[f64]) -> Option<Vec<WheelStance>> {
    let other = geometry.corner(if side == Side::Left { Side::Right } else { Side::Left });
    if geometry.mirrored || !geometry.unplaced().is_empty() {
        return None;
    }
    let path = WheelPath::follow(&Linkage::new(other), stations_mm).ok()?;
    let design = DesignContact::of(other);
    let stance = |&bump_mm: &f64| Some(Row::level(other, &geometry.car, &path.at(bump_mm)?, &design).stance());
    stations_mm.iter().map(stance).collect()
}

/// A hundredth of a limit's width counts as 1; a limit that is open below is as wide as it is high.
fn limit_scale(band: &Interval) -> f64 {
    let width = if band.low.is_finite() { band.width() } else { band.high };
    1.0 / (0.01 * width.max(1e-6))
}

#[cfg(test)]
mod tests {
    use super::{Interval, Residual, ResidualOf};

    fn held(band: Interval) -> Interval {
        Residual { subject: ResidualOf::LinkLength, value: 0.0, band, scale: 1.0, gradient: Vec::new() }.inside().band
    }

    #[test]
    fn a_limit_is_held_a_little_inside() {
        let wide = held(Interval::either_way(0.05));
        assert!(wide.high < 0.05 && wide.high > 0.0499 && wide.low == -wide.high, "{wide:?}");
        let open = held(Interval { low: 30.0, high: f64::INFINITY });
        assert!(open.low > 30.0 && open.low < 30.01 && open.high == f64::INFINITY, "{open:?}");
    }

    #[test]
    fn a_limit_that_is_narrower_than_the_margin_loses_the_margin_and_not_the_limit() {
        for size in [0.0, 5e-324, 1e-6, 2e-5] {
            assert_eq!(held(Interval::either_way(size)), Interval::either_way(size));
        }
    }
}
