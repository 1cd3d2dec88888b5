//! The result of a tolerance study on one screen.

use std::fmt::Write;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Interval, Quantity, Side, Unit};
use hubtrace::outputs::Written;
use hubtrace::studies::errors::{ErrorSource, Proportion};
use hubtrace::studies::tolerance::{
    Finish, JigBudget, JigSet, Jigged, LastBracket, Spread, TARGET_YIELD, Tolerance, ToleranceStudy,
};

use super::WayOut;
use crate::cli::layout::wrapped;
use hubtrace::present::words;
use hubtrace::present::{LengthFormat, rounded};

pub struct Screen<'a> {
    pub file: &'a GeometryFile,
    pub shop: &'a ToleranceStudy<'a>,
    pub errors: &'a ErrorSource,
    pub study: &'a Tolerance,
    pub way_out: &'a WayOut,
    pub sides: &'a [Side],
}

/// Jig sets name this many dimensions and count the rest.
const NAMED: usize = 3;

impl Screen<'_> {
    pub fn text(&self, written: &Written) -> String {
        let mut text = String::new();
        // Writing to a string cannot fail.
        let _ = self.write(&mut text, written);
        text
    }

    fn lengths(&self) -> LengthFormat {
        LengthFormat(self.shop.geometry.units)
    }

    fn mirrored(&self) -> bool {
        self.shop.geometry.mirrored
    }

    fn write(&self, out: &mut String, written: &Written) -> std::fmt::Result {
        let say = |out: &mut String, text: &str| writeln!(out, "{}", wrapped("", text));
        say(out, &self.shop.geometry.name)?;
        let study = self.study;
        say(
            out,
            &format!(
                "{}: {} cars, {}, {}, seed {}",
                self.file.source,
                study.cars,
                self.errors(),
                self.finish(),
                study.seed
            ),
        )?;
        let head = |cells: [&str; 5]| {
            let [drawn, half, nine, nearly, chance] = cells;
            format!("{:<25}{drawn:>8}{half:>9}{nine:>9}{nearly:>9}{chance:>20}", "")
        };
        writeln!(out, "\n{}", head(["", "5 of 10", "9 of 10", "99 %", "limit and chance"]))?;
        writeln!(out, "{}", head(["drawn", "below", "below", "below", "that yours passes"]))?;
        let sides = if self.mirrored() { &self.sides[..1] } else { self.sides };
        for &side in sides {
            if !self.mirrored() {
                writeln!(out, "{}", side.name())?;
            }
            for spread in study.spreads.iter().filter(|spread| spread.side == Some(side) && is_shown(spread)) {
                writeln!(out, "{}", self.line(spread))?;
            }
        }
        for spread in study.spreads.iter().filter(|spread| spread.side.is_none() && is_shown(spread)) {
            writeln!(out, "{}", self.line(spread))?;
        }
        writeln!(out)?;
        for sentence in self.conclusions() {
            say(out, &sentence)?;
        }
        if let Some(budget) = &self.way_out.jigs {
            self.jigs(out, budget)?;
        }
        say(out, &format!("Written to {}: {}", written.folder.display(), written.names.join(", ")))?;
        say(
            out,
            "Rigid links and a rigid tyre disc are assumed; left and right wheels err independently. Guidance, not \
             approval: a failed link can kill.",
        )
    }

    fn errors(&self) -> String {
        words::errors(self.lengths(), self.errors, self.shop.geometry.tape.as_ref())
    }

    fn finish(&self) -> String {
        match &self.study.finish {
            Finish::Cut => "links cut as drawn".to_owned(),
            Finish::Adjusted => "links adjusted".to_owned(),
            Finish::Last(last) => format!("links adjusted, {:?} inner bracket last", last.link),
        }
    }

    fn line(&self, spread: &Spread) -> String {
        let (factor, unit, decimals) = self.scale(spread.quantity);
        let number = |value: f64| rounded(value * factor, decimals);
        let name = if spread.quantity == Quantity::Slope { "slope per 25 mm" } else { spread.quantity.name() };
        let chance = match (spread.limit, spread.chance) {
            (Some(limit), Some(chance)) => {
                format!("{} {:>9}", self.limit(limit, factor), words::percent(chance.value()))
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
        let study = self.study;
        let mut said = Vec::new();
        match study.within_all_limits {
            Some(inside) => {
                let (low, high) = inside.interval();
                said.push(format!(
                    "Chance that yours passes, both wheels inside every limit: {} ({} to {}, 19 times of 20).",
                    words::percent(inside.value()),
                    words::percent(low),
                    words::percent(high)
                ));
            }
            None => said.push("The file has no [limits], so there is nothing to pass: not checked.".to_owned()),
        }
        said.extend(self.kept_by_all());
        said.extend(self.lost());
        said.extend(self.unchecked());
        said.extend(self.last());
        if self.shop.breaks_bump_steer_as_drawn() {
            said.push(
                "The drawing itself breaks the bump-steer limit, so jigs cannot save it: run `hubtrace tune` first."
                    .to_owned(),
            );
        }
        said
    }

    /// Limits that have no line of their own, for no car breaks them.
    fn kept_by_all(&self) -> Option<String> {
        let of_sides = |spread: &&Spread| spread.side.is_none_or(|side| self.sides.contains(&side));
        let shown = |quantity: Quantity| {
            self.study.spreads.iter().filter(of_sides).any(|s| s.quantity == quantity && is_shown(s))
        };
        let mut names: Vec<&str> = Vec::new();
        for spread in self.study.spreads.iter().filter(of_sides).filter(|spread| !shown(spread.quantity)) {
            if !names.contains(&spread.quantity.name()) {
                names.push(spread.quantity.name());
            }
        }
        (!names.is_empty()).then(|| format!("Every car also keeps the limits of {}.", names.join(", ")))
    }

    /// Wheels that did not get through their travel.
    fn lost(&self) -> Vec<String> {
        let of = |(side, lost): (Side, &hubtrace::studies::tolerance::LostCars)| {
            (lost.all() > 0).then(|| {
                format!(
                    "{} of {} {} wheels do not get through their travel ({} bind, {} do not go together with links as \
                     cut, {} are loose): they pass no limit and are in no figure above.",
                    lost.all(),
                    self.study.cars,
                    side.name(),
                    lost.binds,
                    lost.does_not_assemble,
                    lost.singular
                )
            })
        };
        self.study.lost.iter().filter_map(of).collect()
    }

    /// Limits of the file that welds are not tried against.
    fn unchecked(&self) -> Vec<String> {
        let geometry = self.shop.geometry;
        let rod_ends = Side::BOTH.iter().any(|side| {
            geometry.corner(*side).links.iter().any(|link| {
                link.rod_end_limit_deg.is_some() && (link.chassis_bolt.is_some() || link.upright_bolt.is_some())
            })
        });
        let heights = geometry.bump_steer_limit_deg().is_some() && !geometry.travel.ride_heights_mm.is_empty();
        let beyond = [(rod_ends, "rod-end misalignment"), (heights, "bump steer about other ride heights")];
        let beyond: Vec<&str> = beyond.into_iter().filter_map(|(is_there, name)| is_there.then_some(name)).collect();
        let lacking: Vec<&str> = self.shop.unchecked().into_iter().map(Quantity::name).collect();
        let sentences = [
            (!beyond.is_empty()).then(|| format!("Not checked here, see `hubtrace sweep`: {}.", beyond.join(", "))),
            (!lacking.is_empty()).then(|| format!("Not checked, the file lacks the data: {}.", lacking.join(", "))),
        ];
        sentences.into_iter().flatten().collect()
    }

    /// What the last bracket last gains.
    fn last(&self) -> Option<String> {
        let one = |study: &Tolerance| {
            study.spread(Quantity::BumpSteer, Side::Left).and_then(|s| s.chance).map(Proportion::value)
        };
        let both = |study: &Tolerance| study.within_bump_steer.map(Proportion::value);
        let median = |study: &Tolerance| study.spread(Quantity::BumpSteer, Side::Left).map(|s| s.p50);
        let (before, after, tip) = match (&self.way_out.without_last, &self.way_out.with_last) {
            (Some(without), _) => (without, self.study, ""),
            (_, Some(with)) => (self.study, with, " (--last)"),
            _ => return None,
        };
        let Finish::Last(LastBracket { link, gauge_sd_deg, placing_sd_mm }) = &after.finish else { return None };
        let gain = match (one(before), one(after), both(before), both(after)) {
            (Some(one), Some(one_last), Some(both), Some(both_last)) => format!(
                "chance that yours keeps the bump-steer limit {} → {} for one wheel, {} → {} for both",
                words::percent(one),
                words::percent(one_last),
                words::percent(both),
                words::percent(both_last)
            ),
            _ => format!(
                "worst bump steer of half the wheels {} → {} deg",
                rounded(median(before)?, 3),
                rounded(median(after)?, 3)
            ),
        };
        let far_mm = after.last_moves_mm.map(|moves| moves.left.1.max(moves.right.1))?;
        Some(format!(
            "Last bracket last{tip}: weld the rest, gauge the toe curve ({} deg one sd), place the {link:?} inner bracket so \
             that it is flat, weld it (to {} one sd): {gain}. The bracket must be able to move {} either way (95 cars of 100); \
             start its shims mid-stack.",
            rounded(*gauge_sd_deg, 3),
            self.lengths().finer_unit(*placing_sd_mm),
            self.lengths().with_unit(far_mm)
        ))
    }

    fn jigs(&self, out: &mut String, budget: &JigBudget) -> std::fmt::Result {
        let head = format!(
            "Jigs that hold to {} (one sd), on both sides alike; bump steer passes with both wheels, {} without:",
            self.lengths().finer_unit(budget.jig_sd_mm),
            words::percent(self.study.within_bump_steer.map_or(0.0, Proportion::value))
        );
        writeln!(out, "{}", wrapped("", &head))?;
        for set in &budget.few {
            writeln!(out, "{}", wrapped("  ", &self.jig_set(set)))?;
        }
        let enough = 100.0 * TARGET_YIELD;
        let line = match &budget.enough {
            Some(set) => format!("For {enough:.0} %: {} dimensions, {}", set.held.len(), self.jig_set(set)),
            None => format!("Not even all dimensions jigged make {enough:.0} %."),
        };
        writeln!(out, "{}", wrapped("  ", &line))
    }

    fn jig_set(&self, set: &JigSet) -> String {
        let corner = self.shop.models.left.corner;
        let name = |held: &Jigged| match held {
            Jigged::Coordinate(c) => {
                format!("{} {}", words::pickup(corner, c.link, c.end), c.axis.line())
            }
            Jigged::Pickup(pickup) => format!("{} (all three)", words::pickup(corner, pickup.link, pickup.end)),
        };
        let mut names: Vec<String> = set.held.iter().take(NAMED).map(name).collect();
        if set.held.len() > NAMED {
            names.push(format!("and {} more", set.held.len() - NAMED));
        }
        format!("{}: {}", words::percent(set.chance.value()), names.join(", "))
    }
}

/// What the welds are about always, the rest when a car breaks its limit.
fn is_shown(spread: &Spread) -> bool {
    let always = [Quantity::BumpSteer, Quantity::Slope, Quantity::Bow, Quantity::CamberChange, Quantity::Plunge];
    always.contains(&spread.quantity) || spread.chance.is_some_and(|chance| chance.count < chance.of)
}
