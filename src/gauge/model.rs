//! What was read at the finished car, in mm and radians.

use crate::geometry::{Interval, Side};

/// Everything that one file of readings holds: one round of gauging.
#[derive(Debug, Clone, PartialEq)]
pub struct GaugeReadings {
    /// What the readings were taken with.
    pub instrument: Instrument,
    /// In the order of the file, which is the order in which they were taken.
    pub readings: Vec<GaugeReading>,
    /// Names of the sessions in the order in which they first appear; one without a name when the file has no such column.
    pub sessions: Vec<String>,
}

impl GaugeReadings {
    /// The same numbers at the same heights in the same order, on whichever lines.
    pub fn is_same_as(&self, other: &GaugeReadings) -> bool {
        let of = |reading: &GaugeReading| (reading.side, reading.bump_mm, reading.read);
        let same = |(one, other): (&GaugeReading, &GaugeReading)| of(one) == of(other);
        self.instrument == other.instrument
            && self.readings.len() == other.readings.len()
            && self.readings.iter().zip(&other.readings).all(same)
    }

    /// Takes out the readings at heights outside of this travel, mm, and gives them back.
    pub fn take_beyond(&mut self, travel: Interval) -> Vec<GaugeReading> {
        let (kept, beyond) =
            self.readings.drain(..).partition(|reading| travel.holds(&Interval::single(reading.bump_mm)));
        self.readings = kept;
        beyond
    }

    /// Heights go well beyond this travel, mm, and with their sign turned from one end of it to the other: bump stands for droop.
    pub fn reach_when_turned(&self, travel: Interval) -> bool {
        /// A stop is gauged as exactly as this, mm.
        const AT_STOP_MM: f64 = 1.0;
        let heights = || self.readings.iter().map(|reading| reading.bump_mm);
        let low = heights().fold(f64::INFINITY, f64::min);
        let high = heights().fold(f64::NEG_INFINITY, f64::max);
        let beyond_mm = (high - travel.high).max(travel.low - low);
        let off_mm = (high + travel.low).abs().max((low + travel.high).abs());
        off_mm <= AT_STOP_MM && beyond_mm > 2.0 * AT_STOP_MM
    }
}

/// What a reading was taken with, and what is known of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Instrument {
    /// A gauge that shows toe, and camber where the file has it.
    Angle,
    /// Two dial gauges on a plate that stands against the wheel.
    Plate {
        /// Between the two dials, mm.
        width_mm: f64,
        /// The dials were set to zero at design height: they show the change from there.
        zeroed: bool,
    },
    /// A level laser that is fixed to the wheel and shines on a wall.
    Wall {
        /// From the wheel centre at design to the wall, along the beam, mm.
        distance_mm: f64,
        /// Which way it shines.
        beam: Beam,
    },
}

/// Which way a laser on the wheel shines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beam {
    /// Forward, square to the spindle: the spot is read outward positive.
    Forward,
    /// Along the spindle, outboard: the spot is read forward positive.
    Spindle,
}

/// One line of the file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GaugeReading {
    /// Of the file, counted from 1.
    pub line: usize,
    /// Index into [`GaugeReadings::sessions`]: the readings of one session share an unknown toe offset on each side.
    pub session: usize,
    /// Whose toe it is.
    pub side: ReadSide,
    /// Travel of the wheel from design height as the builder set it, mm, bump positive.
    pub bump_mm: f64,
    /// What stood on the instrument.
    pub read: Read,
}

/// Whose toe a reading gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReadSide {
    /// One wheel's.
    One(Side),
    /// The total of both wheels, which stand at the same bump travel.
    Both,
}

impl ReadSide {
    /// This wheel's toe has a part in it.
    pub fn is_of(self, side: Side) -> bool {
        self == Self::One(side) || self == Self::Both
    }
}

/// What stood on the instrument; which one is possible follows from [`Instrument`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Read {
    /// Toe, rad, toe-in positive, and camber where it was read, rad, top outboard positive.
    Angles {
        /// Per wheel, or the total of both where the reading is of both.
        toe_rad: f64,
        /// Of the one wheel; never with a reading of both.
        camber_rad: Option<f64>,
    },
    /// Two dials on a plate, mm, outward positive.
    Dials {
        /// The front one.
        front_mm: f64,
        /// The rear one.
        rear_mm: f64,
    },
    /// The spot of the laser on the wall, mm, from where it would be if the wheel stood at design with toe 0; positive as
    /// [`Beam`] says.
    Spot {
        /// Along the wall.
        wall_mm: f64,
    },
}
