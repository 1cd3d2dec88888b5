//! Shafts that move no wheel: published numbers, answers on paper, and outside tables that share no formula.

mod bending;
mod chain;
mod support;
mod tube;
mod universal_joint;
