//! The tuning problem of one wheel: a design vector in, the residuals of targets and limits with their gradients out.

use super::clearance::{HeldGaps, LostGaps, UnclearedPair};
use super::figures::{Figure, Figures, InRoll, drawn_in_roll};
use super::forgiveness::Forgiveness;
use super::given_up::Relaxed;
use super::other_shaft::OtherShaft;
use super::residual::{Evaluation, Residual, ResidualOf};
use super::through_travel::bind_of;
use crate::geometry::{Car, Geometry, Interval, Over, Quantity, Side, Whose};
use crate::measures::{Bodies, CarryingTube, DesignContact, Measure, Row, WheelStance, spin_axis, toe_deg};
use crate::mechanism::{Linkage, WheelPath};
use crate::studies::design_variables::DesignVariables;
use crate::studies::heave::SideBind;
use crate::studies::rig::RigWheel;
use crate::studies::stations::stations;

/// Change of toe that matters in the shop, deg.
pub(super) const TOE_DEG: f64 = 0.01;

/// Stations at which a design vector is evaluated: over 150 mm of travel they are 2 mm apart, and a toe curve with 0.2 deg
/// of bow leaves the line between two of them by less than 0.0001 deg. Of finer rows every so-manyth is taken, for the time of
/// a search grows with them; the answer is judged on all of them.
const MAX_STATIONS: f64 = 75.0;

/// What the other wheel does while this one is tuned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum OtherWheel {
    /// It is the mirror image of this one, or will be about that, for it is tuned to the same limits.
    MovesAlike,
    StaysAsDrawn,
}

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
    /// Bump travel, mm, of the wheel as drawn, 0, and at each other ride height of the file.
    references_mm: Vec<f64>,
    /// Angles of body roll, deg; none when roll steer has no limit.
    pub(super) rolls_deg: Vec<f64>,
    /// For quantities of the axle.
    pub(super) other_wheel: OtherWheel,
    /// The other wheel as drawn at each station; empty when it cannot be moved, or moves as this one.
    pub(super) other_stances: Vec<WheelStance>,
    /// The same at each angle of roll.
    pub(super) other_in_roll: Vec<(f64, InRoll)>,
    /// Where the other wheel, which has points of its own, binds inside its travel: then nothing of the axle is held, for no
    /// place of this wheel can make good what that one does.
    pub(super) other_binds: Option<SideBind>,
    /// Gaps between parts that are held, and those that nothing free can open.
    pub(super) gaps: HeldGaps,
    /// The other wheel's halfshaft, when it is not the mirror image of this wheel's.
    pub(super) other_shaft: Option<OtherShaft>,
    /// Frame tubes that carry a bracket as drawn: its link stays clear of them.
    pub(super) carrying: Vec<CarryingTube>,
    /// What the answer should forgive; `None` asks for the flattest.
    forgiven: Option<Forgiveness>,
    /// Limits that are not held as the file has them.
    pub(super) relaxed: Vec<Relaxed>,
    /// The one limit that is to be kept as well as can be, in place of everything wanted.
    asked_for: Option<ResidualOf>,
}

impl<'g> TuneProblem<'g> {
    /// For one side of a car. `drawn` is the wheel as drawn, when it moves: it tells the bump travel of each ride height.
    pub fn new(geometry: &'g Geometry, side: Side, variables: DesignVariables<'g>, drawn: Option<&RigWheel>) -> Self {
        let other = if geometry.mirrored { OtherWheel::MovesAlike } else { OtherWheel::StaysAsDrawn };
        Self::beside(other, geometry, (side, variables, drawn))
    }

    /// The same, the other wheel taken in this way.
    pub(super) fn beside(
        other_wheel: OtherWheel,
        geometry: &'g Geometry,
        (side, variables, drawn): (Side, DesignVariables<'g>, Option<&RigWheel>),
    ) -> Self {
        let travel = &geometry.travel;
        let others = travel.other_ride_heights_mm();
        let others =
            others.filter_map(|height| drawn.map_or(Some(-height), |wheel| wheel.bump_at_ride_height_mm(height)));
        // The verdict on the bump-steer limit is of the drawn height too, and built cars are held to it about that one alone.
        let references_mm: Vec<f64> = std::iter::once(0.0).chain(others).collect();
        let rows_mm = stations(-travel.droop_mm, travel.bump_mm, travel.step_mm);
        let coarse = travel.in_at_most(MAX_STATIONS);
        let mut stations_mm = stations(-travel.droop_mm, travel.bump_mm, coarse.step_mm);
        stations_mm.extend(&references_mm);
        stations_mm.sort_by(f64::total_cmp);
        stations_mm.dedup();
        debug_assert_eq!(variables.drawn().side, side);
        let stays = other_wheel == OtherWheel::StaysAsDrawn && geometry.is_placed(side.other());
        let other = stays.then(|| RigWheel::new(geometry, side.other()).ok()).flatten();
        let other_binds = other.as_ref().and_then(bind_of);
        let other = other.filter(|_| other_binds.is_none());
        let other_stances = other.as_ref().and_then(|wheel| stances(wheel, &stations_mm)).unwrap_or_default();
        let gaps = HeldGaps::new(geometry, side, &variables, &stations_mm);
        let carrying = carrying(geometry, side);
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
            other_stances,
            other_in_roll,
            other_binds,
            gaps,
            other_shaft,
            carrying,
            forgiven: None,
            relaxed: Vec::new(),
            asked_for: None,
        }
    }

    /// How well this limit can be kept beside the others.
    pub(super) fn asking_for(&self, limit: Quantity) -> Self {
        Self { asked_for: Some(ResidualOf::Limit(limit)), ..self.clone() }
    }

    /// How far parts that are too near can be parted beside the other limits.
    pub(super) fn asking_for_gaps(&self) -> Self {
        Self { gaps: self.gaps.asking_for_all(), asked_for: Some(ResidualOf::TooNear), ..self.clone() }
    }

    /// The same of one pair, with no limit of the file held.
    pub(super) fn asking_for_gap_alone(&self, of: &UnclearedPair) -> Self {
        let relaxed = Quantity::ALL.iter().map(|&quantity| Relaxed { quantity, band: None }).collect();
        let gaps = self.gaps.asking_for(of);
        Self { gaps, relaxed, other_shaft: None, asked_for: Some(ResidualOf::TooNear), ..self.clone() }
    }

    /// With parts that are too near held as far apart as on an answer; `None` when it cannot be moved through its whole travel.
    pub(super) fn holding_gaps_of(&self, answer: &[f64]) -> Option<Self> {
        let gaps = self.with_figures(answer, |figures| {
            self.gaps.gaps(self.geometry, (figures.moved, figures.linkage, &figures.wheel.path))
        })?;
        Some(Self { gaps: self.gaps.holding(&gaps), ..self.clone() })
    }

    /// The same question with what was let go held as there.
    pub(super) fn held_as(&self, other: &Self) -> Self {
        let (relaxed, gaps, other_shaft) = (other.relaxed.clone(), other.gaps.clone(), other.other_shaft.clone());
        Self { relaxed, gaps, other_shaft, ..self.clone() }
    }

    /// The same question with a limit not held at all.
    pub fn without_limit(&self, of: Quantity) -> Self {
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

    /// With every other limit than that of bump steer which the drawn car breaks held as it is there, wider by a share of its band:
    /// what is broken already is not made much worse, and keeps nobody from the rest.
    pub fn no_worse_than_drawn(&self, share: f64) -> Self {
        let Some(drawn) = self.as_drawn() else { return self.clone() };
        let mut held = self.clone();
        for residual in drawn.limits.iter().filter(|residual| residual.scaled() != 0.0) {
            let ResidualOf::Limit(quantity) = residual.subject else { continue };
            if quantity == Quantity::BumpSteer {
                continue;
            }
            let width = residual.band.width();
            let more = if width.is_finite() { share * width } else { 0.0 };
            let known = held.relaxed.iter().find(|relaxed| relaxed.quantity == quantity).and_then(|known| known.band);
            let known = known.into_iter().flat_map(|Interval { low, high }| [low, high]);
            let band = Interval::of(known.chain([residual.value - more, residual.value + more]));
            held = held.holding(quantity);
            held.relaxed.push(Relaxed { quantity, band });
        }
        held
    }

    /// A limit of the file with one number of its own; rod ends have one each.
    pub(super) fn limit_of_file(&self, quantity: Quantity) -> Option<Interval> {
        self.geometry.limit(quantity, self.variables.drawn().side)
    }

    /// The car as drawn; `None` when it lacks pickups or cannot be moved through its whole travel.
    pub(super) fn as_drawn(&self) -> Option<Evaluation> {
        let is_placed = !self.variables.places_links();
        is_placed.then(|| self.evaluate(&vec![0.0; self.variables.list.len()])).flatten()
    }

    /// The same question, but for the car that forgives these errors best.
    pub(super) fn forgiving(&self, forgiven: Forgiveness) -> Self {
        Self { forgiven: Some(forgiven), ..self.clone() }
    }

    /// The pairs of bodies that an answer leaves too near; `None` when there is none.
    pub(super) fn lost_gaps(&self, answer: &[f64]) -> Option<LostGaps> {
        self.gaps.lost(self.geometry, &self.variables, answer, &self.stations_mm)
    }

    /// The same question without these pairs.
    pub(super) fn without_gaps(&self, lost: &LostGaps) -> Self {
        Self { gaps: self.gaps.without(lost), ..self.clone() }
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
                Some(of) => limits.into_iter().partition(|residual| residual.subject == of),
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
    pub(super) fn toe_changes(&self, figures: &mut Figures) -> Option<Vec<(f64, f64, Figure)>> {
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

    fn toe_target_deg(&self, bump_mm: f64) -> f64 {
        self.geometry.targets.toe.as_ref().map_or(0.0, |toe| toe.toe_change_deg(bump_mm))
    }

    pub(super) fn toe_weight(&self) -> f64 {
        self.geometry.targets.toe.as_ref().map_or(1.0, |toe| toe.weight)
    }
}

/// The tubes that carry a bracket as drawn, and that neither runs through its link nor has it inside: of others the drawing is the
/// builder's, and told.
fn carrying(geometry: &Geometry, side: Side) -> Vec<CarryingTube> {
    let corner = geometry.corner(side);
    let is_clear = |tube: &CarryingTube| tube.clear(corner).mm >= 0.0;
    let tubes = Bodies::of(geometry, side).carrying_tubes(geometry, side).into_iter().filter(is_clear);
    tubes.map(|tube| tube.with_room_for_head(corner)).collect()
}

/// Where the wheel of the other side stands as drawn at each station; `None` when it cannot be moved there.
fn stances(wheel: &RigWheel, stations_mm: &[f64]) -> Option<Vec<WheelStance>> {
    let (other, car) = (wheel.corner, &wheel.geometry.car);
    let path = WheelPath::follow(&Linkage::new(other), stations_mm).ok()?;
    let design = DesignContact::of(other);
    let stance = |&bump_mm: &f64| Some(Row::level(other, car, &path.at(bump_mm)?, &design).stance());
    stations_mm.iter().map(stance).collect()
}
