//! The charts of a tolerance study: the band of toe curves, and how the worst of them spread.

use super::context::{ChartContext, WheelStyle};
use super::curves::toe_change;
use super::frame::{CHART, Frame, Limit, PANEL, heading, notes};
use super::labels::Area;
use super::scale::{Scale, short};
use super::sheet::{PenError, Sheet, draw};
use super::stroke::Stroke;
use crate::geometry::Quantity;
use crate::present::words::sentence_start;
use crate::studies::tolerance::{CurveBand, Histogram, Tolerance};

const LEFT_PANEL: Area = Area { right: 448.0, ..PANEL };
const RIGHT_PANEL: Area = Area { left: 556.0, ..PANEL };
/// Greys of the band of 9 cars in 10 and of that of every other car.
const OUTER_GREY: u8 = 228;
const INNER_GREY: u8 = 190;

/// The toe curves of nearly all cars, with that of the drawing in them.
pub fn band(context: &ChartContext, study: &Tolerance) -> Result<String, PenError> {
    draw(CHART, |sheet| {
        heading(sheet, "Bump steer once welded: where the toe curves lie", context.name())?;
        for (wheel, area) in context.wheels.iter().zip(areas(context)) {
            band_panel(context, study, sheet, wheel, area)?;
        }
        let key = "Dark band: half of the cars. Light band: 9 of 10. Line: as drawn. Each car counts from its own toe \
                   at the drawn wheel height.";
        notes(sheet, 598.0, &[key.to_owned(), cars(study)])
    })
}

fn areas(context: &ChartContext) -> Vec<Area> {
    if context.wheels.len() == 1 { vec![PANEL] } else { vec![LEFT_PANEL, RIGHT_PANEL] }
}

fn cars(study: &Tolerance) -> String {
    format!("{} cars, seed {}.", study.cars, study.seed)
}

fn band_panel(
    context: &ChartContext,
    study: &Tolerance,
    sheet: &Sheet,
    wheel: &WheelStyle,
    area: Area,
) -> Result<(), PenError> {
    let band: &CurveBand = &study.bands[wheel.side];
    let edge = |share: f64| -> Vec<(f64, f64)> {
        band.percentile(share).into_iter().map(|(bump_mm, deg)| (deg, context.length(bump_mm))).collect()
    };
    let edges = [0.05, 0.25, 0.75, 0.95].map(edge);
    let drawn = toe_change(context, wheel);
    let limits = limit(context);
    let values = edges.iter().flatten().copied().chain(drawn.points.iter().flatten().copied());
    let across_values = values.map(|point| point.0).chain(limits.iter().map(|limit| limit.value));
    let one_panel = context.wheels.len() == 1;
    let across = Scale::covering(across_values, 0.02, if one_panel { 13.0 } else { 6.0 });
    let travel = &context.car.geometry().travel;
    let up =
        Scale::covering([-travel.droop_mm, travel.bump_mm].map(|mm| context.length(mm)), context.length(10.0), 13.0);
    let across_title = format!("change of toe, deg per wheel, {} (toe-in to the right)", wheel.name);
    let up_title = format!("wheel travel from design height, {} (bump up, droop down)", context.unit_name());
    let mut frame = Frame::new(sheet, area, (across, &across_title), (up, &up_title))?;
    let [low, lower, higher, high] = &edges;
    frame.region(&between(low, high), OUTER_GREY)?;
    frame.region(&between(lower, higher), INNER_GREY)?;
    frame.baseline_up(0.0)?;
    frame.baseline_at(0.0)?;
    frame.curve(&drawn.points, Stroke::CURVE)?;
    frame.limits_across(&limits)?;
    let end = |edge: &[(f64, f64)]| edge.last().copied();
    let as_drawn = drawn.points.iter().rev().flatten().next().copied();
    let names = [("5 %", end(low)), ("as drawn", as_drawn), ("95 %", end(high))];
    frame.names_above(&names.map(|(name, end)| (name.to_owned(), end)))
}

/// The outline of what lies between two curves.
fn between(low: &[(f64, f64)], high: &[(f64, f64)]) -> Vec<(f64, f64)> {
    low.iter().chain(high.iter().rev()).copied().collect()
}

fn limit(context: &ChartContext) -> Vec<Limit> {
    let limit_deg = context.car.geometry().bump_steer_limit_deg();
    let line = |value: f64| Limit { value, label: format!("bump-steer limit {} deg", short(value, 3)) };
    limit_deg.map_or(Vec::new(), |deg| vec![line(-deg), line(deg)])
}

/// How many cars come out with which worst bump steer.
pub fn worst(context: &ChartContext, study: &Tolerance) -> Result<String, PenError> {
    draw(CHART, |sheet| {
        heading(sheet, "Worst bump steer once welded: how the cars spread", context.name())?;
        for (wheel, area) in context.wheels.iter().zip(areas(context)) {
            worst_panel(context, study, sheet, wheel, area)?;
        }
        let chance = |wheel: &WheelStyle| {
            let chance = study.spread(Quantity::BumpSteer, wheel.side)?.chance?;
            let percent = short(100.0 * chance.value(), 1);
            Some(format!("{}: {percent} % of the wheels keep the limit.", sentence_start(wheel.name)))
        };
        let beyond = "The last bar holds all that lie beyond it.".to_owned();
        let lines: Vec<String> = context.wheels.iter().filter_map(chance).chain([beyond, cars(study)]).collect();
        notes(sheet, 598.0, &lines)
    })
}

fn worst_panel(
    context: &ChartContext,
    study: &Tolerance,
    sheet: &Sheet,
    wheel: &WheelStyle,
    area: Area,
) -> Result<(), PenError> {
    let bars = &study.worst_deg[wheel.side];
    let outline = outline(bars, study.cars);
    let limits: Vec<Limit> = limit(context).into_iter().filter(|limit| limit.value > 0.0).collect();
    let one_panel = context.wheels.len() == 1;
    let across = Scale::covering(outline.iter().map(|point| point.0), 0.01, if one_panel { 13.0 } else { 6.0 });
    let up = Scale::covering(outline.iter().map(|point| point.1), 1.0, 10.0);
    let across_title = format!("worst bump steer, deg per wheel, {}", wheel.name);
    let mut frame = Frame::new(sheet, area, (across, &across_title), (up, "cars in each bar, %"))?;
    frame.region(&outline, OUTER_GREY)?;
    frame.curve(&outline.iter().copied().map(Some).collect::<Vec<_>>(), Stroke::CURVE)?;
    frame.limits_across(&limits)
}

/// Bars as one line, in per cent of all cars.
fn outline(bars: &Histogram, cars: usize) -> Vec<(f64, f64)> {
    let percent = |count: u32| 100.0 * f64::from(count) / cars as f64;
    let ends =
        |(bar, &count): (usize, &u32)| [bar, bar + 1].map(|edge| (bars.low + bars.width * edge as f64, percent(count)));
    let last = bars.low + bars.width * bars.counts.len() as f64;
    let tops = bars.counts.iter().enumerate().flat_map(ends);
    std::iter::once((bars.low, 0.0)).chain(tops).chain([(last, 0.0)]).collect()
}
