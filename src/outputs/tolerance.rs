//! A tolerance study written down: `tolerance.csv` and its member of `summary.json`.

use std::collections::BTreeMap;

use ::csv::{Error, Terminator, WriterBuilder};
use serde::Serialize;

use super::csv::cell;
use crate::geometry::{End, Geometry, Side};
use crate::present::weld_study;
use crate::studies::errors::{ErrorSource, Proportion};
use crate::studies::plausibility::Doubt;
use crate::studies::tolerance::{
    BumpSteerOdds, Finish, JigBudget, JigSet, Jigged, LastBracketGain, LimitCount, LostCars, Spread, TARGET_YIELD,
    Tolerance, ToleranceFindings,
};

/// `tolerance.csv`: a row for each figure of each side, then those of the axle, then all limits together.
///
/// Percentiles are over the cars that move through their whole travel, by linear interpolation; chances are of all cars, with
/// Wilson's interval (19 times of 20); `binds` counts the wheels (of that side) or cars that do not get through their travel.
pub fn tolerance_csv(study: &Tolerance, sides: &[Side]) -> Result<Vec<u8>, Error> {
    let mut writer = WriterBuilder::new().terminator(Terminator::Any(b'\n')).from_writer(Vec::new());
    writer.write_record([
        "quantity",
        "side",
        "unit",
        "nominal",
        "p50",
        "p90",
        "p99",
        "limit_low",
        "limit_high",
        "chance",
        "chance_low",
        "chance_high",
        "cars",
        "binds",
    ])?;
    for spread in study.spreads.iter().filter(|spread| spread.side.is_none_or(|side| sides.contains(&side))) {
        let names = [spread.quantity.name(), spread.side.map_or("axle", Side::name), spread.quantity.unit().symbol()];
        let limits = [spread.limit.map(|limit| limit.low), spread.limit.map(|limit| limit.high)];
        let numbers = [spread.nominal, spread.p50, spread.p90, spread.p99].map(Some).into_iter().chain(limits);
        let bound = spread.side.map_or_else(|| lost(study, &Side::BOTH), |side| lost(study, &[side]));
        let counts = [study.cars.to_string(), bound.to_string()];
        let cells = numbers.chain(chances(spread.chance)).map(cell);
        writer.write_record(names.map(str::to_owned).into_iter().chain(cells).chain(counts))?;
    }
    if let Some(inside) = study.within_all_limits {
        let LimitCount { checked, set } = study.limits;
        let all =
            if checked == set { "every limit".to_owned() } else { format!("limits checked ({checked} of {set})") };
        let names = [all, "both".to_owned(), String::new()];
        let counts = [study.cars.to_string(), lost(study, &Side::BOTH).to_string()];
        let numbers = [None; 6].into_iter().chain(chances(Some(inside)));
        writer.write_record(names.into_iter().chain(numbers.map(cell)).chain(counts))?;
    }
    writer.into_inner().map_err(|error| Error::from(error.into_error()))
}

pub(super) fn chances(share: Option<Proportion>) -> [Option<f64>; 3] {
    let interval = share.map(Proportion::interval);
    [share.map(Proportion::value), interval.map(|(low, _)| low), interval.map(|(_, high)| high)]
}

/// Wheels of these sides that do not get through their travel.
fn lost(study: &Tolerance, sides: &[Side]) -> usize {
    let of = |side: &Side| study.lost[*side].all();
    sides.iter().map(of).sum()
}

/// The summary of a weld study, for [`super::summary_json`].
#[derive(Debug, Serialize)]
pub struct ToleranceSummary<'f> {
    name: &'f str,
    warnings: &'f [Doubt],
    pub(super) tolerance: ToleranceMember<'f>,
}

#[derive(Debug, Serialize)]
pub(super) struct ToleranceMember<'f> {
    cars: usize,
    seed: u64,
    stopped_early: bool,
    errors: ErrorsMember,
    links: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    left: Option<WheelMember>,
    #[serde(skip_serializing_if = "Option::is_none")]
    right: Option<WheelMember>,
    axle: BTreeMap<&'static str, SpreadMember>,
    /// Of cars: both wheels, every limit that is tried on them.
    share_inside: Option<f64>,
    share_inside_low: Option<f64>,
    share_inside_high: Option<f64>,
    /// With links as cut: the same once toe is set again, so that the thrust angle counts no more.
    share_inside_with_toe_set: Option<f64>,
    /// Of those in the file, how many the share is of.
    limits: LimitCount,
    /// Of cars: both wheels, bump steer alone.
    share_inside_bump_steer: Option<f64>,
    share_inside_bump_steer_low: Option<f64>,
    share_inside_bump_steer_high: Option<f64>,
    drawing_breaks_bump_steer: bool,
    not_checked: Vec<NotCheckedMember>,
    last_bracket: Option<LastBracketMember<'f>>,
    jigs: Option<JigsMember>,
}

/// How far pickups are off, one standard deviation of each coordinate; a class of ISO 13920 has one for each length.
#[derive(Debug, Serialize)]
struct ErrorsMember {
    weld_sd_mm: Option<f64>,
    /// Of the holes in the upright; the same unless the file says otherwise.
    upright_sd_mm: Option<f64>,
    weld_class: Option<&'static str>,
    groups: usize,
    tape_sd_mm: Option<f64>,
    /// Pickups of the left wheel with standard deviations of their own in place of the tape's.
    measured_points: usize,
}

#[derive(Debug, Serialize)]
struct WheelMember {
    #[serde(flatten)]
    figures: BTreeMap<&'static str, SpreadMember>,
    binds: LostMember,
    #[serde(skip_serializing_if = "Option::is_none")]
    last_move_mm: Option<MoveMember>,
}

#[derive(Debug, Serialize)]
struct SpreadMember {
    nominal: f64,
    p50: f64,
    p90: f64,
    p99: f64,
    limit_low: Option<f64>,
    limit_high: Option<f64>,
    chance: Option<f64>,
    chance_low: Option<f64>,
    chance_high: Option<f64>,
}

#[derive(Debug, Serialize)]
struct LostMember {
    does_not_assemble: usize,
    binds: usize,
    singular: usize,
}

#[derive(Debug, Serialize)]
struct NotCheckedMember {
    what: &'static str,
    reason: &'static str,
}

#[derive(Debug, Serialize)]
struct LastBracketMember<'f> {
    link: &'f str,
    gauge_sd_deg: f64,
    placing_sd_mm: f64,
    /// The figures of the study are of cars built so.
    in_study: bool,
    without: OddsMember,
    with: OddsMember,
    /// Share of cars.
    within_all_limits: Option<f64>,
    left: MoveMember,
    right: MoveMember,
}

/// Bump steer alone: the first two are shares of wheels, the third of cars.
#[derive(Debug, Serialize)]
struct OddsMember {
    left_wheel: Option<f64>,
    right_wheel: Option<f64>,
    both_wheels: Option<f64>,
    left_p50_deg: Option<f64>,
    right_p50_deg: Option<f64>,
}

/// How far the bracket is moved, mm.
#[derive(Debug, Serialize)]
struct MoveMember {
    p50: f64,
    p95: f64,
}

#[derive(Debug, Serialize)]
struct JigsMember {
    jig_sd_mm: f64,
    sets: Vec<JigSetMember>,
    /// The fewest dimensions with which so many of the cars pass.
    wanted: f64,
    enough: Option<JigSetMember>,
}

#[derive(Debug, Serialize)]
struct JigSetMember {
    /// Ends of links, with the axis of a single dimension (y outboard).
    held: Vec<String>,
    /// Share of cars that keep the bump-steer limit with both wheels, counted, and as the search foresaw it.
    chance: f64,
    foreseen: f64,
}

impl<'f> ToleranceSummary<'f> {
    /// Of a finished weld study.
    pub fn of(found: &'f ToleranceFindings) -> Self {
        let geometry = found.car.geometry();
        Self { name: &geometry.name, warnings: &found.warnings, tolerance: member(found, geometry) }
    }
}

fn member<'f>(found: &'f ToleranceFindings, geometry: &Geometry) -> ToleranceMember<'f> {
    let study = &found.study;
    let wheel = |side: Side| found.sides.contains(&side).then(|| wheel(study, side));
    let [share_inside, share_inside_low, share_inside_high] = chances(study.within_all_limits);
    let [share_inside_bump_steer, share_inside_bump_steer_low, share_inside_bump_steer_high] =
        chances(study.within_bump_steer);
    ToleranceMember {
        cars: study.cars,
        seed: study.seed,
        stopped_early: found.stopped_early,
        errors: errors_member(&found.request.errors, geometry),
        links: match &study.finish {
            Finish::Cut => "cut",
            Finish::Adjusted | Finish::Last(_) => "adjusted",
        },
        left: wheel(Side::Left),
        right: wheel(Side::Right),
        axle: figures(study, None),
        share_inside,
        share_inside_low,
        share_inside_high,
        share_inside_with_toe_set: study.with_toe_set.map(Proportion::value),
        limits: study.limits,
        share_inside_bump_steer,
        share_inside_bump_steer_low,
        share_inside_bump_steer_high,
        drawing_breaks_bump_steer: found.drawing_breaks_bump_steer,
        not_checked: weld_study::not_checked(&found.not_checked)
            .into_iter()
            .map(|(what, reason)| NotCheckedMember { what, reason })
            .collect(),
        last_bracket: found.last_bracket.as_ref().map(last_bracket_member),
        jigs: found.jigs.as_ref().map(|budget| jigs_member(geometry, budget)),
    }
}

fn errors_member(source: &ErrorSource, geometry: &Geometry) -> ErrorsMember {
    let (tape_sd_mm, measured_points) = (geometry.tape.map(|tape| tape.sd_mm), geometry.measured_points(Side::Left));
    match source {
        ErrorSource::Weld(weld) => ErrorsMember {
            weld_sd_mm: Some(weld.sd_mm),
            upright_sd_mm: Some(weld.upright_sd_mm.unwrap_or(weld.sd_mm)),
            weld_class: None,
            groups: weld.groups.len(),
            tape_sd_mm,
            measured_points,
        },
        ErrorSource::Class(class) => ErrorsMember {
            weld_sd_mm: None,
            upright_sd_mm: None,
            weld_class: Some(class.name()),
            groups: 0,
            tape_sd_mm,
            measured_points,
        },
    }
}

fn wheel(study: &Tolerance, side: Side) -> WheelMember {
    let LostCars { does_not_assemble, binds, singular } = study.lost[side];
    WheelMember {
        figures: figures(study, Some(side)),
        binds: LostMember { does_not_assemble, binds, singular },
        last_move_mm: study.last_moves_mm.map(|moves| move_member(moves[side])),
    }
}

fn figures(study: &Tolerance, side: Option<Side>) -> BTreeMap<&'static str, SpreadMember> {
    let of_side = study.spreads.iter().filter(|spread| spread.side == side);
    of_side.map(|spread| (spread.quantity.definition().member, spread_member(spread))).collect()
}

fn spread_member(spread: &Spread) -> SpreadMember {
    let [chance, chance_low, chance_high] = chances(spread.chance);
    let &Spread { nominal, p50, p90, p99, limit, .. } = spread;
    let [limit_low, limit_high] = [limit.map(|limit| limit.low), limit.map(|limit| limit.high)];
    SpreadMember { nominal, p50, p90, p99, limit_low, limit_high, chance, chance_low, chance_high }
}

fn last_bracket_member(gain: &LastBracketGain) -> LastBracketMember<'_> {
    LastBracketMember {
        link: &gain.bracket.link,
        gauge_sd_deg: gain.bracket.gauge_sd_deg,
        placing_sd_mm: gain.bracket.placing_sd_mm,
        in_study: gain.in_study,
        without: odds_member(&gain.without),
        with: odds_member(&gain.with),
        within_all_limits: gain.within_all_limits.map(Proportion::value),
        left: move_member(gain.moves_mm.left),
        right: move_member(gain.moves_mm.right),
    }
}

fn odds_member(odds: &BumpSteerOdds) -> OddsMember {
    let share = |share: Option<Proportion>| share.map(Proportion::value);
    OddsMember {
        left_wheel: share(odds.one_wheel.left),
        right_wheel: share(odds.one_wheel.right),
        both_wheels: share(odds.both_wheels),
        left_p50_deg: odds.median_deg.left,
        right_p50_deg: odds.median_deg.right,
    }
}

fn move_member((p50, p95): (f64, f64)) -> MoveMember {
    MoveMember { p50, p95 }
}

fn jigs_member(geometry: &Geometry, budget: &JigBudget) -> JigsMember {
    let set = |set: &JigSet| jig_set_member(geometry, set);
    JigsMember {
        jig_sd_mm: budget.jig_sd_mm,
        sets: budget.few.iter().map(set).collect(),
        wanted: TARGET_YIELD,
        enough: budget.enough.as_ref().map(set),
    }
}

fn jig_set_member(geometry: &Geometry, set: &JigSet) -> JigSetMember {
    let end = |link: usize, end: End| format!("{} {}", geometry.left.links[link].name, end.name());
    let name = |held: &Jigged| match held {
        Jigged::Coordinate(c) => format!("{} {}", end(c.link, c.end), c.axis.name()),
        Jigged::Pickup(pickup) => end(pickup.link, pickup.end),
    };
    JigSetMember { held: set.held.iter().map(name).collect(), chance: set.chance.value(), foreseen: set.predicted }
}
