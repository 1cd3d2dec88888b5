//! Five links of fixed length and an upright, as closure equations: [`Linkage`] → [`Posture`] → [`WheelPath`].
//!
//! `kernel` holds the formulas on plain numbers, shared with the batch; [`PickupErrors`] is a corner as it was built.
//!
//! Knows points and lengths in side axes; knows nothing of files, of tyres or of the road.

mod closure;
mod conditioning;
pub(crate) mod kernel;
mod motion;
mod path;
mod pivot_order;
mod sensitivity;
mod solve;
mod variation;

pub(crate) use closure::LinkConstants;
pub use closure::{Linkage, ROTATION_SCALE_MM};
pub use conditioning::{NEARLY_SINGULAR, SINGULAR, independent_links_at_design, margin_at_design};
pub use motion::Motion;
pub use path::{Bind, Walker, WheelPath};
pub use sensitivity::{LinkGradient, PoseGradient, PostureSensitivity};
pub use solve::{GUARANTEED_MM, Posture, Solved, StopReason};
pub use variation::{BuildFailure, LinkSetting, PickupErrors};
