//! A sound car raises no doubt.

use hubtrace::file::{GeometryFile, StarterRequest, starter_text};
use hubtrace::geometry::{Geometry, LengthUnit};
use hubtrace::studies::plausibility::{Doubt, doubts};

use crate::sound_cars::SoundCar;

/// As many as a run of all tests has time for.
const CARS: u64 = 1000;

fn read(text: &str) -> Geometry {
    GeometryFile::parse("car.toml", text).unwrap_or_else(|error| panic!("{error}\n{text}")).geometry
}

/// Of every car that raises one: its seed and what is told.
fn doubted(seeds: std::ops::Range<u64>) -> Vec<(u64, String)> {
    let told = |(seed, car): (u64, SoundCar)| {
        doubts(&read(&car.text())).into_iter().map(move |doubt| (seed, String::from(doubt)))
    };
    let cars = seeds.map(|seed| (seed, SoundCar::of(seed)));
    cars.filter(|(_, car)| car.steers_as_cars_do()).flat_map(told).collect()
}

#[test]
fn sound_cars_at_random_raise_no_doubt() {
    assert_eq!(doubted(0..CARS), []);
}

/// From the axle to a bulkhead behind the seat.
#[test]
fn a_trailing_link_of_a_metre_and_a_half_raises_no_doubt() {
    let cars: Vec<SoundCar> = (0..300).map(SoundCar::of).collect();
    for length_mm in [1180.0, 1300.0, 1450.0, 1560.0] {
        let longer: Vec<SoundCar> = cars.iter().filter_map(|car| car.with_trailing_link(length_mm)).collect();
        assert!(longer.len() > 15, "{}", longer.len());
        for car in longer.into_iter().filter(SoundCar::steers_as_cars_do) {
            assert_eq!(doubts(&read(&car.text())), Vec::<Doubt>::new(), "{}", car.text());
        }
    }
}

/// `docs/validation.md` gives the command; `SOUND_CARS` in the environment asks for another number of cars.
#[test]
#[ignore = "takes minutes; docs/validation.md says when it was run"]
fn a_hundred_thousand_sound_cars_raise_no_doubt() {
    let cars = std::env::var("SOUND_CARS").ok().map_or(100_000, |cars| cars.parse().expect("a number of cars"));
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get) as u64;
    let share = u64::div_ceil(cars, threads);
    let of_thread = |thread: u64| doubted(thread * share..(thread + 1) * share);
    let found: Vec<_> = std::thread::scope(|scope| {
        let running: Vec<_> = (0..threads).map(|thread| scope.spawn(move || of_thread(thread))).collect();
        running.into_iter().flat_map(|thread| thread.join().expect("it never panics")).collect()
    });
    assert_eq!(found, []);
}

#[test]
fn no_shipped_car_raises_a_doubt() {
    for name in ["first-cut", "double-wishbone", "semi-trailing", "as-built"] {
        let path = format!("geometries/{name}.toml");
        let file = GeometryFile::read(path.as_ref()).unwrap_or_else(|error| panic!("{error}"));
        assert_eq!(doubts(&file.geometry), Vec::<Doubt>::new(), "{name}");
    }
}

#[test]
fn no_starter_raises_a_doubt() {
    for tyre in [
        None,
        Some("105/50R8"),
        Some("325/80R17"),
        Some("145/80R10"),
        Some("225/45R17"),
        Some("195/50R13"),
        Some("285/35R19"),
    ] {
        for track_mm in [None, Some(1100.0), Some(1250.0), Some(1800.0)] {
            let tyre = tyre.map(|size| size.parse().expect("a tyre"));
            for units in [LengthUnit::Millimetre, LengthUnit::Inch] {
                let text = starter_text(&StarterRequest::new(tyre.clone(), track_mm).expect("a car"), units);
                assert_eq!(doubts(&read(&text)), Vec::<Doubt>::new(), "{text}");
            }
        }
    }
}
