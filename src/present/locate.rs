//! What a survey came to, in sentences.

use super::length::{LengthFormat, rounded};
use super::words;
use crate::file::MeasuredFile;
use crate::studies::locate::{
    AdjustedDatum, Contradiction, ExtraReading, Located, Misreading, Noise, NotDetermined, NotSeated, SeatedPart, Slip,
    Suspect, TapeZero, WhyNot, WrongDatum,
};

/// What was measured: `the distance from "A" to "toe link chassis"`, `the height of "toe link chassis"`.
fn reading(kind: &str, from: &str, to: &str) -> String {
    match kind {
        "distance" => format!("the distance from {from:?} to {to:?}"),
        "height" => format!("the height of {to:?}"),
        "offset" => format!("the offset of {to:?} from the centreline"),
        "fore_aft" => format!("the fore-and-aft place of {to:?}"),
        datum => format!("{} of {to:?}", datum.trim_start_matches("datum ")),
    }
}

/// How far the taping is, and how much of it does not fit: `none still to be taken, 1 does not fit`.
pub fn state_of_readings(found: &Located) -> String {
    let taken = match found.not_taken {
        0 => "none still to be taken".to_owned(),
        more => format!("{more} more still to be taken"),
    };
    match found.suspects.len() + found.contradictions.len() {
        0 => taken,
        1 => format!("{taken}, 1 does not fit: see below"),
        many => format!("{taken}, {many} do not fit: see below"),
    }
}

/// A reading that does not fit: what it says, what it should say, what it probably was and what to do.
pub fn suspect(lengths: LengthFormat, suspect: &Suspect) -> String {
    let what = reading(&suspect.kind, &suspect.from, &suspect.to);
    let [read, should] = [suspect.read_mm, suspect.should_be_mm].map(|mm| lengths.with_unit(mm));
    let sd = lengths.number(suspect.sd_mm);
    let Some(number) = suspect.number else {
        return format!(
            "Line {}, {what}: given as {read}, by the readings {should} (sd {sd}). Measure where the datum is, and write \
             it anew.",
            suspect.line
        );
    };
    let or = match suspect.or.as_slice() {
        [] => String::new(),
        others => format!(" Or the wrong one is reading {}.", either(others)),
    };
    let probably = suspect.probably.as_ref().map_or_else(String::new, |guess| misreading(lengths, guess));
    format!(
        "Reading {number} (line {}), {what}: {read}, by the others {should} (sd {sd}).{probably}{or} Measure it again.",
        suspect.line
    )
}

fn misreading(lengths: LengthFormat, guess: &Misreading) -> String {
    let how = match (guess.slip, &guess.place) {
        (Slip::OtherPlace, Some(place)) => return format!(" Probably {place:?} was taken for one of its ends."),
        (Slip::OtherPlace, None) => "an end was mistaken for another",
        (Slip::SwappedDigits, _) => "two digits changed places",
        (Slip::Hundred, _) => "100 mm were miscounted, as with a tape held at 100",
        (Slip::Ten, _) => "a centimetre was miscounted",
        (Slip::Thousand, _) => "a metre was miscounted",
        (Slip::Inch, _) => "an inch was miscounted",
        (Slip::Foot, _) => "a foot was miscounted",
        (Slip::TenInches, _) => "ten inches were miscounted",
        (Slip::Fraction, _) => "a fraction of an inch was miscounted",
        (Slip::Hook, _) => "the hook was counted twice, or not at all",
    };
    format!(" Probably {how}: {}.", lengths.with_unit(guess.meant_mm))
}

fn either(numbers: &[usize]) -> String {
    match numbers {
        [] => String::new(),
        [only] => only.to_string(),
        [first @ .., last] => {
            let first: Vec<String> = first.iter().map(usize::to_string).collect();
            format!("{} or {last}", first.join(", "))
        }
    }
}

/// A datum that is elsewhere: where, by which readings, and what to do.
pub fn wrong_datum(lengths: LengthFormat, found: &WrongDatum) -> String {
    let sd = found.sd_mm.map(|mm| lengths.finer(mm)).join(", ");
    format!(
        "Datum {:?} (line {}): given at {}, by the readings it is at {} {} (sd {sd}), {} away. It was sought like a point{}. \
         Measure where it is, and write it anew.",
        found.datum,
        found.line,
        place(lengths, found.given_mm),
        place(lengths, found.at_mm),
        lengths.symbol(),
        lengths.with_unit(found.off_mm),
        explained(&found.explains)
    )
}

/// Taped distances that are all long or short: by how much, and what to write.
pub fn tape_zero(lengths: LengthFormat, found: &TapeZero) -> String {
    let way = if found.long_mm < 0.0 { "short" } else { "long" };
    format!(
        "Every taped distance is {} too {way} (sd {}), as with another zero of the tape or another hook. The points are placed \
         without that{}. Measure what the hook adds; hook = {} in `tape` fits, and the file has {}.",
        lengths.with_unit(found.long_mm.abs()),
        lengths.finer(found.sd_mm),
        explained(&found.explains),
        lengths.number(found.fitting_hook_mm),
        lengths.number(found.hook_mm)
    )
}

fn explained(numbers: &[usize]) -> String {
    let numbers: Vec<String> = numbers.iter().map(usize::to_string).collect();
    match numbers.len() {
        0 => String::new(),
        1 => format!(", and reading {} then fits", numbers[0]),
        _ => format!(", and readings {} then fit", words::listed(&numbers)),
    }
}

/// Readings that cannot all be right.
pub fn contradiction(found: &Contradiction) -> String {
    let lines: Vec<String> = found.lines.iter().map(usize::to_string).collect();
    let points: Vec<String> = found.points.iter().map(|point| format!("{point:?}")).collect();
    format!(
        "Reading {} is wrong (lines {}), and the others cannot tell which: measure these again. Until then the sd of {} \
         is widened.",
        either(&found.numbers),
        words::listed(&lines),
        words::listed(&points)
    )
}

/// A point without a place, and what to measure.
pub fn not_determined(lengths: LengthFormat, found: &NotDetermined) -> String {
    let (point, line) = (&found.point, found.line);
    let next = found.extra_reading.as_ref();
    let measure = next.map(|next| format!("measure {}", reading(next.kind, &next.from, &next.to)));
    let measure = measure.unwrap_or_else(|| "add a datum, and measure the point from it".to_owned());
    match (found.why, found.either_mm) {
        (WhyNot::NoReading, _) => format!(
            "{point:?} (line {line}): no reading reaches it. Three in different directions place it, six find a misread \
             one; first {measure}."
        ),
        (WhyNot::EitherSide, Some(places)) => {
            let [here, there] = places.map(|at| place(lengths, at));
            format!(
                "{point:?} (line {line}): it may be at {here} or at {there} {}, the readings fit both. Write `near` to say \
                 about where it is, or {measure}.",
                lengths.symbol()
            )
        }
        _ => {
            let is_enough = next.is_some_and(|next| next.then_mm.is_some());
            let more = if is_enough { "" } else { ", and more: one alone is not enough" };
            let readings = if found.readings == 1 { "reading does" } else { "readings do" };
            format!("{point:?} (line {line}): its {} {readings} not hold it. First {measure}{more}.", found.readings)
        }
    }
}

fn place(lengths: LengthFormat, at_mm: [f64; 3]) -> String {
    format!("({})", at_mm.map(|mm| lengths.number(mm)).join(", "))
}

/// The reading that would help most.
pub fn extra_reading(lengths: LengthFormat, next: &ExtraReading) -> Option<String> {
    let (now, then) = (next.worst_sd_mm?, next.then_mm?);
    Some(format!(
        "The reading that would help most: {}. The sd of {:?} in its worst direction goes from {} to {}.",
        reading(next.kind, &next.from, &next.to),
        next.point,
        lengths.finer(now),
        lengths.finer_unit(then)
    ))
}

/// How the readings scatter against their standard deviations.
pub fn noise(noise: &Noise) -> String {
    let factor = rounded(noise.factor, 2);
    match (noise.redundancy, noise.widened) {
        (0, _) => "No reading is left over to check the others: one that was misread goes unnoticed.".to_owned(),
        (left, true) => format!(
            "The readings scatter {factor} times as much as their `sd` says ({left} more than are needed): the sd of every \
             point is multiplied by it."
        ),
        (left, false) => {
            format!("The readings scatter {factor} times as much as their `sd` says ({left} more than are needed).")
        }
    }
}

/// A datum that was measured itself: how far the readings move it.
pub fn datum(lengths: LengthFormat, found: &AdjustedDatum) -> String {
    let moved: Vec<String> =
        found.at_mm.iter().zip(found.given_mm).map(|(at, given)| lengths.finer(at - given)).collect();
    format!("Datum {:?} is moved by ({}) {}.", found.datum, moved.join(", "), lengths.symbol())
}

/// What became of the points in a geometry file.
pub fn written_into(lengths: LengthFormat, name: &str, into: &MeasuredFile) -> String {
    let quoted = |names: &[String]| names.iter().map(|name| format!("{name:?}")).collect::<Vec<_>>().join(", ");
    let points = match into.points.len() {
        1 => "1 point".to_owned(),
        many => format!("{many} points"),
    };
    let mirrored = match into.mirrored {
        true => " It mirrors its left side, so the mirror image of what you measured on the right was written.",
        false => "",
    };
    let unknown = match into.unknown.as_slice() {
        [] => String::new(),
        names => format!(" It has no place for {}.", quoted(names)),
    };
    let worked_out = match into.worked_out.as_slice() {
        [] => String::new(),
        names => format!(" {} was left out: it is where [final_drive] has its flange.", quoted(names)),
    };
    let mount = into.mount_off_line_mm.map_or_else(String::new, |off_mm| {
        format!(
            " The spring mount was measured {} off the line of its link and written on it.",
            lengths.with_unit(off_mm)
        )
    });
    format!("{points} written into {name}, those of links with `measured_sd`.{mirrored}{unknown}{worked_out}{mount}")
}

/// How a part fits its mounting points.
pub fn seated(lengths: LengthFormat, seated: &SeatedPart) -> String {
    let part = &seated.part;
    if let Some(why) = seated.not_seated {
        return match why {
            NotSeated::TooFewPoints => format!(
                "Part {part:?} has no place: fewer than three of its mounting points are found. Measure more of them in the \
                 car."
            ),
            NotSeated::OnOneLine => format!(
                "Part {part:?} has no place: its mounting points stand in one line and do not hold it about that line. \
                 Measure one aside of it."
            ),
        };
    }
    let misfits = seated.misfits.iter().map(|off| format!("{:?} {}", off.point, lengths.finer(off.distance_mm)));
    let misfits = misfits.collect::<Vec<_>>().join(", ");
    let verdict = match (seated.fits, seated.is_mirrored) {
        (true, _) => "as near as was to be expected.",
        (false, true) => {
            "its mirror image fits far better: turn the sign of y in the part, or see whether it belongs to the other \
             side."
        }
        (false, false) => "more than the sds explain: measure the worst of them again, on the part and in the car.",
    };
    format!("Part {part:?} misses its mounting points by, {}: {misfits}; {verdict}", lengths.symbol())
}
