//! Places and directions in the shop's words.

use super::length::{LengthFormat, rounded};
use crate::geometry::{Axis, Corner, End, Geometry, Quantity, Side, Unit};
use crate::measures::Measure;
use crate::studies::errors::{ErrorSource, Proportion};
use crate::studies::tune::{ResidualOf, TubeWay, VariableKind};
use crate::studies::{BracketMove, WorstAt};

/// How many of all cars or wheels, in per cent.
pub fn proportion(proportion: Proportion) -> String {
    percent(proportion.value())
}

/// A share of cars or wheels, finer towards both ends, where a chance is decided; all and nothing only when it is so.
pub fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    let decimals = match percent.min(100.0 - percent) {
        0.0 => 0,
        d if d < 1.0 => 2,
        d if d < 10.0 => 1,
        _ => 0,
    };
    format!("{} %", rounded(percent, decimals))
}

/// How far the pickups of a built car are off: `brackets and upright holes 0.50 mm one sd, 1 group, tape 0.25 mm one sd`.
pub fn errors(lengths: LengthFormat, source: &ErrorSource, geometry: &Geometry) -> String {
    let welds = match source {
        ErrorSource::Class(class) => {
            format!("brackets and upright holes to ISO 13920 class {} (half of it one sd)", class.name())
        }
        ErrorSource::Weld(weld) => {
            let groups = match weld.groups.len() {
                0 => String::new(),
                1 => ", 1 group".to_owned(),
                many => format!(", {many} groups"),
            };
            let brackets = lengths.sd(weld.sd_mm);
            let is_taken = geometry.weld.is_none() && *source == ErrorSource::of_file(None);
            let taken = if is_taken { " (taken)" } else { "" };
            match weld.upright_sd_mm.map(|mm| lengths.sd(mm)) {
                None => format!("brackets and upright holes {brackets} one sd{taken}{groups}"),
                Some(holes) => format!("brackets {brackets}, upright holes {holes} one sd{groups}"),
            }
        }
    };
    let tape = geometry.tape.map(|tape| format!("tape {} one sd", lengths.sd(tape.sd_mm)));
    let points = measured_points(geometry.measured_points(Side::Left));
    [Some(welds), tape, points].into_iter().flatten().collect::<Vec<_>>().join(", ")
}

/// Where a car stands between paper and gauge: whether its pickups are drawn, tuned, built, or were measured.
pub fn stage(geometry: &Geometry) -> &'static str {
    match Side::BOTH.map(|side| geometry.measured_points(side)) {
        _ if geometry.tuned => "as tuned",
        _ if geometry.built && geometry.planned => "as planned",
        _ if geometry.built => "as built",
        [0, 0] => "as drawn",
        _ if geometry.is_measured() => "as measured",
        _ => "as in the file",
    }
}

/// `13 pass, 1 fail, 2 not checked`; nothing of the last where all was checked, for what has no limit is told apart.
pub fn counts([pass, fail, not_checked]: [usize; 3]) -> String {
    let open = if not_checked > 0 { format!(", {not_checked} not checked") } else { String::new() };
    format!("{pass} pass, {fail} fail{open}")
}

/// Points that are known each by its own standard deviation; `None` when there is none.
pub fn measured_points(count: usize) -> Option<String> {
    match count {
        0 => None,
        1 => Some("1 point by its own sd".to_owned()),
        many => Some(format!("{many} points by their own sd")),
    }
}

/// `"toe link" inner bracket`, `"toe link" outer eye`.
pub fn pickup(corner: &Corner, link: usize, end: End) -> String {
    let name = &corner.links[link].name;
    match end {
        End::Chassis => inner_bracket(name),
        End::Upright => format!("{name:?} outer eye"),
    }
}

/// `"toe link" inner bracket`.
pub fn inner_bracket(link: &str) -> String {
    format!("{link:?} inner bracket")
}

/// `3.1 mm down`, `3.1 mm down and 2.0 mm inboard`.
pub fn moves(lengths: LengthFormat, moves: &[BracketMove]) -> String {
    let each =
        moves.iter().map(|made| format!("{} {}", lengths.with_unit(made.by_mm.abs()), made.axis.way(made.by_mm)));
    each.collect::<Vec<_>>().join(" and ")
}

/// The way of an axis of the car, either sense: `brace it up and down`.
pub fn along(axis: Axis) -> &'static str {
    match axis {
        Axis::X => "fore and aft",
        Axis::Y => "across the car",
        Axis::Z => "up and down",
    }
}

/// The values of each key together; keys and values in the order in which they come, each once.
pub fn gathered<K: PartialEq, V: PartialEq>(pairs: impl IntoIterator<Item = (K, V)>) -> Vec<(K, Vec<V>)> {
    let mut groups: Vec<(K, Vec<V>)> = Vec::new();
    for (key, value) in pairs {
        match groups.iter_mut().find(|(known, _)| *known == key) {
            Some((_, values)) if values.contains(&value) => {}
            Some((_, values)) => values.push(value),
            None => groups.push((key, vec![value])),
        }
    }
    groups
}

/// `a`, `a and b`, `a, b and c`; the links when none is named.
pub fn listed(names: &[String]) -> String {
    match names {
        [] => "the links".to_owned(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// Where a wheel stands in its travel: `12.5 mm bump`.
pub fn travel(lengths: LengthFormat, bump_mm: f64) -> String {
    match bump_mm {
        b if b > 0.0 => format!("{} bump", lengths.with_unit(b)),
        b if b < 0.0 => format!("{} droop", lengths.with_unit(-b)),
        _ => "design height".to_owned(),
    }
}

/// Where a car goes furthest beyond a limit: `60.0 mm bump`, `3.00 deg of body roll`.
pub fn worst_at(lengths: LengthFormat, at: WorstAt) -> String {
    match at {
        WorstAt::Bump(bump_mm) => travel(lengths, bump_mm),
        WorstAt::BodyRoll(deg) => format!("{} deg of body roll", rounded(deg, 2)),
    }
}

/// Why what was seen of a wheel is not all of it: its rows end before the bind, and further on it is worse.
pub const FOR_IT_BINDS: &str = ", for the wheel binds";

/// The largest change of toe of a wheel: `worst -0.518 deg`; of one that binds inside its travel, `at least 15.842 deg`.
///
/// Tested by `of_a_wheel_that_binds_no_change_of_toe_is_called_the_worst`.
pub fn worst_change(binds: bool, deg: f64, written: impl Fn(f64) -> String) -> String {
    if binds { format!("at least {} deg", written(deg.abs())) } else { format!("worst {} deg", written(deg)) }
}

/// Whose figures these are when one wheel may stand for both.
pub fn wheel(mirrored: bool, side: Side) -> &'static str {
    if mirrored { "left and right alike" } else { side.name() }
}

/// Something that may move: `"toe link" inner bracket, up-down`.
pub fn variable(corner: &Corner, kind: &VariableKind) -> String {
    match *kind {
        VariableKind::Pickup { link, end, axis } => format!("{}, {}", pickup(corner, link, end), axis.line()),
        VariableKind::Bolt { link, end } => format!("spacer of the {}", pickup(corner, link, end)),
        VariableKind::OnTube { link, way, .. } => {
            format!("{} {}", pickup(corner, link, End::Chassis), on_tube(way))
        }
        VariableKind::Length { link } => format!("length of {:?}", corner.links[link].name),
        VariableKind::Clock => "clock angle of the upright".to_owned(),
        VariableKind::SpringChassis { axis } => format!("spring's chassis end, {}", axis.line()),
        VariableKind::SpringMount { axis } => format!("spring's moving end, {}", axis.line()),
        VariableKind::FinalDrive { axis } => format!("final drive, {}", axis.line()),
    }
}

/// True for a variable that is counted in degrees.
fn is_turn(kind: &VariableKind) -> bool {
    matches!(kind, VariableKind::Clock | VariableKind::OnTube { way: TubeWay::Turn, .. })
}

/// A way of a bracket on its tube.
pub fn on_tube(way: TubeWay) -> &'static str {
    match way {
        TubeWay::Slide => "along its tube",
        TubeWay::StandOff => "off its tube",
        TubeWay::Turn => "round its tube",
    }
}

/// Which way a bracket went on its tube, as the file counts it.
pub fn tube_way(way: TubeWay, by: f64) -> &'static str {
    match (way, by >= 0.0) {
        (TubeWay::Slide, true) => "towards `to` of its tube",
        (TubeWay::Slide, false) => "towards `from` of its tube",
        (TubeWay::StandOff, true) => "away from its tube",
        (TubeWay::StandOff, false) => "nearer to its tube",
        (TubeWay::Turn, true) => "right-hand round its tube",
        (TubeWay::Turn, false) => "left-hand round its tube",
    }
}

/// The unit in which a variable is counted.
pub fn unit(lengths: LengthFormat, kind: &VariableKind) -> &'static str {
    if is_turn(kind) { "deg" } else { lengths.symbol() }
}

/// How far something moved, with its sign: `+3.1 mm`, `-0.40 deg`.
pub fn moved(lengths: LengthFormat, kind: &VariableKind, by: f64) -> String {
    let sign = if by < 0.0 { "-" } else { "+" };
    let size = if is_turn(kind) { format!("{} deg", rounded(by.abs(), 2)) } else { lengths.with_unit(by.abs()) };
    format!("{sign}{size}")
}

/// An amount of a figure in its own unit.
pub fn amount(lengths: LengthFormat, subject: ResidualOf, by: f64) -> String {
    let deg = |decimals: usize| format!("{} deg", rounded(by, decimals));
    let percent = || format!("{} %", rounded(by, 1));
    let length = || format!("{} {}", lengths.finer(by), lengths.symbol());
    let of_quantity = |quantity: Quantity| match quantity.unit() {
        Unit::Degrees | Unit::DegreesPerMillimetre => deg(3),
        Unit::DegreesPer25Millimetres => format!("{} per 25 mm", deg(3)),
        Unit::Millimetres => length(),
        Unit::Percent => percent(),
    };
    match subject {
        ResidualOf::Toe { .. } | ResidualOf::Spread | ResidualOf::AsSet(_) => deg(4),
        ResidualOf::Built => format!("{} percentage points", rounded(100.0 * by, 1)),
        ResidualOf::Limit(Quantity::BumpSteer) => deg(4),
        ResidualOf::Target(quantity) | ResidualOf::Limit(quantity) => of_quantity(quantity),
        ResidualOf::PickupsApart
        | ResidualOf::LinkLength
        | ResidualOf::OutboardOfJoint
        | ResidualOf::ClearOfTube
        | ResidualOf::ShaftLength
        | ResidualOf::TooNear => length(),
    }
}

/// What a figure is about.
pub fn subject(subject: ResidualOf) -> &'static str {
    match subject {
        ResidualOf::Toe { .. } | ResidualOf::Spread => "bump steer",
        ResidualOf::Built => "the chance for one wheel",
        ResidualOf::Target(quantity) | ResidualOf::Limit(quantity) => quantity.name(),
        ResidualOf::PickupsApart => "new pickups too near to another",
        ResidualOf::OutboardOfJoint => "brackets outboard of the inner joint",
        ResidualOf::ClearOfTube => "links and rod ends clear of frame tubes",
        ResidualOf::LinkLength => "a new link too short to make",
        ResidualOf::ShaftLength => "the length of the halfshaft",
        ResidualOf::TooNear => "clearance of parts that are too near",
        ResidualOf::AsSet(Measure::Camber) => "camber at design",
        ResidualOf::AsSet(_) => "toe at design",
    }
}

/// True for a number that is zero in the digits shown.
pub fn shows_nothing(number: &str) -> bool {
    !number.bytes().any(|byte| matches!(byte, b'1'..=b'9'))
}

/// Words with a capital letter at their start.
pub fn sentence_start(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}
