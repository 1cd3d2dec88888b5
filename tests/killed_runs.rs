//! Runs killed while they write into an output folder: the next run, whatever it is, leaves whole results.
//!
//! The test kills 40 times; `HUBTRACE_KILLS=400 cargo test --test killed_runs` as often as one likes.

#![cfg(unix)]

use std::collections::BTreeSet;
use std::env;
use std::fs;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use hubtrace::outputs::{Origin, OutputFolder, list_name, sha256_hex};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use tempfile::tempdir;

const WRITER: &str = "HUBTRACE_TEST_WRITES_INTO";
const SEED: u64 = 20;
/// Of each command, less every third: enough for the renaming to last a millisecond.
const FILES: usize = 24;

/// Names that differ from one generation to the next, and one that both commands write.
fn names(command: &str, generation: usize) -> Vec<String> {
    let name = |at: usize| format!("{command}-{at}.csv");
    (0..FILES).filter(|at| !(generation + at).is_multiple_of(3)).map(name).chain(["summary.json".to_owned()]).collect()
}

fn write(folder: &Path, command: &'static str, generation: usize) {
    let geometry = generation.to_string();
    let geometry_sha256 = sha256_hex(geometry.as_bytes());
    let mut results = OutputFolder::new(Origin { command, geometry, geometry_sha256, inputs: vec![] });
    for name in names(command, generation) {
        results.add(name, format!("{generation}\n").repeat(200));
    }
    results.write(folder, false).unwrap_or_else(|error| panic!("{command} {generation}: {error}"));
}

/// Not a test of its own: the process that is killed, writing one generation after the other.
#[test]
fn writer() {
    let Some(folder) = env::var_os(WRITER) else { return };
    for generation in 0_usize.. {
        write(Path::new(&folder), if generation.is_multiple_of(2) { "sweep" } else { "tune" }, generation);
    }
}

fn start_writer(folder: &Path) -> Child {
    let mut command = Command::new(env::current_exe().expect("this test"));
    command.args(["--exact", "writer"]).env(WRITER, folder).stdout(Stdio::null());
    command.spawn().expect("the writer starts")
}

#[test]
fn the_next_run_leaves_whole_results_after_a_kill_at_any_moment() {
    let kills: usize = env::var("HUBTRACE_KILLS").map_or(40, |kills| kills.parse().expect("a number"));
    let mut random = StdRng::seed_from_u64(SEED);
    let (mut unfinished, mut undone) = (0, 0);
    for kill in 0..kills {
        let dir = tempdir().expect("a folder");
        fs::write(dir.path().join("mine.csv"), "mine").expect("my file");
        let mut writer = start_writer(dir.path());
        wait_until(|| dir.path().join(list_name("sweep")).exists());
        if kill.is_multiple_of(2) {
            sleep(Duration::from_micros(random.random_range(0..100_000)));
        } else {
            wait_until(|| all_names(dir.path()).iter().any(|name| name.ends_with(".commit")));
            sleep(Duration::from_micros(random.random_range(0..1_000)));
        }
        writer.kill().expect("a kill");
        let ended = writer.wait().expect("its end");
        assert_eq!(ended.code(), None, "kill {kill}: the writer ended by itself");

        let left: Vec<String> = all_names(dir.path()).into_iter().filter(|name| name.starts_with('.')).collect();
        unfinished += usize::from(left.iter().any(|name| name.ends_with(".part")));
        undone += usize::from(left.iter().any(|name| name.ends_with(".commit")));
        write(dir.path(), "tolerance", 1_000_000);
        assert_whole(dir.path(), kill);
    }
    println!(
        "{kills} kills with seed {SEED}: {unfinished} left unfinished work, {undone} were in the middle of renaming"
    );
}

fn wait_until(done: impl Fn() -> bool) {
    let begun = Instant::now();
    while !done() && begun.elapsed() < Duration::from_secs(20) {
        std::hint::spin_loop();
    }
}

/// Every file is listed and as listed, every list is of one generation, and nothing else is there.
fn assert_whole(folder: &Path, kill: usize) {
    let mut expected: BTreeSet<String> = ["mine.csv".to_owned()].into();
    for command in ["sweep", "tune", "tolerance"] {
        let Ok(list) = fs::read_to_string(folder.join(list_name(command))) else { continue };
        let (head, entries) = list.split_once('\n').expect("a head");
        let generation: usize = head.rsplit(' ').next().and_then(|name| name.parse().ok()).expect("a generation");
        let of_command: Vec<String> = names(command, generation);
        expected.insert(list_name(command));
        for (hash, name) in entries.lines().map(|line| line.split_once("  ").expect("an entry")) {
            assert!(of_command.iter().any(|n| n == name), "kill {kill}: {name} in {list}");
            assert_eq!(sha256_hex(&fs::read(folder.join(name)).expect(name)), hash, "kill {kill}: {name}");
            assert!(fs::read_to_string(folder.join(name)).expect(name).starts_with(&format!("{generation}\n")));
            expected.insert(name.to_owned());
        }
        let own = |name: &&String| *name != "summary.json";
        let listed = entries.lines().filter(|line| !line.ends_with("summary.json")).count();
        assert_eq!(listed, of_command.iter().filter(own).count(), "kill {kill}: {list}");
    }
    assert_eq!(all_names(folder), expected, "kill {kill}");
    assert_eq!(fs::read_to_string(folder.join("mine.csv")).expect("mine"), "mine");
}

fn all_names(folder: &Path) -> BTreeSet<String> {
    let entries = fs::read_dir(folder).expect("a folder");
    entries.map(|entry| entry.expect("an entry").file_name().into_string().expect("a name")).collect()
}
