//! Small problems with a known answer, each of which defeats a simpler method, and how a fit tells why it ended.

use hubtrace::studies::Termination;
use hubtrace::studies::least_squares::{Fit, FitOptions, LeastSquaresProblem, Linearisation, NoFit, fit};
use nalgebra::{DMatrix, DVector};

/// Residuals and, row by row, derivatives.
type Formula = fn(&[f64]) -> Result<(Vec<f64>, Vec<f64>), &'static str>;

struct OnPaper(Formula);

impl LeastSquaresProblem for OnPaper {
    type Failure = &'static str;

    fn linearised(&self, parameters: &DVector<f64>) -> Result<Linearisation, &'static str> {
        let (residuals, derivatives) = (self.0)(parameters.as_slice())?;
        let jacobian = DMatrix::from_row_slice(residuals.len(), parameters.len(), &derivatives);
        Ok(Linearisation { residuals: DVector::from_vec(residuals), jacobian })
    }
}

fn options(unknowns: usize) -> FitOptions {
    FitOptions { scale: DVector::from_element(unknowns, 1.0), min_singular_ratio: 1e-9, settled: 1e-10, max_steps: 200 }
}

fn fitted(formula: Formula, start: &[f64]) -> Result<Fit, NoFit<&'static str>> {
    fit(&OnPaper(formula), DVector::from_column_slice(start), &options(start.len()))
}

fn arc_tangent(b: &[f64]) -> Result<(Vec<f64>, Vec<f64>), &'static str> {
    Ok((vec![b[0].atan()], vec![1.0 / (1.0 + b[0] * b[0])]))
}

#[test]
fn an_arc_tangent_is_brought_to_zero_from_where_gauss_newton_runs_away() {
    let mut plain: f64 = 3.0;
    for _ in 0..4 {
        plain -= plain.atan() * (1.0 + plain * plain);
    }
    assert!(plain.abs() > 1e6, "plain Gauss-Newton stands at {plain}");
    let fit = fitted(arc_tangent, &[3.0]).expect("it starts");
    assert_eq!(fit.termination, Termination::Converged);
    assert!(fit.parameters[0].abs() < 1e-10, "{}", fit.parameters[0]);
}

/// Near the minimum at 0 the undamped step goes as far beyond it again as the start is away: from x to −2 x.
#[test]
fn a_minimum_that_repels_gauss_newton_is_reached() {
    let formula: Formula = |b| Ok((vec![b[0] + 1.0, -2.0 * b[0] * b[0] + b[0] - 1.0], vec![1.0, -4.0 * b[0] + 1.0]));
    let mut plain: f64 = 1e-3;
    for _ in 0..3 {
        let (r, j) = formula(&[plain]).expect("a formula");
        plain -= (r[0] * j[0] + r[1] * j[1]) / (j[0] * j[0] + j[1] * j[1]);
    }
    assert!(plain.abs() > 5e-3, "plain Gauss-Newton stands at {plain}");
    let fit = fitted(formula, &[1e-3]).expect("it starts");
    assert_eq!(fit.termination, Termination::Converged);
    assert!(fit.parameters[0].abs() < 1e-8, "{}", fit.parameters[0]);
}

#[test]
fn a_direction_that_counts_only_later_is_fitted_then() {
    // At x = 0 the second parameter does nothing; the answer is (2, 3).
    let formula: Formula = |b| Ok((vec![b[0] - 2.0, b[0] * b[1] - 6.0], vec![1.0, 0.0, b[1], b[0]]));
    let fit = fitted(formula, &[0.0, 10.0]).expect("it starts");
    assert_eq!((fit.termination, fit.rank), (Termination::Converged, 2));
    assert!((fit.parameters[0] - 2.0).abs() < 1e-9 && (fit.parameters[1] - 3.0).abs() < 1e-9, "{}", fit.parameters);
}

#[test]
fn of_two_parameters_that_count_only_in_their_sum_the_difference_stays() {
    let formula: Formula = |b| Ok((vec![b[0] + b[1] - 4.0, 2.0 * (b[0] + b[1]) - 6.0], vec![1.0, 1.0, 2.0, 2.0]));
    let fit = fitted(formula, &[1.0, 0.0]).expect("it starts");
    // Sum (4 + 2 · 6) / 5 by the normal equation of the sum; the difference is that of the start.
    assert_eq!((fit.termination, fit.rank), (Termination::Converged, 1));
    assert!((fit.parameters[0] - 2.1).abs() < 1e-12 && (fit.parameters[1] - 1.1).abs() < 1e-12, "{}", fit.parameters);
    let [a, b] = [fit.null_directions[0][0], fit.null_directions[0][1]];
    assert!((a + b).abs() < 1e-12 && (a * a + b * b - 1.0).abs() < 1e-12);
    // The sum has variance 1/5; each of the two carries half of it.
    assert!(fit.covariance.iter().all(|entry| (entry - 0.05).abs() < 1e-12), "{}", fit.covariance);
}

#[test]
fn fewer_residuals_than_parameters_move_only_what_they_see() {
    let formula: Formula = |b| Ok((vec![3.0 * b[0] + 4.0 * b[1] - 25.0], vec![3.0, 4.0]));
    let fit = fitted(formula, &[0.0, 0.0]).expect("it starts");
    assert_eq!((fit.termination, fit.rank, fit.null_directions.len()), (Termination::Converged, 1, 1));
    assert!((fit.parameters[0] - 3.0).abs() < 1e-12 && (fit.parameters[1] - 4.0).abs() < 1e-12, "{}", fit.parameters);
}

#[test]
fn scales_say_which_of_two_directions_is_weak() {
    // One parameter in mm and one in m: 1 mm of either does the same.
    let formula: Formula = |b| Ok((vec![b[0] - 1.0, 1000.0 * b[1] - 2.0], vec![1.0, 0.0, 0.0, 1000.0]));
    let rank = |scale: [f64; 2]| {
        let options =
            FitOptions { scale: DVector::from_row_slice(&scale), min_singular_ratio: 0.02, ..options(scale.len()) };
        fit(&OnPaper(formula), DVector::zeros(2), &options).expect("it starts").rank
    };
    assert_eq!((rank([1.0, 1e-3]), rank([1.0, 1.0])), (2, 1));
}

/// Each refusal makes λ 2, 4, 8 … times larger, from a thousandth: 0.002, 0.008, 0.064, 1.024; the step from 1 is −1 / (1 + λ).
#[test]
fn a_step_beyond_a_wall_is_shortened_until_it_stays_before_it() {
    let walled: Formula = |b| if b[0] < 0.3 { Err("beyond the wall") } else { Ok((vec![b[0]], vec![1.0])) };
    let steps = |max_steps: u64| {
        let options = FitOptions { max_steps, ..options(1) };
        fit(&OnPaper(walled), DVector::from_element(1, 1.0), &options).expect("it starts").parameters[0]
    };
    assert_eq!(steps(4), 1.0);
    assert!((steps(5) - 1.024 / 2.024).abs() < 1e-12, "{}", steps(5));
}

/// Residuals x − 1 and x − 3 from 10: the first step, shorter than asked, is the last and goes to 2.
#[test]
fn the_last_step_is_taken_and_its_residuals_are_told() {
    let options = FitOptions { settled: 100.0, ..options(1) };
    let formula: Formula = |b| Ok((vec![b[0] - 1.0, b[0] - 3.0], vec![1.0, 1.0]));
    let fit = fit(&OnPaper(formula), DVector::from_element(1, 10.0), &options).expect("it starts");
    assert_eq!(fit.termination, Termination::Converged);
    assert!((fit.parameters[0] - 2.0).abs() < 1e-12, "{}", fit.parameters[0]);
    assert!((fit.residuals[0] - 1.0).abs() < 1e-12 && (fit.residuals[1] + 1.0).abs() < 1e-12, "{}", fit.residuals);
}

#[test]
fn a_fit_tells_why_it_ended() {
    let three_steps = FitOptions { max_steps: 3, ..options(1) };
    let limited = fit(&OnPaper(arc_tangent), DVector::from_element(1, 3.0), &three_steps).expect("it starts");
    assert_eq!(limited.termination, Termination::StepLimit);
    // The answer at 0 lies beyond a wall: no residuals below 1.
    let walled: Formula = |b| if b[0] < 1.0 { Err("beyond the wall") } else { Ok((vec![b[0]], vec![1.0])) };
    let fit = fitted(walled, &[1.0]).expect("it starts");
    assert_eq!((fit.termination, fit.parameters[0]), (Termination::NoPosture, 1.0));
    assert_eq!(fitted(walled, &[0.0]), Err(NoFit::Start("beyond the wall")));
    // A derivative of the wrong sign: every step makes it worse.
    let wrong: Formula = |b| Ok((vec![b[0] - 1.0], vec![-1.0]));
    assert_eq!(fitted(wrong, &[2.0]).expect("it starts").termination, Termination::TrustRegionExhausted);
}

#[test]
fn a_start_that_is_not_finite_is_refused() {
    let residual: Formula = |b| Ok((vec![b[0].ln()], vec![1.0]));
    let derivative: Formula = |b| Ok((vec![b[0]], vec![1.0 / b[0]]));
    for formula in [residual, derivative] {
        assert_eq!(fitted(formula, &[0.0]), Err(NoFit::NotFinite));
    }
    // Beyond the start it is a step to be shortened: the logarithm of a negative number.
    let fit = fitted(|b| Ok((vec![b[0].ln()], vec![1.0 / b[0]])), &[10.0]).expect("it starts");
    assert_eq!(fit.termination, Termination::Converged);
    assert!((fit.parameters[0] - 1.0).abs() < 1e-10);
}
