//! The driveline on one screen.

use std::fmt::{Result, Write};

use textwrap::core::display_width;

use crate::cli::layout::{text_of, wrapped};
use crate::cli::results;
use crate::file::GeometryFile;
use crate::outputs::Written;
use crate::present::words::wheel;
use crate::present::{LengthFormat, SHAFT_TRAVEL, STUDY_CAUTION};
use crate::present::{driveline as words, halfshaft as halfshaft_words, runs_out as runs_out_words};
use crate::studies::driveline::{Check, DrivelineFindings, HalfshaftFindings, PropshaftFindings, WheelDriveline};

pub fn text(found: &DrivelineFindings, file: &GeometryFile, written: &Written) -> String {
    let lengths = LengthFormat(file.geometry.units);
    text_of(|out| {
        writeln!(out, "{}", wrapped("", &found.name))?;
        writeln!(out, "{}", wrapped("", &file.source))?;
        let mirrored = file.geometry.looks_alike();
        let shown = found.driveline.wheels.iter().take(if mirrored { 1 } else { 2 });
        for (&side, of_wheel) in shown {
            let whose = wheel(mirrored && found.sides.len() == 2, side);
            if let Some(shaft) = &of_wheel.halfshaft {
                let finished = file.geometry.is_finished();
                halfshaft(out, lengths, (whose, finished), shaft)?;
            }
            runs_out(out, lengths, whose, of_wheel)?;
        }
        if let Some(placing) = &found.driveline.placing {
            writeln!(out, "\nPlace of the final drive")?;
            let said = runs_out_words::placing(lengths, placing);
            said.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))?;
        }
        if let Some(shaft) = &found.driveline.propshaft {
            propshaft(out, lengths, shaft)?;
        }
        writeln!(out)?;
        out.push_str(&results::text(written, &file.source));
        writeln!(out, "{}", wrapped("", STUDY_CAUTION))
    })
}

/// In order of travel, the stops of the file among them.
fn runs_out(out: &mut String, lengths: LengthFormat, whose: &str, found: &WheelDriveline) -> Result {
    let said = found.runs_out.iter().flat_map(|runs_out| runs_out_words::sentences(lengths, runs_out));
    let spring = found.spring.iter().map(|spring| runs_out_words::spring(lengths, spring));
    writeln!(out, "\nWhat runs out first, {whose}")?;
    said.chain(spring).try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", &sentence)))
}

fn halfshaft(
    out: &mut String,
    lengths: LengthFormat,
    (whose, finished): (&str, bool),
    found: &HalfshaftFindings,
) -> Result {
    writeln!(out, "\nHalfshaft, {whose}, {SHAFT_TRAVEL}")?;
    writeln!(out, "{}", wrapped("  ", &halfshaft_words::head(lengths, found)))?;
    table(out, lengths, &found.checks)?;
    let said = halfshaft_words::sentences(lengths, found, finished);
    said.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))
}

fn propshaft(out: &mut String, lengths: LengthFormat, found: &PropshaftFindings) -> Result {
    writeln!(out, "\n{}", words::propshaft_title(found))?;
    writeln!(out, "{}", wrapped("  ", &words::joints(found)))?;
    table(out, lengths, &found.checks)?;
    let said = words::propshaft_sentences(lengths, found);
    said.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))
}

/// One line a figure: its value, what it may be, and what it comes to; columns as wide as their cells need.
fn table(out: &mut String, lengths: LengthFormat, checks: &[Check]) -> Result {
    let cells = |check: &Check| {
        let star = if check.typical { "*" } else { " " };
        let limit = format!("{}{star}", words::limit(lengths, check));
        [check.what.to_string(), words::value(lengths, check), limit, words::verdict(lengths, check)]
    };
    let rows: Vec<[String; 4]> = checks.iter().map(cells).collect();
    let width = |k: usize, least: usize| rows.iter().map(|row| display_width(&row[k])).fold(least, usize::max);
    let (name, value, limit) = (width(0, 20), width(1, 12), width(2, 14));
    for [what, found, may_be, verdict] in &rows {
        let line = format!("{what:<name$} {found:>value$} {may_be:>limit$}  {verdict}");
        writeln!(out, "{}", wrapped("  ", &line))?;
    }
    words::typical(checks).iter().try_for_each(|note| writeln!(out, "{}", wrapped("  ", note)))
}
