//! Surveys: what a file says, and every mistake in one with its line.

mod broken;
#[path = "../broken_files/mod.rs"]
mod broken_files;
mod file;
