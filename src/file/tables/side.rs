//! What the file says of one side, and `[right]`, which says what of the right side is no mirror image.

use toml_edit::{Item, TableLike};

use super::adjust;
use super::free::{self, table_of_free};
use super::halfshaft::{self, RawHalfshaft};
use super::hardware::{RawBolts, hardware};
use super::link::{self, RawLink};
use super::link_free::adjustments;
use super::spring::{self, RawSpring};
use super::wheel::{self, RawWheel};
use crate::file::edits::Edits;
use crate::file::reader::{Diagnostics, Scope, Span, Table, list_of_tables};
use crate::geometry::{
    Adjustments, Corner, FinalDrive, LengthUnit, Link, PointAdjustment, RodEnd, Side, Tube, UprightAxes, UprightFrame,
};

/// The tables of one side, in side axes; those of the right side hold only what differs from the mirror image.
#[derive(Default)]
pub(super) struct RawSide {
    pub(super) wheel: Option<RawWheel>,
    pub(super) links: Vec<RawLink>,
    /// Headers of the link tables, readable or not.
    pub(super) link_headers: Vec<Span>,
    halfshaft: Option<RawHalfshaft>,
    spring: Option<RawSpring>,
}

/// What a side is read beside.
#[derive(Clone, Copy)]
pub(super) struct Surroundings<'a> {
    pub(super) units: LengthUnit,
    /// `None` for a word that names none: no point of the upright is judged then.
    pub(super) upright_axes: Option<UprightAxes>,
    /// `None` when one of the tubes could not be read.
    pub(super) tubes: Option<&'a [Tube]>,
    /// Gives the inner joints of the halfshafts, when there is one.
    pub(super) final_drive: Option<&'a FinalDrive>,
    /// Of a link that has none of its own.
    pub(super) rod_end: Option<&'a RodEnd>,
    /// The same of its bolts.
    pub(super) bolts: Option<&'a RawBolts>,
}

impl RawSide {
    pub(super) fn left(top: &mut Table) -> Self {
        let wheel = top.required_table("wheel", "the left wheel, with its `centre` and `tyre_radius`");
        let links = top.required_tables("link", "five times, one for each link");
        Self::read(top, wheel, links)
    }

    pub(super) fn right(mut table: Table) -> Self {
        table.scope = Scope { side: Side::Right, ..table.scope };
        let (links, wheel) = (table.tables("link"), table.table("wheel"));
        let side = Self::read(&mut table, wheel, links);
        table.finish();
        side
    }

    fn read(parent: &mut Table, wheel: Option<Table>, links: Vec<Table>) -> Self {
        Self {
            wheel: wheel.and_then(RawWheel::read),
            link_headers: links.iter().map(|link| link.header.clone()).collect(),
            links: links.into_iter().filter_map(RawLink::read).collect(),
            halfshaft: parent.table("halfshaft").and_then(RawHalfshaft::read),
            spring: parent.table("spring").and_then(RawSpring::read),
        }
    }

    /// Nothing of this side differs from the other.
    pub(super) fn is_mirror(&self) -> bool {
        self.wheel.is_none() && self.links.is_empty() && self.halfshaft.is_none() && self.spring.is_none()
    }

    pub(super) fn link_names(&self) -> Vec<&str> {
        self.links.iter().map(|link| link.name.value.as_str()).collect()
    }

    /// The spring is on a link of the file.
    pub(super) fn check_spring_link(&self, known: &[&str], diagnostics: &Diagnostics) {
        self.spring.iter().for_each(|spring| spring.check_link(known, diagnostics));
    }

    /// The mirror image of `left` with what this side gives in its place.
    pub(super) fn over(&self, left: &RawSide) -> RawSide {
        let own =
            |link: &RawLink| self.links.iter().find(|own| own.name.value == link.name.value).unwrap_or(link).clone();
        RawSide {
            wheel: self.wheel.as_ref().or(left.wheel.as_ref()).cloned(),
            links: left.links.iter().map(own).collect(),
            link_headers: Vec::new(),
            halfshaft: self.halfshaft.as_ref().or(left.halfshaft.as_ref()).cloned(),
            spring: self.spring.as_ref().or(left.spring.as_ref()).cloned(),
        }
    }

    /// The corner and what of it may move; none when something was noted or five links are not there.
    pub(super) fn checked(
        &self,
        side: Side,
        beside: Surroundings,
        diagnostics: &Diagnostics,
    ) -> Option<(Corner, Adjustments)> {
        let wheel = match &self.wheel {
            Some(wheel) => Some(wheel.checked(beside.units, diagnostics)?),
            None => None,
        };
        adjust::check_sets_toe(&self.links, diagnostics);
        let axes = beside.upright_axes?;
        let frame = self.upright_frame(side, axes, beside.units, diagnostics)?;
        let with_hardware = |raw: &RawLink| Link {
            hardware: hardware(
                (raw.rod_end.as_ref(), beside.rod_end),
                (raw.bolts.as_ref(), beside.bolts),
                raw.bracket_stiffness_n_per_mm,
            ),
            ..raw.seated(&frame)
        };
        let links: Vec<Link> = self.links.iter().map(with_hardware).collect();
        if link::note_wrong_axes(&self.links, &links, wheel.as_ref(), axes, diagnostics) {
            return None;
        }
        if let (Some(raw), true) = (&self.wheel, axes != UprightAxes::Car)
            && raw.note_upright_across(&links, beside.units, diagnostics)
        {
            return None;
        }
        link::check_points(&self.links, &links, wheel.as_ref(), diagnostics);
        let may_links: Vec<_> = self.links.iter().map(|link| adjustments(link, beside.tubes, diagnostics)).collect();
        let surroundings = (wheel.as_ref(), beside.units);
        let flange = beside.final_drive.map(|housing| housing.output(side));
        let halfshaft = match &self.halfshaft {
            Some(shaft) => Some(shaft.checked(flange, &frame, surroundings, diagnostics)?),
            None => None,
        };
        let spring = match &self.spring {
            Some(spring) => {
                let wheel = self.wheel.as_ref().filter(|_| axes != UprightAxes::Car);
                let frame = (&frame, wheel.map(|wheel| &wheel.centre.span));
                Some(spring.checked(&self.links, &links, frame, beside.units, diagnostics)?)
            }
            None => None,
        };
        let may = Adjustments {
            links: may_links.try_into().ok()?,
            clock: self.wheel.as_ref()?.clock,
            halfshaft_inner: self.halfshaft.as_ref().map(|shaft| shaft.free_inner).unwrap_or_default(),
            spring_chassis: self.spring.as_ref().map(|spring| spring.free_chassis).unwrap_or_default(),
            spring_mount: self.spring.as_ref().map(|spring| spring.free_mount).unwrap_or_default(),
        };
        Some((Corner { side, wheel: wheel?, links: links.try_into().ok()?, halfshaft, spring }, may))
    }

    /// None where the points are carried by a wheel that could not be read.
    fn upright_frame(
        &self,
        side: Side,
        axes: UprightAxes,
        units: LengthUnit,
        diagnostics: &Diagnostics,
    ) -> Option<UprightFrame> {
        match axes {
            UprightAxes::Car => Some(UprightFrame::car(side)),
            UprightAxes::Hub | UprightAxes::HubFace => self.wheel.as_ref()?.frame(axes, side, units, diagnostics),
        }
    }
}

/// Writes one side where its tables stand: `keys` are those of the file, or of `[right]`.
pub(super) fn write(edits: &mut Edits, keys: &dyn TableLike, corner: &Corner, may: &Adjustments, axes: UprightAxes) {
    let table = |key| keys.get(key).and_then(Item::as_table_like);
    let frame = UprightFrame::of(axes, corner.side, &corner.wheel);
    if let Some(keys) = table("wheel") {
        wheel::write(edits, keys, &corner.wheel, corner.side);
        edits.angle_range(keys, "clock", may.clock);
    }
    for (keys, _) in keys.get("link").and_then(list_of_tables).unwrap_or_default() {
        let name = link::name_of(keys);
        let mut links = corner.links.iter().zip(&may.links);
        if let Some((link, may)) = links.find(|(link, _)| Some(link.name.as_str()) == name) {
            link::write(edits, keys, (link, may), corner.side, &frame);
        }
    }
    if let Some((keys, shaft)) = table("halfshaft").zip(corner.halfshaft.as_ref()) {
        halfshaft::write(edits, keys, shaft, &frame);
        write_room(edits, keys, "inner", &may.halfshaft_inner, corner.side);
    }
    if let Some((keys, spring)) = table("spring").zip(corner.spring.as_ref()) {
        spring::write(edits, keys, spring, &frame);
        write_room(edits, keys, "chassis", &may.spring_chassis, corner.side);
        write_room(edits, keys, "mount", &may.spring_mount, corner.side);
    }
}

fn write_room(edits: &mut Edits, keys: &dyn TableLike, point: &str, may: &PointAdjustment, side: Side) {
    if let Some(keys) = table_of_free(keys, point) {
        free::write(edits, keys, may, side);
    }
}
