//! Rod ends: static rating with its factor, shank.

use hubtrace::strength::{BarLoad, ENGAGEMENT_IN_DIAMETERS, Thread, shank_reserve, static_reserve};

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

/// M10: 58 mm² and 62.3 mm³; 5800 N are 100 MPa, 6.23 N·m another 100.
#[test]
fn a_shank_is_pulled_and_bent() {
    let thread: Thread = "M10".parse().unwrap();
    let reserve = |axial_n: f64, bending_nm: f64| shank_reserve(&thread, 400.0, &BarLoad { axial_n, bending_nm });
    assert_near(reserve(5799.0, 0.0), 4.0, 0.01, "pulled");
    assert_near(reserve(-5799.0, 0.0), 4.0, 0.01, "pushed");
    assert_near(reserve(5799.0, 6.229), 2.0, 0.01, "bent too");
}
