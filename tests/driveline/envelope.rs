//! Extremes over the travel against 10,000 postures, over ride height and roll against a brute grid, and the slopes that find
//! them against differences.

use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Geometry, Halfshaft, Side};
use hubtrace::measures::{ShaftFigure, shaft};
use hubtrace::studies::driveline::{Envelope, HalfshaftFindings};
use hubtrace::studies::{Grid, Rig};
use nalgebra::{Unit, Vector3};

fn car(path: &str) -> Geometry {
    GeometryFile::read(Path::new(path)).unwrap_or_else(|error| panic!("{error}")).geometry
}

/// Cars with shafts that bend all ways; the last two pass through straight, or all but, inside the travel.
fn cars() -> Vec<Geometry> {
    let mut cars: Vec<Geometry> = [
        "geometries/first-cut.toml",
        "geometries/as-built.toml",
        "geometries/semi-trailing.toml",
        "tests/outside/fl-b.toml",
        "tests/outside/near-fold.toml",
    ]
    .map(car)
    .into();
    let mut straight = car("geometries/first-cut.toml");
    let left = &straight.left;
    let halfshaft = left.halfshaft.as_ref().expect("a shaft");
    let axis = Unit::new_normalize(halfshaft.outer - halfshaft.inner);
    for lean in [0.0, 1e-5] {
        let axis = Unit::new_normalize(axis.into_inner() + Vector3::x() * lean + Vector3::z() * 0.021);
        straight.left.halfshaft = Some(Halfshaft { axis, ..straight.left.halfshaft.clone().expect("a shaft") });
        straight.right.halfshaft = straight.left.halfshaft.clone();
        cars.push(straight.clone());
    }
    cars
}

const FIGURES: [ShaftFigure; 3] = [ShaftFigure::Plunge, ShaftFigure::InnerAngle, ShaftFigure::OuterAngle];

fn of(found: &HalfshaftFindings, figure: ShaftFigure) -> Envelope {
    match figure {
        ShaftFigure::Plunge => found.plunge_mm,
        ShaftFigure::InnerAngle => found.inner_angle_deg,
        ShaftFigure::OuterAngle => found.outer_angle_deg,
    }
}

/// Never inside a brute sweep, and beyond it by what 10,000 postures miss alone: half a step times the steepest slope at a
/// kink, or its square elsewhere.
#[test]
fn extremes_are_not_inside_those_of_ten_thousand_postures() {
    for geometry in cars() {
        let rig = Rig::new(&geometry).expect("a car that moves");
        for side in Side::BOTH {
            let wheel = rig.wheel(side);
            let found = HalfshaftFindings::of(wheel).expect("a shaft");
            let (low_mm, high_mm) = wheel.path.reach_mm();
            let at = |k: u32| low_mm + (high_mm - low_mm) * f64::from(k) / 9999.0;
            let postures: Vec<_> =
                (0..10_000).map(|k| wheel.path.at(at(k).clamp(low_mm, high_mm)).expect("there")).collect();
            for figure in FIGURES {
                let values: Vec<f64> =
                    postures.iter().map(|posture| figure.value(wheel.corner, posture).expect("a value")).collect();
                let (least, most) = values.iter().fold((f64::MAX, f64::MIN), |(l, m), v| (l.min(*v), m.max(*v)));
                let steepest = values.windows(2).map(|pair| (pair[1] - pair[0]).abs()).fold(0.0, f64::max);
                let envelope = of(&found, figure);
                let name = format!("{} {side:?} {figure:?}: {envelope:?}, brute {least} to {most}", geometry.name);
                assert!(envelope.low <= least + 1e-9 && envelope.low >= least - steepest, "{name}");
                assert!(envelope.high >= most - 1e-9 && envelope.high <= most + steepest, "{name}");
                // The places are where the values are.
                for (value, bump_mm) in
                    [(envelope.low, envelope.low_at_bump_mm), (envelope.high, envelope.high_at_bump_mm)]
                {
                    let there = figure.value(wheel.corner, &wheel.path.at(bump_mm).expect("there")).expect("a value");
                    assert!((there - value).abs() < 1e-12, "{name}");
                }
            }
        }
    }
}

/// A shaft that goes straight inside the travel has its least angle at a kink, which is found to nothing.
#[test]
fn the_least_angle_of_a_joint_that_goes_straight_is_found_at_its_kink() {
    let cars = cars();
    let [straight, nearly] = [5, 6].map(|k| {
        let rig = Rig::new(&cars[k]).expect("a car that moves");
        HalfshaftFindings::of(rig.wheel(Side::Left)).expect("a shaft").inner_angle_deg
    });
    assert!(
        straight.low < 0.2 && straight.low_at_bump_mm.abs() > 1.0 && straight.at_design > straight.low + 0.5,
        "{straight:?}"
    );
    assert!(nearly.low < 0.2, "{nearly:?}");
}

#[test]
fn roll_and_ride_height_only_choose_where_on_its_path_a_wheel_stands() {
    for geometry in cars() {
        let rig = Rig::new(&geometry).expect("a car that moves");
        let grid = Grid::run(&rig);
        for side in Side::BOTH {
            let found = HalfshaftFindings::of(rig.wheel(side)).expect("a shaft");
            let mut rows = 0;
            for row in grid.rows.of(side) {
                let shaft = row.wheel.shaft.expect("a shaft");
                for (value, envelope) in [
                    (shaft.plunge_mm, found.plunge_mm),
                    (shaft.inner_angle_deg, found.inner_angle_deg),
                    (shaft.outer_angle_deg, found.outer_angle_deg),
                ] {
                    assert!((envelope.low - 1e-9..=envelope.high + 1e-9).contains(&value), "{value} {envelope:?}");
                }
                rows += 1;
            }
            assert!(rows > 30, "{rows}");
        }
    }
}

#[test]
fn the_slope_that_finds_an_extreme_is_that_of_the_figure() {
    for geometry in cars().into_iter().take(4) {
        let rig = Rig::new(&geometry).expect("a car that moves");
        for side in Side::BOTH {
            let (wheel, h) = (rig.wheel(side), 1e-4);
            for bump_mm in [-21.3, -4.0, 3.7, 22.9] {
                let at = |mm: f64| wheel.path.at(mm).expect("there");
                for figure in FIGURES {
                    // Of the angles half the squared sine is compared.
                    let value = |mm: f64| {
                        let value = figure.value(wheel.corner, &at(mm)).expect("a value");
                        if figure == ShaftFigure::Plunge { value } else { 0.5 * value.to_radians().sin().powi(2) }
                    };
                    let difference = (value(bump_mm + h) - value(bump_mm - h)) / (2.0 * h);
                    let slope = figure.turning(wheel.corner, &at(bump_mm)).expect("a value");
                    assert!((slope - difference).abs() < 1e-8, "{figure:?} at {bump_mm}: {slope} {difference}");
                }
            }
        }
    }
}

#[test]
fn nothing_is_found_of_a_wheel_without_a_shaft() {
    let mut geometry = car("geometries/first-cut.toml");
    geometry.left.halfshaft = None;
    let rig = Rig::new(&geometry).expect("a car that moves");
    assert!(HalfshaftFindings::of(rig.wheel(Side::Left)).is_none());
    assert!(shaft(&geometry.left, rig.wheel(Side::Left).design_posture()).is_none());
}
