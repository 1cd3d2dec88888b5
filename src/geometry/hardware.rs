//! What a link ends in: its rod ends, and the bolts that hold them in their brackets.

use super::axis::End;
use crate::strength::{Bolt, Thread};

/// The rod ends and bolts of one link; what the file does not give is not checked.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LinkHardware {
    /// Both rod ends are alike.
    pub rod_end: Option<RodEnd>,
    /// Through the rod end on the chassis.
    pub chassis_bolt: Option<Bolt>,
    /// Through the rod end on the upright.
    pub upright_bolt: Option<Bolt>,
    /// Of the bracket on the frame, along the link, N/mm; rigid when the file gives none.
    pub bracket_stiffness_n_per_mm: Option<f64>,
}

impl LinkHardware {
    /// The bolt at an end.
    pub fn bolt(&self, end: End) -> Option<&Bolt> {
        match end {
            End::Chassis => self.chassis_bolt.as_ref(),
            End::Upright => self.upright_bolt.as_ref(),
        }
    }
}

/// A rod end, as its maker lists it and as it is screwed in.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RodEnd {
    /// Of its shank.
    pub thread: Option<Thread>,
    /// From the ball centre to the end of its thread, mm.
    pub shank_mm: Option<f64>,
    /// Height of its lock nut, mm.
    pub lock_nut_mm: Option<f64>,
    /// By how much a threaded insert stands out of the tube, mm.
    pub insert_mm: Option<f64>,
    /// Least thread inside the insert, mm.
    pub engagement_mm: Option<f64>,
    /// At an end where the bracket holds the shank and the link the ball: from the face that holds it to the ball centre, spacers
    /// between them counted, mm.
    pub chassis_stand_off_mm: Option<f64>,
    /// The same at the upright.
    pub upright_stand_off_mm: Option<f64>,
    /// Static rating of its maker, N.
    pub static_n: Option<f64>,
    /// By what the rating is divided; see [`RodEnd::application_factor`].
    pub application_factor: Option<f64>,
    /// Yield strength of its shank, MPa.
    pub shank_yield_mpa: Option<f64>,
    /// Of one rod end with its bolt, along the link, N/mm; rigid when the file gives none.
    pub stiffness_n_per_mm: Option<f64>,
}

impl RodEnd {
    /// While the file gives none: load that alternates, as a bearing maker has it, 1/0.35 rounded up.
    pub const DEFAULT_APPLICATION_FACTOR: f64 = 3.0;

    /// By what the static rating is divided before a load is compared with it (no unit).
    pub fn application_factor(&self) -> f64 {
        self.application_factor.unwrap_or(Self::DEFAULT_APPLICATION_FACTOR)
    }

    /// Of the ball from the bracket that holds its shank, mm; `None` at an end where the link holds the shank.
    pub fn stand_off_mm(&self, end: End) -> Option<f64> {
        match end {
            End::Chassis => self.chassis_stand_off_mm,
            End::Upright => self.upright_stand_off_mm,
        }
    }

    /// From the ball centre to where the thread is held, at least, mm: the lever of a force across the shank.
    pub fn overhang_mm(&self) -> Option<f64> {
        Some((self.shank_mm? - self.engagement_mm?).max(0.0))
    }
}
