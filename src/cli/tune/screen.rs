//! The result of a tuning on one screen.

use std::fmt::Write;

use hubtrace::geometry::{Geometry, GeometryFile, Wanted};
use hubtrace::outputs::Written;
use hubtrace::studies::tune::{Answer, HeldBack, Move, TunedSide, tuned_geometry, weld_sd_mm};
use hubtrace::studies::{Coordinate, Cure, Rig, Sensitivity, State, Sweep, WorstByChance, cure, verdicts};

use super::TuneArgs;
use crate::cli::lengths::{Lengths, rounded};
use crate::cli::terminal::{column, wrapped};
use crate::cli::words;

pub struct Result<'a> {
    pub file: &'a GeometryFile,
    pub geometry: &'a Geometry,
    pub tuned: &'a [TunedSide],
    /// Of the car as drawn.
    pub sensitivities: &'a [Sensitivity],
    pub after: &'a Sweep<'a>,
    pub args: &'a TuneArgs,
    pub stopped: bool,
}

impl Result<'_> {
    pub fn text(&self, written: &Written) -> String {
        let mut text = String::new();
        // Writing to a string cannot fail.
        let _ = self.write(&mut text, written);
        text
    }

    fn lengths(&self) -> Lengths {
        Lengths(self.geometry.units)
    }

    fn write(&self, out: &mut String, written: &Written) -> std::fmt::Result {
        writeln!(out, "{}", wrapped("", &self.geometry.name))?;
        let how = format!("{}: tuned from {} starts, seed {}", self.file.source, self.args.starts, self.args.seed);
        writeln!(out, "{}", wrapped("", &how))?;
        if self.stopped {
            writeln!(out, "Stopped early: this is the best so far.")?;
        }
        for (side, sensitivity) in self.tuned.iter().zip(self.sensitivities) {
            self.side(out, side, sensitivity)?;
        }
        writeln!(out)?;
        self.limits(out)?;
        self.flatter_than_welded(out)?;
        let files = format!("Written to {}: {}", written.folder.display(), written.names.join(", "));
        writeln!(out, "{}", wrapped("", &files))?;
        let caution = "Tuned on paper: rigid links, a rigid tyre disc. Check clearances, rod-end angles and the \
                       rulebook before a bracket is welded; a failed link can kill.";
        writeln!(out, "{}", wrapped("", caution))
    }

    fn side(&self, out: &mut String, side: &TunedSide, sensitivity: &Sensitivity) -> std::fmt::Result {
        let best = side.chosen(self.args.robust);
        let who = if self.geometry.mirrored { "left and right alike" } else { side.side.name() };
        let before = side.before_deg.map_or("no pickups yet".to_owned(), |deg| format!("{} deg", rounded(deg, 3)));
        writeln!(out, "\nWorst bump steer per wheel ({who}): {before} -> {} deg", rounded(best.worst_toe_deg, 4))?;
        self.moves(out, best)?;
        self.forgiving(out, side)?;
        self.wishes(out, best)?;
        self.held_back(out, side, best)?;
        self.what_matters(out, side, sensitivity)?;
        for (index, other) in side.answers.iter().enumerate().skip(1) {
            writeln!(
                out,
                "  another good answer, tuned-{}.toml: {} deg, furthest move {}",
                index + 1,
                rounded(other.worst_toe_deg, 4),
                self.lengths().with_unit(other.longest_move_mm())
            )?;
        }
        Ok(())
    }

    /// The flattest answer beside the most forgiving one, in the same words.
    fn forgiving(&self, out: &mut String, side: &TunedSide) -> std::fmt::Result {
        let Some(forgiving) = &side.forgiving else { return Ok(()) };
        let limit_deg = self.geometry.limits.bump_steer_deg;
        let weld = self.lengths().with_unit(weld_sd_mm(self.geometry));
        writeln!(out, "  with {weld} welds (one sd):   as drawn   9 of 10 cars stay below   yours passes")?;
        for (name, answer) in [("flattest", &side.answers[0]), ("most forgiving", forgiving)] {
            let Some(chance) = self.chance(side, answer) else { continue };
            let passes = limit_deg
                .map_or("no limit".to_owned(), |limit| format!("{} %", rounded(100.0 * chance.share_inside(limit), 0)));
            let (drawn, most) = (rounded(answer.worst_toe_deg, 4), rounded(chance.at(0.9), 3));
            writeln!(out, "    {name:<22}{drawn:>10} deg {most:>20} deg {passes:>14}")?;
        }
        let written = if self.args.robust { "The most forgiving is" } else { "The flattest is" };
        let other = if self.args.robust { "" } else { "; --robust writes the other" };
        writeln!(out, "    {written} in tuned.toml{other}.")
    }

    /// Worst bump steer of welded cars of an answer, to first order.
    fn chance(&self, side: &TunedSide, answer: &Answer) -> Option<WorstByChance> {
        let car = tuned_geometry(self.geometry, &[(side.side, answer)]);
        let rig = Rig::new(&car).ok()?;
        Some(WorstByChance::drawn(&Sensitivity::of(&rig, side.side)?, weld_sd_mm(&car)))
    }

    /// From, to and distance of every point that moved, in car axes.
    fn moves(&self, out: &mut String, best: &Answer) -> std::fmt::Result {
        let unit = self.lengths().0.symbol();
        writeln!(out, "  {:<22}{:>23}  {:>23} {:>6}", format!("moves, {unit}"), "from x, y, z", "to x, y, z", "by")?;
        for made in &best.moves {
            writeln!(
                out,
                "  {}{}  {} {:>6}",
                column(&made.point, 22),
                self.point(made, false),
                self.point(made, true),
                self.lengths().number(made.distance_mm())
            )?;
        }
        Ok(())
    }

    fn point(&self, made: &Move, to: bool) -> String {
        let point = if to { made.to } else { made.from };
        let numbers: Vec<String> = point.iter().map(|&mm| format!("{:>7}", self.lengths().number(mm))).collect();
        numbers.join(" ")
    }

    fn wishes(&self, out: &mut String, best: &Answer) -> std::fmt::Result {
        for wish in &best.wishes {
            let reached = if wish.reached { "reached" } else { "MISSED" };
            let value = match wish.wanted {
                Wanted::CamberGain => format!("{} deg per 25 mm", rounded(wish.value, 3)),
                Wanted::AntiSquat => format!("{} %", rounded(wish.value, 1)),
                Wanted::InnerJointAngle | Wanted::OuterJointAngle => format!("{} deg", rounded(wish.value, 2)),
                _ => self.lengths().with_unit(wish.value),
            };
            writeln!(out, "  target {}: {value}, {reached}", words::wanted(wish.wanted))?;
        }
        Ok(())
    }

    fn held_back(&self, out: &mut String, side: &TunedSide, best: &Answer) -> std::fmt::Result {
        let corner = self.geometry.corner(side.side);
        for HeldBack { place, at, buys_deg } in best.held_back.iter().take(3) {
            let unit = words::unit(place);
            let sentence = format!(
                "Held back: {} stands at its end ({} {unit}); one {unit} more would take off about {} deg.",
                words::place(corner, place),
                rounded(*at, 2),
                rounded(*buys_deg, 4)
            );
            writeln!(out, "{}", wrapped("  ", &sentence))?;
        }
        Ok(())
    }

    /// The three coordinates of the drawn car that matter most, those that hardly matter, and the cure by one bracket.
    fn what_matters(&self, out: &mut String, side: &TunedSide, sensitivity: &Sensitivity) -> std::fmt::Result {
        let corner = self.geometry.corner(side.side);
        let mut ranked: Vec<(Coordinate, f64)> =
            Coordinate::all().enumerate().map(|(i, c)| (c, sensitivity.strength_deg(i))).collect();
        ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
        let name = |(c, deg): &(Coordinate, f64)| {
            let pickup = words::pickup(corner, c.link, c.end);
            format!("{pickup} {} ({} deg per mm)", ["fore-aft", "in-out", "up-down"][c.axis], rounded(*deg, 3))
        };
        let most: Vec<String> = ranked.iter().take(3).map(name).collect();
        writeln!(out, "{}", wrapped("  ", &format!("As drawn, toe depends most on: {}.", most.join("; "))))?;
        let least: Vec<String> = ranked.iter().rev().take(3).map(name).collect();
        writeln!(out, "{}", wrapped("  ", &format!("It hardly depends on: {}.", least.join("; "))))?;
        if let Some(cure) = side.before_deg.and_then(|_| self.cure(sensitivity)) {
            writeln!(out, "{}", wrapped("  ", &words::cure(self.lengths(), corner, &cure)))?;
        }
        Ok(())
    }

    fn cure(&self, sensitivity: &Sensitivity) -> Option<Cure> {
        let rig = Rig::new(self.geometry).ok()?;
        cure(&rig, sensitivity)
    }

    fn limits(&self, out: &mut String) -> std::fmt::Result {
        let verdicts = verdicts(self.after);
        let of = |state: State| verdicts.iter().filter(move |v| v.state == state);
        let passed = of(State::Pass).count();
        writeln!(
            out,
            "Limits of the file on the tuned car: {passed} pass, {} fail, {} not checked.",
            of(State::Fail).count(),
            of(State::NotChecked).count()
        )?;
        for failed in of(State::Fail) {
            let side = failed.side.map_or("axle", |side| side.name());
            writeln!(out, "  FAIL {side}: {} ({})", failed.quantity.name(), failed.quantity.over())?;
        }
        Ok(())
    }

    /// Said once when the answer is flatter than a shop can measure and weld.
    fn flatter_than_welded(&self, out: &mut String) -> std::fmt::Result {
        let weld_mm = weld_sd_mm(self.geometry);
        let tape_mm = self.geometry.tape.as_ref().map_or(0.0, |tape| tape.sd_mm);
        let error_mm = weld_mm.hypot(tape_mm);
        let Some(after) = self.tuned.first().and_then(|side| Sensitivity::of(&self.after.rig, side.side)) else {
            return Ok(());
        };
        let band = WorstByChance::drawn(&after, error_mm).band_deg();
        if after.worst_deg() >= band.low {
            return Ok(());
        }
        let sentence = format!(
            "This is flatter than can be measured and welded: with {} of error on each coordinate (one sd) the worst \
             comes out between {} and {} deg, 19 times of 20. See `hubtrace tolerance`.",
            self.lengths().with_unit(error_mm),
            rounded(band.low, 3),
            rounded(band.high, 3)
        );
        writeln!(out, "{}", wrapped("", &sentence))
    }
}
