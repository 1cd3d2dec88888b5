//! Shop sheets: tables to weld and tape by, and points for CAD.
//!
//! In reading order: `source` (what every sheet says of where it is from), `tables` (CSV), `dxf` (points for CAD).

mod dxf;
mod source;
mod tables;

pub use dxf::points_dxf;
pub use source::{CarState, SheetSource};
pub use tables::{bracket_places_csv, clocking_csv, named_points_csv, tape_check_csv};
