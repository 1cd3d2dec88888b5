//! The real binary: exit code, stdout, stderr; what is not expected must be empty.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use tempfile::{TempDir, tempdir};

fn hubtrace() -> Command {
    Command::new(env!("CARGO_BIN_EXE_hubtrace"))
}

fn run(arguments: &[&str]) -> Output {
    hubtrace().args(arguments).output().unwrap()
}

fn text(bytes: &[u8]) -> &str {
    std::str::from_utf8(bytes).unwrap()
}

/// A run that must succeed and say nothing on stderr; its stdout.
fn succeeds(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert_eq!((output.status.code(), text(&output.stderr)), (Some(0), ""), "{arguments:?}");
    text(&output.stdout).to_owned()
}

/// A run that must fail with this code and print nothing; its stderr.
fn fails(code: i32, arguments: &[&str]) -> String {
    let output = run(arguments);
    assert_eq!((output.status.code(), text(&output.stdout)), (Some(code), ""), "{}", text(&output.stderr));
    let said = text(&output.stderr).to_owned();
    assert!(said.starts_with("error: "), "{said}");
    said
}

fn path_in(dir: &TempDir, name: &str) -> String {
    dir.path().join(name).to_str().unwrap().to_owned()
}

/// The demo car's file with one piece of its text replaced.
fn changed_demo(dir: &TempDir, from: &str, to: &str) -> String {
    let demo = fs::read_to_string("geometries/first-cut.toml").unwrap();
    assert!(demo.contains(from), "{from}");
    let path = path_in(dir, "changed.toml");
    fs::write(&path, demo.replacen(from, to, 1)).unwrap();
    path
}

/// A file with the demo's wheel and these five links.
fn file_of_links(dir: &TempDir, links: [([f64; 3], [f64; 3]); 5]) -> String {
    let mut file = "schema = 1\n[wheel]\ncentre = [0.0, 745.0, 308.0]\ntyre_radius = 308.0\n".to_owned();
    for (i, (chassis, upright)) in links.into_iter().enumerate() {
        file += &format!("[[link]]\nname = \"link {i}\"\nchassis = {chassis:?}\nupright = {upright:?}\n");
    }
    let path = path_in(dir, "links.toml");
    fs::write(&path, file).unwrap();
    path
}

#[test]
fn new_writes_a_starter_that_check_reads() {
    let dir = tempdir().unwrap();
    let path = path_in(&dir, "rear.toml");
    let said = succeeds(&["new", &path, "--tyre", "185/60R13", "--track", "1337"]);
    assert!(said.contains("185/60R13, track 1337 mm") && said.contains("hubtrace check"), "{said}");
    let page = succeeds(&["check", &path]);
    assert!(page.contains("track 1337.0 mm") && page.contains("15 of 15 points"), "{page}");
}

#[test]
fn new_keeps_a_file_that_exists_unless_forced() {
    let dir = tempdir().unwrap();
    let path = path_in(&dir, "rear.toml");
    fs::write(&path, "mine").unwrap();
    let said = fails(4, &["new", &path]);
    assert_eq!(
        said,
        format!("error: {path} exists already\n      | choose another name, or overwrite it with --force\n")
    );
    assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    assert_eq!(succeeds(&["new", &path, "--force", "--quiet"]), "");
    assert!(fs::read_to_string(&path).unwrap().contains("[[link]]"));
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1);
}

#[test]
fn new_says_where_it_cannot_write() {
    let dir = tempdir().unwrap();
    let missing = path_in(&dir, "missing/rear.toml");
    assert!(fails(4, &["new", &missing]).contains("make sure that the folder"));
    let folder = dir.path().to_str().unwrap();
    assert!(fails(4, &["new", folder, "--force"]).contains("is a folder, not a plain file"));
}

/// A full disk is played by a limit on the size of files.
#[cfg(target_os = "linux")]
#[test]
fn a_disk_without_room_leaves_no_half_file() {
    let dir = tempdir().unwrap();
    let path = path_in(&dir, "rear.toml");
    let script = format!("trap '' XFSZ; ulimit -f 1; exec {} new {path}", env!("CARGO_BIN_EXE_hubtrace"));
    let output = Command::new("sh").args(["-c", &script]).output().unwrap();
    let said = text(&output.stderr);
    assert_eq!(output.status.code(), Some(4), "{said}");
    assert!(said.contains("cannot write") && said.contains("make room there"), "{said}");
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 0);
}

#[test]
fn new_refuses_a_wheel_that_is_none() {
    let dir = tempdir().unwrap();
    let path = path_in(&dir, "rear.toml");
    assert!(fails(2, &["new", &path, "--tyre", "205-50-15"]).contains("is no tyre size; write"));
    assert!(fails(2, &["new", &path, "--track", "15"]).contains("900 to 2100"));
    assert!(fails(2, &["new", &path, "--track", "wide"]).contains("for example 1490"));
    assert!(!Path::new(&path).exists());
}

#[test]
fn check_of_the_demo_car_says_so_and_fits_the_screen() {
    let output = run(&["check"]);
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(text(&output.stderr), "No geometry file given: working on the built-in demo car.\n");
    let page = text(&output.stdout);
    for part in ["track 1490.0 mm", "toe 0.10 deg", "camber -1.50 deg", "300.9", "well clear of binding"] {
        assert!(page.contains(part), "{part}: {page}");
    }
    assert!(page.lines().count() <= 24 && page.lines().all(|line| line.chars().count() <= 80), "{page}");
    assert_eq!(succeeds(&["check", "--quiet"]), page);
}

#[test]
fn check_shows_both_sides_when_they_differ() {
    let page = succeeds(&["check", "geometries/as-built.toml"]);
    assert!(page.contains("Left wheel") && page.contains("Right wheel") && page.contains("-745.8"), "{page}");
    assert!(page.contains("contact points differ in height by 0.2 mm"), "{page}");
    let right = succeeds(&["check", "geometries/as-built.toml", "--side", "right"]);
    assert!(right.contains("Right wheel") && !right.contains("Left wheel"), "{right}");
}

#[test]
fn check_names_the_suspects_of_a_taped_length_that_does_not_fit() {
    let dir = tempdir().unwrap();
    let from = "upright = [28.0, 655.0, 405.0]";
    let page = succeeds(&["check", &changed_demo(&dir, from, &format!("{from}\ntaped = 310.0"))]);
    let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("warning: Link \"upper front\" on the left is 300.9 mm between its points"), "{page}");
    assert!(flat.contains("measure its chassis and upright points again"), "{page}");
}

#[test]
fn check_tells_what_the_file_leaves_open() {
    let dir = tempdir().unwrap();
    let page = succeeds(&["check", &changed_demo(&dir, "cg_height = 380.0", "")]);
    assert!(page.contains("not checked: anti-squat (no cg_height in [car])"), "{page}");
    assert!(page.contains("not checked: anti-lift (no cg_height in [car])"), "{page}");
    assert!(page.contains("not in [limits], so never passed or failed: anti_lift"), "{page}");
}

#[test]
fn check_says_when_the_starter_key_does_not_read() {
    let dir = tempdir().unwrap();
    let page = succeeds(&["check", &changed_demo(&dir, "units =", "starter = \"my wheel\"\nunits =")]);
    assert!(page.contains("warning: `starter`: \"my wheel\" does not say"), "{page}");
}

#[test]
fn a_corner_that_binds_when_driven_on_says_where() {
    let dir = tempdir().unwrap();
    let page = succeeds(&[
        "check",
        &changed_demo(&dir, "chassis = [-150.0, 376.0, 255.0]", "chassis = [-150.0, 560.0, 255.0]"),
    ]);
    let flat = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        flat.contains("driven on in bump it binds at 65.0 mm, beyond its stop at 60.0 mm; \"upper front\""),
        "{page}"
    );
    assert!(flat.contains("warning: in droop it binds at 53.0 mm, before its stop at 60.0 mm;"), "{page}");
    assert!(flat.contains("\"toe link\" carry the bind"), "{page}");
}

#[test]
fn five_parallel_links_are_refused_with_the_reason() {
    let dir = tempdir().unwrap();
    let ends = [[100.0, 400.0], [-100.0, 400.0], [100.0, 200.0], [-100.0, 200.0], [0.0, 300.0]];
    let links = ends.map(|[x, z]| ([x, 400.0, z], [x, 700.0, z]));
    let said = fails(2, &["check", &file_of_links(&dir, links)]);
    assert!(said.contains("the five links of the left side are parallel"), "{said}");
    assert!(said.contains("line 5, column 1") && said.contains("point them in different directions"), "{said}");
}

/// All five lines and the vertical through the wheel centre meet the lengthwise line y = 745, z = 100.
#[test]
fn links_that_cannot_lift_the_wheel_are_refused_with_the_reason() {
    let dir = tempdir().unwrap();
    let chassis = [
        [150.0, 380.0, 400.0],
        [-110.0, 372.0, 388.0],
        [240.0, 372.0, 181.0],
        [-70.0, 345.0, 172.0],
        [-150.0, 376.0, 255.0],
    ];
    let met = [60.0, -90.0, 20.0, -40.0, -180.0];
    let links = std::array::from_fn(|i| {
        let [x, y, z]: [f64; 3] = chassis[i];
        let share = 0.8;
        (chassis[i], [x + share * (met[i] - x), y + share * (745.0 - y), z + share * (100.0 - z)])
    });
    let said = fails(2, &["check", &file_of_links(&dir, links)]);
    assert!(said.contains("bump cannot move the left wheel") && said.contains("all meet one line"), "{said}");
}

#[test]
fn links_without_chassis_points_are_refused_with_the_command_that_finds_them() {
    for command in ["check", "sweep"] {
        let said = fails(2, &[command, "tests/good/every_key.toml"]);
        let expected =
            "error: link \"lower front\" has no chassis point yet\n      | run `hubtrace tune` to find one\n";
        assert_eq!(said, expected, "{command}");
    }
}

#[test]
fn a_wrong_file_is_named() {
    let dir = tempdir().unwrap();
    assert!(fails(2, &["check", &path_in(&dir, "none.toml")]).contains("none.toml cannot be read"));
    assert!(fails(2, &["check", dir.path().to_str().unwrap()]).contains("is a folder"));
    let said = fails(2, &["check", &changed_demo(&dir, "tyre_radius", "tire_radius")]);
    assert!(said.contains("changed.toml, line ") && said.contains("tire_radius"), "{said}");
}

#[test]
fn a_number_that_cannot_be_is_refused_with_what_to_write() {
    for (option, value, advice) in [
        ("--bump", "-5", "write millimetres from 0 to 500, for example 60"),
        ("--droop", "nan", "write millimetres from 0 to 500, for example 60"),
        ("--step", "0", "write millimetres above 0, up to 500, for example 5"),
        ("--step", "inf", "write millimetres above 0, up to 500, for example 5"),
        ("--roll", "three", "write degrees from 0 to less than 45, for example 3"),
        ("--step-roll", "-0.5", "write degrees above 0 and less than 45, for example 0.5"),
    ] {
        let said = fails(2, &["sweep", option, value]);
        assert!(said.contains(advice), "{option} {value}: {said}");
    }
}

#[test]
fn steps_that_make_a_mountain_of_rows_are_refused() {
    let said = fails(2, &["sweep", "--quiet", "--step", "0.001"]);
    assert!(said.contains("120001 rows of heave") && said.contains("--step"), "{said}");
}

#[test]
fn an_unknown_command_or_option_is_usage() {
    assert!(fails(2, &["swoop"]).contains("swoop"));
    assert!(fails(2, &["check", "--sid", "left"]).contains("--side"));
    assert!(fails(2, &["check", "--side", "middle"]).contains("left, right, both"));
}

#[test]
fn help_names_the_commands_and_the_exit_codes() {
    let help = succeeds(&["--help"]);
    for word in ["new", "check", "sweep", "Exit codes"] {
        assert!(help.contains(word), "{word}: {help}");
    }
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let mut child =
        hubtrace().args(["check", "--quiet"]).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((output.status.code(), text(&output.stderr)), (Some(0), ""));
}

#[cfg(target_os = "linux")]
#[test]
fn a_result_that_cannot_be_printed_is_an_output_error() {
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = hubtrace().args(["check", "--quiet"]).stdout(full).output().unwrap();
    assert_eq!(output.status.code(), Some(4));
    assert!(text(&output.stderr).starts_with("error: cannot print the result: "), "{}", text(&output.stderr));
}
