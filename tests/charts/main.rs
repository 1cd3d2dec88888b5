//! The charts, read from their SVG: sound XML, every axis with its unit, every limit with its number; `layout` has what every
//! sheet has, `places` where curves stand, `views` the drawings, `weld` the sheets of the weld study.

mod layout;
mod paper;
mod places;
mod views;
mod weld;

use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Geometry, Interval, LengthUnit, Quantity, Side};
use hubtrace::outputs::{CarShown, ChartSource, charts};
use hubtrace::studies::{CarFindings, JudgedCar, Rig};
use roxmltree::Document;

fn car(name: &str) -> Geometry {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("geometries").join(name);
    GeometryFile::read(&path).expect("a sound geometry").geometry
}

fn drawn(geometry: &Geometry, sides: &[Side]) -> Vec<(String, String)> {
    let car = CarFindings::of(JudgedCar::of(Rig::new(geometry).expect("a car that moves")), sides);
    let source = ChartSource { file: "cars/rear.toml", input_sha256: "0123456789abcdef", car: CarShown::AsInFile };
    charts(&car, source).expect("charts")
}

/// Every text of one chart, one a line.
fn words(charts: &[(String, String)], name: &str) -> String {
    let (_, svg) = charts.iter().find(|(file, _)| file == name).expect("the chart is drawn");
    let document = Document::parse(svg).expect("sound XML");
    let texts = document.descendants().filter(|node| node.has_tag_name("text")).filter_map(|node| node.text());
    texts.map(str::trim).collect::<Vec<_>>().join("\n")
}

fn assert_contains(words: &str, expected: &[&str]) {
    for part in expected {
        assert!(words.contains(part), "{part:?} is missing in:\n{words}");
    }
}

const ALL: [&str; 14] = [
    "anti-squat.svg",
    "camber.svg",
    "clearance.svg",
    "joint-angles.svg",
    "plunge.svg",
    "recession.svg",
    "rod-ends.svg",
    "roll-centre.svg",
    "roll-steer.svg",
    "scrub.svg",
    "toe.svg",
    "view-front.svg",
    "view-plan.svg",
    "view-side.svg",
];

#[test]
fn every_car_gets_every_chart_as_sound_xml_without_a_broken_number() {
    for name in ["first-cut.toml", "double-wishbone.toml", "semi-trailing.toml", "as-built.toml"] {
        let charts = drawn(&car(name), &Side::BOTH);
        let mut files: Vec<&str> = charts.iter().map(|(file, _)| file.as_str()).collect();
        files.sort_unstable();
        let has_bolts = name == "first-cut.toml";
        assert_eq!(files, ALL.into_iter().filter(|file| has_bolts || *file != "rod-ends.svg").collect::<Vec<_>>());
        for (file, svg) in &charts {
            Document::parse(svg).unwrap_or_else(|error| panic!("{name}, {file}: {error}"));
            assert!(!["NaN", "inf", "e-1"].iter().any(|broken| svg.contains(broken)), "{name}, {file}");
        }
    }
}

#[test]
fn titles_say_what_whose_and_in_which_unit() {
    let charts = drawn(&car("first-cut.toml"), &Side::BOTH);
    let car = "Teasel hillclimb special, rear, first cut";
    assert_contains(&words(&charts, "toe.svg"), &[car, "Bump steer", "deg per wheel", "mm (bump up, droop down)"]);
    assert_contains(&words(&charts, "camber.svg"), &[car, "Camber", "deg ("]);
    assert_contains(&words(&charts, "scrub.svg"), &[car, "Scrub", "mm per wheel"]);
    assert_contains(&words(&charts, "plunge.svg"), &[car, "plunge", "mm (joint pulled apart"]);
    assert_contains(&words(&charts, "clearance.svg"), &["gap between surfaces, mm", "lower front / lower rear"]);
    assert_contains(&words(&charts, "joint-angles.svg"), &[car, "inner joint", "outer joint", "deg (0"]);
    assert_contains(&words(&charts, "roll-steer.svg"), &[car, "axle", "left wheel", "right wheel", "deg"]);
    assert_contains(&words(&charts, "roll-centre.svg"), &[car, "height above the road", "mm"]);
    assert_contains(&words(&charts, "view-plan.svg"), &[car, "from above", "100 mm", "60 mm of droop", "5 toe link"]);
}

#[test]
fn limits_are_drawn_with_their_numbers() {
    let charts = drawn(&car("first-cut.toml"), &Side::BOTH);
    assert_contains(&words(&charts, "toe.svg"), &["bump-steer limit 0.05 deg", "bump-steer limit −0.05 deg"]);
    assert_contains(
        &words(&charts, "camber.svg"),
        &["limit at −3.1 deg", "limit at 0.1 deg", "The limit is one of the change of camber"],
    );
    assert_contains(&words(&charts, "scrub.svg"), &["scrub limit 13 mm"]);
    assert_contains(&words(&charts, "plunge.svg"), &["plunge window −10 mm", "plunge window 10 mm"]);
    assert_contains(&words(&charts, "clearance.svg"), &["gap between surfaces, mm", "lower front / lower rear"]);
    assert_contains(&words(&charts, "joint-angles.svg"), &["inner joint limit 14 deg", "outer joint limit 14 deg"]);
    assert_contains(&words(&charts, "roll-steer.svg"), &["roll-steer limit 0.3 deg"]);
}

/// Two donor shafts that plunge unlike each other: every line says whose it is, and a chart of one wheel has its own lines alone.
#[test]
fn a_limit_of_one_wheel_is_drawn_for_that_wheel() {
    let mut geometry = car("as-built.toml");
    let shaft = geometry.right.halfshaft.as_mut().expect("a halfshaft");
    (shaft.plunge_window_mm, shaft.inner_limit_deg) = (Some(Interval { low: -6.0, high: 7.0 }), Some(17.0));
    let both = drawn(&geometry, &Side::BOTH);
    let windows = ["−10 mm, left", "10 mm, left", "−6 mm, right", "7 mm, right"];
    assert_contains(
        &words(&both, "plunge.svg"),
        &windows.map(|of| format!("plunge window {of}")).each_ref().map(String::as_str),
    );
    assert_contains(
        &words(&both, "joint-angles.svg"),
        &["inner joint limit 14 deg, left", "inner joint limit 17 deg, right"],
    );
    // 1.6 deg either way of -1.50 deg on the left and -1.38 deg on the right.
    let camber = ["−3.1 deg, left", "0.1 deg, left", "−2.98 deg, right", "0.22 deg, right"];
    assert_contains(
        &words(&both, "camber.svg"),
        &camber.map(|of| format!("limit at {of}")).each_ref().map(String::as_str),
    );
    let right = words(&drawn(&geometry, &[Side::Right]), "plunge.svg");
    assert_contains(&right, &["plunge window −6 mm", "plunge window 7 mm"]);
    assert!(!right.contains("plunge window 10 mm"), "{right}");
}

#[test]
fn the_worst_bump_steer_is_the_one_of_the_study() {
    let toe = words(&drawn(&car("first-cut.toml"), &Side::BOTH), "toe.svg");
    assert_contains(&toe, &["worst −0.518 deg", "(−3.76 mm over 416 mm) at 60 mm of bump"]);
}

#[test]
fn a_mirrored_car_has_one_curve_and_an_uneven_one_has_two() {
    let one = words(&drawn(&car("first-cut.toml"), &Side::BOTH), "camber.svg");
    assert_eq!(one.lines().filter(|line| *line == "left and right").count(), 1);
    let two = words(&drawn(&car("as-built.toml"), &Side::BOTH), "camber.svg");
    assert!(two.lines().any(|line| line == "left") && two.lines().any(|line| line == "right"));
}

#[test]
fn only_the_wheel_asked_for_is_shown() {
    let charts = drawn(&car("as-built.toml"), &[Side::Right]);
    let toe = words(&charts, "toe.svg");
    assert!(toe.lines().any(|line| line == "right") && !toe.lines().any(|line| line == "left"));
    assert!(!words(&charts, "view-front.svg").contains("Left wheel"));
}

#[test]
fn names_with_the_signs_of_xml_come_through() {
    let mut geometry = car("first-cut.toml");
    geometry.name = "A & B <\"'>".to_owned();
    geometry.left.links[0].name = "up <&\" front".to_owned();
    let charts = drawn(&geometry, &Side::BOTH);
    assert_contains(&words(&charts, "view-side.svg"), &["A & B <\"'>", "up <&\" front"]);
}

#[test]
fn an_inch_car_is_drawn_in_inches() {
    let charts = drawn(&Geometry { units: LengthUnit::Inch, ..car("first-cut.toml") }, &Side::BOTH);
    assert_contains(&words(&charts, "toe.svg"), &["from design height, in (", "in over 16.378 in"]);
    assert_contains(&words(&charts, "view-side.svg"), &["5 in"]);
    for (file, _) in &charts {
        assert!(!words(&charts, file).contains(" mm"), "{file}");
    }
}

#[test]
fn a_study_of_the_design_row_alone_is_drawn_as_a_point() {
    let mut geometry = car("first-cut.toml");
    (geometry.travel.bump_mm, geometry.travel.droop_mm, geometry.travel.roll_deg) = (0.0, 0.0, 0.0);
    let charts = drawn(&geometry, &Side::BOTH);
    assert_eq!(charts.len(), ALL.len());
    let (_, toe) = charts.iter().find(|(file, _)| file == "toe.svg").expect("toe.svg");
    assert!(toe.contains("<circle"));
}

/// Without a limit the axis of a curve that is flat to rounding still has a range and readable numbers.
#[test]
fn a_flat_curve_has_a_readable_axis() {
    let mut geometry = car("first-cut.toml");
    geometry.limits.set(Quantity::BumpSteer, None);
    (geometry.travel.bump_mm, geometry.travel.droop_mm) = (1e-6, 1e-6);
    let toe = words(&drawn(&geometry, &Side::BOTH), "toe.svg");
    assert_contains(&toe, &["−0.010", "0.000", "0.010"]);
}

#[test]
fn without_a_halfshaft_its_charts_are_left_out() {
    let mut geometry = car("first-cut.toml");
    (geometry.left.halfshaft, geometry.right.halfshaft) = (None, None);
    let charts = drawn(&geometry, &Side::BOTH);
    assert!(!charts.iter().any(|(file, _)| file == "plunge.svg" || file == "joint-angles.svg"));
}

#[test]
fn a_wheel_that_binds_is_drawn_as_far_as_it_goes() {
    let mut geometry = car("first-cut.toml");
    (geometry.travel.bump_mm, geometry.travel.droop_mm) = (500.0, 500.0);
    let charts = drawn(&geometry, &Side::BOTH);
    assert_contains(&words(&charts, "toe.svg"), &["wheels bind at", "mm of droop and at", "mm of bump"]);
    assert_contains(&words(&charts, "view-side.svg"), &["as far as it goes in bump"]);
}

/// The curve goes on from the last row to the bind, and so does toe.
#[test]
fn of_a_wheel_that_binds_no_change_of_toe_is_called_the_worst() {
    let mut geometry = car("first-cut.toml");
    (geometry.travel.bump_mm, geometry.travel.droop_mm, geometry.travel.ride_heights_mm) = (500.0, 500.0, vec![10.0]);
    let charts = drawn(&geometry, &Side::BOTH);
    for name in ["toe.svg", "toe-ride-heights.svg"] {
        let words = words(&charts, name).replace('\n', " ");
        assert_contains(&words, &["at least ", ", for the wheel binds"]);
        assert!(!words.contains("worst"), "{words}");
    }
}

#[test]
fn a_wheel_on_its_stop_is_marked_in_the_roll_chart() {
    let mut geometry = car("first-cut.toml");
    geometry.travel.roll_deg = 6.0;
    let steer = words(&drawn(&geometry, &Side::BOTH), "roll-steer.svg");
    assert_contains(&steer, &["left wheel on its bump stop", "right wheel on its bump stop"]);
}

#[test]
fn the_same_sweep_gives_the_same_files() {
    let geometry = car("as-built.toml");
    assert_eq!(drawn(&geometry, &Side::BOTH), drawn(&geometry, &Side::BOTH));
}

#[test]
fn curves_stay_thin() {
    for (file, svg) in drawn(&car("as-built.toml"), &Side::BOTH) {
        let document = Document::parse(&svg).expect("sound XML");
        let lines = document.descendants().filter_map(|node| node.attribute("points"));
        let longest = lines.map(|points| points.split_whitespace().count()).max();
        assert!(longest.is_some_and(|count| count <= 200), "{file}: {longest:?}");
    }
}
