//! 0 inside limits, 1 a limit broken, 2 wrong input, 3 binds, 4 not written.

use std::fs;

use tempfile::tempdir;

use super::program::{DEMO, SOUND, Written, all_meet_one_line, changed, five_links, run, sweep};

/// The demo car with a right toe link so short that the right wheel binds in droop.
fn right_side_binds() -> Written {
    let own =
        "\n[[right.link]]\nname = \"toe link\"\nchassis = [-150.0, -560.0, 255.0]\nupright = [-120.0, -668.0, 254.0]\n";
    Written::new(changed(DEMO, &[]) + own)
}

#[test]
fn a_car_inside_its_limits_ends_with_0_and_says_nothing_else() {
    let ran = sweep(&[SOUND]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""));
}

#[test]
fn the_demo_car_breaks_its_limit_and_says_which_car_it_is() {
    let ran = sweep(&[]);
    assert_eq!(ran.code, Some(1));
    assert_eq!(ran.err, "No geometry file given: working on the built-in demo car.\n");
    assert!(ran.out.contains("FAIL"), "{}", ran.out);
}

#[test]
fn a_broken_limit_of_the_other_side_does_not_count() {
    let text = changed("geometries/as-built.toml", &[("bump_steer = 0.05", "bump_steer = 0.07")]);
    let file = Written::new(text);
    assert_eq!(sweep(&[file.path(), "--side", "left"]).code, Some(0));
    assert_eq!(sweep(&[file.path(), "--side", "right"]).code, Some(1));
    assert_eq!(sweep(&[file.path()]).code, Some(1));
}

#[test]
fn wrong_input_ends_with_2_and_writes_nothing() {
    let misspelt = Written::new(changed(DEMO, &[("tyre_radius", "tire_radius")]));
    for arguments in [&["none.toml"][..], &[misspelt.path()], &["--bump", "-1"], &["--sideways"], &[DEMO, SOUND]] {
        let ran = sweep(arguments);
        assert_eq!((ran.code, ran.out.as_str()), (Some(2), ""), "{arguments:?}");
        assert!(ran.err.starts_with("error: ") && !ran.folder.exists(), "{arguments:?}: {}", ran.err);
    }
}

#[test]
fn five_equal_parallel_links_end_with_2_and_show_their_line() {
    let ends = [[100.0, 400.0], [-100.0, 400.0], [100.0, 200.0], [-100.0, 200.0], [0.0, 300.0]];
    let file = five_links(ends.map(|[x, z]| ([x, 400.0, z], [x, 700.0, z])));
    let ran = sweep(&[file.path()]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.err.contains("parallel") && ran.err.contains("line 5, column 1"), "{}", ran.err);
    assert!(!ran.folder.exists());
}

#[test]
fn links_that_all_meet_the_vertical_of_the_wheel_end_with_2_and_show_their_line() {
    let ran = sweep(&[all_meet_one_line(0.0).path()]);
    assert_eq!(ran.code, Some(2));
    assert!(ran.err.contains("all meet one line") && ran.err.contains("line 5, column 1"), "{}", ran.err);
}

#[test]
fn a_wheel_that_binds_ends_with_3_and_names_side_travel_and_links() {
    let ran = sweep(&[right_side_binds().path()]);
    assert_eq!(ran.code, Some(3));
    let said = ran.said();
    assert!(said.starts_with("error: the right side binds at 53.0 mm of droop; \""), "{said}");
    assert!(said.contains("\"toe link\" carry the bind") && said.contains("reduce `droop` in [travel]"), "{said}");
    assert_eq!(ran.err.matches("error:").count(), 1, "{said}");
}

#[test]
fn rows_before_a_bind_are_kept_and_the_other_side_and_way_go_on() {
    let ran = sweep(&[right_side_binds().path()]);
    let (heave, roll, grid) = (ran.table("heave.csv"), ran.table("roll.csv"), ran.table("grid.csv"));
    assert_eq!(heave.of("left", "bump_mm").len(), 25);
    let right = heave.of("right", "bump_mm");
    assert_eq!((right[0], right.last(), right.len()), (-50.0, Some(&60.0), 23));
    assert_eq!((roll.of("left", "bump_mm").len(), roll.of("right", "bump_mm").len()), (13, 13));
    let of = |side| grid.of(side, "bump_mm").len();
    assert!(of("left") > of("right") && of("right") > 150, "{} and {}", of("left"), of("right"));
}

#[test]
fn a_bind_of_the_side_that_is_not_asked_for_is_not_told() {
    let ran = sweep(&[right_side_binds().path(), "--side", "left"]);
    assert_eq!((ran.code, ran.err.as_str()), (Some(1), ""));
}

/// The demo binds in droop far beyond what its roll study asks for.
#[test]
fn a_bind_that_body_roll_does_not_reach_leaves_roll_steer_judged() {
    let file = Written::new(changed(DEMO, &[("roll_steer = 0.3", "roll_steer = 40.0")]));
    let state = |arguments: &[&str]| {
        let summary = sweep(arguments).summary();
        let limits = summary["limits"].as_array().expect("a list").clone();
        let of_roll = limits.into_iter().find(|limit| limit["quantity"] == "roll steer (body roll)");
        of_roll.expect("roll steer")["state"].clone()
    };
    assert_eq!(state(&[file.path(), "--droop", "300"]), "pass");
    assert_eq!(state(&[file.path(), "--droop", "500", "--bump", "500", "--roll", "26"]), "not checked");
}

#[test]
fn travel_beyond_reach_binds_both_ways_on_both_sides() {
    let ran = sweep(&[DEMO, "--bump", "400", "--droop", "400"]);
    assert_eq!((ran.code, ran.err.matches("error:").count()), (Some(3), 4), "{}", ran.err);
    for place in ["left side binds at 248.7 mm of droop", "right side binds at 337.3 mm of bump"] {
        assert!(ran.said().contains(place), "{}", ran.err);
    }
    let heave = ran.table("heave.csv").of("left", "bump_mm");
    assert_eq!((heave[0], heave.last()), (-245.0, Some(&335.0)));
}

/// A bind at design height has no travel to tell bump from droop by, and the other way is free.
#[test]
fn a_wheel_that_binds_where_it_is_drawn_is_told_for_one_way_and_goes_the_other() {
    for off_mm in [1e-4, -1e-4, 1e-3, 1e-2, 1.0] {
        let ran = sweep(&[all_meet_one_line(off_mm).path(), "--side", "left", "--droop", "20"]);
        assert_eq!((ran.code, ran.err.matches("binds").count()), (Some(3), 1), "{off_mm}: {}", ran.err);
        assert!(ran.said().contains("the left side binds at 0.0 mm of bump"), "{off_mm}: {}", ran.err);
        let heave = ran.table("heave.csv");
        assert_eq!(heave.of("left", "bump_mm"), [-20.0, -15.0, -10.0, -5.0, 0.0], "{off_mm}");
        assert!(heave.numbers("residual_mm").iter().all(|mm| *mm <= 1e-9), "{off_mm}");
    }
}

#[test]
fn a_folder_that_cannot_be_made_ends_with_4() {
    let dir = tempdir().expect("a scratch folder");
    let in_the_way = dir.path().join("notes");
    fs::write(&in_the_way, "mine").expect("a writable file");
    let (code, out, err) = run(&in_the_way, &[SOUND]);
    assert_eq!((code, out.as_str()), (Some(4), ""));
    assert!(err.starts_with("error: ") && err.contains("is not a folder"), "{err}");
    assert_eq!(fs::read_to_string(&in_the_way).expect("still a file"), "mine");
}

#[test]
fn a_foreign_file_of_the_same_name_ends_with_4_and_nothing_is_written() {
    let dir = tempdir().expect("a scratch folder");
    let foreign = dir.path().join("roll.csv");
    fs::write(&foreign, "my own").expect("a writable file");
    let (code, out, err) = run(dir.path(), &[SOUND]);
    assert_eq!((code, out.as_str()), (Some(4), ""));
    assert!(err.contains("roll.csv") && err.contains("--force"), "{err}");
    assert_eq!(fs::read_dir(dir.path()).expect("a folder").count(), 1);
    assert_eq!(fs::read_to_string(&foreign).expect("still there"), "my own");
    assert_eq!(run(dir.path(), &[SOUND, "--force"]).0, Some(0));
    assert!(fs::read_to_string(&foreign).expect("a table").starts_with("side,"));
}

#[test]
fn a_second_run_replaces_the_files_of_the_first_with_the_same_bytes() {
    let dir = tempdir().expect("a scratch folder");
    let grid = || fs::read(dir.path().join("grid.csv")).expect("a table");
    assert_eq!(run(dir.path(), &[SOUND]).0, Some(0));
    let first = grid();
    assert_eq!(run(dir.path(), &[SOUND, "--step", "20"]).0, Some(0));
    assert_ne!(grid(), first);
    assert_eq!(run(dir.path(), &[SOUND]).0, Some(0));
    assert_eq!(grid(), first);
}
