//! Points and directions, in whichever axes the file gives them.

use nalgebra::{Point3, Unit, Vector3};
use toml_edit::Item;

use super::list::numbers;
use super::number::{COMPONENT, COORDINATE, NumberUnit};
use super::value::{Scope, ValueError, ValueKind};

/// Whose axes a point or a direction is written in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Frame {
    Car,
    /// The car's, or the hub's when the file says so.
    Upright,
}

impl Frame {
    /// +1, or −1 where the file counts y from the centreline to the left and this is the right side.
    fn y_sign(self, scope: Scope) -> f64 {
        if self == Frame::Upright && scope.hub_axes { 1.0 } else { scope.side.sign() }
    }
}

/// A point `[x, y, z]`, read into side axes; hub axes stay as they are.
pub(crate) struct PointKind(pub(crate) Frame);

impl ValueKind for PointKind {
    type Value = Point3<f64>;

    fn wants(&self, scope: Scope) -> String {
        let most = COORDINATE.most / scope.units.in_mm();
        format!("[x, y, z]{}, each within ±{most:.0}", NumberUnit::Length.in_words(scope.units))
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Point3<f64>, ValueError> {
        let [x, y, z] = numbers::<3>(item, &COORDINATE, scope)?;
        Ok(Point3::new(x, self.0.y_sign(scope) * y, z))
    }
}

/// A direction `[x, y, z]` of any length, read into side axes; hub axes stay as they are.
pub(crate) struct Direction(pub(crate) Frame);

impl ValueKind for Direction {
    type Value = Unit<Vector3<f64>>;

    fn wants(&self, _: Scope) -> String {
        "a direction [x, y, z] of any length but zero".into()
    }

    fn read(&self, item: &Item, scope: Scope) -> Result<Unit<Vector3<f64>>, ValueError> {
        let [x, y, z] = numbers::<3>(item, &COMPONENT, scope)?;
        let along = Vector3::new(x, self.0.y_sign(scope) * y, z);
        Unit::try_new(along, 1e-9).ok_or_else(|| ValueError::new("points nowhere: its length is zero"))
    }
}
