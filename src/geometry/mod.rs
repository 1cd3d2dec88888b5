//! The geometry file and what it means: TOML in, a checked [`Geometry`] in millimetres out.

mod model;

pub use model::{
    Band, Car, Corner, Geometry, Halfshaft, LengthUnit, Limits, Link, Side, Spring, SpringMount, Travel, Wheel,
};
