//! What the answer moves, and what is to be cut or set for it.

use std::fmt::Write;

use nalgebra::Point3;
use textwrap::core::display_width;

use super::Screen;
use super::detail::Detail;
use crate::cli::layout::{named, wrapped};
use crate::geometry::{CornerPoint, End, Interval, Pickup};
use crate::present::{rounded, words};
use crate::studies::tune::{Answer, Move, ResidualOf, SideFindings, TunedSide, VariableKind};

const POINT_COLUMNS: usize = 22;
/// Of a point's name beside the places of two sides.
const BOTH_COLUMNS: usize = 16;
/// The same beside those of one side, at most.
const ONE_COLUMNS: usize = 46;

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
            let cells = format!("{from:>23}  {to} {by:>6}");
            writeln!(out, "{}", named("  ", &made.point, POINT_COLUMNS, &cells).trim_end())?;
        }
        if left_out > 0 {
            writeln!(out, "  Points that move less than these digits show, told in moves.csv: {left_out}.")?;
        }
        Ok(())
    }

    /// On a full screen a point and its link take one line, of both sides, until they too are left out.
    pub(super) fn tells_moves_in_short(&self, left_out: &[Detail]) -> bool {
        let stays = self.found.sides.iter().all(|found| self.found.chosen(found).stays());
        left_out.contains(&Detail::Before) && !left_out.contains(&Detail::Moves) && !stays
    }

    /// Where the points of all sides are now and how long their links, a line each: what is welded and set.
    pub(super) fn moves_in_short(&self, out: &mut String, left_out: &[Detail]) -> std::fmt::Result {
        let tells_lengths = !left_out.contains(&Detail::Lengths);
        let long = if tells_lengths { "long" } else { "" };
        let is_one = self.found.sides.len() == 1;
        let who = |found: &SideFindings| if is_one { String::new() } else { format!("{} ", found.tuned.side.name()) };
        let sides = self.found.sides.iter().map(|found| format!("{:>23} {long:>7}", format!("{}x, y, z", who(found))));
        let (mut told, mut lines) = ([false; 5], Vec::new());
        for (point, _) in self.geometry.left.points() {
            let link = if let CornerPoint::Pickup(Pickup { link, .. }) = point { Some(link) } else { None };
            // A length stands beside the first point of its link that moves.
            let first_of_link = link.filter(|&link| !told[link]);
            let lengths = first_of_link.filter(|_| tells_lengths);
            let cells: Vec<String> = self.found.sides.iter().map(|found| self.cell(found, point, lengths)).collect();
            if cells.iter().all(|cell| cell.trim().is_empty()) {
                continue;
            }
            if let Some(link) = first_of_link {
                told[link] = true;
            }
            lines.push((point, cells.concat()));
        }
        let names: Vec<String> = lines.iter().map(|(point, _)| self.short_name(*point)).collect();
        let longest = names.iter().map(|name| display_width(name)).max().unwrap_or_default();
        let columns = if is_one { longest.clamp(BOTH_COLUMNS, ONE_COLUMNS) } else { BOTH_COLUMNS };
        let is_chassis = |point: CornerPoint| matches!(point, CornerPoint::Pickup(Pickup { end: End::Chassis, .. }));
        let what = if lines.iter().all(|(point, _)| is_chassis(*point)) { "chassis" } else { "points" };
        let head = format!("{what}, {}", self.lengths().symbol());
        writeln!(out, "{}", format!("  {head:<columns$}{}", sides.collect::<String>()).trim_end())?;
        for (name, (_, cells)) in names.iter().zip(&lines) {
            writeln!(out, "{}", named("  ", name, columns, cells).trim_end())?;
        }
        Ok(())
    }

    /// Of a chassis point that of its link.
    fn short_name(&self, point: CornerPoint) -> String {
        let left = &self.geometry.left;
        match point {
            CornerPoint::Pickup(Pickup { link, end: End::Chassis }) => left.links[link].name.clone(),
            _ => left.name_of(point),
        }
    }

    /// Of one side: where the point is now when it moved, and the new length of the link.
    fn cell(&self, found: &SideFindings, point: CornerPoint, link: Option<usize>) -> String {
        let (corner, best) = (self.geometry.corner(found.tuned.side), self.found.chosen(found));
        let shows = |made: &&Move| {
            let by = made.distance_mm().map(|mm| self.lengths().number(mm));
            made.point == corner.name_of(point) && !by.as_deref().is_some_and(words::shows_nothing)
        };
        let place = best.moves.iter().find(shows).map_or_else(String::new, |made| self.point(&made.to));
        let length = link.and_then(|link| best.lengths.iter().find(|of| of.link == corner.links[link].name));
        let length = length.map_or_else(String::new, |of| self.lengths().number(of.new_mm));
        format!("{place:>23} {length:>7}")
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
