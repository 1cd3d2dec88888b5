//! One path per wheel.
//!
//! With the wheel locked to its upright and no steering, five links leave the upright one degree of freedom, so
//! everything that is measured against the chassis depends on bump travel alone. [`WheelPath`] is that one curve,
//! followed once from the design posture to both ends of the travel; heave, roll and ride height only choose where on it
//! a wheel stands and how the road lies under it.
//!
//! A step along the path is kept only when it cannot have left the branch: Newton contracts, the determinant keeps its
//! sign and its size within a factor, the correction of the predicted posture is small beside the step, and the motion
//! at the end of the step is that at its start to within a share. Else the step is halved. Towards a turning point the
//! motion grows without bound, the steps shrink with the distance, and the path ends there: it *binds*. A design that
//! itself nearly binds begins with steps as short as its distance from the turning point.
//!
//! Source: `docs/theory.md`, "One path per wheel". Tested by `tests/kinematics/random_corners.rs`.

use std::fmt;

use super::built::{BuildFailure, LinkSetting, PickupErrors, build};
use super::conditioning::links_that_bind;
use super::linkage::Linkage;
use super::posture::Posture;
use super::solve::{SolveError, solve};
use super::walker::{Predictor, Walker, stayed_on_branch};

/// How far beyond its ends a path may be asked for, mm: the room that a study's tolerance at a stop needs.
const BEYOND_END_MM: f64 = 1e-3;

/// Stations this near each other are one posture of a path, mm: a step between them would be lost in rounding.
const SAME_STATION_MM: f64 = 1e-6;

/// Where a wheel's path ends because the links can take the wheel no further.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bind {
    /// Last bump travel that was reached, mm, up positive; the turning point lies within 0.1 mm.
    pub at_bump_mm: f64,
    /// Which of the five links carry the bind, in file order.
    pub links: [bool; 5],
}

impl fmt::Display for Bind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let numbers = (1_usize..).zip(self.links).filter(|(_, carries)| *carries).map(|(number, _)| number.to_string());
        let numbers: Vec<String> = numbers.collect();
        write!(f, "binds at {:.1} mm of bump travel, carried by links {}", self.at_bump_mm, numbers.join(", "))
    }
}

/// The path of one wheel between its stops, or between the places where it binds.
#[derive(Debug, Clone)]
pub struct WheelPath {
    linkage: Linkage,
    /// Solved postures in rising order of bump travel, never further apart than the longest step.
    postures: Vec<Posture>,
    /// Where the wheel binds below design, if it does so inside the travel asked for.
    pub binds_in_droop: Option<Bind>,
    /// Where the wheel binds above design, if it does so inside the travel asked for.
    pub binds_in_bump: Option<Bind>,
}

impl WheelPath {
    /// Follows the path from design through the given stations (mm of bump travel, up positive, in any order).
    ///
    /// Every station that can be reached is a posture of the path, or within a millionth of a millimetre of one. The only
    /// error is a design posture that is singular.
    pub fn follow(linkage: &Linkage, stations_mm: &[f64]) -> Result<Self, SolveError> {
        Ok(Self::follow_from(linkage, linkage.design()?, stations_mm))
    }

    /// Follows the path of a built corner through the stations (mm of bump travel, up positive, in any order), from the
    /// posture at the drawn wheel height that is connected to the drawn one.
    ///
    /// An error when the corner does not go together, is singular at the drawn wheel height, or binds before it has
    /// reached every station. Tested by `tests/batch.rs`, `src/studies/tolerance/outside.rs`.
    pub fn follow_built(
        drawn: &Linkage,
        errors: &PickupErrors,
        lengths: LinkSetting,
        stations_mm: &[f64],
    ) -> Result<Self, BuildFailure> {
        let (linkage, start) = build(drawn, errors, lengths)?;
        let path = Self::follow_from(&linkage, start, stations_mm);
        match (path.binds_in_droop, path.binds_in_bump) {
            (None, None) => Ok(path),
            (in_droop, in_bump) => Err(BuildFailure::Binds { in_droop, in_bump }),
        }
    }

    /// Follows the path from a solved posture at zero bump travel.
    fn follow_from(linkage: &Linkage, design: Posture, stations_mm: &[f64]) -> Self {
        let mut sorted = stations_mm.to_vec();
        sorted.sort_by(f64::total_cmp);
        let mut postures = Vec::with_capacity(sorted.len() + 1);
        let droop = sorted.iter().rev().copied().filter(|&b| b < 0.0);
        let binds_in_droop = follow_one_way(linkage, design, droop, &mut postures);
        postures.reverse();
        postures.push(design);
        let bump = sorted.iter().copied().filter(|&b| b > 0.0);
        let binds_in_bump = follow_one_way(linkage, design, bump, &mut postures);
        Self { linkage: linkage.clone(), postures, binds_in_droop, binds_in_bump }
    }

    /// The postures of the path in rising order of bump travel: every station reached, and what was needed between.
    pub fn postures(&self) -> &[Posture] {
        &self.postures
    }

    /// Lowest and highest bump travel reached, mm, up positive.
    pub fn reach_mm(&self) -> (f64, f64) {
        (self.postures[0].bump_mm, self.postures[self.postures.len() - 1].bump_mm)
    }

    /// The posture at any bump travel, mm, inside the reach (up to a micrometre beyond it); `None` outside.
    ///
    /// Newton starts on the cubic through the two neighbours and their motions, and the result passes the same tests as
    /// a step of the path, so it cannot be on another branch.
    pub fn at(&self, bump_mm: f64) -> Option<Posture> {
        let last = self.postures.len() - 1;
        let (low, high) = self.reach_mm();
        if !(low - BEYOND_END_MM..=high + BEYOND_END_MM).contains(&bump_mm) {
            return None;
        }
        let next = self.postures.partition_point(|p| p.bump_mm < bump_mm).clamp(1, last.max(1)).min(last);
        let (before, after) = (&self.postures[next.saturating_sub(1)], &self.postures[next]);
        for known in [before, after] {
            if known.bump_mm == bump_mm {
                return Some(*known);
            }
        }
        // Tested like the step that the walker took between the two: from the one nearer to design.
        let inner = if before.bump_mm >= 0.0 { before } else { after };
        let pose = if before.bump_mm < bump_mm && bump_mm < after.bump_mm {
            Predictor::cubic(before, after, bump_mm)
        } else {
            Predictor::tangent(if bump_mm < before.bump_mm { before } else { after }, bump_mm)
        };
        let span_mm = (after.bump_mm - before.bump_mm).max(BEYOND_END_MM);
        match solve(&self.linkage, bump_mm, &pose.displacement, &pose.rodrigues) {
            Ok(solved) if stayed_on_branch(inner, &solved, span_mm) => Some(solved.posture),
            // The motion between two postures can differ from that at both; smaller steps lead there.
            _ => self.walk(inner, bump_mm),
        }
    }

    fn walk(&self, from: &Posture, bump_mm: f64) -> Option<Posture> {
        let mut walker = Walker::new(&self.linkage, *from);
        walker.walk_to(bump_mm, |_| ()).then(|| *walker.here())
    }
}

/// Walks the path outwards from `design`, pushing every posture; returns where it binds, if it does.
fn follow_one_way(
    linkage: &Linkage,
    design: Posture,
    stations_mm: impl Iterator<Item = f64>,
    postures: &mut Vec<Posture>,
) -> Option<Bind> {
    let mut walker = Walker::new(linkage, design);
    for station_mm in stations_mm {
        if (station_mm - walker.here().bump_mm).abs() <= SAME_STATION_MM {
            continue;
        }
        if !walker.walk_to(station_mm, |posture| postures.push(*posture)) {
            let links = links_that_bind(linkage, walker.here());
            return Some(Bind { at_bump_mm: walker.here().bump_mm, links });
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::{Linkage, WheelPath};
    use crate::file::GeometryFile;

    #[test]
    fn a_path_has_no_posture_beyond_its_ends() {
        let file = GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a sound file");
        let path = WheelPath::follow(&Linkage::new(&file.geometry.left), &[-60.0, 60.0]).expect("a sound design");
        for (bump_mm, is_on_it) in [(-60.0005, true), (-60.1, false), (-70.0, false), (60.0005, true), (60.1, false)] {
            assert_eq!(path.at(bump_mm).is_some(), is_on_it, "{bump_mm} mm");
        }
    }
}
