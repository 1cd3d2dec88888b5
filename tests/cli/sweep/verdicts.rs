//! The numbers behind each verdict, from the columns of the tables (which outside solvers hold) and from the file.

use nalgebra::Vector3;
use serde_json::Value;

use super::{sweep, sweep_with};
use crate::car::Car;
use crate::program::Ran;
use crate::table::Table;

/// Two different sides that stand at other heights too; everything of `[limits]` has one.
fn as_built() -> Car {
    let limits = [("anti_lift", "[0.0, 90.0]"), ("track_change", "90.0"), ("bump_steer", "0.5")];
    let car = limits
        .iter()
        .fold(Car::read("geometries/as-built.toml"), |car, (key, value)| car.set(&format!("limits.{key}"), value));
    car.set("travel.ride_heights", "[-22.0, 10.0]").set("travel.roll", "2.0")
}

/// The verdict on a quantity, by the start of its name, of a wheel or of the axle.
fn verdict(ran: &Ran, quantity: &str, side: Option<&str>) -> Value {
    let summary = ran.summary();
    let limits = summary["limits"].as_array().expect("a list");
    let is_it = |limit: &&Value| {
        limit["quantity"].as_str().is_some_and(|name| name.starts_with(quantity)) && limit["side"].as_str() == side
    };
    let found: Vec<&Value> = limits.iter().filter(is_it).collect();
    assert_eq!(found.len(), 1, "{quantity} of {side:?} in {summary}");
    found[0].clone()
}

fn range(verdict: &Value) -> [f64; 2] {
    ["low", "high"].map(|end| verdict[end].as_f64().unwrap_or_else(|| panic!("no {end} in {verdict}")))
}

#[track_caller]
fn assert_range(verdict: &Value, expected: [f64; 2], within: f64) {
    let got = range(verdict);
    assert!(
        got.iter().zip(expected).all(|(got, expected)| (got - expected).abs() <= within),
        "{expected:?}: {verdict}"
    );
}

fn ends(values: impl IntoIterator<Item = f64>) -> [f64; 2] {
    let ends = |[low, high]: [f64; 2], value: f64| [low.min(value), high.max(value)];
    values.into_iter().fold([f64::INFINITY, f64::NEG_INFINITY], ends)
}

/// Index of the row at design height.
fn design(heave: &Table, side: &str) -> usize {
    heave.of_side(side, "bump_mm").iter().position(|&bump| bump == 0.0).expect("a design row")
}

#[test]
fn what_a_wheel_does_over_bump_and_droop_is_read_from_its_column() {
    let ran = sweep(as_built());
    let heave = ran.table("heave.csv");
    for side in ["left", "right"] {
        let at = design(&heave, side);
        let column = |name: &str| heave.of_side(side, name);
        for (quantity, name, from_design) in [
            ("camber change", "camber_deg", true),
            ("scrub", "scrub_mm", true),
            ("recession", "recession_mm", true),
            ("halfshaft plunge", "shaft_plunge_mm", false),
            ("inner joint angle", "shaft_inner_angle_deg", false),
            ("outer joint angle", "shaft_outer_angle_deg", false),
        ] {
            let values = column(name);
            let from = if from_design { values[at] } else { 0.0 };
            assert_range(&verdict(&ran, quantity, Some(side)), ends(values.iter().map(|value| value - from)), 1e-12);
        }
    }
}

#[test]
fn what_a_wheel_does_at_design_is_read_from_its_row() {
    let ran = sweep(as_built());
    let heave = ran.table("heave.csv");
    for side in ["left", "right"] {
        let at = design(&heave, side);
        for (quantity, name) in [
            ("roll-centre height", "roll_centre_height_mm"),
            ("anti-squat", "anti_squat_pct"),
            ("anti-lift", "anti_lift_pct"),
        ] {
            let value = heave.of_side(side, name)[at];
            assert_range(&verdict(&ran, quantity, Some(side)), [value, value], 1e-12);
        }
    }
}

/// Toe about another ride height: the wheel stands where the table says that its contact point has moved to the road.
#[test]
fn bump_steer_counts_from_every_ride_height_of_the_file() {
    let ran = sweep_with(as_built(), "--step 0.5");
    let heave = ran.table("heave.csv");
    for side in ["left", "right"] {
        let (toe, height) = (heave.of_side(side, "toe_deg"), heave.of_side(side, "ride_height_change_mm"));
        let changes = |from: f64| ends(toe.iter().map(|toe| toe - from));
        let largest = |[low, high]: [f64; 2]| if -low > high { low } else { high };
        let about = [-22.0, 10.0].map(|ride_height: f64| {
            let after = (1..height.len()).find(|&k| height[k] <= ride_height).expect("a row beyond");
            let share = (ride_height - height[after - 1]) / (height[after] - height[after - 1]);
            largest(changes(toe[after - 1] + share * (toe[after] - toe[after - 1])))
        });
        let from_design = changes(toe[design(&heave, side)]);
        let expected = ends(from_design.into_iter().chain(about));
        assert!(expected != from_design, "the other heights tell more: {expected:?}");
        // Toe is taken as straight over half a millimetre.
        assert_range(&verdict(&ran, "bump steer", Some(side)), expected, 1e-5);
    }
}

#[test]
fn track_change_and_roll_steer_are_of_both_wheels() {
    let ran = sweep(as_built());
    let (heave, roll) = (ran.table("heave.csv"), ran.table("roll.csv"));
    let both = |table: &Table, name: &str| {
        let (left, right) = (table.of_side("left", name), table.of_side("right", name));
        assert_eq!(left.len(), right.len());
        left.into_iter().zip(right).map(|(left, right)| left + right).collect::<Vec<f64>>()
    };
    assert_range(&verdict(&ran, "track change", None), ends(both(&heave, "scrub_mm")), 1e-12);
    let steer_at_design = both(&heave, "steer_deg")[design(&heave, "left")];
    let steer = both(&roll, "steer_deg").into_iter().map(|steer| (steer - steer_at_design) / 2.0);
    assert_range(&verdict(&ran, "roll steer", None), ends(steer), 1e-12);
}

/// From the file: toe 0.10 and 0.14, wheel centres at x = 0 and -1.5.
#[test]
fn thrust_angle_and_setback_are_those_of_the_file() {
    let ran = sweep(as_built());
    assert_range(&verdict(&ran, "thrust angle", None), [0.02, 0.02], 1e-12);
    assert_range(&verdict(&ran, "setback", None), [1.5, 1.5], 1e-12);
}

/// A limit stands in the summary with the ends that the file gives.
#[test]
fn a_limit_has_the_ends_that_the_file_gives() {
    let ran = sweep(as_built());
    for (quantity, side, [low, high]) in [
        ("anti-squat", Some("left"), [10.0, 40.0]),
        ("halfshaft plunge", Some("right"), [-10.0, 10.0]),
        ("inner joint angle", Some("left"), [0.0, 14.0]),
        ("setback", None, [-2.0, 2.0]),
    ] {
        let verdict = verdict(&ran, quantity, side);
        assert_eq!(
            (verdict["limit_low"].as_f64(), verdict["limit_high"].as_f64()),
            (Some(low), Some(high)),
            "{verdict}"
        );
    }
}

/// Next to no travel, so that the drawing alone says how far a rod end is out of square.
const AT_DESIGN: &str = "--bump 0.001 --droop 0.001 --step 0.001 --roll 0";

/// Degrees that a rod end is out of square as drawn: 90 less the angle between its link and its bolt.
fn out_of_square_deg(car: &Car, link: &str, end: &str) -> f64 {
    let vector = |key: &str| Vector3::from_column_slice(&car.numbers(&format!("{link}.{key}")));
    let along = (vector("upright") - vector("chassis")).normalize();
    (along.dot(&vector(&format!("{end}_bolt")).normalize()).acos().to_degrees() - 90.0).abs()
}

/// The demo is drawn with every bolt square to its link: one end after the other is turned out of it.
#[test]
fn a_rod_end_is_judged_at_either_end_of_its_link() {
    let worst = |car: &Car| verdict(&sweep_with(car, AT_DESIGN), "rod-end misalignment", Some("left"));
    assert_range(&worst(&Car::demo()), [0.0, 0.0], 1e-3);
    for end in ["chassis", "upright"] {
        let car = Car::demo().set(&format!("upper rear.{end}_bolt"), "[280.0, 20.0, 0.0]");
        let expected = out_of_square_deg(&car, "upper rear", end);
        assert!(expected > 10.0);
        assert_range(&worst(&car), [0.0, expected], 1e-3);
    }
}

/// What counts is how near a rod end comes to its own limit, not how far it is out of square.
#[test]
fn the_rod_end_that_is_told_is_the_one_nearest_to_its_own_limit() {
    let car = Car::demo()
        .set("upper rear.chassis_bolt", "[280.0, 20.0, 0.0]")
        .set("toe link.upright_bolt", "[292.0, 0.0, 0.0]");
    let (far, near) =
        (out_of_square_deg(&car, "upper rear", "chassis"), out_of_square_deg(&car, "toe link", "upright"));
    assert!(far > 2.0 * near);
    for (limit_of_near_deg, told) in [(4.0, [near, 4.0]), (12.0, [far, 14.0])] {
        let car = car.clone().set("toe link.rod_end_limit", &format!("{limit_of_near_deg:?}"));
        let verdict = verdict(&sweep_with(&car, AT_DESIGN), "rod-end misalignment", Some("left"));
        assert_range(&verdict, [0.0, told[0]], 1e-3);
        assert_eq!(verdict["limit_high"].as_f64(), Some(told[1]), "{verdict}");
    }
}
