//! Surveys: what a file says, every mistake in one with its line, and the points that are found from it.

mod broken;
#[path = "../broken_files/mod.rs"]
mod broken_files;
mod common;
mod errors;
mod file;
mod outside;
mod paper;
mod seating;
mod simulated;
