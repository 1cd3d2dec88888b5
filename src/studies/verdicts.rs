//! Each figure of a sweep beside its limit: pass, fail or not checked.

use super::sweep::{Row, Sweep};
use super::toe_curve::{ToeCurve, ride_height_steer};
use crate::geometry::{Interval, Side};
use crate::measures::{rod_ends, roll_steer_deg, setback_mm, thrust_angle_deg};

/// What a limit can be set on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    BumpSteer,
    CamberChange,
    Scrub,
    Recession,
    Plunge,
    InnerJointAngle,
    OuterJointAngle,
    RodEndAngle,
    RollSteer,
    ThrustAngle,
    Setback,
    RollCentreHeight,
    AntiSquat,
    AntiLift,
}

/// The unit a quantity is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    Degrees,
    Millimetres,
    Percent,
}

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

impl Quantity {
    /// In the shop's words.
    pub fn name(self) -> &'static str {
        match self {
            Quantity::BumpSteer => "bump steer",
            Quantity::CamberChange => "camber change",
            Quantity::Scrub => "scrub",
            Quantity::Recession => "recession",
            Quantity::Plunge => "halfshaft plunge",
            Quantity::InnerJointAngle => "inner joint angle",
            Quantity::OuterJointAngle => "outer joint angle",
            Quantity::RodEndAngle => "rod-end misalignment",
            Quantity::RollSteer => "roll steer",
            Quantity::ThrustAngle => "thrust angle",
            Quantity::Setback => "setback",
            Quantity::RollCentreHeight => "roll-centre height",
            Quantity::AntiSquat => "anti-squat",
            Quantity::AntiLift => "anti-lift (brakes)",
        }
    }

    /// What its values are taken over.
    pub fn over(self) -> &'static str {
        match self {
            Quantity::RollSteer => "body roll",
            Quantity::ThrustAngle
            | Quantity::Setback
            | Quantity::RollCentreHeight
            | Quantity::AntiSquat
            | Quantity::AntiLift => "at design",
            _ => "bump and droop",
        }
    }

    pub fn unit(self) -> Unit {
        match self {
            Quantity::BumpSteer
            | Quantity::CamberChange
            | Quantity::InnerJointAngle
            | Quantity::OuterJointAngle
            | Quantity::RodEndAngle
            | Quantity::RollSteer
            | Quantity::ThrustAngle => Unit::Degrees,
            Quantity::Scrub
            | Quantity::Recession
            | Quantity::Plunge
            | Quantity::Setback
            | Quantity::RollCentreHeight => Unit::Millimetres,
            Quantity::AntiSquat | Quantity::AntiLift => Unit::Percent,
        }
    }

    /// The data of the file without which there is no value.
    fn lacking(self) -> &'static str {
        match self {
            Quantity::Plunge | Quantity::InnerJointAngle | Quantity::OuterJointAngle => "no [halfshaft]",
            Quantity::RodEndAngle => "no bolt axes",
            Quantity::AntiSquat => "needs wheelbase, cg_height, rear_drive_share",
            Quantity::AntiLift => "needs wheelbase, cg_height, rear_brake_share",
            _ => "no value here",
        }
    }
}

/// Every verdict on a finished sweep, in the order in which a builder acts on them: both wheels, then the axle.
pub fn verdicts(sweep: &Sweep) -> Vec<Verdict> {
    let wheels = Side::BOTH.into_iter().flat_map(|side| wheel_verdicts(sweep, side));
    wheels.chain(axle_verdicts(sweep)).collect()
}

fn wheel_verdicts(sweep: &Sweep, side: Side) -> Vec<Verdict> {
    let limits = &sweep.geometry().limits;
    let corner = sweep.geometry().corner(side);
    let rows: Vec<&Row> = sweep.heave.iter().filter(|row| row.side == side).collect();
    let Some(design) = rows.iter().find(|row| row.bump_mm == 0.0) else { return Vec::new() };
    let over = |value: &dyn Fn(&Row) -> Option<f64>| range(rows.iter().filter_map(|row| value(row)));
    let shaft = corner.halfshaft.as_ref();
    let up_to = |limit: Option<f64>| limit.map(|high| Interval { low: 0.0, high });
    let at_design = |value: Option<f64>| value.map(|v| Interval { low: v, high: v });
    let bound = sweep.binds.iter().any(|bind| bind.side == side);
    let verdict = |quantity, range, limit| judge(quantity, Some(side), range, limit, bound);
    use Quantity as Q;
    let mut list = vec![
        verdict(Q::BumpSteer, bump_steer_range(sweep, side, &rows, design), either_way(limits.bump_steer_deg)),
        verdict(
            Q::CamberChange,
            over(&|row| Some(row.wheel.camber_deg - design.wheel.camber_deg)),
            either_way(limits.camber_change_deg),
        ),
        verdict(Q::Scrub, over(&|row| Some(row.road.scrub_mm)), either_way(limits.scrub_mm)),
        verdict(Q::Recession, over(&|row| Some(row.wheel.recession_mm)), either_way(limits.recession_mm)),
        verdict(Q::Plunge, over(&|row| row.wheel.shaft.map(|s| s.plunge_mm)), shaft.and_then(|s| s.plunge_window_mm)),
        verdict(
            Q::InnerJointAngle,
            over(&|row| row.wheel.shaft.map(|s| s.inner_angle_deg)),
            up_to(shaft.and_then(|s| s.inner_limit_deg)),
        ),
        verdict(
            Q::OuterJointAngle,
            over(&|row| row.wheel.shaft.map(|s| s.outer_angle_deg)),
            up_to(shaft.and_then(|s| s.outer_limit_deg)),
        ),
    ];
    list.push(rod_end_verdict(sweep, side, bound));
    list.extend([
        judge(
            Q::RollCentreHeight,
            Some(side),
            at_design(design.roll_centre_height_mm),
            limits.roll_centre_height_mm,
            false,
        ),
        judge(Q::AntiSquat, Some(side), at_design(design.wheel.anti_squat_pct), limits.anti_squat_pct, false),
        judge(Q::AntiLift, Some(side), at_design(design.road.anti_lift_pct), limits.anti_lift_pct, false),
    ]);
    list
}

/// Changes of toe from design, and from every other ride height of the file.
fn bump_steer_range(sweep: &Sweep, side: Side, rows: &[&Row], design: &Row) -> Option<Interval> {
    let about_design = rows.iter().map(|row| row.wheel.toe_deg - design.wheel.toe_deg);
    let about_others = ride_height_steer(&sweep.rig, &sweep.heave, side);
    range(about_design.chain(about_others.iter().map(|about| about.worst_change_deg)))
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
    let limit = worst.and_then(|(_, limit)| limit).map(|high| Interval { low: 0.0, high });
    let range = worst.map(|(deg, _)| Interval { low: 0.0, high: deg });
    judge(Quantity::RodEndAngle, Some(side), range, limit, bound)
}

fn axle_verdicts(sweep: &Sweep) -> Vec<Verdict> {
    let limits = &sweep.geometry().limits;
    let curves = Side::BOTH.map(|side| ToeCurve::of(&sweep.heave, side));
    let thrust = match curves {
        [Some(left), Some(right)] => Some(thrust_angle_deg(left.design_toe_deg, right.design_toe_deg)),
        _ => None,
    };
    let [left, right] = Side::BOTH.map(|side| sweep.geometry().corner(side).wheel.centre.x);
    let single = |value: f64| Interval { low: value, high: value };
    vec![
        judge(
            Quantity::RollSteer,
            None,
            range(roll_steer(sweep).into_iter().map(|(_, deg)| deg)),
            either_way(limits.roll_steer_deg),
            sweep.roll_cut_short,
        ),
        judge(Quantity::ThrustAngle, None, thrust.map(single), either_way(limits.thrust_angle_deg), false),
        judge(Quantity::Setback, None, Some(single(setback_mm(left, right))), either_way(limits.setback_mm), false),
    ]
}

/// Roll steer of the axle over the roll study: body roll, deg, and the change of the mean steer from design, deg.
pub fn roll_steer(sweep: &Sweep) -> Vec<(f64, f64)> {
    roll_steer_of(&sweep.heave, &sweep.roll)
}

/// As [`roll_steer`], of any rows of body roll; the design is that of the heave study.
pub fn roll_steer_of(heave: &[Row], roll: &[Row]) -> Vec<(f64, f64)> {
    let design = Side::BOTH
        .map(|side| heave.iter().find(|row| row.side == side && row.bump_mm == 0.0).map(|row| row.wheel.steer_deg));
    let [Some(left), Some(right)] = design else { return Vec::new() };
    roll.windows(2)
        .filter(|pair| pair[0].side == Side::Left && pair[1].side == Side::Right)
        .filter(|pair| pair[0].body_roll_deg == pair[1].body_roll_deg)
        .map(|pair| {
            let steer_deg = [pair[0].wheel.steer_deg, pair[1].wheel.steer_deg];
            (pair[0].body_roll_deg, roll_steer_deg(steer_deg, [left, right]))
        })
        .collect()
}

fn either_way(limit: Option<f64>) -> Option<Interval> {
    limit.map(|size| Interval { low: -size, high: size })
}

fn range(values: impl Iterator<Item = f64>) -> Option<Interval> {
    values.fold(None, |band: Option<Interval>, v| {
        Some(band.map_or(Interval { low: v, high: v }, |b| Interval { low: b.low.min(v), high: b.high.max(v) }))
    })
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
        (None, _) => (State::NotChecked, quantity.lacking()),
        (_, None) => (State::NotChecked, "no limit in the file"),
        (Some(range), Some(limit)) if range.low < limit.low || range.high > limit.high => (State::Fail, ""),
        _ if travel_cut_short => (State::NotChecked, "binds before the end of travel"),
        _ => (State::Pass, ""),
    };
    Verdict { quantity, side, range, limit, state, reason }
}
