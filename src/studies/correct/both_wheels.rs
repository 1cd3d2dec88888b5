//! What is done about both wheels, and what that makes of the limits of the car.

use super::choice::{ChangeSet, Chosen, Judge};
use super::corrections::{Corrections, WheelToCorrect, limit_deg};
use super::likely_wheel::LikelyAxle;
use super::limits_held::{BrokenLimit, HeldLimits};
use super::prescription::Prescription;
use crate::gauge::Change;
use crate::geometry::{PerSide, Side};

/// What is to be done about both wheels.
pub(super) struct Corrected {
    /// `None` of a wheel that is not found, or does not move.
    pub prescriptions: PerSide<Option<Prescription>>,
    pub limits_broken: Vec<BrokenLimit>,
    pub left_out_for: Vec<BrokenLimit>,
}

impl Corrected {
    pub fn of(axle: &LikelyAxle<'_>, wheels: &PerSide<Option<WheelToCorrect<'_, '_>>>) -> Self {
        // Toe can be set at any time, so it stands in the way of no change.
        let with_toe_set = axle.with_toe_set();
        let held_now = with_toe_set.changed(PerSide::default()).as_ref().and_then(HeldLimits::of);
        let holds = |made: PerSide<&[Change]>| {
            let there = with_toe_set.changed(made).as_ref().and_then(HeldLimits::of);
            held_now.as_ref().is_none_or(|now| there.is_some_and(|there| there.worse(now).is_empty()))
        };
        let alone = |side: Side, some: &[Change]| holds(PerSide::of(|of| if of == side { some } else { &[] }));
        let one = |side: Side| wheels[side].as_ref().and_then(|of| of.corrections(&|some| alone(side, some)));
        let (left, right) = rayon::join(|| one(Side::Left), || one(Side::Right));
        let corrections = PerSide { left, right };
        let Chosen { sets, left_out_for } = Self::chosen(&with_toe_set, held_now.as_ref(), &corrections);
        let changes = PerSide::of(|side| corrections[side].as_ref().map(|of| of.sets[sets[side]].changes.clone()));
        let changes = changes.map(Option::unwrap_or_default);
        let [now, after] = [PerSide::default(), changes.as_ref().map(Vec::as_slice)]
            .map(|changes| axle.changed(changes).as_ref().and_then(HeldLimits::of));
        let limits_broken = now.zip(after).map_or_else(Vec::new, |(now, after)| after.broken(&now));
        // The left wheel comes first: it is changed beside a right one as it stands, the right one beside a left one that is finished.
        let on_the_way = |side: Side, some: &[Change]| match side {
            Side::Left => holds(PerSide { left: some, right: &[] }),
            Side::Right => holds(PerSide { left: changes.left.as_slice(), right: some }),
        };
        let mut corrections = corrections;
        let prescriptions = PerSide::of(|side| {
            corrections[side].take().and_then(|of| of.prescription(sets[side], |some| on_the_way(side, some)))
        });
        Self { prescriptions, limits_broken, left_out_for }
    }

    /// The best pair of sets of which each is worth its work.
    fn chosen(
        axle: &LikelyAxle<'_>,
        now: Option<&HeldLimits>,
        corrections: &PerSide<Option<Corrections<'_, '_>>>,
    ) -> Chosen {
        let nothing = [ChangeSet { changes: Vec::new(), p95_deg: 0.0, work: 0, forward_mm: 0.0 }];
        let sets = PerSide::of(|side| corrections[side].as_ref().map_or(&nothing[..], |of| &of.sets));
        let as_it_stands = Chosen { sets: PerSide { left: 0, right: 0 }, left_out_for: Vec::new() };
        let Some(now) = now else { return as_it_stands };
        let mut judge = Judge::new(axle, now, sets);
        let mut open = PerSide::of(|side| (0..sets[side].len()).collect::<Vec<usize>>());
        loop {
            let best = judge.chosen(&open, limit_deg(axle.drawn));
            let is_worth = |side: &Side| {
                let set = best.sets[*side];
                set == 0 || corrections[*side].as_ref().is_some_and(|of| of.is_worth(set))
            };
            match Side::BOTH.into_iter().find(|side| !is_worth(side)) {
                Some(side) => open[side].retain(|set| *set != best.sets[side]),
                None => return best,
            }
        }
    }
}
