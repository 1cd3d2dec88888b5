//! Where the car stands: places of its points at a travel and a roll, and what its halfshafts use of their room.

use nalgebra::Point3;
use serde::Serialize;

use super::view::Show;
use crate::geometry::{Quantity, Side};
use crate::present::{self, LengthFormat, words};
use crate::studies::{NoContact, PosedCar, PosedWheel, Rig, State, TightGap};

/// Where the car stands.
#[derive(Debug, Default, Serialize)]
pub(super) struct PostureView {
    bump_mm: f64,
    roll_deg: f64,
    wheels: Vec<WheelView>,
    road: Vec<[f64; 3]>,
    /// Why a wheel cannot stand there.
    stands: Vec<String>,
}

#[derive(Debug, Serialize)]
struct WheelView {
    side: Side,
    #[serde(flatten)]
    place: PosedWheel,
    radius_mm: f64,
    width_mm: Option<f64>,
    /// Over the joints of the halfshaft, where the file gives them.
    boots: Vec<[[f64; 3]; 2]>,
    boot_radius_mm: Option<f64>,
    /// At the lines between nearest points, in the order of `tight`.
    gaps: Vec<String>,
    /// Whose lines these are, and where it stands.
    name: String,
    /// Why it is drawn away from the road.
    held_back: Option<&'static str>,
    told: Vec<String>,
    /// A joint of the halfshaft is beyond its limit.
    joint_wrong: bool,
}

pub(super) fn posture(rig: &Rig, lengths: LengthFormat, show: &Show) -> PostureView {
    let travel = &rig.geometry.travel;
    let bump_mm = show.bump_mm.clamp(-travel.droop_mm, travel.bump_mm);
    let roll_deg = show.roll_deg.clamp(-travel.roll_deg, travel.roll_deg);
    let asked = PostureView { bump_mm, roll_deg, ..PostureView::default() };
    let Some(posed) = PosedCar::of(rig, bump_mm, roll_deg) else {
        let at = words::travel(lengths, bump_mm);
        return PostureView { stands: vec![format!("The left wheel binds before {at}.")], ..asked };
    };
    let edges = [-1.0, 1.0].map(|side| side * ROAD_EDGE_MM);
    let road = edges.iter().flat_map(|&left| {
        let z = posed.road_height_mm(rig, left);
        [-1.0, 1.0].map(|end| [end * ROAD_HALF_LENGTH_MM, left, z])
    });
    let road = road.collect();
    let mut stands = Vec::new();
    let mut wheels = Vec::new();
    for (side, stood) in posed.wheels {
        match stood {
            Ok(place) => wheels.push(wheel(rig, lengths, side, place)),
            Err(why) => {
                let who = words::sentence_start(side.name());
                stands.push(format!("{who} wheel: {}; move a slider back.", why.what()));
                let end = if matches!(why, NoContact::BeyondStop) { "at its stop" } else { "binds here" };
                let held = posed.held_back[side].clone();
                wheels.extend(held.map(|place| WheelView { held_back: Some(end), ..wheel(rig, lengths, side, place) }));
            }
        }
    }
    PostureView { wheels, road, stands, ..asked }
}

/// How far the road is drawn from the middle of the axle.
const ROAD_EDGE_MM: f64 = 1000.0;
const ROAD_HALF_LENGTH_MM: f64 = 500.0;

fn wheel(rig: &Rig, lengths: LengthFormat, side: Side, place: PosedWheel) -> WheelView {
    let corner = rig.wheel(side).corner;
    let name = format!("{} wheel at {}", words::sentence_start(side.name()), words::travel(lengths, place.bump_mm));
    let mut told = Vec::new();
    let mut joint_wrong = false;
    if let Some(shaft) = place.shaft {
        for (quantity, value) in [
            (Quantity::InnerJointAngle, shaft.inner_angle_deg),
            (Quantity::OuterJointAngle, shaft.outer_angle_deg),
            (Quantity::Plunge, shaft.plunge_mm),
        ] {
            let number =
                |value: f64| present::number(lengths, quantity, present::decimals(lengths, quantity, None), value);
            let unit = present::unit(lengths, quantity.unit());
            let short = |value: f64| present::trimmed(&number(value)).to_owned();
            let limit = rig.geometry.limit(quantity, side);
            let of =
                limit.map_or(String::new(), |limit| format!(", limit {} {unit}", present::limit_band(short, limit)));
            let broken = limit.is_some_and(|limit| value < limit.low || value > limit.high);
            joint_wrong |= broken;
            let state = if broken { "FAIL: " } else { "" };
            told.push(format!("{state}{} {} {unit}{of}", quantity.name(), number(value)));
        }
    }
    let least = lengths.with_unit(rig.geometry.clearance.least_mm());
    let fails = |gap: &TightGap, word: &'static str| if gap.state == State::Fail { word } else { "" };
    told.extend(place.tight.iter().map(|gap| {
        format!("{}gap {} {}, least {least}", fails(gap, "FAIL: "), gap.pair, lengths.with_unit(gap.gap_mm))
    }));
    let gaps =
        place.tight.iter().map(|gap| format!("{}{}", fails(gap, "FAIL "), lengths.with_unit(gap.gap_mm))).collect();
    let boots = rig.geometry.clearance.boots;
    WheelView {
        side,
        boots: place.halfshaft.zip(boots).map_or_else(Vec::new, |(shaft, boots)| along(shaft, boots.length_mm)),
        boot_radius_mm: boots.map(|boots| boots.radius_mm),
        gaps,
        name,
        held_back: None,
        place,
        radius_mm: corner.wheel.tyre_radius_mm,
        width_mm: corner.wheel.tyre_width_mm,
        told,
        joint_wrong,
    }
}

/// From each end of a shaft so far towards the other one.
fn along(shaft: [[f64; 3]; 2], mm: f64) -> Vec<[[f64; 3]; 2]> {
    let [inner, outer] = shaft.map(Point3::from);
    let reach = |from: Point3<f64>, to: Point3<f64>| [from, from + (to - from).normalize() * mm].map(Into::into);
    vec![reach(inner, outer), reach(outer, inner)]
}
