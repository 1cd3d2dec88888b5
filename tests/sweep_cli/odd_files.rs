//! Strange and still legal: the program answers, or says why it cannot.

use super::program::{DEMO, Ran, Written, all_meet_one_line, changed, sweep};

/// The three tables; files that mean the same must give the same bytes.
fn tables(ran: &Ran) -> [String; 3] {
    ["heave.csv", "roll.csv", "grid.csv"].map(|name| ran.text(name))
}

fn swept(changes: &[(&str, &str)]) -> Ran {
    sweep(&[Written::new(changed(DEMO, changes)).path()])
}

#[test]
fn how_the_text_is_written_does_not_change_the_tables() {
    let plain = tables(&sweep(&[DEMO]));
    let marked = "\u{feff}".to_owned() + &changed(DEMO, &[]);
    assert_eq!(tables(&sweep(&[Written::new(marked).path()])), plain, "byte-order mark");
    assert_eq!(tables(&swept(&[("\n", "\r\n")])), plain, "line ends");
    assert_eq!(tables(&swept(&[("\"upper front\"", "\"Querlenker «oben» 前 🦀\"")])), plain, "other scripts");
    assert_eq!(tables(&swept(&[("axis = [0.0, 1.0, 0.0]", "axis = [0.0, 250.0, 0.0]")])), plain, "no unit vector");
}

#[test]
fn a_mistake_behind_a_byte_order_mark_is_shown_in_its_place() {
    let text = "\u{feff}".to_owned() + &changed(DEMO, &[("schema = 1", "schema = 2")]);
    let marked = sweep(&[Written::new(text).path()]);
    assert_eq!(marked.code, Some(2));
    assert!(marked.err.contains("line 10, column 10"), "{}", marked.err);
}

#[test]
fn wheels_that_lean_far_are_swept() {
    for (camber, toe) in [("15.0", "0.1"), ("-20.0", "0.1"), ("20.0", "20.0"), ("20.0", "-19.5")] {
        let ran = swept(&[("camber = -1.50", &format!("camber = {camber}")), ("toe = 0.10", &format!("toe = {toe}"))]);
        assert_eq!((ran.code, ran.table("heave.csv").rows.len()), (Some(1), 50), "{}", ran.err);
        assert!(ran.table("heave.csv").numbers("residual_mm").iter().all(|mm| *mm <= 1e-9));
    }
}

#[test]
fn a_tyre_that_reaches_below_the_datum_is_swept() {
    let ran = swept(&[("tyre_radius = 281.3", "tyre_radius = 900.0")]);
    assert_eq!((ran.code, ran.table("roll.csv").rows.len()), (Some(1), 26), "{}", ran.err);
    let design = ran.table("roll.csv").of("left", "contact_z_mm")[6];
    assert!((design + 618.5).abs() < 0.1, "{design}");
}

/// The far end of what a file may say.
#[test]
fn the_largest_tyre_at_the_largest_lean_keeps_its_design_row_in_every_table() {
    let wheel = [("tyre_radius = 281.3", "tyre_radius = 1000.0"), ("toe = 0.10", "toe = 20.0")];
    for camber in ["camber = -20.0", "camber = 20.0"] {
        let ran = swept(&[wheel[0], wheel[1], ("camber = -1.50", camber)]);
        assert_eq!((ran.code, ran.err.as_str()), (Some(1), ""));
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
    let ran = sweep(&[all_meet_one_line(1.0).path()]);
    assert_eq!(ran.code, Some(3));
    for side in ["left", "right"] {
        assert!(ran.said().contains(&format!("the {side} tyre finds no place on ")), "{}", ran.err);
    }
    for name in ["heave.csv", "roll.csv", "grid.csv"] {
        assert_eq!(design_rows(&ran, name), 2, "{name}");
    }
}

#[test]
fn a_toe_span_changes_millimetres_on_the_screen_and_no_table() {
    let ran = swept(&[("toe_span = 416.0", "toe_span = 1000.0")]);
    assert_eq!(tables(&ran), tables(&sweep(&[DEMO])));
    assert!(ran.out.contains("1000.0 mm"), "{}", ran.out);
}

#[test]
fn links_that_cross_are_swept() {
    let front = "upright = [28.0, 655.0, 405.0]";
    let rear = "upright = [-45.0, 652.0, 400.0]";
    let ran = swept(&[(front, "upright = KEPT"), (rear, front), ("upright = KEPT", rear)]);
    assert!(matches!(ran.code, Some(0 | 1 | 3)), "{:?}: {}", ran.code, ran.err);
    assert!(ran.table("heave.csv").of("left", "bump_mm").contains(&0.0));
}

#[test]
fn what_a_right_side_leaves_out_is_mirrored_from_the_left() {
    let own =
        "\n[[right.link]]\nname = \"toe link\"\nchassis = [-150.0, -376.0, 256.0]\nupright = [-120.0, -668.0, 254.0]\n";
    let ran = sweep(&[Written::new(changed(DEMO, &[]) + own).path()]);
    let heave = ran.table("heave.csv");
    let [left, right] = ["left", "right"].map(|side| heave.of(side, "spring_length_mm")[12]);
    assert_eq!(left, right);
    let [left, right] = ["left", "right"].map(|side| heave.of(side, "toe_deg")[0]);
    assert!((left - right).abs() > 1e-3, "{left} and {right}");
}

#[test]
fn the_finest_steps_that_are_allowed_are_swept() {
    let ran = sweep(&[DEMO, "--step", "0.1", "--roll", "0"]);
    assert_eq!((ran.code, ran.table("heave.csv").rows.len()), (Some(1), 2402));
    let ran = sweep(&[DEMO, "--bump", "0.000001", "--droop", "0.0000001"]);
    assert_eq!((ran.code, ran.table("heave.csv").rows.len()), (Some(0), 6));
}
