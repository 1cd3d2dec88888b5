//! Many descents from seeded starts, the good answers among their ends, and the search over steps.

use std::cmp::Ordering;

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use rayon::iter::{IntoParallelIterator, ParallelIterator};

use super::descend::{Aim, Bounds, Settled, descend};
use super::judge::Judge;
use super::room::{Room, rooms};
use crate::geometry::Band;

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
/// Share by which the worst miss must fall for the squares to be given up.
const LEAST_GAIN: f64 = 0.005;
/// Answers whose worst misses differ by less than this share are equally good; the smaller move wins.
const EQUAL: f64 = 0.01;
/// Answers with every freedom closer than this, mm or deg, are the same answer.
const SAME: f64 = 2.0;
/// Further answers are shown up to this many times the best worst miss, or while they are within what matters.
const STILL_GOOD: f64 = 2.0;
const MOST_ANSWERS: usize = 3;
/// Tries to find a start that moves at all.
const MOST_DRAWS: usize = 50;
/// Candidates kept from one stepped freedom to the next.
const BEAM: usize = 6;

/// The ends of all descents, best first: only such as hold the limits when there are any, distinct, few.
pub fn search(judge: &Judge, options: &SearchOptions) -> Vec<Settled> {
    let bounds = bounds_of(judge);
    let placed = judge.freedoms.drawn().links.iter().all(|link| link.within.is_none());
    let mut ends: Vec<Settled> = (0..options.starts)
        .into_par_iter()
        .filter_map(|index| {
            let mut random = StdRng::seed_from_u64(options.seed.wrapping_mul(0x9E37_79B9).wrapping_add(index as u64));
            let start = if index == 0 && placed { vec![0.0; bounds.len()] } else { draw(judge, &bounds, &mut random)? };
            let end = settle(judge, &bounds, &start, options);
            (options.progress)();
            end
        })
        .collect();
    ends.sort_by(better);
    if judge.freedoms.list.iter().any(|freedom| freedom.play.step.is_some()) {
        ends = ends.into_iter().take(BEAM).flat_map(|end| stepped(judge, &bounds, end, options)).collect();
        ends.sort_by(better);
    }
    distinct(ends)
}

/// The play of every freedom.
pub fn bounds_of(judge: &Judge) -> Bounds {
    judge.freedoms.list.iter().map(|freedom| Band { low: freedom.play.low, high: freedom.play.high }).collect()
}

/// Squares first; then the worst, unless it is already below anything that can be told apart.
fn settle(judge: &Judge, bounds: &Bounds, start: &[f64], options: &SearchOptions) -> Option<Settled> {
    let squares = descend(judge, bounds, start, Aim::Squares, options.stop)?;
    if squares.judgement.worst_want() <= FLAT && squares.judgement.worst_break() <= HELD {
        return Some(squares);
    }
    let worst = descend(judge, bounds, &squares.setting, Aim::Worst, options.stop)?;
    // Where one target is out of reach it is the worst miss, and lowering it takes no care of the others.
    let gains = worst.judgement.worst_want() < (1.0 - LEAST_GAIN) * squares.judgement.worst_want();
    Some(if gains || squares.judgement.worst_break() > HELD { worst } else { squares })
}

/// The least expected square among descents from the flat answers; `judge` must be a forgiving one. `None` when the
/// freedoms have steps, which would need a search of their own.
pub fn most_forgiving(judge: &Judge, from: &[Settled], options: &SearchOptions) -> Option<Settled> {
    if judge.freedoms.list.iter().any(|freedom| freedom.play.step.is_some()) {
        return None;
    }
    let bounds = bounds_of(judge);
    let square = |settled: &Settled| settled.judgement.wants.iter().map(|term| term.miss().powi(2)).sum::<f64>();
    from.iter()
        .filter_map(|start| descend(judge, &bounds, &start.setting, Aim::Squares, options.stop))
        .filter(|end| end.judgement.worst_break() <= HELD)
        .min_by(|a, b| square(a).total_cmp(&square(b)))
}

/// A random setting that moves through the whole travel, its pickups apart and its links of a sensible length.
fn draw(judge: &Judge, bounds: &Bounds, random: &mut StdRng) -> Option<Vec<f64>> {
    (0..MOST_DRAWS)
        .map(|_| bounds.iter().map(|band| random.random_range(band.low..=band.high)).collect::<Vec<f64>>())
        .find(|setting| {
            rooms(&judge.freedoms.apply(setting).corner).iter().all(Room::is_there) && judge.judge(setting).is_some()
        })
}

/// Held limits first; then the smaller worst miss, or the smaller move among equals.
fn better(a: &Settled, b: &Settled) -> Ordering {
    let broken = |s: &Settled| {
        let size = s.judgement.worst_break();
        if size <= HELD { 0.0 } else { size }
    };
    broken(a).total_cmp(&broken(b)).then_with(|| {
        let (worst_a, worst_b) = (a.judgement.worst_want(), b.judgement.worst_want());
        let flat = worst_a.max(worst_b) <= FLAT;
        if flat || (worst_a - worst_b).abs() <= EQUAL * worst_a.min(worst_b) {
            moved(a).total_cmp(&moved(b))
        } else {
            worst_a.total_cmp(&worst_b)
        }
    })
}

fn moved(settled: &Settled) -> f64 {
    settled.setting.iter().map(|x| x * x).sum()
}

fn distinct(ends: Vec<Settled>) -> Vec<Settled> {
    let mut kept: Vec<Settled> = Vec::new();
    for end in ends {
        let differs = |other: &Settled| end.setting.iter().zip(&other.setting).any(|(a, b)| (a - b).abs() > SAME);
        let good = kept.first().is_none_or(|best| {
            let limit = (STILL_GOOD * best.judgement.worst_want()).max(1.0);
            end.judgement.worst_want() <= limit && end.judgement.worst_break() <= HELD.max(best.judgement.worst_break())
        });
        if kept.len() < MOST_ANSWERS && good && kept.iter().all(differs) {
            kept.push(end);
        }
    }
    kept
}

/// Puts the freedoms that have steps on them, one after the other: both neighbours of each are tried, the rest of the car
/// is tuned again around them, and the best few go on. At the end each is tried one step to either side.
fn stepped(judge: &Judge, bounds: &Bounds, end: Settled, options: &SearchOptions) -> Vec<Settled> {
    let steps: Vec<(usize, f64)> = judge
        .freedoms
        .list
        .iter()
        .enumerate()
        .filter_map(|(index, freedom)| freedom.play.step.map(|step| (index, step)))
        .collect();
    let mut beam = vec![(end, bounds.clone())];
    for &(index, step) in &steps {
        let mut next: Vec<(Settled, Bounds)> = Vec::new();
        for (settled, bounds) in &beam {
            let below = (settled.setting[index] / step).floor();
            for count in [below, below + 1.0] {
                next.extend(fixed(judge, settled, bounds, index, count * step, options));
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
                if let Some((settled, bounds)) = fixed(judge, &best, &free, index, at, options)
                    && better(&settled, &best) == Ordering::Less
                    && settled.judgement.worst_want() < best.judgement.worst_want()
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
    judge: &Judge,
    from: &Settled,
    bounds: &Bounds,
    index: usize,
    at: f64,
    options: &SearchOptions,
) -> Option<(Settled, Bounds)> {
    let play = bounds[index];
    if at < play.low - 1e-9 || at > play.high + 1e-9 {
        return None;
    }
    let mut bounds = bounds.clone();
    bounds[index] = Band { low: at, high: at };
    let settled = settle(judge, &bounds, &from.setting, options)?;
    Some((settled, bounds))
}

/// True when a freedom changes no figure at all at the car as drawn, so that it is there by mistake.
pub fn changes_nothing(judge: &Judge, index: usize) -> Option<bool> {
    let judgement = judge.judge(&vec![0.0; judge.freedoms.list.len()])?;
    let terms = judgement.wants.iter().chain(&judgement.limits);
    Some(terms.into_iter().all(|term| term.slopes[index].abs() < 1e-12))
}
