//! Everything that the file of a car has data for, for the person who did not run the program.

use super::driveline::DrivelineFindings;
use super::forces::ForcesFindings;
use super::inspection::CheckFindings;
use super::judged_car::JudgedCar;
use super::rig::{Rig, SingularDesign};
use super::sweep::SweepFindings;
use super::tolerance::{NoTolerance, ToleranceFindings, ToleranceRequest, Watch};
use super::verdicts::State;
use crate::geometry::Side;

/// The findings of the other commands on one car.
#[derive(Debug, Clone)]
pub struct ReportFindings<'g> {
    /// As drawn, at design height.
    pub check: CheckFindings,
    /// Moved and judged.
    pub sweep: SweepFindings<'g>,
    /// Welded many times, or why it was not.
    pub weld: Result<ToleranceFindings<'g>, NoTolerance>,
    /// Its shafts, as far as the file has them.
    pub driveline: DrivelineFindings<'g>,
    /// What its parts carry; `None` without a spring.
    pub forces: Option<ForcesFindings<'g>>,
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
            weld: ToleranceFindings::watched(judged.clone(), sides, request, watch),
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

    /// What the whole car comes to: it passes when everything that can be checked was, and holds.
    pub fn state(&self) -> State {
        let totals = &self.sweep.car.limit_totals;
        let stays_open = self.sweep.car.binds().next().is_some()
            || self.forces.as_ref().is_some_and(|forces| !forces.spring_fails.is_empty());
        match totals {
            _ if self.breaks_a_limit() => State::Fail,
            totals if totals.set == 0 || totals.not_checked > 0 || stays_open => State::NotChecked,
            _ => State::Pass,
        }
    }
}
