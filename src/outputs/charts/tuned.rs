//! Bump steer before and after tuning.

use super::caption::Caption;
use super::context::{ChartContext, WheelStyle};
use super::curves::{Curve, TOE_AXIS, TravelChart, limits, toe_change};
use super::sheet::PenError;
use super::stroke::Stroke;
use super::verdict::{limited, state};
use crate::geometry::Quantity;
use crate::present::{self, weld_study};
use crate::studies::errors::ErrorSource;
use crate::studies::tune::TuneFindings;

/// The drawn curves pale, the tuned ones in front of them; afterwards alone for a car that had no pickups yet.
pub fn before_after(
    found: &TuneFindings,
    before: Option<&ChartContext>,
    after: &ChartContext,
) -> Result<String, PenError> {
    let named = |context: &ChartContext, wheel: &WheelStyle, when: &str, stroke: Stroke| Curve {
        name: format!("{}, {when}", wheel.name),
        stroke,
        ..toe_change(context, wheel)
    };
    let drawn = before
        .iter()
        .flat_map(|context| context.wheels.iter().map(|wheel| named(context, wheel, "before", wheel.pale)));
    let tuned = after.wheels.iter().map(|wheel| named(after, wheel, "after", wheel.stroke));
    let chart = TravelChart {
        value: TOE_AXIS,
        least: 0.02,
        curves: drawn.chain(tuned).collect(),
        limits: limits(after, Quantity::BumpSteer, "bump-steer limit", |_| 0.0),
        baselines: vec![0.0],
        ..TravelChart::default()
    };
    let caption = Caption {
        title: "Bump steer before and after tuning",
        verdict: verdict(found, before, after),
        notes: chance(found, after).into_iter().chain(after.binds()).collect(),
    };
    let paper = after.paper;
    caption.sheet(&after.subject, paper.size, |sheet| chart.panel(after, sheet, paper.panel, paper.marks(13.0)))
}

/// Of both cars on bump steer, of the tuned one on every limit.
fn verdict(found: &TuneFindings, before: Option<&ChartContext>, after: &ChartContext) -> String {
    let said = |context: &ChartContext| state(context, Quantity::BumpSteer).unwrap_or_default();
    let before = before.map_or(String::new(), |context| format!("before {}, ", said(context)));
    let what = limited(after, Quantity::BumpSteer);
    let totals = present::limit_totals(&found.car.limit_totals);
    format!("{what}: {before}after {}. On the tuned car, {totals}", said(after))
}

/// That the written answer passes once it is built, and of which cars that is.
fn chance(found: &TuneFindings, after: &ChartContext) -> Option<String> {
    let odds = found.odds.written()?;
    let sentence = weld_study::chance(odds.chance.limits, odds.chance.share?);
    let errors = ErrorSource::of_file(after.car.geometry().weld.as_ref());
    let cars = weld_study::cars(after.lengths(), odds.cars, &errors, after.car.geometry());
    Some(format!("{sentence} {cars}, links adjusted, seed {}.", odds.seed))
}
