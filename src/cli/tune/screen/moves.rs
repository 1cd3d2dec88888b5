//! What the answer moves, and what is to be cut or set for it.

use std::fmt::Write;

use nalgebra::Point3;
use textwrap::core::display_width;

use super::Screen;
use crate::cli::layout::{column, wrapped};
use crate::geometry::Interval;
use crate::present::{rounded, words};
use crate::studies::tune::{Answer, ResidualOf, TunedSide, VariableKind};

const POINT_COLUMNS: usize = 22;

impl Screen<'_> {
    /// From, to and distance of every point that moved, in car axes.
    pub(super) fn moves(&self, out: &mut String, best: &Answer) -> std::fmt::Result {
        let unit = self.lengths().symbol();
        writeln!(
            out,
            "  {:<POINT_COLUMNS$}{:>23}  {:>23} {:>6}",
            format!("moves, {unit}"),
            "from x, y, z",
            "to x, y, z",
            "by"
        )?;
        let mut left_out = 0;
        for made in &best.moves {
            let by = made.distance_mm().map(|mm| self.lengths().number(mm));
            if by.as_deref().is_some_and(words::shows_nothing) {
                left_out += 1;
                continue;
            }
            let from = made.from.map_or_else(|| "new".to_owned(), |from| self.point(&from));
            let (to, by) = (self.point(&made.to), by.unwrap_or_default());
            writeln!(out, "{}", format!("  {}{from:>23}  {to} {by:>6}", point_column(&made.point)).trim_end())?;
        }
        if left_out > 0 {
            writeln!(out, "  Points that move less than these digits show, told in moves.csv: {left_out}.")?;
        }
        Ok(())
    }

    fn point(&self, point: &Point3<f64>) -> String {
        let numbers: Vec<String> = point.iter().map(|&mm| format!("{:>7}", self.lengths().number(mm))).collect();
        numbers.join(" ")
    }

    /// What to cut or set each link to that changes.
    pub(super) fn new_lengths(&self, out: &mut String, best: &Answer) -> std::fmt::Result {
        let lengths = self.lengths();
        let shown = best.lengths.iter().filter_map(|of| {
            let (new, drawn) = (lengths.number(of.new_mm), of.drawn_mm.map(|mm| lengths.number(mm)));
            let from = drawn.as_ref().map_or_else(String::new, |drawn| format!(" (was {drawn})"));
            (drawn.as_ref() != Some(&new)).then(|| format!("{:?} {new}{from}", of.link))
        });
        let all: Vec<String> = shown.collect();
        if all.is_empty() {
            return Ok(());
        }
        let sentence = format!("New link lengths, {}: {}.", lengths.symbol(), all.join("; "));
        writeln!(out, "{}", wrapped("  ", &sentence))
    }

    /// Spacers, brackets on tubes, link lengths and the clock angle, counted as in the file.
    pub(super) fn settings(&self, out: &mut String, side: &TunedSide, best: &Answer) -> std::fmt::Result {
        let corner = self.geometry.corner(side.side);
        let set = |(at, by): &(VariableKind, f64)| (words::variable(corner, at), words::moved(self.lengths(), at, *by));
        let shown = best.settings.iter().map(set).filter(|(_, by)| !words::shows_nothing(by));
        let all: Vec<String> = shown.map(|(at, by)| format!("{at} {by}")).collect();
        if all.is_empty() { Ok(()) } else { writeln!(out, "{}", wrapped("  ", &format!("Set: {}.", all.join("; ")))) }
    }

    pub(super) fn targets(&self, out: &mut String, best: &Answer) -> std::fmt::Result {
        for target in &best.targets {
            let reached = if target.reached { "reached" } else { "MISSED" };
            let wanted = self.geometry.targets.list.iter().find(|given| given.quantity == target.quantity);
            let amount = |value: f64| words::amount(self.lengths(), ResidualOf::Target(target.quantity), value);
            let wanted = wanted.map_or_else(String::new, |given| match given.band {
                Interval { low, high } if low == high => format!(" (wanted {})", amount(low)),
                Interval { low, high } => format!(" (wanted {} to {})", amount(low), amount(high)),
            });
            let line = format!("Target {}: {}, {reached}{wanted}", target.quantity.name(), amount(target.value));
            writeln!(out, "{}", wrapped("  ", &line))?;
        }
        let toe = best
            .toe_curve_missed_by_deg
            .map(|deg| format!("Toe curve wanted: missed by {} deg at most.", rounded(deg, 3)));
        toe.iter().try_for_each(|line| writeln!(out, "{}", wrapped("  ", line)))
    }
}

/// A point's name cut to its column; a long link keeps the word that says which end.
fn point_column(point: &str) -> String {
    let (name, end) = point.rsplit_once(", ").unwrap_or((point, ""));
    let room = POINT_COLUMNS.saturating_sub(end.len() + ", ".len());
    if end.is_empty() || display_width(name) <= room {
        return column(point, POINT_COLUMNS);
    }
    format!("{}, {end}", column(name, room))
}
