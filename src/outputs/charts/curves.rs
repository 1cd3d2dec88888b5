//! Curves against wheel travel, which stands upright as it does at the car: bump above, droop below.

use super::caption::Caption;
use super::context::{ChartContext, WheelStyle};
use super::cut::{CUT_NEAR_BINDS, cut_near_binds};
use super::frame::{Frame, Limit};
use super::labels::Area;
use super::ride_heights::has_ride_heights;
use super::scale::{Scale, number, short};
use super::sheet::{PenError, Sheet};
use super::stroke::Stroke;
use super::verdict::judged;
use crate::geometry::{Halfshaft, LimitKey, Quantity, Side, Unit};
use crate::measures::{Measure, Row, ShaftMeasures, toe_mm};
use crate::present::unit;
use crate::present::words::{FOR_IT_BINDS, sentence_start, worst_change};
use crate::studies::CurvePoint;

/// Values against wheel travel, in the units of the axes; `None` breaks the curve.
pub struct Curve {
    pub name: String,
    pub points: Vec<Option<(f64, f64)>>,
    pub stroke: Stroke,
}

/// One chart against wheel travel; what is left out of it is empty.
#[derive(Default)]
pub struct TravelChart<'t> {
    pub title: &'t str,
    /// Whether the car passed, under the title.
    pub verdict: String,
    /// Title of the horizontal axis, with its unit.
    pub value: &'t str,
    /// The axis shows at least this much.
    pub least: f64,
    pub curves: Vec<Curve>,
    pub limits: Vec<Limit>,
    /// Limits that hold at design height alone.
    pub design_limits: Vec<Limit>,
    /// Values at design, or zero.
    pub baselines: Vec<f64>,
    pub marks: Vec<((f64, f64), String)>,
    pub notes: Vec<String>,
}

impl TravelChart<'_> {
    pub fn draw(&self, context: &ChartContext) -> Result<String, PenError> {
        let caption = Caption { title: self.title, verdict: self.verdict.clone(), notes: self.notes.clone() };
        let paper = context.paper;
        caption.sheet(&context.subject, paper.size, |sheet| self.panel(context, sheet, paper.panel, paper.marks(13.0)))
    }

    /// Axes, curves and limits in a part of the sheet, with about so many numbers along the horizontal axis.
    pub fn panel(&self, context: &ChartContext, sheet: &Sheet, area: Area, marks: f64) -> Result<(), PenError> {
        let points = || self.curves.iter().flat_map(|curve| curve.points.iter().flatten());
        let limits = self.limits.iter().chain(&self.design_limits).map(|limit| limit.value);
        let values = points().map(|p| p.0).chain(limits).chain(self.baselines.iter().copied());
        let across = Scale::covering(values, self.least, marks);
        let travel = &context.car.geometry().travel;
        let ends = [-travel.droop_mm, travel.bump_mm].map(|mm| context.length(mm));
        let up = Scale::covering(ends, context.length(10.0), 13.0);
        let up_title = format!("wheel travel from design height, {} (bump up, droop down)", context.unit_name());
        let value = context.paper.broken(self.value);
        let mut frame = Frame::new(sheet, area, (across, &value), (up, &up_title))?;
        frame.baseline_up(0.0)?;
        self.baselines.iter().try_for_each(|&value| frame.baseline_at(value))?;
        self.curves.iter().try_for_each(|curve| frame.curve(&curve.points, curve.stroke))?;
        frame.limits_across(&self.limits)?;
        frame.limits_at(0.0, &self.design_limits)?;
        self.marks.iter().try_for_each(|(at, _)| frame.ring(*at))?;
        let name = |curve: &Curve| (curve.name.clone(), curve.points.iter().rev().flatten().next().copied());
        frame.names_above(&self.curves.iter().map(name).collect::<Vec<_>>())?;
        self.marks.iter().try_for_each(|(at, words)| frame.name_ring(*at, words))?;
        frame.name_limits_at(0.0, &self.design_limits)?;
        frame.name_limits_across(&self.limits)
    }
}

/// A value of a wheel against its travel.
pub fn curve(context: &ChartContext, wheel: &WheelStyle, value: impl Fn(&Row) -> Option<f64>) -> Curve {
    let point = |CurvePoint { row, .. }: &CurvePoint| value(row).map(|v| (v, context.length(row.bump_mm)));
    Curve {
        name: wheel.name.to_owned(),
        points: context.curve_points(wheel.side).iter().map(point).collect(),
        stroke: wheel.stroke,
    }
}

/// One curve for each wheel shown.
pub fn curves(context: &ChartContext, value: impl Fn(&Row) -> Option<f64>) -> Vec<Curve> {
    with_beside(context, |context, wheel| curve(context, wheel, &value))
}

/// One curve for each wheel shown, the pale ones of the car beside behind them.
fn with_beside(context: &ChartContext, draw: impl Fn(&ChartContext, &WheelStyle) -> Curve) -> Vec<Curve> {
    let beside = context.beside.iter().flat_map(|(name, beside)| {
        let pale = |wheel: &WheelStyle| Curve {
            name: format!("{}, {name}", wheel.name),
            stroke: wheel.beside,
            ..draw(beside, wheel)
        };
        beside.wheels.iter().map(pale).collect::<Vec<_>>()
    });
    beside.chain(context.wheels.iter().map(|wheel| draw(context, wheel))).collect()
}

/// The limits of a quantity for all wheels shown, each once, counted from a value of each wheel; those that differ say whose
/// they are. The lower end of what is never negative is no limit.
pub fn limits(context: &ChartContext, quantity: Quantity, name: &str, about: impl Fn(Side) -> f64) -> Vec<Limit> {
    let millimetres = quantity.unit() == Unit::Millimetres;
    let unit = unit(context.lengths(), quantity.unit());
    let ends = |side: Side| {
        let ends = context.car.geometry().limit(quantity, side).into_iter().flat_map(|limit| [limit.low, limit.high]);
        let one_sided = matches!(quantity.definition().limit, LimitKey::InnerLimit | LimitKey::OuterLimit);
        let ends = ends.filter(|&end| !(one_sided && end == 0.0)).map(|end| about(side) + end);
        ends.map(|end| if millimetres { context.length(end) } else { end }).collect()
    };
    let each: Vec<(&WheelStyle, Vec<f64>)> = context.wheels.iter().map(|wheel| (wheel, ends(wheel.side))).collect();
    let alike = each.windows(2).all(|pair| pair[0].1 == pair[1].1);
    let shown = each.iter().take(if alike { 1 } else { each.len() });
    let label = |wheel: &WheelStyle, value: f64| {
        let whose = if alike { String::new() } else { format!(", {}", wheel.name) };
        format!("{name} {} {unit}{whose}", short(value, 3))
    };
    shown.flat_map(|(wheel, values)| values.iter().map(|&value| Limit { value, label: label(wheel, value) })).collect()
}

/// Change of toe from design of one wheel.
pub fn toe_change(context: &ChartContext, wheel: &WheelStyle) -> Curve {
    let design_deg = context.design(wheel.side).wheel.toe_deg;
    curve(context, wheel, |row| Some(row.wheel.toe_deg - design_deg))
}

pub const TOE_AXIS: &str = "change of toe from design, deg per wheel (toe-in to the right, toe-out to the left)";

const OTHER_HEIGHTS: &str =
    "The verdict is on every ride height of the file; the curves about the others are in toe-ride-heights.svg.";

pub fn toe(context: &ChartContext) -> Result<String, PenError> {
    let worst = |wheel: &WheelStyle| {
        let curve = context.car.toe[wheel.side];
        (curve.worst_change_deg, curve.worst_at_bump_mm)
    };
    let mark = |wheel: &WheelStyle| {
        let (deg, bump_mm) = worst(wheel);
        (bump_mm != 0.0).then(|| ((deg, context.length(bump_mm)), worst_words(context, wheel, deg)))
    };
    TravelChart {
        title: "Bump steer: change of toe in bump and droop",
        verdict: judged(context, &[Quantity::BumpSteer]),
        value: TOE_AXIS,
        least: 0.02,
        curves: with_beside(context, toe_change),
        limits: limits(context, Quantity::BumpSteer, "bump-steer limit", |_| 0.0),
        baselines: vec![0.0],
        marks: context.wheels.iter().filter_map(mark).collect(),
        notes: context
            .wheels
            .iter()
            .map(|wheel| toe_note(context, wheel, worst(wheel)))
            .chain(has_ride_heights(context).then(|| OTHER_HEIGHTS.to_owned()))
            .chain(context.binds())
            .collect(),
        ..TravelChart::default()
    }
    .draw(context)
}

/// The largest change of toe of a wheel: `worst −0.518 deg`, or what it is at least.
pub fn worst_words(context: &ChartContext, wheel: &WheelStyle, deg: f64) -> String {
    worst_change(context.bind_heights_mm(wheel.side).next().is_some(), deg, |deg| number(deg, 3))
}

/// Why that is not the worst, of a wheel that binds.
pub fn for_it_binds(context: &ChartContext, wheel: &WheelStyle) -> &'static str {
    context.bind_heights_mm(wheel.side).next().map_or("", |_| FOR_IT_BINDS)
}

/// The worst change in degrees and in millimetres, and what a millimetre is in degrees.
fn toe_note(context: &ChartContext, wheel: &WheelStyle, (worst_deg, bump_mm): (f64, f64)) -> String {
    let span_mm = context.car.geometry().corner(wheel.side).wheel.toe_span_mm;
    format!(
        "{}, per wheel: {} ({} over {}) at {}{}; 0.1 deg is {}.",
        sentence_start(wheel.name),
        worst_words(context, wheel, worst_deg),
        context.fine_length_words(toe_mm(worst_deg, span_mm)),
        context.length_words(span_mm),
        context.travel_words(bump_mm),
        for_it_binds(context, wheel),
        context.fine_length_words(toe_mm(0.1, span_mm)),
    )
}

pub fn camber(context: &ChartContext) -> Result<String, PenError> {
    let design_deg = |side| context.design(side).wheel.camber_deg;
    TravelChart {
        title: "Camber in bump and droop",
        verdict: judged(context, &[Quantity::CamberChange]),
        value: "camber against the chassis, deg (top of the wheel leaning out: positive)",
        least: 0.2,
        curves: curves(context, |row| Some(row.wheel.camber_deg)),
        limits: limits(context, Quantity::CamberChange, "limit at", design_deg),
        baselines: context.wheels.iter().map(|wheel| design_deg(wheel.side)).collect(),
        notes: camber_limit(context).into_iter().chain(context.binds()).collect(),
        ..TravelChart::default()
    }
    .draw(context)
}

/// The axis is of the camber itself, the limit of what it changes by.
fn camber_limit(context: &ChartContext) -> Option<String> {
    let has_limit = |wheel: &WheelStyle| context.car.geometry().limit(Quantity::CamberChange, wheel.side).is_some();
    let note = "The limit is one of the change of camber from design; it is drawn at the camber that it leaves.";
    context.wheels.iter().any(has_limit).then(|| note.to_owned())
}

pub fn scrub(context: &ChartContext) -> Result<String, PenError> {
    let unit = context.unit_name();
    TravelChart {
        title: "Scrub in bump and droop",
        verdict: judged(context, &[Quantity::Scrub]),
        value: &format!("scrub, {unit} per wheel (contact point moved outward: positive)"),
        least: context.length(2.0),
        curves: curves(context, |row| Some(context.length(row.road.lateral_mm))),
        limits: limits(context, Quantity::Scrub, "scrub limit", |_| 0.0),
        baselines: vec![0.0],
        notes: context.binds(),
        ..TravelChart::default()
    }
    .draw(context)
}

pub fn recession(context: &ChartContext) -> Result<String, PenError> {
    let unit = context.unit_name();
    TravelChart {
        title: "Recession in bump and droop",
        verdict: judged(context, &[Quantity::Recession]),
        value: &format!("recession, {unit} (wheel centre moved back: positive)"),
        least: context.length(2.0),
        curves: curves(context, |row| Measure::Recession.of(row).map(|mm| context.length(mm))),
        limits: limits(context, Quantity::Recession, "recession limit", |_| 0.0),
        baselines: vec![0.0],
        notes: context.binds(),
        ..TravelChart::default()
    }
    .draw(context)
}

pub fn anti_squat(context: &ChartContext) -> Result<String, PenError> {
    let along = |context: &ChartContext, wheel: &WheelStyle| curve(context, wheel, |row| row.wheel.anti_squat_pct);
    let cut = |context: &ChartContext, wheel: &WheelStyle| {
        let binds: Vec<f64> = context.bind_heights_mm(wheel.side).map(|mm| context.length(mm)).collect();
        let whole = along(context, wheel);
        Curve { points: cut_near_binds(&whole.points, &binds), ..whole }
    };
    let drawn = |curve: Curve| curve.points.into_iter().flatten().count();
    let is_cut = context.wheels.iter().any(|wheel| drawn(cut(context, wheel)) < drawn(along(context, wheel)));
    TravelChart {
        title: "Anti-squat in bump and droop",
        verdict: judged(context, &[Quantity::AntiSquat]),
        value: "anti-squat, % (resisting squat: positive)",
        least: 2.0,
        curves: with_beside(context, cut),
        design_limits: limits(context, Quantity::AntiSquat, "limit at design", |_| 0.0),
        notes: is_cut.then(|| CUT_NEAR_BINDS.to_owned()).into_iter().chain(context.binds()).collect(),
        ..TravelChart::default()
    }
    .draw(context)
}

/// Whether a wheel shown has a value of anti-squat.
pub fn has_anti_squat(context: &ChartContext) -> bool {
    context.wheels.iter().any(|wheel| context.design(wheel.side).wheel.anti_squat_pct.is_some())
}

pub fn plunge(context: &ChartContext) -> Result<String, PenError> {
    let unit = context.unit_name();
    TravelChart {
        title: "Halfshaft plunge in bump and droop",
        verdict: judged(context, &[Quantity::Plunge]),
        value: &format!("plunge from design, {unit} (joint pulled apart: positive)"),
        least: context.length(2.0),
        curves: curves(context, |row| Some(context.length(row.wheel.shaft?.plunge_mm))),
        limits: limits(context, Quantity::Plunge, "plunge window", |_| 0.0),
        baselines: vec![0.0],
        notes: context.binds(),
        ..TravelChart::default()
    }
    .draw(context)
}

pub fn joint_angles(context: &ChartContext) -> Result<String, PenError> {
    let joint = |wheel: &WheelStyle, name: &str, stroke: Stroke, angle: fn(ShaftMeasures) -> f64| Curve {
        name: format!("{name}, {}", wheel.name),
        stroke,
        ..curve(context, wheel, |row| row.wheel.shaft.map(angle))
    };
    let both = |wheel: &WheelStyle| {
        let inner = joint(wheel, "inner", wheel.stroke, |shaft| shaft.inner_angle_deg);
        [inner, joint(wheel, "outer", wheel.pale, |shaft| shaft.outer_angle_deg)]
    };
    let inner = limits(context, Quantity::InnerJointAngle, "inner joint limit", |_| 0.0);
    let outer = limits(context, Quantity::OuterJointAngle, "outer joint limit", |_| 0.0);
    TravelChart {
        title: "Angles of the halfshaft joints in bump and droop",
        verdict: judged(context, &[Quantity::InnerJointAngle, Quantity::OuterJointAngle]),
        value: "joint angle, deg (0: shaft straight)",
        least: 5.0,
        curves: context.wheels.iter().flat_map(both).collect(),
        limits: inner.into_iter().chain(outer).collect(),
        baselines: vec![0.0],
        notes: context.binds(),
        ..TravelChart::default()
    }
    .draw(context)
}

/// The halfshaft of one side, when the file gives it.
pub fn shaft_of<'s>(context: &ChartContext<'s>, side: Side) -> Option<&'s Halfshaft> {
    context.car.geometry().corner(side).halfshaft.as_ref()
}
