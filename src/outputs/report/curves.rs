//! What the wheels do through bump, droop and roll: the toe curve in numbers, then every curve.

use super::{Charts, Page, Section};
use crate::geometry::Side;
use crate::measures::{Measure, Row};
use crate::outputs::html::{Cell, figure, figure_with_narrow, heading, number, paragraphs, table, words};
use crate::present::{self, LengthFormat, rounded};
use crate::studies::ToeFindings;

/// Charts that stand in a section of their own.
pub(super) const OF_GAPS: [&str; 2] = ["clearance.svg", "rod-ends.svg"];
/// Rows of the table: more are thinned.
const MAX_ROWS: usize = 25;

pub(super) fn section(page: &Page, charts: &Charts, narrow: &Charts) -> Section {
    let heave = &page.found.sweep.car.heave;
    let shown = page.sides.iter().filter_map(|side| Some((*side, heave.get(side)?)));
    let mut body: String = shown.map(|(side, toe)| toe_curve(page, side, toe)).collect();
    body += &figures(charts, narrow, |name| !OF_GAPS.contains(&name));
    body += &heading("The same in numbers, body level");
    body += &page.sides.iter().map(|&side| rows(page, side)).collect::<String>();
    let stops = page.found.sweep.car.roll.stops.iter();
    body += &paragraphs(stops.map(|stop| present::roll_stop(stop, page.geometry.travel.roll_deg)));
    Section { id: "curves", title: "Through bump, droop and roll", body }
}

/// Those charts, each with the one for a phone where there is one.
pub(super) fn figures(charts: &Charts, narrow: &Charts, is_shown: impl Fn(&str) -> bool) -> String {
    let of = |(name, svg): &(String, String)| match narrow.iter().find(|(of, _)| of == name) {
        Some((_, for_phone)) => figure_with_narrow(svg, for_phone),
        None => figure(svg),
    };
    charts.iter().filter(|(name, _)| is_shown(name)).map(of).collect()
}

fn toe_curve(page: &Page, side: Side, toe: &ToeFindings) -> String {
    let lengths = page.lengths;
    let over = lengths.with_unit(toe.over_span.span_mm);
    let title = format!("Toe per wheel ({}), also as a length over {over}", page.whose(side));
    let cells = |(what, deg, mm, note)| vec![words(what), number(deg), number(mm), words(note)];
    let rows: Vec<Vec<Cell>> = present::toe_lines(lengths, toe).into_iter().map(cells).collect();
    let said = toe.tape_band.as_ref().map(|band| present::tape_band(lengths, band));
    let said = said.into_iter().chain(toe.cure.as_ref().map(|cure| present::cure(lengths, cure)));
    table(&title, &["", "deg", lengths.symbol(), ""], &rows) + &paragraphs(said)
}

/// So many rows of bump and droop that they can be read at the car.
fn rows(page: &Page, side: Side) -> String {
    let all: Vec<&Row> = page.found.sweep.car.judged.heave.rows.of(side).collect();
    let design = all.iter().position(|row| row.bump_mm == 0.0).unwrap_or(0);
    let every = all.len().div_ceil(MAX_ROWS).max(1);
    let is_shown = |k: usize| k.abs_diff(design).is_multiple_of(every) || k == 0 || k + 1 == all.len();
    let shown = all.iter().enumerate().filter(|(k, _)| is_shown(*k)).map(|(_, row)| row);
    let rows: Vec<Vec<Cell>> = shown.map(|row| cells(page.lengths, row)).collect();
    let unit = page.lengths.symbol();
    let with_unit = |name: &str| format!("{name}, {unit}");
    let head = [
        with_unit("bump (droop negative)"),
        "toe, deg".to_owned(),
        "camber, deg".to_owned(),
        with_unit("scrub"),
        with_unit("recession (wheel moves back)"),
        with_unit("roll-centre height"),
        with_unit("halfshaft plunge"),
    ];
    table(&format!("{}, per wheel", page.whose(side)), &head.each_ref().map(String::as_str), &rows)
}

fn cells(lengths: LengthFormat, row: &Row) -> Vec<Cell> {
    let shown = |text: Option<String>| number(text.unwrap_or_else(|| "-".to_owned()));
    let deg = |measure: Measure, decimals| shown(measure.of(row).map(|deg| rounded(deg, decimals)));
    let mm = |measure: Measure| shown(measure.of(row).map(|mm| lengths.number(mm)));
    let lengths = [Measure::Scrub, Measure::Recession, Measure::RollCentreHeight, Measure::Plunge].map(mm);
    [mm(Measure::Bump), deg(Measure::Toe, 3), deg(Measure::Camber, 2)].into_iter().chain(lengths).collect()
}
