//! Each figure of a moved car beside its limit: pass, fail or not checked.

use serde::Serialize;

use super::heave::Heave;
use super::rig::{Rig, RigWheel};
use super::roll::Roll;
use crate::geometry::{Geometry, Interval, Over, Quantity, Side, Whose};
use crate::measures::{Measure, Reading, Row, rod_ends};

/// Pass, fail, or not checked because there is no limit, no data, or no travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum State {
    #[serde(rename = "pass")]
    Pass,
    #[serde(rename = "fail")]
    Fail,
    #[serde(rename = "not checked")]
    NotChecked,
}

impl State {
    pub fn words(self) -> &'static str {
        match self {
            State::Pass => "pass",
            State::Fail => "FAIL",
            State::NotChecked => "not checked",
        }
    }
}

/// One quantity with the range of its values and its limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(into = "VerdictRecord")]
pub struct Verdict {
    pub quantity: Quantity,
    /// `None` for a quantity of the whole axle.
    pub side: Option<Side>,
    /// Lowest and highest value over the study; `None` when the geometry lacks the data.
    pub range: Option<Interval>,
    /// The band that the values must keep; `None` when the file sets none.
    pub limit: Option<Interval>,
    pub state: State,
    /// Why it was not checked; empty otherwise.
    pub reason: &'static str,
}

/// A verdict as `summary.json` has it.
#[derive(Serialize)]
struct VerdictRecord {
    quantity: String,
    side: Option<Side>,
    unit: &'static str,
    low: Option<f64>,
    high: Option<f64>,
    limit_low: Option<f64>,
    limit_high: Option<f64>,
    state: State,
    reason: &'static str,
}

impl From<Verdict> for VerdictRecord {
    fn from(verdict: Verdict) -> Self {
        Self {
            quantity: verdict.quantity.title(),
            side: verdict.side,
            unit: verdict.quantity.unit().symbol(),
            low: verdict.range.map(|range| range.low),
            high: verdict.range.map(|range| range.high),
            limit_low: verdict.limit.map(|limit| limit.low),
            limit_high: verdict.limit.map(|limit| limit.high),
            state: verdict.state,
            reason: verdict.reason,
        }
    }
}

/// Every verdict on a car that was moved, in the order in which a builder acts on them: both wheels, then the axle.
pub fn verdicts(rig: &Rig, heave: &Heave, roll: &Roll) -> Vec<Verdict> {
    let wheels = Side::BOTH.into_iter().flat_map(|side| {
        Quantity::limited(Whose::Wheel).map(move |quantity| wheel_verdict(rig.wheel(side), heave, quantity))
    });
    wheels
        .chain(Quantity::limited(Whose::Axle).map(|quantity| axle_verdict(rig.geometry, heave, roll, quantity)))
        .collect()
}

fn wheel_verdict(wheel: &RigWheel, heave: &Heave, quantity: Quantity) -> Verdict {
    let side = wheel.corner.side;
    let (design, rows) = (&heave.design[side], heave.rows.of(side));
    let bound = quantity.definition().over == Over::BumpAndDroop && heave.binds_of(side).next().is_some();
    let change = |measure: Measure| {
        let from = measure.of(design);
        rows.clone().filter_map(move |row| Some(measure.of(row)? - from?))
    };
    let values = |measure: Measure| Interval::of(rows.clone().filter_map(move |row| measure.of(row)));
    let range = match quantity.reading() {
        Reading::ChangeAboutHeights(measure) => {
            Interval::of(change(measure).chain(heave.ride_heights[side].iter().map(|about| about.worst_change_deg)))
        }
        Reading::Change(measure) => Interval::of(change(measure)),
        Reading::Value(measure) => values(measure),
        Reading::Migration(measure) => values(measure).map(|range| Interval::single(range.width())),
        Reading::Design(measure, factor) => measure.of(design).map(|value| Interval::single(factor * value)),
        Reading::RodEnds => return rod_end_verdict(wheel, bound),
        Reading::Slope(_)
        | Reading::Bow(_)
        | Reading::AxleAtDesign(_)
        | Reading::AxleOverTravel(_)
        | Reading::AxleInRoll(_) => None,
    };
    judge(quantity, Some(side), range, wheel.geometry.limit(quantity, side), bound)
}

/// The rod end that comes nearest to its own limit; without limits, the one that is furthest out of square.
fn rod_end_verdict(wheel: &RigWheel, bound: bool) -> Verdict {
    let worst = wheel
        .path
        .postures()
        .iter()
        .flat_map(|posture| rod_ends(wheel.corner, posture).into_iter().zip(&wheel.corner.links))
        .flat_map(|(ends, link)| {
            [ends.chassis_deg, ends.upright_deg].into_iter().flatten().map(|deg| (deg, link.rod_end_limit_deg))
        })
        .max_by(|a, b| {
            let share = |(deg, limit): &(f64, Option<f64>)| limit.map_or(deg * 1e-9, |limit| deg / limit);
            share(a).total_cmp(&share(b))
        });
    let limit = worst.and_then(|(_, limit)| limit).map(Interval::up_to);
    let range = worst.map(|(deg, _)| Interval::up_to(deg));
    judge(Quantity::RodEndAngle, Some(wheel.corner.side), range, limit, bound)
}

fn axle_verdict(geometry: &Geometry, heave: &Heave, roll: &Roll, quantity: Quantity) -> Verdict {
    let range = match quantity.reading() {
        Reading::AxleOverTravel(value) => {
            let design = heave.design.as_ref().map(Row::stance);
            Interval::of(heave.rows.axles().map(|axle| value(axle.map(Row::stance), design)))
        }
        Reading::AxleAtDesign(value) => Some(Interval::single(value(roll.design.as_ref().map(Row::stance)))),
        Reading::AxleInRoll(_) => Interval::of(roll.axle(quantity).into_iter().map(|(_, value)| value)),
        _ => None,
    };
    let cut_short = match quantity.definition().over {
        Over::BumpAndDroop => !heave.binds.is_empty(),
        Over::Roll => roll.cut_short,
        Over::Design => false,
    };
    judge(quantity, None, range, geometry.limit(quantity, Side::Left), cut_short)
}

/// A range that covers only part of the travel can fail but cannot pass.
fn judge(
    quantity: Quantity,
    side: Option<Side>,
    range: Option<Interval>,
    limit: Option<Interval>,
    travel_cut_short: bool,
) -> Verdict {
    let (state, reason) = match (range, limit) {
        (None, _) => (State::NotChecked, quantity.definition().needs.lacking()),
        (_, None) => (State::NotChecked, "no limit in the file"),
        (Some(range), Some(limit)) if !limit.holds(&range) => (State::Fail, ""),
        _ if travel_cut_short => (State::NotChecked, "binds before the end of travel"),
        _ => (State::Pass, ""),
    };
    Verdict { quantity, side, range, limit, state, reason }
}
