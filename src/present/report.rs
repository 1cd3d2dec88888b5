//! What stands at the head of a report.

use super::length::LengthFormat;
use super::limits::all_limits;
use super::quantity::{decimals, number, unit};
use super::sentences::bind;
use super::words::sentence_start;
use super::{driveline, forces, weld_study};
use crate::studies::{ReportFindings, Verdict};

/// Goes with every verdict on a whole car.
pub const PASS_MEANS: &str = "Pass means that the limits of the file hold on paper. It does not approve a weld, a thread, a bracket or a car: the \
    rulebook, the maker's ratings and a licensed engineer decide.";

/// What takes from the verdict, in the same breath as it: `, thin: plunge (0.3 mm left), 2 reserves of strength; 4 things not
/// checked`; nothing where nothing does.
pub fn report_reservations(lengths: LengthFormat, found: &ReportFindings) -> String {
    reservations(lengths, found.thin_limits(), found.thin_reserves(), found.open())
}

/// The same of limits that hold with little left, and counts of thin reserves of strength and of things not checked.
pub fn reservations<'v>(
    lengths: LengthFormat,
    thin_limits: impl Iterator<Item = &'v Verdict>,
    thin_reserves: usize,
    open: usize,
) -> String {
    let left = |verdict: &Verdict| {
        let quantity = verdict.quantity;
        let margin = number(lengths, quantity, decimals(lengths, quantity, verdict.limit), verdict.margin()?);
        Some(format!("{} ({margin} {} left)", quantity.name(), unit(lengths, quantity.unit())))
    };
    let mut thin: Vec<String> = Vec::new();
    for said in thin_limits.filter_map(left) {
        if !thin.contains(&said) {
            thin.push(said);
        }
    }
    thin.extend(match thin_reserves {
        0 => None,
        1 => Some("1 reserve of strength".to_owned()),
        many => Some(format!("{many} reserves of strength")),
    });
    let open = match open {
        0 => None,
        1 => Some("1 thing not checked".to_owned()),
        many => Some(format!("{many} things not checked")),
    };
    let thin = (!thin.is_empty()).then(|| format!("thin: {}", thin.join(", ")));
    let said: Vec<String> = thin.into_iter().chain(open).collect();
    if said.is_empty() { String::new() } else { format!(", {}", said.join("; ")) }
}

/// What the whole car comes to, a sentence a study.
pub fn report_verdict(lengths: LengthFormat, found: &ReportFindings) -> Vec<String> {
    let car = &found.sweep.car;
    let mut said = vec![sentence_start(&all_limits(&car.limits))];
    said.extend(driveline::totals(found.driveline.driveline.checks()));
    said.extend(found.forces.as_ref().and_then(|found| forces::weakest(lengths, found)));
    said.extend(car.binds().map(|of| sentence_start(&bind(lengths, of)) + "."));
    let fails = found.forces.iter().flat_map(|found| &found.spring_fails);
    said.extend(fails.map(|fails| sentence_start(&forces::spring_fails(lengths, fails)) + "."));
    said.extend(found.weld.as_ref().ok().map(|study| weld_study::car_chance(&study.study)));
    said
}
