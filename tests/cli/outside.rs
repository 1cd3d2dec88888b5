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

/// The kinds of column in the tables of accuracy, each with its name there.
const KINDS: [&str; 7] = [
    "places, lengths (mm)",
    "angles (deg)",
    "gradients (deg/mm)",
    "motion ratio",
    "centre path (deg)",
    "roll centre (mm)",
    "anti-squat, anti-lift (%)",
];

/// The kind of a column, by its index; `None` for one that is not compared.
fn kind(column: &str) -> Option<usize> {
    match column {
        "side" | RESIDUAL => None,
        "damper_per_wheel" => Some(3),
        "wheel_centre_path_deg" => Some(4),
        _ if column.starts_with("roll_centre_") => Some(5),
        _ if column.ends_with("_pct") => Some(6),
        _ if column.ends_with("_deg_per_mm") => Some(2),
        _ if column.ends_with("_deg") => Some(1),
        _ => Some(0),
    }
}

/// Prints the tables of accuracy in `docs/validation.md` and `README.md`:
/// `cargo test --release --test cli tables_of_accuracy -- --ignored --nocapture`.
#[test]
#[ignore = "prints tables for the documents; what they bound is tested above"]
fn tables_of_accuracy() {
    const CARS: [&str; 9] =
        ["fl-a", "fl-b", "fl-c", "static-set", "asymmetric", "spring-on-link", "inch-hub-axes", "stops", "near-fold"];
    println!("| car | rows | {} |", KINDS.join(" | "));
    let mut healthy = [None; KINDS.len()];
    for car in CARS {
        let (rows, worst) = largest_differences(car);
        let cells = worst.map(|most: Option<f64>| most.map_or("none".to_owned(), |most| format!("{most:.1e}")));
        println!("| `{car}` | {rows} | {} |", cells.join(" | "));
        if car == "near-fold" {
            println!("\n| what | healthy cars | 0.3 mm before a bind |");
            let cell = |most: Option<f64>| most.map_or("none".to_owned(), |most| format!("{most:.0e}"));
            for (kind, (healthy, near_fold)) in KINDS.iter().zip(healthy.into_iter().zip(worst)) {
                println!("| {kind} | {} | {} |", cell(healthy), cell(near_fold));
            }
        }
        for (all, most) in healthy.iter_mut().zip(worst) {
            *all = [*all, most].into_iter().flatten().reduce(f64::max);
        }
    }
}

/// Rows of the three tables of a car, and the largest difference in each kind of column.
fn largest_differences(geometry: &str) -> (usize, [Option<f64>; KINDS.len()]) {
    let ran = Folder::with(Car::read(&format!("tests/outside/{geometry}.toml"))).run("sweep car.toml");
    let (mut rows, mut worst) = (0, [None; KINDS.len()]);
    for study in ["heave", "roll", "grid"] {
        let expected =
            Table::of(&fs::read_to_string(format!("tests/outside/{geometry}.{study}.csv")).expect("a table"));
        rows += expected.rows.len();
        for (expected_row, our_row) in expected.rows.iter().zip(&ran.table(&format!("{study}.csv")).rows) {
            for (column, (expected, ours)) in expected.columns.iter().zip(expected_row.iter().zip(our_row)) {
                let Some(kind) = kind(column).filter(|_| !expected.is_empty()) else { continue };
                let apart = (number(ours) - number(expected)).abs();
                worst[kind] = Some(worst[kind].map_or(apart, |most: f64| most.max(apart)));
            }
        }
    }
    (rows, worst)
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
