//! Limits, sentences and gaps of the car.

use serde::Serialize;

use super::view::shown_sides;
use crate::geometry::{Geometry, Side};
use crate::present::{self, LengthFormat, LimitLine, words};
use crate::studies::{CarFindings, ClearanceFindings, State, Verdict};

#[derive(Debug, Serialize)]
pub(super) struct LimitView {
    name: String,
    over: &'static str,
    unit: &'static str,
    found: Vec<String>,
    /// Of the car that it is compared with.
    beside: Vec<String>,
    limit: String,
    /// What there is to spare at the worse wheel, in the unit of the quantity.
    margin: String,
    verdict: String,
    /// Where in its travel a limit that it breaks is broken most.
    fails_at: Option<String>,
    state: State,
    beside_margin: String,
    beside_verdict: String,
    beside_fails_at: Option<String>,
    beside_state: Option<State>,
    reason: &'static str,
}

/// One row a quantity, as the screen of a sweep has them, with what the car beside has.
pub(super) fn limits(
    lengths: LengthFormat,
    geometry: &Geometry,
    verdicts: &[Verdict],
    beside: Option<&[Verdict]>,
) -> Vec<LimitView> {
    let lines = |verdicts| present::limit_lines(lengths, verdicts, shown_sides(geometry));
    let others = beside.map(lines).unwrap_or_default();
    let is_gap_taken = geometry.clearance.least_mm.is_none();
    let verdict = |line: &LimitLine| line.verdict_or_none() + if line.is_thin() { ", thin" } else { "" };
    let row = |line: &LimitLine| {
        let other = others.iter().find(|of| of.quantity == line.quantity);
        LimitView {
            name: line.quantity.name().to_owned(),
            over: line.quantity.definition().over.words(),
            unit: line.unit(),
            found: line.found(),
            beside: other.map(LimitLine::found).unwrap_or_default(),
            limit: line.limit_told(is_gap_taken),
            margin: line.margin_told(),
            verdict: verdict(line),
            fails_at: line.fails_at(),
            state: line.state(),
            beside_margin: other.map(LimitLine::margin_told).unwrap_or_default(),
            beside_verdict: other.map(verdict).unwrap_or_default(),
            beside_fails_at: other.and_then(LimitLine::fails_at),
            beside_state: other.map(LimitLine::state),
            reason: line.verdicts.first().map_or("", |verdict| verdict.reason()),
        }
    };
    lines(verdicts).iter().map(row).collect()
}

/// What the suspension comes to; a car that binds says so first, as its report does.
pub(super) fn totals(lengths: LengthFormat, found: &CarFindings) -> String {
    let sides = shown_sides(found.judged.geometry());
    let binds = found.binds().filter(|bind| sides.contains(&bind.side));
    let binds = binds.map(|bind| words::sentence_start(&present::bind(lengths, bind)) + ".");
    let totals = words::sentence_start(&present::suspension_totals(lengths, found, found.thin_limits()));
    binds.chain([totals]).collect::<Vec<_>>().join(" ")
}

/// Sentences on the car, the gravest first.
pub(super) fn told(lengths: LengthFormat, found: &CarFindings) -> Vec<String> {
    let geometry = found.judged.geometry();
    let sides = shown_sides(geometry);
    let toe = || sides.iter().filter_map(|side| found.heave.get(side));
    let side = |side: Side| (!geometry.looks_alike()).then_some(side);
    let binds = toe().flat_map(|toe| toe.binds.iter().map(|bind| present::bind(lengths, bind)));
    let stops = found.roll.stops.iter().map(|stop| present::roll_stop(stop, found.travel.body_roll_deg));
    let shafts = sides.iter().filter_map(|at| Some(present::halfshaft(lengths, side(*at), found.halfshaft.get(at)?)));
    let ends = sides.iter().filter_map(|at| present::rod_ends(lengths, side(*at), &found.heave.get(at)?.rod_ends));
    let is_gap_taken = geometry.clearance.least_mm.is_none();
    let taken = is_gap_taken.then(|| present::LIMIT_TAKEN.to_owned());
    let open = present::not_checked(&found.limits);
    let all = binds.chain(ends).chain(shafts).chain(stops).chain(open).chain(taken);
    all.map(|sentence| words::sentence_start(&sentence)).collect()
}

/// Gaps that are told of a wheel beside those that are too small.
const GAPS: usize = 3;

pub(super) fn gaps(lengths: LengthFormat, found: &CarFindings) -> Vec<String> {
    let geometry = found.judged.geometry();
    let told = shown_sides(geometry).iter().filter_map(|side| Some((side, &found.heave.get(side)?.clearance)));
    let of_side = |(side, clearance): (&Side, &ClearanceFindings)| {
        let who = if geometry.looks_alike() { String::new() } else { format!("{}: ", side.name()) };
        let nearest = clearance.pairs.iter().enumerate();
        let nearest = nearest.filter(|(k, pair)| *k < GAPS || pair.state == State::Fail);
        let words = nearest.map(|(_, pair)| {
            let at = words::travel(lengths, pair.at_bump_mm);
            format!("{who}{} {}: {} at {at}", pair.state.words(), pair.pair, lengths.with_unit(pair.least_mm))
        });
        words.collect::<Vec<_>>()
    };
    let first = shown_sides(geometry).first().and_then(|side| Some(&found.heave.get(side)?.clearance));
    let taken = first.and_then(|of| {
        let default_mm = of.limit_is_default.then_some(of.limit_mm);
        present::assumed_sizes(lengths, &of.assumed, default_mm)
    });
    let open = first.and_then(|of| present::without_body(&of.without_body));
    told.flat_map(of_side).chain(taken).chain(open).collect()
}
