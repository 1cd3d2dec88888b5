//! What is told of a wheel that is corrected: where its changes take it, and what a broken limit was before them.

use hubtrace::gauge::{GaugeNoise, GaugeReading, GaugeReadings, Instrument, Read, ReadSide};
use hubtrace::geometry::{Geometry, Interval, LengthUnit, Quantity, Side};
use hubtrace::measures::{spin_axis, toe_deg};
use hubtrace::mechanism::{LinkSetting, Linkage, PickupErrors};
use hubtrace::present::{LengthFormat, correct};
use hubtrace::studies::correct::{BrokenLimit, CorrectFindings, CorrectRequest, WheelCorrection};
use hubtrace::studies::{State, Verdict};
use nalgebra::Vector3;

use crate::outside::car;
use crate::rounds::with_shims_and_half_turns;
use crate::shop::FinishedCar;

/// The lower front bracket 3 mm too high and the toe link's 2 mm, read without an error.
fn errors() -> PickupErrors {
    let mut errors = PickupErrors::default();
    (errors.chassis[2].z, errors.chassis[4].z) = (3.0, 2.0);
    errors
}

fn corrected(geometry: &Geometry) -> WheelCorrection {
    let heights_mm: Vec<f64> = (-5..=5).map(|k| 10.0 * f64::from(k)).collect();
    let toes = FinishedCar::new(&geometry.left, errors(), 4).toe_deg(&heights_mm).expect("a car that moves");
    let reading = |(k, (bump_mm, toe_deg)): (usize, (&f64, f64))| {
        let read = Read::Angles { toe_rad: toe_deg.to_radians(), camber_rad: None };
        GaugeReading { line: k + 2, session: 0, side: ReadSide::One(Side::Left), bump_mm: *bump_mm, read }
    };
    let readings = heights_mm.iter().zip(toes).enumerate().map(reading).collect();
    let readings = GaugeReadings { instrument: Instrument::Angle, readings, sessions: vec![String::new()] };
    let request = CorrectRequest { earlier: Vec::new(), readings, noise: GaugeNoise::default(), seed: 1 };
    CorrectFindings::of(geometry, &request).wheels.left.expect("a sound car")
}

/// Where the wheel centre stands at design height with links so much longer, toe as it was by the toe link.
fn centre_mm(geometry: &Geometry, longer_mm: [f64; 5]) -> Vector3<f64> {
    let mut linkage = Linkage::new(&geometry.left).built(&errors(), LinkSetting::Adjusted);
    for (link, by_mm) in longer_mm.into_iter().enumerate().take(4) {
        linkage = linkage.lengthened(link, by_mm);
    }
    let at = |by_mm: f64| linkage.lengthened(4, by_mm).design().expect("a car that closes");
    let off_deg =
        |by_mm: f64| toe_deg(&spin_axis(&geometry.left, &at(by_mm))) - toe_deg(&geometry.left.wheel.spin_axis);
    let (mut low, mut high) = (-10.0, 10.0);
    for _ in 0..60 {
        let middle = f64::midpoint(low, high);
        if (off_deg(middle) > 0.0) == (off_deg(low) > 0.0) { low = middle } else { high = middle }
    }
    at(low).wheel_centre().coords
}

/// Rod ends alone can be turned.
#[test]
fn a_wheel_goes_where_its_longer_links_push_it() {
    let mut geometry = car();
    with_shims_and_half_turns(&mut geometry.left);
    geometry.left.links.iter_mut().for_each(|link| link.adjusters.chassis = None);
    let found = corrected(&geometry);
    let mut longer_mm = [0.0; 5];
    found.changes.iter().for_each(|change| longer_mm[change.change.link] = change.by_mm);
    let moved_mm = centre_mm(&geometry, longer_mm) - centre_mm(&geometry, [0.0; 5]);
    let told = found.wheel_moves;
    assert!((told.forward_mm - moved_mm.x).abs() < 0.05 && (told.outboard_mm - moved_mm.y).abs() < 0.05, "{told:?}");
    assert!(moved_mm.y.abs() > 0.1, "{moved_mm}");
    let words = correct::wheel_moves(LengthFormat(LengthUnit::Millimetre), &found).expect("a move");
    let way = if moved_mm.y > 0.0 { "outboard" } else { "inboard" };
    assert!(words.contains(&format!("{:.1} mm {way}", told.outboard_mm.abs())), "{words}");
}

/// Another part is the tightest one after the changes: what it was before is said of the part that it was of.
#[test]
fn a_gap_that_is_tightest_elsewhere_after_the_changes_names_both_places() {
    let verdict = |gap_mm: f64, part: &str| Verdict {
        quantity: Quantity::Clearance,
        side: Some(Side::Right),
        range: Some(Interval::single(gap_mm)),
        limit: Some(Interval { low: 6.0, high: f64::INFINITY }),
        state: State::Fail,
        gap: None,
        part: Some(part.to_owned()),
        worst_at: None,
    };
    let told = |before: Verdict| {
        let broken = BrokenLimit { verdict: verdict(4.2, "toe link / rim"), is_new: false, before: Some(before) };
        correct::limit_broken(LengthFormat(LengthUnit::Millimetre), &broken)
    };
    let worse = "toe link / rim): 4.2 mm, limit ≥6.0 mm, made worse by the changes; 5.1 mm";
    let elsewhere = told(verdict(5.1, "toe link / spring"));
    assert!(elsewhere.ends_with(&format!("{worse} (toe link / spring) as the car stands")), "{elsewhere}");
    let there = told(verdict(5.1, "toe link / rim"));
    assert!(there.ends_with(&format!("{worse} as the car stands")), "{there}");
}
