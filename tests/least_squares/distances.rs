//! Points from distances: with an answer on paper, in a plane, and a whole network against scipy
//! (`tests/outside/least_squares_reference.py` makes its tables anew).

use hubtrace::studies::Termination;
use hubtrace::studies::least_squares::{Fit, FitOptions, LeastSquaresProblem, Linearisation, fit};
use nalgebra::{DMatrix, DVector, Vector3};

/// Distances among points whose coordinates are the parameters, mm; some points are known, each coordinate to a standard
/// deviation.
struct Network {
    known: Vec<(usize, Vector3<f64>, f64)>,
    /// From, to, reading and its standard deviation, mm.
    taped: Vec<(usize, usize, f64, f64)>,
}

impl LeastSquaresProblem for Network {
    type Failure = String;

    fn linearised(&self, parameters: &DVector<f64>) -> Result<Linearisation, String> {
        let rows = self.taped.len() + 3 * self.known.len();
        let (mut residuals, mut jacobian) = (DVector::zeros(rows), DMatrix::zeros(rows, parameters.len()));
        let place = |point: usize| Vector3::from_fn(|axis, _| parameters[3 * point + axis]);
        for (row, &(from, to, read_mm, sd_mm)) in self.taped.iter().enumerate() {
            let between = place(from) - place(to);
            residuals[row] = (between.norm() - read_mm) / sd_mm;
            for axis in 0..3 {
                let by = between[axis] / between.norm() / sd_mm;
                jacobian[(row, 3 * from + axis)] = by;
                jacobian[(row, 3 * to + axis)] = -by;
            }
        }
        for (k, (point, at, sd_mm)) in self.known.iter().enumerate() {
            for axis in 0..3 {
                let row = self.taped.len() + 3 * k + axis;
                residuals[row] = (place(*point)[axis] - at[axis]) / sd_mm;
                jacobian[(row, 3 * point + axis)] = 1.0 / sd_mm;
            }
        }
        Ok(Linearisation { residuals, jacobian })
    }
}

fn fitted(network: &Network, start: &[f64]) -> Fit {
    let options = FitOptions {
        scale: DVector::from_element(start.len(), 1.0),
        min_singular_ratio: 1e-9,
        settled: 1e-9,
        max_steps: 100,
    };
    fit(network, DVector::from_column_slice(start), &options).expect("the start has residuals")
}

/// One point taped from datums that are known next to exactly; it comes last.
fn taped_from(datums: &[[f64; 3]], read_mm: &[f64], start: [f64; 3]) -> Fit {
    let known = datums.iter().enumerate().map(|(k, at)| (k, Vector3::from(*at), 1e-6)).collect();
    let taped = read_mm.iter().enumerate().map(|(k, mm)| (k, datums.len(), *mm, 1.0)).collect();
    fitted(&Network { known, taped }, &[&datums.concat()[..], &start].concat())
}

fn last_point(fit: &Fit) -> Vector3<f64> {
    let first = fit.parameters.len() - 3;
    Vector3::from_fn(|axis, _| fit.parameters[first + axis])
}

const IN_PLANE: [[f64; 3]; 3] = [[0.0, 0.0, 0.0], [1000.0, 0.0, 0.0], [0.0, 800.0, 0.0]];

/// Squares of the distances to (480, 240, ±320), by Pythagoras.
fn read_in_plane() -> [f64; 3] {
    [390_400.0_f64, 430_400.0, 646_400.0].map(f64::sqrt)
}

#[test]
fn datums_in_a_plane_give_the_point_on_the_side_of_the_start() {
    for side in [1.0, -1.0] {
        let fit = taped_from(&IN_PLANE, &read_in_plane(), [300.0, 300.0, side * 100.0]);
        assert_eq!((fit.termination, fit.rank), (Termination::Converged, 12));
        assert!((last_point(&fit) - Vector3::new(480.0, 240.0, side * 320.0)).norm() < 1e-8, "{}", last_point(&fit));
    }
}

#[test]
fn a_start_in_the_plane_of_all_datums_leaves_the_height_unknown() {
    let fit = taped_from(&IN_PLANE, &read_in_plane(), [300.0, 300.0, 0.0]);
    assert_eq!((fit.termination, fit.rank, fit.null_directions.len()), (Termination::Converged, 11, 1));
    assert!(last_point(&fit).z.abs() < 1e-12, "{}", last_point(&fit).z);
    let unknown = &fit.null_directions[0];
    assert!((unknown[11].abs() - 1.0).abs() < 1e-12, "{unknown}");
    assert!(fit.covariance[(11, 11)].abs() < 1e-12, "no variance is told along what is not known");
    // It stands in the plane and fits badly, which is told too.
    assert!(fit.sum_of_squares() > 1e4);
}

#[test]
fn two_datums_leave_a_circle_of_which_the_nearest_point_is_taken() {
    // (300, 0, 0) from either datum at 500 mm: a circle of 400 mm about the line of datums.
    let fit = taped_from(&[[0.0, 0.0, 0.0], [600.0, 0.0, 0.0]], &[500.0, 500.0], [280.0, 360.0, 270.0]);
    assert_eq!((fit.termination, fit.rank, fit.null_directions.len()), (Termination::Converged, 8, 1));
    let at = last_point(&fit);
    assert!((at.x - 300.0).abs() < 1e-6 && (at.y.hypot(at.z) - 400.0).abs() < 1e-6, "{at}");
    // Along the circle: square to the radius.
    let along = Vector3::from_fn(|axis, _| fit.null_directions[0][6 + axis]);
    assert!(along.x.abs() < 1e-9 && along.dot(&at).abs() < 1e-6 && (along.norm() - 1.0).abs() < 1e-9, "{along}");
}

/// Worked separately to convergence; see `tests/outside/README.md`.
#[test]
fn readings_that_contradict_one_another_are_shared_out_on_distances() {
    let datums =
        [[0.0, 0.0, 0.0], [1500.0, 0.0, 0.0], [0.0, 1100.0, 0.0], [1500.0, 1100.0, 100.0], [700.0, 500.0, 900.0]];
    let fit = taped_from(&datums, &[876.0, 1204.0, 797.0, 1124.0, 588.0], [500.0, 500.0, 300.0]);
    assert!((last_point(&fit) - Vector3::new(521.48264, 609.16389, 350.64527)).norm() < 1e-4, "{}", last_point(&fit));
    for (got, expected) in fit.residuals.iter().zip([-0.7989, 0.7942, 0.3809, -0.9509, -0.1430]) {
        assert!((got - expected).abs() < 1e-4, "{got} for {expected}");
    }
}

fn table(name: &str) -> Vec<Vec<f64>> {
    let path = format!("{}/tests/outside/{name}", env!("CARGO_MANIFEST_DIR"));
    let mut reader = csv::Reader::from_path(path).expect("the table is there");
    let row = |row: csv::StringRecord| row.iter().map(|cell| cell.parse().unwrap_or(f64::NAN)).collect();
    reader.records().map(|record| row(record.expect("the table is sound"))).collect()
}

#[test]
fn a_network_of_sixty_unknowns_comes_out_as_scipy_adjusts_it() {
    let points = table("network.points.csv");
    let at = |row: &[f64]| Vector3::new(row[1], row[2], row[3]);
    let known = points.iter().enumerate().filter(|(_, row)| row[0].is_finite());
    let network = Network {
        known: known.map(|(k, row)| (k, at(row), row[0])).collect(),
        taped: table("network.readings.csv")
            .iter()
            .map(|row| (row[0] as usize, row[1] as usize, row[2], row[3]))
            .collect(),
    };
    assert_eq!((points.len(), network.known.len(), network.taped.len()), (20, 8, 137));
    let start: Vec<f64> = points.iter().flat_map(|row| row[1..4].to_vec()).collect();
    let fit = fitted(&network, &start);
    assert_eq!((fit.termination, fit.rank), (Termination::Converged, 60));
    for (k, row) in points.iter().enumerate() {
        for axis in 0..3 {
            let (place_mm, sd_mm) = (row[4 + axis], row[7 + axis]);
            let unknown = 3 * k + axis;
            // scipy stops where the gradient is 3e-7 per mm: a tenth of a millionth of a millimetre away.
            assert!(
                (fit.parameters[unknown] - place_mm).abs() < 1e-6,
                "point {k}: {} for {place_mm}",
                fit.parameters[unknown]
            );
            let got_mm = fit.covariance[(unknown, unknown)].sqrt();
            assert!((got_mm - sd_mm).abs() < 1e-7, "point {k}: sd {got_mm} for {sd_mm}");
        }
    }
}
