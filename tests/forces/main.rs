//! Forces in links, spring and brackets, their load cases, and what the parts bear.

mod balance;
mod cases;
mod compliance;
mod frame;
mod margins;
mod mounts;
mod strap;

use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::Geometry;

/// A file of this repository.
fn geometry(path: &str) -> Geometry {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    GeometryFile::read(&path).unwrap_or_else(|error| panic!("{error}")).geometry
}
