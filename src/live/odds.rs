//! What would cure the car, what comes of it once it is welded, and what it runs out of: the second answer, which takes longer
//! than a frame.

use serde::Serialize;

use super::view::shown_sides;
use crate::geometry::{Geometry, Side};
use crate::present::{self, LengthFormat, weld_study, words};
use crate::studies::driveline::Exhaustion;
use crate::studies::errors::ErrorSource;
use crate::studies::tune::BuildOdds;
use crate::studies::{JudgedCar, Rig, ToeAdvice};

/// All of one car.
#[derive(Debug, Serialize)]
pub(super) struct OddsView {
    revision: u64,
    advice: Vec<String>,
    told: Vec<String>,
    runs_out: Vec<String>,
}

/// Cars that are built for it.
const CARS: usize = 2_000;

/// Advice, chance and band of a welded car, and what it runs out of.
pub(super) fn odds(revision: u64, car: &Geometry) -> OddsView {
    let lengths = LengthFormat(car.units);
    let moved = |rig: Rig| (runs_out(&rig, lengths), advice(&JudgedCar::of(rig), lengths));
    let (runs_out, advice) = Rig::new(car).map_or_else(|_| (Vec::new(), Vec::new()), moved);
    let Some(odds) = BuildOdds::of(car, CARS) else {
        let told = vec!["No chance to tell: the drawn car binds.".to_owned()];
        return OddsView { revision, advice, told, runs_out };
    };
    let chance = odds.chance.share.map(|share| weld_study::chance(odds.chance.limits, share));
    let bands = shown_sides(car)
        .iter()
        .map(|&side| weld_study::worst_band(&odds.worst[side], words::wheel(car.mirrored, side)));
    let errors = ErrorSource::of_file(car.weld.as_ref());
    let cars = format!("{}, links adjusted.", weld_study::cars(lengths, odds.cars, &errors, car));
    OddsView { revision, advice, told: chance.into_iter().chain(bands).chain([cars]).collect(), runs_out }
}

/// The cures, then how well the curves are known.
fn advice(judged: &JudgedCar, lengths: LengthFormat) -> Vec<String> {
    let of_wheels: Vec<ToeAdvice> =
        shown_sides(judged.geometry()).iter().map(|&side| ToeAdvice::of(judged, side)).collect();
    let cures = of_wheels.iter().filter_map(|of| Some(present::cure(lengths, of.cure.as_ref()?)));
    let tapes = of_wheels.iter().filter_map(|of| Some(present::tape_band(lengths, of.tape_band.as_ref()?)));
    cures.chain(tapes).map(|sentence| words::sentence_start(&sentence)).collect()
}

fn runs_out(rig: &Rig, lengths: LengthFormat) -> Vec<String> {
    let mirrored = rig.geometry.mirrored;
    let of_side = |&side: &Side| {
        let told = present::runs_out::sentences(lengths, &Exhaustion::of(rig.wheel(side))?);
        let who = if mirrored { String::new() } else { format!("{}: ", side.name()) };
        Some(told.into_iter().map(move |sentence| format!("{who}{sentence}")).collect::<Vec<_>>())
    };
    shown_sides(rig.geometry).iter().filter_map(of_side).flatten().collect()
}
