//! The few changes that leave the least bump steer, over the discrete steps of the shop.
//!
//! A set of changes is judged by the 95th percentile, over cars that fit the readings, of the worst change of toe: the most
//! likely car solved exactly with toe set anew, what the other cars differ by to first order. The search grows sets one
//! adjuster at a time and keeps the best few of each size; each begins at the relaxed optimum (whole steps forgotten, mean square
//! over travel and cars), is rounded, and descends step by step, alone and in pairs.

use std::collections::HashMap;

use nalgebra::{DMatrix, DVector};

use super::adjuster::Adjuster;
use super::fitting_cars::{Departures, FittingCars, told};
use super::steps::{Made, steps};
use crate::gauge::Change;

/// Sets of one size that are grown further.
const KEPT: usize = 4;
/// More parts than this are no correction but another car.
const MAX_PARTS: usize = 6;
/// Descents that are not over by then are not worth it.
const MAX_MOVES: usize = 100;
/// A gain below this, deg, is none.
const NO_GAIN_DEG: f64 = 1e-7;
/// Wheel centres nearer than this are in one place, mm.
const SAME_PLACE_MM: f64 = 0.1;
/// Each degree of camber beyond its limit counts as so many degrees of toe.
const PER_EXCESS: f64 = 10.0;

/// Steps of every adjuster.
pub(super) type Steps = Vec<i32>;

/// Whether steps may be taken, whatever they gain.
type MayBe<'f, 'c, 'd> = dyn FnMut(&Search<'c, 'd>, &[i32]) -> bool + 'f;

/// A set with what is to be expected of it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Candidate {
    pub steps: Steps,
    /// 95th percentile of the worst change of toe, deg, with a penalty for camber beyond its limit.
    pub p95_deg: f64,
    /// How far ahead of its place in the drawing the wheel centre of the most likely car then stands, mm.
    pub forward_mm: f64,
}

/// The same of steps that were tried.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Tried {
    p95_deg: f64,
    forward_mm: f64,
}

impl Tried {
    /// Of steps that no wheel takes.
    const IMPOSSIBLE: Self = Self { p95_deg: f64::INFINITY, forward_mm: 0.0 };
}

pub(super) struct Search<'c, 'd> {
    cars: &'c FittingCars<'d>,
    adjusters: &'c [Adjuster],
    stations_mm: &'c [f64],
    camber_limit_deg: f64,
    /// Departures of the curves of all cars, car by car.
    curves: Vec<f64>,
    /// The same of what a step of each adjuster does.
    by_step: Vec<Vec<f64>>,
    /// Sum over cars and stations of the products of what steps do, and of these with the curves.
    normal: DMatrix<f64>,
    against: DVector<f64>,
    known: HashMap<Steps, Tried>,
    scratch: Vec<f64>,
}

impl<'c, 'd> Search<'c, 'd> {
    /// `None` when the most likely car does not move through its travel.
    pub fn new(
        cars: &'c FittingCars<'d>,
        adjusters: &'c [Adjuster],
        stations_mm: &'c [f64],
        camber_limit_deg: f64,
    ) -> Option<Self> {
        let all = cars.departures(adjusters, stations_mm)?;
        let (likely, departures) = all.split_first()?;
        let (normal, against) = normal_equations(likely, departures, adjusters.len());
        let of = |adjuster: usize| departures.iter().flat_map(|car| car.by_step[adjuster].iter().copied()).collect();
        Some(Self {
            cars,
            adjusters,
            stations_mm,
            camber_limit_deg,
            curves: departures.iter().flat_map(|car| car.curve.iter().copied()).collect(),
            by_step: (0..adjusters.len()).map(of).collect(),
            normal,
            against,
            known: HashMap::new(),
            scratch: Vec::new(),
        })
    }

    /// How many sets were tried.
    pub fn tried(&self) -> usize {
        self.known.len()
    }

    /// The changes of some steps.
    pub fn changes(&self, steps: &[i32]) -> Vec<Change> {
        let taken = self.adjusters.iter().zip(steps).filter(|(_, steps)| **steps != 0);
        taken.map(|(adjuster, steps)| adjuster.change(*steps)).collect()
    }

    /// No step taken, toe set anew.
    pub fn as_it_stands(&mut self) -> Candidate {
        self.candidate(vec![0; self.adjusters.len()])
    }

    /// Of everything that was tried, what moves the wheel less fore and aft than all that leaves less bump steer with as many
    /// changes; the least bump steer first.
    pub fn less_fore_and_aft(&mut self) -> Vec<Candidate> {
        let from_mm = self.as_it_stands().forward_mm;
        let mut tried: Vec<Candidate> =
            self.known.keys().cloned().collect::<Vec<_>>().into_iter().map(|steps| self.candidate(steps)).collect();
        // Steps settle ties, so that the order in which a map gives its keys is of no account.
        tried.sort_by(|a, b| a.p95_deg.total_cmp(&b.p95_deg).then_with(|| a.steps.cmp(&b.steps)));
        let mut least_mm = [f64::INFINITY; MAX_PARTS + 1];
        tried.retain(|set| {
            let moved_mm = (set.forward_mm - from_mm).abs();
            let Some(least_mm) = least_mm.get_mut(parts(&set.steps).len()) else { return false };
            let is_less = set.p95_deg.is_finite() && moved_mm < *least_mm - SAME_PLACE_MM;
            *least_mm = if is_less { moved_mm } else { *least_mm };
            is_less
        });
        tried
    }

    /// How much work it is: its changes, those that help only together counted twice but once.
    pub fn work(&mut self, set: &[i32]) -> usize {
        let parts = parts(set);
        let some = |made: Made| -> Steps {
            let is_made =
                |adjuster| parts.iter().position(|part| *part == adjuster).is_some_and(|k| made >> k & 1 == 1);
            set.iter().enumerate().map(|(adjuster, steps)| if is_made(adjuster) { *steps } else { 0 }).collect()
        };
        let order = steps(parts.len(), |made| self.judge(&some(made)).p95_deg);
        order.iter().map(|step| 2 * step.len() - 1).sum()
    }

    fn candidate(&mut self, steps: Steps) -> Candidate {
        let Tried { p95_deg, forward_mm } = self.judge(&steps);
        Candidate { steps, p95_deg, forward_mm }
    }

    /// The best sets of each size, the best first, the smallest size first; sizes that gain nothing are left out.
    pub fn best_of_each_size(&mut self) -> Vec<Vec<Candidate>> {
        let mut kept = vec![self.as_it_stands()];
        let mut sizes: Vec<Vec<Candidate>> = Vec::new();
        for size in 1..=self.adjusters.len().min(MAX_PARTS) {
            let mut grown: Vec<Candidate> = Vec::new();
            let mut seen: Vec<Vec<usize>> = Vec::new();
            for base in &kept {
                for added in (0..self.adjusters.len()).filter(|&added| base.steps[added] == 0) {
                    let open: Vec<usize> =
                        (0..self.adjusters.len()).filter(|&k| k == added || base.steps[k] != 0).collect();
                    if !seen.contains(&open) {
                        grown.push(self.descended(&base.steps, &open));
                        seen.push(open);
                    }
                }
            }
            grown.retain(|grown| parts(&grown.steps).len() == size);
            grown.sort_by(|a, b| a.p95_deg.total_cmp(&b.p95_deg));
            grown.dedup();
            grown.truncate(KEPT);
            if grown.is_empty() {
                break;
            }
            kept = grown.clone();
            sizes.push(grown);
        }
        sizes
    }

    /// The best steps of some adjusters near the relaxed optimum and near steps that are known to be good.
    fn descended(&mut self, good: &[i32], open: &[usize]) -> Candidate {
        let starts = [self.relaxed(open), good.to_vec()];
        let ends = starts.map(|start| self.descend(start, open, &mut |_, _| true));
        let [first, second] = ends;
        if second.p95_deg < first.p95_deg { second } else { first }
    }

    /// Step by step to where nothing that may be gains any more.
    pub(super) fn descend(&mut self, mut steps: Steps, open: &[usize], may_be: &mut MayBe<'_, 'c, 'd>) -> Candidate {
        let mut p95_deg = self.judge(&steps).p95_deg;
        for _ in 0..MAX_MOVES {
            let singles = open.iter().flat_map(|&k| [vec![(k, 1)], vec![(k, -1)]]).collect();
            let Some((next, better)) = self.best_move(&steps, p95_deg, singles, may_be).or_else(|| {
                let pairs = open.iter().enumerate().flat_map(|(i, &k)| open[..i].iter().map(move |&l| (k, l)));
                let ways = |(k, l)| [[1, 1], [1, -1], [-1, 1], [-1, -1]].map(|[a, b]| vec![(k, a), (l, b)]);
                self.best_move(&steps, p95_deg, pairs.flat_map(ways).collect(), may_be)
            }) else {
                break;
            };
            (steps, p95_deg) = (next, better);
        }
        self.candidate(steps)
    }

    fn best_move(
        &mut self,
        from: &[i32],
        p95_deg: f64,
        moves: Vec<Vec<(usize, i32)>>,
        may_be: &mut MayBe<'_, 'c, 'd>,
    ) -> Option<(Steps, f64)> {
        let mut gaining: Vec<(Steps, f64)> = Vec::new();
        for by in moves {
            let mut steps = from.to_vec();
            by.iter().for_each(|&(adjuster, by)| steps[adjuster] += by);
            let allowed = by.iter().all(|&(k, _)| {
                let [low, high] = self.adjusters[k].steps;
                (low..=high).contains(&steps[k])
            });
            if allowed {
                let there = self.judge(&steps).p95_deg;
                if there < p95_deg - NO_GAIN_DEG {
                    gaining.push((steps, there));
                }
            }
        }
        gaining.sort_by(|a, b| a.1.total_cmp(&b.1));
        gaining.into_iter().find(|(steps, _)| may_be(self, steps))
    }

    /// The steps of some adjusters that make the mean square least, rounded.
    fn relaxed(&self, open: &[usize]) -> Steps {
        let mut steps = vec![0; self.adjusters.len()];
        let normal = DMatrix::from_fn(open.len(), open.len(), |i, j| self.normal[(open[i], open[j])]);
        let against = DVector::from_fn(open.len(), |i, _| self.against[open[i]]);
        if let Some(cholesky) = normal.cholesky() {
            for (&k, by) in open.iter().zip(cholesky.solve(&-against).iter()) {
                let [low, high] = self.adjusters[k].steps;
                steps[k] = by.round().clamp(f64::from(low), f64::from(high)) as i32;
            }
        }
        steps
    }

    fn judge(&mut self, steps: &[i32]) -> Tried {
        if let Some(known) = self.known.get(steps) {
            return *known;
        }
        let tried = self.tried_at(steps).unwrap_or(Tried::IMPOSSIBLE);
        self.known.insert(steps.to_vec(), tried);
        tried
    }

    fn tried_at(&mut self, steps: &[i32]) -> Option<Tried> {
        let cars = self.cars;
        let changes = cars.changes.with(&self.changes(steps));
        let likely = cars.drawn.finished(&cars.likely.errors_mm, &changes, 0.0, self.stations_mm)?;
        let curve = likely.toe_changes_deg(self.stations_mm)?;
        let design = likely.at(0.0)?;
        let camber_off_deg = (likely.camber_deg(&design) - cars.drawn.camber_deg()).abs();
        self.scratch.clone_from(&self.curves);
        for (by_step, steps) in self.by_step.iter().zip(steps).filter(|(_, steps)| **steps != 0) {
            let steps = f64::from(*steps);
            self.scratch.iter_mut().zip(by_step).for_each(|(change, by)| *change += steps * by);
        }
        let worst = |departures: &[f64]| {
            departures.iter().zip(&curve).fold(0.0, |worst, (by, likely)| f64::max(worst, (by + likely).abs()))
        };
        let mut worst_deg: Vec<f64> = self.scratch.chunks_exact(curve.len()).map(worst).collect();
        let p95_deg = told(&mut worst_deg) + PER_EXCESS * (camber_off_deg - self.camber_limit_deg).max(0.0);
        Some(Tried { p95_deg, forward_mm: design.displacement.x })
    }
}

/// The adjusters that some steps move.
fn parts(steps: &[i32]) -> Vec<usize> {
    (0..steps.len()).filter(|&adjuster| steps[adjuster] != 0).collect()
}

/// Sums over cars and stations of the products of what steps do, and of these with the curves.
fn normal_equations(likely: &Departures, cars: &[Departures], adjusters: usize) -> (DMatrix<f64>, DVector<f64>) {
    let (mut normal, mut against) = (DMatrix::zeros(adjusters, adjusters), DVector::zeros(adjusters));
    for car in cars {
        for station in 0..likely.curve.len() {
            let by = |k: usize| car.by_step[k][station] + likely.by_step[k][station];
            let change = car.curve[station] + likely.curve[station];
            for k in 0..adjusters {
                against[k] += by(k) * change;
                (0..adjusters).for_each(|l| normal[(k, l)] += by(k) * by(l));
            }
        }
    }
    (normal, against)
}
