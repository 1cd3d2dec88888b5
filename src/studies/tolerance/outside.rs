//! `hubtrace tolerance` against many cars that numpy and scipy built in another formulation.
//!
//! `tests/outside/tolerance_reference.py` says how, and makes the tables anew.

use std::path::PathBuf;

use crate::file::GeometryFile;
use crate::geometry::{Coordinate, End, Interval, Pickup, Quantity, Side, Weld, WeldGroup};
use crate::measures::{spin_axis, toe_deg};
use crate::mechanism::{BuildFailure, LinkSetting, Linkage, PickupErrors, WheelPath};
use crate::studies::errors::model::pickup_errors;
use crate::studies::errors::{ErrorModel, ErrorSource};
use crate::studies::tolerance::Finish;
use crate::studies::tolerance::bump_steer::BumpSteerOdds;
use crate::studies::tolerance::forgiving::expected_square_bump_steer;
use crate::studies::tolerance::last_bracket::LastBracket;
use crate::studies::tolerance::model::{BuiltWheel, WheelModel};
use crate::studies::tolerance::monte_carlo::{MonteCarlo, Watch};
use crate::studies::tolerance::placing::{GaugedCar, Placing};
use crate::studies::tolerance::statistics::percentile;
use crate::studies::tolerance::study::ToleranceStudy;
use crate::studies::tolerance::worst::WorstBumpSteer;
use crate::studies::{JudgedCar, Rig};

/// mm, deg, deg/mm: far below any gauge, above what rounding leaves in two ways of working.
const AGREES: f64 = 1e-8;
/// Least squares is flat at its bottom: scipy stops where the sum no longer falls, here this far from it, mm.
const FITTED_MM: f64 = 1e-6;
/// Cars side by side end with a step of up to 1e-4 mm, and the next would be a few per cent of it.
const FITTED_TOGETHER_MM: f64 = 1e-5;

fn outside(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/outside").join(name)
}

/// The figures of one built wheel.
fn figures_of(model: &WheelModel, car: &PickupErrors, lengths: LinkSetting) -> Result<BuiltWheel, BuildFailure> {
    let mut figures = Err(BuildFailure::Singular);
    model.build(std::slice::from_ref(car), lengths, |_, built| figures = built.map(|(figures, _)| figures));
    figures
}

/// The rows of a table of numbers; cells that are no number are NaN.
fn table(name: &str) -> Vec<Vec<f64>> {
    let mut reader = csv::Reader::from_path(outside(name)).expect("the table is there");
    let row = |row: csv::StringRecord| row.iter().map(|cell| cell.parse().unwrap_or(f64::NAN)).collect();
    reader.records().map(|record| row(record.expect("the table is sound"))).collect()
}

fn with_study(work: impl FnOnce(&ToleranceStudy)) {
    let mut file = GeometryFile::read(&outside("static-set.toml")).expect("the geometry is sound");
    file.geometry.limits.set(Quantity::BumpSteer, Some(Interval::either_way(1.1)));
    let rig = Rig::new(&file.geometry).expect("the drawing holds its wheels");
    work(&ToleranceStudy::new(&JudgedCar::of(rig)).expect("the drawing moves through its travel"));
}

fn errors_of(row: &[f64]) -> [f64; Coordinate::COUNT] {
    std::array::from_fn(|k| row[k])
}

fn compared(model: &WheelModel, built: &BuiltWheel) -> [f64; 4] {
    let signed = |quantity| model.range(built, quantity).expect("it is always told").low;
    let size = |quantity| model.size(built, quantity).expect("it is always told");
    [size(Quantity::BumpSteer), signed(Quantity::Slope), size(Quantity::Bow), size(Quantity::CamberChange)]
}

#[test]
fn two_hundred_shared_cars_agree_number_by_number() {
    with_study(|study| {
        let rows = table("tolerance.cars.csv");
        assert_eq!(rows.len(), 200);
        for (car, row) in rows.iter().enumerate() {
            let errors = pickup_errors(&errors_of(row));
            for (k, lengths) in [LinkSetting::Adjusted, LinkSetting::Cut].into_iter().enumerate() {
                let figures = figures_of(&study.models.left, &errors, lengths).expect("the car moves");
                let expected = &row[Coordinate::COUNT + 4 * k..];
                for (got, expected) in compared(&study.models.left, &figures).into_iter().zip(expected) {
                    assert!((got - expected).abs() < AGREES, "car {car}, {lengths:?}: {got} for {expected}");
                }
            }
        }
    });
}

#[test]
fn the_last_bracket_goes_where_an_independent_least_squares_fit_puts_it() {
    with_study(|study| {
        let model = &study.models.left;
        let link = model.corner.links.iter().position(|link| link.name == "toe link").expect("the link is there");
        let (cars, fits) = (table("tolerance.cars.csv"), table("tolerance.last.csv"));
        assert_eq!(fits.len(), 100);
        let placing = Placing::new(model, &study.sensitivities.left, link).expect("finite derivatives");
        let gauged = |(row, fit): (&Vec<f64>, &Vec<f64>)| GaugedCar {
            errors: pickup_errors(&errors_of(row)),
            gauge_errors_deg: fit[2..].to_vec(),
        };
        let gauged: Vec<GaugedCar> = cars.iter().zip(&fits).map(gauged).collect();
        for (car, ((gauged, together), fit)) in gauged.iter().zip(placing.moves_mm(&gauged)).zip(&fits).enumerate() {
            let off = |moved: [f64; 2]| (moved[0] - fit[0]).hypot(moved[1] - fit[1]);
            let by_itself = off(placing.move_mm(gauged).expect("the car moves"));
            assert!(by_itself < FITTED_MM, "car {car}: {by_itself:e} mm from {:?}", &fit[..2]);
            let together = off(together.expect("the car moves"));
            assert!(together < FITTED_TOGETHER_MM, "car {car}: {together:e} mm from {:?}", &fit[..2]);
        }
    });
}

fn scenario(name: &str, study: &ToleranceStudy) -> ErrorSource {
    if name == "normal" {
        return ErrorSource::Weld(Weld::new(0.5));
    }
    let links = &study.geometry.left.links;
    let boxed = |name: &str| links.iter().position(|link| link.name == name).expect("the link is there");
    let pickup = |name| Pickup { link: boxed(name), end: End::Chassis };
    let pickups = ["lower front", "lower rear", "toe link"].map(pickup).to_vec();
    let group = WeldGroup { name: "box".into(), pickups, sd_mm: 0.8, together: true };
    ErrorSource::Weld(Weld { groups: vec![group], uniform: true, ..Weld::new(0.4) })
}

#[test]
fn percentiles_agree_with_those_of_an_independent_run() {
    const CARS: usize = 40_000;
    with_study(|study| {
        let mut reader = csv::Reader::from_path(outside("tolerance.percentiles.csv")).expect("the table is there");
        let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("the table is sound")).collect();
        for (name, finish) in [("normal", "adjusted"), ("normal", "cut"), ("uniform box", "adjusted")] {
            let how = if finish == "cut" { Finish::Cut } else { Finish::Adjusted };
            let options = MonteCarlo::new(study.geometry, &scenario(name, study), CARS, 11, how);
            let built = study.build(&options, Watch::NONE).expect("no bracket is last");
            for row in rows.iter().filter(|row| &row[0] == name && &row[1] == finish) {
                let figure = match &row[2] {
                    "worst_deg" => Quantity::BumpSteer,
                    "slope_deg_per_mm" => Quantity::Slope,
                    "bow_deg" => Quantity::Bow,
                    _ => Quantity::CamberChange,
                };
                let spread = built.spread(figure, Side::Left).expect("it is always counted");
                let [share, expected, error] = [3, 4, 5].map(|k| row[k].parse::<f64>().expect("a number"));
                let got = if share == 0.5 {
                    spread.p50
                } else if share == 0.9 {
                    spread.p90
                } else {
                    spread.p99
                };
                // Both runs have as many cars, hence the same standard error.
                assert!((got - expected).abs() < 4.0 * error * 2.0_f64.sqrt(), "{row:?}: {got}");
            }
        }
    });
}

/// The same wheels, each followed by itself, its toe read from every posture, the numbers sorted by hand.
#[test]
fn the_band_of_a_wheel_is_that_of_wheels_built_one_by_one() {
    const WHEELS: usize = 400;
    with_study(|study| {
        let model = &study.models.left;
        let options = MonteCarlo::new(study.geometry, &scenario("uniform box", study), WHEELS, 7, Finish::Adjusted);
        let errors = &options.error_models.left;
        let linkage = Linkage::new(model.corner);
        let mut worst_deg: Vec<f64> = (0..WHEELS as u64)
            .map(|wheel| {
                let drawn = pickup_errors(&errors.draw(7, wheel, Side::Left));
                let path =
                    WheelPath::follow_built(&linkage, &drawn, LinkSetting::Adjusted, &model.bump_mm).expect("it moves");
                let toe = |bump_mm: f64| toe_deg(&spin_axis(model.corner, &path.at(bump_mm).expect("a row")));
                model.bump_mm.iter().map(|&bump_mm| (toe(bump_mm) - toe(0.0)).abs()).fold(0.0, f64::max)
            })
            .collect();
        worst_deg.sort_by(f64::total_cmp);
        let at = |share: f64| {
            let place = share * (WHEELS - 1) as f64;
            let (below, part) = (place.floor() as usize, place.fract());
            worst_deg[below] + part * (worst_deg[(below + 1).min(WHEELS - 1)] - worst_deg[below])
        };
        let rig = Rig::new(study.geometry).expect("the drawing holds its wheels");
        let built = WorstBumpSteer::of(&rig, Side::Left, errors, WHEELS, 7).expect("the drawing moves");
        let band = built.band_deg().expect("wheels that move");
        for (got, expected) in
            [(band.low, at(0.025)), (band.high, at(0.975)), (built.percentile_deg(0.9).expect("a value"), at(0.9))]
        {
            assert!((got - expected).abs() < AGREES, "{got} for {expected}");
        }
    });
}

#[test]
fn the_band_of_curves_is_that_of_the_curves_themselves() {
    const CARS: usize = 3000;
    with_study(|study| {
        let options = MonteCarlo::new(study.geometry, &scenario("normal", study), CARS, 2, Finish::Adjusted);
        let model = &study.models.left;
        let draw = |car| pickup_errors(&options.error_models.left.draw(options.seed, car, Side::Left));
        let cars: Vec<_> = (0..CARS as u64).map(draw).collect();
        let mut changes = vec![Vec::with_capacity(CARS); model.bump_mm.len()];
        model.build(&cars, LinkSetting::Adjusted, |_, built| {
            let (_, curve) = built.expect("the car moves");
            model.toe_changes(&curve).enumerate().for_each(|(row, deg)| changes[row].push(deg));
        });
        let band = study.build(&options, Watch::NONE).expect("no bracket is last").bands.left.clone();
        for share in [0.05, 0.25, 0.75, 0.95] {
            for ((_, counted), exact) in band.percentile(share).into_iter().zip(&mut changes) {
                let all_deg = percentile(exact, 1.0).expect("cars") - percentile(exact, 0.0).expect("cars");
                let exact = percentile(exact, share).expect("cars");
                assert!((counted - exact).abs() <= 0.005 * all_deg + 1e-6, "{share}: {counted} for {exact}");
            }
        }
    });
}

#[test]
fn cars_without_their_last_bracket_placed_are_those_of_a_plain_study() {
    with_study(|study| {
        let bracket = LastBracket { link: "toe link".into(), gauge_sd_deg: 0.01, placing_sd_mm: 0.2 };
        let plain = MonteCarlo::new(study.geometry, &scenario("normal", study), 3000, 5, Finish::Adjusted);
        let placed = MonteCarlo { finish: Finish::Last(bracket.clone()), ..plain.clone() };
        let expected = BumpSteerOdds::of(&study.build(&plain, Watch::NONE).expect("no bracket is last"));
        let got = study.unplaced(&placed, &bracket, Watch::NONE).expect("the toe link can be last");
        assert_eq!((got.one_wheel, got.both_wheels), (expected.one_wheel, expected.both_wheels));
        assert!(got.both_wheels.is_some_and(|share| share.of == 3000 && share.count > 100), "{got:?}");
        for (side, median_deg) in got.median_deg.iter() {
            let apart = median_deg.expect("wheels that move") - expected.median_deg[side].expect("wheels that move");
            assert!(apart.abs() < 1e-9, "{apart:e}");
        }
    });
}

#[test]
fn the_same_seed_gives_the_same_cars_on_one_thread_and_on_two() {
    with_study(|study| {
        let options = MonteCarlo::new(study.geometry, &scenario("normal", study), 3000, 5, Finish::Cut);
        let on = |threads: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads are to be had");
            pool.install(|| study.build(&options, Watch::NONE).expect("no bracket is last"))
        };
        assert_eq!(on(1), on(2));
    });
}

#[test]
fn at_small_errors_the_linear_prediction_is_what_is_built() {
    // Each car is built, and its toe curve is also worked out from derivatives alone.
    const CARS: u64 = 2000;
    with_study(|study| {
        let (model, sensitivity) = (&study.models.left, &study.sensitivities.left);
        let weld = Weld::new(0.01);
        let error_model = ErrorModel::new(study.geometry, Side::Left, &ErrorSource::Weld(weld), None);
        for car in 0..CARS {
            let errors_mm = error_model.draw(3, car, Side::Left);
            let predicted = sensitivity.toe_change_deg.iter().zip(&sensitivity.toe_by_coordinate).map(|(drawn, by)| {
                let change: f64 = by.iter().zip(&errors_mm).map(|(by, error)| by * error).sum();
                (drawn + change).abs()
            });
            let predicted = predicted.fold(0.0, f64::max);
            let built = figures_of(model, &pickup_errors(&errors_mm), LinkSetting::Adjusted).expect("the car moves");
            assert!(
                (model.size(&built, Quantity::BumpSteer).expect("it is always told") - predicted).abs() < 2e-5,
                "car {car}: {predicted}"
            );
        }
    });
}

#[test]
fn the_expected_square_is_that_of_built_cars() {
    use crate::mechanism::Linkage;
    const CARS: usize = 20_000;
    with_study(|study| {
        let (model, corner) = (&study.models.left, &study.geometry.left);
        let weld = Weld::new(0.1);
        let error_model = ErrorModel::new(study.geometry, Side::Left, &ErrorSource::Weld(weld), None);
        let rig = Rig::new(study.geometry).expect("the drawing holds its wheels");
        let postures: Vec<_> = rig.left.postures_shown().collect();
        let linkage = Linkage::new(corner);
        let expected = expected_square_bump_steer(corner, &study.geometry.car, &linkage, &postures, &error_model);
        let cars: Vec<_> = (0..CARS as u64).map(|car| pickup_errors(&error_model.draw(8, car, Side::Left))).collect();
        let mut squares = Vec::with_capacity(CARS);
        model.build(&cars, LinkSetting::Adjusted, |_, built| {
            let (_, curve) = built.expect("the car moves");
            squares.push(model.toe_changes(&curve).map(|change| change * change).sum::<f64>() / postures.len() as f64);
        });
        let mean = squares.iter().sum::<f64>() / CARS as f64;
        let spread = (squares.iter().map(|s| (s - mean).powi(2)).sum::<f64>() / CARS as f64).sqrt();
        assert!((expected.expect("every row has its derivatives") - mean).abs() < 4.0 * spread / (CARS as f64).sqrt());
    });
}
