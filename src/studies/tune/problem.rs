//! The tuning problem of one wheel: a design vector in, the residuals of targets and limits with their gradients out.

use super::clearance::HeldGaps;
use super::design_variable::{DesignVariables, VariableKind};
use super::figures::{Figure, Figures, InRoll, drawn_in_roll};
use super::forgiveness::Forgiveness;
use super::given_up::Relaxed;
use super::other_shaft::{OtherShaft, with_shaft};
use super::spacing::spacings;
use super::through_travel::bind_of;
use crate::geometry::{Car, Geometry, Interval, LimitKey, Needs, Over, Quantity, Side, Whose};
use crate::measures::{DesignContact, Measure, Row, WheelStance, camber_deg, spin_axis, toe_deg};
use crate::mechanism::{Linkage, WheelPath};
use crate::studies::heave::SideBind;
use crate::studies::rig::RigWheel;
use crate::studies::stations::stations;
use crate::studies::tolerance::is_read_from_built;

/// What a residual is taken of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ResidualOf {
    /// Change of toe, deg, between where the wheel stands at a ride height of the file and one station of the travel.
    Toe {
        /// Bump travel of the station, mm, up positive.
        bump_mm: f64,
    },
    /// Change of toe, deg, at one station with one standard deviation of one independent pickup error; for the most
    /// forgiving answer alone.
    Spread,
    /// Whether one of the wheels that are built passes every limit.
    Built,
    /// A target of the file.
    Target(Quantity),
    /// A limit of the file.
    Limit(Quantity),
    /// Toe or camber at design height, deg, which must stay as drawn although the length of a link may change.
    AsSet(Measure),
    /// Distance, mm, from a chassis pickup that the file leaves to tuning to another one.
    PickupsApart,
    /// How far, mm, a chassis pickup that moves stands outboard of the halfshaft's inner joint.
    OutboardOfJoint,
    /// Length, mm, of a link whose chassis pickup the file leaves to tuning.
    LinkLength,
}

/// A value, the band that it should lie in, and its gradient by the design vector.
#[derive(Debug, Clone, PartialEq)]
pub struct Residual {
    /// What it is about.
    pub subject: ResidualOf,
    /// In the unit of its subject.
    pub value: f64,
    /// The residual is zero while the value lies in it.
    pub band: Interval,
    /// One over the departure from the band that matters in the shop, per unit of the value: makes residuals of different
    /// units comparable. A target's weight is a factor of it.
    pub scale: f64,
    /// Derivative of the value by each design variable, per mm or deg.
    pub gradient: Vec<f64>,
}

/// A limit, and what the errors of a built car make of it.
#[derive(Debug, Clone)]
pub(super) struct Limited {
    pub residual: Residual,
    /// Derivatives of the value by the errors of this wheel's pickups and of the other wheel's, per mm; empty when it depends
    /// on none.
    pub by_own: Vec<f64>,
    pub by_other: Vec<f64>,
    /// Built cars are held to it.
    pub is_tried: bool,
}

impl Limited {
    fn of(subject: ResidualOf, band: Interval, scale: f64, figure: Figure) -> Self {
        let Figure { value, gradient, by_own, by_other } = figure;
        let is_tried = matches!(subject, ResidualOf::Limit(quantity) if is_read_from_built(quantity));
        Self { residual: Residual { subject, value, band, scale, gradient }, by_own, by_other, is_tried }
    }

    /// Let go as far as this band, which holds for the drawing alone: nobody builds a car to it.
    fn let_go(self, band: Interval) -> Self {
        let own = self.residual.band;
        let band = Interval { low: own.low.min(band.low), high: own.high.max(band.high) };
        let residual = Residual { band, scale: limit_scale(&band), ..self.residual };
        Self { residual: residual.wider(), by_own: Vec::new(), by_other: Vec::new(), is_tried: false }
    }
}

impl Residual {
    /// Departure from the band times the scale, above it positive; 0 inside. At 1 it matters in the shop.
    pub fn scaled(&self) -> f64 {
        (self.value - self.value.clamp(self.band.low, self.band.high)) * self.scale
    }

    /// The same limit, narrower by a margin on both sides, so that what the QP solver and the digits of the written file
    /// leave over cannot break it; a limit that is narrower than both margins stays as the file has it.
    fn inside(self) -> Residual {
        let margin = self.margin();
        if 2.0 * margin < self.band.width() { self.narrower(margin) } else { self }
    }

    fn margin(&self) -> f64 {
        INSIDE * self.band.width().min(100.0 / self.scale) + WRITTEN
    }

    /// The other way, twice: a value at an end of the band is inside with the margin taken off.
    fn wider(mut self) -> Residual {
        let margin = 2.0 * self.margin();
        self.band = Interval { low: self.band.low - margin, high: self.band.high + margin };
        self
    }

    /// The same limit with a margin at either end, of which a band of two ends keeps at least half for itself.
    pub(super) fn narrower(mut self, margin: f64) -> Residual {
        let margin = margin.min(0.25 * self.band.width());
        self.band = Interval { low: self.band.low + margin, high: self.band.high - margin };
        self
    }
}

/// The residuals of every target and every limit at one design vector.
#[derive(Debug, Clone)]
pub struct Evaluation {
    /// Residuals to be minimised.
    pub objective: Vec<Residual>,
    /// Residuals to be held at zero.
    pub limits: Vec<Residual>,
    /// Worst change of toe from design over the travel, about the worst ride height, deg per wheel.
    pub worst_bump_steer_deg: f64,
}

impl Evaluation {
    /// The largest of the objective by size, scaled.
    pub fn worst_residual(&self) -> f64 {
        self.objective.iter().map(|residual| residual.scaled().abs()).fold(0.0, f64::max)
    }

    /// The largest of the limits by size, scaled; 0 when all hold.
    pub fn worst_violation(&self) -> f64 {
        self.limits.iter().map(|residual| residual.scaled().abs()).fold(0.0, f64::max)
    }

    /// Targets that are a band of some width and hold wherever they are read.
    pub(super) fn targets_with_room_reached(&self) -> Vec<Quantity> {
        let is_reached = |residual: &Residual| residual.band.width() > 0.0 && residual.scaled() == 0.0;
        let of_target = |residual: &Residual| match residual.subject {
            ResidualOf::Target(quantity) => Some((quantity, is_reached(residual))),
            _ => None,
        };
        let read: Vec<(Quantity, bool)> = self.objective.iter().filter_map(of_target).collect();
        let holds = |of: &Quantity| read.iter().all(|(quantity, is_reached)| quantity != of || *is_reached);
        read.iter().map(|(quantity, _)| *quantity).filter(holds).collect()
    }

    /// Half the sum of squares of what is wanted.
    pub fn half_square(&self) -> f64 {
        self.objective.iter().map(|residual| 0.5 * residual.scaled().powi(2)).sum()
    }
}

/// Margin kept inside each limit, as a proportion of its width: a few times the error of the QP solver.
const INSIDE: f64 = 5e-5;
/// The same, added, in the unit of the limit: what the last digits of a written file change toe by, deg.
const WRITTEN: f64 = 2e-5;
/// Toe and camber at design height stay as drawn to this, deg: no shop sets them finer.
const SET_WITHIN_DEG: f64 = 0.01;
/// Lack of a gap that matters in the shop, mm.
const GAP_MM: f64 = 0.5;
/// Change of toe that matters in the shop, deg.
pub(super) const TOE_DEG: f64 = 0.01;

/// Stations at which a design vector is evaluated: over 150 mm of travel they are 2 mm apart, and a toe curve with 0.2 deg
/// of bow leaves the line between two of them by less than 0.0001 deg. Of finer rows every so-manyth is taken, for the time of
/// a search grows with them; the answer is judged on all of them.
const MAX_STATIONS: f64 = 75.0;

/// What tuning asks of one wheel: [`Self::evaluate`] gives the residuals of a design vector.
#[derive(Clone)]
pub struct TuneProblem<'g> {
    /// What may move.
    pub variables: DesignVariables<'g>,
    pub(super) car: &'g Car,
    pub(super) geometry: &'g Geometry,
    pub(super) stations_mm: Vec<f64>,
    /// Every row of the heave study, when the stations leave some out.
    all_rows_mm: Option<Vec<f64>>,
    /// Bump travel, mm, of the wheel at each ride height of the file; 0 alone when the file gives none.
    references_mm: Vec<f64>,
    /// Angles of body roll, deg; none when roll steer has no limit.
    pub(super) rolls_deg: Vec<f64>,
    /// The other wheel as drawn at each station, for quantities of the axle; empty when it cannot be moved, or mirrors
    /// this one.
    pub(super) other_wheel: Vec<WheelStance>,
    /// The same at each angle of roll.
    pub(super) other_in_roll: Vec<(f64, InRoll)>,
    /// Where the other wheel, which has points of its own, binds inside its travel: then nothing of the axle is held, for no
    /// place of this wheel can make good what that one does.
    pub(super) other_binds: Option<SideBind>,
    /// Gaps between parts that are held, and those that nothing free can open.
    pub(super) gaps: HeldGaps,
    /// The other wheel's halfshaft, when it is not the mirror image of this wheel's.
    pub(super) other_shaft: Option<OtherShaft>,
    /// What the answer should forgive; `None` asks for the flattest.
    forgiven: Option<Forgiveness>,
    /// Limits that are not held as the file has them.
    relaxed: Vec<Relaxed>,
    /// The one limit that is to be kept as well as can be, in place of everything wanted.
    asked_for: Option<Quantity>,
}

impl<'g> TuneProblem<'g> {
    /// For one side of a car. `drawn` is the wheel as drawn, when it moves: it tells the bump travel of each ride height.
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
        let rows_mm = stations(-travel.droop_mm, travel.bump_mm, travel.step_mm);
        let coarse = travel.in_at_most(MAX_STATIONS);
        let mut stations_mm = stations(-travel.droop_mm, travel.bump_mm, coarse.step_mm);
        stations_mm.extend(&references_mm);
        stations_mm.sort_by(f64::total_cmp);
        stations_mm.dedup();
        debug_assert_eq!(variables.drawn().side, side);
        let other = other_side(geometry, side).and_then(|side| RigWheel::new(geometry, side).ok());
        let other_binds = other.as_ref().and_then(bind_of);
        let other = other.filter(|_| other_binds.is_none());
        let other_wheel = other.as_ref().and_then(|wheel| other_wheel(wheel, &stations_mm)).unwrap_or_default();
        let gaps = HeldGaps::new(geometry, side, &variables, &stations_mm);
        let other_shaft = OtherShaft::of(geometry, side, &variables, &stations_mm);
        let is_limited_in_roll =
            |quantity: Quantity| quantity.definition().over == Over::Roll && geometry.limit(quantity, side).is_some();
        let rolls_deg = match other_binds.is_none() && Quantity::limited(Whose::Axle).any(is_limited_in_roll) {
            true => stations(-travel.roll_deg, travel.roll_deg, coarse.step_roll_deg),
            false => Vec::new(),
        };
        let other_in_roll = other.map(|wheel| drawn_in_roll(&wheel, &rolls_deg)).unwrap_or_default();
        let all_rows_mm = (coarse.step_mm > travel.step_mm).then_some(rows_mm);
        Self {
            variables,
            car: &geometry.car,
            geometry,
            stations_mm,
            all_rows_mm,
            references_mm,
            rolls_deg,
            other_wheel,
            other_in_roll,
            other_binds,
            gaps,
            other_shaft,
            forgiven: None,
            relaxed: Vec::new(),
            asked_for: None,
        }
    }

    /// How well this limit can be kept beside the others.
    pub(super) fn asking_for(&self, limit: Quantity) -> Self {
        Self { asked_for: Some(limit), ..self.clone() }
    }

    /// The same question with a limit not held at all.
    pub(super) fn without_limit(&self, of: Quantity) -> Self {
        let mut relaxed = self.holding(of);
        relaxed.relaxed.push(Relaxed { quantity: of, band: None });
        relaxed
    }

    /// With a limit held as the file has it.
    pub(super) fn holding(&self, of: Quantity) -> Self {
        let relaxed = self.relaxed.iter().filter(|relaxed| relaxed.quantity != of).copied().collect();
        Self { relaxed, ..self.clone() }
    }

    /// With no other limit of the file held than this one.
    pub(super) fn holding_only(&self, of: Quantity) -> Self {
        let others = Quantity::ALL.iter().copied().filter(|other| *other != of);
        let relaxed = others.map(|quantity| Relaxed { quantity, band: None }).collect();
        Self { relaxed, ..self.clone() }
    }

    /// With a limit held no tighter than the values that it has at these places, wider by a share of their band.
    pub(super) fn reaching(&self, of: Quantity, places: &[&Evaluation], share: f64) -> Self {
        let limits = places.iter().flat_map(|place| &place.limits);
        let values = limits.filter(|residual| residual.subject == ResidualOf::Limit(of)).map(|residual| residual.value);
        let wide = |band: Option<Interval>, value: f64| {
            let Interval { low, high } = band.unwrap_or(Interval::single(value));
            Some(Interval { low: low.min(value), high: high.max(value) })
        };
        let mut reaching = self.holding(of);
        let band = values.fold(None, wide).map(|Interval { low, high }: Interval| {
            let more = share * (high - low);
            Interval { low: low - more, high: high + more }
        });
        reaching.relaxed.push(Relaxed { quantity: of, band });
        reaching
    }

    /// A limit of the file with one number of its own; rod ends have one each.
    pub(super) fn limit_of_file(&self, quantity: Quantity) -> Option<Interval> {
        self.geometry.limit(quantity, self.variables.drawn().side)
    }

    /// The car as drawn; `None` when it lacks pickups or cannot be moved through its whole travel.
    pub(super) fn as_drawn(&self) -> Option<Evaluation> {
        let is_placed = !self.variables.unplaced.contains(&true);
        is_placed.then(|| self.evaluate(&vec![0.0; self.variables.list.len()])).flatten()
    }

    /// The same question, but for the car that forgives these errors best.
    pub(super) fn forgiving(&self, forgiven: Forgiveness) -> Self {
        Self { forgiven: Some(forgiven), ..self.clone() }
    }

    /// The same question without the pairs of bodies that are too near as drawn and still are on an answer; `None` when
    /// there is none.
    pub(super) fn without_lost_gaps(&self, answer: &[f64]) -> Option<Self> {
        let gaps = self.gaps.without_lost(self.car, &self.variables, answer, &self.stations_mm)?;
        Some(Self { gaps, ..self.clone() })
    }

    /// `None` when the wheel cannot be moved through its whole travel.
    pub fn evaluate(&self, design_vector: &[f64]) -> Option<Evaluation> {
        self.with_figures(design_vector, |figures| {
            let toe = self.toe_residuals(figures)?;
            let worst = |worst: f64, residual: &Residual| worst.max(residual.value.abs());
            let worst_bump_steer_deg = toe.iter().fold(0.0, worst);
            let targets = self.target_residuals(figures)?;
            let limits = self.limits(figures)?;
            let (objective, limits): (_, Vec<Residual>) = match &self.forgiven {
                None => (toe.into_iter().chain(targets).collect(), limits.into_iter().map(|of| of.residual).collect()),
                Some(forgiven) => forgiven.asked(figures, (toe, targets), limits)?,
            };
            let as_set = self.as_set(figures)?;
            let limits: Vec<Residual> = limits.into_iter().map(Residual::inside).chain(as_set).collect();
            let (objective, limits) = match self.asked_for {
                None => (objective, limits),
                Some(of) => limits.into_iter().partition(|residual| residual.subject == ResidualOf::Limit(of)),
            };
            let evaluation = Evaluation { objective, limits, worst_bump_steer_deg };
            // A value that is no finite number would win every comparison.
            evaluation.objective.iter().all(|residual| residual.value.is_finite()).then_some(evaluation)
        })
    }

    /// Whether a quantity has finite values on the drawn car; `None` when that cannot be moved through its whole travel.
    pub(super) fn has_value_as_drawn(&self, quantity: Quantity) -> Option<bool> {
        self.with_figures(&vec![0.0; self.variables.list.len()], |figures| {
            let values = figures.read(quantity);
            Some(values.is_some_and(|values| values.iter().all(|figure| figure.value.is_finite())))
        })
    }

    /// Moves the car and reads its figures; `None` when it cannot be moved through the whole travel.
    pub(super) fn with_figures<T>(
        &self,
        design_vector: &[f64],
        read: impl FnOnce(&mut Figures) -> Option<T>,
    ) -> Option<T> {
        let moved = self.variables.apply(design_vector);
        let linkage = moved.linkage();
        let path = WheelPath::follow(&linkage, &self.stations_mm).ok()?;
        if path.binds_in_bump.is_some() || path.binds_in_droop.is_some() {
            return None;
        }
        let design_contact = DesignContact::of(&moved.corner);
        let wheel = RigWheel { corner: &moved.corner, path, design_contact, geometry: self.geometry };
        read(&mut Figures::new(self, design_vector, (&moved, &linkage, &wheel))?)
    }

    /// Changes of toe about every ride height: its place on the path, the row's, and the change.
    fn toe_changes(&self, figures: &mut Figures) -> Option<Vec<(f64, f64, Figure)>> {
        let toe = figures.over_travel(Measure::Toe);
        let mut changes = Vec::with_capacity(self.references_mm.len() * toe.len());
        for &reference_mm in &self.references_mm {
            let reference = figures.at(Measure::Toe, reference_mm)?;
            for (bump_mm, figure) in figures.bump_mm().zip(toe.iter()) {
                changes.push((reference_mm, bump_mm, figure.as_ref()?.minus(&reference)));
            }
        }
        Some(changes)
    }

    /// Worst change of toe about the worst ride height on every row of the heave study, deg per wheel, where the evaluation
    /// of a design vector leaves rows out.
    pub fn worst_bump_steer_deg(&self, design_vector: &[f64], evaluation: &Evaluation) -> Option<f64> {
        let Some(rows_mm) = &self.all_rows_mm else { return Some(evaluation.worst_bump_steer_deg) };
        let moved = self.variables.apply(design_vector);
        let path = WheelPath::follow(&moved.linkage(), &[&rows_mm[..], &self.references_mm[..]].concat()).ok()?;
        let toe = |&bump_mm: &f64| Some(toe_deg(&spin_axis(&moved.corner, &path.at(bump_mm)?)));
        let rows_deg = rows_mm.iter().map(toe).collect::<Option<Vec<f64>>>()?;
        let mut worst_deg: f64 = 0.0;
        for reference_mm in &self.references_mm {
            let there_deg = toe(reference_mm)?;
            worst_deg = rows_deg.iter().fold(worst_deg, |worst, deg| worst.max((deg - there_deg).abs()));
        }
        Some(worst_deg)
    }

    /// The toe curve as wanted.
    fn toe_residuals(&self, figures: &mut Figures) -> Option<Vec<Residual>> {
        let residual = |(reference_mm, bump_mm, change): (f64, f64, Figure)| {
            let target = self.toe_target_deg(bump_mm - reference_mm) - self.toe_target_deg(0.0);
            Residual {
                subject: ResidualOf::Toe { bump_mm },
                value: change.value,
                band: Interval::single(target),
                scale: self.toe_weight() / TOE_DEG,
                gradient: change.gradient,
            }
        };
        Some(self.toe_changes(figures)?.into_iter().map(residual).collect())
    }

    fn target_residuals(&self, figures: &mut Figures) -> Option<Vec<Residual>> {
        let mut residuals = Vec::new();
        for target in &self.geometry.targets.list {
            let matters = target.quantity.definition().target.map_or(1.0, |key| key.matters);
            let (subject, scale) = (ResidualOf::Target(target.quantity), target.weight / matters);
            let residual =
                |Figure { value, gradient, .. }| Residual { subject, value, band: target.band, scale, gradient };
            residuals.extend(figures.read(target.quantity)?.into_iter().map(residual));
        }
        Some(residuals)
    }

    /// Every limit that tuning holds.
    pub(super) fn limits(&self, figures: &mut Figures) -> Option<Vec<Limited>> {
        let mut limits = Vec::new();
        let deg_limit = |(limit_deg, figure): (f64, Figure)| {
            let band = Interval::either_way(limit_deg);
            Limited::of(ResidualOf::Limit(Quantity::RodEndAngle), band, limit_scale(&band), figure)
        };
        limits.extend(figures.rod_ends().into_iter().map(deg_limit));
        for spacing in spacings(&figures.moved.corner, &self.variables) {
            let band = Interval { low: spacing.least_mm, high: f64::INFINITY };
            limits.push(Limited::of(spacing.on, band, 1.0, figures.figure(spacing.mm, &spacing.gradient)));
        }
        let moved = (figures.moved, figures.linkage, &figures.wheel.path);
        let mut gaps: Vec<Figure> = Vec::new();
        gaps.extend(self.gaps.gaps(self.car, moved)?.iter().map(|(mm, gradient)| figures.figure(*mm, gradient)));
        if let Some(other) = &self.other_shaft {
            let of_other = other.gaps.gaps(self.car, moved)?;
            gaps.extend(of_other.iter().map(|(mm, gradient)| figures.figure(*mm, gradient).of_other_wheel()));
        }
        for gap in gaps {
            let band = Interval { low: self.gaps.least_mm, high: f64::INFINITY };
            limits.push(Limited::of(ResidualOf::Limit(Quantity::Clearance), band, 1.0 / GAP_MM, gap));
        }
        Some(self.measured_limits(figures)?.into_iter().chain(self.as_relaxed(limits)).collect())
    }

    /// Those that are held, each in its band.
    fn as_relaxed(&self, limits: Vec<Limited>) -> Vec<Limited> {
        let relaxed = |limited: Limited| {
            let is_of = |relaxed: &&Relaxed| limited.residual.subject == ResidualOf::Limit(relaxed.quantity);
            match self.relaxed.iter().find(is_of) {
                None => Some(limited),
                Some(Relaxed { band, .. }) => band.map(|band| limited.let_go(band)),
            }
        };
        limits.into_iter().filter_map(relaxed).collect()
    }

    /// Those that are read from measures; built cars are held to them.
    pub(super) fn measured_limits(&self, figures: &mut Figures) -> Option<Vec<Limited>> {
        let side = self.variables.drawn().side;
        let mut limits = Vec::new();
        for quantity in Quantity::limited(Whose::Wheel).chain(Quantity::limited(Whose::Axle)) {
            let Some(limit) = self.geometry.limit(quantity, side) else { continue };
            let subject = ResidualOf::Limit(quantity);
            if quantity == Quantity::BumpSteer {
                for (reference_mm, _, change) in self.toe_changes(figures)? {
                    let limited = Limited::of(subject, limit, 1.0 / TOE_DEG, change);
                    limits.push(Limited { is_tried: reference_mm == 0.0, ..limited });
                }
                continue;
            }
            limits.extend(held(quantity, limit, figures.read(quantity).unwrap_or_default()));
        }
        limits.extend(self.limits_of_other_shaft(figures)?);
        Some(self.as_relaxed(limits))
    }

    /// The other wheel of a mirrored car moves as this one; of its shaft alone the figures are its own.
    fn limits_of_other_shaft(&self, figures: &Figures) -> Option<Vec<Limited>> {
        let Some(OtherShaft { side, shaft, .. }) = &self.other_shaft else { return Some(Vec::new()) };
        let moved = with_shaft(figures.moved, shaft);
        let wheel = RigWheel { corner: &moved.corner, ..figures.wheel.clone() };
        let mut figures = Figures::new(self, figures.design_vector, (&moved, figures.linkage, &wheel))?;
        let of_shaft = |quantity: &Quantity| quantity.definition().needs == Needs::Halfshaft;
        let mut limits = Vec::new();
        for quantity in Quantity::limited(Whose::Wheel).filter(of_shaft) {
            let Some(limit) = self.geometry.limit(quantity, *side) else { continue };
            let read = figures.read(quantity).unwrap_or_default();
            limits.extend(held(quantity, limit, read.into_iter().map(Figure::of_other_wheel).collect()));
        }
        Some(limits)
    }

    /// A longer link turns the wheel at design height; toe and camber there must stay as drawn all the same.
    fn as_set(&self, figures: &mut Figures) -> Option<Vec<Residual>> {
        let is_length = |kind: &VariableKind| matches!(kind, VariableKind::Length { .. });
        if !self.variables.list.iter().any(|variable| is_length(&variable.kind)) {
            return Some(Vec::new());
        }
        let spin = self.variables.drawn().wheel.spin_axis;
        let mut residuals = Vec::new();
        for (measure, deg) in [(Measure::Toe, toe_deg(&spin)), (Measure::Camber, camber_deg(&spin))] {
            let Figure { value, gradient, .. } = figures.at(measure, 0.0)?;
            let band = Interval { low: deg - SET_WITHIN_DEG, high: deg + SET_WITHIN_DEG };
            let subject = ResidualOf::AsSet(measure);
            residuals.push(Residual { subject, value, band, scale: 1.0 / SET_WITHIN_DEG, gradient });
        }
        Some(residuals)
    }

    fn toe_target_deg(&self, bump_mm: f64) -> f64 {
        self.geometry.targets.toe.as_ref().map_or(0.0, |toe| toe.toe_change_deg(bump_mm))
    }

    pub(super) fn toe_weight(&self) -> f64 {
        self.geometry.targets.toe.as_ref().map_or(1.0, |toe| toe.weight)
    }
}

/// Every figure of a quantity with its limit.
fn held(quantity: Quantity, limit: Interval, read: Vec<Figure>) -> impl Iterator<Item = Limited> {
    // What is never negative has no lower side to keep away from.
    let one_sided = matches!(quantity.definition().limit, LimitKey::InnerLimit | LimitKey::OuterLimit);
    let limit = if one_sided { Interval { low: f64::NEG_INFINITY, ..limit } } else { limit };
    let subject = ResidualOf::Limit(quantity);
    read.into_iter().map(move |figure| Limited::of(subject, limit, limit_scale(&limit), figure))
}

/// The wheel of the other side, when it is one of its own and has its pickups.
fn other_side(geometry: &Geometry, side: Side) -> Option<Side> {
    let other = side.other();
    (!geometry.mirrored && geometry.is_placed(other)).then_some(other)
}

/// Where the wheel of the other side stands as drawn at each station; `None` when it cannot be moved there.
fn other_wheel(wheel: &RigWheel, stations_mm: &[f64]) -> Option<Vec<WheelStance>> {
    let (other, car) = (wheel.corner, &wheel.geometry.car);
    let path = WheelPath::follow(&Linkage::new(other), stations_mm).ok()?;
    let design = DesignContact::of(other);
    let stance = |&bump_mm: &f64| Some(Row::level(other, car, &path.at(bump_mm)?, &design).stance());
    stations_mm.iter().map(stance).collect()
}

/// Scale of a limit: a departure of a hundredth of its width is 1; the width of one that is open below is its upper end.
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
