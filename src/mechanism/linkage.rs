//! The closure equations of one corner and their Jacobian.
//!
//! The upright is placed by six coordinates: the displacement `d` of the wheel centre from design, mm, and the
//! Rodrigues parameters `p` of its rotation from design (the modified ones: axis times the tangent of a quarter of the
//! angle, no unit; good for nearly a whole turn). A link runs from `c_i` on the chassis to `W + d + R(p) a_i` on the upright,
//! with `a_i` its arm from the wheel centre at design. Its closure error is
//!
//! ```text
//! e_i = W − c_i + d + R a_i          f_i = (e_i·e_i − L_i²) / (2 L_i)          [mm, ≈ |e_i| − L_i]
//! ∂f_i = (e_i/L_i)·v + ((R a_i × e_i)/L_i)·ω                                   v velocity of W, ω angular velocity
//! ```
//!
//! The sixth equation drives the bump travel: `d_z − bump = 0`. It is linear in one unknown, so the solver eliminates it
//! and works with five equations in `(v_x, v_y, ω)`; [`Linkage::jacobian`] is the full 6 × 6 matrix for everything that
//! is done once. Rotations are scaled by [`ROTATION_SCALE_MM`], so that all unknowns and residuals are millimetres.
//!
//! Source: loop closure of links of fixed length, any text on spatial mechanisms; modified Rodrigues parameters as in
//! M. D. Shuster, "A survey of attitude representations", 1993 (from memory). Tested by
//! `tests/kinematics/closed_form.rs`.

use nalgebra::{Matrix3, Matrix6, Point3, RowVector6, Vector3};

use super::built::{LinkSetting, PickupErrors};
use super::kernel;
use super::pivot_order::PivotOrder;
use super::posture::Posture;
use super::solve::{SolveError, solve};
use crate::geometry::Corner;

/// Length by which angles are multiplied to stand beside millimetres, mm: a typical arm of an upright.
pub const ROTATION_SCALE_MM: f64 = 100.0;

/// What does not change about one link while the upright moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct LinkConstants {
    /// Wheel centre at design minus the chassis pickup, mm.
    pub(crate) base: Vector3<f64>,
    /// Upright pickup minus the wheel centre, at design, mm.
    pub(crate) arm: Vector3<f64>,
    /// Square of the length, mm².
    pub(crate) length_squared: f64,
    /// One over the length, 1/mm.
    pub(crate) inverse_length: f64,
    /// Unit direction of the link as drawn, from chassis to upright.
    pub(super) drawn_direction: Vector3<f64>,
}

impl LinkConstants {
    fn new(base: Vector3<f64>, arm: Vector3<f64>, length_squared: f64) -> Self {
        let drawn_direction = (base + arm).normalize();
        Self { base, arm, length_squared, inverse_length: 1.0 / length_squared.sqrt(), drawn_direction }
    }

    #[inline(always)]
    fn residual(&self, displacement: &Vector3<f64>, rotation: &[kernel::Triple; 3]) -> kernel::LinkResidual {
        let (base, arm) = (self.base.into(), self.arm.into());
        kernel::link_residual(base, arm, self.length_squared, (*displacement).into(), rotation)
    }
}

/// The five links and the wheel centre of one corner: points in side axes, mm, and the lengths that do not change.
///
/// Links count in file order. Tested by `tests/kinematics/closed_form.rs`.
#[derive(Debug, Clone, PartialEq)]
pub struct Linkage {
    pub(super) wheel_centre: Point3<f64>,
    pub(crate) links: [LinkConstants; 5],
    /// Order in which the link rows are eliminated.
    pub(super) order: PivotOrder,
}

/// Closure errors of the five links, mm, with the rows of their Jacobian in `(v_x, v_y, v_z, ω·100 mm)`.
#[derive(Debug, Clone, Copy)]
pub(super) struct LoopClosure {
    pub(super) error_mm: [f64; 5],
    pub(super) rows: [[f64; 6]; 5],
}

impl LoopClosure {
    /// The largest link error, mm; NaN when any is.
    #[inline]
    pub(super) fn worst_mm(&self) -> f64 {
        // `max` would drop a NaN; a NaN must stay visible.
        self.error_mm.iter().fold(0.0, |worst: f64, error| if error.abs() <= worst { worst } else { error.abs() })
    }
}

impl Linkage {
    /// The linkage of a corner, each link as long as its points are apart.
    pub fn new(corner: &Corner) -> Self {
        let wheel_centre = corner.wheel.centre;
        let links = corner.links.each_ref().map(|link| {
            let base = wheel_centre - link.chassis;
            let arm = link.upright - wheel_centre;
            LinkConstants::new(base, arm, (base + arm).norm_squared())
        });
        let rows = links.map(|link| {
            let moment = link.arm.cross(&link.drawn_direction) / ROTATION_SCALE_MM;
            [link.drawn_direction.x, link.drawn_direction.y, moment.x, moment.y, moment.z]
        });
        Self { wheel_centre, links, order: PivotOrder::with_search(rows) }
    }

    /// The linkage of a corner that was built from this drawing with its pickups off by `errors`.
    ///
    /// Tested by `tests/batch.rs`, `src/studies/tolerance/outside.rs`.
    pub fn built(&self, errors: &PickupErrors, lengths: LinkSetting) -> Self {
        let links = std::array::from_fn(|i| {
            let base = self.links[i].base - errors.chassis[i];
            let arm = self.links[i].arm + errors.upright[i];
            let length_squared = match lengths {
                LinkSetting::Adjusted => (base + arm).norm_squared(),
                LinkSetting::Cut => self.links[i].length_squared,
            };
            LinkConstants::new(base, arm, length_squared)
        });
        Self { wheel_centre: self.wheel_centre, links, order: self.order }
    }

    /// The linkage with its pickups moved by `by` as shims move them: every link keeps its length, and an upright's pickup moves
    /// in the upright as it stands in the drawing. The drawn posture then no longer closes; [`Linkage::design`] finds the one
    /// near it.
    ///
    /// Tested by `tests/kinematics/sensitivities.rs`.
    pub fn shimmed(&self, by: &PickupErrors) -> Self {
        let mut shimmed = self.clone();
        for (i, link) in shimmed.links.iter_mut().enumerate() {
            link.base -= by.chassis[i];
            link.arm += by.upright[i];
        }
        shimmed
    }

    /// The same points with link `index` (0 to 4, file order) longer by `by_mm`: a turnbuckle turned, or a link cut wrong.
    /// The drawn posture then no longer closes; [`Linkage::design`] finds the one near it.
    ///
    /// Tested by `tests/reference/kinematics.rs`.
    pub fn lengthened(&self, index: usize, by_mm: f64) -> Self {
        let mut longer = self.clone();
        let link = &mut longer.links[index];
        let length_mm = link.length_squared.sqrt() + by_mm;
        link.length_squared = length_mm * length_mm;
        link.inverse_length = 1.0 / length_mm;
        longer
    }

    /// The posture at zero bump travel with its motion: the drawn posture, or the one next to it when the lengths are not
    /// those of the drawing.
    ///
    /// An error when the links leave the upright a second motion, or when bump travel cannot drive the wheel.
    pub fn design(&self) -> Result<Posture, SolveError> {
        solve(self, 0.0, &Vector3::zeros(), &Vector3::zeros()).map(|solved| solved.posture)
    }

    /// Closure errors and Jacobian rows at a displacement of the wheel centre and a rotation of the upright.
    #[inline]
    pub(super) fn closure(&self, displacement: &Vector3<f64>, rotation: &Matrix3<f64>) -> LoopClosure {
        let rotation = rows_of(rotation);
        let mut out = LoopClosure { error_mm: [0.0; 5], rows: [[0.0; 6]; 5] };
        for (i, link) in self.links.iter().enumerate() {
            let residual = link.residual(displacement, &rotation);
            let [x, y, z] = residual.along.map(|along| along * link.inverse_length);
            let [p, q, r] = residual.moment.map(|moment| moment * (link.inverse_length / ROTATION_SCALE_MM));
            out.error_mm[i] = residual.half_square * link.inverse_length;
            out.rows[i] = [x, y, z, p, q, r];
        }
        out
    }

    /// The residual of every link at a solved posture, not yet divided by its length.
    pub(crate) fn link_residuals(&self, posture: &Posture) -> [kernel::LinkResidual; 5] {
        let rotation = rows_of(&posture.rotation);
        self.links.map(|link| link.residual(&posture.displacement, &rotation))
    }

    /// The 6 × 6 Jacobian at a displacement of the wheel centre (mm) and a rotation of the upright from design: five link
    /// rows, then the driver's row (vertical motion of the wheel centre). No unit.
    ///
    /// Columns are the velocity of the wheel centre in side axes and the angular velocity times
    /// [`ROTATION_SCALE_MM`]. Row `i` is also the wrench that one newton of tension in link `i` puts on the chassis
    /// through the upright, moments about the wheel centre divided by the same length.
    ///
    /// Tested by `tests/kinematics/rates.rs`, `tests/reference/forces.rs`.
    pub fn jacobian(&self, displacement: &Vector3<f64>, rotation: &Matrix3<f64>) -> Matrix6<f64> {
        let mut jacobian = Matrix6::zeros();
        for (i, row) in self.closure(displacement, rotation).rows.iter().enumerate() {
            jacobian.set_row(i, &RowVector6::from_row_slice(row));
        }
        jacobian[(5, 2)] = 1.0;
        jacobian
    }
}

/// Rotation matrix of Rodrigues parameters.
#[inline]
pub(super) fn rotation_of(p: &Vector3<f64>) -> Matrix3<f64> {
    let [a, b, c] = kernel::rotation((*p).into());
    Matrix3::new(a[0], a[1], a[2], b[0], b[1], b[2], c[0], c[1], c[2])
}

/// The rows of a matrix as plain numbers.
#[inline]
pub(super) fn rows_of(m: &Matrix3<f64>) -> [kernel::Triple; 3] {
    std::array::from_fn(|i| [m[(i, 0)], m[(i, 1)], m[(i, 2)]])
}

/// Rate of Rodrigues parameters under the angular velocity `omega` (chassis frame).
#[inline]
pub(super) fn rodrigues_rate(p: &Vector3<f64>, omega: &Vector3<f64>) -> Vector3<f64> {
    kernel::rodrigues_rate((*p).into(), (*omega).into()).into()
}

#[cfg(test)]
mod tests {
    use super::{rodrigues_rate, rotation_of};
    use nalgebra::{Rotation3, Vector3};

    const AXIS: Vector3<f64> = Vector3::new(0.3, -0.7, 0.2);
    /// Below and above half a turn, rad.
    const ANGLES: [f64; 4] = [0.83, -2.9, 3.3, 5.1];

    fn rodrigues_of(angle: f64) -> Vector3<f64> {
        AXIS.normalize() * (angle / 4.0).tan()
    }

    #[test]
    fn rodrigues_parameters_are_the_rotation_by_axis_and_angle() {
        for angle in ANGLES {
            let expected = Rotation3::from_scaled_axis(AXIS.normalize() * angle);
            assert!((rotation_of(&rodrigues_of(angle)) - expected.matrix()).norm() < 2e-15, "{angle}");
        }
    }

    #[test]
    fn the_rate_of_rodrigues_parameters_turns_the_matrix_by_omega() {
        let (omega, h) = (Vector3::new(0.5, -1.1, 0.7), 1e-6);
        for p in ANGLES.map(rodrigues_of) {
            let rate = rodrigues_rate(&p, &omega);
            let difference = (rotation_of(&(p + rate * h)) - rotation_of(&(p - rate * h))) / (2.0 * h);
            assert!((difference - omega.cross_matrix() * rotation_of(&p)).norm() < 1e-9, "{p}");
        }
    }
}
