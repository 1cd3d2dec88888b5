//! What each link, the spring and each bracket of the frame carry.

use super::{Charts, Page, Section};
use crate::outputs::frame_tubes::tube_forms;
use crate::outputs::html::{Cell, figure, number, paragraph, paragraphs, table, words};
use crate::present::forces::{self, ComplianceLine, newtons};
use crate::studies::State;
use crate::studies::forces::{
    BracketExtreme, Extreme, ForcesFindings, Margin, PartExtremes, WheelCompliance, WheelExtremes, WheelMargins,
};

/// Nothing of a car without load cases; why stands in the section of what was not checked.
pub(super) fn section(page: &Page, charts: &Charts) -> Option<Section> {
    let found = page.found.forces.as_ref().filter(|found| !found.cases.is_empty())?;
    let mut body = String::new();
    if found.common_practice {
        body += &paragraph(forces::COMMON_PRACTICE);
    }
    body += &paragraph(&forces::cases(found));
    body += &paragraph(forces::EVERY_HEIGHT);
    body += &found.extremes.iter().map(|wheels| parts(page, found, wheels)).collect::<String>();
    body += &found.extremes.iter().map(|wheels| brackets(page, found, wheels)).collect::<String>();
    body += &paragraphs(forces::strap(page.lengths, found));
    body += &found.margins.iter().map(|wheels| reserves(page, found, wheels)).collect::<String>();
    body += &paragraphs(forces::rating_divisor(found).into_iter().chain(forces::weaker_than_ranked(found)));
    body += &compliance(page, found);
    let mounts = found.mounts.as_ref().map(|mounts| forces::mounts(page.lengths, mounts));
    body += &paragraphs(forces::brackets_on_tubes(page.lengths, found));
    body += &tube_forms(page.lengths, found);
    body += &paragraphs(mounts.into_iter().chain(forces::masses(&found.masses)));
    body += &paragraphs(forces::part_cautions(found));
    body += &charts.iter().map(|(_, svg)| figure(svg)).collect::<String>();
    body += &paragraph(forces::CAUTION);
    Some(Section { id: "forces", title: "Forces", body })
}

fn parts(page: &Page, found: &ForcesFindings, of: &WheelExtremes) -> String {
    let one = of.wheels.len() == 1;
    let half = |extreme: &Option<Extreme>| match extreme {
        Some(extreme) => [number(newtons(extreme.force_n)), words(forces::place(found, extreme, one))],
        None => [number("-"), words("")],
    };
    let row = |part: &PartExtremes| -> Vec<Cell> {
        let name = words(&*part.part);
        std::iter::once(name).chain(half(&part.pull)).chain(half(&part.push)).collect()
    };
    let rows: Vec<Vec<Cell>> = of.parts.iter().map(row).collect();
    let title = format!("Largest force along each part ({}), N, pull positive", page.whose(of.wheels[0]));
    table(&title, &["part", "pull", "in case", "push", "in case"], &rows)
}

fn brackets(page: &Page, found: &ForcesFindings, of: &WheelExtremes) -> String {
    let one = of.wheels.len() == 1;
    let row = |bracket: &BracketExtreme| -> Vec<Cell> {
        let axes = bracket.force_xyz_n.map(|n| number(newtons(n)));
        let size = [words(&*bracket.bracket), number(newtons(bracket.largest.force_n))];
        let place = words(forces::place(found, &bracket.largest, one));
        size.into_iter().chain(axes).chain([place]).collect()
    };
    let rows: Vec<Vec<Cell>> = of.brackets.iter().map(row).collect();
    let whose = page.whose(of.wheels[0]);
    let title = format!("Largest force on the frame at each bracket ({whose}), N, axes of the car");
    table(&title, &["bracket", "size", "x", "y", "z", "in case"], &rows)
}

/// Every check of every part, what breaks first at the head.
fn reserves(page: &Page, found: &ForcesFindings, of: &WheelMargins) -> String {
    if of.ranked.is_empty() {
        return String::new();
    }
    let one = of.wheels.len() == 1;
    let row = |margin: &Margin| -> Vec<Cell> {
        let state = if margin.reserve < 1.0 { State::Fail } else { State::Pass };
        let said = Some(forces::reserve_verdict(margin)).filter(|said| !said.is_empty()).unwrap_or("pass");
        let verdict = Cell::Judged(state, said.to_owned());
        let name = [
            words(&*margin.part),
            words(forces::check(margin.check)),
            number(forces::reserve(margin.reserve)),
            verdict,
        ];
        let load = number(margin.load_n.map_or("-".to_owned(), newtons));
        name.into_iter().chain([load, words(forces::margin_place(found, margin, one))]).collect()
    };
    let rows: Vec<Vec<Cell>> = of.ranked.iter().filter(|margin| !margin.is_long_enough()).map(row).collect();
    let title = forces::breaks_first_title(page.whose(of.wheels[0]));
    let ranked = table(&title, &["part", "what of it", "reserve", "verdict", "N", "in case"], &rows);
    ranked + &paragraphs(forces::long_enough(&of.ranked))
}

/// What one unit of load does at design height, the wheel held at its height, then free.
fn compliance(page: &Page, found: &ForcesFindings) -> String {
    let shown = found.compliance.iter().filter(|wheel| wheel.bump_mm == 0.0 && page.sides.contains(&wheel.side));
    let one = |wheel: &WheelCompliance| {
        let row = |line: &ComplianceLine| -> Vec<Cell> {
            let numbers = line.held.iter().chain([&line.free_toe]).map(|text| number(&**text));
            std::iter::once(words(line.load)).chain(numbers).collect()
        };
        let rows: Vec<Vec<Cell>> = forces::compliance(page.lengths, wheel).iter().map(row).collect();
        let title = forces::compliance_title(page.whose(wheel.side));
        let tyre = format!("tyre, {}", page.lengths.symbol());
        table(&title, &["load", "toe, deg", "camber, deg", &tyre, "toe, wheel free to rise and fall, deg"], &rows)
    };
    let tables: String = shown.map(one).collect();
    if tables.is_empty() { tables } else { tables + &paragraph(forces::COMPLIANCE_NOTE) }
}
