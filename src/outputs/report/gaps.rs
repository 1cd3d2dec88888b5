//! Gaps between the parts of each wheel, and its rod ends.

use super::curves::{OF_GAPS, figures};
use super::{Charts, Page, Section};
use crate::geometry::Side;
use crate::outputs::html::{Cell, number, paragraphs, table, words};
use crate::present::{self, rounded, trimmed, words as shop};
use crate::studies::{ClearanceFindings, RodEndTilt, State};

/// Pairs that are told beside those that are too near.
const PAIRS: usize = 10;

pub(super) fn section(page: &Page, charts: &Charts, narrow: &Charts) -> Section {
    let mut body = String::new();
    for &side in page.sides {
        let Some(toe) = page.found.sweep.car.heave.get(&side) else { continue };
        body += &gaps(page, side, &toe.clearance);
        if !toe.rod_ends.is_empty() {
            body += &rod_ends(page, side, &toe.rod_ends);
        }
    }
    body += &figures(charts, narrow, |name| OF_GAPS.contains(&name));
    Section { id: "gaps", title: "Gaps and rod ends", body }
}

fn gaps(page: &Page, side: Side, found: &ClearanceFindings) -> String {
    let lengths = page.lengths;
    let title = format!(
        "Nearest parts ({}), gap between their surfaces, at least {} {}",
        page.whose(side),
        lengths.limit(found.limit_mm),
        lengths.symbol()
    );
    let shown = found.pairs.iter().enumerate().filter(|(k, pair)| *k < PAIRS || pair.state == State::Fail);
    let rows: Vec<Vec<Cell>> = shown
        .map(|(_, pair)| {
            let place = shop::travel(lengths, pair.at_bump_mm);
            let verdict = Cell::Judged(pair.state, pair.state.words().to_owned());
            vec![words(&*pair.pair), number(lengths.number(pair.least_mm)), words(place), verdict]
        })
        .collect();
    let default_mm = found.limit_is_default.then_some(found.limit_mm);
    let said = present::assumed_sizes(lengths, &found.assumed, default_mm);
    table(&title, &["parts", lengths.symbol(), "where", "verdict"], &rows)
        + &paragraphs(said.into_iter().chain(present::without_body(&found.without_body)))
}

fn rod_ends(page: &Page, side: Side, ends: &[RodEndTilt]) -> String {
    let deg = |deg: Option<f64>| deg.map_or("-".to_owned(), |deg| rounded(deg, 2));
    let rows: Vec<Vec<Cell>> = ends
        .iter()
        .map(|end| {
            let place = end.at_bump_mm.map_or(String::new(), |mm| shop::travel(page.lengths, mm));
            let limit = deg(end.limit_deg);
            let verdict = Cell::Judged(end.state, end.state.words().to_owned());
            vec![words(end.name()), number(deg(end.worst_deg)), words(place), number(trimmed(&limit)), verdict]
        })
        .collect();
    let title = format!("Rod ends ({}), largest misalignment over the travel", page.whose(side));
    table(&title, &["rod end", "deg", "where", "limit, deg", "verdict"], &rows)
}
