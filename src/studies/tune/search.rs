//! Many descents from seeded starts, the good answers among their ends, and the search over steps.

use std::cmp::Ordering;

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use rayon::iter::{IntoParallelIterator, ParallelIterator};

use super::descend::{Bounds, Iterate, Objective, descend};
use super::problem::TuneProblem;
use super::room::{Clearance, clearances};
use crate::geometry::Interval;

/// How a search is run. The same seed gives the same answer on any number of threads.
pub struct SearchOptions<'a> {
    pub seed: u64,
    /// Descents, the first of them from the car as drawn.
    pub starts: usize,
    /// Asked between steps; true ends the search with the best so far.
    pub stop: &'a (dyn Fn() -> bool + Sync),
    /// Told after each descent, from any thread.
    pub progress: &'a (dyn Fn() + Sync),
}

/// Limits may be missed by this, scaled, through rounding of the convex programs: a hundred-thousandth of their width.
const HELD: f64 = 1e-3;
/// A worst miss this small is none: half a thousandth of a degree of toe. Then the smaller move is the better answer.
const FLAT: f64 = 0.05;
/// Proportion by which the worst miss must fall for the squares to be given up.
const MIN_GAIN: f64 = 0.005;
/// Answers whose worst misses differ by less than this share are equally good; the smaller move wins.
const EQUAL: f64 = 0.01;
/// Answers with every freedom closer than this, mm or deg, are the same answer.
const SAME: f64 = 2.0;
/// Further answers are shown up to this many times the best worst miss, or while they are within what matters.
const STILL_GOOD: f64 = 2.0;
const MAX_ANSWERS: usize = 3;
/// Tries to find a start that moves at all.
const MAX_DRAWS: usize = 50;
/// Candidates kept from one stepped freedom to the next.
const BEAM: usize = 6;

/// The ends of all descents, best first: only such as hold the limits when there are any, distinct, few.
pub fn search(problem: &TuneProblem, options: &SearchOptions) -> Vec<Iterate> {
    let bounds = bounds_of(problem);
    let placed = problem.freedoms.drawn().links.iter().all(|link| link.within.is_none());
    let mut ends: Vec<Iterate> = (0..options.starts)
        .into_par_iter()
        .filter_map(|index| {
            let mut random = StdRng::seed_from_u64(options.seed.wrapping_mul(0x9E37_79B9).wrapping_add(index as u64));
            let start =
                if index == 0 && placed { vec![0.0; bounds.len()] } else { draw(problem, &bounds, &mut random)? };
            let end = settle(problem, &bounds, &start, options);
            (options.progress)();
            end
        })
        .collect();
    ends.sort_by(better);
    if problem.freedoms.list.iter().any(|freedom| freedom.play.step.is_some()) {
        ends = ends.into_iter().take(BEAM).flat_map(|end| stepped(problem, &bounds, end, options)).collect();
        ends.sort_by(better);
    }
    distinct(ends)
}

/// The play of every freedom.
pub fn bounds_of(problem: &TuneProblem) -> Bounds {
    problem.freedoms.list.iter().map(|freedom| Interval { low: freedom.play.low, high: freedom.play.high }).collect()
}

/// Squares first; then the worst, unless it is already below anything that can be told apart.
fn settle(problem: &TuneProblem, bounds: &Bounds, start: &[f64], options: &SearchOptions) -> Option<Iterate> {
    let squares = descend(problem, bounds, start, Objective::Squares, options.stop)?;
    if squares.evaluation.worst_want() <= FLAT && squares.evaluation.worst_break() <= HELD {
        return Some(squares);
    }
    let worst = descend(problem, bounds, &squares.setting, Objective::Worst, options.stop)?;
    // Where one target is out of reach it is the worst miss, and lowering it takes no care of the others.
    let gains = worst.evaluation.worst_want() < (1.0 - MIN_GAIN) * squares.evaluation.worst_want();
    Some(if gains || squares.evaluation.worst_break() > HELD { worst } else { squares })
}

/// The least expected square among descents from the flat answers; `problem` must be a forgiving one. `None` when the
/// freedoms have steps, which would need a search of their own.
pub fn most_forgiving(problem: &TuneProblem, from: &[Iterate], options: &SearchOptions) -> Option<Iterate> {
    if problem.freedoms.list.iter().any(|freedom| freedom.play.step.is_some()) {
        return None;
    }
    let bounds = bounds_of(problem);
    let square = |settled: &Iterate| settled.evaluation.wants.iter().map(|term| term.miss().powi(2)).sum::<f64>();
    from.iter()
        .filter_map(|start| descend(problem, &bounds, &start.setting, Objective::Squares, options.stop))
        .filter(|end| end.evaluation.worst_break() <= HELD)
        .min_by(|a, b| square(a).total_cmp(&square(b)))
}

/// A random setting that moves through the whole travel, its pickups apart and its links of a sensible length.
fn draw(problem: &TuneProblem, bounds: &Bounds, random: &mut StdRng) -> Option<Vec<f64>> {
    (0..MAX_DRAWS)
        .map(|_| bounds.iter().map(|band| random.random_range(band.low..=band.high)).collect::<Vec<f64>>())
        .find(|setting| {
            clearances(&problem.freedoms.apply(setting).corner).iter().all(Clearance::is_there)
                && problem.problem(setting).is_some()
        })
}

/// Held limits first; then the smaller worst miss, or the smaller move among equals.
fn better(a: &Iterate, b: &Iterate) -> Ordering {
    let broken = |s: &Iterate| {
        let size = s.evaluation.worst_break();
        if size <= HELD { 0.0 } else { size }
    };
    broken(a).total_cmp(&broken(b)).then_with(|| {
        let (worst_a, worst_b) = (a.evaluation.worst_want(), b.evaluation.worst_want());
        let flat = worst_a.max(worst_b) <= FLAT;
        if flat || (worst_a - worst_b).abs() <= EQUAL * worst_a.min(worst_b) {
            moved(a).total_cmp(&moved(b))
        } else {
            worst_a.total_cmp(&worst_b)
        }
    })
}

fn moved(settled: &Iterate) -> f64 {
    settled.setting.iter().map(|x| x * x).sum()
}

fn distinct(ends: Vec<Iterate>) -> Vec<Iterate> {
    let mut kept: Vec<Iterate> = Vec::new();
    for end in ends {
        let differs = |other: &Iterate| end.setting.iter().zip(&other.setting).any(|(a, b)| (a - b).abs() > SAME);
        let good = kept.first().is_none_or(|best| {
            let limit = (STILL_GOOD * best.evaluation.worst_want()).max(1.0);
            end.evaluation.worst_want() <= limit
                && end.evaluation.worst_break() <= HELD.max(best.evaluation.worst_break())
        });
        if kept.len() < MAX_ANSWERS && good && kept.iter().all(differs) {
            kept.push(end);
        }
    }
    kept
}

/// Puts the freedoms that have steps on them, one after the other: both neighbours of each are tried, the rest of the car
/// is tuned again around them, and the best few go on. At the end each is tried one step to either side.
fn stepped(problem: &TuneProblem, bounds: &Bounds, end: Iterate, options: &SearchOptions) -> Vec<Iterate> {
    let steps: Vec<(usize, f64)> = problem
        .freedoms
        .list
        .iter()
        .enumerate()
        .filter_map(|(index, freedom)| freedom.play.step.map(|step| (index, step)))
        .collect();
    let mut beam = vec![(end, bounds.clone())];
    for &(index, step) in &steps {
        let mut next: Vec<(Iterate, Bounds)> = Vec::new();
        for (settled, bounds) in &beam {
            let below = (settled.setting[index] / step).floor();
            for count in [below, below + 1.0] {
                next.extend(fixed(problem, settled, bounds, index, count * step, options));
            }
        }
        next.sort_by(|a, b| better(&a.0, &b.0));
        next.truncate(BEAM);
        beam = next;
    }
    let Some((mut best, mut held)) = beam.into_iter().next() else { return Vec::new() };
    let mut improved = true;
    while improved && !(options.stop)() {
        improved = false;
        for &(index, step) in &steps {
            for by in [-step, step] {
                let mut free = held.clone();
                free[index] = bounds[index];
                let at = best.setting[index] + by;
                if let Some((settled, bounds)) = fixed(problem, &best, &free, index, at, options)
                    && better(&settled, &best) == Ordering::Less
                    && settled.evaluation.worst_want() < best.evaluation.worst_want()
                {
                    (best, held, improved) = (settled, bounds, true);
                }
            }
        }
    }
    vec![best]
}

/// The same car with one freedom held at a value inside its play, the rest tuned again.
fn fixed(
    problem: &TuneProblem,
    from: &Iterate,
    bounds: &Bounds,
    index: usize,
    at: f64,
    options: &SearchOptions,
) -> Option<(Iterate, Bounds)> {
    let play = bounds[index];
    if at < play.low - 1e-9 || at > play.high + 1e-9 {
        return None;
    }
    let mut bounds = bounds.clone();
    bounds[index] = Interval { low: at, high: at };
    let settled = settle(problem, &bounds, &from.setting, options)?;
    Some((settled, bounds))
}

/// True when a freedom changes no figure at all at the car as drawn, so that it is there by mistake.
pub fn changes_nothing(problem: &TuneProblem, index: usize) -> Option<bool> {
    let evaluation = problem.problem(&vec![0.0; problem.freedoms.list.len()])?;
    let terms = evaluation.wants.iter().chain(&evaluation.limits);
    Some(terms.into_iter().all(|term| term.slopes[index].abs() < 1e-12))
}
