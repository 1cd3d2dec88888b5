//! The gaps between parts against wheel travel.

use super::context::{ChartContext, WheelStyle};
use super::curves::{Curve, TravelChart};
use super::frame::Limit;
use super::scale::short;
use super::sheet::PenError;
use super::verdict::judged;
use crate::geometry::Quantity;
use crate::present;
use crate::present::words::sentence_start;
use crate::studies::{ClearanceFindings, PairClearance};

/// Pairs of a wheel that are drawn; the others are further apart and stand in the table.
const DRAWN: usize = 3;

/// The nearest pairs of each wheel, numbered; what the numbers mean stands under the chart.
pub fn gaps(context: &ChartContext) -> Result<String, PenError> {
    let unit = context.unit_name();
    let least = context.wheels.first().map(|wheel| context.car.clearance[wheel.side].limit_mm);
    let limit = |mm: f64| {
        let value = context.length(mm);
        Limit { value, label: format!("least gap {} {unit}", short(value, 3)) }
    };
    TravelChart {
        title: "Gaps between parts in bump and droop",
        verdict: judged(context, &[Quantity::Clearance]),
        value: &format!("gap between surfaces, {unit} (overlap: negative)"),
        least: context.length(20.0),
        curves: context.wheels.iter().flat_map(|wheel| curves(context, wheel)).collect(),
        limits: least.into_iter().map(limit).collect(),
        baselines: vec![0.0],
        notes: notes(context),
        ..TravelChart::default()
    }
    .draw(context)
}

/// What the numbers stand for, which sizes were taken, and to what no gap is known.
fn notes(context: &ChartContext) -> Vec<String> {
    let legends = context.wheels.iter().map(|wheel| legend(context, wheel));
    let found = context.wheels.first().map(|wheel| &context.car.clearance[wheel.side]);
    let default_mm = |of: &ClearanceFindings| of.limit_is_default.then_some(of.limit_mm);
    let taken = found.and_then(|of| present::assumed_sizes(context.lengths(), &of.assumed, default_mm(of)));
    let open = found.and_then(|of| present::without_body(&of.without_body));
    legends.chain(taken).chain(open).chain(context.binds()).collect()
}

fn nearest<'s>(context: &ChartContext<'s>, wheel: &WheelStyle) -> impl Iterator<Item = (usize, &'s PairClearance)> {
    (1..).zip(context.car.clearance[wheel.side].pairs.iter().take(DRAWN))
}

fn curves(context: &ChartContext, wheel: &WheelStyle) -> Vec<Curve> {
    let point = |&(bump_mm, gap_mm): &(f64, f64)| Some((context.length(gap_mm), context.length(bump_mm)));
    let curve = |(number, pair): (usize, &PairClearance)| Curve {
        name: context.numbered(number, wheel),
        points: pair.curve.iter().map(point).collect(),
        stroke: wheel.numbered(number - 1),
    };
    nearest(context, wheel).map(curve).collect()
}

/// What the numbers of one wheel stand for, with the least gap of each.
fn legend(context: &ChartContext, wheel: &WheelStyle) -> String {
    let pair = |(number, pair): (usize, &PairClearance)| {
        format!("{number} {}, least {}", pair.pair, context.lengths().with_unit(pair.least_mm))
    };
    let pairs: Vec<String> = nearest(context, wheel).map(pair).collect();
    format!("{}: {}.", sentence_start(wheel.name), pairs.join("; "))
}
