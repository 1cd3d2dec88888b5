//! The keys of a geometry file exactly as they are written, before their relations are checked.

mod freedom;
mod targets;
mod weld;

use nalgebra::{Point3, Unit, Vector3};
use toml_edit::{Document, TomlError};

use super::freedom::AdjustmentRange;
use super::interval::Interval;
use super::model::{Car, LengthUnit, Travel};
use super::problem::{Diagnostics, Span};
use super::quantity::{LimitKey, Limits, Quantity};
use super::reader::{At, Table};
use super::side::Side;
use super::targets::Targets;
use super::values::{
    ANGLE, COORDINATE, Direction, Flag, Frame, HEIGHT, IntervalKind, LENGTH, Number, Numbers, PointKind, ROLL,
    ROLL_STEP, SHARE, Schema, Scope, TOE_AND_CAMBER, TRAVEL, TYRE_RADIUS, Text, Word, shown,
};
use super::weld::Tape;
pub(super) use freedom::{RawFree, RawTube};
pub(super) use weld::{RawGroup, RawWeld};

/// In which axes a file gives the points of the upright.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UprightAxes {
    Car,
    /// From the wheel centre, y along the spindle outboard on both sides.
    Hub,
}

pub(super) struct RawFile {
    pub(super) name: Option<String>,
    pub(super) units: LengthUnit,
    pub(super) upright_axes: UprightAxes,
    pub(super) starter: Option<String>,
    pub(super) uneven_road: bool,
    pub(super) left: RawSide,
    pub(super) right: RawSide,
    pub(super) car: Car,
    pub(super) travel: Travel,
    pub(super) limits: Limits,
    pub(super) weld: Option<RawWeld>,
    pub(super) tape: Option<Tape>,
    /// None for one that could not be read.
    pub(super) tubes: Vec<Option<RawTube>>,
    pub(super) targets: Targets,
}

/// What the file says of one side, in side axes; the right side holds only what differs from the mirror image.
#[derive(Default)]
pub(super) struct RawSide {
    pub(super) wheel: Option<RawWheel>,
    pub(super) links: Vec<RawLink>,
    /// Headers of the link tables, readable or not.
    pub(super) link_headers: Vec<Span>,
    pub(super) halfshaft: Option<RawHalfshaft>,
    pub(super) spring: Option<RawSpring>,
}

#[derive(Clone)]
pub(super) struct RawWheel {
    pub(super) centre: At<Point3<f64>>,
    pub(super) tyre_radius_mm: f64,
    pub(super) toe_deg: f64,
    pub(super) camber_deg: f64,
    pub(super) toe_span_mm: Option<f64>,
    pub(super) rim_radius_mm: Option<At<f64>>,
    pub(super) clock: Option<AdjustmentRange>,
}

#[derive(Clone)]
pub(super) struct RawLink {
    pub(super) name: At<String>,
    /// The middle of `within` where the file gives no point.
    pub(super) chassis: At<Point3<f64>>,
    pub(super) within: Option<[Interval; 3]>,
    pub(super) chassis_tube: Option<At<String>>,
    pub(super) upright: At<Point3<f64>>,
    pub(super) taped_mm: Option<f64>,
    pub(super) chassis_bolt: Option<Unit<Vector3<f64>>>,
    pub(super) upright_bolt: Option<Unit<Vector3<f64>>>,
    pub(super) rod_end_limit_deg: Option<f64>,
    pub(super) free: RawFree,
}

#[derive(Clone)]
pub(super) struct RawHalfshaft {
    pub(super) inner: Point3<f64>,
    pub(super) axis: Unit<Vector3<f64>>,
    pub(super) outer: At<Point3<f64>>,
    pub(super) inner_limit_deg: Option<f64>,
    pub(super) outer_limit_deg: Option<f64>,
    pub(super) plunge_window_mm: Option<Interval>,
    pub(super) free_inner: [Option<AdjustmentRange>; 3],
}

#[derive(Clone)]
pub(super) struct RawSpring {
    pub(super) chassis: At<Point3<f64>>,
    pub(super) mount: At<Point3<f64>>,
    /// Name of the link that carries it; none for the upright.
    pub(super) link: Option<At<String>>,
    pub(super) free_chassis: [Option<AdjustmentRange>; 3],
    pub(super) free_mount: [Option<AdjustmentRange>; 3],
}

/// Reads every key; what is error goes into the diagnostics and is absent from the result.
pub(super) fn read(text: &str, diagnostics: &Diagnostics) -> Option<RawFile> {
    match Document::parse(text) {
        Ok(document) => Some(read_top(&document, diagnostics)),
        Err(error) => {
            note_syntax(&error, text, diagnostics);
            None
        }
    }
}

fn note_syntax(error: &TomlError, text: &str, diagnostics: &Diagnostics) {
    let message = error.message().lines().collect::<Vec<_>>().join("; ");
    let at = error.span().unwrap_or(text.len()..text.len());
    if message == "duplicate key" {
        let key = shown(text.get(at.clone()).unwrap_or_default());
        diagnostics.add(&at, format!("{key} stands twice"), "remove this one or the other");
    } else if message.contains("overflowed") {
        diagnostics.add(
            &at,
            "no car has a number as large as this",
            "write a length in the file's unit, or an angle in deg",
        );
    } else {
        let advice =
            "write `key = value`, one a line: text in \"quotes\", points as [x, y, z]; close every quote and bracket";
        diagnostics.add(&at, format!("not valid TOML: {message}"), advice);
    }
}

fn read_top(document: &Document<&str>, diagnostics: &Diagnostics) -> RawFile {
    let scope = Scope { units: LengthUnit::Millimetre, side: Side::Left, hub_axes: false };
    let mut top = Table::top(document.as_table(), scope, diagnostics);
    top.required("schema", &Schema, "the form of the file");
    let name = top.value("name", &Text);
    let units = top.value("units", &Word(&[("mm", LengthUnit::Millimetre), ("in", LengthUnit::Inch)]));
    let axes = top.value("upright_axes", &Word(&[("car", UprightAxes::Car), ("hub", UprightAxes::Hub)]));
    let (units, upright_axes) = (units.unwrap_or(LengthUnit::Millimetre), axes.unwrap_or(UprightAxes::Car));
    top.scope = Scope { units, hub_axes: upright_axes == UprightAxes::Hub, ..scope };
    let file = RawFile {
        name,
        units,
        upright_axes,
        starter: top.value("starter", &Text),
        uneven_road: top.table("road").is_some_and(read_road),
        left: read_left(&mut top),
        right: top.table("right").map(read_right).unwrap_or_default(),
        car: top.table("car").map(read_car).unwrap_or_default(),
        travel: read_travel(top.table("travel")),
        limits: top.table("limits").map(read_limits).unwrap_or_default(),
        weld: top.table("weld").and_then(weld::read_weld),
        tape: top.table("tape").and_then(weld::read_tape),
        tubes: top.tables("tube").into_iter().map(freedom::read_tube).collect(),
        targets: top.table("targets").map(targets::read_targets).unwrap_or_default(),
    };
    top.finish();
    file
}

fn read_road(mut table: Table) -> bool {
    let uneven = table.value("uneven", &Flag);
    table.finish();
    uneven.unwrap_or(false)
}

fn read_left(top: &mut Table) -> RawSide {
    let wheel = top.required_table("wheel", "the left wheel, with its `centre` and `tyre_radius`").and_then(read_wheel);
    let links = top.required_tables("link", "five times, one for each link");
    RawSide {
        wheel,
        link_headers: links.iter().map(|link| link.header.clone()).collect(),
        links: links.into_iter().filter_map(read_link).collect(),
        halfshaft: top.table("halfshaft").and_then(read_halfshaft),
        spring: top.table("spring").and_then(read_spring),
    }
}

fn read_right(mut table: Table) -> RawSide {
    table.scope = Scope { side: Side::Right, ..table.scope };
    let links = table.tables("link");
    let side = RawSide {
        wheel: table.table("wheel").and_then(read_wheel),
        link_headers: links.iter().map(|link| link.header.clone()).collect(),
        links: links.into_iter().filter_map(read_link).collect(),
        halfshaft: table.table("halfshaft").and_then(read_halfshaft),
        spring: table.table("spring").and_then(read_spring),
    };
    table.finish();
    side
}

fn read_wheel(mut table: Table) -> Option<RawWheel> {
    let centre = table.required("centre", &PointKind(Frame::Car), "the wheel centre at design height");
    let tyre_radius = table.required("tyre_radius", &TYRE_RADIUS, "the loaded radius of the tyre");
    let toe_deg = table.value("toe", &TOE_AND_CAMBER).unwrap_or(0.0);
    let camber_deg = table.value("camber", &TOE_AND_CAMBER).unwrap_or(0.0);
    let toe_span_mm = table.value("toe_span", &LENGTH);
    let rim_radius_mm = table.optional("rim_radius", &LENGTH);
    let clock = table.value("clock", &freedom::ABOUT);
    table.finish();
    let tyre_radius_mm = tyre_radius?.value;
    Some(RawWheel { centre: centre?, tyre_radius_mm, toe_deg, camber_deg, toe_span_mm, rim_radius_mm, clock })
}

fn read_link(mut table: Table) -> Option<RawLink> {
    let name = table.required("name", &Text, "what you call the link");
    if let Some(name) = &name {
        table.rename(format!("link {:?}", name.value));
    }
    let (chassis, within) = read_chassis(&mut table);
    let upright = table.required("upright", &PointKind(Frame::Upright), "the centre of the outer rod end");
    let taped_mm = table.value("taped", &LENGTH);
    let chassis_bolt = table.value("chassis_bolt", &Direction(Frame::Car));
    let upright_bolt = table.value("upright_bolt", &Direction(Frame::Upright));
    let rod_end_limit_deg = table.value("rod_end_limit", &ANGLE);
    let chassis_tube = table.optional("chassis_tube", &Text);
    let free = table.table("free").map(freedom::read_free).unwrap_or_default();
    note_missing_bolts(&table, &free);
    table.finish();
    Some(RawLink {
        name: name?,
        chassis: chassis?,
        within,
        chassis_tube,
        upright: upright?,
        taped_mm,
        chassis_bolt,
        upright_bolt,
        rod_end_limit_deg,
        free,
    })
}

/// The chassis point, or the middle of the box it may be in and the box.
fn read_chassis(table: &mut Table) -> (Option<At<Point3<f64>>>, Option<[Interval; 3]>) {
    let place = PointKind(Frame::Car);
    let chassis = match table.has("within") {
        true => table.optional("chassis", &place),
        false => table.required("chassis", &place, "the centre of the inner rod end"),
    };
    let Some(within) = table.table("within") else { return (chassis, None) };
    if table.has("chassis") {
        let advice = "remove `within`, and give the point room with `free`; or remove `chassis`, to have one found";
        table.note(&within.header, "`within` is for a link without `chassis`, and this one has it", advice);
    }
    let within = freedom::read_within(within);
    let middle = within.as_ref().map(|at| {
        let [x, y, z] = at.value.map(|band| f64::midpoint(band.low, band.high));
        At { value: Point3::new(x, y, z), span: at.span.clone() }
    });
    (chassis.or(middle), within.map(|at| at.value))
}

fn note_missing_bolts(table: &Table, free: &RawFree) {
    for (key, bolt) in [("chassis_bolt", &free.chassis_bolt), ("upright_bolt", &free.upright_bolt)] {
        if let Some(bolt) = bolt.as_ref().filter(|_| !table.has(key)) {
            let what = format!("`bolt` moves a spacer along the bolt, and the link has no `{key}`");
            table.note(&bolt.span, what, format!("add {key} = [1.0, 0.0, 0.0], the way the bolt points"));
        }
    }
}

fn read_halfshaft(mut table: Table) -> Option<RawHalfshaft> {
    let inner = table.required("inner", &PointKind(Frame::Car), "the centre of the inner joint");
    let outer = table.required("outer", &PointKind(Frame::Upright), "the centre of the outer joint");
    let axis = table.optional("axis", &Direction(Frame::Car));
    if let Some(axis) = axis.as_ref().filter(|axis| axis.value.y <= 0.0) {
        let y = table.scope.side.sign();
        table.note(
            &axis.span,
            "`axis` does not point outboard",
            format!("write it from the final drive to the wheel: [0.0, {y:?}, 0.0]"),
        );
    }
    let inner_limit_deg = table.value("inner_limit", &ANGLE);
    let outer_limit_deg = table.value("outer_limit", &ANGLE);
    let plunge_window_mm = table.value("plunge_window", &IntervalKind(COORDINATE));
    let free = table.table("free").map(|free| freedom::read_points(free, ["inner"]));
    table.finish();
    let axis = axis.map_or(Vector3::y_axis(), |at| at.value);
    let [free_inner] = free.unwrap_or_default();
    let (inner, outer) = (inner?.value, outer?);
    Some(RawHalfshaft { inner, axis, outer, inner_limit_deg, outer_limit_deg, plunge_window_mm, free_inner })
}

fn read_spring(mut table: Table) -> Option<RawSpring> {
    let on = table.optional("on", &Text);
    let on_upright = on.as_ref().is_none_or(|on| on.value == "upright");
    let frame = if on_upright { Frame::Upright } else { Frame::Car };
    let chassis = table.required("chassis", &PointKind(Frame::Car), "where the spring meets the frame");
    let mount = table.required("mount", &PointKind(frame), "where the spring's other end is bolted");
    let free = table.table("free").map(|free| (free.header.clone(), freedom::read_points(free, ["chassis", "mount"])));
    let (header, [free_chassis, free_mount]) = free.unwrap_or_default();
    if !on_upright && free_mount.iter().any(Option::is_some) {
        let advice = "free only its `chassis`, or the ends of the link";
        table.note(&header, "the `mount` of a spring on a link moves with the link alone", advice);
    }
    table.finish();
    Some(RawSpring { chassis: chassis?, mount: mount?, link: on.filter(|_| !on_upright), free_chassis, free_mount })
}

fn read_car(mut table: Table) -> Car {
    let car = Car {
        wheelbase_mm: table.value("wheelbase", &LENGTH),
        cg_height_mm: table.value("cg_height", &LENGTH),
        rear_drive_share: table.value("rear_drive_share", &SHARE),
        rear_brake_share: table.value("rear_brake_share", &SHARE),
    };
    table.finish();
    car
}

fn read_travel(table: Option<Table>) -> Travel {
    let mut travel = Travel {
        bump_mm: 60.0,
        droop_mm: 60.0,
        step_mm: 5.0,
        roll_deg: 3.0,
        step_roll_deg: 0.5,
        ride_heights_mm: Vec::new(),
    };
    let Some(mut table) = table else { return travel };
    let set = |target: &mut f64, read: Option<f64>| *target = read.unwrap_or(*target);
    set(&mut travel.bump_mm, table.value("bump", &TRAVEL));
    set(&mut travel.droop_mm, table.value("droop", &TRAVEL));
    set(&mut travel.roll_deg, table.value("roll", &ROLL));
    set(&mut travel.step_mm, table.value("step", &LENGTH));
    set(&mut travel.step_roll_deg, table.value("step_roll", &ROLL_STEP));
    let heights = table.optional("ride_heights", &Numbers(HEIGHT));
    note_rows(&travel, &table);
    if let Some(heights) = heights {
        note_heights(&travel, &heights, &table);
        travel.ride_heights_mm = heights.value;
    }
    table.finish();
    travel
}

fn note_rows(travel: &Travel, table: &Table) {
    if let Some(what) = travel.too_many_rows() {
        table.note(
            &table.header,
            what,
            "write a larger `step` or `step_roll`; 5 mm and 0.5 deg are fine enough for any chart",
        );
    }
}

/// A body that is up by some height has both wheels down by it.
fn note_heights(travel: &Travel, heights: &At<Vec<f64>>, table: &Table) {
    let inside = -travel.bump_mm..=travel.droop_mm;
    if heights.value.iter().any(|height| !inside.contains(height)) {
        let what = "`ride_heights` puts a wheel beyond its stop";
        table.note(&heights.span, what, "body up is droop: write heights from minus `bump` to `droop`");
    }
}

fn read_limits(mut table: Table) -> Limits {
    let mut limits = Limits::default();
    for &quantity in Quantity::ALL {
        let of = targets::number_of(quantity.unit());
        let given = match quantity.definition().limit {
            LimitKey::EitherWay(key) => {
                let size = Number { least: 0.0, least_included: false, ..of };
                table.value(key, &size).map(Interval::either_way)
            }
            LimitKey::Pair(key) => table.value(key, &IntervalKind(of)),
            _ => None,
        };
        limits.set(quantity, given);
    }
    table.finish();
    limits
}
