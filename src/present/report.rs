//! What stands at the head of a report.

use super::length::LengthFormat;
use super::limits::all_limits;
use super::sentences::bind;
use super::words::sentence_start;
use super::{driveline, forces, weld_study};
use crate::studies::ReportFindings;

/// Goes with every verdict on a whole car.
pub const PASS_MEANS: &str = "Pass means that the limits of the file hold on paper. It does not approve a weld, a thread, a bracket or a car: the \
    rulebook, the maker's ratings and a licensed engineer decide.";

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
