//! The result of a tolerance study on one screen.

use std::fmt::Write;

use crate::file::GeometryFile;
use crate::geometry::{Geometry, Side, Unit};
use crate::outputs::Written;
use crate::present::{self, LengthFormat, trimmed, weld_study, words};
use crate::studies::tolerance::{JigBudget, Spread, ToleranceFindings};

use crate::cli::layout::{table, text_of, wrapped};
use crate::cli::results;

/// Least widths of the table but for its last column: name, unit, as drawn, three percentiles, limit.
const WIDTHS: [usize; 7] = [20, 4, 9, 9, 9, 9, 10];

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
        let finish = weld_study::finish(&study.finish, words::stage(geometry));
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
        let row = |cells: [&str; 8]| cells.map(str::to_owned).to_vec();
        let mut rows = vec![
            row(["", "", "as in", "5 of 10", "9 of 10", "99 %", "limit", "  chance,"]),
            row(["", "", "the file", "below", "below", "below", "", "one wheel"]),
        ];
        let sides = &self.found.sides;
        let sides = if geometry.looks_alike() { &sides[..1] } else { &sides[..] };
        let lines = || study.spreads.iter().filter(|spread| weld_study::has_a_line(spread));
        for &side in sides {
            rows.extend((!geometry.looks_alike()).then(|| vec![side.name().to_owned()]));
            rows.extend(lines().filter(|spread| spread.side == Some(side)).map(|spread| self.row(spread)));
        }
        if lines().any(|spread| spread.side.is_none()) {
            rows.push(vec!["axle, chance for a car".to_owned()]);
        }
        rows.extend(lines().filter(|spread| spread.side.is_none()).map(|spread| self.row(spread)));
        writeln!(out)?;
        table(&rows, &WIDTHS).iter().try_for_each(|line| writeln!(out, "{line}"))?;
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

    /// Name, unit, as drawn, three percentiles, limit and chance.
    fn row(&self, spread: &Spread) -> Vec<String> {
        let (lengths, quantity) = (self.lengths(), spread.quantity);
        // A slope is told as a gauge reads it.
        let (name, unit, factor) = match quantity.unit() {
            Unit::DegreesPerMillimetre => ("slope per 25 mm", "deg", 25.0),
            Unit::DegreesPer25Millimetres => (quantity.name(), "deg", 1.0),
            unit => (quantity.name(), present::unit(lengths, unit), 1.0),
        };
        let decimals = if factor == 1.0 { present::decimals(lengths, quantity, spread.limit) } else { 3 };
        let number = |value: f64| present::number(lengths, quantity, decimals, factor * value);
        let short = |value: f64| trimmed(&number(value)).to_owned();
        let limit = spread
            .limit
            .zip(spread.chance)
            .map(|(limit, chance)| [present::limit_band(short, limit), words::proportion(chance)]);
        let [limit, chance] = limit.unwrap_or_else(|| [String::new(), "-".to_owned()]);
        let chance = format!("{chance:>9}");
        let numbers = [spread.nominal, spread.p50, spread.p90, spread.p99].map(number);
        [name.to_owned(), unit.to_owned()].into_iter().chain(numbers).chain([limit, chance]).collect()
    }

    fn conclusions(&self) -> Vec<String> {
        let found = self.found;
        let mut said = vec![weld_study::car_chance(&found.study)];
        said.extend(weld_study::kept_by_all(&found.study, &found.sides));
        said.extend(Side::BOTH.iter().filter_map(|&side| weld_study::lost(&found.study, side)));
        said.extend(weld_study::not_checked_sentence(&found.not_checked));
        said.extend(found.last_bracket.as_ref().map(|gain| weld_study::last_bracket(self.lengths(), gain)));
        said.extend(found.drawing_breaks_bump_steer.then(|| weld_study::tune_first(words::stage(self.geometry()))));
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
