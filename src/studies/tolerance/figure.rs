//! What is read from a built car, and the limits that it is held to.

use super::model::WheelFigures;
use crate::geometry::{Corner, Geometry, Interval};
use crate::studies::verdicts::Quantity;

/// One figure of a built wheel or axle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Figure {
    Of(Quantity),
    /// Of the toe curve; its size.
    Slope,
    Bow,
}

impl Figure {
    /// Everything that is read from a wheel, in the order in which a builder acts on it.
    pub const OF_WHEEL: [Figure; 12] = [
        Figure::Of(Quantity::BumpSteer),
        Figure::Slope,
        Figure::Bow,
        Figure::Of(Quantity::CamberChange),
        Figure::Of(Quantity::Plunge),
        Figure::Of(Quantity::Scrub),
        Figure::Of(Quantity::Recession),
        Figure::Of(Quantity::InnerJointAngle),
        Figure::Of(Quantity::OuterJointAngle),
        Figure::Of(Quantity::RollCentreHeight),
        Figure::Of(Quantity::AntiSquat),
        Figure::Of(Quantity::AntiLift),
    ];

    /// In the shop's words.
    pub fn name(self) -> &'static str {
        match self {
            Figure::Of(Quantity::BumpSteer) => "worst bump steer",
            Figure::Of(quantity) => quantity.name(),
            Figure::Slope => "slope",
            Figure::Bow => "bow",
        }
    }

    /// Lowest and highest value over bump and droop; `None` when it was not worked out.
    pub fn range(self, wheel: &WheelFigures) -> Option<Interval> {
        let up_to = |size: f64| Interval { low: -size, high: size };
        let single = |value: f64| Interval { low: value, high: value };
        match self {
            Figure::Slope => Some(single(wheel.slope_deg_per_mm)),
            Figure::Bow => Some(up_to(wheel.bow_deg)),
            Figure::Of(quantity) => match quantity {
                Quantity::BumpSteer => Some(up_to(wheel.worst_bump_steer_deg)),
                Quantity::CamberChange => Some(up_to(wheel.camber_change_deg)),
                Quantity::Scrub => wheel.scrub_mm.map(up_to),
                Quantity::Recession => wheel.recession_mm.map(up_to),
                Quantity::Plunge => wheel.shaft.map(|shaft| shaft.plunge_mm),
                Quantity::InnerJointAngle => wheel.shaft?.inner_angle_deg.map(single),
                Quantity::OuterJointAngle => wheel.shaft?.outer_angle_deg.map(single),
                Quantity::RollCentreHeight => wheel.roll_centre_height_mm.map(single),
                Quantity::AntiSquat => wheel.anti_squat_pct.map(single),
                Quantity::AntiLift => wheel.anti_lift_pct.map(single),
                Quantity::RodEndAngle | Quantity::RollSteer | Quantity::ThrustAngle | Quantity::Setback => None,
            },
        }
    }

    /// The number that is counted: the value itself at design, else the largest size.
    pub fn size(self, wheel: &WheelFigures) -> Option<f64> {
        let range = self.range(wheel)?;
        let at_design =
            matches!(self, Figure::Of(Quantity::RollCentreHeight | Quantity::AntiSquat | Quantity::AntiLift));
        Some(if at_design { range.low } else { range.low.abs().max(range.high.abs()) })
    }
}

/// The limits of the file that a built wheel is held to. Rod-end misalignment is not among them: half a millimetre at the end
/// of a link turns it by a tenth of a degree.
pub fn limits_of_wheel(geometry: &Geometry, corner: &Corner) -> Vec<(Quantity, Interval)> {
    let limits = &geometry.limits;
    let shaft = corner.halfshaft.as_ref();
    let up_to = |limit: Option<f64>| limit.map(|high| Interval { low: 0.0, high });
    let each = [
        (Quantity::BumpSteer, either_way(limits.bump_steer_deg)),
        (Quantity::CamberChange, either_way(limits.camber_change_deg)),
        (Quantity::Plunge, shaft.and_then(|shaft| shaft.plunge_window_mm)),
        (Quantity::Scrub, either_way(limits.scrub_mm)),
        (Quantity::Recession, either_way(limits.recession_mm)),
        (Quantity::InnerJointAngle, up_to(shaft.and_then(|shaft| shaft.inner_limit_deg))),
        (Quantity::OuterJointAngle, up_to(shaft.and_then(|shaft| shaft.outer_limit_deg))),
        (Quantity::RollCentreHeight, limits.roll_centre_height_mm),
        (Quantity::AntiSquat, limits.anti_squat_pct),
        (Quantity::AntiLift, limits.anti_lift_pct),
    ];
    each.into_iter().filter_map(|(quantity, limit)| Some((quantity, limit?))).collect()
}

/// The limits of the file that a built axle is held to.
pub fn limits_of_axle(geometry: &Geometry) -> Vec<(Quantity, Interval)> {
    let limits = &geometry.limits;
    let each = [
        (Quantity::RollSteer, either_way(limits.roll_steer_deg)),
        (Quantity::ThrustAngle, either_way(limits.thrust_angle_deg)),
        (Quantity::Setback, either_way(limits.setback_mm)),
    ];
    each.into_iter().filter_map(|(quantity, limit)| Some((quantity, limit?))).collect()
}

/// Whether a range keeps a limit; without a value nothing is kept.
pub fn keeps(range: Option<Interval>, limit: Interval) -> bool {
    range.is_some_and(|range| range.low >= limit.low && range.high <= limit.high)
}

fn either_way(limit: Option<f64>) -> Option<Interval> {
    limit.map(|size| Interval { low: -size, high: size })
}
