//! What a droop strap does to the cases.

use super::super::length::LengthFormat;
use super::super::words;
use crate::geometry::Side;
use crate::studies::forces::{ForcesFindings, StrapFails, StrapOffItsLength, StrapSlack};

/// What is to be said of a droop strap; nothing without one.
pub fn strap(lengths: LengthFormat, found: &ForcesFindings) -> Vec<String> {
    let has_strap = |side: &Side| {
        let spring = found.geometry.corner(*side).spring.as_ref();
        spring.is_some_and(|spring| spring.make.strap.is_some())
    };
    if !found.sides.iter().any(has_strap) {
        return Vec::new();
    }
    let pulls = found.all().any(|(_, _, forces)| forces.strap_n.is_some_and(|n| n > 0.0));
    let taut = if pulls { STRAP_NOTE } else { STRAP_IDLE };
    let mut said: Vec<String> = found.strap_off_its_length.iter().map(|off| off_its_length(lengths, off)).collect();
    said.extend(
        [StrapFails::WouldPush, StrapFails::DoesNotHold].map(|why| slack(lengths, found, why)).into_iter().flatten(),
    );
    said.push(taut.to_owned());
    said
}

const STRAP_NOTE: &str = "Where the droop strap is taut it holds the wheel, and the spring counts as slack: one that is still squeezed there \
    pulls on the strap with its force too.";
const STRAP_IDLE: &str = "No case pulls on the droop strap. A wheel in the air does: add a [[load]] with its weight, for example \
    centre = [0.0, 0.0, -400.0] (N).";

fn off_its_length(lengths: LengthFormat, off: &StrapOffItsLength) -> String {
    let StrapOffItsLength { side, at_bump_mm, apart_mm, length_mm } = *off;
    let holds = match apart_mm < length_mm {
        true => "it hangs slack there, and what acts along the spring holds the wheel",
        false => "it holds the wheel before that",
    };
    format!(
        "The {} droop strap is {} long, and its ends are {} apart at {}: {holds}.",
        side.name(),
        lengths.with_unit(length_mm),
        lengths.with_unit(apart_mm),
        words::travel(lengths, at_bump_mm)
    )
}

/// In which cases a taut strap counts as slack; `None` when there is no such case.
fn slack(lengths: LengthFormat, found: &ForcesFindings, why: StrapFails) -> Option<String> {
    let of: Vec<&StrapSlack> = found.strap_slack.iter().filter(|slack| slack.why == why).collect();
    let mut heights_mm: Vec<f64> = of.iter().map(|slack| slack.at_bump_mm).collect();
    heights_mm.sort_by(f64::total_cmp);
    heights_mm.dedup();
    let case = |(number, name): (usize, &str), at_bump_mm: f64| {
        let there = of.iter().filter(|slack| slack.case == name && slack.at_bump_mm == at_bump_mm);
        let sides: Vec<Side> = there.map(|slack| slack.side).collect();
        match sides[..] {
            [] => None,
            [only] if found.sides.len() > 1 => Some(format!("{number} {}", only.name())),
            _ => Some(number.to_string()),
        }
    };
    let at = |&at_bump_mm: &f64| {
        let cases = (1..).zip(&found.cases).filter_map(|(number, of)| case((number, &of.name), at_bump_mm));
        let cases: Vec<String> = cases.collect();
        let plural = if cases.len() == 1 { "case" } else { "cases" };
        format!("{plural} {} at {}", words::listed(&cases), words::travel(lengths, at_bump_mm))
    };
    let places: Vec<String> = heights_mm.iter().map(at).collect();
    let says = match why {
        StrapFails::WouldPush => "would have to push, which a strap cannot",
        StrapFails::DoesNotHold => "does not hold the wheel, for travel hardly changes its length",
    };
    (!places.is_empty()).then(|| {
        format!(
            "The droop strap {says}, in {}: there what acts along the spring holds the wheel.",
            words::listed(&places)
        )
    })
}
