//! Five links of fixed length and an upright, as closure equations: [`Linkage`] → [`Posture`] → [`WheelPath`].
//!
//! `kernel` holds the formulas on plain numbers, shared with the batch; [`Variation`] is a corner as it was built.
//!
//! Knows points and lengths in side axes; knows nothing of files, of tyres or of the road.

mod closure;
mod conditioning;
pub(crate) mod kernel;
mod motion;
mod path;
mod response;
mod row_order;
mod solve;
mod variation;

pub(crate) use closure::Bar;
pub use closure::{Linkage, ROTATION_SCALE_MM};
pub use conditioning::{NEARLY_SINGULAR, SINGULAR, independent_links_at_design, margin_at_design};
pub use motion::Motion;
pub use path::{Bind, Walker, WheelPath};
pub use response::{LinkGradient, PoseGradient, Response};
pub use solve::{GUARANTEED_MM, Posture, Solved, Stop};
pub use variation::{Lengths, Lost, Variation};
