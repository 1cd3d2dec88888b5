//! Whether a wheel moves through its whole travel: the drawn one, and that of an answer as it reads back from its file.

use super::outcome::with_corners;
use super::problem::TuneProblem;
use crate::geometry::{Corner, Geometry, Side};
use crate::studies::heave::SideBind;
use crate::studies::rig::RigWheel;

/// What the drawn wheel of a side does, to compare the tuned one with.
#[derive(Debug, Clone, PartialEq)]
pub enum AsDrawn {
    /// It moves through its travel.
    Moves {
        /// Worst bump steer, deg per wheel.
        worst_deg: f64,
    },
    /// The file leaves pickups of this side to tuning.
    NoPickups,
    /// It does not get through its travel.
    Binds(SideBind),
    /// It moves, but something that is wanted has no value on it.
    NoValue,
}

impl AsDrawn {
    /// `drawn` follows the drawn path, when there is one.
    pub(super) fn of(problem: &TuneProblem, drawn: Option<&RigWheel>) -> Self {
        let Some(wheel) = drawn else { return Self::NoPickups };
        if let Some(bind) = bind_of(wheel) {
            return Self::Binds(bind);
        }
        let design_vector = vec![0.0; problem.variables.list.len()];
        let evaluation = problem.evaluate(&design_vector);
        let worst_deg = evaluation.and_then(|evaluation| problem.worst_bump_steer_deg(&design_vector, &evaluation));
        worst_deg.map_or(Self::NoValue, |worst_deg| Self::Moves { worst_deg })
    }

    /// `None` when it does not move through its travel, or cannot be judged.
    pub fn worst_deg(&self) -> Option<f64> {
        match self {
            Self::Moves { worst_deg } => Some(*worst_deg),
            Self::NoPickups | Self::Binds(_) | Self::NoValue => None,
        }
    }
}

/// Writes a tuned car and reads it back, so that it is judged with the digits of the file; `None` when it cannot be written.
pub type AsWritten<'a> = &'a (dyn Fn(&Geometry) -> Option<Geometry> + Sync);

/// Where a tuned side binds inside its travel once it is written down. An answer at the edge of what moves can bind by the
/// last digit of a file.
pub(super) fn bind_as_written(
    geometry: &Geometry,
    side: Side,
    corner: &Corner,
    as_written: AsWritten,
) -> Option<SideBind> {
    let written = as_written(&with_corners(geometry, &[(side, corner)]))?;
    bind_of(&RigWheel::new(&written, side).ok()?)
}

/// The bind that is nearer to design height.
pub(super) fn bind_of(wheel: &RigWheel) -> Option<SideBind> {
    let binds = SideBind::of_wheel(wheel);
    binds.into_iter().min_by(|a, b| a.at_bump_mm.abs().total_cmp(&b.at_bump_mm.abs()))
}
