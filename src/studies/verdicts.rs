//! Each figure of a moved car beside its limit: pass, fail or not checked.

use serde::Serialize;

use super::clearance::ClearanceFindings;
use super::heave::Heave;
use super::rig::{Rig, RigWheel};
use super::rod_ends::RodEndTilt;
use super::roll::Roll;
use crate::geometry::{Corner, Geometry, Interval, Needs, Over, PerSide, Quantity, Side, Whose};
use crate::measures::{Measure, Reading, Row};

/// Pass, fail, or not checked because there is no limit, no data, or no travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum State {
    /// Inside the limit wherever it applies.
    #[serde(rename = "pass")]
    Pass,
    /// Outside it somewhere.
    #[serde(rename = "fail")]
    Fail,
    /// Neither can be said.
    #[serde(rename = "not checked")]
    NotChecked,
}

impl State {
    /// As files write it.
    pub fn name(self) -> &'static str {
        match self {
            State::Pass => "pass",
            State::Fail => "fail",
            State::NotChecked => "not checked",
        }
    }

    /// As screens show it.
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
    /// What is judged.
    pub quantity: Quantity,
    /// `None` for a quantity of the whole axle.
    pub side: Option<Side>,
    /// Lowest and highest value that was seen; `None` when there is none.
    pub range: Option<Interval>,
    /// The band that the values must keep; `None` when the file sets none.
    pub limit: Option<Interval>,
    /// What it comes to.
    pub state: State,
    /// Why the range is not all that a limit is about: such a range can fail but cannot pass.
    pub gap: Option<&'static str>,
    /// Of several parts, the one that the range is of: a rod end, or two bodies.
    pub part: Option<String>,
    /// Where [`Verdict::worst`] was seen; `None` of what has one place, has no limit, or is a spread.
    pub worst_at: Option<WorstAt>,
}

/// Where in its study a car comes nearest to a limit, or goes furthest beyond it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WorstAt {
    /// Wheel travel, mm, up positive, the body level.
    Bump(f64),
    /// Body roll, ISO 8855 sign, deg.
    BodyRoll(f64),
}

/// A limit that holds with less than this share of its half band left is thin (no unit): what a weld or a gauge is off uses it up.
const THIN_SHARE: f64 = 0.1;
/// A limit that is broken already may lose this share of its half band more before a change is taken to cost it: 0.1 mm of a
/// setback within 3 mm, which no tape reads.
const MAY_LOSE_SHARE: f64 = 1.0 / 30.0;

impl Verdict {
    /// Whether it holds with little left.
    ///
    /// Tested by `a_limit_is_thin_below_a_tenth_of_its_half_band`.
    pub fn is_thin(&self) -> bool {
        let (Some(size), Some(margin)) = (self.size(), self.margin()) else { return false };
        self.state == State::Pass && margin < THIN_SHARE * size
    }

    /// Whether a change of the car from `before` costs this limit: it held and does not now, or it is broken by noticeably more.
    ///
    /// Tested by `a_change_costs_a_limit_that_held_or_was_nearer`.
    pub fn is_lost_from(&self, before: &Self) -> bool {
        match (before.state, self.state) {
            (_, State::Pass) | (State::NotChecked, State::NotChecked) => false,
            (State::Fail, State::Fail) => {
                let [before, now] = [before, self].map(|of| of.margin().unwrap_or(f64::NEG_INFINITY));
                now < before - MAY_LOSE_SHARE * self.size().unwrap_or(0.0)
            }
            (State::Fail, State::NotChecked) => false,
            (State::Pass | State::NotChecked, State::Fail) | (State::Pass, State::NotChecked) => true,
        }
    }

    /// Half of the band of its limit, or the one end of it.
    fn size(&self) -> Option<f64> {
        let limit = self.limit?;
        let one_sided = self.quantity.definition().limit.is_only_high() || !limit.low.is_finite();
        Some(match limit {
            Interval { high, .. } if one_sided => high.abs(),
            Interval { low, high } if !high.is_finite() => low.abs(),
            Interval { low, high } => 0.5 * (high - low),
        })
    }

    /// The end of the range that is nearer to its limit, or further beyond it, in the unit of the quantity; `None` without either.
    pub fn worst(&self) -> Option<f64> {
        let (range, limit) = (self.range?, self.limit?);
        Some(if is_above(self.quantity, range, limit) { range.high } else { range.low })
    }

    /// It is about a change, and the wheel binds before its first row: nothing was seen of it.
    pub fn is_stuck(&self) -> bool {
        self.range.is_none() && self.gap == Some(BINDS)
    }

    /// What was seen of it ends at a bind: further on it may be worse.
    pub fn ends_at_a_bind(&self) -> bool {
        self.range.is_some() && self.gap == Some(BINDS)
    }

    /// All that it lacks is a limit: its values are known.
    pub fn is_without_limit_alone(&self) -> bool {
        self.limit.is_none() && self.range.is_some()
    }

    /// Why it was not checked; empty otherwise.
    pub fn reason(&self) -> &'static str {
        match (self.state, self.gap) {
            (State::Pass | State::Fail, _) => "",
            (State::NotChecked, Some(gap)) if self.limit.is_some() || self.range.is_none() => gap,
            // Its window lies in [halfshaft], where the driveline judges it.
            (State::NotChecked, _) if self.quantity == Quantity::Plunge => "no `plunge_window`; see driveline",
            (State::NotChecked, _) => "no limit in the file",
        }
    }

    /// What is left to the nearer end of the limit, in the unit of the quantity, negative beyond it; `None` of what was not
    /// checked.
    ///
    /// Tested by `a_margin_is_what_is_left_to_the_nearer_end_of_the_limit` in `tests/cli/report.rs`.
    pub fn margin(&self) -> Option<f64> {
        let (range, limit) = (self.range?, self.limit?);
        let (above, below) = (limit.high - range.high, range.low - limit.low);
        let margin = if is_above(self.quantity, range, limit) { above } else { below };
        (self.state != State::NotChecked).then_some(margin)
    }
}

/// Whether the upper end of a range is the one that comes nearer to its limit, or goes further beyond it.
fn is_above(quantity: Quantity, range: Interval, limit: Interval) -> bool {
    quantity.definition().limit.is_only_high() || limit.high - range.high <= range.low - limit.low
}

#[cfg(test)]
mod tests {
    use super::{State, Verdict};
    use crate::geometry::{Interval, Quantity, Side};

    #[test]
    fn a_limit_is_thin_below_a_tenth_of_its_half_band() {
        let thin = |quantity: Quantity, high: f64, limit: Interval| {
            let (side, range) = (Some(Side::Left), Some(Interval { low: limit.low.max(0.0), high }));
            let state = if high > limit.high { State::Fail } else { State::Pass };
            Verdict { quantity, side, range, limit: Some(limit), state, gap: None, part: None, worst_at: None }
                .is_thin()
        };
        let steer = |high: f64| thin(Quantity::BumpSteer, high, Interval { low: -0.05, high: 0.05 });
        assert_eq!([0.044, 0.046, 0.051].map(steer), [false, true, false]);
        // An angle that begins at 0, and a gap that has no upper end.
        let joint = |high: f64| thin(Quantity::InnerJointAngle, high, Interval { low: 0.0, high: 14.0 });
        assert_eq!([12.5, 12.7].map(joint), [false, true]);
        let gap = |low: f64| {
            let range = Some(Interval { low, high: low });
            let limit = Some(Interval { low: 5.0, high: f64::INFINITY });
            let (quantity, state) = (Quantity::Clearance, State::Pass);
            Verdict { quantity, side: None, range, limit, state, gap: None, part: None, worst_at: None }.is_thin()
        };
        assert_eq!([5.4, 5.6].map(gap), [true, false]);
    }

    /// Setback within ±3 mm: a thirtieth of that is 0.1 mm.
    #[test]
    fn a_change_costs_a_limit_that_held_or_was_nearer() {
        let setback = |mm: f64| {
            let state = if mm.abs() > 3.0 { State::Fail } else { State::Pass };
            let (range, limit) = (Some(Interval::single(mm)), Some(Interval::either_way(3.0)));
            let (quantity, side) = (Quantity::Setback, None);
            Verdict { quantity, side, range, limit, state, gap: None, part: None, worst_at: None }
        };
        let lost = |before: f64, after: f64| setback(after).is_lost_from(&setback(before));
        assert!(lost(1.4, 4.8) && lost(-2.9, -3.1) && lost(3.4, 4.8) && lost(4.0, -4.5));
        assert!(
            !lost(-2.0, 2.9)
                && !lost(4.8, 4.8)
                && !lost(4.8, 4.89)
                && lost(4.8, 4.95)
                && !lost(4.8, 3.2)
                && !lost(4.8, 1.0)
        );
    }
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
    margin: Option<f64>,
    state: State,
    reason: &'static str,
    part: Option<String>,
    worst_at_bump_mm: Option<f64>,
    worst_at_body_roll_deg: Option<f64>,
}

impl From<Verdict> for VerdictRecord {
    fn from(verdict: Verdict) -> Self {
        let (reason, margin) = (verdict.reason(), verdict.margin());
        let (worst_at_bump_mm, worst_at_body_roll_deg) = match verdict.worst_at {
            Some(WorstAt::Bump(mm)) => (Some(mm), None),
            Some(WorstAt::BodyRoll(deg)) => (None, Some(deg)),
            None => (None, None),
        };
        Self {
            quantity: verdict.quantity.title(),
            side: verdict.side,
            unit: verdict.quantity.unit().symbol(),
            low: verdict.range.map(|range| range.low),
            high: verdict.range.map(|range| range.high),
            limit_low: verdict.limit.map(|limit| limit.low),
            limit_high: verdict.limit.map(|limit| limit.high),
            margin,
            state: verdict.state,
            reason,
            part: verdict.part,
            worst_at_bump_mm,
            worst_at_body_roll_deg,
        }
    }
}

/// The parts of one wheel of which each has its own value.
#[derive(Debug, Clone, Copy)]
pub struct WheelParts<'a> {
    /// Gaps between its bodies.
    pub clearance: &'a ClearanceFindings,
    /// Its rod ends, the nearest to its limit first.
    pub rod_ends: &'a [RodEndTilt],
}

/// Every verdict on a car that was moved, in the order in which a builder acts on them: both wheels, then the axle.
pub fn verdicts(rig: &Rig, heave: &Heave, roll: &Roll, parts: PerSide<WheelParts>) -> Vec<Verdict> {
    let wheels = Side::BOTH.into_iter().flat_map(|side| {
        Quantity::limited(Whose::Wheel)
            .map(move |quantity| wheel_verdict(rig.wheel(side), heave, parts[side], quantity))
    });
    wheels
        .chain(Quantity::limited(Whose::Axle).map(|quantity| axle_verdict(rig.geometry, heave, roll, quantity)))
        .collect()
}

const NO_TRAVEL: &str = "no travel";
const NO_BODY_ROLL: &str = "no body roll";
const BINDS: &str = "binds before the end of travel";
const NO_VALUE: &str = "no value over part of the travel";
const NO_SUCH_HEIGHT: &str = "cannot stand at one of the ride heights";
const NO_BOLT: &str = "a rod end with a limit has no bolt axis";

fn wheel_verdict(wheel: &RigWheel, heave: &Heave, parts: WheelParts, quantity: Quantity) -> Verdict {
    let (geometry, side) = (wheel.geometry, wheel.corner.side);
    let (design, rows) = (&heave.design[side], heave.rows.of(side));
    let gap = match quantity.definition().over {
        Over::BumpAndDroop if heave.binds_of(side).next().is_some() => Some(BINDS),
        Over::BumpAndDroop if rows.clone().all(|row| row.bump_mm == 0.0) => Some(NO_TRAVEL),
        Over::BumpAndDroop | Over::Roll | Over::Design => None,
    };
    let lacking = why_no_value(geometry, quantity, side);
    let change = |measure: Measure| {
        let from = measure.of(design);
        rows.clone().map(move |row| (row.bump_mm, measure.of(row).zip(from).map(|(value, from)| value - from)))
    };
    let values = |measure: Measure| rows.clone().map(move |row| (row.bump_mm, measure.of(row)));
    let is_stuck = gap == Some(BINDS) && rows.clone().all(|row| row.bump_mm == 0.0);
    let seen = match quantity.reading() {
        Reading::ChangeAboutHeights(_) | Reading::Change(_) | Reading::Migration(_) if is_stuck => Seen::nothing(BINDS),
        Reading::ChangeAboutHeights(measure) => {
            let about = &heave.ride_heights[side];
            let is_everywhere = about.len() == geometry.travel.ride_heights_mm.len();
            let gap = gap.or((!is_everywhere).then_some(NO_SUCH_HEIGHT));
            let about = about.iter().map(|about| (about.worst_at_bump_mm, Some(about.worst_change_deg)));
            Seen::of(change(measure).chain(about), lacking, gap)
        }
        Reading::Change(measure) => Seen::of(change(measure), lacking, gap),
        Reading::Value(measure) => Seen::of(values(measure), lacking, gap),
        Reading::Migration(measure) => Seen::of(values(measure), lacking, gap).spread(),
        Reading::Design(measure, factor) => {
            Seen::of([(0.0, measure.of(design).map(|value| factor * value))].into_iter(), lacking, gap)
        }
        Reading::LeastGap => {
            let nearest = parts.clearance.pairs.first();
            let seen = Seen::of(nearest.map(|pair| (pair.at_bump_mm, Some(pair.least_mm))).into_iter(), lacking, gap);
            let verdict = judge(quantity, Some(side), seen, geometry.limit(quantity, side));
            return Verdict { part: nearest.map(|pair| pair.pair.clone()), ..verdict };
        }
        Reading::RodEnds => return rod_end_verdict(wheel.corner, parts.rod_ends, lacking, gap),
        Reading::Slope(_)
        | Reading::Bow(_)
        | Reading::AxleAtDesign(_)
        | Reading::AxleOverTravel(_)
        | Reading::AxleInRoll(_) => Seen::nothing(lacking),
    };
    judge(quantity, Some(side), seen, geometry.limit(quantity, side))
}

/// The rod end that comes nearest to its own limit; without limits, the one that is furthest out of square.
fn rod_end_verdict(corner: &Corner, ends: &[RodEndTilt], lacking: &'static str, gap: Option<&'static str>) -> Verdict {
    let limits = || corner.links.iter().filter_map(|link| link.rod_end_limit_deg);
    let is_limited = limits().next().is_some();
    let told = ends.iter().find(|end| if is_limited { end.is_judged() } else { end.worst_deg.is_some() });
    let is_open = ends.iter().any(|end| end.limit_deg.is_some() && end.worst_deg.is_none());
    let seen = match told.and_then(|end| end.at_bump_mm.zip(end.worst_deg)) {
        None if is_open => Seen::nothing(NO_BOLT),
        None => Seen::nothing(lacking),
        Some((at, deg)) => {
            let (range, ends_at) = (Some(Interval::up_to(deg)), Some([at, at]));
            Seen { range, ends_at, gap: gap.or(is_open.then_some(NO_BOLT)) }
        }
    };
    let limit_deg = told.map_or_else(|| limits().reduce(f64::min), |end| end.limit_deg);
    let verdict = judge(Quantity::RodEndAngle, Some(corner.side), seen, limit_deg.map(Interval::up_to));
    Verdict { part: told.map(RodEndTilt::name), ..verdict }
}

fn axle_verdict(geometry: &Geometry, heave: &Heave, roll: &Roll, quantity: Quantity) -> Verdict {
    let is_still = |axle: PerSide<&Row>| axle.iter().all(|(_, row)| row.bump_mm == 0.0);
    let is_level = |axle: PerSide<&Row>| axle.left.body_roll_deg == 0.0;
    let gap = match quantity.definition().over {
        Over::BumpAndDroop if !heave.binds.is_empty() => Some(BINDS),
        Over::BumpAndDroop if heave.rows.axles().all(is_still) => Some(NO_TRAVEL),
        Over::Roll if roll.cut_short => Some(BINDS),
        Over::Roll if roll.rows.axles().all(is_level) => Some(NO_BODY_ROLL),
        Over::BumpAndDroop | Over::Roll | Over::Design => None,
    };
    let lacking = why_no_value(geometry, quantity, Side::Left);
    let design = heave.design.as_ref().map(Row::stance);
    let seen = match quantity.reading() {
        Reading::AxleOverTravel(_) if gap == Some(BINDS) && heave.rows.axles().all(is_still) => Seen::nothing(BINDS),
        Reading::AxleInRoll(_) if gap == Some(BINDS) && roll.rows.axles().all(is_level) => Seen::nothing(BINDS),
        Reading::AxleOverTravel(value) => {
            let value = |axle: PerSide<&Row>| (axle.left.bump_mm, Some(value(axle.map(Row::stance), design)));
            Seen::of(heave.rows.axles().map(value), lacking, gap)
        }
        Reading::AxleAtDesign(value) => Seen::of([(0.0, Some(value(design)))].into_iter(), lacking, gap),
        Reading::AxleInRoll(_) => {
            Seen::of(roll.axle(quantity).into_iter().map(|(deg, value)| (deg, Some(value))), lacking, gap)
        }
        _ => Seen::nothing(lacking),
    };
    judge(quantity, None, seen, geometry.limit(quantity, Side::Left))
}

/// The data are not in the file, or what they make has no value.
fn why_no_value(geometry: &Geometry, quantity: Quantity, side: Side) -> &'static str {
    let needs = if geometry.has_data_for(quantity, side) { Needs::Nothing } else { quantity.definition().needs };
    needs.lacking()
}

/// What was seen of a quantity, and why that is not all of it.
struct Seen {
    range: Option<Interval>,
    /// Where its lowest and its highest value stand: bump travel, mm, or body roll, deg.
    ends_at: Option<[f64; 2]>,
    gap: Option<&'static str>,
}

impl Seen {
    /// Of the place of every row and the value there; that is `None` where there is none, and one that is no finite number is none.
    fn of(values: impl Iterator<Item = (f64, Option<f64>)>, lacking: &'static str, gap: Option<&'static str>) -> Self {
        let values: Vec<(f64, Option<f64>)> =
            values.map(|(at, value)| (at, value.filter(|value| value.is_finite()))).collect();
        let known = || values.iter().filter_map(|&(at, value)| Some((at, value?)));
        let Some(range) = Interval::of(known().map(|(_, value)| value)) else { return Self::nothing(lacking) };
        let place = |end: f64| known().find(|&(_, value)| value == end).map(|(at, _)| at);
        let ends_at = place(range.low).zip(place(range.high)).map(|(low, high)| [low, high]);
        let has_holes = values.iter().any(|(_, value)| value.is_none());
        Self { range: Some(range), ends_at, gap: gap.or(has_holes.then_some(NO_VALUE)) }
    }

    fn nothing(lacking: &'static str) -> Self {
        Self { range: None, ends_at: None, gap: Some(lacking) }
    }

    /// Highest minus lowest.
    fn spread(self) -> Self {
        Self { range: self.range.map(|range| Interval::single(range.width())), ends_at: None, ..self }
    }
}

/// A range that is not all of it can fail but cannot pass.
fn judge(quantity: Quantity, side: Option<Side>, seen: Seen, limit: Option<Interval>) -> Verdict {
    let Seen { range, ends_at, gap } = seen;
    let state = match (range, limit) {
        (Some(range), Some(limit)) if !limit.holds(&range) => State::Fail,
        (Some(_), Some(_)) if gap.is_none() => State::Pass,
        _ => State::NotChecked,
    };
    let at = || Some(ends_at?[usize::from(is_above(quantity, range?, limit?))]);
    let worst_at = match quantity.definition().over {
        Over::BumpAndDroop => at().map(WorstAt::Bump),
        Over::Roll => at().map(WorstAt::BodyRoll),
        Over::Design => None,
    };
    Verdict { quantity, side, range, limit, state, gap, part: None, worst_at }
}
