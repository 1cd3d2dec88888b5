//! The shafts from the gearbox to the wheels, as far as the file has them.

use super::{Charts, Page, Section};
use crate::outputs::html::{Cell, figure, heading, number, paragraph, paragraphs, table, to_scale, words};
use crate::present::{SHAFT_TRAVEL, driveline as said, halfshaft, runs_out, words as shop};
use crate::studies::driveline::{Check, PropshaftFindings};

/// The driveline as it stands in the car, from above and from the side.
const SCALE_DRAWINGS: [&str; 2] = ["driveline-plan.svg", "driveline-side.svg"];

pub(super) fn section(page: &Page, charts: &Charts) -> Option<Section> {
    let found = &page.found.driveline.driveline;
    if found.is_empty() {
        return None;
    }
    let mut body = String::new();
    for (&side, wheel) in found.wheels.iter().filter(|(side, _)| page.sides.contains(side)) {
        let whose = page.whose(side);
        body += &heading(&format!("What runs out first, {whose}"));
        body += &paragraphs(wheel.runs_out.iter().flat_map(|found| runs_out::sentences(page.lengths, found)));
        body += &paragraphs(wheel.runs_out.as_ref().and_then(runs_out::typical).map(str::to_owned));
        body += &paragraphs(wheel.spring.iter().map(|found| runs_out::spring(page.lengths, found)));
        let Some(shaft) = &wheel.halfshaft else { continue };
        body += &heading(&format!("Halfshaft, {whose}, {}", SHAFT_TRAVEL));
        body += &paragraph(&halfshaft::head(page.lengths, shaft));
        body += &checks(page, &format!("Halfshaft, {whose}"), &shaft.checks);
        body += &paragraphs(halfshaft::sentences(page.lengths, shaft, page.geometry.is_finished()));
    }
    if let Some(placing) = &found.placing {
        body += &heading("Place of the final drive");
        body += &paragraphs(runs_out::placing(page.lengths, placing));
    }
    if let Some(shaft) = &found.propshaft {
        body += &propshaft(page, shaft);
    }
    // Those to scale last, for each is printed on a sheet of its own.
    let is_to_scale = |(name, _): &&(String, String)| SCALE_DRAWINGS.contains(&name.as_str());
    body += &charts.iter().filter(|chart| !is_to_scale(chart)).map(|(_, svg)| figure(svg)).collect::<String>();
    body += &charts.iter().filter(is_to_scale).map(|(_, svg)| to_scale(svg)).collect::<String>();
    Some(Section { id: "driveline", title: "Driveline", body })
}

fn propshaft(page: &Page, found: &PropshaftFindings) -> String {
    let title = said::propshaft_title(found);
    let mut body = heading(&title) + &paragraph(&said::joints(found));
    body += &checks(page, &title, &found.checks);
    body + &paragraphs(said::propshaft_sentences(page.lengths, found))
}

fn checks(page: &Page, title: &str, checks: &[Check]) -> String {
    let rows: Vec<Vec<Cell>> = checks
        .iter()
        .map(|check| {
            let star = if check.typical { "*" } else { "" };
            let limit = format!("{}{star}", said::limit(page.lengths, check));
            let verdict = Cell::Judged(check.state, said::verdict(page.lengths, check));
            vec![
                words(shop::sentence_start(&check.what)),
                number(said::value(page.lengths, check)),
                number(limit),
                verdict,
            ]
        })
        .collect();
    let typical = said::typical(checks).map(str::to_owned);
    table(title, &["", "value", "limit", "verdict"], &rows) + &paragraphs(typical)
}
