//! One step along the path of a wheel: predict, correct, and keep the step only if it stayed on the branch.

use nalgebra::Vector3;

use super::linkage::{Linkage, ROTATION_SCALE_MM, rodrigues_rate};
use super::posture::Posture;
use super::solve::{Solved, solve};

/// Longest step along the path, mm of bump travel.
const MAX_STEP_MM: f64 = 10.0;
/// A step this short that still fails means a turning point, mm: far below the 0.1 mm to which bind travels are told,
/// because a path can turn nearly as sharply and go on.
const MIN_STEP_MM: f64 = 1e-8;
/// Near the start the shortest step is this share of the way come: a design that nearly binds stands as near to its
/// turning point, and away from it the motion settles over no more than the way from it.
const MIN_STEP_SHARE: f64 = 0.1;
/// The first step may have to be this short, mm; below it bump is lost in the rounding of the coordinates.
const MIN_FIRST_STEP_MM: f64 = 1e-12;
/// A step may be longer than its limit by this share: nothing is divided in two for the rounding of a station.
const STEP_SLACK: f64 = 1e-6;
/// The cubic predictor goes on from its two postures by at most this many times their distance; their rounding grows with
/// the cube of it.
const MAX_EXTRAPOLATION: f64 = 4.0;
/// Largest first correction of a predicted posture, as a share of the length of the step.
const MAX_CORRECTION: f64 = 0.1;
/// Largest change of the motion over a step, as a share of the motion.
const MAX_MOTION_CHANGE: f64 = 0.3;
/// The determinant may shrink or grow by this factor over a step.
const MAX_DETERMINANT_RATIO: f64 = 2.0;

/// Steps that land on no station, on one way from design: fifty reach the largest travel of a file, a few hundred are taken
/// near a bind. What needs more is as good as bound, and would be followed without end.
const MAX_SPARE_STEPS: usize = 10_000;

/// One end of a path being followed. Allocates nothing.
#[derive(Debug, Clone)]
pub struct Walker<'a> {
    linkage: &'a Linkage,
    start_mm: f64,
    here: Posture,
    before: Option<Posture>,
    /// Longest next step, mm: halved when a step fails, doubled when one as long is kept.
    step_limit_mm: f64,
    spare_steps: usize,
}

impl<'a> Walker<'a> {
    /// Starts from a solved posture of this linkage.
    pub fn new(linkage: &'a Linkage, start: Posture) -> Self {
        Self {
            linkage,
            start_mm: start.bump_mm,
            here: start,
            before: None,
            step_limit_mm: MAX_STEP_MM,
            spare_steps: MAX_SPARE_STEPS,
        }
    }

    /// The last posture reached.
    pub fn here(&self) -> &Posture {
        &self.here
    }

    /// Walks to a bump travel, mm, and shows every posture on the way to `visit`; false when the mechanism binds before.
    pub fn walk_to(&mut self, bump_mm: f64, mut visit: impl FnMut(&Posture)) -> bool {
        while self.here.bump_mm != bump_mm {
            if self.spare_steps == 0 || !self.step_towards(bump_mm) {
                return false;
            }
            self.spare_steps -= usize::from(self.here.bump_mm != bump_mm);
            visit(&self.here);
        }
        true
    }

    /// Takes one step towards a bump travel, mm, and lands on it when one step is enough; false when the mechanism binds
    /// before.
    pub fn step_towards(&mut self, bump_mm: f64) -> bool {
        let gap_mm = bump_mm - self.here.bump_mm;
        let way_mm = (self.here.bump_mm - self.start_mm).abs();
        let min_step_mm = (MIN_STEP_SHARE * way_mm).clamp(MIN_FIRST_STEP_MM, MIN_STEP_MM);
        loop {
            // Equal steps: no rest is left over that is much shorter than they are.
            let steps = (gap_mm.abs() / self.step_limit_mm - STEP_SLACK).ceil();
            let (step_mm, target_mm) = if steps > 1.0 {
                let step_mm = gap_mm.abs() / steps;
                (step_mm, self.here.bump_mm + step_mm.copysign(gap_mm))
            } else {
                (gap_mm.abs(), bump_mm)
            };
            if let Some(posture) = self.try_step(target_mm) {
                self.before = Some(self.here);
                self.here = posture;
                self.step_limit_mm = MAX_STEP_MM.min(self.step_limit_mm.max(2.0 * step_mm));
                return true;
            }
            self.step_limit_mm = 0.5 * step_mm;
            if self.step_limit_mm < min_step_mm {
                return false;
            }
        }
    }

    fn try_step(&self, bump_mm: f64) -> Option<Posture> {
        let step_mm = (bump_mm - self.here.bump_mm).abs();
        let is_far_enough =
            |before: &&Posture| step_mm <= MAX_EXTRAPOLATION * (self.here.bump_mm - before.bump_mm).abs();
        let pose = match self.before.as_ref().filter(is_far_enough) {
            Some(before) => Predictor::cubic(before, &self.here, bump_mm),
            None => Predictor::tangent(&self.here, bump_mm),
        };
        let solved = solve(self.linkage, bump_mm, &pose.displacement, &pose.rodrigues).ok()?;
        stayed_on_branch(&self.here, &solved, step_mm).then_some(solved.posture)
    }
}

/// True when a solved step of `step_mm` from `from` has certainly stayed on the branch.
#[inline]
pub(super) fn stayed_on_branch(from: &Posture, solved: &Solved, step_mm: f64) -> bool {
    let to = &solved.posture;
    let speed = scaled_norm(&from.motion.velocity, &from.motion.angular);
    let change = scaled_norm(&(to.motion.velocity - from.motion.velocity), &(to.motion.angular - from.motion.angular));
    let ratio = to.determinant / from.determinant;
    solved.first_correction_mm <= MAX_CORRECTION * speed * step_mm
        && change <= MAX_MOTION_CHANGE * speed
        && (1.0 / MAX_DETERMINANT_RATIO..=MAX_DETERMINANT_RATIO).contains(&ratio)
}

#[inline]
fn scaled_norm(velocity: &Vector3<f64>, angular: &Vector3<f64>) -> f64 {
    (velocity.norm_squared() + ROTATION_SCALE_MM * ROTATION_SCALE_MM * angular.norm_squared()).sqrt()
}

/// A predicted pose of the upright, from which Newton starts.
pub(super) struct Predictor {
    pub(super) displacement: Vector3<f64>,
    pub(super) rodrigues: Vector3<f64>,
}

impl Predictor {
    /// Straight on from a posture along its motion.
    #[inline]
    pub(super) fn tangent(from: &Posture, bump_mm: f64) -> Self {
        let step_mm = bump_mm - from.bump_mm;
        Self {
            displacement: from.displacement + from.motion.velocity * step_mm,
            rodrigues: from.rodrigues + rodrigues_rate(&from.rodrigues, &from.motion.angular) * step_mm,
        }
    }

    /// The cubic through two postures and their motions (Hermite), between them or beyond the second.
    #[inline]
    pub(super) fn cubic(a: &Posture, b: &Posture, bump_mm: f64) -> Self {
        let span_mm = b.bump_mm - a.bump_mm;
        let t = (bump_mm - a.bump_mm) / span_mm;
        let (t2, t3) = (t * t, t * t * t);
        let to_b = 3.0 * t2 - 2.0 * t3;
        let (slope_a, slope_b) = (span_mm * (t - 2.0 * t2 + t3), span_mm * (t3 - t2));
        let blend = |pa: &Vector3<f64>, va: &Vector3<f64>, pb: &Vector3<f64>, vb: &Vector3<f64>| {
            pa + (pb - pa) * to_b + va * slope_a + vb * slope_b
        };
        Self {
            displacement: blend(&a.displacement, &a.motion.velocity, &b.displacement, &b.motion.velocity),
            rodrigues: blend(
                &a.rodrigues,
                &rodrigues_rate(&a.rodrigues, &a.motion.angular),
                &b.rodrigues,
                &rodrigues_rate(&b.rodrigues, &b.motion.angular),
            ),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use nalgebra::Vector3;

    use super::{Linkage, Posture, Predictor, Solved, Walker, stayed_on_branch};
    use crate::file::GeometryFile;

    /// A motion whose wheel centre is a cubic of the travel is foreseen exactly, between its two postures and beyond them.
    #[test]
    fn the_predictor_goes_through_a_cubic() {
        let file = GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a sound file");
        let design = Linkage::new(&file.geometry.left).design().expect("a sound design");
        let place =
            |b: f64| Vector3::new(2.0 - 0.3 * b + 0.02 * b * b - 0.001 * b.powi(3), 0.5 * b - 0.003 * b.powi(3), b);
        let speed = |b: f64| Vector3::new(-0.3 + 0.04 * b - 0.003 * b * b, 0.5 - 0.009 * b * b, 1.0);
        let at = |bump_mm: f64| {
            let mut posture = Posture { bump_mm, displacement: place(bump_mm), ..design };
            (posture.motion.velocity, posture.motion.angular) = (speed(bump_mm), Vector3::zeros());
            posture
        };
        for (from, to, wanted) in [(-2.0, 5.0, 9.0), (-2.0, 5.0, 1.0), (3.0, -4.0, -11.0)] {
            let predicted = Predictor::cubic(&at(from), &at(to), wanted).displacement;
            assert!((predicted - place(wanted)).norm() < 1e-12, "{predicted} for {}", place(wanted));
        }
        let straight = Predictor::tangent(&at(5.0), 7.0).displacement;
        assert!((straight - (place(5.0) + speed(5.0) * 2.0)).norm() < 1e-12);
    }

    #[test]
    fn a_walk_ends_when_it_takes_steps_without_end() {
        let file = GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a sound file");
        let linkage = Linkage::new(&file.geometry.left);
        let design = linkage.design().expect("a sound design");
        let mut walker = Walker { spare_steps: 3, ..Walker::new(&linkage, design) };
        // Steps of ten millimetres; those that land on a station are not counted.
        assert!(walker.walk_to(10.0, |_| ()) && walker.walk_to(20.0, |_| ()));
        assert!(!walker.walk_to(60.0, |_| ()));
        assert_eq!(walker.here().bump_mm, 50.0);
        assert!(Walker::new(&linkage, design).walk_to(60.0, |_| ()));
    }

    /// A long correction, another motion and another determinant: each alone may be that of another branch.
    #[test]
    fn one_sign_of_another_branch_is_enough_to_refuse_a_step() {
        let file = GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a sound file");
        let from = Linkage::new(&file.geometry.left).design().expect("a sound design");
        let is_refused = |change: fn(&mut Solved)| {
            let mut solved = Solved { posture: from, first_correction_mm: 0.0 };
            change(&mut solved);
            !stayed_on_branch(&from, &solved, 1.0)
        };
        assert!(!is_refused(|_| ()));
        assert!(is_refused(|solved| solved.first_correction_mm = 5.0));
        assert!(is_refused(|solved| solved.posture.motion.velocity.x += 5.0));
        assert!(is_refused(|solved| solved.posture.motion.angular.z += 0.05));
        assert!(is_refused(|solved| solved.posture.determinant *= -1.0));
        assert!(is_refused(|solved| solved.posture.determinant *= 3.0));
        assert!(is_refused(|solved| solved.posture.determinant /= 3.0));
    }
}
