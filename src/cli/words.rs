//! Places and directions in the shop's words.

use hubtrace::geometry::{Corner, End, Wanted};
use hubtrace::studies::tune::{LimitOn, Place, Subject, TubeWay};
use hubtrace::studies::{Coordinate, Cure, Mostly, Quantity, Unit};

use super::lengths::{Lengths, rounded};

/// Which way a move along an axis goes: x forward, y outboard, z up.
pub fn direction(axis: usize, by_mm: f64) -> &'static str {
    match (axis, by_mm >= 0.0) {
        (0, true) => "forward",
        (0, false) => "rearward",
        (1, true) => "outboard",
        (1, false) => "inboard",
        (_, true) => "up",
        (_, false) => "down",
    }
}

/// `"toe link" inner bracket`, `"toe link" outer eye`.
pub fn pickup(corner: &Corner, link: usize, end: End) -> String {
    let end = match end {
        End::Chassis => "inner bracket",
        End::Upright => "outer eye",
    };
    format!("{:?} {end}", corner.links[link].name)
}

/// `3.1 mm down`, `3.1 mm down and 2.0 mm inboard`.
pub fn moves(lengths: Lengths, moves: &[(Coordinate, f64)]) -> String {
    let each = moves.iter().map(|(coordinate, by_mm)| {
        format!("{} {}", lengths.with_unit(by_mm.abs()), direction(coordinate.axis, *by_mm))
    });
    each.collect::<Vec<_>>().join(" and ")
}

/// The cure of a toe curve in one sentence.
pub fn cure(lengths: Lengths, corner: &Corner, cure: &Cure) -> String {
    let mostly = match cure.mostly {
        Mostly::Slope => "slope",
        Mostly::Bow => "bow",
    };
    let (first, _) = cure.moves[0];
    format!(
        "Cure by one bracket (the curve is mostly {mostly}): the {} {} leaves {} deg, solved on the moved car.",
        pickup(corner, first.link, first.end),
        moves(lengths, &cure.moves),
        rounded(cure.leaves_deg, 3)
    )
}

/// Something that may move: `"toe link" inner bracket, up-down`.
pub fn place(corner: &Corner, place: &Place) -> String {
    let axis = |axis: usize| ["fore-aft", "in-out", "up-down"][axis];
    match *place {
        Place::Pickup { link, end, axis: k } => format!("{}, {}", pickup(corner, link, end), axis(k)),
        Place::Bolt { link, end } => format!("spacer of the {}", pickup(corner, link, end)),
        Place::OnTube { link, way, .. } => {
            let way = match way {
                TubeWay::Slide => "along its tube",
                TubeWay::StandOff => "off its tube",
                TubeWay::Turn => "round its tube",
            };
            format!("{} {way}", pickup(corner, link, End::Chassis))
        }
        Place::Length { link } => format!("length of {:?}", corner.links[link].name),
        Place::Clock => "clock angle of the upright".to_owned(),
        Place::SpringChassis { axis: k } => format!("spring's chassis end, {}", axis(k)),
        Place::SpringMount { axis: k } => format!("spring's moving end, {}", axis(k)),
        Place::FinalDrive { axis: k } => format!("final drive, {}", axis(k)),
    }
}

/// True for a freedom that is counted in degrees.
fn is_turn(place: &Place) -> bool {
    matches!(place, Place::Clock | Place::OnTube { way: TubeWay::Turn, .. })
}

/// The unit in which a freedom is counted.
pub fn unit(lengths: Lengths, place: &Place) -> &'static str {
    if is_turn(place) { "deg" } else { lengths.0.symbol() }
}

/// How far something moved, with its sign: `+3.1 mm`, `-0.40 deg`.
pub fn moved(lengths: Lengths, place: &Place, by: f64) -> String {
    let sign = if by < 0.0 { "-" } else { "+" };
    let size = if is_turn(place) { format!("{} deg", rounded(by.abs(), 2)) } else { lengths.with_unit(by.abs()) };
    format!("{sign}{size}")
}

/// An amount of a figure in its own unit.
pub fn amount(lengths: Lengths, subject: Subject, by: f64) -> String {
    let deg = |decimals: usize| format!("{} deg", rounded(by, decimals));
    let percent = || format!("{} %", rounded(by, 1));
    let length = || format!("{} {}", lengths.finer(by), lengths.0.symbol());
    match subject {
        Subject::Toe { .. } | Subject::Spread => deg(4),
        Subject::Wish(Wanted::CamberGain) => format!("{} per 25 mm", deg(3)),
        Subject::Wish(Wanted::InnerJointAngle | Wanted::OuterJointAngle) => deg(2),
        Subject::Wish(Wanted::AntiSquat) => percent(),
        Subject::Wish(
            Wanted::RollCentreHeight | Wanted::RollCentreMigration | Wanted::HalfTrackChange | Wanted::Plunge,
        ) => length(),
        Subject::Limit(LimitOn::File(Quantity::BumpSteer) | LimitOn::DesignToe | LimitOn::DesignCamber) => deg(4),
        Subject::Limit(LimitOn::File(quantity)) => match quantity.unit() {
            Unit::Degrees => deg(3),
            Unit::Millimetres => length(),
            Unit::Percent => percent(),
        },
        Subject::Limit(LimitOn::PickupsApart | LimitOn::LinkLength) => length(),
    }
}

/// What a figure is about.
pub fn subject(subject: Subject) -> &'static str {
    match subject {
        Subject::Toe { .. } | Subject::Spread => "bump steer",
        Subject::Wish(wish) => wanted(wish),
        Subject::Limit(on) => limit(on),
    }
}

pub fn limit(on: LimitOn) -> &'static str {
    match on {
        LimitOn::File(quantity) => quantity.name(),
        LimitOn::PickupsApart => "new pickups too near to another",
        LimitOn::LinkLength => "a new link too short to make",
        LimitOn::DesignToe => "toe at design",
        LimitOn::DesignCamber => "camber at design",
    }
}

/// What a file must have before a target can be measured; the other targets need nothing that a file can lack.
pub fn needed_for(wanted: Wanted) -> &'static str {
    match wanted {
        Wanted::AntiSquat => "`wheelbase`, `cg_height` and `rear_drive_share` in [car]",
        _ => "a [halfshaft]",
    }
}

pub fn wanted(wanted: Wanted) -> &'static str {
    match wanted {
        Wanted::CamberGain => "camber gain",
        Wanted::RollCentreHeight => "roll-centre height",
        Wanted::RollCentreMigration => "roll-centre migration",
        Wanted::AntiSquat => "anti-squat",
        Wanted::HalfTrackChange => "half-track (scrub)",
        Wanted::Plunge => "halfshaft plunge",
        Wanted::InnerJointAngle => "inner joint angle",
        Wanted::OuterJointAngle => "outer joint angle",
    }
}
