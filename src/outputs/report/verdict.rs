//! Whether the car passes: the words that a reader needs first, then every limit with its margin.

use super::{Page, Section};
use crate::outputs::html::{Cell, list, number, paragraphs, table, words};
use crate::outputs::markup::escaped;
use crate::present::{self, LimitLine};
use crate::studies::State;

/// Above the contents: the verdict, in the fewest words.
pub(super) fn box_of(page: &Page) -> String {
    let found = page.found;
    let state = found.state();
    let class = match state {
        State::Pass => "pass",
        State::Fail => "fail",
        State::NotChecked => "open",
    };
    let said = present::report_verdict(page.lengths, found).into_iter().chain([present::PASS_MEANS.to_owned()]);
    let said = paragraphs(said);
    let reservations = escaped(&present::report_reservations(page.lengths, found));
    let state = escaped(state.words());
    format!(
        "<div class=\"verdict {class}\">\n<p class=\"head\"><strong>{state}</strong>{reservations}</p>\n{said}</div>\n"
    )
}

pub(super) fn section(page: &Page) -> Section {
    let car = &page.found.sweep.car;
    let lines = present::limit_lines(page.lengths, &car.limits, page.sides);
    let two_sided = page.sides.len() == 2;
    let head: &[&str] = if two_sided {
        &["", "verdict", "margin", "left", "right", "limit"]
    } else {
        &["", "verdict", "margin", "value", "limit"]
    };
    let of_wheels = lines.iter().filter(|line| !line.is_of_axle()).map(|line| row(page, line));
    let of_axle: Vec<Vec<Cell>> = lines.iter().filter(|line| line.is_of_axle()).map(|line| row(page, line)).collect();
    let mut rows: Vec<Vec<Cell>> = of_wheels.collect();
    if !of_axle.is_empty() {
        rows.push(vec![words("axle: both wheels together")]);
        rows.extend(of_axle);
    }
    let whose = if two_sided { "each wheel" } else { page.whose(page.sides[0]) };
    let mut body = table(&format!("Every limit, {whose}"), head, &rows);
    body += &paragraphs([
        "Margin: what there is to spare, in the unit of the line; beyond the limit it has a minus. Thin: to spare is less than a \
         tenth of the limit, or of half its band."
            .to_owned(),
        present::ROLL_CENTRE.to_owned(),
    ]);
    body += &paragraphs(has_taken_gap(page).then(|| present::LIMIT_TAKEN.to_owned()));
    body += &paragraphs(lines.iter().any(LimitLine::is_of_halfshaft).then(|| present::SHAFT_ROWS.to_owned()));
    body += &paragraphs(car.binds().next().map(|_| present::BIND_ROWS.to_owned()));
    let ends = car
        .heave
        .iter()
        .filter(|(side, _)| page.sides.contains(side))
        .filter_map(|(&side, toe)| present::rod_ends(page.lengths, two_sided.then_some(side), &toe.rod_ends));
    body += &paragraphs(ends);
    body += &look_again(page);
    Section { id: "limits", title: "Limits", body }
}

fn row(page: &Page, line: &LimitLine) -> Vec<Cell> {
    let name = format!("{}, {}", line.quantity.title(), line.unit());
    let thin = if line.is_thin() { ", thin" } else { "" };
    let at = line.fails_at().map_or(String::new(), |at| format!(" at {at}"));
    let verdict = Cell::Judged(line.state(), line.verdict_or_none() + &at + thin);
    let mut row = vec![words(name), verdict, number(line.margin_told())];
    let found = line.found();
    row.extend(match page.sides {
        [_, _] if line.is_of_axle() => found.into_iter().map(Cell::OfBoth).collect::<Vec<Cell>>(),
        _ => found.into_iter().map(number).collect(),
    });
    row.push(number(line.limit_told(has_taken_gap(page))));
    row
}

/// The file gives no least gap between parts.
fn has_taken_gap(page: &Page) -> bool {
    page.found.sweep.car.heave.values().any(|toe| toe.clearance.limit_is_default)
}

/// What the program doubts in the file.
fn look_again(page: &Page) -> String {
    let doubts = page.found.sweep.car.warnings.iter().map(|doubt| doubt.sentence.clone());
    let mistakes = page.source.set_aside.iter().map(|problem| format!("{problem}; {}", problem.advice));
    let all: Vec<String> = doubts.chain(mistakes).collect();
    if all.is_empty() { String::new() } else { format!("<h3>Look at these again</h3>\n{}", list(&all)) }
}
