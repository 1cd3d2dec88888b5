//! Everything that `driveline` tells of a car.

use std::collections::BTreeMap;

use serde::Serialize;

use super::check::Check;
use super::halfshaft::HalfshaftFindings;
use super::propshaft::PropshaftFindings;
use crate::geometry::Side;
use crate::studies::{Curves, Grid, JudgedCar, SideBind, State};

/// Everything that `driveline` tells. As JSON it is most of `summary.json`.
#[derive(Debug, Clone, Serialize)]
pub struct DrivelineFindings<'g> {
    /// The moved car, for charts.
    #[serde(skip)]
    pub judged: JudgedCar<'g>,
    /// The same car for charts.
    #[serde(skip)]
    pub curves: Curves,
    /// Ride height and roll together, for the map of the joint angles.
    #[serde(skip)]
    pub grid: Grid,
    /// The wheels asked for, left before right.
    #[serde(skip)]
    pub sides: Vec<Side>,
    /// Of the car.
    pub name: String,
    /// The finding itself.
    pub driveline: Driveline,
}

/// The parts of the driveline that the file has.
#[derive(Debug, Clone, Serialize)]
pub struct Driveline {
    /// Of each wheel asked for, as far as the file has its parts.
    #[serde(flatten)]
    pub wheels: BTreeMap<Side, WheelDriveline>,
    /// From the gearbox to the final drive.
    pub propshaft: Option<PropshaftFindings>,
}

/// What is told of one wheel.
#[derive(Debug, Clone, Serialize)]
pub struct WheelDriveline {
    /// From the final drive to the wheel.
    pub halfshaft: Option<HalfshaftFindings>,
}

impl<'g> DrivelineFindings<'g> {
    /// As far as these wheels go.
    pub fn of(judged: JudgedCar<'g>, sides: &[Side]) -> Self {
        let geometry = judged.geometry();
        let of = |&side: &Side| (side, WheelDriveline { halfshaft: HalfshaftFindings::of(judged.rig.wheel(side)) });
        Self {
            name: geometry.name.clone(),
            driveline: Driveline {
                wheels: sides.iter().map(of).collect(),
                propshaft: geometry.propshaft.as_ref().and_then(PropshaftFindings::of),
            },
            curves: Curves::of(&judged.rig),
            grid: Grid::run(&judged.rig),
            sides: sides.to_vec(),
            judged,
        }
    }
}

impl DrivelineFindings<'_> {
    /// Where the wheels asked for bind before the end of their travel.
    pub fn binds(&self) -> impl Iterator<Item = &SideBind> {
        self.judged.heave.binds.iter().filter(|bind| self.sides.contains(&bind.side))
    }
}

impl Driveline {
    /// There is nothing in the file that could be told of.
    pub fn is_empty(&self) -> bool {
        self.propshaft.is_none() && self.halfshafts().next().is_none()
    }

    /// The halfshafts of the wheels asked for.
    pub fn halfshafts(&self) -> impl Iterator<Item = (Side, &HalfshaftFindings)> {
        self.wheels.iter().filter_map(|(side, wheel)| Some((*side, wheel.halfshaft.as_ref()?)))
    }

    /// Every figure that was judged.
    pub fn checks(&self) -> impl Iterator<Item = &Check> {
        let propshaft = self.propshaft.iter().flat_map(|shaft| &shaft.checks);
        self.halfshafts().flat_map(|(_, shaft)| &shaft.checks).chain(propshaft)
    }

    /// Whether a limit is broken, of the file or a typical one.
    pub fn breaks_a_limit(&self) -> bool {
        self.checks().any(|check| check.state == State::Fail)
    }
}
