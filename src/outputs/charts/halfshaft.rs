//! The halfshafts: plunge against wheel travel inside its window, and joint angles over ride height and body roll.

use super::caption::Caption;
use super::context::{ChartContext, WheelStyle};
use super::curves::{Curve, TravelChart};
use super::frame::{CHART, Frame, LEFT_PANEL, Limit, RIGHT_PANEL};
use super::labels::Area;
use super::scale::{Scale, round_step, short};
use super::sheet::{PenError, Sheet};
use super::stroke::Stroke;
use crate::geometry::Interval;
use crate::measures::{Row, ShaftMeasures};
use crate::present::driveline;
use crate::present::words::sentence_start;
use crate::studies::driveline::{Check, DrivelineFindings, HalfshaftFindings, ShaftRow};

/// Grey of the classes of angle, from the straightest.
const GREYS: [u8; 6] = [250, 225, 195, 165, 135, 105];

fn shaft_of<'f>(found: &'f DrivelineFindings, wheel: &WheelStyle) -> Option<&'f HalfshaftFindings> {
    found.driveline.wheels.get(&wheel.side)?.halfshaft.as_ref()
}

/// Of these figures at the wheels shown, by the limits of the file or typical ones, as the screen of the driveline has them.
fn judged(context: &ChartContext, found: &DrivelineFindings, figures: &[&str]) -> String {
    let of = |figure: &&str| {
        let of_wheel = |wheel: &WheelStyle| {
            let check = shaft_of(found, wheel)?.checks.iter().find(|check| check.what == **figure)?;
            Some((wheel.name, check))
        };
        let checks: Vec<(&str, &Check)> = context.wheels.iter().filter_map(of_wheel).collect();
        driveline::judged(context.lengths(), &checks)
    };
    figures.iter().filter_map(of).collect::<Vec<_>>().join("; ")
}

/// Plunge of each wheel shown, with the ends of its window, which may narrow with the angle.
pub fn plunge(context: &ChartContext, found: &DrivelineFindings) -> Result<String, PenError> {
    let shafts: Vec<(&WheelStyle, &HalfshaftFindings)> =
        context.wheels.iter().filter_map(|wheel| Some((wheel, shaft_of(found, wheel)?))).collect();
    let curve = |&(wheel, shaft): &(&WheelStyle, &HalfshaftFindings)| Curve {
        name: wheel.name.to_owned(),
        points: points(context, shaft, |row| Some(row.shaft.plunge_mm)),
        stroke: wheel.stroke,
    };
    let narrowed = shafts.iter().filter(|(_, shaft)| shaft.window_narrows).flat_map(|&(wheel, shaft)| {
        let end = |name: &str, end: fn(Interval) -> f64| Curve {
            name: format!("{name} {}", wheel.name),
            points: points(context, shaft, |row| row.window_mm.map(end)),
            stroke: Stroke::LIMIT,
        };
        [end("pushed in", |window| window.low), end("pulled out", |window| window.high)]
    });
    let windows = shafts.iter().filter(|(_, shaft)| !shaft.window_narrows).filter_map(|(_, shaft)| shaft.window_mm);
    let mut ends: Vec<f64> = windows.flat_map(|window| [window.low, window.high]).collect();
    ends.sort_by(f64::total_cmp);
    ends.dedup();
    let limit = |mm: f64| Limit { value: context.length(mm), label: format!("window {}", context.length_words(mm)) };
    let note = |&(wheel, shaft): &(&WheelStyle, &HalfshaftFindings)| {
        let left = shaft.least_margin.map(|least| {
            format!(
                ", least left {} at {}",
                context.length_words(least.margin_mm),
                context.travel_words(least.at_bump_mm)
            )
        });
        let length = context.length_words(shaft.length_mm);
        format!(
            "{}: {length} between the joint centres at design{}.",
            sentence_start(wheel.name),
            left.unwrap_or_default()
        )
    };
    TravelChart {
        title: "Plunge of the halfshafts in bump and droop, in its window",
        verdict: judged(context, found, &["plunge"]),
        value: &format!(
            "change of the length between the joint centres, {} (pulled apart: positive)",
            context.unit_name()
        ),
        least: context.length(4.0),
        curves: shafts.iter().map(curve).chain(narrowed).collect(),
        limits: ends.into_iter().map(limit).collect(),
        baselines: vec![0.0],
        notes: shafts.iter().map(note).chain(context.binds()).collect(),
        ..TravelChart::default()
    }
    .draw(context)
}

fn points(
    context: &ChartContext,
    shaft: &HalfshaftFindings,
    value: impl Fn(&ShaftRow) -> Option<f64>,
) -> Vec<Option<(f64, f64)>> {
    let point = |row: &ShaftRow| Some((context.length(value(row)?), context.length(row.bump_mm)));
    shaft.curve.iter().map(point).collect()
}

/// One square of the map: the worse of the wheels shown.
struct Square {
    roll_deg: f64,
    height: f64,
    deg: f64,
    broken: bool,
}

/// The larger angle of the wheels shown at every ride height with every angle of body roll; a cross where a limit is broken.
pub fn map(context: &ChartContext, found: &DrivelineFindings) -> Result<String, PenError> {
    let joints = [("inner joint", inner as Angle, LEFT_PANEL), ("outer joint", outer as Angle, RIGHT_PANEL)];
    let all: Vec<Vec<Square>> = joints.iter().map(|(_, angle, _)| squares(context, found, *angle)).collect();
    let most = all.iter().flatten().map(|square| square.deg).fold(0.0, f64::max);
    let step = round_step((most / GREYS.len() as f64).max(1e-3));
    let key = format!(
        "Larger joint angle of the wheels shown: white below {} deg, a grey darker every {} deg. Cross: beyond a limit.",
        short(step, 3),
        short(step, 3)
    );
    let path = "Each wheel has one path: ride height and roll only choose where on it the wheel stands.".to_owned();
    let title = "Joint angles of the halfshafts over ride height and body roll";
    let verdict = judged(context, found, &["inner joint angle", "outer joint angle"]);
    Caption { title, verdict, notes: vec![key, path] }.sheet(&context.subject, CHART, |sheet| {
        for ((name, _, area), squares) in joints.into_iter().zip(&all) {
            panel(context, sheet, (name, area), squares, step)?;
        }
        Ok(())
    })
}

type Angle = fn(&ShaftMeasures) -> f64;

fn inner(shaft: &ShaftMeasures) -> f64 {
    shaft.inner_angle_deg
}

fn outer(shaft: &ShaftMeasures) -> f64 {
    shaft.outer_angle_deg
}

fn squares(context: &ChartContext, found: &DrivelineFindings, angle: Angle) -> Vec<Square> {
    let mut squares: Vec<Square> = Vec::new();
    for row in found.grid.rows.iter().filter(|row| context.asked.contains(&row.side)) {
        let Some((shaft, deg)) = row.wheel.shaft.map(|shaft| (shaft, angle(&shaft))) else { continue };
        let broken = found.driveline.wheels.get(&row.side).and_then(|wheel| wheel.halfshaft.as_ref());
        let broken = broken.is_some_and(|limits| breaks(limits, &shaft));
        let height = context.length(row.ride_height_change_mm);
        match squares.iter_mut().rev().take(2).find(|square| is_at(square, row, height)) {
            Some(square) => {
                square.deg = square.deg.max(deg);
                square.broken |= broken;
            }
            None => squares.push(Square { roll_deg: row.body_roll_deg, height, deg, broken }),
        }
    }
    squares
}

fn is_at(square: &Square, row: &Row, height: f64) -> bool {
    square.roll_deg == row.body_roll_deg && square.height == height
}

/// Whether a limit of the halfshaft is broken at one place.
fn breaks(found: &HalfshaftFindings, shaft: &ShaftMeasures) -> bool {
    let values = [shaft.inner_angle_deg, shaft.outer_angle_deg, shaft.plunge_mm];
    let is_out = |(check, value): (&Check, f64)| {
        check.least.is_some_and(|least| value < least) || check.most.is_some_and(|most| value > most)
    };
    found.checks.iter().zip(values).any(is_out)
}

fn panel(
    context: &ChartContext,
    sheet: &Sheet,
    (name, area): (&str, Area),
    squares: &[Square],
    step_deg: f64,
) -> Result<(), PenError> {
    let travel = &context.car.geometry().travel;
    let (half_roll, half_height) = (0.5 * travel.step_roll_deg, context.length(0.5 * travel.step_mm));
    let across = squares.iter().flat_map(|square| [square.roll_deg - half_roll, square.roll_deg + half_roll]);
    let across = Scale::covering(across, 1.0, 7.0);
    let up = squares.iter().flat_map(|square| [square.height - half_height, square.height + half_height]);
    let up = Scale::covering(up, context.length(10.0), 13.0);
    let across_title = format!("body roll, deg: {name}");
    let up_title = format!("ride height from design, {} (body up: positive)", context.unit_name());
    let mut frame = Frame::new(sheet, area, (across, &across_title), (up, &up_title))?;
    for square in squares {
        let class = ((square.deg / step_deg).floor() as usize).min(GREYS.len() - 1);
        let (left, right) = (square.roll_deg - half_roll, square.roll_deg + half_roll);
        let (low, high) = (square.height - half_height, square.height + half_height);
        frame.region(&[(left, low), (right, low), (right, high), (left, high)], GREYS[class])?;
        if square.broken {
            let points = |a: (f64, f64), b: (f64, f64)| [Some(a), Some(b)];
            frame.curve(&points((left, low), (right, high)), Stroke::THIN)?;
            frame.curve(&points((left, high), (right, low)), Stroke::THIN)?;
        }
    }
    frame.baseline_up(0.0)?;
    frame.baseline_at(0.0)
}
