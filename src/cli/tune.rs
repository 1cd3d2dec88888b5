//! `hubtrace tune`: moves what is free until the wheel does not steer.

mod screen;

use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};

use clap::Args;

use crate::file::{GeometryFile, RewriteError, lacking_right_lines, rewrite};
use crate::geometry::{Geometry, Side};
use crate::outputs::{
    CarShown, ChartSource, TuneSummary, before_after, moves_csv, rows_csv, sensitivity_csv, sha256_hex, summary_json,
};
use crate::present;
use crate::studies::Sensitivity;
use crate::studies::tolerance::{USUAL_CARS, Watch};
use crate::studies::tune::{
    Answer, AsWritten, Choice, Part, SearchOptions, TuneError, TuneFindings, TuneRun, TunedSide, all_free_moved,
    other_answers, tune, tuned_geometry,
};

use super::failure::Failure;
use super::interrupts::Interrupts;
use super::options::{StudyArgs, TravelArgs};
use super::{Outcome, Terminal, bind_failures, load, progress};

/// Move what the file leaves free until the wheel does not steer in bump and droop, limits held
#[derive(Debug, Args)]
pub struct TuneArgs {
    /// Geometry file; the built-in demo car when none is given
    pub file: Option<PathBuf>,
    #[command(flatten)]
    pub study: StudyArgs,
    /// Seed of every other start, the rest being the same for all; the same seed gives the same answer
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub seed: u64,
    /// How many places to start from, the drawn car among them
    #[arg(long, value_name = "N", default_value_t = 8, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub starts: u32,
    /// Write the answer with the least bump steer on paper, in place of the one that forgives the weld error best
    #[arg(long)]
    pub flattest: bool,
    /// How many cars to build for the chance that yours passes; ten thousand make it sure to one per cent
    #[arg(long, value_name = "N", default_value_t = USUAL_CARS, value_parser = clap::value_parser!(u32).range(2..=2_000_000))]
    pub cars: u32,
    #[command(flatten)]
    pub travel: TravelArgs,
}

pub fn run(args: &TuneArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let file = load::geometry_for_tuning(args.file.as_deref(), args.study.output.quiet, terminal)?;
    load::note_doubts(&file, args.file.as_deref(), args.study.output.quiet, terminal);
    load::note_left_out(&file, args.file.as_deref(), args.study.output.quiet, terminal);
    let mut folder = args.study.results("tune", args.file.as_deref(), &file);
    folder.refuse_input(&args.study.output.out, &tuned_names())?;
    let geometry = args.travel.over(&file.geometry, args.study.output.quiet, terminal)?;
    let sides = args.study.side.sides();
    refuse_without_places(&file, &geometry, sides)?;
    let interrupts = Interrupts::from_now(terminal.owns_process);
    let as_written = |changed: &Geometry| {
        let read = GeometryFile::parse("tuned.toml", &rewrite(&file, changed).ok()?).ok()?;
        Some(Geometry { travel: geometry.travel.clone(), tuned: changed.tuned, ..read.geometry })
    };
    let tuned = searched((&file, &geometry), args, &interrupts, &as_written, terminal)?;

    let choice = args.choice();
    let best: Vec<(Side, &Answer)> = tuned.iter().map(|side| (side.side, side.chosen(choice))).collect();
    let text = rewritten(&file, &tuned_geometry(&geometry, &best))?;
    let reread = GeometryFile::parse("tuned.toml", &text)?;
    let after = Geometry { travel: geometry.travel.clone(), tuned: true, ..reread.geometry };
    let run = TuneRun {
        seed: args.seed,
        starts: args.starts as usize,
        choice,
        cars: args.cars as usize,
        stopped_early: interrupts.came(),
    };
    let others = others(&file, &geometry, &tuned, choice)?;
    let built = AtomicUsize::new(0);
    let watch = Watch {
        stop: &|| interrupts.came(),
        built: &|few| {
            built.fetch_add(few, Ordering::Relaxed);
        },
    };
    let so_far = || format!("building: {} cars and wheels done (Ctrl-C keeps these)", built.load(Ordering::Relaxed));
    let count = || TuneFindings::of(&geometry, tuned, (&after, &as_written), sides, run, watch);
    let found = progress::showing(terminal, args.study.output.quiet, so_far, count)
        .map_err(|singular| load::singular(&file, singular.side))?;
    let input_sha256 = sha256_hex(file.text.as_bytes());
    let summary = summary_json(&TuneSummary::of(&found, &geometry), &input_sha256).map_err(Failure::unwritable)?;

    folder.add("tuned.toml", text);
    others.into_iter().for_each(|(name, text)| folder.add(name, text));
    let moves: Vec<_> = found.sides.iter().map(|side| (side.tuned.side, &found.chosen(side).moves[..])).collect();
    folder.add("moves.csv", moves_csv(&moves).map_err(Failure::unwritable)?);
    let car = &found.car.judged;
    folder.add("tuned-heave.csv", rows_csv(&car.heave.rows, sides).map_err(Failure::unwritable)?);
    let corner = |sensitivity: &Sensitivity| found.reference().rig.wheel(sensitivity.side).corner;
    let effects = found.sides.iter().filter_map(|side| side.sensitivity.as_ref());
    let effects: Vec<_> = effects.map(|sensitivity| (corner(sensitivity), sensitivity)).collect();
    folder.add("sensitivity.csv", sensitivity_csv(&effects).map_err(Failure::unwritable)?);
    let source = ChartSource { file: &file.source, input_sha256: &input_sha256, car: CarShown::BeforeAndAfterTuning };
    let before_after = before_after(&found, source).map_err(Failure::unwritable)?;
    folder.add("toe-before-after.svg", before_after);
    folder.add("summary.json", summary.as_str());
    let written = folder.write(&args.study.output.out, args.study.output.force)?;

    let screen = screen::Screen { file: &file, geometry: &geometry, found: &found };
    args.study.output.tell(terminal, &summary, || screen.text(&written))?;
    let binds = bind_failures(&found.car, "tuned-heave.csv");
    if binds.is_empty() { Ok(Outcome::of(car, sides)) } else { Err(Failure::several(binds.into_iter())) }
}

impl TuneArgs {
    fn choice(&self) -> Choice {
        if self.flattest { Choice::Flattest } else { Choice::MostForgiving }
    }
}

/// Every point of the right side that an answer may move has numbers of its own in the file.
fn refuse_without_places(file: &GeometryFile, geometry: &Geometry, sides: &[Side]) -> Result<(), Failure> {
    let moved = all_free_moved(geometry, sides);
    let Err(RewriteError::NoPlace { points, side: Side::Right }) = rewrite(file, &moved) else { return Ok(()) };
    let lines = lacking_right_lines(file, &moved);
    let (what, advice) = present::tuning::right_side_lacks(&points, lines.as_deref());
    Err(file.problem_at_key(Side::Left, &["right"], &what, &advice).into())
}

/// The search, with progress on a terminal and a clean end on Ctrl-C.
fn searched(
    (file, geometry): (&GeometryFile, &Geometry),
    args: &TuneArgs,
    interrupts: &Interrupts,
    as_written: AsWritten,
    terminal: &mut Terminal<'_>,
) -> Result<Vec<TunedSide>, Failure> {
    let done = AtomicUsize::new(0);
    let count = || {
        done.fetch_add(1, Ordering::Relaxed);
    };
    let options = SearchOptions {
        seed: args.seed,
        starts: args.starts as usize,
        choice: args.choice(),
        stop: &|| interrupts.came(),
        progress: &count,
    };
    // More than the starts: each side has its own, and the most forgiving answer takes some more.
    let so_far = || format!("tuning: {} searches done (Ctrl-C keeps the best so far)", done.load(Ordering::Relaxed));
    let search = || tune(geometry, args.study.side.sides(), &options, as_written);
    let tuned = progress::showing(terminal, args.study.output.quiet, so_far, search);
    tuned.map_err(|error| failure(file, geometry, &error))
}

fn failure(file: &GeometryFile, geometry: &Geometry, error: &TuneError) -> Failure {
    let (what, advice) = present::tuning::not_tuned(geometry, error);
    match error {
        TuneError::NothingFree => file.problem_at_links(Side::Left, &what, &advice).into(),
        TuneError::ChangesNothing { side, variable } => match variable.part() {
            Part::Link(link) => {
                file.problem_at_link(*side, &geometry.corner(*side).links[link].name, "free", &what, &advice)
            }
            Part::Wheel => file.problem_at_key(*side, &["wheel", "clock"], &what, &advice),
            Part::Spring => file.problem_at_key(*side, &["spring", "free"], &what, &advice),
            Part::Halfshaft => file.problem_at_key(*side, &["halfshaft", "free"], &what, &advice),
        }
        .into(),
        TuneError::NotMeasurable { quantity, .. } => {
            let key = quantity.definition().target.map_or("", |target| target.key);
            file.problem_at_key(Side::Left, &["targets", key], &what, &advice).into()
        }
        TuneError::NoRoom { link } => file.problem_at_link(Side::Left, link, "name", &what, &advice).into(),
        TuneError::NoValue { .. } | TuneError::OtherSideWithoutPickups { .. } => Failure::input(what, advice),
        TuneError::NoStart { .. } | TuneError::BindsAsWritten { .. } => Failure::mechanism(what, advice),
    }
}

fn rewritten(file: &GeometryFile, changed: &Geometry) -> Result<String, Failure> {
    rewrite(file, changed).map_err(|error| Failure::input(&error, error.advice()))
}

/// The other good answers, each as a file of its own.
fn others(
    file: &GeometryFile,
    geometry: &Geometry,
    tuned: &[TunedSide],
    choice: Choice,
) -> Result<Vec<(String, String)>, Failure> {
    let text = |(rank, answers): (usize, Vec<(Side, &Answer)>)| {
        Ok((other_name(rank), rewritten(file, &tuned_geometry(geometry, &answers))?))
    };
    other_answers(tuned, choice).into_iter().enumerate().map(text).collect()
}

/// No search keeps so many answers beside the best.
const MAX_OTHERS: usize = 8;

/// `tuned-2.toml` and on: the best is `tuned.toml`.
fn other_name(rank: usize) -> String {
    format!("tuned-{}.toml", rank + 2)
}

/// What a long search must not find standing in its way: a tuned car never takes the place of its own source.
fn tuned_names() -> Vec<String> {
    std::iter::once("tuned.toml".to_owned()).chain((0..MAX_OTHERS).map(other_name)).collect()
}
