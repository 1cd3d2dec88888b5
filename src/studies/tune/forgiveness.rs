//! What is asked of the answer that forgives welding errors best: that as many built cars as can be pass every limit.
//!
//! Cars are built to first order: a figure of a built wheel is its drawn value, plus its derivatives by the thirty pickup
//! coordinates times the errors of that wheel. The errors are a fixed set of draws of the error model, each with its
//! mirror image, so that the share of cars that pass is a function of the design vector alone.

use super::figures::Figures;
use super::problem::TOE_DEG;
use super::residual::{Evaluation, Limited, Residual, ResidualOf};
use crate::geometry::{Coordinate, Interval, Quantity, Side};
use crate::measures::Measure;
use crate::studies::errors::ErrorModel;

/// Draws, half of them the mirror images of the other half: enough for a chance to two per cent.
const DRAWS: u64 = 512;
/// Of the draws; another one than that of the cars that are built to tell the chance.
const SEED: u64 = 0x5eed;
/// Difference of a design variable for the derivatives of derivatives, which only steer the descent, mm or deg.
const STEP: f64 = 0.05;
/// The chance counts for this much: a half per cent of it is worth a target that is missed by what matters.
const CHANCE_WEIGHT: f64 = 200.0;
/// The square of the toe curve counts for this much beside a chance: it only decides between cars of the same chance.
const TOE_BESIDE_CHANCE: f64 = 1e-3;
/// Where the file has no `[limits]`, those of parts keep a margin of so many standard deviations: 19 of 20 cars keep them.
const MARGIN_SD: f64 = 2.0;
/// A figure that is further than this inside its limit, in standard deviations, breaks it in no car that is worth counting.
const FAR_INSIDE_SD: f64 = 6.0;
/// A figure spreads at least by this share of its limit's width, so that one that hardly spreads has a chance at all.
const MIN_SPREAD: f64 = 1e-3;

/// The errors that an answer should forgive.
#[derive(Clone)]
pub(super) struct Forgiveness {
    errors: ErrorModel,
    /// Errors of this wheel and of the other, mm; none when the file has no limit that could be passed.
    draws: Vec<[[f64; Coordinate::COUNT]; 2]>,
    /// A car passes by degrees over so many standard deviations of the figure that is nearest to its limit.
    blur_sd: f64,
    /// Targets that are held like limits.
    held_targets: Vec<Quantity>,
    /// Limits whose margin cannot be kept, with the share of it that is held; of the others it is held whole.
    shares_of_margin: Vec<(ResidualOf, f64)>,
}

impl Forgiveness {
    /// The least expected square of the toe curve, `E Σ toe² = Σ (toe² + J C Jᵀ)`, with `J` the derivatives of toe by the
    /// coordinates and `C` the covariance of the errors.
    pub fn least_square(errors: ErrorModel) -> Self {
        Self { errors, draws: Vec::new(), blur_sd: 0.0, held_targets: Vec::new(), shares_of_margin: Vec::new() }
    }

    /// The largest chance.
    pub fn largest_chance(errors: ErrorModel, side: Side, blur_sd: f64) -> Self {
        let draw = |car| [errors.draw(SEED, car, side), errors.draw(SEED, car, side.other())];
        let half: Vec<_> = (0..DRAWS / 2).map(draw).collect();
        let mirrored = half.iter().map(|wheels| wheels.map(|errors| errors.map(|mm| -mm)));
        let draws = half.iter().copied().chain(mirrored).collect();
        Self { draws, blur_sd, ..Self::least_square(errors) }
    }

    /// The same, with these targets held: a chance would give up a little of a target that can be reached, for squares near 0
    /// cost next to nothing.
    pub fn holding(self, held_targets: Vec<Quantity>) -> Self {
        Self { held_targets, ..self }
    }

    /// The same, with these shares of the margin of limits.
    pub fn with_margins(self, shares_of_margin: Vec<(ResidualOf, f64)>) -> Self {
        Self { shares_of_margin, ..self }
    }

    /// What is wanted and what is held.
    pub fn asked(
        &self,
        figures: &mut Figures,
        (toe, targets): (Vec<Residual>, Vec<Residual>),
        limits: Vec<Limited>,
    ) -> Option<(Vec<Residual>, Vec<Residual>)> {
        let has_chance = !self.draws.is_empty();
        let here = Built { spread_deg: self.spread_deg(figures)?, limits: tried(&limits) };
        let beside = self.beside(figures)?;
        let problem = figures.problem;
        let weight = if has_chance { f64::sqrt(TOE_BESIDE_CHANCE) } else { 1.0 };
        let lighter = |residual: Residual| Residual { scale: weight * residual.scale, ..residual };
        let spread = self.spread_residuals(&here, &beside, problem.toe_weight() / TOE_DEG);
        // A toe curve that the file asks for is a target like any other.
        let is_asked = problem.geometry.targets.toe.is_some();
        let toe = toe.into_iter().map(|residual| if is_asked { residual } else { lighter(residual) });
        let is_held =
            |target: &Residual| matches!(target.subject, ResidualOf::Target(of) if self.held_targets.contains(&of));
        let (held_targets, targets): (Vec<Residual>, Vec<Residual>) = targets.into_iter().partition(is_held);
        let mut objective: Vec<Residual> = toe.chain(targets).chain(spread.into_iter().map(lighter)).collect();
        objective.extend(self.chance_residuals(&here, &beside));
        let held = |limited: Limited| {
            let share = self.shares_of_margin.iter().find(|(of, _)| *of == limited.residual.subject);
            let own_margin = share.map_or(1.0, |(_, share)| *share) * MARGIN_SD * self.sd(&limited);
            if has_chance && limited.is_tried { limited.residual } else { limited.residual.narrower(own_margin) }
        };
        Some((objective, limits.into_iter().map(held).chain(held_targets).collect()))
    }

    /// One standard deviation of a limited figure over built cars.
    fn sd(&self, limited: &Limited) -> f64 {
        let both = [&limited.by_own, &limited.by_other].into_iter().filter(|by| !by.is_empty());
        both.map(|by| self.errors.variance(by)).sum::<f64>().sqrt()
    }

    /// The same car with one design variable a little further, for each of them.
    fn beside(&self, figures: &Figures) -> Option<Vec<Built>> {
        let problem = figures.problem;
        let at = |k: usize| {
            let mut moved = figures.design_vector.to_vec();
            moved[k] += STEP;
            problem.with_figures(&moved, |figures| {
                let limits = if self.draws.is_empty() { Vec::new() } else { problem.measured_limits(figures)? };
                Some(Built { spread_deg: self.spread_deg(figures)?, limits: tried(&limits) })
            })
        };
        (0..figures.design_vector.len()).map(at).collect()
    }

    /// Change of toe that one standard deviation of each independent error makes at each station, deg.
    fn spread_deg(&self, figures: &mut Figures) -> Option<Vec<f64>> {
        let design = figures.at(Measure::Toe, 0.0)?;
        let toe = figures.over_travel(Measure::Toe);
        let effects = toe.iter().map(|toe| Some(self.errors.effects(&toe.as_ref()?.minus(&design).by_own)));
        Some(effects.collect::<Option<Vec<_>>>()?.concat())
    }

    /// What each independent error makes of the toe curve, as figures to be kept small.
    fn spread_residuals(&self, here: &Built, beside: &[Built], scale: f64) -> Vec<Residual> {
        let residual = |(i, &value): (usize, &f64)| Residual {
            subject: ResidualOf::Spread,
            value,
            band: Interval::single(0.0),
            scale,
            gradient: beside.iter().map(|moved| (moved.spread_deg[i] - value) / STEP).collect(),
        };
        here.spread_deg.iter().enumerate().map(residual).collect()
    }

    /// One residual a draw, 0 for a car that passes and 1 for one that does not, and between them near a limit: half the sum
    /// of their squares is the share of cars that fail.
    fn chance_residuals(&self, here: &Built, beside: &[Built]) -> Vec<Residual> {
        let scale = (2.0 * CHANCE_WEIGHT / self.draws.len() as f64).sqrt();
        let near: Vec<Near> =
            here.limits.iter().enumerate().filter_map(|(index, limited)| self.near(index, limited)).collect();
        let residual = |wheels: &[[f64; Coordinate::COUNT]; 2]| {
            let nearest = near.iter().map(|near| near.inside_sd(wheels)).min_by(|a, b| a.0.total_cmp(&b.0));
            let (inside_sd, near, way) = nearest?;
            let passes = 1.0 / (1.0 + (-inside_sd / self.blur_sd).exp());
            let value = (1.0 - passes).sqrt();
            // Of √(1 − passes), by way of the logistic function.
            let by_figure = -0.5 * passes * value / (self.blur_sd * near.sd) * way;
            let gradient = near.by_design(wheels, beside).into_iter().map(|by| by_figure * by).collect();
            Some(Residual { subject: ResidualOf::Built, value, band: Interval::single(0.0), scale, gradient })
        };
        self.draws.iter().filter_map(residual).collect()
    }

    /// A limit that some cars could break.
    fn near<'l>(&self, index: usize, limited: &'l Limited) -> Option<Near<'l>> {
        let Residual { value, band, .. } = limited.residual;
        let width = if band.width().is_finite() { band.width() } else { band.high.abs().min(band.low.abs()) };
        let sd = self.sd(limited).max(MIN_SPREAD * width);
        let is_near = (band.high - value).min(value - band.low) < FAR_INSIDE_SD * sd;
        is_near.then_some(Near { index, limited, sd })
    }
}

/// The share of cars that fail, and what is wanted beside it in the same measure, so that it can be above 1; `None` where no car
/// was tried.
pub(super) fn share_failing(evaluation: &Evaluation) -> Option<f64> {
    let is_tried = evaluation.objective.iter().any(|residual| residual.subject == ResidualOf::Built);
    is_tried.then(|| evaluation.half_square() / CHANCE_WEIGHT)
}

/// The share of wheels that fail, between 0 and 1.
pub(super) fn chance_missed(evaluation: &Evaluation) -> f64 {
    let built = evaluation.objective.iter().filter(|residual| residual.subject == ResidualOf::Built);
    built.map(|residual| 0.5 * residual.scaled().powi(2)).sum::<f64>() / CHANCE_WEIGHT
}

/// By how much the chance of a wheel grows with a design variable, per mm or deg, to first order.
pub(super) fn chance_slope(evaluation: &Evaluation, variable: usize) -> f64 {
    let built = evaluation.objective.iter().filter(|residual| residual.subject == ResidualOf::Built);
    let loss: f64 = built.map(|residual| residual.scaled() * residual.scale * residual.gradient[variable]).sum();
    -loss / CHANCE_WEIGHT
}

/// What the errors of a built car act on, at one design vector.
struct Built {
    spread_deg: Vec<f64>,
    limits: Vec<Limited>,
}

fn tried(limits: &[Limited]) -> Vec<Limited> {
    limits.iter().filter(|limited| limited.is_tried).cloned().collect()
}

struct Near<'l> {
    /// Among the limits that are tried.
    index: usize,
    limited: &'l Limited,
    /// Of the figure over built cars.
    sd: f64,
}

impl Near<'_> {
    /// How far a built car is inside this limit, in standard deviations; with 1 when its lower end is the nearer one, else −1:
    /// the way to go.
    fn inside_sd(&self, wheels: &[[f64; Coordinate::COUNT]; 2]) -> (f64, &Self, f64) {
        let Residual { value, band, .. } = self.limited.residual;
        let built = value + effect(&self.limited.by_own, &wheels[0]) + effect(&self.limited.by_other, &wheels[1]);
        let (above, below) = (built - band.low, band.high - built);
        if above < below { (above / self.sd, self, 1.0) } else { (below / self.sd, self, -1.0) }
    }

    /// Derivatives of the built car's figure by the design vector.
    fn by_design(&self, wheels: &[[f64; Coordinate::COUNT]; 2], beside: &[Built]) -> Vec<f64> {
        let of = |limited: &Limited| effect(&limited.by_own, &wheels[0]) + effect(&limited.by_other, &wheels[1]);
        let here = of(self.limited);
        let slopes = self.limited.residual.gradient.iter().zip(beside);
        // A limit can lose a row to a stop on the way.
        slopes
            .map(|(slope, moved)| slope + moved.limits.get(self.index).map_or(0.0, |moved| (of(moved) - here) / STEP))
            .collect()
    }
}

fn effect(by: &[f64], errors_mm: &[f64; Coordinate::COUNT]) -> f64 {
    by.iter().zip(errors_mm).map(|(by, mm)| by * mm).sum()
}

#[cfg(test)]
mod tests {
    use super::{
        Built, CHANCE_WEIGHT, Coordinate, ErrorModel, Evaluation, Forgiveness, Interval, Limited, Near, Residual,
        ResidualOf, STEP, chance_slope,
    };
    use crate::file::GeometryFile;
    use crate::geometry::{Geometry, Weld};

    /// Cars as the residuals of their draws say how far they fail, and a toe curve, which takes no part.
    fn evaluation(x: f64) -> Evaluation {
        let residual = |(subject, value, scale, slope): (ResidualOf, f64, f64, f64)| Residual {
            subject,
            value: value + slope * x,
            band: Interval::single(0.0),
            scale,
            gradient: vec![0.0, slope],
        };
        let built = [(0.6, 2.0, 0.03), (0.2, 2.0, -0.05), (0.9, 2.0, 0.01)];
        let built = built.map(|(value, scale, slope)| (ResidualOf::Built, value, scale, slope));
        let objective = built.into_iter().chain([(ResidualOf::Spread, 3.0, 5.0, 0.4)]).map(residual).collect();
        Evaluation { objective, limits: Vec::new(), worst_bump_steer_deg: 0.0 }
    }

    /// The share of cars that fail is half the sum of the squares of their residuals over the weight of a chance.
    #[test]
    fn a_chance_grows_as_fast_as_the_cars_that_fail_get_fewer() {
        const BY: f64 = 1e-4;
        let chance = |x: f64| {
            let of_cars = evaluation(x).objective.into_iter().filter(|residual| residual.subject == ResidualOf::Built);
            1.0 - 0.5 * of_cars.map(|car| (car.value * car.scale).powi(2)).sum::<f64>() / CHANCE_WEIGHT
        };
        let difference = (chance(BY) - chance(-BY)) / (2.0 * BY);
        let told = chance_slope(&evaluation(0.0), 1);
        assert!((told - difference).abs() < 1e-9 && told < -1e-5, "{told} for {difference}");
        assert_eq!(chance_slope(&evaluation(0.0), 0), 0.0);
    }

    /// A figure grows by 0.3 a millimetre of the bracket. Errors of 3 mm on this wheel and 2 mm on the other do 0.5 more and 0.1
    /// less to it by each of these millimetres: 0.3 + 1.5 − 0.2.
    #[test]
    fn a_figure_of_a_built_car_changes_with_what_its_errors_do() {
        let limited = |x: f64| {
            let (mut by_own, mut by_other) = (vec![0.0; Coordinate::COUNT], vec![0.0; Coordinate::COUNT]);
            (by_own[7], by_other[4]) = (2.0 + 0.5 * x, 1.0 - 0.1 * x);
            let band = Interval::either_way(1.0);
            let residual =
                Residual { subject: ResidualOf::Built, value: 0.3 * x, band, scale: 1.0, gradient: vec![0.3] };
            Limited { residual, by_own, by_other, is_tried: true }
        };
        let here = limited(0.0);
        let near = Near { index: 0, limited: &here, sd: 1.0 };
        let mut wheels = [[0.0; Coordinate::COUNT]; 2];
        (wheels[0][7], wheels[1][4]) = (3.0, 2.0);
        let by = near.by_design(&wheels, &[Built { spread_deg: Vec::new(), limits: vec![limited(STEP)] }]);
        assert!(by.len() == 1 && (by[0] - 1.6).abs() < 1e-9, "{by:?}");
    }

    /// Every coordinate errs by 0.5 mm by itself, one wheel's by 6 for each and the other's by 8: √(3² + 4²).
    #[test]
    fn a_figure_of_both_wheels_spreads_by_the_errors_of_both() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let car = GeometryFile::parse("demo", demo).expect("a sound car").geometry;
        let car = Geometry { weld: Some(Weld::new(0.5)), tape: None, ..car };
        let (mut by_own, mut by_other) = (vec![0.0; Coordinate::COUNT], vec![0.0; Coordinate::COUNT]);
        (by_own[7], by_other[4]) = (6.0, -8.0);
        let band = Interval::either_way(1.0);
        let residual = Residual { subject: ResidualOf::Built, value: 0.0, band, scale: 1.0, gradient: Vec::new() };
        let sd = Forgiveness::least_square(ErrorModel::of_file(&car).left).sd(&Limited {
            residual,
            by_own,
            by_other,
            is_tried: true,
        });
        assert!((sd - 5.0).abs() < 1e-12, "{sd}");
    }
}
