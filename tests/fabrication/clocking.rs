//! Rod ends locked against each other, turned as solid bodies.

use hubtrace::geometry::{End, Geometry, Side};
use hubtrace::measures::rod_ends;
use hubtrace::studies::Rig;
use hubtrace::studies::fabrication::{BoltFrom, FabricationFindings, LinkClock};
use nalgebra::{Rotation3, Unit, Vector3};

use crate::{car, demo};

/// Bolts of all sorts, so that the two ends of a link stand at an angle, and rod ends that lean little.
fn twisted_car(limit_deg: f64) -> Geometry {
    let mut car = car(&demo());
    for side in Side::BOTH {
        for (index, link) in car.corner_mut(side).links.iter_mut().enumerate() {
            let turn = 0.15 * (index as f64 + 1.0);
            let along = Unit::new_normalize(link.upright - link.chassis);
            let square = |way: Vector3<f64>| Unit::new_normalize(way - along.into_inner() * along.dot(&way));
            link.chassis_bolt = Some(square(Vector3::new(1.0, 0.3, turn)));
            link.upright_bolt = Some(square(Vector3::new(turn, 0.2, 1.0)));
            link.rod_end_limit_deg = Some(limit_deg);
        }
    }
    car
}

fn found(car: &Geometry) -> FabricationFindings<'_> {
    FabricationFindings::of(Rig::new(car).expect("a rig"), &Side::BOTH)
}

/// How far the worse of two rod ends leans, deg, at the best turn of the link about itself, with the bore of the far end locked
/// `clock_deg` clockwise of that of the near end: both bores are turned as vectors, and each is compared with its bolt.
fn leans_deg(along: &Vector3<f64>, bolts: [Vector3<f64>; 2], clock_deg: f64) -> f64 {
    let axis = Unit::new_normalize(*along);
    let square = Unit::new_normalize(bolts[0] - along * along.dot(&bolts[0]));
    let worse = |turn_deg: f64| {
        let bore = |deg: f64| Rotation3::from_axis_angle(&axis, f64::to_radians(deg)) * square.into_inner();
        let lean =
            |bore: Vector3<f64>, bolt: &Vector3<f64>| bore.cross(bolt).norm().atan2(bore.dot(bolt).abs()).to_degrees();
        lean(bore(turn_deg), &bolts[0]).max(lean(bore(turn_deg + clock_deg), &bolts[1]))
    };
    // The worse of two leans that each grow with the twist has one least place near the bolts.
    let (mut low, mut high) = (-45.0, 45.0);
    for _ in 0..120 {
        let (a, b) = (low + 0.382 * (high - low), low + 0.618 * (high - low));
        if worse(a) < worse(b) { high = b } else { low = a }
    }
    worse(0.5 * (low + high))
}

/// The worst lean of a link over the travel of its wheel, locked at this angle.
fn worst_lean_deg(car: &Geometry, side: Side, index: usize, clock_deg: f64) -> f64 {
    let rig = Rig::new(car).expect("a rig");
    let wheel = rig.wheel(side);
    let link = &car.corner(side).links[index];
    let in_car = |v: Vector3<f64>| side.to_car(v.into()).coords;
    // The travel is followed in the same steps as the study, so that both see the same places.
    let bumps = std::iter::once(0.0).chain((0..41).map(|k| -60.0 + 3.0 * f64::from(k)));
    let lean = |bump_mm: f64| {
        let posture = wheel.path.at(bump_mm).expect("it moves");
        let along = in_car((posture.point(&link.upright) - link.chassis).normalize());
        let bolts = [link.chassis_bolt.unwrap().into_inner(), posture.direction(&link.upright_bolt.unwrap())];
        leans_deg(&along, bolts.map(in_car), clock_deg)
    };
    bumps.map(lean).fold(0.0, f64::max)
}

#[test]
fn a_link_may_be_clocked_off_by_just_what_is_permitted() {
    let limit_deg = 20.0;
    let car = twisted_car(limit_deg);
    let found = found(&car);
    for (k, link) in found.shop.clocking.iter().enumerate() {
        let (best_deg, permitted_deg) = (link.best_deg.expect("a bolt"), link.permitted_deg.expect("a limit"));
        assert!(permitted_deg > 1.0 && best_deg.abs() > 5.0, "{link:?}");
        let worst = |off_deg: f64| worst_lean_deg(&car, link.side, k % 5, best_deg + off_deg);
        for off_deg in [0.0, 0.99 * permitted_deg, -0.99 * permitted_deg] {
            assert!(worst(off_deg) <= limit_deg + 1e-6, "{link:?} {off_deg}: {}", worst(off_deg));
        }
        for off_deg in [1.01 * permitted_deg, -1.01 * permitted_deg] {
            assert!(worst(off_deg) > limit_deg, "{link:?} {off_deg}: {}", worst(off_deg));
        }
    }
}

#[test]
fn the_right_side_of_a_mirrored_car_is_clocked_the_other_way() {
    let car = twisted_car(9.0);
    let found = found(&car);
    let (left, right) = found.shop.clocking.split_at(5);
    for (left, right) in left.iter().zip(right) {
        let sum = left.best_deg.expect("a bolt") + right.best_deg.expect("a bolt");
        assert!(sum.abs() < 1e-9 && right.link == format!("right {}", left.link), "{left:?} {right:?}");
    }
}

#[test]
fn rod_ends_beyond_their_limit_permit_nothing_and_a_bolt_along_its_link_has_no_clock() {
    let tight = twisted_car(0.05);
    let any = |link: &LinkClock| link.permitted_deg.is_some_and(|deg| deg >= 0.0);
    assert!(!found(&tight).shop.clocking.iter().any(any));
    let mut along = twisted_car(9.0);
    let link = &mut along.left.links[4];
    link.chassis_bolt = Some(Unit::new_normalize(link.upright - link.chassis));
    // The link swings, so its bolt lies along it at design alone; that place has no angle.
    let found = found(&along);
    assert_eq!((found.shop.clocking[4].best_deg, found.shop.clocking[4].permitted_deg), (None, None));
    assert!(found.shop.brackets[8].misalignment_deg.expect("a bolt") > 89.9);
}

/// The lean of a bracket is that of the sweep, and without a bolt in the file it has the best one.
#[test]
fn a_bracket_leans_as_the_sweep_says() {
    let mut car = twisted_car(9.0);
    car.left.links[2].upright_bolt = None;
    let found = found(&car);
    let rig = Rig::new(&car).expect("a rig");
    for side in Side::BOTH {
        let wheel = rig.wheel(side);
        for (link, end) in (0..5).flat_map(|link| End::BOTH.map(|end| (link, end))) {
            let bracket =
                found.shop.brackets.iter().find(|of| of.side == side && of.pickup.link == link && of.pickup.end == end);
            let bracket = bracket.expect("a bracket");
            if (side, link, end) == (Side::Left, 2, End::Upright) {
                assert_eq!(bracket.bolt_from, Some(BoltFrom::Best));
                let [told_deg, best_deg] =
                    [bracket.misalignment_deg, bracket.best_leaves_deg].map(|deg| deg.expect("it moves"));
                assert!((told_deg - best_deg).abs() < 1e-9, "{bracket:?}");
                continue;
            }
            let lean = |bump_mm: i32| {
                let posture = wheel.path.at(f64::from(bump_mm)).expect("it moves");
                let now = rod_ends(wheel.corner, &posture)[link];
                if end == End::Chassis { now.chassis_deg } else { now.upright_deg }
            };
            let worst_deg = (-60..=60).filter_map(lean).fold(0.0, f64::max);
            let told_deg = bracket.misalignment_deg.expect("a bolt");
            assert!((told_deg - worst_deg).abs() < 0.01, "{bracket:?} {worst_deg}");
            assert!((bracket.margin_deg.expect("a limit") - (9.0 - told_deg)).abs() < 1e-12);
            assert!(bracket.best_leaves_deg.expect("it moves") <= told_deg + 1e-9);
        }
    }
}
