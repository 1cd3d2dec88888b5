//! `hubtrace correct`: from gauge readings of the finished car to the few changes that take the bump steer out.

mod instrument;
mod screen;

use std::path::PathBuf;

use clap::Args;

use crate::file::{GeometryFile, ReadError, rewrite_as_built};
use crate::gauge::{GaugeFile, GaugeNoise, GaugeReading, GaugeReadings, Round, RoundsFile, with_round};
use crate::geometry::{Geometry, Interval, PerSide, Side};
use crate::outputs::{
    CarShown, ChartSource, CorrectSummary, correction_charts, correction_csv, correction_curve_csv, correction_sheet,
    sha256_hex, summary_json,
};
use crate::present::LengthFormat;
use crate::present::correct::beyond_travel;
use crate::studies::correct::{CorrectFindings, CorrectRequest, NotCorrected};
use crate::studies::{Curves, JudgedCar, Rig};

use super::failure::Failure;
use super::options::{StudyArgs, note_read_in_mm, results};
use super::{Outcome, Terminal, load};

/// Find where the pickups of the finished car really are, from gauge readings, and what to shim and turn
#[derive(Debug, Args)]
pub struct CorrectArgs {
    /// Geometry file of the car as drawn
    file: PathBuf,
    /// Gauge readings of the finished car: CSV with the columns side, bump_mm and toe_deg, or those of the instrument
    readings: PathBuf,
    /// The rounds before this one: `rounds.toml` of the last one, edited where you did otherwise
    #[arg(long, value_name = "FILE")]
    rounds: Option<PathBuf>,
    #[command(flatten)]
    study: StudyArgs,
    /// Seed of the cars that fit the readings; the same seed gives the same answer
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
    #[command(flatten)]
    instrument: instrument::InstrumentArgs,
    #[command(flatten)]
    noise: instrument::NoiseArgs,
}

pub fn run(args: &CorrectArgs, terminal: &mut Terminal<'_>) -> Result<Outcome, Failure> {
    let quiet = args.study.output.quiet;
    let file = load::geometry(Some(&args.file), quiet, terminal)?;
    load::note_doubts(&file, Some(&args.file), quiet, terminal);
    let car = &file.geometry;
    let ([plate, wall], [dial, spot, zero]) = (args.instrument.lengths(), args.noise.lengths());
    note_read_in_mm(car.units, &[plate, wall, dial, spot, zero], quiet, terminal);
    let rounds = args.rounds.as_deref().map(|path| RoundsFile::read(path, car)).transpose();
    let (rounds, read) = both(rounds, GaugeFile::read(&args.readings, args.instrument.instrument()))?;
    let gauged = Gauged::new(car, read, rounds);
    if let Some(round) = gauged.recorded_as() {
        let what = format!("{} has the readings that are round {round} already", gauged.read.source);
        let advice = "make the changes of that round, gauge the car again and give those readings; leave --rounds out to \
                      reckon the first round anew";
        return Err(Failure::input(what, advice));
    }
    let sides = args.study.side.sides();
    let request = gauged.request(args.noise.noise(), args.seed);
    let found = CorrectFindings::of(car, &request);
    if !sides.iter().any(|&side| found.wheels[side].is_ok()) {
        return outcome(&found, &gauged.read, car, sides);
    }

    let input_sha256 = sha256_hex(file.text.as_bytes());
    let beyond: Vec<usize> = gauged.beyond.iter().map(|reading| reading.line).collect();
    let round = request.earlier.len() + 1;
    let summary = CorrectSummary::of(&found, &gauged.read, &beyond, round);
    let summary = summary_json(&summary, &input_sha256).map_err(Failure::unwritable)?;
    let given = [&args.file, &args.readings].into_iter().chain(&args.rounds).map(PathBuf::as_path);
    let mut folder = results("correct", given, &file.source, &file.text);
    folder.add("correction.csv", correction_csv(&found, sides).map_err(Failure::unwritable)?);
    folder.add("correction-curve.csv", correction_curve_csv(&found, sides).map_err(Failure::unwritable)?);
    folder.add(
        "correction-sheet.html",
        correction_sheet(&found, car, sides, (&file.source, &input_sha256), (&gauged.read.source, round)),
    );
    folder.add("rounds.toml", gauged.with_this_round(car, &found, &request));
    let source = ChartSource { file: &file.source, input_sha256: &input_sha256, car: CarShown::Corrected };
    let rig = Rig::new(car).map_err(|singular| load::singular(&file, singular.side))?;
    let drawn = JudgedCar::of(rig);
    let curves = Curves::of(&drawn.rig);
    let charts = correction_charts(&found, (&drawn, &curves), sides, source).map_err(Failure::unwritable)?;
    charts.into_iter().for_each(|(name, svg)| folder.add(name, svg));
    folder.add("summary.json", summary.as_str());
    let as_built = as_built(&file, &gauged.read.source, &found);
    if let Some(Ok(text)) = &as_built {
        folder.add("as-built.toml", text.as_str());
    }
    let written = folder.write(&args.study.output.out, args.study.output.force)?;

    let unwritten = as_built.and_then(Result::err);
    let screen = screen::Screen { found: &found, file: &file, gauged: &gauged, sides, round, unwritten };
    args.study.output.tell(terminal, &summary, || screen.text(&written))?;
    outcome(&found, &gauged.read, car, sides)
}

/// Both files, or every mistake in both.
fn both<A, B>(a: Result<A, ReadError>, b: Result<B, ReadError>) -> Result<(A, B), Failure> {
    match (a, b) {
        (Ok(a), Ok(b)) => Ok((a, b)),
        (a, b) => {
            let errors = [a.err(), b.err()].into_iter().flatten();
            Err(Failure::several(errors.map(Failure::from)))
        }
    }
}

/// What was read of the car, in this round and before.
struct Gauged {
    read: GaugeFile,
    rounds: Option<RoundsFile>,
    /// Readings of this round without those beyond the travel.
    readings: GaugeReadings,
    beyond: Vec<GaugeReading>,
    earlier: Vec<Round>,
}

impl Gauged {
    fn new(car: &Geometry, read: GaugeFile, rounds: Option<RoundsFile>) -> Self {
        let travel = travel_mm(car);
        let mut readings = read.readings.clone();
        let beyond = readings.take_slips_beyond(travel);
        let mut earlier = rounds.as_ref().map_or_else(Vec::new, |file| file.rounds.clone());
        earlier.iter_mut().for_each(|round| drop(round.readings.take_beyond(travel)));
        Self { read, rounds, readings, beyond, earlier }
    }

    /// The earlier round, counted from 1, of which these are the readings.
    fn recorded_as(&self) -> Option<usize> {
        let is_this = |round: &Round| !round.readings.readings.is_empty() && round.readings.is_same_as(&self.readings);
        self.earlier.iter().position(is_this).map(|index| index + 1)
    }

    fn request(&self, noise: GaugeNoise, seed: u64) -> CorrectRequest {
        CorrectRequest { earlier: self.earlier.clone(), readings: self.readings.clone(), noise, seed }
    }

    /// `rounds.toml` for the next round, with every change that is prescribed now.
    fn with_this_round(&self, car: &Geometry, found: &CorrectFindings, request: &CorrectRequest) -> String {
        let changes = PerSide::of(|side| {
            let wheel = found.wheels[side].as_ref();
            wheel.map_or_else(|_| Vec::new(), |wheel| wheel.changes.iter().map(|line| line.change).collect())
        });
        let round = Round { readings: self.readings.clone(), noise: request.noise, changes };
        with_round(self.rounds.as_ref(), &self.read.text, &round, car)
    }

    /// Readings that lie beyond the travel, each at its line.
    fn beyond_travel(&self, car: &Geometry) -> Vec<String> {
        let lengths = LengthFormat(car.units);
        let told = |reading| beyond_travel(lengths, reading, travel_mm(car));
        self.beyond.iter().map(|reading| format!("line {}: {}", reading.line, told(reading))).collect()
    }
}

fn travel_mm(car: &Geometry) -> Interval {
    Interval { low: -car.travel.droop_mm, high: car.travel.bump_mm }
}

/// The file with the pickups where they most likely are; `None` when nothing is known of either wheel.
fn as_built(file: &GeometryFile, readings: &str, found: &CorrectFindings) -> Option<Result<String, String>> {
    let mut built = file.geometry.clone();
    for side in Side::BOTH {
        if let Ok(wheel) = &found.wheels[side] {
            *built.corner_mut(side) = (*wheel.as_built).clone();
            built.mirrored = false;
        }
    }
    let comment = format!(
        "As built: the pickups where `hubtrace correct` puts them by the readings of {readings}, most likely, not exactly;\n\
         how well each is known stands in summary.json. For the next round give the file of the drawing, not this one."
    );
    let text = rewrite_as_built(file, &built, &comment);
    (!built.mirrored || !file.geometry.mirrored)
        .then(|| text.map_err(|error| format!("as-built.toml was not written: {error}; {}", error.advice())))
}

/// Inside the limits or not, of the wheels that could be corrected; a wheel that could not is a failure, unless there is nothing of
/// it to read and the other one is there.
fn outcome(found: &CorrectFindings, read: &GaugeFile, car: &Geometry, sides: &[Side]) -> Result<Outcome, Failure> {
    let any = sides.iter().any(|&side| found.wheels[side].is_ok());
    let errors = sides.iter().filter_map(|&side| found.wheels[side].as_ref().err());
    let mut serious: Vec<&NotCorrected> = Vec::new();
    for why in errors.filter(|why| !(any && matches!(why, NotCorrected::NoReadings { .. }))) {
        // Readings of both wheels together are wrong once.
        if !serious.contains(&why) {
            serious.push(why);
        }
    }
    if !serious.is_empty() {
        return Err(Failure::several(serious.into_iter().map(|why| failure(why, read))));
    }
    Ok(if found.breaks_a_limit(car, sides) { Outcome::LimitBroken } else { Outcome::InsideLimits })
}

fn failure(why: &NotCorrected, read: &GaugeFile) -> Failure {
    match why {
        NotCorrected::Singular { .. } | NotCorrected::Binds { .. } | NotCorrected::NotMoving { .. } => {
            Failure::mechanism(why, why.advice())
        }
        _ => match why.lines().first() {
            Some(&line) => read.problem_at(line, why.to_string(), why.advice()).into(),
            None => Failure::input(why, why.advice()),
        },
    }
}
