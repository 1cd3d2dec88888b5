//! What can be done about one wheel: the best sets of changes, and those held back for the car's other limits.

use super::adjuster::{Adjuster, adjusters};
use super::choice::ChangeSet;
use super::estimate::Estimate;
use super::finding::SearchEffort;
use super::fitting_cars::{Curves, Drawn, FittingCars};
use super::held_back::Holding;
use super::likely_wheel::LikelyWheel;
use super::prescription::CAMBER_LIMIT_DEG;
use super::search::{Candidate, Search, Steps};
use super::told_apart::told_apart;
use crate::gauge::Change;
use crate::geometry::Geometry;
use crate::studies::stations::thinned;

/// Cars that the search sees.
const SEARCHED_CARS: usize = 200;
/// Cars that what is told is worked out with.
const TOLD_CARS: usize = 500;
/// Rows of bump and droop that the search looks at, at most about.
const SEARCHED_ROWS: usize = 13;
/// What takes less than a third off is not worth the work on a car that is good enough (no unit).
const WORTH_ON_A_GOOD_CAR: f64 = 2.0 / 3.0;
/// A set that takes less than this off is not worth the work on any car (no unit).
const WORTH_ON_ANY_CAR: f64 = 0.95;
/// Bump steer that is good enough where the file sets no limit, deg: common practice of a race car's rear axle.
const DEFAULT_LIMIT_DEG: f64 = 0.05;

/// One wheel of an estimate that is to be corrected.
pub(super) struct WheelToCorrect<'e, 'd> {
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
pub(super) struct Corrections<'p, 'd> {
    pub stations_mm: &'p [f64],
    /// Cars that what is told is worked out with, and their curves as they stand.
    pub told: FittingCars<'d>,
    pub now: Curves,
    pub adjusters: Vec<Adjuster>,
    pub adjusters_assumed: bool,
    pub search: SearchEffort,
    /// The readings tell more of the pickups than the drawing does.
    pub is_seen: bool,
    limit_deg: f64,
    pub likely: LikelyWheel<'d>,
    /// That nothing is done comes first.
    pub sets: Vec<ChangeSet>,
}

/// Bump steer that is good enough, deg.
pub(super) fn limit_deg(drawn: &Geometry) -> f64 {
    drawn.bump_steer_limit_deg().unwrap_or(DEFAULT_LIMIT_DEG)
}

impl<'d> WheelToCorrect<'_, 'd> {
    /// `None` when the most likely car does not move through the travel. `holds` says whether some changes, made at this wheel alone,
    /// cost no other limit of the car.
    pub fn corrections(&self, holds: &dyn Fn(&[Change]) -> bool) -> Option<Corrections<'_, 'd>> {
        let drawn = self.estimate.problem.wheels[self.wheel].drawn;
        let (adjusters, adjusters_assumed) = adjusters(drawn, &self.earlier);
        let searched = self.draw(Drawn::Searched(SEARCHED_CARS))?;
        let told = self.draw(Drawn::Told(TOLD_CARS))?;
        let now = told.curves_now(&self.stations_mm);
        let mut stations_mm: Vec<f64> =
            thinned(self.stations_mm.len(), SEARCHED_ROWS).map(|row| self.stations_mm[row]).collect();
        stations_mm.retain(|bump_mm| *bump_mm != 0.0);
        let mut search = Search::new(&searched, &adjusters, &stations_mm, CAMBER_LIMIT_DEG)?;
        let limit_deg = limit_deg(drawn.geometry);
        let is_good = now.worst_p95_deg() <= limit_deg;
        let is_seen = told_apart(self.estimate, self.wheel).known > 0;

        let stands = search.as_it_stands();
        let worth_deg = worth(is_good) * stands.p95_deg;
        let mut sets: Vec<(Steps, ChangeSet)> = Vec::new();
        let mut sets_solved = 0;
        let mut solved = |search: &Search<'_, '_>, set: &mut Candidate| {
            set.p95_deg = searched.curves_after(&search.changes(&set.steps), &stations_mm).worst_p95_deg();
            sets_solved += 1;
        };
        // The best of each size are solved exactly.
        let mut found = search.best_of_each_size();
        found.iter_mut().filter_map(|sets| sets.first_mut()).for_each(|best| solved(&search, best));
        // A wheel that is good enough is left alone but for what makes it better at every step.
        if !is_good {
            found.push(search.less_fore_and_aft());
        }
        for candidate in found.concat() {
            add(&mut sets, &mut search, candidate, worth_deg, is_good);
        }
        sets.sort_by(|(_, a), (_, b)| a.compared(b, limit_deg));
        // Of sets that cost a limit so much as costs none, up to the first that there is no need to hold back.
        let (mut holding, mut held) = (Holding::new(holds), Vec::new());
        for (steps, set) in &sets {
            let is_behind = |(_, held): &(Steps, ChangeSet)| held.compared(set, limit_deg).is_le();
            if held.iter().any(is_behind) || holding.holds(&search, steps) {
                break;
            }
            let mut candidate = search.held_back(steps, &mut holding);
            solved(&search, &mut candidate);
            add(&mut held, &mut search, candidate, worth_deg, is_good);
        }
        sets.extend(held);

        let search =
            SearchEffort { sets_tried: search.tried(), sets_solved, cars: SEARCHED_CARS, adjusters: adjusters.len() };
        let nothing =
            ChangeSet { changes: Vec::new(), p95_deg: stands.p95_deg, work: 0, forward_mm: stands.forward_mm };
        // What nothing was read of is not prescribed: it would correct the drawing.
        let sets = sets.into_iter().map(|(_, set)| set).filter(|_| is_seen);
        let sets = std::iter::once(nothing).chain(sets).collect();
        let likely = LikelyWheel::of(self.estimate, self.wheel);
        let stations_mm = self.stations_mm.as_slice();
        Some(Corrections {
            stations_mm,
            told,
            now,
            adjusters,
            adjusters_assumed,
            search,
            is_seen,
            limit_deg,
            likely,
            sets,
        })
    }

    fn draw(&self, which: Drawn) -> Option<FittingCars<'d>> {
        FittingCars::draw(self.estimate, self.wheel, self.setting_sd_deg, self.seed, which)
    }
}

/// A set that is new and worth its work.
fn add(
    sets: &mut Vec<(Steps, ChangeSet)>,
    search: &mut Search<'_, '_>,
    Candidate { steps, p95_deg, forward_mm }: Candidate,
    worth_deg: f64,
    only_without_worse_steps: bool,
) {
    if p95_deg >= worth_deg || sets.iter().any(|(known, _)| *known == steps) {
        return;
    }
    let (changes, work) = (search.changes(&steps), search.work(&steps));
    if !only_without_worse_steps || work == changes.len() {
        sets.push((steps, ChangeSet { changes, p95_deg, work, forward_mm }));
    }
}

/// What a set must leave less than of what there is, to be worth the work (no unit).
fn worth(is_good: bool) -> f64 {
    if is_good { WORTH_ON_A_GOOD_CAR } else { WORTH_ON_ANY_CAR }
}

impl Corrections<'_, '_> {
    /// 95 of 100 cars are inside the limit as they stand.
    pub fn is_good(&self) -> bool {
        self.now.worst_p95_deg() <= self.limit_deg
    }

    /// Whether a set is worth the work by other cars than those that the search has fitted itself to.
    pub fn is_worth(&self, set: usize) -> bool {
        let after = self.told.curves_after(&self.sets[set].changes, self.stations_mm);
        after.worst_p95_deg() < worth(self.is_good()) * self.now.worst_p95_deg()
    }
}
