//! Of two sides that differ, the one that is odd is told.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::Side;
use hubtrace::studies::CheckFindings;
use hubtrace::studies::plausibility::{Doubt, doubts};

const DEMO: &str = include_str!("../../geometries/first-cut.toml");

fn doubts_of(text: &str) -> Vec<Doubt> {
    doubts(&GeometryFile::parse("car.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry)
}

/// The left one is as it was drawn.
#[test]
fn the_side_that_is_odd_is_the_one_that_is_told() {
    let right =
        "\n[[right.link]]\nname = \"upper front\"\nchassis = [150.0, -380.0, 400.0]\nupright = [28.0, -655.0, 405.0]\n";
    let own = format!("{DEMO}{right}");
    assert_eq!(doubts_of(&own), []);
    let side_of = |piece: &str, other: &str| {
        assert!(own.contains(piece));
        let at = own.rfind(piece).expect("a piece");
        let found = doubts_of(&format!("{}{other}{}", &own[..at], &own[at + piece.len()..]));
        found.into_iter().map(|doubt| (doubt.side, doubt.sentence)).collect::<Vec<_>>()
    };
    for (piece, other) in [("-380.0, 400.0]", "-380.0, 440.0]"), ("-655.0, 405.0]", "-655.0, 345.0]")] {
        let found = side_of(piece, other);
        assert!(!found.is_empty() && found.iter().all(|(side, _)| *side == Some(Side::Right)), "{found:#?}");
    }
}

/// The left wheel lacks the width of its tyre, and the right one its rim too.
#[test]
fn what_is_not_checked_of_both_sides_is_named_once() {
    let file = GeometryFile::parse("car.toml", DEMO).unwrap_or_else(|error| panic!("{error}"));
    let mut car = file.geometry;
    car.mirrored = false;
    car.right.wheel.rim_radius_mm = None;
    let findings = CheckFindings::of(&car).expect("a sound car");
    let of_bodies = findings.lacking.iter().find(|lacking| lacking.what.starts_with("clearance of")).expect("one");
    assert_eq!(of_bodies.what.matches("tyre and rim").count(), 1, "{of_bodies:?}");
    let needs = "tyre_width in [wheel], rim_radius and tyre_width in [right.wheel]";
    assert!(of_bodies.needs.contains(needs), "{of_bodies:?}");
}
