//! `hubtrace tune`: what it reaches, what it writes, what it says, and files that try to break it.

mod answers;
mod freedoms;
mod odds;
mod refusals;
mod screen;

use std::fmt::Display;

use crate::program::{Folder, Ran};

/// Tunes a car in a folder of its own.
fn tuned(car: impl Display) -> (Folder, Ran) {
    let folder = Folder::with(car);
    let ran = folder.run("tune car.toml");
    (folder, ran)
}
