//! The points of a survey on one screen.

use std::fmt::Write;

use crate::cli::layout::{column, text_of, wrapped};
use crate::cli::results;
use crate::file::MeasuredFile;
use crate::outputs::Written;
use crate::present::{LengthFormat, locate};
use crate::studies::locate::{Located, LocatedPoint};
use crate::survey::SurveyFile;

/// Columns of the name of a point.
const NAME: usize = 24;

pub struct Screen<'a> {
    pub file: &'a SurveyFile,
    pub found: &'a Located,
    /// The geometry that the points were written into, by its name.
    pub into: Option<(&'a str, &'a MeasuredFile)>,
}

impl Screen<'_> {
    pub fn text(&self, written: &Written) -> String {
        text_of(|out| self.write(out, written))
    }

    fn lengths(&self) -> LengthFormat {
        LengthFormat(self.file.survey.units)
    }

    fn write(&self, out: &mut String, written: &Written) -> std::fmt::Result {
        let (survey, found, lengths) = (&self.file.survey, self.found, self.lengths());
        let say = |out: &mut String, text: &str| writeln!(out, "{}", wrapped("", text));
        say(out, &survey.name)?;
        say(
            out,
            &format!(
                "{}: {}; {}",
                self.file.source,
                counted(found.readings.len(), "reading"),
                locate::state_of_readings(found)
            ),
        )?;
        writeln!(out)?;
        let unit = format!("point, {}", lengths.symbol());
        writeln!(
            out,
            "{unit:<NAME$}{:>9}{:>9}{:>9}{:>7}{:>7}{:>7}{:>8}",
            "x", "y", "z", "sd x", "sd y", "sd z", "read"
        )?;
        found.points.iter().try_for_each(|point| writeln!(out, "{}", self.line(point)))?;
        writeln!(out)?;
        for sentence in self.conclusions() {
            say(out, &sentence)?;
        }
        if let Some((name, into)) = self.into {
            say(out, &locate::written_into(lengths, name, into))?;
        }
        out.push_str(&results::text(written, &self.file.source));
        Ok(())
    }

    fn line(&self, point: &LocatedPoint) -> String {
        let lengths = self.lengths();
        let number = |of: Option<[f64; 3]>, k: usize| of.map_or("-".to_owned(), |of| lengths.number(of[k]));
        let sd = |k: usize| point.sd_mm.map_or("-".to_owned(), |of| lengths.finer(of[k]));
        let [x, y, z] = [0, 1, 2].map(|k| number(point.at_mm, k));
        let [sd_x, sd_y, sd_z] = [0, 1, 2].map(sd);
        let read = if point.part.is_some() { "part".to_owned() } else { point.readings.to_string() };
        let name = column(&point.point, NAME);
        format!("{name}{x:>9}{y:>9}{z:>9}{sd_x:>7}{sd_y:>7}{sd_z:>7}{read:>8}")
    }

    /// What is wrong, what is missing, what would help, and how the parts fit.
    fn conclusions(&self) -> Vec<String> {
        let (found, lengths) = (self.found, self.lengths());
        let mut said: Vec<String> =
            found.wrong_datums.iter().map(|datum| locate::wrong_datum(lengths, datum)).collect();
        said.extend(found.tape_zero.iter().map(|zero| locate::tape_zero(lengths, zero)));
        said.extend(found.suspects.iter().map(|suspect| locate::suspect(lengths, suspect)));
        said.extend(found.contradictions.iter().map(locate::contradiction));
        said.extend(found.not_determined.iter().map(|point| locate::not_determined(lengths, point)));
        said.extend(
            self.file.remarks.iter().map(|remark| format!("Line {}: {}; {}.", remark.line, remark.what, remark.advice)),
        );
        said.push(locate::noise(&found.noise));
        said.extend(found.datums.iter().map(|datum| locate::datum(lengths, datum)));
        said.extend(found.parts.iter().map(|part| locate::seated(lengths, part)));
        said.extend(found.extra_reading.as_ref().and_then(|next| locate::extra_reading(lengths, next)));
        said
    }
}

fn counted(count: usize, what: &str) -> String {
    if count == 1 { format!("1 {what}") } else { format!("{count} {what}s") }
}
