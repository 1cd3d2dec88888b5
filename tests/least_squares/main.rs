//! Least squares against certified values, an independent network adjustment, answers on paper, and problems that trap plain
//! Gauss–Newton.

mod certified;
mod distances;
mod traps;
