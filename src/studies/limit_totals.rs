//! How many limits of the file hold, so that what was not checked is never taken for kept.

use serde::Serialize;

use super::verdicts::{State, Verdict};
use crate::geometry::{Geometry, Quantity};

/// Each quantity with a limit counts once, for all wheels together; the worst of its verdicts is what it comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct LimitTotals {
    /// In the file, or taken in the place of one that the file does not give.
    pub set: usize,
    /// Of these, those that are taken: the least gap between parts.
    pub taken: usize,
    /// Kept.
    pub pass: usize,
    /// Broken.
    pub fail: usize,
    /// Neither, for want of data or travel.
    pub not_checked: usize,
}

impl LimitTotals {
    /// Of a list of verdicts on this car.
    pub fn of(verdicts: &[Verdict], geometry: &Geometry) -> Self {
        Self::where_gap(geometry.clearance.least_mm.is_none(), verdicts)
    }

    /// What is kept is no more than what was taken: the file asks for nothing.
    pub fn are_all_taken(&self) -> bool {
        self.set == self.taken
    }

    fn where_gap(is_taken: bool, verdicts: &[Verdict]) -> Self {
        let mut totals = Self::default();
        for quantity in Quantity::ALL {
            let limited = verdicts.iter().filter(|verdict| verdict.quantity == *quantity && verdict.limit.is_some());
            let states: Vec<State> = limited.map(|verdict| verdict.state).collect();
            if states.is_empty() {
                continue;
            }
            totals.set += 1;
            totals.taken += usize::from(is_taken && *quantity == Quantity::Clearance);
            match states {
                _ if states.contains(&State::Fail) => totals.fail += 1,
                _ if states.contains(&State::NotChecked) => totals.not_checked += 1,
                _ => totals.pass += 1,
            }
        }
        totals
    }
}

#[cfg(test)]
mod tests {
    use super::{LimitTotals, State, Verdict};
    use crate::geometry::{Interval, Quantity, Side};

    fn verdict(quantity: Quantity, side: Side, state: State) -> Verdict {
        let limit = Some(Interval::either_way(1.0));
        Verdict { quantity, side: Some(side), range: None, limit, state, gap: None, part: None, worst_at: None }
    }

    #[test]
    fn a_quantity_counts_once_by_its_worst_verdict_and_only_with_a_limit() {
        let bow = [State::Pass, State::NotChecked].map(|state| verdict(Quantity::Bow, Side::Left, state));
        let plunge = [State::NotChecked, State::Fail].map(|state| verdict(Quantity::Plunge, Side::Left, state));
        let pass = [Side::Left, Side::Right].map(|side| verdict(Quantity::Recession, side, State::Pass));
        let unlimited = Verdict { limit: None, ..verdict(Quantity::AntiSquat, Side::Left, State::NotChecked) };
        let all: Vec<Verdict> = [bow, plunge, pass].concat().into_iter().chain([unlimited]).collect();
        assert_eq!(
            LimitTotals::where_gap(true, &all),
            LimitTotals { set: 3, taken: 0, pass: 1, fail: 1, not_checked: 1 }
        );
        assert_eq!(LimitTotals::where_gap(true, &[]), LimitTotals::default());
        let gap = [verdict(Quantity::Clearance, Side::Left, State::Pass)];
        assert!(
            LimitTotals::where_gap(true, &gap).are_all_taken() && !LimitTotals::where_gap(false, &gap).are_all_taken()
        );
    }
}
