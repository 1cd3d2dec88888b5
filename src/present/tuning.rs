//! What a tuning came to, or why it came to nothing, in sentences.

use super::length::{LengthFormat, rounded};
use super::{sentences, words};
use crate::geometry::{End, Geometry, LinkAdjustments, Quantity, Side};
use crate::studies::plausibility::{Doubt, Suspect};
use crate::studies::tune::{
    Answer, HeldBack, OtherOdds, ResidualOf, TuneError, UnclearedPair, VariableKind, new_coordinate_mm,
};

/// What a link lacks that has neither a chassis point nor a room for it.
pub const CHASSIS_OR_ROOM: &str = "add `chassis`, the centre of the inner rod end: [x, y, z]; or the room that the frame leaves \
                                   the bracket, in which `hubtrace tune` places it: \
                                   within = { x = [low, high], y = [low, high], z = [low, high] }";

/// Why nothing was tuned, and what to write instead.
pub fn not_tuned(geometry: &Geometry, error: &TuneError) -> (String, String) {
    match error {
        TuneError::NothingFree => (
            "nothing is free to move, so there is nothing to tune".to_owned(),
            "say what may move with `free` in a [[link]], for example:\n\
             free = { chassis = { y = [-25.0, 25.0], z = [-25.0, 25.0] } }"
                .to_owned(),
        ),
        TuneError::ChangesNothing { side, variable } => (
            format!(
                "the {} changes nothing that is wanted or limited",
                words::variable(geometry.corner(*side), variable)
            ),
            "take it out of `free`, or add a target or limit that it serves".to_owned(),
        ),
        TuneError::NotMeasurable { quantity, .. } => (
            format!("the target {} of [targets] cannot be measured on this car", quantity.name()),
            format!("give {}, or take the target out", quantity.definition().needs.keys()),
        ),
        TuneError::NoRoom { .. } => (error.to_string(), CHASSIS_OR_ROOM.to_owned()),
        TuneError::NoValue { .. } => (
            error.to_string(),
            "the wheel moves, but what this target is read from has no number there; take the target out of [targets], or \
             move the points that it comes from"
                .to_owned(),
        ),
        TuneError::OtherSideWithoutPickups { .. } => (
            error.to_string(),
            "leave --side out, so that both sides are tuned, or give that side its `chassis` points".to_owned(),
        ),
        TuneError::NoStart { .. } => (
            error.to_string(),
            "make the boxes larger or move them, or write less `bump` and `droop` in [travel]".to_owned(),
        ),
        TuneError::BindsAsWritten { bind } => (
            format!("{error}; {} carry the bind", sentences::carriers(bind)),
            format!(
                "what is wanted draws the car to the edge of what moves; write less `{}` in [travel], or a target or \
                 limit that is nearer to the car as it is",
                bind.towards.name()
            ),
        ),
    }
}

/// Of which ride heights a worst bump steer is that of the worst; nothing of the drawn one alone.
pub fn about_heights(geometry: &Geometry) -> &'static str {
    match geometry.travel.other_ride_heights_mm().next() {
        Some(_) => ", about the worst ride height of the file",
        None => "",
    }
}

/// A search that was stopped, and the wheels of which it is hardly more than a start.
pub fn stopped_early(mirrored: bool, hardly_searched: &[Side]) -> String {
    let best = "Stopped early: this is the best so far";
    let sides: Vec<String> = hardly_searched.iter().map(|side| format!("the {}", side.name())).collect();
    match sides.len() {
        0 => format!("{best}."),
        _ if mirrored => format!("{best}, and no search had ended: tune again before anything is welded."),
        _ => format!(
            "{best}, and no search of {} wheel had ended: tune again before anything of it is welded.",
            words::listed(&sides)
        ),
    }
}

/// Limits that the wheel breaks that was not asked for.
pub fn other_wheel_breaks(side: Side, broken: &[Quantity]) -> String {
    let names: Vec<String> = broken.iter().map(|quantity| quantity.name().to_owned()).collect();
    format!(
        "Not counted, for --side leaves it out: the {} wheel, which breaks {}. The chance is that of both wheels.",
        side.name(),
        words::listed(&names)
    )
}

/// What was wrong with a car before it was tuned, perhaps, and does not show any more.
pub fn hidden_doubt(doubt: &Doubt) -> String {
    format!(
        "Tuned from a car that `check` doubts, which the tuned one hides: {} If that is a mistake, correct it and tune again.",
        doubt.sentence
    )
}

/// What `check` says of an answer, `what`; a point that tuning moved or put into its box is no typing error.
pub fn doubted(geometry: &Geometry, side: Side, what: &str, doubt: &Doubt) -> String {
    let is_of = |name: &str, end: End, suspect: &Suspect| suspect.about == format!("{name} {}", end.name());
    let links = geometry.corner(side).links.iter().zip(&geometry.adjustments[side].links);
    let boxes = links.clone().filter(|(_, may)| !may.is_placed()).map(|(link, _)| &link.name);
    let is_about = |name: &&String| doubt.suspects.iter().any(|suspect| is_of(name, End::Chassis, suspect));
    let boxed = { boxes }.find(is_about);
    let moves = |may: &LinkAdjustments, end: End| match end {
        End::Chassis => may.tube.is_some() || may.within().is_some() || may.chassis.iter().any(Option::is_some),
        End::Upright => may.upright.iter().any(Option::is_some),
    };
    let is_moved = |suspect: &&Suspect| {
        End::BOTH
            .into_iter()
            .any(|end| links.clone().any(|(link, may)| is_of(&link.name, end, suspect) && moves(may, end)))
    };
    // What the pen may have done to a number that nobody wrote is no help.
    let first = doubt.suspects.first().filter(is_moved);
    let found = match first.zip(doubt.why.as_ref()) {
        Some((suspect, why)) => format!("{}, {}: {why}.", suspect.about, side.name()),
        None => doubt.sentence.clone(),
    };
    let advice = match (boxed, first) {
        (Some(name), _) => format!(
            " Tuning put the chassis point of {name:?} there, for the box `within` of this link asks for it: check the box."
        ),
        (None, Some(_)) => " Tuning moved it there, within what is free: check the rooms of the file.".to_owned(),
        (None, None) => String::new(),
    };
    format!("`check` doubts {what}: {found}{advice}")
}

/// What of the right side tuning moves and the file gives for the left side alone, and the lines to write where they are known.
pub fn right_side_lacks(points: &[String], lines: Option<&str>) -> (String, String) {
    let names: Vec<String> = points.iter().map(|point| format!("{point:?}")).collect();
    let advice = match lines {
        Some(lines) => {
            format!("write these lines at the end of the file, and into them what you measure on the right:\n{lines}")
        }
        None => "copy the tables of these parts to the end of the file as [[right.link]], [right.halfshaft] or [right.spring], with what you \
                 measure on the right (y negative)"
            .to_owned(),
    };
    (format!("tuning moves {}, of which [right] has no numbers of its own", words::listed(&names)), advice)
}

/// Ends of rooms that are told to hold an answer back; the rest buys less.
const MAX_HELD: usize = 2;

/// What holds an answer back and is told, what buys most first: of the screen and of the summary alike.
pub fn held_back<'a>(geometry: &Geometry, answer: &'a Answer) -> Vec<&'a HeldBack> {
    let lengths = LengthFormat(geometry.units);
    let shows = |held: &&HeldBack| room_buys(lengths, held).is_none_or(|buys| !words::shows_nothing(&buys));
    answer.held_back.iter().filter(shows).take(MAX_HELD).collect()
}

/// What one more degree or unit of length of a room buys; `None` where first order says more than there is to gain.
pub fn room_buys(lengths: LengthFormat, held: &HeldBack) -> Option<String> {
    let range = if words::unit(lengths, &held.variable) == "deg" { 1.0 } else { lengths.0.in_mm() };
    held.gain(range).map(|gain| words::amount(lengths, held.subject, gain))
}

/// Limits that an answer just keeps, and parts that it must not bring nearer, as what holds it back.
pub fn at_limits(answer: &Answer) -> Vec<String> {
    let (too_near, kept): (Vec<ResidualOf>, Vec<ResidualOf>) =
        answer.at_limits.iter().partition(|&&at| at == ResidualOf::TooNear);
    let names: Vec<&str> = kept.into_iter().map(words::subject).collect();
    let kept = (!names.is_empty()).then(|| format!("Held back by limits just kept: {}.", names.join(", ")));
    let near = (!too_near.is_empty())
        .then(|| "Held back by parts that are nearer than the file asks and come no nearer.".to_owned());
    kept.into_iter().chain(near).collect()
}

/// What uses all of its room, so many named and the rest counted: `At the end of its room: "toe link" inner bracket, up-down
/// (+25.0 mm).`; `None` of nothing.
pub fn at_ends(geometry: &Geometry, side: Side, ends: &[&(VariableKind, f64)], most: usize) -> Option<String> {
    let named = |(variable, at): &(VariableKind, f64)| named_end(geometry, side, variable, *at);
    let mut all: Vec<String> = ends.iter().take(most).map(|end| named(end)).collect();
    let more = ends.len().saturating_sub(most);
    all.extend((more > 0).then(|| format!("and {more} more")));
    (!all.is_empty()).then(|| format!("At the end of its room: {}.", all.join("; ")))
}

/// Parts that stay nearer than the file asks: `Not held: top rear / spring, at the nearest of the travel -2.2 mm as drawn, 1.5 mm on the
/// tuned car: the most that the free room gives, whatever becomes of the rest, is 1.8 mm, and the file asks for 5.0 mm.`
pub fn too_near(geometry: &Geometry, of: &UnclearedPair) -> String {
    let lengths = LengthFormat(geometry.units);
    let (least, most) = (lengths.with_unit(geometry.clearance.least_mm()), of.most_mm.map(|mm| lengths.with_unit(mm)));
    let why = match most {
        Some(most) if most == least => format!("{least} cannot be kept beside the other limits"),
        Some(most) => format!(
            "the most that the free room gives, whatever becomes of the rest, is {most}, and the file asks for {least}"
        ),
        None => format!("nothing that is free makes {least} of it"),
    };
    let stage = if geometry.tuned { "as in the file" } else { words::stage(geometry) };
    let drawn = of.gap_mm.map(|mm| format!("{} {stage}", lengths.with_unit(mm)));
    let tuned = of.tuned_mm.map(|mm| format!("{} on the tuned car", lengths.with_unit(mm)));
    let found = drawn.into_iter().chain(tuned).collect::<Vec<_>>().join(", ");
    let at_nearest = if found.is_empty() { found } else { format!(", at the nearest of the travel {found}") };
    format!("Not held: {}{at_nearest}: {why}.", of.pair)
}

/// What stands at an end of its room, and where that is: `"toe link" inner bracket, up-down (+25.0 mm)`.
pub fn named_end(geometry: &Geometry, side: Side, kind: &VariableKind, at: f64) -> String {
    format!("{} ({})", words::variable(geometry.corner(side), kind), end_of_room(geometry, side, kind, at))
}

/// How far from the drawn place, or for a point that was not there the coordinate itself.
fn end_of_room(geometry: &Geometry, side: Side, kind: &VariableKind, at: f64) -> String {
    let lengths = LengthFormat(geometry.units);
    match new_coordinate_mm(geometry, side, kind, at) {
        Some((axis, mm)) => format!("{} {}", axis.name(), lengths.with_unit(mm)),
        None => Some(words::moved(lengths, kind, at))
            .filter(|by| !words::shows_nothing(by))
            .unwrap_or_else(|| words::stage(geometry).to_owned()),
    }
}

/// The good answers beside the chosen one, each by the name of its file where it has one, and the chance that it passes where that
/// is known; `None` of none.
pub fn other_answers(
    lengths: LengthFormat,
    others: &[&Answer],
    files: &[String],
    odds: &[OtherOdds],
) -> Option<String> {
    let other = |(index, other): (usize, &&Answer)| {
        let file = files.get(index).map_or_else(String::new, |file| format!("{file} "));
        let toe = rounded(other.worst_bump_steer_deg, 3);
        let moves = match other.longest_move_mm() {
            None => "new points".to_owned(),
            Some(mm) => format!("moves {}", lengths.with_unit(mm)),
        };
        let OtherOdds { chance, kept } = odds.get(index).copied().unwrap_or_default();
        let passes = chance.map_or(String::new(), |share| format!(", yours passes {}", words::proportion(share)));
        let keeps = kept.map_or(String::new(), |share| format!(", the limits kept {}", words::proportion(share)));
        let breaks = if other.limits_hold { "" } else { ", breaks a limit on paper" };
        format!("{file}{toe} deg ({moves}{passes}{keeps}{breaks})")
    };
    let list: Vec<String> = others.iter().enumerate().map(other).collect();
    // None is called good that breaks a limit, or that a welded car of it never keeps.
    let never = odds.iter().filter_map(|odds| odds.chance).any(|share| share.count == 0);
    let good = if never || others.iter().any(|other| !other.limits_hold) { "" } else { "good " };
    (!list.is_empty()).then(|| format!("Other {good}answers: {}.", list.join("; ")))
}

#[cfg(test)]
mod tests {
    use super::{about_heights, doubted, other_wheel_breaks, room_buys, stopped_early, too_near};
    use crate::file::GeometryFile;
    use crate::geometry::{AdjustmentRange, Axis, End, Geometry, Interval, LengthUnit, Quantity, Side};
    use crate::present::{LengthFormat, cannot_be_kept};
    use crate::studies::plausibility::doubts;
    use crate::studies::tune::{GivenUp, HeldBack, ResidualOf, UnclearedPair, VariableKind};

    fn demo() -> Geometry {
        let text = include_str!("../../geometries/first-cut.toml");
        GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry
    }

    /// A toe link that tuning moved, and that reads like a slip of the pen: none was made.
    #[test]
    fn a_place_of_tuning_is_told_as_no_slip_of_the_pen() {
        let mut car = demo();
        for corner in [&mut car.left, &mut car.right] {
            corner.links[4].chassis.z += 90.0;
        }
        let odd = doubts(&car);
        let [doubt] = &odd[..] else { panic!("{odd:?}") };
        let told = |car: &Geometry| doubted(car, Side::Left, "this answer", doubt);
        car.adjustments.left.links[4] = Default::default();
        let fixed = told(&car);
        assert!(fixed == format!("`check` doubts this answer: {doubt}", doubt = doubt.sentence), "{fixed}");
        let play = Some(AdjustmentRange { low: -90.0, high: 90.0, step: None });
        (car.adjustments.left.links[4].chassis, car.adjustments.left.links[4].upright) = ([play; 3], [play; 3]);
        let free = told(&car);
        let as_it_stands = format!("`check` doubts this answer: {}, left: toe changes by ", doubt.suspects[0].about);
        assert!(free.starts_with(&as_it_stands) && !free.contains("probably"), "{free}");
        assert!(free.ends_with("Tuning moved it there, within what is free: check the rooms of the file."), "{free}");
    }

    #[test]
    fn limits_of_a_wheel_that_was_left_out_are_told() {
        assert_eq!(
            other_wheel_breaks(Side::Right, &[Quantity::BumpSteer, Quantity::Clearance]),
            "Not counted, for --side leaves it out: the right wheel, which breaks bump steer and clearance. The chance is that of both \
             wheels."
        );
    }

    #[test]
    fn wheels_of_which_no_search_had_ended_are_told() {
        let again = |of: &str| format!("Stopped early: this is the best so far, and no search {of}");
        assert_eq!(stopped_early(false, &[]), "Stopped early: this is the best so far.");
        let mirrored = stopped_early(true, &[Side::Left]);
        assert_eq!(mirrored, again("had ended: tune again before anything is welded."));
        let right = stopped_early(false, &[Side::Right]);
        assert_eq!(right, again("of the right wheel had ended: tune again before anything of it is welded."));
        assert!(stopped_early(false, &Side::BOTH).contains("of the left and the right wheel"));
    }

    /// A limit that cannot be kept for itself, and as near beside the others, is held back by none of them.
    #[test]
    fn other_limits_come_first_where_they_cost_something_alone() {
        let limit = Some(Interval { low: -0.05, high: 0.05 });
        let told_of = |nearest_beside: f64, beside_others: bool, is_only: bool| {
            let of = GivenUp {
                quantity: Quantity::BumpSteer,
                limit,
                nearest: 0.14,
                nearest_beside,
                beside_others,
                by_steps: false,
                room: None,
            };
            cannot_be_kept(&demo(), Side::Left, &of, is_only)
        };
        let told = |nearest_beside: f64, beside_others: bool| told_of(nearest_beside, beside_others, true);
        let first = "The other limits come first.";
        assert_eq!(
            told(0.14, false),
            "Not held: bump steer ±0.050 deg cannot be kept within the free boxes: the nearest is 0.140 deg."
        );
        assert!(told(0.3, false).ends_with(&format!("beside the other limits 0.300 deg. {first}")));
        assert!(told(0.14, true).ends_with(&format!("beside the other limits: the nearest is 0.140 deg. {first}")));
        // Two that cannot be kept together: the answer is as near to neither.
        assert!(
            told_of(0.14, true, false)
                .ends_with("the nearest is 0.140 deg. By itself, with what else is not held left aside.")
        );
    }

    #[test]
    fn a_worst_bump_steer_says_of_which_ride_heights_it_is() {
        let told = |heights_mm: &[f64]| {
            let mut geometry = demo();
            geometry.travel.ride_heights_mm = heights_mm.to_vec();
            about_heights(&geometry)
        };
        assert_eq!([told(&[]), told(&[0.0])], ["", ""]);
        assert_eq!(told(&[-15.0, 10.0]), ", about the worst ride height of the file");
    }

    /// An inch is 25.4 mm of a room, and a degree is a degree.
    #[test]
    fn more_room_is_a_unit_of_the_file() {
        let told = |units: LengthUnit, variable: VariableKind| {
            let subject = ResidualOf::Limit(Quantity::CamberChange);
            let held = HeldBack { variable, at: 5.0, subject, buys: 0.02, missed: 9.0 };
            room_buys(LengthFormat(units), &held).expect("less than is missed")
        };
        let of_both = |variable: VariableKind| [LengthUnit::Millimetre, LengthUnit::Inch].map(|of| told(of, variable));
        let bracket = VariableKind::Pickup { link: 0, end: End::Chassis, axis: Axis::Z };
        assert_eq!(of_both(bracket), ["0.020 deg", "0.508 deg"]);
        assert_eq!(of_both(VariableKind::Clock), ["0.020 deg", "0.020 deg"]);
    }

    #[test]
    fn the_most_of_a_gap_is_said_to_cost_the_rest() {
        let (gap_mm, tuned_mm, most_mm) = (Some(-2.2), Some(1.5), Some(1.8));
        let of = UnclearedPair { pair: "top rear / spring".to_owned(), gap_mm, tuned_mm, most_mm };
        let told = too_near(&demo(), &of);
        assert!(
            told.contains("spring, at the nearest of the travel -2.2 mm as drawn, 1.5 mm on the tuned car: "),
            "{told}"
        );
        assert!(told.contains("the most that the free room gives, whatever becomes of the rest, is 1.8 mm"), "{told}");
    }
}
