//! Ten thousand seeded corners, most of them nothing anyone would build: each posture is solved on the right branch or
//! the corner is reported as binding.

use crate::support::{Pickups, SPATIAL, car, corner};
use hubtrace::geometry::Side;
use hubtrace::mechanism::{Bind, Linkage, MAX_CLOSURE_ERROR_MM, NEARLY_SINGULAR, Posture, WheelPath, margin_at_design};
use hubtrace::studies::{Heave, Rig, Roll, stations};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

const CORNERS: u64 = 10_000;

/// Pickups anywhere in boxes that grow with the number of the corner: from plausible to absurd.
fn random_pickups(seed: u64) -> Pickups {
    let mut random = StdRng::seed_from_u64(seed);
    let wild = 20.0 + 180.0 * (seed % 10) as f64 / 9.0;
    SPATIAL.map(|(chassis, upright)| {
        let near = |p: [f64; 3], random: &mut StdRng| p.map(|x| x + random.random_range(-wild..wild));
        (near(chassis, &mut random), near(upright, &mut random))
    })
}

fn binds_agree(coarse: Option<Bind>, fine: Option<Bind>) -> bool {
    match (coarse, fine) {
        (None, None) => true,
        (Some(a), Some(b)) => (a.at_bump_mm - b.at_bump_mm).abs() < 0.1,
        _ => false,
    }
}

fn apart_mm(a: &Posture, b: &Posture) -> f64 {
    (a.displacement - b.displacement).norm() + 100.0 * (a.rotation - b.rotation).norm()
}

#[test]
fn every_posture_of_ten_thousand_corners_is_solved_on_its_branch_or_reported_as_binding() {
    let (mut followed, mut bound) = (0, 0);
    for seed in 0..CORNERS {
        let linkage = Linkage::new(&corner(random_pickups(seed), [0.0, 760.0, 300.0], 300.0));
        if margin_at_design(&linkage) < NEARLY_SINGULAR {
            continue;
        }
        let coarse = WheelPath::follow(&linkage, &stations(-60.0, 60.0, 5.0)).expect("a sound design");
        let fine = WheelPath::follow(&linkage, &stations(-60.0, 60.0, 0.5)).expect("a sound design");
        assert!(binds_agree(coarse.binds_in_bump, fine.binds_in_bump), "corner {seed}: bump");
        assert!(binds_agree(coarse.binds_in_droop, fine.binds_in_droop), "corner {seed}: droop");
        for posture in coarse.postures() {
            assert!(posture.closure_error_mm <= MAX_CLOSURE_ERROR_MM, "corner {seed} at {} mm", posture.bump_mm);
            let Some(again) = fine.at(posture.bump_mm) else {
                // Only the last tenth of a millimetre before a bind may be reached by one of the two alone.
                let (low, high) = fine.reach_mm();
                assert!(posture.bump_mm < low + 0.1 || posture.bump_mm > high - 0.1, "corner {seed}");
                continue;
            };
            assert!(apart_mm(posture, &again) < 1e-6, "corner {seed} at {} mm: two branches", posture.bump_mm);
        }
        followed += 1;
        bound += usize::from(coarse.binds_in_bump.is_some() || coarse.binds_in_droop.is_some());
    }
    // As docs/validation.md says: sound at design, and binding on the way.
    assert_eq!((followed, bound), (9982, 4282));
}

#[test]
fn heave_and_roll_of_random_corners_hold_every_equation_and_no_number_is_undefined() {
    for seed in 0..CORNERS {
        let geometry = car(corner(random_pickups(seed), [0.0, 760.0, 300.0], 300.0), 40.0, 40.0);
        if margin_at_design(&Linkage::new(&geometry.left)) < NEARLY_SINGULAR {
            continue;
        }
        let rig = Rig::new(&geometry).expect("a sound design");
        let (heave, roll) = (Heave::run(&rig), Roll::run(&rig));
        for row in heave.rows.iter().chain(roll.rows.iter()) {
            let at = format!("corner {seed}, {} mm, {}°", row.bump_mm, row.body_roll_deg);
            assert!(row.closure_error_mm <= MAX_CLOSURE_ERROR_MM, "{at}: {}", row.closure_error_mm);
            assert!(row.wheel.toe_deg.is_finite() && row.wheel.camber_deg.is_finite(), "{at}");
            assert!(row.wheel.bump_steer_gradient_deg_per_mm.is_finite(), "{at}");
            assert!(row.road.contact.iter().all(|x| x.is_finite()), "{at}");
            assert!(row.roll_centre_height_mm.is_none_or(f64::is_finite), "{at}");
        }
        let both_ways = |side| heave.rows.of(side).count();
        assert_eq!(both_ways(Side::Left), both_ways(Side::Right), "corner {seed}");
    }
}
