//! One path per wheel.
//!
//! With the wheel locked to its upright and no steering, five links leave the upright one freedom, so everything that
//! is measured against the chassis depends on bump travel alone. [`WheelPath`] is that one curve, followed once from
//! the design posture to both ends of the travel; heave, roll and ride height only choose where on it a wheel stands and
//! how the road lies under it.
//!
//! A step along the path is kept only when it cannot have left the branch: Newton contracts, the determinant keeps its
//! sign and its size within a factor, the correction of the predicted posture is small beside the step, and the motion
//! at the end of the step is that at its start to within a share. Else the step is halved. Towards a turning point the
//! motion grows without bound, the steps shrink with the distance, and the path ends there: it *binds*. A design that
//! itself nearly binds begins with steps as short as its distance from the turning point.

use nalgebra::Vector3;

use super::closure::{Linkage, ROTATION_SCALE_MM, gibbs_rate};
use super::conditioning::links_that_bind;
use super::solve::{Posture, Solved, StopReason};

/// Longest step along the path, mm of bump travel.
const LONGEST_STEP_MM: f64 = 10.0;
/// A step this short that still fails means a turning point; bind travels are shown to 0.1 mm.
const MIN_STEP_MM: f64 = 1e-4;
/// Near the start the shortest step is this share of the way come: a design that nearly binds stands as near to its
/// turning point, and away from it the motion settles over no more than the way from it.
const MIN_SHARE: f64 = 0.1;
/// The first step may have to be this short, mm; below it bump is lost in the rounding of the coordinates.
const MIN_FIRST_STEP_MM: f64 = 1e-12;
/// How far beyond its ends a path may be asked for, mm: the room that a study's tolerance at a stop needs.
const BEYOND_MM: f64 = 1e-3;
/// Largest first correction of a predicted posture, as a share of the length of the step.
const MAX_CORRECTION: f64 = 0.1;
/// Largest change of the motion over a step, as a share of the motion.
const MAX_TURN: f64 = 0.3;
/// The determinant may shrink or grow by this factor over a step.
const MAX_DETERMINANT_RATIO: f64 = 2.0;

/// Where a wheel's path ends, and why.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bind {
    /// Last bump travel that was reached, mm; the turning point lies within 0.1 mm.
    pub at_bump_mm: f64,
    /// Which of the five links carry the bind, in file order.
    pub links: [bool; 5],
}

/// The path of one wheel between its stops, or between the places where it binds.
#[derive(Debug, Clone)]
pub struct WheelPath {
    linkage: Linkage,
    /// Solved postures in rising order of bump travel, never further apart than the longest step.
    postures: Vec<Posture>,
    /// Where the wheel binds below and above design, if it does so inside the travel asked for.
    pub binds_in_droop: Option<Bind>,
    pub binds_in_bump: Option<Bind>,
}

impl WheelPath {
    /// Follows the path from design through the given stations (mm of bump travel, in any order).
    ///
    /// Every station that can be reached is a posture of the path. The only error is a design posture that is singular.
    pub fn follow(linkage: &Linkage, stations_mm: &[f64]) -> Result<Self, StopReason> {
        Ok(Self::follow_from(linkage, linkage.design()?, stations_mm))
    }

    /// Follows the path from a solved posture at zero bump travel.
    pub(super) fn follow_from(linkage: &Linkage, design: Posture, stations_mm: &[f64]) -> Self {
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

    /// Lowest and highest bump travel reached, mm.
    pub fn reach_mm(&self) -> (f64, f64) {
        (self.postures[0].bump_mm, self.postures[self.postures.len() - 1].bump_mm)
    }

    /// The posture at any bump travel inside the reach (up to a micrometre beyond it); `None` outside.
    ///
    /// Its start is the cubic through the two neighbours and their motions, so it cannot be on another branch.
    pub fn at(&self, bump_mm: f64) -> Option<Posture> {
        let last = self.postures.len() - 1;
        let (low, high) = self.reach_mm();
        if !(low - BEYOND_MM..=high + BEYOND_MM).contains(&bump_mm) {
            return None;
        }
        let next = self.postures.partition_point(|p| p.bump_mm < bump_mm).clamp(1, last.max(1)).min(last);
        let (before, after) = (&self.postures[next.saturating_sub(1)], &self.postures[next]);
        for known in [before, after] {
            if known.bump_mm == bump_mm {
                return Some(*known);
            }
        }
        // Judged like the step that the walker took between the two: from the one nearer to design.
        let inner = if before.bump_mm >= 0.0 { before } else { after };
        let guess = if before.bump_mm < bump_mm && bump_mm < after.bump_mm {
            Predictor::cubic(before, after, bump_mm)
        } else {
            Predictor::along(if bump_mm < before.bump_mm { before } else { after }, bump_mm)
        };
        let span_mm = (after.bump_mm - before.bump_mm).max(BEYOND_MM);
        let solved = self.linkage.solve(bump_mm, &guess.displacement, &guess.gibbs).ok()?;
        kept(inner, &solved, span_mm).then_some(solved.posture)
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
        while walker.here.bump_mm != station_mm {
            if !walker.step_towards(station_mm) {
                let links = links_that_bind(linkage, &walker.here);
                return Some(Bind { at_bump_mm: walker.here.bump_mm, links });
            }
            postures.push(walker.here);
        }
    }
    None
}

/// One end of a path being followed. Allocates nothing.
#[derive(Debug, Clone)]
pub struct Walker<'a> {
    linkage: &'a Linkage,
    start_mm: f64,
    here: Posture,
    before: Option<Posture>,
    /// Longest step that the last ones let us hope for, mm.
    step_limit_mm: f64,
}

impl<'a> Walker<'a> {
    pub fn new(linkage: &'a Linkage, start: Posture) -> Self {
        Self { linkage, start_mm: start.bump_mm, here: start, before: None, step_limit_mm: LONGEST_STEP_MM }
    }

    pub fn here(&self) -> &Posture {
        &self.here
    }

    /// Steps towards a bump travel, landing on it if one step can; false when the mechanism binds before.
    pub fn step_towards(&mut self, bump_mm: f64) -> bool {
        let gap_mm = bump_mm - self.here.bump_mm;
        let way_mm = (self.here.bump_mm - self.start_mm).abs();
        let shortest_mm = (MIN_SHARE * way_mm).clamp(MIN_FIRST_STEP_MM, MIN_STEP_MM);
        let mut size_mm = self.step_limit_mm.min(gap_mm.abs());
        loop {
            let target_mm =
                if size_mm >= gap_mm.abs() { bump_mm } else { self.here.bump_mm + size_mm.copysign(gap_mm) };
            if let Some(posture) = self.try_step(target_mm) {
                self.before = Some(self.here);
                self.here = posture;
                self.step_limit_mm = LONGEST_STEP_MM.min(2.0 * size_mm.max(shortest_mm));
                return true;
            }
            size_mm *= 0.5;
            if size_mm < shortest_mm {
                return false;
            }
        }
    }

    fn try_step(&self, bump_mm: f64) -> Option<Posture> {
        let guess = match &self.before {
            Some(before) => Predictor::cubic(before, &self.here, bump_mm),
            None => Predictor::along(&self.here, bump_mm),
        };
        let solved = self.linkage.solve(bump_mm, &guess.displacement, &guess.gibbs).ok()?;
        kept(&self.here, &solved, (bump_mm - self.here.bump_mm).abs()).then_some(solved.posture)
    }
}

/// True when a solved step of `step_mm` from `from` has certainly stayed on the branch.
#[inline]
fn kept(from: &Posture, solved: &Solved, step_mm: f64) -> bool {
    let to = &solved.posture;
    let speed = scaled_norm(&from.motion.velocity, &from.motion.angular);
    let turn = scaled_norm(&(to.motion.velocity - from.motion.velocity), &(to.motion.angular - from.motion.angular));
    let ratio = to.determinant / from.determinant;
    solved.first_correction_mm <= MAX_CORRECTION * speed * step_mm
        && turn <= MAX_TURN * speed
        && (1.0 / MAX_DETERMINANT_RATIO..=MAX_DETERMINANT_RATIO).contains(&ratio)
}

#[inline]
fn scaled_norm(velocity: &Vector3<f64>, angular: &Vector3<f64>) -> f64 {
    (velocity.norm_squared() + ROTATION_SCALE_MM * ROTATION_SCALE_MM * angular.norm_squared()).sqrt()
}

/// A predicted posture.
struct Predictor {
    displacement: Vector3<f64>,
    gibbs: Vector3<f64>,
}

impl Predictor {
    /// Straight on from a posture along its motion.
    #[inline]
    fn along(from: &Posture, bump_mm: f64) -> Self {
        let step = bump_mm - from.bump_mm;
        Self {
            displacement: from.displacement + from.motion.velocity * step,
            gibbs: from.gibbs + gibbs_rate(&from.gibbs, &from.motion.angular) * step,
        }
    }

    /// The cubic through two postures and their motions (Hermite), between them or beyond the second.
    #[inline]
    fn cubic(a: &Posture, b: &Posture, bump_mm: f64) -> Self {
        let span = b.bump_mm - a.bump_mm;
        let t = (bump_mm - a.bump_mm) / span;
        let (t2, t3) = (t * t, t * t * t);
        let to_b = 3.0 * t2 - 2.0 * t3;
        let (slope_a, slope_b) = (span * (t - 2.0 * t2 + t3), span * (t3 - t2));
        let blend = |pa: &Vector3<f64>, va: &Vector3<f64>, pb: &Vector3<f64>, vb: &Vector3<f64>| {
            pa + (pb - pa) * to_b + va * slope_a + vb * slope_b
        };
        Self {
            displacement: blend(&a.displacement, &a.motion.velocity, &b.displacement, &b.motion.velocity),
            gibbs: blend(
                &a.gibbs,
                &gibbs_rate(&a.gibbs, &a.motion.angular),
                &b.gibbs,
                &gibbs_rate(&b.gibbs, &b.motion.angular),
            ),
        }
    }
}
