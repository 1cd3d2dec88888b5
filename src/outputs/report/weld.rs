//! What the welds will do: the chance of a car and of a wheel, and the way to a better one.

use super::{Charts, Page, Section};
use crate::outputs::html::{Cell, figure, heading, lead, list, number, paragraph, paragraphs, table, words};
use crate::present::{self, weld_study, words as shop};
use crate::studies::NotForetold;
use crate::studies::tolerance::{JigBudget, Spread, ToleranceFindings};

pub(super) fn section(page: &Page, charts: &Charts) -> Section {
    let body = match &page.found.weld {
        Ok(study) => welded(page, study, charts),
        Err(why @ (NotForetold::Built | NotForetold::Planned)) => {
            paragraph(&format!("{}.", shop::sentence_start(&why.to_string())))
        }
        Err(why) => paragraph(&format!("Not checked: {why}.")),
    };
    Section { id: "welded", title: "Once it is welded", body }
}

fn welded(page: &Page, found: &ToleranceFindings, charts: &Charts) -> String {
    let (study, lengths) = (&found.study, page.lengths);
    let cars = weld_study::cars(lengths, study.cars, &found.request.errors, page.geometry);
    let finish = weld_study::finish(&study.finish, shop::stage(page.geometry));
    let mut said = paragraph(&format!("Built in the computer: {cars}, {finish}, seed {}.", study.seed));
    said += &paragraphs(weld_study::conclusions(lengths, found, false));
    said += &paragraphs(weld_study::wheel_chance(study, page.sides, page.mirrored));
    let mut body = lead(&said);
    body += &spreads(page, &study.spreads);
    if let Some(budget) = &found.jigs {
        body += &jigs(page, found, budget);
    }
    body + &charts.iter().map(|(_, svg)| figure(svg)).collect::<String>()
}

fn spreads(page: &Page, spreads: &[Spread]) -> String {
    let shown = || spreads.iter().filter(|spread| weld_study::has_a_line(spread));
    let cells = |spread: &Spread| -> Vec<Cell> {
        let [name, unit, numbers @ ..] = weld_study::cells(page.lengths, spread);
        [words(name), words(unit)].into_iter().chain(numbers.map(number)).collect()
    };
    let mut rows = Vec::new();
    for &side in page.sides {
        rows.push(vec![words(present::words::sentence_start(page.whose(side)) + ", chance for one wheel")]);
        rows.extend(shown().filter(|spread| spread.side == Some(side)).map(cells));
    }
    let axle: Vec<Vec<Cell>> = shown().filter(|spread| spread.side.is_none()).map(cells).collect();
    if !axle.is_empty() {
        rows.push(vec![words("Axle, chance for a car")]);
        rows.extend(axle);
    }
    let head = ["", "unit", "as in the file", "5 of 10 below", "9 of 10 below", "99 % below", "limit", "chance"];
    table("How the built wheels spread", &head, &rows)
}

fn jigs(page: &Page, found: &ToleranceFindings, budget: &JigBudget) -> String {
    let corner = &page.geometry.left;
    let sets: Vec<String> = budget.few.iter().map(|set| weld_study::jig_set(set, corner)).collect();
    heading("What to hold in a jig")
        + &paragraph(&weld_study::jigs_head(page.lengths, budget, &found.study))
        + &list(&sets)
        + &paragraph(&weld_study::jigs_enough(budget, page.geometry))
}
