//! What the correction of a finished car came to, in words.

use nalgebra::{Unit, Vector3};

use super::length::{LengthFormat, rounded, trimmed};
use super::{sentences, words};
use crate::gauge::{GaugeReading, Instrument, What};
use crate::geometry::{Axis, Corner, End, Interval, Quantity};
use crate::studies::correct::{
    Advice, BrokenLimit, FitsBetter, FittedReading, Lash, PrescribedChange, Quiet, SearchEffort, Stuck, ToeSetting,
    ToldApart, WheelCorrection, assumed_shim_mm,
};

/// Goes with every prescription.
pub const CORRECT_CAUTION: &str = "Check thread engagement, rod-end angles and clearances after every change; guidance, not \
    approval: the rulebook, the maker's ratings and a licensed engineer decide; a failed link can kill.";
/// Play of one rod end by which lash is told, mm.
pub const PLAY_MM: f64 = 0.05;
/// A move of the wheel below this is not said, mm.
const LEAST_MOVE_MM: f64 = 0.05;
/// A part of a direction below this is not said.
const SAID: f64 = 0.2;

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

/// Where the part is at which something is changed: `"toe link" inner bracket`, `"toe link"`.
pub fn place(corner: &Corner, change: &PrescribedChange) -> String {
    match change.change.what.moves() {
        Some((end, _)) => words::pickup(corner, change.change.link, end),
        None => format!("{:?}", change.link),
    }
}

/// What is done there: `shims in 2.5 mm, up`, `1.5 turns longer, 2.25 mm`.
pub fn what_to_do(lengths: LengthFormat, change: &PrescribedChange) -> String {
    let by = size(lengths, change.by_mm);
    match change.change.what {
        What::Shim { end, along } => {
            let part = if end == End::Upright { "spacers" } else { "shims" };
            let which = if change.by_mm < 0.0 { "out" } else { "in" };
            format!("{part} {which} {by}, {}", way(along, change.by_mm))
        }
        What::Slot { along, .. } => format!("{by} {} in its slot", way(along, change.by_mm)),
        What::Length => {
            let longer = if change.by_mm < 0.0 { "shorter" } else { "longer" };
            match change.turns {
                Some(turns) => {
                    let turns = rounded(turns.abs(), 2);
                    let turns = trimmed(&turns);
                    let unit = if turns == "1" || turns.starts_with("0.") { "turn" } else { "turns" };
                    format!("{turns} {unit} {longer}, {by}")
                }
                None => format!("{by} {longer}"),
            }
        }
    }
}

/// What it then comes to, counted from the drawing.
pub fn in_all(lengths: LengthFormat, change: &PrescribedChange) -> String {
    let sign = if change.total_mm < 0.0 { "-" } else { "+" };
    format!("{sign}{}", size(lengths, change.total_mm))
}

fn size(lengths: LengthFormat, mm: f64) -> String {
    format!("{} {}", trimmed(&lengths.finer(mm.abs())), lengths.symbol())
}

/// `up`, `up and inboard`.
pub(super) fn way(along: Unit<Vector3<f64>>, by_mm: f64) -> String {
    let mut parts: Vec<(Axis, f64)> = Axis::ALL.map(|axis| (axis, along[axis.index()] * by_mm.signum())).into();
    parts.retain(|(_, part)| part.abs() > SAID);
    parts.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
    let parts: Vec<String> = parts.into_iter().map(|(axis, part)| axis.way(part).to_owned()).collect();
    words::listed(&parts)
}

/// The last line of every prescription.
pub fn set_toe(wheel: &WheelCorrection) -> String {
    format!("then set toe to the gauge with {:?}", wheel.toe_link)
}

/// What is to be done about one wheel, where it is no list of changes.
pub fn advice(wheel: &WheelCorrection) -> Option<&'static str> {
    match wheel.advice {
        Advice::Change | Advice::Optional => None,
        Advice::NothingToDo => Some("nothing need be done: it is inside the limit, and is best left as it stands"),
        Advice::NothingHelps => Some(
            "nothing that can be adjusted makes it better and keeps the other limits; give more links `adjust`, or move a \
             bracket",
        ),
    }
}

/// What stands above the changes of a wheel.
pub fn changes_head(wheel: &WheelCorrection) -> &'static str {
    match wheel.advice {
        Advice::Optional => "inside the limit; optional, in this order",
        Advice::Change | Advice::NothingToDo | Advice::NothingHelps => "in this order",
    }
}

/// Changes of which one alone is no good: `1 and 2 belong together: make both`.
pub fn together(wheel: &WheelCorrection) -> Vec<String> {
    together_of(wheel.changes.iter().map(|change| change.with_next))
}

fn together_of(with_next: impl Iterator<Item = bool>) -> Vec<String> {
    let mut steps: Vec<Vec<String>> = vec![Vec::new()];
    for (index, with_next) in with_next.enumerate() {
        steps.last_mut().into_iter().for_each(|step| step.push((index + 1).to_string()));
        if !with_next {
            steps.push(Vec::new());
        }
    }
    steps.retain(|step| step.len() > 1);
    let all = |step: &[String]| if step.len() == 2 { "both" } else { "all" };
    steps.iter().map(|step| format!("{} belong together: make {}", words::listed(step), all(step))).collect()
}

/// Where the changes take the wheel; `None` where no tape shows it.
pub fn wheel_moves(lengths: LengthFormat, wheel: &WheelCorrection) -> Option<String> {
    let moves = [(Axis::X, wheel.wheel_moves.forward_mm), (Axis::Y, wheel.wheel_moves.outboard_mm)];
    let told = moves.into_iter().filter(|(_, mm)| mm.abs() >= LEAST_MOVE_MM);
    let told: Vec<String> =
        told.map(|(axis, mm)| format!("{} {}", lengths.with_unit(mm.abs()), axis.way(mm))).collect();
    (!told.is_empty()).then(|| format!("the wheel moves {}", words::listed(&told)))
}

/// A file without adjusters.
pub fn adjusters_assumed(lengths: LengthFormat) -> String {
    format!(
        "The file says of no link what can be adjusted (`adjust`). Taken: shims of {} under the toe link's inner bracket, half turns \
         of the other links.",
        size(lengths, assumed_shim_mm(lengths.0))
    )
}

/// Static camber after changes that move it.
pub fn camber(wheel: &WheelCorrection) -> Option<String> {
    let [now, after, limit] =
        [wheel.camber_deg.now, wheel.camber_deg.after, wheel.camber_deg.limit].map(|deg| rounded(deg, 2));
    (now != after).then(|| format!("static camber {now} deg becomes {after} (may go {limit} from the drawing)"))
}

/// A toe link whose thread is too coarse to set toe.
pub fn coarse_toe(link: &str, setting: &ToeSetting) -> Option<String> {
    let step_deg = setting.step_deg.filter(|_| setting.is_coarse)?;
    Some(format!(
        "The smallest turn of {link:?} is {} deg of toe: too coarse to set it to the gauge. A left-hand thread at one end \
         makes every part of a turn possible.",
        rounded(step_deg, 2)
    ))
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

/// Another way to read them, with which the readings fit far better.
pub fn fits_better(found: &FitsBetter) -> String {
    let how: Vec<&str> = found.how.iter().map(|how| how.words()).collect();
    format!(
        "the readings are far off as they stand, and {} (sum of squares {} in place of {}); look at that before anything is \
         changed",
        how.join("; or "),
        rounded(found.then, 0),
        rounded(found.sum_of_squares, 0)
    )
}

/// What makes readings no measure of the wheel: of such a wheel nobody can say that nothing need be done.
pub fn first_of_all(lengths: LengthFormat, wheel: &WheelCorrection) -> Option<String> {
    let stuck = wheel.stuck.as_ref().map(stuck);
    let quiet = || wheel.quiet.as_ref().map(quiet);
    let loose = || wheel.lash.as_ref().filter(|found| found.is_more_than_noise()).map(|found| lash(lengths, found));
    stuck.or_else(quiet).or_else(loose)
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
    format!(
        "the readings lie {} times nearer to a curve than the noise of their gauge lets them: they are probably in inches, and the \
         columns are in mm; where they are in mm, say how good the gauge is (--dial-sd, --spot-sd)",
        rounded(1.0 / found.share.max(1e-3), 0)
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

/// What play in the two rod ends of the toe link does.
pub fn play(lengths: LengthFormat, wheel: &WheelCorrection) -> String {
    let toe_deg = 2.0 * PLAY_MM * wheel.toe_setting.deg_per_mm.abs();
    format!(
        "{} of play in each rod end of {:?} is {} deg of toe",
        size(lengths, PLAY_MM),
        wheel.toe_link,
        rounded(toe_deg, 2)
    )
}

/// A limit that the car breaks when all is done.
pub fn limit_broken(lengths: LengthFormat, broken: &BrokenLimit) -> String {
    let when = if broken.is_new { "after the changes, and not before them" } else { "already as the car stands" };
    let set_toe =
        if broken.verdict.quantity == Quantity::ThrustAngle { "; set toe of both wheels to the gauge" } else { "" };
    format!("{}, {when}{set_toe}", limit(lengths, broken))
}

/// Why changes that leave less bump steer are not told.
pub fn left_out_for(lengths: LengthFormat, broken: &[BrokenLimit]) -> Option<String> {
    let limits: Vec<String> = broken.iter().map(|broken| limit(lengths, broken)).collect();
    (!limits.is_empty())
        .then(|| format!("changes that leave less bump steer are left out, for with them {}", limits.join("; ")))
}

fn limit(lengths: LengthFormat, broken: &BrokenLimit) -> String {
    sentences::broken_limit(lengths, broken.verdict.quantity, &[&broken.verdict])
}

/// How far the choices were searched.
pub fn search(search: &SearchEffort) -> String {
    format!(
        "{} sets of {} adjusters tried on {} cars that fit, {} solved exactly",
        search.sets_tried, search.adjusters, search.cars, search.sets_solved
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

#[cfg(test)]
mod tests {
    use super::together_of;

    #[test]
    fn what_belongs_together_is_told_by_its_numbers() {
        let of = |with_next: &[bool]| together_of(with_next.iter().copied());
        assert!(of(&[]).is_empty() && of(&[false, false]).is_empty());
        assert_eq!(of(&[false, true, false]), ["2 and 3 belong together: make both"]);
        let told = ["1 and 2 belong together: make both", "3, 4 and 5 belong together: make all"];
        assert_eq!(of(&[true, false, true, true, false]), told);
    }
}
