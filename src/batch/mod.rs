//! Many built corners of one drawing, solved side by side: toe and camber of every one at every station.
//!
//! Each car starts from the drawn car's posture at the station plus its own deviation from it, extrapolated from the
//! stations before; one Newton step is then usually enough. Sixteen cars are solved together, one number of each beside
//! the other, so that the processor's SIMD instructions do four or eight at a time; which instructions it has is found out
//! when the program runs. All widths and the scalar solve compute with the formulas of `mechanism::kernel`.
//!
//! A car leaves the batch and is followed alone, with all the tests of [`WheelPath`], as soon as anything about it is out
//! of the ordinary: a determinant or a pivot far from the drawn car's, a correction that is large or does not shrink, a
//! wheel turned far from the drawn one. If it then binds, that is handed on as [`BuildFailure`]: no car can be on another
//! branch unseen.
//!
//! Knows one corner and its pickup errors; nothing of limits, chance or files. Tested by `tests/batch.rs`: the same results
//! as one car at a time.

mod lanes;
mod plan;
mod width;

use std::fmt;

use nalgebra::{Matrix3, Unit, Vector3};

use crate::measures::{camber_deg, toe_deg};
use crate::mechanism::kernel::rotation;
use crate::mechanism::{Bind, BuildFailure, LinkSetting, Linkage, PickupErrors, Posture, SolveError, WheelPath};
use lanes::{LANES, LaneBlock};
use plan::Plan;
// An inside of `Batch`; public for the bench and the test that compare the widths.
#[doc(hidden)]
pub use width::SimdWidth;

/// Why a drawn corner cannot be solved at the stations asked for, so that there is nothing to build from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BatchError {
    /// The drawn posture is singular.
    Singular,
    /// The corner binds as drawn before it has reached every station.
    Binds(Bind),
    /// A station is not a finite number.
    UndefinedStation,
}

impl fmt::Display for BatchError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Singular => {
                f.write_str("the corner is singular as drawn: its links do not hold the wheel; move a pickup")
            }
            Self::Binds(bind) => write!(f, "as drawn the corner {bind}; reduce the travel or move one of these links"),
            Self::UndefinedStation => f.write_str("a bump travel is not a finite number; give every one in mm"),
        }
    }
}

impl std::error::Error for BatchError {}

/// One drawn corner and its stations, ready to solve any number of built cars.
///
/// Source: `docs/theory.md`, "Many cars". Tested by `tests/batch.rs`.
#[derive(Debug, Clone)]
pub struct Batch {
    drawn: Linkage,
    spin_axis: Unit<Vector3<f64>>,
    plan: Plan,
    /// Which row of the plan each station asked for is.
    rows: Vec<usize>,
    width: SimdWidth,
}

impl Batch {
    /// From the drawn linkage, the spin axis at design (outboard, side axes) and the stations, mm of bump travel, up
    /// positive, in any order.
    pub fn new(drawn: &Linkage, spin_axis: &Unit<Vector3<f64>>, stations_mm: &[f64]) -> Result<Self, BatchError> {
        let path = WheelPath::follow(drawn, stations_mm).map_err(|_: SolveError| BatchError::Singular)?;
        if let Some(bind) = path.binds_in_bump.or(path.binds_in_droop) {
            return Err(BatchError::Binds(bind));
        }
        let at = |bump_mm: f64| path.at(bump_mm).ok_or(BatchError::UndefinedStation);
        let postures: Vec<Posture> = stations_mm.iter().copied().map(at).collect::<Result<_, _>>()?;
        let design = at(0.0)?;
        let (plan, rows) = Plan::new(drawn, spin_axis, design, &postures);
        Ok(Self { drawn: drawn.clone(), spin_axis: *spin_axis, plan, rows, width: SimdWidth::widest() })
    }

    /// The same work at a given width; `None` when this processor cannot do it.
    #[doc(hidden)]
    pub fn at_width(mut self, width: SimdWidth) -> Option<Self> {
        self.width = width;
        width.is_available().then_some(self)
    }

    /// Number of stations.
    pub fn stations(&self) -> usize {
        self.rows.len()
    }

    /// Solves every car at every station and hands each on in order, with its index.
    ///
    /// Works on sixteen cars at a time, so the memory does not grow with the number of cars. To use several processors,
    /// divide the cars among calls.
    pub fn solve(
        &self,
        cars: &[PickupErrors],
        lengths: LinkSetting,
        mut visit: impl FnMut(usize, Result<BuiltCurve<'_>, BuildFailure>),
    ) {
        self.solve_each(cars, lengths, None, |index, curve, _| visit(index, curve));
    }

    /// The same with links adjusted, and what the length of one link (0 to 4, file order) does to toe at every station; no
    /// such derivatives of a car that had to be followed alone.
    ///
    /// Tested by `tests/batch.rs` against turned turnbuckles.
    pub fn solve_by_length(
        &self,
        cars: &[PickupErrors],
        link: usize,
        mut visit: impl FnMut(usize, Result<BuiltCurve<'_>, BuildFailure>, Option<ToeByLength<'_>>),
    ) {
        self.solve_each(cars, LinkSetting::Adjusted, Some(link), |index, curve, in_batch| {
            let by_length = curve.as_ref().ok().filter(|_| in_batch).map(|&curve| ToeByLength(curve));
            visit(index, curve, by_length);
        });
    }

    /// Tells of each car whether it was solved in the batch.
    fn solve_each(
        &self,
        cars: &[PickupErrors],
        lengths: LinkSetting,
        varied: Option<usize>,
        mut visit: impl FnMut(usize, Result<BuiltCurve<'_>, BuildFailure>, bool),
    ) {
        let mut lanes = LaneBlock::new(&self.plan, varied);
        for (group, few) in cars.chunks(LANES).enumerate() {
            lanes.load(&self.drawn, &self.plan, few, lengths);
            self.width.solve(&self.plan, &mut lanes);
            for (lane, car) in few.iter().enumerate() {
                let in_batch = lanes.is_valid(lane);
                let solved = if in_batch { Ok(()) } else { self.scalar_solve(car, lengths, &mut lanes, lane) };
                let curve = solved.map(|()| BuiltCurve { batch: self, lanes: &lanes, lane });
                visit(group * LANES + lane, curve, in_batch);
            }
        }
    }

    /// Follows one car by itself and writes its results into its lane.
    fn scalar_solve(
        &self,
        car: &PickupErrors,
        lengths: LinkSetting,
        lanes: &mut LaneBlock,
        lane: usize,
    ) -> Result<(), BuildFailure> {
        let stations_mm: Vec<f64> = self.plan.stations.iter().map(|station| station.bump_mm).collect();
        let path = WheelPath::follow_built(&self.drawn, car, lengths, &stations_mm)?;
        for (row, station) in self.plan.stations.iter().enumerate() {
            // A path that does not bind has a posture at every station it was followed through.
            let posture = path.at(station.bump_mm).ok_or(BuildFailure::Binds { in_droop: None, in_bump: None })?;
            let s = posture.direction(&self.spin_axis);
            lanes.write(row, lane, station, &posture, toe_deg(&s), camber_deg(&s));
        }
        Ok(())
    }
}

/// The results of one car; stations are counted in the order in which they were asked for.
#[derive(Clone, Copy)]
pub struct BuiltCurve<'a> {
    batch: &'a Batch,
    lanes: &'a LaneBlock,
    lane: usize,
}

impl BuiltCurve<'_> {
    /// Toe, deg per wheel, toe-in positive, as [`toe_deg`].
    #[inline]
    pub fn toe_deg(&self, station: usize) -> f64 {
        self.lanes.toe_deg(self.batch.rows[station], self.lane)
    }

    /// Camber, deg, top outboard positive, as [`camber_deg`].
    #[inline]
    pub fn camber_deg(&self, station: usize) -> f64 {
        self.lanes.camber_deg(self.batch.rows[station], self.lane)
    }

    /// Wheel centre minus its drawn place, mm, side axes.
    #[inline]
    pub fn displacement(&self, station: usize) -> Vector3<f64> {
        let row = self.batch.rows[station];
        let [x, y, ..] = self.pose(row);
        Vector3::new(x, y, self.batch.plan.stations[row].bump_mm)
    }

    /// Rotation of the upright from the drawn posture, side axes.
    #[inline]
    pub fn rotation(&self, station: usize) -> Matrix3<f64> {
        let [_, _, g @ ..] = self.pose(self.batch.rows[station]);
        let [a, b, c] = rotation(g);
        Matrix3::new(a[0], a[1], a[2], b[0], b[1], b[2], c[0], c[1], c[2])
    }

    fn pose(&self, row: usize) -> [f64; 5] {
        self.lanes.pose(row, self.lane, &self.batch.plan.stations[row])
    }
}

/// What a millimetre of one link's length does to toe of one car, both its points held.
#[derive(Clone, Copy)]
pub struct ToeByLength<'a>(BuiltCurve<'a>);

impl ToeByLength<'_> {
    /// At a station, counted as in [`BuiltCurve`], deg/mm.
    #[inline]
    pub fn deg_per_mm(&self, station: usize) -> f64 {
        let BuiltCurve { batch, lanes, lane } = self.0;
        lanes.toe_by_length(batch.rows[station], lane)
    }

    /// By how much the unit vector along the link, from frame to upright, has changed since the drawn wheel height, side axes.
    #[inline]
    pub fn turned(&self, station: usize) -> Vector3<f64> {
        let BuiltCurve { batch, lanes, lane } = self.0;
        lanes.turned(batch.rows[station], lane).into()
    }
}
