//! `[[link]]`: one of the five links, and what holds for all five.

use nalgebra::{Point3, Unit, Vector3};
use toml_edit::{Item, TableLike, Value};

use super::adjust;
use super::free;
use super::hardware::{RawBolts, STIFFNESS, read_rod_end};
use super::link_free::{self, RawFree, read_within};
use super::measured_sd;
use super::tube::DIAMETER;
use super::{SAME_POINT_MM, Y_ADVICE, name_advice};
use crate::file::edits::Edits;
use crate::file::reader::{ANGLE, At, Diagnostics, Direction, Flag, Frame, LENGTH, PointKind, Span, Table, Text};
use crate::geometry::{
    ChassisPlace, Link, LinkAdjusters, LinkAdjustments, LinkTube, MeasuredSd, RodEnd, Side, UprightAxes, UprightFrame,
    Wheel,
};

#[derive(Clone)]
pub(super) struct RawLink {
    pub(super) name: At<String>,
    /// The middle of `within`, or nothing of the car, where the file gives no point.
    pub(super) chassis: At<Point3<f64>>,
    pub(super) place: ChassisPlace,
    pub(super) chassis_tube: Option<At<String>>,
    pub(super) upright: At<Point3<f64>>,
    measured_sd: MeasuredSd,
    taped_mm: Option<f64>,
    chassis_bolt: Option<Unit<Vector3<f64>>>,
    upright_bolt: Option<Unit<Vector3<f64>>>,
    rod_end_limit_deg: Option<f64>,
    tube: Option<LinkTube>,
    pub(super) rod_end: Option<RodEnd>,
    pub(super) bolts: Option<RawBolts>,
    pub(super) bracket_stiffness_n_per_mm: Option<f64>,
    pub(super) free: RawFree,
    adjusters: LinkAdjusters,
    pub(super) sets_toe: Option<At<bool>>,
}

impl RawLink {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let name = table.required("name", &Text, "what you call the link");
        if let Some(name) = &name {
            table.rename(format!("link {:?}", name.value));
        }
        let (chassis, place) = read_chassis(&mut table);
        let upright = table.required("upright", &PointKind(Frame::Upright), "the centre of the outer rod end");
        let measured_sd = table.table("measured_sd").map(measured_sd::read).unwrap_or_default();
        let taped_mm = table.value("taped", &LENGTH);
        let chassis_bolt = table.value("chassis_bolt", &Direction(Frame::Car));
        let upright_bolt = table.value("upright_bolt", &Direction(Frame::Upright));
        let rod_end_limit_deg = table.value("rod_end_limit", &ANGLE);
        let tube = table.table("tube").and_then(read_tube);
        let rod_end = table.table("rod_end").map(read_rod_end);
        let bolts = table.table("bolt").and_then(RawBolts::read);
        let bracket_kn_per_mm = table.value("bracket_kn_per_mm", &STIFFNESS);
        let chassis_tube = table.optional("chassis_tube", &Text);
        let free = table.table("free").map(RawFree::read).unwrap_or_default();
        free.note_missing_bolts(&table);
        let adjusters = table.table("adjust").map(adjust::read).unwrap_or_default();
        let sets_toe = table.optional("sets_toe", &Flag);
        table.finish();
        Some(Self {
            name: name?,
            chassis: chassis?,
            place,
            chassis_tube,
            upright: upright?,
            measured_sd,
            taped_mm,
            chassis_bolt,
            upright_bolt,
            rod_end_limit_deg,
            tube,
            rod_end,
            bolts,
            bracket_stiffness_n_per_mm: bracket_kn_per_mm.map(|kn_per_mm| 1000.0 * kn_per_mm),
            free,
            adjusters,
            sets_toe,
        })
    }

    pub(super) fn seated(&self, frame: &UprightFrame) -> Link {
        Link {
            measured_sd: self.measured_sd,
            taped_mm: self.taped_mm,
            chassis_bolt: self.chassis_bolt,
            upright_bolt: self.upright_bolt.map(|bolt| frame.direction(bolt)),
            rod_end_limit_deg: self.rod_end_limit_deg,
            tube: self.tube.clone(),
            adjusters: self.adjusters,
            sets_toe: self.sets_toe.as_ref().is_some_and(|at| at.value),
            ..Link::new(&self.name.value, self.chassis_point(frame), frame.point(&self.upright.value))
        }
    }

    fn chassis_point(&self, frame: &UprightFrame) -> Point3<f64> {
        match self.place {
            ChassisPlace::Drawn | ChassisPlace::Within(_) => self.chassis.value,
            ChassisPlace::Nowhere => frame.point(&self.upright.value) - USUAL_LENGTH_MM * Vector3::y(),
        }
    }

    pub(super) fn is_placed(&self) -> bool {
        self.place == ChassisPlace::Drawn
    }
}

/// Of a link that goes nowhere yet.
const USUAL_LENGTH_MM: f64 = 300.0;

/// The chassis point, or the middle of the box that it may be in and the box; before there is a frame a link has neither.
fn read_chassis(table: &mut Table) -> (Option<At<Point3<f64>>>, ChassisPlace) {
    let chassis = table.optional("chassis", &PointKind(Frame::Car));
    let Some(within) = table.table("within") else {
        return match table.has("chassis") || table.has("within") {
            true => (chassis, ChassisPlace::Drawn),
            false => (Some(At { value: Point3::origin(), span: table.header.clone() }), ChassisPlace::Nowhere),
        };
    };
    if table.has("chassis") {
        let advice = "remove `within`, and give the point room with `free`; or remove `chassis`, to have one found";
        table.note(&within.header, "`within` of [[link]] is for a link without `chassis`, and this one has it", advice);
    }
    let within = read_within(within);
    let middle = within.as_ref().map(|at| {
        let [x, y, z] = at.value.map(|edge| edge.middle());
        At { value: Point3::new(x, y, z), span: at.span.clone() }
    });
    (chassis.or(middle), within.map_or(ChassisPlace::Drawn, |at| ChassisPlace::Within(at.value)))
}

/// The tube that the link is made of.
fn read_tube(mut table: Table) -> Option<LinkTube> {
    table.rename("`tube`".into());
    let od = table.required("od", &DIAMETER, "its outside diameter");
    let wall = table.optional("wall", &LENGTH);
    let material = table.value("material", &Text);
    if let Some((od, wall)) = od.as_ref().zip(wall.as_ref()).filter(|(od, wall)| wall.value > 0.5 * od.value) {
        let what = "`wall` is more than half of `od`";
        table.note(&wall.span, what, format!("write a wall up to {}", table.scope.units.show(0.5 * od.value)));
    }
    table.finish();
    Some(LinkTube { od_mm: od?.value, wall_mm: wall.map(|at| at.value), material })
}

/// Five tables, when there are any; none at all is a missing key.
pub(super) fn check_count(headers: &[Span], diagnostics: &Diagnostics) {
    let count = headers.len();
    let (at, advice) = match count {
        0 | 5 => return,
        1..5 => (headers.last(), "add the missing [[link]] tables; an upright needs five links to be held"),
        6.. => (headers.get(5), "remove what is too many, or see whether two tables mean one link"),
    };
    let links = if count == 1 { "1 link".into() } else { format!("{count} links") };
    diagnostics.add(at.unwrap_or(&(0..0)), format!("the file has {links}, not five"), advice);
}

pub(super) fn check_names(links: &[RawLink], diagnostics: &Diagnostics) {
    for (i, link) in links.iter().enumerate() {
        let name = &link.name;
        if links[..i].iter().any(|other| other.name.value == name.value) {
            let what = format!("two links are called {:?}", name.value);
            diagnostics.add(&name.span, what, "give each link of a side its own name");
        }
        if name.value == "upright" {
            let advice = "give it another name; a spring may be on the upright";
            diagnostics.add(&name.span, "a link cannot be called \"upright\"", advice);
        }
        if name.value == "all" {
            let advice = "give it another name; \"all chassis\" means every link in a group of [weld]";
            diagnostics.add(&name.span, "a link cannot be called \"all\"", advice);
        }
    }
}

/// A link of `[right]` stands in for the one of its name on the left.
pub(super) fn check_right_names(right: &[RawLink], left: &[&str], diagnostics: &Diagnostics) {
    for name in right.iter().map(|link| &link.name).filter(|name| !left.contains(&name.value.as_str())) {
        let what = format!("the left side has no link {:?} for this one to stand in for", name.value);
        diagnostics.add(&name.span, what, name_advice(&name.value, left));
    }
}

/// No upright reaches further outboard of its wheel's centre plane, mm.
const OUTBOARD_OF_WHEEL_MM: f64 = 150.0;

/// All upright points read in the wrong axes, which is one mistake and not five: true when it was noted.
pub(super) fn note_wrong_axes(
    raw: &[RawLink],
    links: &[Link],
    wheel: Option<&Wheel>,
    axes: UprightAxes,
    diagnostics: &Diagnostics,
) -> bool {
    let Some(first) = raw.first().filter(|_| links.len() > 1) else { return false };
    let (what, advice) = match axes {
        UprightAxes::Car if links.iter().all(|link| link.upright.y <= 0.0) => {
            // Only points that are counted from the face of the hub need the offset of the wheel.
            let from_face = wheel.is_some_and(|wheel| wheel.offset_mm.is_some());
            let axes = if from_face { UprightAxes::HubFace } else { UprightAxes::Hub };
            let advice = format!(
                "were they measured from the hub? then write `upright_axes = \"{}\"` at the top of the file; in car axes y \
                 counts to the left: positive for the left wheel, negative in [right]",
                axes.name()
            );
            ("every upright point is on the wrong side of the car", advice)
        }
        UprightAxes::Hub | UprightAxes::HubFace
            if wheel.is_some_and(|wheel| links.iter().all(|link| is_outboard(wheel, link))) =>
        {
            (
                "every upright point is outboard of its wheel",
                "were they measured in car axes? then take `upright_axes` out; in hub axes y counts outboard from the hub \
                 on both sides, and is negative for most points"
                    .to_owned(),
            )
        }
        _ => return false,
    };
    diagnostics.add(&first.upright.span, what, advice);
    true
}

fn is_outboard(wheel: &Wheel, link: &Link) -> bool {
    (link.upright - wheel.centre).dot(&wheel.spin_axis) > OUTBOARD_OF_WHEEL_MM
}

/// Two rod ends that are nearer to each other are written twice, mm.
const LEAST_LENGTH_MM: f64 = 1.0;

/// True when the numbers of an upright point, read in car axes, are those of a point in the wheel that was measured from its hub.
fn is_of_hub(wheel: &Wheel, link: &Link) -> bool {
    link.upright.y > -MOST_INBOARD_MM && link.upright.coords.norm() < wheel.tyre_radius_mm
}

/// No upright reaches further inboard of its wheel's centre plane, mm.
const MOST_INBOARD_MM: f64 = 230.0;

/// The links of one side beside each other; `raw` and `links` in the same order.
pub(super) fn check_points(raw: &[RawLink], links: &[Link], wheel: Option<&Wheel>, diagnostics: &Diagnostics) {
    let all: Vec<(&RawLink, &Link)> = raw.iter().zip(links).collect();
    for (i, &(raw, link)) in all.iter().enumerate() {
        if raw.is_placed() && link.length_mm() < LEAST_LENGTH_MM {
            let what = format!("link {:?} has no length", link.name);
            let advice = "the same point as `chassis`; write the centres of its two rod ends";
            diagnostics.add(&raw.upright.span, what, advice);
        }
        if link.upright.y <= 0.0 {
            let what = format!("the upright end of link {:?} is on the wrong side of the car", link.name);
            let advice = match wheel {
                Some(wheel) if is_of_hub(wheel, link) => {
                    format!("{Y_ADVICE}; was it measured from the hub? the others are in car axes")
                }
                _ => Y_ADVICE.to_owned(),
            };
            diagnostics.add(&raw.upright.span, what, advice);
            note_chassis_across(raw, link, diagnostics);
        }
        if let Some((_, twin)) = all[..i].iter().find(|&&other| same_points(other, (raw, link))) {
            let what = format!("link {:?} has both points of link {:?}", link.name, twin.name);
            let advice = "two links in one place hold the wheel like one; move an end of one of them";
            diagnostics.add(&raw.chassis.span, what, advice);
        }
    }
}

/// The other end of a link whose upright end is on the wrong side: a bracket may reach over the centreline, but not so far.
fn note_chassis_across(raw: &RawLink, link: &Link, diagnostics: &Diagnostics) {
    if raw.is_placed() && link.chassis.y < -MOST_ACROSS_MM {
        let what = format!("the chassis end of link {:?} is on the wrong side of the car", link.name);
        diagnostics.add(&raw.chassis.span, what, Y_ADVICE);
    }
}

/// No bracket reaches further over the centreline, mm.
const MOST_ACROSS_MM: f64 = 100.0;

fn same_points((raw_a, a): (&RawLink, &Link), (raw_b, b): (&RawLink, &Link)) -> bool {
    let placed = raw_a.is_placed() && raw_b.is_placed();
    placed && (a.chassis - b.chassis).norm() < SAME_POINT_MM && (a.upright - b.upright).norm() < SAME_POINT_MM
}

/// Writes a link; one that is placed has its chassis point in place of `within`.
pub(super) fn write(
    edits: &mut Edits,
    keys: &dyn TableLike,
    (link, may): (&Link, &LinkAdjustments),
    side: Side,
    frame: &UprightFrame,
) {
    let chassis = frame.car_point(&link.chassis);
    edits.point(keys, "chassis", &chassis);
    edits.point(keys, "upright", &frame.as_written(&link.upright));
    measured_sd::write(edits, keys, &link.measured_sd);
    if let Some(taped_mm) = link.taped_mm {
        edits.length(keys, "taped", taped_mm);
    }
    if let Some(bolt) = &link.chassis_bolt {
        edits.direction(keys, "chassis_bolt", &frame.car_direction(bolt));
    }
    if let Some(bolt) = &link.upright_bolt {
        edits.direction(keys, "upright_bolt", &frame.direction_as_written(bolt));
    }
    link_free::write(edits, keys, may, side);
    adjust::write(edits, keys, &link.adjusters, frame);
    if may.is_placed() {
        replace_within(edits, keys, &chassis, free::new_text(edits, &may.chassis, side));
    }
}

/// Gives a link its first chassis point in place of the box that it had, and the box as the room of that.
fn replace_within(edits: &mut Edits, keys: &dyn TableLike, chassis: &Point3<f64>, room: Option<String>) {
    let Some((key, within)) = keys.get_key_value("within") else { return };
    let chassis = format!("chassis = {}", edits.point_text(chassis));
    if let Some((key, value)) = key.span().zip(within.as_value().and_then(Value::span)) {
        edits.replace(key.start..value.end, chassis);
        let free = keys.get("free");
        match (room, free.and_then(Item::as_value).filter(|free| free.is_inline_table()).and_then(Value::span)) {
            (Some(room), Some(free)) => edits.replace(free.start + 1..free.start + 1, format!(" chassis = {room},")),
            (Some(room), None) if free.is_none() => {
                edits.insert_key_behind(value, format!("free = {{ chassis = {room} }}"))
            }
            _ => {}
        }
    } else if let (Some(table), Some(upright)) = (within.as_table(), keys.key("upright").and_then(|key| key.span())) {
        edits.replace(upright.start..upright.start, format!("{chassis}{}", edits.line_end()));
        if let Some(header) = table.span().filter(|_| !table.is_dotted()) {
            edits.remove(header);
        }
        for (axis, value) in table.iter() {
            let span = table.key(axis).and_then(|key| key.span()).zip(value.span());
            span.into_iter().for_each(|(key, value)| edits.remove(key.start..value.end));
        }
    }
}

/// The name under which a table of links stands in the file.
pub(super) fn name_of(keys: &dyn TableLike) -> Option<&str> {
    keys.get("name").and_then(Item::as_str)
}
