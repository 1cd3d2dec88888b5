//! What is done about both wheels, and what that makes of the limits of the car.

use super::choice::{ChangeSet, Chosen, chosen};
use super::likely_wheel::LikelyAxle;
use super::limits_held::{BrokenLimit, HeldLimits};
use super::prescription::{Patient, Prescription, Remedies, limit_deg};
use crate::geometry::{PerSide, Side};

/// What is to be done about both wheels.
pub(super) struct Corrected {
    /// `None` of a wheel that is not found, or does not move.
    pub prescriptions: PerSide<Option<Prescription>>,
    pub limits_broken: Vec<BrokenLimit>,
    pub left_out_for: Vec<BrokenLimit>,
}

impl Corrected {
    pub fn of(axle: &LikelyAxle<'_>, patients: &PerSide<Option<Patient<'_, '_>>>) -> Self {
        let one = |side: Side| patients[side].as_ref().and_then(Patient::remedies);
        let (left, right) = rayon::join(|| one(Side::Left), || one(Side::Right));
        let remedies = PerSide { left, right };
        let Chosen { sets, left_out_for } = Self::chosen(axle, &remedies);
        let changes = PerSide::of(|side| remedies[side].as_ref().map(|of| of.sets[sets[side]].changes.clone()));
        let changes = changes.map(Option::unwrap_or_default);
        let [now, after] = [PerSide::default(), changes.as_ref().map(Vec::as_slice)]
            .map(|changes| axle.changed(changes).as_ref().and_then(HeldLimits::of));
        let limits_broken = now.zip(after).map_or_else(Vec::new, |(now, after)| after.broken(&now));
        let mut remedies = remedies;
        let prescriptions = PerSide::of(|side| remedies[side].take().and_then(|of| of.prescription(sets[side])));
        Self { prescriptions, limits_broken, left_out_for }
    }

    /// The best pair of sets of which each is worth its work.
    fn chosen(axle: &LikelyAxle<'_>, remedies: &PerSide<Option<Remedies<'_, '_>>>) -> Chosen {
        let nothing = vec![ChangeSet { changes: Vec::new(), rank_deg: 0.0, forward_mm: 0.0 }];
        let mut open =
            PerSide::of(|side| remedies[side].as_ref().map_or_else(|| nothing.clone(), |of| of.sets.clone()));
        // Toe can be set at any time, so it stands in the way of no change.
        let axle = axle.with_toe_set();
        let now = axle.changed(PerSide::default()).as_ref().and_then(HeldLimits::of);
        let as_it_stands = Chosen { sets: PerSide { left: 0, right: 0 }, left_out_for: Vec::new() };
        let Some(now) = now else { return as_it_stands };
        loop {
            let sets = open.as_ref().map(Vec::as_slice);
            let mut best = chosen(&axle, &now, sets, limit_deg(axle.drawn));
            let place = |side: Side| {
                let set = &open[side][best.sets[side]];
                remedies[side].as_ref().and_then(|of| of.sets.iter().position(|of| of == set)).unwrap_or(0)
            };
            let places = PerSide::of(place);
            let is_worth = |side: &Side| {
                places[*side] == 0 || remedies[*side].as_ref().is_some_and(|of| of.is_worth(places[*side]))
            };
            match Side::BOTH.into_iter().find(|side| !is_worth(side)) {
                Some(side) => drop(open[side].remove(best.sets[side])),
                None => {
                    best.sets = places;
                    return best;
                }
            }
        }
    }
}
