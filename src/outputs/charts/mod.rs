//! The charts of a moved car, as SVG that can be printed in grey.
//!
//! Computes nothing beyond the place of the ink. `context` says whose wheels are shown; `curves` and `roll` hold one
//! function a chart, `views` draws the linkage; the look they share is in `frame` and `labels`, the paper in `sheet`.

mod context;
mod curves;
mod frame;
mod labels;
mod linkage;
mod roll;
mod scale;
mod sheet;
mod stroke;
mod tolerance;
mod views;

use std::error::Error;
use std::fmt;

use crate::geometry::Side;
use crate::studies::JudgedCar;
use crate::studies::tolerance::Tolerance;

use context::ChartContext;
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

/// Bump steer before and after tuning on one chart; `before` is missing for a car that had no pickups yet.
pub fn before_after(before: Option<&JudgedCar>, after: &JudgedCar, sides: &[Side]) -> Result<String, ChartError> {
    let before = before.map(|car| ChartContext::new(car, sides));
    curves::before_after(before.as_ref(), &ChartContext::new(after, sides))
        .map_err(|cause| ChartError { chart: "toe-before-after.svg", cause })
}

/// The charts of a tolerance study of a car: file name and SVG text.
pub fn tolerance_charts(
    car: &JudgedCar,
    study: &Tolerance,
    sides: &[Side],
) -> Result<Vec<(&'static str, String)>, ChartError> {
    let context = ChartContext::new(car, sides);
    let drawn = [
        ("tolerance-band.svg", tolerance::band(&context, study)),
        ("tolerance-worst.svg", tolerance::worst(&context, study)),
    ];
    let named = |(chart, svg): (&'static str, Result<String, PenError>)| match svg {
        Ok(svg) => Ok((chart, svg)),
        Err(cause) => Err(ChartError { chart, cause }),
    };
    drawn.into_iter().map(named).collect()
}

type Draw = fn(&ChartContext) -> Result<String, PenError>;

const ALWAYS: [(&str, Draw); 8] = [
    ("toe.svg", curves::toe),
    ("camber.svg", curves::camber),
    ("scrub.svg", curves::scrub),
    ("roll-centre.svg", roll::roll_centre),
    ("roll-steer.svg", roll::steer),
    ("view-front.svg", views::front),
    ("view-side.svg", views::side),
    ("view-plan.svg", views::plan),
];
const WITH_HALFSHAFT: [(&str, Draw); 2] = [("plunge.svg", curves::plunge), ("joint-angles.svg", curves::joint_angles)];

/// Every chart of a car for the wheels asked for: file name and SVG text.
pub fn charts(car: &JudgedCar, sides: &[Side]) -> Result<Vec<(String, String)>, ChartError> {
    let context = ChartContext::new(car, sides);
    let has_shaft = context.wheels.iter().any(|wheel| curves::shaft_of(&context, wheel.side).is_some());
    let with_shaft = if has_shaft { &WITH_HALFSHAFT[..] } else { &[] };
    ALWAYS
        .iter()
        .chain(with_shaft)
        .map(|&(chart, draw)| match draw(&context) {
            Ok(svg) => Ok((chart.to_owned(), svg)),
            Err(cause) => Err(ChartError { chart, cause }),
        })
        .collect()
}
