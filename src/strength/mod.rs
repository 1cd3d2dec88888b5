//! What parts bear, by the formulas and tables of the handbooks: pure functions of sizes and loads, N, mm and MPa.
//!
//! In reading order: `material` (tube steels and aluminium by the designation of their standard), `section` (round and square
//! tubes), `member` (a straight bar on two ball joints: pull, push, bending), `thread` and `bolt` (stress area, classes, shear
//! and bending of a bolt in its bracket), `rod_end`, `stock` (tube sizes that are sold), `beam` (a frame tube
//! between its nodes). Knows no car.
//!
//! A *reserve* is what a part bears over what it is asked to bear (no unit): below 1 it breaks on paper. Yield, buckling and a
//! maker's static rating count as breaking. Nothing here knows welds, fatigue, notches or shock.

mod beam;
mod bolt;
mod bolt_group;
mod material;
mod member;
mod rod_end;
mod section;
mod stock;
mod thread;

pub use beam::{built_in_stiffness_n_per_mm, hinged_bending_nm, hinged_stiffness_n_per_mm};
pub use bolt::{Bolt, BoltClass, ShearPlanes};
pub use bolt_group::{BoltShare, GroupBolt, bolt_group};
pub use material::{Material, MaterialError};
pub use member::{BarLoad, euler_n, johnson_euler_n, pull_and_bending_reserve, push_and_bending_reserve};
pub use rod_end::{ENGAGEMENT_IN_DIAMETERS, held_shank_reserve, shank_reserve, static_reserve};
pub use section::{RoundTube, SquareTube};
pub use stock::STANDARD_TUBES;
pub use thread::{Thread, ThreadError};
