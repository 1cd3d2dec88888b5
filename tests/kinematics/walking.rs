//! Where a path ends, on mechanisms with an answer on paper; and stations that lie awkwardly.

use crate::cars::{CARS, read};
use crate::support::{Pickups, corner};
use hubtrace::geometry::{Corner, Side};
use hubtrace::mechanism::{Linkage, WheelPath};
use hubtrace::studies::stations;

/// Five links whose projections on the plane x = const are equal vectors, `length_mm` long and `rise_mm` short of upright:
/// the wheel moves on a circle, whose top is `rise_mm` above design.
fn translating(length_mm: f64, rise_mm: f64) -> Corner {
    let up = length_mm - rise_mm;
    let out = (length_mm * length_mm - up * up).sqrt();
    let upright = [
        [60.0, 690.0, 160.0],
        [-60.0, 680.0, 170.0],
        [30.0, 650.0, 450.0],
        [-40.0, 655.0, 440.0],
        [-130.0, 690.0, 250.0],
    ];
    let along = [0.3, -0.35, 0.2, -0.4, 0.15];
    let pickups: Pickups = std::array::from_fn(|i| {
        let [x, y, z]: [f64; 3] = upright[i];
        ([x + along[i] * length_mm, y - out, z - up], [x, y, z])
    });
    corner(pickups, [0.0, 750.0, 310.0], 310.0)
}

#[test]
fn a_circle_ends_at_its_top_whatever_the_length_of_the_links() {
    for length_mm in [50.0, 300.0, 3e3, 3e4, 1e5] {
        let linkage = Linkage::new(&translating(length_mm, 40.0));
        for step_mm in [0.5, 7.0, 60.0] {
            let path = WheelPath::follow(&linkage, &stations(-1.0, 60.0, step_mm)).expect("a sound design");
            let at_mm = path.binds_in_bump.expect("the top of the circle").at_bump_mm;
            assert!((at_mm - 40.0).abs() < 1e-3, "links of {length_mm} mm, step {step_mm} mm: {at_mm} mm");
            assert!(path.binds_in_droop.is_none());
        }
    }
}

#[test]
fn a_step_that_is_a_hair_longer_than_whole_steps_of_the_walk_binds_nothing() {
    for file in CARS {
        let geometry = read(file);
        for side in Side::BOTH {
            let linkage = Linkage::new(geometry.corner(side));
            for step_mm in [10.0, 20.0, 30.0, 50.0] {
                for hair in [1e-8, 3e-9, 1e-9, 1e-10, 1e-12, f64::EPSILON] {
                    let shown_mm = stations(-20.0, 20.0, step_mm * (1.0 + hair));
                    let path = WheelPath::follow(&linkage, &shown_mm).expect("a sound design");
                    assert!(path.binds_in_bump.is_none() && path.binds_in_droop.is_none(), "{file}, {step_mm} mm");
                    assert!(shown_mm.iter().all(|&bump_mm| path.at(bump_mm).is_some()), "{file}, {step_mm} mm");
                }
            }
        }
    }
}

#[test]
fn stations_a_hair_apart_are_one_posture_and_each_can_be_asked_for() {
    let geometry = read(CARS[0]);
    let linkage = Linkage::new(geometry.corner(Side::Left));
    let shown_mm = [1e-12, 10.0, 10.0 + 2e-15, 10.0 + 1e-9, 20.0 + 3e-8, 30.0, 30.0 + 5e-7];
    let path = WheelPath::follow(&linkage, &shown_mm).expect("a sound design");
    assert!(path.binds_in_bump.is_none());
    assert!(path.postures().windows(2).all(|two| two[1].bump_mm - two[0].bump_mm > 1e-6));
    for bump_mm in shown_mm {
        assert_eq!(path.at(bump_mm).map(|posture| posture.bump_mm), Some(bump_mm));
    }
}

/// An absurd corner whose upright makes more than half a turn before it binds.
const TURNING: Pickups = [
    ([43.0, 154.0, 171.0], [89.0, 661.0, 206.0]),
    ([-243.0, 332.0, 70.0], [-156.0, 844.0, 86.0]),
    ([-58.0, 526.0, 549.0], [12.0, 817.0, 296.0]),
    ([11.0, 402.0, 414.0], [-82.0, 579.0, 282.0]),
    ([-64.0, 422.0, 150.0], [-21.0, 745.0, 260.0]),
];

/// Expected values from `tests/outside/turned_upright.py`: 207.3 deg at the upper bind.
#[test]
fn an_upright_turned_by_more_than_half_a_turn_goes_on_to_its_bind() {
    let linkage = Linkage::new(&corner(TURNING, [0.0, 760.0, 300.0], 300.0));
    for step_mm in [1.0, 7.0, 60.0] {
        let path = WheelPath::follow(&linkage, &stations(-60.0, 60.0, step_mm)).expect("a sound design");
        let at_mm = [path.binds_in_droop, path.binds_in_bump].map(|bind| bind.expect("a turning point").at_bump_mm);
        for (at_mm, expected_mm) in at_mm.into_iter().zip([-7.041_598, 52.446_771]) {
            assert!((at_mm - expected_mm).abs() < 1e-5, "step {step_mm} mm: {at_mm} mm");
        }
    }
}
