//! Seeded corners, most of them nothing anyone would build: each posture is solved on the right branch, and what is said to
//! bind does bind. `CORNERS` in the environment asks for more of them.

use std::env;

use crate::support::{Pickups, SPATIAL, car, corner};
use hubtrace::geometry::Side;
use hubtrace::mechanism::{
    Bind, Linkage, MAX_CLOSURE_ERROR_MM, NEARLY_SINGULAR, Posture, ROTATION_SCALE_MM, WheelPath, margin_at_design,
};
use hubtrace::studies::{Heave, Rig, Roll, stations};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

/// What is checked when nothing is asked for.
const USUAL: u64 = 10_000;
/// Nearer to a bind than this, mm, two postures of one branch can differ by more than [`SAME_MM`]: rounding is magnified there.
const NEXT_TO_BIND_MM: f64 = 1e-4;
/// Postures this near each other are on one branch, mm (rotations times 100 mm).
const SAME_MM: f64 = 1e-6;

fn corners() -> u64 {
    env::var("CORNERS").map_or(USUAL, |number| number.parse().expect("CORNERS is a whole number"))
}

/// Pickups anywhere in boxes that grow with the number of the corner: from plausible to absurd.
fn random_pickups(seed: u64) -> Pickups {
    let mut random = StdRng::seed_from_u64(seed);
    let wild = 20.0 + 180.0 * (seed % 10) as f64 / 9.0;
    SPATIAL.map(|(chassis, upright)| {
        let near = |p: [f64; 3], random: &mut StdRng| p.map(|x| x + random.random_range(-wild..wild));
        (near(chassis, &mut random), near(upright, &mut random))
    })
}

/// The same links up to a hundred times as long in every fourth corner: their chassis ends stand further out.
fn random_corner(seed: u64) -> Linkage {
    let mut random = StdRng::seed_from_u64(!seed);
    let times = if seed % 4 == 3 { 10.0_f64.powf(random.random_range(0.0..2.0)) } else { 1.0 };
    let pickups = random_pickups(seed).map(|(chassis, upright)| {
        let longer = std::array::from_fn(|axis| upright[axis] + times * (chassis[axis] - upright[axis]));
        (longer, upright)
    });
    Linkage::new(&corner(pickups, [0.0, 760.0, 300.0], 300.0))
}

/// Any step from 0.5 mm to one way of the travel; every third is a hair longer or shorter than whole steps of the walk.
fn random_step_mm(seed: u64) -> f64 {
    let mut random = StdRng::seed_from_u64(seed.rotate_left(32));
    if seed % 3 == 1 {
        let hair = 10.0_f64.powf(random.random_range(-15.0..-6.0));
        return 10.0
            * f64::from(random.random_range(1..=6))
            * (1.0 + if random.random_bool(0.5) { hair } else { -hair });
    }
    0.5 * 120.0_f64.powf(random.random_range(0.0..1.0))
}

fn binds_agree(coarse: Option<Bind>, fine: Option<Bind>) -> bool {
    match (coarse, fine) {
        (None, None) => true,
        (Some(a), Some(b)) => (a.at_bump_mm - b.at_bump_mm).abs() < 0.1,
        _ => false,
    }
}

fn apart_mm(a: &Posture, b: &Posture) -> f64 {
    (a.displacement - b.displacement).norm() + ROTATION_SCALE_MM * (a.rotation - b.rotation).norm()
}

/// What is wrong with a corner that is followed through stations `step_mm` apart, by comparison with ten times finer ones.
fn fault(linkage: &Linkage, step_mm: f64) -> Option<String> {
    let coarse = WheelPath::follow(linkage, &stations(-60.0, 60.0, step_mm)).expect("a sound design");
    let fine = WheelPath::follow(linkage, &stations(-60.0, 60.0, 0.1 * step_mm)).expect("a sound design");
    let ends =
        [("bump", coarse.binds_in_bump, fine.binds_in_bump), ("droop", coarse.binds_in_droop, fine.binds_in_droop)];
    if let Some((way, coarse, fine)) = ends.into_iter().find(|(_, coarse, fine)| !binds_agree(*coarse, *fine)) {
        return Some(format!("{way}: {coarse:?} against {fine:?}"));
    }
    // At a true bind the links leave the upright a motion that stretches none of them.
    let postures = coarse.postures();
    for (bind, last) in [(coarse.binds_in_droop, postures.first()), (coarse.binds_in_bump, postures.last())] {
        if let (Some(bind), Some(last)) = (bind, last) {
            let margin = linkage.jacobian(&last.displacement, &last.rotation).singular_values().min();
            if margin > NEARLY_SINGULAR {
                return Some(format!("{bind}, with a margin of {margin:e} left"));
            }
        }
    }
    let low_mm = fine.binds_in_droop.map_or(f64::NEG_INFINITY, |bind| bind.at_bump_mm + NEXT_TO_BIND_MM);
    let high_mm = fine.binds_in_bump.map_or(f64::INFINITY, |bind| bind.at_bump_mm - NEXT_TO_BIND_MM);
    postures.iter().find_map(|posture| {
        let bump_mm = posture.bump_mm;
        if posture.closure_error_mm > MAX_CLOSURE_ERROR_MM {
            return Some(format!("open by {:e} mm at {bump_mm} mm", posture.closure_error_mm));
        }
        if bump_mm < low_mm || bump_mm > high_mm {
            return None;
        }
        match fine.at(bump_mm) {
            None => Some(format!("no posture at {bump_mm} mm")),
            Some(again) if apart_mm(posture, &again) > SAME_MM => {
                let apart_mm = apart_mm(posture, &again);
                Some(format!("{apart_mm:e} mm apart at {bump_mm} mm, determinant {:e}", posture.determinant))
            }
            Some(_) => None,
        }
    })
}

#[test]
fn every_corner_goes_as_far_in_large_steps_as_in_small_ones_and_on_the_same_branch() {
    let (mut followed, mut bound, mut faults) = (0, 0, Vec::new());
    for seed in 0..corners() {
        let linkage = random_corner(seed);
        if margin_at_design(&linkage) < NEARLY_SINGULAR {
            continue;
        }
        let path = WheelPath::follow(&linkage, &[-60.0, 60.0]).expect("a sound design");
        followed += 1;
        bound += u64::from(path.binds_in_bump.is_some() || path.binds_in_droop.is_some());
        let step_mm = random_step_mm(seed);
        faults.extend(fault(&linkage, step_mm).map(|fault| format!("corner {seed}, step {step_mm:?} mm: {fault}")));
    }
    println!("{followed} corners sound at design, {bound} of them bind within 60 mm, {} faults", faults.len());
    assert!(faults.is_empty(), "{} faults:\n{}", faults.len(), faults[..faults.len().min(40)].join("\n"));
    if corners() == USUAL {
        // As docs/validation.md says.
        assert_eq!((followed, bound), (9982, 4035));
    }
}

#[test]
fn heave_and_roll_of_random_corners_hold_every_equation_and_no_number_is_undefined() {
    for seed in 0..USUAL {
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
