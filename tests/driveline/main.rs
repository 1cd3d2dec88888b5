//! The driveline of a car: what its file may say, and what is found of it.

mod broken;
#[path = "../broken_files/mod.rs"]
mod broken_files;
mod envelope;
mod final_drive;
mod halfshaft;
mod propshaft;
mod runs_out;
mod spring;
mod support;
