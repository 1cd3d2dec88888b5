//! Everything that `driveline` tells of a car.

use std::collections::BTreeMap;

use serde::Serialize;

use super::check::Check;
use super::halfshaft::HalfshaftFindings;
use super::placing::Placing;
use super::propshaft::PropshaftFindings;
use super::runs_out::Exhaustion;
use super::spring::SpringFindings;
use crate::geometry::Side;
use crate::studies::plausibility::{Doubt, doubts};
use crate::studies::{Curves, Grid, JudgedCar, RigWheel, SideBind, State};

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
    /// What a builder should look at again, one sentence each.
    pub warnings: Vec<Doubt>,
    /// The finding itself.
    pub driveline: Driveline,
}

/// The parts of the driveline that the file has.
#[derive(Debug, Clone, Serialize)]
pub struct Driveline {
    /// Of each wheel asked for, as far as the file has its parts.
    #[serde(flatten)]
    pub wheels: BTreeMap<Side, WheelDriveline>,
    /// Where the final drive would sit best; `None` without room for it.
    pub placing: Option<Placing>,
    /// From the gearbox to the final drive.
    pub propshaft: Option<PropshaftFindings>,
}

/// What is told of one wheel.
#[derive(Debug, Clone, Serialize)]
pub struct WheelDriveline {
    /// From the final drive to the wheel.
    pub halfshaft: Option<HalfshaftFindings>,
    /// What runs out first on the way up and down.
    pub runs_out: Option<Exhaustion>,
    /// The spring at design height.
    pub spring: Option<SpringFindings>,
}

impl WheelDriveline {
    fn of(wheel: &RigWheel) -> Self {
        Self {
            halfshaft: HalfshaftFindings::of(wheel),
            runs_out: Exhaustion::of(wheel),
            spring: SpringFindings::of(wheel),
        }
    }
}

impl<'g> DrivelineFindings<'g> {
    /// As far as these wheels go.
    pub fn of(judged: JudgedCar<'g>, sides: &[Side]) -> Self {
        let geometry = judged.geometry();
        let of = |&side: &Side| (side, WheelDriveline::of(judged.rig.wheel(side)));
        Self {
            name: geometry.name.clone(),
            warnings: doubts(geometry),
            driveline: Driveline {
                wheels: sides.iter().map(of).collect(),
                placing: Placing::of(&judged.rig),
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
        self.propshaft.is_none()
            && self.wheels.values().all(|wheel| wheel.halfshaft.is_none() && wheel.spring.is_none())
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
