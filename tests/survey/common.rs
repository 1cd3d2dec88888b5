//! One error behind several readings: told once, with what it explains, and never in place of readings that were misread.

use hubtrace::studies::locate::{LocateFindings, Located};
use hubtrace::survey::{ReadingKind, Survey};
use nalgebra::{Point3, Vector3};
use rand::Rng;

use crate::simulated::{DATUMS, rng, somewhere, taken};

const SURVEYS: u64 = 40;

fn located(survey: &Survey) -> Located {
    LocateFindings::of(survey).located
}

/// Six points about a corner, each read nine times with errors of 1 mm, and what is done to the survey.
fn surveyed(seed: u64, spoil: impl FnOnce(&mut Survey, &mut rand::rngs::StdRng)) -> (Vec<Point3<f64>>, Located) {
    let mut rng = rng(seed);
    let truth: Vec<Point3<f64>> = (0..6).map(|_| somewhere(&mut rng)).collect();
    let mut survey = taken(&DATUMS, &truth, &mut rng);
    spoil(&mut survey, &mut rng);
    (truth, located(&survey))
}

fn worst_mm(truth: &[Point3<f64>], found: &Located) -> f64 {
    let off = truth.iter().zip(&found.points).map(|(truth, point)| {
        let at = point.at_mm.unwrap_or_else(|| panic!("{:?}", found.not_determined));
        (Point3::from(at) - truth).norm()
    });
    off.fold(0.0, f64::max)
}

#[test]
fn a_datum_that_is_elsewhere_is_told_once_and_no_reading_is_blamed_for_it() {
    let mut told = 0;
    for seed in 0..SURVEYS {
        let mut off = Vector3::zeros();
        let (truth, found) = surveyed(seed, |survey, rng| {
            off[rng.random_range(0..3)] = if rng.random() { 40.0 } else { -40.0 };
            survey.datums[2].at += off;
        });
        let [wrong] = &found.wrong_datums[..] else { continue };
        let miss_mm = Vector3::from(wrong.given_mm) - Vector3::from(wrong.at_mm) - off;
        let is_there = miss_mm.iter().zip(wrong.sd_mm).all(|(mm, sd_mm)| mm.abs() < 4.0 * sd_mm);
        told += usize::from(wrong.datum == "C" && is_there && found.suspects.is_empty() && found.tape_zero.is_none());
        assert!(worst_mm(&truth, &found) < 6.0, "{seed}: {}", worst_mm(&truth, &found));
    }
    assert!(told >= SURVEYS as usize * 95 / 100, "{told} of {SURVEYS}");
}

#[test]
fn a_hook_that_was_not_counted_is_told_once_with_its_length() {
    let mut told = 0;
    for seed in 0..SURVEYS {
        let (truth, found) = surveyed(seed, |survey, _| survey.hook_mm = 15.0);
        let Some(zero) = &found.tape_zero else { continue };
        let is_so_long = (zero.long_mm - 15.0).abs() < 2.0 && zero.hook_mm == 15.0 && zero.fitting_hook_mm.abs() < 2.0;
        told += usize::from(is_so_long && found.suspects.is_empty() && found.wrong_datums.is_empty());
        assert!(worst_mm(&truth, &found) < 6.0, "{seed}: {}", worst_mm(&truth, &found));
    }
    assert!(told >= SURVEYS as usize * 95 / 100, "{told} of {SURVEYS}");
}

/// Two readings of 54, anywhere, 30 mm off.
#[test]
fn readings_that_were_misread_are_not_laid_on_a_datum_or_on_the_tape() {
    let laid = (0..SURVEYS).filter(|&seed| {
        let (_, found) = surveyed(1000 + seed, |survey, rng| {
            for _ in 0..2 {
                let wrong = rng.random_range(0..survey.readings.len());
                survey.readings[wrong].read_mm = survey.readings[wrong].read_mm.map(|mm| mm + 30.0);
            }
        });
        !found.wrong_datums.is_empty() || found.tape_zero.is_some()
    });
    assert_eq!(laid.count(), 0);
}

#[test]
fn a_misread_reading_beside_a_wrong_datum_is_told_beside_it() {
    let (_, found) = surveyed(7, |survey, _| {
        survey.datums[0].at.y += 60.0;
        let taped = |reading: &&mut hubtrace::survey::Reading| matches!(reading.kind, ReadingKind::Distance(_));
        let reading = survey.readings.iter_mut().filter(taped).nth(1).expect("a reading");
        reading.read_mm = reading.read_mm.map(|mm| mm + 100.0);
    });
    assert_eq!(found.wrong_datums.iter().map(|wrong| wrong.datum.as_str()).collect::<Vec<_>>(), ["A"]);
    assert_eq!(found.suspects.iter().map(|suspect| suspect.number).collect::<Vec<_>>(), [Some(2)]);
}

#[test]
fn a_misread_reading_beside_a_hook_that_was_not_counted_is_told_beside_it() {
    let (_, found) = surveyed(8, |survey, _| {
        survey.hook_mm = 12.0;
        let reading = &mut survey.readings[20];
        reading.read_mm = reading.read_mm.map(|mm| mm + 100.0);
    });
    let zero = found.tape_zero.as_ref().expect("the hook");
    assert!(zero.fitting_hook_mm.abs() < 1.5 && found.wrong_datums.is_empty(), "{zero:?} {:?}", found.wrong_datums);
    assert_eq!(found.suspects.iter().map(|suspect| suspect.number).collect::<Vec<_>>(), [Some(21)]);
}
