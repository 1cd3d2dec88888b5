//! Both wheels as they most likely stand, and as changes leave them.

use nalgebra::{Point3, Unit};

use super::estimate::Estimate;
use super::finished_wheel::{Changes, DrawnWheel, FinishedWheel};
use crate::gauge::Change;
use crate::geometry::{Coordinate, Corner, Geometry, PerSide, Side};
use crate::studies::errors::pickup_errors;

/// A wheel as it most likely stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct LikelyWheel<'d> {
    pub drawn: &'d DrawnWheel<'d>,
    pub errors_mm: [f64; Coordinate::COUNT],
    /// Static toe off the drawing, deg.
    pub toe_off_deg: f64,
    /// Made since it was finished.
    pub changes: Changes,
}

impl<'d> LikelyWheel<'d> {
    /// As the readings have it in the last round.
    pub fn of(estimate: &Estimate<'d>, wheel: usize) -> Self {
        let (problem, last) = (&estimate.problem, estimate.problem.rounds() - 1);
        let likely = problem.wheel(&estimate.unknowns, wheel, last);
        let prior = &problem.wheels[wheel];
        Self {
            drawn: prior.drawn,
            errors_mm: likely.errors_mm,
            toe_off_deg: likely.toe_off_deg,
            changes: prior.changes[last],
        }
    }

    /// With toe set to the gauge.
    pub fn with_toe_set(self) -> Self {
        Self { toe_off_deg: 0.0, ..self }
    }

    /// With some changes made, toe set after them; as it stands without any.
    pub fn changed(self, changes: &[Change]) -> Self {
        let changed = Self { changes: self.changes.with(changes), ..self };
        if changes.is_empty() { changed } else { changed.with_toe_set() }
    }

    /// At design height; `None` when it does not close.
    pub fn finished(&self) -> Option<FinishedWheel<'d>> {
        self.drawn.finished(&self.errors_mm, &self.changes, self.toe_off_deg, &[])
    }

    /// The corner as it was built, standing at design height: the pickups where they are, the wheel where they put it.
    pub fn corner(&self) -> Option<Corner> {
        let posture = self.finished()?.at(0.0)?;
        let errors = pickup_errors(&self.errors_mm);
        let mut corner = self.drawn.corner.clone();
        for (index, link) in corner.links.iter_mut().enumerate() {
            link.chassis += errors.chassis[index] + self.changes.shims.chassis[index];
            link.upright += errors.upright[index] + self.changes.shims.upright[index];
        }
        let direction = |direction: &Unit<_>| Unit::new_normalize(posture.direction(direction));
        corner.map_upright(|place: &Point3<f64>| posture.point(place), direction);
        corner.wheel.centre = posture.wheel_centre();
        corner.wheel.spin_axis = direction(&corner.wheel.spin_axis);
        Some(corner)
    }
}

/// The axle as it most likely stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct LikelyAxle<'d> {
    pub drawn: &'d Geometry,
    /// `None` of a wheel of which nothing is known: it is taken as drawn.
    pub wheels: PerSide<Option<LikelyWheel<'d>>>,
}

impl LikelyAxle<'_> {
    /// With toe of both wheels set to the gauge.
    pub fn with_toe_set(self) -> Self {
        Self { wheels: self.wheels.map(|wheel| wheel.map(LikelyWheel::with_toe_set)), ..self }
    }

    /// The car with some changes made at each wheel; `None` when a wheel does not close.
    pub fn changed(&self, changes: PerSide<&[Change]>) -> Option<Geometry> {
        let mut geometry = self.drawn.clone();
        geometry.mirrored = false;
        for side in Side::BOTH {
            if let Some(wheel) = self.wheels[side] {
                *geometry.corner_mut(side) = wheel.changed(changes[side]).corner()?;
            }
        }
        Some(geometry)
    }
}
