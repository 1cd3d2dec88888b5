//! One corner as it may come out of the shop: pickups a little off, links adjusted or cut to the drawing.

use nalgebra::Vector3;

use super::closure::Linkage;
use super::path::{Bind, WheelPath};
use super::solve::{Posture, StopReason};

/// How far the pickups of one built corner stand from the drawing, mm, side axes.
///
/// Upright pickups are off in the upright, as it stands at design.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PickupErrors {
    pub chassis: [Vector3<f64>; 5],
    pub upright: [Vector3<f64>; 5],
}

impl PickupErrors {
    fn scaled(&self, share: f64) -> Self {
        Self { chassis: self.chassis.map(|v| v * share), upright: self.upright.map(|v| v * share) }
    }
}

/// What is done about the links of a built corner.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LinkSetting {
    /// Each link takes the distance of its displaced ends with the wheel as drawn: the drawn posture closes.
    Adjusted,
    /// Each link keeps its drawn length: the wheel stands where that puts it.
    Cut,
}

/// Why a built corner does not reach every bump travel asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BuildFailure {
    /// With its links cut as drawn, nothing near the drawn posture closes at the drawn wheel height.
    DoesNotAssemble,
    /// The posture at the drawn wheel height has a freedom too many.
    Singular,
    /// It binds on the way.
    Binds { in_droop: Option<Bind>, in_bump: Option<Bind> },
}

/// Shortest part of a variation that is tried when the whole does not assemble at once.
const MIN_SHARE: f64 = 1.0 / 1024.0;
/// Largest change of the determinant over one part, either way.
const MAX_DETERMINANT_RATIO: f64 = 2.0;
/// Largest first correction of one part, mm.
const MAX_CORRECTION_MM: f64 = 5.0;

impl WheelPath {
    /// Follows the path of a built corner through the stations, from the posture at the drawn wheel height that is
    /// connected to the drawn one.
    pub fn follow_built(
        nominal: &Linkage,
        variation: &PickupErrors,
        lengths: LinkSetting,
        stations_mm: &[f64],
    ) -> Result<Self, BuildFailure> {
        let linkage = nominal.varied(variation, lengths);
        let start = match lengths {
            LinkSetting::Adjusted => linkage.design().map_err(|_: StopReason| BuildFailure::Singular)?,
            LinkSetting::Cut => assemble(nominal, variation)?,
        };
        let path = Self::follow_from(&linkage, start, stations_mm);
        match (path.binds_in_droop, path.binds_in_bump) {
            (None, None) => Ok(path),
            (in_droop, in_bump) => Err(BuildFailure::Binds { in_droop, in_bump }),
        }
    }
}

/// The posture at the drawn wheel height with links cut as drawn: the pickups are moved from the drawing to where they
/// are, in as few parts as keep the branch.
fn assemble(nominal: &Linkage, variation: &PickupErrors) -> Result<Posture, BuildFailure> {
    let mut here = nominal.design().map_err(|_: StopReason| BuildFailure::Singular)?;
    let (mut done, mut part) = (0.0, 1.0);
    while done < 1.0 {
        let next = f64::min(done + part, 1.0);
        let linkage = nominal.varied(&variation.scaled(next), LinkSetting::Cut);
        let solved = linkage.solve(0.0, &here.displacement, &here.gibbs).ok().filter(|solved| {
            let ratio = solved.posture.determinant / here.determinant;
            solved.first_correction_mm <= MAX_CORRECTION_MM
                && (1.0 / MAX_DETERMINANT_RATIO..=MAX_DETERMINANT_RATIO).contains(&ratio)
        });
        match solved {
            Some(solved) => (here, done) = (solved.posture, next),
            None if part <= MIN_SHARE => return Err(BuildFailure::DoesNotAssemble),
            None => part *= 0.5,
        }
    }
    Ok(here)
}
