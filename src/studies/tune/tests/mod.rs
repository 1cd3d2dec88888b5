//! Tuning from inside: what design variables do to a car, and where the searches end.

mod answers;
mod freedoms;
mod goals;
mod outside;
mod seeds;
mod sound;
mod told;
mod too_near;
