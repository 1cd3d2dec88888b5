//! The charts of a moved car, as SVG that can be printed in grey.
//!
//! Computes nothing but where lines and words stand on the sheet. `context` says whose wheels are shown; `curves`, `ride_heights`,
//! `clearance`, `rod_ends`, `roll`, `tuned` and `tolerance` hold one function a chart, `views` draws the linkage; the look they share is in
//! `frame` and `labels`, the words round them in `caption` and `verdict`, the paper in `sheet`.

mod caption;
mod clearance;
mod context;
mod correction;
mod curves;
mod cut;
mod driveline;
mod forces;
mod frame;
mod halfshaft;
mod labels;
mod linkage;
mod margins;
mod points;
mod propshaft;
mod ride_heights;
mod rod_ends;
mod roll;
mod scale;
mod sheet;
mod stroke;
mod tolerance;
mod tuned;
mod verdict;
mod views;

use std::error::Error;
use std::fmt;

use rayon::prelude::*;

use crate::geometry::Side;
use crate::studies::correct::CorrectFindings;
use crate::studies::driveline::DrivelineFindings;
use crate::studies::forces::ForcesFindings;
use crate::studies::tolerance::ToleranceFindings;
use crate::studies::tune::TuneFindings;
use crate::studies::{CarFindings, Curves, JudgedCar};

use context::ChartContext;
use frame::Paper;
use sheet::PenError;

/// A chart that could not be drawn.
#[derive(Debug)]
pub struct ChartError {
    chart: &'static str,
    cause: PenError,
}

impl fmt::Display for ChartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} cannot be drawn: {}", self.chart, self.cause)
    }
}

impl Error for ChartError {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        Some(&self.cause)
    }
}

/// What charts were made from; their last line tells it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChartSource<'s> {
    /// Name of the geometry file, or of the demo car.
    pub file: &'s str,
    /// Hash of its text, hexadecimal.
    pub input_sha256: &'s str,
    /// Which car of it.
    pub car: CarShown,
}

/// Which car a chart shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CarShown {
    /// As the file has it: as drawn, as tuned, or as measured.
    AsInFile,
    /// Moved since the file was read, so that its hash is of another car.
    NotSaved,
    /// The same, and tuned.
    BeforeAndAfterTuning,
    /// Many cars welded to the file.
    Welded,
    /// As it was built, and corrected.
    Corrected,
}

impl CarShown {
    /// Of a car that is drawn, tuned or measured: `as drawn, with weld errors`.
    fn words(self, stage: &str) -> String {
        match self {
            CarShown::AsInFile => stage.to_owned(),
            CarShown::NotSaved => "changed, not saved".to_owned(),
            CarShown::BeforeAndAfterTuning => "before and after tuning".to_owned(),
            CarShown::Welded => format!("{stage}, with weld errors"),
            CarShown::Corrected => format!("{stage}, as it was gauged"),
        }
    }
}

/// A chart with its file name, or which one could not be drawn.
fn named((chart, svg): (&'static str, Result<String, PenError>)) -> Result<(&'static str, String), ChartError> {
    svg.map(|svg| (chart, svg)).map_err(|cause| ChartError { chart, cause })
}

/// Bump steer before and after tuning on one chart; afterwards alone for a car that had no pickups yet.
pub fn before_after(found: &TuneFindings, source: ChartSource) -> Result<String, ChartError> {
    let CarFindings { judged, curves, sides, .. } = &found.car;
    let drawn = found.drawn.as_ref().zip(found.drawn_curves.as_ref());
    let before = drawn.map(|(car, curves)| ChartContext::new(car, curves, sides, source));
    tuned::before_after(found, before.as_ref(), &ChartContext::new(judged, curves, sides, source))
        .map_err(|cause| ChartError { chart: "toe-before-after.svg", cause })
}

/// The charts of a weld study: file name and SVG text.
pub fn tolerance_charts(
    found: &ToleranceFindings,
    source: ChartSource,
) -> Result<Vec<(&'static str, String)>, ChartError> {
    let context = ChartContext::new(&found.car, &found.curves, &found.sides, source);
    let drawn = [
        ("tolerance-band.svg", tolerance::band(&context, found)),
        ("tolerance-worst.svg", tolerance::worst(&context, found)),
    ];
    drawn.into_iter().map(named).collect()
}

/// The charts of a study of forces: file name and SVG text; reserves and toe under load when there are any.
pub fn forces_charts(found: &ForcesFindings, source: ChartSource) -> Result<Vec<(&'static str, String)>, ChartError> {
    let has_margins = found.margins.iter().any(|wheels| !wheels.ranked.is_empty());
    let margins = has_margins.then(|| named(("margins.svg", margins::margins(found, source))));
    let compliance =
        (!found.compliance.is_empty()).then(|| named(("compliance.svg", forces::compliance(found, source))));
    [named(("forces.svg", forces::forces(found, source)))].into_iter().chain(margins).chain(compliance).collect()
}

/// A chart of the correction of each wheel that has one: file name and SVG text. `drawn` is the car of the file.
pub fn correction_charts(
    found: &CorrectFindings,
    (drawn, curves): (&JudgedCar, &Curves),
    sides: &[Side],
    source: ChartSource,
) -> Result<Vec<(&'static str, String)>, ChartError> {
    let corrected = sides.iter().filter_map(|&side| Some((side, found.wheels[side].as_ref().ok()?)));
    let drawn = corrected.map(|(side, wheel)| {
        let chart = match side {
            Side::Left => "correction-left.svg",
            Side::Right => "correction-right.svg",
        };
        let context = ChartContext::new(drawn, curves, &[side], source);
        named((chart, correction::correction(&context, side, wheel)))
    });
    drawn.collect()
}

/// The charts of a driveline, as far as the file has its parts: file name and SVG text.
pub fn driveline_charts(
    found: &DrivelineFindings,
    source: ChartSource,
) -> Result<Vec<(&'static str, String)>, ChartError> {
    let context = ChartContext::new(&found.judged, &found.curves, &found.sides, source);
    let mut drawn = Vec::new();
    if found.driveline.halfshafts().next().is_some() {
        drawn.push(("halfshaft-plunge.svg", halfshaft::plunge(&context, found)));
        drawn.push(("halfshaft-map.svg", halfshaft::map(&context, found)));
    }
    if found.judged.geometry().propshaft.is_some() || found.driveline.halfshafts().next().is_some() {
        drawn.push(("driveline-plan.svg", driveline::plan(&context, found)));
        drawn.push(("driveline-side.svg", driveline::side(&context, found)));
    }
    if let Some(placing) = found.driveline.placing.as_ref().filter(|placing| !placing.trade.is_empty()) {
        drawn.push(("final-drive.svg", driveline::trade(&context, placing)));
    }
    if let Some(shaft) = &found.driveline.propshaft {
        drawn.push(("propshaft-ripple.svg", propshaft::ripple(&context, shaft)));
        if !shaft.spans.is_empty() {
            drawn.push(("propshaft-speed.svg", propshaft::critical(&context, shaft)));
        }
    }
    drawn.into_iter().map(named).collect()
}

type Draw = fn(&ChartContext) -> Result<String, PenError>;

const ALWAYS: [(&str, Draw); 10] = [
    ("toe.svg", curves::toe),
    ("camber.svg", curves::camber),
    ("scrub.svg", curves::scrub),
    ("recession.svg", curves::recession),
    ("clearance.svg", clearance::gaps),
    ("roll-centre.svg", roll::roll_centre),
    ("roll-steer.svg", roll::steer),
    ("view-front.svg", views::front),
    ("view-side.svg", views::side),
    ("view-plan.svg", views::plan),
];
/// Those drawn to scale, with a table of their points: a phone has no room for them.
const TO_SCALE: [&str; 3] = ["view-front.svg", "view-side.svg", "view-plan.svg"];
const WITH_HALFSHAFT: [(&str, Draw); 2] = [("plunge.svg", curves::plunge), ("joint-angles.svg", curves::joint_angles)];
const WITH_BOLTS: [(&str, Draw); 1] = [("rod-ends.svg", rod_ends::rod_ends)];
const WITH_RIDE_HEIGHTS: [(&str, Draw); 1] = [("toe-ride-heights.svg", ride_heights::toe)];
const WITH_ANTI_SQUAT: [(&str, Draw); 1] = [("anti-squat.svg", curves::anti_squat)];

/// Every chart of a car for the wheels asked for: file name and SVG text.
pub fn charts(found: &CarFindings, source: ChartSource) -> Result<Vec<(String, String)>, ChartError> {
    let context = ChartContext::new(&found.judged, &found.curves, &found.sides, source);
    let wanted: Vec<_> = of_a_car(&context).collect();
    // One at a time: those that take longest stand beside each other.
    let drawn = wanted.into_par_iter().with_max_len(1).map(|(chart, draw)| named((chart, draw(&context))));
    drawn.map(|drawn| drawn.map(|(chart, svg)| (chart.to_owned(), svg))).collect()
}

/// The charts of [`charts`] that can be drawn for a phone, so: file name and SVG text.
pub fn narrow_charts(found: &CarFindings, source: ChartSource) -> Result<Vec<(&'static str, String)>, ChartError> {
    let mut context = ChartContext::new(&found.judged, &found.curves, &found.sides, source);
    context.paper = Paper::NARROW;
    let wanted: Vec<_> = of_a_car(&context).filter(|(chart, _)| !TO_SCALE.contains(chart)).collect();
    wanted.into_par_iter().map(|(chart, draw)| named((chart, draw(&context)))).collect()
}

/// The names of the charts that a car has data for.
pub fn chart_names(car: &JudgedCar, curves: &Curves, sides: &[Side], source: ChartSource) -> Vec<&'static str> {
    let context = ChartContext::new(car, curves, sides, source);
    of_a_car(&context).map(|(chart, _)| chart).collect()
}

/// Another car to compare with, and what its curves are called.
#[derive(Debug, Clone, Copy)]
pub struct CarBeside<'s> {
    /// `pinned`, or the letter of a variant.
    pub name: &'static str,
    /// Moved and judged.
    pub car: &'s JudgedCar<'s>,
    /// Of it.
    pub curves: &'s Curves,
}

/// Some of the charts of a car by name, the curves of another car pale behind its own; `narrow` for a phone, those that can be.
pub fn charts_beside(
    (car, curves): (&JudgedCar, &Curves),
    beside: Option<CarBeside>,
    (sides, source): (&[Side], ChartSource),
    (wanted, narrow): (&[String], bool),
) -> Result<Vec<(&'static str, String)>, ChartError> {
    let mut context = ChartContext::new(car, curves, sides, source);
    context.paper = if narrow { Paper::NARROW } else { Paper::WIDE };
    context.beside = beside.map(|of| (of.name, Box::new(ChartContext::new(of.car, of.curves, sides, source))));
    let drawn: Vec<(&'static str, Draw)> =
        of_a_car(&context).filter(|(chart, _)| wanted.iter().any(|name| name == chart)).collect();
    drawn.into_par_iter().map(|(chart, draw)| named((chart, draw(&context)))).collect()
}

/// Every chart that the car of a context has data for.
fn of_a_car(context: &ChartContext) -> impl Iterator<Item = (&'static str, Draw)> + use<> {
    let has_shaft = context.wheels.iter().any(|wheel| curves::shaft_of(context, wheel.side).is_some());
    let groups: [(bool, &'static [(&'static str, Draw)]); 5] = [
        (true, &ALWAYS),
        (has_shaft, &WITH_HALFSHAFT),
        (rod_ends::has_bolts(context), &WITH_BOLTS),
        (curves::has_anti_squat(context), &WITH_ANTI_SQUAT),
        (ride_heights::has_ride_heights(context), &WITH_RIDE_HEIGHTS),
    ];
    groups.into_iter().filter_map(|(has_data, charts)| has_data.then_some(charts)).flatten().copied()
}
