//! Mistakes in a file that reads well: found when they are there, and nothing found in sound cars.

mod bench;
mod bodies;
mod flanges;
mod frames;
mod innocents;
mod legs;
mod meanings;
mod mistakes;
mod one_hole;
mod own_sides;
mod rails;
mod refused;
mod sentences;
mod shelf_parts;
mod short_links;
mod sound;
mod sound_cars;
mod sound_frames;
mod sound_layouts;
mod taped;
mod told;
mod two_sides;
mod typed;
mod units_and_sides;
mod whole_travel;
