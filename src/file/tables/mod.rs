//! The tables of the file, one topic a file: what a table may hold, what must be true of it, what it means, and how it is
//! written back.
//!
//! Each is read into its raw form first, with the places where values stand. When all tables are read, each is checked
//! against the others that it names (links, tubes, the wheel that carries the upright's points) and becomes a part of the
//! geometry. A new key touches the file of its table; a new table is a file and a line in [`RawFile`].

mod adjust;
mod car;
mod clearance;
mod damper;
mod datum;
mod final_drive;
mod free;
mod halfshaft;
mod halfshaft_make;
mod hardware;
mod limits;
mod link;
mod link_free;
mod load;
mod measured_sd;
mod propshaft;
mod propshaft_tube;
mod road;
mod side;
mod spring;
mod targets;
mod travel;
mod tube;
mod weld;
mod wheel;

pub(super) use self::spring::OFF_LINE_MM;

use std::ops::RangeInclusive;

use toml_edit::{Document, Item};

use self::datum::RawDatum;
use self::final_drive::RawFinalDrive;
use self::hardware::{RawBolts, RawMaterial, checked_materials, read_rod_end};
use self::load::RawLoad;
use self::propshaft::RawPropshaft;
use self::road::RawRoad;
use self::side::{RawSide, Surroundings};
use self::tube::RawTube;
use self::weld::RawWeld;
use super::edits::{Edits, number};
use super::reader::{Diagnostics, Flag, Schema, Scope, Span, Table, Text, Word, nearest};
use super::tuned_mark::mark_of;
use crate::geometry::{
    Car, Clearance, Geometry, LengthUnit, Limits, PerSide, RodEnd, Side, Tape, Targets, Travel, UprightAxes,
};

/// Two points nearer than this are one point: no link is shorter, no two pickups of different links stand so close
/// at both ends.
const SAME_POINT_MM: f64 = 0.01;

/// Said of one side without naming it, so that a mirrored mistake is shown once.
const Y_ADVICE: &str = "y counts to the left: positive for the left wheel, negative in [right]";

/// The file as it is written, before its relations are checked.
pub(super) struct RawFile {
    name: Option<String>,
    units: LengthUnit,
    /// `None` for a word that names none.
    upright_axes: Option<UprightAxes>,
    starter: Option<String>,
    /// What the points of a tuned car make.
    tuned: Option<String>,
    built: bool,
    planned: bool,
    road: RawRoad,
    left: RawSide,
    right: RawSide,
    car: Car,
    travel: Travel,
    limits: Limits,
    weld: Option<RawWeld>,
    tape: Option<Tape>,
    clearance: Clearance,
    /// None for one that could not be read.
    tubes: Vec<Option<RawTube>>,
    loads: Vec<RawLoad>,
    /// None for one that could not be read.
    datums: Vec<Option<RawDatum>>,
    materials: Vec<RawMaterial>,
    /// Of every link that has none of its own.
    rod_end: Option<RodEnd>,
    bolts: Option<RawBolts>,
    targets: Targets,
    final_drive: Option<RawFinalDrive>,
    propshaft: Option<RawPropshaft>,
}

impl RawFile {
    /// Reads every key; what is wrong goes into the diagnostics and is absent from the result.
    pub(super) fn read(document: &Document<&str>, diagnostics: &Diagnostics) -> Self {
        let scope = Scope { units: LengthUnit::Millimetre, side: Side::Left, hub_axes: false, final_drive: false };
        let mut top = Table::top(document.as_table(), scope, diagnostics);
        top.required("schema", &Schema, "the form of the file");
        let name = top.value("name", &Text);
        let units = top.value("units", &Word(&[("mm", LengthUnit::Millimetre), ("in", LengthUnit::Inch)]));
        let axes = top.value("upright_axes", &Word(&UprightAxes::BY_NAME));
        let stated = units.unwrap_or(LengthUnit::Millimetre);
        let units = units_of_numbers(document, stated, diagnostics).unwrap_or(stated);
        let upright_axes = axes.or_else(|| (!top.has("upright_axes")).then_some(UprightAxes::Car));
        let hub_axes = upright_axes.is_some_and(|axes| axes != UprightAxes::Car);
        top.scope = Scope { units, hub_axes, final_drive: top.has("final_drive"), ..scope };
        let file = Self {
            name,
            units,
            upright_axes,
            starter: top.value("starter", &Text),
            tuned: top.value("tuned", &Text),
            built: top.value("built", &Flag).unwrap_or(false),
            planned: top.value("planned", &Flag).unwrap_or(false),
            road: top.table("road").map(RawRoad::read).unwrap_or_default(),
            left: RawSide::left(&mut top),
            right: top.table("right").map(RawSide::right).unwrap_or_default(),
            car: top.table("car").map(car::read).unwrap_or_default(),
            travel: travel::read(top.table("travel")),
            limits: top.table("limits").map(limits::read).unwrap_or_default(),
            weld: top.table("weld").and_then(RawWeld::read),
            tape: top.table("tape").and_then(weld::read_tape),
            clearance: top.table("clearance").map(clearance::read).unwrap_or_default(),
            tubes: top.tables("tube").into_iter().map(RawTube::read).collect(),
            loads: top.tables("load").into_iter().filter_map(RawLoad::read).collect(),
            datums: top.tables("datum").into_iter().map(RawDatum::read).collect(),
            materials: top.tables("material").into_iter().filter_map(RawMaterial::read).collect(),
            rod_end: top.table("rod_end").map(read_rod_end),
            bolts: top.table("bolt").and_then(RawBolts::read),
            targets: top.table("targets").map(targets::read).unwrap_or_default(),
            final_drive: top.table("final_drive").and_then(RawFinalDrive::read),
            propshaft: top.table("propshaft").and_then(RawPropshaft::read),
        };
        top.finish();
        file
    }

    /// The first link table of each side, where the file has one.
    pub(super) fn first_links(&self) -> PerSide<Option<Span>> {
        PerSide { left: &self.left, right: &self.right }.map(|side| side.link_headers.first().cloned())
    }

    /// The checked geometry; none when anything was noted.
    pub(super) fn checked(self, fallback_name: &str, diagnostics: &Diagnostics) -> Option<Geometry> {
        link::check_count(&self.left.link_headers, diagnostics);
        link::check_names(&self.left.links, diagnostics);
        link::check_names(&self.right.links, diagnostics);
        let tubes = tube::checked(&self.tubes, diagnostics);
        let loads = load::checked(self.loads, diagnostics);
        let datums = datum::checked(&self.datums, &self.left.link_names(), diagnostics);
        let materials = checked_materials(self.materials, diagnostics);
        let mut weld = None;
        if self.left.links.len() == self.left.link_headers.len() {
            let names = self.left.link_names();
            weld = self.weld.as_ref().map(|weld| weld.checked(&names, diagnostics));
            link::check_right_names(&self.right.links, &names, diagnostics);
            self.left.check_spring_link(&names, diagnostics);
            self.right.check_spring_link(&names, diagnostics);
        }
        let final_drive = self.final_drive.as_ref().map(|housing| housing.checked(diagnostics));
        let beside = Surroundings {
            units: self.units,
            upright_axes: self.upright_axes,
            tubes: tubes.as_deref(),
            final_drive: final_drive.as_ref(),
            rod_end: self.rod_end.as_ref(),
            bolts: self.bolts.as_ref(),
        };
        let left = self.left.checked(Side::Left, beside, diagnostics);
        let right = self.right.over(&self.left).checked(Side::Right, beside, diagnostics);
        let ((mut left, may_left), (mut right, may_right)) = left.zip(right)?;
        if let Some(housing) = &final_drive {
            [&mut left, &mut right].into_iter().for_each(|corner| housing.seat(corner));
        }
        self.road.check((&left, &right), [&self.left, &self.right], self.units, diagnostics);
        let propshaft =
            self.propshaft.as_ref().and_then(|shaft| shaft.checked(self.final_drive.as_ref(), self.units, diagnostics));
        let geometry = diagnostics.is_empty().then(|| Geometry {
            name: self.name.unwrap_or_else(|| fallback_name.to_owned()),
            units: self.units,
            upright_axes: self.upright_axes.unwrap_or(UprightAxes::Car),
            starter: self.starter,
            tuned: false,
            was_tuned: self.tuned.is_some(),
            built: self.built,
            planned: self.planned,
            left,
            right,
            mirrored: self.right.is_mirror(),
            car: self.car,
            travel: self.travel,
            limits: self.limits,
            weld,
            tape: self.tape,
            clearance: self.clearance,
            tubes: tubes.unwrap_or_default(),
            materials,
            loads,
            datums,
            final_drive,
            propshaft,
            adjustments: PerSide { left: may_left, right: may_right },
            targets: self.targets,
        })?;
        let tuned = self.tuned.is_some_and(|mark| mark == mark_of(&geometry));
        Some(Geometry { tuned, ..geometry })
    }
}

/// The units in which tyre and track are those of a car, when that is the other one: one mistake, and not one for each number.
fn units_of_numbers(document: &Document<&str>, stated: LengthUnit, diagnostics: &Diagnostics) -> Option<LengthUnit> {
    let wheel = document.get("wheel")?.as_table_like()?;
    let radius = wheel.get("tyre_radius")?;
    let radius_is = number(radius.as_value()?)?;
    let across_is = number(wheel.get("centre")?.as_array()?.get(1)?)?.abs();
    let are = |radii: RangeInclusive<f64>, across: RangeInclusive<f64>| {
        radii.contains(&radius_is) && across.contains(&across_is)
    };
    let (meant, name) = match stated {
        LengthUnit::Inch if are(100.0..=500.0, 300.0..=1500.0) => (LengthUnit::Millimetre, "mm"),
        LengthUnit::Millimetre if are(5.0..=20.0, 12.0..=60.0) => (LengthUnit::Inch, "in"),
        _ => return None,
    };
    let at = document.get("units").unwrap_or(radius).span().unwrap_or_default();
    let what = format!(
        "the numbers of the file are not in {}: a tyre of radius {} is no car's",
        if stated == LengthUnit::Inch { "inches" } else { "mm" },
        stated.show(radius_is * stated.in_mm())
    );
    diagnostics.add(&at, what, format!("write `units = \"{name}\"` at the top of the file"));
    Some(meant)
}

/// Writes a changed geometry into its own file, each number where it stands.
pub(super) fn write(edits: &mut Edits, document: &Document<&str>, changed: &Geometry) {
    let axes = changed.upright_axes;
    side::write(edits, document.as_table(), &changed.left, &changed.adjustments.left, axes);
    if let Some(right) = document.get("right").and_then(Item::as_table_like) {
        side::write(edits, right, &changed.right, &changed.adjustments.right, axes);
    }
}

/// What to write in place of a name that the file does not know.
fn name_advice(name: &str, known: &[&str]) -> String {
    match nearest(name, known) {
        Some(near) => format!("write {near:?}"),
        None => format!("write one of {}", known.iter().map(|name| format!("{name:?}")).collect::<Vec<_>>().join(", ")),
    }
}
