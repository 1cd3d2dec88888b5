//! One figure beside what it may be.

use serde::Serialize;

use crate::geometry::Interval;
use crate::studies::State;

/// A figure with its limit: pass, fail or not checked, and by how much.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Check {
    /// What is judged, in the shop's words.
    pub what: String,
    /// Lowest and highest value; `None` when there is none.
    pub range: Option<Interval>,
    /// Of value and limit: `deg`, `mm`, `rad/s2`, `times`.
    pub unit: &'static str,
    /// `None` when there is none.
    pub least: Option<f64>,
    /// `None` when there is none.
    pub most: Option<f64>,
    /// The limit is typical of such parts, and not from the file.
    pub typical: bool,
    /// What it comes to.
    pub state: State,
    /// To the nearer limit, negative beyond it.
    pub margin: Option<f64>,
    /// Why it was not checked; empty otherwise.
    pub reason: &'static str,
}

impl Check {
    /// Of a figure without a limit yet; `reason` says why there is no value or no limit.
    pub fn open(what: impl Into<String>, range: Option<Interval>, unit: &'static str, reason: &'static str) -> Self {
        let (least, most, margin) = (None, None, None);
        Self { what: what.into(), range, unit, least, most, typical: false, state: State::NotChecked, margin, reason }
    }

    /// Against a least and a most value; a figure without either, or without a value, stays not checked.
    #[must_use]
    pub fn against(self, least: Option<f64>, most: Option<f64>, typical: bool) -> Self {
        let margins = |range: Interval| {
            let below = least.map(|least| range.low - least);
            below.into_iter().chain(most.map(|most| most - range.high)).reduce(f64::min)
        };
        let margin = self.range.and_then(margins);
        let state = match margin {
            None => State::NotChecked,
            Some(margin) if margin < 0.0 => State::Fail,
            Some(_) => State::Pass,
        };
        let reason = if state == State::NotChecked { self.reason } else { "" };
        Self { least, most, typical, state, margin, reason, ..self }
    }
}
