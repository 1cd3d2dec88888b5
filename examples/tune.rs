//! Moves the free pickups of a geometry file until its wheel steers least, and says where to: `cargo run --example tune`.

use std::env;
use std::error::Error;
use std::path::Path;

use hubtrace::file::{GeometryFile, rewrite};
use hubtrace::geometry::{Geometry, Side};
use hubtrace::studies::tune::{Choice, SearchOptions, tune, tuned_geometry};

const DEMO: &str = "geometries/first-cut.toml";

fn main() -> Result<(), Box<dyn Error>> {
    let path = env::args().nth(1).unwrap_or_else(|| DEMO.to_owned());
    let file = GeometryFile::read(Path::new(&path))?;
    let tuned = tune(&file.geometry, &Side::BOTH, &SearchOptions::default(), &|changed| read_back(&file, changed))?;

    for side in &tuned {
        let best = side.chosen(Choice::MostForgiving);
        if let Some(before_deg) = side.as_drawn.worst_deg() {
            println!("Worst bump steer of the {} wheel as drawn: {before_deg:.3} deg", side.side.name());
        }
        println!(
            "and tuned: {:.4} deg, limits {}",
            best.worst_bump_steer_deg,
            if best.limits_hold { "kept" } else { "broken" }
        );
        for made in &best.moves {
            println!("  {:<22} to {:8.2} {:8.2} {:8.2}", made.point, made.to.x, made.to.y, made.to.z);
        }
    }
    let answers: Vec<_> = tuned.iter().map(|side| (side.side, side.chosen(Choice::MostForgiving))).collect();
    let text = rewrite(&file, &tuned_geometry(&file.geometry, &answers))?;
    println!("The tuned file has {} lines, as the drawn one has: only its numbers differ.", text.lines().count());
    Ok(())
}

/// A changed car as it comes back from its file: with the digits that are written.
fn read_back(file: &GeometryFile, changed: &Geometry) -> Option<Geometry> {
    Some(GeometryFile::parse("tuned.toml", &rewrite(file, changed).ok()?).ok()?.geometry)
}

#[test]
fn the_demo_car_steers_less_when_it_is_read_back_tuned() -> Result<(), Box<dyn Error>> {
    use hubtrace::studies::{JudgedCar, Rig};

    let file = GeometryFile::read(Path::new(DEMO))?;
    let options = SearchOptions { starts: 1, ..SearchOptions::default() };
    let tuned = tune(&file.geometry, &[Side::Left], &options, &|changed| read_back(&file, changed))?;
    let written =
        rewrite(&file, &tuned_geometry(&file.geometry, &[(Side::Left, tuned[0].chosen(Choice::MostForgiving))]))?;
    let reread = GeometryFile::parse("tuned.toml", &written)?.geometry;
    assert!(JudgedCar::of(Rig::new(&reread)?).toe.left.worst_bump_steer_deg < 0.05);
    Ok(())
}
