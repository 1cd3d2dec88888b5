//! `hubtrace tolerance` as a builder runs it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;
use tempfile::TempDir;

fn hubtrace(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_hubtrace"))
        .arg("tolerance")
        .args(args)
        .args(["--out"])
        .arg(folder)
        .output()
        .expect("the program runs")
}

fn geometry(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(name)
}

/// The first cut with a limit it keeps.
fn kept(folder: &TempDir) -> String {
    let text = fs::read_to_string(geometry("geometries/first-cut.toml")).expect("the file is there");
    let path = folder.path().join("kept.toml");
    fs::write(&path, text.replace("bump_steer = 0.05", "bump_steer = 0.55")).expect("there is room");
    path.display().to_string()
}

fn stderr(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn the_summary_holds_the_pinned_figures() {
    let folder = TempDir::new().expect("a folder");
    let output = hubtrace(folder.path(), &["--cars", "500", "--json"]);
    assert_eq!(output.status.code(), Some(1), "{}", stderr(&output));
    let summary: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(summary["schema"], 1);
    assert_eq!(summary["input_sha256"].as_str().map(str::len), Some(64));
    for side in ["left", "right"] {
        let worst = &summary["tolerance"][side]["worst_bump_steer_deg"];
        let at = |name: &str| worst[name].as_f64().expect("a number");
        assert!(at("p50") < at("p90") && at("p90") < at("p99"));
    }
    assert_eq!(summary["tolerance"]["share_inside"].as_f64(), Some(0.0));
    for name in ["sensitivity.csv", "tolerance.csv", "tolerance-band.svg", "tolerance-worst.svg", "summary.json"] {
        assert!(folder.path().join(name).is_file(), "{name}");
    }
}

#[test]
fn a_drawing_that_keeps_its_limits_ends_with_zero_and_shows_the_way_out() {
    let folder = TempDir::new().expect("a folder");
    let output = hubtrace(folder.path(), &[&kept(&folder), "--cars", "500"]);
    let text = String::from_utf8_lossy(&output.stdout);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    for words in ["Chance that yours passes", "Last bracket last", "mid-stack", "Jigs that hold"] {
        assert!(text.contains(words), "{words}");
    }
    fits(&text);
}

/// One screen of 80 columns, and none of the words of the inside of the program.
fn fits(screen: &str) {
    assert!(screen.lines().all(|line| line.chars().count() <= 80), "{screen}");
    assert!(screen.lines().count() <= 40, "{screen}");
    for word in ["posture", "residual", "condition number", "prior", "NaN"] {
        assert!(!screen.contains(word), "{word} in\n{screen}");
    }
}

#[test]
fn every_car_of_the_folder_fits_the_screen_whatever_is_done_about_the_links() {
    let folder = TempDir::new().expect("a folder");
    for name in ["first-cut", "as-built", "double-wishbone", "semi-trailing"] {
        let file = geometry(&format!("geometries/{name}.toml")).display().to_string();
        for links in ["--links=adjusted", "--links=cut", "--last"] {
            let output = hubtrace(folder.path(), &[&file, "--cars", "200", links]);
            assert!(matches!(output.status.code(), Some(0 | 1)), "{name}: {}", stderr(&output));
            fits(&String::from_utf8_lossy(&output.stdout));
        }
    }
}

#[test]
fn without_limits_there_is_nothing_to_pass() {
    let folder = TempDir::new().expect("a folder");
    let file = geometry("tests/good/corner.toml").display().to_string();
    let output = hubtrace(folder.path(), &[&file, "--cars", "100", "--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", stderr(&output));
    let summary: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert!(summary["tolerance"]["share_inside"].is_null());
}

/// A limit on what the file lacks the data for is neither passed nor broken.
#[test]
fn a_limit_without_data_is_not_checked_and_sinks_no_car() {
    let folder = TempDir::new().expect("a folder");
    let text = fs::read_to_string(geometry("tests/good/corner.toml")).expect("the file is there");
    let path = folder.path().join("lacking.toml");
    fs::write(&path, text + "\n[limits]\ncamber_change = 20.0\nanti_squat = [0.0, 90.0]\n").expect("there is room");
    let out = folder.path().join("out");
    let output = hubtrace(&out, &[&path.display().to_string(), "--cars", "100"]);
    let text = String::from_utf8_lossy(&output.stdout);
    assert!(text.contains("the file lacks the data: anti-squat"), "{text}{}", stderr(&output));
    assert!(text.contains("every limit: 100 %"), "{text}");
}

/// Gauged and placed last, a bracket makes up for the errors of all the others.
#[test]
fn the_last_bracket_last_makes_more_cars_pass() {
    let folder = TempDir::new().expect("a folder");
    let file = kept(&folder);
    let worst = |args: &[&str]| {
        let out = folder.path().join(args.join("-").replace(' ', "-"));
        let output = hubtrace(&out, &[&[file.as_str(), "--cars", "300", "--json"], args].concat());
        let summary: Value = serde_json::from_slice(&output.stdout).expect("JSON");
        summary["tolerance"]["left"]["worst_bump_steer_deg"]["p90"].as_f64().expect("a number")
    };
    assert!(worst(&["--last=toe link"]) < 0.5 * worst(&["--links", "adjusted"]));
}

#[test]
fn the_table_is_the_same_on_one_thread_and_on_two() {
    let run = |threads: &str| {
        let folder = TempDir::new().expect("a folder");
        let mut command = Command::new(env!("CARGO_BIN_EXE_hubtrace"));
        command.args(["tolerance", "--quiet", "--cars", "2000", "--links", "cut", "--out"]).arg(folder.path());
        command.env("RAYON_NUM_THREADS", threads).status().expect("the program runs");
        let read = |name: &str| fs::read(folder.path().join(name)).expect("it was written");
        ["tolerance.csv", "summary.json", "tolerance-band.svg", "tolerance-worst.svg"].map(read)
    };
    assert_eq!(run("1"), run("2"));
}

#[test]
fn wrong_numbers_are_refused_with_what_to_write() {
    let folder = TempDir::new().expect("a folder");
    let cases: [(&[&str], &str); 9] = [
        (&["--cars", "0"], "--cars"),
        (&["--cars", "1"], "--cars"),
        (&["--sd", "-0.5"], "write millimetres above 0"),
        (&["--sd", "0"], "write millimetres above 0"),
        (&["--sd", "5000"], "write millimetres above 0"),
        (&["--sd", "nan"], "write millimetres above 0"),
        (&["--gauge", "-1"], "write degrees from 0 to 5"),
        (&["--class", "E"], "--class"),
        (&["--sd", "0.5", "--class", "B"], "cannot be used with"),
    ];
    for (args, words) in cases {
        let output = hubtrace(folder.path(), args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(stderr(&output).contains(words), "{args:?}: {}", stderr(&output));
        assert!(output.stdout.is_empty());
    }
}

#[test]
fn a_last_bracket_that_is_not_there_is_named_with_those_that_are() {
    let folder = TempDir::new().expect("a folder");
    let output = hubtrace(folder.path(), &["--last=steering arm"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("no link of the left side is called \"steering arm\""));
    assert!(stderr(&output).contains("\"toe link\""));
}

#[test]
fn a_last_bracket_goes_with_no_cut_links() {
    let folder = TempDir::new().expect("a folder");
    let output = hubtrace(folder.path(), &["--last=toe link", "--links", "cut"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("leave one of the two out"));
}

/// Without travel nothing steers, so there is nothing to flatten.
#[test]
fn a_last_bracket_that_can_flatten_nothing_is_refused() {
    let folder = TempDir::new().expect("a folder");
    let output = hubtrace(folder.path(), &["--last=toe link", "--bump", "0", "--droop", "0"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(stderr(&output).contains("cannot flatten the toe curve"), "{}", stderr(&output));
}

#[test]
fn a_drawing_that_binds_ends_with_three() {
    let folder = TempDir::new().expect("a folder");
    let file = geometry("tests/outside/near-fold.toml").display().to_string();
    let output = hubtrace(folder.path(), &[&file, "--bump", "60"]);
    assert_eq!(output.status.code(), Some(3), "{}", stderr(&output));
    assert!(stderr(&output).contains("binds as drawn"));
}

/// The stop stands 0.3 mm before the wheel binds, so that welds make many cars bind.
#[test]
fn cars_that_bind_are_counted_and_told() {
    let folder = TempDir::new().expect("a folder");
    let file = geometry("tests/outside/near-fold.toml").display().to_string();
    let output = hubtrace(folder.path(), &[&file, "--cars", "200"]);
    let text = String::from_utf8_lossy(&output.stdout).replace("\n  ", " ");
    assert!(text.contains("do not get through their travel"), "{text}");
    assert!(text.contains("they pass no limit and are in no figure above"));
}

#[test]
fn a_weld_class_of_the_standard_takes_the_place_of_the_files_welds() {
    let folder = TempDir::new().expect("a folder");
    let output = hubtrace(folder.path(), &["--class", "A", "--cars", "100"]);
    let text = String::from_utf8_lossy(&output.stdout);
    assert!(text.contains("ISO 13920 class A"), "{text}");
}
