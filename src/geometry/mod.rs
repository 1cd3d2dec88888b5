//! The geometry file and what it means: TOML in, a checked [`Geometry`] in millimetres out.
//!
//! In reading order: `read` (path → text → [`GeometryFile`]), `file` (the keys as written), `values` and `reader` (what a
//! key can hold, and the walk that notes every mistake), `corner`, `seat` and `check` (relations between values), `model`,
//! `freedom`, `targets` and `weld` (what comes out), `problem` and `error` (how mistakes look), `warnings` (what a sound
//! file may still have error), `rewrite` (a changed geometry back into its file).

mod axis;
mod check;
mod corner;
mod error;
mod file;
mod freedom;
mod interval;
mod model;
mod points;
mod problem;
mod quantity;
mod read;
mod reader;
mod rewrite;
mod seat;
mod side;
mod starter;
mod targets;
mod tyre;
mod values;
mod warnings;
mod weld;

pub use axis::{Axis, Coordinate, End, Pickup};
pub use error::ReadError;
pub use file::UprightAxes;
pub use freedom::{AdjustmentRange, Free, Tube, TubeAdjustment};
pub use interval::Interval;
pub use model::{Car, Corner, Geometry, Halfshaft, LengthUnit, Link, Spring, SpringMount, Travel, Wheel};
pub use points::CornerPoint;
pub use problem::Problem;
pub use quantity::{Definition, LimitKey, Limits, Needs, Over, Quantity, TargetForm, TargetKey, Unit, Whose};
pub use read::GeometryFile;
pub use rewrite::{RewriteError, rewrite};
pub use side::{PerSide, Side};
pub use starter::{StarterError, StarterRequest, Untouched, starter_text, untouched_points};
pub use targets::{Target, Targets, ToeTarget};
pub use tyre::{Construction, Tyre, TyreError};
pub use warnings::warnings;
pub use weld::{Tape, Weld, WeldGroup};
