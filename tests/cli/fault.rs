//! A fault of the program ends with 70 and says what to send, on whatever thread it comes up.

use std::env::{current_exe, var};
use std::ffi::OsString;
use std::process::{Command, exit};

use hubtrace::cli::guarded;
use rayon::prelude::*;
use tempfile::tempdir;

/// Set in a process of its own, in which a fault is made.
const MADE: &str = "HUBTRACE_TEST_MAKES_A_FAULT";

fn fault_on(threads: &str) -> u8 {
    let words = ["folder/hubtrace", "tune", "rear.toml", "--out", "my results"].map(OsString::from);
    guarded(&words, || match threads {
        "one" => panic!("made on {threads} thread"),
        _ => (0..64).into_par_iter().map(|i| panic!("made on the thread of item {i}")).max().unwrap_or(0),
    })
}

#[test]
fn a_fault_is_told_once_with_what_to_send() {
    if let Ok(threads) = var(MADE) {
        exit(fault_on(&threads).into());
    }
    let folder = tempdir().expect("a scratch folder");
    std::fs::write(folder.path().join("rear.toml"), "").expect("a writable file");
    for threads in ["one", "many"] {
        let mut program = Command::new(current_exe().expect("this test"));
        program.args(["--exact", "fault::a_fault_is_told_once_with_what_to_send", "--nocapture"]);
        let ran = program.env(MADE, threads).current_dir(folder.path()).output().expect("it starts");
        let said = String::from_utf8_lossy(&ran.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(ran.status.code(), Some(70), "{said}");
        assert_eq!(said.matches("error: a fault of hubtrace itself, not of your car: made on").count(), 1, "{said}");
        let bare = said.replace(" | ", " ");
        let words =
            "report this message with the command `hubtrace tune rear.toml --out \"my results\"`, and send rear.toml";
        assert!(bare.contains(words) && bare.contains("fault.rs, line "), "{said}");
    }
}
