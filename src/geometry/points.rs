//! The points of a corner by name, and what is bolted to its upright.

use nalgebra::{Point3, Unit, Vector3};

use super::axis::{End, Pickup};
use super::corner::{Corner, SpringMount};

/// A point of a corner that a tape can be held to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CornerPoint {
    /// See [`super::Wheel::centre`].
    WheelCentre,
    /// An end of a link.
    Pickup(Pickup),
    /// The halfshaft's joint at the final drive.
    HalfshaftInner,
    /// The halfshaft's joint in the upright.
    HalfshaftOuter,
    /// The spring's end on the frame.
    SpringChassis,
    /// The spring's end that moves.
    SpringMount,
}

impl CornerPoint {
    /// The link of which it is an end.
    pub fn link(self) -> Option<usize> {
        match self {
            CornerPoint::Pickup(pickup) => Some(pickup.link),
            _ => None,
        }
    }
}

impl Corner {
    /// Every point with its place in side axes, in the order of the file; only those of the parts that the corner has.
    ///
    /// Tested by `every_point_has_one_name` and `points_to_read_are_those_to_move` in `tests/geometry_file.rs`.
    pub fn points(&self) -> Vec<(CornerPoint, Point3<f64>)> {
        // Read with every step of a dragged point: a copy of the corner would cost more than the rest of the step.
        let mut points = vec![(CornerPoint::WheelCentre, self.wheel.centre)];
        for (index, link) in self.links.iter().enumerate() {
            let at = |end| CornerPoint::Pickup(Pickup { link: index, end });
            points.extend([(at(End::Chassis), link.chassis), (at(End::Upright), link.upright)]);
        }
        if let Some(shaft) = &self.halfshaft {
            let inner = (CornerPoint::HalfshaftInner, shaft.inner);
            points.extend([inner, (CornerPoint::HalfshaftOuter, shaft.outer)]);
        }
        if let Some(spring) = &self.spring {
            let chassis = (CornerPoint::SpringChassis, spring.chassis);
            points.extend([chassis, (CornerPoint::SpringMount, spring.mount)]);
        }
        points
    }

    /// The same, to be moved.
    pub fn points_mut(&mut self) -> Vec<(CornerPoint, &mut Point3<f64>)> {
        let mut points = vec![(CornerPoint::WheelCentre, &mut self.wheel.centre)];
        for (index, link) in self.links.iter_mut().enumerate() {
            let at = |end| CornerPoint::Pickup(Pickup { link: index, end });
            points.extend([(at(End::Chassis), &mut link.chassis), (at(End::Upright), &mut link.upright)]);
        }
        if let Some(shaft) = &mut self.halfshaft {
            let inner = (CornerPoint::HalfshaftInner, &mut shaft.inner);
            points.extend([inner, (CornerPoint::HalfshaftOuter, &mut shaft.outer)]);
        }
        if let Some(spring) = &mut self.spring {
            let chassis = (CornerPoint::SpringChassis, &mut spring.chassis);
            points.extend([chassis, (CornerPoint::SpringMount, &mut spring.mount)]);
        }
        points
    }

    /// What tables, sheets and surveys call a point: `wheel centre`, `toe link chassis`, `halfshaft inner`.
    pub fn name_of(&self, point: CornerPoint) -> String {
        match point {
            CornerPoint::WheelCentre => "wheel centre".to_owned(),
            CornerPoint::Pickup(Pickup { link, end }) => format!("{} {}", self.links[link].name, end.name()),
            CornerPoint::HalfshaftInner => "halfshaft inner".to_owned(),
            CornerPoint::HalfshaftOuter => "halfshaft outer".to_owned(),
            CornerPoint::SpringChassis => "spring chassis".to_owned(),
            CornerPoint::SpringMount => "spring mount".to_owned(),
        }
    }

    /// Moves everything that is bolted to the upright by one rule for places and one for directions, side axes; a spring
    /// mount on a link goes along. The wheel itself (centre and spin axis) stays.
    pub fn map_upright(
        &mut self,
        place: impl Fn(&Point3<f64>) -> Point3<f64>,
        direction: impl Fn(&Unit<Vector3<f64>>) -> Unit<Vector3<f64>>,
    ) {
        for link in &mut self.links {
            link.upright = place(&link.upright);
            link.upright_bolt = link.upright_bolt.map(|bolt| direction(&bolt));
        }
        if let Some(shaft) = &mut self.halfshaft {
            shaft.outer = place(&shaft.outer);
        }
        if let Some(spring) = &mut self.spring {
            spring.mount = place(&spring.mount);
            if let Some(strap) = &mut spring.make.strap {
                strap.upright = place(&strap.upright);
            }
        }
        self.carry_spring(); // one on a link has not moved with the upright
    }

    /// Puts a spring mount that is on a link back on the line of that link, whose points have moved.
    pub fn carry_spring(&mut self) {
        if let Some(spring) = &mut self.spring
            && let SpringMount::Link { index, share } = spring.on
        {
            let link = &self.links[index];
            spring.mount = link.at_share(share);
        }
    }
}
