//! Why a car cannot be tuned.

use crate::geometry::{Quantity, Side};
use crate::studies::design_variables::VariableKind;
use crate::studies::heave::SideBind;

/// Why a car cannot be tuned.
#[derive(Debug, Clone, PartialEq)]
pub enum TuneError {
    /// Nothing is free on any side asked for.
    NothingFree,
    /// A variable changes no figure that is wanted or limited.
    ChangesNothing {
        /// Of the corner.
        side: Side,
        /// What does nothing.
        variable: VariableKind,
    },
    /// A target on a figure that the file lacks the data for.
    NotMeasurable {
        /// Of the corner.
        side: Side,
        /// What cannot be measured.
        quantity: Quantity,
    },
    /// No start could be moved through its travel.
    NoStart {
        /// Of the corner.
        side: Side,
    },
    /// The other side has points of its own, lacks pickups too, and was not asked for: there would be no car to judge.
    OtherSideWithoutPickups {
        /// That was not asked for.
        side: Side,
    },
    /// A link has neither a chassis point nor a box for it.
    NoRoom {
        /// Its name.
        link: String,
    },
    /// A target has no finite value on a wheel that moves.
    NoValue {
        /// Of the corner.
        side: Side,
        /// What has none.
        quantity: Quantity,
    },
    /// Every answer binds inside its travel once it is written down.
    BindsAsWritten {
        /// Where the best one does.
        bind: SideBind,
    },
}

impl std::fmt::Display for TuneError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            TuneError::NothingFree => write!(f, "nothing is free to move"),
            TuneError::ChangesNothing { side, .. } => {
                write!(f, "a variable of the {} side changes nothing that is wanted or limited", side.name())
            }
            TuneError::NotMeasurable { side, .. } => {
                write!(f, "a target of the {} side cannot be measured for want of data", side.name())
            }
            TuneError::NoStart { side } => {
                write!(f, "no place inside the boxes lets the {} wheel move through its travel", side.name())
            }
            TuneError::OtherSideWithoutPickups { side } => {
                write!(f, "the {} side has no pickups yet, and is not tuned", side.name())
            }
            TuneError::NoRoom { link } => write!(f, "link {link:?} has no chassis point, and no room for one"),
            TuneError::NoValue { side, quantity } => {
                write!(f, "the target {} has no finite value on the {} wheel as drawn", quantity.name(), side.name())
            }
            TuneError::BindsAsWritten { bind } => {
                let (side, way) = (bind.side.name(), bind.towards.name());
                write!(f, "the {side} side of every answer binds, the best at {:.1} mm of {way}", bind.at_bump_mm.abs())
            }
        }
    }
}

impl std::error::Error for TuneError {}
