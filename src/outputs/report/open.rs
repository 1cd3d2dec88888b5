//! What could not be checked and why, and what every figure takes for granted.

use super::{Page, Section};
use crate::outputs::html::{heading, list, paragraph};
use crate::present::{self, driveline, forces, weld_study, words};
use crate::studies::NotForetold;

pub(super) fn section(page: &Page) -> Section {
    let found = page.found;
    let car = &found.sweep.car;
    let mut open: Vec<String> = Vec::new();
    open.extend(present::not_checked(&car.limits));
    open.extend(unchecked(&found.without_data().concat()));
    match &found.weld {
        Ok(study) => open.extend(weld_study::not_checked_sentence(&study.not_checked)),
        Err(NotForetold::Built | NotForetold::Planned) => {}
        Err(why) => open.push(format!("Not checked on built cars: everything; {why}.")),
    }
    if found.forces.is_none() {
        let side = page.sides.iter().find(|&&side| page.geometry.corner(side).spring.is_none());
        let why = present::forces::no_spring(*side.unwrap_or(&page.sides[0]));
        open.push(words::sentence_start(&why) + ".");
    }
    let mut body =
        if open.is_empty() { paragraph("Everything that this program checks was checked.") } else { list(&open) };
    let notes = for_who_runs_it(page);
    if !notes.is_empty() {
        body += &heading("For who runs the program");
        body += &list(&notes);
    }
    Section { id: "not-checked", title: "What was not checked, and why", body }
}

/// Names alone: what the file would have to say of them stands below.
fn unchecked(names: &[&str]) -> Option<String> {
    (!names.is_empty()).then(|| format!("Not checked for want of data: {}.", names.join("; ")))
}

/// Keys of the file and commands, which nobody else needs to know.
fn for_who_runs_it(page: &Page) -> Vec<String> {
    let found = page.found;
    let mut notes: Vec<String> =
        found.check.lacking.iter().map(|lacks| format!("Not checked: {}.", present::lacking(lacks))).collect();
    let of_parts = found.forces.as_ref();
    notes.extend(of_parts.and_then(|found| forces::not_checked(&found.lacking)));
    notes.extend(of_parts.filter(|found| found.common_practice).map(|_| forces::LOAD_ADVICE.to_owned()));
    let has_typical = found.driveline.driveline.checks().any(|check| check.typical);
    notes.extend(has_typical.then(|| driveline::TYPICAL_ADVICE.to_owned()));
    notes.extend(found.weld.iter().flat_map(weld_study::advice));
    notes
}

/// Cautions of every study that the page shows.
pub(super) fn assumptions(page: &Page) -> Section {
    let found = page.found;
    let mut cautions = vec![present::STUDY_CAUTION];
    cautions.extend(found.weld.is_ok().then_some(weld_study::WELD_CAUTION));
    cautions.extend(found.driveline.driveline.propshaft.as_ref().map(|_| present::driveline::PROPSHAFT_CAUTION));
    let has_cases = found.forces.as_ref().is_some_and(|forces| !forces.cases.is_empty());
    cautions.extend(has_cases.then_some(present::forces::CAUTION));
    let cautions: Vec<String> = cautions.into_iter().map(str::to_owned).collect();
    Section { id: "cautions", title: "What is assumed, and who decides", body: list(&cautions) }
}

/// Words of this page in plainer ones; `told` is all that stands above.
pub(super) fn glossary(told: &[Section]) -> Option<Section> {
    let all: String = told.iter().map(|section| &*section.body).collect();
    let explained = present::glossary(&all);
    (!explained.is_empty()).then(|| Section { id: "words", title: "Words on this page", body: list(&explained) })
}
