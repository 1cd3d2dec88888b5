//! What could not be checked and why, and what every figure takes for granted.

use super::{Page, Section};
use crate::outputs::html::{list, paragraph};
use crate::present::{self, weld_study, words};

pub(super) fn section(page: &Page) -> Section {
    let found = page.found;
    let car = &found.sweep.car;
    let shown = present::limit_lines(page.lengths, &car.limits, page.sides, page.mirrored);
    let mut open: Vec<String> = Vec::new();
    open.extend(present::not_checked(shown.iter().flat_map(|line| line.verdicts.iter().copied())));
    open.extend(found.check.lacking.iter().map(|lacks| format!("Not checked: {}.", present::lacking(lacks))));
    match &found.weld {
        Ok(study) => open.extend(weld_study::not_checked_sentence(&study.not_checked)),
        Err(why) => open.push(format!("Not checked on built cars: everything; {why}.")),
    }
    open.extend(found.forces.as_ref().and_then(|forces| present::forces::not_checked(&forces.lacking)));
    if found.forces.is_none() {
        let side = page.sides.iter().find(|&&side| page.geometry.corner(side).spring.is_none());
        let why = present::forces::no_spring(*side.unwrap_or(&page.sides[0]));
        open.push(words::sentence_start(&why) + ".");
    }
    let body =
        if open.is_empty() { paragraph("Everything that this program checks was checked.") } else { list(&open) };
    Section { id: "not-checked", title: "What was not checked, and why", body }
}

/// Cautions of every study that the page shows.
pub(super) fn assumptions(page: &Page) -> Section {
    let found = page.found;
    let mut cautions = vec![present::STUDY_CAUTION];
    cautions.extend(found.weld.is_ok().then_some(weld_study::WELD_CAUTION));
    cautions.extend(found.driveline.driveline.propshaft.as_ref().map(|_| present::driveline::PROPSHAFT_CAUTION));
    cautions.extend(found.forces.as_ref().map(|_| present::forces::CAUTION));
    let cautions: Vec<String> = cautions.into_iter().map(str::to_owned).collect();
    Section { id: "cautions", title: "What is assumed, and who decides", body: list(&cautions) }
}
