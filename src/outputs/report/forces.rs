//! What each link, the spring and each bracket of the frame carry.

use super::{Charts, Page, Section};
use crate::outputs::html::{Cell, figure, number, paragraph, table, words};
use crate::present::forces::{self, newtons};
use crate::studies::forces::{BracketExtreme, Extreme, ForcesFindings, PartExtremes, WheelExtremes};

/// Nothing of a car without load cases; why stands in the section of what was not checked.
pub(super) fn section(page: &Page, charts: &Charts) -> Option<Section> {
    let found = page.found.forces.as_ref().filter(|found| !found.cases.is_empty())?;
    let mut body = String::new();
    if found.common_practice {
        body += &paragraph(forces::COMMON_PRACTICE);
    }
    body += &paragraph(&forces::cases(found));
    body += &found.extremes.iter().map(|wheels| parts(page, found, wheels)).collect::<String>();
    body += &found.extremes.iter().map(|wheels| brackets(page, found, wheels)).collect::<String>();
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
