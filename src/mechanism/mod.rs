//! Five links of fixed length and an upright: [`Linkage`] → [`Posture`] at every bump travel → [`WheelPath`].
//!
//! To be read in this order:
//!
//! 1. `kernel`: rotation, link residual and elimination on plain numbers, shared with the batch;
//! 2. `linkage`: the closure equations of one corner and their Jacobian ([`Linkage`]);
//! 3. `pivot_order`: the order in which the five link rows are eliminated;
//! 4. `posture`: where the upright stands and how it moves ([`Posture`], [`Motion`]);
//! 5. `solve`: Newton's method for one posture ([`SolveError`]);
//! 6. `walker`: predictor, corrector and branch tests of one step along the path;
//! 7. `path`: all postures of a wheel between its stops, and where it binds ([`WheelPath`], [`Bind`]);
//! 8. `built`: the corner as the shop builds it, pickups a little off ([`PickupErrors`]);
//! 9. `sensitivity`: derivatives of a posture by every pickup coordinate ([`PostureSensitivity`]);
//! 10. `conditioning`: the margin against binding, and the links that carry a bind;
//! 11. `statics`: what the links and the spring carry when something acts on the upright ([`Wrench`], [`Strut`]).
//!
//! Works on points and lengths in side axes (x forward, y outboard, z up; mm, rad). Knows nothing of files, tyres or the
//! road. Equations: `docs/theory.md`, from "The closed links" to "One path per wheel".

mod built;
mod conditioning;
pub(crate) mod kernel;
mod linkage;
mod path;
mod pivot_order;
mod posture;
mod second_order;
mod sensitivity;
mod solve;
mod statics;
mod walker;

pub use built::{BuildFailure, LinkSetting, PickupErrors};
pub use conditioning::{NEARLY_SINGULAR, SINGULAR, independent_links_at_design, margin_at_design};
pub(crate) use linkage::LinkConstants;
pub use linkage::{Linkage, ROTATION_SCALE_MM};
pub use path::{Bind, WheelPath};
pub(crate) use posture::turned;
pub use posture::{Motion, Posture, UprightPose};
pub use second_order::Acceleration;
pub use sensitivity::{LinkGradient, PoseGradient, PostureSensitivity};
pub use solve::{MAX_CLOSURE_ERROR_MM, SolveError};
pub use statics::{Flexibility, SpringDoesNotHold, Strut, Tensions, Wrench, tensions, travel_held_stretch};
// An inside of `WheelPath`; public for the bench that times it and the test that counts its allocations.
#[doc(hidden)]
pub use walker::Walker;
