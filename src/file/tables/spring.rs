//! `[spring]`: its two ends, and what carries the lower one.

use nalgebra::Point3;
use toml_edit::TableLike;

use super::damper::RawDamper;
use super::free::read_points;
use super::link::RawLink;
use super::{SAME_POINT_MM, name_advice};
use crate::file::edits::Edits;
use crate::file::reader::{At, Diagnostics, Frame, PointKind, Span, Table, Text};
use crate::geometry::slips::{as_typed, of_point};
use crate::geometry::{LengthUnit, Link, PointAdjustment, Spring, SpringMount, UprightFrame};

/// How far a mount may lie off the line of its link.
pub(in crate::file) const OFF_LINE_MM: f64 = 0.5;

#[derive(Clone)]
pub(super) struct RawSpring {
    chassis: At<Point3<f64>>,
    mount: At<Point3<f64>>,
    /// Name of the link that carries it; none for the upright.
    link: Option<At<String>>,
    damper: RawDamper,
    pub(super) free_chassis: PointAdjustment,
    pub(super) free_mount: PointAdjustment,
}

impl RawSpring {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let on = table.optional("on", &Text);
        let on_upright = on.as_ref().is_none_or(|on| on.value == "upright");
        let frame = if on_upright { Frame::Upright } else { Frame::Car };
        let chassis = table.required("chassis", &PointKind(Frame::Car), "where the spring meets the frame");
        let mount = table.required("mount", &PointKind(frame), "where the spring's other end is bolted");
        let damper = RawDamper::read(&mut table);
        let free = table.table("free").map(|free| (free.header.clone(), read_points(free, ["chassis", "mount"])));
        let (header, [free_chassis, free_mount]) = free.unwrap_or_default();
        if !on_upright && free_mount.iter().any(Option::is_some) {
            let advice = "free only its `chassis`, or the ends of the link";
            table.note(&header, "the `mount` of a spring on a link moves with the link alone", advice);
        }
        table.finish();
        Some(Self {
            chassis: chassis?,
            mount: mount?,
            link: on.filter(|_| !on_upright),
            damper,
            free_chassis,
            free_mount,
        })
    }

    /// The link that carries the spring is one of the file's.
    pub(super) fn check_link(&self, known: &[&str], diagnostics: &Diagnostics) {
        if let Some(on) = self.link.as_ref().filter(|on| !known.contains(&on.value.as_str())) {
            let what = format!("the spring is on {:?}, which is no link of this file", on.value);
            diagnostics.add(&on.span, what, format!("{}; or write \"upright\"", name_advice(&on.value, known)));
        }
    }

    /// The spring on one side with these links; `None` when the link cannot carry it. `wheel` is where the wheel stands from which the
    /// upright's points are counted.
    pub(super) fn checked(
        &self,
        raw_links: &[RawLink],
        links: &[Link],
        (frame, wheel): (&UprightFrame, Option<&Span>),
        units: LengthUnit,
        diagnostics: &Diagnostics,
    ) -> Option<Spring> {
        let (mount, on) = match &self.link {
            None => (frame.point(&self.mount.value), SpringMount::Upright),
            Some(name) => {
                let index = links.iter().position(|link| link.name == name.value)?;
                if !raw_links[index].is_placed() {
                    let what = format!("the spring is on link {:?}, which has no chassis point yet", name.value);
                    let advice = "give the link its `chassis`, or put the spring on the upright";
                    diagnostics.add(&self.mount.span, what, advice);
                    return None;
                }
                let share = self.share_of((&raw_links[index], &links[index]), frame, units, diagnostics)?;
                (self.mount.value, SpringMount::Link { index, share })
            }
        };
        if (mount - self.chassis.value).norm() < SAME_POINT_MM {
            let advice = "the same point as `chassis`; write the centres of its two ends";
            diagnostics.add(&self.mount.span, "the spring has no length", advice);
        }
        let length_mm = (mount - self.chassis.value).norm();
        let carried = wheel.filter(|_| on == SpringMount::Upright);
        let eyes: Vec<&Span> = [&self.chassis.span, &self.mount.span].into_iter().chain(carried).collect();
        let make = self.damper.checked((length_mm, &eyes), frame, units, diagnostics);
        Some(Spring { chassis: self.chassis.value, mount, on, make })
    }

    /// The share of the link's length at which the mount sits, from the chassis end.
    fn share_of(
        &self,
        (raw, link): (&RawLink, &Link),
        frame: &UprightFrame,
        units: LengthUnit,
        diagnostics: &Diagnostics,
    ) -> Option<f64> {
        let (off_mm, share) = off_line(link, &self.mount.value);
        let name = format!("link {:?}", link.name);
        if off_mm > OFF_LINE_MM {
            let what = format!("the spring mount lies {} off the line of {name}", units.show(off_mm));
            if let Some((span, advice)) = self.mistyped((raw, link), frame, units) {
                diagnostics.add(span, what, advice);
                return None;
            }
            let advice = format!(
                "write a point within {} of that line; a side with its own link may need its own [right.spring]",
                units.show(OFF_LINE_MM)
            );
            diagnostics.add(&self.mount.span, what, advice);
            return None;
        }
        if !(0.0..=1.0).contains(&share) {
            let what = format!("the spring mount is beyond the ends of {name}");
            diagnostics.add(&self.mount.span, what, "write a point between its two ends");
            return None;
        }
        Some(share)
    }

    /// The only one of the three points that one slip brings into line with the other two, and what to do.
    fn mistyped<'s>(
        &'s self,
        (raw, link): (&'s RawLink, &Link),
        frame: &UprightFrame,
        units: LengthUnit,
    ) -> Option<(&'s Span, String)> {
        let points = [("chassis", &raw.chassis), ("upright", &raw.upright), ("mount", &self.mount)];
        let mut fitting = points.into_iter().filter_map(|(key, at)| {
            let written = at.value.coords.map(|mm| as_typed(mm / units.in_mm()));
            of_point(written.into(), units).find_map(|(axis, slip, meant)| {
                let read = Point3::from(meant.map(|number| units.to_mm(number)));
                let (mut link, mut mount) = (link.clone(), self.mount.value);
                match key {
                    "chassis" => link.chassis = read,
                    "upright" => link.upright = frame.point(&read),
                    _ => mount = read,
                }
                let (off_mm, share) = off_line(&link, &mount);
                let of = axis.map_or(String::new(), |axis| format!("{} of ", axis.name()));
                let is_in_line = off_mm <= OFF_LINE_MM && (0.0..=1.0).contains(&share);
                is_in_line.then(|| (&at.span, format!("look at {of}`{key}` again: probably {}", slip.words())))
            })
        });
        fitting.next().filter(|_| fitting.next().is_none())
    }
}

/// How far a mount is from the line of its link, mm, and at which share of its length from the chassis end.
fn off_line(link: &Link, mount: &Point3<f64>) -> (f64, f64) {
    let share = link.share_nearest(mount);
    ((mount - link.at_share(share)).norm(), share)
}

pub(super) fn write(edits: &mut Edits, keys: &dyn TableLike, spring: &Spring, frame: &UprightFrame) {
    let mount = match spring.on {
        SpringMount::Upright => frame.as_written(&spring.mount),
        SpringMount::Link { .. } => frame.car_point(&spring.mount),
    };
    edits.point(keys, "chassis", &frame.car_point(&spring.chassis));
    edits.point(keys, "mount", &mount);
}
