//! `[final_drive]`: the housing as measured on the bench, and its place in the car.

use nalgebra::{Point3, Unit, Vector3};
use toml_edit::{Item, Value};

use crate::file::reader::{
    At, COMPONENT, COORDINATE, Diagnostics, Direction, Frame, IntervalKind, Number, NumberUnit, PointKind, Scope,
    Table, ThreadKind, ValueError, ValueKind, Word, kind_name, numbers_of,
};
use crate::geometry::{FinalDrive, Flange, HousingMount, HousingPlace, HousingRoom, Interval, LengthUnit, PerSide};
use crate::strength::{Bolt, BoltClass, ShearPlanes};

const TURN: Number = Number { measure: NumberUnit::Degrees, least: -180.0, most: 180.0, least_included: true };
const RATIO: Number = Number { least: 1.0, least_included: true, ..Number::positive("", "", 20.0) };
const BIAS: Number = Number { least: 0.5, least_included: true, ..Number::positive("", "", 1.0) };
/// Fewer bolts leave a housing a motion.
const MIN_BOLTS: usize = 3;
/// The last joint of the propeller shaft cannot be farther from the pinion's than a flange is deep, mm.
const CONNECTED_MM: f64 = 150.0;

pub(super) struct RawFinalDrive {
    place: HousingPlace,
    left: At<Flange>,
    right: At<Flange>,
    pub(super) pinion: Option<At<Flange>>,
    holes: Vec<Point3<f64>>,
    free: HousingRoom,
    mount: Option<HousingMount>,
}

impl RawFinalDrive {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let origin = table.required("origin", &PointKind(Frame::Car), "where its datum sits in the car");
        let mut turn = |key| table.value(key, &TURN).unwrap_or(0.0);
        let (pitch_deg, roll_deg, yaw_deg) = (turn("pitch"), turn("roll"), turn("yaw"));
        let left = table.required_table("left", "its left output flange, `{ at, axis }` in axes of its own");
        let right = table.required_table("right", "its right output flange, `{ at, axis }` in axes of its own");
        let (left, right) = (left.and_then(read_flange), right.and_then(read_flange));
        let pinion = table.table("pinion").and_then(read_flange);
        let holes = table.value("holes", &Points).unwrap_or_default();
        let mount = table.table("mount").and_then(|mount| read_mount(mount, holes.len()));
        let free = table.table("free").map(read_free).unwrap_or_default();
        table.finish();
        let place = HousingPlace { origin: origin?.value, pitch_deg, roll_deg, yaw_deg };
        Some(Self { place, left: left?, right: right?, pinion, holes, free, mount })
    }

    /// The housing, its flanges on their own sides of the car.
    pub(super) fn checked(&self, diagnostics: &Diagnostics) -> FinalDrive {
        for (flange, name, sign) in [(&self.left, "left", 1.0), (&self.right, "right", -1.0)] {
            let seated = self.place.flange(&flange.value);
            let what = if sign * seated.at.y <= 0.0 {
                format!("the {name} flange is on the wrong side of the car")
            } else if sign * seated.axis.y <= 0.0 {
                format!("the axis of the {name} flange does not point outboard")
            } else {
                continue;
            };
            let advice = "in the housing's own axes y counts to the left: positive at the left flange, negative at the right; check \
                          `origin` and the turns";
            diagnostics.add(&flange.span, what, advice);
        }
        FinalDrive {
            place: self.place,
            outputs: PerSide { left: self.left.value, right: self.right.value },
            pinion: self.pinion.as_ref().map(|at| at.value),
            holes: self.holes.clone(),
            free: self.free,
            mount: self.mount.clone(),
        }
    }

    /// Axis of the propeller shaft behind its last joint, which must be near the pinion's; `None` when it was told that it
    /// is not, and without a pinion.
    pub(super) fn output_axis(
        &self,
        last_joint: &At<Point3<f64>>,
        units: LengthUnit,
        diagnostics: &Diagnostics,
    ) -> Option<Unit<Vector3<f64>>> {
        let at = self.pinion.as_ref()?;
        let pinion = self.place.flange(&at.value);
        let apart_mm = (pinion.at - last_joint.value).norm();
        if apart_mm > CONNECTED_MM {
            let what = format!("the chain ends {} from the pinion of the final drive", units.show(apart_mm));
            let advice = "write the joints from the gearbox to the final drive; the last one is at the pinion, whose `at` counts in the \
                          axes of the housing";
            diagnostics.set_aside_with((&last_joint.span, &[&at.span]), what, advice);
            return None;
        }
        Some(-pinion.axis)
    }
}

fn read_flange(mut table: Table) -> Option<At<Flange>> {
    let span = table.header.clone();
    let at = table.required("at", &PointKind(Frame::Car), "the centre of its joint");
    let axis = table.required("axis", &Direction(Frame::Car), "the line of the shaft, pointing away from the housing");
    table.finish();
    Some(At { value: Flange { at: at?.value, axis: axis?.value }, span })
}

/// `mount`; what does not go with the holes is told and left out.
fn read_mount(mut table: Table, holes: usize) -> Option<HousingMount> {
    let ratio = table.required("ratio", &RATIO, "turns of the pinion for one of the axle");
    let bias = table.value("bias", &BIAS).unwrap_or(1.0);
    let thread = table.required("thread", &ThreadKind, "the size of its bolts");
    let class = table.required("class", &Word(&BoltClass::BY_NAME), "their property class, as the heads have it");
    let along = table.required("along", &Directions, "which way each bolt points, from the frame into the housing");
    if let Some(along) = along.as_ref().filter(|along| along.value.len() != holes || holes < MIN_BOLTS) {
        let what = format!("`along` has {} directions, `holes` {holes} places", along.value.len());
        table.note(&along.span, what, "write one direction for each of at least three `holes`");
        return None;
    }
    table.finish();
    let bolt = Bolt { thread: thread?.value, class: class?.value, planes: ShearPlanes::Single, gap_mm: None };
    Some(HousingMount { ratio: ratio?.value, bias, bolt, along: along?.value })
}

fn read_free(mut table: Table) -> HousingRoom {
    let mut room = |key, number: Number| {
        let read = table.optional(key, &IntervalKind(number))?;
        let Interval { low, high } = read.value;
        if low > 0.0 || high < 0.0 {
            let what = format!("`{key}` of `free` leaves out where the housing sits");
            table.note(&read.span, what, "write how far it may move from there: [low, high] with 0 inside");
            return None;
        }
        Some(read.value)
    };
    let free = HousingRoom {
        x: room("x", COORDINATE),
        y: room("y", COORDINATE),
        z: room("z", COORDINATE),
        pitch: room("pitch", TURN),
    };
    table.finish();
    free
}

/// A list of points.
struct Points;

impl ValueKind for Points {
    type Value = Vec<Point3<f64>>;

    fn wants(&self, scope: Scope) -> String {
        format!("a list of points [x, y, z]{}", NumberUnit::Length.in_words(scope.units))
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Self::Value, ValueError> {
        triples(item, &COORDINATE, scope, |at| Ok(Point3::from(at)))
    }
}

/// A list of directions.
struct Directions;

impl ValueKind for Directions {
    type Value = Vec<Unit<Vector3<f64>>>;

    fn wants(&self, _: Scope) -> String {
        "a list of directions [x, y, z] of any length but zero".into()
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Self::Value, ValueError> {
        let unit = |along| Unit::try_new(Vector3::from(along), 1e-9).ok_or("holds a direction of length zero");
        triples(item, &COMPONENT, scope, |along| unit(along).map_err(ValueError::new))
    }
}

/// Three numbers each, turned into something.
fn triples<T>(
    item: &Item,
    number: &Number,
    scope: Scope,
    made: impl Fn([f64; 3]) -> Result<T, ValueError>,
) -> Result<Vec<T>, ValueError> {
    let list = item.as_array().ok_or_else(|| ValueError::new(format!("is {}, not a list", kind_name(item))))?;
    let one = |value: &Value| {
        let numbers =
            value.as_array().ok_or_else(|| ValueError::new("holds something that is no [x, y, z]").at(value))?;
        numbers_of(numbers, [number; 3], scope).and_then(&made).map_err(|error| error.at(value))
    };
    list.iter().map(one).collect()
}
