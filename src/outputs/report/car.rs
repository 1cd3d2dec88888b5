//! The car as a picture, and its points and lengths to hold a tape to.

use nalgebra::Point3;

use super::{Charts, Page, Section};
use crate::geometry::{CornerPoint, Side};
use crate::outputs::html::{Cell, beside, number, paragraph, table, to_scale, words};
use crate::present::rounded;
use crate::studies::Inspection;

pub(super) fn section(page: &Page, views: &Charts) -> Section {
    let check = &page.found.check;
    let travel = &page.geometry.travel;
    let lengths = page.lengths;
    let right = if check.mirrored { "The right side mirrors the left." } else { "The right side has its own points." };
    let mut body = paragraph(&format!(
        "Track {}; moved {} in bump, {} in droop and {} deg in roll. {right}",
        lengths.with_unit(check.track_mm),
        lengths.with_unit(travel.bump_mm),
        lengths.with_unit(travel.droop_mm),
        travel.roll_deg
    ));
    body += &paragraph("Points: x forward, y left from the middle of the car, z up from the datum of the file.");
    let points: String = page.sides.iter().map(|&side| points(page, side)).collect();
    body += &beside(&(wheels(page) + &points));
    // Last, for each is printed on a sheet of its own.
    body += &views.iter().map(|(_, svg)| to_scale(svg)).collect::<String>();
    Section { id: "car", title: "The car", body }
}

/// Toe, camber and link lengths, one column a wheel.
fn wheels(page: &Page) -> String {
    let lengths = page.lengths;
    let shown: Vec<&Inspection> = page.sides.iter().map(|&side| &page.found.check.wheels[side]).collect();
    let mut rows = vec![
        line("toe per wheel, deg", shown.iter().map(|of| rounded(of.toe_deg, 2))),
        line("camber, deg", shown.iter().map(|of| rounded(of.camber_deg, 2))),
    ];
    let shafts: Vec<String> = shown.iter().filter_map(|of| of.halfshaft_mm).map(|mm| lengths.number(mm)).collect();
    if shafts.len() == shown.len() {
        rows.push(line(&format!("halfshaft, joint to joint, {}", lengths.symbol()), shafts.into_iter()));
    }
    let links = shown.first().map_or(0, |first| first.links.len());
    for k in 0..links {
        let lengths_mm =
            shown.iter().map(|of| of.links[k].eye_to_eye_mm.map_or("-".to_owned(), |mm| lengths.number(mm)));
        let names: Vec<&str> = shown.iter().map(|of| of.links[k].name.as_str()).collect();
        let name = match names[..] {
            [left, right] if left != right => format!("{left} (left), {right} (right)"),
            [first, ..] => first.to_owned(),
            [] => String::new(),
        };
        rows.push(line(&format!("{name}, eye to eye, {}", lengths.symbol()), lengths_mm));
    }
    let head: Vec<&str> = std::iter::once("").chain(page.sides.iter().map(|&side| page.whose(side))).collect();
    table("Wheels and links at design height", &head, &rows)
}

fn line(name: &str, values: impl Iterator<Item = String>) -> Vec<Cell> {
    std::iter::once(words(name)).chain(values.map(number)).collect()
}

fn points(page: &Page, side: Side) -> String {
    let corner = page.geometry.corner(side);
    let row = |(point, place): (CornerPoint, Point3<f64>)| {
        let at = side.to_car(place);
        let numbers = [at.x, at.y, at.z].map(|mm| number(page.lengths.number(mm)));
        std::iter::once(words(corner.name_of(point))).chain(numbers).collect()
    };
    let rows: Vec<Vec<Cell>> = corner.points().into_iter().map(row).collect();
    let title = format!("Points of the {} side at design height, {}", side.name(), page.lengths.symbol());
    table(&title, &["point", "x", "y", "z"], &rows)
}
