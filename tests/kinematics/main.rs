//! The moving corner: answers on paper, random corners, what a solve may cost.

mod cars;
mod clearance;
mod closed_form;
mod no_allocation;
mod properties;
mod random_corners;
mod rates;
mod sensitivities;
mod support;
mod tables;
mod walking;
