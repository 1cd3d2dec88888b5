//! The forces along every part in all cases, a row a part.

use super::ChartSource;
use super::caption::Caption;
use super::context::Subject;
use super::frame::CHART;
use super::labels::{Area, broken};
use super::scale::{Scale, short};
use super::sheet::{Anchor, PenError, Sheet, TextStyle};
use super::stroke::Stroke;
use crate::geometry::Side;
use crate::present::forces::{CAUTION, COMMON_PRACTICE, cases};
use crate::present::words;
use crate::studies::forces::ForcesFindings;

/// Rows stand between these, the names of the parts to their left.
const ROWS: Area = Area { left: 210.0, top: 12.0, right: 862.0, bottom: 462.0 };
const BAR_GREY: u8 = 214;

/// One part of one wheel, or of both wheels of a mirrored car, with its force in every case and position, kN.
struct Row {
    name: String,
    forces_kn: Vec<f64>,
}

pub fn forces(found: &ForcesFindings, source: ChartSource) -> Result<String, PenError> {
    let caption = Caption {
        title: "Force along each part in all load cases",
        verdict: if found.common_practice { COMMON_PRACTICE.to_owned() } else { String::new() },
        notes: vec![cases(found), CAUTION.to_owned()],
    };
    caption.sheet(&Subject::new(found.geometry, source), CHART, |sheet| rows_on(sheet, &rows(found)))
}

fn rows(found: &ForcesFindings) -> Vec<Row> {
    let of_wheels = |wheels: &[Side]| {
        let corner = wheels.first().map(|&side| found.geometry.corner(side));
        let names = corner.into_iter().flat_map(|corner| corner.links.iter().map(|link| link.name.as_str()));
        let whose = match (found.geometry.mirrored, wheels) {
            (false, [side]) if found.sides.len() > 1 => format!(", {}", words::wheel(false, *side)),
            _ => String::new(),
        };
        let row = |(part, name): (usize, &str)| Row {
            name: format!("{name}{whose}"),
            forces_kn: forces_n(found, wheels, part).map(|n| n / 1000.0).collect(),
        };
        names.chain(["spring"]).enumerate().map(row).collect::<Vec<_>>()
    };
    found.extremes.iter().flat_map(|group| of_wheels(&group.wheels)).collect()
}

/// Along a part, the links first, then the spring; both parts of a link that carries the spring.
fn forces_n<'f>(found: &'f ForcesFindings, wheels: &'f [Side], part: usize) -> impl Iterator<Item = f64> + 'f {
    let of_wheels = found.all().filter(|(_, side, _)| wheels.contains(side));
    of_wheels.flat_map(move |(_, _, at)| at.links.get(part).map_or([at.spring_n; 2], |link| link.axial()))
}

fn rows_on(sheet: &Sheet, rows: &[Row]) -> Result<(), PenError> {
    let Area { left, top, right, bottom } = ROWS;
    let values = rows.iter().flat_map(|row| row.forces_kn.iter().copied()).chain([0.0]);
    // Room for the numbers beside the bars.
    let plain = Scale::covering(values, 1.0, 11.0);
    let room = 0.08 * (plain.high - plain.low);
    let across = Scale::covering([plain.low - room, plain.high + room], 1.0, 11.0);
    let x = |kn: f64| left + across.share(kn) * ROWS.width();
    for &tick in &across.ticks {
        sheet.line(&[(x(tick), top), (x(tick), bottom)], Stroke::GRID)?;
        sheet.words(&across.label(tick), (x(tick), bottom + 16.0), TextStyle::PLAIN.anchored(Anchor::Middle))?;
    }
    sheet.line(&[(x(0.0), top), (x(0.0), bottom)], Stroke::BASELINE)?;
    let corners = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)];
    sheet.line(&corners, Stroke::THIN)?;
    let title = "force along the part, kN (pull positive, push negative)";
    sheet.words(title, (ROWS.middle().0, bottom + 39.0), TextStyle::PLAIN.anchored(Anchor::Middle))?;
    let pitch = ROWS.height() / rows.len().max(1) as f64;
    for (k, row) in rows.iter().enumerate() {
        let y = top + pitch * (k as f64 + 0.5);
        let name = broken(&row.name, 28, 1);
        let letters = TextStyle::PLAIN.bold().anchored(Anchor::End);
        sheet.words(name.first().map_or("", |line| line), (left - 9.0, y), letters)?;
        let half = (0.3 * pitch).min(11.0);
        let low = row.forces_kn.iter().copied().fold(0.0, f64::min);
        let high = row.forces_kn.iter().copied().fold(0.0, f64::max);
        let bar = [(x(low), y - half), (x(high), y - half), (x(high), y + half), (x(low), y + half)];
        sheet.region(&bar, BAR_GREY)?;
        row.forces_kn.iter().try_for_each(|&kn| sheet.line(&[(x(kn), y - half), (x(kn), y + half)], Stroke::THIN))?;
        let beside =
            |kn: f64, anchor, off| sheet.words(&short(kn, 1), (x(kn) + off, y), TextStyle::PLAIN.anchored(anchor));
        if low < 0.0 {
            beside(low, Anchor::End, -6.0)?;
        }
        if high > 0.0 {
            beside(high, Anchor::Start, 6.0)?;
        }
    }
    Ok(())
}
