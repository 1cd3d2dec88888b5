//! Left beside right: two sides of one axle differ by what welding leaves, not by more.

use super::Doubt;
use super::slips::meant;
use super::written::Writing;
use crate::geometry::{Axis, Geometry, Side};

/// No welder is so far off between two sides of one axle, in any one direction, mm.
const WELDED_MM: f64 = 12.0;
/// Two sides of one drawing that were welded and measured agree to this, mm.
const ALIKE_MM: f64 = 5.0;

/// One doubt for each point of which a coordinate differs by more than welding explains.
pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let writing = Writing::of(geometry);
    let (left, right) = (geometry.left.points(), geometry.right.points());
    let placed = Side::BOTH.into_iter().all(|side| geometry.is_placed(side));
    let pairs = left.into_iter().zip(right).filter(|((a, _), (b, _))| a == b && placed);
    let worst = pairs.filter_map(|((point, left), (_, right))| {
        // Two uprights that are alike stand apart where their wheels do, and that is told of the wheels.
        let [left, right] = match writing.is_of_hub(&geometry.left, point) {
            true => {
                Side::BOTH.map(|side| writing.numbers(geometry.corner(side), point).map(|n| n * geometry.units.in_mm()))
            }
            false => [left, right].map(|place| place.coords.into()),
        };
        let apart = Axis::ALL.map(|axis| (left[axis.index()] - right[axis.index()]).abs());
        let axis = Axis::ALL.into_iter().max_by(|a, b| apart[a.index()].total_cmp(&apart[b.index()]))?;
        (apart[axis.index()] > WELDED_MM).then_some((point, axis, apart[axis.index()]))
    });
    worst
        .map(|(point, axis, apart_mm)| {
            let at = axis.index();
            let of_side = |side: Side| writing.numbers(geometry.corner(side), point)[at];
            let (left, right) = (of_side(Side::Left), of_side(Side::Right));
            let about = geometry.left.name_of(point);
            let apart = geometry.units.show(apart_mm);
            // On a side with y to the left in the file, the mirror image of a y has the other sign.
            let sign = if left * right < 0.0 && axis == Axis::Y { -1.0 } else { 1.0 };
            let slip = slip_between(left, sign * right, geometry).map_or(String::new(), |words| format!(" ({words}?)"));
            let sentence = format!(
                "{about}: {} = {left:?} on the left and {right:?} on the right are {apart} apart, more than welding \
                 explains{slip}: measure both again.",
                axis.name()
            );
            Doubt::new(None, about, None, sentence)
        })
        .collect()
}

/// The slip that makes one of two numbers, in the file's unit, from the other.
fn slip_between(left: f64, right: f64, geometry: &Geometry) -> Option<&'static str> {
    let alike = |a: f64, b: f64| (a - b).abs() * geometry.units.in_mm() <= ALIKE_MM;
    let makes = |from: f64, to: f64| {
        meant(from, geometry.units).into_iter().find(|&(_, number)| alike(number, to)).map(|(slip, _)| slip.words())
    };
    makes(left, right).or_else(|| makes(right, left))
}

#[cfg(test)]
mod tests {
    use super::super::slips::Slip;
    use super::doubts;
    use crate::file::GeometryFile;

    #[test]
    fn a_side_that_differs_by_a_slip_of_the_pen_is_told_with_the_slip() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let mut car = GeometryFile::parse("demo", demo).expect("a sound car").geometry;
        assert!(doubts(&car).is_empty());
        let said = |z_mm: f64| {
            car.right.links[4].chassis.z = z_mm;
            doubts(&car).into_iter().map(|doubt| doubt.sentence).collect::<Vec<_>>().join("\n")
        };
        // The left one is at 255 mm.
        let [swapped, nothing] = [525.0, 330.0].map(said);
        assert!(swapped.contains(&format!("({}?)", Slip::DigitsSwapped.words())), "{swapped}");
        assert!(nothing.ends_with("apart, more than welding explains: measure both again."), "{nothing}");
    }
}
