//! Why a wheel is not held or not moved by its links at design height.

use crate::geometry::Corner;
use crate::mechanism::{Linkage, SINGULAR, independent_links_at_design, margin_at_design};

/// Two links are parallel when the sine of the angle between them is below this: a tenth of a millimetre in a metre.
const PARALLEL: f64 = 1e-4;

/// What is wrong with the links of a singular design.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LooseDesign {
    /// The links hold the wheel, but bump cannot move it.
    BumpCannotMove,
    /// All five are parallel.
    Parallel,
    /// Only so many of the five hold the wheel, the rest repeat them.
    Repeated {
        /// How many of the five hold the wheel.
        holding: usize,
    },
}

impl LooseDesign {
    /// `None` when the links hold the wheel and bump moves it.
    pub fn find(corner: &Corner) -> Option<Self> {
        (margin_at_design(&Linkage::new(corner)) < SINGULAR).then(|| Self::of(corner))
    }

    /// Of a corner that is known to be singular.
    pub fn of(corner: &Corner) -> Self {
        match independent_links_at_design(&Linkage::new(corner)) {
            5 => Self::BumpCannotMove,
            _ if all_parallel(corner) => Self::Parallel,
            holding => Self::Repeated { holding },
        }
    }
}

fn all_parallel(corner: &Corner) -> bool {
    let directions = corner.links.each_ref().map(|link| (link.upright - link.chassis).normalize());
    directions.iter().all(|d| d.cross(&directions[0]).norm() < PARALLEL)
}
