//! `hubtrace new`: a starter file, and what stands in its way.

use std::process::Command;

use crate::program::{Folder, run};

#[test]
fn new_writes_a_starter_that_check_reads() {
    let folder = Folder::new();
    let said = folder.run("new rear.toml --tyre 185/60R13 --track 1337").ends_with(0).out;
    assert!(said.contains("185/60R13, track 1337 mm") && said.contains("hubtrace check"), "{said}");
    let page = folder.run("check rear.toml").ends_with(0).out;
    assert!(page.contains("track 1337.0 mm") && page.contains("15 of 15 points"), "{page}");
}

#[test]
fn new_keeps_a_file_that_exists_unless_forced() {
    let folder = Folder::new();
    folder.write("rear.toml", "mine");
    let said = folder.run("new rear.toml").ends_with(4).err;
    assert_eq!(said, "error: rear.toml exists already\n      | choose another name, or overwrite it with --force\n");
    assert_eq!(folder.text("rear.toml"), "mine");
    assert_eq!(folder.run("new rear.toml --force --quiet").ends_with(0).out, "");
    assert!(folder.text("rear.toml").contains("[[link]]"));
    assert_eq!(folder.names("."), ["rear.toml"]);
}

#[test]
fn new_says_where_it_cannot_write() {
    let folder = Folder::new();
    folder.run("new missing/rear.toml").ends_with(4).assert_tells(&["make sure that the folder"]);
    folder.write("kept/notes", "mine");
    folder.run("new kept --force").ends_with(4).assert_tells(&["is a folder, not a plain file"]);
}

/// A full disk is played by a limit on the size of files.
#[cfg(target_os = "linux")]
#[test]
fn a_disk_without_room_leaves_no_half_file() {
    let folder = Folder::new();
    let script = format!("trap '' XFSZ; ulimit -f 1; exec {} new rear.toml", env!("CARGO_BIN_EXE_hubtrace"));
    let output = Command::new("sh").args(["-c", &script]).current_dir(folder.path(".")).output().expect("a shell");
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!((output.status.code(), output.stdout.as_slice()), (Some(4), &b""[..]), "{said}");
    assert!(said.contains("cannot write") && said.contains("make room there"), "{said}");
    assert!(folder.names(".").is_empty());
}

#[test]
fn new_refuses_a_wheel_that_is_none() {
    for (option, words) in [
        ("--tyre 205-50-15", "is no tyre size; write"),
        ("--track 15", "900 to 2100"),
        ("--track wide", "for example 1490"),
    ] {
        let folder = Folder::new();
        folder.run(&format!("new rear.toml {option}")).ends_with(2).assert_tells(&[words]);
        assert!(folder.names(".").is_empty());
    }
    run("new --force").ends_with(2).assert_tells(&["<PATH>"]);
}
