//! How far a corner is from those that are built.
//!
//! Each [`Oddity`] compares one number of a corner with the range that corners of cars keep: where a point stands to the
//! wheel, the road and the middle of the car, how long and how steep a link is, alone and beside the others, and what the
//! wheel would do when it is moved. The ranges are common practice with room to spare: wishbones, five links, trailing and
//! semi-trailing arms keep them all, on narrow cars and wide ones.

use nalgebra::Vector3;

use super::alone::{alone, trails};
use super::at_wheel::{FROM_SEAT_MM, JOINT_OUTBOARD_MM, OUTBOARD_MM, at_wheel_mm, upright_ends};
use super::motion::motion;
use super::oddity::{About, Oddity, What, number_or_worse, spring_rise_and_length_mm};
use super::written::{place_of, placed};
use crate::geometry::{Corner, CornerPoint, End, Geometry, Pickup, Side, Spring, SpringMount, UprightAxes};
use crate::measures::{out_of_square_deg, segments_apart_mm};

/// No stop is further from the drawn height, mm; a travel that is was typed wrong.
const MOST_TRAVEL_MM: f64 = 150.0;
/// The last figure that is shown of a length, mm.
const ROUNDED_MM: f64 = 0.05;
/// Two rod ends have no room nearer to each other than this, mm: the points are one hole.
pub(super) const ONE_HOLE_MM: f64 = 8.0;

/// What a corner cannot say of itself.
#[derive(Debug, Clone, Copy)]
pub(super) struct Around {
    /// Which of its links have a chassis point.
    pub(super) placed: [bool; 5],
    /// Where the other halfshaft's inner joint is, y of the other side, where it is not the mirror image, mm.
    other_inner_mm: Option<f64>,
    /// The points of its upright count from the face on which the wheel seats.
    from_face: bool,
    /// How far its wheel is driven to see how much it steers, down and up, mm.
    travel_mm: [f64; 2],
}

impl Around {
    pub(super) fn of(geometry: &Geometry, side: Side) -> Self {
        let other = geometry.corner(side.other()).halfshaft.as_ref().filter(|_| !geometry.looks_alike());
        Self {
            placed: placed(geometry, side),
            other_inner_mm: other.map(|shaft| shaft.inner.y),
            from_face: geometry.upright_axes == UprightAxes::HubFace,
            travel_mm: [geometry.travel.droop_mm, geometry.travel.bump_mm].map(|mm| mm.min(MOST_TRAVEL_MM)),
        }
    }

    /// The face on which the wheel seats outboard of its centre plane, where the points of the upright count from it, mm.
    pub(super) fn seat_mm(&self, corner: &Corner) -> Option<f64> {
        corner.wheel.offset_mm.filter(|_| self.from_face)
    }
}

/// How many comparisons a corner fails.
pub(super) fn count_odd(corner: &Corner, around: Around) -> usize {
    oddities(corner, around).iter().filter(|oddity| oddity.ratio > 1.0).count()
}

/// Every comparison for a corner; only placed links have a chassis point.
pub(super) fn oddities(corner: &Corner, around: Around) -> Vec<Oddity> {
    let placed = around.placed;
    let mut found = Vec::with_capacity(96);
    let road_mm = corner.contact_height_mm();
    if placed == [true; 5] {
        motion(corner, around.travel_mm, &mut found);
        alone(corner, &mut found);
    }
    passing(corner, placed, &mut found);
    upright_ends(corner, around, &mut found);
    chassis_ends(corner, placed, road_mm, &mut found);
    lengths(corner, placed, &mut found);
    halfshaft(corner, around, road_mm, &mut found);
    spring(corner, road_mm, &mut found);
    found
}

/// Links that would pass through each other or through the halfshaft; those that share a hole do not count.
fn passing(corner: &Corner, placed: [bool; 5], found: &mut Vec<Oddity>) {
    const APART_MM: f64 = 14.0;
    const APART_DEG: f64 = 20.0;
    let ends = |link: usize| [corner.links[link].chassis, corner.links[link].upright];
    let links = || (0..5).filter(|&link| placed[link]);
    for link in links() {
        for other in links().filter(|&other| other > link) {
            let ([a, b], [c, d]) = (ends(link), ends(other));
            let share_a_hole = [(a, c), (b, d), (a, d), (b, c)].iter().any(|(p, q)| (p - q).norm() < ONE_HOLE_MM);
            if (b - d).norm() < ONE_HOLE_MM {
                let apart_deg = (a - b).angle(&(c - d)).to_degrees();
                let about = About::Pair(link, Some(other));
                found.push(Oddity::at_least(about, What::Beside, apart_deg, APART_DEG));
            }
            if !share_a_hole {
                let apart_mm = segments_apart_mm(&[a, b], &[c, d]);
                found.push(Oddity::at_least(About::Pair(link, Some(other)), What::Passes, apart_mm, APART_MM));
            }
        }
        if let Some(shaft) = &corner.halfshaft {
            let apart_mm = segments_apart_mm(&ends(link), &[shaft.inner, shaft.outer]);
            found.push(Oddity::at_least(About::Pair(link, None), What::Passes, apart_mm, APART_MM));
        }
    }
}

fn chassis_ends(corner: &Corner, placed: [bool; 5], road_mm: f64, found: &mut Vec<Oddity>) {
    for link in (0..5).filter(|&link| placed[link]) {
        let point = CornerPoint::Pickup(Pickup { link, end: End::Chassis });
        fixed_point(corner, point, FROM_MIDDLE_MM, road_mm, found);
        let [chassis, upright] = [corner.links[link].chassis, corner.links[link].upright];
        let [least_mm, most_mm] = OUTBOARD_OF_UPRIGHT_MM;
        found.push(Oddity::within(
            About::Link(link),
            What::OutboardOfUpright,
            chassis.y - upright.y,
            least_mm,
            most_mm,
        ));
        beside_wheel(corner, placed, link, found);
    }
}

/// A tyre is half as wide as a rule where the file gives no width, mm.
const HALF_TYRE_MM: f64 = 80.0;

/// A bracket where the tyre is, or so near to its upright that there is no room for a link.
fn beside_wheel(corner: &Corner, placed: [bool; 5], link: usize, found: &mut Vec<Oddity>) {
    const SHORT: f64 = 0.8; // of the tyre's radius: what lies along the car goes to a frame ahead of the tyre
    const INBOARD_OF_UPRIGHT_MM: f64 = 100.0;
    let [chassis, upright] = [corner.links[link].chassis, corner.links[link].upright];
    let (wheel, (outboard_mm, from_spindle_mm)) = (&corner.wheel, at_wheel_mm(corner, &chassis));
    if from_spindle_mm < wheel.tyre_radius_mm {
        let half_mm = wheel.tyre_width_mm.map_or(HALF_TYRE_MM, |mm| 0.5 * mm);
        let about = About::Point(CornerPoint::Pickup(Pickup { link, end: End::Chassis }));
        let inboard_mm = -outboard_mm;
        // A bracket outboard of the wheel's middle is odd beside its upright, and one inboard of the tyre says nothing.
        if inboard_mm > 0.0 && inboard_mm < half_mm {
            found.push(Oddity::at_least(about, What::InTyre, inboard_mm, half_mm));
        }
    }
    // The tubes of an arm meet at its pivots, wherever those are.
    let is_of_arm = (0..5)
        .filter(|&other| other != link && placed[other])
        .any(|other| (corner.links[other].chassis - chassis).norm() < ONE_HOLE_MM);
    let is_short = corner.links[link].length_mm() < SHORT * wheel.tyre_radius_mm;
    if trails(corner, link) && is_short && !is_of_arm {
        let (inboard_mm, most_mm) = (upright.y - chassis.y, -OUTBOARD_OF_UPRIGHT_MM[0]);
        let beside = Oddity::within(About::Link(link), What::BesideUpright, inboard_mm, INBOARD_OF_UPRIGHT_MM, most_mm);
        found.extend((beside.ratio > 1.0).then_some(beside));
    }
}

/// How far a point that both sides have is from the middle of the car, mm.
pub(super) const FROM_MIDDLE_MM: [f64; 2] = [20.0, 2000.0];
/// From how far behind the wheel centre to how far ahead of it, of the front end of a long trailing link, mm.
pub(super) const AHEAD_MM: [f64; 2] = [-450.0, 1700.0];
/// How far outboard of its upright end the chassis end of a link is, mm.
pub(super) const OUTBOARD_OF_UPRIGHT_MM: [f64; 2] = [-1060.0, 60.0];
/// Above the road, mm, and in tyre radii, of a link's end.
pub(super) const ABOVE_ROAD_MM: f64 = 40.0;
pub(super) const TIMES_RADIUS: f64 = 2.8;

/// The same of an inner joint on a final drive in the middle, mm: what lies between two joints is no thinner, and no wider unless
/// the car leaves room for shafts that are so many times as long as the tyre's radius.
pub(super) const JOINT_FROM_MIDDLE_MM: [f64; 2] = [40.0, 350.0];
const SHAFT_OF_WIDE: f64 = 1.05;

/// A point that is fixed to the frame, or carried by the wheel but not in it; its y is in this range, mm.
fn fixed_point(
    corner: &Corner,
    point: CornerPoint,
    [least_mm, most_mm]: [f64; 2],
    road_mm: f64,
    found: &mut Vec<Oddity>,
) {
    let trails = matches!(point, CornerPoint::Pickup(Pickup { link, .. }) if trails(corner, link));
    let furthest_mm = if trails { AHEAD_MM[1] } else { 1250.0 };
    let radii = if point == CornerPoint::SpringChassis { 3.6 } else { TIMES_RADIUS }; // a spring stands higher than a link
    let about = About::Point(point);
    let place = place_of(corner, point);
    let (above_mm, ahead_mm) = (place.z - road_mm, place.x - corner.wheel.centre.x);
    found.extend([
        Oddity::within(about, What::FromMiddle, place.y, least_mm, most_mm),
        Oddity::within(about, What::AboveRoad, above_mm, ABOVE_ROAD_MM, radii * corner.wheel.tyre_radius_mm),
        Oddity::within(about, What::AheadOfWheel, ahead_mm, AHEAD_MM[0], furthest_mm),
    ]);
}

fn lengths(corner: &Corner, placed: [bool; 5], found: &mut Vec<Oddity>) {
    const LENGTHS_MM: [f64; 2] = [95.0, 1150.0];
    const TRAILING_MM: f64 = 1600.0; // one that lies along the car, from the axle to a bulkhead behind the seat
    const CLIMB: f64 = 0.5; // of its length
    for link in (0..5).filter(|&link| placed[link]) {
        let (about, length_mm) = (About::Link(link), corner.links[link].length_mm());
        let climb_mm = corner.links[link].upright.z - corner.links[link].chassis.z;
        let longest_mm = if trails(corner, link) { TRAILING_MM } else { LENGTHS_MM[1] };
        let ratio = (LENGTHS_MM[0] / length_mm).max(length_mm / longest_mm);
        let most_mm = CLIMB * length_mm;
        found.push(Oddity { about, what: What::Long, value: length_mm, ratio: number_or_worse(ratio) });
        found.push(Oddity::within(about, What::Steep, climb_mm, -most_mm, most_mm));
        let (along, limit_deg) = (
            corner.links[link].upright - corner.links[link].chassis,
            super::parts::rod_end_limit_deg(&corner.links[link]),
        );
        let bolts = [&corner.links[link].chassis_bolt, &corner.links[link].upright_bolt].into_iter().flatten();
        let off_deg = bolts.map(|bolt| out_of_square_deg(&along, bolt));
        found.extend(off_deg.map(|deg| Oddity::within(about, What::OutOfSquare, deg, -limit_deg, limit_deg)));
        if let Some(taped_mm) = corner.links[link].taped_mm {
            let off_mm = length_mm - taped_mm;
            found.push(Oddity::within(about, What::Taped, off_mm, -super::parts::TAPE_MM, super::parts::TAPE_MM));
        }
    }
}

fn halfshaft(corner: &Corner, around: Around, road_mm: f64, found: &mut Vec<Oddity>) {
    const SLOPE: f64 = 0.5; // of its length, about 30 degrees
    const BEYOND: f64 = -0.5; // of the outer joint's y: a third of the shaft is then on the other side of the car
    let Some(shaft) = &corner.halfshaft else { return };
    let (outboard_mm, from_spindle_mm) = at_wheel_mm(corner, &shaft.outer);
    let outer = About::Point(CornerPoint::HalfshaftOuter);
    found.push(Oddity::within(outer, What::Outboard, outboard_mm, JOINT_OUTBOARD_MM[0], JOINT_OUTBOARD_MM[1]));
    let seat_mm = around.seat_mm(corner);
    found.extend(seat_mm.map(|mm| Oddity::at_least(outer, What::AtSeat, mm - outboard_mm, FROM_SEAT_MM)));
    found.push(Oddity::within(outer, What::OffSpindle, from_spindle_mm, -30.0, 30.0));
    // A final drive may stand beside the middle of the car, as long as its two flanges do not pass each other.
    let near_mm = FROM_MIDDLE_MM[0];
    let beyond_mm = |other_mm: f64| (2.0 * near_mm - other_mm).max(BEYOND * shaft.outer.y).min(near_mm);
    let beside_mm = |other_mm: f64| [beyond_mm(other_mm), FROM_MIDDLE_MM[1]];
    let [thin_mm, wide_mm] = JOINT_FROM_MIDDLE_MM;
    let in_middle_mm = [thin_mm, wide_mm.max(shaft.outer.y - SHAFT_OF_WIDE * corner.wheel.tyre_radius_mm)];
    let range_mm = around.other_inner_mm.map_or(in_middle_mm, beside_mm);
    fixed_point(corner, CornerPoint::HalfshaftInner, range_mm, road_mm, found);
    let along = shaft.outer - shaft.inner;
    let aside_mm = Vector3::new(along.x, 0.0, along.z).norm();
    let most_mm = SLOPE * along.norm();
    found.push(Oddity::within(About::Halfshaft, What::ShaftSlope, aside_mm, -most_mm, most_mm));
    let ratio = number_or_worse((150.0 / along.norm()).max(along.norm() / 1000.0));
    found.push(Oddity { about: About::Halfshaft, what: What::Long, value: along.norm(), ratio });
    found.extend(shaft.reach_mm().map(|reach| {
        let (low, high) = (reach.low - ROUNDED_MM, reach.high + ROUNDED_MM);
        Oddity::within(About::Halfshaft, What::ShaftLength, along.norm(), low, high)
    }));
    found.push(Oddity::at_least(About::Halfshaft, What::ShaftReach, along.y, 50.0));
}

fn spring(corner: &Corner, road_mm: f64, found: &mut Vec<Oddity>) {
    const SPRING_RISE: f64 = 0.25; // a wheel that goes up has to press its spring together
    const LEAN_DEG: f64 = 30.0; // fore and aft
    const TIMES_TYRE: f64 = 2.2; // as long as the tyre's radius
    const MOUNT_MM: f64 = 40.0; // above the road
    let Some(spring) = &corner.spring else { return };
    fixed_point(corner, CornerPoint::SpringChassis, FROM_MIDDLE_MM, road_mm, found);
    let (rise_mm, length_mm) = spring_rise_and_length_mm(spring);
    if !is_pulled(corner, spring) {
        found.push(Oddity::at_least(About::Spring, What::SpringRise, rise_mm / length_mm, SPRING_RISE));
    }
    let ratio = number_or_worse((100.0 / length_mm).max(length_mm / 1000.0));
    found.push(Oddity { about: About::Spring, what: What::Long, value: length_mm, ratio });
    let lean_deg = ((spring.chassis.x - spring.mount.x) / length_mm).asin().to_degrees();
    found.push(Oddity::within(About::Spring, What::SpringLean, lean_deg, -LEAN_DEG, LEAN_DEG));
    let most_mm = TIMES_TYRE * corner.wheel.tyre_radius_mm;
    found.push(Oddity::within(About::Spring, What::SpringLong, length_mm, -most_mm, most_mm));
    let (outboard_mm, _) = at_wheel_mm(corner, &spring.chassis);
    let chassis = About::Point(CornerPoint::SpringChassis);
    found.push(Oddity::within(chassis, What::Outboard, outboard_mm, -1500.0, 0.0));
    if spring.on == SpringMount::Upright {
        let (outboard_mm, from_spindle_mm) = at_wheel_mm(corner, &spring.mount);
        let mount = About::Point(CornerPoint::SpringMount);
        let furthest_mm = 1.3 * corner.wheel.tyre_radius_mm;
        found.push(Oddity::within(mount, What::Outboard, outboard_mm, -400.0, OUTBOARD_MM[1]));
        found.push(Oddity::within(mount, What::FromSpindle, from_spindle_mm, -furthest_mm, furthest_mm));
        found.push(Oddity::at_least(mount, What::AboveRoad, spring.mount.z - road_mm, MOUNT_MM));
    }
}

/// A spring whose rod goes inboard from high up on the upright, level or down, to where a rocker turns it.
fn is_pulled(corner: &Corner, spring: &Spring) -> bool {
    const INBOARD: f64 = 0.6; // of its length
    const HIGH: f64 = 0.2; // above the wheel centre, of the tyre's radius
    let (inboard_mm, length_mm) = (spring.mount.y - spring.chassis.y, (spring.mount - spring.chassis).norm());
    let high_mm = spring.mount.z - corner.wheel.centre.z;
    spring.on == SpringMount::Upright
        && inboard_mm > INBOARD * length_mm
        && high_mm > HIGH * corner.wheel.tyre_radius_mm
}
