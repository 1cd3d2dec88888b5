//! How many limits of the file hold, so that what was not checked is never taken for kept.

use serde::Serialize;

use super::verdicts::{State, Verdict};
use crate::geometry::Quantity;

/// Each quantity with a limit counts once, for all wheels together; the worst of its verdicts is what it comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct LimitTotals {
    /// In the file, or by default.
    pub set: usize,
    /// Kept.
    pub pass: usize,
    /// Broken.
    pub fail: usize,
    /// Neither, for want of data or travel.
    pub not_checked: usize,
}

impl LimitTotals {
    /// Of a list of verdicts.
    pub fn of(verdicts: &[Verdict]) -> Self {
        let mut totals = Self::default();
        for quantity in Quantity::ALL {
            let limited = verdicts.iter().filter(|verdict| verdict.quantity == *quantity && verdict.limit.is_some());
            let states: Vec<State> = limited.map(|verdict| verdict.state).collect();
            if states.is_empty() {
                continue;
            }
            totals.set += 1;
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
        assert_eq!(LimitTotals::of(&all), LimitTotals { set: 3, pass: 1, fail: 1, not_checked: 1 });
        assert_eq!(LimitTotals::of(&[]), LimitTotals::default());
    }
}
