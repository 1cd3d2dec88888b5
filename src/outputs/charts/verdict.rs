//! Whether the car of a chart passed, in the words of the screen.

use super::context::ChartContext;
use crate::geometry::Quantity;
use crate::present::{self, decimals, limit_band, number, trimmed, unit, verdict};
use crate::studies::{State, Verdict};

/// Of the quantities that a chart shows: `bump steer, limit ±0.05 deg: FAIL left`.
pub fn judged(context: &ChartContext, quantities: &[Quantity]) -> String {
    let each: Vec<String> = quantities.iter().filter_map(|&quantity| of_quantity(context, quantity)).collect();
    each.join("; ")
}

/// Of every limit of the file, naming those that are broken.
pub fn all_limits(context: &ChartContext) -> String {
    let verdicts: Vec<Verdict> = context.verdicts().cloned().collect();
    present::all_limits(&verdicts, context.car.geometry())
}

/// Pass, fail or not checked of one quantity, for all wheels shown; `None` when no wheel is judged on it.
pub fn state(context: &ChartContext, quantity: Quantity) -> Option<String> {
    let verdicts = of_wheels(context, quantity);
    if verdicts.is_empty() {
        return None;
    }
    let said = verdict(&verdicts);
    let is_open = said == State::NotChecked.words();
    let reason = verdicts.iter().map(|verdict| verdict.reason()).find(|reason| is_open && !reason.is_empty());
    Some(reason.map_or(said.clone(), |reason| format!("{said} ({reason})")))
}

/// A quantity with its limit: `bump steer, limit ±0.05 deg`.
pub fn limited(context: &ChartContext, quantity: Quantity) -> String {
    let verdicts = of_wheels(context, quantity);
    let lengths = context.lengths();
    let decimals = decimals(lengths, quantity, verdicts.first().and_then(|first| first.limit));
    // With the digits of the screen.
    let number = |value: f64| trimmed(&number(lengths, quantity, decimals, value)).replace('-', "−");
    let limit = verdicts.first().and_then(|first| {
        let alike = verdicts.iter().all(|verdict| verdict.limit == first.limit);
        let whose = if alike { "" } else { " (left)" };
        Some(format!(", limit {} {}{whose}", limit_band(number, first.limit?), unit(lengths, quantity.unit())))
    });
    format!("{}{}", quantity.name(), limit.unwrap_or_default())
}

fn of_quantity(context: &ChartContext, quantity: Quantity) -> Option<String> {
    Some(format!("{}: {}", limited(context, quantity), state(context, quantity)?))
}

fn of_wheels<'s>(context: &ChartContext<'s>, quantity: Quantity) -> Vec<&'s Verdict> {
    context.verdicts().filter(|of| of.quantity == quantity).collect()
}
