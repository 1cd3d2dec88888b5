//! What is told of gauge readings: with what they were taken, what they tell, and which of them do not fit.

use crate::gauge::{GaugeReading, Instrument};
use crate::geometry::Interval;
use crate::present::length::{LengthFormat, rounded};
use crate::present::words;
use crate::studies::correct::{FittedReading, Lash, MirroredToe, Quiet, Stuck, ToldApart, WheelCorrection};

/// What the readings were taken with.
pub fn instrument(lengths: LengthFormat, instrument: &Instrument) -> String {
    match instrument {
        Instrument::Angle => "a gauge in degrees".to_owned(),
        Instrument::Plate { width_mm, zeroed } => {
            let zeroed = if *zeroed { ", set to zero at design height" } else { "" };
            format!("two dials {} apart{zeroed}", lengths.with_unit(*width_mm))
        }
        Instrument::Wall { distance_mm, .. } => format!("a laser on a wall at {}", lengths.with_unit(*distance_mm)),
    }
}

/// What the readings know, and two coordinates that they cannot tell apart.
pub fn told_apart(told: &ToldApart) -> String {
    let known = match told.known {
        0 => "the readings tell no more of the pickups than the drawing".to_owned(),
        1 => "the readings fix the pickups in one way only, as toe sees them together".to_owned(),
        many => format!("the readings fix the pickups in {many} ways, as toe sees them together"),
    };
    let alike = told.alike.first().map(|[a, b]| format!(", and cannot tell {a:?} from {b:?}"));
    known + &alike.unwrap_or_default()
}

/// A reading that does not fit the others.
pub fn suspect(lengths: LengthFormat, reading: &FittedReading) -> String {
    let again = if reading.fits_as_inches { "It fits as inches: the columns are in mm" } else { "Read it again" };
    let total = if reading.of_both { "total " } else { "" };
    format!(
        "line {} ({}): {total}{} {} deg, by the others {} deg; left out. {again}",
        reading.line,
        words::travel(lengths, reading.bump_mm),
        reading.of,
        rounded(reading.read_deg, 3),
        rounded(reading.fitted_deg, 3)
    )
}

/// Toe at design height that tells the sign of all readings turned.
pub fn mirrored_toe(toe: &MirroredToe) -> String {
    format!(
        "toe at design height reads {} deg, and the file has {} deg, its mirror: where toe was set to the file, the sign of all \
         readings is turned, for toe-in is positive; look at that before anything is changed",
        rounded(toe.read_deg, 2),
        rounded(toe.file_deg, 2)
    )
}

/// What makes readings no measure of the wheel: of such a wheel nobody can say that nothing need be done.
pub fn first_of_all(lengths: LengthFormat, wheel: &WheelCorrection) -> Option<String> {
    let stuck = wheel.stuck.as_ref().map(stuck);
    let in_inches =
        |is_probable: bool| wheel.quiet.as_ref().filter(|found| found.is_probable == is_probable).map(quiet);
    let loose = || wheel.lash.as_ref().filter(|found| found.is_more_than_noise()).map(|found| lash(lengths, found));
    stuck.or_else(|| in_inches(true)).or_else(loose).or_else(|| in_inches(false))
}

fn stuck(found: &Stuck) -> String {
    let [first, last] = found.lines;
    format!(
        "lines {first} to {last} have the same reading at {} heights, and its noise alone would change it: a gauge that was stuck, \
         or lines copied down; gauge again before anything is changed",
        found.heights
    )
}

fn quiet(found: &Quiet) -> String {
    let as_inches = found.worst_as_inches_deg.map(|deg| rounded(deg, 3));
    let in_mm = "where they are in mm, say how good the gauge is (--dial-sd, --spot-sd)";
    let nearer = found.share.map(|share| {
        let times = rounded(1.0 / share.max(1e-3), 0);
        format!("the readings lie {times} times nearer to a curve than the noise of their gauge lets them")
    });
    let finer = "the readings have finer digits than a gauge in mm shows".to_owned();
    if found.is_probable {
        let worst = as_inches.map_or(String::new(), |deg| format!(", which makes the worst change of toe {deg} deg"));
        return format!(
            "{}: they are probably in inches, and the columns are in mm{worst}; {in_mm}",
            nearer.unwrap_or(finer)
        );
    }
    format!(
        "{}, and nothing else tells whether they are in mm: in inches the worst change of toe is {} deg, over the limit; see what \
         unit the gauge shows before anything is decided",
        nearer.unwrap_or(finer),
        as_inches.unwrap_or_default()
    )
}

/// Going up against coming down.
pub fn lash(lengths: LengthFormat, lash: &Lash) -> String {
    let heights = if lash.heights == 1 { "1 height".to_owned() } else { format!("{} heights", lash.heights) };
    if lash.is_scattered && lash.in_inches.is_empty() {
        return format!(
            "toe going up and coming down differ by up to {} deg from their mean difference, {} deg, at {}, which is no noise: \
             readings of one way in another order, or a height misread; gauge again before anything is changed",
            rounded(lash.widest_deg.abs(), 3),
            rounded(lash.up_less_down_deg, 3),
            words::travel(lengths, lash.widest_at_bump_mm)
        );
    }
    let in_inches = lash.in_inches.first().zip(lash.in_inches.last());
    let in_inches = in_inches.map(|(first, last)| {
        format!("lines {first} to {last} are probably in inches, and the columns are in mm; write them in mm, or gauge again")
    });
    let verdict = match lash.is_loose {
        _ if in_inches.is_some() => in_inches.as_deref().unwrap_or_default(),
        true => "something is loose: tighten it and gauge again before anything is changed",
        false => "noise",
    };
    format!(
        "toe going up less coming down, {heights}: {} deg (sd {}): {verdict}",
        rounded(lash.up_less_down_deg, 3),
        rounded(lash.sd_deg, 3)
    )
}

/// Readings beyond the stops of the file, which the study leaves out.
pub fn beyond_travel(lengths: LengthFormat, reading: &GaugeReading, travel: Interval) -> String {
    format!(
        "this reading at {} lies beyond the travel of the file, {} to {}, and is left out",
        words::travel(lengths, reading.bump_mm),
        words::travel(lengths, travel.low),
        words::travel(lengths, travel.high)
    )
}
