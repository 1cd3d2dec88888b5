//! A table of limits, line by line, as a screen and a report show it.

use super::length::{LengthFormat, trimmed};
use super::quantity::{band, decimals, limit_band, number, telling, unit};
use super::sentences::{limit_totals, verdict};
use super::words;
use crate::geometry::{Geometry, Needs, Quantity, Side, Whose};
use crate::studies::{LimitTotals, State, Verdict};

/// What the mark of [`LimitLine::limit_told`] means.
pub const LIMIT_TAKEN: &str = "Taken: the file gives no such limit, so the usual one stands in its place.";
/// Goes with the table when a wheel binds inside its travel.
pub const BIND_ROWS: &str = "Of a wheel that binds, values are of the rows before the bind.";

/// One line: a quantity with the verdict on each wheel shown, or that on the axle.
#[derive(Debug, Clone)]
pub struct LimitLine<'v> {
    /// What is judged.
    pub quantity: Quantity,
    /// At least one.
    pub verdicts: Vec<&'v Verdict>,
    lengths: LengthFormat,
}

/// Those of the wheels, then those of the axle, in the order of the verdicts. One side stands for both of a mirrored car. All that is
/// counted has its line, also what is zero by drawing in such a car.
///
/// Tested by `page_report_and_check_count_the_same_quantities_without_a_limit`.
pub fn limit_lines<'v>(lengths: LengthFormat, limits: &'v [Verdict], sides: &[Side]) -> Vec<LimitLine<'v>> {
    let shows = |verdict: &&Verdict| verdict.side.is_none_or(|side| sides.contains(&side));
    let mut lines: Vec<LimitLine> = Vec::new();
    for verdict in limits.iter().filter(shows) {
        match lines.iter_mut().find(|line| line.quantity == verdict.quantity) {
            Some(line) => line.verdicts.push(verdict),
            None => lines.push(LimitLine { quantity: verdict.quantity, verdicts: vec![verdict], lengths }),
        }
    }
    let (mut wheels, axle): (Vec<LimitLine>, Vec<LimitLine>) = lines.into_iter().partition(|line| !line.is_of_axle());
    wheels.extend(axle);
    wheels
}

impl LimitLine<'_> {
    /// Its number is of neither wheel.
    pub fn is_of_axle(&self) -> bool {
        self.quantity.definition().whose == Whose::Axle
    }

    /// A figure of the halfshaft that is known.
    pub fn is_of_halfshaft(&self) -> bool {
        let is_known = self.verdicts.iter().any(|verdict| verdict.range.is_some());
        self.quantity.definition().needs == Needs::Halfshaft && is_known
    }

    /// In the unit of the file.
    pub fn unit(&self) -> &'static str {
        unit(self.lengths, self.quantity.unit())
    }

    /// What was found, one text a verdict; `binds` where the wheel does before anything can be, `-` where nothing was.
    pub fn found(&self) -> Vec<String> {
        let nothing = |of: &Verdict| if of.is_stuck() { "binds" } else { "-" }.to_owned();
        let found =
            |of: &&Verdict| of.range.map_or_else(|| nothing(of), |range| band(|value| self.number(value), range));
        self.verdicts.iter().map(found).collect()
    }

    /// `±0.05`, `40 to 110`; `-` without one.
    pub fn limit(&self) -> String {
        let short = |value: f64| trimmed(&self.number(value)).to_owned();
        let limit = self.verdicts.first().and_then(|verdict| verdict.limit);
        limit.map_or("-".to_owned(), |limit| limit_band(short, limit))
    }

    /// The same with a mark where the usual limit stands in the place of one that the file does not give: `≥5 (taken)`.
    pub fn limit_told(&self, is_gap_taken: bool) -> String {
        let is_taken = is_gap_taken && self.quantity == Quantity::Clearance;
        self.limit() + if is_taken { " (taken)" } else { "" }
    }

    /// What there is to spare at the worse wheel, negative beyond it; `-` of what was not checked.
    pub fn margin(&self) -> String {
        let margins = self.verdicts.iter().filter_map(|verdict| verdict.margin());
        margins.reduce(f64::min).map_or("-".to_owned(), |margin| self.number(margin))
    }

    /// The same with the wheel that it is of, where two shown differ in it: `-0.021, left wheel`.
    pub fn margin_told(&self) -> String {
        self.margin() + &self.margin_side().map_or(String::new(), |side| format!(", {} wheel", side.name()))
    }

    /// The wheel that this margin is of, when two are shown that differ in it.
    pub fn margin_side(&self) -> Option<Side> {
        let margins = || self.verdicts.iter().filter_map(|verdict| Some((verdict.side?, verdict.margin()?)));
        let (worse, least) = margins().min_by(|(_, a), (_, b)| a.total_cmp(b))?;
        let is_alike = |(_, margin): (Side, f64)| self.number(margin) == self.number(least);
        (!margins().all(is_alike)).then_some(worse)
    }

    /// `pass`, `FAIL`, `FAIL left` or `not checked`.
    pub fn verdict(&self) -> String {
        verdict(&self.verdicts)
    }

    /// The same where limits are counted at the head: `no limit` of what lacks nothing else, or what it lacks: `no bolt axes`.
    pub fn verdict_or_none(&self) -> String {
        match self.verdicts.iter().find(|verdict| !verdict.is_without_limit_alone()) {
            _ if self.has_limit() => self.verdict(),
            Some(verdict) => verdict.reason().to_owned(),
            None => "no limit".to_owned(),
        }
    }

    /// Whether the file, or a default, sets one for any of its verdicts.
    pub fn has_limit(&self) -> bool {
        self.verdicts.iter().any(|verdict| verdict.limit.is_some())
    }

    /// Whether a limit that holds has little left.
    pub fn is_thin(&self) -> bool {
        self.verdicts.iter().any(|verdict| verdict.is_thin())
    }

    /// Where the worse wheel goes furthest beyond a limit that is broken: `60.0 mm bump`.
    pub fn fails_at(&self) -> Option<String> {
        let fails = self.verdicts.iter().filter(|verdict| verdict.state == State::Fail);
        let places = fails.filter_map(|verdict| Some((verdict.margin()?, verdict.worst_at?)));
        let (_, worst) = places.min_by(|(a, _), (b, _)| a.total_cmp(b))?;
        Some(words::worst_at(self.lengths, worst))
    }

    /// The worse of its verdicts.
    pub fn state(&self) -> State {
        let has = |state: State| self.verdicts.iter().any(|verdict| verdict.state == state);
        [State::Fail, State::NotChecked].into_iter().find(|&state| has(state)).unwrap_or(State::Pass)
    }

    fn number(&self, value: f64) -> String {
        let decimals = self.verdicts.iter().map(|verdict| decimals(self.lengths, self.quantity, verdict.limit));
        let decimals = telling(self.lengths, self.quantity, decimals.max().unwrap_or(0), &self.verdicts);
        number(self.lengths, self.quantity, decimals, value)
    }
}

/// How many limits hold, and which are broken: `7 limits: 5 pass, 1 fail, 1 not checked. FAIL: bump steer.`
pub fn all_limits(verdicts: &[Verdict], geometry: &Geometry) -> String {
    let mut broken: Vec<&str> = Vec::new();
    for verdict in verdicts.iter().filter(|verdict| verdict.state == State::Fail) {
        if !broken.contains(&verdict.quantity.name()) {
            broken.push(verdict.quantity.name());
        }
    }
    let fails = if broken.is_empty() { String::new() } else { format!(" FAIL: {}.", broken.join(", ")) };
    format!("{}{fails}", limit_totals(&LimitTotals::of(verdicts, geometry)))
}
