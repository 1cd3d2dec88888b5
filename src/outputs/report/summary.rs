//! The findings of a report for other programs.

use serde::Serialize;

use crate::outputs::forces::{ForcesMember, ForcesSummary};
use crate::outputs::tolerance::{ToleranceMember, ToleranceSummary};
use crate::studies::driveline::Driveline;
use crate::studies::{ReportFindings, State, SweepFindings};

/// The summary of a report, for [`summary_json`](crate::outputs::summary_json): that of `sweep`, with the members of the other
/// commands.
#[derive(Debug, Serialize)]
pub struct ReportSummary<'f> {
    verdict: State,
    #[serde(flatten)]
    sweep: &'f SweepFindings<'f>,
    tolerance: Option<ToleranceMember<'f>>,
    driveline: &'f Driveline,
    forces: Option<ForcesMember<'f>>,
}

impl<'f> ReportSummary<'f> {
    /// Of finished findings.
    pub fn of(found: &'f ReportFindings) -> Self {
        Self {
            verdict: found.state(),
            sweep: &found.sweep,
            tolerance: found.weld.as_ref().ok().map(|study| ToleranceSummary::of(study).tolerance),
            driveline: &found.driveline.driveline,
            forces: found.forces.as_ref().map(|found| ForcesSummary::of(found).forces),
        }
    }
}
