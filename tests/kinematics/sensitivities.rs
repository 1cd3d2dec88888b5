//! Exact derivatives against central differences of solved cars.

use hubtrace::geometry::{Car, Coordinate, Corner, End, Halfshaft, Spring, SpringMake, SpringMount};
use hubtrace::measures::{Gradient, Measure, gradient};
use hubtrace::mechanism::{
    LinkSetting, Linkage, NEARLY_SINGULAR, PickupErrors, PostureSensitivity, WheelPath, margin_at_design,
};
use nalgebra::{Point3, Unit, Vector3};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use crate::support::{SPATIAL, corner};

const CAR: Car = Car {
    wheelbase_mm: Some(2450.0),
    cg_height_mm: Some(380.0),
    rear_drive_share: Some(1.0),
    rear_brake_share: Some(0.4),
    mass_kg: None,
    rear_mass_share: None,
    brake_torque_to: None,
    drive_torque_to: None,
};

/// A corner with everything that can be measured on it; on odd seeds the spring stands on a link.
fn random_corner(seed: u64, random: &mut StdRng) -> Corner {
    let near = |p: [f64; 3], random: &mut StdRng| p.map(|x| x + random.random_range(-60.0..60.0));
    let pickups = SPATIAL.map(|(c, u)| (near(c, random), near(u, random)));
    let mut corner = corner(pickups, [0.0, 760.0, 300.0], 300.0);
    let lean = Vector3::new(random.random_range(-0.05..0.05), 1.0, random.random_range(-0.05..0.05));
    corner.wheel.spin_axis = Unit::new_normalize(lean);
    corner.halfshaft = Some(Halfshaft {
        axis: Unit::new_normalize(Vector3::new(0.02, 1.0, -0.01)),
        ..Halfshaft::new(Point3::from(near([0.0, 205.0, 312.0], random)), Point3::new(0.0, 655.0, 302.0))
    });
    let on = if seed.is_multiple_of(2) { SpringMount::Upright } else { SpringMount::Link { index: 1, share: 0.7 } };
    let link = &corner.links[1];
    let mount = match on {
        SpringMount::Upright => Point3::new(-40.0, 610.0, 260.0),
        SpringMount::Link { share, .. } => link.chassis + (link.upright - link.chassis) * share,
    };
    corner.spring = Some(Spring { chassis: Point3::new(-60.0, 480.0, 640.0), mount, on, make: SpringMake::default() });
    corner
}

/// Every measure at one bump travel, of a linkage that may be longer than its corner's points say.
fn values(corner: &Corner, linkage: &Linkage, bump_mm: f64) -> Vec<Option<f64>> {
    let path = WheelPath::follow(linkage, &[bump_mm]).expect("a sound design");
    let posture = path.at(bump_mm).expect("a reachable bump");
    Measure::differentiable().map(|measure| measure.at(corner, &CAR, &posture)).collect()
}

/// A way to change a car by a little, and what the gradient says of it.
type Change = (fn(&mut Corner, usize, f64), fn(&Gradient, usize) -> f64, usize);

/// Every coordinate that a gradient speaks of. A mount on a link goes along with the link's points.
const CHANGES: [Change; 6] = [
    (
        |corner, k, by| {
            corner.links[k / 3].chassis[k % 3] += by;
            carry_spring(corner, k / 3);
        },
        |g, k| g.links.chassis[k / 3][k % 3],
        15,
    ),
    (
        |corner, k, by| {
            corner.links[k / 3].upright[k % 3] += by;
            carry_spring(corner, k / 3);
        },
        |g, k| g.links.upright[k / 3][k % 3],
        15,
    ),
    (|corner, k, by| shaft(corner).inner[k] += by, |g, k| g.halfshaft_inner[k], 3),
    (|corner, k, by| shaft(corner).outer[k] += by, |g, k| g.halfshaft_outer[k], 3),
    (|corner, k, by| spring(corner).chassis[k] += by, |g, k| g.spring_chassis[k], 3),
    (|corner, _, by| corner.wheel.tyre_radius_mm += by, |g, _| g.tyre_radius, 1),
];

fn carry_spring(corner: &mut Corner, link: usize) {
    let moved = corner.links[link].clone();
    if let Some(spring) = corner.spring.as_mut()
        && let SpringMount::Link { index, share } = spring.on
        && index == link
    {
        spring.mount = moved.chassis + (moved.upright - moved.chassis) * share;
    }
}

fn shaft(corner: &mut Corner) -> &mut Halfshaft {
    corner.halfshaft.as_mut().expect("a halfshaft")
}

fn spring(corner: &mut Corner) -> &mut Spring {
    corner.spring.as_mut().expect("a spring")
}

/// Fourth-order central difference of every measure.
fn differences(values_at: impl Fn(f64) -> Vec<Option<f64>>) -> Vec<Option<f64>> {
    let h = 0.004;
    let (near, far) = ([values_at(-h), values_at(h)], [values_at(-2.0 * h), values_at(2.0 * h)]);
    let difference = |pair: &[Vec<Option<f64>>; 2], i: usize| Some(pair[1][i]? - pair[0][i]?);
    (0..near[0].len()).map(|i| Some((8.0 * difference(&near, i)? - difference(&far, i)?) / (12.0 * h))).collect()
}

#[test]
fn exact_derivatives_agree_with_central_differences_on_a_thousand_corners() {
    let mut tried = 0;
    for seed in 0..1000 {
        let mut random = StdRng::seed_from_u64(seed);
        let corner = random_corner(seed, &mut random);
        let bump_mm = random.random_range(-40.0..40.0);
        let linkage = Linkage::new(&corner);
        // Differences need room: a corner about to bind changes faster than they can follow.
        if margin_at_design(&linkage) < 100.0 * NEARLY_SINGULAR {
            continue;
        }
        let path = WheelPath::follow(&linkage, &[1.5 * bump_mm]).expect("a sound design");
        let (Some(posture), None, None) = (path.at(bump_mm), path.binds_in_bump, path.binds_in_droop) else {
            continue;
        };
        tried += 1;
        let sensitivity = PostureSensitivity::new(&linkage, &posture).expect("a regular posture");
        let exact: Vec<Gradient> = Measure::differentiable()
            .map(|m| gradient(m, &corner, &CAR, &posture, &sensitivity).expect("every datum"))
            .collect();
        let mut pairs: Vec<Vec<(f64, f64)>> = vec![Vec::new(); exact.len()];
        for (change, read, count) in CHANGES {
            for k in 0..count {
                let found = differences(|by| {
                    let mut moved = corner.clone();
                    change(&mut moved, k, by);
                    values(&moved, &Linkage::new(&moved), bump_mm)
                });
                for (i, difference) in found.iter().enumerate() {
                    pairs[i].push((read(&exact[i], k), difference.expect("every datum")));
                }
            }
        }
        for k in 0..5 {
            let found = differences(|by| values(&corner, &linkage.lengthened(k, by), bump_mm));
            for (i, difference) in found.iter().enumerate() {
                pairs[i].push((exact[i].links.length[k], difference.expect("every datum")));
            }
        }
        for (measured, pairs) in Measure::differentiable().zip(&pairs) {
            let largest = pairs.iter().map(|(exact, _)| exact.abs()).fold(0.0, f64::max);
            for (k, (exact, difference)) in pairs.iter().enumerate() {
                assert!(
                    (exact - difference).abs() <= 1e-6 * largest,
                    "corner {seed}, {measured:?}, change {k}: {exact} against {difference}, largest {largest}"
                );
            }
        }
    }
    assert!(tried > 500, "only {tried} corners were fit for differences");
}

#[test]
fn a_straight_joint_has_no_derivative_of_its_angle() {
    let mut corner = random_corner(0, &mut StdRng::seed_from_u64(0));
    let shaft = corner.halfshaft.as_mut().expect("a halfshaft");
    shaft.axis = Unit::new_normalize(shaft.outer - shaft.inner);
    let linkage = Linkage::new(&corner);
    let design = linkage.design().expect("a sound design");
    let sensitivity = PostureSensitivity::new(&linkage, &design).expect("a regular posture");
    assert_eq!(gradient(Measure::InnerJointAngle, &corner, &CAR, &design, &sensitivity), None);
    assert!(gradient(Measure::OuterJointAngle, &corner, &CAR, &design, &sensitivity).is_some());
}

/// A shim moves a pickup and leaves its link as long as it was; the car is built off its drawing, shimmed and turned before.
#[test]
fn a_shim_has_the_derivatives_of_the_shimmed_car() {
    let mut random = StdRng::seed_from_u64(11);
    let corner = random_corner(0, &mut random);
    let mut errors = || PickupErrors {
        chassis: std::array::from_fn(|_| Vector3::from_fn(|_, _| random.random_range(-2.0..2.0))),
        upright: std::array::from_fn(|_| Vector3::from_fn(|_, _| random.random_range(-2.0..2.0))),
    };
    let built = Linkage::new(&corner).built(&errors(), LinkSetting::Adjusted).shimmed(&errors()).lengthened(3, 0.6);
    let toe_and_camber = |linkage: &Linkage| {
        let posture = WheelPath::follow(linkage, &[30.0]).expect("a sound design").at(30.0).expect("a reachable bump");
        [Measure::Toe, Measure::Camber].map(|measure| measure.at(&corner, &CAR, &posture)).to_vec()
    };
    let posture = WheelPath::follow(&built, &[30.0]).expect("a sound design").at(30.0).expect("a reachable bump");
    let sensitivity = PostureSensitivity::new(&built, &posture).expect("a regular posture");
    for (i, measure) in [Measure::Toe, Measure::Camber].into_iter().enumerate() {
        let exact = gradient(measure, &corner, &CAR, &posture, &sensitivity).expect("every datum").links;
        for coordinate in Coordinate::all() {
            let (link, axis) = (coordinate.link, coordinate.axis.index());
            let found = differences(|by_mm| {
                let mut by = PickupErrors::default();
                match coordinate.end {
                    End::Chassis => by.chassis[link][axis] = by_mm,
                    End::Upright => by.upright[link][axis] = by_mm,
                }
                toe_and_camber(&built.shimmed(&by))
            });
            let (exact, found) = (exact.by_shim(&built, coordinate.pickup())[axis], found[i].expect("every datum"));
            assert!((exact - found).abs() < 1e-8, "{measure:?} by {coordinate:?}: {exact} against {found}");
        }
    }
}
