//! The result of a sweep on one screen, in the order in which a builder acts on it.

use std::fmt::Write;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Interval, Quantity, Side, Unit};
use hubtrace::measures::toe_mm;
use hubtrace::outputs::Written;
use hubtrace::studies::{Rows, Sensitivity, State, SweepFindings, ToeCurve, Verdict, cure, tape_band};

use crate::cli::lengths::{LengthFormat, rounded};
use crate::cli::terminal::wrapped;
use crate::cli::words;

pub fn text(sweep: &SweepFindings, file: &GeometryFile, sides: &[Side], written: &Written) -> String {
    let screen = Screen { sweep, lengths: LengthFormat(sweep.car.geometry().units), sides: shown_sides(sweep, sides) };
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = screen.write(&mut text, file, written);
    text
}

/// One side stands for both when they are mirror images.
fn shown_sides(sweep: &SweepFindings, sides: &[Side]) -> Vec<Side> {
    if sweep.car.geometry().mirrored { sides[..1].to_vec() } else { sides.to_vec() }
}

struct Screen<'a> {
    sweep: &'a SweepFindings<'a>,
    lengths: LengthFormat,
    sides: Vec<Side>,
}

impl Screen<'_> {
    fn write(&self, out: &mut String, file: &GeometryFile, written: &Written) -> std::fmt::Result {
        let travel = &self.sweep.car.geometry().travel;
        writeln!(out, "{}", wrapped("", &self.sweep.car.geometry().name))?;
        let from = format!(
            "{}: {} bump, {} droop, roll {} deg both ways",
            file.source,
            self.lengths.with_unit(travel.bump_mm),
            self.lengths.with_unit(travel.droop_mm),
            rounded(travel.roll_deg, 1)
        );
        writeln!(out, "{}", wrapped("", &from))?;
        for &side in &self.sides {
            self.toe_curve(out, side)?;
        }
        writeln!(out)?;
        self.limits(out)?;
        writeln!(out)?;
        self.stops(out)?;
        let rows = || self.sweep.rows().into_iter().flat_map(Rows::iter);
        let worst_mm = rows().map(|row| row.closure_error_mm).fold(0.0, f64::max);
        writeln!(out, "Solver check: {} rows, links and road met to {worst_mm:.0e} mm.", rows().count())?;
        let files = format!("Written to {}: {}", written.folder.display(), written.names.join(", "));
        writeln!(out, "{}", wrapped("", &files))?;
        let caution = "Rigid links and a rigid tyre disc are assumed. Guidance, not approval: the rulebook, the maker's \
                       ratings and a licensed engineer decide; a failed link can kill.";
        writeln!(out, "{}", wrapped("", caution))
    }

    fn wheel_words(&self, side: Side) -> &'static str {
        if self.sweep.car.geometry().mirrored { "left and right alike" } else { side.name() }
    }

    /// Worst bump steer, slope and bow, in degrees and in mm over the stated span.
    fn toe_curve(&self, out: &mut String, side: Side) -> std::fmt::Result {
        let curve = ToeCurve::of(&self.sweep.car.heave, side);
        let span_mm = self.sweep.car.geometry().corner(side).wheel.toe_span_mm;
        writeln!(
            out,
            "\nToe per wheel ({}); {} read over {}",
            self.wheel_words(side),
            self.lengths.0.symbol(),
            self.lengths.with_unit(span_mm)
        )?;
        let mut line = |what: &str, deg: f64, note: &str| {
            let mm = self.lengths.finer(toe_mm(deg, span_mm));
            let unit = self.lengths.0.symbol();
            writeln!(out, "  {what:<18}{:>8} deg {mm:>8} {unit}   {note}", rounded(deg, 3))
        };
        let worst_at = self.place(curve.worst_at_bump_mm);
        line("worst bump steer", curve.worst_change_deg, &format!("at {worst_at}"))?;
        line("slope per 25 mm", curve.slope_deg_per_mm * 25.0, "one bracket's height cures it")?;
        line("bow", curve.bow_deg, "link length and lean cure it")?;
        line("at design", curve.design_toe_deg, "toe-in positive")?;
        self.other_heights(out, side)?;
        self.tape_and_cure(out, side)
    }

    /// Bump steer about the other ride heights of the file.
    fn other_heights(&self, out: &mut String, side: Side) -> std::fmt::Result {
        for about in &self.sweep.car.heave.ride_heights[side] {
            writeln!(
                out,
                "  about ride height {:>6} {}: worst {} deg at {}",
                self.lengths.number(about.ride_height_mm),
                self.lengths.0.symbol(),
                rounded(about.worst_change_deg, 3),
                self.place(about.worst_at_bump_mm)
            )?;
        }
        Ok(())
    }

    /// What the tape's error makes of the worst value, and what would cure it when it fails.
    fn tape_and_cure(&self, out: &mut String, side: Side) -> std::fmt::Result {
        let geometry = self.sweep.car.geometry();
        let fails = self
            .sweep
            .car
            .verdicts
            .iter()
            .any(|v| v.quantity == Quantity::BumpSteer && v.side == Some(side) && v.state == State::Fail);
        if let Some(band) = tape_band(&self.sweep.car.rig, side) {
            let sentence = format!(
                "Worst bump steer {} deg; {} to {} deg for one wheel with your tape error ({} one sd, 19 times of 20).",
                rounded(band.as_drawn_deg, 2),
                rounded(band.band_deg.low, 2),
                rounded(band.band_deg.high, 2),
                self.lengths.with_unit(band.tape_sd_mm)
            );
            writeln!(out, "{}", wrapped("  ", &sentence))?;
        }
        let sensitivity = fails.then(|| Sensitivity::of(&self.sweep.car.rig, side)).flatten();
        if let Some(cure) = sensitivity.and_then(|sensitivity| cure(&self.sweep.car.rig, &sensitivity)) {
            let sentence = words::cure(self.lengths, geometry.corner(side), &cure);
            writeln!(out, "{}", wrapped("  ", &sentence))?;
        }
        Ok(())
    }

    fn place(&self, bump_mm: f64) -> String {
        match bump_mm {
            b if b > 0.0 => format!("{} bump", self.lengths.with_unit(b)),
            b if b < 0.0 => format!("{} droop", self.lengths.with_unit(-b)),
            _ => "design height".to_owned(),
        }
    }

    /// One line a quantity, the sides beside each other; what was not checked is explained below.
    fn limits(&self, out: &mut String) -> std::fmt::Result {
        let two_sided = self.sides.len() == 2;
        let heads = if two_sided { format!("{:>15}{:>16}", "left", "right") } else { format!("{:>15}", "value") };
        writeln!(out, "{:<25}{heads}{:>11} verdict", "", "limit")?;
        let mut unchecked = Vec::new();
        let shown: Vec<&Verdict> = self.sweep.car.verdicts.iter().filter(|v| self.shows(v)).collect();
        let mut quantities: Vec<Quantity> = Vec::new();
        for verdict in &shown {
            if !quantities.contains(&verdict.quantity) {
                quantities.push(verdict.quantity);
            }
        }
        for quantity in quantities {
            let of_it: Vec<&Verdict> = shown.iter().filter(|v| v.quantity == quantity).copied().collect();
            writeln!(out, "{}", self.limit_line(quantity, &of_it).trim_end())?;
            if let Some(verdict) = of_it.iter().find(|v| v.state == State::NotChecked) {
                unchecked.push(format!("{} ({})", quantity.name(), verdict.reason));
            }
        }
        if !unchecked.is_empty() {
            writeln!(out, "{}", wrapped("", &format!("Not checked: {}.", unchecked.join("; "))))?;
        }
        Ok(())
    }

    fn shows(&self, verdict: &Verdict) -> bool {
        match verdict.side {
            Some(side) => self.sides.contains(&side),
            // Thrust angle and setback of a mirrored car are zero by drawing.
            None => verdict.quantity == Quantity::RollSteer || !self.sweep.car.geometry().mirrored,
        }
    }

    fn limit_line(&self, quantity: Quantity, verdicts: &[&Verdict]) -> String {
        let number = |value: f64| self.number(quantity, value);
        let values = |verdict: &Verdict| match verdict.range {
            None => "-".to_owned(),
            Some(Interval { low, high }) if number(low) == number(high) => number(high),
            Some(Interval { low, high }) => format!("{} to {}", number(low), number(high)),
        };
        let limit = match verdicts[0].limit {
            None => "-".to_owned(),
            Some(Interval { low, high }) if low == -high => format!("±{}", trimmed(&number(high))),
            Some(Interval { low, high }) => format!("{} to {}", trimmed(&number(low)), trimmed(&number(high))),
        };
        let second = verdicts.get(1).map_or_else(String::new, |v| values(v));
        let (what, unit, first) = (quantity.name(), self.unit(quantity), values(verdicts[0]));
        let second = if self.sides.len() == 2 { format!("{second:>16}") } else { second };
        format!("{what:<21}{unit:>3} {first:>15}{second}{limit:>11} {}", verdict_words(verdicts))
    }

    fn unit(&self, quantity: Quantity) -> &'static str {
        match quantity.unit() {
            Unit::Millimetres => self.lengths.0.symbol(),
            Unit::Percent => "%",
            other => other.symbol(),
        }
    }

    fn number(&self, quantity: Quantity, value: f64) -> String {
        match quantity.unit() {
            Unit::Millimetres => self.lengths.number(value),
            _ => rounded(value, quantity.definition().decimals),
        }
    }

    /// The angle of roll at which a wheel meets its stop.
    fn stops(&self, out: &mut String) -> std::fmt::Result {
        for stop in &self.sweep.car.roll.stops {
            let cut = if stop.roll_deg.abs() < self.sweep.car.geometry().travel.roll_deg {
                "; roll.csv ends there"
            } else {
                ""
            };
            let met = format!(
                "At {} deg of body roll the {} wheel meets its {} stop{cut}.",
                rounded(stop.roll_deg, 2),
                stop.side.name(),
                stop.stop.name()
            );
            writeln!(out, "{}", wrapped("", &met))?;
        }
        if self.sweep.grid.left_out > 0 {
            let note = format!(
                "The stops forbid {} of the positions of ride height and roll; grid.csv leaves them out.",
                self.sweep.grid.left_out
            );
            writeln!(out, "{}", wrapped("", &note))?;
        }
        Ok(())
    }
}

/// The worse of both sides, naming the side when they differ.
fn verdict_words(verdicts: &[&Verdict]) -> String {
    let state = |state: State| verdicts.iter().filter(move |v| v.state == state);
    for worst in [State::Fail, State::NotChecked] {
        let mut having = state(worst);
        if let Some(first) = having.next() {
            let one_of_two = verdicts.len() == 2 && having.next().is_none();
            let side = first.side.filter(|_| one_of_two && worst == State::Fail);
            return side.map_or(worst.words().to_owned(), |side| format!("{} {}", worst.words(), side.name()));
        }
    }
    State::Pass.words().to_owned()
}

/// `40.0` as `40`: limits are round numbers, as the file gives them.
fn trimmed(number: &str) -> &str {
    if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number }
}
