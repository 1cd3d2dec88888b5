//! What to saw: every link from eye to eye, its tube, how far its threads reach, and what it weighs.

use serde::Serialize;

use crate::geometry::{Interval, LengthKind, Link, Side};
use crate::strength::{ENGAGEMENT_IN_DIAMETERS, Material, RoundTube};
use crate::studies::rig::RigWheel;

/// Turns either way of a link whose file says nothing of its range.
const ASSUMED_TURNS: f64 = 4.0;

/// One link as it is made.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CutLink {
    /// Which wheel.
    pub side: Side,
    /// Name of the link.
    pub link: String,
    /// Between the centres of its balls, at design, mm.
    pub eye_to_eye_mm: f64,
    /// The tube between its rod ends, or what lacks to tell it.
    #[serde(flatten)]
    pub tube: Option<CutTube>,
    /// Keys of the file that would tell the rest.
    pub needs: Vec<&'static str>,
    /// Why it cannot be made so.
    pub faults: Vec<CutFault>,
    /// Of the tube alone, kg; `None` without wall and material.
    pub tube_mass_kg: Option<f64>,
}

/// The tube of a link, both rod ends as far out as each other and as far as the range asks.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct CutTube {
    /// Length to saw, mm.
    pub tube_mm: f64,
    /// Thread inside the insert at either end, mm.
    pub engagement_mm: f64,
    /// From the centre of the ball to the face of the insert, mm.
    pub stands_out_mm: f64,
    /// How far either shank reaches into the tube, screwed in as far as its range goes, mm.
    pub inside_mm: f64,
    /// What is left of `stands_out_mm` for the head of the rod end, screwed in as far as its range goes and its lock nut on it, mm.
    pub head_room_mm: f64,
    /// How much shorter and longer the link can be made, mm.
    pub range_mm: Interval,
    /// The same in turns.
    pub range_turns: Interval,
    /// The range is not in the file.
    pub range_assumed: bool,
}

/// Why a link cannot be made as drawn.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum CutFault {
    /// Nothing is left between the rod ends, or their shanks would meet inside the tube.
    TubeTooShort {
        /// The tube that the shanks need, screwed in as far as the range goes, mm.
        needs_mm: f64,
    },
    /// The head of the rod end does not fit beside its lock nut when it is screwed in.
    NoRoomForHead {
        /// The least that a head takes: the diameter of its thread, mm.
        needs_mm: f64,
    },
    /// The least thread that the file allows is less than is recommended.
    ShortEngagement {
        /// One and a half diameters, mm.
        needs_mm: f64,
    },
}

/// Every link of a wheel, in file order.
///
/// With a rod end turned out as far as the range goes, the least engagement of the file is left in its insert; as drawn it is more
/// by that way, so that a range alike either way leaves both ends in the middle. Source: addition along the link. Tested by
/// `tests/fabrication/cut_list.rs`.
pub fn cut_list(wheel: &RigWheel) -> Vec<CutLink> {
    let corner = wheel.corner;
    let metals = &wheel.geometry.materials;
    corner.links.iter().map(|link| CutLink::of(corner.side, link, metals)).collect()
}

impl CutLink {
    fn of(side: Side, link: &Link, metals: &[Material]) -> Self {
        let eye_to_eye_mm = link.length_mm();
        let (tube, needs) = match CutTube::of(link) {
            Ok(tube) => (Some(tube), Vec::new()),
            Err(needs) => (None, needs),
        };
        let mass = tube.and_then(|cut| tube_mass_kg(link, metals, cut.tube_mm));
        let faults = tube.map_or_else(Vec::new, |tube| tube.faults(link));
        Self { side, link: link.name.clone(), eye_to_eye_mm, tube, needs, faults, tube_mass_kg: mass }
    }
}

impl CutTube {
    /// The tube, or the keys that the file lacks.
    fn of(link: &Link) -> Result<Self, Vec<&'static str>> {
        let rod_end = link.hardware.rod_end.clone().unwrap_or_default();
        let pitch_mm = link.pitch_mm();
        let all = (pitch_mm, rod_end.shank_mm, rod_end.lock_nut_mm, rod_end.insert_mm, rod_end.engagement_mm);
        let (Some(pitch_mm), Some(shank_mm), Some(lock_nut_mm), Some(insert_mm), Some(least_mm)) = all else {
            let lacks = [
                (pitch_mm.is_none(), "thread"),
                (rod_end.shank_mm.is_none(), "shank"),
                (rod_end.lock_nut_mm.is_none(), "lock_nut"),
                (rod_end.insert_mm.is_none(), "insert"),
                (rod_end.engagement_mm.is_none(), "engagement"),
            ];
            return Err(lacks.into_iter().filter(|(lacks, _)| *lacks).map(|(_, key)| key).collect());
        };
        let range_turns = link.adjusters.length.map(|length| length.range_turns);
        let range_assumed = range_turns.is_none();
        let range_turns = range_turns.unwrap_or(Interval::either_way(ASSUMED_TURNS));
        let is_end = link.adjusters.length.is_none_or(|length| length.kind == LengthKind::End);
        let mm_per_turn = if is_end { pitch_mm } else { 2.0 * pitch_mm };
        let (in_mm, out_mm) = (pitch_mm * (-range_turns.low).max(0.0), pitch_mm * range_turns.high.max(0.0));
        let engagement_mm = least_mm + out_mm;
        let stands_out_mm = shank_mm - engagement_mm;
        Ok(Self {
            tube_mm: link.length_mm() - 2.0 * (stands_out_mm + insert_mm),
            engagement_mm,
            stands_out_mm,
            inside_mm: engagement_mm + in_mm - insert_mm,
            head_room_mm: stands_out_mm - in_mm - lock_nut_mm,
            range_mm: Interval { low: range_turns.low * mm_per_turn, high: range_turns.high * mm_per_turn },
            range_turns,
            range_assumed,
        })
    }

    fn faults(&self, link: &Link) -> Vec<CutFault> {
        let Some(rod_end) = &link.hardware.rod_end else { return Vec::new() };
        let inside_mm = 2.0 * self.inside_mm.max(0.0);
        let mut faults = Vec::new();
        if self.tube_mm <= inside_mm {
            faults.push(CutFault::TubeTooShort { needs_mm: inside_mm });
        }
        if let Some(thread) = &rod_end.thread {
            if self.head_room_mm < thread.diameter_mm {
                faults.push(CutFault::NoRoomForHead { needs_mm: thread.diameter_mm });
            }
            let wanted_mm = ENGAGEMENT_IN_DIAMETERS * thread.diameter_mm;
            if rod_end.engagement_mm.is_some_and(|least_mm| least_mm < wanted_mm) {
                faults.push(CutFault::ShortEngagement { needs_mm: wanted_mm });
            }
        }
        faults
    }
}

fn tube_mass_kg(link: &Link, metals: &[Material], tube_mm: f64) -> Option<f64> {
    let tube = link.tube.as_ref()?;
    let section = RoundTube { od_mm: tube.od_mm, wall_mm: tube.wall_mm? };
    let name = tube.material.as_deref()?;
    let own = metals.iter().find(|metal| metal.name == name).cloned();
    let metal = own.or_else(|| Material::named(name).ok())?;
    (tube_mm > 0.0).then(|| metal.density_kg_per_m3 * section.area_mm2() * tube_mm * 1e-9)
}
