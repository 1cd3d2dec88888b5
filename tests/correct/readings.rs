//! Readings that are wrong, few, or say that something is loose.

use hubtrace::gauge::{Beam, Change, GaugeNoise, GaugeReading, GaugeReadings, Instrument, Read, ReadSide, Round, What};
use hubtrace::geometry::{End, Geometry, Interval, PerSide, Quantity, Side};
use hubtrace::mechanism::{Linkage, PickupErrors, WheelPath};
use hubtrace::studies::correct::{Advice, CorrectFindings, CorrectRequest, NotCorrected, WheelCorrection};

use nalgebra::{Unit, Vector3};

use crate::outside::car;
use crate::rounds::with_shims_and_half_turns;
use crate::shop::FinishedCar;

const HEIGHTS_MM: [f64; 11] = [-50.0, -40.0, -30.0, -20.0, -10.0, 0.0, 10.0, 20.0, 30.0, 40.0, 50.0];

/// A car with its toe link's bracket 2 mm too high and nothing else off; toe at heights.
fn toe_deg(geometry: &Geometry) -> Vec<f64> {
    let mut errors = PickupErrors::default();
    errors.chassis[4].z = 2.0;
    FinishedCar::new(&geometry.left, errors, 4).toe_deg(&HEIGHTS_MM).expect("a car that moves")
}

fn reading(line: usize, bump_mm: f64, toe_deg: f64) -> GaugeReading {
    let read = Read::Angles { toe_rad: toe_deg.to_radians(), camber_rad: None };
    GaugeReading { line, session: 0, side: ReadSide::One(Side::Left), bump_mm, read }
}

/// As read from full droop to full bump, without an error.
fn read(geometry: &Geometry) -> Vec<GaugeReading> {
    let toes = toe_deg(geometry);
    HEIGHTS_MM.iter().zip(toes).enumerate().map(|(k, (bump_mm, toe_deg))| reading(k + 2, *bump_mm, toe_deg)).collect()
}

fn findings(geometry: &Geometry, instrument: Instrument, readings: Vec<GaugeReading>) -> CorrectFindings {
    let readings = GaugeReadings { instrument, readings, sessions: vec![String::new()] };
    let request = CorrectRequest { earlier: Vec::new(), readings, noise: GaugeNoise::default(), seed: 1 };
    CorrectFindings::of(geometry, &request)
}

fn found(geometry: &Geometry, readings: Vec<GaugeReading>) -> Result<WheelCorrection, NotCorrected> {
    findings(geometry, Instrument::Angle, readings).wheels.left
}

#[test]
fn a_side_that_was_not_read_is_told_and_the_other_is_answered() {
    let geometry = car();
    let found = findings(&geometry, Instrument::Angle, read(&geometry));
    assert!(found.wheels.left.is_ok());
    assert_eq!(found.wheels.right, Err(NotCorrected::NoReadings { side: Side::Right }));
    let written = serde_json::to_value(&found).expect("JSON");
    assert!(written["correct"]["right"].is_null() && written["correct"]["left"]["toe_link"] == "toe link");
    assert!(written["not_corrected"]["right"].as_str().is_some_and(|why| why.contains("right wheel")));
}

#[test]
fn one_height_makes_no_curve() {
    let geometry = car();
    let one = vec![reading(2, 10.0, 0.1), reading(3, 10.0, 0.11)];
    assert_eq!(found(&geometry, one), Err(NotCorrected::OneHeight { side: Side::Left, line: 2 }));
}

#[test]
fn a_reading_beyond_the_stops_is_refused_with_its_line() {
    let geometry = car();
    let mut readings = read(&geometry);
    readings.push(reading(20, 61.0, 0.1));
    let beyond = NotCorrected::BeyondReach { side: Side::Left, line: 20, bump_mm: 61.0 };
    assert_eq!(found(&geometry, readings), Err(beyond));
}

#[test]
fn two_readings_of_one_height_that_cannot_both_be_right_are_refused() {
    let geometry = car();
    let toe_deg = toe_deg(&geometry)[5];
    let with_second = |off_deg: f64| {
        let mut readings = read(&geometry);
        readings.push(reading(20, 0.0, toe_deg + off_deg));
        found(&geometry, readings)
    };
    // One standard deviation of the difference is 0.02° · √2: 10.25 of them, and 9.55.
    let refused = with_second(0.29).expect_err("they contradict each other");
    assert!(matches!(refused, NotCorrected::Contradiction { lines: [7, 20], .. }), "{refused}");
    assert!(
        refused.to_string().contains("lines 7 and 20 are of one height and 10 standard deviations apart"),
        "{refused}"
    );
    assert!(with_second(0.27).is_ok());
}

/// 0.15° off with a gauge of 0.02°.
#[test]
fn a_reading_that_does_not_fit_is_left_out_and_told() {
    let geometry = car();
    let sound = found(&geometry, read(&geometry)).expect("a sound car");
    assert!(sound.readings.iter().all(|reading| !reading.is_suspect));
    let mut readings = read(&geometry);
    readings[3] = reading(5, HEIGHTS_MM[3], toe_deg(&geometry)[3] + 0.15);
    readings[8] = reading(10, HEIGHTS_MM[8], toe_deg(&geometry)[8] + 0.03);
    let found = found(&geometry, readings).expect("a car that is found all the same");
    let suspects: Vec<usize> = found.readings.iter().filter(|reading| reading.is_suspect).map(|of| of.line).collect();
    assert_eq!(suspects, [5]);
    let off = &found.readings[3];
    assert!((off.read_deg - off.fitted_deg - 0.15).abs() < 0.03, "{off:?}");
    // A reading that is a little high stays, and is told as high.
    let high = &found.readings[8];
    assert!(high.read_deg - high.fitted_deg > 0.01 && high.standardised.is_some_and(|by| by > 0.5), "{high:?}");
}

#[test]
fn readings_of_the_wrong_sign_do_not_fit_the_car() {
    let geometry = car();
    let upside_down = |of: GaugeReading| match of.read {
        // A curve that no weld makes: ten times the toe of a bracket 2 mm off, and jagged.
        Read::Angles { toe_rad, .. } => {
            let sign = if of.line.is_multiple_of(2) { 10.0 } else { -10.0 };
            reading(of.line, of.bump_mm, sign * toe_rad.to_degrees())
        }
        _ => of,
    };
    let jagged = read(&geometry).into_iter().map(upside_down).collect();
    let refused = found(&geometry, jagged).expect_err("nothing fits this");
    assert!(matches!(refused, NotCorrected::DoesNotFit { side: Side::Left, .. }), "{refused}");
}

#[test]
fn play_shows_between_readings_going_up_and_coming_down() {
    let geometry = car();
    let toes = toe_deg(&geometry);
    let up_and_down = |play_deg: f64| {
        let mut readings = Vec::new();
        let ways = (0..11).map(|k| (k, 0.5 * play_deg)).chain((0..10).rev().map(|k| (k, -0.5 * play_deg)));
        for (k, way) in ways {
            readings.push(reading(readings.len() + 2, HEIGHTS_MM[k], toes[k] + way));
        }
        readings
    };
    let loose = found(&geometry, up_and_down(0.06)).expect("a car that is found all the same").lash.expect("both ways");
    // The lowest height was reached coming down alone; the highest going up alone.
    assert_eq!(loose.heights, 9);
    assert!(loose.is_loose && (loose.up_less_down_deg - 0.06).abs() < 1e-9, "{loose:?}");
    assert!((loose.sd_deg - 0.02 * f64::sqrt(2.0 / 9.0)).abs() < 1e-12);
    assert!(!loose.is_scattered && loose.widest_deg.abs() < 1e-9, "{loose:?}");
    // Readings of one way beside the wrong heights: the mean stays, and no noise of 0.02 deg differs so.
    let mut mixed = up_and_down(0.0);
    let ways = (0..11).map(|k| (k, 0.05)).chain((0..10).rev().map(|k| (k, -0.05)));
    for (read, (k, way)) in mixed.iter_mut().zip(ways) {
        let off_deg = if k % 2 == 0 { way } else { -way };
        *read = reading(read.line, HEIGHTS_MM[k], toes[k] + off_deg);
    }
    let mixed = found(&geometry, mixed).expect("a car that is found all the same").lash.expect("both ways");
    assert!(!mixed.is_loose && mixed.is_scattered, "{mixed:?}");
    assert!((mixed.widest_deg.abs() - 0.1).abs() < 0.03, "{mixed:?}");
    assert_eq!(found(&geometry, read(&geometry)).expect("a sound car").lash, None);
    let refused = found(&geometry, up_and_down(-0.4)).expect_err("nothing can be prescribed to that");
    assert!(
        refused.to_string().starts_with("toe of the left wheel differs by 0.40° between going up and coming down"),
        "{refused}"
    );
}

/// Play shows at many heights with one sign; one reading that is off shows at its own.
#[test]
fn one_reading_that_is_off_is_no_play() {
    let geometry = car();
    let toes = toe_deg(&geometry);
    let with_one_off = |off_deg: f64| {
        let heights = (0..11).chain((0..10).rev());
        let mut readings: Vec<GaugeReading> =
            heights.enumerate().map(|(row, k)| reading(row + 2, HEIGHTS_MM[k], toes[k])).collect();
        readings[4] = reading(6, HEIGHTS_MM[4], toes[4] + off_deg);
        readings
    };
    let NotCorrected::Contradiction { lines, .. } = found(&geometry, with_one_off(1.2)).expect_err("one is wrong")
    else {
        panic!("not the reading")
    };
    assert_eq!(lines, [6, 18]);
    let found = found(&geometry, with_one_off(0.25)).expect("a car that is found all the same");
    let lash = found.lash.expect("both ways");
    assert!(!lash.is_loose && lash.heights == 8 && lash.up_less_down_deg.abs() < 1e-9, "{lash:?}");
    assert!(lash.is_scattered && (lash.widest_deg - 0.25).abs() < 1e-9, "{lash:?}");
    let suspects: Vec<usize> = found.readings.iter().filter(|of| of.is_suspect).map(|of| of.line).collect();
    assert_eq!(suspects, [6]);
}

/// A car that is flat and was gauged finely needs nothing.
#[test]
fn a_good_car_is_left_alone() {
    let mut geometry = car();
    // The drawn curve is not flat; a limit that it keeps makes it good enough when no change is open.
    geometry.limits.set(hubtrace::geometry::Quantity::BumpSteer, Some(hubtrace::geometry::Interval::either_way(2.0)));
    let toes = FinishedCar::new(&geometry.left, PickupErrors::default(), 4).toe_deg(&HEIGHTS_MM).expect("it moves");
    let readings = HEIGHTS_MM.iter().zip(toes).enumerate().map(|(k, (at, toe))| reading(k + 2, *at, toe)).collect();
    for link in &mut geometry.left.links {
        // One shim that can do nothing: it has no room.
        link.adjusters.chassis = Some(hubtrace::geometry::BracketAdjuster {
            along: nalgebra::Vector3::z_axis(),
            step_mm: Some(0.5),
            range_mm: hubtrace::geometry::Interval::either_way(0.2),
        });
    }
    let found = found(&geometry, readings).expect("a sound car");
    assert_eq!((found.advice, found.changes.len()), (Advice::NothingToDo, 0));
    assert_eq!(found.worst_bump_steer_deg.now_p95, found.worst_bump_steer_deg.expected_p95);
}

/// What a plate, a laser and toe plates show of a wheel that is known, worked here from places of points on the wheel.
#[test]
fn every_instrument_finds_the_same_car() {
    let geometry = car();
    let by_angle = found(&geometry, read(&geometry)).expect("a sound car").worst_bump_steer_deg.now;
    let mut errors = PickupErrors::default();
    errors.chassis[4].z = 2.0;
    let built = Linkage::new(&geometry.left).built(&errors, hubtrace::mechanism::LinkSetting::Adjusted);
    let path = WheelPath::follow(&built, &HEIGHTS_MM).expect("it moves");
    let centre = geometry.left.wheel.centre;
    let width_mm = 400.0;
    let instruments = [
        Instrument::Plate { width_mm, zeroed: false },
        Instrument::Plate { width_mm, zeroed: true },
        Instrument::Wall { distance_mm: 3000.0, beam: Beam::Forward },
        Instrument::Wall { distance_mm: 3000.0, beam: Beam::Spindle },
    ];
    for instrument in instruments {
        let design = path.at(0.0).expect("design");
        let shown = |posture: &hubtrace::mechanism::Posture| {
            // In plan: the spindle, and the wheel's own line square to it, both level.
            let s = posture.direction(&geometry.left.wheel.spin_axis);
            let spindle = nalgebra::Vector2::new(s.x, s.y).normalize();
            let forward = nalgebra::Vector2::new(spindle.y, -spindle.x);
            let at = posture.wheel_centre() - centre;
            match instrument {
                Instrument::Plate { .. } => (0.5 * width_mm * forward.y, -0.5 * width_mm * forward.y),
                Instrument::Wall { distance_mm, beam: Beam::Forward } => {
                    (at.y + (distance_mm - at.x) / forward.x * forward.y, 0.0)
                }
                Instrument::Wall { distance_mm, beam: Beam::Spindle } => {
                    (at.x + (distance_mm - at.y) / spindle.y * spindle.x, 0.0)
                }
                Instrument::Angle => (0.0, 0.0),
            }
        };
        let zero =
            if matches!(instrument, Instrument::Plate { zeroed: true, .. }) { shown(&design) } else { (0.0, 0.0) };
        let readings = HEIGHTS_MM.iter().enumerate().map(|(k, bump_mm)| {
            let (first, second) = shown(&path.at(*bump_mm).expect("a height it reaches"));
            let read = match instrument {
                Instrument::Plate { .. } => Read::Dials { front_mm: first - zero.0, rear_mm: second - zero.1 },
                _ => Read::Spot { wall_mm: first },
            };
            GaugeReading { line: k + 2, session: 0, side: ReadSide::One(Side::Left), bump_mm: *bump_mm, read }
        });
        let found = findings(&geometry, instrument, readings.collect()).wheels.left.expect("a sound car");
        let now = found.worst_bump_steer_deg.now;
        assert!((now / by_angle - 1.0).abs() < 0.03, "{instrument:?}: {now} against {by_angle}");
        let off = found.readings.iter().map(|of| (of.read_deg - of.fitted_deg).abs()).fold(0.0, f64::max);
        assert!(off < 0.01, "{instrument:?}: {off}");
    }
}

/// Toe plates show the total; the two wheels of a mirrored car that are off alike share it.
#[test]
fn a_total_of_both_wheels_is_shared_between_them() {
    let geometry = car();
    let mut geometry_of_both = geometry.clone();
    geometry_of_both.right.links[4].sets_toe = true;
    let total = read(&geometry).into_iter().map(|of| match of.read {
        Read::Angles { toe_rad, .. } => {
            GaugeReading { side: ReadSide::Both, read: Read::Angles { toe_rad: 2.0 * toe_rad, camber_rad: None }, ..of }
        }
        _ => of,
    });
    let found = findings(&geometry_of_both, Instrument::Angle, total.collect());
    let [left, right] = Side::BOTH.map(|side| found.wheels[side].clone().expect("a sound car"));
    for (left, right) in left.pickups.iter().zip(&right.pickups) {
        assert!((left.off_mm.value - right.off_mm.value).abs() < 1e-6, "{left:?} {right:?}");
    }
    let one = found_of_one(&geometry).worst_bump_steer_deg.now;
    assert!((left.worst_bump_steer_deg.now / one - 1.0).abs() < 0.2, "{:?} {one}", left.worst_bump_steer_deg);
    assert!(left.readings.iter().all(|of| of.of_both));
}

fn found_of_one(geometry: &Geometry) -> WheelCorrection {
    found(geometry, read(geometry)).expect("a sound car")
}

/// Shims that lie askew take a pickup the same way outboard on either wheel: to the left on the left one, to the right on the other.
#[test]
fn a_shim_is_told_in_the_axes_of_the_car() {
    let mut geometry = car();
    let along = Unit::new_normalize(Vector3::new(0.2, 0.5, 1.0));
    for side in Side::BOTH {
        let corner = geometry.corner_mut(side);
        with_shims_and_half_turns(corner);
        corner.links.iter_mut().for_each(|link| link.adjusters.length = None);
        corner.links.iter_mut().filter_map(|link| link.adjusters.chassis.as_mut()).for_each(|shim| shim.along = along);
    }
    let left = read(&geometry);
    let right = left.iter().map(|of| GaugeReading { line: of.line + 100, side: ReadSide::One(Side::Right), ..*of });
    let found = findings(&geometry, Instrument::Angle, left.iter().copied().chain(right).collect());
    for side in Side::BOTH {
        let changes = found.wheels[side].clone().expect("a sound car").changes;
        assert!(!changes.is_empty(), "{side:?}");
        for change in changes {
            let expected = [along.x, side.sign() * along.y, along.z];
            assert_eq!((change.what, change.along), ("shim", Some(expected)), "{change:?}");
        }
    }
}

/// The shims go 6 mm either way of the stack as drawn. A millimetre was taken away in the round before, so that 5 mm are left to take
/// from a car that wants more: six in all.
#[test]
fn a_change_is_told_with_those_of_the_rounds_before() {
    let mut geometry = car();
    with_shims_and_half_turns(&mut geometry.left);
    for (k, link) in geometry.left.links.iter_mut().enumerate() {
        link.adjusters.length = None;
        link.adjusters.chassis = link.adjusters.chassis.filter(|_| k == 4);
    }
    let read = |high_mm: f64| {
        let mut errors = PickupErrors::default();
        errors.chassis[4].z = high_mm;
        let toes = FinishedCar::new(&geometry.left, errors, 4).toe_deg(&HEIGHTS_MM).expect("a car that moves");
        let readings = HEIGHTS_MM.iter().zip(toes).enumerate().map(|(k, (mm, deg))| reading(k + 2, *mm, deg)).collect();
        GaugeReadings { instrument: Instrument::Angle, readings, sessions: vec![String::new()] }
    };
    let what = What::Shim { end: End::Chassis, along: Vector3::z_axis() };
    let changes = PerSide { left: vec![Change { link: 4, what, by_mm: -1.0 }], right: Vec::new() };
    let before = Round { readings: read(4.0), noise: GaugeNoise::default(), changes };
    let request = CorrectRequest { earlier: vec![before], readings: read(3.0), noise: GaugeNoise::default(), seed: 1 };
    let found = CorrectFindings::of(&geometry, &request).wheels.left.expect("a sound car");
    let [change] = &found.changes[..] else { panic!("{:?}", found.changes) };
    assert_eq!((change.what, change.by_mm, change.total_mm), ("shim", -5.0, -6.0), "{change:?}");
}

/// Of the cars that fit the readings the mean stays inside this limit and one in twenty does not: the limit is broken.
#[test]
fn a_limit_is_kept_when_95_of_100_cars_that_fit_keep_it() {
    let mut geometry = car();
    let found = findings(&geometry, Instrument::Angle, read(&geometry));
    let worst = found.wheels.left.as_ref().expect("a sound car").worst_bump_steer_deg;
    assert!(worst.expected < 0.95 * worst.expected_p95, "{worst:?}");
    for (limit_deg, breaks) in [
        (0.9 * worst.expected, true),
        (f64::midpoint(worst.expected, worst.expected_p95), true),
        (1.01 * worst.expected_p95, false),
    ] {
        geometry.limits.set(Quantity::BumpSteer, Some(Interval::either_way(limit_deg)));
        assert_eq!(found.breaks_a_limit(&geometry, &[Side::Left]), breaks, "{limit_deg} of {worst:?}");
    }
}
