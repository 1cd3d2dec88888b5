//! `hubtrace sweep` against tables that general-purpose libraries made in another formulation.
//!
//! `tests/outside/README.md` says how the tables were made, with which versions, and how to make them anew.

use std::fs;

use crate::car::Car;
use crate::program::Folder;
use crate::table::Table;

/// mm, deg, % or no unit, as the column has it: far below any gauge, above what rounding leaves in two ways of working.
const AGREES: f64 = 1e-8;
/// The same for velocities where the wheel nearly binds; README.md, "Near a fold", says why and how large.
const RATES_NEAR_A_FOLD: f64 = 1e-7;
/// Largest closure error that a row may own up to, mm.
const CLOSED_MM: f64 = 1e-9;
const RESIDUAL: &str = "residual_mm";
/// Columns that are made of the wheel's velocity rather than of its place.
const RATES: [&str; 8] = [
    "bump_steer_gradient_deg_per_mm",
    "camber_gradient_deg_per_mm",
    "roll_centre_height_mm",
    "roll_centre_lateral_mm",
    "wheel_centre_path_deg",
    "anti_squat_pct",
    "anti_lift_pct",
    "damper_per_wheel",
];

#[test]
fn planar_double_wishbone_agrees_with_the_outside_solver() {
    agrees("fl-a", AGREES, 0);
}

#[test]
fn semi_trailing_hinge_agrees_with_the_outside_solver() {
    // One of its links runs through the halfshaft: a broken limit, and no matter of kinematics.
    agrees_and_ends_with("fl-b", AGREES, 0, 1);
}

#[test]
fn spatial_corner_with_bad_bump_steer_agrees_with_the_outside_solver() {
    agrees("fl-c", AGREES, 0);
}

#[test]
fn static_toe_and_camber_agree_with_the_outside_solver() {
    agrees("static-set", AGREES, 1);
}

#[test]
fn axle_with_two_different_sides_agrees_with_the_outside_solver() {
    agrees("asymmetric", AGREES, 2);
}

#[test]
fn spring_on_a_link_agrees_with_the_outside_solver() {
    agrees("spring-on-link", AGREES, 1);
}

#[test]
fn inches_and_hub_axes_agree_with_the_outside_solver() {
    agrees("inch-hub-axes", AGREES, 1);
}

#[test]
fn postures_beyond_the_stops_are_left_out_as_by_the_outside_solver() {
    agrees("stops", AGREES, 1);
}

#[test]
fn corner_that_nearly_binds_agrees_with_the_outside_solver() {
    agrees("near-fold", RATES_NEAR_A_FOLD, 3);
}

/// Sweeps one geometry with the real program and compares its three tables cell by cell. In most files the outer joint is
/// off the spindle's line: `doubts`.
fn agrees(geometry: &str, allowed_in_rates: f64, doubts: usize) {
    agrees_and_ends_with(geometry, allowed_in_rates, doubts, 0);
}

fn agrees_and_ends_with(geometry: &str, allowed_in_rates: f64, doubts: usize, code: i32) {
    let ran = Folder::with(Car::read(&format!("tests/outside/{geometry}.toml"))).run("sweep car.toml");
    let ran = if doubts > 0 { ran.doubted(doubts) } else { ran }.ends_with(code);
    for study in ["heave", "roll", "grid"] {
        let expected = fs::read_to_string(format!("tests/outside/{geometry}.{study}.csv")).expect("a table");
        let differences = differences(&Table::of(&expected), &ran.table(&format!("{study}.csv")), allowed_in_rates);
        assert!(
            differences.is_empty(),
            "{geometry}, {study}: {} cells differ, the first of them:\n{}",
            differences.len(),
            differences[..differences.len().min(10)].join("\n")
        );
    }
}

/// What our table has that the other does not expect, one line for each. New columns may stand at the end.
fn differences(expected: &Table, ours: &Table, allowed_in_rates: f64) -> Vec<String> {
    assert_eq!(expected.columns, ours.columns[..expected.columns.len().min(ours.columns.len())], "columns");
    let mut found = Vec::new();
    if expected.rows.len() != ours.rows.len() {
        found.push(format!("  {} rows, expected {}", ours.rows.len(), expected.rows.len()));
    }
    for (expected_row, our_row) in expected.rows.iter().zip(&ours.rows) {
        for (column, (expected, ours)) in expected.columns.iter().zip(expected_row.iter().zip(our_row)) {
            let allowed = if RATES.contains(&column.as_str()) { allowed_in_rates } else { AGREES };
            if !same(column, expected, ours, allowed) {
                found.push(format!("  {}: {column} is {ours:?}, expected {expected:?}", name(expected_row)));
            }
        }
    }
    found
}

/// The first four columns say which wheel at which bump, roll and ride height a row is about.
fn name(row: &[String]) -> String {
    format!("{} at bump {} mm, roll {} deg, ride height {} mm", row[0], row[1], row[2], row[3])
}

fn number(cell: &str) -> f64 {
    cell.parse().unwrap_or_else(|_| panic!("{cell:?} is no number"))
}

/// Words are equal, empty cells are empty in both, numbers differ by no more than is allowed.
fn same(column: &str, expected: &str, ours: &str, allowed: f64) -> bool {
    match column {
        "side" => expected == ours,
        RESIDUAL => number(ours).abs() <= CLOSED_MM,
        _ if expected.is_empty() || ours.is_empty() => expected == ours,
        _ => (number(ours) - number(expected)).abs() <= allowed,
    }
}
