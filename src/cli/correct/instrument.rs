//! What the readings were taken with, and how well it reads.

use clap::{Args, ValueEnum};

use crate::cli::options::number;
use crate::gauge::{Beam, GaugeNoise, Instrument};

#[derive(Debug, Args)]
#[command(next_help_heading = "Instrument; a gauge that shows toe in degrees without any of these")]
pub struct InstrumentArgs {
    /// Two dial gauges on a plate against the wheel, so far apart, mm (columns front_mm and rear_mm, outward positive)
    #[arg(long, value_name = "MM", value_parser = length_mm, conflicts_with_all = ["wall", "beam"])]
    plate: Option<f64>,
    /// The two dials were set to zero at design height
    #[arg(long, requires = "plate")]
    zero: bool,
    /// A level laser on the wheel and a wall so far from the wheel centre, mm (column wall_mm)
    #[arg(long, value_name = "MM", value_parser = length_mm, requires = "beam")]
    wall: Option<f64>,
    /// Which way the laser shines: forward (the spot outward positive), or out along the spindle (the spot forward positive)
    #[arg(long, value_enum, requires = "wall")]
    beam: Option<BeamArg>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum BeamArg {
    Forward,
    Spindle,
}

impl InstrumentArgs {
    /// The lengths that it was given, mm.
    pub fn lengths(&self) -> [(&'static str, Option<f64>); 2] {
        [("--plate", self.plate), ("--wall", self.wall)]
    }

    pub fn instrument(&self) -> Instrument {
        let beam = |beam| match beam {
            BeamArg::Forward => Beam::Forward,
            BeamArg::Spindle => Beam::Spindle,
        };
        match (self.plate, self.wall.zip(self.beam)) {
            (Some(width_mm), _) => Instrument::Plate { width_mm, zeroed: self.zero },
            (None, Some((distance_mm, way))) => Instrument::Wall { distance_mm, beam: beam(way) },
            (None, None) => Instrument::Angle,
        }
    }
}

/// One standard deviation each.
#[derive(Debug, Args)]
#[command(next_help_heading = "How well it reads, one standard deviation")]
pub struct NoiseArgs {
    /// Of one toe reading, deg; of toe plates, of the total
    #[arg(long, value_name = "DEG", value_parser = sd_deg, default_value_t = GaugeNoise::default().toe_sd_deg)]
    toe_sd: f64,
    /// Of one camber reading, deg
    #[arg(long, value_name = "DEG", value_parser = sd_deg, default_value_t = GaugeNoise::default().camber_sd_deg)]
    camber_sd: f64,
    /// Of one dial, mm
    #[arg(long, value_name = "MM", value_parser = sd_mm, default_value_t = GaugeNoise::default().dial_sd_mm)]
    dial_sd: f64,
    /// Of the laser's spot, mm
    #[arg(long, value_name = "MM", value_parser = sd_mm, default_value_t = GaugeNoise::default().spot_sd_mm)]
    spot_sd: f64,
    /// Of what all toe readings of one session and side are off by in common, deg
    #[arg(long, value_name = "DEG", value_parser = sd_deg, default_value_t = GaugeNoise::default().toe_offset_sd_deg)]
    toe_offset_sd: f64,
    /// The same of camber readings, deg
    #[arg(long, value_name = "DEG", value_parser = sd_deg, default_value_t = GaugeNoise::default().camber_offset_sd_deg)]
    camber_offset_sd: f64,
    /// Of the height that you took for design height, mm
    #[arg(long, value_name = "MM", value_parser = sd_mm, default_value_t = GaugeNoise::default().bump_zero_sd_mm)]
    bump_zero_sd: f64,
}

impl NoiseArgs {
    /// The lengths that were given, mm; one as it is anyway counts as not given.
    pub fn lengths(&self) -> [(&'static str, Option<f64>); 3] {
        let usual = GaugeNoise::default();
        let given = |mm: f64, usual_mm: f64| Some(mm).filter(|mm| *mm != usual_mm);
        [
            ("--dial-sd", given(self.dial_sd, usual.dial_sd_mm)),
            ("--spot-sd", given(self.spot_sd, usual.spot_sd_mm)),
            ("--bump-zero-sd", given(self.bump_zero_sd, usual.bump_zero_sd_mm)),
        ]
    }

    pub fn noise(&self) -> GaugeNoise {
        GaugeNoise {
            toe_sd_deg: self.toe_sd,
            camber_sd_deg: self.camber_sd,
            dial_sd_mm: self.dial_sd,
            spot_sd_mm: self.spot_sd,
            toe_offset_sd_deg: self.toe_offset_sd,
            camber_offset_sd_deg: self.camber_offset_sd,
            bump_zero_sd_mm: self.bump_zero_sd,
        }
    }
}

fn length_mm(text: &str) -> Result<f64, String> {
    number(text, 1.0..=100_000.0, "write millimetres from 1 to 100000, for example 400")
}

fn sd_deg(text: &str) -> Result<f64, String> {
    number(text, 1e-4..=10.0, "write degrees from 0.0001 to 10, for example 0.02")
}

fn sd_mm(text: &str) -> Result<f64, String> {
    number(text, 1e-4..=50.0, "write millimetres from 0.0001 to 50, for example 0.1")
}
