//! Each figure of a sweep beside its limit: pass, fail or not checked.

use super::sweep::Sweep;
use super::toe_curve::ride_height_steer;
use crate::geometry::{Interval, Over, PerSide, Quantity, Side, Whose};
use crate::measures::{Measure, Reading, Row, WheelStance, rod_ends};

/// Pass, fail, or not checked because there is no limit, no data, or no travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    Pass,
    Fail,
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
#[derive(Debug, Clone, PartialEq)]
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

/// Every verdict on a finished sweep, in the order in which a builder acts on them: both wheels, then the axle.
pub fn verdicts(sweep: &Sweep) -> Vec<Verdict> {
    let wheels = Side::BOTH.into_iter().flat_map(|side| {
        Quantity::limited(Whose::Wheel).filter_map(move |quantity| wheel_verdict(sweep, quantity, side))
    });
    wheels.chain(Quantity::limited(Whose::Axle).map(|quantity| axle_verdict(sweep, quantity))).collect()
}

/// `None` when the study has no design row of the side.
fn wheel_verdict(sweep: &Sweep, quantity: Quantity, side: Side) -> Option<Verdict> {
    let rows: Vec<&Row> = sweep.heave.iter().filter(|row| row.side == side).collect();
    let design = rows.iter().find(|row| row.bump_mm == 0.0)?;
    let bound = quantity.definition().over == Over::BumpAndDroop && sweep.binds.iter().any(|bind| bind.side == side);
    let change = |measure: Measure| {
        let from = measure.of(design);
        rows.iter().filter_map(move |row| Some(measure.of(row)? - from?))
    };
    let range = match quantity.reading() {
        Reading::ChangeAboutHeights(measure) => {
            let others = ride_height_steer(&sweep.rig, &sweep.heave, side);
            Interval::of(change(measure).chain(others.iter().map(|about| about.worst_change_deg)))
        }
        Reading::Change(measure) => Interval::of(change(measure)),
        Reading::Value(measure) => Interval::of(rows.iter().filter_map(|row| measure.of(row))),
        Reading::Migration(measure) => {
            let range = Interval::of(rows.iter().filter_map(|row| measure.of(row)));
            range.map(|range| Interval::single(range.high - range.low))
        }
        Reading::Design(measure, factor) => measure.of(design).map(|value| Interval::single(factor * value)),
        Reading::RodEnds => return Some(rod_end_verdict(sweep, side, bound)),
        Reading::Slope(_) | Reading::Bow(_) | Reading::AxleAtDesign(_) | Reading::AxleInRoll(_) => None,
    };
    Some(judge(quantity, Some(side), range, sweep.geometry().limit(quantity, side), bound))
}

/// The rod end that comes nearest to its own limit; without limits, the one that is furthest out of square.
fn rod_end_verdict(sweep: &Sweep, side: Side, bound: bool) -> Verdict {
    let wheel = sweep.rig.wheel(side);
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
    judge(Quantity::RodEndAngle, Some(side), range, limit, bound)
}

fn axle_verdict(sweep: &Sweep, quantity: Quantity) -> Verdict {
    let range = match quantity.reading() {
        Reading::AxleAtDesign(value) => design_stances(&sweep.heave).map(|stances| Interval::single(value(stances))),
        Reading::AxleInRoll(_) => {
            Interval::of(axle_in_roll(quantity, &sweep.heave, &sweep.roll).into_iter().map(|(_, value)| value))
        }
        _ => None,
    };
    let cut_short = quantity.definition().over == Over::Roll && sweep.roll_cut_short;
    judge(quantity, None, range, sweep.geometry().limit(quantity, Side::Left), cut_short)
}

/// Both wheels at design, left first.
fn design_stances(heave: &[Row]) -> Option<PerSide<WheelStance>> {
    let at = |side| heave.iter().find(|row| row.side == side && row.bump_mm == 0.0).map(Row::stance);
    PerSide::of(at).both()
}

/// A figure of the axle at every angle of body roll that both wheels have a row of: roll, deg, and its value; none for a
/// quantity that is not taken over roll. The design is that of the heave study.
pub fn axle_in_roll(quantity: Quantity, heave: &[Row], roll: &[Row]) -> Vec<(f64, f64)> {
    let (Reading::AxleInRoll(value), Some(design)) = (quantity.reading(), design_stances(heave)) else {
        return Vec::new();
    };
    roll.windows(2)
        .filter(|pair| pair[0].side == Side::Left && pair[1].side == Side::Right)
        .filter(|pair| pair[0].body_roll_deg == pair[1].body_roll_deg)
        .map(|pair| (pair[0].body_roll_deg, value(PerSide { left: pair[0].stance(), right: pair[1].stance() }, design)))
        .collect()
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
