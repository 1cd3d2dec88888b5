//! What asks the program to end: a command that takes long keeps what is done.

use std::fs;
use std::process::{Child, Command, Output, Stdio};
use std::thread::sleep;
use std::time::Duration;

use serde_json::Value;

use crate::car::Car;
use crate::program::{Folder, hubtrace};

const TUNE: &str = "tune car.toml --starts 10000";
const TOLERANCE: &str = "tolerance car.toml --cars 2000000";
/// Bits of a mask of signals.
const HANG_UP: u64 = 1;
const TERMINATE: u64 = 1 << 14;

/// Started and ready for signals, by way of a shell that runs `before` first.
fn started(folder: &Folder, before: &str, line: &str) -> Child {
    let mut shell = Command::new("sh");
    shell
        .current_dir(folder.path(""))
        .args(["-c", &format!("{before}exec \"$0\" {line}")])
        .arg(hubtrace().get_program());
    let child = shell.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("a shell");
    while caught(&child) & TERMINATE == 0 {
        sleep(Duration::from_millis(5));
    }
    child
}

/// The signals for which a process has a handler.
fn caught(child: &Child) -> u64 {
    let status = fs::read_to_string(format!("/proc/{}/status", child.id())).expect("a process that goes on");
    let mask = status.lines().find_map(|line| line.strip_prefix("SigCgt:")).expect("a mask");
    u64::from_str_radix(mask.trim(), 16).expect("a number")
}

fn send(signal: &str, child: &Child) {
    let sent = Command::new("kill").args([signal, &child.id().to_string()]).status().expect("a kill");
    assert!(sent.success());
}

fn ended(child: Child) -> Output {
    let output = child.wait_with_output().expect("an end");
    assert!(matches!(output.status.code(), Some(0 | 1)), "{output:?}");
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    output
}

fn summary(folder: &Folder) -> Value {
    serde_json::from_str(&folder.text("hubtrace-out/summary.json")).expect("JSON")
}

#[test]
fn tune_keeps_the_best_so_far() {
    for signal in ["-INT", "-TERM", "-HUP"] {
        let folder = Folder::with(Car::demo());
        let child = started(&folder, "", TUNE);
        send(signal, &child);
        let screen = String::from_utf8(ended(child).stdout).expect("text");
        assert!(screen.contains("Stopped early"), "{signal}: {screen}");
        assert_eq!(summary(&folder)["tune"]["stopped_early"], true, "{signal}");
        // The best so far may still break a limit, but it moves.
        let again = folder.run("sweep hubtrace-out/tuned.toml --quiet --out again");
        assert!(matches!(again.code, Some(0 | 1)), "{signal}: {again}");
    }
}

#[test]
fn tolerance_keeps_the_cars_that_are_built() {
    for signal in ["-INT", "-TERM", "-HUP"] {
        let folder = Folder::with(Car::demo());
        let child = started(&folder, "", TOLERANCE);
        sleep(Duration::from_millis(100));
        send(signal, &child);
        let screen = String::from_utf8(ended(child).stdout).expect("text");
        let found = &summary(&folder)["tolerance"];
        let cars = found["cars"].as_u64().expect("a number");
        assert!((256..2_000_000).contains(&cars), "{signal}: {cars}");
        assert!(screen.contains(&format!("Stopped early: {cars} of 2000000 cars")), "{signal}: {screen}");
        assert_eq!(found["stopped_early"], true, "{signal}");
        assert_eq!(found["jigs"], Value::Null, "{signal}");
        assert!(folder.text("hubtrace-out/tolerance.csv").contains(&format!(",{cars},")), "{signal}");
    }
}

#[test]
fn a_program_that_shall_ignore_hang_ups_goes_on_and_still_ends_cleanly() {
    for line in [TUNE, TOLERANCE] {
        let folder = Folder::with(Car::demo());
        let mut child = started(&folder, "trap '' HUP; ", line);
        assert_eq!(caught(&child) & HANG_UP, 0, "{line}");
        send("-HUP", &child);
        sleep(Duration::from_millis(100));
        assert!(child.try_wait().expect("a state").is_none(), "{line}");
        assert_eq!(folder.names("hubtrace-out"), [""; 0], "{line}");
        send("-TERM", &child);
        ended(child);
        assert!(folder.names("hubtrace-out").contains(&"summary.json".to_owned()), "{line}");
    }
}
