//! A shop that welds, gauges, shims and turns: the true car, which the program never sees.

use hubtrace::gauge::{Change, GaugeReading, GaugeReadings, Instrument, Read, ReadSide};
use hubtrace::geometry::{Corner, End, Side};
use hubtrace::measures::{spin_axis, toe_deg};
use hubtrace::mechanism::{LinkSetting, Linkage, PickupErrors, WheelPath};
use nalgebra::Vector3;
use rand::Rng;
use rand::rngs::StdRng;

/// A standard normal number (Box and Muller).
pub fn normal(rng: &mut StdRng) -> f64 {
    let (radius, angle) = (rng.random_range(f64::EPSILON..1.0_f64), rng.random_range(0.0..std::f64::consts::TAU));
    (-2.0 * radius.ln()).sqrt() * angle.cos()
}

/// Pickups off by normal errors of these standard deviations, mm.
pub fn welded(rng: &mut StdRng, chassis_sd_mm: f64, upright_sd_mm: f64) -> PickupErrors {
    let mut off = |sd_mm: f64| std::array::from_fn(|_| Vector3::from_fn(|_, _| sd_mm * normal(rng)));
    PickupErrors { chassis: off(chassis_sd_mm), upright: off(upright_sd_mm) }
}

/// How the gauge of the shop reads: standard deviations.
#[derive(Debug, Clone, Copy)]
pub struct Gauge {
    /// Of one reading.
    pub toe_sd_deg: f64,
    /// Of what all readings of a session are off by.
    pub offset_sd_deg: f64,
    /// Of the height that is taken for design height.
    pub bump_zero_sd_mm: f64,
}

/// Heights at which the wheel is gauged, mm.
pub const GAUGED_MM: [f64; 13] = [-60.0, -50.0, -40.0, -30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 30.0, 40.0, 50.0, 60.0];

/// One wheel of a finished car.
#[derive(Debug, Clone)]
pub struct FinishedCar<'c> {
    corner: &'c Corner,
    drawn: Linkage,
    /// Off the drawing.
    pub errors: PickupErrors,
    shims: PickupErrors,
    longer_mm: [f64; 5],
    toe_link: usize,
    /// Toe at design height.
    static_toe_deg: f64,
    /// How far everything was moved in all, mm.
    pub moved_mm: f64,
}

impl<'c> FinishedCar<'c> {
    /// Built off a drawing, its links adjusted until the drawn wheel place was back.
    pub fn new(corner: &'c Corner, errors: PickupErrors, toe_link: usize) -> Self {
        Self {
            corner,
            drawn: Linkage::new(corner),
            errors,
            shims: PickupErrors::default(),
            longer_mm: [0.0; 5],
            toe_link,
            static_toe_deg: toe_deg(&corner.wheel.spin_axis),
            moved_mm: 0.0,
        }
    }

    /// Static toe is set with a gauge.
    pub fn set_toe(&mut self, rng: &mut StdRng, gauge: &Gauge) {
        let off_deg = gauge.offset_sd_deg * normal(rng) + gauge.toe_sd_deg * normal(rng);
        self.static_toe_deg = toe_deg(&self.corner.wheel.spin_axis) + off_deg;
    }

    /// What the builder changes; toe is set after it.
    pub fn change(&mut self, changes: &[Change]) {
        for Change { link, what, by_mm } in changes {
            self.moved_mm += by_mm.abs();
            match what.moves() {
                Some((End::Chassis, along)) => self.shims.chassis[*link] += *along * *by_mm,
                Some((End::Upright, along)) => self.shims.upright[*link] += *along * *by_mm,
                None => self.longer_mm[*link] += by_mm,
            }
        }
    }

    /// Toe at some heights, deg: the toe link is as long as static toe wants it, found by the secant rule.
    pub fn toe_deg(&self, at_mm: &[f64]) -> Option<Vec<f64>> {
        let mut linkage = self.drawn.built(&self.errors, LinkSetting::Adjusted).shimmed(&self.shims);
        for link in (0..5).filter(|link| *link != self.toe_link) {
            linkage = linkage.lengthened(link, self.longer_mm[link]);
        }
        let toe = |posture| toe_deg(&spin_axis(self.corner, &posture));
        let off_deg = |by_mm: f64| {
            let posture = linkage.lengthened(self.toe_link, by_mm).design().ok()?;
            Some(toe(posture) - self.static_toe_deg)
        };
        let (mut last_mm, mut by_mm) = (0.0, 0.5);
        let (mut last_deg, mut here_deg) = (off_deg(last_mm)?, off_deg(by_mm)?);
        for _ in 0..30 {
            if here_deg.abs() < 1e-10 {
                break;
            }
            let next_mm = by_mm - here_deg * (by_mm - last_mm) / (here_deg - last_deg);
            (last_mm, last_deg) = (by_mm, here_deg);
            by_mm = next_mm;
            here_deg = off_deg(by_mm)?;
        }
        let path = WheelPath::follow(&linkage.lengthened(self.toe_link, by_mm), at_mm).ok()?;
        at_mm.iter().map(|&at_mm| Some(toe(path.at(at_mm)?))).collect()
    }

    /// Largest change of toe from design over ±60 mm, deg; infinite when the wheel binds before.
    pub fn worst_bump_steer_deg(&self) -> f64 {
        let at_mm: Vec<f64> = (-12..=12).map(|k| 5.0 * f64::from(k)).collect();
        let Some(toe_deg) = self.toe_deg(&at_mm) else { return f64::INFINITY };
        toe_deg.iter().fold(0.0, |worst, toe| f64::max(worst, (toe - toe_deg[12]).abs()))
    }

    /// One session with the gauge, from full droop to full bump.
    pub fn gauged(&self, rng: &mut StdRng, gauge: &Gauge) -> Option<GaugeReadings> {
        let zero_mm = gauge.bump_zero_sd_mm * normal(rng);
        let offset_deg = gauge.offset_sd_deg * normal(rng);
        let at_mm = GAUGED_MM.map(|bump_mm| bump_mm + zero_mm);
        let read = |(index, toe_deg): (usize, f64)| GaugeReading {
            line: index + 2,
            session: 0,
            side: ReadSide::One(Side::Left),
            bump_mm: GAUGED_MM[index],
            read: Read::Angles {
                toe_rad: (toe_deg + offset_deg + gauge.toe_sd_deg * normal(rng)).to_radians(),
                camber_rad: None,
            },
        };
        let readings = self.toe_deg(&at_mm)?.into_iter().enumerate().map(read).collect();
        Some(GaugeReadings { instrument: Instrument::Angle, readings, sessions: vec![String::new()] })
    }
}

/// What an angle gauge showed, deg, in the order of the readings.
pub fn read_toe_deg(readings: &GaugeReadings) -> Vec<f64> {
    let toe_deg = |reading: &GaugeReading| match reading.read {
        Read::Angles { toe_rad, .. } => Some(toe_rad.to_degrees()),
        Read::Dials { .. } | Read::Spot { .. } => None,
    };
    readings.readings.iter().filter_map(toe_deg).collect()
}

/// Slope at ride height, deg/mm, of the parabola through the readings.
pub fn slope_at_ride_height(readings: &GaugeReadings) -> f64 {
    // Heights are symmetric about design, so the slope of the parabola there is that of the line.
    let toe_deg = read_toe_deg(readings);
    let sum: f64 = GAUGED_MM.iter().zip(&toe_deg).map(|(bump_mm, toe_deg)| bump_mm * toe_deg).sum();
    sum / GAUGED_MM.iter().map(|bump_mm| bump_mm * bump_mm).sum::<f64>()
}
