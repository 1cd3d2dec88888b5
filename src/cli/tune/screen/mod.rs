//! The result of a tuning on one screen.

mod detail;
mod moves;

use std::fmt::Write;

use crate::file::GeometryFile;
use crate::geometry::{Geometry, Quantity, Side, Whose};
use crate::outputs::Written;
use crate::present::{self, LengthFormat, PAPER_CAUTION, rounded, weld_study, words};
use crate::studies::errors::{ErrorSource, Proportion};
use crate::studies::plausibility::Doubt;
use crate::studies::tune::{
    Answer, BuildOdds, Choice, ResidualOf, SideFindings, Strength, TuneFindings, TunedSide, VariableKind, WorstOfWheel,
};
use crate::studies::{State, Verdict};

use crate::cli::layout::{text_of, wrapped};
use crate::cli::results;

use super::other_name;
use detail::{Detail, listed, not_on_this_screen};

/// Rows of one screen, less two for what is told of the file on its way in.
const MAX_ROWS: usize = 38;
/// Variables at the end of their room that are named; the rest is counted.
const MAX_ENDS: usize = 3;

pub struct Screen<'a> {
    pub file: &'a GeometryFile,
    /// As drawn.
    pub geometry: &'a Geometry,
    pub found: &'a TuneFindings<'a>,
}

impl Screen<'_> {
    /// At most so many rows: what there is no room for is named, with the file that has it.
    pub fn text(&self, written: &Written) -> String {
        let body = |left_out: &[Detail]| text_of(|out| self.write(out, left_out));
        let tail = text_of(|out| {
            out.push_str(&results::text(written, &self.file.source));
            writeln!(out, "{}", wrapped("", PAPER_CAUTION))
        });
        let (mut left_out, mut told) = (Vec::new(), body(&[]));
        for detail in Detail::ALL {
            let text = format!("{told}{}{tail}", not_on_this_screen(&left_out));
            if text.lines().count() <= MAX_ROWS {
                return text;
            }
            let shorter = body(&[&left_out[..], &[detail]].concat());
            if shorter != told {
                left_out.push(detail);
                told = shorter;
            }
        }
        format!("{told}{}{tail}", not_on_this_screen(&left_out))
    }

    fn lengths(&self) -> LengthFormat {
        LengthFormat(self.geometry.units)
    }

    fn write(&self, out: &mut String, left_out: &[Detail]) -> std::fmt::Result {
        writeln!(out, "{}", wrapped("", &self.geometry.name))?;
        let (run, ended) = (&self.found.run, self.found.starts_ended());
        let of_all = if ended < run.starts { format!("{ended} of ") } else { String::new() };
        let how = format!("{}: tuned from {of_all}{} starts, seed {}", self.file.source, run.starts, run.seed);
        writeln!(out, "{}", wrapped("", &how))?;
        if self.found.run.stopped_early {
            let told = present::tuning::stopped_early(self.geometry.mirrored, &self.found.hardly_searched());
            writeln!(out, "{}", wrapped("", &told))?;
        }
        if self.tells_moves_in_short(left_out) {
            self.moves_in_short(out, left_out)?;
        }
        for side in &self.found.sides {
            self.side(out, side, left_out)?;
        }
        self.once_built(out)?;
        for doubt in &self.found.hidden_doubts {
            writeln!(out, "{}", wrapped("", &present::tuning::hidden_doubt(doubt)))?;
        }
        for &side in &self.found.without_room {
            writeln!(out, "\n{}", wrapped("", &present::without_room(side)))?;
        }
        self.limits(out, left_out)?;
        self.flatter_than_welded(out)
    }

    fn side(&self, out: &mut String, found: &SideFindings, left_out: &[Detail]) -> std::fmt::Result {
        let (side, best) = (&found.tuned, self.found.chosen(found));
        let tells = |detail: Detail| !left_out.contains(&detail);
        let who = words::wheel(self.geometry.mirrored, side.side);
        let (before, after) = (present::as_drawn(self.geometry, &side.as_drawn), rounded(best.worst_bump_steer_deg, 3));
        let about = present::tuning::about_heights(self.geometry);
        let head = format!("Worst bump steer per wheel ({who}){about}: {before} -> {after} deg");
        writeln!(out, "\n{}", wrapped("", &head))?;
        if side.is_less_flat_on_paper(self.found.run.choice) {
            writeln!(out, "{}", wrapped("  ", present::LESS_FLAT_ON_PAPER))?;
        }
        if best.stays() {
            writeln!(out, "{}", wrapped("  ", present::ALREADY_TUNED))?;
        } else if tells(Detail::Moves) && !self.tells_moves_in_short(left_out) {
            self.moves(out, best)?;
        }
        if tells(Detail::Lengths) && !self.tells_moves_in_short(left_out) {
            self.new_lengths(out, best)?;
        }
        if tells(Detail::Settings) {
            self.settings(out, side, best)?;
        }
        self.targets(out, best)?;
        self.held_back(out, side, best, tells(Detail::Rooms))?;
        if tells(Detail::Ends) {
            self.at_ends(out, side, best)?;
        }
        self.not_held(out, side, left_out)?;
        if tells(Detail::Others) {
            self.others(out, side)?;
        }
        if tells(Detail::Strongest) { self.what_matters(out, found) } else { Ok(()) }
    }

    fn others(&self, out: &mut String, side: &TunedSide) -> std::fmt::Result {
        let others = side.others(self.found.run.choice);
        let files: Vec<String> = (0..others.len()).map(other_name).collect();
        let told = present::tuning::other_answers(self.lengths(), &others, &files, &self.found.odds.others);
        told.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))
    }

    /// Every answer in the same words: of each wheel, and of the car.
    fn once_built(&self, out: &mut String) -> std::fmt::Result {
        let sides: Vec<Side> = self.found.sides.iter().map(|found| found.tuned.side).collect();
        let lets_go = self.lets_go();
        let passes = match () {
            () if self.geometry.limits.is_empty() => String::new(),
            () if lets_go => format!("{:>12}{:>12}", "all limits", "kept limits"),
            () => format!("{:>20}", "chance yours passes"),
        };
        let built = if sides.len() > 1 { "Once built, left/right" } else { "Once built" };
        let below =
            if lets_go { format!("{:>17}", "9 of 10 wheels") } else { format!("{:>21}", "9 of 10 wheels below") };
        let head = format!("  {built:<28}{:>9}{below}{passes}", "on paper");
        writeln!(out, "{}", head.trim_end())?;
        let flattest = if self.geometry.targets.list.is_empty() { "flattest" } else { "nearest the targets" };
        let is_one = self.found.is_flattest_forgiving();
        let forgiving = self.found.odds.most_forgiving.as_ref();
        let answers =
            [(flattest, self.found.odds.flattest.as_ref()), ("most forgiving", forgiving.filter(|_| !is_one))];
        for (name, odds) in answers.into_iter().filter_map(|(name, odds)| Some((name, odds?))) {
            writeln!(out, "{}", odds_row(name, odds, &sides, lets_go))?;
        }
        let (written, other) = match self.found.odds.written {
            _ if is_one && forgiving.is_some() => (flattest, ", which forgives most too"),
            Choice::MostForgiving => ("most forgiving", "; see --flattest"),
            Choice::Flattest => (flattest, ""),
        };
        let odds = self.found.odds.written();
        let Some(cars) = odds.map(|odds| odds.cars) else {
            let bind = self.found.car.judged.heave.binds.first().map(|bind| present::bind(self.lengths(), bind));
            let why = bind.unwrap_or_else(|| "the tuned car cannot be moved through its travel".to_owned());
            let note = format!("No car was built, for {why}. In tuned.toml: {written}{other}.");
            return writeln!(out, "{}", wrapped("    ", &note));
        };
        let inside = odds.filter(|odds| odds.chance.share.is_some()).map(|odds| weld_study::inside(odds.chance.limits));
        let kept = odds.and_then(|odds| odds.kept).map(|kept| kept.limits.checked);
        let but = match kept {
            None => String::new(),
            Some(1) => ", or the one that can be kept".to_owned(),
            Some(kept) => format!(", or the {kept} that can be kept"),
        };
        let passes = inside.map_or_else(String::new, |inside| format!(", both wheels {inside}{but}"));
        let about = present::tuning::about_heights(self.geometry);
        let stopped =
            self.found.cars_stopped_at().map(|cars| format!("Stopped early: {cars} of {} cars. ", self.found.run.cars));
        let stopped = stopped.unwrap_or_default();
        let note = format!("{stopped}{cars} cars ({}){about}{passes}. In tuned.toml: {written}{other}.", self.errors());
        writeln!(out, "{}", wrapped("    ", &note))
    }

    /// Some limits were let go, so that cars are told by the others too.
    fn lets_go(&self) -> bool {
        self.found.odds.written().is_some_and(|odds| odds.kept.is_some())
    }

    fn errors(&self) -> String {
        let source = ErrorSource::of_file(self.geometry.weld.as_ref());
        words::errors(self.lengths(), &source, self.geometry)
    }

    /// What keeps the answer from being better: ends of rooms with what more room buys, and limits that it stands at.
    fn held_back(&self, out: &mut String, side: &TunedSide, best: &Answer, tells_rooms: bool) -> std::fmt::Result {
        let lengths = self.lengths();
        let held = if tells_rooms { present::tuning::held_back(self.geometry, best) } else { Vec::new() };
        let told = held.into_iter().map(|held| {
            let buys = present::tuning::room_buys(lengths, held);
            let end = present::tuning::named_end(self.geometry, side.side, &held.variable, held.at);
            ((words::unit(lengths, &held.variable), held.subject, buys.is_some()), (end, buys))
        });
        for ((unit, subject, is_priced), held) in words::gathered(told) {
            let (ends, gains): (Vec<_>, Vec<_>) = held.into_iter().unzip();
            let gains: Vec<String> = gains.into_iter().flatten().collect();
            let betters = if subject == ResidualOf::Built { "raises" } else { "improves" };
            let (ends, subject) = (ends.join("; "), words::subject(subject));
            let sentence = match is_priced {
                true => format!("one more {unit} {betters} {subject} by about {}.", words::listed(&gains)),
                // So much of it that a whole unit cannot be told from its first part.
                false => format!("more of it {betters} {subject}."),
            };
            writeln!(out, "{}", wrapped("  ", &format!("Held back by its room: {ends}: {sentence}")))?;
        }
        for sentence in present::tuning::at_limits(best) {
            writeln!(out, "{}", wrapped("  ", &sentence))?;
        }
        if best.is_pulled_apart() {
            writeln!(out, "  No room or limit is in the way: the targets pull against each other.")?;
        }
        Ok(())
    }

    /// In one line, what uses all of its room, whether more would gain or not.
    fn at_ends(&self, out: &mut String, side: &TunedSide, best: &Answer) -> std::fmt::Result {
        // What holds the answer back was told above, with what more room buys.
        let held = present::tuning::held_back(self.geometry, best);
        let told = |kind: &VariableKind| held.iter().any(|held| held.variable == *kind);
        let ends: Vec<_> = best.at_ends.iter().filter(|(kind, _)| !told(kind)).collect();
        let told = present::tuning::at_ends(self.geometry, side.side, &ends, MAX_ENDS);
        told.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))
    }

    /// Parts that stay too near whatever is moved, and limits of the axle beside a wheel that binds.
    fn not_held(&self, out: &mut String, side: &TunedSide, left_out: &[Detail]) -> std::fmt::Result {
        if let Some(bind) = &side.other_binds {
            let of_axle: Vec<&str> = Quantity::limited(Whose::Axle)
                .filter(|&quantity| self.geometry.limit(quantity, side.side).is_some())
                .map(Quantity::name)
                .collect();
            let bind = present::bind(self.lengths(), bind);
            let sentence = format!("Not held: {}, of the axle, for {bind}.", of_axle.join(", "));
            if !of_axle.is_empty() {
                writeln!(out, "{}", wrapped("  ", &sentence))?;
            }
        }
        let is_only = side.given_up.len() == 1;
        let given_up =
            side.given_up.iter().map(|of| present::cannot_be_kept(self.geometry, side.side, of, is_only)).collect();
        let choice = self.found.run.choice;
        let doubted = |what: &str, doubt: &Doubt| present::tuning::doubted(self.geometry, side.side, what, doubt);
        let (of_this, of_other) = (side.doubts_of(choice), side.doubts_of_first_other(choice));
        let both = format!("this answer and {}", other_name(0));
        let own = of_this.iter().map(|doubt| {
            let what = if of_other.contains(doubt) { &both } else { "this answer" };
            doubted(what, doubt)
        });
        let other = of_other.iter().filter(|doubt| !of_this.contains(doubt));
        let doubts = own.chain(other.map(|doubt| doubted(&other_name(0), doubt))).collect();
        let too_near = side.uncleared.iter().map(|of| present::tuning::too_near(self.geometry, of)).collect();
        let lists: [Vec<String>; 3] = [given_up, doubts, too_near];
        lists.into_iter().try_for_each(|list| listed(out, list, left_out))
    }

    /// The coordinate that matters most; the next ones, those that hardly matter and the cure by one bracket are in the summary, and in `sweep`.
    fn what_matters(&self, out: &mut String, found: &SideFindings) -> std::fmt::Result {
        let corner = self.geometry.corner(found.tuned.side);
        let name = |Strength { coordinate: c, .. }: &Strength| {
            format!("{} {}", words::pickup(corner, c.link, c.end), c.axis.line())
        };
        if found.sensitivity.is_some() {
            let strong = |s: &Strength| format!("{} ({})", name(s), self.lengths().deg_per_length(s.deg_per_mm));
            let Some(most) = found.most.first().map(strong) else { return Ok(()) };
            let of_car = if self.found.drawn.is_some() { words::stage(self.geometry) } else { "as tuned" };
            let of_car = words::sentence_start(of_car);
            writeln!(out, "{}", wrapped("  ", &format!("{of_car}, toe depends most on {most}.")))?;
        }
        Ok(())
    }

    fn limits(&self, out: &mut String, left_out: &[Detail]) -> std::fmt::Result {
        let car = &self.found.car;
        let of = |state: State| car.limits.iter().filter(move |v| v.state == state);
        writeln!(out, "{}", wrapped("", &format!("On the tuned car, {}", present::limit_totals(&car.limit_totals))))?;
        let fails = Quantity::ALL.iter().filter_map(|&quantity| {
            let fails: Vec<&Verdict> = of(State::Fail).filter(|verdict| verdict.quantity == quantity).collect();
            (!fails.is_empty()).then(|| present::broken_limit(self.lengths(), quantity, &fails))
        });
        listed(out, fails.collect(), left_out)?;
        let (other, broken) = self.found.broken_by_other_wheel();
        if !broken.is_empty() {
            writeln!(out, "{}", wrapped("  ", &present::tuning::other_wheel_breaks(other, &broken)))?;
        }
        let changed = self.found.drawn.as_ref().filter(|_| !left_out.contains(&Detail::Changes)).and_then(|drawn| {
            let sides = self.geometry.told_sides(&car.sides);
            present::changed_much_without_limit(self.lengths(), [&drawn.verdicts, &car.limits], sides)
        });
        changed.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))?;
        let without_body = car.heave.values().next().map_or(&[][..], |toe| &toe.clearance.without_body);
        let open = present::left_unchecked(&car.limits, without_body, left_out.contains(&Detail::Unchecked));
        open.iter().try_for_each(|sentence| writeln!(out, "{}", wrapped("  ", sentence)))
    }

    /// Said once when the answer is flatter than a shop can measure and weld.
    fn flatter_than_welded(&self, out: &mut String) -> std::fmt::Result {
        let flatter = self.found.flatter_than_built();
        let of_one = |(side, worst): &(Side, WorstOfWheel)| {
            let who = if self.found.sides.len() == 1 { "one".to_owned() } else { format!("the {}", side.name()) };
            let [low, high] = [worst.band_deg.low, worst.band_deg.high].map(|deg| rounded(deg, 3));
            format!("of {who} wheel comes out between {low} and {high} deg")
        };
        let wheels: Vec<String> = flatter.iter().map(of_one).collect();
        if wheels.is_empty() {
            return Ok(());
        }
        let sentence = format!(
            "This is flatter than can be measured and welded: the worst {}, 19 times of 20. See `hubtrace tolerance`.",
            wheels.join(", that ")
        );
        writeln!(out, "{}", wrapped("", &sentence))
    }
}

/// One answer, of the wheels of these sides and of the car, once it is built.
fn odds_row(name: &str, odds: &BuildOdds, sides: &[Side], lets_go: bool) -> String {
    let of_wheels = |deg: fn(&WorstOfWheel) -> f64| {
        let wheels = sides.iter().map(|&side| rounded(deg(&odds.worst[side]), 3));
        format!("{} deg", wheels.collect::<Vec<_>>().join("/"))
    };
    let (drawn, most) = (of_wheels(|of| of.as_drawn_deg), of_wheels(|of| of.p90_deg));
    let share = |share: Option<Proportion>| share.map(words::proportion).unwrap_or_default();
    let (all, kept) = (share(odds.chance.share), share(odds.kept.and_then(|kept| kept.share)));
    let passes = if lets_go { format!("{all:>12}{kept:>12}") } else { format!("{all:>20}") };
    let most = if lets_go { format!("{most:>17}") } else { format!("{most:>21}") };
    format!("    {name:<19}{drawn:>16}{most}{passes}").trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::{Answer, Choice, GeometryFile, LengthFormat, Screen, TuneFindings, present};
    use crate::geometry::{Geometry, Side};
    use crate::studies::tolerance::Watch;
    use crate::studies::tune::{SearchOptions, TuneRun, tune, tuned_geometry};

    /// What is told of the demo car once it is built, of its flattest answer alone or of that as the most forgiving one too.
    fn told(forgives_most: bool) -> String {
        let text = include_str!("../../../../geometries/first-cut.toml");
        let file = GeometryFile::parse("rear.toml", text).expect("a sound car");
        let (geometry, as_written) = (&file.geometry, &|car: &Geometry| Some(car.clone()));
        let options = SearchOptions { starts: 1, ..SearchOptions::default() };
        let mut tuned = tune(geometry, &[Side::Left], &options, as_written).expect("an answer");
        tuned[0].forgiving = forgives_most.then(|| tuned[0].answers[0].clone());
        let after = tuned_geometry(geometry, &[(Side::Left, &tuned[0].answers[0])]);
        let run = TuneRun { seed: 1, starts: 1, choice: Choice::MostForgiving, stopped_early: false, cars: 100 };
        let found = TuneFindings::of(geometry, tuned, (&after, as_written), &[Side::Left], run, Watch::NONE)
            .expect("a sound design");
        let mut told = String::new();
        Screen { file: &file, geometry, found: &found }.once_built(&mut told).expect("text");
        told
    }

    /// The chance is told of the only answer too.
    #[test]
    fn an_answer_without_another_is_told_once_built() {
        let told = told(false);
        assert!(told.contains("chance yours passes") && told.contains("    flattest ") && told.contains('%'), "{told}");
        assert!(told.contains("In tuned.toml: flattest.") && !told.contains("forgiving"), "{told}");
    }

    /// Two names of one answer are no two answers.
    #[test]
    fn the_flattest_answer_that_forgives_most_is_told_once() {
        let told = told(true);
        assert_eq!(told.matches(" deg ").count(), 2, "{told}");
        let note = told.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(note.ends_with("In tuned.toml: flattest, which forgives most too."), "{told}");
    }

    /// An answer that its car does not keep on paper is not offered as if it did.
    #[test]
    fn another_answer_that_breaks_a_limit_says_so() {
        let text = include_str!("../../../../geometries/first-cut.toml");
        let file = GeometryFile::parse("rear.toml", text).expect("a sound car");
        let options = SearchOptions { starts: 1, ..SearchOptions::default() };
        let tuned = tune(&file.geometry, &[Side::Left], &options, &|car| Some(car.clone())).expect("an answer");
        let sound = tuned[0].answers[0].clone();
        let broken = Answer { limits_hold: false, ..sound.clone() };
        let files = ["tuned-2.toml", "tuned-3.toml"].map(str::to_owned);
        let told = |answers: &[&Answer]| {
            present::tuning::other_answers(LengthFormat(file.geometry.units), answers, &files, &[]).expect("a sentence")
        };
        let one = told(&[&sound]);
        assert!(one.starts_with("Other good answers: ") && !one.contains("breaks"), "{one}");
        let both = told(&[&sound, &broken]);
        let (first, second) = both.split_once("; ").expect("two answers");
        assert!(first.starts_with("Other answers: tuned-2.toml") && !first.contains("breaks"), "{both}");
        assert!(second.ends_with(", breaks a limit on paper)."), "{both}");
    }
}
