//! The chart of a correction: what was read, the curve through it, and the curve to expect after the changes.

use super::caption::Caption;
use super::context::ChartContext;
use super::curves::limits;
use super::frame::{CHART, Frame, PANEL};
use super::scale::{Scale, short};
use super::sheet::PenError;
use super::stroke::Stroke;
use crate::geometry::{Quantity, Side};
use crate::present::rounded;
use crate::studies::correct::{ToeBand, WheelCorrection};

/// Grey of the band of 19 cars in 20.
const BAND_GREY: u8 = 214;

/// One wheel; without changes the band is that of the car as it stands.
pub fn correction(context: &ChartContext, side: Side, wheel: &WheelCorrection) -> Result<String, PenError> {
    let point = |band: &ToeBand, deg: f64| (deg, context.length(band.bump_mm));
    let mean = |bands: &[ToeBand]| -> Vec<Option<(f64, f64)>> {
        bands.iter().map(|band| Some(point(band, band.toe_change_deg))).collect()
    };
    let (now, after) = (mean(&wheel.curve_now), mean(&wheel.curve_after));
    let low = wheel.curve_after.iter().map(|band| point(band, band.low_deg));
    let high = wheel.curve_after.iter().rev().map(|band| point(band, band.high_deg));
    let band: Vec<(f64, f64)> = low.chain(high).collect();
    let read: Vec<(f64, f64)> = wheel
        .readings
        .iter()
        .filter_map(|reading| Some((reading.toe_change_deg?, context.length(reading.at_bump_mm))))
        .collect();
    let limits = limits(context, Quantity::BumpSteer, "bump-steer limit", |_| 0.0);

    let title = format!("Bump steer as built and as corrected, {} wheel", side.name());
    Caption {
        title: &title,
        verdict: worst(wheel, context.car.geometry().bump_steer_limit_deg()),
        notes: vec![key(wheel)],
    }
    .sheet(&context.subject, CHART, |sheet| {
        let values = band.iter().chain(&read).chain(now.iter().flatten()).map(|at| at.0);
        let across = Scale::covering(values.chain(limits.iter().map(|limit| limit.value)), 0.02, 13.0);
        let travel = &context.car.geometry().travel;
        let ends = [-travel.droop_mm, travel.bump_mm].map(|mm| context.length(mm));
        let up = Scale::covering(ends.into_iter().chain(read.iter().map(|at| at.1)), context.length(10.0), 13.0);
        let across_title = "change of toe from design height, deg per wheel (toe-in to the right, toe-out to the left)";
        let up_title = format!("wheel travel from design height, {} (bump up, droop down)", context.unit_name());
        let mut frame = Frame::new(sheet, PANEL, (across, across_title), (up, &up_title))?;
        frame.region(&band, BAND_GREY)?;
        frame.baseline_up(0.0)?;
        frame.baseline_at(0.0)?;
        let is_changed = !wheel.changes.is_empty();
        frame.curve(&now, if is_changed { Stroke::PALE } else { Stroke::CURVE })?;
        if is_changed {
            frame.curve(&after, Stroke::CURVE)?;
        }
        read.iter().try_for_each(|&at| frame.curve(&[Some(at)], Stroke::THIN))?;
        frame.limits_across(&limits)?;
        frame.name_limits_across(&limits)?;
        let end = |curve: &[Option<(f64, f64)>]| curve.iter().rev().flatten().next().copied();
        let names = [("as built", &now), ("to expect after the changes", &after)];
        let shown = names.iter().take(if is_changed { 2 } else { 1 });
        frame.names_above(&shown.map(|(name, curve)| ((*name).to_owned(), end(curve))).collect::<Vec<_>>())
    })
}

/// What is left of the worst bump steer, and how sure that is.
fn worst(wheel: &WheelCorrection, limit_deg: Option<f64>) -> String {
    let deg = |deg: f64| format!("{} deg", rounded(deg, 3));
    let worst = &wheel.worst_bump_steer_deg;
    let stay = |p95_deg: f64| {
        let inside = limit_deg.map_or_else(String::new, |limit| {
            let is_inside = if p95_deg <= limit { "inside" } else { "beyond" };
            format!(", {is_inside} the limit of {} deg", short(limit, 3))
        });
        format!("95 of 100 of them stay below {}{inside}", deg(p95_deg))
    };
    let of = "Worst of one wheel, mean of the cars that fit the readings";
    match wheel.changes.as_slice() {
        [] => format!("{of}: {}; {}.", deg(worst.now), stay(worst.now_p95)),
        _ => format!(
            "{of}: {} as built, {} to expect; {}.",
            deg(worst.now),
            deg(worst.expected),
            stay(worst.expected_p95)
        ),
    }
}

fn key(wheel: &WheelCorrection) -> String {
    let after = if wheel.changes.is_empty() { "" } else { " after the changes" };
    format!(
        "Dots: read, less what the gauge is off in common. Grey: 19 of 20 cars that fit the readings{after}. Lines: the mean of these \
         curves, flatter than most of them."
    )
}
