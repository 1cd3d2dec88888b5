//! What is told of a moved car: its toe curves with their cure, its limits, where it stops or binds.

use std::collections::BTreeMap;

use serde::Serialize;

use super::axles_on_road::MissingRow;
use super::clearance::ClearanceFindings;
use super::cure::{Cure, cure};
use super::curves::Curves;
use super::heave::SideBind;
use super::judged_car::JudgedCar;
use super::limit_totals::LimitTotals;
use super::plausibility::{Doubt, doubts};
use super::rod_ends::RodEndTilt;
use super::roll::RollStop;
use super::sensitivity::Sensitivity;
use super::shaft_length::ShaftLength;
use super::tape_band::{TapeBand, tape_band};
use super::toe_curve::{RideHeightSteer, ToeCurve, ToeOverSpan};
use super::verdicts::Verdict;
use crate::geometry::{Quantity, Side};

/// Of a sweep or a tuning, as far as the wheels asked for go. As JSON it is most of `summary.json`.
#[derive(Debug, Clone, Serialize)]
pub struct CarFindings<'g> {
    /// The car with the rows of its studies, for tables and charts.
    #[serde(skip)]
    pub judged: JudgedCar<'g>,
    /// The same car for charts.
    #[serde(skip)]
    pub curves: Curves,
    /// The wheels asked for, left before right.
    #[serde(skip)]
    pub sides: Vec<Side>,
    /// Of the car.
    pub name: String,
    /// How far it was moved.
    pub travel: TravelFindings,
    /// The toe curve of each wheel asked for.
    pub heave: BTreeMap<Side, ToeFindings>,
    /// Between the centres of the joints, per wheel that has a halfshaft.
    pub halfshaft: BTreeMap<Side, ShaftLength>,
    /// The axle in body roll.
    pub roll: RollFindings,
    /// Every verdict on the wheels asked for and on the axle.
    pub limits: Vec<Verdict>,
    /// How many limits of the file hold.
    pub limit_totals: LimitTotals,
    /// What a builder should look at again, one sentence each; empty for a sound car, and without advice.
    pub warnings: Vec<Doubt>,
}

/// How far the car was moved.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct TravelFindings {
    /// Up to the bump stop.
    pub bump_mm: f64,
    /// Down to the droop stop.
    pub droop_mm: f64,
    /// Both ways.
    pub body_roll_deg: f64,
}

/// The toe curve of one wheel and what follows from it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ToeFindings {
    /// The curve itself.
    #[serde(flatten)]
    pub curve: ToeCurve,
    /// The same in mm over the span at which toe is read.
    pub over_span: ToeOverSpan,
    /// Rows of the heave study.
    pub rows: usize,
    /// Where the wheel binds inside its travel.
    pub binds: Vec<SideBind>,
    /// About the other ride heights of the file.
    pub ride_heights: Vec<RideHeightSteer>,
    /// Worst bump steer with the error of the file's tape; `None` without `[tape]`.
    pub tape_band: Option<TapeBand>,
    /// The shortest cure of a curve that breaks its limit; `None` when it keeps it, or no single bracket helps.
    pub cure: Option<Cure>,
    /// Gaps between the bodies of this wheel over its travel.
    pub clearance: ClearanceFindings,
    /// Its rod ends with a bolt axis or a limit, the nearest to its limit first.
    pub rod_ends: Vec<RodEndTilt>,
}

/// The axle in body roll.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RollFindings {
    /// Of the roll study, for the wheels asked for.
    pub rows: usize,
    /// Largest roll steer either way, deg; `None` when no row has both wheels.
    pub worst_roll_steer_deg: Option<f64>,
    /// Where a wheel meets its stop in roll.
    pub stops: Vec<RollStop>,
    /// Roads on which a tyre finds no place.
    pub missing_rows: Vec<MissingRow>,
}

/// What takes longer than all else of a toe curve: how well it is known, and what would cure it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ToeAdvice {
    /// As [`ToeFindings::tape_band`].
    pub tape_band: Option<TapeBand>,
    /// As [`ToeFindings::cure`].
    pub cure: Option<Cure>,
}

impl ToeAdvice {
    /// Of one wheel.
    pub fn of(judged: &JudgedCar, side: Side) -> Self {
        let cure = || cure(&judged.rig, &Sensitivity::of(&judged.rig, side)?);
        Self {
            tape_band: tape_band(&judged.rig, side),
            cure: judged.fails(Quantity::BumpSteer, side).then(cure).flatten(),
        }
    }
}

impl<'g> CarFindings<'g> {
    /// Of a judged car, as far as these wheels go.
    pub fn of(judged: JudgedCar<'g>, sides: &[Side]) -> Self {
        let warnings = doubts(judged.geometry());
        Self { warnings, ..Self::advised(judged, sides, ToeAdvice::of) }
    }

    /// The same with nothing of [`ToeAdvice`] and no warnings, for a picture that follows the hand.
    pub fn without_advice(judged: JudgedCar<'g>, sides: &[Side]) -> Self {
        Self::advised(judged, sides, |_, _| ToeAdvice::default())
    }

    fn advised(
        judged: JudgedCar<'g>,
        sides: &[Side],
        advice: impl Fn(&JudgedCar, Side) -> ToeAdvice + Send + Sync,
    ) -> Self {
        let geometry = judged.geometry();
        let travel = &geometry.travel;
        let (roll, shown) = (&judged.roll, |side: Side| sides.contains(&side));
        let (heave, curves) = rayon::join(|| toe_findings(&judged, sides, advice), || Curves::of(&judged.rig));
        let limits: Vec<Verdict> =
            judged.verdicts.iter().filter(|verdict| verdict.side.is_none_or(shown)).cloned().collect();
        Self {
            sides: sides.to_vec(),
            name: geometry.name.clone(),
            travel: TravelFindings {
                bump_mm: travel.bump_mm,
                droop_mm: travel.droop_mm,
                body_roll_deg: travel.roll_deg,
            },
            heave,
            halfshaft: sides.iter().filter_map(|&side| Some((side, ShaftLength::of(&judged, side)?))).collect(),
            roll: RollFindings {
                rows: roll.rows.count(sides),
                worst_roll_steer_deg: roll
                    .axle(Quantity::RollSteer)
                    .into_iter()
                    .map(|(_, deg)| deg.abs())
                    .reduce(f64::max),
                stops: roll.stops.clone(),
                missing_rows: roll.missing.iter().filter(|row| shown(row.side)).copied().collect(),
            },
            limit_totals: LimitTotals::of(&limits, geometry),
            limits,
            warnings: Vec::new(),
            curves,
            judged,
        }
    }

    /// Limits that hold with little left.
    pub fn thin_limits(&self) -> impl Iterator<Item = &Verdict> {
        self.limits.iter().filter(|verdict| verdict.is_thin())
    }

    /// The binds of the wheels asked for.
    pub fn binds(&self) -> impl Iterator<Item = &SideBind> {
        self.heave.values().flat_map(|toe| &toe.binds)
    }
}

fn toe_findings(
    judged: &JudgedCar,
    sides: &[Side],
    advice: impl Fn(&JudgedCar, Side) -> ToeAdvice,
) -> BTreeMap<Side, ToeFindings> {
    let mut found: BTreeMap<Side, ToeFindings> = BTreeMap::new();
    for &side in sides {
        // The advice for one wheel is that for its mirror image.
        let known = found.values().next().filter(|_| judged.geometry().mirrored);
        let ToeAdvice { tape_band, cure } = match known {
            Some(other) => ToeAdvice { tape_band: other.tape_band, cure: other.cure.clone() },
            None => advice(judged, side),
        };
        let curve = judged.toe[side];
        let toe = ToeFindings {
            over_span: curve.over_span(judged.geometry().corner(side).wheel.toe_span_mm),
            curve,
            rows: judged.heave.rows.count(&[side]),
            binds: judged.heave.binds_of(side).cloned().collect(),
            ride_heights: judged.heave.ride_heights[side].clone(),
            tape_band,
            cure,
            clearance: judged.clearance[side].clone(),
            rod_ends: judged.rod_ends[side].clone(),
        };
        found.insert(side, toe);
    }
    found
}
