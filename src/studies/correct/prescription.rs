//! What is told of one wheel: the set that is prescribed, in which order its changes are made, and what it leaves.

use nalgebra::{Unit, Vector3};

use super::adjuster::{Adjuster, toe_setting};
use super::corrections::Corrections;
use super::finding::{Advice, CamberNowAndAfter, NowAndAfter, PrescribedChange, SearchEffort, ToeBand, WheelMove};
use super::finished_wheel::DrawnWheel;
use super::fitting_cars::Curves;
use super::likely_wheel::LikelyWheel;
use super::steps::{Made, steps};
use crate::gauge::Change;
use crate::geometry::{Corner, Geometry, LengthUnit, Side};
use crate::studies::stations::stations;

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

impl Corrections<'_, '_> {
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
            (false, false) if !self.is_seen => Advice::NotSeen,
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

#[cfg(test)]
mod tests {
    use super::super::adjuster::toe_setting;
    use super::{DrawnWheel, Side, setting_sd_deg};
    use crate::file::GeometryFile;
    use crate::geometry::{Interval, LengthAdjuster, LengthKind};

    /// Toe is left anywhere within half a step: the mean square of as many places as there are, beside a gauge of 0.03 and 0.04 deg.
    #[test]
    fn a_thread_that_turns_by_steps_sets_toe_as_well_as_half_a_step_lets_it() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let mut car = GeometryFile::parse("demo", demo).expect("a sound car").geometry;
        let sd_deg = |car: &_| setting_sd_deg(&DrawnWheel::new(car, Side::Left).expect("a car that moves"), 0.03, 0.04);
        assert!((sd_deg(&car) - 0.05).abs() < 1e-12);
        let by_steps = LengthAdjuster {
            kind: LengthKind::End,
            pitch_mm: 1.25,
            step_turns: Some(0.5),
            range_turns: Interval::either_way(3.0),
        };
        car.left.links[4].adjusters.length = Some(by_steps);
        let drawn = DrawnWheel::new(&car, Side::Left).expect("a car that moves");
        let step_deg = toe_setting(&drawn).step_deg.expect("steps");
        let places = (0..1000).map(|place| (f64::from(place) - 499.5) / 1000.0 * step_deg);
        let mean_square = places.map(|off_deg| off_deg * off_deg).sum::<f64>() / 1000.0;
        assert!(
            step_deg > 0.1 && (sd_deg(&car).powi(2) - 0.0025 - mean_square).abs() < 1e-5 * mean_square,
            "{step_deg}"
        );
    }
}
