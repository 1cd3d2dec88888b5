//! The geometry file: TOML in, a checked [`Geometry`](crate::geometry::Geometry) out, and back.
//!
//! In reading order: `source_file` (path → text → document), `syntax` and `unquoted` (a text
//! that is no TOML), `geometry_file` (document → [`GeometryFile`]), `tables` (one
//! file a table: its keys, its checks, what it means, how it is written back), `reader` (the walk over a table, the kinds of
//! value, the list of mistakes), `problem` and `error` (mistakes), `rewrite` and `edits` (a changed
//! geometry back into its file), `as_built` (the same of a car whose sides differ), `tuned_mark` (of a car as tuning left it), `measured` and `points_text` (measured points into a file, or as pieces of one), `starter` (the
//! file to begin with). Other TOML files are read with `source_file` and `reader` too.

mod as_built;
mod edits;
mod error;
mod geometry_file;
mod locate;
mod measured;
mod points_text;
mod problem;
pub(crate) mod reader;
mod rewrite;
mod same_lines;
pub(crate) mod source_file;
mod starter;
mod syntax;
mod tables;
mod tuned_mark;
mod unquoted;

pub use as_built::{lacking_right_lines, rewrite_as_built};
pub use error::ReadError;
pub use geometry_file::GeometryFile;
pub use measured::{MeasuredFile, with_measured};
pub use points_text::points_text;
pub use problem::Problem;
pub use reader::MAX_MM as MAX_LENGTH_MM;
pub use rewrite::{RewriteError, rewrite};
pub use starter::{
    Construction, StarterError, StarterPoints, StarterRequest, Tyre, TyreError, Untouched, demo_to_go_on_with,
    starter_text, untouched_points,
};
