//! What can still be adjusted at the finished car: shims, slots and threads.

use nalgebra::{Unit, Vector3};

use super::axis::End;
use super::interval::Interval;

/// What of one link can be adjusted; what is `None` is welded or made to length.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct LinkAdjusters {
    /// At the bracket on the frame.
    pub chassis: Option<BracketAdjuster>,
    /// At the upright.
    pub upright: Option<BracketAdjuster>,
    /// The length of the link.
    pub length: Option<LengthAdjuster>,
}

impl LinkAdjusters {
    /// That of one end.
    pub fn at(&self, end: End) -> Option<BracketAdjuster> {
        match end {
            End::Chassis => self.chassis,
            End::Upright => self.upright,
        }
    }
}

/// How a pickup can be moved.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BracketAdjuster {
    /// Direction in which the pickup moves with a thicker stack, side axes (y outboard); an upright's in side axes at design.
    pub along: Unit<Vector3<f64>>,
    /// The thinnest shim, mm; `None` for a slot, which takes every place.
    pub step_mm: Option<f64>,
    /// How far in all, mm, counted from the stack as drawn.
    pub range_mm: Interval,
}

/// How the length of a link can be changed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LengthAdjuster {
    /// Which part is turned.
    pub kind: LengthKind,
    /// Of the thread, mm.
    pub pitch_mm: f64,
    /// The smallest part of a turn that can be made; `None` when every part of one can.
    pub step_turns: Option<f64>,
    /// How far in all, turns, longer positive, counted from the length as drawn.
    pub range_turns: Interval,
}

/// Which part of a link is turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LengthKind {
    /// The link itself: its two ends have left and right hand threads, so a turn is twice the pitch.
    Sleeve,
    /// One rod end, taken off its bolt, in half turns.
    End,
}

impl LengthAdjuster {
    /// Change of length from eye to eye by one turn, mm.
    pub fn mm_per_turn(&self) -> f64 {
        match self.kind {
            LengthKind::Sleeve => 2.0 * self.pitch_mm,
            LengthKind::End => self.pitch_mm,
        }
    }
}
