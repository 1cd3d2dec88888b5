//! Surveys: what a file says, and every mistake in one with its line.

mod broken;
mod file;
