//! Brackets and clock angles on one screen, and what the sheets rest on.

use std::fmt::Write;

use crate::cli::layout::{column, text_of, wrapped};
use crate::cli::results;
use crate::geometry::Side;
use crate::outputs::{SheetSource, Written};
use crate::present::{LengthFormat, STUDY_CAUTION, all_limits, fabrication, rounded, words};
use crate::studies::fabrication::{BoltFrom, Bracket, FabricationFindings, LinkClock};

/// Columns of the name of a point or a link.
const NAME: usize = 27;

pub struct Screen<'a> {
    pub found: &'a FabricationFindings<'a>,
    pub source: SheetSource<'a>,
}

impl Screen<'_> {
    pub fn text(&self, written: &Written) -> String {
        text_of(|out| self.write(out, written))
    }

    fn lengths(&self) -> LengthFormat {
        LengthFormat(self.found.car.judged.geometry().units)
    }

    /// A mirrored car has one table for both of its wheels.
    fn shows(&self, side: Side) -> bool {
        !self.found.car.judged.geometry().looks_alike() || Some(&side) == self.found.car.sides.first()
    }

    fn write(&self, out: &mut String, written: &Written) -> std::fmt::Result {
        let (car, shop, lengths) = (&self.found.car, &self.found.shop, self.lengths());
        let say = |out: &mut String, text: &str| writeln!(out, "{}", wrapped("", text));
        say(out, self.source.name)?;
        let mirrored = car.judged.geometry().looks_alike() && car.sides.len() > 1;
        let wheels = if mirrored { "left and right alike" } else { "car axes" };
        say(out, &format!("{}: shop sheets, {}, {wheels}", self.source.file, self.source.state))?;
        if self.source.starter_points > 0 {
            let count = self.source.starter_points;
            say(out, &format!("warning: starter numbers, not yours: {count} points; every drawing says so across it"))?;
        }
        let head = format!("bracket, {} and deg", lengths.symbol());
        writeln!(
            out,
            "\n{head:<NAME$}{:>8}{:>8}{:>8}{:>7}{:>7}{:>7}{:>7}",
            "x", "y", "z", "plan", "tilt", "leans", "limit"
        )?;
        for bracket in shop.brackets.iter().filter(|bracket| self.shows(bracket.side)) {
            writeln!(out, "{}", self.bracket(bracket))?;
        }
        writeln!(
            out,
            "\n{:<NAME$}{:>10}{:>22}{:>12}",
            "clock angle of link, deg", "best", "over the travel", "may be off"
        )?;
        for link in shop.clocking.iter().filter(|link| self.shows(link.side)) {
            writeln!(out, "{}", clock(link))?;
        }
        writeln!(out)?;
        let bolts = fabrication::bolts(&shop.brackets);
        let rooms = shop.clocking.iter().filter_map(fabrication::clock_without_room);
        let cut = shop.cut_list.iter().filter(|link| self.shows(link.side));
        let faults = fabrication::cut_faults(lengths, cut);
        let tape = fabrication::tape_check(lengths, &shop.tape_check);
        for sentence in bolts.into_iter().chain(rooms).chain(faults).chain([tape]) {
            say(out, &sentence)?;
        }
        say(out, &words::sentence_start(&all_limits(&car.limits, car.judged.geometry())))?;
        out.push_str(&results::text(written, self.source.file));
        say(out, STUDY_CAUTION)
    }

    fn bracket(&self, bracket: &Bracket) -> String {
        let [x, y, z] = bracket.at_mm.map(|mm| self.lengths().number(mm));
        let mark = if bracket.bolt_from == Some(BoltFrom::Best) { "*" } else { "" };
        let name = column(&format!("{}{mark}", bracket.point), NAME);
        let angles = [bracket.angles.and_then(|of| of.plan_deg), bracket.angles.map(|of| of.tilt_deg)];
        let [plan, tilt] = angles.map(|deg| shown(deg, 1));
        let [leans, limit] = [bracket.misalignment_deg, bracket.limit_deg].map(|deg| shown(deg, 1));
        format!("{name}{x:>8}{y:>8}{z:>8}{plan:>7}{tilt:>7}{leans:>7}{limit:>7}")
    }
}

fn clock(link: &LinkClock) -> String {
    let travel =
        link.over_travel_deg.map_or("-".to_owned(), |of| format!("{} to {}", rounded(of.low, 2), rounded(of.high, 2)));
    let (best, permitted) = (shown(link.best_deg, 2), shown(link.permitted_deg, 2));
    format!("{}{best:>10}{travel:>22}{permitted:>12}", column(&link.link, NAME))
}

fn shown(number: Option<f64>, decimals: usize) -> String {
    number.map_or_else(|| "-".to_owned(), |number| rounded(number, decimals))
}
