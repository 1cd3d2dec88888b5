//! The output folder: all files or none, and nothing of the user's is lost.

use std::fs;
use std::path::{Path, PathBuf};
use std::thread;

use hubtrace::outputs::{Origin, OutputFolder, WriteError, list_name, sha256_hex, write_file};
use tempfile::{TempDir, tempdir};

/// Results of a command, made from a geometry of that name and text.
fn results_of(command: &'static str, geometry: &str, files: &[(&str, &str)]) -> OutputFolder {
    reading(command, geometry, &[], files)
}

/// The same of a run that has read these files.
fn reading(command: &'static str, geometry: &str, inputs: &[&Path], files: &[(&str, &str)]) -> OutputFolder {
    let mut folder = OutputFolder::new(Origin {
        command,
        geometry: geometry.to_owned(),
        geometry_sha256: sha256_hex(geometry.as_bytes()),
        inputs: inputs.iter().map(PathBuf::from).collect(),
    });
    files.iter().for_each(|&(name, contents)| folder.add(name, contents));
    folder
}

fn folder_of(files: &[(&str, &str)]) -> OutputFolder {
    results_of("sweep", "rear.toml", files)
}

fn read(dir: &TempDir, name: &str) -> String {
    fs::read_to_string(dir.path().join(name)).unwrap()
}

fn names_in(dir: &Path) -> Vec<String> {
    let mut names: Vec<_> = fs::read_dir(dir).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// Names in a folder without the lists.
fn results_in(dir: &Path) -> Vec<String> {
    let is_list = |name: &String| name.ends_with(".sha256");
    names_in(dir).into_iter().filter(|name| !is_list(name)).collect()
}

/// The message of a write that must be refused.
fn refused(result: Result<impl Sized, WriteError>) -> String {
    result.err().expect("the write must be refused").to_string()
}

#[test]
fn a_missing_folder_is_created_with_its_files_and_their_list() {
    let dir = tempdir().unwrap();
    let out = dir.path().join("a/b");
    let written = folder_of(&[("roll.csv", "r\n"), ("heave.csv", "h\n")]).write(&out, false).unwrap();
    assert_eq!(written.names, ["heave.csv", "roll.csv"]);
    assert_eq!(names_in(&out), ["heave.csv", "hubtrace-sweep.sha256", "roll.csv"]);
    let list = fs::read_to_string(out.join(list_name("sweep"))).unwrap();
    let [car, heave, roll] = ["rear.toml", "h\n", "r\n"].map(|text| sha256_hex(text.as_bytes()));
    assert_eq!(list, format!("# made from {car}  rear.toml\n{heave}  heave.csv\n{roll}  roll.csv\n"));
}

#[test]
fn the_own_files_of_an_earlier_run_are_replaced() {
    let dir = tempdir().unwrap();
    folder_of(&[("heave.csv", "old")]).write(dir.path(), false).unwrap();
    folder_of(&[("heave.csv", "new")]).write(dir.path(), false).unwrap();
    assert_eq!(read(&dir, "heave.csv"), "new");
}

#[test]
fn what_the_same_command_wrote_before_and_no_more_is_removed() {
    let dir = tempdir().unwrap();
    folder_of(&[("heave.csv", "h"), ("plunge.svg", "p")]).write(dir.path(), false).unwrap();
    let written = folder_of(&[("heave.csv", "h2")]).write(dir.path(), false).unwrap();
    assert_eq!(written.removed, ["plunge.svg"]);
    assert_eq!(results_in(dir.path()), ["heave.csv"]);
}

#[test]
fn what_the_user_changed_since_is_left_and_told() {
    let dir = tempdir().unwrap();
    folder_of(&[("heave.csv", "h"), ("plunge.svg", "p")]).write(dir.path(), false).unwrap();
    fs::write(dir.path().join("plunge.svg"), "p, and my notes").unwrap();
    let written = folder_of(&[("heave.csv", "h2")]).write(dir.path(), false).unwrap();
    assert_eq!((written.removed, written.left), (vec![], vec!["plunge.svg".to_owned()]));
    assert_eq!(read(&dir, "plunge.svg"), "p, and my notes");
}

#[test]
fn the_results_of_other_commands_stay() {
    let dir = tempdir().unwrap();
    results_of("tune", "rear.toml", &[("tuned.toml", "t"), ("moves.csv", "m")]).write(dir.path(), false).unwrap();
    folder_of(&[("heave.csv", "h"), ("roll.csv", "r")]).write(dir.path(), false).unwrap();
    folder_of(&[("heave.csv", "h")]).write(dir.path(), false).unwrap();
    assert_eq!(results_in(dir.path()), ["heave.csv", "moves.csv", "tuned.toml"]);
    results_of("tune", "rear.toml", &[("tuned.toml", "t2")]).write(dir.path(), false).unwrap();
    assert_eq!(results_in(dir.path()), ["heave.csv", "tuned.toml"]);
}

#[test]
fn a_name_of_two_commands_is_of_the_one_that_wrote_it_last() {
    let dir = tempdir().unwrap();
    folder_of(&[("heave.csv", "h"), ("summary.json", "of sweep")]).write(dir.path(), false).unwrap();
    results_of("tune", "rear.toml", &[("summary.json", "of tune")]).write(dir.path(), false).unwrap();
    assert_eq!(read(&dir, "summary.json"), "of tune");
    assert!(!read(&dir, "hubtrace-sweep.sha256").contains("summary.json"));
    folder_of(&[("heave.csv", "h2")]).write(dir.path(), false).unwrap();
    assert_eq!(read(&dir, "summary.json"), "of tune");
    folder_of(&[("summary.json", "of sweep")]).write(dir.path(), false).unwrap();
    assert_eq!(names_in(dir.path()), ["hubtrace-sweep.sha256", "summary.json"]);
}

#[test]
fn results_of_another_geometry_are_told() {
    let dir = tempdir().unwrap();
    results_of("tune", "rear.toml", &[("tuned.toml", "t")]).write(dir.path(), false).unwrap();
    let written = folder_of(&[("heave.csv", "h")]).write(dir.path(), false).unwrap();
    assert_eq!(written.others, []);
    let written = results_of("sweep", "tuned.toml", &[("heave.csv", "h")]).write(dir.path(), false).unwrap();
    let others: Vec<_> = written.others.iter().map(|o| (o.command.as_str(), o.geometry.as_deref())).collect();
    assert_eq!(others, [("tune", Some("rear.toml"))]);
}

#[test]
fn a_result_never_takes_the_place_of_an_input() {
    let dir = tempdir().unwrap();
    let input = dir.path().join("tuned.toml");
    results_of("tune", "rear.toml", &[("tuned.toml", "t")]).write(dir.path(), false).unwrap();
    for force in [false, true] {
        let run = reading("tune", "tuned.toml", &[&input], &[("tuned.toml", "t2")]);
        let what = refused(run.write(dir.path(), force));
        assert!(what.contains("overwrite their own source") && what.ends_with("tuned.toml"), "{what}");
        assert_eq!(read(&dir, "tuned.toml"), "t");
    }
}

#[test]
fn an_input_of_an_earlier_run_is_not_removed_and_stays_an_own_file() {
    let dir = tempdir().unwrap();
    let second = dir.path().join("tuned-2.toml");
    let tune = |names: &[(&str, &str)]| results_of("tune", "rear.toml", names);
    tune(&[("tuned.toml", "t"), ("tuned-2.toml", "t2")]).write(dir.path(), false).unwrap();
    let from_second = reading("tune", "tuned-2.toml", &[&second], &[("tuned.toml", "better")]);
    let written = from_second.write(dir.path(), false).unwrap();
    assert_eq!((written.removed, read(&dir, "tuned-2.toml").as_str()), (vec![], "t2"));
    tune(&[("tuned.toml", "t3")]).write(dir.path(), false).unwrap();
    assert_eq!(results_in(dir.path()), ["tuned.toml"]);
}

#[test]
fn unfinished_work_of_a_killed_run_is_cleared_away() {
    let dir = tempdir().unwrap();
    let leave = || {
        fs::create_dir(dir.path().join(".hubtrace-abc.part")).unwrap();
        fs::write(dir.path().join(".hubtrace-abc.part/heave.csv"), "half").unwrap();
        fs::write(dir.path().join(".hubtrace-xyz.part"), "half").unwrap();
    };
    leave();
    folder_of(&[("heave.csv", "h")]).write(dir.path(), false).unwrap();
    assert_eq!(names_in(dir.path()), ["heave.csv", "hubtrace-sweep.sha256"]);
    leave();
    write_file(&dir.path().join("rear.toml"), "r", false).unwrap();
    assert_eq!(names_in(dir.path()), ["heave.csv", "hubtrace-sweep.sha256", "rear.toml"]);
}

#[test]
fn a_foreign_file_of_the_same_name_stops_everything() {
    let dir = tempdir().unwrap();
    fs::write(dir.path().join("roll.csv"), "my own").unwrap();
    let what = refused(folder_of(&[("heave.csv", "h"), ("roll.csv", "r")]).write(dir.path(), false));
    assert!(what.ends_with("holds a file that was not written by hubtrace, or changed since: roll.csv"), "{what}");
    assert_eq!(read(&dir, "roll.csv"), "my own");
    assert_eq!(names_in(dir.path()), ["roll.csv"]);
}

#[test]
fn an_own_file_that_was_edited_is_foreign() {
    let dir = tempdir().unwrap();
    folder_of(&[("heave.csv", "h")]).write(dir.path(), false).unwrap();
    fs::write(dir.path().join("heave.csv"), "h, and my notes").unwrap();
    refused(folder_of(&[("heave.csv", "h2")]).write(dir.path(), false));
    assert_eq!(read(&dir, "heave.csv"), "h, and my notes");
}

#[test]
fn a_file_that_already_holds_what_is_written_is_in_nobodys_way() {
    let dir = tempdir().unwrap();
    fs::write(dir.path().join("heave.csv"), "h").unwrap();
    folder_of(&[("heave.csv", "h")]).write(dir.path(), false).unwrap();
    folder_of(&[("heave.csv", "h2")]).write(dir.path(), false).unwrap();
    assert_eq!(read(&dir, "heave.csv"), "h2");
}

#[test]
fn force_overwrites_a_foreign_file_and_owns_it_from_then_on() {
    let dir = tempdir().unwrap();
    fs::write(dir.path().join("heave.csv"), "my own").unwrap();
    folder_of(&[("heave.csv", "h")]).write(dir.path(), true).unwrap();
    folder_of(&[("heave.csv", "h2")]).write(dir.path(), false).unwrap();
    assert_eq!(read(&dir, "heave.csv"), "h2");
}

#[test]
fn a_list_that_is_none_is_told_and_kept() {
    let dir = tempdir().unwrap();
    fs::write(dir.path().join(list_name("sweep")), "shopping list\n").unwrap();
    let what = refused(folder_of(&[("heave.csv", "h")]).write(dir.path(), false));
    assert!(what.ends_with("is not the list of files that hubtrace keeps there"), "{what}");
    assert_eq!(read(&dir, &list_name("sweep")), "shopping list\n");
    folder_of(&[("heave.csv", "h")]).write(dir.path(), true).unwrap();
    assert!(read(&dir, &list_name("sweep")).ends_with(&format!("{}  heave.csv\n", sha256_hex(b"h"))));
}

#[test]
fn a_folder_in_the_place_of_a_file_is_refused_even_with_force() {
    let dir = tempdir().unwrap();
    fs::create_dir(dir.path().join("roll.csv")).unwrap();
    for force in [false, true] {
        let what = refused(folder_of(&[("heave.csv", "h"), ("roll.csv", "r")]).write(dir.path(), force));
        assert!(what.ends_with("roll.csv is a folder, not a plain file"), "{what}");
        assert_eq!(names_in(dir.path()), ["roll.csv"]);
    }
}

#[cfg(unix)]
#[test]
fn a_link_in_the_place_of_a_file_is_refused_and_its_target_kept() {
    let dir = tempdir().unwrap();
    fs::write(dir.path().join("mine.txt"), "mine").unwrap();
    std::os::unix::fs::symlink(dir.path().join("mine.txt"), dir.path().join("heave.csv")).unwrap();
    for force in [false, true] {
        let what = refused(folder_of(&[("heave.csv", "h")]).write(dir.path(), force));
        assert!(what.ends_with("heave.csv is a link to another place, not a plain file"), "{what}");
        assert_eq!(read(&dir, "mine.txt"), "mine");
    }
}

#[test]
fn a_file_in_the_place_of_the_folder_is_named() {
    let dir = tempdir().unwrap();
    fs::write(dir.path().join("out"), "mine").unwrap();
    for below in ["out", "out/deeper"] {
        let what = refused(folder_of(&[("heave.csv", "h")]).write(&dir.path().join(below), true));
        assert_eq!(what, format!("{} is not a folder", dir.path().join("out").display()));
    }
    assert_eq!(read(&dir, "out"), "mine");
}

#[cfg(target_os = "linux")]
#[test]
fn a_folder_that_cannot_be_created_names_the_cause() {
    let error = folder_of(&[("heave.csv", "h")]).write(Path::new("/proc/hubtrace-out"), false).unwrap_err();
    assert!(error.to_string().starts_with("cannot create the folder /proc/hubtrace-out: "), "{error}");
    assert!(std::error::Error::source(&error).is_some());
}

#[test]
fn runs_that_share_a_folder_leave_whole_files_and_a_true_list() {
    let dir = tempdir().unwrap();
    thread::scope(|scope| {
        for run in 0..8 {
            let text = format!("{run}\n").repeat(10_000);
            let path = dir.path();
            scope.spawn(move || folder_of(&[("heave.csv", &text), ("roll.csv", &text)]).write(path, false).unwrap());
        }
    });
    assert_eq!(names_in(dir.path()), ["heave.csv", "hubtrace-sweep.sha256", "roll.csv"]);
    assert_eq!(read(&dir, "heave.csv"), read(&dir, "roll.csv"));
    assert!(read(&dir, &list_name("sweep")).contains(&sha256_hex(read(&dir, "heave.csv").as_bytes())));
}
