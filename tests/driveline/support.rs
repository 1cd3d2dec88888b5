//! Cars made of the test corner and a driveline.

use hubtrace::file::GeometryFile;

const CORNER: &str = include_str!("../good/corner.toml");

/// The test corner with these tables behind its own.
pub fn car(tables: &str) -> GeometryFile {
    GeometryFile::parse("car.toml", &format!("{CORNER}\n{tables}")).unwrap_or_else(|error| panic!("{error}"))
}
