//! What the tyre and the halfshaft do to an upright: the loads that a file asks about.
//!
//! Vectors are in the side axes of a wheel (x forward, **y outboard**, z up), so that one load means the same to both
//! wheels. A moment is that of a left wheel; it is mirrored with the wheel.

use nalgebra::Vector3;

use super::side::Side;

/// One `[[load]]` of the file: what acts on one wheel, or on each of them, in a case.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Name of the case; loads of one name act together.
    pub case: String,
    /// The wheel it acts on; `None` for each of the two.
    pub side: Option<Side>,
    /// What acts there.
    pub on_wheel: WheelLoad,
}

/// Forces and a moment on one wheel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct WheelLoad {
    /// Force of the road on the tyre at the contact point, N.
    pub contact_n: Option<Vector3<f64>>,
    /// The same in multiples of the static load of one wheel (no unit).
    pub contact_times_static: Option<Vector3<f64>>,
    /// Force at the wheel centre, N.
    pub centre_n: Option<Vector3<f64>>,
    /// Moment, N·m, such as the aligning torque of the tyre; right-hand rule on a left wheel.
    pub moment_nm: Option<Vector3<f64>>,
    /// What takes the torque of the contact force about the spindle; always known when that force has an x part.
    pub torque_to: Option<TorquePath>,
}

impl WheelLoad {
    /// Whether the file gives nothing that acts.
    pub fn is_empty(&self) -> bool {
        let vectors = [self.contact_n, self.contact_times_static, self.centre_n, self.moment_nm];
        vectors.iter().all(Option::is_none)
    }
}

/// What takes the torque of a wheel about its spindle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TorquePath {
    /// A brake on the upright: the wheel is locked to it.
    Upright,
    /// The halfshaft, to a final drive or a brake on the frame: the wheel turns in its bearing.
    Halfshaft,
}

impl TorquePath {
    /// As the file writes it.
    pub const BY_NAME: [(&'static str, Self); 2] = [("upright", Self::Upright), ("halfshaft", Self::Halfshaft)];

    /// `upright` or `halfshaft`.
    pub fn name(self) -> &'static str {
        match self {
            Self::Upright => "upright",
            Self::Halfshaft => "halfshaft",
        }
    }
}
