//! The result of a sweep on one screen, in the order in which a builder acts on it.

use std::fmt::Write;

use hubtrace::geometry::{Band, GeometryFile, Side};
use hubtrace::measures::toe_mm;
use hubtrace::outputs::Written;
use hubtrace::studies::{Quantity, State, Sweep, ToeCurve, Unit, Verdict, verdicts};

use crate::cli::lengths::{Lengths, rounded};
use crate::cli::terminal::wrapped;

pub fn text(sweep: &Sweep, file: &GeometryFile, sides: &[Side], written: &Written) -> String {
    let screen = Screen { sweep, lengths: Lengths(sweep.geometry().units), sides: shown_sides(sweep, sides) };
    let mut text = String::new();
    // Writing to a string cannot fail.
    let _ = screen.write(&mut text, file, written);
    text
}

/// One side stands for both when they are mirror images.
fn shown_sides(sweep: &Sweep, sides: &[Side]) -> Vec<Side> {
    if sweep.geometry().mirrored { sides[..1].to_vec() } else { sides.to_vec() }
}

struct Screen<'a> {
    sweep: &'a Sweep<'a>,
    lengths: Lengths,
    sides: Vec<Side>,
}

impl Screen<'_> {
    fn write(&self, out: &mut String, file: &GeometryFile, written: &Written) -> std::fmt::Result {
        let travel = &self.sweep.geometry().travel;
        writeln!(out, "{}", self.sweep.geometry().name)?;
        writeln!(
            out,
            "{}: {} bump, {} droop, roll {} deg both ways",
            file.source,
            self.lengths.with_unit(travel.bump_mm),
            self.lengths.with_unit(travel.droop_mm),
            rounded(travel.roll_deg, 1)
        )?;
        for &side in &self.sides {
            self.toe_curve(out, side)?;
        }
        writeln!(out)?;
        self.limits(out)?;
        writeln!(out)?;
        self.stops(out)?;
        let worst_mm =
            self.sweep.heave.iter().chain(&self.sweep.roll).chain(&self.sweep.grid).map(|r| r.closure_error_mm);
        let rows = self.sweep.heave.len() + self.sweep.roll.len() + self.sweep.grid.len();
        writeln!(out, "Solver check: {rows} rows, links and road met to {:.0e} mm.", worst_mm.fold(0.0, f64::max))?;
        let files = format!("Written to {}: {}", written.folder.display(), written.names.join(", "));
        writeln!(out, "{}", wrapped("", &files))?;
        let caution = "Rigid links and a rigid tyre disc are assumed. Guidance, not approval: the rulebook, the maker's \
                       ratings and a licensed engineer decide; a failed link can kill.";
        writeln!(out, "{}", wrapped("", caution))
    }

    fn wheel_words(&self, side: Side) -> &'static str {
        if self.sweep.geometry().mirrored { "left and right alike" } else { side.name() }
    }

    /// Worst bump steer, slope and bow, in degrees and in mm over the stated span.
    fn toe_curve(&self, out: &mut String, side: Side) -> std::fmt::Result {
        let Some(curve) = ToeCurve::of(&self.sweep.heave, side) else { return Ok(()) };
        let span_mm = self.sweep.geometry().corner(side).wheel.toe_span_mm;
        let figure = |deg: f64| {
            let mm = self.lengths.finer(toe_mm(deg, span_mm));
            format!("{:>8} deg {:>8} {}", rounded(deg, 3), mm, self.lengths.0.symbol())
        };
        writeln!(out, "\nToe per wheel ({}), mm over {}", self.wheel_words(side), self.lengths.with_unit(span_mm))?;
        writeln!(
            out,
            "  worst bump steer  {}   at {}",
            figure(curve.worst_bump_steer_deg),
            self.place(curve.worst_at_bump_mm)
        )?;
        writeln!(out, "  slope per 25 mm   {}   one bracket's height cures it", figure(curve.slope_deg_per_mm * 25.0))?;
        writeln!(out, "  bow               {}   link length and lean cure it", figure(curve.bow_deg))?;
        writeln!(out, "  at design         {}   toe-in positive", figure(curve.design_toe_deg))
    }

    fn place(&self, bump_mm: f64) -> String {
        match bump_mm {
            b if b > 0.0 => format!("{} bump", self.lengths.with_unit(b)),
            b if b < 0.0 => format!("{} droop", self.lengths.with_unit(-b)),
            _ => "design height".to_owned(),
        }
    }

    fn limits(&self, out: &mut String) -> std::fmt::Result {
        let verdicts = verdicts(self.sweep);
        writeln!(out, "{:<33}{:>21}{:>14}  verdict", "", "from        to", "limit")?;
        for verdict in verdicts.iter().filter(|v| v.side.is_none_or(|side| self.sides.contains(&side))) {
            let axle_of_mirror = verdict.side.is_none() && verdict.quantity != Quantity::RollSteer;
            if self.sweep.geometry().mirrored && axle_of_mirror {
                continue; // thrust angle and setback are zero by drawing
            }
            writeln!(out, "{}", self.limit_line(verdict))?;
        }
        Ok(())
    }

    fn limit_line(&self, verdict: &Verdict) -> String {
        let side = match verdict.side {
            Some(side) if !self.sweep.geometry().mirrored => format!(" {}", side.name()),
            _ => String::new(),
        };
        let what = format!("{}{side}", verdict.quantity.name());
        let unit = self.unit(verdict.quantity);
        let number = |value: f64| self.number(verdict.quantity, value);
        let values = match verdict.range {
            None => format!("{:>21}", "-"),
            Some(Band { low, high }) if low == high => format!("{:>21}", number(high)),
            Some(Band { low, high }) => format!("{:>10} {:>10}", number(low), number(high)),
        };
        let limit = match verdict.limit {
            None => "-".to_owned(),
            Some(Band { low, high }) if low == -high => format!("+-{}", number(high)),
            Some(Band { low, high }) => format!("{} to {}", trimmed(&number(low)), trimmed(&number(high))),
        };
        let state = match verdict.state {
            State::NotChecked if verdict.range.is_none() || verdict.limit.is_some() => {
                format!("not checked: {}", verdict.reason)
            }
            state => state.words().to_owned(),
        };
        let line = format!("{what:<30}{unit:>3}{values}{limit:>14}  {state}");
        line.trim_end().to_owned()
    }

    fn unit(&self, quantity: Quantity) -> &'static str {
        match quantity.unit() {
            Unit::Degrees => "deg",
            Unit::Millimetres => self.lengths.0.symbol(),
            Unit::Percent => "%",
        }
    }

    fn number(&self, quantity: Quantity, value: f64) -> String {
        match quantity.unit() {
            Unit::Degrees if quantity == Quantity::BumpSteer => rounded(value, 3),
            Unit::Degrees => rounded(value, 2),
            Unit::Millimetres => self.lengths.number(value),
            Unit::Percent => rounded(value, 1),
        }
    }

    /// The angle of roll at which a wheel meets its stop.
    fn stops(&self, out: &mut String) -> std::fmt::Result {
        for stop in &self.sweep.roll_stops {
            let cut =
                if stop.roll_deg.abs() < self.sweep.geometry().travel.roll_deg { "; roll.csv ends there" } else { "" };
            writeln!(
                out,
                "At {} deg of body roll the {} wheel meets its {} stop{cut}.",
                rounded(stop.roll_deg, 2),
                stop.side.name(),
                stop.stop.name()
            )?;
        }
        if self.sweep.grid_left_out > 0 {
            let note = format!(
                "The stops forbid {} of the positions of ride height and roll; grid.csv leaves them out.",
                self.sweep.grid_left_out
            );
            writeln!(out, "{}", wrapped("", &note))?;
        }
        Ok(())
    }
}

/// `40.0` as `40`: limits are round numbers, as the file gives them.
fn trimmed(number: &str) -> &str {
    if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number }
}
