//! The moving corner: answers on paper, random corners, what a solve may cost.

mod closed_form;
mod no_allocation;
mod random_corners;
mod sensitivities;
mod support;
