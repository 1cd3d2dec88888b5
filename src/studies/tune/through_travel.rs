//! Whether a wheel moves through its whole travel: the drawn one, and that of an answer as it reads back from its file; and
//! what `check` would doubt of that file.

use super::problem::TuneProblem;
use super::tuned_car::with_corners;
use crate::geometry::{Corner, Geometry, Side};
use crate::studies::heave::SideBind;
use crate::studies::plausibility::{Doubt, doubts};
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

/// What speaks against an answer once it is written down.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Against {
    /// It binds inside its travel: an answer at the edge of what moves can bind by the last digit of a file.
    Bind(SideBind),
    /// It reads like a mistake in the file, and the drawn car does not.
    Doubts(Vec<Doubt>),
}

/// Reads answers for one side as their file would have them.
#[derive(Clone)]
pub(super) struct Reader<'a> {
    geometry: &'a Geometry,
    side: Side,
    as_written: AsWritten<'a>,
    /// Of the drawn car, which are the builder's.
    known: Vec<Doubt>,
}

impl<'a> Reader<'a> {
    pub fn new(geometry: &'a Geometry, side: Side, as_written: AsWritten<'a>) -> Self {
        Self { geometry, side, as_written, known: doubts(geometry) }
    }

    /// The same, to which these doubts are no news.
    pub fn knowing(&self, doubts: &[Doubt]) -> Self {
        let mut reader = self.clone();
        reader.known.extend_from_slice(doubts);
        reader
    }

    /// `None` of a sound answer, and of one that cannot be written. Whether it reads like a mistake takes longer than how it
    /// moves, and is asked when it is to be.
    pub fn against(&self, corner: &Corner, asks_for_doubts: bool) -> Option<Against> {
        let written = (self.as_written)(&with_corners(self.geometry, &[(self.side, corner)]))?;
        let bind = RigWheel::new(&written, self.side).ok().and_then(|wheel| bind_of(&wheel));
        bind.map(Against::Bind).or_else(|| {
            if !asks_for_doubts {
                return None;
            }
            let is_new = |doubt: &Doubt| self.known.iter().all(|known| about(known) != about(doubt));
            let is_own = |doubt: &Doubt| doubt.side.is_none_or(|side| side == self.side);
            let found = doubts(&with_other_side_alike(written, self.side)).into_iter();
            let new: Vec<Doubt> = found.filter(|doubt| is_own(doubt) && is_new(doubt)).collect();
            (!new.is_empty()).then_some(Against::Doubts(new))
        })
    }
}

/// What `check` doubts of the drawn car and no longer of the tuned one: a wrong number that tuning started from, and went away
/// from.
pub fn hidden_doubts(drawn: &[Doubt], tuned: &[Doubt]) -> Vec<Doubt> {
    let is_hidden = |doubt: &&Doubt| tuned.iter().all(|other| about(other) != about(doubt));
    drawn.iter().filter(is_hidden).cloned().collect()
}

/// What a doubt is of.
fn about(doubt: &Doubt) -> (Option<Side>, Option<&str>) {
    (doubt.side, doubt.suspects.first().map(|suspect| suspect.about.as_str()))
}

/// With the other side as the mirror image of this one: it is tuned, or left alone, by itself, and is no measure of an answer.
pub(super) fn with_other_side_alike(mut car: Geometry, side: Side) -> Geometry {
    let alike = Corner { side: side.other(), ..car.corner(side).clone() };
    *car.corner_mut(side.other()) = alike;
    car
}

/// The bind that is nearer to design height.
pub(super) fn bind_of(wheel: &RigWheel) -> Option<SideBind> {
    let binds = SideBind::of_wheel(wheel);
    binds.into_iter().min_by(|a, b| a.at_bump_mm.abs().total_cmp(&b.at_bump_mm.abs()))
}
