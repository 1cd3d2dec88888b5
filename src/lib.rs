//! Rear five-link suspension for someone who builds one car.
//!
//! Data flows one way; a module may use what stands before it in this list, never what stands after:
//!
//! 0. [`strength`]: what tubes, bolts and rod ends bear, by handbook formulas; it knows no car;
//! 1. [`geometry`]: a checked car, millimetres and degrees: points, links, travel, limits, what may move;
//! 2. [`mod@file`]: the TOML file → a [`geometry::Geometry`] or every mistake with its line, and a changed car back into it;
//! 3. [`survey`]: tape distances and bench measurements, for the time before there is a geometry;
//! 4. [`gauge`]: readings taken at the finished car;
//! 5. [`mechanism`]: five links of fixed length and an upright → a [`mechanism::Posture`] at every bump travel;
//! 6. [`measures`]: toe, camber, track, joint angles … as small pure functions of a posture;
//! 7. [`shafts`]: universal joints, tubes in torsion and bending, balance: shafts that move no wheel;
//! 8. [`batch`]: toe and camber of many built corners of one drawing, sixteen solved at a time;
//! 9. [`studies`]: a geometry → one finished finding for each question: sweep, cure, tuning, weld study, forces, driveline,
//!    correction;
//! 10. [`present`]: a finding in words: numbers with units, names, sentences;
//! 11. [`outputs`]: a finding as files: CSV, JSON, SVG, DXF;
//! 12. `live` (feature `live`, on by default): a car on a page of this computer;
//! 13. `cli` (feature `cli`, on by default): the command line, which other code can run in process.
//!
//! ```
//! use std::path::Path;
//!
//! use hubtrace::file::GeometryFile;
//! use hubtrace::geometry::Side;
//! use hubtrace::studies::{JudgedCar, Rig};
//!
//! let file = GeometryFile::read(Path::new("geometries/first-cut.toml"))?;
//! let car = JudgedCar::of(Rig::new(&file.geometry)?);
//! let curve = &car.toe[Side::Left];
//! assert!(curve.worst_bump_steer_deg > 0.05, "the first cut steers on purpose");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Every error says what was found and carries its values; a value that cannot be known is `None`, never a zero.
//!
//! Axes as in ISO 8855: x forward, y left, z up; lengths mm, angles degrees at every boundary and radians inside. One
//! corner is worked in *side axes* (y outboard), so a right wheel uses the formulas of the left one. The definitions and
//! signs of everything printed are in `docs/conventions.md`, the equations in `docs/theory.md`.

#![warn(unnameable_types)]
// A test may unwrap; what a user can cause may not.
#![cfg_attr(not(test), warn(clippy::unwrap_used))]

pub mod batch;
#[cfg(feature = "cli")]
pub mod cli;
pub mod file;
pub mod gauge;
pub mod geometry;
#[cfg(feature = "live")]
pub mod live;
pub mod measures;
pub mod mechanism;
pub mod outputs;
mod plain_text;
pub mod present;
pub mod shafts;
pub mod strength;
pub mod studies;
pub mod survey;
