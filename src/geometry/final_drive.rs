//! The final drive as one rigid housing: measured once on the bench in its own axes, and moved whole in the car.

use nalgebra::{Point3, Rotation3, Unit, Vector3};

use super::corner::Corner;
use super::interval::Interval;
use super::propshaft::Propshaft;
use super::side::{PerSide, Side};
use crate::strength::Bolt;

/// A housing with its flanges, in axes of its own, and where it sits in the car.
#[derive(Debug, Clone, PartialEq)]
pub struct FinalDrive {
    /// Where its datum sits, car axes.
    pub place: HousingPlace,
    /// Joint centre and axis of each output flange, own axes.
    pub outputs: PerSide<Flange>,
    /// Joint centre and axis of the input, own axes, when it was measured.
    pub pinion: Option<Flange>,
    /// Mounting holes, own axes.
    pub holes: Vec<Point3<f64>>,
    /// How far it may be moved from that place.
    pub free: HousingRoom,
    /// What holds it in the frame and what turns it, when the file says so.
    pub mount: Option<HousingMount>,
}

/// The bolts of a solidly mounted housing, and the gears inside it.
#[derive(Debug, Clone, PartialEq)]
pub struct HousingMount {
    /// Turns of the pinion for one of the axle (no unit).
    pub ratio: f64,
    /// Largest share of the axle's torque at one output (no unit): 0.5 of an open differential, 1 of a locked one.
    pub bias: f64,
    /// In every hole, in single shear.
    pub bolt: Bolt,
    /// The bolt of each hole, from the frame into the housing, own axes.
    pub along: Vec<Unit<Vector3<f64>>>,
}

/// A joint centre at a flange, and the line of the shaft in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flange {
    /// Of the joint.
    pub at: Point3<f64>,
    /// Pointing away from the housing.
    pub axis: Unit<Vector3<f64>>,
}

/// Where a housing's datum sits and how it is turned: by yaw, then pitch, then roll, each right-hand about the axes z up, y left
/// and x forward of ISO 8855, so that its own axes are the car's when all three are 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HousingPlace {
    /// Of the datum, car axes.
    pub origin: Point3<f64>,
    /// Nose down positive, deg.
    pub pitch_deg: f64,
    /// Left side up positive, deg.
    pub roll_deg: f64,
    /// Nose to the left positive, deg.
    pub yaw_deg: f64,
}

/// How far a housing may be moved from where the file has it; what is `None` stays.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct HousingRoom {
    /// Forward, mm.
    pub x: Option<Interval>,
    /// To the left, mm.
    pub y: Option<Interval>,
    /// Up, mm.
    pub z: Option<Interval>,
    /// Nose down, deg.
    pub pitch: Option<Interval>,
}

impl HousingRoom {
    /// Nothing may move.
    pub fn is_nothing(&self) -> bool {
        self.all().iter().all(Option::is_none)
    }

    /// Of x, y, z and pitch.
    pub fn all(&self) -> [Option<Interval>; 4] {
        [self.x, self.y, self.z, self.pitch]
    }
}

impl HousingPlace {
    /// Turns a direction in the housing's axes into one in the car's: `Rz(yaw) Ry(pitch) Rx(roll)`.
    fn rotation(&self) -> Rotation3<f64> {
        let about = |axis: Unit<Vector3<f64>>, deg: f64| Rotation3::from_axis_angle(&axis, deg.to_radians());
        about(Vector3::z_axis(), self.yaw_deg)
            * about(Vector3::y_axis(), self.pitch_deg)
            * about(Vector3::x_axis(), self.roll_deg)
    }

    /// A point of the housing in the car.
    pub fn point(&self, own: &Point3<f64>) -> Point3<f64> {
        self.origin + self.rotation() * own.coords
    }

    /// A place in the car, in the housing's own axes.
    pub(crate) fn own(&self, place: &Point3<f64>) -> Point3<f64> {
        Point3::from(self.rotation().inverse() * (place - self.origin))
    }

    /// A flange of the housing in the car.
    pub fn flange(&self, own: &Flange) -> Flange {
        Flange { at: self.point(&own.at), axis: self.rotation() * own.axis }
    }

    /// A direction of the housing in the car.
    pub fn direction(&self, own: &Unit<Vector3<f64>>) -> Unit<Vector3<f64>> {
        self.rotation() * *own
    }

    /// The same, moved by x, y, z (mm) and pitch (deg).
    #[must_use]
    pub fn moved(&self, by: &[f64; 4]) -> Self {
        let [x, y, z, pitch_deg] = *by;
        Self { origin: self.origin + Vector3::new(x, y, z), pitch_deg: self.pitch_deg + pitch_deg, ..*self }
    }
}

impl FinalDrive {
    /// An output flange in the car, in side axes.
    pub fn output(&self, side: Side) -> Flange {
        self.output_at(&self.place, side)
    }

    /// The same with the housing in another place.
    pub fn output_at(&self, place: &HousingPlace, side: Side) -> Flange {
        let flange = place.flange(&self.outputs[side]);
        let axis = Vector3::new(flange.axis.x, side.sign() * flange.axis.y, flange.axis.z);
        Flange { at: side.to_car(flange.at), axis: Unit::new_unchecked(axis) }
    }

    /// Puts the inner joint of a side's halfshaft where its flange is.
    pub fn seat(&self, corner: &mut Corner) {
        if let Some(shaft) = &mut corner.halfshaft {
            let flange = self.output(corner.side);
            (shaft.inner, shaft.axis) = (flange.at, flange.axis);
        }
    }

    /// With the housing in another place: sets the axis of the propeller shaft's last joint to that of the pinion, in the sense of
    /// the span before it, and moves that joint by as much as the pinion stands from where it is drawn.
    pub fn seat_propshaft(&self, shaft: &mut Propshaft, place: &HousingPlace) {
        let Some(pinion) = &self.pinion else { return };
        let (flange, before) = (place.flange(pinion), self.place.flange(pinion));
        if let Some(last) = shaft.joints.last_mut() {
            last.at += flange.at - before.at;
        }
        let before_last = shaft.joints.iter().rev().nth(1).zip(shaft.joints.last());
        let is_turned = before_last.is_some_and(|(before, last)| (last.at - before.at).dot(&flange.axis) < 0.0);
        shaft.output_axis = if is_turned { -flange.axis } else { flange.axis };
    }
}
