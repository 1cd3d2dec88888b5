//! The rod ends of a built wheel that have a limit, over its travel.

use nalgebra::{Unit, Vector3};

use crate::geometry::{Corner, Link};
use crate::measures::Placed;
use crate::mechanism::UprightPose;
use crate::studies::rig::RigWheel;
use crate::studies::rod_ends::RodEndTilt;

/// Every rod end of one wheel that has a bolt and a limit. Bolts point as drawn: those in the frame stay, those in the upright turn
/// with it.
#[derive(Debug, Clone)]
pub(super) struct LimitedRodEnds {
    links: Vec<LimitedLink>,
    /// Of the rod end that is nearest to its limit as drawn, deg.
    shown_limit_deg: f64,
}

#[derive(Debug, Clone)]
struct LimitedLink {
    index: usize,
    /// As drawn, in the frame and in the upright.
    chassis_bolt: Option<Unit<Vector3<f64>>>,
    upright_bolt: Option<Unit<Vector3<f64>>>,
    limit_deg: f64,
}

impl LimitedRodEnds {
    /// Of a drawn wheel; `None` where it has none.
    pub fn new(wheel: &RigWheel) -> Option<Self> {
        let shown_limit_deg = RodEndTilt::of_wheel(wheel).iter().find(|end| end.is_judged())?.limit_deg?;
        let limited = |(index, link): (usize, &Link)| {
            let &Link { chassis_bolt, upright_bolt, .. } = link;
            Some(LimitedLink { index, chassis_bolt, upright_bolt, limit_deg: link.rod_end_limit_deg? })
        };
        let links = wheel.corner.links.iter().enumerate().filter_map(limited).collect();
        Some(Self { links, shown_limit_deg })
    }

    /// Misalignment of the rod end that comes nearest to its limit, deg: its own where all have one limit, else as large a share of
    /// the limit that is shown. Of a built wheel: its corner with the pickups where they came out, and where it stands at every row.
    pub fn worst_deg(&self, built: &Corner, placed: &[Placed<'_>]) -> f64 {
        let share = |of: &LimitedLink| {
            let link = &built.links[of.index];
            // The square of a sine has no root to be taken at every row.
            let square = |at: &Placed<'_>| {
                let along = at.point(&link.upright) - link.chassis;
                let in_frame = of.chassis_bolt.map_or(0.0, |bolt| along.dot(&bolt));
                let in_upright = of.upright_bolt.map_or(0.0, |bolt| along.dot(&at.direction(&bolt)));
                (in_frame * in_frame).max(in_upright * in_upright) / along.norm_squared()
            };
            placed.iter().map(square).fold(0.0, f64::max).sqrt().min(1.0).asin().to_degrees() / of.limit_deg
        };
        self.shown_limit_deg * self.links.iter().map(share).fold(0.0, f64::max)
    }
}
