//! What any surface says: numbers with their units, names and sentences in the shop's words.
//!
//! Screens, charts, pages and sheets say the same of the same finding, so the words stand here once. Knows nothing of a
//! terminal, of paper or of how a number was found; breaking lines and laying out tables is for each surface.

mod length;
mod quantity;
mod sentences;
pub mod weld_study;
pub mod words;

pub use length::{LengthFormat, rounded, trimmed};
pub use quantity::{band, limit_band, number, unit};
pub use sentences::{
    FAR_ROADS_ADVICE, PAPER_CAUTION, STUDY_CAUTION, as_drawn, assumed_sizes, bind, bind_advice, broken_limit, carriers,
    cure, grid_left_out, limit_totals, loose_design, not_checked, roll_stop, tape_band, tyre_off_road, verdict,
    without_body,
};
