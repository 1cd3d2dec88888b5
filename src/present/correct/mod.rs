//! What the correction of a finished car came to, in words.

mod readings;

use nalgebra::{Unit, Vector3};

use super::length::{LengthFormat, rounded, trimmed};
use super::{sentences, words};
use crate::gauge::What;
use crate::geometry::{Axis, Corner, End, Quantity};
use crate::studies::correct::{
    Advice, BrokenLimit, PrescribedChange, SearchEffort, ToeSetting, WheelCorrection, assumed_shim_mm,
};

pub use readings::{beyond_travel, first_of_all, instrument, lash, mirrored_toe, suspect, told_apart};

/// Goes with every prescription.
pub const CORRECT_CAUTION: &str = "Check thread engagement, rod-end angles and clearances after every change; guidance, not \
    approval: the rulebook, the maker's ratings and a licensed engineer decide; a failed link can kill.";
/// Play of one rod end by which lash is told, mm.
pub const PLAY_MM: f64 = 0.05;
/// A move of the wheel below this is not said, mm.
const LEAST_MOVE_MM: f64 = 0.05;
/// A part of a direction below this is not said.
const SAID: f64 = 0.2;

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
        Advice::NothingToDo => {
            Some("nothing need be done about bump steer: it is inside its limit, and is best left as it stands")
        }
        Advice::NothingHelps => Some(
            "nothing that can be adjusted makes it better and keeps the other limits; give more links `adjust`, or move a \
             bracket",
        ),
        Advice::NotSeen => Some(
            "nothing is prescribed, for these readings tell no more of the pickups than the drawing; gauge at more heights, in \
             bump and in droop as far as the stops",
        ),
    }
}

/// What stands above the changes of a wheel.
pub fn changes_head(wheel: &WheelCorrection) -> &'static str {
    match wheel.advice {
        Advice::Optional => "inside the limit; optional, in this order",
        Advice::Change | Advice::NothingToDo | Advice::NothingHelps | Advice::NotSeen => "in this order",
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

/// What was taken to be adjustable of a wheel of which no link says so; `None` where nothing need be done about it.
pub fn adjusters_assumed(lengths: LengthFormat, wheel: &WheelCorrection) -> Option<String> {
    (wheel.adjusters_assumed && !matches!(wheel.advice, Advice::NothingToDo | Advice::NotSeen)).then(|| {
        format!(
            "no link has `adjust`, which says what can be changed at it. Taken: shims of {} under the toe link's inner bracket, \
             half turns of the other links",
            size(lengths, assumed_shim_mm(lengths.0))
        )
    })
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
        "the smallest turn of {link:?} is {} deg of toe: too coarse to set it to the gauge. A left-hand thread at one end \
         makes every part of a turn possible",
        rounded(step_deg, 2)
    ))
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
    let set_toe =
        if broken.verdict.quantity == Quantity::ThrustAngle { "; set toe of both wheels to the gauge" } else { "" };
    let Some(before) = broken.before.as_ref() else {
        return format!("{}, after the changes{set_toe}", limit(lengths, broken));
    };
    let (told, was) = sentences::broken_limit_and_before(lengths, &broken.verdict, before);
    let when = match was {
        None => "already as the car stands".to_owned(),
        Some(was) => {
            let how = if broken.is_made_worse() { "made worse by the changes" } else { "after the changes" };
            let part = before.part.as_ref().filter(|_| before.part != broken.verdict.part);
            let part = part.map_or(String::new(), |part| format!(" ({part})"));
            format!("{how}; {was}{part} as the car stands")
        }
    };
    format!("{told}, {when}{set_toe}")
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
