//! What a starter file is made to fit: a tyre and a track.

use std::error::Error;
use std::fmt;
use std::ops::RangeInclusive;
use std::str::FromStr;

use nalgebra::Point3;

use super::tyre::{Tyre, TyreError};
use crate::geometry::LengthUnit;

const DEMO_TYRE: &str = "205/50R15";
const DEMO_TRACK_MM: f64 = 1490.0;
/// Static toe and camber of the template, written there as well; a test holds them together.
pub(super) const TOE_DEG: f64 = 0.10;
pub(super) const CAMBER_DEG: f64 = -1.50;
/// Tracks for which the corner is believed; the narrowest and the widest cars lie inside.
const TRACKS_MM: RangeInclusive<f64> = 900.0..=2100.0;

/// What a starter file shall fit: a tyre, and the distance between the contact points of the two wheels.
#[derive(Debug, Clone, PartialEq)]
pub struct StarterRequest {
    pub(super) tyre: Tyre,
    pub(super) track_mm: f64,
}

impl StarterRequest {
    /// What is not given is the demo car's.
    pub fn new(tyre: Option<Tyre>, track_mm: Option<f64>) -> Result<Self, StarterError> {
        let track_mm = track_mm.unwrap_or(DEMO_TRACK_MM);
        if !TRACKS_MM.contains(&track_mm) {
            return Err(StarterError::Track { track_mm });
        }
        Ok(Self { tyre: tyre.unwrap_or_else(demo_tyre), track_mm })
    }

    /// Between the contact points of the two wheels, mm.
    pub fn track_mm(&self) -> f64 {
        self.track_mm
    }

    /// Loaded radius as a file in these units has it, mm: as fine as its points.
    pub(super) fn tyre_radius_mm(&self, units: LengthUnit) -> f64 {
        rounded(self.tyre.loaded_radius_mm() / units.in_mm(), point_parts(units)) * units.in_mm()
    }

    /// Where the wheel centre stands so that the contact points are one track apart and on z = 0, mm; as fine as a file in
    /// these units has it.
    ///
    /// Contact point as in `docs/conventions.md`: with the spin axis `s` of the static toe and camber, it lies at
    /// `W + R d`, `d = normalise(−z + s_z s)`, of which y is `−sin camber · cos toe` and z is `−cos camber`.
    /// Tested by `contact_points_are_one_track_apart_on_the_floor`.
    pub(super) fn wheel_centre(&self, units: LengthUnit) -> Point3<f64> {
        let (toe, camber, radius_mm) = (TOE_DEG.to_radians(), CAMBER_DEG.to_radians(), self.tyre_radius_mm(units));
        let y = self.track_mm / 2.0 + radius_mm * camber.sin() * toe.cos();
        let place = Point3::new(0.0, y, radius_mm * camber.cos());
        place.map(|v| rounded(v / units.in_mm(), centre_parts(units)) * units.in_mm())
    }

    /// How much larger the corner is than the demo car's: as the room inside the rim, or as the distance from the
    /// centreline where the car is too narrow for that.
    pub(super) fn scale(&self) -> f64 {
        let demo = Self { tyre: demo_tyre(), track_mm: DEMO_TRACK_MM };
        let rim = self.tyre.rim_inside_radius_mm() / demo.tyre.rim_inside_radius_mm();
        let from_centreline = |request: &Self| request.wheel_centre(LengthUnit::Millimetre).y;
        rim.min(from_centreline(self) / from_centreline(&demo))
    }
}

impl Default for StarterRequest {
    fn default() -> Self {
        Self { tyre: demo_tyre(), track_mm: DEMO_TRACK_MM }
    }
}

/// As the key `starter` has it: `205/50R15, track 1490 mm`.
impl fmt::Display for StarterRequest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}, track {} mm", self.tyre, self.track_mm)
    }
}

impl FromStr for StarterRequest {
    type Err = StarterError;

    fn from_str(text: &str) -> Result<Self, StarterError> {
        let form = || StarterError::Form { text: text.to_owned() };
        let (tyre, track) = text.split_once(", track ").ok_or_else(form)?;
        let track = track.strip_suffix(" mm").ok_or_else(form)?;
        let track_mm = track.parse().map_err(|_| form())?;
        Self::new(Some(tyre.parse().map_err(StarterError::Tyre)?), Some(track_mm))
    }
}

/// Why no starter is made.
#[derive(Debug, Clone, PartialEq)]
pub enum StarterError {
    /// No car has such a track.
    Track {
        /// The track that was asked for.
        track_mm: f64,
    },
    /// The text of the tyre is no size.
    Tyre(TyreError),
    /// The key `starter` does not read as it was written.
    Form {
        /// What it says.
        text: String,
    },
}

impl fmt::Display for StarterError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Track { track_mm } => {
                write!(
                    f,
                    "a track of {track_mm} mm is no car's; write the distance between the contact points of the two rear \
                     wheels in mm, {} to {}, for example 1490",
                    TRACKS_MM.start(),
                    TRACKS_MM.end()
                )?;
                let from_inches_mm = track_mm * LengthUnit::Inch.in_mm();
                match TRACKS_MM.contains(&from_inches_mm) {
                    true => write!(
                        f,
                        "; {track_mm} in are {} mm, whatever the units of the file",
                        rounded(from_inches_mm, 10.0)
                    ),
                    false => Ok(()),
                }
            }
            Self::Tyre(error) => error.fmt(f),
            Self::Form { text } => write!(
                f,
                "{text:?} does not say what the starter numbers were made for; write tyre and track as in \
                 \"205/50R15, track 1490 mm\", or take the key out once every number is your own"
            ),
        }
    }
}

impl Error for StarterError {
    fn source(&self) -> Option<&(dyn Error + 'static)> {
        match self {
            Self::Tyre(error) => Some(error),
            Self::Track { .. } | Self::Form { .. } => None,
        }
    }
}

/// To the nearest one part in `parts` of its unit; never `-0`.
pub(super) fn rounded(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts + 0.0
}

/// Into how many parts a unit is divided for a point: no tape reads finer.
pub(super) fn point_parts(units: LengthUnit) -> f64 {
    match units {
        LengthUnit::Millimetre => 10.0,
        LengthUnit::Inch => 1000.0,
    }
}

/// The same for the wheel centre, which sets the tyre on the floor.
pub(super) fn centre_parts(units: LengthUnit) -> f64 {
    match units {
        LengthUnit::Millimetre => 1000.0,
        LengthUnit::Inch => 10_000.0,
    }
}

fn demo_tyre() -> Tyre {
    DEMO_TYRE.parse().expect("the demo's tyre is a tyre: every test of this file reads it")
}
