//! Left beside right: two sides of one axle differ by what welding leaves, not by more.

use nalgebra::{Point3, Vector3};

use super::moved_side::Moved;
use super::oddities::{Around, oddities};
use super::typing::{ALIKE_MM, strain};
use super::written::Writing;
use super::{Doubt, Kind};
use crate::geometry::slips::{Slip, as_typed, meant};
use crate::geometry::{Axis, Corner, CornerPoint, End, Geometry, LengthUnit, Link, Pickup, Side};
use crate::measures::{camber_deg, toe_deg};
use crate::studies::design_variables::DesignVariables;

/// No welder is so far off between two sides of one axle, in any one direction, mm.
pub(super) const WELDED_MM: f64 = 8.0;

/// Toe and camber are set to much less than this of each other, deg.
const SET_DEG: f64 = 1.0;
/// Angles that are the same but for their sign, deg; smaller ones say nothing.
const TURNED_DEG: f64 = 0.02;

/// A final drive that was meant for the middle stands beside it by less, mm.
const BESIDE_MM: f64 = 20.0;

/// So many points of one side that are off by one distance have no mistake each.
const MOST_POINTS: f64 = 0.8;

/// A right side that was measured from another datum: most points of its links are off from the left ones by one distance. It
/// goes on without that.
pub(super) fn datum(geometry: &mut Geometry) -> Option<Doubt> {
    let (writing, left) = (Writing::of(geometry), geometry.left.points());
    let is_compared =
        |point: &CornerPoint| matches!(point, CornerPoint::Pickup(_)) && !writing.is_of_hub(&geometry.left, *point);
    let is_placed = Side::BOTH.into_iter().all(|side| geometry.is_placed(side));
    let apart = |place: &Point3<f64>, point: CornerPoint| {
        left.iter().find(|(of, _)| *of == point).map(|(_, left)| place - left)
    };
    let all: Vec<Vector3<f64>> = geometry
        .right
        .points()
        .into_iter()
        .filter(|(point, _)| is_placed && is_compared(point))
        .filter_map(|(point, place)| apart(&place, point))
        .collect();
    let shift = Vector3::from_fn(|axis, _| median(all.iter().map(|apart| apart[axis])));
    let is_shifted = |apart: &Vector3<f64>| (apart - shift).amax() <= WELDED_MM;
    let count = all.iter().filter(|apart| is_shifted(apart)).count();
    let axis = Axis::ALL.into_iter().max_by(|a, b| shift[a.index()].abs().total_cmp(&shift[b.index()].abs()))?;
    let off_mm = shift[axis.index()];
    if off_mm.abs() <= WELDED_MM || (count as f64) < MOST_POINTS * all.len() as f64 {
        return None;
    }
    let way = way(axis, off_mm);
    let off = geometry.units.show(off_mm.abs());
    let sentence = format!(
        "The right side: {count} of its {} link points are {off} {way} than those of the left side: was it measured from another \
         datum? Give both sides one.",
        all.len()
    );
    for (point, place) in geometry.right.points_mut() {
        if apart(place, point).is_some_and(|apart| is_shifted(&apart)) {
            *place -= shift;
        }
    }
    Some(Doubt::new(Some(Side::Right), "right", None, sentence))
}

/// Where a point is that is off by so much along an axis.
pub(super) fn way(axis: Axis, off_mm: f64) -> &'static str {
    match (axis, off_mm > 0.0) {
        (Axis::X, true) => "further forward",
        (Axis::X, false) => "further back",
        (Axis::Y, true) => "further out",
        (Axis::Y, false) => "further in",
        (Axis::Z, true) => "higher",
        (Axis::Z, false) => "lower",
    }
}

/// Of numbers in any order; 0 of none.
pub(super) fn median(numbers: impl Iterator<Item = f64>) -> f64 {
    let mut sorted: Vec<f64> = numbers.collect();
    sorted.sort_by(f64::total_cmp);
    sorted.get(sorted.len() / 2).copied().unwrap_or(0.0)
}

/// One doubt for each point of which a coordinate differs by more than welding explains, unless `told` has it already, and for
/// each angle that differs.
pub(super) fn doubts(geometry: &Geometry, told: &[Doubt]) -> Vec<Doubt> {
    let is_told = |about: &str| told.iter().flat_map(|doubt| &doubt.suspects).any(|suspect| suspect.about == about);
    let moved = Moved::of(geometry);
    // A wheel that was set elsewhere on purpose is set to other angles too.
    let angles = if moved.is_some() { Vec::new() } else { angles(geometry) };
    let of_side = moved.iter().map(|moved| moved.doubt(geometry));
    let all = of_side.chain(points(geometry, moved.as_ref())).chain(angles);
    all.filter(|doubt| !is_told(&doubt.suspects[0].about)).collect()
}

/// Toe or camber of which one side has the other's sign, or that are far apart.
fn angles(geometry: &Geometry) -> Vec<Doubt> {
    let wheels = [&geometry.left.wheel, &geometry.right.wheel];
    let angles = [
        ("toe", "toe in is positive on either side", wheels.map(|wheel| toe_deg(&wheel.spin_axis))),
        ("camber", "the top leaning out is positive on either side", wheels.map(|wheel| camber_deg(&wheel.spin_axis))),
    ];
    let doubt = |(key, sign, [left, right]): (&str, &str, [f64; 2])| {
        let turned = (left + right).abs() < TURNED_DEG && left.abs() > TURNED_DEG;
        let why = match turned {
            true => format!("the sign of one is probably turned: {sign}"),
            false => "measure both again".to_owned(),
        };
        let sentence = format!("{key}: {left:.2} deg on the left and {right:.2} deg on the right; {why}.");
        (turned || (left - right).abs() > SET_DEG)
            .then(|| Doubt::new(None, key, None, sentence).of_kind(Kind::Sides(None)))
    };
    angles.into_iter().filter_map(doubt).collect()
}

/// A coordinate that tuning has put where it is, on either side by itself: in its own range, by a spacer along a bolt, on a
/// tube, or with the whole upright. Of a built car too, which was welded to what was tuned.
fn is_tuned(geometry: &Geometry, point: CornerPoint, axis: Axis) -> bool {
    let CornerPoint::Pickup(Pickup { link, end }) = point else { return false };
    let is_free = |side: Side| {
        let (may, link_of) = (&geometry.adjustments[side], &geometry.corner(side).links[link]);
        let of_link = &may.links[link];
        let (ranges, spacer, bolt) = match end {
            End::Chassis => (&of_link.chassis, of_link.chassis_bolt, link_of.chassis_bolt),
            End::Upright => (&of_link.upright, of_link.upright_bolt, link_of.upright_bolt),
        };
        let along_bolt = spacer.is_some() && bolt.is_some_and(|bolt| bolt[axis.index()] != 0.0);
        let carried = match end {
            End::Chassis => {
                of_link.tube.is_some_and(|on| [on.slide, on.stand_off, on.turn].iter().any(Option::is_some))
            }
            End::Upright => may.clock.is_some() || may.links.iter().any(|link| link.length.is_some()),
        };
        ranges[axis.index()].is_some() || along_bolt || carried
    };
    (geometry.tuned || geometry.built) && Side::BOTH.into_iter().any(is_free)
}

/// How far a point of the left side and that of the right are apart along each axis, mm.
fn apart_mm(
    geometry: &Geometry,
    writing: &Writing,
    point: CornerPoint,
    [left, right]: [(&Corner, Point3<f64>); 2],
) -> [f64; 3] {
    // Two uprights that are alike stand apart where their wheels do, and that is told of the wheels.
    let place = |(corner, place): (&Corner, Point3<f64>)| match writing.is_of_hub(&geometry.left, point) {
        true => writing.numbers(corner, point).map(|number| geometry.units.to_mm(number)),
        false => place.coords.into(),
    };
    let (left, right) = (place(left), place(right));
    Axis::ALL.map(|axis| (left[axis.index()] - right[axis.index()]).abs())
}

/// Both sides with all that is free at one end of its room, in its middle and at the other end: a car that was tuned once, and of which
/// a hand has moved a point since, tells with its rooms where the rest of it was drawn.
struct Rooms(Vec<[Corner; 2]>);

impl Rooms {
    fn of(geometry: &Geometry) -> Self {
        let shares: &[f64] = if geometry.was_tuned { &[0.5, 0.0, 1.0] } else { &[] };
        let at = |&share: &f64| {
            let [left, right] = Side::BOTH.map(|side| DesignVariables::of(geometry, side).at_share_of_room(share));
            Some([left?, right?])
        };
        Self(shares.iter().filter_map(at).collect())
    }

    /// The rooms of the two sides begin, end or have their middle at one place.
    fn is_drawn_alike(&self, geometry: &Geometry, writing: &Writing, point: CornerPoint, axis: Axis) -> bool {
        let place = |corner: &Corner| corner.points().into_iter().find(|(of, _)| *of == point).map(|(_, place)| place);
        self.0.iter().any(|[left, right]| {
            let both = place(left).zip(place(right));
            both.is_some_and(|places| {
                let apart = apart_mm(geometry, writing, point, [(left, places.0), (right, places.1)]);
                apart[axis.index()] <= WELDED_MM
            })
        })
    }
}

fn points(geometry: &Geometry, moved: Option<&Moved>) -> Vec<Doubt> {
    let (writing, rooms) = (Writing::of(geometry), Rooms::of(geometry));
    let (left, right) = (geometry.left.points(), geometry.right.points());
    let placed = Side::BOTH.into_iter().all(|side| geometry.is_placed(side));
    let is_explained = |point: CornerPoint| moved.is_some_and(|moved| moved.explains(point));
    let pairs = left.into_iter().zip(right).filter(|((a, _), (b, _))| a == b && placed && !is_explained(*a));
    let worst = pairs.filter_map(|((point, left), (_, right))| {
        let apart = apart_mm(geometry, &writing, point, [(&geometry.left, left), (&geometry.right, right)]);
        // A final drive may stand beside the middle of the car, with halfshafts of two lengths.
        let is_beside = |axis: &Axis| {
            let [left, right] = [left, right].map(|at| at.y / geometry.units.in_mm());
            point == CornerPoint::HalfshaftInner
                && *axis == Axis::Y
                && !differ_in_size(left.min(right), left.max(right), geometry.units)
                && !(geometry.final_drive.is_none() && differ_in_digits([left, right], geometry.units))
        };
        let may_differ = |axis: &Axis| {
            is_beside(axis)
                || is_tuned(geometry, point, *axis)
                || rooms.is_drawn_alike(geometry, &writing, point, *axis)
        };
        let axis = Axis::ALL
            .into_iter()
            .filter(|axis| !may_differ(axis))
            .max_by(|a, b| apart[a.index()].total_cmp(&apart[b.index()]))?;
        (apart[axis.index()] > WELDED_MM).then_some((point, axis, apart[axis.index()]))
    });
    // The side that is less like a car has the mistake, as far as it shows.
    let strain_of = |side: Side| strain(&oddities(geometry.corner(side), Around::of(geometry, side)));
    let worst: Vec<_> = worst.collect();
    let strains = if worst.is_empty() { [0.0; 2] } else { Side::BOTH.map(strain_of) };
    worst
        .into_iter()
        .map(|(point, axis, apart_mm)| {
            let at = axis.index();
            let of_side = |side: Side| writing.numbers(geometry.corner(side), point)[at];
            let (left, right) = (of_side(Side::Left), of_side(Side::Right));
            let about = geometry.left.name_of(point);
            let apart = geometry.units.show(apart_mm);
            // On a side with y to the left in the file, the mirror image of a y has the other sign.
            let sign = if left * right < 0.0 && axis == Axis::Y { -1.0 } else { 1.0 };
            // What is apart by little is near to many a number.
            let is_beside = point == CornerPoint::HalfshaftInner && axis == Axis::Y;
            let near_mm = if is_beside { BESIDE_MM } else { ALIKE_MM.min(0.25 * apart_mm) };
            let slip = slip_between([left, sign * right], near_mm, geometry.units);
            let slip = slip.map_or(String::new(), |words| format!(" ({words}?)"));
            let sentence = format!(
                "{about}: {} = {left:?} on the left and {right:?} on the right are {apart} apart, more than welding \
                 explains{slip}: measure both again.",
                axis.name()
            );
            Doubt::new(apart_from_neighbours(geometry, point, axis).or(odder(strains)), about, None, sentence)
                .of_kind(Kind::Sides(Some(point)))
                .naming(point.link())
        })
        .collect()
}

/// The side on which an end of a link left the line on which it has a neighbour on the other side.
fn apart_from_neighbours(geometry: &Geometry, point: CornerPoint, axis: Axis) -> Option<Side> {
    const BESIDE_MM: f64 = 15.0;
    const TIMES: f64 = 3.0;
    let CornerPoint::Pickup(Pickup { link, end }) = point else { return None };
    let nearest_mm = |side: Side| {
        let links = &geometry.corner(side).links;
        let at = |link: &Link| if end == End::Chassis { link.chassis } else { link.upright };
        let off_mm = |other: &Link| (at(other) - at(&links[link]))[axis.index()].abs();
        let others = links.iter().enumerate().filter(|(other, _)| *other != link);
        others.map(|(_, other)| off_mm(other)).fold(f64::INFINITY, f64::min)
    };
    let [left, right] = Side::BOTH.map(nearest_mm);
    let is_apart = left.min(right) <= BESIDE_MM && left.max(right) > TIMES * left.min(right).max(BESIDE_MM);
    is_apart.then_some(if right > left { Side::Right } else { Side::Left })
}

/// The side that is clearly the odder one, of two strains.
fn odder([left, right]: [f64; 2]) -> Option<Side> {
    const CLEARLY: f64 = 0.1;
    match right - left {
        by if by > CLEARLY => Some(Side::Right),
        by if by < -CLEARLY => Some(Side::Left),
        _ => None,
    }
}

/// True when the smaller of two distances from the middle is the larger one with its point shifted or in another unit, as far as a
/// final drive stands beside the middle; one beyond the middle is beside it by design.
fn differ_in_size(less: f64, more: f64, units: LengthUnit) -> bool {
    let near = |number: f64| units.to_mm((number - more).abs()) <= BESIDE_MM;
    let mut of_size = meant(less, units).into_iter().filter(|(slip, _)| slip.is_of_size());
    less > 0.0 && !near(less) && of_size.any(|(_, number)| near(number))
}

/// True when one of two distances from the middle is the other with two of its digits swapped, to the last figure.
fn differ_in_digits([left, right]: [f64; 2], units: LengthUnit) -> bool {
    let mut swapped = meant(as_typed(left), units).into_iter().filter(|(slip, _)| *slip == Slip::DigitsSwapped);
    units.to_mm((left - right).abs()) > BESIDE_MM && swapped.any(|(_, number)| number == as_typed(right))
}

/// The slip that makes one of two numbers, in the file's unit, from the other.
fn slip_between([left, right]: [f64; 2], near_mm: f64, units: LengthUnit) -> Option<&'static str> {
    let alike = |a: f64, b: f64| units.to_mm((a - b).abs()) <= near_mm;
    let makes = |from: f64, to: f64| {
        meant(from, units).into_iter().find(|&(_, number)| alike(number, to)).map(|(slip, _)| slip.words())
    };
    makes(left, right).or_else(|| makes(right, left))
}

#[cfg(test)]
mod tests {
    use super::doubts;
    use crate::file::GeometryFile;
    use crate::geometry::slips::Slip;
    use crate::geometry::{AdjustmentRange, Adjustments, Geometry, PerSide, Side, TubeAdjustment};
    use crate::studies::design_variables::DesignVariables;
    use nalgebra::Vector3;

    /// What tuning may move stands where tuning put it; across the bolt of a spacer nothing was moved.
    #[test]
    fn a_side_that_tuning_moved_by_a_spacer_is_not_doubted_for_it() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let mut car = GeometryFile::parse("demo", demo).expect("a sound car").geometry;
        let range = Some(AdjustmentRange { low: -12.0, high: 12.0, step: Some(2.0) });
        car.left.links[2].upright_bolt = Some(Vector3::z_axis());
        car.adjustments.left.links[2].upright_bolt = range;
        let doubted = |car: &Geometry| doubts(car, &[]).len();
        let moved = |car: &Geometry, axis: usize, tuned: bool| {
            let mut car = Geometry { tuned, ..car.clone() };
            car.left.links[2].upright[axis] += 12.0;
            doubted(&car)
        };
        assert_eq!([moved(&car, 2, false), moved(&car, 2, true), moved(&car, 0, true)], [1, 0, 1]);
        let built = Geometry { built: true, ..car.clone() };
        assert_eq!([moved(&built, 2, false), moved(&built, 0, false)], [0, 1]);
        // An upright that is clocked carries every hole; a turnbuckle turns it.
        car.adjustments.right.clock = range;
        assert_eq!([moved(&car, 0, false), moved(&car, 0, true)], [1, 0]);
        car.adjustments.right.clock = None;
        car.adjustments.right.links[0].length = range;
        assert_eq!([moved(&car, 0, false), moved(&car, 0, true)], [1, 0]);
        let tube = TubeAdjustment { tube: 0, slide: range, stand_off: None, turn: None };
        car.left.links[3].chassis.x += 20.0;
        car.adjustments.left.links[3].tube = Some(tube);
        assert_eq!([false, true].map(|tuned| doubted(&Geometry { tuned, ..car.clone() })), [1, 0]);
    }

    /// A hand has moved one point since, and the mark is void: the rooms, which are counted from the new places, still tell where both
    /// sides were drawn.
    #[test]
    fn a_side_that_tuning_moved_is_not_doubted_for_it_once_a_hand_has_moved_another_point() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let parsed = |text: &str| GeometryFile::parse("demo", text).expect("a sound car").geometry;
        let car = parsed(&format!("tuned = \"0123456789abcdef\"\n{demo}"));
        assert!(car.was_tuned && !car.tuned && !parsed(demo).was_tuned);
        let moved = |side: Side, by_mm: f64, has_room_left: bool, car: &Geometry| {
            let mut car = car.clone();
            car.corner_mut(side).links[0].chassis.z += by_mm;
            let range = &mut car.adjustments[side].links[0].chassis[2];
            *range = range.map(|range| if has_room_left { range.after(by_mm) } else { range });
            car
        };
        let tuned = moved(Side::Right, -10.0, true, &moved(Side::Left, 20.0, true, &car));
        assert_eq!(doubts(&tuned, &[]), []);
        assert_eq!(doubts(&Geometry { was_tuned: false, ..tuned.clone() }, &[]).len(), 1);
        // A hand that moves the bracket itself moves its room along.
        assert_eq!(doubts(&moved(Side::Left, 20.0, false, &tuned), &[]).len(), 1);
        // One upright was clocked further than the other, and every hole of it went along.
        let range = AdjustmentRange { low: -6.0, high: 6.0, step: None };
        let free = Adjustments { clock: Some(range), ..Adjustments::default() };
        let mut clocked = Geometry { adjustments: PerSide { left: free.clone(), right: free }, ..car };
        clocked.right = DesignVariables::of(&clocked, Side::Right).at_share_of_room(1.0).expect("a wheel that moves");
        clocked.adjustments.right.clock = Some(range.after(6.0));
        assert_eq!(doubts(&clocked, &[]), []);
        assert!(!doubts(&Geometry { was_tuned: false, ..clocked }, &[]).is_empty());
    }

    #[test]
    fn a_side_that_differs_by_a_slip_of_the_pen_is_told_with_the_slip() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let mut car = GeometryFile::parse("demo", demo).expect("a sound car").geometry;
        assert!(doubts(&car, &[]).is_empty());
        let said = |z_mm: f64| {
            car.right.links[4].chassis.z = z_mm;
            doubts(&car, &[]).into_iter().map(|doubt| doubt.sentence).collect::<Vec<_>>().join("\n")
        };
        // The left one is at 255 mm.
        let [swapped, nothing] = [525.0, 330.0].map(said);
        assert!(swapped.contains(&format!("({}?)", Slip::DigitsSwapped.words())), "{swapped}");
        assert!(nothing.ends_with("apart, more than welding explains: measure both again."), "{nothing}");
    }
}
