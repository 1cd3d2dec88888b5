//! Every slip of the pen that may have been made in the points of a corner.

use nalgebra::Point3;

use super::written::{Source, Writing, end_pairs, place_of};
use crate::geometry::slips::{Slip, of_point};
use crate::geometry::{Axis, Corner, CornerPoint, End, LengthUnit, Pickup, SpringMount};

/// What is left of hub axes and of inches between two numbers that were typed as one, mm.
pub(super) const SAME_HOLE_MM: f64 = 0.05;

/// A corner with one number, or one point, as it was probably meant.
pub(super) struct Guess {
    pub(super) point: CornerPoint,
    /// The numbers of it that change.
    pub(super) source: Source,
    /// The point that it stands in place of, when two points of one kind are exchanged.
    pub(super) with: Option<CornerPoint>,
    /// `None` when more than one number changes.
    pub(super) axis: Option<Axis>,
    pub(super) slip: Slip,
    pub(super) meant: [f64; 3],
    pub(super) corner: Corner,
}

impl Guess {
    /// Every point that would be another one.
    pub(super) fn points(&self) -> impl Iterator<Item = CornerPoint> + use<> {
        [self.point].into_iter().chain(self.with)
    }

    /// How far its point is from where another guess puts it, mm.
    pub(super) fn moved_beside_mm(&self, other: &Guess) -> f64 {
        (place_of(&self.corner, self.point) - place_of(&other.corner, self.point)).norm()
    }

    /// The number as it stands in the file and as it was probably meant.
    pub(super) fn numbers(&self, before: &Corner, writing: &Writing) -> (String, String) {
        let written = writing.numbers_of(before, self.point, self.source);
        match self.axis {
            Some(axis) => {
                let index = axis.index();
                (format!("{} = {:?}", axis.name(), written[index]), format!("{:?}", self.meant[index]))
            }
            None => (format!("{written:?}"), format!("{:?}", self.meant)),
        }
    }
}

/// Every point of the corner with every slip in one of its numbers, in the unit of all three, or with two of them exchanged.
pub(super) fn guesses(corner: &Corner, placed: [bool; 5], writing: &Writing) -> impl Iterator<Item = Guess> {
    let is_typed = move |point: &CornerPoint| match point {
        CornerPoint::Pickup(Pickup { link, end: End::Chassis }) => placed[*link],
        CornerPoint::SpringMount => corner.spring.as_ref().is_some_and(|spring| spring.on == SpringMount::Upright),
        _ => true,
    };
    let points = corner.points().into_iter().map(|(point, _)| point).filter(is_typed);
    let one_point = points.flat_map(move |point| {
        writing.sources(point).iter().flat_map(move |&source| {
            let written = writing.numbers_of(corner, point, source);
            let on_road = (point == CornerPoint::WheelCentre)
                .then(|| (Some(Axis::Z), Slip::OffTheRoad, [written[0], written[1], writing.height_on_road(corner)]));
            let axes = writing.in_other_axes(corner, point).map(|(slip, numbers)| (None, slip, numbers));
            let typed = of_point(written, writing.units).filter(move |slip| !is_beside_zero(slip, writing.units));
            typed.chain(on_road).chain(axes).map(move |(axis, slip, meant)| {
                let corner = writing.reread_of(corner, point, source, meant);
                Guess { point, source, with: None, axis, slip, meant, corner }
            })
        })
    });
    one_point.chain(of_two_points(corner, placed, writing))
}

/// One number in mm that is next to none: what stands in a file in inches was meant to be as small as it is.
fn is_beside_zero((axis, slip, meant): &(Option<Axis>, Slip, [f64; 3]), units: LengthUnit) -> bool {
    const NEXT_TO_NONE_MM: f64 = 5.0;
    let is_small = |axis: Axis| units.to_mm(meant[axis.index()].abs()) < NEXT_TO_NONE_MM;
    *slip == Slip::InMillimetres && axis.is_some_and(is_small)
}

/// The same ends of two links, both ends of one, or those of a spring in each other's place.
fn of_two_points(corner: &Corner, placed: [bool; 5], writing: &Writing) -> impl Iterator<Item = Guess> {
    let links = end_pairs(placed).map(|(pair, end)| pair.map(|link| CornerPoint::Pickup(Pickup { link, end })));
    let ends = (0..placed.len()).filter(move |&link| placed[link]);
    let ends = ends.map(|link| End::BOTH.map(|end| CornerPoint::Pickup(Pickup { link, end })));
    let spring = corner.spring.as_ref().filter(|spring| spring.on == SpringMount::Upright);
    let spring = spring.map(|_| [CornerPoint::SpringChassis, CornerPoint::SpringMount]);
    links.chain(ends).chain(spring).map(move |[point, with]| {
        let numbers = [point, with].map(|point| writing.numbers(corner, point));
        let turned = writing.reread(&writing.reread(corner, point, numbers[1]), with, numbers[0]);
        Guess {
            point,
            source: Source::Own,
            with: Some(with),
            axis: None,
            slip: Slip::OfOtherPoint,
            meant: numbers[1],
            corner: turned,
        }
    })
}

/// A hole that two links share was typed twice, and no slip is made twice.
pub(super) fn shares_hole(corner: &Corner, point: CornerPoint) -> bool {
    let place = place_of(corner, point);
    let is_same = |at: &Point3<f64>| (at - place).norm() < SAME_HOLE_MM;
    corner.points().iter().filter(|(_, at)| is_same(at)).count() > 1
}
