//! The points of a corner as their file writes them, and read anew with another number.

use nalgebra::{Point3, Unit, Vector3};

use crate::geometry::slips::{Slip, as_measured, as_typed};
use crate::geometry::{
    Corner, CornerPoint, End, Geometry, HousingPlace, LengthUnit, PerSide, Pickup, Side, SpringMount, UprightAxes,
    UprightFrame, Wheel,
};

/// How a file writes the points of one side.
#[derive(Debug, Clone, Copy)]
pub(super) struct Writing {
    pub(super) units: LengthUnit,
    axes: UprightAxes,
    /// Of a final drive that gives the inner joints: its place, and where they are in its own axes.
    housing: Option<(HousingPlace, PerSide<Point3<f64>>)>,
}

/// Which three numbers of a file give a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    /// Its own, as those of most points; what a final drive gives is shown as if it had them.
    Own,
    /// `origin` of the final drive.
    Housing,
    /// `at` of its flange.
    Flange,
}

impl Writing {
    pub(super) fn of(geometry: &Geometry) -> Self {
        let housing = geometry.final_drive.as_ref().map(|drive| (drive.place, drive.outputs.map(|flange| flange.at)));
        Self { units: geometry.units, axes: geometry.upright_axes, housing }
    }

    /// Where the numbers of a point stand in the file.
    pub(super) fn sources(&self, point: CornerPoint) -> &'static [Source] {
        match (point, self.housing) {
            (CornerPoint::HalfshaftInner, Some(_)) => &[Source::Housing, Source::Flange],
            _ => &[Source::Own],
        }
    }

    /// What a source is called, and where it stands.
    pub(super) fn name(corner: &Corner, point: CornerPoint, source: Source) -> String {
        match source {
            Source::Own => corner.name_of(point),
            Source::Housing => "final_drive origin".to_owned(),
            Source::Flange => format!("final_drive {}", corner.side.name()),
        }
    }

    /// The three numbers of a source, in the unit of the file.
    pub(super) fn numbers_of(&self, corner: &Corner, point: CornerPoint, source: Source) -> [f64; 3] {
        let (Some((place, at)), false) = (self.housing, source == Source::Own) else {
            return self.numbers(corner, point);
        };
        let joint = corner.side.to_car(place_of(corner, point));
        let read = match source {
            Source::Flange => place.own(&joint),
            _ => joint - (place.point(&at[corner.side]) - place.origin),
        };
        read.coords.map(|mm| as_typed(mm / self.units.in_mm())).into()
    }

    /// The corner that the file would give with these numbers for one source of a point.
    pub(super) fn reread_of(&self, corner: &Corner, point: CornerPoint, source: Source, numbers: [f64; 3]) -> Corner {
        let (Some((place, at)), false) = (self.housing, source == Source::Own) else {
            return self.reread(corner, point, numbers);
        };
        let read = Point3::from(numbers.map(|number| self.units.to_mm(number)));
        let joint = match source {
            Source::Flange => place.point(&read),
            _ => HousingPlace { origin: read, ..place }.point(&at[corner.side]),
        };
        let mut changed = corner.clone();
        changed.halfshaft.iter_mut().for_each(|shaft| shaft.inner = corner.side.to_car(joint));
        changed
    }

    /// The height of a wheel centre whose tyre stands on z = 0, as a builder would write it.
    pub(super) fn height_on_road(&self, corner: &Corner) -> f64 {
        as_typed(corner.wheel.tyre_radius_mm / self.units.in_mm())
    }

    /// The three numbers that stand in the file, in its unit.
    pub(super) fn numbers(&self, corner: &Corner, point: CornerPoint) -> [f64; 3] {
        self.of_place(corner, point, &place_of(corner, point))
    }

    /// The three numbers by which the file would write a place of that point.
    pub(super) fn of_place(&self, corner: &Corner, point: CornerPoint, place: &Point3<f64>) -> [f64; 3] {
        let frame = self.frame(corner);
        let written = if is_on_upright(corner, point) { frame.as_written(place) } else { frame.car_point(place) };
        written.coords.map(|mm| as_typed(mm / self.units.in_mm())).into()
    }

    /// The corner that the file would give with these numbers for one point.
    pub(super) fn reread(&self, corner: &Corner, point: CornerPoint, numbers: [f64; 3]) -> Corner {
        let read = Point3::from(numbers.map(|number| self.units.to_mm(number)));
        let place = match is_on_upright(corner, point) {
            true => self.frame(corner).place(&read),
            false => corner.side.to_car(read),
        };
        if point == CornerPoint::WheelCentre {
            return self.with_wheel(corner, Wheel { centre: place, ..corner.wheel.clone() });
        }
        let mut changed = corner.clone();
        changed.points_mut().into_iter().filter(|(at, _)| *at == point).for_each(|(_, at)| *at = place);
        if !matches!(point, CornerPoint::SpringMount) {
            changed.carry_spring();
        }
        changed
    }

    /// The corner that the file would give with another wheel: in axes of the hub the points of the upright go with it.
    pub(super) fn with_wheel(&self, corner: &Corner, wheel: Wheel) -> Corner {
        let (frame, meant) = (self.frame(corner), UprightFrame::of(self.axes, corner.side, &wheel));
        let mut changed = Corner { wheel, ..corner.clone() };
        let direction = |d: &Unit<Vector3<f64>>| match self.axes {
            UprightAxes::Car => *d,
            UprightAxes::Hub | UprightAxes::HubFace => meant.direction(frame.direction_as_written(d)),
        };
        changed.map_upright(|p| meant.place(&frame.as_written(p)), direction);
        changed
    }

    /// The corner that the file would give if its upright points were meant in other axes.
    pub(super) fn in_axes(&self, corner: &Corner, axes: UprightAxes) -> Corner {
        let (frame, meant) = (self.frame(corner), Self { axes, ..*self }.frame(corner));
        let mut changed = corner.clone();
        changed.map_upright(|p| meant.place(&frame.as_written(p)), |d| *d);
        changed
    }

    /// The numbers by which the file would write an upright point, had it been measured from the hub as no other was, or from
    /// the car.
    pub(super) fn in_other_axes(&self, corner: &Corner, point: CornerPoint) -> Option<(Slip, [f64; 3])> {
        if !is_on_upright(corner, point) {
            return None;
        }
        let (slip, axes) = match self.axes {
            UprightAxes::Car => (Slip::InHubAxes, UprightAxes::Hub),
            UprightAxes::Hub | UprightAxes::HubFace => (Slip::InCarAxes, UprightAxes::Car),
        };
        let meant = Self { axes, ..*self }.reread(corner, point, self.numbers(corner, point));
        Some((slip, self.numbers(&meant, point).map(|number| as_measured(number, self.units))))
    }

    /// True when the file counts this point from the wheel.
    pub(super) fn is_of_hub(&self, corner: &Corner, point: CornerPoint) -> bool {
        self.axes != UprightAxes::Car && is_on_upright(corner, point)
    }

    fn frame(&self, corner: &Corner) -> UprightFrame {
        UprightFrame::of(self.axes, corner.side, &corner.wheel)
    }
}

/// Puts a corner in the place of the one that the file has, and with it what else hangs on that source.
pub(super) fn put(geometry: &mut Geometry, corner: Corner, source: Source) {
    let side = corner.side;
    let inner = |corner: &Corner| corner.halfshaft.as_ref().map(|shaft| side.to_car(shaft.inner));
    let moved = inner(&corner).zip(inner(geometry.corner(side))).map(|(to, from)| to - from);
    *geometry.corner_mut(side) = corner;
    if let (Some(drive), Some(moved), Source::Housing) = (&mut geometry.final_drive, moved, source) {
        drive.place.origin += moved;
        drive.seat(&mut geometry.left);
        drive.seat(&mut geometry.right);
    }
}

/// Which links of a side have a chassis point.
pub(super) fn placed(geometry: &Geometry, side: Side) -> [bool; 5] {
    geometry.adjustments[side].links.each_ref().map(|link| link.is_placed())
}

/// The same ends of two links, each pair once, as far as they have a place.
pub(super) fn end_pairs(placed: [bool; 5]) -> impl Iterator<Item = ([usize; 2], End)> {
    let pairs = (0..placed.len()).flat_map(|b| (0..b).map(move |a| [a, b]));
    let ends = pairs.flat_map(|pair| End::BOTH.map(|end| (pair, end)));
    ends.filter(move |(pair, end)| *end == End::Upright || pair.iter().all(|&link| placed[link]))
}

pub(super) fn place_of(corner: &Corner, point: CornerPoint) -> Point3<f64> {
    let at = corner.points().into_iter().find(|(at, _)| *at == point);
    at.map_or(corner.wheel.centre, |(_, place)| place)
}

fn is_on_upright(corner: &Corner, point: CornerPoint) -> bool {
    match point {
        CornerPoint::Pickup(Pickup { end, .. }) => end == End::Upright,
        CornerPoint::HalfshaftOuter => true,
        CornerPoint::SpringMount => corner.spring.as_ref().is_some_and(|spring| spring.on == SpringMount::Upright),
        CornerPoint::WheelCentre | CornerPoint::HalfshaftInner | CornerPoint::SpringChassis => false,
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::Point3;

    use super::Writing;
    use crate::file::GeometryFile;
    use crate::geometry::{CornerPoint, LengthUnit};

    #[test]
    fn the_numbers_are_those_of_the_file_in_its_unit() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let mut car = GeometryFile::parse("demo", demo).expect("a sound car").geometry;
        let numbers = |car: &_| Writing::of(car).numbers(&car.left, CornerPoint::WheelCentre);
        assert_eq!(numbers(&car), [0.0, 737.636, 281.204]);
        car.units = LengthUnit::Inch;
        car.left.wheel.centre = Point3::new(-50.8, 762.0, 279.4);
        assert_eq!(numbers(&car), [-2.0, 30.0, 11.0]);
    }
}
