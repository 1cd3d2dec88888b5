//! Findings in words: numbers with unit and decimals, names of parts, whole sentences.
//!
//! A screen and a chart use the same words for the same finding, so each sentence is written here once. Line breaks and
//! tables belong to `cli` and `outputs`.

mod changes;
pub mod correct;
pub mod driveline;
pub mod fabrication;
pub mod forces;
pub mod halfshaft;
mod length;
mod limits;
pub mod locate;
mod quantity;
mod report;
pub mod runs_out;
mod sentences;
pub mod tuning;
pub mod unbroken;
pub mod weld_study;
pub mod words;

pub use changes::{changed_much_without_limit, changed_verdicts, moved_points};
pub use length::{LengthFormat, rounded, trimmed};
pub use limits::{BIND_ROWS, LIMIT_TAKEN, LimitLine, all_limits, limit_lines};
pub use quantity::{band, decimals, limit_band, number, unit};
pub use report::{
    PASS_MEANS, glossary, quantities_without_limit, report_reservations, report_verdict, suspension_totals,
};
pub use sentences::{
    ALREADY_TUNED, FAR_ROADS_ADVICE, LESS_FLAT_ON_PAPER, PAPER_CAUTION, PLANNED, ROLL_CENTRE, SHAFT_ROWS, SHAFT_TRAVEL,
    STUDY_CAUTION, as_drawn, assumed_sizes, bind, bind_advice, broken_limit, cannot_be_kept, carriers, cure,
    grid_left_out, halfshaft, lacking, left_unchecked, limit_totals, loose_design, not_checked, rod_ends, roll_stop,
    starter_count, starter_numbers, tape_band, toe_lines, tyre_off_road, verdict, without_body, without_room,
};
