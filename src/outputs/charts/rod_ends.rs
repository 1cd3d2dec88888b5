//! Misalignment of the rod ends against wheel travel, a panel for each end of the links.

use super::caption::Caption;
use super::context::{ChartContext, WheelStyle};
use super::curves::{Curve, TravelChart};
use super::frame::Limit;
use super::scale::short;
use super::sheet::PenError;
use super::verdict::judged;
use crate::geometry::{Corner, End, Quantity};
use crate::measures::RodEndMeasures;
use crate::studies::CurvePoint;

/// The axis shows at least this much, deg.
const LEAST_DEG: f64 = 1.0;
/// A limit that is so many times the widest angle is not drawn.
const FAR_BEYOND: f64 = 4.0;

/// Whether a link of a wheel shown has a bolt.
pub fn has_bolts(context: &ChartContext) -> bool {
    let has = |corner: &Corner| corner.links.iter().any(|l| l.chassis_bolt.is_some() || l.upright_bolt.is_some());
    context.wheels.iter().any(|wheel| has(context.car.geometry().corner(wheel.side)))
}

pub fn rod_ends(context: &ChartContext) -> Result<String, PenError> {
    let key = "The rod end is clocked at its best; 0 is square to its bolt. Curves carry the numbers of the links.";
    let corner = context.wheels.first().map(|wheel| context.car.geometry().corner(wheel.side));
    let links = corner.iter().flat_map(|corner| (1..).zip(&corner.links));
    let links: Vec<String> = links.map(|(number, link)| format!("{number} {}", link.name)).collect();
    let (limits, beyond) = limits_on_the_axis(context);
    let links = format!("{}.", links.join(", "));
    let notes = [key.to_owned(), links].into_iter().chain(beyond).chain(context.binds());
    let verdict = judged(context, &[Quantity::RodEndAngle]);
    let title = "Misalignment of the rod ends in bump and droop";
    let (size, areas) = context.paper.of_panels(2);
    Caption { title, verdict, notes: notes.collect() }.sheet(&context.subject, size, |sheet| {
        let mut panels = [End::Chassis, End::Upright].into_iter().zip(areas);
        panels.try_for_each(|(end, area)| panel(context, end, limits.clone()).panel(context, sheet, area, 7.0))
    })
}

fn panel(context: &ChartContext, end: End, limits: Vec<Limit>) -> TravelChart<'static> {
    let wheels = || context.wheels.iter();
    TravelChart {
        value: match end {
            End::Chassis => "at the bracket on the frame, deg",
            End::Upright => "at the upright, deg",
        },
        least: LEAST_DEG,
        curves: wheels().flat_map(|wheel| (0..5).filter_map(|link| link_curve(context, wheel, link, end))).collect(),
        limits,
        baselines: vec![0.0],
        ..TravelChart::default()
    }
}

/// `None` at an end without a bolt.
fn link_curve(context: &ChartContext, wheel: &WheelStyle, link: usize, end: End) -> Option<Curve> {
    let deg = |ends: &RodEndMeasures| match end {
        End::Chassis => ends.chassis_deg,
        End::Upright => ends.upright_deg,
    };
    let point = |at: &CurvePoint| Some((deg(&at.rod_ends[link])?, context.length(at.row.bump_mm)));
    let points: Vec<Option<(f64, f64)>> = context.curve_points(wheel.side).iter().map(point).collect();
    points.iter().any(Option::is_some).then(|| Curve {
        name: context.numbered(link + 1, wheel),
        points,
        stroke: wheel.numbered(link),
    })
}

/// Limits to be drawn. One that lies so far beyond every curve that these could not be told apart beside it is told in words.
fn limits_on_the_axis(context: &ChartContext) -> (Vec<Limit>, Option<String>) {
    let points = context.wheels.iter().flat_map(|wheel| context.curve_points(wheel.side));
    let ends = points.flat_map(|at| &at.rod_ends).flat_map(|ends| [ends.chassis_deg, ends.upright_deg]);
    let widest_deg = ends.flatten().fold(LEAST_DEG, f64::max);
    let (far, near): (Vec<Limit>, Vec<Limit>) =
        limits(context).into_iter().partition(|limit| limit.value > FAR_BEYOND * widest_deg);
    let names: Vec<String> = far.iter().map(|limit| format!("{} deg", short(limit.value, 2))).collect();
    let beyond =
        (!names.is_empty()).then(|| format!("Beyond the end of the axis: rod-end limit {}.", names.join(", ")));
    (near, beyond)
}

/// Each limit of a link once.
fn limits(context: &ChartContext) -> Vec<Limit> {
    let links = context.wheels.iter().flat_map(|wheel| &context.car.geometry().corner(wheel.side).links);
    let mut all: Vec<f64> = links.filter_map(|link| link.rod_end_limit_deg).collect();
    all.sort_by(f64::total_cmp);
    all.dedup();
    all.into_iter().map(|value| Limit { value, label: format!("rod-end limit {} deg", short(value, 2)) }).collect()
}
