//! What the shop is told of a car: tape distances that give the pickups back, rod ends that stay inside their limit.

mod clocking;
mod cut_list;
mod notch;
mod setting;
mod tape;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::Geometry;

/// Five places of a frame round the demo car.
const DATUMS: &str = r#"
[[datum]]
name = "main hoop left foot"
at = [900.0, 450.0, 120.0]

[[datum]]
name = "main hoop right foot"
at = [900.0, -450.0, 120.0]

[[datum]]
name = "tail left"
at = [-420.0, 300.0, 150.0]

[[datum]]
name = "tail right"
at = [-420.0, -300.0, 150.0]

[[datum]]
name = "hoop top"
at = [880.0, 0.0, 1150.0]
"#;

fn demo() -> String {
    include_str!("../../geometries/first-cut.toml").to_owned()
}

fn car(text: &str) -> Geometry {
    GeometryFile::parse("car.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry
}
