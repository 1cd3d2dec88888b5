//! Moves the wheels of a geometry file through bump and droop, and prints toe: `cargo run --example sweep`.

use std::env;
use std::error::Error;
use std::path::Path;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::Side;
use hubtrace::studies::{Rig, State, SweepFindings};

const DEMO: &str = "geometries/first-cut.toml";

fn main() -> Result<(), Box<dyn Error>> {
    let path = env::args().nth(1).unwrap_or_else(|| DEMO.to_owned());
    let file = GeometryFile::read(Path::new(&path))?;
    let found = SweepFindings::of(Rig::new(&file.geometry)?, &Side::BOTH);

    println!("{}", found.car.name);
    println!("bump mm   toe left deg   toe right deg");
    for axle in found.car.judged.heave.rows.axles() {
        let toe_deg = axle.map(|row| row.wheel.toe_deg);
        println!("{:7.1} {:14.3} {:15.3}", axle.left.bump_mm, toe_deg.left, toe_deg.right);
    }
    for (side, toe) in &found.car.heave {
        let (worst_deg, at_mm) = (toe.curve.worst_bump_steer_deg, toe.curve.worst_at_bump_mm);
        println!("Worst bump steer, {}: {worst_deg:.3} deg per wheel at {at_mm} mm of bump", side.name());
    }
    for broken in found.car.limits.iter().filter(|verdict| verdict.state == State::Fail) {
        println!("Limit broken: {}", broken.quantity.name());
    }
    Ok(())
}

#[test]
fn the_left_wheel_of_the_demo_car_steers_as_far_as_the_right() -> Result<(), Box<dyn Error>> {
    let file = GeometryFile::read(Path::new(DEMO))?;
    let found = SweepFindings::of(Rig::new(&file.geometry)?, &Side::BOTH);
    let worst_deg = |side: Side| found.car.heave[&side].curve.worst_bump_steer_deg;
    assert!(worst_deg(Side::Left) > 0.05 && (worst_deg(Side::Left) - worst_deg(Side::Right)).abs() < 1e-9);
    Ok(())
}
