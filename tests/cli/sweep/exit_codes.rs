//! 0 inside limits, 1 a limit broken, 2 wrong input, 3 binds, 4 not written.

use super::{sweep, sweep_with};
use crate::car::{Car, SOUND, all_meet_one_line, five_parallel_links, replaced};
use crate::program::{DEMO_NOTE, Folder, run};

/// The demo car with a right toe link so short that the right wheel binds in droop.
fn right_side_binds() -> String {
    let own =
        "\n[[right.link]]\nname = \"toe link\"\nchassis = [-150.0, -560.0, 255.0]\nupright = [-120.0, -668.0, 254.0]\n";
    Car::demo().to_string() + own
}

#[test]
fn a_car_inside_its_limits_ends_with_0_and_says_nothing_else() {
    assert_eq!(sweep(Car::read(SOUND)).ends_with(0).err, "");
}

#[test]
fn the_demo_car_breaks_its_limit_and_says_which_car_it_is() {
    let ran = run("sweep").ends_with(1);
    assert_eq!(ran.err, DEMO_NOTE);
    assert!(ran.out.contains("FAIL"), "{ran}");
}

#[test]
fn parts_that_are_too_near_break_a_limit_that_the_file_need_not_name() {
    let ran = sweep(Car::read("tests/outside/fl-b.toml")).ends_with(1);
    ran.assert_shows(&["≥5 FAIL", "FAIL: three / halfshaft", "links 25.4 mm, halfshaft 28.0 mm, least gap 5.0 mm"]);
    let clearance = &ran.summary()["heave"]["left"]["clearance"];
    assert_eq!(clearance["limit_is_default"], true);
    assert!(clearance["least_mm"].as_f64().is_some_and(|mm| mm < 5.0), "{clearance}");
}

#[test]
fn a_broken_limit_of_the_other_side_does_not_count() {
    let car = Car::read("geometries/as-built.toml").set("limits.bump_steer", "0.07");
    sweep_with(&car, "--side left").ends_with(0);
    sweep_with(&car, "--side right").ends_with(1);
    sweep(&car).ends_with(1);
}

#[test]
fn wrong_input_ends_with_2_and_writes_nothing() {
    let folder = Folder::with(replaced(Car::demo(), "tyre_radius", "tire_radius"));
    folder.write("sound.toml", Car::read(SOUND));
    for options in ["none.toml", "car.toml", "--bump -1", "--sideways", "sound.toml sound.toml"] {
        folder.run(&format!("sweep {options}")).ends_with(2);
    }
    assert_eq!(folder.names("."), ["car.toml", "sound.toml"]);
}

#[test]
fn five_equal_parallel_links_end_with_2_and_show_their_line() {
    sweep(five_parallel_links()).ends_with(2).assert_tells(&["parallel", "line 5, column 1"]);
}

#[test]
fn links_that_all_meet_the_vertical_of_the_wheel_end_with_2_and_show_their_line() {
    sweep(all_meet_one_line(0.0)).ends_with(2).assert_tells(&["all meet one line", "line 5, column 1"]);
}

/// 0.393700788 in is 10.0000000152 mm.
#[test]
fn a_step_a_hair_longer_than_ten_millimetres_is_no_bind() {
    sweep_with(Car::read(SOUND), "--step 10.000000001").ends_with(0);
    let in_inches = |step: &str| {
        let ran = sweep(Car::read("tests/outside/inch-hub-axes.toml").set("travel.step", step));
        (ran.code, ran.err)
    };
    assert_eq!(in_inches("0.393700788"), in_inches("0.4"));
}

#[test]
fn a_wheel_that_binds_ends_with_3_and_names_side_travel_and_links() {
    let ran = sweep(right_side_binds()).doubted(1).ends_with(3);
    let said = ran.messages();
    assert!(said.starts_with("error: the right side binds at 53.0 mm of droop; \""), "{said}");
    ran.assert_tells(&["\"toe link\" carry the bind", "reduce `droop` in [travel]"]);
    assert_eq!(ran.err.matches("error:").count(), 1, "{said}");
}

#[test]
fn rows_before_a_bind_are_kept_and_the_other_side_and_way_go_on() {
    let ran = sweep(right_side_binds()).doubted(1).ends_with(3);
    let (heave, roll, grid) = (ran.table("heave.csv"), ran.table("roll.csv"), ran.table("grid.csv"));
    assert_eq!(heave.of_side("left", "bump_mm").len(), 25);
    let right = heave.of_side("right", "bump_mm");
    assert_eq!((right[0], right.last(), right.len()), (-50.0, Some(&60.0), 23));
    assert_eq!((roll.of_side("left", "bump_mm").len(), roll.of_side("right", "bump_mm").len()), (13, 13));
    let of = |side| grid.of_side(side, "bump_mm").len();
    assert!(of("left") > of("right") && of("right") > 150, "{} and {}", of("left"), of("right"));
}

#[test]
fn a_bind_of_the_side_that_is_not_asked_for_is_not_told() {
    assert_eq!(sweep_with(right_side_binds(), "--side left").doubted(1).ends_with(1).err, "");
}

/// The demo binds in droop far beyond what its roll study asks for.
#[test]
fn a_bind_that_body_roll_does_not_reach_leaves_roll_steer_judged() {
    let car = Car::demo().set("limits.roll_steer", "40.0");
    let state = |options: &str| {
        let summary = sweep_with(&car, options).summary();
        let limits = summary["limits"].as_array().expect("a list").clone();
        let of_roll = limits.into_iter().find(|limit| limit["quantity"] == "roll steer (body roll)");
        of_roll.expect("roll steer")["state"].clone()
    };
    assert_eq!(state("--droop 300"), "pass");
    assert_eq!(state("--droop 500 --bump 500 --roll 26"), "not checked");
}

#[test]
fn travel_beyond_reach_binds_both_ways_on_both_sides() {
    let ran = sweep_with(Car::demo(), "--bump 400 --droop 400").ends_with(3);
    assert_eq!(ran.err.matches("error:").count(), 4, "{ran}");
    ran.assert_tells(&["left side binds at 248.7 mm of droop", "right side binds at 337.3 mm of bump"]);
    ran.assert_shows(&[
        "steers at least",
        "; it binds",
        "Of a wheel that binds, values are of the rows before the bind.",
    ]);
    assert!(!ran.out.contains("worst bump steer") && !run("sweep").out.contains("Of a wheel that binds"), "{ran}");
    let heave = ran.table("heave.csv").of_side("left", "bump_mm");
    assert_eq!((heave[0], heave.last()), (-245.0, Some(&335.0)));
}

/// A row at design height is no range of a change: 0.000 deg would read as a car without bump steer.
#[test]
fn of_a_change_of_which_nothing_was_seen_there_is_no_number() {
    let ran = sweep_with(all_meet_one_line(1.0), "--side left --droop 0 --bump 20").doubted(1).ends_with(3);
    for change in ["bump steer", "camber change", "track change"] {
        let line = ran.out.lines().find(|line| line.starts_with(change)).unwrap_or_else(|| panic!("{change}: {ran}"));
        assert!(line.contains(" binds ") && !line.contains("0.0"), "{line}");
        let verdicts = ran.summary()["limits"].as_array().expect("a list").clone();
        let of = verdicts.iter().find(|of| of["quantity"].as_str().is_some_and(|name| name.starts_with(change)));
        assert!(of.is_some_and(|of| of["low"].is_null() && of["state"] == "not checked"), "{of:?}");
    }
    assert!(ran.out.contains("it binds here: no curve") && !ran.out.contains("worst bump steer"), "{ran}");
}

/// A bind at design height has no travel to tell bump from droop by, and the other way is free.
#[test]
fn a_wheel_that_binds_where_it_is_drawn_is_told_for_one_way_and_goes_the_other() {
    for off_mm in [1e-4, -1e-4, 1e-3, 1e-2, 1.0] {
        let ran = sweep_with(all_meet_one_line(off_mm), "--side left --droop 20").doubted(1).ends_with(3);
        assert_eq!(ran.err.matches("binds").count(), 1, "{off_mm}: {ran}");
        ran.assert_tells(&["the left side binds at 0.0 mm of bump"]);
        let heave = ran.table("heave.csv");
        assert_eq!(heave.of_side("left", "bump_mm"), [-20.0, -15.0, -10.0, -5.0, 0.0], "{off_mm}");
        assert!(heave.numbers("residual_mm").iter().all(|mm| *mm <= 1e-9), "{off_mm}");
    }
}

#[test]
fn a_folder_that_cannot_be_made_ends_with_4() {
    let folder = Folder::with(Car::read(SOUND));
    folder.write("notes", "mine");
    folder.run("sweep car.toml --out notes").ends_with(4).assert_tells(&["is not a folder"]);
    assert_eq!(folder.text("notes"), "mine");
}

#[test]
fn a_foreign_file_of_the_same_name_ends_with_4_and_nothing_is_written() {
    let folder = Folder::with(Car::read(SOUND));
    folder.write("out/roll.csv", "my own");
    folder.run("sweep car.toml --out out").ends_with(4).assert_tells(&["roll.csv", "--force"]);
    assert_eq!(folder.names("out"), ["roll.csv"]);
    assert_eq!(folder.text("out/roll.csv"), "my own");
    folder.run("sweep car.toml --out out --force").ends_with(0);
    assert!(folder.text("out/roll.csv").starts_with("side,"));
}

#[test]
fn a_second_run_replaces_the_files_of_the_first_with_the_same_bytes() {
    let folder = Folder::with(Car::read(SOUND));
    let grid = |options: &str| folder.run(&format!("sweep car.toml {options}")).ends_with(0).text("grid.csv");
    let first = grid("");
    assert_ne!(grid("--step 20"), first);
    assert_eq!(grid(""), first);
}
