//! The output folder: all files or none, and nothing of the user's is lost.

use std::fs;
use std::path::Path;
use std::thread;

use hubtrace::outputs::{MANIFEST_NAME, OutputFolder, WriteError, sha256_hex};
use tempfile::{TempDir, tempdir};

fn folder_of(files: &[(&str, &str)]) -> OutputFolder {
    let mut folder = OutputFolder::new();
    files.iter().for_each(|&(name, contents)| folder.add(name, contents));
    folder
}

fn read(dir: &TempDir, name: &str) -> String {
    fs::read_to_string(dir.path().join(name)).unwrap()
}

fn names_in(dir: &Path) -> Vec<String> {
    let mut names: Vec<_> = fs::read_dir(dir).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    names.sort();
    names
}

/// The message and advice of a write that must be refused.
fn refused(result: Result<impl Sized, WriteError>) -> (String, String) {
    let error = result.err().expect("the write must be refused");
    (error.to_string(), error.advice())
}

#[test]
fn a_missing_folder_is_created_with_its_files_and_their_list() {
    let dir = tempdir().unwrap();
    let out = dir.path().join("a/b");
    let written = folder_of(&[("roll.csv", "r\n"), ("heave.csv", "h\n")]).write(&out, false).unwrap();
    assert_eq!(written.names, ["heave.csv", "roll.csv"]);
    assert_eq!(names_in(&out), ["heave.csv", MANIFEST_NAME, "roll.csv"]);
    let list = fs::read_to_string(out.join(MANIFEST_NAME)).unwrap();
    assert_eq!(list, format!("{}  heave.csv\n{}  roll.csv\n", sha256_hex(b"h\n"), sha256_hex(b"r\n")));
}

#[test]
fn the_own_files_of_an_earlier_run_are_replaced() {
    let dir = tempdir().unwrap();
    folder_of(&[("heave.csv", "old")]).write(dir.path(), false).unwrap();
    folder_of(&[("heave.csv", "new")]).write(dir.path(), false).unwrap();
    assert_eq!(read(&dir, "heave.csv"), "new");
}

#[test]
fn the_list_keeps_the_files_of_other_commands() {
    let dir = tempdir().unwrap();
    folder_of(&[("sensitivity.csv", "s")]).write(dir.path(), false).unwrap();
    folder_of(&[("heave.csv", "h")]).write(dir.path(), false).unwrap();
    folder_of(&[("sensitivity.csv", "s2")]).write(dir.path(), false).unwrap();
    assert_eq!(read(&dir, MANIFEST_NAME).lines().count(), 2);
}

#[test]
fn a_foreign_file_of_the_same_name_stops_everything() {
    let dir = tempdir().unwrap();
    fs::write(dir.path().join("roll.csv"), "my own").unwrap();
    let (what, advice) = refused(folder_of(&[("heave.csv", "h"), ("roll.csv", "r")]).write(dir.path(), false));
    assert!(what.ends_with("holds a file that was not written by hubtrace, or changed since: roll.csv"), "{what}");
    assert!(advice.contains("--out") && advice.contains("--force"), "{advice}");
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
    fs::write(dir.path().join(MANIFEST_NAME), "shopping list\n").unwrap();
    let (what, advice) = refused(folder_of(&[("heave.csv", "h")]).write(dir.path(), false));
    assert!(what.ends_with("is not the list of files that hubtrace keeps there"), "{what}");
    assert!(advice.contains("own files cannot be told from yours"), "{advice}");
    assert_eq!(read(&dir, MANIFEST_NAME), "shopping list\n");
    folder_of(&[("heave.csv", "h")]).write(dir.path(), true).unwrap();
    assert_eq!(read(&dir, MANIFEST_NAME), format!("{}  heave.csv\n", sha256_hex(b"h")));
}

#[test]
fn a_folder_in_the_place_of_a_file_is_refused_even_with_force() {
    let dir = tempdir().unwrap();
    fs::create_dir(dir.path().join("roll.csv")).unwrap();
    for force in [false, true] {
        let (what, _) = refused(folder_of(&[("heave.csv", "h"), ("roll.csv", "r")]).write(dir.path(), force));
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
        let (what, _) = refused(folder_of(&[("heave.csv", "h")]).write(dir.path(), force));
        assert!(what.ends_with("heave.csv is a link to another place, not a plain file"), "{what}");
        assert_eq!(read(&dir, "mine.txt"), "mine");
    }
}

#[test]
fn a_file_in_the_place_of_the_folder_is_named() {
    let dir = tempdir().unwrap();
    fs::write(dir.path().join("out"), "mine").unwrap();
    for below in ["out", "out/deeper"] {
        let (what, _) = refused(folder_of(&[("heave.csv", "h")]).write(&dir.path().join(below), true));
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
    assert_eq!(names_in(dir.path()), ["heave.csv", MANIFEST_NAME, "roll.csv"]);
    assert_eq!(read(&dir, "heave.csv"), read(&dir, "roll.csv"));
    assert!(read(&dir, MANIFEST_NAME).contains(&sha256_hex(read(&dir, "heave.csv").as_bytes())));
}
