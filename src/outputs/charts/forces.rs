//! The forces along every part in all cases, and toe under every unit of load: a row each.

use super::ChartSource;
use super::caption::Caption;
use super::context::Subject;
use super::frame::CHART;
use super::labels::{Area, broken};
use super::scale::{Scale, short};
use super::sheet::{Anchor, PenError, Sheet, TextStyle};
use super::stroke::Stroke;
use crate::geometry::Side;
use crate::present::forces::{CAUTION, COMMON_PRACTICE, cases, unit_load};
use crate::present::words;
use crate::studies::forces::{ForcesFindings, Held, Part, UnitResponse};

/// Rows stand between these, the names of the parts to their left.
const ROWS: Area = Area { left: 210.0, top: 12.0, right: 862.0, bottom: 462.0 };
const BAR_GREY: u8 = 214;

/// What comes up of one thing: the force in one part in every case and position, or toe under one load.
struct Row {
    name: String,
    values: Vec<f64>,
}

/// What the values of all rows are.
struct Axis {
    title: &'static str,
    /// It shows at least this much.
    least: f64,
    decimals: usize,
}

pub fn forces(found: &ForcesFindings, source: ChartSource) -> Result<String, PenError> {
    caption(found, "Force along each part in all load cases").sheet(
        &Subject::new(found.geometry, source),
        CHART,
        |sheet| {
            let title = "force along the part, kN (pull positive, push negative)";
            rows_on(sheet, &rows(found), &Axis { title, least: 1.0, decimals: 1 })
        },
    )
}

/// Toe under one unit of every load at design height, with the height of the wheel held and, on a spring with a rate, free.
pub fn compliance(found: &ForcesFindings, source: ChartSource) -> Result<String, PenError> {
    caption(found, "Toe under one unit of load at design height").sheet(
        &Subject::new(found.geometry, source),
        CHART,
        |sheet| {
            let title =
                "change of toe, deg per wheel (toe-in positive), the height of the wheel held, or free on its spring";
            rows_on(sheet, &toe_rows(found), &Axis { title, least: 0.01, decimals: 3 })
        },
    )
}

/// What stands round each chart of forces: what the cases are, and the caution.
pub fn caption<'c>(found: &ForcesFindings, title: &'c str) -> Caption<'c> {
    Caption {
        title,
        verdict: if found.common_practice { COMMON_PRACTICE.to_owned() } else { String::new() },
        notes: vec![cases(found), CAUTION.to_owned()],
    }
}

fn toe_rows(found: &ForcesFindings) -> Vec<Row> {
    let wheels = found.compliance.iter().filter(|wheel| wheel.bump_mm == 0.0);
    let several = !found.geometry.looks_alike() && found.sides.len() > 1;
    let row = |side: Side, response: &UnitResponse| {
        let whose = if several { format!(", {}", side.name()) } else { String::new() };
        let held = if response.held == Held::WheelTravel { "" } else { ", free" };
        Row { name: format!("{}{held}{whose}", unit_load(response.load)), values: vec![response.deflection.toe_deg] }
    };
    let shown = wheels.take(if several { 2 } else { 1 });
    shown.flat_map(|wheel| wheel.responses.iter().map(move |response| row(wheel.side, response))).collect()
}

fn rows(found: &ForcesFindings) -> Vec<Row> {
    let of_wheels = |wheels: &[Side]| {
        let corner = wheels.first().map(|&side| found.geometry.corner(side));
        let parts = corner.into_iter().flat_map(|corner| Part::all(corner).map(|part| (part, part.name(corner))));
        let whose = match (found.geometry.looks_alike(), wheels) {
            (false, [side]) if found.sides.len() > 1 => format!(", {}", words::wheel(false, *side)),
            _ => String::new(),
        };
        let row = |(part, name): (Part, &str)| Row {
            name: format!("{name}{whose}"),
            values: forces_n(found, wheels, part).map(|n| n / 1000.0).collect(),
        };
        parts.map(row).collect::<Vec<_>>()
    };
    found.extremes.iter().flat_map(|group| of_wheels(&group.wheels)).collect()
}

/// Along a part; both halves of a link that carries the spring.
fn forces_n<'f>(found: &'f ForcesFindings, wheels: &'f [Side], part: Part) -> impl Iterator<Item = f64> + 'f {
    let of_wheels = found.all().filter(|(_, side, _)| wheels.contains(side));
    of_wheels.flat_map(move |(_, _, at)| at.of_part(part).axial())
}

fn rows_on(sheet: &Sheet, rows: &[Row], axis: &Axis) -> Result<(), PenError> {
    let Area { left, top, right, bottom } = ROWS;
    let values = rows.iter().flat_map(|row| row.values.iter().copied()).chain([0.0]);
    // Room for the numbers beside the bars.
    let plain = Scale::covering(values, axis.least, 11.0);
    let room = 0.08 * (plain.high - plain.low);
    let across = Scale::covering([plain.low - room, plain.high + room], axis.least, 11.0);
    let x = |kn: f64| left + across.share(kn) * ROWS.width();
    for &tick in &across.ticks {
        sheet.line(&[(x(tick), top), (x(tick), bottom)], Stroke::GRID)?;
        sheet.words(&across.label(tick), (x(tick), bottom + 16.0), TextStyle::PLAIN.anchored(Anchor::Middle))?;
    }
    sheet.line(&[(x(0.0), top), (x(0.0), bottom)], Stroke::BASELINE)?;
    let corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)];
    sheet.line(&corners, Stroke::THIN)?;
    sheet.words(axis.title, (ROWS.middle().0, bottom + 39.0), TextStyle::PLAIN.anchored(Anchor::Middle))?;
    let pitch = ROWS.height() / rows.len().max(1) as f64;
    for (k, row) in rows.iter().enumerate() {
        let y = top + pitch * (k as f64 + 0.5);
        let name = broken(&row.name, 31, 1);
        let letters = TextStyle::PLAIN.bold().anchored(Anchor::End);
        sheet.words(name.first().map_or("", |line| line), (left - 9.0, y), letters)?;
        let half = (0.3 * pitch).min(11.0);
        let low = row.values.iter().copied().fold(0.0, f64::min);
        let high = row.values.iter().copied().fold(0.0, f64::max);
        let bar = [(x(low), y - half), (x(high), y - half), (x(high), y + half), (x(low), y + half)];
        sheet.region(&bar, BAR_GREY)?;
        row.values.iter().try_for_each(|&kn| sheet.line(&[(x(kn), y - half), (x(kn), y + half)], Stroke::THIN))?;
        let beside = |kn: f64, anchor, off| {
            sheet.words(&short(kn, axis.decimals), (x(kn) + off, y), TextStyle::PLAIN.anchored(anchor))
        };
        if low < 0.0 {
            beside(low, Anchor::End, -6.0)?;
        }
        if high > 0.0 {
            beside(high, Anchor::Start, 6.0)?;
        }
    }
    Ok(())
}
