//! Rod ends: static rating with its factor, shank.

use hubtrace::strength::{BarLoad, ENGAGEMENT_IN_DIAMETERS, Thread, held_shank_reserve, shank_reserve, static_reserve};

use super::assert_near;

/// C₀ = 22 kN, load that alternates (b₆ = 0.35): 7.7 kN are allowed.
#[test]
fn a_rod_end_may_bear_its_rating_over_the_factor() {
    assert_near(static_reserve(22_000.0, 1.0 / 0.35, 7700.0), 1.0, 1e-12, "reserve");
    assert_near(static_reserve(22_000.0, 2.0, -5500.0), 2.0, 1e-12, "pushed");
    assert_eq!(static_reserve(22_000.0, 2.0, 0.0), f64::INFINITY);
}

/// M12: 18 mm of thread.
#[test]
fn a_thread_is_held_over_one_and_a_half_diameters() {
    assert_eq!(ENGAGEMENT_IN_DIAMETERS * 12.0, 18.0);
}

/// M12, ball 22 mm off the bracket: 84.27 mm² and 109.1 mm³. Across the shank 5000 N are 1008 MPa, along it 59; whichever way the force
/// points, none is worse than what is told.
#[test]
fn a_shank_that_its_bracket_holds_bends_by_the_stand_off() {
    let thread: Thread = "M12".parse().unwrap();
    let told = held_shank_reserve(&thread, 900.0, 5000.0, 22.0);
    assert_near(told, 900.0 / 1008.2_f64.hypot(59.33), 5e-4, "bent");
    let at = |deg: f64| {
        let (along_n, across_n) = (5000.0 * deg.to_radians().cos(), 5000.0 * deg.to_radians().sin());
        shank_reserve(&thread, 900.0, &BarLoad { axial_n: along_n, bending_nm: 0.022 * across_n })
    };
    let worst = (0..=90_000).map(|k| at(f64::from(k) * 1e-3)).fold(f64::INFINITY, f64::min);
    assert_near(told, worst, 1e-6, "worst direction");
    assert_near(held_shank_reserve(&thread, 900.0, -5000.0, 0.0), at(0.0), 1e-12, "no stand-off: pulled alone");
    assert_eq!(held_shank_reserve(&thread, 900.0, 0.0, 22.0), f64::INFINITY);
}

/// M10: 58 mm² and 62.3 mm³; 5800 N are 100 MPa, 6.23 N·m another 100.
#[test]
fn a_shank_is_pulled_and_bent() {
    let thread: Thread = "M10".parse().unwrap();
    let reserve = |axial_n: f64, bending_nm: f64| shank_reserve(&thread, 400.0, &BarLoad { axial_n, bending_nm });
    assert_near(reserve(5799.0, 0.0), 4.0, 0.01, "pulled");
    assert_near(reserve(-5799.0, 0.0), 4.0, 0.01, "pushed");
    assert_near(reserve(5799.0, 6.229), 2.0, 0.01, "bent too");
}
