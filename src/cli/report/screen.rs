//! What a report came to, in the words at its head.

use std::fmt::{Result, Write};

use crate::cli::layout::{text_of, wrapped};
use crate::cli::results;
use crate::file::GeometryFile;
use crate::outputs::Written;
use crate::present::{self, LengthFormat};
use crate::studies::ReportFindings;

pub fn text(found: &ReportFindings, file: &GeometryFile, written: &Written) -> String {
    text_of(|out| write(out, found, file, written))
}

fn write(out: &mut String, found: &ReportFindings, file: &GeometryFile, written: &Written) -> Result {
    let mut say = |text: &str| writeln!(out, "{}", wrapped("", text));
    say(&found.sweep.car.name)?;
    let lengths = LengthFormat(file.geometry.units);
    say(&format!("{}: {}{}", file.source, found.state().words(), present::report_reservations(lengths, found)))?;
    present::report_verdict(lengths, found).iter().try_for_each(|text| say(text))?;
    out.push_str(&results::text(written, &file.source));
    writeln!(out, "{}", wrapped("", present::STUDY_CAUTION))
}
