//! How a halfshaft changes along the path of its wheel.

use nalgebra::Vector3;

use super::shaft::shaft;
use super::wheel::spin_axis;
use crate::geometry::{Corner, Halfshaft};
use crate::mechanism::Posture;

/// One of the three figures of a halfshaft that its joints limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShaftFigure {
    /// See [`super::ShaftMeasures::plunge_mm`].
    Plunge,
    /// See [`super::ShaftMeasures::inner_angle_deg`].
    InnerAngle,
    /// See [`super::ShaftMeasures::outer_angle_deg`].
    OuterAngle,
}

impl ShaftFigure {
    /// Its value at a posture, mm or deg; `None` without a halfshaft.
    pub fn value(self, corner: &Corner, posture: &Posture) -> Option<f64> {
        let measures = shaft(corner, posture)?;
        Some(match self {
            ShaftFigure::Plunge => measures.plunge_mm,
            ShaftFigure::InnerAngle => measures.inner_angle_deg,
            ShaftFigure::OuterAngle => measures.outer_angle_deg,
        })
    }

    /// Something that is zero where the figure is least or most along the path and has its slope's sign: the change of the
    /// distance, mm/mm, or half that of the squared sine of the angle, 1/mm. The sine's square goes smoothly through
    /// its least value even where the joint is straight and the angle itself has a kink.
    ///
    /// With e the unit vector along the shaft, v the velocity of the outer joint and a the joint's axis:
    /// `e·v`, and `(e × a)·(ė × a + e × ȧ)`, `ė = (v − e (e·v)) / L`, `ȧ = ω × s` of the outer joint.
    ///
    /// Source: derivative of the definitions. Tested by `tests/driveline/envelope.rs` (differences, and 10,000 postures).
    pub fn turning(self, corner: &Corner, posture: &Posture) -> Option<f64> {
        let halfshaft: &Halfshaft = corner.halfshaft.as_ref()?;
        let outer = posture.point(&halfshaft.outer);
        let along = outer - halfshaft.inner;
        let velocity = posture.velocity_at(&outer);
        let length_mm = along.norm();
        let e = along / length_mm;
        let stretch = e.dot(&velocity);
        let swing = (velocity - e * stretch) / length_mm;
        let sine_square =
            |axis: Vector3<f64>, turn: Vector3<f64>| e.cross(&axis).dot(&(swing.cross(&axis) + e.cross(&turn)));
        Some(match self {
            ShaftFigure::Plunge => stretch,
            ShaftFigure::InnerAngle => sine_square(halfshaft.axis.into_inner(), Vector3::zeros()),
            ShaftFigure::OuterAngle => {
                let spin = spin_axis(corner, posture);
                sine_square(spin, posture.motion.angular.cross(&spin))
            }
        })
    }
}
