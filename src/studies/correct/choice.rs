//! Which sets of changes are made at the two wheels: the best pair with which no limit of a wheel or of the axle is lost.
//!
//! A longer link moves its wheel fore and aft, and setback is of both wheels: what one of them may do depends on the other.

use std::cmp::Ordering;
use std::collections::HashMap;

use super::likely_wheel::LikelyAxle;
use super::limits_held::{BrokenLimit, HeldLimits};
use crate::gauge::Change;
use crate::geometry::{Interval, PerSide, Side};
use crate::studies::verdicts::{State, Verdict};

/// Pairs that are moved and judged; by then those are left that gain next to nothing.
const MAX_JUDGED: usize = 80;
/// The limit is kept with this much to spare by the cars that the search sees, for it has fitted itself to them (no unit).
const RESERVE: f64 = 0.9;
/// One more change must leave this much less where the limit is not kept (no unit).
const WORTH_OUTSIDE: f64 = 0.95;
/// The same where the limit is kept.
const WORTH_INSIDE: f64 = 0.8;
/// Two sets that leave less than this are as good, deg.
const LEAST_DEG: f64 = 1e-6;

/// Something that can be done at a wheel.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ChangeSet {
    /// None: it is left as it stands.
    pub changes: Vec<Change>,
    /// What 95 of 100 cars stay below, deg.
    pub p95_deg: f64,
    /// How much work it is: its changes, those that help only together counted twice but once.
    pub work: usize,
    /// How far ahead of its place in the drawing the wheel centre then stands, mm.
    pub forward_mm: f64,
}

impl ChangeSet {
    fn is_inside(&self, limit_deg: f64) -> bool {
        self.p95_deg <= RESERVE * limit_deg
    }

    /// Work, and what is left of bump steer in changes that it is worth.
    fn cost(&self, limit_deg: f64) -> f64 {
        let worth = if self.is_inside(limit_deg) { WORTH_INSIDE } else { WORTH_OUTSIDE };
        let times = self.p95_deg.max(LEAST_DEG) / (RESERVE * limit_deg);
        self.work as f64 - times.ln() / worth.ln()
    }

    /// What is made first: a set that keeps the limit, then the one of less work and less that is left.
    pub fn compared(&self, other: &Self, limit_deg: f64) -> Ordering {
        let outside = |set: &Self| !set.is_inside(limit_deg);
        outside(self).cmp(&outside(other)).then(self.cost(limit_deg).total_cmp(&other.cost(limit_deg)))
    }
}

/// What is to be done at both wheels.
#[derive(Debug, Clone)]
pub(super) struct Chosen {
    /// Index into the sets of each wheel.
    pub sets: PerSide<usize>,
    /// What a better pair would break; empty when this is the best one.
    pub left_out_for: Vec<BrokenLimit>,
}

/// What becomes of the limits with each pair of sets that was asked for: a pair is moved and judged once.
pub(super) struct Judge<'a> {
    axle: &'a LikelyAxle<'a>,
    now: &'a HeldLimits,
    /// Of each wheel, the first being that nothing is done.
    sets: PerSide<&'a [ChangeSet]>,
    /// `None` of a pair with which a wheel does not close.
    known: HashMap<[usize; 2], Option<HeldLimits>>,
}

impl<'a> Judge<'a> {
    pub fn new(axle: &'a LikelyAxle<'a>, now: &'a HeldLimits, sets: PerSide<&'a [ChangeSet]>) -> Self {
        Self { axle, now, sets, known: HashMap::new() }
    }

    fn with(&mut self, pair: PerSide<usize>) -> Option<&HeldLimits> {
        let judged = || {
            let changes = PerSide::of(|side| self.sets[side][pair[side]].changes.as_slice());
            self.axle.changed(changes).as_ref().and_then(HeldLimits::of)
        };
        self.known.entry([pair.left, pair.right]).or_insert_with(judged).as_ref()
    }

    /// The best pair of the sets that are open, each by its index.
    pub fn chosen(&mut self, open: &PerSide<Vec<usize>>, limit_deg: f64) -> Chosen {
        let (now, sets) = (self.now, self.sets);
        let nothing = PerSide { left: 0, right: 0 };
        let of_right = |left: usize| open.right.iter().map(move |&right| PerSide { left, right });
        let mut pairs: Vec<PerSide<usize>> = open.left.iter().flat_map(|&left| of_right(left)).collect();
        // Wheels outside of the limit first, then what there is to do and what it leaves.
        let cost = |pair: &PerSide<usize>| {
            let sets = Side::BOTH.map(|side| &sets[side][pair[side]]);
            let outside = sets.iter().filter(|set| !set.is_inside(limit_deg)).count();
            (outside, sets.iter().map(|set| set.cost(limit_deg)).sum::<f64>())
        };
        pairs.sort_by(|a, b| {
            let (a, b) = (cost(a), cost(b));
            a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
        });
        let leaves_less = |a: PerSide<usize>, b: PerSide<usize>| {
            Side::BOTH.into_iter().any(|side| sets[side][a[side]].p95_deg < sets[side][b[side]].p95_deg)
        };
        let first = pairs.first().copied().unwrap_or(nothing);
        let (mut judged, mut left_out_for) = (0, Vec::new());
        let mut loses = PerSide::of(|side| vec![false; sets[side].len()]);
        for (place, pair) in pairs.into_iter().enumerate() {
            if pair == nothing || judged == MAX_JUDGED {
                break;
            }
            let is_first = place == 0;
            let is_known = Side::BOTH.into_iter().any(|side| loses[side][pair[side]]);
            if is_known || (!is_first && loses_setback(now, sets, pair)) {
                continue;
            }
            judged += 1;
            // A wheel that does not close is what the search has left out already.
            let Some(there) = self.with(pair) else { continue };
            let worse = there.worse(now);
            if worse.is_empty() {
                left_out_for.retain(|_| leaves_less(first, pair));
                return Chosen { sets: pair, left_out_for };
            }
            if is_first {
                left_out_for = there.lost(now);
            }
            for side in worse.into_iter().flatten() {
                loses[side][pair[side]] = true;
            }
        }
        Chosen { sets: nothing, left_out_for }
    }
}

/// Told from where the wheel centres stand, before anything is moved.
fn loses_setback(now: &HeldLimits, sets: PerSide<&[ChangeSet]>, pair: PerSide<usize>) -> bool {
    let Some((verdict, Interval { low: setback_mm, .. })) = now.setback().and_then(|of| Some((of, of.range?))) else {
        return false;
    };
    let ahead_mm = |side: Side| sets[side][pair[side]].forward_mm - sets[side][0].forward_mm;
    let range = Interval::single(setback_mm + ahead_mm(Side::Left) - ahead_mm(Side::Right));
    let holds = verdict.limit.is_none_or(|limit| limit.holds(&range));
    let state = if holds { State::Pass } else { State::Fail };
    Verdict { range: Some(range), state, ..verdict.clone() }.is_lost_from(verdict)
}

#[cfg(test)]
mod tests {
    use super::{ChangeSet, HeldLimits, loses_setback};
    use crate::file::GeometryFile;
    use crate::geometry::{Interval, PerSide, Quantity};

    /// The left wheel stands 2 mm ahead of the right one, of 3 that are allowed: 2 mm more of it are too many, and 2 mm forward of the
    /// right one put both side by side.
    #[test]
    fn a_wheel_that_goes_further_ahead_loses_setback_and_one_that_catches_up_does_not() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let mut car = GeometryFile::parse("demo", demo).expect("a sound car").geometry;
        car.limits.set(Quantity::Setback, Some(Interval::either_way(3.0)));
        car.mirrored = false;
        car.left.wheel.centre.x += 2.0;
        let now = HeldLimits::of(&car).expect("a car that moves");
        let forward = |forward_mm: f64| ChangeSet { forward_mm, ..set(0.1, 1) };
        let sets = [forward(0.0), forward(2.0), forward(-2.0)];
        let loses = |left: usize, right: usize| {
            loses_setback(&now, PerSide { left: &sets, right: &sets }, PerSide { left, right })
        };
        assert_eq!([loses(1, 0), loses(0, 2), loses(1, 1)], [true, true, false]);
        assert_eq!([loses(0, 1), loses(2, 0), loses(0, 0)], [false; 3]);
    }

    fn set(p95_deg: f64, work: usize) -> ChangeSet {
        ChangeSet { changes: Vec::new(), p95_deg, work, forward_mm: 0.0 }
    }

    /// Of a limit of 0.05 deg.
    fn cost(p95_deg: f64, work: usize) -> f64 {
        set(p95_deg, work).cost(0.05)
    }

    #[test]
    fn one_more_change_inside_the_limit_takes_a_fifth_off() {
        assert!(cost(0.031, 2) < cost(0.04, 1) && cost(0.033, 2) > cost(0.04, 1));
        assert!(cost(0.027, 3) > cost(0.032, 1), "two more for a sixth");
        // A pair of which each alone is worse is the work of three.
        assert!(cost(0.025, 3) < cost(0.04, 1) && cost(0.027, 3) > cost(0.04, 1));
        // What the search has found is inside with something to spare.
        assert!(set(0.044, 1).is_inside(0.05) && !set(0.047, 1).is_inside(0.05));
    }

    #[test]
    fn outside_of_the_limit_a_twentieth_is_worth_a_change() {
        assert!(cost(0.094, 1) < cost(0.1, 0) && cost(0.096, 1) > cost(0.1, 0));
        assert!(cost(0.0, 1).is_finite());
    }
}
