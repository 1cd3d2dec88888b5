//! What a halfshaft may plunge, what is left of that over the travel, and where the wheel may stand with it.

use serde::Serialize;

use super::envelope::{Envelope, places};
use crate::geometry::{Corner, Halfshaft, HalfshaftJoint, Interval};
use crate::measures::{ShaftMeasures, least_places, shaft};
use crate::mechanism::{Posture, WheelPath};
use crate::studies::RigWheel;

/// A least margin is found to this, mm of bump travel; the margin itself is then exact to rounding.
const SETTLED_MM: f64 = 1e-6;

/// The window of a shaft, which may narrow with the angle of the joint that plunges.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct PlungeRoom<'g> {
    halfshaft: &'g Halfshaft,
    /// Before it narrows, mm from the design length, pulled apart positive.
    base_mm: Interval,
    /// At the angle where it is widest, mm.
    pub(super) widest_mm: Interval,
    /// From what is typical of the joints.
    pub(super) typical: bool,
}

impl<'g> PlungeRoom<'g> {
    /// From `plunge_window`, the length of the shaft and the rows of `narrows`, whichever are given, each one holding; `None`
    /// without any.
    pub(super) fn of(halfshaft: &'g Halfshaft) -> Option<Self> {
        let make = &halfshaft.make;
        let by_length = make.window_mm(halfshaft.length_mm());
        let widest = make
            .narrowing
            .iter()
            .map(|row| row.window_mm)
            .reduce(|a, b| Interval { low: a.low.min(b.low), high: a.high.max(b.high) });
        let known = halfshaft.plunge_window_mm.into_iter().chain(by_length.map(|(window, _)| window));
        let base = known.reduce(both);
        let widest_mm = base.into_iter().chain(widest).reduce(both)?;
        let typical = by_length.is_some_and(|(_, typical)| typical);
        Some(Self { halfshaft, base_mm: base.unwrap_or(widest_mm), widest_mm, typical })
    }

    /// At the angles that the joints have.
    pub(super) fn at(&self, measures: &ShaftMeasures) -> Interval {
        let make = &self.halfshaft.make;
        let outer_plunges = |joint: Option<HalfshaftJoint>| joint.is_some_and(HalfshaftJoint::plunges);
        let by_outer = outer_plunges(make.outer) && !outer_plunges(make.inner);
        let angle_deg = if by_outer { measures.outer_angle_deg } else { measures.inner_angle_deg };
        make.window_at(angle_deg).map_or(self.base_mm, |narrowed| both(self.base_mm, narrowed))
    }
}

/// What lies in both; upside down when they do not meet, so that nothing is left.
fn both(a: Interval, b: Interval) -> Interval {
    Interval { low: a.low.max(b.low), high: a.high.min(b.high) }
}

/// Where least is left of the window.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PlungeMargin {
    /// To the nearer end of the window, negative beyond it.
    pub margin_mm: f64,
    /// Bump travel there, up positive.
    pub at_bump_mm: f64,
    /// The end towards which the shaft is pulled out; else the one towards which it is pushed in.
    pub pulled_out: bool,
}

impl PlungeMargin {
    /// Over the travel. A window that stays the same is nearest where the plunge is least or most.
    pub(super) fn of(room: &PlungeRoom, corner: &Corner, path: &WheelPath, plunge_mm: &Envelope) -> Option<Self> {
        let ends = if room.halfshaft.make.narrowing.is_empty() {
            let base = room.base_mm;
            [
                (plunge_mm.low - base.low, plunge_mm.low_at_bump_mm),
                (base.high - plunge_mm.high, plunge_mm.high_at_bump_mm),
            ]
        } else {
            let left = |pulled_out: bool| {
                let margin = |posture: &Posture| {
                    let measures = shaft(corner, posture)?;
                    let window = room.at(&measures);
                    Some(if pulled_out { window.high - measures.plunge_mm } else { measures.plunge_mm - window.low })
                };
                least_along(path, margin)
            };
            [left(false)?, left(true)?]
        };
        let [pushed, pulled] = ends;
        let (pulled_out, (margin_mm, at_bump_mm)) = if pulled.0 < pushed.0 { (true, pulled) } else { (false, pushed) };
        Some(Self { margin_mm, at_bump_mm, pulled_out })
    }
}

/// The least value along a path, and the bump travel there, mm.
fn least_along(path: &WheelPath, value: impl Fn(&Posture) -> Option<f64>) -> Option<(f64, f64)> {
    let at = |bump_mm: f64| path.at(bump_mm).and_then(|posture| value(&posture)).unwrap_or(f64::INFINITY);
    let known: Vec<(f64, f64)> = places(path).into_iter().map(|bump_mm| (bump_mm, at(bump_mm))).collect();
    let found = least_places(&known, at, SETTLED_MM).into_iter();
    found.min_by(|a, b| a.value.total_cmp(&b.value)).map(|least| (least.value, least.at))
}

/// Where the wheel may stand, moved sideways with its upright and all its travel, so that the shaft stays inside its window
/// before that narrows.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HalfTrackRoom {
    /// As drawn: from the middle of the car to the contact point.
    pub now_mm: f64,
    /// The least; `None` when no half-track is too small.
    pub least_mm: Option<f64>,
    /// The most; `None` when there is none.
    pub most_mm: Option<f64>,
}

/// With A from the inner to the outer joint, moved outboard by δ: `|A + δ ŷ|` is the length, so that
/// `δ = −A_y + √(L² − A_x² − A_z²)` at each end of the window; the least and the most of them hold over the whole travel.
pub(super) fn half_track_room(room: &PlungeRoom, wheel: &RigWheel) -> HalfTrackRoom {
    let halfshaft = room.halfshaft;
    let design_mm = halfshaft.length_mm();
    let move_mm = |posture: &Posture, length_mm: f64| {
        let along = posture.point(&halfshaft.outer) - halfshaft.inner;
        let level = length_mm * length_mm - along.x * along.x - along.z * along.z;
        (level >= 0.0).then(|| level.sqrt() - along.y)
    };
    let most = least_along(&wheel.path, |posture| move_mm(posture, design_mm + room.base_mm.high));
    let least = least_along(&wheel.path, |posture| move_mm(posture, design_mm + room.base_mm.low).map(|mm| -mm));
    let now_mm = wheel.design_contact.point.y;
    let finite = |(mm, _): (f64, f64)| Some(mm).filter(|mm| mm.is_finite());
    HalfTrackRoom {
        now_mm,
        least_mm: least.and_then(finite).map(|mm| now_mm - mm),
        most_mm: most.and_then(finite).map(|mm| now_mm + mm),
    }
}
