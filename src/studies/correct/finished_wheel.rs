//! One wheel of the finished car: pickups a little off, links set, shims and turns since, and toe set to the gauge.
//!
//! When the car was finished its links were adjusted until the drawn wheel place was back, as in the weld study. Since then
//! shims moved pickups and turns changed lengths; each time, the link that sets toe was turned until static toe was what the
//! gauge said. So its length is no number that anybody knows: it follows from static toe.

use nalgebra::Vector3;

use crate::gauge::{Change, What};
use crate::geometry::{Coordinate, Corner, End, Geometry, Pickup};
use crate::measures::{
    Derivatives, Measure, camber_deg, camber_gradient_deg_per_mm, spin_axis, toe_deg, toe_gradient_deg_per_mm,
};
use crate::mechanism::{
    LinkGradient, LinkSetting, Linkage, PickupErrors, PoseGradient, Posture, PostureSensitivity, WheelPath,
};
use crate::studies::errors::pickup_errors;

/// Static toe is set to this, deg: far below any gauge, above rounding.
const SET_DEG: f64 = 1e-11;
/// Newton's method on the length of one link is quadratic.
const MAX_TURNS: usize = 12;

/// The drawing of one wheel, and the link that sets its toe.
#[derive(Debug, Clone)]
pub(super) struct DrawnWheel<'g> {
    pub geometry: &'g Geometry,
    pub corner: &'g Corner,
    pub linkage: Linkage,
    /// Index of the link that sets toe.
    pub toe_link: usize,
    /// What a millimetre of each link does to toe at design, deg/mm.
    pub toe_by_length: [f64; 5],
}

/// What was done to a wheel after its links were set for the first time.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Changes {
    /// By how far pickups were moved.
    pub shims: PickupErrors,
    /// By how much links were made longer, mm.
    pub longer_mm: [f64; 5],
}

impl Changes {
    pub fn add(&mut self, change: &Change) {
        match change.what.moves() {
            Some((End::Chassis, along)) => self.shims.chassis[change.link] += *along * change.by_mm,
            Some((End::Upright, along)) => self.shims.upright[change.link] += *along * change.by_mm,
            None => self.longer_mm[change.link] += change.by_mm,
        }
    }

    pub fn with<'c>(mut self, changes: impl IntoIterator<Item = &'c Change>) -> Self {
        changes.into_iter().for_each(|change| self.add(change));
        self
    }
}

/// A finished wheel on its path.
#[derive(Debug, Clone)]
pub(super) struct FinishedWheel<'d> {
    pub drawn: &'d DrawnWheel<'d>,
    pub linkage: Linkage,
    pub path: WheelPath,
    /// Derivatives of toe at design.
    design: LinkGradient,
}

/// Derivatives of one number by everything that a finished wheel depends on, toe being set anew.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ByWheel {
    /// By the thirty errors of the pickups, per mm.
    pub errors: [f64; Coordinate::COUNT],
    /// By static toe, per deg.
    pub toe: f64,
    /// The rest is for [`ByWheel::by_change`].
    links: LinkGradient,
}

/// What a number gains with what an instrument sees of the wheel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct ByPosture {
    pub toe: f64,
    pub camber: f64,
    pub place: Vector3<f64>,
}

impl DrawnWheel<'_> {
    /// Toe as drawn, deg.
    pub fn toe_deg(&self) -> f64 {
        toe_deg(&self.corner.wheel.spin_axis)
    }

    /// Camber as drawn, deg.
    pub fn camber_deg(&self) -> f64 {
        camber_deg(&self.corner.wheel.spin_axis)
    }

    /// The finished wheel with these errors of its pickups, changed since, and with static toe off the drawing by `toe_off_deg`;
    /// followed through some bump travels. `None` when it does not close or does not reach them all.
    pub fn finished(
        &self,
        errors_mm: &[f64; Coordinate::COUNT],
        changes: &Changes,
        toe_off_deg: f64,
        stations_mm: &[f64],
    ) -> Option<FinishedWheel<'_>> {
        let mut linkage = self.linkage.built(&pickup_errors(errors_mm), LinkSetting::Adjusted).shimmed(&changes.shims);
        for (link, by_mm) in changes.longer_mm.iter().enumerate().filter(|(link, _)| *link != self.toe_link) {
            linkage = linkage.lengthened(link, *by_mm);
        }
        let (linkage, design) = self.with_toe_set(&linkage, self.toe_deg() + toe_off_deg)?;
        let path = WheelPath::follow(&linkage, stations_mm).ok()?;
        let is_whole = path.binds_in_bump.is_none() && path.binds_in_droop.is_none();
        is_whole.then_some(FinishedWheel { drawn: self, linkage, path, design })
    }

    /// Turns the toe link until toe at design is this.
    fn with_toe_set(&self, linkage: &Linkage, toe_deg_wanted: f64) -> Option<(Linkage, LinkGradient)> {
        let mut by_mm = 0.0;
        for _ in 0..MAX_TURNS {
            let turned = linkage.lengthened(self.toe_link, by_mm);
            let posture = turned.design().ok()?;
            let design = self.derived(&turned, &posture, &ByPosture { toe: 1.0, ..ByPosture::default() })?;
            let off_deg = toe_deg(&spin_axis(self.corner, &posture)) - toe_deg_wanted;
            if off_deg.abs() <= SET_DEG {
                return Some((turned, design));
            }
            by_mm -= off_deg / design.length[self.toe_link];
        }
        None
    }

    /// Derivatives by pickups and lengths, no link being set anew.
    fn derived(&self, linkage: &Linkage, posture: &Posture, by: &ByPosture) -> Option<LinkGradient> {
        let sensitivity = PostureSensitivity::new(linkage, posture).ok()?;
        let car = &self.geometry.car;
        let derivatives = Derivatives::at(self.corner, car, posture, &sensitivity);
        let mut links = LinkGradient::default();
        for (measure, times) in [(Measure::Toe, by.toe), (Measure::Camber, by.camber)] {
            if times != 0.0 {
                links = sum(&links, &derivatives.of(measure)?.links, times);
            }
        }
        if by.place != Vector3::zeros() {
            let mut of_place = LinkGradient::default();
            sensitivity.write(&PoseGradient { place: by.place, ..PoseGradient::default() }, &mut of_place);
            links = sum(&links, &of_place, 1.0);
        }
        Some(links)
    }
}

impl FinishedWheel<'_> {
    /// At a bump travel of its path.
    pub fn at(&self, bump_mm: f64) -> Option<Posture> {
        self.path.at(bump_mm)
    }

    /// Toe, deg.
    pub fn toe_deg(&self, posture: &Posture) -> f64 {
        toe_deg(&spin_axis(self.drawn.corner, posture))
    }

    /// Camber, deg.
    pub fn camber_deg(&self, posture: &Posture) -> f64 {
        camber_deg(&spin_axis(self.drawn.corner, posture))
    }

    /// Change of a number per millimetre of bump.
    pub fn by_bump(&self, posture: &Posture, by: &ByPosture) -> f64 {
        let s = spin_axis(self.drawn.corner, posture);
        let motion = &posture.motion;
        by.toe * toe_gradient_deg_per_mm(&s, motion)
            + by.camber * camber_gradient_deg_per_mm(&s, motion)
            + by.place.dot(&motion.velocity)
    }

    /// Derivatives of a number that changes so with the posture.
    pub fn by_wheel(&self, posture: &Posture, by: &ByPosture) -> Option<ByWheel> {
        let drawn = self.drawn;
        let there = drawn.derived(&self.linkage, posture, by)?;
        let design = &self.design;
        // Static toe is held by the toe link: dℓ = −(∂toe/∂p) dp / (∂toe/∂ℓ).
        let toe = there.length[drawn.toe_link] / design.length[drawn.toe_link];
        let links = sum(&there, design, -toe);
        Some(ByWheel { errors: std::array::from_fn(|k| links.by(Coordinate::nth(k))), toe, links })
    }

    /// Toe less toe at design, deg, at some bump travels of its path.
    pub fn toe_changes_deg(&self, stations_mm: &[f64]) -> Option<Vec<f64>> {
        let design_deg = self.toe_deg(&self.at(0.0)?);
        stations_mm.iter().map(|&bump_mm| Some(self.toe_deg(&self.at(bump_mm)?) - design_deg)).collect()
    }
}

impl ByWheel {
    /// By a change of one millimetre.
    pub fn by_change(&self, wheel: &FinishedWheel<'_>, link: usize, what: What) -> f64 {
        match what.moves() {
            Some((end, along)) => self.links.by_shim(&wheel.linkage, Pickup { link, end }).dot(&along),
            None => self.links.length[link],
        }
    }
}

fn sum(a: &LinkGradient, b: &LinkGradient, times: f64) -> LinkGradient {
    let points = |a: &[Vector3<f64>; 5], b: &[Vector3<f64>; 5]| std::array::from_fn(|i| a[i] + b[i] * times);
    LinkGradient {
        chassis: points(&a.chassis, &b.chassis),
        upright: points(&a.upright, &b.upright),
        length: std::array::from_fn(|i| a.length[i] + b.length[i] * times),
    }
}
