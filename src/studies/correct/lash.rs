//! Readings going up against those coming down: what is loose shows there.

use super::finding::Lash;
use super::in_inches::{from_inches, is_length};
use super::instrument::{Number, Shows, numbers};
use super::refusal::NotCorrected;
use crate::gauge::{GaugeReading, Instrument, Read, ReadSide, Round};
use crate::geometry::Side;
use crate::studies::locate::sum_by_chance;
use crate::studies::tolerance::percentile;

/// Readings this near each other are of one height, mm.
const SAME_HEIGHT_MM: f64 = 0.05;
/// A mean difference of more standard deviations than this is no noise: by chance once in 370.
const LOOSE_SDS: f64 = 3.0;
/// Noise scatters the differences so far no more often than this.
const SCATTERED_SO_OFTEN: f64 = 1e-4;
/// A height that differs by so many more standard deviations than the others is misread ...
const FAR_SDS: f64 = 5.0;
/// ... as long as no larger share of them does: play shows at many heights.
const MISREAD_SHARE: f64 = 0.25;
/// Two readings of one height that are further apart, in standard deviations of their difference, contradict each other.
const CONTRADICT_SDS: f64 = 10.0;

/// Which way a wheel came to the height at which it was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    Up,
    Down,
}

/// A reading of toe with the way that the wheel came.
#[derive(Debug, Clone, Copy)]
struct Reading {
    reading: GaugeReading,
    toe_deg: f64,
    sd_deg: f64,
    /// It stands for a length that was read.
    is_length: bool,
    /// `None` of the first of a session.
    way: Option<Way>,
}

/// Toe that a number stands for, deg, with its standard deviation; the wheel's own travel is left out, which is the same going
/// up and coming down.
fn angle_deg(number: &Number) -> Option<(f64, f64)> {
    let per_deg = match number.shows {
        Shows::Toe => 1.0,
        Shows::Camber => return None,
        Shows::Dials { width_mm } => width_mm * 1_f64.to_radians(),
        Shows::Spot { distance_mm, .. } => distance_mm * 1_f64.to_radians(),
    };
    Some((number.value / per_deg, number.sd / per_deg))
}

fn readings_of(round: &Round, side: ReadSide) -> Vec<Reading> {
    let mut all: Vec<Reading> = Vec::new();
    for reading in round.readings.readings.iter().filter(|reading| reading.side == side) {
        let numbers = numbers(round.readings.instrument, &round.noise, side, reading.read);
        let Some((number, (toe_deg, sd_deg))) = numbers.first().and_then(|number| Some((number, angle_deg(number)?)))
        else {
            continue;
        };
        let before = all.iter().rev().find(|before| before.reading.session == reading.session);
        let way = before.and_then(|before| {
            let by_mm = reading.bump_mm - before.reading.bump_mm;
            match by_mm {
                by_mm if by_mm > SAME_HEIGHT_MM => Some(Way::Up),
                by_mm if by_mm < -SAME_HEIGHT_MM => Some(Way::Down),
                _ => before.way,
            }
        });
        all.push(Reading { reading: *reading, toe_deg, sd_deg, is_length: is_length(number.shows), way });
    }
    all
}

fn is_same_height(a: &Reading, b: &Reading) -> bool {
    a.reading.session == b.reading.session && (a.reading.bump_mm - b.reading.bump_mm).abs() < SAME_HEIGHT_MM
}

/// Toe going up less toe coming down at the same heights; `None` when no height was read both ways.
pub(super) fn lash(round: &Round, side: Side) -> Option<Lash> {
    let readings = readings_of(round, ReadSide::One(side));
    let found = lash_of(&readings)?;
    let in_inches = if found.is_more_than_noise() { in_inches(&readings) } else { Vec::new() };
    Some(Lash { in_inches, ..found })
}

/// The readings as they would be without play: of each wheel those going up and those coming down moved halfway towards each other.
pub(super) fn without_play(round: &Round) -> Round {
    let mut steady = round.clone();
    for side in Side::BOTH.map(ReadSide::One) {
        let readings = readings_of(round, side);
        let Some(play_deg) = lash_of(&readings).map(|lash| lash.up_less_down_deg) else { continue };
        for Reading { reading, way, .. } in readings {
            let off_deg = match way {
                Some(Way::Up) => 0.5 * play_deg,
                Some(Way::Down) => -0.5 * play_deg,
                None => 0.0,
            };
            let read = less(round.readings.instrument, reading.read, off_deg.to_radians());
            let here = steady.readings.readings.iter_mut().filter(|other| other.line == reading.line);
            here.for_each(|other| other.read = read);
        }
    }
    steady
}

/// What would have been read with so much less toe, rad.
fn less(instrument: Instrument, read: Read, toe_rad: f64) -> Read {
    let by_rad = toe_rad;
    match (read, instrument) {
        (Read::Angles { toe_rad, camber_rad }, _) => Read::Angles { toe_rad: toe_rad - by_rad, camber_rad },
        (Read::Dials { front_mm, rear_mm }, Instrument::Plate { width_mm, .. }) => {
            Read::Dials { front_mm, rear_mm: rear_mm - width_mm * by_rad }
        }
        (Read::Spot { wall_mm }, Instrument::Wall { distance_mm, .. }) => {
            Read::Spot { wall_mm: wall_mm - distance_mm * by_rad }
        }
        (read, _) => read,
    }
}

/// Lines of one way, all in a row, that agree with those of the other way as inches; of dials and a spot.
fn in_inches(readings: &[Reading]) -> Vec<usize> {
    let as_inches = |way: Way| -> Vec<Reading> {
        let is_meant = |reading: &Reading| reading.way == Some(way) && reading.is_length;
        let turned = |reading: &Reading| Reading { toe_deg: from_inches(reading.toe_deg), ..*reading };
        readings.iter().map(|reading| if is_meant(reading) { turned(reading) } else { *reading }).collect()
    };
    let lines = |way: Way| -> Vec<usize> {
        readings.iter().filter(|reading| reading.way == Some(way)).map(|reading| reading.reading.line).collect()
    };
    let agree = |way: &Way| lash_of(&as_inches(*way)).is_some_and(|lash| !lash.is_more_than_noise());
    let is_one_run = |lines: &Vec<usize>| {
        let inside = |line: usize| lines.first().zip(lines.last()).is_some_and(|(a, b)| (*a..=*b).contains(&line));
        readings.iter().filter(|reading| inside(reading.reading.line)).count() == lines.len()
    };
    let has_lengths = readings.iter().all(|reading| reading.is_length);
    let ways = [Way::Up, Way::Down].into_iter().filter(|_| has_lengths);
    ways.filter(agree).map(lines).find(is_one_run).unwrap_or_default()
}

fn lash_of(readings: &[Reading]) -> Option<Lash> {
    let mut differences: Vec<Difference> = Vec::new();
    for (index, first) in readings.iter().enumerate() {
        if readings[..index].iter().any(|earlier| is_same_height(earlier, first)) {
            continue;
        }
        let mean = |way: Way| {
            let those = readings.iter().filter(|other| is_same_height(first, other) && other.way == Some(way));
            let toes: Vec<f64> = those.map(|reading| reading.toe_deg).collect();
            (!toes.is_empty())
                .then(|| (toes.iter().sum::<f64>() / toes.len() as f64, first.sd_deg.powi(2) / toes.len() as f64))
        };
        if let (Some((up_deg, up)), Some((down_deg, down))) = (mean(Way::Up), mean(Way::Down)) {
            let (deg, variance, bump_mm) = (up_deg - down_deg, up + down, first.reading.bump_mm);
            differences.push(Difference { deg, variance, bump_mm });
        }
    }
    let of_play = without_misread(&differences);
    let heights = of_play.len();
    let mean = |of: fn(&Difference) -> f64| of_play.iter().map(of).sum::<f64>() / heights as f64;
    let up_less_down_deg = mean(|one| one.deg);
    let sd_deg = (mean(|one| one.variance) / heights as f64).sqrt();
    let off_deg = |one: &Difference| one.deg - up_less_down_deg;
    let widest = differences.iter().max_by(|a, b| off_deg(a).abs().total_cmp(&off_deg(b).abs()))?;
    let scatter: f64 = differences.iter().map(|one| off_deg(one).powi(2) / one.variance).sum();
    Some(Lash {
        up_less_down_deg,
        sd_deg,
        heights,
        is_loose: up_less_down_deg.abs() > LOOSE_SDS * sd_deg,
        widest_deg: off_deg(widest),
        widest_at_bump_mm: widest.bump_mm,
        is_scattered: heights > 1 && scatter > sum_by_chance(differences.len() - 1, SCATTERED_SO_OFTEN),
        in_inches: Vec::new(),
    })
}

/// Without the few heights that are far off the others: one reading that was mistyped is no play.
fn without_misread(differences: &[Difference]) -> Vec<Difference> {
    let mut degs: Vec<f64> = differences.iter().map(|one| one.deg).collect();
    let Some(middle_deg) = percentile(&mut degs, 0.5) else { return Vec::new() };
    let is_near = |one: &&Difference| (one.deg - middle_deg).abs() <= FAR_SDS * one.variance.sqrt();
    let near: Vec<Difference> = differences.iter().filter(is_near).copied().collect();
    let are_few = (differences.len() - near.len()) as f64 <= MISREAD_SHARE * differences.len() as f64;
    if are_few { near } else { differences.to_vec() }
}

/// Of one height: going up less coming down.
#[derive(Debug, Clone, Copy)]
struct Difference {
    deg: f64,
    /// By the noise of the gauge, deg².
    variance: f64,
    bump_mm: f64,
}

/// Two readings of one height that cannot both be right.
pub(super) fn contradiction(round: &Round, side: ReadSide) -> Option<NotCorrected> {
    let readings = readings_of(round, side);
    let mut worst: Option<([usize; 2], f64)> = None;
    for (index, a) in readings.iter().enumerate() {
        for b in readings[..index].iter().filter(|b| is_same_height(a, b)) {
            let sds = (a.toe_deg - b.toe_deg).abs() / a.sd_deg.hypot(b.sd_deg);
            if sds > worst.map_or(CONTRADICT_SDS, |worst| worst.1) {
                worst = Some(([b.reading.line, a.reading.line], sds));
            }
        }
    }
    worst.map(|(lines, sds)| NotCorrected::Contradiction { lines, sds })
}
