//! Many built corners of one drawing, solved side by side: toe and camber of every one at every station.
//!
//! Each car starts from the nominal car's posture at the station plus what set the two apart at the stations before,
//! extrapolated; one Newton step is then usually enough. Sixteen cars are worked together, one number of each beside the
//! other, so that the processor's SIMD does four or eight at a time; which instructions it has is found out when the
//! program runs. All widths and the single car compute with the formulas of `mechanism::kernel`.
//!
//! A car leaves the batch and is followed alone, with all the guards of [`WheelPath`], as soon as anything about it is
//! not plain: a determinant or a pivot far from the nominal car's, a correction that is large or does not shrink, a wheel
//! turned far from the nominal one. What binds then is handed on as [`BuildFailure`], so no car can be on another branch unseen.
//!
//! Tested by `tests/batch.rs`: the same answers as one car at a time.

mod lanes;
mod plan;
mod width;

use nalgebra::{Matrix3, Unit, Vector3};

use crate::measures::{camber_deg, toe_deg};
use crate::mechanism::kernel::rotation;
use crate::mechanism::{Bind, BuildFailure, LinkSetting, Linkage, PickupErrors, Posture, StopReason, WheelPath};
use lanes::{LANES, LaneBlock};
use plan::Plan;
pub use width::Width;

/// Why there is nothing to vary.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoBatch {
    /// The drawn posture is singular.
    Singular,
    /// The corner binds as drawn before it has reached every station.
    Binds(Bind),
    /// A station is not a number.
    UndefinedStation,
}

/// One drawn corner and its stations, ready for any number of variations.
#[derive(Debug, Clone)]
pub struct Batch {
    nominal: Linkage,
    spin_axis: Unit<Vector3<f64>>,
    plan: Plan,
    /// Which row of the plan each station asked for is.
    rows: Vec<usize>,
    width: Width,
}

impl Batch {
    /// `spin_axis` at design, outboard; stations in mm of bump travel, in any order.
    pub fn new(nominal: &Linkage, spin_axis: &Unit<Vector3<f64>>, stations_mm: &[f64]) -> Result<Self, NoBatch> {
        let path = WheelPath::follow(nominal, stations_mm).map_err(|_: StopReason| NoBatch::Singular)?;
        if let Some(bind) = path.binds_in_bump.or(path.binds_in_droop) {
            return Err(NoBatch::Binds(bind));
        }
        let at = |bump_mm: f64| path.at(bump_mm).ok_or(NoBatch::UndefinedStation);
        let postures: Vec<Posture> = stations_mm.iter().copied().map(at).collect::<Result<_, _>>()?;
        let design = at(0.0)?;
        let (plan, rows) = Plan::new(nominal, spin_axis, design, &postures);
        Ok(Self { nominal: nominal.clone(), spin_axis: *spin_axis, plan, rows, width: Width::widest() })
    }

    /// The same work at a given width; `None` when this processor cannot do it.
    pub fn at_width(mut self, width: Width) -> Option<Self> {
        self.width = width;
        width.is_available().then_some(self)
    }

    /// Number of stations.
    pub fn stations(&self) -> usize {
        self.rows.len()
    }

    /// Solves every car at every station and hands each on in order, with its index.
    ///
    /// Keeps sixteen cars at a time, whatever the number of cars. To use several processors, share out the cars.
    pub fn solve(
        &self,
        cars: &[PickupErrors],
        lengths: LinkSetting,
        mut visit: impl FnMut(usize, Result<BuiltCurve<'_>, BuildFailure>),
    ) {
        let mut lanes = LaneBlock::new(self.plan.stations.len());
        for (group, few) in cars.chunks(LANES).enumerate() {
            lanes.load(&self.nominal, &self.plan, few, lengths);
            self.width.solve(&self.plan, &mut lanes);
            for (lane, car) in few.iter().enumerate() {
                let curve = if lanes.is_sound(lane) { Ok(()) } else { self.alone(car, lengths, &mut lanes, lane) };
                visit(group * LANES + lane, curve.map(|()| BuiltCurve { batch: self, lanes: &lanes, lane }));
            }
        }
    }

    /// One car on its own, its answers written where the batch would have put them.
    fn alone(
        &self,
        car: &PickupErrors,
        lengths: LinkSetting,
        lanes: &mut LaneBlock,
        lane: usize,
    ) -> Result<(), BuildFailure> {
        let stations_mm: Vec<f64> = self.plan.stations.iter().map(|station| station.bump_mm).collect();
        let path = WheelPath::follow_built(&self.nominal, car, lengths, &stations_mm)?;
        for (row, station) in self.plan.stations.iter().enumerate() {
            // A path that does not bind has a posture at every station it was followed through.
            let posture = path.at(station.bump_mm).ok_or(BuildFailure::Binds { in_droop: None, in_bump: None })?;
            let s = posture.direction(&self.spin_axis);
            lanes.write(row, lane, station, &posture, toe_deg(&s), camber_deg(&s));
        }
        Ok(())
    }
}

/// One car's answers; stations are counted as they were asked for.
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
        let station = self.batch.rows[station];
        let [x, y, ..] = self.place(station);
        Vector3::new(x, y, self.batch.plan.stations[station].bump_mm)
    }

    /// Rotation of the upright from the drawn posture, side axes.
    #[inline]
    pub fn rotation(&self, station: usize) -> Matrix3<f64> {
        let [_, _, g @ ..] = self.place(self.batch.rows[station]);
        let [a, b, c] = rotation(g);
        Matrix3::new(a[0], a[1], a[2], b[0], b[1], b[2], c[0], c[1], c[2])
    }

    fn place(&self, row: usize) -> [f64; 5] {
        self.lanes.place(row, self.lane, &self.batch.plan.stations[row])
    }
}
