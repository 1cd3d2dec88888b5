//! Parts that do not fit each other: a link and its tape, an upright and its rim, a bolt and its rod end, a bracket and its
//! tube.

use nalgebra::Point3;

use super::at_wheel::{at_wheel_mm, is_above_tyre};
use super::makers::FRAME_OD_MM;
use super::oddities::ONE_HOLE_MM;
use super::written::{end_pairs, place_of, placed};
use super::{Doubt, Kind, Sentence, Suspect, is_in};
use crate::geometry::slips::{Slip, as_measured, as_typed, one_slip, other_unit};
use crate::geometry::{Corner, CornerPoint, End, Geometry, LengthUnit, Link, LinkAdjustments, Pickup, Side, Tube};
use crate::measures::out_of_square_deg;

/// A tape and two rod ends read this well, mm.
pub(super) const TAPE_MM: f64 = 2.0;

/// Some slip always fits a tape that is off by less, mm.
const SLIP_MM: f64 = 8.0;

/// Numbers that differ by less were meant to be one, mm: what is left of hub axes and of inches.
const WRITTEN_MM: f64 = 0.05;

/// Room that a bracket and a rod end need inside the rim, mm.
pub(super) const RIM_ROOM_MM: f64 = 10.0;

/// Every rod end turns so far, deg: a limit below it is a mistake by itself.
pub(super) const LEAST_ROD_END_DEG: f64 = 4.0;

/// No rod end turns so far, deg: a bolt that is further out of square lies along its link.
pub(super) const ANY_ROD_END_DEG: f64 = 45.0;

pub(super) fn doubts(geometry: &Geometry, side: Side) -> Vec<Doubt> {
    let corner = geometry.corner(side);
    let is_placed = placed(geometry, side);
    let mut found = Vec::new();
    let mut of_each = |check: &dyn Fn(usize, &Link, &LinkAdjustments) -> Vec<Doubt>| {
        for (at, (link, may)) in corner.links.iter().zip(&geometry.adjustments[side].links).enumerate() {
            found.extend(check(at, link, may).into_iter().map(|doubt| doubt.naming([at])));
        }
    };
    of_each(&|_, link, may| taped(geometry, side, link, may).into_iter().collect());
    of_each(&|at, link, _| rim(geometry, corner, link).filter(|_| !is_above_tyre(corner, at)).into_iter().collect());
    of_each(&|_, link, _| tube_size(geometry, side, link).into_iter().collect());
    of_each(&|_, link, may| bolts(side, link, may));
    of_each(&|_, link, may| brackets(geometry, side, link, may));
    of_each(&|_, link, may| inside_tube(geometry, side, link, may).into_iter().collect());
    of_each(&|at, _, _| beside_tube(geometry, side, at).filter(|_| is_placed[at]).into_iter().collect());
    of_each(&|at, _, _| wrong_tube(geometry, side, at).filter(|_| is_placed[at]).into_iter().collect());
    found.extend(near_holes(geometry, side));
    found
}

/// Of a link's tube, mm.
const OD_MM: [f64; 2] = [12.0, 80.0];
const WALL_MM: [f64; 2] = [0.7, 8.0];
/// Of most links.
const USUAL_OD_MM: [f64; 2] = [12.0, 50.0];
const USUAL_WALL_MM: [f64; 2] = [0.9, 5.0];

/// Thickness and wall of no link's tube, with both as they were meant where they are in the other unit.
fn tube_size(geometry: &Geometry, side: Side, link: &Link) -> Option<Doubt> {
    let units = geometry.units;
    let of_left = geometry.left.links.iter().find(|left| side == Side::Right && left.name == link.name);
    let tube = link.tube.as_ref().filter(|tube| of_left.is_none_or(|left| left.tube.as_ref() != Some(*tube)))?;
    let sizes = [("od", Some(tube.od_mm), OD_MM), ("wall", tube.wall_mm, WALL_MM)];
    let given = || sizes.iter().filter_map(|&(key, mm, range_mm)| Some((key, mm?, range_mm)));
    let mut wrong = given().filter(|&(_, mm, range_mm)| !is_in(mm, range_mm)).peekable();
    wrong.peek()?;
    let fits = |(_, factor): &(Slip, f64)| {
        // Of two units that would do the one is meant that makes a usual tube.
        let usual = |key: &str| if key == "od" { USUAL_OD_MM } else { USUAL_WALL_MM };
        let fits = |ranges: &dyn Fn(&str, [f64; 2]) -> [f64; 2]| {
            given().all(|(key, mm, range_mm)| is_in(mm * factor, ranges(key, range_mm)))
        };
        (!fits(&|_, range_mm| range_mm), !fits(&|key, _| usual(key)))
    };
    let in_units = [other_unit(units), (Slip::InCentimetres, 10.0)];
    let best = in_units.into_iter().filter(|unit| !fits(unit).0).min_by_key(fits);
    let meant = best.map(|(slip, factor)| {
        let meant =
            given().map(|(key, mm, _)| format!("{key} = {:?}", as_measured(mm * factor / units.in_mm(), units)));
        (slip, meant.collect::<Vec<_>>().join(", "))
    });
    let is = wrong.map(|(key, mm, [least, most])| {
        let written = as_typed(mm / units.in_mm());
        format!("{key} = {written:?} {} is no link's, {} to {} is", units.symbol(), units.show(least), units.show(most))
    });
    let is = is.collect::<Vec<_>>().join("; ");
    let why = meant.as_ref().map_or(String::new(), |(slip, meant)| format!("; probably {meant}: {}", slip.words()));
    let sentence = format!("Tube of link {:?} on the {}: {is}{why}.", link.name, side.name());
    Some(Doubt::new(Some(side), format!("{} tube", link.name), meant.map(|(_, meant)| meant), sentence))
}

/// Taped lengths that are the drawn ones in another unit; the links go on with those.
pub(super) fn mend_tapes(geometry: &mut Geometry, side: Side) -> Vec<Doubt> {
    const READ_TO: f64 = 0.05; // a tape of the other unit is read to half a tenth of an inch
    let (units, placed) = (geometry.units, placed(geometry, side));
    let (slip, factor) = other_unit(units);
    let rounded_mm = if units == LengthUnit::Millimetre { READ_TO * factor } else { 0.0 };
    let mut found = Vec::new();
    let links = geometry.corner_mut(side).links.iter_mut().enumerate();
    for (at, link) in links.filter(|(at, _)| placed[*at]) {
        let drawn_mm = link.length_mm();
        let Some(taped_mm) = link.taped_mm.filter(|mm| (mm * factor - drawn_mm).abs() <= TAPE_MM + rounded_mm) else {
            continue;
        };
        let [written, meant] = [taped_mm / units.in_mm(), as_measured(taped_mm * factor / units.in_mm(), units)];
        let sentence = format!(
            "Link {:?} on the {}: taped = {written:?} is probably {meant:?}: {}; its points are {} apart.",
            link.name,
            side.name(),
            slip.words(),
            units.show(drawn_mm)
        );
        link.taped_mm = None;
        let about = format!("{} taped", link.name);
        found.push(Doubt::new(Some(side), about, Some(format!("{meant:?}")), sentence).naming([at]));
    }
    found
}

/// Two ends of links that are no one hole, and have no room to be two.
fn near_holes(geometry: &Geometry, side: Side) -> Vec<Doubt> {
    let links = &geometry.corner(side).links;
    let near = end_pairs(placed(geometry, side)).filter_map(|([a, b], end)| {
        let [at_a, at_b] = [a, b].map(|link| place_of(geometry.corner(side), CornerPoint::Pickup(Pickup { link, end })));
        let apart_mm = (at_a - at_b).norm();
        (apart_mm > WRITTEN_MM && apart_mm < ONE_HOLE_MM).then(|| {
            let (first, second, end) = (&links[a].name, &links[b].name, end.name());
            let x_mm = at_a.x - geometry.corner(side).wheel.centre.x;
            let sign = if x_mm.abs() > ONE_HOLE_MM { "; the sign of x of one of them may be turned" } else { "" };
            let rest = format!(
                ": {} apart, and two rod ends have no room there: give both the same numbers if they share a hole, or measure both \
                 again{sign}.",
                geometry.units.show(apart_mm)
            );
            let suspects = [second, first].map(|name| Suspect { about: format!("{name} {end}"), probably: None });
            let sentence = Sentence::of_side(&format!("{first} {end} and {second} {end}"), side, &rest);
            Doubt::of(Some(side), suspects.into(), sentence).naming([a, b])
        })
    });
    near.collect()
}

fn taped(geometry: &Geometry, side: Side, link: &Link, may: &LinkAdjustments) -> Option<Doubt> {
    let taped_mm = link.taped_mm.filter(|_| may.is_placed())?;
    let apart_mm = (link.length_mm() - taped_mm).abs();
    let units = geometry.units;
    (apart_mm > TAPE_MM).then(|| {
        let fits = |number: f64| (units.to_mm(number) - link.length_mm()).abs() <= TAPE_MM;
        let slip = one_slip(taped_mm / units.in_mm(), units, fits).filter(|_| apart_mm > SLIP_MM);
        let slip =
            slip.map_or(String::new(), |(slip, meant)| format!(", or write `taped = {meant:?}`: {}", slip.words()));
        let sentence = format!(
            "Link {:?} on the {} is {} between its points and {} by tape, {} apart: measure its chassis and upright \
             points again{slip}.",
            link.name,
            side.name(),
            units.show(link.length_mm()),
            units.show(taped_mm),
            units.show(apart_mm)
        );
        of_link(side, link, sentence)
    })
}

fn rim(geometry: &Geometry, corner: &Corner, link: &Link) -> Option<Doubt> {
    let rim_mm = corner.wheel.rim_radius_mm?;
    let (_, from_spindle_mm) = at_wheel_mm(corner, &link.upright);
    (from_spindle_mm + RIM_ROOM_MM > rim_mm).then(|| {
        let sentence = format!(
            "The upright end of link {:?} on the {} is {} from the spindle's axis; the rim is {} inside, and a rod end \
             needs {} of room unless it stands beside the rim.",
            link.name,
            corner.side.name(),
            geometry.units.show(from_spindle_mm),
            geometry.units.show(rim_mm),
            geometry.units.show(RIM_ROOM_MM)
        );
        of_link(corner.side, link, sentence)
    })
}

/// How far a rod end of the link turns, deg.
pub(super) fn rod_end_limit_deg(link: &Link) -> f64 {
    link.rod_end_limit_deg.filter(|deg| *deg >= LEAST_ROD_END_DEG).unwrap_or(ANY_ROD_END_DEG)
}

/// Two bolts that stand as far out of square as each other, deg, tell of the link between them; further out than this they lie
/// along it, and are wrong themselves.
const ALIKE_DEG: f64 = 4.0;
const ALONG_DEG: f64 = 65.0;

/// How far the bolts that a link has stand out of square to it, deg.
pub(super) fn out_of_square(link: &Link) -> impl Iterator<Item = (End, f64)> {
    let along = link.upright - link.chassis;
    let ends = [(End::Chassis, link.chassis_bolt), (End::Upright, link.upright_bolt)];
    ends.into_iter().filter_map(move |(end, bolt)| Some((end, out_of_square_deg(&along, bolt.as_ref()?))))
}

/// Bolts that stand further out of square to their link at design than the rod end allows.
fn bolts(side: Side, link: &Link, may: &LinkAdjustments) -> Vec<Doubt> {
    let limit_deg = rod_end_limit_deg(link);
    let off = out_of_square(link).filter(|(_, off_deg)| may.is_placed() && *off_deg > limit_deg);
    let off: Vec<(End, f64)> = off.collect();
    if let [(_, chassis), (_, upright)] = off[..]
        && (chassis - upright).abs() <= ALIKE_DEG
        && chassis.max(upright) < ALONG_DEG
    {
        let sentence = format!(
            "Link {:?} on the {}: its bolts stand {chassis:.1} and {upright:.1} deg out of square to it at design, and its rod ends \
             allow {limit_deg:.1} deg: as they agree, one of its points is probably wrong; measure both again.",
            link.name,
            side.name()
        );
        return vec![of_link(side, link, sentence)];
    }
    off.into_iter()
        .map(|(end, off_deg)| {
            let sentence = format!(
                "The bolt at the {} end of link {:?} on the {} stands {off_deg:.1} deg out of square to its link at \
                 design, and its rod end allows {limit_deg:.1} deg: `{}_bolt` is the way the bolt points, square to the \
                 link as nearly as can be.",
                end.name(),
                link.name,
                side.name(),
                end.name()
            );
            Doubt::new(Some(side), format!("{} {}_bolt", link.name, end.name()), None, sentence)
        })
        .collect()
}

/// Room on a frame tube that leads off its end or through its middle; what uses it has to stop there.
fn brackets(geometry: &Geometry, side: Side, link: &Link, may: &LinkAdjustments) -> Vec<Doubt> {
    let Some(ride) = may.tube.filter(|_| may.is_placed()) else { return Vec::new() };
    let tube = &geometry.tubes[ride.tube];
    let (along_mm, off_mm) = (tube.along_mm(&link.chassis), tube.off_mm(&link.chassis));
    let rest_mm = tube.length_mm() - along_mm;
    let bracket = format!("The bracket of link {:?} on the {}", link.name, side.name());
    let past = ride.slide.filter(|slide| along_mm + slide.low < 0.0 || slide.high > rest_mm).map(|_| {
        let (from, to) = (geometry.units.show(along_mm), geometry.units.show(rest_mm));
        format!(
            "{bracket} has room to slide past the end of tube {:?}, {from} from its `from` and {to} from its `to`.",
            tube.name
        )
    });
    let through = ride.stand_off.filter(|stand_off| off_mm + stand_off.low <= 0.0).map(|_| {
        let off = geometry.units.show(off_mm);
        format!("{bracket} has room to move through the centre line of tube {:?}, {off} away.", tube.name)
    });
    past.into_iter().chain(through).map(|sentence| of_link(side, link, sentence).of_kind(Kind::Tube)).collect()
}

/// The longest bracket between a tube's centre line and the rod end that it carries, mm.
pub(super) const BRACKET_MM: f64 = 100.0;

/// The tube that carries the bracket of a link by the file, and how much further from it the chassis point is than brackets
/// reach, mm; not above 0 where it is near enough.
pub(super) fn tube_of<'g>(geometry: &'g Geometry, corner: &Corner, side: Side, link: usize) -> Option<(&'g Tube, f64)> {
    let tube = &geometry.tubes[geometry.adjustments[side].links[link].tube?.tube];
    Some((tube, beyond_mm(tube, &corner.links[link].chassis)))
}

/// How much further a place is from a tube than brackets reach, mm.
pub(super) fn beyond_mm(tube: &Tube, at: &Point3<f64>) -> f64 {
    from_tube_mm(tube, at) - BRACKET_MM
}

/// From a place to the centre line of a tube, which goes no further than its ends, mm.
pub(super) fn from_tube_mm(tube: &Tube, at: &Point3<f64>) -> f64 {
    let along_mm = tube.along_mm(at);
    tube.off_mm(at).hypot((-along_mm).max(along_mm - tube.length_mm()).max(0.0))
}

/// Brackets are no longer than this as a rule, mm from the tube's centre line.
const USUAL_BRACKET_MM: f64 = 60.0;

/// Another tube that a bracket is usually near to, where the one that carries it by the file is out of its reach.
pub(super) fn nearer_tube<'g>(geometry: &'g Geometry, corner: &Corner, side: Side, link: usize) -> Option<&'g Tube> {
    let at = &corner.links[link].chassis;
    let (own, _) = tube_of(geometry, corner, side, link).filter(|(_, apart_mm)| *apart_mm > 0.0)?;
    let others =
        geometry.tubes.iter().filter(|tube| tube.name != own.name && from_tube_mm(tube, at) < USUAL_BRACKET_MM);
    others.min_by(|a, b| from_tube_mm(a, at).total_cmp(&from_tube_mm(b, at)))
}

/// A bracket that does not reach the tube that carries it.
fn beside_tube(geometry: &Geometry, side: Side, link: usize) -> Option<Doubt> {
    let corner = geometry.corner(side);
    let (tube, apart_mm) = tube_of(geometry, corner, side, link).filter(|(_, apart_mm)| *apart_mm > 0.0)?;
    // What only its end is short of is told of the end.
    if tube.off_mm(&corner.links[link].chassis) <= BRACKET_MM {
        return None;
    }
    let (other, link) = (nearer_tube(geometry, corner, side, link), &corner.links[link]);
    let show = |mm: f64| geometry.units.show(mm);
    let advice = other.map_or("measure the point and the tube again".to_owned(), |other| {
        let near = show(from_tube_mm(other, &link.chassis));
        format!("{:?}, {near} away, probably does; name that, or measure the point and the tube again", other.name)
    });
    let sentence = format!(
        "The chassis point of link {:?} on the {} is {} from frame tube {:?}, which carries its bracket by `chassis_tube`: {advice}.",
        link.name,
        side.name(),
        show(apart_mm + BRACKET_MM),
        tube.name
    );
    Some(Doubt::new(Some(side), format!("{} chassis", link.name), None, sentence).of_kind(Kind::Tube))
}

/// A bracket reaches past the end of its tube by no more than a gusset is long, mm.
const PAST_END_MM: f64 = 40.0;
/// A tube that lies along the car by more than this lies not across it, mm; and from here on an end is beside the middle of the car.
const ALONG_MM: f64 = 300.0;
const BESIDE_MM: f64 = 100.0;
/// Two rails of a frame are as far from its middle as each other, mm.
const RAILS_MM: f64 = 10.0;

/// An end of a tube that stops short of a bracket which the tube carries, or that is on the rail of the other side.
fn wrong_tube(geometry: &Geometry, side: Side, link: usize) -> Option<Doubt> {
    let corner = geometry.corner(side);
    let (tube, _) = tube_of(geometry, corner, side, link)?;
    if tube.off_mm(&corner.links[link].chassis) > BRACKET_MM {
        return None;
    }
    let (link, units) = (&corner.links[link], geometry.units);
    let ends = [("from", &tube.from), ("to", &tube.to)];
    let is_diagonal = (tube.from.y + tube.to.y).abs() < RAILS_MM
        && tube.from.y.abs() > BESIDE_MM
        && (tube.from.x - tube.to.x).abs() > ALONG_MM;
    if let Some((end, at)) = ends.iter().find(|(_, at)| is_diagonal && at.y * link.chassis.y < 0.0) {
        let y = as_typed(at.y / units.in_mm());
        let about = format!("tube {:?} {end}", tube.name);
        let sentence = format!(
            "{about}: y = {y:?} is probably {:?}: {}; as written the tube, which carries the bracket of link {:?}, goes from one side of the \
             car to the other.",
            -y,
            Slip::SignTurned.words(),
            link.name
        );
        return Some(Doubt::new(None, about, Some(format!("{:?}", -y)), sentence));
    }
    let along_mm = tube.along_mm(&link.chassis);
    let past_mm = (-along_mm).max(along_mm - tube.length_mm());
    (past_mm > PAST_END_MM).then(|| {
        let about = format!("tube {:?} {}", tube.name, if along_mm < 0.0 { "from" } else { "to" });
        let sentence = format!(
            "{about}: the tube ends {} short of the bracket of link {:?} that it carries by `chassis_tube`: measure this end again, or name \
             the tube that carries the bracket.",
            units.show(past_mm),
            link.name
        );
        Doubt::new(None, about, None, sentence)
    })
}

/// A rod end that stands in a tube of the frame, where there is no room for its ball, let alone for its bracket.
fn inside_tube(geometry: &Geometry, side: Side, link: &Link, may: &LinkAdjustments) -> Option<Doubt> {
    let holds = |tube: &&Tube| {
        let beside = (0.0..=tube.length_mm()).contains(&tube.along_mm(&link.chassis));
        // A thickness of no tube is told by itself, at its own line.
        let od_mm = tube.od_mm.filter(|od_mm| is_in(*od_mm, FRAME_OD_MM));
        beside && od_mm.is_some_and(|od_mm| tube.off_mm(&link.chassis) < 0.5 * od_mm)
    };
    let tube = geometry.tubes.iter().filter(|_| may.is_placed()).find(holds)?;
    let sentence = format!(
        "The chassis point of link {:?} on the {} is inside frame tube {:?}: {} from its centre line, and the tube is {} thick. \
         Move the point or the tube, or correct its `od`.",
        link.name,
        side.name(),
        tube.name,
        geometry.units.show(tube.off_mm(&link.chassis)),
        geometry.units.show(tube.od_mm?)
    );
    Some(Doubt::new(Some(side), format!("{} chassis", link.name), None, sentence).of_kind(Kind::Tube))
}

fn of_link(side: Side, link: &Link, sentence: String) -> Doubt {
    Doubt::new(Some(side), format!("link {:?}", link.name), None, sentence).of_kind(Kind::Link)
}
