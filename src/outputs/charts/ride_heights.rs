//! Bump steer about each ride height of the file.

use super::caption::Caption;
use super::context::{ChartContext, WheelStyle};
use super::curves::{Curve, TravelChart, curve, for_it_binds, limits, toe_change, worst_words};
use super::sheet::PenError;
use super::stroke::Stroke;
use super::verdict::judged;
use crate::geometry::Quantity;
use crate::present::words::sentence_start;
use crate::studies::RideHeightSteer;

/// Whether the file gives other ride heights than the drawn one.
pub fn has_ride_heights(context: &ChartContext) -> bool {
    !context.car.geometry().travel.ride_heights_mm.is_empty()
}

/// A panel for each wheel; every curve counts toe from where the wheel stands at its ride height.
pub fn toe(context: &ChartContext) -> Result<String, PenError> {
    let key = "Each curve counts toe from where the wheel stands at its ride height: the ring on it. Black: about design height.";
    let notes = std::iter::once(key.to_owned()).chain(context.wheels.iter().map(|wheel| worst(context, wheel)));
    let title = "Bump steer about each ride height";
    let verdict = judged(context, &[Quantity::BumpSteer]);
    let caption = Caption { title, verdict, notes: notes.chain(context.binds()).collect() };
    let (size, areas) = context.paper.of_panels(context.wheels.len());
    let marks = if areas.len() == 1 { context.paper.marks(13.0) } else { 6.0 };
    caption.sheet(&context.subject, size, |sheet| {
        context.wheels.iter().zip(areas).try_for_each(|(wheel, area)| {
            let value = format!("change of toe, deg per wheel, {} (toe-in to the right)", wheel.name);
            of_wheel(context, wheel, &value).panel(context, sheet, area, marks)
        })
    })
}

fn of_wheel<'t>(context: &ChartContext, wheel: &WheelStyle, value: &'t str) -> TravelChart<'t> {
    let heights = || context.car.heave.ride_heights[wheel.side].iter();
    let about_design = Curve { name: String::new(), ..toe_change(context, wheel) };
    let ring = |height: &RideHeightSteer| {
        ((0.0, context.length(height.stands_at_bump_mm)), height_words(context, height.ride_height_mm))
    };
    TravelChart {
        value,
        least: 0.02,
        curves: heights().filter_map(|height| about(context, wheel, height)).chain([about_design]).collect(),
        limits: limits(context, Quantity::BumpSteer, "limit", |_| 0.0),
        baselines: vec![0.0],
        marks: heights().map(ring).chain([((0.0, 0.0), "design".to_owned())]).collect(),
        ..TravelChart::default()
    }
}

/// `None` when no row tells where the worst of it is.
fn about(context: &ChartContext, wheel: &WheelStyle, height: &RideHeightSteer) -> Option<Curve> {
    let worst = context.car.heave.row_at(wheel.side, height.worst_at_bump_mm)?;
    let toe_there_deg = worst.wheel.toe_deg - height.worst_change_deg;
    let about = curve(context, wheel, |row| Some(row.wheel.toe_deg - toe_there_deg));
    Some(Curve { name: String::new(), stroke: Stroke { width: 1.6, ..wheel.pale }, ..about })
}

fn height_words(context: &ChartContext, ride_height_mm: f64) -> String {
    let way = if ride_height_mm < 0.0 { "lower" } else { "higher" };
    format!("{} {way}", context.length_words(ride_height_mm.abs()))
}

/// The worst change of toe of one wheel, and about which ride height.
fn worst(context: &ChartContext, wheel: &WheelStyle) -> String {
    let design = context.car.toe[wheel.side];
    let about_design = (design.worst_change_deg, "design height".to_owned(), design.worst_at_bump_mm);
    let heights = context.car.heave.ride_heights[wheel.side].iter().map(|height| {
        let words = format!("the ride height {}", height_words(context, height.ride_height_mm));
        (height.worst_change_deg, words, height.worst_at_bump_mm)
    });
    let (deg, height, at_bump_mm) =
        heights.fold(about_design, |worst, this| if this.0.abs() > worst.0.abs() { this } else { worst });
    let (who, at) = (sentence_start(wheel.name), context.travel_words(at_bump_mm));
    let (worst, why) = (worst_words(context, wheel, deg), for_it_binds(context, wheel));
    format!("{who}, per wheel: {worst}, about {height}, at {at}{why}.")
}
