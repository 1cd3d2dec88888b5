//! Everything that the file of a car has data for, for the person who did not run the program.

use std::fmt;

use super::driveline::DrivelineFindings;
use super::forces::ForcesFindings;
use super::inspection::CheckFindings;
use super::judged_car::JudgedCar;
use super::rig::{Rig, SingularDesign};
use super::sweep::SweepFindings;
use super::tolerance::{NoTolerance, ToleranceFindings, ToleranceRequest, Watch};
use super::verdicts::{State, Verdict};
use crate::geometry::{Geometry, Side};

/// The findings of the other commands on one car.
#[derive(Debug, Clone)]
pub struct ReportFindings<'g> {
    /// As drawn, at design height.
    pub check: CheckFindings,
    /// Moved and judged.
    pub sweep: SweepFindings<'g>,
    /// Welded many times, or why it was not.
    pub weld: Result<ToleranceFindings<'g>, NotForetold>,
    /// Its shafts, as far as the file has them.
    pub driveline: DrivelineFindings<'g>,
    /// What its parts carry; `None` without a spring.
    pub forces: Option<ForcesFindings<'g>>,
}

/// Why nothing is foretold of the welds of a car.
#[derive(Debug, Clone, PartialEq)]
pub enum NotForetold {
    /// What they did is in its points.
    Built,
    /// Of a built car only what was moved is welded anew.
    Planned,
    /// It cannot be welded on paper.
    NoStudy(NoTolerance),
}

impl NotForetold {
    /// Of a car that is welded already, as it stands or with points moved since.
    pub fn of_built(geometry: &Geometry) -> Option<Self> {
        geometry.built.then_some(if geometry.planned { Self::Planned } else { Self::Built })
    }
}

impl fmt::Display for NotForetold {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Built => {
                f.write_str("the car is built: what its welds did is in its points, so no chance is foretold")
            }
            Self::Planned => f.write_str(
                "this is a plan for the built car: only what is moved is welded anew, so no chance is foretold",
            ),
            Self::NoStudy(why) => why.fmt(f),
        }
    }
}

impl<'g> ReportFindings<'g> {
    /// As far as these wheels go; the watch is on the weld study.
    pub fn of(
        rig: Rig<'g>,
        sides: &[Side],
        request: ToleranceRequest,
        watch: Watch<'_>,
    ) -> Result<Self, SingularDesign> {
        let judged = JudgedCar::of(rig.clone());
        Ok(Self {
            check: CheckFindings::of(rig.geometry)?,
            weld: match NotForetold::of_built(rig.geometry) {
                Some(why) => Err(why),
                None => ToleranceFindings::watched(judged.clone(), sides, request, watch).map_err(NotForetold::NoStudy),
            },
            driveline: DrivelineFindings::of(judged, sides),
            forces: ForcesFindings::of(&rig, sides, &[]),
            sweep: SweepFindings::of(rig, sides),
        })
    }

    /// Whether a limit of the file, or a typical one of the driveline, is broken, or a part breaks on paper.
    pub fn breaks_a_limit(&self) -> bool {
        let car = &self.sweep.car;
        let breaks = self.forces.as_ref().is_some_and(ForcesFindings::breaks);
        car.judged.breaks_a_limit(&car.sides) || self.driveline.driveline.breaks_a_limit() || breaks
    }

    /// Limits that hold with little left, of the wheels asked for and of the axle.
    pub fn thin_limits(&self) -> impl Iterator<Item = &Verdict> {
        self.sweep.car.thin_limits()
    }

    /// How many reserves of strength are below 1, and how many below the wanted one but not below 1.
    pub fn low_reserves(&self) -> [usize; 2] {
        self.forces.as_ref().map_or([0; 2], ForcesFindings::low_reserves)
    }

    /// What was not checked for want of data, each name once: of the suspension, of the shafts, of the strength of parts.
    pub fn without_data(&self) -> [Vec<&str>; 3] {
        let shafts = self.driveline.driveline.checks().filter(|check| check.state == State::NotChecked);
        let parts = self.forces.iter().flat_map(|forces| &forces.lacking);
        [
            each_once(self.check.lacking.iter().map(|lacks| &*lacks.what)),
            each_once(shafts.map(|check| &*check.what)),
            each_once(parts.map(|lacks| &*lacks.what)),
        ]
    }

    /// What the whole car comes to: it passes when everything that can be checked was, and holds; one that binds inside its travel
    /// fails. What was taken for want of a limit in the file can fail a car and passes none.
    pub fn state(&self) -> State {
        let totals = &self.sweep.car.limit_totals;
        let binds = self.sweep.car.binds().next().is_some();
        let stays_open = self.forces.as_ref().is_some_and(|forces| !forces.spring_fails.is_empty());
        match totals {
            _ if binds || self.breaks_a_limit() => State::Fail,
            totals if totals.are_all_taken() || totals.not_checked > 0 || stays_open => State::NotChecked,
            _ => State::Pass,
        }
    }
}

fn each_once<'n>(names: impl Iterator<Item = &'n str>) -> Vec<&'n str> {
    names.fold(Vec::new(), |mut once, name| {
        if !once.contains(&name) {
            once.push(name);
        }
        once
    })
}
