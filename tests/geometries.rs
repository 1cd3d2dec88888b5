//! Every file in `geometries/` runs over its own travel and says what its comments promise.

use std::fs;
use std::path::PathBuf;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Geometry, Quantity, Side};
use hubtrace::studies::{Rig, State, SweepFindings, stations};

/// What each file is there to show: which limits it breaks. All others that it sets, it keeps.
const BROKEN: [(&str, &[Quantity]); 4] = [
    ("as-built", &[Quantity::BumpSteer]),
    ("double-wishbone", &[]),
    ("first-cut", &[Quantity::BumpSteer]),
    ("semi-trailing", &[]),
];

fn files() -> Vec<(String, PathBuf)> {
    let entries = fs::read_dir("geometries").expect("the folder of geometries");
    let mut paths: Vec<_> = entries.map(|entry| entry.expect("an entry").path()).collect();
    paths.sort();
    let stem = |path: &PathBuf| path.file_stem().expect("a name").to_string_lossy().into_owned();
    paths.into_iter().map(|path| (stem(&path), path)).collect()
}

fn each(mut see: impl FnMut(&str, &Geometry)) {
    for (name, path) in files() {
        see(&name, &GeometryFile::read(&path).unwrap_or_else(|error| panic!("{error}")).geometry);
    }
}

#[test]
fn every_file_is_known_here() {
    let names: Vec<_> = files().into_iter().map(|(name, _)| name).collect();
    assert_eq!(names, BROKEN.map(|(name, _)| name));
}

#[test]
fn every_car_moves_over_its_whole_travel_without_binding() {
    each(|name, geometry| {
        let sweep = SweepFindings::of(Rig::new(geometry).expect("a sound design"), &Side::BOTH);
        let travel = &geometry.travel;
        let heave = stations(-travel.droop_mm, travel.bump_mm, travel.step_mm).len();
        let roll = stations(-travel.roll_deg, travel.roll_deg, travel.step_roll_deg).len();
        assert!(sweep.car.judged.heave.binds.is_empty(), "{name}: {:?}", sweep.car.judged.heave.binds);
        assert_eq!(sweep.rows().map(|rows| rows.iter().count())[..2], [2 * heave, 2 * roll], "{name}");
        assert_eq!(sweep.grid.rows.iter().count() + 2 * sweep.grid.left_out, 2 * heave * roll, "{name}");
    });
}

#[test]
fn every_car_breaks_the_limits_it_is_said_to_break_and_no_other() {
    each(|name, geometry| {
        let sweep = SweepFindings::of(Rig::new(geometry).expect("a sound design"), &Side::BOTH);
        let (_, broken) = BROKEN.iter().find(|(known, _)| *known == name).expect("a known file");
        for verdict in &sweep.car.judged.verdicts {
            let expected = match verdict.limit {
                None => State::NotChecked,
                Some(_) if broken.contains(&verdict.quantity) => State::Fail,
                Some(_) => State::Pass,
            };
            assert_eq!(verdict.state, expected, "{name}: {:?} {:?}", verdict.quantity, verdict.side);
        }
    });
}

/// Links of 250 to 450 mm with their outer ends inside the rim: a car that somebody could build.
#[test]
fn every_car_could_be_built() {
    each(|name, geometry| {
        for corner in Side::BOTH.map(|side| geometry.corner(side)) {
            for link in &corner.links {
                let length_mm = link.length_mm();
                assert!((250.0..=450.0).contains(&length_mm) || name == "semi-trailing", "{name}: {length_mm} mm");
                let from_spindle_mm = (link.upright - corner.wheel.centre).xz().norm();
                let rim_mm = corner.wheel.rim_radius_mm.expect("a rim");
                assert!(from_spindle_mm < rim_mm, "{name}: {} {from_spindle_mm} mm from the spindle", link.name);
            }
        }
    });
}
