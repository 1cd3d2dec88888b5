//! The driveline on one screen.

use std::fmt::{Result, Write};

use crate::cli::layout::{text_of, wrapped};
use crate::cli::results;
use crate::file::GeometryFile;
use crate::outputs::Written;
use crate::present::words::wheel;
use crate::present::{LengthFormat, STUDY_CAUTION, rounded};
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
                halfshaft(out, lengths, whose, shaft)?;
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

fn halfshaft(out: &mut String, lengths: LengthFormat, whose: &str, found: &HalfshaftFindings) -> Result {
    writeln!(out, "\nHalfshaft, {whose}, over all wheel travel")?;
    writeln!(out, "{}", wrapped("  ", &halfshaft_words::head(lengths, found)))?;
    table(out, lengths, &found.checks)?;
    let said = halfshaft_words::sentences(lengths, found);
    said.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))
}

fn propshaft(out: &mut String, lengths: LengthFormat, found: &PropshaftFindings) -> Result {
    let at_speed = found.rpm.map(|rpm| format!("{} rpm", rounded(rpm, 0)));
    let under = found.torque_nm.map(|nm| format!("{} N·m", rounded(nm, 0)));
    let at: Vec<String> = at_speed.into_iter().chain(under).collect();
    let at = if at.is_empty() { String::new() } else { format!(", {}", at.join(", ")) };
    let joints: Vec<String> = (1..).zip(&found.joints).map(|(k, joint)| format!("{k} {joint}")).collect();
    writeln!(out, "\nPropeller shaft{at}")?;
    writeln!(out, "{}", wrapped("  ", &format!("From the gearbox: {}.", joints.join(", "))))?;
    table(out, lengths, &found.checks)?;
    let said = [words::ripple(&found.motion), words::phasing(found)];
    said.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))?;
    let spans = found.spans.iter().map(|span| words::span(lengths, span)).chain(words::orbits(found));
    let tubes = found.tubes.iter().flat_map(|tube| words::tube(lengths, tube));
    let rest = spans.chain(tubes).chain(words::unbalance(found)).chain([words::PROPSHAFT_CAUTION.to_owned()]);
    rest.into_iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", &sentence)))
}

/// One line a figure: its value, what it may be, and what it comes to.
fn table(out: &mut String, lengths: LengthFormat, checks: &[Check]) -> Result {
    for check in checks {
        let star = if check.typical { "*" } else { " " };
        let limit = format!("{}{star}", words::limit(lengths, check));
        let (value, verdict) = (words::value(lengths, check), words::verdict(lengths, check));
        let line = format!("{:<30}{value:>13}{limit:>15}  {verdict}", check.what);
        writeln!(out, "{}", wrapped("  ", &line))?;
    }
    words::typical(checks).iter().try_for_each(|note| writeln!(out, "{}", wrapped("  ", note)))
}
