//! A rigid part that was measured in axes of its own, put onto its mounting points in the car.
//!
//! A first turn comes from the singular value decomposition of the weighted covariance of both sets of points, reflections
//! refused; then the weighted squares of what is left are made least with the full covariance of the mounting points.
//!
//! Source: W. Kabsch, Acta Crystallographica A 32 (1976) 922, with the determinant of A 34 (1978) 827 (from memory). Tested by
//! `tests/survey/seating.rs`.

use nalgebra::{
    Cholesky, DMatrix, DVector, Isometry3, Matrix3, Matrix3x6, Point3, Rotation3, SVD, Translation3, UnitQuaternion,
    Vector3, Vector6,
};
use serde::Serialize;

use super::adjustment::Adjustment;
use super::observation::index_of;
use super::statistics::critical_sum;
use crate::studies::least_squares::Directions;
use crate::survey::{Part, PartPoint};

/// Mounting points that stray from one line by less than this do not hold a part about it, mm.
const LINE_MM: f64 = 1.0;
/// A mirror image that fits by so much better is what was measured (ratio of sums of squares).
const MIRROR_FITS_BETTER: f64 = 0.25;
/// A turn of 1 rad counts as much as this move, mm.
const TURN_SCALE_MM: f64 = 100.0;
const MIN_SINGULAR_RATIO: f64 = 1e-9;
/// A step no longer than this is the last, mm.
const SETTLED_MM: f64 = 1e-9;
const MAX_STEPS: usize = 30;
const HOLDING_POINTS: usize = 3;

/// A part on its mounting points.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeatedPart {
    /// What the builder calls it.
    pub part: String,
    /// How well each mounting point fits; empty when the part is not seated.
    pub misfits: Vec<Misfit>,
    /// The misfits are no larger than the standard deviations make likely.
    pub fits: bool,
    /// The mirror image of the part would fit far better: y was counted the other way on the bench, or it is the other side's part.
    pub is_mirrored: bool,
    /// Why there is no place for it.
    pub not_seated: Option<NotSeated>,
}

/// What is left between a point of a part and its place in the car.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Misfit {
    /// The mounting point.
    pub point: String,
    /// From where the part has it to where it was measured in the car, car axes.
    pub off_mm: [f64; 3],
    /// Length of that.
    pub distance_mm: f64,
}

/// Why a part has no place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NotSeated {
    /// Fewer than three of its mounting points are determined.
    TooFewPoints,
    /// Its mounting points stand in one line.
    OnOneLine,
}

/// A point of a part in the car.
pub(super) struct SeatedPoint<'s> {
    pub(super) point: &'s PartPoint,
    pub(super) at: Point3<f64>,
    /// mm².
    pub(super) covariance: Matrix3<f64>,
}

/// The turn and shift that bring weighted points nearest to others: `Σ w |q − (R p + t)|²` is least, and R no reflection.
///
/// Weights in 1/mm²; all lengths in mm. Without meaning for fewer than three pairs.
pub fn registration(from: &[Point3<f64>], to: &[Point3<f64>], weights: &[f64]) -> Result<Isometry3<f64>, NotSeated> {
    if from.len() < HOLDING_POINTS {
        return Err(NotSeated::TooFewPoints);
    }
    let [mean_from, mean_to] = [from, to].map(|points| mean(points, weights));
    let spread: Matrix3<f64> =
        from.iter().zip(weights).map(|(p, w)| *w * (p - mean_from) * (p - mean_from).transpose()).sum();
    let mut spreads = spread.symmetric_eigenvalues();
    spreads.as_mut_slice().sort_by(f64::total_cmp);
    if (spreads[1] / weights.iter().sum::<f64>()).max(0.0).sqrt() < LINE_MM {
        return Err(NotSeated::OnOneLine);
    }
    let across: Matrix3<f64> =
        from.iter().zip(to).zip(weights).map(|((p, q), w)| *w * (q - mean_to) * (p - mean_from).transpose()).sum();
    let SVD { u, v_t, singular_values } = across.svd(true, true);
    let (Some(mut u), Some(v_t)) = (u, v_t) else { return Err(NotSeated::OnOneLine) };
    if (u * v_t).determinant() < 0.0 {
        // The direction that matters least is turned, so that what is left is a rotation.
        u.column_mut(singular_values.imin()).neg_mut();
    }
    let turn = UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(u * v_t));
    Ok(Isometry3::from_parts(Translation3::from(mean_to - turn * mean_from), turn))
}

fn mean(points: &[Point3<f64>], weights: &[f64]) -> Point3<f64> {
    let sum: Vector3<f64> = points.iter().zip(weights).map(|(p, w)| p.coords * *w).sum();
    Point3::from(sum / weights.iter().sum::<f64>())
}

/// Puts a part onto its mounting points; its points in the car with their covariance, unless it has no place.
pub(super) fn seated<'s>(adjustment: &Adjustment<'s>, part: &'s Part) -> (SeatedPart, Vec<SeatedPoint<'s>>) {
    let mounting: Vec<Mounting> = part.points.iter().filter_map(|point| Mounting::of(adjustment, point)).collect();
    match Seat::of(adjustment, &mounting) {
        Ok(seat) => (seat.told(part, &mounting), seat.points(part)),
        Err(why) => {
            let (misfits, not_seated) = (Vec::new(), Some(why));
            (SeatedPart { part: part.name.clone(), misfits, fits: false, is_mirrored: false, not_seated }, Vec::new())
        }
    }
}

/// A point of a part whose place in the car is known.
struct Mounting<'s> {
    point: &'s PartPoint,
    /// The number of that place.
    place: usize,
    at: Point3<f64>,
}

impl<'s> Mounting<'s> {
    fn of(adjustment: &Adjustment<'_>, point: &'s PartPoint) -> Option<Self> {
        let place = index_of(adjustment.survey, point.sits_at?);
        adjustment.is_determined(place).then(|| Self { point, place, at: adjustment.place(place) })
    }
}

/// Where a part sits.
struct Seat {
    to_car: Isometry3<f64>,
    /// Of shift (mm) and turn (rad) about the origin of the part, car axes.
    covariance: DMatrix<f64>,
    sum_of_squares: f64,
    is_mirrored: bool,
}

impl Seat {
    fn of(adjustment: &Adjustment<'_>, mounting: &[Mounting<'_>]) -> Result<Self, NotSeated> {
        let from: Vec<Point3<f64>> = mounting.iter().map(|mounting| mounting.point.at).collect();
        let to: Vec<Point3<f64>> = mounting.iter().map(|mounting| mounting.at).collect();
        let variance = |mounting: &Mounting<'_>| {
            adjustment.covariance(mounting.place, mounting.place).trace() / 3.0 + mounting.point.sd_mm.powi(2)
        };
        let weights: Vec<f64> = mounting.iter().map(|mounting| variance(mounting).recip()).collect();
        let start = registration(&from, &to, &weights)?;
        let covariance = DMatrix::from_fn(3 * mounting.len(), 3 * mounting.len(), |i, j| {
            let (a, b) = (&mounting[i / 3], &mounting[j / 3]);
            let own = if i == j { a.point.sd_mm.powi(2) } else { 0.0 };
            adjustment.covariance(a.place, b.place)[(i % 3, j % 3)] + own
        });
        // The points of a part have a standard deviation above zero, so the matrix is positive definite.
        let weighting = Cholesky::new(covariance).ok_or(NotSeated::TooFewPoints)?;
        let fitted = refined(start, &from, &to, &weighting).ok_or(NotSeated::OnOneLine)?;
        let mirrored: Vec<Point3<f64>> = from.iter().map(|p| Point3::new(p.x, -p.y, p.z)).collect();
        let as_mirrored =
            registration(&mirrored, &to, &weights).ok().and_then(|start| refined(start, &mirrored, &to, &weighting));
        let fits = fitted.2 <= critical_sum(3 * mounting.len() - 6);
        let better = as_mirrored.is_some_and(|(_, _, sum)| sum < MIRROR_FITS_BETTER * fitted.2);
        let (to_car, covariance, sum_of_squares) = fitted;
        Ok(Self { to_car, covariance, sum_of_squares, is_mirrored: !fits && better })
    }

    fn told(&self, part: &Part, mounting: &[Mounting<'_>]) -> SeatedPart {
        let misfit = |mounting: &Mounting<'_>| {
            let off = mounting.at - self.to_car * mounting.point.at;
            Misfit { point: mounting.point.name.clone(), off_mm: off.into(), distance_mm: off.norm() }
        };
        SeatedPart {
            part: part.name.clone(),
            misfits: mounting.iter().map(misfit).collect(),
            fits: self.sum_of_squares <= critical_sum(3 * mounting.len() - 6),
            is_mirrored: self.is_mirrored,
            not_seated: None,
        }
    }

    /// The points that are not among the places of the car.
    fn points<'s>(&self, part: &'s Part) -> Vec<SeatedPoint<'s>> {
        let seated = |point: &'s PartPoint| {
            let by_seat = by_seat(&(self.to_car.rotation * point.at.coords));
            let by_seat = DMatrix::from_iterator(3, 6, by_seat.iter().copied());
            let carried = &by_seat * &self.covariance * by_seat.transpose();
            let own = Matrix3::identity() * point.sd_mm.powi(2);
            let covariance = Matrix3::from_iterator(carried.iter().copied()) + own;
            SeatedPoint { point, at: self.to_car * point.at, covariance }
        };
        part.points.iter().filter(|point| point.sits_at.is_none()).map(seated).collect()
    }
}

/// Derivatives of a point by shift and turn of its part; `arm` leads from the origin of the part to it, car axes.
fn by_seat(arm: &Vector3<f64>) -> Matrix3x6<f64> {
    let mut by = Matrix3x6::zeros();
    by.fixed_view_mut::<3, 3>(0, 0).copy_from(&Matrix3::identity());
    by.fixed_view_mut::<3, 3>(0, 3).copy_from(&-arm.cross_matrix());
    by
}

/// The best seat near a first one, its covariance and its weighted sum of squares.
fn refined(
    start: Isometry3<f64>,
    from: &[Point3<f64>],
    to: &[Point3<f64>],
    weighting: &Cholesky<f64, nalgebra::Dyn>,
) -> Option<(Isometry3<f64>, DMatrix<f64>, f64)> {
    let mut seat = start;
    let scale = DVector::from_fn(6, |k, _| if k < 3 { 1.0 } else { TURN_SCALE_MM.recip() });
    let lower = weighting.l();
    for _ in 0..MAX_STEPS {
        let left = DVector::from_iterator(
            3 * from.len(),
            from.iter().zip(to).flat_map(|(p, q)| {
                let left = seat * p - q;
                [left.x, left.y, left.z]
            }),
        );
        let mut by = DMatrix::zeros(3 * from.len(), 6);
        for (k, p) in from.iter().enumerate() {
            by.fixed_view_mut::<3, 6>(3 * k, 0).copy_from(&by_seat(&(seat.rotation * p.coords)));
        }
        let residuals = lower.solve_lower_triangular(&left)?;
        let directions = Directions::new(&lower.solve_lower_triangular(&by)?, &scale, MIN_SINGULAR_RATIO)?;
        if directions.rank() < 6 {
            return None;
        }
        let step = Vector6::from_iterator(directions.solve(&residuals).iter().copied());
        let turn = UnitQuaternion::from_scaled_axis(step.fixed_rows::<3>(3).into_owned());
        let shift = seat.translation.vector + step.fixed_rows::<3>(0);
        if step.fixed_rows::<3>(0).norm() + TURN_SCALE_MM * step.fixed_rows::<3>(3).norm() <= SETTLED_MM {
            return Some((seat, directions.covariance(), residuals.norm_squared()));
        }
        seat = Isometry3::from_parts(Translation3::from(shift), turn * seat.rotation);
    }
    None
}
