//! What keeps an answer from being better: ends of adjustment ranges, and limits that it stands at.

use super::forgiveness::{chance_missed, chance_slope};
use super::iterate::{Bounds, Iterate};
use super::problem::TuneProblem;
use super::qp::bound_multipliers;
use super::residual::{Evaluation, Residual, ResidualOf};
use super::search::LIMIT_TOLERANCE;
use crate::studies::design_variables::VariableKind;

/// A gain per mm below this share of what matters in the shop is not worth telling.
const WORTH_TELLING: f64 = 0.01;
/// An answer that misses by no more than this share of what matters in the shop is held back by nothing.
const PERFECT: f64 = 0.05;
/// A gain of the chance below this per mm or deg is not worth telling.
const CHANCE_WORTH_TELLING: f64 = 0.002;
/// A value this near to its limit, in hundredths of the limit's width, stands at it.
const AT_LIMIT: f64 = 0.01;
/// A derivative below this is none, in the unit of the limit for each mm or deg.
const ACTS: f64 = 1e-9;
/// A variable within this of its bound stands at it, mm or deg.
const AT_BOUND: f64 = 1e-3;

/// A design variable that stands at an end of its range and so keeps the worst residual from getting smaller.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldBack {
    /// What stands at the end of its range.
    pub variable: VariableKind,
    /// The end it stands at, mm or deg from the drawn place.
    pub at: f64,
    /// The worst residual: a broken limit when there is one, else the target that is missed most.
    pub subject: ResidualOf,
    /// By how much one more mm or deg of range would reduce it, in its own unit, to first order (from the bound multiplier).
    pub buys: f64,
    /// All that there is to reduce, in the same unit: no room buys more.
    pub missed: f64,
}

impl HeldBack {
    /// What so much more range would buy, mm or deg; `None` where first order says more than there is to gain.
    pub fn gain(&self, range: f64) -> Option<f64> {
        Some(self.buys * range).filter(|gain| *gain <= self.missed)
    }
}

/// Of an answer as it is drawn: the ends of adjustment ranges that keep its worst miss from getting smaller, the most first.
pub(super) fn held_back(problem: &TuneProblem, bounds: &Bounds, iterate: &Iterate) -> Vec<HeldBack> {
    let asked = what_is_wrong(iterate);
    let size = |residual: &&Residual| residual.scaled().abs();
    let worst = asked.evaluation.objective.iter().max_by(|a, b| size(a).total_cmp(&size(b)));
    let Some(worst) = worst.filter(|residual| size(residual) > PERFECT) else { return Vec::new() };
    let (subject, missed) = (worst.subject, size(&worst) / worst.scale);
    let Some(multipliers) = bound_multipliers(&asked, bounds) else { return Vec::new() };
    let mut list: Vec<(HeldBack, f64)> = multipliers
        .iter()
        .enumerate()
        .filter_map(|(k, (upper, lower))| {
            let (at, multiplier) =
                [(bounds[k].high, *upper), (bounds[k].low, *lower)].into_iter().find(|(end, multiplier)| {
                    (iterate.design_vector[k] - end).abs() < AT_BOUND && *multiplier > WORTH_TELLING
                })?;
            let variable = problem.variables.list[k].kind;
            Some((HeldBack { variable, at, subject, buys: multiplier / worst.scale, missed }, multiplier))
        })
        .collect();
    list.sort_by(|a, b| b.1.total_cmp(&a.1));
    list.into_iter().map(|(held, _)| held).collect()
}

/// Of an answer that was made of all that is wanted: the ends of adjustment ranges beyond which that gets better, and with it the
/// target that is missed most, by how much of which they are told. An end beyond which a limit that is just kept would be broken is
/// none.
pub(super) fn targets_held_back(problem: &TuneProblem, bounds: &Bounds, end: &Iterate) -> Vec<HeldBack> {
    let objective = &end.evaluation.objective;
    let targets = objective.iter().filter(|residual| matches!(residual.subject, ResidualOf::Target(_)));
    let missed_most = targets.max_by(|a, b| a.scaled().abs().total_cmp(&b.scaled().abs()));
    let Some(worst) = missed_most.filter(|worst| worst.scaled().abs() > PERFECT) else { return Vec::new() };
    let missed = worst.scaled().abs() / worst.scale;
    let all_falls = |k: usize| -objective.iter().map(|of| of.scaled() * of.scale * of.gradient[k]).sum::<f64>();
    let worst_falls = |k: usize| -worst.scaled().signum() * worst.gradient[k];
    let mut list: Vec<HeldBack> = (0..bounds.len())
        .filter_map(|k| {
            let is_at = |bound: f64| (end.design_vector[k] - bound).abs() < AT_BOUND;
            let (at, way) = [(bounds[k].high, 1.0), (bounds[k].low, -1.0)].into_iter().find(|(end, _)| is_at(*end))?;
            let (variable, buys) = (problem.variables.list[k].kind, way * worst_falls(k));
            let breaks = |limit: &Residual| way * limit.gradient[k] * f64::from(end_of_limit(limit)) > 0.0;
            let gains = way * all_falls(k) > 0.0 && buys * worst.scale > WORTH_TELLING;
            (gains && !end.evaluation.limits.iter().any(breaks)).then_some(HeldBack {
                variable,
                at,
                subject: worst.subject,
                buys,
                missed,
            })
        })
        .collect();
    list.sort_by(|a, b| b.buys.total_cmp(&a.buys));
    list
}

/// Ends of adjustment ranges that keep more built wheels from passing, by the derivatives of the chance there.
pub(super) fn chance_held_back(problem: &TuneProblem, bounds: &Bounds, end: &Iterate) -> Vec<HeldBack> {
    let gain = |k: usize| chance_slope(&end.evaluation, k);
    let missed = chance_missed(&end.evaluation);
    let mut list: Vec<HeldBack> = (0..bounds.len())
        .filter_map(|k| {
            let is_at = |bound: f64| (end.design_vector[k] - bound).abs() < AT_BOUND;
            let (at, buys) = [(bounds[k].high, gain(k)), (bounds[k].low, -gain(k))]
                .into_iter()
                .find(|(bound, buys)| is_at(*bound) && *buys > CHANCE_WORTH_TELLING)?;
            let (variable, subject) = (problem.variables.list[k].kind, ResidualOf::Built);
            Some(HeldBack { variable, at, subject, buys, missed })
        })
        .collect();
    list.sort_by(|a, b| b.buys.total_cmp(&a.buys));
    list
}

/// Design variables that stand at an end of their range, and at which, mm or deg from the drawn place; none of those that have
/// no range left.
pub(super) fn at_ends(problem: &TuneProblem, bounds: &Bounds, iterate: &Iterate) -> Vec<(VariableKind, f64)> {
    let variables = problem.variables.list.iter().zip(bounds).zip(&iterate.design_vector);
    let at_end = variables.filter_map(|((variable, bound), at)| {
        let end = [bound.high, bound.low].into_iter().find(|end| (at - end).abs() < AT_BOUND)?;
        (bound.width() > AT_BOUND).then_some((variable.kind, end))
    });
    at_end.collect()
}

/// The residuals to be made smaller: the broken limits when there are any, with those that hold as limits.
fn what_is_wrong(iterate: &Iterate) -> Iterate {
    if iterate.evaluation.worst_violation() <= LIMIT_TOLERANCE {
        return iterate.clone();
    }
    let (broken, held): (Vec<Residual>, Vec<Residual>) =
        iterate.evaluation.limits.iter().cloned().partition(|residual| residual.scaled().abs() > LIMIT_TOLERANCE);
    let evaluation = Evaluation { objective: broken, limits: held, ..iterate.evaluation };
    Iterate { design_vector: iterate.design_vector.clone(), evaluation }
}

/// Limits that stand in the way of an answer that misses something; one that is broken elsewhere is not kept.
pub(super) fn at_limits(evaluation: &Evaluation) -> Vec<ResidualOf> {
    if evaluation.worst_residual() <= PERFECT {
        return Vec::new();
    }
    let is_broken = |subject: ResidualOf| {
        evaluation.limits.iter().any(|residual| residual.subject == subject && residual.scaled().abs() > AT_LIMIT)
    };
    let mut list = Vec::new();
    // What nothing that is free acts on holds nothing back.
    let acts = |residual: &&Residual| residual.gradient.iter().any(|by| by.abs() > ACTS);
    for residual in evaluation.limits.iter().filter(|residual| end_of_limit(residual) != 0).filter(acts) {
        if !list.contains(&residual.subject) && !is_broken(residual.subject) {
            list.push(residual.subject);
        }
    }
    list
}

/// The end of its band that a limit stands at: 1 the high one, -1 the low one, 0 neither.
fn end_of_limit(residual: &Residual) -> i8 {
    let stands_at = |end: f64| ((residual.value - end) * residual.scale).abs() < AT_LIMIT;
    i8::from(stands_at(residual.band.high)) - i8::from(stands_at(residual.band.low) && !stands_at(residual.band.high))
}
