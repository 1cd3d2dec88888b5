//! The charts of a tolerance study: the band of toe curves, and how the worst of them spread.

use super::caption::Caption;
use super::context::{ChartContext, WheelStyle};
use super::curves::toe_change;
use super::frame::{CHART, Frame, Limit, panels};
use super::labels::Area;
use super::scale::{Scale, short};
use super::sheet::{PenError, Sheet};
use super::stroke::Stroke;
use crate::geometry::{Quantity, Side};
use crate::present::{weld_study, words};
use crate::studies::tolerance::{CurveBand, Histogram, Tolerance, ToleranceFindings};

/// Greys of the band of 9 cars in 10 and of that of every other car.
const OUTER_GREY: u8 = 228;
const INNER_GREY: u8 = 190;

/// The toe curves of nearly all wheels, with that of the drawing in them.
pub fn band(context: &ChartContext, found: &ToleranceFindings) -> Result<String, PenError> {
    let key = format!(
        "Dark band: half of the wheels. Light band: 9 of 10. Line: {}. Toe counts from that at the drawn wheel height.",
        context.subject.stage
    );
    caption(context, found, "Bump steer once welded: where the toe curves lie", key).sheet(
        &context.subject,
        CHART,
        |sheet| {
            let each = context.wheels.iter().zip(panels(context.wheels.len()));
            each.into_iter().try_for_each(|(wheel, area)| band_panel(context, &found.study, sheet, wheel, area))
        },
    )
}

/// The chances of a car and of one wheel, and how the cars were built.
fn caption<'t>(context: &ChartContext, found: &ToleranceFindings, title: &'t str, key: String) -> Caption<'t> {
    let (study, lengths) = (&found.study, context.lengths());
    let wheels: Vec<Side> = context.wheels.iter().map(|wheel| wheel.side).collect();
    let wheel = weld_study::wheel_chance(study, &wheels, context.car.geometry().mirrored);
    let cars = weld_study::cars(lengths, study.cars, &found.request.errors, context.car.geometry());
    let how = format!("{cars}, {}, seed {}.", weld_study::finish(&study.finish, context.subject.stage), study.seed);
    let lost = context.asked.iter().filter_map(|&side| weld_study::lost(study, side));
    let notes = [key, how].into_iter().chain(weld_study::last_bracket_errors(lengths, &study.finish)).chain(lost);
    Caption {
        title,
        verdict: [Some(weld_study::car_chance(study)), wheel].into_iter().flatten().collect::<Vec<_>>().join(" "),
        notes: notes.chain(weld_study::not_checked_sentence(&found.not_checked)).collect(),
    }
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
    let names = [("5 %", end(low)), (context.subject.stage, as_drawn), ("95 %", end(high))];
    frame.names_above(&names.map(|(name, end)| (name.to_owned(), end)))?;
    frame.name_limits_across(&limits)
}

/// The outline of what lies between two curves.
fn between(low: &[(f64, f64)], high: &[(f64, f64)]) -> Vec<(f64, f64)> {
    low.iter().chain(high.iter().rev()).copied().collect()
}

fn limit(context: &ChartContext) -> Vec<Limit> {
    let limit_deg = context.car.geometry().bump_steer_limit_deg();
    let line = |value: f64| Limit { value, label: format!("limit {} deg", short(value, 3)) };
    limit_deg.map_or(Vec::new(), |deg| vec![line(-deg), line(deg)])
}

/// The share of wheels whose worst bump steer stays below a value.
pub fn worst(context: &ChartContext, found: &ToleranceFindings) -> Result<String, PenError> {
    let key = "The curve tells how many of the wheels stay below a worst bump steer; it ends where nearly all do.";
    let title = "Worst bump steer once welded: how the wheels spread";
    caption(context, found, title, key.to_owned()).sheet(&context.subject, CHART, |sheet| {
        let each = context.wheels.iter().zip(panels(context.wheels.len()));
        each.into_iter().try_for_each(|(wheel, area)| worst_panel(context, &found.study, sheet, wheel, area))
    })
}

fn worst_panel(
    context: &ChartContext,
    study: &Tolerance,
    sheet: &Sheet,
    wheel: &WheelStyle,
    area: Area,
) -> Result<(), PenError> {
    let limits: Vec<Limit> = limit(context).into_iter().filter(|limit| limit.value > 0.0).collect();
    let chance = study.spread(Quantity::BumpSteer, wheel.side).and_then(|spread| spread.chance);
    let at_limit = limits.first().zip(chance).map(|(limit, chance)| (limit.value, chance));
    let passes = at_limit.map(|(limit_deg, chance)| (limit_deg, 100.0 * chance.value()));
    let curve = with_point(cumulative(&study.worst_deg[wheel.side], study.cars), passes);
    let one_panel = context.wheels.len() == 1;
    let values = curve.iter().map(|point| point.0).chain(limits.iter().map(|limit| limit.value));
    let across = Scale::covering(values, 0.01, if one_panel { 13.0 } else { 6.0 });
    let up = Scale::covering([0.0, 100.0], 100.0, 10.0);
    let across_title = format!("worst bump steer, deg per wheel, {}", wheel.name);
    let mut frame = Frame::new(sheet, area, (across, &across_title), (up, "wheels that stay below, %"))?;
    frame.baseline_up(0.0)?;
    frame.curve(&curve.iter().copied().map(Some).collect::<Vec<_>>(), Stroke::CURVE)?;
    frame.limits_across(&limits)?;
    if let Some((at, (_, chance))) = passes.zip(at_limit) {
        frame.ring(at)?;
        frame.name_ring(at, &format!("one wheel: {}", words::proportion(chance)))?;
    }
    frame.name_limits_across(&limits)
}

/// Shares of all wheels below the edges of the bars, %; the last bar holds all that lie beyond, so it has no upper edge.
fn cumulative(bars: &Histogram, wheels: usize) -> Vec<(f64, f64)> {
    let mut below = 0;
    let edge = |(bar, &count): (usize, &u32)| {
        below += count;
        (bars.low + bars.width * (bar + 1) as f64, 100.0 * f64::from(below) / wheels as f64)
    };
    let inner = bars.counts.len().saturating_sub(1);
    std::iter::once((bars.low, 0.0)).chain(bars.counts.iter().take(inner).enumerate().map(edge)).collect()
}

/// A rising curve through one more point that is known exactly; one beyond its ends is left out.
fn with_point(mut curve: Vec<(f64, f64)>, point: Option<(f64, f64)>) -> Vec<(f64, f64)> {
    if let Some(point) = point {
        let next = curve.partition_point(|other| other.0 < point.0);
        if 0 < next && next < curve.len() {
            curve.insert(next, point);
        }
    }
    curve
}

#[cfg(test)]
mod tests {
    use super::{cumulative, with_point};
    use crate::studies::tolerance::Histogram;

    /// Ten wheels: one below 1, three more below 2, two bind and are in no bar, the rest lie beyond.
    #[test]
    fn shares_add_up_and_leave_out_what_lies_beyond_the_last_edge() {
        let bars = Histogram { low: 0.0, width: 1.0, counts: vec![1, 3, 4] };
        assert_eq!(cumulative(&bars, 10), [(0.0, 0.0), (1.0, 10.0), (2.0, 40.0)]);
    }

    #[test]
    fn the_curve_goes_through_the_chance_at_the_limit() {
        let curve = vec![(0.0, 0.0), (1.0, 10.0), (2.0, 40.0)];
        let with = |at: f64, share: f64| with_point(curve.clone(), Some((at, share)));
        assert_eq!(with(1.5, 12.0), [(0.0, 0.0), (1.0, 10.0), (1.5, 12.0), (2.0, 40.0)]);
        assert_eq!(with(3.0, 50.0), curve);
        assert_eq!(with_point(curve.clone(), None), curve);
    }
}
