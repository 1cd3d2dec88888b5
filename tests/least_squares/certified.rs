//! Nonlinear problems of the Statistical Reference Datasets of NIST, from both of their starts, against its certified values.
//!
//! The files in `tests/outside/nist/` are those of the collection, values certified to eleven digits.

use hubtrace::studies::Termination;
use hubtrace::studies::least_squares::{Fit, FitOptions, LeastSquaresProblem, Linearisation, fit};
use nalgebra::{Complex, DMatrix, DVector};

type Model = fn(&[Complex<f64>], f64) -> Complex<f64>;

struct Certified {
    model: Model,
    starts: [Vec<f64>; 2],
    parameters: Vec<f64>,
    sd: Vec<f64>,
    sum_of_squares: f64,
    /// Predictor and response.
    observations: Vec<(f64, f64)>,
}

impl Certified {
    fn read(name: &str, model: Model) -> Self {
        let path = format!("{}/tests/outside/nist/{name}.dat", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}"));
        let numbers =
            |line: &str| -> Vec<f64> { line.split_whitespace().filter_map(|word| word.parse().ok()).collect() };
        let is_parameter = |line: &&str| line.trim_start().starts_with('b') && line.contains('=');
        let rows: Vec<Vec<f64>> = text.lines().skip(40).take(10).filter(is_parameter).map(numbers).collect();
        let column = |k: usize| rows.iter().map(|row| row[k]).collect::<Vec<f64>>();
        let sum = text.lines().find(|line| line.starts_with("Residual Sum of Squares:")).expect("it is certified");
        Self {
            model,
            starts: [column(0), column(1)],
            parameters: column(2),
            sd: column(3),
            sum_of_squares: numbers(sum)[0],
            observations: text
                .lines()
                .skip(60)
                .map(numbers)
                .filter(|row| row.len() == 2)
                .map(|row| (row[1], row[0]))
                .collect(),
        }
    }
}

impl LeastSquaresProblem for Certified {
    type Failure = String;

    /// Derivatives by complex steps.
    fn linearised(&self, parameters: &DVector<f64>) -> Result<Linearisation, String> {
        const STEP: f64 = 1e-100;
        let (rows, columns) = (self.observations.len(), parameters.len());
        let complex: Vec<Complex<f64>> = parameters.iter().map(|&b| Complex::new(b, 0.0)).collect();
        let mut jacobian = DMatrix::zeros(rows, columns);
        for column in 0..columns {
            let mut stepped = complex.clone();
            stepped[column].im = STEP;
            for (row, (x, _)) in self.observations.iter().enumerate() {
                jacobian[(row, column)] = (self.model)(&stepped, *x).im / STEP;
            }
        }
        let residual = |row: usize, _| {
            let (x, y) = self.observations[row];
            (self.model)(&complex, x).re - y
        };
        Ok(Linearisation { residuals: DVector::from_fn(rows, residual), jacobian })
    }
}

fn fitted(problem: &Certified, start: &[f64]) -> Fit {
    let options = FitOptions {
        scale: DVector::from_iterator(start.len(), start.iter().map(|b| b.abs())),
        min_singular_ratio: 1e-14,
        settled: 1e-11,
        max_steps: 5000,
    };
    fit(problem, DVector::from_column_slice(start), &options).expect("the start has residuals")
}

fn assert_certified(name: &str, model: Model) {
    assert_certified_from(&[0, 1], name, model);
}

fn assert_certified_from(starts: &[usize], name: &str, model: Model) {
    let problem = Certified::read(name, model);
    assert!(problem.observations.len() > problem.parameters.len() && problem.starts[0] != problem.starts[1]);
    for &k in starts {
        let start = &problem.starts[k];
        let fit = fitted(&problem, start);
        let at = format!("{name}, start {}", k + 1);
        assert_eq!((fit.termination, fit.rank), (Termination::Converged, start.len()), "{at}");
        let close = |what: &str, got: f64, certified: f64, digits: f64| {
            assert!((got / certified - 1.0).abs() < digits, "{at}: {what} {got} for {certified}");
        };
        close("sum of squares", fit.sum_of_squares(), problem.sum_of_squares, 1e-10);
        let variance = fit.sum_of_squares() / (problem.observations.len() - start.len()) as f64;
        for (b, (certified, sd)) in problem.parameters.iter().zip(&problem.sd).enumerate() {
            close("parameter", fit.parameters[b], *certified, 1e-8);
            close("standard deviation", (variance * fit.covariance[(b, b)]).sqrt(), *sd, 1e-8);
        }
    }
}

#[test]
fn pressure_of_a_dental_study_is_fitted() {
    assert_certified("Misra1a", |b, x| b[0] * (1.0 - (-b[1] * x).exp()));
}

#[test]
fn oxygen_demand_is_fitted_from_a_start_that_throws_gauss_newton_far_off() {
    assert_certified("BoxBOD", |b, x| b[0] * (1.0 - (-b[1] * x).exp()));
}

#[test]
fn a_rational_curve_with_a_false_minimum_at_infinity_is_fitted() {
    assert_certified("MGH09", |b, x| b[0] * (x * x + b[1] * x) / (x * x + b[2] * x + b[3]));
}

#[test]
fn a_curve_whose_parameters_nearly_make_up_for_one_another_is_fitted() {
    assert_certified("MGH10", |b, x| b[0] * (b[1] / (b[2] + x)).exp());
}

#[test]
fn growth_of_a_pasture_is_fitted() {
    assert_certified("Rat42", |b, x| b[0] / (1.0 + (b[1] - b[2] * x).exp()));
}

#[test]
fn electron_mobility_is_fitted_in_seven_parameters() {
    assert_certified("Thurber", |b, x| {
        (b[0] + b[1] * x + b[2] * x * x + b[3] * x * x * x) / (1.0 + b[4] * x + b[5] * x * x + b[6] * x * x * x)
    });
}

#[test]
fn a_narrow_peak_is_fitted_from_aside() {
    assert_certified("Eckerle4", |b, x| {
        let off = (x - b[2]) / b[1];
        b[0] / b[1] * (-0.5 * off * off).exp()
    });
}

/// From the second start: the first leads into another minimum, of 0.0245.
#[test]
fn two_decays_at_once_are_fitted() {
    assert_certified_from(&[1], "MGH17", |b, x| b[0] + b[1] * (-b[3] * x).exp() + b[2] * (-b[4] * x).exp());
}
