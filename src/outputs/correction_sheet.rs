//! The sheet to take to the car: what to change, in which order, and what to read afterwards.

use std::fmt::{Result, Write};

use super::file_list::file_and_hash;
use super::markup::escaped;
use super::measuring_sheet::STYLE;
use crate::geometry::{Corner, Geometry, Side};
use crate::present::correct::{self, CORRECT_CAUTION};
use crate::present::words::sentence_start;
use crate::present::{LengthFormat, rounded};
use crate::studies::correct::{Advice, CorrectFindings, WheelCorrection};

/// Both wheels on one page.
const DENSE: &str = "\
body { font-size: 10pt; margin: 6mm; }
h1 { font-size: 15pt; margin: 0 0 2mm; }
table { margin-bottom: 3mm; }
td, th { padding: 0.7mm 2mm; }
td.fill { width: 24mm; }
td.number { white-space: nowrap; }
.wide { overflow-x: auto; }
p, h2 { margin: 2mm 0; }";

/// An HTML page to print, what to do in working order; the file of the drawing with its hash, and the name of the readings with their
/// round.
///
/// Tested by `tests/cli/correct.rs`.
pub fn correction_sheet(
    found: &CorrectFindings,
    car: &Geometry,
    sides: &[Side],
    (file, input_sha256): (&str, &str),
    (readings, round): (&str, usize),
) -> String {
    let mut page = String::new();
    // Writing to a string cannot fail.
    let _ = write_page(&mut page, found, car, sides, (readings, round));
    let _ = writeln!(page, "<p>{}</p>\n</html>", escaped(&file_and_hash(file, input_sha256)));
    page
}

fn write_page(
    out: &mut String,
    found: &CorrectFindings,
    car: &Geometry,
    sides: &[Side],
    (readings, round): (&str, usize),
) -> Result {
    let name = escaped(&format!("{}: correction, round {round}", found.name));
    writeln!(out, "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">")?;
    writeln!(out, "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{name}</title>")?;
    writeln!(out, "<style>\n{STYLE}\n{DENSE}\n</style>\n<h1>{name}</h1>")?;
    writeln!(out, "<p>By the readings of {}. Date: ____________ Who: ____________</p>", escaped(readings))?;
    for &side in sides {
        writeln!(out, "<h2>{}</h2>", side_title(side))?;
        match &found.wheels[side] {
            Ok(wheel) => write_wheel(out, wheel, car.corner(side), LengthFormat(car.units))?,
            Err(why) => writeln!(out, "<p>No correction: {}; {}.</p>", escaped(&why.to_string()), why.advice())?,
        }
    }
    let lengths = LengthFormat(car.units);
    let broken = found.limits_broken.iter().filter(|broken| broken.is_of(sides));
    let broken = broken.map(|broken| correct::limit_broken(lengths, broken));
    for told in broken.chain(correct::left_out_for(lengths, &found.left_out_for)) {
        writeln!(out, "<p>{}.</p>", escaped(&sentence_start(&told)))?;
    }
    write_curves(out, found, sides, lengths)?;
    writeln!(
        out,
        "<p>☐ Gauge both wheels again at these heights, going up and coming down.<br>\n☐ Where you did otherwise than this sheet \
         says, write into rounds.toml what you did.<br>\n☐ hubtrace correct FILE READINGS --rounds rounds.toml --out NEXT</p>"
    )?;
    writeln!(out, "<p>{CORRECT_CAUTION}</p>")
}

fn side_title(side: Side) -> &'static str {
    match side {
        Side::Left => "Left wheel",
        Side::Right => "Right wheel",
    }
}

fn write_wheel(out: &mut String, wheel: &WheelCorrection, corner: &Corner, lengths: LengthFormat) -> Result {
    let deg = |deg: f64| rounded(deg, 3);
    let worst = &wheel.worst_bump_steer_deg;
    writeln!(out, "<p>Worst bump steer now {} deg; 95 of 100 below {} deg.</p>", deg(worst.now), deg(worst.now_p95))?;
    if let Some(mirrored) = &wheel.mirrored_toe {
        writeln!(out, "<p>☐ First: {}.</p>", escaped(&correct::mirrored_toe(mirrored)))?;
    }
    let first = correct::first_of_all(lengths, wheel);
    if let Some(first) = &first {
        writeln!(out, "<p>☐ First: {first}.</p>")?;
    }
    match correct::advice(wheel) {
        Some(_) if first.is_some() => return Ok(()),
        Some(advice) => writeln!(out, "<p>☐ {}.</p>", escaped(&sentence_start(advice)))?,
        None => {
            if wheel.advice == Advice::Optional {
                writeln!(out, "<p>{}.</p>", sentence_start(correct::changes_head(wheel)))?;
            }
            write_changes(out, wheel, corner, lengths)?;
        }
    }
    match correct::adjusters_assumed(lengths, wheel) {
        Some(assumed) => writeln!(out, "<p>{}.</p>", escaped(&sentence_start(&assumed))),
        None => Ok(()),
    }
}

/// The curves to expect, with room for what is read then.
fn write_curves(out: &mut String, found: &CorrectFindings, sides: &[Side], lengths: LengthFormat) -> Result {
    let corrected: Vec<(Side, &WheelCorrection)> =
        sides.iter().filter_map(|&side| Some((side, found.wheels[side].as_ref().ok()?))).collect();
    let heights = corrected.first().map_or(&[][..], |(_, wheel)| wheel.to_gauge.as_slice());
    writeln!(
        out,
        "<h2>Change of toe to expect afterwards, deg per wheel</h2>\n<div class=\"wide\">\n<table>\n<tr><th>bump, {}",
        lengths.symbol()
    )?;
    for (side, _) in &corrected {
        writeln!(out, "<th>{}<th>19 of 20<th>read", side.name())?;
    }
    writeln!(out, "</tr>")?;
    for (row, height) in heights.iter().enumerate() {
        write!(out, "<tr><td class=\"number\">{}", lengths.number(height.bump_mm))?;
        for band in corrected.iter().filter_map(|(_, wheel)| wheel.to_gauge.get(row)) {
            let [expected, low, high] = [band.toe_change_deg, band.low_deg, band.high_deg].map(|deg| rounded(deg, 3));
            write!(out, "<td class=\"number\">{expected}<td>{low} to {high}<td class=\"fill\">")?;
        }
        writeln!(out, "</tr>")?;
    }
    writeln!(out, "</table>\n</div>")
}

fn write_changes(out: &mut String, wheel: &WheelCorrection, corner: &Corner, lengths: LengthFormat) -> Result {
    let deg = |deg: f64| rounded(deg, 3);
    writeln!(
        out,
        "<div class=\"wide\">\n<table>\n<tr><th>done<th>where<th>what<th>in all<th>worst, deg<th>did otherwise</tr>"
    )?;
    for (index, change) in wheel.changes.iter().enumerate() {
        writeln!(
            out,
            "<tr><td>☐ {}<td>{}<td>{}<td class=\"number\">{}<td class=\"number\">{}<td class=\"fill\"></tr>",
            index + 1,
            escaped(&correct::place(corner, change)),
            escaped(&correct::what_to_do(lengths, change)),
            correct::in_all(lengths, change),
            deg(change.expected_deg)
        )?;
    }
    writeln!(out, "<tr><td>☐<td colspan=\"5\">{}</tr>\n</table>\n</div>", escaped(&correct::set_toe(wheel)))?;
    let told = [correct::camber(wheel), correct::wheel_moves(lengths, wheel)];
    for told in correct::together(wheel).into_iter().chain(told.into_iter().flatten()) {
        writeln!(out, "<p>{}.</p>", sentence_start(&told))?;
    }
    writeln!(
        out,
        "<p>In all: counted from the stack and the length as drawn. Afterwards 95 of 100 below {} deg.</p>",
        deg(wheel.worst_bump_steer_deg.expected_p95)
    )
}
