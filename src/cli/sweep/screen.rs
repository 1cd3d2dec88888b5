//! The result of a sweep on one screen, in the order in which a builder acts on it.

use std::fmt::{Result, Write};

use crate::file::GeometryFile;
use crate::geometry::Side;
use crate::outputs::Written;
use crate::present::{self, LengthFormat, LimitLine, rounded, words};
use crate::studies::{CarFindings, PairClearance, State, SweepFindings, ToeFindings};

use crate::cli::layout::{table, text_of, wrapped};
use crate::cli::results;

/// Gaps that are told of a wheel beside those that are too small.
const GAPS: usize = 2;
/// Least widths of the table of limits but for the verdict: name, unit, value of each wheel, limit.
const ONE_WHEEL: [usize; 4] = [20, 4, 16, 11];
const BOTH_WHEELS: [usize; 5] = [20, 4, 16, 16, 11];

pub fn text(found: &SweepFindings, file: &GeometryFile, written: &Written) -> String {
    let car = &found.car;
    let geometry = car.judged.geometry();
    let sides = geometry.told_sides(&car.sides);
    let screen = Screen { found, car, lengths: LengthFormat(geometry.units), mirrored: geometry.looks_alike(), sides };
    text_of(|out| screen.write(out, file, written))
}

struct Screen<'a> {
    found: &'a SweepFindings<'a>,
    car: &'a CarFindings<'a>,
    lengths: LengthFormat,
    mirrored: bool,
    sides: &'a [Side],
}

impl Screen<'_> {
    fn write(&self, out: &mut String, file: &GeometryFile, written: &Written) -> Result {
        let travel = &self.car.travel;
        writeln!(out, "{}", wrapped("", &self.car.name))?;
        let from = format!(
            "{}: {} bump, {} droop, roll {} deg both ways",
            file.source,
            self.lengths.with_unit(travel.bump_mm),
            self.lengths.with_unit(travel.droop_mm),
            rounded(travel.body_roll_deg, 1)
        );
        writeln!(out, "{}", wrapped("", &from))?;
        for (&side, toe) in self.car.heave.iter().filter(|(side, _)| self.sides.contains(side)) {
            self.toe_curve(out, side, toe)?;
        }
        for (&side, shaft) in self.car.halfshaft.iter().filter(|(side, _)| self.sides.contains(side)) {
            let side = (!self.mirrored).then_some(side);
            writeln!(out, "{}", wrapped("", &present::halfshaft(self.lengths, side, shaft)))?;
        }
        writeln!(out)?;
        self.limits(out)?;
        self.clearance(out)?;
        writeln!(out)?;
        for stop in &self.car.roll.stops {
            writeln!(out, "{}", wrapped("", &present::roll_stop(stop, travel.body_roll_deg)))?;
        }
        if let Some(note) = present::grid_left_out(self.found.grid_findings.positions_left_out) {
            writeln!(out, "{}", wrapped("", &note))?;
        }
        let check = &self.found.solver_check;
        let (worst, unit) = (self.lengths.value(check.worst_mm), self.lengths.symbol());
        writeln!(out, "Solver check: {} rows, links and road met to {worst:.0e} {unit}.", check.rows)?;
        out.push_str(&results::text(written, &file.source));
        writeln!(out, "{}", wrapped("", present::STUDY_CAUTION))
    }

    /// Worst bump steer, slope and bow, in degrees and in mm over the stated span.
    fn toe_curve(&self, out: &mut String, side: Side, toe: &ToeFindings) -> Result {
        let (span_mm, unit) = (toe.over_span.span_mm, self.lengths.symbol());
        let (who, over) = (words::wheel(self.mirrored, side), self.lengths.with_unit(span_mm));
        writeln!(out, "\nToe per wheel ({who}), also as a length over {over}")?;
        for (what, deg, mm, note) in present::toe_lines(self.lengths, toe) {
            writeln!(out, "  {what:<18}{deg:>8} deg {mm:>8} {unit}   {note}")?;
        }
        for about in &toe.ride_heights {
            writeln!(
                out,
                "  about ride height {:>6} {unit}: {} at {}",
                self.lengths.number(about.ride_height_mm),
                words::worst_change(!toe.binds.is_empty(), about.worst_change_deg, |deg| rounded(deg, 3)),
                words::travel(self.lengths, about.worst_at_bump_mm)
            )?;
        }
        let tape = toe.tape_band.as_ref().map(|band| present::tape_band(self.lengths, band));
        let cure = toe.cure.as_ref().map(|cure| present::cure(self.lengths, cure));
        tape.iter().chain(&cure).try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))
    }

    /// One line a quantity, the sides beside each other, the axle below them; what was not checked is explained below.
    fn limits(&self, out: &mut String) -> Result {
        let two_sided = self.sides.len() == 2;
        let row = |cells: &[&str]| cells.iter().map(|&cell| cell.to_owned()).collect::<Vec<String>>();
        let head = if two_sided {
            row(&["", "", "left", "right", "limit", "verdict"])
        } else {
            row(&["", "", "value", "limit", "verdict"])
        };
        let mut rows = vec![head];
        let lines = present::limit_lines(self.lengths, &self.car.limits, self.sides);
        let cells = |line: &LimitLine| self.limit_row(line);
        rows.extend(lines.iter().filter(|line| !line.is_of_axle()).map(cells));
        let of_axle: Vec<Vec<String>> = lines.iter().filter(|line| line.is_of_axle()).map(cells).collect();
        // A number of the axle is of neither wheel.
        rows.extend((two_sided && !of_axle.is_empty()).then(|| row(&["", "", "", "axle", "", ""])));
        rows.extend(of_axle);
        let least = if two_sided { &BOTH_WHEELS[..] } else { &ONE_WHEEL[..] };
        table(&rows, least).iter().try_for_each(|line| writeln!(out, "{line}"))?;
        for (&side, toe) in self.car.heave.iter().filter(|(side, _)| self.sides.contains(side)) {
            let side = two_sided.then_some(side);
            let told = present::rod_ends(self.lengths, side, &toe.rod_ends);
            told.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("", sentence)))?;
        }
        writeln!(out, "{}", wrapped("", present::ROLL_CENTRE))?;
        if lines.iter().any(|line| line.is_of_halfshaft()) {
            writeln!(out, "{}", wrapped("", present::SHAFT_ROWS))?;
        }
        if self.car.binds().next().is_some() {
            writeln!(out, "{}", wrapped("", present::BIND_ROWS))?;
        }
        writeln!(out, "{}", wrapped("", &words::sentence_start(&present::limit_totals(&self.car.limit_totals))))?;
        let not_checked = present::not_checked(&self.car.limits);
        not_checked.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("", sentence)))
    }

    /// The nearest pairs of bodies of each wheel, and every pair that is too near; then what was taken and what is open.
    fn clearance(&self, out: &mut String) -> Result {
        let lengths = self.lengths;
        let of_sides = || self.car.heave.iter().filter(|(side, _)| self.sides.contains(side));
        let Some((_, ToeFindings { clearance: first, .. })) = of_sides().next() else { return Ok(()) };
        writeln!(out, "\nGaps between parts, {}; at least {}", lengths.symbol(), lengths.limit(first.limit_mm))?;
        for (&side, ToeFindings { clearance, .. }) in of_sides() {
            let who = if self.mirrored { String::new() } else { format!("{:<6}", side.name()) };
            let is_shown = |(k, pair): &(usize, &PairClearance)| *k < GAPS || pair.state == State::Fail;
            for (_, pair) in clearance.pairs.iter().enumerate().filter(is_shown) {
                let (gap, at) = (lengths.finer(pair.least_mm), words::travel(lengths, pair.at_bump_mm));
                let place = format!("{who}{gap:>6} at {at:<15}");
                writeln!(out, "{}", wrapped("  ", &format!("{place} {}: {}", pair.state.words(), pair.pair)))?;
            }
        }
        let default_mm = first.limit_is_default.then_some(first.limit_mm);
        let taken = present::assumed_sizes(lengths, &first.assumed, default_mm);
        let open = present::without_body(&first.without_body);
        taken.iter().chain(&open).try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))
    }

    /// Name, unit, what was found, limit, verdict; what was found of the axle stands last.
    fn limit_row(&self, line: &LimitLine) -> Vec<String> {
        let mut row = vec![line.quantity.name().to_owned(), line.unit().to_owned()];
        row.extend((line.verdicts.len()..self.sides.len()).map(|_| String::new()));
        row.extend(line.found());
        row.extend([line.limit(), line.verdict()]);
        row
    }
}
