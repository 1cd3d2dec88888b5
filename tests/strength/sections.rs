//! Tube sections: a printed example, and sums over thin strips.

use hubtrace::strength::{RoundTube, SquareTube};

use super::{assert_near, tube};

/// Gere and Goodno, 11.4-2: 40 by 36 mm.
#[test]
fn a_pipe_of_a_textbook_has_its_second_moment() {
    assert_near(tube(40.0, 36.0).second_moment_mm4(), 43_220.0, 10.0, "second moment");
}

/// Area and second moment summed over strips, without a formula of either.
#[test]
fn sections_agree_with_sums_over_strips() {
    let strips = 200_000;
    let summed = |half: f64, width: &dyn Fn(f64) -> f64| {
        let step = 2.0 * half / f64::from(strips);
        let at = |k: i32| -half + (f64::from(k) + 0.5) * step;
        (0..strips)
            .map(at)
            .fold((0.0, 0.0), |(area, second), y| (area + width(y) * step, second + y * y * width(y) * step))
    };
    let chord = |radius: f64, y: f64| 2.0 * (radius * radius - y * y).max(0.0).sqrt();
    let round = RoundTube { od_mm: 25.4, wall_mm: 2.6 };
    let (area, second) = summed(12.7, &|y| chord(12.7, y) - chord(10.1, y));
    assert_near(round.area_mm2(), area, 1e-4 * area, "area of a round tube");
    assert_near(round.second_moment_mm4(), second, 1e-4 * second, "second moment of a round tube");
    assert_near(round.modulus_mm3(), second / 12.7, 1e-4 * second / 12.7, "modulus of a round tube");
    assert_near(round.gyration_mm().powi(2), second / area, 1e-3 * second / area, "gyration of a round tube");
    let square = SquareTube { side_mm: 30.0, wall_mm: 2.5 };
    let (area, second) = summed(15.0, &|y| if y.abs() < 12.5 { 5.0 } else { 30.0 });
    assert_near(square.area_mm2(), area, 1e-4 * area, "area of a square tube");
    assert_near(square.second_moment_mm4(), second, 1e-4 * second, "second moment of a square tube");
    assert_near(square.modulus_mm3(), second / 15.0, 1e-4 * second / 15.0, "modulus of a square tube");
}

#[test]
fn a_tube_with_a_wall_of_its_radius_is_a_bar() {
    let bar = RoundTube { od_mm: 20.0, wall_mm: 10.0 };
    assert_near(bar.area_mm2(), 314.159_265, 1e-6, "area");
    assert_near(bar.second_moment_mm4(), 7_853.981_6, 1e-4, "second moment");
}
