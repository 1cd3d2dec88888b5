//! The points that can be moved, and what is said at each.

use nalgebra::Point3;
use serde::Serialize;

use super::view::{Shown, shown_sides};
use crate::geometry::{Axis, CornerPoint, End, Pickup, Side, Spring, SpringMount};
use crate::present::{self, LengthFormat, rounded, words};
use crate::studies::tune::TubeWay;
use crate::studies::{CarFindings, OffTube, Ride, RoomUse, RoomWay};

/// Nearer than this to its place a point has not moved, mm: below what is shown.
const UNMOVED_MM: f64 = 0.01;

/// A point that can be moved, car axes.
#[derive(Debug, Serialize)]
pub(super) struct PointView {
    side: Side,
    name: String,
    /// Where the posture has it.
    part: PartView,
    at_mm: [f64; 3],
    /// Where the car has it that this one is compared with.
    beside_mm: [f64; 3],
    /// Lowest and highest place of each coordinate that the frame leaves it, car axes.
    room_mm: [Option<[f64; 2]>; 3],
    /// What arrow keys keep its bracket to: `on its tube "lower rail"`, `in the plane of its room`.
    rides_on: Option<String>,
    /// What is wrong here, or how much room is left.
    told: Vec<String>,
    wrong: bool,
    /// How far it stands out of its room, in words; a file that is saved gives it that room.
    out_of_room: Vec<String>,
}

/// The part that a point belongs to, and which of its two ends it is.
#[derive(Debug, Serialize)]
#[serde(rename_all = "snake_case")]
enum PartView {
    Pickup(usize, usize),
    Halfshaft(usize),
    Spring(usize),
    Wheel,
}

impl PartView {
    fn of(point: CornerPoint) -> Self {
        match point {
            CornerPoint::Pickup(Pickup { link, end }) => Self::Pickup(link, usize::from(end == End::Upright)),
            CornerPoint::HalfshaftInner => Self::Halfshaft(0),
            CornerPoint::HalfshaftOuter => Self::Halfshaft(1),
            CornerPoint::SpringChassis => Self::Spring(0),
            CornerPoint::SpringMount => Self::Spring(1),
            CornerPoint::WheelCentre => Self::Wheel,
        }
    }
}

pub(super) fn points(shown: &Shown, found: &CarFindings) -> Vec<PointView> {
    let sides = shown_sides(&shown.now).iter();
    sides.flat_map(|&side| points_of(shown, found, side)).collect()
}

fn points_of(shown: &Shown, found: &CarFindings, side: Side) -> Vec<PointView> {
    let (now, lengths) = (&shown.now, LengthFormat(shown.now.units));
    let corner = now.corner(side);
    let places = corner.points().into_iter().zip(shown.beside.corner(side).points());
    let view = |((point, at), (_, beside)): ((CornerPoint, Point3<f64>), (CornerPoint, Point3<f64>))| {
        let room = RoomUse::of(&shown.drawn, corner, side, point);
        let mut room_mm = [None; 3];
        for used in &room {
            let RoomWay::Axis(axis) = used.way else { continue };
            let axis = axis.index();
            let from = at[axis] - used.moved;
            let ends = [from + used.room.low, from + used.room.high];
            let mirrored = axis == 1 && side == Side::Right;
            room_mm[axis] = Some(if mirrored { [-ends[1], -ends[0]] } else { ends });
        }
        let beyond = room.iter().filter(|used| used.beyond() > 0.0).map(|used| {
            let by = size(lengths, used.way, used.beyond());
            format!("{by} {} out of its room", way_words(used.way, used.moved))
        });
        let out_of_room: Vec<String> = beyond.collect();
        let mut told = out_of_room.clone();
        told.extend(without_room(shown, side, point, at, &room));
        told.extend(off_tube(shown, side, point));
        let binds = found.heave.get(&side).map_or(&[][..], |toe| &toe.binds);
        let is_carrier = |names: &[String]| match point {
            CornerPoint::Pickup(Pickup { link, end: End::Chassis }) => names.contains(&corner.links[link].name),
            _ => false,
        };
        if binds.iter().any(|bind| is_carrier(&bind.links)) {
            // Both ways: the wheel stops at the nearer one, whichever this link carries.
            let mut nearest: Vec<_> = binds.iter().collect();
            nearest.sort_by(|a, b| a.at_bump_mm.abs().total_cmp(&b.at_bump_mm.abs()));
            told.extend(nearest.into_iter().map(|bind| present::bind(lengths, bind)));
        }
        let wrong = !told.is_empty();
        if !wrong {
            told.extend(room.iter().map(|used| {
                let [down, up] = [used.moved - used.room.low, used.room.high - used.moved];
                let [less, more] = [-1.0, 1.0].map(|by| way_words(used.way, by));
                let [up, down] = [up, down].map(|by| size(lengths, used.way, by));
                format!("room left: {up} {more}, {down} {less}")
            }));
        }
        PointView {
            side,
            name: corner.name_of(point),
            part: PartView::of(point),
            at_mm: side.to_car(at).into(),
            beside_mm: side.to_car(beside).into(),
            room_mm,
            rides_on: Ride::of(now, side, point).map(|ride| {
                let at = if ride.tube().is_some() { "on" } else { "in" };
                format!("{at} {}", ride_words(&ride))
            }),
            told,
            wrong,
            out_of_room,
        }
    };
    // A spring mount on a link goes where its link goes.
    let rides = |point: CornerPoint| {
        let on_link = |spring: &Spring| matches!(spring.on, SpringMount::Link { .. });
        point == CornerPoint::SpringMount && corner.spring.as_ref().is_some_and(on_link)
    };
    places.filter(|((point, _), _)| !rides(*point)).map(view).collect()
}

/// How far a pickup went where nothing lets it: of a built car, or of one whose file says of other points what may move.
fn without_room(shown: &Shown, side: Side, point: CornerPoint, at: Point3<f64>, room: &[RoomUse]) -> Vec<String> {
    let (drawn, lengths) = (&shown.drawn, LengthFormat(shown.drawn.units));
    let CornerPoint::Pickup(Pickup { link, end }) = point else { return Vec::new() };
    let may = &drawn.adjustments[side];
    // A spacer moves its point along the bolt, a turned upright all of its own, a bracket on a tube any way.
    let carried = match end {
        End::Chassis => may.links[link].tube.is_some() || may.links[link].chassis_bolt.is_some(),
        End::Upright => may.clock.is_some() || may.links[link].upright_bolt.is_some(),
    };
    let corner = drawn.corner(side);
    let has_room = |(point, _): (CornerPoint, Point3<f64>)| !RoomUse::of(drawn, corner, side, point).is_empty();
    let why = match drawn.built {
        true if drawn.planned => "of where the file has it",
        true => "of where the built car has it",
        false => "of its place, and the file lets it move no such way",
    };
    if carried || !(drawn.built || corner.points().into_iter().any(has_room)) {
        return Vec::new();
    }
    let Some((_, from)) = corner.points().into_iter().find(|(of, _)| *of == point) else { return Vec::new() };
    let fixed = Axis::ALL.into_iter().filter(|axis| room.iter().all(|used| used.way != RoomWay::Axis(*axis)));
    let moved = fixed.map(|axis| (axis, at[axis.index()] - from[axis.index()])).filter(|(_, mm)| mm.abs() > UNMOVED_MM);
    moved.map(|(axis, mm)| format!("{} {} {why}", lengths.with_unit(mm.abs()), axis.way(mm))).collect()
}

/// A bracket where its tube is not, or where the file does not let it go on its tube.
fn off_tube(shown: &Shown, side: Side, point: CornerPoint) -> Vec<String> {
    let lengths = LengthFormat(shown.drawn.units);
    let Some(off) = OffTube::of(&shown.drawn, shown.now.corner(side), side, point) else { return Vec::new() };
    let past = off.past_end.filter(|(mm, _)| *mm > UNMOVED_MM).map(|(mm, is_to)| {
        let end = if is_to { "to" } else { "from" };
        format!("{} past the end `{end}` of tube {:?}: there is nothing to weld it to", lengths.with_unit(mm), off.tube)
    });
    let moved = off.without_room.into_iter().filter(|(_, by)| by.abs() > UNMOVED_MM).map(|(way, by)| {
        let by_words = size(lengths, RoomWay::Tube(way), by.abs());
        format!(
            "{by_words} {}, counted from its place in the file, which lets it move no such way",
            words::tube_way(way, by)
        )
    });
    past.into_iter().chain(moved).collect()
}

/// Which way a point went.
fn way_words(way: RoomWay, by: f64) -> &'static str {
    match way {
        RoomWay::Axis(axis) => axis.way(by),
        RoomWay::Tube(way) => words::tube_way(way, by),
    }
}

fn size(lengths: LengthFormat, way: RoomWay, by: f64) -> String {
    match way {
        RoomWay::Tube(TubeWay::Turn) => format!("{} deg", rounded(by, 1)),
        _ => lengths.with_unit(by),
    }
}

/// `its tube "lower rail"`, `the plane of its room`: two free coordinates are no plate that anybody welded.
pub(super) fn ride_words(ride: &Ride) -> String {
    ride.tube().map_or_else(|| "the plane of its room".to_owned(), |tube| format!("its tube {tube:?}"))
}
