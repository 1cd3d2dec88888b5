//! Sets held back: what the search finds best with no thought of the car's other limits, taken back until it costs none of them.

use std::collections::HashMap;

use super::search::{Candidate, Search, Steps};
use crate::gauge::Change;

/// Sets of one wheel that are moved and judged to hold others back; by then those are left that gain next to nothing.
const MAX_JUDGED: usize = 80;

/// Which steps of a wheel's adjusters cost the car none of its other limits: each is moved and judged once.
pub(super) struct Holding<'h> {
    holds: &'h dyn Fn(&[Change]) -> bool,
    known: HashMap<Steps, bool>,
}

impl<'h> Holding<'h> {
    /// `holds` moves and judges the car with some changes.
    pub fn new(holds: &'h dyn Fn(&[Change]) -> bool) -> Self {
        Self { holds, known: HashMap::new() }
    }

    /// What was not judged in time is taken to cost one.
    pub fn holds(&mut self, search: &Search<'_, '_>, steps: &[i32]) -> bool {
        match self.known.get(steps) {
            Some(&known) => known,
            None if self.known.len() == MAX_JUDGED => false,
            None => {
                let holds = (self.holds)(&search.changes(steps));
                self.known.insert(steps.to_vec(), holds);
                holds
            }
        }
    }
}

impl Search<'_, '_> {
    /// Of steps that cost a limit, the furthest on the straight way to them that cost none, and from there what gains most step by
    /// step and costs none either.
    pub fn held_back(&mut self, from: &[i32], holding: &mut Holding<'_>) -> Candidate {
        let whole = from.iter().map(|steps| steps.abs()).max().unwrap_or(0);
        let part = |of: i32| -> Steps {
            let share = f64::from(of) / f64::from(whole.max(1));
            from.iter().map(|steps| (f64::from(*steps) * share).round() as i32).collect()
        };
        // None at all cost nothing, the whole way costs a limit.
        let (mut held, mut lost) = (0, whole);
        while lost - held > 1 {
            let middle = held + (lost - held) / 2;
            if holding.holds(self, &part(middle)) { held = middle } else { lost = middle }
        }
        let open: Vec<usize> = (0..from.len()).filter(|&adjuster| from[adjuster] != 0).collect();
        self.descend(part(held), &open, &mut |search, steps| holding.holds(search, steps))
    }
}
