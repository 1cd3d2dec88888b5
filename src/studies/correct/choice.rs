//! Which sets of changes are made at the two wheels: the best pair with which no limit of a wheel or of the axle is lost.
//!
//! A longer link moves its wheel fore and aft, and setback is of both wheels: what one of them may do depends on the other.

use std::collections::HashMap;

use super::likely_wheel::LikelyAxle;
use super::limits_held::{BrokenLimit, HeldLimits};
use crate::gauge::Change;
use crate::geometry::{Interval, PerSide, Side};
use crate::studies::verdicts::{State, Verdict};

/// Pairs that are moved and judged; by then those are left that gain next to nothing.
const MAX_JUDGED: usize = 80;

/// Something that can be done at a wheel.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ChangeSet {
    /// None: it is left as it stands.
    pub changes: Vec<Change>,
    /// By which sets are compared: what 95 of 100 cars stay below, deg, a little less of a set of few parts.
    pub rank_deg: f64,
    /// How far ahead of its place in the drawing the wheel centre then stands, mm.
    pub forward_mm: f64,
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
        let cost = |pair: &PerSide<usize>| {
            let rank_deg = Side::BOTH.map(|side| sets[side][pair[side]].rank_deg);
            (rank_deg.iter().map(|deg| (deg - limit_deg).max(0.0)).sum::<f64>(), rank_deg.iter().sum::<f64>())
        };
        pairs.sort_by(|a, b| {
            let (a, b) = (cost(a), cost(b));
            a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1))
        });
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
