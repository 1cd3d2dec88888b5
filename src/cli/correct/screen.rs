//! A correction on one screen: both wheels, what to do in which order, and what must be known beside it.

use std::fmt::{Result, Write};

use textwrap::core::display_width;

use super::Gauged;
use crate::cli::layout::{column, text_of, wrapped};
use crate::cli::results;
use crate::file::GeometryFile;
use crate::geometry::{Corner, Side};
use crate::outputs::Written;
use crate::present::correct::{self, CORRECT_CAUTION};
use crate::present::words::sentence_start;
use crate::present::{LengthFormat, rounded, trimmed};
use crate::studies::correct::{CorrectFindings, Lash, PrescribedChange, WheelCorrection};

/// Columns of what is to be done.
const DO: usize = 66;
/// Suspect readings that are told of one wheel.
const SUSPECTS: usize = 4;

pub struct Screen<'a> {
    pub found: &'a CorrectFindings,
    pub file: &'a GeometryFile,
    pub gauged: &'a Gauged,
    pub sides: &'a [Side],
    /// Counted from 1.
    pub round: usize,
    /// Why there is no `as-built.toml`.
    pub unwritten: Option<String>,
}

fn deg(deg: f64) -> String {
    rounded(deg, 3)
}

impl Screen<'_> {
    pub fn text(&self, written: &Written) -> String {
        text_of(|out| self.write(out, written))
    }

    fn lengths(&self) -> LengthFormat {
        LengthFormat(self.file.geometry.units)
    }

    fn write(&self, out: &mut String, written: &Written) -> Result {
        let say = |out: &mut String, text: &str| writeln!(out, "{}", wrapped("", text));
        say(out, &self.found.name)?;
        say(out, &self.what_was_read())?;
        writeln!(out)?;
        self.table(out)?;
        for (side, wheel) in self.corrected() {
            writeln!(out)?;
            self.wheel(out, side, wheel)?;
        }
        writeln!(out)?;
        for told in self.told() {
            say(out, &sentence(&told))?;
        }
        say(out, CORRECT_CAUTION)?;
        out.push_str(&results::text(written, &self.file.source));
        Ok(())
    }

    fn corrected(&self) -> impl Iterator<Item = (Side, &WheelCorrection)> {
        self.sides.iter().filter_map(|&side| Some((side, self.found.wheels[side].as_ref().ok()?)))
    }

    fn what_was_read(&self) -> String {
        let (read, readings) = (&self.gauged.read, &self.gauged.readings);
        let count = readings.readings.len();
        let left = match read.not_taken.len() {
            0 => String::new(),
            many => format!(", {many} still to be taken"),
        };
        format!(
            "{}: {count} {} by {}{left}; round {}",
            read.source,
            if count == 1 { "reading" } else { "readings" },
            correct::instrument(self.lengths(), &readings.instrument),
            self.round
        )
    }

    fn table(&self, out: &mut String) -> Result {
        let limit = self.file.geometry.bump_steer_limit_deg();
        let limit = limit.map_or("no limit in the file".to_owned(), |limit| format!("limit {}", trimmed(&deg(limit))));
        writeln!(out, "{:<20}{:>9}{:>10}{:>12}{:>10}", "worst bump steer,", "now", "95 of 100", "after", "95 of 100")?;
        writeln!(out, "{:<20}{:>9}{:>10}{:>12}{:>10}   {limit}", "deg per wheel", "", "below", "changes", "below")?;
        for &side in self.sides {
            match &self.found.wheels[side] {
                Ok(wheel) => {
                    let worst = &wheel.worst_bump_steer_deg;
                    let [now, now_p95] = [worst.now, worst.now_p95].map(deg);
                    let after = [worst.expected, worst.expected_p95].map(deg);
                    let [after, p95] = if wheel.changes.is_empty() { ["-".to_owned(), "-".to_owned()] } else { after };
                    writeln!(out, "{:<20}{now:>9}{now_p95:>10}{after:>12}{p95:>10}", side.name())?;
                }
                Err(why) => {
                    writeln!(out, "{}", wrapped("", &format!("{:<6} {why}; {}.", side.name(), why.advice())))?;
                }
            }
        }
        Ok(())
    }

    fn wheel(&self, out: &mut String, side: Side, wheel: &WheelCorrection) -> Result {
        let corner = self.file.geometry.corner(side);
        let name = sentence_start(side.name());
        if let Some(mirrored) = &wheel.mirrored_toe {
            writeln!(out, "{}", wrapped("", &format!("{name}, first of all: {}.", correct::mirrored_toe(mirrored))))?;
        }
        let first = correct::first_of_all(self.lengths(), wheel);
        if let Some(first) = &first {
            writeln!(out, "{}", wrapped("", &format!("{name}, first of all: {first}.")))?;
        }
        match correct::advice(wheel) {
            Some(_) if first.is_some() => return Ok(()),
            Some(advice) => return writeln!(out, "{}", wrapped("", &format!("{name}: {advice}."))),
            None => {}
        }
        writeln!(
            out,
            "{}{:>6}{:>8}",
            column(&format!("{name}, {}", correct::changes_head(wheel)), DO),
            "leaves",
            "95/100"
        )?;
        for (index, change) in wheel.changes.iter().enumerate() {
            self.change(out, corner, index + 1, change)?;
        }
        for together in correct::together(wheel) {
            writeln!(out, "{}", wrapped("   ", &together))?;
        }
        writeln!(out, "   {}", correct::set_toe(wheel))?;
        let told = [correct::camber(wheel), correct::wheel_moves(self.lengths(), wheel)];
        told.into_iter().flatten().try_for_each(|told| writeln!(out, "{}", wrapped("   ", &told)))
    }

    fn change(&self, out: &mut String, corner: &Corner, number: usize, change: &PrescribedChange) -> Result {
        let lengths = self.lengths();
        let to_do = format!(" {number} {}: {}", correct::place(corner, change), correct::what_to_do(lengths, change));
        let so_far = match change.total_mm == change.by_mm {
            true => String::new(),
            false => format!(" ({} in all)", correct::in_all(lengths, change)),
        };
        let leaves = format!("{:>6}{:>8}", deg(change.expected_deg), deg(change.expected_p95_deg));
        let text = format!("{to_do}{so_far}");
        if display_width(&text) < DO {
            return writeln!(out, "{}{leaves}", column(&text, DO));
        }
        writeln!(out, "{}\n{}{leaves}", wrapped("", &text), column("", DO))
    }

    /// What must be known beside the changes, one sentence each.
    fn told(&self) -> Vec<String> {
        let lengths = self.lengths();
        let mut told = self.gauged.beyond_travel(&self.file.geometry);
        for (side, wheel) in self.corrected() {
            let suspects = wheel.readings.iter().filter(|reading| reading.is_suspect).take(SUSPECTS);
            told.extend(suspects.map(|reading| format!("{}, {}", side.name(), correct::suspect(lengths, reading))));
        }
        let broken = self.found.limits_broken.iter().filter(|broken| broken.is_of(self.sides));
        told.extend(broken.map(|broken| correct::limit_broken(lengths, broken)));
        told.extend(correct::left_out_for(lengths, &self.found.left_out_for));
        told.extend(self.of_wheels(|wheel| Some(correct::told_apart(&wheel.told_apart))));
        let noise = |lash: &&Lash| !lash.is_more_than_noise();
        told.extend(self.of_wheels(|wheel| wheel.lash.as_ref().filter(noise).map(|lash| correct::lash(lengths, lash))));
        told.extend(self.of_wheels(|wheel| correct::coarse_toe(&wheel.toe_link, &wheel.toe_setting)));
        told.extend(self.of_wheels(|wheel| Some(correct::play(lengths, wheel))));
        told.extend(self.of_wheels(|wheel| correct::adjusters_assumed(lengths, wheel)));
        told.extend(self.of_wheels(|wheel| Some(correct::search(&wheel.search))));
        told.extend(self.unwritten.clone());
        told
    }

    /// What is told of each wheel, once where it is the same of both.
    fn of_wheels(&self, told: impl Fn(&WheelCorrection) -> Option<String>) -> Vec<String> {
        let told: Vec<(Side, String)> =
            self.corrected().filter_map(|(side, wheel)| Some((side, told(wheel)?))).collect();
        match told.as_slice() {
            [(_, one), (_, other)] if one == other => vec![one.clone()],
            each => each.iter().map(|(side, told)| format!("{}: {told}", side.name())).collect(),
        }
    }
}

/// With a capital letter and a full stop.
fn sentence(text: &str) -> String {
    let text = sentence_start(text);
    if text.ends_with('.') { text } else { text + "." }
}
