//! The measuring sheet: a survey that is still to be taken, on paper.

use std::fmt::Write;

use super::markup::escaped;
use crate::survey::{SurveyTemplate, ToTake, ToTakeOfKind};

/// The look of a sheet that is printed and filled in.
pub(super) const STYLE: &str = "\
body { font: 11pt sans-serif; margin: 12mm; }
table { border-collapse: collapse; margin: 0 0 6mm; }
th, td { border: 0.3mm solid #444; padding: 1mm 2mm; text-align: left; }
th { background: #eee; }
td.fill { width: 32mm; }
td.number, td.near { text-align: right; }
tr { break-inside: avoid; }
h2 { font-size: 12pt; break-after: avoid; }";

/// An HTML page to print: where the datums are, and every reading with its number and a box for it.
///
/// The numbers are those of [`survey_text`](crate::survey::survey_text). Tested by `tests/cli/new.rs`.
pub fn measuring_sheet(template: &SurveyTemplate) -> String {
    let mut page = String::new();
    // Writing to a string cannot fail.
    let _ = write_page(&mut page, template);
    page
}

fn write_page(out: &mut String, template: &SurveyTemplate) -> std::fmt::Result {
    let (name, unit) = (escaped(&template.name), template.units.symbol());
    writeln!(out, "<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n<title>{name}</title>")?;
    writeln!(out, "<style>\n{STYLE}\n</style>\n<h1>{name}</h1>")?;
    writeln!(
        out,
        "<p>All lengths in {unit}; x forward from the axle line, y left from the centreline, z above the floor. Measure to \
         the centre of a ball or a bore. Leave out what the tape cannot reach: six readings to a point find one that was \
         misread.</p>\n<p>Date: ____________ Tape: ____________ Held in at: ____________</p>"
    )?;
    let coordinate = |mm: f64| format!("{:.0}", mm / template.units.in_mm());
    writeln!(out, "<h2>Datums: where they really are</h2>\n<table>")?;
    writeln!(out, "<tr><th>name<th>place<th>about, {unit}<th>x<th>y<th>z</tr>")?;
    for datum in &template.datums {
        writeln!(
            out,
            "<tr><td>{}<td>{}<td class=\"near\">{}<td class=\"fill\"><td class=\"fill\"><td class=\"fill\"></tr>",
            escaped(&datum.name),
            datum.words(),
            datum.at_mm.map(coordinate).join(", ")
        )?;
    }
    writeln!(out, "</table>")?;
    for ToTakeOfKind { key, how, readings } in template.readings() {
        // On paper the head of a table stands on each of its pages.
        writeln!(
            out,
            "<h2>{key}: {how}</h2>\n<table>\n<thead>\n<tr><th colspan=\"5\">{name}: {key}</tr>\n\
             <tr><th>no.<th>from<th>to<th>reading, {unit}<th>note</tr>\n</thead>"
        )?;
        for ToTake { number, from, to } in readings {
            let (from, to) = (escaped(from.unwrap_or("–")), escaped(to));
            writeln!(
                out,
                "<tr><td class=\"number\">{number}<td>{from}<td>{to}<td class=\"fill\"><td class=\"fill\"></tr>"
            )?;
        }
        writeln!(out, "</table>")?;
    }
    writeln!(out, "</html>")
}
