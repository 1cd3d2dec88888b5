//! The finished car corrected: simulated cars, the same problem solved outside, and readings that are wrong.

mod in_inches;
mod misread;
mod outside;
mod readings;
#[path = "../../examples/whole_life/rounds.rs"]
mod rounds;
#[path = "../../examples/whole_life/shop.rs"]
mod shop;
mod simulated;
mod steadiness;
mod told;
