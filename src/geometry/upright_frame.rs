//! In which axes a file gives the points of the upright, and where they stand in side axes.

use nalgebra::{Point3, Rotation3, Unit, Vector3};

use super::corner::{Wheel, hub_rotation};
use super::side::Side;

/// In which axes a file gives the points of the upright.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UprightAxes {
    /// The car's: x forward, y left, z up.
    Car,
    /// From the wheel centre, y along the spindle outboard on both sides.
    Hub,
    /// The same, counted from the middle of the face on which the wheel seats.
    HubFace,
}

impl UprightAxes {
    /// Every one by its name in the file, the default first.
    pub const BY_NAME: [(&'static str, Self); 3] =
        [(Self::Car.name(), Self::Car), (Self::Hub.name(), Self::Hub), (Self::HubFace.name(), Self::HubFace)];

    /// As the key `upright_axes` has it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Car => "car",
            Self::Hub => "hub",
            Self::HubFace => "hub face",
        }
    }
}

/// The axes of the upright's points of one side, against its side axes.
///
/// In hub axes a point p of the upright is at `O + R p`, `R = Rz(−toe)·Rx(−camber)`, with O the wheel centre, or the middle of
/// the face on which the wheel seats, the wheel's offset outboard of it along the spindle.
pub(crate) struct UprightFrame {
    axes: UprightAxes,
    side: Side,
    origin: Vector3<f64>,
    rotation: Rotation3<f64>,
}

impl UprightFrame {
    /// `Car` axes need no wheel.
    pub(crate) fn car(side: Side) -> Self {
        Self { axes: UprightAxes::Car, side, origin: Vector3::zeros(), rotation: Rotation3::identity() }
    }

    /// That of a wheel with this centre, toe and camber, rad; an offset that is not given counts as none.
    pub(crate) fn new(
        axes: UprightAxes,
        side: Side,
        centre: &Point3<f64>,
        (toe_rad, camber_rad): (f64, f64),
        offset_mm: Option<f64>,
    ) -> Self {
        let rotation = hub_rotation(toe_rad, camber_rad);
        let face = rotation * Vector3::y() * offset_mm.unwrap_or(0.0);
        match axes {
            UprightAxes::Car => Self::car(side),
            UprightAxes::Hub => Self { axes, side, origin: centre.coords, rotation },
            UprightAxes::HubFace => Self { axes, side, origin: centre.coords + face, rotation },
        }
    }

    /// That of a wheel as it stands.
    pub(crate) fn of(axes: UprightAxes, side: Side, wheel: &Wheel) -> Self {
        Self::new(axes, side, &wheel.centre, toe_and_camber_rad(&wheel.spin_axis), wheel.offset_mm)
    }

    /// Where a point that was read stands, side axes.
    pub(crate) fn point(&self, p: &Point3<f64>) -> Point3<f64> {
        self.rotation * p + self.origin
    }

    pub(crate) fn direction(&self, d: Unit<Vector3<f64>>) -> Unit<Vector3<f64>> {
        self.rotation * d
    }

    /// A direction of the frame in side axes as the file gives it.
    pub(crate) fn car_direction(&self, d: &Unit<Vector3<f64>>) -> Unit<Vector3<f64>> {
        Unit::new_normalize(self.side.to_car(Point3::from(d.into_inner())).coords)
    }

    /// A direction of the upright in side axes as the file gives it.
    pub(crate) fn direction_as_written(&self, d: &Unit<Vector3<f64>>) -> Unit<Vector3<f64>> {
        match self.axes {
            UprightAxes::Car => self.car_direction(d),
            UprightAxes::Hub | UprightAxes::HubFace => self.rotation.inverse() * d,
        }
    }

    /// A point of the frame in side axes as the file gives it.
    pub(crate) fn car_point(&self, p: &Point3<f64>) -> Point3<f64> {
        self.side.to_car(*p)
    }

    /// A point of the upright in side axes as the file gives it: y to the left in car axes, outboard in hub axes.
    pub(crate) fn as_written(&self, p: &Point3<f64>) -> Point3<f64> {
        match self.axes {
            UprightAxes::Car => self.car_point(p),
            UprightAxes::Hub | UprightAxes::HubFace => self.rotation.inverse() * (p - self.origin),
        }
    }

    /// Where a point stands that the file gives with these numbers, side axes: undoes [`Self::as_written`].
    pub(crate) fn place(&self, written: &Point3<f64>) -> Point3<f64> {
        match self.axes {
            UprightAxes::Car => self.side.to_car(*written),
            UprightAxes::Hub | UprightAxes::HubFace => self.point(written),
        }
    }
}

/// Toe and camber of a spin axis in side axes, rad.
pub(crate) fn toe_and_camber_rad(spin: &Unit<Vector3<f64>>) -> (f64, f64) {
    (spin.x.atan2(spin.y), (-spin.z).asin())
}
