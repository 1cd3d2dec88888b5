//! First-order motion of the upright along its path.

use nalgebra::Vector3;

/// Velocity of the upright per millimetre of bump travel, from the implicit-function theorem on the closed links.
///
/// With `J` the Jacobian of the closure equations, `J (v, ω) = (0, 0, 0, 0, 0, 1)`. In side axes; never a difference of
/// solved postures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion {
    /// Velocity of the wheel centre, mm per mm; its z is 1.
    pub velocity: Vector3<f64>,
    /// Angular velocity, rad per mm.
    pub angular: Vector3<f64>,
}
