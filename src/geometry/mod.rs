//! The geometry file and what it means: TOML in, a checked [`Geometry`] in millimetres out.

mod model;
mod starter;
mod tyre;

pub use model::{
    Band, Car, Corner, Geometry, Halfshaft, LengthUnit, Limits, Link, Side, Spring, SpringMount, Travel, Wheel,
};
pub use starter::{StarterError, StarterRequest, Untouched, starter_text, untouched_points};
pub use tyre::{Construction, Tyre, TyreError};
