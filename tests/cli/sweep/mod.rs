//! `hubtrace sweep`: exit codes, tables, summary, screen, advice, and files that try to break it.

mod advice;
mod exit_codes;
mod not_checked;
mod odd_files;
mod rod_ends;
mod screen;
mod summary;
mod tables;
mod verdicts;

use std::fmt::Display;

use super::program::{Folder, Ran};

/// Sweeps a car in a folder of its own.
fn sweep(car: impl Display) -> Ran {
    sweep_with(car, "")
}

/// The same with more options.
fn sweep_with(car: impl Display, options: &str) -> Ran {
    Folder::with(car).run(&format!("sweep car.toml {options}"))
}
