//! How far each rod end tilts over the travel of its wheel, and whether it takes that.

use serde::Serialize;

use super::rig::RigWheel;
use super::verdicts::State;
use crate::geometry::End;
use crate::measures::rod_ends;

/// One rod end over bump and droop.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RodEndTilt {
    /// What the builder calls the link.
    pub link: String,
    /// Which end of it.
    pub end: &'static str,
    /// Largest misalignment over the travel, deg; `None` without a bolt axis.
    pub worst_deg: Option<f64>,
    /// Bump travel where it is largest, mm, up positive.
    pub at_bump_mm: Option<f64>,
    /// What the rod end takes, deg; `None` when the file does not say.
    pub limit_deg: Option<f64>,
    /// Against its limit.
    pub state: State,
}

impl RodEndTilt {
    /// Every rod end of a wheel that has a bolt axis or a limit: those with both first, the nearest to its limit before the
    /// others; then those without a limit, the most tilted first; then those without a bolt axis.
    ///
    /// Tested by `tests/cli/sweep/rod_ends.rs`.
    pub fn of_wheel(wheel: &RigWheel) -> Vec<Self> {
        let (low_mm, high_mm) = wheel.path.reach_mm();
        let is_open = wheel.path.binds_in_bump.or(wheel.path.binds_in_droop).is_some() || low_mm == high_mm;
        let worst = worst_tilts(wheel);
        let mut all = Vec::new();
        for (index, link) in wheel.corner.links.iter().enumerate() {
            for end in End::BOTH {
                let (worst, limit_deg) = (worst[index][end as usize], link.rod_end_limit_deg);
                let (worst_deg, at_bump_mm) = worst.unzip();
                if worst.is_none() && limit_deg.is_none() {
                    continue;
                }
                let state = match (worst_deg, limit_deg) {
                    (Some(deg), Some(limit)) if deg > limit => State::Fail,
                    (Some(_), Some(_)) if !is_open => State::Pass,
                    _ => State::NotChecked,
                };
                all.push(Self { link: link.name.clone(), end: end.name(), worst_deg, at_bump_mm, limit_deg, state });
            }
        }
        all.sort_by(|a, b| a.rank().cmp(&b.rank()).then_with(|| b.share().total_cmp(&a.share())));
        all
    }

    /// As the field says it: `toe link upright`.
    pub fn name(&self) -> String {
        format!("{} {}", self.link, self.end)
    }

    /// Its misalignment has a value and a limit.
    pub fn is_judged(&self) -> bool {
        self.worst_deg.is_some() && self.limit_deg.is_some()
    }

    fn rank(&self) -> u8 {
        match (self.worst_deg, self.limit_deg) {
            (Some(_), Some(_)) => 0,
            (Some(_), None) => 1,
            (None, _) => 2,
        }
    }

    /// How much of its limit it takes; without a limit, deg.
    fn share(&self) -> f64 {
        self.worst_deg.unwrap_or(0.0) / self.limit_deg.unwrap_or(1.0)
    }
}

/// Largest misalignment, deg, and the bump travel where it is, mm, of both ends of each link; `None` without a bolt axis.
fn worst_tilts(wheel: &RigWheel) -> [[Option<(f64, f64)>; 2]; 5] {
    let mut worst = [[None; 2]; 5];
    for posture in wheel.path.postures() {
        for (link, ends) in rod_ends(wheel.corner, posture).into_iter().enumerate() {
            for (worst, deg) in worst[link].iter_mut().zip([ends.chassis_deg, ends.upright_deg]) {
                let is_more = |deg: &f64| worst.is_none_or(|(most, _)| *deg > most);
                *worst = deg.filter(is_more).map(|deg| (deg, posture.bump_mm)).or(*worst);
            }
        }
    }
    worst
}
