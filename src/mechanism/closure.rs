//! The closure equations of one corner and their Jacobian.
//!
//! The upright is placed by six coordinates: the displacement `d` of the wheel centre from design, mm, and the Gibbs
//! vector `g` of its rotation from design (axis times the tangent of half the angle, no unit). A link runs from
//! `c_i` on the chassis to `W + d + R(g) a_i` on the upright, with `a_i` its arm from the wheel centre at design. Its
//! closure error is
//!
//! ```text
//! e_i = W − c_i + d + R a_i          f_i = (e_i·e_i − L_i²) / (2 L_i)          [mm, ≈ |e_i| − L_i]
//! ∂f_i = (e_i/L_i)·v + ((R a_i × e_i)/L_i)·ω                                   v velocity of W, ω angular velocity
//! ```
//!
//! The sixth equation drives the bump travel: `d_z − bump = 0`. It is linear in one unknown, so the solver eliminates it
//! and works with five equations in `(v_x, v_y, ω)`; [`Linkage::jacobian`] is the full 6 × 6 matrix for everything that
//! is not hot. Rotations are scaled by [`ROTATION_SCALE_MM`], so that all unknowns and residuals are millimetres.
//!
//! Source: loop closure of bars of fixed length, any text on spatial mechanisms; the Gibbs (Rodrigues) vector as in
//! M. D. Shuster, "A survey of attitude representations", 1993 (from memory). Held by
//! `tests/kinematics/closed_form.rs`.

use nalgebra::{Matrix3, Matrix6, Point3, RowVector6, Vector3};

use crate::geometry::Corner;

/// Length by which angles are multiplied to stand beside millimetres: a typical arm of an upright.
pub const ROTATION_SCALE_MM: f64 = 100.0;

/// One link as the equations see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bar {
    /// Wheel centre at design minus the chassis pickup, mm.
    pub(super) base: Vector3<f64>,
    /// Upright pickup minus the wheel centre, at design, mm.
    pub(super) arm: Vector3<f64>,
    length_squared: f64,
    pub(super) inverse_length: f64,
}

/// The five links and the wheel centre of one corner, in side axes, lengths fixed at their design values.
#[derive(Debug, Clone, PartialEq)]
pub struct Linkage {
    pub(super) wheel_centre: Point3<f64>,
    pub(super) bars: [Bar; 5],
}

/// Closure errors of the five links, mm, with the rows of their Jacobian in `(v_x, v_y, v_z, ω·100 mm)`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Closure {
    pub(super) error_mm: [f64; 5],
    pub(super) rows: [[f64; 6]; 5],
}

impl Linkage {
    /// The linkage of a corner, each link as long as its points are apart.
    pub fn new(corner: &Corner) -> Self {
        let wheel_centre = corner.wheel.centre;
        let bars = corner.links.each_ref().map(|link| {
            let base = wheel_centre - link.chassis;
            let arm = link.upright - wheel_centre;
            let length_squared = (base + arm).norm_squared();
            Bar { base, arm, length_squared, inverse_length: 1.0 / length_squared.sqrt() }
        });
        Self { wheel_centre, bars }
    }

    /// The same points with link `index` longer by `by_mm`: a turnbuckle turned, or a link cut wrong. The drawn posture
    /// then no longer closes; [`Linkage::design`] finds the one near it.
    pub fn lengthened(&self, index: usize, by_mm: f64) -> Self {
        let mut longer = self.clone();
        let bar = &mut longer.bars[index];
        let length_mm = bar.length_squared.sqrt() + by_mm;
        bar.length_squared = length_mm * length_mm;
        bar.inverse_length = 1.0 / length_mm;
        longer
    }

    /// Closure errors and Jacobian rows at a displacement of the wheel centre and a rotation of the upright.
    #[inline]
    pub(super) fn closure(&self, displacement: &Vector3<f64>, rotation: &Matrix3<f64>) -> Closure {
        let mut out = Closure { error_mm: [0.0; 5], rows: [[0.0; 6]; 5] };
        for (i, bar) in self.bars.iter().enumerate() {
            let arm = turned(rotation, &bar.arm);
            let along = bar.base + displacement + arm;
            let unit = along * bar.inverse_length;
            let moment = arm.cross(&unit) / ROTATION_SCALE_MM;
            out.error_mm[i] = 0.5 * (along.norm_squared() - bar.length_squared) * bar.inverse_length;
            out.rows[i] = [unit.x, unit.y, unit.z, moment.x, moment.y, moment.z];
        }
        out
    }

    /// The largest link error, mm; NaN when any is.
    #[inline]
    pub(super) fn worst_error_mm(&self, displacement: &Vector3<f64>, rotation: &Matrix3<f64>) -> f64 {
        self.bars.iter().fold(0.0, |worst: f64, bar| {
            let along = bar.base + displacement + turned(rotation, &bar.arm);
            let error = (0.5 * (along.norm_squared() - bar.length_squared) * bar.inverse_length).abs();
            // `max` would drop a NaN; a NaN must stay visible.
            if error <= worst { worst } else { error }
        })
    }

    /// The 6 × 6 Jacobian at a posture: five link rows, then the driver's row (vertical motion of the wheel centre).
    ///
    /// Columns are the velocity of the wheel centre in side axes and the angular velocity times
    /// [`ROTATION_SCALE_MM`]. Row `i` is also the wrench that one newton of tension in link `i` puts on the chassis
    /// through the upright, moments about the wheel centre divided by the same length.
    pub fn jacobian(&self, displacement: &Vector3<f64>, rotation: &Matrix3<f64>) -> Matrix6<f64> {
        let mut jacobian = Matrix6::zeros();
        for (i, row) in self.closure(displacement, rotation).rows.iter().enumerate() {
            jacobian.set_row(i, &RowVector6::from_row_slice(row));
        }
        jacobian[(5, 2)] = 1.0;
        jacobian
    }
}

/// Rotation matrix of a Gibbs vector: `((1 − g²) I + 2 g gᵀ + 2 [g]×) / (1 + g²)`.
#[inline]
pub(super) fn rotation_of(g: &Vector3<f64>) -> Matrix3<f64> {
    let square = g.norm_squared();
    let k = 2.0 / (1.0 + square);
    let (x, y, z) = (k * g.x, k * g.y, k * g.z);
    let diagonal = 1.0 - k * square;
    Matrix3::new(
        diagonal + x * g.x,
        x * g.y - z,
        x * g.z + y,
        x * g.y + z,
        diagonal + y * g.y,
        y * g.z - x,
        x * g.z - y,
        y * g.z + x,
        diagonal + z * g.z,
    )
}

/// `rotation * v` written out: the general product of nalgebra is several times slower at this size.
#[inline]
fn turned(rotation: &Matrix3<f64>, v: &Vector3<f64>) -> Vector3<f64> {
    rotation.column(0) * v.x + rotation.column(1) * v.y + rotation.column(2) * v.z
}

/// Rate of a Gibbs vector under the angular velocity `omega` (chassis frame): `½ (ω + ω × g + (ω·g) g)`.
#[inline]
pub(super) fn gibbs_rate(g: &Vector3<f64>, omega: &Vector3<f64>) -> Vector3<f64> {
    0.5 * (omega + omega.cross(g) + g * omega.dot(g))
}

#[cfg(test)]
mod tests {
    use super::{gibbs_rate, rotation_of};
    use nalgebra::{Rotation3, Vector3};

    #[test]
    fn a_gibbs_vector_is_its_axis_angle_rotation() {
        let axis = Vector3::new(0.3, -0.7, 0.2).normalize();
        let angle = 0.83_f64;
        let expected = Rotation3::from_scaled_axis(axis * angle);
        let got = rotation_of(&(axis * (angle / 2.0).tan()));
        assert!((got - expected.matrix()).norm() < 1e-15);
    }

    #[test]
    fn the_rate_of_the_gibbs_vector_turns_the_matrix_by_omega() {
        let (g, omega, h) = (Vector3::new(0.2, 0.1, -0.3), Vector3::new(0.5, -1.1, 0.7), 1e-6);
        let rate = gibbs_rate(&g, &omega);
        let difference = (rotation_of(&(g + rate * h)) - rotation_of(&(g - rate * h))) / (2.0 * h);
        assert!((difference - omega.cross_matrix() * rotation_of(&g)).norm() < 1e-9);
    }
}
