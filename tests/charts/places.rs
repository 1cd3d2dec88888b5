//! Where curves, rings and limits stand, read off the numbers of the axes.

use hubtrace::geometry::{Geometry, Side};

use crate::paper::{At, BLACK, LIMIT, Line, PALE, Paper, distance};
use crate::{car, drawn, words};

fn paper(geometry: &Geometry, name: &str) -> Paper {
    let charts = drawn(geometry, &Side::BOTH);
    let (_, svg) = charts.iter().find(|(file, _)| file == name).expect("the chart is drawn");
    Paper::read(svg)
}

/// The ends of the black curves of a chart with one panel.
fn curve_ends(paper: &Paper) -> Vec<At> {
    let curves = paper.lines.iter().filter(|line| line.stroke == BLACK && line.width == 20.0);
    curves.flat_map(|line| [line.path[0], line.path[line.path.len() - 1]]).collect()
}

fn lowest(places: &[At]) -> At {
    places.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)).expect("places")
}

/// The bind of this car lies between two rows of the sweep, at 248.7 mm of droop, as an outside solver has it too.
#[test]
fn a_curve_goes_to_the_very_end_where_the_wheel_binds() {
    let mut geometry = car("first-cut.toml");
    (geometry.travel.bump_mm, geometry.travel.droop_mm) = (300.0, 300.0);
    for name in ["toe.svg", "recession.svg", "plunge.svg"] {
        let paper = paper(&geometry, name);
        let end = lowest(&curve_ends(&paper));
        let travel_mm = paper.up(end.1, end);
        assert!((travel_mm + 248.7).abs() < 0.5, "{name}: {travel_mm} mm");
    }
}

/// Limits that hold at design are short bars at travel 0; those over all travel cross the whole chart.
#[test]
fn limits_at_design_are_drawn_at_design_only() {
    let geometry = car("first-cut.toml");
    let bars = |name: &str| {
        let paper = paper(&geometry, name);
        let thick = |line: &&Line| line.stroke == LIMIT && line.width > 20.0;
        let read = |line: &Line| {
            let [from, to] = [line.path[0], line.path[1]];
            (paper.across(from.0, from), paper.up(from.1, from), paper.up(to.1, from))
        };
        paper.lines.iter().filter(thick).map(read).collect::<Vec<_>>()
    };
    for (name, limits) in [("anti-squat.svg", [10.0, 40.0]), ("roll-centre.svg", [40.0, 110.0])] {
        let bars = bars(name);
        assert_eq!(bars.len(), 2, "{name}");
        for ((at, from_mm, to_mm), limit) in bars.into_iter().zip(limits) {
            assert!((at - limit).abs() < 0.005 * limit.max(100.0), "{name}: {at}");
            assert!((from_mm + to_mm).abs() < 0.2 && (from_mm - to_mm).abs() < 12.0, "{name}: {from_mm} to {to_mm}");
        }
    }
    assert!(bars("recession.svg").is_empty());
    let recession = paper(&geometry, "recession.svg");
    let dash_dotted: Vec<&Line> = recession.lines.iter().filter(|line| line.stroke == LIMIT).collect();
    let top = dash_dotted.iter().map(|line| line.path[0].1).fold(f64::INFINITY, f64::min);
    let bottom = dash_dotted.iter().flat_map(|line| &line.path).map(|at| at.1).fold(0.0, f64::max);
    let reach_mm = recession.up(top, (4000.0, top)) - recession.up(bottom, (4000.0, top));
    assert!(reach_mm > 120.0, "{reach_mm} mm");
}

/// A body that goes up by 15 mm lets its wheels down by as much; there the curve about that height counts from 0.
#[test]
fn toe_is_drawn_about_every_ride_height() {
    let heights_mm = [-25.0, -20.0, -12.0, -6.0, 8.0, 15.0, 24.0];
    for (name, panels) in [("first-cut.toml", 1), ("as-built.toml", 2)] {
        let mut geometry = car(name);
        geometry.travel.ride_heights_mm = heights_mm.to_vec();
        let paper = paper(&geometry, "toe-ride-heights.svg");
        let rings: Vec<At> = paper.rings.iter().filter(|ring| ring.fill == "none").map(|ring| ring.at).collect();
        assert_eq!(rings.len(), panels * (heights_mm.len() + 1), "{name}");
        for &ring in &rings {
            assert!(paper.across(ring.0, ring).abs() < 1e-3, "{name}");
            // A ring may stand in a gap between two dashes, which is 50 dots long.
            let is_curve = |line: &&Line| line.stroke == BLACK || line.stroke == PALE;
            let nearest = paper.lines.iter().filter(is_curve).map(|line| distance(ring, &line.path));
            let nearest = nearest.fold(f64::INFINITY, f64::min);
            assert!(nearest < if panels == 1 { 5.0 } else { 30.0 }, "{name}: {ring:?}, {nearest}");
        }
        let mut stands_mm: Vec<f64> = rings[..rings.len() / panels].iter().map(|&at| paper.up(at.1, at)).collect();
        stands_mm.sort_by(f64::total_cmp);
        let mut expected_mm: Vec<f64> = heights_mm.iter().map(|mm| -mm).chain([0.0]).collect();
        expected_mm.sort_by(f64::total_cmp);
        for (stands_mm, expected_mm) in stands_mm.iter().zip(expected_mm) {
            assert!((stands_mm - expected_mm).abs() < 0.4, "{name}: {stands_mm} for {expected_mm} mm");
        }
        for height in ["25 mm lower", "6 mm lower", "8 mm higher", "24 mm higher", "design"] {
            assert_eq!(paper.words.iter().filter(|words| words.text == height).count(), panels, "{name}: {height}");
        }
    }
}

#[test]
fn ride_heights_have_no_chart_without_any() {
    let charts = drawn(&car("first-cut.toml"), &Side::BOTH);
    assert!(!charts.iter().any(|(file, _)| file == "toe-ride-heights.svg"));
}

/// In body roll both wheels steer the same way round the car: the curves of the left and the right wheel of a mirrored car
/// are one curve turned by half a turn, and the axle runs between them.
#[test]
fn both_wheels_steer_in_one_sign() {
    let paper = paper(&car("first-cut.toml"), "roll-steer.svg");
    let read = |at: At| (paper.across(at.0, at), paper.up(at.1, (2000.0, at.1)));
    let names = ["left wheel", "axle", "right wheel"].map(|name| paper.find(name).at.1);
    assert!(names[0] < names[1] && names[1] < names[2], "{names:?}");
    let pale: Vec<At> =
        paper.lines.iter().filter(|line| line.stroke == PALE).flat_map(|line| line.path.clone()).map(read).collect();
    let at_end = |roll_deg: f64| pale.iter().filter(move |at| (at.0 - roll_deg).abs() < 0.02).map(|at| at.1);
    let (left_down, right_down) =
        (at_end(-3.0).fold(f64::NEG_INFINITY, f64::max), at_end(-3.0).fold(f64::INFINITY, f64::min));
    // From the table of the sweep: at -3 deg the left wheel steers 0.296 deg to the left, the right one 0.129 deg.
    assert!((left_down - 0.296).abs() < 2e-3 && (right_down - 0.129).abs() < 2e-3, "{left_down} {right_down}");
}

/// Five rod ends on one chart, and pairs of parts, differ by their dashes, not by grey alone.
#[test]
fn numbered_curves_have_dashes_of_their_own() {
    let paper = paper(&car("first-cut.toml"), "clearance.svg");
    let black = |line: &&Line| line.stroke == BLACK && line.width == 20.0;
    assert!(paper.lines.iter().filter(black).count() > 20);
    for number in ["1", "2", "3"] {
        assert!(paper.find(number).is_bold);
    }
}

/// Rod ends that lean by a degree cannot be told apart beside a limit of 40.
#[test]
fn a_rod_end_limit_far_beyond_the_curves_is_told_in_words() {
    let with_limit = |deg: f64| {
        let mut geometry = car("first-cut.toml");
        geometry.left.links.iter_mut().for_each(|link| link.rod_end_limit_deg = Some(deg));
        geometry.mirror_left();
        let charts = drawn(&geometry, &Side::BOTH);
        words(&charts, "rod-ends.svg")
    };
    let (far, near) = (with_limit(80.0), with_limit(3.0));
    assert!(
        far.contains("Beyond the end of the axis: rod-end limit 80 deg.") && !far.contains(" limit 80 deg: "),
        "{far}"
    );
    assert!(!near.contains("Beyond the end") && near.contains("rod-end limit 3 deg"), "{near}");
}
