//! One halfshaft over all travel of its wheel: what its joints and its plunge come to, and how it should be long.

use serde::Serialize;

use super::angle_shares::{AngleShare, angle_shares};
use super::check::Check;
use super::envelope::{Envelope, places};
use super::halfshaft_checks::checks;
use super::plunge::{HalfTrackRoom, PlungeMargin, PlungeRoom, half_track_room};
use crate::geometry::{Corner, Halfshaft, HalfshaftJoint, HalfshaftLength, Interval, ShaftJointKind};
use crate::measures::{ShaftFigure, ShaftMeasures, least_places, shaft, spin_axis};
use crate::mechanism::Posture;
use crate::shafts::Chain;
use crate::studies::RigWheel;

/// A ripple's worst place is found to this, mm of bump travel.
const SETTLED_MM: f64 = 1e-3;

/// Everything about one halfshaft.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HalfshaftFindings {
    /// Between the joint centres at design height.
    pub length_mm: f64,
    /// Change of that distance over the travel, pulled apart positive.
    pub plunge_mm: Envelope,
    /// Of the joint at the final drive.
    pub inner_angle_deg: Envelope,
    /// Of the joint in the upright.
    pub outer_angle_deg: Envelope,
    /// What the inner joint is, when the file says so.
    pub inner_joint: Option<&'static str>,
    /// What the outer joint is, when the file says so.
    pub outer_joint: Option<&'static str>,
    /// What it may plunge, at the angle where that is widest; `None` when it is not known.
    pub window_mm: Option<Interval>,
    /// The window comes from what is typical of its joints.
    pub window_is_typical: bool,
    /// The window narrows with the angle of the joint that plunges.
    pub window_narrows: bool,
    /// The place where least is left of the window; `None` without one.
    pub least_margin: Option<PlungeMargin>,
    /// At design height, from the middle of the window; pulled apart positive.
    pub from_mid_plunge_mm: Option<f64>,
    /// Where the wheel may stand with this shaft; `None` without a window.
    pub half_track: Option<HalfTrackRoom>,
    /// The shaft to be made; `None` for one that is there.
    pub to_make: Option<ShaftToMake>,
    /// How unevenly it turns the wheel; `None` without a universal joint.
    pub ripple: Option<HalfshaftRipple>,
    /// Every figure beside what it may be.
    pub checks: Vec<Check>,
    /// At the rows of bump and droop.
    #[serde(skip)]
    pub rows: Vec<ShaftRow>,
    /// Close together, for charts.
    #[serde(skip)]
    pub curve: Vec<ShaftRow>,
    /// Over what share of the travel each joint stands at which angle.
    #[serde(skip)]
    pub angle_shares: Vec<AngleShare>,
}

/// A halfshaft that is not there yet.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ShaftToMake {
    /// Between the joint centres with the plunging joint half-way, so that what is used of the plunge lies in its middle.
    pub length_mm: f64,
    /// That length less the distance of the joints at design height: how far from the middle of what is used they stand there.
    pub longer_than_design_mm: f64,
    /// From the shortest to the longest over the travel.
    pub used_mm: f64,
    /// Left of the plunge at each end with that length; `None` when the joints' plunge is not known.
    pub left_each_end_mm: Option<f64>,
    /// The plunge is what is typical of its joints.
    pub plunge_is_typical: bool,
}

/// Speed of the wheel over that of the final drive, highest less lowest of one turn; no unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HalfshaftRipple {
    /// At design height.
    pub at_design: f64,
    /// Over the travel.
    pub worst: f64,
    /// Bump travel there, mm.
    pub worst_at_bump_mm: f64,
}

/// The shaft with the wheel at one bump travel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShaftRow {
    /// Up positive.
    pub bump_mm: f64,
    /// Between the joint centres.
    pub length_mm: f64,
    /// Its figures there.
    pub shaft: ShaftMeasures,
    /// What it may plunge at the angle it has there.
    pub window_mm: Option<Interval>,
}

impl HalfshaftFindings {
    /// Of one wheel; `None` without a halfshaft.
    pub fn of(wheel: &RigWheel) -> Option<Self> {
        let (corner, path) = (wheel.corner, &wheel.path);
        let halfshaft = corner.halfshaft.as_ref()?;
        let envelope =
            |figure: ShaftFigure| Envelope::of(path, |at| figure.value(corner, at), |at| figure.turning(corner, at));
        let plunge_mm = envelope(ShaftFigure::Plunge)?;
        let inner_angle_deg = envelope(ShaftFigure::InnerAngle)?;
        let outer_angle_deg = envelope(ShaftFigure::OuterAngle)?;
        let room = PlungeRoom::of(halfshaft);
        let least_margin = room.as_ref().and_then(|room| PlungeMargin::of(room, corner, path, &plunge_mm));
        let make = &halfshaft.make;
        let row = |posture: &Posture| ShaftRow::of(corner, halfshaft, room.as_ref(), posture);
        let curve: Vec<ShaftRow> = places(path).into_iter().filter_map(|bump_mm| row(&path.at(bump_mm)?)).collect();
        let angle_deg = [("inner", &inner_angle_deg), ("outer", &outer_angle_deg)];
        let mut found = Self {
            length_mm: halfshaft.length_mm(),
            inner_joint: make.inner.map(HalfshaftJoint::name),
            outer_joint: make.outer.map(HalfshaftJoint::name),
            window_mm: room.as_ref().map(|room| room.widest_mm),
            window_is_typical: room.as_ref().is_some_and(|room| room.typical),
            window_narrows: !make.narrowing.is_empty(),
            from_mid_plunge_mm: room.as_ref().map(|room| -room.widest_mm.middle()),
            half_track: room.as_ref().map(|room| half_track_room(room, wheel)),
            to_make: ShaftToMake::of(halfshaft, &plunge_mm),
            ripple: HalfshaftRipple::of(wheel, halfshaft),
            checks: Vec::new(),
            rows: wheel.postures_shown().filter_map(|posture| row(&posture)).collect(),
            angle_shares: angle_deg.into_iter().flat_map(|(joint, _)| angle_shares(joint, &curve)).collect(),
            curve,
            least_margin,
            plunge_mm,
            inner_angle_deg,
            outer_angle_deg,
        };
        found.checks = checks(halfshaft, &found, path.binds_in_bump.or(path.binds_in_droop).is_some());
        Some(found)
    }
}

impl ShaftRow {
    fn of(corner: &Corner, halfshaft: &Halfshaft, room: Option<&PlungeRoom>, posture: &Posture) -> Option<Self> {
        let shaft = shaft(corner, posture)?;
        Some(Self {
            bump_mm: posture.bump_mm,
            length_mm: halfshaft.length_mm() + shaft.plunge_mm,
            shaft,
            window_mm: room.map(|room| room.at(&shaft)),
        })
    }
}

impl ShaftToMake {
    fn of(halfshaft: &Halfshaft, plunge_mm: &Envelope) -> Option<Self> {
        if let Some(HalfshaftLength::Donor(_)) = halfshaft.make.length {
            return None;
        }
        let used = Interval { low: plunge_mm.low, high: plunge_mm.high };
        let told = halfshaft.make.plunge_travel_mm();
        // A window that the file gives is as wide as its joints plunge, wherever the shaft sits in it.
        let window = halfshaft.plunge_window_mm.map(|window| (window.width(), false));
        let travel = told.filter(|(_, typical)| !typical).or(window).or(told);
        Some(Self {
            length_mm: halfshaft.length_mm() + used.middle(),
            longer_than_design_mm: used.middle(),
            used_mm: used.width(),
            left_each_end_mm: travel.map(|(mm, _)| 0.5 * (mm - used.width())),
            plunge_is_typical: travel.is_some_and(|(_, typical)| typical),
        })
    }
}

impl HalfshaftRipple {
    fn of(wheel: &RigWheel, halfshaft: &Halfshaft) -> Option<Self> {
        let kind = |joint: Option<HalfshaftJoint>| match joint {
            Some(HalfshaftJoint::Universal) => ShaftJointKind::Universal,
            _ => ShaftJointKind::ConstantVelocity,
        };
        let kinds = [kind(halfshaft.make.inner), kind(halfshaft.make.outer)];
        if !kinds.contains(&ShaftJointKind::Universal) {
            return None;
        }
        let ripple = |posture: &Posture| {
            let along = posture.point(&halfshaft.outer) - halfshaft.inner;
            let directions = [halfshaft.axis.into_inner(), along, spin_axis(wheel.corner, posture)];
            let directions = directions.map(nalgebra::Unit::new_normalize);
            Chain::new(&directions, &kinds, &[halfshaft.make.phase_deg, 0.0]).output_ripple()
        };
        let known: Vec<(f64, f64)> = wheel.path.postures().iter().map(|at| (at.bump_mm, -ripple(at))).collect();
        let at = |bump_mm: f64| wheel.path.at(bump_mm).map_or(f64::INFINITY, |posture| -ripple(&posture));
        let worst = least_places(&known, at, SETTLED_MM).into_iter();
        let worst = worst.min_by(|a, b| a.value.total_cmp(&b.value))?;
        Some(Self { at_design: ripple(wheel.design_posture()), worst: -worst.value, worst_at_bump_mm: worst.at })
    }
}
