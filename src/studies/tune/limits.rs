//! The limits that tuning holds.

use super::clearance::Gap;
use super::figures::{Figure, Figures};
use super::given_up::Relaxed;
use super::other_shaft::{OtherShaft, with_shaft};
use super::problem::{TOE_DEG, TuneProblem};
use super::residual::{Limited, Residual, ResidualOf, limit_scale};
use super::spacing::spacings;
use crate::geometry::{Interval, LimitKey, Needs, Quantity, Whose};
use crate::measures::{Measure, camber_deg, toe_deg};
use crate::studies::design_variables::VariableKind;
use crate::studies::rig::RigWheel;

/// Toe and camber at design height stay as drawn to this, deg: no shop sets them finer.
const SET_WITHIN_DEG: f64 = 0.01;
/// Lack of a gap that matters in the shop, mm.
const GAP_MM: f64 = 0.5;

impl TuneProblem<'_> {
    /// Every limit that tuning holds.
    pub(super) fn limits(&self, figures: &mut Figures) -> Option<Vec<Limited>> {
        let mut limits = Vec::new();
        let deg_limit = |(limit_deg, figure): (f64, Figure)| {
            let band = Interval::either_way(limit_deg);
            Limited::of(ResidualOf::Limit(Quantity::RodEndAngle), band, limit_scale(&band), figure)
        };
        limits.extend(figures.rod_ends().into_iter().map(deg_limit));
        for spacing in spacings(&figures.moved.corner, &self.variables, &self.carrying) {
            let band = Interval { low: spacing.least_mm, high: f64::INFINITY };
            limits.push(Limited::of(spacing.on, band, 1.0, figures.figure(spacing.mm, &spacing.gradient)));
        }
        let moved = (figures.moved, figures.linkage, &figures.wheel.path);
        let figure = |gap: &Gap| figures.figure(gap.mm, &gap.gradient);
        limits.extend(self.gaps.gaps(self.geometry, moved)?.iter().map(|gap| held_gap(gap, figure(gap))));
        if let Some(other) = &self.other_shaft {
            let of_other = other.gaps.gaps(self.geometry, moved)?;
            limits.extend(of_other.iter().map(|gap| held_gap(gap, figure(gap).of_other_wheel())));
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
                let changes = self.toe_changes(figures)?;
                limits.extend(changes.into_iter().map(|(.., of)| Limited::of(subject, limit, 1.0 / TOE_DEG, of)));
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
    pub(super) fn as_set(&self, figures: &mut Figures) -> Option<Vec<Residual>> {
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
}

/// A gap that is held at less than the file asks holds for the drawing alone.
fn held_gap(gap: &Gap, figure: Figure) -> Limited {
    let band = Interval { low: gap.least_mm(), high: f64::INFINITY };
    let limited = |subject: ResidualOf, figure: Figure| Limited::of(subject, band, 1.0 / GAP_MM, figure);
    match gap.is_too_near() {
        false => limited(ResidualOf::Limit(Quantity::Clearance), figure),
        true => limited(ResidualOf::TooNear, Figure { by_own: Vec::new(), by_other: Vec::new(), ..figure }),
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
