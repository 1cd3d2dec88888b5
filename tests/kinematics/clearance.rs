//! Gaps between parts: against scipy's minimisation of the same bodies, and their derivatives against differences.

use hubtrace::geometry::{
    ChassisPlace, Clearance, Corner, Geometry, Interval, Link, Quantity, Side, SpringMount, Tube, TubeAdjustment,
};
use hubtrace::measures::{Bodies, Derivatives, Gradient, Pair};
use hubtrace::mechanism::{Linkage, Posture, PostureSensitivity, WheelPath};
use hubtrace::studies::{JudgedCar, PairClearance, Rig, State};
use nalgebra::{Point3, Vector3};

use crate::cars::read;
use crate::support::{PLANAR, SPATIAL, car, corner};

/// mm: what the search for the least gap promises, with scipy's own error.
const AT_WITHIN_MM: f64 = 0.01;
const GAP_WITHIN_MM: f64 = 1e-5;

fn truth_car() -> Geometry {
    read("tests/outside/clearance/car.toml")
}

fn judged(geometry: &Geometry) -> JudgedCar<'_> {
    JudgedCar::of(Rig::new(geometry).expect("a sound design"))
}

/// The pairs of the left side by name.
fn names(geometry: &Geometry) -> Vec<String> {
    let bodies = Bodies::of(geometry, Side::Left);
    bodies.pairs().map(|pair| bodies.name(pair)).collect()
}

#[test]
fn least_gaps_are_those_that_scipy_finds() {
    let geometry = truth_car();
    let car = judged(&geometry);
    let mut reader = csv::Reader::from_path("tests/outside/clearance/clearance.csv").expect("the table is there");
    let mut compared = [0, 0, 0];
    for record in reader.records().map(|record| record.expect("the table is sound")) {
        let side = if &record[0] == "left" { Side::Left } else { Side::Right };
        let number = |column: usize| record[column].parse::<f64>().ok();
        let pairs = &car.clearance[side].pairs;
        let ours = pairs.iter().find(|pair| pair.pair == record[1]).unwrap_or_else(|| panic!("no pair {record:?}"));
        let expected_mm = number(2).expect("a gap");
        // Where lines cross, or a line enters the ring, scipy knows only that they meet.
        if expected_mm > 0.0 {
            let off_mm = (ours.least_mm - expected_mm).abs();
            assert!(off_mm < GAP_WITHIN_MM, "{side:?} {}: {} mm, expected {expected_mm}", ours.pair, ours.least_mm);
            if let Some(at_mm) = number(3) {
                assert!((ours.at_bump_mm - at_mm).abs() < AT_WITHIN_MM, "{side:?} {ours:?}, expected at {at_mm}");
                compared[1] += 1;
                let is_inside = -geometry.travel.droop_mm < at_mm && at_mm < geometry.travel.bump_mm;
                compared[2] += usize::from(is_inside);
            }
        } else {
            assert!(ours.least_mm < 0.0, "{side:?} {}: {} mm, expected an overlap", ours.pair, ours.least_mm);
        }
        compared[0] += 1;
    }
    let ours: usize = Side::BOTH.iter().map(|&side| car.clearance[side].pairs.len()).sum();
    assert_eq!(compared[0], ours, "every pair of the car has a line in the table");
    assert!(compared[1] > 40 && compared[2] > 5, "{compared:?} pairs, places, places between the stops");
}

/// A corner moved by a small step of one of its numbers, and what a gradient says of that number.
type Number = (fn(&mut Corner, usize, f64), fn(&Gradient, usize) -> f64, usize);
const NUMBERS: [Number; 6] = [
    (|c, k, by| c.links[k / 3].chassis[k % 3] += by, |g, k| g.links.chassis[k / 3][k % 3], 15),
    (|c, k, by| c.links[k / 3].upright[k % 3] += by, |g, k| g.links.upright[k / 3][k % 3], 15),
    (|c, k, by| c.halfshaft.iter_mut().for_each(|s| s.inner[k] += by), |g, k| g.halfshaft_inner[k], 3),
    (|c, k, by| c.halfshaft.iter_mut().for_each(|s| s.outer[k] += by), |g, k| g.halfshaft_outer[k], 3),
    (|c, k, by| c.spring.iter_mut().for_each(|s| s.chassis[k] += by), |g, k| g.spring_chassis[k], 3),
    (|c, k, by| c.spring.iter_mut().for_each(|s| s.mount[k] += by), |g, k| g.spring_mount[k], 3),
];

fn posture(linkage: &Linkage, bump_mm: f64) -> Posture {
    WheelPath::follow(linkage, &[bump_mm]).expect("a sound design").at(bump_mm).expect("a reachable bump")
}

fn gap_mm(bodies: &Bodies, pair: Pair, corner: &Corner, linkage: &Linkage, bump_mm: f64) -> f64 {
    bodies.gap_mm(pair, corner, &posture(linkage, bump_mm)).expect("a gap")
}

/// Every derivative of every gap against a central difference of solved cars.
fn derivatives_agree(geometry: &Geometry, bump_mm: f64) -> usize {
    const STEP_MM: f64 = 1e-4;
    let (drawn, bodies) = (&geometry.left, Bodies::of(geometry, Side::Left));
    let linkage = Linkage::new(drawn);
    let here = posture(&linkage, bump_mm);
    let sensitivity = PostureSensitivity::new(&linkage, &here).expect("a regular posture");
    let at = Derivatives::at(drawn, &geometry.car, &here, &sensitivity);
    let mut compared = 0;
    for pair in bodies.pairs() {
        let gradient = bodies.gradient(pair, drawn, &here, &at).expect("a derivative");
        let mut agrees = |difference: f64, exact: f64, what: &str| {
            let name = bodies.name(pair);
            assert!((difference - exact).abs() < 2e-6, "{name} at {bump_mm}: {what} {difference}, {exact}");
            compared += usize::from(exact.abs() > 1e-3);
        };
        for (number, (change, read, count)) in NUMBERS.iter().enumerate() {
            for k in 0..*count {
                let value = |by: f64| {
                    let mut moved = drawn.clone();
                    change(&mut moved, k, by);
                    moved.carry_spring();
                    gap_mm(&bodies, pair, &moved, &Linkage::new(&moved), bump_mm)
                };
                let difference = (value(STEP_MM) - value(-STEP_MM)) / (2.0 * STEP_MM);
                agrees(difference, read(&gradient, k), &format!("number {number}, {k}"));
            }
        }
        for link in 0..5 {
            let value = |by: f64| gap_mm(&bodies, pair, drawn, &linkage.lengthened(link, by), bump_mm);
            let difference = (value(STEP_MM) - value(-STEP_MM)) / (2.0 * STEP_MM);
            agrees(difference, gradient.links.length[link], &format!("length {link}"));
        }
    }
    compared
}

#[test]
fn derivatives_of_every_gap_are_those_of_moved_cars() {
    let compared: usize = [-41.0, 0.0, 33.0].iter().map(|&bump_mm| derivatives_agree(&truth_car(), bump_mm)).sum();
    assert!(compared > 1000, "{compared} derivatives that are not zero");
}

#[test]
fn a_spring_on_a_link_takes_its_gaps_from_the_ends_of_the_link() {
    let mut geometry = truth_car();
    let spring = geometry.left.spring.as_mut().expect("a spring");
    spring.on = SpringMount::Link { index: 2, share: 0.8 };
    geometry.left.carry_spring();
    assert!(derivatives_agree(&geometry, 27.0) > 200);
    assert!(!names(&geometry).contains(&"lower front / spring".to_owned()), "they share a joint");
}

#[test]
fn parts_that_share_a_joint_are_no_pair() {
    let mut geometry = car(corner(PLANAR, [0.0, 760.0, 300.0], 300.0), 40.0, 40.0);
    assert_eq!(names(&geometry).len(), 10);
    geometry.left.links[1].upright = geometry.left.links[0].upright + Vector3::new(1.0, 0.0, 0.0);
    geometry.left.links[4].chassis = geometry.left.links[1].chassis;
    let left = names(&geometry);
    assert_eq!(left.len(), 8);
    assert!(!left.contains(&"link 1 / link 2".into()) && !left.contains(&"link 2 / link 5".into()), "{left:?}");
    // A pickup that tuning is still to place meets no other yet.
    geometry.adjustments.left.links[4].place = ChassisPlace::Within([Interval::either_way(400.0); 3]);
    assert!(names(&geometry).contains(&"link 2 / link 5".into()));
}

/// A tube under an inner end: that link is bolted to it, and the others are not.
#[test]
fn a_tube_is_no_pair_with_the_link_that_is_bolted_to_it() {
    let mut geometry = car(corner(PLANAR, [0.0, 760.0, 300.0], 300.0), 40.0, 40.0);
    let end = geometry.left.links[2].chassis;
    let (from, to) = (end - Vector3::new(40.0, 30.0, 0.0), end + Vector3::new(40.0, -30.0, 0.0));
    geometry.tubes.push(Tube { name: "rail".into(), from, to, od_mm: None, wall_mm: None, material: None });
    assert_eq!(names(&geometry).len(), 10, "a tube without a diameter has no body");
    geometry.tubes[0].od_mm = Some(40.0);
    let left = names(&geometry);
    assert_eq!(left.len(), 14);
    assert!(!left.contains(&"link 3 / tube rail".into()) && left.contains(&"link 4 / tube rail".into()), "{left:?}");
    // 30 mm from centre to centre: with thin parts there is room between the two.
    geometry.tubes[0].od_mm = Some(20.0);
    geometry.clearance = Clearance { least_mm: Some(2.0), ..Clearance::default() };
    assert!(names(&geometry).contains(&"link 3 / tube rail".into()));
}

/// By `chassis_tube` a longer bracket is one too; and a spring stands on the tube that its eye is bolted to.
#[test]
fn a_tube_is_no_pair_with_what_the_file_or_a_short_bracket_bolts_to_it() {
    let mut geometry = car(corner(PLANAR, [0.0, 760.0, 300.0], 300.0), 40.0, 40.0);
    let rail = |centre: Point3<f64>| {
        let half = Vector3::new(40.0, 0.0, 0.0);
        let (from, to) = (centre - half, centre + half);
        Tube { name: "rail".into(), from, to, od_mm: Some(40.0), wall_mm: None, material: None }
    };
    geometry.tubes.push(rail(geometry.left.links[2].chassis - Vector3::z() * 60.0));
    let pair = "link 3 / tube rail".to_owned();
    assert!(names(&geometry).contains(&pair), "27 mm between them");
    let ride = TubeAdjustment { tube: 0, slide: None, stand_off: None, turn: None };
    geometry.adjustments.left.links[2].tube = Some(ride);
    assert!(!names(&geometry).contains(&pair));

    let mut geometry = truth_car();
    let eye = geometry.left.spring.as_ref().expect("a spring").chassis;
    let radius_mm = geometry.clearance.spring_radius_mm.expect("a spring with a body");
    let mut is_pair_at = |gap_mm: f64| {
        geometry.tubes = vec![rail(eye + Vector3::z() * (radius_mm + 20.0 + gap_mm))];
        names(&geometry).iter().any(|name| name == "spring / tube rail")
    };
    let least_mm = 6.0; // of the file
    assert_eq!([is_pair_at(least_mm - 0.1), is_pair_at(least_mm + 0.1)], [false, true]);
}

/// The same tube outboard of the inner end: no bracket holds a link that runs through its tube, though its end is as near.
#[test]
fn a_tube_is_a_pair_with_the_link_that_runs_through_it() {
    let mut geometry = car(corner(PLANAR, [0.0, 760.0, 300.0], 300.0), 40.0, 40.0);
    let link = &geometry.left.links[2];
    let (end, along) = (link.chassis, (link.upright - link.chassis).normalize());
    let pair = "link 3 / tube rail";
    let half = along.cross(&Vector3::z()).normalize() * 60.0;
    let mut with_rail_at = |mm: f64| {
        let centre = end + along * mm;
        let (from, to) = (centre - half, centre + half);
        geometry.tubes = vec![Tube { name: "rail".into(), from, to, od_mm: Some(40.0), wall_mm: None, material: None }];
        let car = judged(&geometry);
        car.clearance.left.pairs.iter().find(|of| of.pair == pair).map(|of| (of.at_design_mm, of.state))
    };
    assert_eq!([with_rail_at(0.0), with_rail_at(-30.0)], [None; 2]);
    let through = with_rail_at(30.0).expect("a pair");
    // Both middle lines in one place.
    assert!((through.0 + 20.0 + 12.7).abs() < 1e-9 && through.1 == State::Fail, "{through:?}");
}

/// Two links side by side: the gap is their distance less two radii, wherever the wheel stands.
#[test]
fn a_gap_is_between_surfaces() {
    let mut geometry = car(corner(PLANAR, [0.0, 760.0, 300.0], 300.0), 40.0, 40.0);
    geometry.left.links[3] = Link { chassis: Point3::new(90.0, 380.0, 430.0), ..geometry.left.links[3].clone() };
    geometry.left.links[3].upright = Point3::new(0.0, 650.0, 450.0);
    let direction = (geometry.left.links[2].upright - geometry.left.links[2].chassis).normalize();
    let apart_mm = 30.0 * (1.0 - direction.x * direction.x).sqrt();
    let car = judged(&geometry);
    let pair = car.clearance.left.pairs.iter().find(|pair| pair.pair == "link 3 / link 4").expect("a pair");
    assert!((pair.least_mm - (apart_mm - 25.4)).abs() < 1e-9, "{pair:?}");
    assert_eq!((pair.at_bump_mm, pair.state), (0.0, State::Fail));
}

fn clearance_state(car: &JudgedCar) -> State {
    let of_left = |v: &&hubtrace::studies::Verdict| v.quantity == Quantity::Clearance && v.side == Some(Side::Left);
    car.verdicts.iter().find(of_left).expect("a verdict").state
}

#[test]
fn the_verdict_is_that_of_the_nearest_pair() {
    let mut geometry = car(corner(SPATIAL, [0.0, 760.0, 300.0], 300.0), 40.0, 40.0);
    let least_mm = judged(&geometry).clearance.left.pairs[0].least_mm;
    assert_eq!(clearance_state(&judged(&geometry)), State::Pass);
    for (by_mm, state) in [(-0.001, State::Pass), (0.001, State::Fail)] {
        geometry.clearance.least_mm = Some(least_mm + by_mm);
        let car = judged(&geometry);
        assert_eq!(clearance_state(&car), state);
        let failing: Vec<&PairClearance> = car.clearance.left.failing().collect();
        assert_eq!(failing.len(), usize::from(state == State::Fail), "{failing:?}");
    }
}

#[test]
fn a_wheel_that_binds_passes_no_gap() {
    let mut geometry = read("tests/outside/near-fold.toml");
    geometry.travel.bump_mm = 80.0;
    let car = judged(&geometry);
    assert!(car.heave.binds_of(Side::Left).next().is_some());
    assert!(car.clearance.left.pairs.iter().all(|pair| pair.state != State::Pass));
}
