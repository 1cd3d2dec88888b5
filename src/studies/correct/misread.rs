//! Ways in which a whole column of readings can be written wrongly: with its sign turned, or in another unit.

use serde::Serialize;

use crate::gauge::{Beam, GaugeReading, GaugeReadings, Instrument, Read, TravelEnd};
use crate::geometry::LengthUnit;

/// Minutes of arc in a degree.
const MINUTES: f64 = 60.0;
/// Millimetres in a centimetre.
const CM_MM: f64 = 10.0;

/// A way in which a column of a gauging was taken or written wrongly as a whole.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Misread {
    /// Toe, or what stands for it, has the other sign.
    ToeTurned,
    /// Camber has the other sign.
    CamberTurned,
    /// Toe is in minutes of arc.
    ToeInMinutes,
    /// Toe is the difference of two distances, front and rear of the wheel.
    ToeInMm {
        /// How far apart they were taken, mm.
        span_mm: f64,
    },
    /// Dials or the spot on the wall are in inches.
    InInches,
    /// Bump is negative.
    HeightsTurned,
    /// Bump is in inches.
    HeightsInInches,
    /// Bump is in cm.
    HeightsInCm,
    /// Bump is counted from an end of the travel, of which the heights themselves tell.
    HeightsFrom {
        /// This one.
        end: TravelEnd,
    },
}

impl Misread {
    /// The ways that are possible with an instrument and its readings of a wheel whose toe is told over this span.
    pub(super) fn of(readings: &GaugeReadings, span_mm: f64) -> Vec<Self> {
        let is_angle = readings.instrument == Instrument::Angle;
        let has_camber = |reading: &GaugeReading| matches!(reading.read, Read::Angles { camber_rad: Some(_), .. });
        let mut ways = vec![Self::ToeTurned, Self::HeightsTurned, Self::HeightsInInches, Self::HeightsInCm];
        ways.extend(readings.readings.iter().any(has_camber).then_some(Self::CamberTurned));
        let of_toe: &[Self] =
            if is_angle { &[Self::ToeInMinutes, Self::ToeInMm { span_mm }] } else { &[Self::InInches] };
        ways.extend(of_toe);
        ways
    }

    /// By how much it makes toe, and its noise, smaller than they were written; no unit, 1 where it does not.
    pub(super) fn shrinks_toe(self) -> f64 {
        match self {
            Self::ToeInMinutes => MINUTES,
            Self::ToeInMm { span_mm } => span_mm * 1_f64.to_radians(),
            _ => 1.0,
        }
    }

    /// By how much it makes heights larger; `None` where it does not.
    pub(super) fn stretches_heights(self) -> Option<f64> {
        match self {
            Self::HeightsInInches => Some(LengthUnit::Inch.in_mm()),
            Self::HeightsInCm => Some(CM_MM),
            _ => None,
        }
    }

    /// One side may be so and the other not: which way is inwards changes from side to side.
    pub(super) fn is_of_one_side(self) -> bool {
        matches!(self, Self::ToeTurned | Self::CamberTurned)
    }

    /// The reading as it was meant.
    pub(super) fn undone(self, reading: GaugeReading) -> GaugeReading {
        let toe = |of: &dyn Fn(f64) -> f64| match reading.read {
            Read::Angles { toe_rad, camber_rad } => Read::Angles { toe_rad: of(toe_rad), camber_rad },
            Read::Dials { front_mm, rear_mm } => Read::Dials { front_mm: of(front_mm), rear_mm: of(rear_mm) },
            Read::Spot { wall_mm } => Read::Spot { wall_mm: of(wall_mm) },
        };
        let read = match (self, reading.read) {
            (Self::ToeTurned, _) => toe(&|read| -read),
            (Self::ToeInMinutes, _) => toe(&|rad| rad / MINUTES),
            (Self::ToeInMm { span_mm }, _) => toe(&|rad| (rad.to_degrees() / span_mm).clamp(-1.0, 1.0).asin()),
            (Self::InInches, _) => toe(&|mm| LengthUnit::Inch.to_mm(mm)),
            (Self::CamberTurned, Read::Angles { toe_rad, camber_rad }) => {
                Read::Angles { toe_rad, camber_rad: camber_rad.map(|camber| -camber) }
            }
            (_, read) => read,
        };
        let turned = if self == Self::HeightsTurned { -1.0 } else { 1.0 };
        GaugeReading { bump_mm: turned * self.stretches_heights().unwrap_or(1.0) * reading.bump_mm, read, ..reading }
    }

    /// What the column probably is.
    pub(super) fn what(self, instrument: Instrument) -> String {
        let of_toe = match instrument {
            Instrument::Angle => "`toe_deg`",
            Instrument::Plate { .. } => "`front_mm` and `rear_mm`",
            Instrument::Wall { .. } => "`wall_mm`",
        };
        let column = match self {
            Self::CamberTurned => "`camber_deg`",
            Self::HeightsTurned | Self::HeightsInInches | Self::HeightsInCm | Self::HeightsFrom { .. } => "`bump_mm`",
            Self::ToeTurned | Self::ToeInMinutes | Self::ToeInMm { .. } | Self::InInches => of_toe,
        };
        let are = if matches!(instrument, Instrument::Plate { .. }) && column == of_toe { "are" } else { "is" };
        match self {
            Self::ToeTurned | Self::CamberTurned | Self::HeightsTurned => {
                format!("the sign of {column} is probably turned")
            }
            Self::ToeInMinutes => format!("{column} {are} probably in minutes of arc"),
            Self::ToeInMm { span_mm } => format!("{column} {are} probably in mm over {span_mm:.0} mm"),
            Self::InInches | Self::HeightsInInches => format!("{column} {are} probably in inches"),
            Self::HeightsInCm => format!("{column} {are} probably in cm"),
            Self::HeightsFrom { end } => format!("{column} {are} probably counted from {}", end.name()),
        }
    }

    /// How the column is written right.
    pub(super) fn how_to_write(self, instrument: Instrument) -> String {
        match (self, instrument) {
            (Self::ToeTurned, Instrument::Angle) => "write toe-in positive and toe-out negative".to_owned(),
            (Self::ToeTurned, Instrument::Wall { beam: Beam::Spindle, .. }) => {
                "write forward positive and rearward negative".to_owned()
            }
            (Self::ToeTurned, _) => "write outward positive and inward negative".to_owned(),
            (Self::CamberTurned, _) => "write top outboard positive and top inboard negative".to_owned(),
            (Self::ToeInMinutes, _) => "write degrees: minutes divided by 60".to_owned(),
            (Self::ToeInMm { span_mm }, _) => {
                let deg = (1.0 / span_mm).asin().to_degrees();
                format!("write degrees: 1 mm over {span_mm:.0} mm is {deg:.3} deg")
            }
            (Self::InInches | Self::HeightsInInches, _) => "write mm: inches times 25.4".to_owned(),
            (Self::HeightsTurned, _) => "write bump positive and droop negative".to_owned(),
            (Self::HeightsInCm, _) => "write mm: cm times 10".to_owned(),
            (Self::HeightsFrom { .. }, _) => {
                "count heights from design height, bump positive: take what you read there off each of them".to_owned()
            }
        }
    }
}
