//! The result of a tolerance study on one screen.

use std::fmt::Write;

use crate::file::GeometryFile;
use crate::geometry::{Geometry, Interval, Quantity, Side, Unit};
use crate::outputs::Written;
use crate::present::{LengthFormat, rounded, weld_study, words};
use crate::studies::tolerance::{JigBudget, Spread, ToleranceFindings};

use crate::cli::layout::{text_of, wrapped};
use crate::cli::results;

pub struct Screen<'a> {
    pub file: &'a GeometryFile,
    pub found: &'a ToleranceFindings<'a>,
}

impl Screen<'_> {
    pub fn text(&self, written: &Written) -> String {
        text_of(|out| self.write(out, written))
    }

    fn geometry(&self) -> &Geometry {
        self.found.car.geometry()
    }

    fn lengths(&self) -> LengthFormat {
        LengthFormat(self.geometry().units)
    }

    fn write(&self, out: &mut String, written: &Written) -> std::fmt::Result {
        let say = |out: &mut String, text: &str| writeln!(out, "{}", wrapped("", text));
        let geometry = self.geometry();
        say(out, &geometry.name)?;
        let study = &self.found.study;
        let cars = weld_study::cars(self.lengths(), study.cars, &self.found.request.errors, geometry);
        let finish = weld_study::finish(&study.finish);
        say(out, &format!("{}: {cars}, {finish}, seed {}", self.file.source, study.seed))?;
        if self.found.stopped_early {
            let asked = self.found.request.cars;
            say(
                out,
                &format!(
                    "Stopped early: {} of {asked} cars are built, and the search for a last bracket and jigs is left out.",
                    study.cars
                ),
            )?;
        }
        let head = |cells: [&str; 5]| {
            let [drawn, half, nine, nearly, chance] = cells;
            format!("{:<25}{drawn:>8}{half:>9}{nine:>9}{nearly:>9}{chance:>20}", "")
        };
        writeln!(out, "\n{}", head(["", "5 of 10", "9 of 10", "99 %", "limit and chance"]))?;
        writeln!(out, "{}", head(["drawn", "below", "below", "below", "for one wheel"]))?;
        let sides = &self.found.sides;
        let sides = if geometry.mirrored { &sides[..1] } else { &sides[..] };
        let lines = || study.spreads.iter().filter(|spread| weld_study::has_a_line(spread));
        for &side in sides {
            if !geometry.mirrored {
                writeln!(out, "{}", side.name())?;
            }
            for spread in lines().filter(|spread| spread.side == Some(side)) {
                writeln!(out, "{}", self.line(spread))?;
            }
        }
        if lines().any(|spread| spread.side.is_none()) {
            writeln!(out, "axle, chance for a car")?;
        }
        for spread in lines().filter(|spread| spread.side.is_none()) {
            writeln!(out, "{}", self.line(spread))?;
        }
        writeln!(out)?;
        for sentence in self.conclusions() {
            say(out, &sentence)?;
        }
        if let Some(budget) = &self.found.jigs {
            self.jigs(out, budget)?;
        }
        out.push_str(&results::text(written, &self.file.source));
        say(out, weld_study::WELD_CAUTION)
    }

    fn line(&self, spread: &Spread) -> String {
        let (factor, unit, decimals) = self.scale(spread.quantity);
        let number = |value: f64| rounded(value * factor, decimals);
        let name = if spread.quantity == Quantity::Slope { "slope per 25 mm" } else { spread.quantity.name() };
        let chance = match (spread.limit, spread.chance) {
            (Some(limit), Some(chance)) => {
                format!("{} {:>9}", self.limit(limit, factor), words::proportion(chance))
            }
            _ => "-".to_owned(),
        };
        let [drawn, p50, p90, p99] = [spread.nominal, spread.p50, spread.p90, spread.p99].map(number);
        format!("{name:<21}{unit:>4}{drawn:>8}{p50:>9}{p90:>9}{p99:>9}{chance:>20}")
    }

    /// What a number is multiplied by to be shown, its unit and its decimals.
    fn scale(&self, quantity: Quantity) -> (f64, &'static str, usize) {
        let length = (1.0 / self.lengths().0.in_mm(), self.lengths().0.symbol());
        match quantity.unit() {
            Unit::DegreesPerMillimetre => (25.0, "deg", 3),
            Unit::Degrees | Unit::DegreesPer25Millimetres => (1.0, "deg", quantity.definition().decimals),
            Unit::Percent => (1.0, "%", 1),
            Unit::Millimetres if self.lengths().0.in_mm() == 1.0 => (length.0, length.1, 1),
            Unit::Millimetres => (length.0, length.1, 3),
        }
    }

    fn limit(&self, limit: Interval, factor: f64) -> String {
        let short = |value: f64| {
            let text = rounded(value * factor, 3);
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        };
        if limit.low == -limit.high {
            format!("±{}", short(limit.high))
        } else {
            format!("{} to {}", short(limit.low), short(limit.high))
        }
    }

    fn conclusions(&self) -> Vec<String> {
        let found = self.found;
        let mut said = vec![weld_study::car_chance(&found.study)];
        said.extend(weld_study::kept_by_all(&found.study, &found.sides));
        said.extend(Side::BOTH.iter().filter_map(|&side| weld_study::lost(&found.study, side)));
        said.extend(weld_study::not_checked_sentence(&found.not_checked));
        said.extend(found.last_bracket.as_ref().map(|gain| weld_study::last_bracket(self.lengths(), gain)));
        said.extend(found.drawing_breaks_bump_steer.then(|| weld_study::TUNE_FIRST.to_owned()));
        said
    }

    fn jigs(&self, out: &mut String, budget: &JigBudget) -> std::fmt::Result {
        let corner = &self.geometry().left;
        let head = weld_study::jigs_head(self.lengths(), budget, &self.found.study);
        writeln!(out, "{}", wrapped("", &head))?;
        for set in &budget.few {
            writeln!(out, "{}", wrapped("  ", &weld_study::jig_set(set, corner)))?;
        }
        writeln!(out, "{}", wrapped("  ", &weld_study::jigs_enough(budget, corner)))
    }
}
