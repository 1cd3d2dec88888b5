//! One corner as the shop builds it: pickups a little off, links adjusted or cut to the drawing.

use std::fmt;

use nalgebra::Vector3;

use super::linkage::Linkage;
use super::path::Bind;
use super::posture::Posture;
use super::solve::{SolveError, solve};

/// How far the pickups of one built corner stand from the drawing, mm, side axes, in file order of the links.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PickupErrors {
    /// Chassis pickups: built minus drawn.
    pub chassis: [Vector3<f64>; 5],
    /// Upright pickups, built minus drawn, with the upright as it stands in the drawing.
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
    /// At the drawn wheel height the links leave the upright a second motion.
    Singular,
    /// It binds on the way.
    Binds {
        /// Below the drawn wheel height.
        in_droop: Option<Bind>,
        /// Above the drawn wheel height.
        in_bump: Option<Bind>,
    },
}

impl fmt::Display for BuildFailure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::DoesNotAssemble => f.write_str(
                "links cut to their drawn lengths do not close at the drawn wheel height with these pickup errors; \
                 adjust the links, or build the pickups closer to the drawing",
            ),
            Self::Singular => f.write_str(
                "the built corner is singular at the drawn wheel height: its links do not hold the wheel; \
                 build the pickups closer to the drawing",
            ),
            Self::Binds { in_droop, in_bump } => {
                f.write_str("the built corner ")?;
                let mut binds = in_droop.iter().chain(in_bump);
                binds.try_for_each(|bind| write!(f, "{bind}; "))?;
                f.write_str("reduce the travel or build the pickups closer to the drawing")
            }
        }
    }
}

impl std::error::Error for BuildFailure {}

/// Shortest part of the pickup errors that is tried when the whole does not assemble at once.
const MIN_PART: f64 = 1.0 / 1024.0;
/// Largest change of the determinant over one part, either way.
const MAX_DETERMINANT_RATIO: f64 = 2.0;
/// Largest first correction of one part, mm.
const MAX_CORRECTION_MM: f64 = 5.0;

/// A built corner and its posture at the drawn wheel height, the one that is connected to the drawn posture.
pub(super) fn build(
    drawn: &Linkage,
    errors: &PickupErrors,
    lengths: LinkSetting,
) -> Result<(Linkage, Posture), BuildFailure> {
    let built = drawn.built(errors, lengths);
    let posture = match lengths {
        LinkSetting::Adjusted => built.design().map_err(|_: SolveError| BuildFailure::Singular)?,
        LinkSetting::Cut => assemble(drawn, errors)?,
    };
    Ok((built, posture))
}

/// The posture at the drawn wheel height with links cut as drawn: the pickups are moved from the drawing to where they are
/// built, in as few parts as keep the branch.
fn assemble(drawn: &Linkage, errors: &PickupErrors) -> Result<Posture, BuildFailure> {
    let mut here = drawn.design().map_err(|_: SolveError| BuildFailure::Singular)?;
    let (mut done, mut part) = (0.0, 1.0);
    while done < 1.0 {
        let next = f64::min(done + part, 1.0);
        let linkage = drawn.built(&errors.scaled(next), LinkSetting::Cut);
        let solved = solve(&linkage, 0.0, &here.displacement, &here.rodrigues).ok().filter(|solved| {
            let ratio = solved.posture.determinant / here.determinant;
            solved.first_correction_mm <= MAX_CORRECTION_MM
                && (1.0 / MAX_DETERMINANT_RATIO..=MAX_DETERMINANT_RATIO).contains(&ratio)
        });
        match solved {
            Some(solved) => (here, done) = (solved.posture, next),
            None if part <= MIN_PART => return Err(BuildFailure::DoesNotAssemble),
            None => part *= 0.5,
        }
    }
    Ok(here)
}

#[cfg(test)]
mod tests {
    use super::{Bind, BuildFailure};

    #[test]
    fn a_built_corner_that_binds_says_where_and_which_links_carry_it() {
        let bind = Bind { at_bump_mm: 41.26, links: [true, false, false, true, false] };
        let said = BuildFailure::Binds { in_droop: None, in_bump: Some(bind) }.to_string();
        assert!(
            said.starts_with("the built corner binds at 41.3 mm of bump travel, carried by links 1, 4; "),
            "{said}"
        );
    }
}
