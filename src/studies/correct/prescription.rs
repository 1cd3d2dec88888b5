//! What to do about one wheel: which of the best sets is prescribed, in which order, and what it leaves.

use nalgebra::{Unit, Vector3};

use super::adjuster::{Adjuster, adjusters, toe_setting};
use super::choice::ChangeSet;
use super::estimate::Estimate;
use super::finding::{Advice, CamberNowAndAfter, NowAndAfter, PrescribedChange, SearchEffort, ToeBand, WheelMove};
use super::finished_wheel::DrawnWheel;
use super::fitting_cars::{Curves, Drawn, FittingCars};
use super::likely_wheel::LikelyWheel;
use super::search::{Candidate, Search};
use crate::gauge::Change;
use crate::geometry::{Corner, Geometry, Side};
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
    pub moves: WheelMove,
    pub adjusters_assumed: bool,
    pub search: SearchEffort,
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
    pub earlier: Vec<Change>,
    /// Rows of bump and droop, mm.
    pub stations_mm: Vec<f64>,
    /// How well toe is set by the gauge, deg.
    pub setting_sd_deg: f64,
    pub seed: u64,
}

/// What can be done about a wheel, each set of changes with what it leaves.
pub(super) struct Remedies<'p, 'd> {
    stations_mm: &'p [f64],
    /// Cars that what is told is worked out with, and their curves as they stand.
    told: FittingCars<'d>,
    now: Curves,
    adjusters: Vec<Adjuster>,
    adjusters_assumed: bool,
    search: SearchEffort,
    limit_deg: f64,
    likely: LikelyWheel<'d>,
    /// That nothing is done comes first.
    pub sets: Vec<ChangeSet>,
}

/// Bump steer that is good enough, deg.
pub(super) fn limit_deg(drawn: &Geometry) -> f64 {
    drawn.bump_steer_limit_deg().unwrap_or(DEFAULT_LIMIT_DEG)
}

impl<'d> Patient<'_, 'd> {
    /// `None` when the most likely car does not move through the travel.
    pub fn remedies(&self) -> Option<Remedies<'_, 'd>> {
        let drawn = self.estimate.problem.wheels[self.wheel].drawn;
        let (adjusters, adjusters_assumed) = adjusters(drawn, &self.earlier);
        let searched = self.draw(Drawn::Searched(SEARCHED_CARS))?;
        let told = self.draw(Drawn::Told(TOLD_CARS))?;
        let now = told.curves_now(&self.stations_mm);
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
        let ranked = ranked(&sizes, &mut leaves);
        let (stands, limit_deg) = (search.as_it_stands(), limit_deg(drawn.geometry));
        let is_good = now.worst_p95_deg() <= limit_deg;
        // A wheel that is good enough is left alone but for what makes it better at every step.
        let others = if is_good { Vec::new() } else { search.less_fore_and_aft() };
        let mut sets: Vec<ChangeSet> = Vec::new();
        for (place, set) in ranked.into_iter().chain(others).enumerate() {
            let changes = search.changes(&set.steps);
            let is_worth = set.p95_deg < worth(is_good) * stands.p95_deg;
            let is_known = sets.iter().any(|known| known.changes == changes);
            if is_worth && !is_known && (!is_good || never_worse(&searched, &stations_mm, &changes)) {
                let times = if place == 0 { WORTH } else { 1.0 };
                sets.push(ChangeSet { changes, rank_deg: times * set.p95_deg, forward_mm: set.forward_mm });
            }
        }
        let nothing = ChangeSet { changes: Vec::new(), rank_deg: stands.p95_deg, forward_mm: stands.forward_mm };
        sets.insert(0, nothing);
        let search =
            SearchEffort { sets_tried: search.tried(), sets_solved, cars: SEARCHED_CARS, adjusters: adjusters.len() };
        let likely = LikelyWheel::of(self.estimate, self.wheel);
        let stations_mm = self.stations_mm.as_slice();
        Some(Remedies { stations_mm, told, now, adjusters, adjusters_assumed, search, limit_deg, likely, sets })
    }

    fn draw(&self, which: Drawn) -> Option<FittingCars<'d>> {
        FittingCars::draw(self.estimate, self.wheel, self.setting_sd_deg, self.seed, which)
    }
}

/// What a set must leave less than of what there is, to be worth the work (no unit).
fn worth(is_good: bool) -> f64 {
    if is_good { WORTH_ON_A_GOOD_CAR } else { WORTH_ON_ANY_CAR }
}

/// Whether no change on the way leaves more bump steer than there was before it.
fn never_worse(cars: &FittingCars<'_>, stations_mm: &[f64], changes: &[Change]) -> bool {
    let before_deg = cars.curves_after(&[], stations_mm).worst_p95_deg();
    let left_deg = ordered(cars, stations_mm, changes).into_iter().map(|(_, curves)| curves.worst_p95_deg());
    left_deg.fold((true, before_deg), |(falls, before), left| (falls && left <= before, left)).0
}

/// Changes in the order of what each gains after those before it, with the curves that it leaves.
fn ordered(cars: &FittingCars<'_>, stations_mm: &[f64], changes: &[Change]) -> Vec<(Change, Curves)> {
    let (mut left, mut done) = (changes.to_vec(), Vec::new());
    let mut order = Vec::new();
    while !left.is_empty() {
        let tried = left.iter().enumerate().map(|(index, next)| {
            let curves = cars.curves_after(&[done.as_slice(), &[*next]].concat(), stations_mm);
            (index, curves.worst_p95_deg(), curves)
        });
        let Some((index, _, curves)) = tried.min_by(|a, b| a.1.total_cmp(&b.1)) else { break };
        let change = left.remove(index);
        done.push(change);
        order.push((change, curves));
    }
    order
}

impl Remedies<'_, '_> {
    fn is_good(&self) -> bool {
        self.now.worst_p95_deg() <= self.limit_deg
    }

    /// Whether a set is worth the work by other cars than those that the search has fitted itself to.
    pub fn is_worth(&self, set: usize) -> bool {
        let after = self.told.curves_after(&self.sets[set].changes, self.stations_mm);
        after.worst_p95_deg() < worth(self.is_good()) * self.now.worst_p95_deg()
    }

    /// One of the sets, to be told; `None` when the most likely car does not close.
    pub fn prescription(self, set: usize) -> Option<Prescription> {
        let changes = &self.sets[set].changes;
        let prescribed = self.in_order(changes);
        let is_changed = !changes.is_empty();
        let after = if is_changed { self.told.curves_after(changes, self.stations_mm) } else { self.now.clone() };
        let advice = match (is_changed, self.is_good()) {
            (true, false) => Advice::Change,
            (true, true) => Advice::Optional,
            (false, true) => Advice::NothingToDo,
            (false, false) => Advice::NothingHelps,
        };
        let wheels = [self.likely.finished()?, self.likely.changed(changes).finished()?];
        let [now_at, after_at] = [wheels[0].at(0.0)?, wheels[1].at(0.0)?];
        let moved_mm = after_at.wheel_centre() - now_at.wheel_centre();
        Some(Prescription {
            worst: NowAndAfter {
                now: self.now.mean_worst_deg(),
                now_p95: self.now.worst_p95_deg(),
                expected: after.mean_worst_deg(),
                expected_p95: after.worst_p95_deg(),
            },
            advice,
            camber: CamberNowAndAfter {
                now: wheels[0].camber_deg(&now_at),
                after: wheels[1].camber_deg(&after_at),
                limit: CAMBER_LIMIT_DEG,
            },
            moves: WheelMove { forward_mm: moved_mm.x, outboard_mm: moved_mm.y },
            adjusters_assumed: self.adjusters_assumed,
            search: self.search,
            changes: prescribed,
            curve_now: self.now.bands(),
            curve_after: after.bands(),
            as_built: self.likely.corner()?,
        })
    }

    fn in_order(&self, changes: &[Change]) -> Vec<PrescribedChange> {
        let line = |(change, curves): (Change, Curves)| {
            let of_it = |adjuster: &&Adjuster| adjuster.link == change.link && adjuster.what == change.what;
            let adjuster = self.adjusters.iter().find(of_it);
            PrescribedChange {
                link: self.told.drawn.corner.links[change.link].name.clone(),
                what: change.what.name(),
                end: change.what.moves().map(|(end, _)| end.name()),
                along: change.what.moves().map(|(_, along)| in_car_axes(self.told.drawn.corner.side, along)),
                by_mm: change.by_mm,
                turns: adjuster.and_then(|adjuster| Some(change.by_mm / adjuster.mm_per_turn?)),
                total_mm: change.by_mm + adjuster.map_or(0.0, |adjuster| adjuster.so_far_mm),
                expected_deg: curves.mean_worst_deg(),
                expected_p95_deg: curves.worst_p95_deg(),
                curve: curves.bands(),
                change,
            }
        };
        ordered(&self.told, self.stations_mm, changes).into_iter().map(line).collect()
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
