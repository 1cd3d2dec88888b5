//! A mistake in one part of the driveline leaves that part out and is told at its line; the rest of the car stays.

use std::path::Path;

use hubtrace::cli::listing;
use hubtrace::file::{GeometryFile, ReadError};
use hubtrace::geometry::{HalfshaftMake, SpringMake};

use hubtrace::studies::driveline::PropshaftFindings;

use crate::broken_files::{assert_messages, mutated};

const EVERY_KEY: &str = include_str!("../good/every_key.toml");

#[test]
fn every_mistake_of_a_driveline_gives_the_message_beside_it() {
    assert_messages("tests/driveline/broken", "toml", |path: &Path| {
        let file = GeometryFile::read(path).unwrap_or_else(|error| panic!("{error}"));
        let of_halfshaft =
            file.geometry.left.halfshaft.as_ref().is_some_and(|shaft| shaft.make != HalfshaftMake::default());
        let of_spring = file.geometry.left.spring.as_ref().is_some_and(|spring| spring.make != SpringMake::default());
        assert!(file.geometry.propshaft.is_none() && !of_halfshaft && !of_spring, "{}", path.display());
        listing(&ReadError::Problems { problems: file.set_aside, left_out: 0 })
    });
}

/// A value that cannot be read refuses the file, as everywhere.
#[test]
fn a_wrong_value_in_a_driveline_refuses_the_file() {
    let text = format!("{}\n[propshaft]\nrpm = -5.0\n", include_str!("../good/corner.toml"));
    let told = GeometryFile::parse("car.toml", &text).map(|_| ()).unwrap_err().to_string();
    assert!(
        told.contains("`rpm` is out of range: -5.0 rpm") && told.contains("[propshaft] lacks `input_axis`"),
        "{told}"
    );
    assert!(told.contains("[propshaft] lacks [[propshaft.joint]]"), "{told}");
}

/// Whatever is changed in the shaft, it is refused, left out, or found with numbers alone.
#[test]
fn no_change_of_a_few_bytes_makes_a_shaft_without_numbers() {
    let start = EVERY_KEY.find("[propshaft]").expect("a propeller shaft");
    let (car, shaft) = EVERY_KEY.split_at(start);
    let pieces = ["0", "1", "9", ".5", "-", "0.0", "90.0", "universal", "flexible", "spline"];
    let mut found = 0;
    for tail in mutated(&[shaft], &pieces, 4_000, 7) {
        let Ok(file) = GeometryFile::parse("car.toml", &format!("{car}{tail}")) else { continue };
        let Some(shaft) = &file.geometry.propshaft else { continue };
        let told = PropshaftFindings::of(shaft).expect("joints apart");
        let numbers = [told.motion.equivalent_angle_deg, told.motion.ripple_peak_to_peak];
        assert!(numbers.iter().chain(&told.motion.joint_angles_deg).all(|number| number.is_finite()), "{tail}");
        assert!(told.turns.iter().all(|row| row.speed_over_mean.is_finite()), "{tail}");
        found += 1;
    }
    assert!(found > 10, "{found}");
}
