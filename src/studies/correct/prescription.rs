//! What to do about one wheel: which of the best sets is prescribed, in which order, and what it leaves.

use nalgebra::{Unit, Vector3};

use super::adjuster::{Adjuster, adjusters, toe_setting};
use super::estimate::Estimate;
use super::finding::{Advice, CamberNowAndAfter, NowAndAfter, PrescribedChange, SearchEffort, ToeBand};
use super::finished_wheel::{DrawnWheel, FinishedWheel};
use super::fitting_cars::{Curves, Drawn, FittingCars};
use super::limits_held::{Limits, as_built};
use super::search::{Candidate, Search};
use crate::gauge::Change;
use crate::geometry::{Corner, Side};
use crate::studies::stations::thinned;

/// Cars that the search sees.
const SEARCHED_CARS: usize = 200;
/// Cars that what is told is worked out with.
const TOLD_CARS: usize = 500;
/// Rows of bump and droop that the search looks at, at most about.
const SEARCHED_ROWS: usize = 13;
/// A set of more parts must leave this much less than one of fewer (no unit).
const WORTH: f64 = 0.9;
/// What takes less than a third off is not worth the work on a car that is good enough (no unit).
const WORTH_ON_A_GOOD_CAR: f64 = 2.0 / 3.0;
/// A set that takes less than this off is not worth the work on any car (no unit).
const WORTH_ON_ANY_CAR: f64 = 0.95;
/// Bump steer that is good enough where the file sets no limit, deg: common practice of a race car's rear axle.
const DEFAULT_LIMIT_DEG: f64 = 0.05;
/// How far static camber may go from the drawing, deg: common practice where it is set by half turns.
pub(super) const CAMBER_LIMIT_DEG: f64 = 0.15;

/// What to do about one wheel, and what that leaves.
#[derive(Debug, Clone)]
pub(super) struct Prescription {
    pub worst: NowAndAfter,
    pub changes: Vec<PrescribedChange>,
    pub advice: Advice,
    pub camber: CamberNowAndAfter,
    pub adjusters_assumed: bool,
    pub search: SearchEffort,
    pub newly_broken: Vec<String>,
    pub curve_now: Vec<ToeBand>,
    pub curve_after: Vec<ToeBand>,
    pub as_built: Corner,
}

/// One wheel of an estimate that is to be corrected.
pub(super) struct Patient<'e, 'd> {
    pub estimate: &'e Estimate<'d>,
    /// Index of the wheel in it.
    pub wheel: usize,
    /// Every change of the rounds before.
    pub earlier: &'e [Change],
    /// Rows of bump and droop, mm.
    pub stations_mm: &'e [f64],
    /// How well toe is set by the gauge, deg.
    pub setting_sd_deg: f64,
    pub seed: u64,
}

impl Patient<'_, '_> {
    /// `None` when the most likely car does not move through the travel.
    pub fn prescription(&self) -> Option<Prescription> {
        let drawn = self.estimate.problem.wheels[self.wheel].drawn;
        let (adjusters, adjusters_assumed) = adjusters(drawn, self.earlier);
        let searched = self.draw(Drawn::Searched(SEARCHED_CARS))?;
        let told = self.draw(Drawn::Told(TOLD_CARS))?;
        let now = told.curves_now(self.stations_mm);
        let mut stations_mm: Vec<f64> =
            thinned(self.stations_mm.len(), SEARCHED_ROWS).map(|row| self.stations_mm[row]).collect();
        stations_mm.retain(|bump_mm| *bump_mm != 0.0);
        let mut search = Search::new(&searched, &adjusters, &stations_mm, CAMBER_LIMIT_DEG)?;
        let sizes = search.best_of_each_size();
        let mut sets_solved = 0;
        let mut leaves = |candidate: &Candidate| {
            sets_solved += 1;
            searched.curves_after(&search.changes(&candidate.steps), &stations_mm).worst_p95_deg()
        };
        // Limits are held by the exact car, the least of them all by the least of the sets.
        let ranked = ranked(&sizes, &mut leaves);
        let limits = Limits::new(drawn, &searched);
        let holds = |candidate: &&Candidate| limits.newly_broken(&search.changes(&candidate.steps)).is_empty();
        let chosen = ranked.iter().find(holds).or(ranked.first());
        let changes = chosen.map_or_else(Vec::new, |chosen| search.changes(&chosen.steps));
        let (advice, changes) = self.advised(&told, &now, changes);
        let prescribed = self.in_order(&told, &adjusters, changes);
        let changes: Vec<Change> = prescribed.iter().map(|line| line.change).collect();
        let after = if changes.is_empty() { now.clone() } else { told.curves_after(&changes, self.stations_mm) };
        let likely = searched.likely;
        let as_it_stands = drawn.finished(&likely.errors_mm, &searched.changes, likely.toe_off_deg, &[])?;
        let changed = drawn.finished(&likely.errors_mm, &searched.changes.with(&changes), 0.0, &[])?;
        let camber_deg = |wheel: &FinishedWheel<'_>| Some(wheel.camber_deg(&wheel.at(0.0)?));
        Some(Prescription {
            worst: NowAndAfter {
                now: now.mean_worst_deg(),
                now_p95: now.worst_p95_deg(),
                expected: after.mean_worst_deg(),
                expected_p95: after.worst_p95_deg(),
            },
            advice,
            camber: CamberNowAndAfter {
                now: camber_deg(&as_it_stands)?,
                after: if changes.is_empty() { camber_deg(&as_it_stands)? } else { camber_deg(&changed)? },
                limit: CAMBER_LIMIT_DEG,
            },
            adjusters_assumed,
            newly_broken: limits.newly_broken(&changes),
            search: SearchEffort {
                sets_tried: search.tried(),
                sets_solved,
                cars: SEARCHED_CARS,
                adjusters: adjusters.len(),
            },
            changes: prescribed,
            curve_now: now.bands(),
            curve_after: after.bands(),
            as_built: as_built(&as_it_stands, &likely.errors_mm, &searched.changes)?,
        })
    }

    fn draw(&self, which: Drawn) -> Option<FittingCars<'_>> {
        FittingCars::draw(self.estimate, self.wheel, self.setting_sd_deg, self.seed, which)
    }

    /// Whether the changes are worth it.
    fn advised(&self, told: &FittingCars<'_>, now: &Curves, changes: Vec<Change>) -> (Advice, Vec<Change>) {
        let limit_deg = told.drawn.geometry.bump_steer_limit_deg().unwrap_or(DEFAULT_LIMIT_DEG);
        let (now_deg, after_deg) = (now.worst_p95_deg(), told.curves_after(&changes, self.stations_mm).worst_p95_deg());
        let is_good = now_deg <= limit_deg;
        let worth = if is_good { WORTH_ON_A_GOOD_CAR } else { WORTH_ON_ANY_CAR };
        match !changes.is_empty() && after_deg < worth * now_deg {
            true => (Advice::Change, changes),
            false if is_good => (Advice::NothingToDo, Vec::new()),
            false => (Advice::NothingHelps, Vec::new()),
        }
    }

    /// The changes in the order of what each gains after those before it.
    fn in_order(&self, told: &FittingCars<'_>, adjusters: &[Adjuster], mut left: Vec<Change>) -> Vec<PrescribedChange> {
        let mut done: Vec<Change> = Vec::new();
        let mut lines = Vec::new();
        while !left.is_empty() {
            let tried = left.iter().enumerate().map(|(index, next)| {
                let curves = told.curves_after(&[done.as_slice(), &[*next]].concat(), self.stations_mm);
                (index, curves.worst_p95_deg(), curves)
            });
            let Some((index, expected_p95_deg, curves)) = tried.min_by(|a, b| a.1.total_cmp(&b.1)) else { break };
            let change = left.remove(index);
            done.push(change);
            let adjuster =
                adjusters.iter().find(|adjuster| adjuster.link == change.link && adjuster.what == change.what);
            lines.push(PrescribedChange {
                link: told.drawn.corner.links[change.link].name.clone(),
                what: change.what.name(),
                end: change.what.moves().map(|(end, _)| end.name()),
                along: change.what.moves().map(|(_, along)| in_car_axes(told.drawn.corner.side, along)),
                by_mm: change.by_mm,
                turns: adjuster.and_then(|adjuster| Some(change.by_mm / adjuster.mm_per_turn?)),
                total_mm: change.by_mm + adjuster.map_or(0.0, |adjuster| adjuster.so_far_mm),
                expected_deg: curves.mean_worst_deg(),
                expected_p95_deg,
                curve: curves.bands(),
                change,
            });
        }
        lines
    }
}

/// The sets in the order in which they are taken when limits allow: the fewest parts that leave next to what the best leaves,
/// then the others, the best first. What each leaves is solved exactly for the best of its size.
fn ranked(sizes: &[Vec<Candidate>], leaves: &mut impl FnMut(&Candidate) -> f64) -> Vec<Candidate> {
    let exact: Vec<f64> = sizes.iter().map(|sets| leaves(&sets[0])).collect();
    let least_deg = exact.iter().copied().fold(f64::INFINITY, f64::min);
    let Some(first) = exact.iter().position(|&left_deg| left_deg * WORTH <= least_deg) else { return Vec::new() };
    let mut others: Vec<Candidate> = sizes.concat();
    others.sort_by(|a, b| a.p95_deg.total_cmp(&b.p95_deg));
    sizes[first].iter().cloned().chain(others).collect()
}

fn in_car_axes(side: Side, along: Unit<Vector3<f64>>) -> [f64; 3] {
    [along.x, side.sign() * along.y, along.z].map(|part| part + 0.0)
}

/// How well toe is set at a wheel by a gauge that reads with `reading_sd_deg` and is off by `offset_sd_deg`, deg: a thread that turns
/// by steps leaves it anywhere within half of one.
pub(super) fn setting_sd_deg(drawn: &DrawnWheel<'_>, reading_sd_deg: f64, offset_sd_deg: f64) -> f64 {
    let step_deg = toe_setting(drawn).step_deg.unwrap_or(0.0);
    (reading_sd_deg.powi(2) + offset_sd_deg.powi(2) + step_deg.powi(2) / 12.0).sqrt()
}
