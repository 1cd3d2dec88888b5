//! The last bracket last: everything else is welded, the toe curve gauged, and one bracket placed so that it comes flat.
//!
//! The bracket starts where it came out with the rest. Toe is gauged at every row of the heave study against the drawn
//! wheel height, each reading with its error. The bracket is then moved in its plane, its link adjusted along, so that the
//! sum of squares of
//!
//! ```text
//! reading_k + toe change of the car itself at height k, bracket moved, less the same with it unmoved
//! ```
//!
//! is least (with exact derivatives); a direction that does next to nothing is left alone. Welding it then leaves a placing
//! error. Tested by `src/studies/tolerance/outside.rs` against an independent least-squares fit.

use std::error::Error;
use std::fmt;

use nalgebra::{DMatrix, DVector, Vector3};

use super::model::WheelModel;
use super::statistics::percentile;
use crate::geometry::{Coordinate, Corner, End, Side};
use crate::measures::{Measure, gradient};
use crate::mechanism::{BuildFailure, LinkSetting, PickupErrors, PostureSensitivity, SolveError, WheelPath};
use crate::studies::errors::ErrorModel;
use crate::studies::errors::random::{Purpose, UnitDeviates, normal_pair, stream};
use crate::studies::least_squares::{Directions, FitOptions, LeastSquaresProblem, Linearisation, NoFit, fit};
use crate::studies::sensitivity::Sensitivity;

/// The bracket that is welded last, and how well that is done.
#[derive(Debug, Clone, PartialEq)]
pub struct LastBracket {
    /// Name of the link whose bracket on the frame it is, on both sides.
    pub link: String,
    /// One standard deviation of a toe reading, deg.
    pub gauge_sd_deg: f64,
    /// One standard deviation of each of the two coordinates in its plane after welding, mm; normal.
    pub placing_sd_mm: f64,
}

/// Why a bracket cannot be the last.
#[derive(Debug, Clone, PartialEq)]
pub enum NoLastBracket {
    /// No link has its name.
    NoSuchLink {
        /// On this wheel.
        side: Side,
    },
    /// Moving it changes toe too little to flatten a toe curve.
    ChangesNothing {
        /// Of this wheel.
        side: Side,
        /// The most that it changes toe by, anywhere in the travel, deg per mm.
        deg_per_mm: f64,
    },
}

impl fmt::Display for NoLastBracket {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoLastBracket::NoSuchLink { side } => {
                write!(f, "no link of the {} side has that name; name one of its five", side.name())
            }
            NoLastBracket::ChangesNothing { side, deg_per_mm } => write!(
                f,
                "moving it changes toe of the {} wheel by {deg_per_mm:.4} deg per mm at most; name another link",
                side.name()
            ),
        }
    }
}

impl Error for NoLastBracket {}

/// A bracket whose millimetre does less to toe than this, deg, cannot flatten anything.
const MIN_EFFECT_DEG: f64 = 1e-3;
/// A direction in the plane is used when it does at least this share of what the best one does.
const MIN_SHARE: f64 = 0.02;
/// A move this short is the last, mm; the next would be a few per cent of it.
const SETTLED_MM: f64 = 1e-6;
const MAX_STEPS: u64 = 30;
/// Slots and shims of a bracket seldom give more than this either way, mm.
const MAX_MM: f64 = 10.0;
/// Cars in which every bracket is tried to first order.
const TRIAL_CARS: u64 = 400;

impl LastBracket {
    /// Index of its link on a wheel, when it can flatten a curve there.
    pub fn on(&self, sensitivity: &Sensitivity, corner: &Corner) -> Result<usize, NoLastBracket> {
        let side = corner.side;
        let link =
            corner.links.iter().position(|link| link.name == self.link).ok_or(NoLastBracket::NoSuchLink { side })?;
        let plane = plane_of(corner, link);
        let effect = |row: &Vec<f64>| plane.iter().map(|way| along(row, link, way).powi(2)).sum::<f64>().sqrt();
        let deg_per_mm = sensitivity.toe_by_coordinate.iter().map(effect).fold(0.0, f64::max);
        if deg_per_mm < MIN_EFFECT_DEG {
            return Err(NoLastBracket::ChangesNothing { side, deg_per_mm });
        }
        Ok(link)
    }

    /// The bracket of one car of a study, gauged, placed and welded: how far it was moved, and the car with it there.
    pub(super) fn finish(
        &self,
        model: &WheelModel,
        link: usize,
        errors: &PickupErrors,
        (seed, car): (u64, u64),
    ) -> Result<([f64; 2], PickupErrors), BuildFailure> {
        let side = model.corner.side;
        let readings = gauge_errors_deg(seed, car, side, self.gauge_sd_deg, model.bump_mm.len());
        let move_mm = move_of(model, link, errors, &readings)?;
        let placing_mm = placing_errors_mm(seed, car, side, self.placing_sd_mm);
        let placed = [0, 1].map(|k| move_mm[k] + placing_mm[k]);
        Ok((move_mm, moved(model.corner, link, errors, placed)))
    }
}

/// Errors of the toe gauge at so many heights, each of one standard deviation of `sd_deg`, for one wheel of a car.
fn gauge_errors_deg(seed: u64, car: u64, side: Side, sd_deg: f64, heights: usize) -> Vec<f64> {
    let mut units = UnitDeviates::new(stream(seed, car, side, Purpose::Gauge), false);
    (0..heights).map(|_| sd_deg * units.next()).collect()
}

/// How far a bracket that was placed to the gauge ends up from there, in its plane, mm.
fn placing_errors_mm(seed: u64, car: u64, side: Side, sd_mm: f64) -> [f64; 2] {
    normal_pair(&mut stream(seed, car, side, Purpose::Placing)).map(|unit| sd_mm * unit)
}

/// The two directions in which a bracket can be placed, side axes: square to its bolt, or outboard and up when the file
/// gives none.
pub fn plane_of(corner: &Corner, link: usize) -> [Vector3<f64>; 2] {
    let bolt = corner.links[link].chassis_bolt.map_or(Vector3::x(), |bolt| *bolt);
    let level = if bolt.y.abs() < 0.9 { Vector3::y() } else { Vector3::x() };
    let first = (level - bolt * bolt.dot(&level)).normalize();
    let second = bolt.cross(&first);
    [first, if second.z < 0.0 { -second } else { second }]
}

fn moved(corner: &Corner, link: usize, errors: &PickupErrors, by_mm: [f64; 2]) -> PickupErrors {
    let [first, second] = plane_of(corner, link);
    let mut moved = *errors;
    moved.chassis[link] += first * by_mm[0] + second * by_mm[1];
    moved
}

/// How far, in its plane, the bracket of a link of a built wheel is moved so that the gauged curve comes flat, mm.
///
/// `gauge_errors_deg` holds the error of the reading at each row of the heave study; that of the drawn wheel height is not
/// used, the gauge being set to zero there.
pub fn move_of(
    model: &WheelModel,
    link: usize,
    errors: &PickupErrors,
    gauge_errors_deg: &[f64],
) -> Result<[f64; 2], BuildFailure> {
    let placing = Placing { model, link, errors, gauge_errors_deg };
    // A bracket that has not settled after so many rounds of gauging is welded where it is.
    let fit = fit(&placing, DVector::zeros(2), &fit_options()).map_err(|why| match why {
        NoFit::Start(why) => why,
        NoFit::NotFinite => BuildFailure::Singular,
    })?;
    Ok([fit.parameters[0], fit.parameters[1]])
}

fn fit_options() -> FitOptions {
    FitOptions {
        scale: DVector::from_element(2, 1.0),
        min_singular_ratio: MIN_SHARE,
        settled: SETTLED_MM,
        max_steps: MAX_STEPS,
    }
}

/// A bracket placed to the gauge: the parameters are its moves in its plane, mm, a residual is the change of toe from the
/// drawn wheel height at a row with the error of its reading, deg.
struct Placing<'m> {
    model: &'m WheelModel<'m>,
    link: usize,
    errors: &'m PickupErrors,
    gauge_errors_deg: &'m [f64],
}

impl LeastSquaresProblem for Placing<'_> {
    type Failure = BuildFailure;

    fn linearised(&self, move_mm: &DVector<f64>) -> Result<Linearisation, BuildFailure> {
        let Self { model, link, .. } = *self;
        let car = moved(model.corner, link, self.errors, [move_mm[0], move_mm[1]]);
        let path = WheelPath::follow_built(&model.linkage, &car, LinkSetting::Adjusted, &model.bump_mm)?;
        let built = model.linkage.built(&car, LinkSetting::Adjusted);
        let plane = plane_of(model.corner, link);
        let singular = |_: SolveError| BuildFailure::Singular;
        let rows = model.bump_mm.len();
        let (mut residuals, mut jacobian) = (DVector::zeros(rows), DMatrix::zeros(rows, 2));
        for (row, &bump_mm) in model.bump_mm.iter().enumerate() {
            let posture = path.at(bump_mm).ok_or(BuildFailure::Singular)?;
            let sensitivity = PostureSensitivity::new(&built, &posture).map_err(singular)?;
            let by = gradient(Measure::Toe, model.corner, &model.geometry.car, &posture, &sensitivity)
                .ok_or(BuildFailure::Singular)?;
            residuals[row] = model.toe_at(&posture);
            plane.iter().enumerate().for_each(|(k, way)| jacobian[(row, k)] = by.links.chassis[link].dot(way));
        }
        let (design_deg, by_design) = (residuals[model.design], jacobian.row(model.design).into_owned());
        for (row, error_deg) in self.gauge_errors_deg.iter().enumerate().filter(|(row, _)| *row != model.design) {
            residuals[row] += error_deg - design_deg;
            let mut by = jacobian.row_mut(row);
            by -= &by_design;
        }
        residuals[model.design] = 0.0;
        jacobian.row_mut(model.design).fill(0.0);
        Ok(Linearisation { residuals, jacobian })
    }
}

/// Derivative of toe at one row along a direction of a bracket.
fn along(toe_by_coordinate: &[f64], link: usize, way: &Vector3<f64>) -> f64 {
    let of_bracket = Coordinate::all().zip(toe_by_coordinate).filter(|(c, _)| c.link == link && c.end == End::Chassis);
    of_bracket.map(|(coordinate, by)| by * way[coordinate.axis.index()]).sum()
}

/// Name of the link whose bracket is best welded last, on this wheel and to first order in a few hundred cars: of those that
/// need not go further than a bracket's slots and shims allow, the one that leaves the flattest curves; of none such, the one
/// that goes least far. `None` when none can flatten anything.
pub fn best_last_bracket(
    sensitivity: &Sensitivity,
    corner: &Corner,
    error_model: &ErrorModel,
    seed: u64,
    trial: &LastBracket,
) -> Option<String> {
    let able = corner.links.iter().filter_map(|link| {
        let bracket = LastBracket { link: link.name.clone(), ..trial.clone() };
        let index = bracket.on(sensitivity, corner).ok()?;
        Some((first_order(sensitivity, corner, error_model, seed, index, &bracket)?, bracket.link))
    });
    let rank = |trial: &Trial| if trial.move_mm <= MAX_MM { (0, trial.worst_deg) } else { (1, trial.move_mm) };
    let better = |a: &(Trial, String), b: &(Trial, String)| {
        let ((a_far, a), (b_far, b)) = (rank(&a.0), rank(&b.0));
        a_far.cmp(&b_far).then(a.total_cmp(&b))
    };
    able.min_by(better).map(|(_, link)| link)
}

/// What a last bracket does to first order.
struct Trial {
    /// Mean of the worst bump steer that is left, deg.
    worst_deg: f64,
    /// 95 of 100 moves are shorter, mm.
    move_mm: f64,
}

fn first_order(
    sensitivity: &Sensitivity,
    corner: &Corner,
    error_model: &ErrorModel,
    seed: u64,
    link: usize,
    bracket: &LastBracket,
) -> Option<Trial> {
    let plane = plane_of(corner, link);
    let rows = &sensitivity.toe_by_coordinate;
    let by_move = DMatrix::from_fn(rows.len(), 2, |row, k| along(&rows[row], link, &plane[k]));
    let directions = Directions::new(&by_move, &fit_options().scale, MIN_SHARE)?;
    let one = |car: u64| {
        let errors_mm = error_model.draw(seed, car, corner.side);
        let gauge = gauge_errors_deg(seed, car, corner.side, bracket.gauge_sd_deg, rows.len());
        let change = |(drawn, by): (&f64, &Vec<f64>)| {
            drawn + by.iter().zip(&errors_mm).map(|(by, error)| by * error).sum::<f64>()
        };
        let changes = DVector::from_iterator(rows.len(), sensitivity.toe_change_deg.iter().zip(rows).map(change));
        let move_mm = directions.solve(&(&changes + DVector::from_vec(gauge)));
        let placing_mm = placing_errors_mm(seed, car, corner.side, bracket.placing_sd_mm);
        let left = changes + &by_move * (&move_mm + DVector::from_row_slice(&placing_mm));
        (left.amax(), move_mm.norm())
    };
    let (worst, mut moves): (Vec<f64>, Vec<f64>) = (0..TRIAL_CARS).map(one).unzip();
    Some(Trial {
        worst_deg: worst.iter().sum::<f64>() / TRIAL_CARS as f64,
        move_mm: percentile(&mut moves, 0.95).unwrap_or(0.0),
    })
}
