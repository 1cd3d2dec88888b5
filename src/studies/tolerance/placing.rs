//! Where a bracket is placed to the gauge, so that the toe curve comes flat.
//!
//! Toe of a built wheel is gauged at every row of the heave study against the drawn wheel height, each reading with its
//! error. The bracket is then moved in its plane, its link adjusted along, so that the sum of squares of
//!
//! ```text
//! reading_k + toe change of the car itself at height k, bracket moved, less the same with it unmoved
//! ```
//!
//! is least; a direction that does next to nothing is left alone. Many cars are fitted side by side by Gauss-Newton steps,
//! with toe and its derivatives from the batch; a car whose steps do not shrink, or that leaves the batch, is fitted by itself
//! with damped steps ([`fit`]). Tested by `src/studies/tolerance/outside.rs` against an independent least-squares fit.

use nalgebra::{DMatrix, DVector, Matrix2, Vector2, Vector3};

use super::model::WheelModel;
use crate::batch::{Batch, BuiltCurve, ToeByLength};
use crate::geometry::{Coordinate, Corner, End, Link};
use crate::measures::{Measure, gradient};
use crate::mechanism::{BuildFailure, LinkSetting, PickupErrors, PostureSensitivity, SolveError, WheelPath};
use crate::studies::least_squares::{Directions, FitOptions, LeastSquaresProblem, Linearisation, NoFit, fit};
use crate::studies::sensitivity::Sensitivity;

/// A direction in the plane is used when it does at least this share of what the best one does.
pub(super) const MIN_SHARE: f64 = 0.02;
/// A move this short is the last of a car that is fitted by itself, mm; the next would be a few per cent of it.
const SETTLED_MM: f64 = 1e-6;
const MAX_STEPS: u64 = 30;
/// The same of cars side by side, or of the step that would come next: far below what any bracket is placed to.
const SETTLED_TOGETHER_MM: f64 = 1e-4;
/// Each step of cars side by side is at most this proportion of the one before, else the car is fitted by itself.
const MAX_STEP_RATIO: f64 = 0.5;

/// Steeper than this (sine of its angle to the level) a bolt stands up: plates slide square to it, but spacers on it lift the link, which
/// does most to toe.
const STANDS_UP: f64 = 0.7;

/// The two directions in which a bracket can be placed, side axes: square to its bolt. Where the bolt stands up, or the file gives
/// none, up and along the link: outboard, of a link that points fore and aft that way.
pub(super) fn plane_of(corner: &Corner, link: usize) -> [Vector3<f64>; 2] {
    let Link { chassis, upright, chassis_bolt, .. } = &corner.links[link];
    let along = upright - chassis;
    let square = if along.y.abs() < along.x.abs() { Vector3::y() } else { Vector3::x() };
    let bolt = chassis_bolt.map(|bolt| *bolt).filter(|bolt| bolt.z.abs() < STANDS_UP).unwrap_or(square);
    let level = if bolt.y.abs() < 0.9 { Vector3::y() } else { Vector3::x() };
    let first = (level - bolt * bolt.dot(&level)).normalize();
    let second = bolt.cross(&first);
    [first, if second.z < 0.0 { -second } else { second }]
}

/// A wheel welded but for its last bracket, which came out where it did, and the errors of its gauge.
#[derive(Debug, Clone)]
pub(super) struct GaugedCar {
    /// Of all pickups, that of the bracket included.
    pub(super) errors: PickupErrors,
    /// Error of the reading at each row of the heave study, deg; that of the drawn wheel height is not used, the gauge being
    /// set to zero there.
    pub(super) gauge_errors_deg: Vec<f64>,
}

/// One bracket of a wheel model, ready to be placed.
pub(super) struct Placing<'m> {
    pub(super) model: &'m WheelModel<'m>,
    link: usize,
    plane: [Vector3<f64>; 2],
    start: FirstOrder,
    /// The rows of the heave study first.
    rows: Batch,
}

/// The move to first order in the errors and the readings: where the fit of a car starts.
struct FirstOrder {
    /// Of the drawn car, mm.
    drawn_mm: Vector2<f64>,
    /// mm per mm of error of each coordinate, in the order of [`Coordinate::all`].
    by_coordinate: Vec<Vector2<f64>>,
    /// mm per deg of reading at each row.
    by_reading: Vec<Vector2<f64>>,
}

impl FirstOrder {
    fn new(sensitivity: &Sensitivity, corner: &Corner, link: usize) -> Option<Self> {
        let by_move = toe_by_move(sensitivity, corner, link);
        let directions = Directions::new(&by_move, &scale(), MIN_SHARE)?;
        let rows = by_move.nrows();
        let solved = |readings: DVector<f64>| Vector2::from_column_slice(directions.solve(&readings).as_slice());
        let column = |k: usize| DVector::from_fn(rows, |row, _| sensitivity.toe_by_coordinate[row][k]);
        Some(Self {
            drawn_mm: solved(DVector::from_column_slice(&sensitivity.toe_change_deg)),
            by_coordinate: (0..Coordinate::COUNT).map(|k| solved(column(k))).collect(),
            by_reading: (0..rows).map(|k| solved(DVector::from_fn(rows, |row, _| f64::from(row == k)))).collect(),
        })
    }

    fn move_mm(&self, car: &GaugedCar) -> Vector2<f64> {
        let PickupErrors { chassis, upright } = &car.errors;
        let error_mm = |Coordinate { link, end, axis }| match end {
            End::Chassis => chassis[link][axis.index()],
            End::Upright => upright[link][axis.index()],
        };
        let by_coordinate = Coordinate::all().zip(&self.by_coordinate).map(|(at, by)| by * error_mm(at));
        let by_reading = car.gauge_errors_deg.iter().zip(&self.by_reading).map(|(error, by)| by * *error);
        by_coordinate.chain(by_reading).fold(self.drawn_mm, |sum, part| sum + part)
    }
}

/// Moves of a millimetre either way count alike.
pub(super) fn scale() -> DVector<f64> {
    DVector::from_element(2, 1.0)
}

/// Toe at every row by the moves of a bracket in its plane, deg/mm, of the drawn car.
pub(super) fn toe_by_move(sensitivity: &Sensitivity, corner: &Corner, link: usize) -> DMatrix<f64> {
    let (rows, plane) = (&sensitivity.toe_by_coordinate, plane_of(corner, link));
    DMatrix::from_fn(rows.len(), 2, |row, k| along(&rows[row], link, &plane[k]))
}

/// Derivative of toe at one row along a direction of a bracket.
pub(super) fn along(toe_by_coordinate: &[f64], link: usize, way: &Vector3<f64>) -> f64 {
    let of_bracket = Coordinate::all().zip(toe_by_coordinate).filter(|(c, _)| c.link == link && c.end == End::Chassis);
    of_bracket.map(|(coordinate, by)| by * way[coordinate.axis.index()]).sum()
}

/// A car that has not settled.
struct Open {
    car: usize,
    move_mm: Vector2<f64>,
    last_step_mm: f64,
}

impl<'m> Placing<'m> {
    /// The chassis bracket of a link, by its index; `None` when a derivative of the drawn car is not finite. The drawn wheel
    /// moves through its travel, or there would be no model of it.
    pub(super) fn new(model: &'m WheelModel<'m>, sensitivity: &Sensitivity, link: usize) -> Option<Self> {
        let start = FirstOrder::new(sensitivity, model.corner, link)?;
        let rows = model.bump_steer_batch().ok()?;
        Some(Self { model, link, plane: plane_of(model.corner, link), start, rows })
    }

    /// Worst bump steer of cars whose bracket stays where it came out, deg; NaN of one that does not move through its travel.
    pub(super) fn worst_unmoved_deg(&self, cars: &[PickupErrors]) -> Vec<f64> {
        let mut worst_deg = vec![f64::NAN; cars.len()];
        self.rows.solve(cars, LinkSetting::Adjusted, |index, curve| {
            worst_deg[index] = curve.map_or(f64::NAN, |curve| self.model.bump_steer(&curve).largest());
        });
        worst_deg
    }

    /// A car with its bracket moved in its plane.
    pub(super) fn moved(&self, errors: &PickupErrors, [first_mm, second_mm]: [f64; 2]) -> PickupErrors {
        let mut moved = *errors;
        moved.chassis[self.link] += self.plane[0] * first_mm + self.plane[1] * second_mm;
        moved
    }

    /// How far, in its plane, the bracket of each car is moved so that the gauged curve comes flat, mm. A car does not depend
    /// on those beside it.
    pub(super) fn moves_mm(&self, cars: &[GaugedCar]) -> Vec<Result<[f64; 2], BuildFailure>> {
        let mut moves: Vec<Option<[f64; 2]>> = vec![None; cars.len()];
        let begin = |(index, car)| Open { car: index, move_mm: self.start.move_mm(car), last_step_mm: f64::INFINITY };
        let mut open: Vec<Open> = cars.iter().enumerate().map(begin).collect();
        while !open.is_empty() {
            let there = |open: &Open| self.moved(&cars[open.car].errors, open.move_mm.into());
            let variations: Vec<PickupErrors> = open.iter().map(there).collect();
            let mut still_open = Vec::with_capacity(open.len());
            self.rows.solve_by_length(&variations, self.link, |index, curve, by_length| {
                let Open { car, move_mm, last_step_mm } = open[index];
                let step = |(curve, by_length)| self.step(&cars[car], curve, by_length);
                // A car without a step, or whose steps do not shrink, keeps its `None`.
                let Some(step) = curve.ok().zip(by_length).map(step) else { return };
                let (move_mm, step_mm) = (move_mm + step, step.norm());
                // The next step, should steps go on to shrink as they do; the first says nothing of it.
                let next_mm = if last_step_mm.is_finite() { step_mm * (step_mm / last_step_mm) } else { step_mm };
                if step_mm.min(next_mm) <= SETTLED_TOGETHER_MM {
                    moves[car] = Some(move_mm.into());
                } else if step_mm <= MAX_STEP_RATIO * last_step_mm {
                    still_open.push(Open { car, move_mm, last_step_mm: step_mm });
                }
            });
            open = still_open;
        }
        let by_itself = |(car, move_mm): (&GaugedCar, Option<[f64; 2]>)| move_mm.map_or_else(|| self.move_mm(car), Ok);
        cars.iter().zip(moves).map(by_itself).collect()
    }

    /// The Gauss-Newton step of a car, mm, along the directions that count.
    fn step(&self, gauged: &GaugedCar, curve: BuiltCurve<'_>, by_length: ToeByLength<'_>) -> Vector2<f64> {
        let design = self.model.design;
        let design_deg = curve.toe_deg(design);
        let (mut normal, mut gradient) = (Matrix2::zeros(), Vector2::zeros());
        for (row, error_deg) in gauged.gauge_errors_deg.iter().enumerate().filter(|(row, _)| *row != design) {
            let residual = curve.toe_deg(row) - design_deg + error_deg;
            // The bracket takes the end of its link along, and the link is adjusted at the drawn wheel height: what counts is
            // how far the link has turned since.
            let turned = by_length.turned(row);
            let by = Vector2::from(self.plane.map(|way| turned.dot(&way))) * by_length.deg_per_mm(row);
            normal += by * by.transpose();
            gradient += by * residual;
        }
        let directions = normal.symmetric_eigen();
        let least = MIN_SHARE * MIN_SHARE * directions.eigenvalues.max();
        let along = |(k, &square): (usize, &f64)| {
            let way = directions.eigenvectors.column(k);
            if square > least { way * (-way.dot(&gradient) / square) } else { Vector2::zeros() }
        };
        directions.eigenvalues.iter().enumerate().map(along).sum()
    }

    /// The move of one car by itself, with damped steps where they are needed, mm.
    pub(super) fn move_mm(&self, car: &GaugedCar) -> Result<[f64; 2], BuildFailure> {
        let options =
            FitOptions { scale: scale(), min_singular_ratio: MIN_SHARE, settled: SETTLED_MM, max_steps: MAX_STEPS };
        // A bracket that has not settled after so many rounds of gauging is welded where it is.
        let fit = fit(&ByItself { placing: self, car }, DVector::zeros(2), &options).map_err(|why| match why {
            NoFit::Start(why) => why,
            NoFit::NotFinite => BuildFailure::Singular,
        })?;
        Ok([fit.parameters[0], fit.parameters[1]])
    }
}

/// One car as a least-squares problem: the parameters are the moves of its bracket in its plane, mm, a residual is the change
/// of toe from the drawn wheel height at a row with the error of its reading, deg.
struct ByItself<'m> {
    placing: &'m Placing<'m>,
    car: &'m GaugedCar,
}

impl LeastSquaresProblem for ByItself<'_> {
    type Failure = BuildFailure;

    fn linearised(&self, move_mm: &DVector<f64>) -> Result<Linearisation, BuildFailure> {
        let Self { placing, car } = *self;
        let model = placing.model;
        let built = placing.moved(&car.errors, [move_mm[0], move_mm[1]]);
        let path = WheelPath::follow_built(&model.linkage, &built, LinkSetting::Adjusted, &model.bump_mm)?;
        let linkage = model.linkage.built(&built, LinkSetting::Adjusted);
        let singular = |_: SolveError| BuildFailure::Singular;
        let rows = model.bump_mm.len();
        let (mut residuals, mut jacobian) = (DVector::zeros(rows), DMatrix::zeros(rows, 2));
        for (row, &bump_mm) in model.bump_mm.iter().enumerate() {
            let posture = path.at(bump_mm).ok_or(BuildFailure::Singular)?;
            let sensitivity = PostureSensitivity::new(&linkage, &posture).map_err(singular)?;
            let by = gradient(Measure::Toe, model.corner, &model.geometry.car, &posture, &sensitivity)
                .ok_or(BuildFailure::Singular)?;
            residuals[row] = model.toe_at(&posture);
            let by_bracket = by.links.chassis[placing.link];
            placing.plane.iter().enumerate().for_each(|(k, way)| jacobian[(row, k)] = by_bracket.dot(way));
        }
        let (design_deg, by_design) = (residuals[model.design], jacobian.row(model.design).into_owned());
        for (row, error_deg) in car.gauge_errors_deg.iter().enumerate().filter(|(row, _)| *row != model.design) {
            residuals[row] += error_deg - design_deg;
            let mut by = jacobian.row_mut(row);
            by -= &by_design;
        }
        residuals[model.design] = 0.0;
        jacobian.row_mut(model.design).fill(0.0);
        Ok(Linearisation { residuals, jacobian })
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{Unit, Vector3};

    use super::plane_of;
    use crate::file::GeometryFile;
    use crate::geometry::Link;

    /// Square to the bolt and to each other, the first more outboard than inboard, the second up, whichever way the bolt points.
    #[test]
    fn a_bracket_is_placed_square_to_its_bolt() {
        let mut corner = GeometryFile::parse("demo", include_str!("../../../geometries/first-cut.toml"))
            .expect("a sound car")
            .geometry
            .left;
        let bolts =
            [[1.0, 0.0, 0.0], [-1.0, 0.0, 0.0], [0.9, 0.4, 0.1], [-0.9, -0.4, -0.1], [0.1, 1.0, 0.2], [0.1, -1.0, 0.2]];
        for bolt in bolts.map(Vector3::from) {
            corner.links[4].chassis_bolt = Some(Unit::new_normalize(bolt));
            let [first, second] = plane_of(&corner, 4);
            for (a, b, expected) in [
                (&first, &bolt, 0.0),
                (&second, &bolt, 0.0),
                (&first, &second, 0.0),
                (&first, &first, 1.0),
                (&second, &second, 1.0),
            ] {
                assert!((a.dot(b) - expected).abs() < 1e-12, "{bolt}: {first} {second}");
            }
            let level = if bolt.y.abs() < bolt.norm() * 0.9 { first.y } else { first.x };
            assert!(level > 0.4 && second.z > 0.4, "{bolt}: {first} {second}");
        }
        for standing in [None, Some(Vector3::new(0.3, -0.4, 0.9))] {
            corner.links[4].chassis_bolt = standing.map(Unit::new_normalize);
            assert_eq!(plane_of(&corner, 4), [Vector3::y(), Vector3::z()]);
        }
        let Link { chassis, upright, .. } = &mut corner.links[4];
        *chassis = *upright + Vector3::new(400.0, -200.0, 20.0);
        assert_eq!(plane_of(&corner, 4), [Vector3::x(), Vector3::z()], "its length is fore and aft");
    }
}
