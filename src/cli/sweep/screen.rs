//! The result of a sweep on one screen, in the order in which a builder acts on it.

use std::fmt::{Result, Write};

use crate::file::GeometryFile;
use crate::geometry::{Over, Quantity, Side, Whose};
use crate::outputs::Written;
use crate::present::{self, LengthFormat, rounded, trimmed, words};
use crate::studies::{CarFindings, PairClearance, State, SweepFindings, ToeFindings, Verdict};

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
    // One side stands for both when they are mirror images.
    let sides = if geometry.looks_alike() { &car.sides[..1] } else { &car.sides };
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
        writeln!(out, "Solver check: {} rows, links and road met to {:.0e} mm.", check.rows, check.worst_mm)?;
        out.push_str(&results::text(written, &file.source));
        writeln!(out, "{}", wrapped("", present::STUDY_CAUTION))
    }

    /// Worst bump steer, slope and bow, in degrees and in mm over the stated span.
    fn toe_curve(&self, out: &mut String, side: Side, toe: &ToeFindings) -> Result {
        let (curve, span, unit) = (&toe.curve, &toe.over_span, self.lengths.symbol());
        let (who, over) = (words::wheel(self.mirrored, side), self.lengths.with_unit(span.span_mm));
        writeln!(out, "\nToe per wheel ({who}), also as a length over {over}")?;
        let worst_at = format!("at {}", words::travel(self.lengths, curve.worst_at_bump_mm));
        for (what, deg, mm, note) in [
            ("worst bump steer", curve.worst_change_deg, span.worst_change_mm, worst_at.as_str()),
            ("slope per 25 mm", curve.slope_deg_per_25mm(), span.slope_mm_per_25mm, "one bracket's height cures it"),
            ("bow", curve.bow_deg, span.bow_mm, "link length and lean cure it"),
            ("at design", curve.design_toe_deg, span.design_toe_mm, "toe-in positive"),
        ] {
            let mm = self.lengths.finer(mm);
            writeln!(out, "  {what:<18}{:>8} deg {mm:>8} {unit}   {note}", rounded(deg, 3))?;
        }
        for about in &toe.ride_heights {
            writeln!(
                out,
                "  about ride height {:>6} {unit}: worst {} deg at {}",
                self.lengths.number(about.ride_height_mm),
                rounded(about.worst_change_deg, 3),
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
        let shown: Vec<&Verdict> = self.car.limits.iter().filter(|v| self.shows(v)).collect();
        let mut quantities: Vec<Quantity> = Vec::new();
        for verdict in &shown {
            if !quantities.contains(&verdict.quantity) {
                quantities.push(verdict.quantity);
            }
        }
        let (of_wheels, of_axle): (Vec<Quantity>, Vec<Quantity>) =
            quantities.into_iter().partition(|quantity| quantity.definition().whose == Whose::Wheel);
        let of = |quantity: Quantity| shown.iter().filter(|v| v.quantity == quantity).copied().collect::<Vec<_>>();
        rows.extend(of_wheels.into_iter().map(|quantity| self.limit_row(quantity, &of(quantity))));
        // A number of the axle is of neither wheel.
        rows.extend((two_sided && !of_axle.is_empty()).then(|| row(&["", "", "", "axle", "", ""])));
        rows.extend(of_axle.into_iter().map(|quantity| self.limit_row(quantity, &of(quantity))));
        let least = if two_sided { &BOTH_WHEELS[..] } else { &ONE_WHEEL[..] };
        table(&rows, least).iter().try_for_each(|line| writeln!(out, "{line}"))?;
        for (&side, toe) in self.car.heave.iter().filter(|(side, _)| self.sides.contains(side)) {
            let side = two_sided.then_some(side);
            let told = present::rod_ends(self.lengths, side, &toe.rod_ends);
            told.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("", sentence)))?;
        }
        writeln!(out, "{}", wrapped("", present::ROLL_CENTRE))?;
        writeln!(out, "{}", wrapped("", &present::limit_totals(&self.car.limit_totals)))?;
        let not_checked = present::not_checked(shown);
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
                let (gap, at) = (lengths.number(pair.least_mm), words::travel(lengths, pair.at_bump_mm));
                let place = format!("{who}{gap:>6} at {at:<15}");
                writeln!(out, "{}", wrapped("  ", &format!("{place} {}: {}", pair.state.words(), pair.pair)))?;
            }
        }
        let default_mm = first.limit_is_default.then_some(first.limit_mm);
        let taken = present::assumed_sizes(lengths, &first.assumed, default_mm);
        let open = present::without_body(&first.without_body);
        taken.iter().chain(&open).try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))
    }

    fn shows(&self, verdict: &Verdict) -> bool {
        match verdict.side {
            Some(side) => self.sides.contains(&side),
            // What both wheels have at design is zero by drawing in a mirrored car.
            None => verdict.quantity.definition().over != Over::Design || !self.mirrored,
        }
    }

    /// Name, unit, what was found, limit, verdict; what was found of the axle stands last.
    fn limit_row(&self, quantity: Quantity, verdicts: &[&Verdict]) -> Vec<String> {
        let limit = verdicts[0].limit;
        let finest = verdicts.iter().map(|verdict| present::decimals(self.lengths, quantity, verdict.limit)).max();
        let number = |value: f64| present::number(self.lengths, quantity, finest.unwrap_or(0), value);
        let short = |value: f64| trimmed(&number(value)).to_owned();
        let found = |verdict: &&Verdict| verdict.range.map_or("-".to_owned(), |range| present::band(number, range));
        let mut row = vec![quantity.name().to_owned(), present::unit(self.lengths, quantity.unit()).to_owned()];
        row.extend((verdicts.len()..self.sides.len()).map(|_| String::new()));
        row.extend(verdicts.iter().map(found));
        row.push(limit.map_or("-".to_owned(), |limit| present::limit_band(short, limit)));
        row.push(present::verdict(verdicts));
        row
    }
}
