//! The setting chart: what a turn of each link and a shim under each bracket do to the wheel.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use crate::geometry::{BracketAdjuster, End, LengthKind, Link, Pickup, Side};
use crate::measures::{Measure, gradient};
use crate::mechanism::{LinkGradient, Linkage, Posture, PostureSensitivity};
use crate::studies::rig::RigWheel;
use crate::studies::toe_curve::slope_through_design;

/// Thickness of a shim, or how far a slot is moved, while the file gives no shim, mm.
const SHIM_MM: f64 = 0.5;
/// A flat of a hexagon, turns.
const FLAT_TURNS: f64 = 1.0 / 6.0;
/// A rod end is turned with its bolt out, so by half turns.
const HALF_TURN: f64 = 0.5;

/// One thing that is turned or shimmed at a wheel, and what it changes; every other thing stays.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Setting {
    /// Which wheel.
    pub side: Side,
    /// Name of the link.
    pub link: String,
    /// What is done.
    #[serde(flatten)]
    pub what: SettingStep,
    /// By how much the link grows or the pickup moves, mm.
    pub by_mm: f64,
    /// Change of toe at design height, deg, toe-in positive.
    pub toe_deg: f64,
    /// Change of camber at design height, deg, top outboard positive.
    pub camber_deg: f64,
    /// Wheel moves back at design height, mm.
    pub recession_mm: f64,
    /// Change of the slope of bump steer, deg per 25 mm of bump.
    pub slope_deg_per_25mm: f64,
}

/// What is done to a link.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case", tag = "step")]
pub enum SettingStep {
    /// The link is turned by a flat of its hexagon, left and right hand threads at its ends, longer.
    Flat,
    /// One rod end is turned out by half a turn.
    HalfTurn,
    /// The thinnest shim of the file, else one of 0.5 mm, under the bracket on the frame.
    ChassisShim {
        /// Where the pickup goes: axes of the car, unit vector (no unit).
        along: [f64; 3],
    },
    /// The same at the upright.
    UprightShim {
        /// Where the pickup goes at design: axes of the car, unit vector (no unit).
        along: [f64; 3],
    },
}

/// Of a wheel, links in file order; empty when a posture is singular. A link without a thread in the file has its shim alone.
///
/// By the exact derivatives at design and over bump and droop, so each holds for small steps. Tested by
/// `tests/fabrication/setting.rs`, against cars that were solved with the change in them.
pub fn setting_chart(wheel: &RigWheel) -> Vec<Setting> {
    let (corner, car) = (wheel.corner, &wheel.geometry.car);
    let linkage = Linkage::new(corner);
    let at = |measure: Measure, posture: &Posture| {
        let sensitivity = PostureSensitivity::new(&linkage, posture).ok()?;
        Some(gradient(measure, corner, car, posture, &sensitivity)?.links)
    };
    let design = wheel.design_posture();
    let of_design = [Measure::Toe, Measure::Camber, Measure::Recession].map(|measure| at(measure, design));
    let [Some(toe), Some(camber), Some(recession)] = of_design else { return Vec::new() };
    let toe_over_travel: Option<Vec<_>> =
        wheel.postures_shown().map(|posture| Some((posture.bump_mm, at(Measure::Toe, &posture)?))).collect();
    let Some(toe_over_travel) = toe_over_travel else { return Vec::new() };
    let step = |(index, what, by_mm): (usize, SettingStep, f64)| {
        let by = |links: &LinkGradient| match what {
            SettingStep::ChassisShim { along } | SettingStep::UprightShim { along } => {
                let is_frame = matches!(what, SettingStep::ChassisShim { .. });
                let end = if is_frame { End::Chassis } else { End::Upright };
                let in_side_axes = corner.side.to_car(Point3::from(along)).coords;
                by_mm * links.by_shim(&linkage, Pickup { link: index, end }).dot(&in_side_axes)
            }
            SettingStep::Flat | SettingStep::HalfTurn => by_mm * links.length[index],
        };
        let toe_deg = by(&toe);
        let curve: Vec<(f64, f64)> =
            toe_over_travel.iter().map(|(bump_mm, links)| (*bump_mm, by(links) - toe_deg)).collect();
        Setting {
            side: corner.side,
            link: corner.links[index].name.clone(),
            what,
            by_mm,
            toe_deg,
            camber_deg: by(&camber),
            recession_mm: by(&recession),
            slope_deg_per_25mm: 25.0 * slope_through_design(&curve),
        }
    };
    let steps = corner.links.iter().enumerate().flat_map(|(index, link)| {
        let all = turn(link).into_iter().chain(shims(corner.side, link));
        all.map(move |(what, by_mm)| (index, what, by_mm))
    });
    steps.map(step).collect()
}

/// How the length of a link is changed.
fn turn(link: &Link) -> Option<(SettingStep, f64)> {
    match link.adjusters.length {
        Some(length) if length.kind == LengthKind::Sleeve => {
            Some((SettingStep::Flat, FLAT_TURNS * length.mm_per_turn()))
        }
        Some(length) => Some((SettingStep::HalfTurn, HALF_TURN * length.mm_per_turn())),
        None => Some((SettingStep::HalfTurn, HALF_TURN * link.pitch_mm()?)),
    }
}

/// A shim that lifts the bracket on the frame, and what the file gives beside or instead of it.
fn shims(side: Side, link: &Link) -> impl Iterator<Item = (SettingStep, f64)> {
    let shim = move |end: End, given: Option<BracketAdjuster>| {
        let along = given.map_or(Vector3::z_axis(), |shim| shim.along);
        let along = side.to_car(along.into_inner().into()).coords.into();
        let what = match end {
            End::Chassis => SettingStep::ChassisShim { along },
            End::Upright => SettingStep::UprightShim { along },
        };
        (what, given.and_then(|shim| shim.step_mm).unwrap_or(SHIM_MM))
    };
    let upright = link.adjusters.upright.map(|given| shim(End::Upright, Some(given)));
    std::iter::once(shim(End::Chassis, link.adjusters.chassis)).chain(upright)
}
