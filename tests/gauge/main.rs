//! Readings of gauges: what a file says, every mistake in one, and the rounds that are kept of them.

#[path = "../broken_files/mod.rs"]
mod broken_files;

mod broken;
mod counted_from;
mod demo;
mod file;
mod rounds;
