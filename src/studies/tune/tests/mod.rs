//! Tuning from inside: what design variables do to a car, and where the searches end.

mod answers;
mod both_sides;
mod freedoms;
mod goals;
mod let_go;
mod off_its_tube;
mod outside;
mod parts_in_chance;
mod seeds;
mod sound;
mod told;
mod too_near;
mod whole_steps;
