//! Brackets that tuning moves off the tube on which they are drawn: from then on the tube is a part like every other.

use nalgebra::Point3;

use crate::file::GeometryFile;
use crate::geometry::{Corner, Geometry, Quantity, Side, Tube};
use crate::studies::design_variables::DesignVariables;
use crate::studies::tune::{ResidualOf, SearchOptions, TuneProblem, tune};
use crate::studies::{JudgedCar, Rig};

/// The first cut with the bracket of its toe link, at z = 255 mm, on a rail of 30 mm below it.
fn with_rail(z_mm: f64) -> Geometry {
    let text = include_str!("../../../../geometries/first-cut.toml");
    let mut geometry = GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry;
    geometry.tubes.push(Tube {
        name: "rail".to_owned(),
        from: Point3::new(-300.0, 376.0, z_mm),
        to: Point3::new(-60.0, 376.0, z_mm),
        od_mm: Some(30.0),
        wall_mm: None,
        material: None,
    });
    geometry
}

/// Least gap of the toe link to the rail, where they are a pair, mm.
fn gap_to_rail_mm(geometry: &Geometry, left: &Corner) -> Option<f64> {
    let right = Corner { side: Side::Right, ..left.clone() };
    let car = Geometry { left: left.clone(), right, ..geometry.clone() };
    let found = JudgedCar::of(Rig::new(&car).expect("a sound design"));
    found.clearance.left.pairs.iter().find(|of| of.pair == "toe link / tube rail").map(|of| of.least_mm)
}

/// Held at design height alone, the link came to within 1.0 mm of it in droop.
#[test]
fn a_bracket_that_leaves_its_tube_keeps_the_least_gap_over_the_travel() {
    let geometry = with_rail(234.0);
    assert_eq!(gap_to_rail_mm(&geometry, &geometry.left), None, "drawn on the rail");
    let options = SearchOptions { starts: 8, ..SearchOptions::default() };
    let side = tune(&geometry, &[Side::Left], &options, &|car| Some(car.clone())).expect("a tuned side").swap_remove(0);
    let answers: Vec<_> = side.answers.iter().chain(&side.forgiving).collect();
    let gaps_mm: Vec<Option<f64>> = answers.iter().map(|answer| gap_to_rail_mm(&geometry, &answer.corner)).collect();
    let least_mm = geometry.clearance.least_mm();
    assert!(gaps_mm.iter().flatten().all(|gap_mm| *gap_mm >= least_mm), "{gaps_mm:?} mm");
    assert!(gaps_mm.iter().flatten().count() > 0, "none leaves the rail: {gaps_mm:?}");
    assert!(answers.iter().all(|answer| answer.limits_hold));
}

/// A bracket whose link is 4.99 mm and less from its tube is bolted to it, and no gap is asked for; the last hundredth, which the digits of
/// a file could part, is nobody's. From 32.7 mm between the middle lines on the two are a pair.
#[test]
fn a_bracket_on_its_tube_asks_for_no_gap() {
    let lacks_gap = |apart_mm: f64| {
        let geometry = with_rail(255.0 - apart_mm);
        let variables = DesignVariables::of(&geometry, Side::Left);
        let problem = TuneProblem::new(&geometry, Side::Left, variables, None);
        let drawn = problem.evaluate(&vec![0.0; problem.variables.list.len()]).expect("a car that moves");
        let gaps = drawn.limits.iter().filter(|limit| limit.subject == ResidualOf::Limit(Quantity::Clearance));
        gaps.filter(|gap| gap.scaled() != 0.0).count() > 0
    };
    assert_eq!([21.0, 32.68, 32.695].map(lacks_gap), [false, false, true]);
}
