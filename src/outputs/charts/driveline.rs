//! The driveline to scale, from above and from the side, and what the place of the final drive trades.

use nalgebra::Point3;

use super::caption::Caption;
use super::context::ChartContext;
use super::frame::{CHART, Frame, PANEL};
use super::scale::Scale;
use super::sheet::PenError;
use super::stroke::Stroke;
use crate::geometry::Side;
use crate::present::runs_out as words;
use crate::studies::driveline::{PlaceFindings, Placing};

/// A view looks along one axis: which coordinate stands upright on the sheet, and what it is called.
struct View {
    title: &'static str,
    up: usize,
    up_title: &'static str,
}

/// From above: the front of the car at the right, its left side at the top.
pub fn plan(context: &ChartContext) -> Result<String, PenError> {
    view(context, &View { title: "Driveline from above, to scale", up: 1, up_title: "to the left" })
}

/// From the right: the front of the car at the right.
pub fn side(context: &ChartContext) -> Result<String, PenError> {
    view(context, &View { title: "Driveline from the side, to scale", up: 2, up_title: "up" })
}

fn view(context: &ChartContext, view: &View) -> Result<String, PenError> {
    let geometry = context.car.geometry();
    let point = |place: &Point3<f64>| (context.length(place.x), context.length(place[view.up]));
    let halfshafts = Side::BOTH.into_iter().filter_map(|side| {
        let corner = geometry.corner(side);
        let shaft = corner.halfshaft.as_ref()?;
        let ends = [shaft.inner, shaft.outer, corner.wheel.centre].map(|place| side.to_car(place));
        Some(ends.iter().map(point).collect::<Vec<_>>())
    });
    let halfshafts: Vec<Vec<(f64, f64)>> = halfshafts.collect();
    let propshaft: Vec<(f64, f64)> =
        geometry.propshaft.iter().flat_map(|shaft| &shaft.joints).map(|joint| point(&joint.at)).collect();
    let holes: Vec<(f64, f64)> = geometry
        .final_drive
        .iter()
        .flat_map(|housing| housing.holes.iter().map(|hole| point(&housing.place.point(hole))))
        .collect();
    let all = || halfshafts.iter().flatten().chain(&propshaft).chain(&holes);
    let middle = |values: Vec<f64>| {
        let (low, high) = values.iter().fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(*v), high.max(*v)));
        (f64::midpoint(low, high), high - low)
    };
    let ((x, wide), (y, high)) = (middle(all().map(|p| p.0).collect()), middle(all().map(|p| p.1).collect()));
    // One length is as long either way on the sheet.
    let across = wide.max(high * PANEL.width() / PANEL.height()).max(1.0) * 1.1;
    let up = across * PANEL.height() / PANEL.width();
    let notes = vec!["Rings: joint centres and wheel centres. Dots: mounting holes of the final drive.".to_owned()];
    Caption { title: view.title, verdict: String::new(), notes }.sheet(&context.subject, CHART, |sheet| {
        let unit = context.unit_name();
        let across_title = format!("forward, {unit}");
        let up_title = format!("{}, {unit}", view.up_title);
        let scales = (Scale::covering([x], across, 10.0), Scale::covering([y], up, 8.0));
        let mut frame = Frame::new(sheet, PANEL, (scales.0, &across_title), (scales.1, &up_title))?;
        for path in halfshafts.iter().chain([&propshaft]) {
            frame.curve(&path.iter().copied().map(Some).collect::<Vec<_>>(), Stroke::CURVE)?;
            path.iter().try_for_each(|place| frame.ring(*place))?;
        }
        holes.iter().try_for_each(|hole| frame.curve(&[Some(*hole)], Stroke::CURVE))
    })
}

/// Straightness of the halfshafts against that of the propeller shaft, over the room of the final drive.
pub fn trade(context: &ChartContext, found: &Placing) -> Result<String, PenError> {
    let title = "Place of the final drive: halfshafts against propeller shaft";
    let notes = words::placing(context.lengths(), found);
    Caption { title, verdict: String::new(), notes }.sheet(&context.subject, CHART, |sheet| {
        let place = |place: &PlaceFindings| Some((place.halfshaft_deg, place.worst_propshaft_deg?));
        let front: Vec<Option<(f64, f64)>> = found.trade.iter().map(place).collect();
        let ends = [place(&found.drawn), place(&found.best)];
        let values = || front.iter().chain(&ends).flatten();
        let across = Scale::covering(values().map(|p| p.0), 0.2, 12.0);
        let up = Scale::covering(values().map(|p| p.1), 0.2, 10.0);
        let across_title = "halfshaft joints at ride height, deg (root mean square)";
        let mut frame =
            Frame::new(sheet, PANEL, (across, across_title), (up, "largest angle of the propeller shaft, deg"))?;
        frame.curve(&front, Stroke::CURVE)?;
        for (at, name) in ends.into_iter().zip(["as drawn", "straightest halfshafts"]) {
            if let Some(at) = at {
                frame.ring(at)?;
                frame.name_ring(at, name)?;
            }
        }
        Ok(())
    })
}
