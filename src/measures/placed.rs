//! Where an upright stands, without its motion: all that the batch solver gives of a built wheel, and enough for some
//! measures.

use nalgebra::{Matrix3, Point3, Vector3};

use super::shaft::angle_between_rad;
use super::wheel::contact_point;
use crate::geometry::{Corner, Interval};
use crate::mechanism::{UprightPose, turned};

/// Where the upright of a corner stands; angles that are known already are not worked out again.
#[derive(Debug, Clone, Copy)]
pub struct Placed<'a> {
    /// The corner as drawn.
    pub corner: &'a Corner,
    /// Wheel centre minus its drawn place, mm, side axes.
    pub displacement: Vector3<f64>,
    /// From the drawn posture, side axes.
    pub rotation: Matrix3<f64>,
    /// Per wheel, deg, toe-in positive.
    pub toe_deg: f64,
    /// Against the chassis, deg, top outboard positive.
    pub camber_deg: f64,
}

impl UprightPose for Placed<'_> {
    fn wheel_centre(&self) -> Point3<f64> {
        self.corner.wheel.centre + self.displacement
    }

    fn direction(&self, at_design: &Vector3<f64>) -> Vector3<f64> {
        turned(&self.rotation, at_design)
    }

    fn point(&self, at_design: &Point3<f64>) -> Point3<f64> {
        self.wheel_centre() + self.direction(&(at_design - self.corner.wheel.centre))
    }
}

impl Placed<'_> {
    pub(super) fn spin_axis(&self) -> Vector3<f64> {
        self.rotation * *self.corner.wheel.spin_axis
    }

    /// With a level road.
    pub(super) fn contact(&self) -> Point3<f64> {
        let wheel = &self.corner.wheel;
        contact_point(&(wheel.centre + self.displacement), &self.spin_axis(), wheel.tyre_radius_mm, &Vector3::z())
    }

    /// From the inner to the outer joint of the halfshaft.
    fn shaft(&self) -> Option<Vector3<f64>> {
        let (shaft, wheel) = (self.corner.halfshaft.as_ref()?, &self.corner.wheel);
        Some((wheel.centre - shaft.inner) + self.displacement + self.rotation * (shaft.outer - wheel.centre))
    }

    pub(super) fn plunge_mm(&self) -> Option<f64> {
        let shaft = self.corner.halfshaft.as_ref()?;
        Some(self.shaft()?.norm() - (shaft.outer - shaft.inner).norm())
    }

    /// The directions that make the angle of the inner joint.
    pub(super) fn at_inner_joint(&self) -> Option<[Vector3<f64>; 2]> {
        Some([self.shaft()?, *self.corner.halfshaft.as_ref()?.axis])
    }

    /// The directions that make the angle of the outer joint.
    pub(super) fn at_outer_joint(&self) -> Option<[Vector3<f64>; 2]> {
        Some([self.shaft()?, self.spin_axis()])
    }
}

pub(super) fn angle_deg([a, b]: [Vector3<f64>; 2]) -> f64 {
    angle_between_rad(&a, &b).to_degrees()
}

/// From the least to the largest of acute angles, deg; `None` where one is not acute. The square of a tangent has no arc tangent to be
/// taken at every place.
pub(super) fn acute_angles_deg<T>(
    places: &[T],
    directions: impl Fn(&T) -> Option<[Vector3<f64>; 2]>,
) -> Option<Interval> {
    let (mut least, mut largest) = ((f64::INFINITY, 0), (f64::NEG_INFINITY, 0));
    for (index, place) in places.iter().enumerate() {
        let [a, b] = directions(place)?;
        let cosine = a.dot(&b);
        let square = a.cross(&b).norm_squared() / (cosine * cosine);
        if !(cosine > 0.0 && square.is_finite()) {
            return None;
        }
        if square < least.0 {
            least = (square, index);
        }
        if square > largest.0 {
            largest = (square, index);
        }
    }
    let at = |index: usize| Some(angle_deg(directions(places.get(index)?)?));
    Some(Interval { low: at(least.1)?, high: at(largest.1)? })
}

#[cfg(test)]
mod tests {
    use nalgebra::Vector3;

    use super::acute_angles_deg;

    #[test]
    fn the_range_of_acute_angles_is_that_of_each_of_them() {
        let at = |deg: f64, length: f64| {
            let (sine, cosine) = deg.to_radians().sin_cos();
            Some([Vector3::x() * 3.0, Vector3::new(cosine, -0.6 * sine, 0.8 * sine) * length])
        };
        let angles = [(12.0, 1.0), (7e-6, 400.0), (89.0, 0.1), (30.0, 1.0)].map(|(deg, length)| at(deg, length));
        let range = acute_angles_deg(&angles, |angle| *angle).expect("acute angles");
        assert!((range.low - 7e-6).abs() < 1e-12 && (range.high - 89.0).abs() < 1e-12, "{range:?}");
        for odd in [at(91.0, 1.0), at(90.0, 0.0), None] {
            assert_eq!(acute_angles_deg(&[at(12.0, 1.0), odd], |angle| *angle), None);
        }
    }
}
