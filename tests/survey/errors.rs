//! Surveys with errors: how often the truth is where it is said to be, and how often what was misread is found.

use hubtrace::studies::locate::{LocateFindings, Located, Slip};
use hubtrace::survey::{Station, Survey};
use nalgebra::{Point3, Vector3};
use rand::Rng;

use crate::simulated::{DATUMS, distance, normal, read, rng, somewhere, survey, taken};

fn located(survey: &Survey) -> Located {
    LocateFindings::of(survey).located
}

fn off(found: &Located, point: usize, truth: &Point3<f64>) -> Vector3<f64> {
    Point3::from(found.points[point].at_mm.unwrap_or_else(|| panic!("{:?}", found.not_determined))) - truth
}

/// Shares of coordinates within one and within 1.96 stated standard deviations of the truth.
fn coverage(surveys: u64, datum_sd_mm: f64, points: usize) -> [f64; 2] {
    let (mut inside, mut count) = ([0_usize; 2], 0);
    for seed in 0..surveys {
        let mut rng = rng(seed);
        let truth: Vec<Point3<f64>> = (0..points).map(|_| somewhere(&mut rng)).collect();
        let mut survey = taken(&DATUMS, &truth, &mut rng);
        for datum in &mut survey.datums {
            datum.sd_mm = datum_sd_mm;
            datum.at += Vector3::from_fn(|_, _| datum_sd_mm * normal(&mut rng));
        }
        let found = located(&survey);
        for (i, truth) in truth.iter().enumerate() {
            let (off, sd_mm) = (off(&found, i, truth), found.points[i].sd_mm.unwrap());
            for axis in 0..3 {
                count += 1;
                let sds = off[axis].abs() / sd_mm[axis];
                inside
                    .iter_mut()
                    .zip([1.0, 1.959_964])
                    .for_each(|(inside, within)| *inside += usize::from(sds < within));
            }
        }
    }
    inside.map(|inside| inside as f64 / count as f64)
}

/// 68.27 % and 95 % of a normal distribution; three coordinates of a thousand surveys have standard errors of 0.85 % and 0.4 %.
#[test]
fn stated_standard_deviations_cover_the_truth_as_often_as_they_say() {
    let [one, two] = coverage(1000, 0.0, 1);
    assert!((one - 0.6827).abs() < 0.02 && (two - 0.95).abs() < 0.01, "{one} {two}");
}

#[test]
fn they_do_so_with_datums_that_were_measured_themselves() {
    let [one, two] = coverage(150, 1.0, 4);
    assert!((one - 0.6827).abs() < 0.04 && (two - 0.95).abs() < 0.02, "{one} {two}");
}

/// Nine readings of one point, one of them 10 mm off.
#[test]
fn one_gross_error_of_ten_millimetres_is_found() {
    const SURVEYS: u64 = 500;
    let (mut found_alone, mut worst_mm) = (0, 0.0_f64);
    for seed in 0..SURVEYS {
        let mut rng = rng(10_000 + seed);
        let truth = somewhere(&mut rng);
        let mut survey = taken(&DATUMS, &[truth], &mut rng);
        let wrong = rng.random_range(0..survey.readings.len());
        let by_mm = if rng.random() { 10.0 } else { -10.0 };
        let reading = &mut survey.readings[wrong];
        reading.read_mm = reading.read_mm.map(|mm| mm + by_mm);
        let found = located(&survey);
        let numbers: Vec<_> = found.suspects.iter().map(|suspect| suspect.number).collect();
        if numbers == [Some(wrong + 1)] {
            found_alone += 1;
            worst_mm = worst_mm.max(off(&found, 0, &truth).norm());
        }
    }
    assert!(found_alone >= SURVEYS * 95 / 100, "{found_alone} of {SURVEYS}");
    assert!(worst_mm < 5.0, "the point stands right without it: {worst_mm}");
}

/// With nothing suspect the answer is the plain least-squares one, so nearly all sound surveys must have no suspect.
#[test]
fn one_sound_survey_in_a_hundred_has_a_suspect() {
    let with_suspects = (0..1000).filter(|&seed| {
        let mut rng = rng(50_000 + seed);
        let truth = somewhere(&mut rng);
        !located(&taken(&DATUMS, &[truth], &mut rng)).suspects.is_empty()
    });
    let count = with_suspects.count();
    assert!((2..=22).contains(&count), "{count} of 1000: 10 expected, with a standard error of 3");
}

/// A sound survey of one point, with one reading changed.
fn with_wrong(change: impl Fn(&mut Survey)) -> Located {
    let mut survey = taken(&DATUMS, &[Point3::new(-150.0, 380.0, 255.0)], &mut rng(3));
    assert!(located(&survey).suspects.is_empty());
    change(&mut survey);
    located(&survey)
}

#[test]
fn what_was_misread_is_guessed() {
    let read_mm = |survey: &Survey, k: usize| survey.readings[k].read_mm.unwrap();
    let set = |survey: &mut Survey, k: usize, mm: f64| survey.readings[k].read_mm = Some(mm);
    // From datum C it is about 679 mm: 697 has its digits swapped.
    let swapped = with_wrong(|survey| set(survey, 2, 697.0));
    let guess = swapped.suspects[0].probably.as_ref().unwrap();
    assert_eq!((swapped.suspects[0].number, guess.slip, guess.meant_mm), (Some(3), Slip::SwappedDigits, 679.0));
    for (by_mm, slip) in
        [(100.0, Slip::Hundred), (-100.0, Slip::Hundred), (25.4, Slip::Inch), (-1000.0, Slip::Thousand)]
    {
        let found = with_wrong(|survey| set(survey, 1, read_mm(survey, 1) + by_mm));
        let suspect = &found.suspects[0];
        let guess = suspect.probably.as_ref().unwrap();
        assert_eq!((suspect.number, guess.slip), (Some(2), slip), "{suspect:?}");
        assert!((guess.meant_mm - suspect.read_mm + by_mm).abs() < 1e-9);
        assert!((suspect.should_be_mm - guess.meant_mm).abs() < 2.5 * suspect.sd_mm);
    }
    // The reading of datum A, written down for datum D.
    let elsewhere = with_wrong(|survey| set(survey, 3, read_mm(survey, 0)));
    let guess = elsewhere.suspects[0].probably.as_ref().unwrap();
    assert_eq!(
        (elsewhere.suspects[0].number, guess.slip, guess.place.as_deref()),
        (Some(4), Slip::OtherPlace, Some("A"))
    );
    // A tape whose hook hides 30 mm, which was added once too often in one reading.
    let hooked = with_wrong(|survey| {
        survey.hook_mm = 30.0;
        (0..6).filter(|&k| k != 4).for_each(|k| set(survey, k, read_mm(survey, k) - 30.0));
    });
    assert_eq!(hooked.suspects[0].probably.as_ref().unwrap().slip, Slip::Hook);
    // 61 mm is nobody's slip: the reading is suspect and nothing is guessed.
    assert_eq!(with_wrong(|survey| set(survey, 1, read_mm(survey, 1) + 61.0)).suspects[0].probably, None);
}

/// An inch tape: 12 3/8 in for 12 1/2 is a fraction, a foot is a foot.
#[test]
fn slips_of_an_inch_tape_are_inches() {
    for (by_in, slip) in [(12.0, Slip::Foot), (-1.0, Slip::Inch), (0.5, Slip::Fraction)] {
        let found = with_wrong(|survey| {
            survey.units = hubtrace::geometry::LengthUnit::Inch;
            survey.readings[1].read_mm = survey.readings[1].read_mm.map(|mm| mm + 25.4 * by_in);
        });
        assert_eq!(found.suspects[0].probably.as_ref().unwrap().slip, slip, "{by_in} in");
    }
}

#[test]
fn two_gross_errors_are_found_one_after_the_other() {
    let found = with_wrong(|survey| {
        for (k, by_mm) in [(0, 40.0), (5, -25.0)] {
            survey.readings[k].read_mm = survey.readings[k].read_mm.map(|mm| mm + by_mm);
        }
    });
    let numbers: Vec<_> = found.suspects.iter().map(|suspect| suspect.number).collect();
    assert_eq!(numbers, [Some(1), Some(6)]);
    let marked: Vec<_> =
        found.readings.iter().filter(|reading| reading.suspect).map(|reading| reading.number).collect();
    assert_eq!(marked, [1, 6]);
}

/// One distance taped twice with 100 mm between, and just enough beside it: either may be wrong, and nothing hides it.
#[test]
fn two_readings_that_contradict_each_other_are_both_named() {
    let mut survey = survey(&DATUMS[..3], 1);
    survey.points[0].near = Some(Point3::new(0.0, 400.0, 300.0));
    let truth = Point3::new(-150.0, 380.0, 255.0);
    for (k, datum) in DATUMS[..3].iter().enumerate() {
        read(&mut survey, distance(Station::Datum(k), Station::Point(0)), (truth - Point3::from(*datum)).norm());
    }
    let again_mm = survey.readings[1].read_mm.unwrap() + 100.0;
    read(&mut survey, distance(Station::Point(0), Station::Datum(1)), again_mm);
    let found = located(&survey);
    assert!(found.suspects.is_empty());
    assert_eq!(found.contradictions[0].numbers, [2, 4]);
    assert_eq!(found.contradictions[0].points, ["point 1"]);
    let marked: Vec<_> =
        found.readings.iter().filter(|reading| reading.suspect).map(|reading| reading.number).collect();
    assert_eq!(marked, [2, 4]);
    let off = off(&found, 0, &truth);
    let sds = found.points[0].sd_mm.unwrap();
    assert!((0..3).all(|axis| off[axis].abs() < 2.0 * sds[axis]), "widened until it covers the truth: {off} {sds:?}");
}

/// A datum that is 20 mm away from where it is said to be to half a millimetre.
#[test]
fn a_datum_that_is_not_where_it_is_said_to_be_is_found() {
    let mut rng = rng(8);
    let truth: Vec<Point3<f64>> = (0..4).map(|_| somewhere(&mut rng)).collect();
    let mut survey = taken(&DATUMS, &truth, &mut rng);
    survey.datums.iter_mut().for_each(|datum| datum.sd_mm = 0.5);
    survey.datums[4].at.x += 20.0;
    let found = located(&survey);
    let suspect = &found.suspects[0];
    assert_eq!((suspect.number, suspect.kind.as_str(), suspect.to.as_str()), (None, "datum x", "E"));
    assert!((suspect.should_be_mm - DATUMS[4][0]).abs() < 3.0 * suspect.sd_mm, "{suspect:?}");
    assert!((0..4).all(|i| off(&found, i, &truth[i]).norm() < 4.0));
}

/// Readings with `times` the error that was said of them.
fn worse_than_said(seed: u64, times: f64) -> Survey {
    let mut rng = rng(seed);
    let truth: Vec<Point3<f64>> = (0..6).map(|_| somewhere(&mut rng)).collect();
    let mut survey = taken(&DATUMS, &truth, &mut rng);
    for (k, reading) in survey.readings.iter_mut().enumerate() {
        let truth_mm = match reading.kind {
            hubtrace::survey::ReadingKind::Distance([Station::Datum(d), Station::Point(p)]) => {
                (truth[p] - Point3::from(DATUMS[d])).norm()
            }
            hubtrace::survey::ReadingKind::Plumbed { axis, of: Station::Point(p) } => truth[p][axis.index()],
            _ => unreachable!("{k}"),
        };
        reading.read_mm = reading.read_mm.map(|mm| truth_mm + times * (mm - truth_mm));
    }
    survey
}

#[test]
fn a_tape_that_is_worse_than_it_was_said_to_be_widens_everything() {
    let found = located(&worse_than_said(21, 2.0));
    assert!(found.noise.widened && (1.4..2.4).contains(&found.noise.factor), "{:?}", found.noise);
}

/// As long as no reading is left out, the places are as well known as by readings that were said to be so much worse.
#[test]
fn what_is_widened_is_what_readings_that_are_said_to_be_worse_give() {
    let is_noise_alone = |found: &Located| found.noise.widened && found.suspects.is_empty();
    let surveys = (0..100).map(|seed| worse_than_said(seed, 1.45));
    let (mut survey, found) =
        surveys.map(|survey| (survey.clone(), located(&survey))).find(|(_, found)| is_noise_alone(found)).expect("one");
    survey.readings.iter_mut().for_each(|reading| reading.sd_mm *= found.noise.factor);
    let said = located(&survey);
    assert!(!said.noise.widened && (said.noise.factor - 1.0).abs() < 1e-6, "{:?}", said.noise);
    for (widened, said) in found.points.iter().zip(&said.points) {
        let [widened, said] = [widened, said].map(|point| point.sd_mm.expect("a place"));
        assert!(widened.iter().zip(said).all(|(a, b)| (a / b - 1.0).abs() < 1e-6), "{widened:?} {said:?}");
    }
}

/// A reading between exact datums places nothing, and is told when it does not fit.
#[test]
fn a_reading_between_datums_checks_them() {
    for (mm, suspect) in [(1000.4, false), (1012.0, true)] {
        let found = with_wrong(|survey| read(survey, distance(Station::Datum(0), Station::Datum(1)), mm));
        let last = found.readings.last().unwrap();
        assert!((last.fitted_mm - 1000.0).abs() < 1e-9);
        assert_eq!((last.suspect, found.suspects.len()), (suspect, usize::from(suspect)));
        assert_eq!(found.points[0].readings, 9);
    }
}
