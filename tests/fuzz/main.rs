//! Broken files through every command, in process: no panic, no number that is none, nothing written of a refused file.
//!
//! File `i` depends on the seed and `i` alone. `HUBTRACE_FUZZ_COUNT` (500 when not set), `HUBTRACE_FUZZ_SEED` (1) and
//! `HUBTRACE_FUZZ_FIRST` (0) choose the files; a failure prints the file, made as short as it still fails.

mod commands;
mod minimise;
mod mutate;

use std::env::var;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};
use std::thread::{available_parallelism, scope};
use std::time::Instant;

use commands::{Driven, drive, silence_panics};
use minimise::minimised;
use mutate::Mutator;

/// A number of the environment.
fn asked(name: &str, unset: u64) -> u64 {
    var(name).map_or(unset, |text| text.parse().unwrap_or_else(|_| panic!("{name} is no number: {text}")))
}

#[test]
fn broken_files_are_told_and_never_end_the_program() {
    let (count, seed) = (asked("HUBTRACE_FUZZ_COUNT", 500), asked("HUBTRACE_FUZZ_SEED", 1));
    let first = asked("HUBTRACE_FUZZ_FIRST", 0);
    let mutator = Mutator::new(seed);
    let (next, begun) = (AtomicU64::new(first), Instant::now());
    let ended: [AtomicUsize; 5] = Default::default();
    let (moved, failures) = (AtomicUsize::new(0), Mutex::new(Vec::new()));
    silence_panics();
    scope(|threads| {
        for _ in 0..available_parallelism().map_or(1, |n| n.get()) {
            threads.spawn(|| {
                loop {
                    let index = next.fetch_add(1, Ordering::Relaxed);
                    if index >= first + count || !failures.lock().expect("whole").is_empty() {
                        break;
                    }
                    let text = mutator.file(index);
                    match drive(&text) {
                        Ok(Driven { codes, moves }) => {
                            codes.iter().for_each(|&code| _ = ended[usize::from(code)].fetch_add(1, Ordering::Relaxed));
                            moved.fetch_add(usize::from(moves), Ordering::Relaxed);
                        }
                        Err(fault) => failures.lock().expect("whole").push((index, text, fault)),
                    }
                }
            });
        }
    });
    if let Some((index, text, fault)) = failures.into_inner().expect("whole").first() {
        let fails = |text: &str| drive(text).is_err_and(|other| other.kind == fault.kind);
        // In a thread without a name, as the others were.
        let short = scope(|threads| threads.spawn(|| minimised(text, fails)).join().expect("it never panics"));
        panic!("file {index} of seed {seed}: {fault}\nshortest file that fails so:\n{short}");
    }
    let ended = ended.map(AtomicUsize::into_inner);
    eprintln!("{count} files from {first}, seed {seed}: runs that ended with 0 to 4: {ended:?}, {:?}", begun.elapsed());
    // Files that are all refused, or all sound, would prove nothing.
    let moved = moved.into_inner() as u64;
    assert!(10 * moved > count && 10 * moved < 9 * count, "{moved} of {count} files are cars that move");
}
