//! One wheel ready to be built many times: its drawing, its batch solver, and the figures of each built one.

use nalgebra::{Matrix3, Vector3};

use super::figure::limits_of_wheel;
use crate::batch::{Batch, BatchError, BuiltCurve};
use crate::geometry::{Corner, Geometry, Interval, Side, Travel};
use crate::measures::{Road, RollCentreLine, anti_lift_pct, anti_squat_pct, contact_point, spin_axis, toe_deg};
use crate::mechanism::{Bind, BuildFailure, LinkSetting, Linkage, PickupErrors, Posture, WheelPath};
use crate::studies::stations::stations;
use crate::studies::sweep::Sweep;
use crate::studies::verdicts::Quantity;

/// Why a drawing cannot be built many times.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum NoWheelModel {
    Singular {
        side: Side,
    },
    /// It binds as drawn, inside its travel.
    Binds {
        side: Side,
        bind: Bind,
    },
}

/// What one built wheel does over bump and droop. Changes count from the wheel's own place at the drawn wheel height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelFigures {
    /// Toe at the drawn wheel height, deg per wheel.
    pub toe_deg: f64,
    /// Largest change of toe either way, deg.
    pub worst_bump_steer_deg: f64,
    /// Slope of the toe curve through the drawn wheel height, deg/mm, with its sign.
    pub slope_deg_per_mm: f64,
    /// What the slope leaves of the curve, worst, deg.
    pub bow_deg: f64,
    /// Largest change of camber either way, deg.
    pub camber_change_deg: f64,
    /// Largest scrub either way, mm; worked out only when the file limits it.
    pub scrub_mm: Option<f64>,
    /// Largest recession either way, mm; worked out only when the file limits it.
    pub recession_mm: Option<f64>,
    /// Wheel centre ahead of its drawn place at the drawn wheel height, mm.
    pub ahead_mm: f64,
    /// `None` without a halfshaft.
    pub shaft: Option<ShaftFigures>,
    /// At the drawn wheel height, each worked out only when the file limits it.
    pub roll_centre_height_mm: Option<f64>,
    pub anti_squat_pct: Option<f64>,
    pub anti_lift_pct: Option<f64>,
    /// How far the last bracket had to be moved in its plane, mm, when there is one.
    pub last_move_mm: Option<[f64; 2]>,
}

/// The halfshaft of a built wheel over bump and droop.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShaftFigures {
    /// From the drawn length.
    pub plunge_mm: Interval,
    /// Largest joint angles; each worked out only when the file limits it.
    pub inner_angle_deg: Option<f64>,
    pub outer_angle_deg: Option<f64>,
}

/// One wheel of a drawing, ready to be built.
#[derive(Debug, Clone)]
pub struct WheelModel<'g> {
    pub geometry: &'g Geometry,
    pub corner: &'g Corner,
    pub linkage: Linkage,
    /// Bump travel of the rows of the heave study, mm.
    pub bump_mm: Vec<f64>,
    /// Which of them is the drawn wheel height.
    pub design: usize,
    batch: Batch,
    /// The station at which this wheel stands in each row of body roll; empty when roll steer has no limit.
    roll: Vec<usize>,
    bump_square: f64,
    limited: Vec<Quantity>,
}

/// Body roll puts a wheel on a station of the heave study when it is this near, mm.
const SAME_STATION_MM: f64 = 1e-6;

impl<'g> WheelModel<'g> {
    pub fn new(sweep: &Sweep<'g>, side: Side) -> Result<Self, NoWheelModel> {
        let geometry = sweep.geometry();
        let corner = geometry.corner(side);
        let linkage = Linkage::new(corner);
        let Travel { droop_mm, bump_mm, step_mm, .. } = geometry.travel;
        let bump_mm = stations(-droop_mm, bump_mm, step_mm);
        let mut stations_mm = bump_mm.clone();
        let mut roll = Vec::new();
        if geometry.limits.roll_steer_deg.is_some() {
            roll = sweep
                .roll
                .iter()
                .filter(|row| row.side == side)
                .map(|row| row.bump_mm)
                .map(|at_mm| {
                    let known = stations_mm.iter().position(|known| (known - at_mm).abs() < SAME_STATION_MM);
                    known.unwrap_or_else(|| {
                        stations_mm.push(at_mm);
                        stations_mm.len() - 1
                    })
                })
                .collect();
        }
        let batch = Batch::new(&linkage, &corner.wheel.spin_axis, &stations_mm).map_err(|why| match why {
            // The rows of a heave study are finite.
            BatchError::Singular | BatchError::UndefinedStation => NoWheelModel::Singular { side },
            BatchError::Binds(bind) => NoWheelModel::Binds { side, bind },
        })?;
        let design = bump_mm.iter().position(|&bump_mm| bump_mm == 0.0).ok_or(NoWheelModel::Singular { side })?;
        let bump_square = bump_mm.iter().map(|b| b * b).sum();
        let limited = limits_of_wheel(geometry, corner).into_iter().map(|(quantity, _)| quantity).collect();
        Ok(Self { geometry, corner, linkage, bump_mm, design, batch, roll, bump_square, limited })
    }

    /// Builds every car and hands on its figures and its toe curve.
    pub fn build(
        &self,
        cars: &[PickupErrors],
        lengths: LinkSetting,
        mut visit: impl FnMut(usize, Result<(WheelFigures, BuiltCurve<'_>), BuildFailure>),
    ) {
        self.batch.solve(cars, lengths, |index, curve| {
            let built = curve.and_then(|curve| Ok((self.figures(&curve, &cars[index], lengths)?, curve)));
            visit(index, built);
        });
    }

    /// The figures of one car.
    pub fn figures_of(&self, car: &PickupErrors, lengths: LinkSetting) -> Result<WheelFigures, BuildFailure> {
        let mut figures = Err(BuildFailure::Singular);
        self.build(std::slice::from_ref(car), lengths, |_, built| figures = built.map(|(figures, _)| figures));
        figures
    }

    /// Change of toe from the drawn wheel height at every row of the heave study, deg.
    pub fn toe_changes<'a>(&'a self, curve: &'a BuiltCurve<'_>) -> impl Iterator<Item = f64> + 'a {
        let at_design = curve.toe_deg(self.design);
        (0..self.bump_mm.len()).map(move |row| curve.toe_deg(row) - at_design)
    }

    /// Toe at every row of body roll, deg. The wheel stands where the drawn one would: the little that its tyre is off in
    /// height moves it by less than a tenth of a millimetre of travel.
    pub fn toe_in_roll<'a>(&'a self, curve: &'a BuiltCurve<'_>) -> impl Iterator<Item = f64> + 'a {
        self.roll.iter().map(|&station| curve.toe_deg(station))
    }

    fn figures(
        &self,
        curve: &BuiltCurve<'_>,
        car: &PickupErrors,
        lengths: LinkSetting,
    ) -> Result<WheelFigures, BuildFailure> {
        let rows = self.bump_mm.len();
        let toe = self.toe_changes(curve);
        let (worst, along) = toe
            .zip(&self.bump_mm)
            .fold((0.0_f64, 0.0), |(worst, along), (change, bump)| (worst.max(change.abs()), along + change * bump));
        let slope_deg_per_mm = if self.bump_square > 0.0 { along / self.bump_square } else { 0.0 };
        let left = self.toe_changes(curve).zip(&self.bump_mm).map(|(change, bump)| change - slope_deg_per_mm * bump);
        let camber_at_design = curve.camber_deg(self.design);
        let camber = (0..rows).map(|row| curve.camber_deg(row) - camber_at_design);
        let rotations = self.rotations(curve);
        let (scrub_mm, recession_mm) = self.place_changes(curve, &rotations);
        let [roll_centre_height_mm, anti_squat_pct, anti_lift_pct] = self.at_design(car, lengths)?;
        Ok(WheelFigures {
            toe_deg: curve.toe_deg(self.design),
            worst_bump_steer_deg: worst,
            slope_deg_per_mm,
            bow_deg: largest(left),
            camber_change_deg: largest(camber),
            scrub_mm,
            recession_mm,
            ahead_mm: curve.displacement(self.design).x,
            shaft: self.shaft(curve, &rotations),
            roll_centre_height_mm,
            anti_squat_pct,
            anti_lift_pct,
            last_move_mm: None,
        })
    }

    fn is_limited(&self, quantity: Quantity) -> bool {
        self.limited.contains(&quantity)
    }

    /// The turns of the upright at every row, when a figure needs them.
    fn rotations(&self, curve: &BuiltCurve<'_>) -> Vec<Matrix3<f64>> {
        let needed = self.corner.halfshaft.is_some() || self.is_limited(Quantity::Scrub);
        let rows = if needed { self.bump_mm.len() } else { 0 };
        (0..rows).map(|row| curve.rotation(row)).collect()
    }

    /// Half-track and recession.
    fn place_changes(&self, curve: &BuiltCurve<'_>, rotations: &[Matrix3<f64>]) -> (Option<f64>, Option<f64>) {
        let wheel = &self.corner.wheel;
        let contact_y = |row: usize| {
            let s = rotations[row] * *wheel.spin_axis;
            contact_point(&(wheel.centre + curve.displacement(row)), &s, wheel.tyre_radius_mm, &Vector3::z()).y
        };
        let scrub = self.is_limited(Quantity::Scrub).then(|| {
            let at_design = contact_y(self.design);
            largest((0..rotations.len()).map(|row| contact_y(row) - at_design))
        });
        let wheelbase = self.is_limited(Quantity::Recession).then(|| {
            let at_design = curve.displacement(self.design).x;
            largest((0..self.bump_mm.len()).map(|row| curve.displacement(row).x - at_design))
        });
        (scrub, wheelbase)
    }

    fn shaft(&self, curve: &BuiltCurve<'_>, rotations: &[Matrix3<f64>]) -> Option<ShaftFigures> {
        let shaft = self.corner.halfshaft.as_ref()?;
        let from_inner = self.corner.wheel.centre - shaft.inner;
        let arm = shaft.outer - self.corner.wheel.centre;
        let drawn_mm = (from_inner + arm).norm();
        let [inner_limited, outer_limited] =
            [Quantity::InnerJointAngle, Quantity::OuterJointAngle].map(|quantity| self.is_limited(quantity));
        let mut plunge_mm = Interval { low: f64::INFINITY, high: f64::NEG_INFINITY };
        let (mut inner, mut outer) = (Bend::default(), Bend::default());
        for (row, rotation) in rotations.iter().enumerate() {
            let along = from_inner + curve.displacement(row) + rotation * arm;
            let length_mm = along.norm();
            let plunge = length_mm - drawn_mm;
            plunge_mm = Interval { low: plunge_mm.low.min(plunge), high: plunge_mm.high.max(plunge) };
            if inner_limited {
                inner.add(&(along / length_mm), &shaft.axis);
            }
            if outer_limited {
                outer.add(&(along / length_mm), &(rotation * *self.corner.wheel.spin_axis));
            }
        }
        let inner_angle_deg = inner_limited.then(|| inner.most_deg());
        let outer_angle_deg = outer_limited.then(|| outer.most_deg());
        Some(ShaftFigures { plunge_mm, inner_angle_deg, outer_angle_deg })
    }

    /// Roll-centre height, anti-squat and anti-lift at the drawn wheel height, those with a limit.
    fn at_design(&self, car: &PickupErrors, lengths: LinkSetting) -> Result<[Option<f64>; 3], BuildFailure> {
        let [height, squat, lift] = [Quantity::RollCentreHeight, Quantity::AntiSquat, Quantity::AntiLift]
            .map(|quantity| self.is_limited(quantity));
        if !(height || squat || lift) {
            return Ok([None; 3]);
        }
        let path = WheelPath::follow_built(&self.linkage, car, lengths, &[])?;
        let posture: Posture = path.postures()[0];
        let s = spin_axis(self.corner, &posture);
        let contact = contact_point(&posture.wheel_centre(), &s, self.corner.wheel.tyre_radius_mm, &Vector3::z());
        let road = Road::new(self.corner.side, 0.0, 0.0, contact.z);
        let line = RollCentreLine::new(&posture, &contact, &road);
        let car = &self.geometry.car;
        Ok([
            height.then(|| line.own_side_height_mm()).flatten(),
            squat.then(|| anti_squat_pct(&posture, car)).flatten(),
            lift.then(|| anti_lift_pct(&posture, &contact, car)).flatten(),
        ])
    }

    /// Toe of a posture of this wheel, deg.
    pub(super) fn toe_at(&self, posture: &Posture) -> f64 {
        toe_deg(&spin_axis(self.corner, posture))
    }
}

/// The largest angle between two unit vectors, with one arc tangent for all.
#[derive(Default)]
struct Bend {
    most: Option<(f64, f64)>,
}

impl Bend {
    fn add(&mut self, a: &Vector3<f64>, b: &Vector3<f64>) {
        let (sin, cos) = (a.cross(b).norm(), a.dot(b));
        // Of two angles below 180 deg the larger one is ahead: sin (a − b) is positive.
        if self.most.is_none_or(|(most_sin, most_cos)| sin * most_cos - cos * most_sin > 0.0) {
            self.most = Some((sin, cos));
        }
    }

    fn most_deg(&self) -> f64 {
        self.most.map_or(0.0, |(sin, cos)| sin.atan2(cos).to_degrees())
    }
}

fn largest(values: impl Iterator<Item = f64>) -> f64 {
    values.fold(0.0, |most, value| value.abs().max(most))
}
