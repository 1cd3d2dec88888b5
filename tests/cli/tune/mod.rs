//! `hubtrace tune`: what it reaches, what it writes, what it says, and files that try to break it.

mod answers;
mod freedoms;
mod kept;
mod odds;
mod refusals;
mod screen;

use std::fmt::Display;

use crate::program::{Folder, Ran};

/// Tunes a car in a folder of its own.
fn tuned(car: impl Display) -> (Folder, Ran) {
    tuned_with(car, "")
}

/// The same for the least bump steer on paper.
fn flattest(car: impl Display) -> (Folder, Ran) {
    tuned_with(car, " --flattest")
}

fn tuned_with(car: impl Display, options: &str) -> (Folder, Ran) {
    let folder = Folder::with(car);
    let ran = folder.run(&format!("tune car.toml{options}"));
    (folder, ran)
}
