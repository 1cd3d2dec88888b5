//! Builds many cars with weld errors and counts those that keep every limit: `cargo run --example weld_study`.

use std::env;
use std::error::Error;
use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Geometry, Quantity, Side};
use hubtrace::studies::errors::ErrorSource;
use hubtrace::studies::tolerance::{LinksAfterWelding, ToleranceFindings, ToleranceRequest};
use hubtrace::studies::{JudgedCar, Rig};

const DEMO: &str = "geometries/as-built.toml";

fn main() -> Result<(), Box<dyn Error>> {
    let path = env::args().nth(1).unwrap_or_else(|| DEMO.to_owned());
    let file = GeometryFile::read(Path::new(&path))?;
    let errors = ErrorSource::of_file(file.geometry.weld.as_ref());
    let found = built(&file.geometry, errors, 2000)?;

    for side in Side::BOTH {
        if let Some(spread) = found.study.spread(Quantity::BumpSteer, side) {
            println!("Worst bump steer of the {} wheel: {:.3} deg as drawn,", side.name(), spread.nominal);
            println!("  half of the built wheels below {:.3}, nine of ten below {:.3}", spread.p50, spread.p90);
        }
    }
    if let Some(passing) = found.study.within_all_limits {
        let (low, high) = passing.interval();
        println!("{} of {} cars keep every limit that was tried:", passing.count, passing.of);
        println!("  a share between {low:.3} and {high:.3}, 19 times of 20");
    }
    Ok(())
}

/// Cars whose links are adjusted after welding.
fn built(geometry: &Geometry, errors: ErrorSource, cars: usize) -> Result<ToleranceFindings<'_>, Box<dyn Error>> {
    let request = ToleranceRequest {
        cars,
        seed: 1,
        errors,
        links: LinksAfterWelding::Adjusted,
        gauge_sd_deg: 0.01,
        placing_sd_mm: 0.2,
        jig_sd_mm: 0.1,
    };
    Ok(ToleranceFindings::of(JudgedCar::of(Rig::new(geometry)?), &Side::BOTH, request)?)
}

#[test]
fn brackets_without_error_make_the_drawn_car() -> Result<(), Box<dyn Error>> {
    use hubtrace::geometry::Weld;

    let file = GeometryFile::read(Path::new(DEMO))?;
    let found = built(&file.geometry, ErrorSource::Weld(Weld::new(1e-9)), 20)?;
    let spread = found.study.spread(Quantity::BumpSteer, Side::Left).ok_or("no bump steer")?;
    assert!((spread.p50 - spread.nominal).abs() < 1e-6 && (spread.p99 - spread.nominal).abs() < 1e-6, "{spread:?}");
    Ok(())
}
