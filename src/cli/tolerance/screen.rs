//! The result of a tolerance study on one screen.

use std::fmt::Write;

use crate::file::GeometryFile;
use crate::geometry::Geometry;
use crate::outputs::Written;
use crate::present::{LengthFormat, weld_study, words};
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
        let sides = geometry.told_sides(&self.found.sides);
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
        let conclusions = weld_study::conclusions(self.lengths(), self.found, true);
        for sentence in conclusions.into_iter().chain(weld_study::tune_advice(self.found)) {
            say(out, &sentence)?;
        }
        if let Some(budget) = &self.found.jigs {
            self.jigs(out, budget)?;
        }
        out.push_str(&results::text(written, &self.file.source));
        say(out, weld_study::WELD_CAUTION)
    }

    fn row(&self, spread: &Spread) -> Vec<String> {
        let mut cells = weld_study::cells(self.lengths(), spread);
        cells[7] = format!("{:>9}", cells[7]);
        cells.into()
    }

    fn jigs(&self, out: &mut String, budget: &JigBudget) -> std::fmt::Result {
        let corner = &self.geometry().left;
        let head = weld_study::jigs_head(self.lengths(), budget, &self.found.study);
        writeln!(out, "{}", wrapped("", &head))?;
        for set in &budget.few {
            writeln!(out, "{}", wrapped("  ", &weld_study::jig_set(set, corner)))?;
        }
        writeln!(out, "{}", wrapped("  ", &weld_study::jigs_enough(budget, self.geometry())))
    }
}
