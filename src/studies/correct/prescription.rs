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
use super::steps::{Made, steps};
use crate::gauge::Change;
use crate::geometry::{Corner, Geometry, LengthUnit, Side};
use crate::studies::stations::{stations, thinned};

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
    pub to_gauge: Vec<ToeBand>,
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
        let mut found = search.best_of_each_size();
        // The best of each size are solved exactly.
        let sets_solved = found.len();
        for best in found.iter_mut().filter_map(|sets| sets.first_mut()) {
            best.p95_deg = searched.curves_after(&search.changes(&best.steps), &stations_mm).worst_p95_deg();
        }
        let (stands, limit_deg) = (search.as_it_stands(), limit_deg(drawn.geometry));
        let is_good = now.worst_p95_deg() <= limit_deg;
        // A wheel that is good enough is left alone but for what makes it better at every step.
        if !is_good {
            found.push(search.less_fore_and_aft());
        }
        let mut sets =
            vec![ChangeSet { changes: Vec::new(), p95_deg: stands.p95_deg, work: 0, forward_mm: stands.forward_mm }];
        for Candidate { steps, p95_deg, forward_mm } in found.concat() {
            let changes = search.changes(&steps);
            let is_worth = p95_deg < worth(is_good) * stands.p95_deg;
            if is_worth && sets.iter().all(|known| known.changes != changes) {
                let work = search.work(&steps);
                if !is_good || work == changes.len() {
                    sets.push(ChangeSet { changes, p95_deg, work, forward_mm });
                }
            }
        }
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

impl Remedies<'_, '_> {
    fn is_good(&self) -> bool {
        self.now.worst_p95_deg() <= self.limit_deg
    }

    /// Whether a set is worth the work by other cars than those that the search has fitted itself to.
    pub fn is_worth(&self, set: usize) -> bool {
        let after = self.told.curves_after(&self.sets[set].changes, self.stations_mm);
        after.worst_p95_deg() < worth(self.is_good()) * self.now.worst_p95_deg()
    }

    /// One of the sets, to be told; `holds` says whether some of its changes cost no limit of the car. `None` when the most likely
    /// car does not close.
    pub fn prescription(self, set: usize, holds: impl Fn(&[Change]) -> bool) -> Option<Prescription> {
        let changes = &self.sets[set].changes;
        let prescribed = self.in_order(changes, holds);
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
            to_gauge: self.bands(changes, &heights_to_gauge_mm(self.told.drawn.geometry)),
            as_built: self.likely.corner()?,
        })
    }

    /// The curve to expect at some heights.
    fn bands(&self, changes: &[Change], heights_mm: &[f64]) -> Vec<ToeBand> {
        let curves = if changes.is_empty() {
            self.told.curves_now(heights_mm)
        } else {
            self.told.curves_after(changes, heights_mm)
        };
        curves.bands()
    }

    fn in_order(&self, changes: &[Change], holds: impl Fn(&[Change]) -> bool) -> Vec<PrescribedChange> {
        let all: Made = (1 << changes.len()) - 1;
        let part = |made: Made| -> Vec<Change> {
            changes.iter().enumerate().filter(|(k, _)| made >> k & 1 == 1).map(|(_, change)| *change).collect()
        };
        let curves: Vec<Curves> = (0..=all)
            .map(|made| match made {
                0 => self.now.clone(),
                _ => self.told.curves_after(&part(made), self.stations_mm),
            })
            .collect();
        let order = steps(changes.len(), |made| {
            let may_end = made == 0 || made == all || (self.keeps_camber(&part(made)) && holds(&part(made)));
            if may_end { curves[made].worst_p95_deg() } else { f64::INFINITY }
        });
        let (mut made, mut prescribed) = (0, Vec::new());
        for step in order {
            for (place, &k) in step.iter().enumerate() {
                made |= 1 << k;
                let with_next = place + 1 < step.len();
                prescribed.push(self.prescribed(changes[k], &curves[made], with_next));
            }
        }
        prescribed
    }

    fn keeps_camber(&self, changes: &[Change]) -> bool {
        let camber_deg = |wheel: &LikelyWheel<'_>| {
            let finished = wheel.finished()?;
            Some(finished.camber_deg(&finished.at(0.0)?))
        };
        let off_deg = |of: f64| (of - self.told.drawn.camber_deg()).abs();
        camber_deg(&self.likely.changed(changes)).is_some_and(|of| off_deg(of) <= CAMBER_LIMIT_DEG)
    }

    fn prescribed(&self, change: Change, curves: &Curves, with_next: bool) -> PrescribedChange {
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
            with_next,
            expected_deg: curves.mean_worst_deg(),
            expected_p95_deg: curves.worst_p95_deg(),
            curve: curves.bands(),
            change,
        }
    }
}

/// Heights at which a wheel is gauged next: design height, both ends of the travel and even steps between.
fn heights_to_gauge_mm(drawn: &Geometry) -> Vec<f64> {
    let step_mm = match drawn.units {
        LengthUnit::Millimetre => 10.0,
        LengthUnit::Inch => LengthUnit::Inch.to_mm(0.5),
    };
    stations(-drawn.travel.droop_mm, drawn.travel.bump_mm, step_mm)
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
