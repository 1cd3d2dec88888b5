//! What an instrument shows of a wheel.

use nalgebra::Vector3;

use super::finished_wheel::ByPosture;
use crate::gauge::{Beam, GaugeNoise, Instrument, Read, ReadSide};

/// What of an instrument's reading one number is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Shows {
    /// Toe, deg.
    Toe,
    /// Camber, deg.
    Camber,
    /// Rear dial less front dial, mm, dials outward positive, so toe-in positive.
    Dials { width_mm: f64 },
    /// A laser's spot on the wall, mm.
    Spot { distance_mm: f64, beam: Beam },
}

/// What an instrument can see of a wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Seen {
    pub toe_deg: f64,
    pub camber_deg: f64,
    /// Of the wheel centre from its drawn place, side axes.
    pub place: Vector3<f64>,
}

/// A number that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Number {
    pub shows: Shows,
    pub value: f64,
    pub sd: f64,
    /// Of what all such readings of a session and side are off by, deg.
    pub offset_sd_deg: f64,
    /// It is the change from design height.
    pub zeroed: bool,
}

impl Shows {
    /// What it shows, in its unit.
    ///
    /// A plate stands square to the spindle: `width · sin(toe)`. A level beam that leaves the wheel centre square to the spindle
    /// meets the wall, which stands across the car, where `ΔW_y − (D − ΔW_x) tan(toe)`; along the spindle, on a wall beside the car,
    /// where `ΔW_x + (D − ΔW_y) tan(toe)`. Source: plane trigonometry. Tested by `tests/correct/readings.rs`.
    pub fn value(self, seen: &Seen) -> f64 {
        let (toe, place) = (seen.toe_deg.to_radians(), &seen.place);
        match self {
            Shows::Toe => seen.toe_deg,
            Shows::Camber => seen.camber_deg,
            Shows::Dials { width_mm } => width_mm * toe.sin(),
            Shows::Spot { distance_mm, beam: Beam::Forward } => place.y - (distance_mm - place.x) * toe.tan(),
            Shows::Spot { distance_mm, beam: Beam::Spindle } => place.x + (distance_mm - place.y) * toe.tan(),
        }
    }

    /// Its derivatives, per deg and per mm.
    pub fn by(self, seen: &Seen) -> ByPosture {
        let (toe, place) = (seen.toe_deg.to_radians(), &seen.place);
        let secant_square = 1.0 / toe.cos().powi(2);
        match self {
            Shows::Toe => ByPosture { toe: 1.0, ..ByPosture::default() },
            Shows::Camber => ByPosture { camber: 1.0, ..ByPosture::default() },
            Shows::Dials { width_mm } => ByPosture { toe: width_mm * toe.cos().to_radians(), ..ByPosture::default() },
            Shows::Spot { distance_mm, beam: Beam::Forward } => ByPosture {
                toe: -((distance_mm - place.x) * secant_square).to_radians(),
                place: Vector3::new(toe.tan(), 1.0, 0.0),
                ..ByPosture::default()
            },
            Shows::Spot { distance_mm, beam: Beam::Spindle } => ByPosture {
                toe: ((distance_mm - place.y) * secant_square).to_radians(),
                place: Vector3::new(1.0, -toe.tan(), 0.0),
                ..ByPosture::default()
            },
        }
    }

    /// The same wheel seen through a gauge that is off by so much, deg.
    pub fn through(self, mut seen: Seen, offset_deg: f64) -> Seen {
        match self {
            Shows::Camber => seen.camber_deg += offset_deg,
            _ => seen.toe_deg += offset_deg,
        }
        seen
    }
}

/// The numbers of one line: toe or what stands for it, and camber where it was read.
pub(super) fn numbers(instrument: Instrument, noise: &GaugeNoise, side: ReadSide, read: Read) -> Vec<Number> {
    // The offsets of two gauges add up as independent ones.
    let gauges = if side == ReadSide::Both { std::f64::consts::SQRT_2 } else { 1.0 };
    let toe =
        |shows, value, sd| Number { shows, value, sd, offset_sd_deg: gauges * noise.toe_offset_sd_deg, zeroed: false };
    match (read, instrument) {
        (Read::Angles { toe_rad, camber_rad }, _) => {
            let camber = camber_rad.map(|camber_rad| Number {
                shows: Shows::Camber,
                value: camber_rad.to_degrees(),
                sd: noise.camber_sd_deg,
                offset_sd_deg: noise.camber_offset_sd_deg,
                zeroed: false,
            });
            std::iter::once(toe(Shows::Toe, toe_rad.to_degrees(), noise.toe_sd_deg)).chain(camber).collect()
        }
        (Read::Dials { front_mm, rear_mm }, Instrument::Plate { width_mm, zeroed }) => {
            let sd = noise.dial_sd_mm * std::f64::consts::SQRT_2;
            let dials = toe(Shows::Dials { width_mm }, rear_mm - front_mm, sd);
            // What is left of a zeroed pair's offset is how exactly it was zeroed.
            let offset_sd_deg = if zeroed { (sd / width_mm).to_degrees() } else { dials.offset_sd_deg };
            vec![Number { offset_sd_deg, zeroed, ..dials }]
        }
        (Read::Spot { wall_mm }, Instrument::Wall { distance_mm, beam }) => {
            vec![toe(Shows::Spot { distance_mm, beam }, wall_mm, noise.spot_sd_mm)]
        }
        // A plate's reading without a plate, or a spot without a wall, does not come out of a file of readings.
        (Read::Dials { .. } | Read::Spot { .. }, _) => Vec::new(),
    }
}

/// One standard deviation of one reading, as an angle of toe, deg.
pub(super) fn toe_sd_deg(instrument: Instrument, noise: &GaugeNoise) -> f64 {
    match instrument {
        Instrument::Angle => noise.toe_sd_deg,
        Instrument::Plate { width_mm, .. } => (noise.dial_sd_mm * std::f64::consts::SQRT_2 / width_mm).to_degrees(),
        Instrument::Wall { distance_mm, .. } => (noise.spot_sd_mm / distance_mm).to_degrees(),
    }
}
