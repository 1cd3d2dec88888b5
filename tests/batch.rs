//! Many built corners side by side against the same corners one at a time.

use std::path::Path;

use hubtrace::batch::{Batch, BatchError, BuiltCurve, SimdWidth};
use hubtrace::file::GeometryFile;
use hubtrace::geometry::Corner;
use hubtrace::measures::{camber_deg, spin_axis, toe_deg};
use hubtrace::mechanism::{BuildFailure, LinkSetting, Linkage, MAX_CLOSURE_ERROR_MM, PickupErrors, WheelPath};
use hubtrace::studies::stations;
use nalgebra::Vector3;
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

const SAME_DEG: f64 = 1e-9;

fn first_cut() -> Corner {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("geometries/first-cut.toml");
    GeometryFile::read(&path).expect("a sound file").geometry.left
}

fn batch_of(corner: &Corner, stations_mm: &[f64]) -> Batch {
    Batch::new(&Linkage::new(corner), &corner.wheel.spin_axis, stations_mm).expect("the drawn corner moves")
}

/// Cars with every coordinate of every pickup off by `sd_mm` (the sum of twelve uniform draws, near enough normal).
fn built_cars(count: usize, sd_mm: f64) -> Vec<PickupErrors> {
    let mut random = StdRng::seed_from_u64(7);
    let mut off = || Vector3::from_fn(|_, _| sd_mm * (0..12).map(|_| random.random_range(-0.5..0.5)).sum::<f64>());
    (0..count)
        .map(|_| PickupErrors { chassis: std::array::from_fn(|_| off()), upright: std::array::from_fn(|_| off()) })
        .collect()
}

/// Largest closure error of a built corner where the batch has put its upright, mm.
fn closure_error_mm(
    corner: &Corner,
    car: &PickupErrors,
    lengths: LinkSetting,
    curve: &BuiltCurve<'_>,
    station: usize,
) -> f64 {
    let centre = corner.wheel.centre;
    let (displacement, rotation) = (curve.displacement(station), curve.rotation(station));
    let errors = corner.links.iter().zip(car.chassis.iter().zip(&car.upright)).map(|(link, (inner, outer))| {
        let (chassis, upright) = (link.chassis + inner, link.upright + outer);
        let length_mm = match lengths {
            LinkSetting::Adjusted => (upright - chassis).norm(),
            LinkSetting::Cut => link.length_mm(),
        };
        ((centre + displacement + rotation * (upright - centre) - chassis).norm() - length_mm).abs()
    });
    errors.fold(0.0, f64::max)
}

/// Holds every car of a batch against that car followed alone; returns how many were lost.
fn hold_against_single_cars(
    corner: &Corner,
    stations_mm: &[f64],
    cars: &[PickupErrors],
    lengths: LinkSetting,
) -> usize {
    let linkage = Linkage::new(corner);
    let (mut visited, mut lost) = (0, 0);
    batch_of(corner, stations_mm).solve(cars, lengths, |index, curve| {
        assert_eq!(index, visited);
        visited += 1;
        let (curve, path) = match (curve, WheelPath::follow_built(&linkage, &cars[index], lengths, stations_mm)) {
            (Ok(curve), Ok(path)) => (curve, path),
            (Err(together), Err(alone)) => {
                assert_eq!(std::mem::discriminant(&together), std::mem::discriminant(&alone), "car {index}");
                lost += 1;
                return;
            }
            (together, alone) => panic!("car {index}: lost together {}, alone {}", together.is_err(), alone.is_err()),
        };
        for (station, &bump_mm) in stations_mm.iter().enumerate() {
            let posture = path.at(bump_mm).expect("a station that the path was followed through");
            let s = spin_axis(corner, &posture);
            let at = format!("car {index}, {bump_mm} mm");
            assert!((curve.toe_deg(station) - toe_deg(&s)).abs() < SAME_DEG, "{at}: toe");
            assert!((curve.camber_deg(station) - camber_deg(&s)).abs() < SAME_DEG, "{at}: camber");
            assert!(
                closure_error_mm(corner, &cars[index], lengths, &curve, station) < MAX_CLOSURE_ERROR_MM,
                "{at}: links"
            );
        }
    });
    assert_eq!(visited, cars.len());
    lost
}

#[test]
fn cars_with_half_a_millimetre_of_error_come_out_as_if_each_were_alone() {
    let (corner, stations_mm, cars) = (first_cut(), stations(-60.0, 60.0, 5.0), built_cars(3000, 0.5));
    assert_eq!(hold_against_single_cars(&corner, &stations_mm, &cars, LinkSetting::Adjusted), 0);
    assert_eq!(hold_against_single_cars(&corner, &stations_mm, &cars, LinkSetting::Cut), 0);
}

/// Each car followed alone with one link a hundredth of a millimetre longer and shorter; every car stays in the batch, so that
/// each has its derivatives.
#[test]
fn toe_by_the_length_of_a_link_is_what_a_turn_of_its_turnbuckle_does() {
    const TURN_MM: f64 = 0.01;
    let (corner, stations_mm, cars) = (first_cut(), stations(-60.0, 60.0, 15.0), built_cars(40, 0.5));
    let (linkage, batch) = (Linkage::new(&corner), batch_of(&corner, &stations_mm));
    for link in 0..5 {
        let (mut seen, mut largest) = (0, 0.0);
        batch.solve_by_length(&cars, link, |index, curve, by_length| {
            let (curve, by_length) = (curve.expect("a car that moves"), by_length.expect("derivatives"));
            let built = linkage.built(&cars[index], LinkSetting::Adjusted);
            let [shorter, longer] = [-TURN_MM, TURN_MM].map(|by_mm| {
                WheelPath::follow(&built.lengthened(link, by_mm), &stations_mm).expect("it holds the wheel")
            });
            for (station, &bump_mm) in stations_mm.iter().enumerate() {
                let toe = |path: &WheelPath| toe_deg(&spin_axis(&corner, &path.at(bump_mm).expect("a station")));
                let expected = (toe(&longer) - toe(&shorter)) / (2.0 * TURN_MM);
                let got = by_length.deg_per_mm(station);
                assert!((got - expected).abs() < 1e-7, "car {index}, link {link}, {bump_mm} mm: {got} for {expected}");
                largest = f64::max(largest, expected.abs());
                assert!((curve.toe_deg(station) - 0.5 * (toe(&longer) + toe(&shorter))).abs() < 1e-4);
                // The direction of the link from its two ends, where the wheel stands and as drawn.
                let inner = corner.links[link].chassis + cars[index].chassis[link];
                let arm = corner.links[link].upright + cars[index].upright[link] - corner.wheel.centre;
                let outer = corner.wheel.centre + curve.displacement(station) + curve.rotation(station) * arm;
                let drawn = corner.wheel.centre + arm - inner;
                let turned = (outer - inner) / drawn.norm() - drawn.normalize();
                assert!((by_length.turned(station) - turned).amax() < 1e-12, "car {index}, link {link}, {bump_mm} mm");
            }
            seen += 1;
        });
        assert_eq!(seen, cars.len());
        assert!(largest > 1e-3, "link {link} turns the wheel by {largest} deg/mm at most");
    }
}

#[test]
fn cars_with_five_millimetres_of_error_come_out_as_if_each_were_alone() {
    let (corner, stations_mm, cars) = (first_cut(), stations(-60.0, 60.0, 5.0), built_cars(3000, 5.0));
    hold_against_single_cars(&corner, &stations_mm, &cars, LinkSetting::Adjusted);
    hold_against_single_cars(&corner, &stations_mm, &cars, LinkSetting::Cut);
}

/// Stations up to just before the drawn corner binds: part of the cars bind earlier.
#[test]
fn cars_that_bind_are_those_that_bind_alone() {
    let corner = first_cut();
    let far = WheelPath::follow(&Linkage::new(&corner), &[-400.0, 400.0]).expect("a sound design");
    let (low_mm, high_mm) = far.reach_mm();
    let stations_mm = stations((low_mm + 5.0).ceil(), (high_mm - 5.0).floor(), 5.0);
    for sd_mm in [0.5, 5.0] {
        for lengths in [LinkSetting::Adjusted, LinkSetting::Cut] {
            let lost = hold_against_single_cars(&corner, &stations_mm, &built_cars(800, sd_mm), lengths);
            assert!(lost < 800 && (sd_mm < 1.0 || lost > 80), "{lost} of 800 lost at {sd_mm} mm");
        }
    }
}

#[test]
fn every_width_gives_the_same_bits() {
    let (corner, stations_mm, cars) = (first_cut(), stations(-60.0, 60.0, 7.0), built_cars(200, 2.0));
    let bits_at = |width| {
        let batch = batch_of(&corner, &stations_mm).at_width(width)?;
        let mut bits = Vec::new();
        batch.solve(&cars, LinkSetting::Cut, |_, curve| {
            let curve = curve.expect("a car that moves");
            bits.extend(
                (0..batch.stations()).flat_map(|k| [curve.toe_deg(k).to_bits(), curve.camber_deg(k).to_bits()]),
            );
        });
        Some(bits)
    };
    let baseline = bits_at(SimdWidth::Baseline).expect("what every processor has");
    for wider in [SimdWidth::Four, SimdWidth::Eight].into_iter().filter_map(bits_at) {
        assert!(wider == baseline);
    }
}

#[test]
fn a_car_does_not_depend_on_its_neighbours() {
    let (corner, stations_mm, cars) = (first_cut(), stations(-40.0, 60.0, 5.0), built_cars(37, 5.0));
    let batch = batch_of(&corner, &stations_mm);
    for (index, car) in cars.iter().enumerate() {
        let last_toe_deg = |cars: &[PickupErrors]| {
            let mut toe_deg = f64::NAN;
            batch.solve(cars, LinkSetting::Adjusted, |_, curve| toe_deg = curve.expect("a car that moves").toe_deg(0));
            toe_deg
        };
        assert_eq!(last_toe_deg(&cars[..=index]), last_toe_deg(std::slice::from_ref(car)), "car {index}");
    }
}

#[test]
fn no_cars_are_no_visits() {
    batch_of(&first_cut(), &[0.0, 10.0]).solve(&[], LinkSetting::Cut, |_, _| panic!("nobody is there"));
}

#[test]
fn stations_may_stand_in_any_order_and_leave_out_the_design() {
    let (corner, cars) = (first_cut(), built_cars(40, 0.5));
    assert_eq!(hold_against_single_cars(&corner, &[30.0, -12.5, 60.0, 30.0, 4.0], &cars, LinkSetting::Cut), 0);
}

#[test]
fn a_corner_that_binds_as_drawn_is_no_batch() {
    let corner = first_cut();
    let stations_mm = [0.0, 2000.0];
    let refused = Batch::new(&Linkage::new(&corner), &corner.wheel.spin_axis, &stations_mm);
    assert!(matches!(refused, Err(BatchError::Binds(bind)) if bind.at_bump_mm < 2000.0));
}

#[test]
fn a_station_that_is_not_a_number_is_refused() {
    let corner = first_cut();
    let refused = Batch::new(&Linkage::new(&corner), &corner.wheel.spin_axis, &[0.0, f64::NAN]);
    assert!(matches!(refused, Err(BatchError::UndefinedStation)));
}

/// Pickups so far off that the links, cut as drawn, cannot hold the wheel at its height.
#[test]
fn a_car_that_does_not_go_together_is_lost() {
    let (corner, mut lost) = (first_cut(), None);
    let mut car = PickupErrors::default();
    car.chassis[0].y = -400.0;
    car.chassis[1].y = -400.0;
    batch_of(&corner, &[0.0, 10.0]).solve(&[car], LinkSetting::Cut, |_, curve| lost = curve.err());
    assert_eq!(lost, Some(BuildFailure::DoesNotAssemble));
}

#[test]
fn a_batch_has_the_stations_that_were_asked_for() {
    assert_eq!(batch_of(&first_cut(), &stations(-60.0, 60.0, 7.0)).stations(), 19);
}

#[test]
fn a_corner_that_cannot_be_built_many_times_says_what_to_do() {
    let corner = first_cut();
    let refused =
        |stations_mm: &[f64]| Batch::new(&Linkage::new(&corner), &corner.wheel.spin_axis, stations_mm).unwrap_err();
    assert!(refused(&[0.0, f64::NAN]).to_string().contains("give every one in mm"));
    assert!(refused(&[0.0, 900.0]).to_string().contains("reduce the travel or move one of these links"));
    assert!(BatchError::Singular.to_string().contains("move a pickup"));
}
