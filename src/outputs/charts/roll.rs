//! The axle in body roll: where its roll centre goes, and how it steers.

use super::caption::Caption;
use super::context::{ChartContext, WheelStyle};
use super::curves::{TravelChart, curves, limits};
use super::frame::{Frame, Limit};
use super::labels::Area;
use super::scale::{Scale, round_step, short};
use super::sheet::{PenError, Sheet};
use super::stroke::Stroke;
use super::verdict::judged;
use crate::geometry::{Quantity, Side};
use crate::measures::{Row, steer_deg};
use crate::studies::{Roll, RollStop};

/// Room for the names of curves at their right ends; on a narrow sheet a quarter of it.
const NAMES: f64 = 132.0;
/// A stop this little beyond the last roll angle is met there, deg.
const AT_THE_END_DEG: f64 = 1e-6;
/// Where the lines of both sides are nearly parallel the roll centre runs away; beyond this many half tracks from the
/// middle of the car it is not drawn.
const MAX_HALF_TRACKS: f64 = 2.0;

pub fn roll_centre(context: &ChartContext) -> Result<String, PenError> {
    let key =
        "First panel: seen from the front. Numbers at the curve: body roll in deg, left side of the body up positive.";
    let far = "Where the roll centre lies far outside of the car it is not drawn.";
    let far = runs_away(context).then_some(far);
    let notes = [key].into_iter().chain(far).map(str::to_owned).chain(context.binds()).collect();
    let verdict = judged(context, &[Quantity::RollCentreHeight]);
    let title = "Roll centre in body roll, and in bump and droop";
    let (size, areas) = context.paper.of_panels(2);
    Caption { title, verdict, notes }.sheet(&context.subject, size, |sheet| {
        migration(context, sheet, areas[0])?;
        height_in_travel(context, sheet, areas[1])
    })
}

/// Whether the roll centre is somewhere too far away to be drawn.
fn runs_away(context: &ChartContext) -> bool {
    let furthest_mm = furthest_mm(context);
    let in_roll = context.roll_curve().rows.of(Side::Left).filter_map(place).any(|at| !is_near(at, furthest_mm));
    let heights = context.wheels.iter().flat_map(|wheel| context.curve_points(wheel.side));
    let mut heights = heights.filter_map(|at| at.row.roll_centre_height_mm);
    in_roll || heights.any(|height_mm| height_mm.abs() > furthest_mm)
}

/// Lateral place and height of the roll centre, mm.
fn place(row: &Row) -> Option<(f64, f64)> {
    Some((row.roll_centre_lateral_mm?, row.roll_centre_height_mm?))
}

fn is_near((lateral_mm, height_mm): (f64, f64), furthest_mm: f64) -> bool {
    lateral_mm.hypot(height_mm) <= furthest_mm
}

/// The largest distance from the middle of the car at which a roll centre is drawn, mm.
fn furthest_mm(context: &ChartContext) -> f64 {
    MAX_HALF_TRACKS * context.car.rig.left.design_contact.point.y
}

/// The path of the roll centre of the axle in roll.
fn migration(context: &ChartContext, sheet: &Sheet, area: Area) -> Result<(), PenError> {
    let furthest_mm = furthest_mm(context);
    // Both rows of an axle hold the same roll centre.
    let rows = context.roll_curve().rows.of(Side::Left);
    let near = |row: &Row| place(row).filter(|at| is_near(*at, furthest_mm));
    let points: Vec<Option<(f64, f64)>> =
        rows.map(|row| near(row).map(|(lat, up)| (context.length(lat), context.length(up)))).collect();
    let shown = || points.iter().flatten();
    let least = context.length(20.0);
    let unit = context.unit_name();
    let across = Scale::covering(shown().map(|p| p.0).chain([0.0]), least, 7.0);
    let up = Scale::covering(shown().map(|p| p.1), least, 10.0);
    let titles = [format!("to the left of the middle of the car, {unit}"), format!("height above the road, {unit}")];
    let mut frame = Frame::new(sheet, area, (across, &titles[0]), (up, &titles[1]))?;
    frame.baseline_at(0.0)?;
    frame.curve(&points, Stroke::CURVE)?;
    let marked = context.car.roll.rows.of(Side::Left).filter(|row| is_marked(context, row));
    let mark = |row: &Row| {
        let (lateral_mm, height_mm) = near(row)?;
        Some(((context.length(lateral_mm), context.length(height_mm)), short(row.body_roll_deg, 2)))
    };
    let marks: Vec<_> = marked.filter_map(mark).collect();
    marks.iter().try_for_each(|(at, _)| frame.ring(*at))?;
    marks.iter().try_for_each(|(at, words)| frame.name_ring(*at, words))
}

/// The roll angles written at the curve: a few round ones.
fn is_marked(context: &ChartContext, row: &Row) -> bool {
    let roll_deg = context.car.geometry().travel.roll_deg;
    let steps = row.body_roll_deg / round_step((roll_deg / 4.0).max(0.01));
    (steps - steps.round()).abs() < 1e-9
}

/// Its height above a level road over the wheel travel.
fn height_in_travel(context: &ChartContext, sheet: &Sheet, area: Area) -> Result<(), PenError> {
    let unit = context.unit_name();
    let furthest_mm = furthest_mm(context);
    let near = |row: &Row| row.roll_centre_height_mm.filter(|mm| mm.abs() <= furthest_mm);
    TravelChart {
        value: &format!("height above the road, body level, {unit}"),
        least: context.length(20.0),
        curves: curves(context, |row| near(row).map(|mm| context.length(mm))),
        design_limits: limits(context, Quantity::RollCentreHeight, "limit at design", |_| 0.0),
        ..TravelChart::default()
    }
    .panel(context, sheet, area, 7.0)
}

pub fn steer(context: &ChartContext) -> Result<String, PenError> {
    let roll_deg = context.car.geometry().travel.roll_deg;
    let (inside, beyond): (Vec<_>, Vec<_>) =
        context.car.roll.stops.iter().partition(|stop| stop.body_roll_deg.abs() <= roll_deg + AT_THE_END_DEG);
    let signs = "The axle is the mean of both wheels. Steered left, a left wheel toes out and a right wheel toes in.";
    let stops: Vec<String> = beyond.into_iter().map(stop_words).collect();
    let stops = (!stops.is_empty()).then(|| format!("Stops outside of this chart: {}.", stops.join("; ")));
    let notes = std::iter::once(signs.to_owned()).chain(stops).collect();
    let verdict = judged(context, &[Quantity::RollSteer]);
    let title = "Roll steer: steer of both wheels and of the axle in body roll";
    let stop_lines: Vec<Limit> = inside.into_iter().map(stop_line).collect();
    let caption = Caption { title, verdict, notes };
    caption.sheet(&context.subject, context.paper.size, |sheet| steer_panel(context, sheet, &stop_lines))
}

fn steer_panel(context: &ChartContext, sheet: &Sheet, stops: &[Limit]) -> Result<(), PenError> {
    let (roll, wheels) = (context.roll_curve(), shown_in_roll(context));
    let each =
        wheels.iter().map(|wheel| (format!("{} wheel", wheel.side.name()), steer_changes(roll, wheel), wheel.pale));
    let axle = roll.axle(Quantity::RollSteer).into_iter().map(Some).collect();
    let curves: Vec<_> = each.chain([("axle".to_owned(), axle, Stroke::CURVE)]).collect();
    let limit = context.car.geometry().limit(Quantity::RollSteer, Side::Left);
    let either_way: Vec<f64> = limit.map_or(Vec::new(), |limit| vec![limit.low, limit.high]);
    let roll_deg = context.car.geometry().travel.roll_deg;
    let values = curves.iter().flat_map(|curve| curve.1.iter().flatten().map(|p| p.1));
    let across = Scale::covering([-roll_deg, roll_deg], 1.0, context.paper.marks(13.0));
    let up = Scale::covering(values.chain(either_way.iter().copied()).chain([0.0]), 0.02, 13.0);
    let titles =
        ["body roll, deg (left side of the body up: positive)", "steer from design, deg (to the left: positive)"];
    let panel = context.paper.panel;
    let area = Area { right: panel.right - NAMES.min(panel.width() / 4.0), ..panel };
    let mut frame = Frame::new(sheet, area, (across, titles[0]), (up, titles[1]))?;
    frame.baseline_at(0.0)?;
    frame.baseline_up(0.0)?;
    curves.iter().try_for_each(|(_, points, stroke)| frame.curve(points, *stroke))?;
    let label = |value| Limit { value, label: format!("roll-steer limit {} deg", short(value, 3)) };
    let limits: Vec<Limit> = either_way.into_iter().map(label).collect();
    frame.limits_up(&limits)?;
    frame.limits_across(stops)?;
    let end = |(name, points, _): &(String, Vec<Option<(f64, f64)>>, Stroke)| {
        (name.clone(), points.iter().rev().flatten().next().copied())
    };
    frame.names_beside(&curves.iter().map(end).collect::<Vec<_>>())?;
    frame.name_limits_up(&limits)?;
    frame.name_limits_across(stops)
}

/// In roll the wheels of a mirrored car stand differently: every wheel asked for has its own curve.
fn shown_in_roll(context: &ChartContext) -> Vec<WheelStyle> {
    context.asked.iter().copied().map(WheelStyle::of).collect()
}

/// Change of steer of a wheel from design, to the left positive.
fn steer_changes(roll: &Roll, wheel: &WheelStyle) -> Vec<Option<(f64, f64)>> {
    let design_deg = roll.design[wheel.side].wheel.toe_deg;
    let rows = roll.rows.of(wheel.side);
    rows.map(|row| Some((row.body_roll_deg, steer_deg(wheel.side, row.wheel.toe_deg - design_deg)))).collect()
}

fn stop_line(stop: &RollStop) -> Limit {
    Limit { value: stop.body_roll_deg, label: format!("{} wheel on its {} stop", stop.side.name(), stop.stop.name()) }
}

fn stop_words(stop: &RollStop) -> String {
    format!("{} wheel in {} at {} deg", stop.side.name(), stop.stop.name(), short(stop.body_roll_deg, 2))
}

#[cfg(test)]
mod tests {
    use super::steer_changes;
    use crate::geometry::Side;
    use crate::outputs::charts::context::WheelStyle;
    use crate::studies::{JudgedCar, Rig};

    /// Body roll one way is the mirror image of the other: the left wheel then steers right as the right one steers left.
    #[test]
    fn both_wheels_of_a_mirrored_car_are_drawn_in_one_sign() {
        let text = include_str!("../../../geometries/first-cut.toml");
        let file = crate::file::GeometryFile::parse("first-cut.toml", text).expect("a sound file");
        let car = JudgedCar::of(Rig::new(&file.geometry).expect("a car that moves"));
        let curve = |side| steer_changes(&car.roll, &WheelStyle::of(side)).into_iter().flatten().collect::<Vec<_>>();
        let (left, mut right) = (curve(Side::Left), curve(Side::Right));
        right.reverse();
        assert!(left.len() > 10 && left.len() == right.len());
        for ((left_roll, left_deg), (right_roll, right_deg)) in left.into_iter().zip(right) {
            assert!((left_roll + right_roll).abs() < 1e-9 && (left_deg + right_deg).abs() < 1e-9);
        }
    }
}
