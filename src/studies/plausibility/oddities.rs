//! How far a corner is from those that are built.
//!
//! Each [`Oddity`] compares one number of a corner with the range that corners of cars keep: where a point stands to the
//! wheel, the road and the middle of the car, how long and how steep a link is, alone and beside the others, and what the
//! wheel would do when it is moved. The ranges are common practice with room to spare: wishbones, five links, trailing and
//! semi-trailing arms keep them all, on narrow cars and wide ones.

use nalgebra::{Point3, Vector3};

use super::written::{place_of, placed};
use crate::geometry::{
    Corner, CornerPoint, End, Geometry, Halfshaft, Interval, LengthUnit, Pickup, Side, Spring, SpringMount,
};
use crate::measures::{
    DesignContact, Road, RollCentreLine, camber_gradient_deg_per_mm, out_of_square_deg, segments_apart_mm,
    toe_gradient_deg_per_mm,
};
use crate::mechanism::{Linkage, WheelPath, margin_at_design};

/// One number of a corner beside what such numbers are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Oddity {
    pub(super) about: About,
    what: What,
    value: f64,
    /// 1 at the end of the range that sound corners keep, less inside it; no unit.
    pub(super) ratio: f64,
}

/// What an oddity is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum About {
    /// How the whole corner moves.
    Corner,
    Point(CornerPoint),
    Link(usize),
    /// Two links, or a link and the halfshaft.
    Pair(usize, Option<usize>),
    Halfshaft,
    Spring,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    ToeGain,
    CamberGain,
    RollCentre,
    PathSlope,
    Margin,
    Bind,
    Passes,
    Outboard,
    OutboardOfOthers,
    FromSpindle,
    InHub,
    FromMiddle,
    AboveRoad,
    AheadOfWheel,
    OutboardOfUpright,
    Long,
    Steep,
    Taped,
    LengthAlone,
    TimesOthers,
    PlaceAcrossAlone,
    PlaceAlongAlone,
    DirectionAlone,
    ShaftSlope,
    OutOfSquare,
    ShaftReach,
    ShaftLength,
    OffSpindle,
    SpringRise,
    SpringLean,
    SpringLong,
    Crosses,
    CrossesOthers,
    Beside,
}

/// A wheel is driven so far, mm either way, to see whether the links bind at once.
const BINDS_AT_ONCE_MM: f64 = 25.0;
/// A link with this share of its length along the car is a trailing one: it goes where the frame is, not with the others.
const TRAILING: f64 = 0.85;
/// So many times as far from the middle of what a shaft reaches as its ends: no tape is so far off.
const SHAFT_SLIP: f64 = 2.0;
/// The last figure that is shown of a length, mm.
const ROUNDED_MM: f64 = 0.05;
/// Two rod ends have no room nearer to each other than this, mm: the points are one hole.
pub(super) const ONE_HOLE_MM: f64 = 8.0;

impl Oddity {
    /// `value` in the range from `low` to `high`: 0 in its middle, 1 at its ends.
    fn within(about: About, what: What, value: f64, low: f64, high: f64) -> Self {
        let ratio = (value - f64::midpoint(low, high)).abs() / (0.5 * (high - low));
        Self { about, what, value, ratio: number_or_worse(ratio) }
    }

    /// At least `least`.
    fn at_least(about: About, what: What, value: f64, least: f64) -> Self {
        Self { about, what, value, ratio: number_or_worse(least / value.max(1e-9)) }
    }

    /// True when the oddity speaks of a point.
    pub(super) fn touches(&self, point: CornerPoint) -> bool {
        let of_link = |link: usize| matches!(point, CornerPoint::Pickup(pickup) if pickup.link == link);
        match self.about {
            About::Corner => false,
            About::Point(at) => at == point,
            About::Link(link) => of_link(link),
            About::Pair(link, other) => of_link(link) || other.is_some_and(of_link),
            About::Halfshaft => matches!(point, CornerPoint::HalfshaftInner | CornerPoint::HalfshaftOuter),
            About::Spring => matches!(point, CornerPoint::SpringChassis | CornerPoint::SpringMount),
        }
    }

    /// True when the number by itself is none of a car, with or without a slip that explains it.
    pub(super) fn is_beyond_any_car(&self) -> bool {
        match self.what {
            What::FromMiddle | What::AboveRoad | What::FromSpindle | What::InHub | What::Outboard | What::Long => {
                self.ratio > 1.0
            }
            What::ToeGain | What::CamberGain | What::RollCentre | What::PathSlope => self.ratio > 1.6,
            What::Steep | What::OutboardOfUpright | What::AheadOfWheel | What::ShaftSlope => self.ratio > 1.3,
            What::ShaftReach | What::ShaftLength | What::TimesOthers | What::SpringRise => self.ratio > 1.0,
            What::OffSpindle => false, // told to the millimetre elsewhere
            What::Margin | What::Bind | What::Passes | What::Taped | What::OutOfSquare => false,
            What::OutboardOfOthers | What::LengthAlone | What::Crosses | What::CrossesOthers => false,
            What::SpringLean | What::SpringLong | What::Beside => false,
            What::PlaceAcrossAlone | What::PlaceAlongAlone | What::DirectionAlone => false,
        }
    }

    /// How well it shows a mistake, to be compared: a number that is none of a car before all others, and what the file
    /// says of shafts and bolts after what no car has.
    pub(super) fn strength(&self) -> (bool, bool, f64) {
        (self.is_beyond_any_car(), !matches!(self.what, What::ShaftLength | What::OutOfSquare), self.ratio)
    }

    /// True when a point is where the other side of the car is.
    pub(super) fn is_across(&self) -> bool {
        self.what == What::FromMiddle && self.value < 0.0
    }

    /// True when it is so odd that a slip of the pen is looked for. A bolt may itself be wrong, and a tape that is a little off is a measure to be taken again,
    /// and some slip always fits it.
    pub(super) fn asks_for_a_slip(&self) -> bool {
        match self.what {
            What::Taped | What::OutOfSquare => false,
            What::ShaftLength => self.ratio > SHAFT_SLIP,
            _ => self.ratio > 1.0,
        }
    }

    /// Why the corner looks wrong, to stand behind "as written".
    pub(super) fn words(&self, corner: &Corner, units: LengthUnit) -> String {
        let mm = |mm: f64| units.show(mm);
        let size = mm(self.value.abs());
        let way = |less: &'static str, more: &'static str| if self.value < 0.0 { less } else { more };
        match self.what {
            What::ToeGain => format!("toe changes by {:.1} deg in 25 mm of bump", self.value),
            What::CamberGain => format!("camber changes by {:.1} deg in 25 mm of bump", self.value),
            What::RollCentre => format!("the roll centre is {size} {} the road", way("below", "above")),
            What::PathSlope => format!("bump moves the wheel {:.1} mm fore and aft in 25 mm", 25.0 * self.value.abs()),
            What::Margin => "the links all but bind".to_owned(),
            What::Bind => format!("the wheel binds at {size} of travel"),
            What::Passes => format!("the middles of {} pass each other at {size}", self.pair(corner)),
            What::Outboard => format!("it is {size} {} the wheel's centre plane", way("inboard of", "outboard of")),
            What::OutboardOfOthers => format!("it is {size} {} of the others", way("inboard", "outboard")),
            What::FromSpindle => format!("it is {size} from the spindle's line, and the wheel turns round it"),
            What::InHub => format!("it is {size} from the spindle's line, where the hub and its bearing are"),
            What::FromMiddle if self.value < 0.0 => "it is on the other side of the car".to_owned(),
            What::FromMiddle => format!("it is {size} from the middle of the car"),
            What::AboveRoad => format!("it is {size} {} the road", way("below", "above")),
            What::AheadOfWheel => format!("it is {size} {} the wheel centre", way("behind", "ahead of")),
            What::OutboardOfUpright => format!("its chassis end is {size} outboard of its upright end"),
            What::Long => format!("it is {size} long"),
            What::Steep => format!("it climbs {size} in {}", mm(self.length_mm(corner))),
            What::Taped => format!("it is {size} {} than its tape says", way("shorter", "longer")),
            What::OutOfSquare => format!("a bolt stands {:.1} deg out of square to its link", self.value),
            What::LengthAlone => format!("it is {} long, like no other", mm(self.length_mm(corner))),
            What::TimesOthers if self.value > 0.0 => {
                format!("it is {} long, {:.1} times the others", mm(self.length_mm(corner)), self.value.exp())
            }
            What::TimesOthers => {
                format!("it is {} long, {:.2} of the others", mm(self.length_mm(corner)), self.value.exp())
            }
            What::PlaceAcrossAlone => format!("it is {size} from the nearest bracket across the car"),
            What::PlaceAlongAlone => format!("it is {size} from the nearest bracket along the car"),
            What::DirectionAlone => "its link lies in a direction of its own".to_owned(),
            What::ShaftReach => format!("its outer joint is {size} {} its inner one", way("inboard of", "outboard of")),
            What::ShaftLength => {
                let reach = corner.halfshaft.as_ref().and_then(shaft_reach_mm);
                let reach = reach.map_or(String::new(), |reach| format!("{} to {}", mm(reach.low), mm(reach.high)));
                format!("its joints are drawn {size} apart, and the file's shaft reaches {reach}")
            }
            What::OffSpindle => format!("it is {size} from the spindle's line"),
            What::ShaftSlope => format!("the halfshaft is {size} out of line with its wheel"),
            What::Crosses => "its link crosses the axle line, and no other does".to_owned(),
            What::CrossesOthers => "seen from above its link lies across the others".to_owned(),
            What::Beside => {
                format!("{} share a hole and stand {:.0} deg apart, like one link", self.pair(corner), self.value)
            }
            What::SpringLean => format!("the spring leans {:.0} deg fore and aft", self.value.abs()),
            What::SpringLong => format!("the spring is {size} long, like no other on such a wheel"),
            What::SpringRise => {
                let (rise, length) = corner.spring.as_ref().map_or((0.0, 0.0), spring_rise_and_length_mm);
                let way = if rise < 0.0 { "below" } else { "above" };
                format!("its frame end is {} {way} its other one, in a length of {}", mm(rise.abs()), mm(length))
            }
        }
    }

    fn pair(&self, corner: &Corner) -> String {
        let name = |link: usize| format!("{:?}", corner.links[link].name);
        match self.about {
            About::Pair(link, Some(other)) => format!("{} and {}", name(link), name(other)),
            About::Pair(link, None) => format!("{} and the halfshaft", name(link)),
            _ => String::new(),
        }
    }

    fn length_mm(&self, corner: &Corner) -> f64 {
        match self.about {
            About::Link(link) => corner.links[link].length_mm(),
            _ => 0.0,
        }
    }
}

/// A number that is none is as odd as can be.
fn number_or_worse(ratio: f64) -> f64 {
    if ratio.is_nan() { f64::INFINITY } else { ratio }
}

/// What a corner cannot say of itself.
#[derive(Debug, Clone, Copy)]
pub(super) struct Around {
    /// Which of its links have a chassis point.
    pub(super) placed: [bool; 5],
    /// Where the other halfshaft's inner joint is, y of the other side, where it is not the mirror image, mm.
    other_inner_mm: Option<f64>,
}

impl Around {
    pub(super) fn of(geometry: &Geometry, side: Side) -> Self {
        let other = geometry.corner(side.other()).halfshaft.as_ref().filter(|_| !geometry.looks_alike());
        Self { placed: placed(geometry, side), other_inner_mm: other.map(|shaft| shaft.inner.y) }
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
        motion(corner, &mut found);
        alone(corner, &mut found);
    }
    passing(corner, placed, &mut found);
    upright_ends(corner, &mut found);
    chassis_ends(corner, placed, road_mm, &mut found);
    lengths(corner, placed, &mut found);
    halfshaft(corner, around, road_mm, &mut found);
    spring(corner, road_mm, &mut found);
    found
}

/// What the wheel does in the first millimetres.
fn motion(corner: &Corner, found: &mut Vec<Oddity>) {
    let linkage = Linkage::new(corner);
    let about = About::Corner;
    let Ok(posture) = linkage.design() else {
        return found.push(Oddity { about, what: What::Margin, value: 0.0, ratio: f64::INFINITY });
    };
    found.push(Oddity::at_least(about, What::Margin, margin_at_design(&linkage), 0.04));
    let spin = corner.wheel.spin_axis.into_inner();
    let per_25_mm = |per_mm: f64| 25.0 * per_mm;
    let toe = per_25_mm(toe_gradient_deg_per_mm(&spin, &posture.motion));
    let camber = per_25_mm(camber_gradient_deg_per_mm(&spin, &posture.motion));
    let contact = DesignContact::of(corner);
    let road = Road::new(corner.side, 0.0, 0.0, contact.ground_mm);
    let roll_centre = RollCentreLine::new(&posture, &contact.point, &road).own_side_height_mm();
    let slope = -posture.motion.velocity.x / posture.motion.velocity.z;
    found.extend([
        Oddity::within(about, What::ToeGain, toe, -1.4, 1.4),
        Oddity::within(about, What::CamberGain, camber, -3.0, 1.0),
        Oddity::within(about, What::RollCentre, roll_centre.unwrap_or(f64::INFINITY), -160.0, 400.0),
        Oddity::within(about, What::PathSlope, slope, -0.4, 0.4),
    ]);
    if let Ok(path) = WheelPath::follow(&linkage, &[-BINDS_AT_ONCE_MM, BINDS_AT_ONCE_MM]) {
        let binds = [path.binds_in_droop, path.binds_in_bump].into_iter().flatten();
        let ratio = |at_mm: f64| BINDS_AT_ONCE_MM / at_mm.max(1.0);
        found.extend(binds.map(|bind| bind.at_bump_mm.abs()).map(|at_mm| Oddity {
            about,
            what: What::Bind,
            value: at_mm,
            ratio: ratio(at_mm).max(1.01),
        }));
    }
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

/// How far outboard of the wheel's centre plane, and how far from the spindle's line, a place is, mm.
pub(super) fn at_wheel_mm(corner: &Corner, place: &Point3<f64>) -> (f64, f64) {
    let (arm, spin) = (place - corner.wheel.centre, corner.wheel.spin_axis.into_inner());
    (arm.dot(&spin), arm.cross(&spin).norm())
}

/// From how far inboard to how far outboard of the wheel's centre plane the pickups of uprights stand, mm.
const OUTBOARD_MM: [f64; 2] = [-230.0, 25.0];

/// The furthest from the spindle that a pickup of an upright stands, mm.
pub(super) fn furthest_from_spindle_mm(corner: &Corner) -> f64 {
    (0.78 * corner.wheel.tyre_radius_mm).min(230.0)
}

/// True when a place can be a pickup of this wheel's upright.
pub(super) fn is_in_wheel(corner: &Corner, place: &Point3<f64>) -> bool {
    let (outboard_mm, from_spindle_mm) = at_wheel_mm(corner, place);
    (OUTBOARD_MM[0]..=OUTBOARD_MM[1]).contains(&outboard_mm) && from_spindle_mm <= furthest_from_spindle_mm(corner)
}

fn upright_ends(corner: &Corner, found: &mut Vec<Oddity>) {
    const OF_OTHERS_MM: f64 = 80.0;
    const HUB_MM: f64 = 35.0; // the bearing of a small hub
    let at = corner.links.each_ref().map(|link| at_wheel_mm(corner, &link.upright));
    let outboard = at.map(|(outboard_mm, _)| outboard_mm);
    for (link, (outboard_mm, from_spindle_mm)) in at.into_iter().enumerate() {
        let about = About::Point(CornerPoint::Pickup(Pickup { link, end: End::Upright }));
        let of_others_mm = outboard_mm - middle_of_others(&outboard, link);
        let furthest_mm = furthest_from_spindle_mm(corner);
        found.extend([
            Oddity::within(about, What::Outboard, outboard_mm, OUTBOARD_MM[0], OUTBOARD_MM[1]),
            Oddity::within(about, What::OutboardOfOthers, of_others_mm, -OF_OTHERS_MM, OF_OTHERS_MM),
            Oddity::within(about, What::FromSpindle, from_spindle_mm, -furthest_mm, furthest_mm),
            Oddity::at_least(about, What::InHub, from_spindle_mm, HUB_MM),
        ]);
    }
}

/// The median of four others.
fn middle_of_others(values: &[f64; 5], left_out: usize) -> f64 {
    let mut others: Vec<f64> = (0..5).filter(|&i| i != left_out).map(|i| values[i]).collect();
    others.sort_by(f64::total_cmp);
    f64::midpoint(others[1], others[2])
}

fn chassis_ends(corner: &Corner, placed: [bool; 5], road_mm: f64, found: &mut Vec<Oddity>) {
    for link in (0..5).filter(|&link| placed[link]) {
        let point = CornerPoint::Pickup(Pickup { link, end: End::Chassis });
        fixed_point(corner, point, OFF_MIDDLE_MM, road_mm, found);
        let [chassis, upright] = [corner.links[link].chassis, corner.links[link].upright];
        found.push(Oddity::within(About::Link(link), What::OutboardOfUpright, chassis.y - upright.y, -1060.0, 60.0));
    }
}

/// How far a point that both sides have is from the middle of the car at least, mm.
const OFF_MIDDLE_MM: f64 = 20.0;

/// The same of an inner joint on a final drive in the middle, mm: what lies between two joints is no thinner.
const JOINT_OFF_MIDDLE_MM: f64 = 40.0;

/// A point that is fixed to the frame, or carried by the wheel but not in it; its y is not below `least_mm`.
fn fixed_point(corner: &Corner, point: CornerPoint, least_mm: f64, road_mm: f64, found: &mut Vec<Oddity>) {
    let radii = if point == CornerPoint::SpringChassis { 3.6 } else { 2.8 }; // a spring stands higher than a link
    let about = About::Point(point);
    let place = place_of(corner, point);
    let (above_mm, ahead_mm) = (place.z - road_mm, place.x - corner.wheel.centre.x);
    found.extend([
        Oddity::within(about, What::FromMiddle, place.y, least_mm, 2000.0),
        Oddity::within(about, What::AboveRoad, above_mm, 40.0, radii * corner.wheel.tyre_radius_mm),
        Oddity::within(about, What::AheadOfWheel, ahead_mm, -450.0, 1250.0),
    ]);
}

fn lengths(corner: &Corner, placed: [bool; 5], found: &mut Vec<Oddity>) {
    const LENGTHS_MM: [f64; 2] = [95.0, 1150.0];
    const CLIMB: f64 = 0.5; // of its length
    for link in (0..5).filter(|&link| placed[link]) {
        let (about, length_mm) = (About::Link(link), corner.links[link].length_mm());
        let climb_mm = corner.links[link].upright.z - corner.links[link].chassis.z;
        let ratio = (LENGTHS_MM[0] / length_mm).max(length_mm / LENGTHS_MM[1]);
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

/// Links that stand alone among those of their corner, all five of them; trailing ones may.
fn alone(corner: &Corner, found: &mut Vec<Oddity>) {
    const ACROSS_MM: f64 = 175.0;
    const ALONG_MM: f64 = 430.0; // the front leg of a wide wishbone
    const DIRECTION: f64 = 0.85; // sine of the angle in plan, nearly
    const TIMES_AS_LONG: f64 = 2.0;
    const CROSSES_MM: f64 = 50.0; // either side of the axle line
    const STRAIGHT_MM: f64 = 60.0; // beside each other along the car
    const ACROSS_OTHERS_MM: f64 = 90.0; // by so much, all others together
    const TIMES_OTHERS: f64 = 2.5; // of the middle one of at least two that lie across the car as well
    let along = corner.links.each_ref().map(|link| (link.upright - link.chassis).normalize());
    let is_lateral = |link: usize| along[link].x.abs() <= TRAILING;
    let nearest = |link: usize, value: &dyn Fn(usize) -> f64, of: &dyn Fn(usize) -> bool| {
        let others = (0..5).filter(|&other| other != link && of(other));
        others.map(|other| (value(link) - value(other)).abs()).reduce(f64::min)
    };
    let chassis = |link: usize| corner.links[link].chassis;
    let any = |_: usize| true;
    let ahead_mm =
        |link: usize| [chassis(link), corner.links[link].upright].map(|place| place.x - corner.wheel.centre.x);
    let mut crossing = (0..5).filter(|&link| {
        let [chassis_mm, upright_mm] = ahead_mm(link);
        chassis_mm * upright_mm < 0.0 && chassis_mm.abs().min(upright_mm.abs()) > CROSSES_MM
    });
    if let (Some(link), None) = (crossing.next(), crossing.next()) {
        let about = About::Point(CornerPoint::Pickup(Pickup { link, end: End::Chassis }));
        let [chassis_mm, upright_mm] = ahead_mm(link);
        // Odd where it would lie straight across with its sign turned.
        found.push(Oddity::at_least(about, What::Crosses, (chassis_mm + upright_mm).abs(), STRAIGHT_MM));
    }
    for link in (0..5).filter(|&link| is_lateral(link)) {
        let point = About::Point(CornerPoint::Pickup(Pickup { link, end: End::Chassis }));
        let mut push = |about: About, what: What, apart: Option<f64>, most: f64| {
            found.extend(apart.map(|apart| Oddity::within(about, what, apart, -most, most)));
        };
        push(point, What::PlaceAcrossAlone, nearest(link, &|i| chassis(i).y, &any), ACROSS_MM);
        push(point, What::PlaceAlongAlone, nearest(link, &|i| chassis(i).x, &is_lateral), ALONG_MM);
        push(About::Link(link), What::DirectionAlone, nearest(link, &|i| along[i].x, &any), DIRECTION);
        let across = (0..5).filter(|&other| other != link && is_lateral(other)).map(|other| {
            let [by_mm, at_upright_mm] = [0, 1].map(|end| ahead_mm(link)[end] - ahead_mm(other)[end]);
            if by_mm * at_upright_mm < 0.0 { by_mm.abs().min(at_upright_mm.abs()) } else { 0.0 }
        });
        push(About::Link(link), What::CrossesOthers, Some(across.sum()), ACROSS_OTHERS_MM);
        let length = |i: usize| corner.links[i].length_mm().max(1.0).ln();
        push(About::Link(link), What::LengthAlone, nearest(link, &length, &is_lateral), TIMES_AS_LONG.ln());
        let mut others: Vec<f64> = (0..5).filter(|&i| i != link && is_lateral(i)).map(length).collect();
        others.sort_by(f64::total_cmp);
        let beside = (others.len() >= 2).then(|| length(link) - others[others.len() / 2]);
        push(About::Link(link), What::TimesOthers, beside, TIMES_OTHERS.ln());
    }
}

fn halfshaft(corner: &Corner, around: Around, road_mm: f64, found: &mut Vec<Oddity>) {
    const SLOPE: f64 = 0.5; // of its length, about 30 degrees
    const BEYOND: f64 = -0.5; // of the outer joint's y: a third of the shaft is then on the other side of the car
    let Some(shaft) = &corner.halfshaft else { return };
    let (outboard_mm, from_spindle_mm) = at_wheel_mm(corner, &shaft.outer);
    let outer = About::Point(CornerPoint::HalfshaftOuter);
    found.push(Oddity::within(outer, What::Outboard, outboard_mm, OUTBOARD_MM[0], OUTBOARD_MM[1]));
    found.push(Oddity::within(outer, What::OffSpindle, from_spindle_mm, -30.0, 30.0));
    // A final drive may stand beside the middle of the car, as long as its two flanges do not pass each other.
    let beyond_mm = |other_mm: f64| (2.0 * OFF_MIDDLE_MM - other_mm).max(BEYOND * shaft.outer.y).min(OFF_MIDDLE_MM);
    let least_mm = around.other_inner_mm.map_or(JOINT_OFF_MIDDLE_MM, beyond_mm);
    fixed_point(corner, CornerPoint::HalfshaftInner, least_mm, road_mm, found);
    let along = shaft.outer - shaft.inner;
    let aside_mm = Vector3::new(along.x, 0.0, along.z).norm();
    let most_mm = SLOPE * along.norm();
    found.push(Oddity::within(About::Halfshaft, What::ShaftSlope, aside_mm, -most_mm, most_mm));
    let ratio = number_or_worse((150.0 / along.norm()).max(along.norm() / 1000.0));
    found.push(Oddity { about: About::Halfshaft, what: What::Long, value: along.norm(), ratio });
    found.extend(shaft_reach_mm(shaft).map(|reach| {
        let (low, high) = (reach.low - ROUNDED_MM, reach.high + ROUNDED_MM);
        Oddity::within(About::Halfshaft, What::ShaftLength, along.norm(), low, high)
    }));
    found.push(Oddity::at_least(About::Halfshaft, What::ShaftReach, along.y, 50.0));
}

/// How near together and how far apart the joint centres of a shaft can be by the file, mm; `None` where it does not say.
pub(in crate::studies) fn shaft_reach_mm(shaft: &Halfshaft) -> Option<Interval> {
    let (drawn_mm, window) = (shaft.length_mm(), shaft.make.window_mm(shaft.length_mm()));
    let window = window.map(|(window, _)| window).or(shaft.plunge_window_mm)?;
    Some(Interval { low: drawn_mm + window.low, high: drawn_mm + window.high })
}

fn spring(corner: &Corner, road_mm: f64, found: &mut Vec<Oddity>) {
    const SPRING_RISE: f64 = 0.25; // a wheel that goes up has to press its spring together
    const LEAN_DEG: f64 = 30.0; // fore and aft
    const TIMES_TYRE: f64 = 2.2; // as long as the tyre's radius
    const MOUNT_MM: f64 = 40.0; // above the road
    let Some(spring) = &corner.spring else { return };
    fixed_point(corner, CornerPoint::SpringChassis, OFF_MIDDLE_MM, road_mm, found);
    let (rise_mm, length_mm) = spring_rise_and_length_mm(spring);
    found.push(Oddity::at_least(About::Spring, What::SpringRise, rise_mm / length_mm, SPRING_RISE));
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

/// How far the frame end of a spring is above the other one, and how far from it, mm.
fn spring_rise_and_length_mm(spring: &Spring) -> (f64, f64) {
    (spring.chassis.z - spring.mount.z, (spring.mount - spring.chassis).norm())
}

#[cfg(test)]
mod tests {
    use nalgebra::Vector3;

    use super::{What, motion};
    use crate::file::GeometryFile;

    /// Upper links of 60 mm whose outer ends hang 52 mm below their brackets: no more than 8 mm further down they hang straight.
    #[test]
    fn a_wheel_that_binds_in_droop_alone_binds() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let mut corner = GeometryFile::parse("demo", demo).expect("a sound car").geometry.left;
        let binds = |corner: &_| -> Vec<f64> {
            let mut found = Vec::new();
            motion(corner, &mut found);
            found.iter().filter(|oddity| oddity.what == What::Bind).map(|oddity| oddity.value).collect()
        };
        assert!(binds(&corner).is_empty());
        for link in &mut corner.links[..2] {
            link.chassis = link.upright + Vector3::new(0.0, -30.0, 52.0);
        }
        let at_mm = binds(&corner);
        assert!(at_mm.len() == 1 && (0.1..8.0).contains(&at_mm[0]), "{at_mm:?}");
    }

    /// Links of 60 mm that hang straight after a little droop, and after less.
    #[test]
    fn a_wheel_is_the_odder_the_sooner_it_binds() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let drawn = GeometryFile::parse("demo", demo).expect("a sound car").geometry.left;
        let [later, sooner] = [(-30.0, 52.0), (-21.5, 56.0)].map(|(in_mm, up_mm)| {
            let mut corner = drawn.clone();
            for link in &mut corner.links[..2] {
                link.chassis = link.upright + Vector3::new(0.0, in_mm, up_mm);
            }
            let mut found = Vec::new();
            motion(&corner, &mut found);
            let bind = found.iter().find(|oddity| oddity.what == What::Bind).expect("a bind");
            (bind.value, bind.ratio)
        });
        assert!(sooner.0 < later.0 && sooner.1 > later.1, "{sooner:?} {later:?}");
    }
}
