//! Places and directions in the shop's words.

use hubtrace::geometry::{Corner, End, Wanted};
use hubtrace::studies::tune::{Place, TubeWay};
use hubtrace::studies::{Coordinate, Cure, Mostly};

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
        "Cure by one bracket: mostly {mostly}; the {} {} leaves {} deg (solved).",
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

/// The unit in which a freedom is counted.
pub fn unit(place: &Place) -> &'static str {
    match place {
        Place::Clock | Place::OnTube { way: TubeWay::Turn, .. } => "deg",
        _ => "mm",
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
