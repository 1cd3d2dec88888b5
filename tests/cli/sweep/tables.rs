//! The tables that other programs read: columns, order of rows, how numbers are written, which rows there are.

use super::{sweep, sweep_with};
use crate::car::{Car, SOUND};

const HEADER: &str = "side,bump_mm,body_roll_deg,ride_height_change_mm,toe_deg,steer_deg,camber_deg,inclination_deg,\
    contact_x_mm,contact_y_mm,contact_z_mm,scrub_mm,recession_mm,upright_pitch_deg,wheel_centre_x_mm,\
    wheel_centre_y_mm,wheel_centre_z_mm,shaft_inner_angle_deg,shaft_outer_angle_deg,shaft_plunge_mm,\
    bump_steer_gradient_deg_per_mm,camber_gradient_deg_per_mm,roll_centre_height_mm,roll_centre_lateral_mm,\
    wheel_centre_path_deg,anti_squat_pct,anti_lift_pct,spring_length_mm,damper_per_wheel,residual_mm,track_change_mm";
const TABLES: [&str; 3] = ["heave.csv", "roll.csv", "grid.csv"];

#[test]
fn the_columns_are_those_of_the_contract() {
    let ran = sweep(Car::read(SOUND));
    for name in TABLES {
        assert_eq!(ran.text(name).lines().next(), Some(HEADER), "{name}");
    }
}

#[test]
fn the_table_of_gaps_has_every_pair_once_the_nearest_first() {
    let ran = sweep(Car::read("tests/outside/clearance/car.toml"));
    assert_eq!(ran.text("clearance.csv").lines().next(), Some("side,pair,least_mm,at_bump_mm"));
    let rows = ran.table("clearance.csv").rows;
    for row in &rows[..2] {
        let least_mm: f64 = row[2].parse().expect("a number");
        ran.assert_shows(&[&format!(" {least_mm:.2} at "), &row[1]]);
    }
    let number = |cell: &str| cell.parse::<f64>().expect("a number");
    for side in ["left", "right"] {
        let gaps: Vec<f64> = rows.iter().filter(|row| row[0] == side).map(|row| number(&row[2])).collect();
        assert!(gaps.len() > 50 && gaps.is_sorted(), "{side}: {gaps:?}");
        let pairs = ran.summary()["heave"][side]["clearance"]["pairs"].as_array().expect("pairs").clone();
        for (row, pair) in rows.iter().filter(|row| row[0] == side).zip(&pairs) {
            assert_eq!(pair["pair"], row[1].as_str());
            assert_eq!(
                (pair["least_mm"].as_f64(), pair["at_bump_mm"].as_f64()),
                (Some(number(&row[2])), Some(number(&row[3])))
            );
        }
        assert_eq!(pairs.len(), gaps.len());
    }
}

#[test]
fn lines_end_with_a_line_feed_and_nothing_else() {
    let ran = sweep(Car::read(SOUND));
    for name in TABLES {
        let text = ran.text(name);
        assert!(text.ends_with('\n') && !text.ends_with("\n\n") && !text.contains('\r'), "{name}");
    }
}

#[test]
fn every_number_is_the_shortest_text_that_reads_back_as_itself() {
    let ran = sweep(Car::read("geometries/as-built.toml"));
    for cell in TABLES.iter().flat_map(|name| ran.table(name).rows).flat_map(|row| row.into_iter().skip(1)) {
        let number = cell.parse::<f64>().ok();
        assert!(cell.is_empty() || number.is_some_and(|n| n.is_finite() && n.to_string() == cell), "{cell:?}");
        assert!(cell != "-0", "a zero with a sign");
    }
}

#[test]
fn what_the_file_lacks_is_an_empty_cell() {
    // A file without [car].
    let heave = sweep(Car::read("tests/good/corner.toml")).table("heave.csv");
    for name in ["anti_squat_pct", "anti_lift_pct", "roll_centre_lateral_mm"] {
        assert!(heave.column(name).iter().all(|cell| cell.is_empty()), "{name}");
    }
    assert!(heave.column("damper_per_wheel").iter().all(|cell| !cell.is_empty()));
}

#[test]
fn travel_is_shown_at_multiples_of_the_step_and_at_both_ends() {
    let heave = sweep_with(Car::demo(), "--bump 12 --droop 7 --step 5").table("heave.csv");
    assert_eq!(heave.of_side("left", "bump_mm"), [-7.0, -5.0, 0.0, 5.0, 10.0, 12.0]);
    let roll = sweep_with(Car::demo(), "--roll 1.2 --step-roll 0.5").table("roll.csv");
    assert_eq!(roll.of_side("right", "body_roll_deg"), [-1.2, -1.0, -0.5, 0.0, 0.5, 1.0, 1.2]);
}

#[test]
fn a_step_longer_than_the_travel_leaves_the_ends_and_the_middle() {
    let ran = sweep_with(Car::demo(), "--step 500 --step-roll 44");
    assert_eq!(ran.table("heave.csv").of_side("left", "bump_mm"), [-60.0, 0.0, 60.0]);
    assert_eq!(ran.table("roll.csv").of_side("left", "body_roll_deg"), [-3.0, 0.0, 3.0]);
}

/// The heave study finds the road under the wheel; at design it is the road as drawn, to the last digit.
#[test]
fn the_design_row_of_heave_stands_at_the_drawn_ride_height() {
    for file in ["first-cut", "as-built", "double-wishbone", "semi-trailing"] {
        let heave = sweep(Car::read(&format!("geometries/{file}.toml"))).table("heave.csv");
        let (bump, height) = (heave.column("bump_mm"), heave.column("ride_height_change_mm"));
        let design: Vec<_> = bump.iter().zip(height).filter(|(bump, _)| **bump == "0").map(|(_, at)| at).collect();
        assert_eq!(design, ["0", "0"], "{file}");
    }
}

#[test]
fn without_travel_every_table_is_the_design_row() {
    let ran = sweep_with(Car::demo(), "--bump 0 --droop 0");
    for name in TABLES {
        let table = ran.table(name);
        assert_eq!((table.column("side"), table.numbers("bump_mm")), (vec!["left", "right"], vec![0.0, 0.0]), "{name}");
    }
}

#[test]
fn without_roll_the_roll_table_is_the_design_row() {
    let ran = sweep_with(Car::demo(), "--roll 0");
    let (roll, heave) = (ran.table("roll.csv"), ran.table("heave.csv"));
    assert_eq!((roll.rows.len(), roll.column("roll_centre_lateral_mm")), (2, vec!["0", "0"]));
    let design = heave.of_side("left", "bump_mm").iter().position(|&bump| bump == 0.0).expect("a design row");
    for name in HEADER.split(',').filter(|name| !["side", "roll_centre_lateral_mm"].contains(name)) {
        let (alone, in_heave) = (roll.of_side("left", name)[0], heave.of_side("left", name)[design]);
        assert!((alone - in_heave).abs() < 1e-9, "{name} is {alone}, in heave {in_heave}");
    }
}

#[test]
fn rows_rise_with_what_drives_them_and_left_comes_before_right() {
    let ran = sweep(Car::read("geometries/as-built.toml"));
    for (name, drivers) in [
        ("heave.csv", ["bump_mm", "bump_mm"]),
        ("roll.csv", ["body_roll_deg", "body_roll_deg"]),
        ("grid.csv", ["ride_height_change_mm", "body_roll_deg"]),
    ] {
        let table = ran.table(name);
        let side = table.column("side").into_iter().map(|side| if side == "left" { 0.0 } else { 1.0 });
        let [first, second] = drivers.map(|driver| table.numbers(driver));
        let keys: Vec<[f64; 3]> = first.into_iter().zip(second).zip(side).map(|((a, b), c)| [a, b, c]).collect();
        assert!(keys.is_sorted() && keys.len() > 20, "{name}");
    }
}

#[test]
fn one_side_alone_has_the_rows_it_has_beside_the_other() {
    let both = sweep(Car::read("geometries/as-built.toml"));
    for side in ["left", "right"] {
        let alone = sweep_with(Car::read("geometries/as-built.toml"), &format!("--side {side}"));
        for name in TABLES {
            let of_both: Vec<_> = both.table(name).rows.into_iter().filter(|row| row[0] == side).collect();
            assert_eq!(alone.table(name).rows, of_both, "{name}");
        }
    }
}

#[test]
fn no_row_goes_beyond_a_stop_and_the_roll_table_ends_where_a_wheel_meets_one() {
    let ran = sweep_with(Car::demo(), "--bump 20 --droop 35");
    for name in TABLES {
        let table = ran.table(name);
        assert!(table.numbers("bump_mm").iter().all(|bump| (-35.000001..=20.000001).contains(bump)), "{name}");
        assert_eq!(table.of_side("left", "bump_mm").len(), table.of_side("right", "bump_mm").len(), "{name}");
    }
    assert_eq!(ran.table("roll.csv").of_side("left", "body_roll_deg"), [-1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5]);
}

/// Up to a stop at one side only: the wheel that stands on its bump stop at design forbids roll either way.
#[test]
fn a_wheel_on_its_stop_at_design_allows_no_roll() {
    let ran = sweep_with(Car::read("tests/outside/fl-a.toml"), "--bump 0");
    assert_eq!(ran.table("roll.csv").rows.len(), 2);
    let stops = ran.summary()["roll"]["stops"].clone();
    for (stop, side) in stops.as_array().expect("a list").iter().zip(["left", "right"]) {
        assert_eq!((&stop["side"], &stop["stop"]), (&side.into(), &"bump".into()), "{stops}");
        assert!(stop["body_roll_deg"].as_f64().is_some_and(|deg| deg.abs() < 1e-9), "{stops}");
    }
}
