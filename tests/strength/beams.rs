//! Beams across which a force pushes: table formulas against the bending moment integrated twice.

use hubtrace::strength::{built_in_stiffness_n_per_mm, hinged_bending_nm, hinged_stiffness_n_per_mm};

use super::assert_near;

const E_MPA: f64 = 210_000.0;
const SECOND: f64 = 20_000.0;

/// Work of the bending moment: `δ = ∫ M²/(E I F) dx`, for end moments given and hinged reactions from statics.
fn deflection_mm(force_n: f64, a: f64, b: f64, ends_nmm: [f64; 2]) -> f64 {
    let (span, steps) = (a + b, 200_000);
    let step = span / f64::from(steps);
    let moment = |x: f64| {
        let hinged = force_n * if x < a { b * x / span } else { a * (span - x) / span };
        hinged + ends_nmm[0] * (1.0 - x / span) + ends_nmm[1] * x / span
    };
    let at = |k: i32| (f64::from(k) + 0.5) * step;
    (0..steps).map(|k| moment(at(k)).powi(2) * step).sum::<f64>() / (E_MPA * SECOND * force_n)
}

#[test]
fn beams_are_as_stiff_as_their_bending_moment_makes_them() {
    for (a, b) in [(300.0, 300.0), (120.0, 480.0), (500.0, 35.0)] {
        let span: f64 = a + b;
        let hinged = hinged_stiffness_n_per_mm(E_MPA, SECOND, a, b);
        let by_work = 1000.0 / deflection_mm(1000.0, a, b, [0.0, 0.0]);
        assert_near(hinged, by_work, 1e-6 * by_work, "hinged");
        // Built-in ends hold −F a b²/L² and −F a² b/L²; with them the ends do not turn, so the work is that of the force alone.
        let ends = [-1000.0 * a * b * b / span.powi(2), -1000.0 * a * a * b / span.powi(2)];
        let by_work = 1000.0 / deflection_mm(1000.0, a, b, ends);
        assert_near(built_in_stiffness_n_per_mm(E_MPA, SECOND, a, b), by_work, 1e-6 * by_work, "built in");
    }
}

/// In the middle: 48 E I / L³ and 192 E I / L³.
#[test]
fn in_the_middle_the_table_has_its_plain_numbers() {
    let span = 600.0_f64;
    let unit = E_MPA * SECOND / span.powi(3);
    assert_near(hinged_stiffness_n_per_mm(E_MPA, SECOND, 300.0, 300.0), 48.0 * unit, 1e-9, "hinged");
    assert_near(built_in_stiffness_n_per_mm(E_MPA, SECOND, 300.0, 300.0), 192.0 * unit, 1e-9, "built in");
    assert_near(hinged_bending_nm(4000.0, 300.0, 300.0), 600.0, 1e-9, "F L / 4");
    assert_near(hinged_bending_nm(4000.0, 100.0, 500.0), 333.333, 1e-3, "F a b / L");
}
