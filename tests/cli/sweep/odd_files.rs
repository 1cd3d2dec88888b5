//! Strange and still legal: the program answers, or says why it cannot.

use super::{sweep, sweep_with};
use crate::car::{Car, all_meet_one_line, replaced};
use crate::program::Ran;

/// The three tables; files that mean the same must give the same bytes.
fn tables(ran: &Ran) -> [String; 3] {
    ["heave.csv", "roll.csv", "grid.csv"].map(|name| ran.text(name))
}

#[test]
fn how_the_text_is_written_does_not_change_the_tables() {
    let car = Car::demo();
    let plain = tables(&sweep(&car));
    assert_eq!(tables(&sweep(format!("\u{feff}{car}"))), plain, "byte-order mark");
    assert_eq!(tables(&sweep(replaced(&car, "\n", "\r\n"))), plain, "line ends");
    let name = car.clone().set("upper front.name", "\"Querlenker «oben» 前 🦀\"");
    assert_eq!(tables(&sweep(name)), plain, "other scripts");
    assert_eq!(tables(&sweep(car.set("halfshaft.axis", "[0.0, 250.0, 0.0]"))), plain, "no unit vector");
}

#[test]
fn a_mistake_behind_a_byte_order_mark_is_shown_in_its_place() {
    let car = Car::demo().set("schema", "2");
    sweep(format!("\u{feff}{car}")).ends_with(2).assert_tells(&["line 10, column 10"]);
}

#[test]
fn wheels_that_lean_far_are_swept() {
    for (camber, toe, doubts) in [("15.0", "0.1", 1), ("-20.0", "0.1", 1), ("20.0", "20.0", 2), ("20.0", "-19.5", 2)] {
        let ran = sweep(Car::demo().set("wheel.camber", camber).set("wheel.toe", toe)).doubted(doubts).ends_with(1);
        assert_eq!(ran.table("heave.csv").rows.len(), 50, "{ran}");
        assert!(ran.table("heave.csv").numbers("residual_mm").iter().all(|mm| *mm <= 1e-9));
    }
}

#[test]
fn a_tyre_that_reaches_below_the_datum_is_swept() {
    let ran = sweep(Car::demo().set("wheel.tyre_radius", "900.0")).doubted(1).ends_with(1);
    assert_eq!(ran.table("roll.csv").rows.len(), 26, "{ran}");
    let design = ran.table("roll.csv").of_side("left", "contact_z_mm")[6];
    assert!((design + 618.5).abs() < 0.1, "{design}");
}

/// The far end of what a file may say.
#[test]
fn the_largest_tyre_at_the_largest_lean_keeps_its_design_row_in_every_table() {
    let car = Car::demo().set("wheel.tyre_radius", "1000.0").set("wheel.toe", "20.0");
    for camber in ["-20.0", "20.0"] {
        let ran = sweep(car.clone().set("wheel.camber", camber)).doubted(3).ends_with(1);
        for name in ["heave.csv", "roll.csv", "grid.csv"] {
            assert_eq!(design_rows(&ran, name), 2, "{name}, {camber}");
        }
    }
}

/// Rows with both wheels as drawn on a level road.
fn design_rows(ran: &Ran, name: &str) -> usize {
    let table = ran.table(name);
    let columns = ["bump_mm", "body_roll_deg", "ride_height_change_mm"].map(|column| table.column(column));
    (0..table.rows.len()).filter(|&row| columns.iter().all(|column| column[row] == "0")).count()
}

/// In droop this wheel folds over, so that its tyre rises while the hub goes down.
#[test]
fn a_tyre_that_does_not_rise_with_its_wheel_ends_with_3_and_keeps_the_design_row() {
    let ran = sweep(all_meet_one_line(1.0)).doubted(1).ends_with(3);
    ran.assert_tells(&["the left tyre finds no place on ", "the right tyre finds no place on "]);
    for name in ["heave.csv", "roll.csv", "grid.csv"] {
        assert_eq!(design_rows(&ran, name), 2, "{name}");
    }
}

#[test]
fn a_toe_span_changes_millimetres_on_the_screen_and_no_table() {
    let ran = sweep(Car::demo().set("wheel.toe_span", "1000.0"));
    assert_eq!(tables(&ran), tables(&sweep(Car::demo())));
    assert!(ran.out.contains("1000.0 mm"), "{ran}");
}

#[test]
fn links_that_cross_are_swept() {
    let crossed = Car::demo()
        .set("upper front.upright", "[-45.0, 652.0, 400.0]")
        .set("upper rear.upright", "[28.0, 655.0, 405.0]");
    let ran = sweep(crossed);
    assert!(matches!(ran.code, Some(0 | 1 | 3)), "{ran}");
    assert!(ran.table("heave.csv").of_side("left", "bump_mm").contains(&0.0));
}

#[test]
fn what_a_right_side_leaves_out_is_mirrored_from_the_left() {
    let own =
        "\n[[right.link]]\nname = \"toe link\"\nchassis = [-150.0, -376.0, 256.0]\nupright = [-120.0, -668.0, 254.0]\n";
    let heave = sweep(Car::demo().to_string() + own).table("heave.csv");
    let [left, right] = ["left", "right"].map(|side| heave.of_side(side, "spring_length_mm")[12]);
    assert_eq!(left, right);
    let [left, right] = ["left", "right"].map(|side| heave.of_side(side, "toe_deg")[0]);
    assert!((left - right).abs() > 1e-3, "{left} and {right}");
}

#[test]
fn the_finest_steps_that_are_allowed_are_swept() {
    let ran = sweep_with(Car::demo(), "--step 0.1 --roll 0").ends_with(1);
    assert_eq!(ran.table("heave.csv").rows.len(), 2402);
    let ran = sweep_with(Car::demo(), "--bump 0.000001 --droop 0.0000001").ends_with(0);
    assert_eq!(ran.table("heave.csv").rows.len(), 6);
}
