//! What looks wrong in the car, what would cure it, what comes of it once it is welded, and what it runs out of: the second answer, which
//! takes longer than a frame.

use std::sync::{Arc, Mutex, PoisonError};

use rayon::{ThreadPool, ThreadPoolBuilder};
use serde::Serialize;

use super::variant::Letter;
use super::view::shown_sides;
use crate::geometry::{Geometry, Side};
use crate::present::{self, LengthFormat, weld_study, words};
use crate::studies::driveline::Exhaustion;
use crate::studies::errors::ErrorSource;
use crate::studies::plausibility::doubts;
use crate::studies::tune::BuildOdds;
use crate::studies::{JudgedCar, NotForetold, Rig, ToeAdvice};

/// Of the car that is shown, then of the other variant when that is compared with.
#[derive(Debug, Serialize)]
pub(super) struct OddsView {
    revision: u64,
    cars: Vec<VariantOdds>,
    /// A car is still to be built; ask again.
    more: bool,
}

#[derive(Debug, Serialize)]
struct VariantOdds {
    letter: Letter,
    #[serde(flatten)]
    odds: Odds,
}

/// All of one car.
#[derive(Debug, Clone, Serialize)]
struct Odds {
    advice: Vec<String>,
    told: Vec<String>,
    runs_out: Vec<String>,
}

/// Cars that are built for it.
const CARS: usize = 2_000;
/// Cars whose odds are remembered: both variants before and after a switch.
const REMEMBERED: usize = 4;

/// What was worked out last, the newest at the end.
#[derive(Debug)]
pub(super) struct KnownOdds {
    known: Mutex<Vec<(Arc<Geometry>, Odds)>>,
    /// Held while a car is built: who asks again meanwhile gets the same answer.
    building: Mutex<()>,
    /// Half of the threads there are, so that curves never wait for what is worked out beside them; without it, all of them.
    aside: Option<ThreadPool>,
}

impl KnownOdds {
    /// Nothing worked out yet.
    pub(super) fn new() -> Self {
        let threads = (rayon::current_num_threads() / 2).max(1);
        let aside = ThreadPoolBuilder::new().num_threads(threads).build().ok();
        Self { known: Mutex::default(), building: Mutex::default(), aside }
    }

    /// Works something out beside the curves.
    pub(super) fn aside<T: Send>(&self, work: impl FnOnce() -> T + Send) -> T {
        match &self.aside {
            Some(threads) => threads.install(work),
            None => work(),
        }
    }

    /// Of these cars, as far as they are known; one that is not is built, so that no answer takes as long as two.
    pub(super) fn view(&self, revision: u64, cars: Vec<(Letter, Arc<Geometry>)>) -> OddsView {
        let mut view = OddsView { revision, cars: Vec::new(), more: false };
        let mut has_built = false;
        for (letter, car) in cars {
            let odds = match self.known(&car) {
                Some(odds) => odds,
                None if has_built => {
                    view.more = true;
                    continue;
                }
                None => {
                    has_built = true;
                    self.build(car)
                }
            };
            view.cars.push(VariantOdds { letter, odds });
        }
        view
    }

    fn known(&self, car: &Arc<Geometry>) -> Option<Odds> {
        let known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        known.iter().find(|(of, _)| Arc::ptr_eq(of, car)).map(|(_, odds)| odds.clone())
    }

    fn build(&self, car: Arc<Geometry>) -> Odds {
        let _turn = self.building.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(odds) = self.known(&car) {
            return odds;
        }
        let odds = self.aside(|| Odds::of(&car));
        let mut known = self.known.lock().unwrap_or_else(PoisonError::into_inner);
        if known.len() == REMEMBERED {
            known.remove(0);
        }
        known.push((car, odds.clone()));
        odds
    }
}

impl Odds {
    /// Doubts and advice, chance and band of a welded car, and what it runs out of.
    fn of(car: &Geometry) -> Self {
        let lengths = LengthFormat(car.units);
        let moved = |rig: Rig| (runs_out(&rig, lengths), advice(&JudgedCar::of(rig), lengths));
        let (runs_out, cures) = Rig::new(car).map_or_else(|_| (Vec::new(), Vec::new()), moved);
        let doubts = doubts(car).into_iter().map(|doubt| format!("Look again: {}", doubt.sentence));
        let advice = doubts.chain(cures).collect();
        if let Some(why) = NotForetold::of_built(car) {
            let told = vec![words::sentence_start(&why.to_string()) + "."];
            return Self { advice, told, runs_out };
        }
        let Some(odds) = BuildOdds::of(car, CARS) else {
            let told = vec!["No chance to tell: the drawn car binds.".to_owned()];
            return Self { advice, told, runs_out };
        };
        let chance = odds.chance.share.map(|share| weld_study::chance(odds.chance.limits, share));
        let bands = shown_sides(car)
            .iter()
            .map(|&side| weld_study::worst_band(&odds.worst[side], words::wheel(car.looks_alike(), side)));
        let errors = ErrorSource::of_file(car.weld.as_ref());
        let cars = format!("{}, links adjusted.", weld_study::cars(lengths, odds.cars, &errors, car));
        Self { advice, told: chance.into_iter().chain(bands).chain([cars]).collect(), runs_out }
    }
}

/// The cures, then how well the curves are known.
fn advice(judged: &JudgedCar, lengths: LengthFormat) -> Vec<String> {
    let geometry = judged.geometry();
    let of_wheels: Vec<(Side, ToeAdvice)> =
        shown_sides(geometry).iter().map(|&side| (side, ToeAdvice::of(judged, side))).collect();
    let whose = |side: Side, sentence: String| match geometry.looks_alike() {
        true => sentence,
        false => format!("{} wheel: {sentence}", words::sentence_start(side.name())),
    };
    let cures = of_wheels.iter().filter_map(|(side, of)| Some(whose(*side, present::cure(lengths, of.cure.as_ref()?))));
    let tapes = of_wheels
        .iter()
        .filter_map(|(side, of)| Some(whose(*side, present::tape_band(lengths, of.tape_band.as_ref()?))));
    cures.chain(tapes).collect()
}

fn runs_out(rig: &Rig, lengths: LengthFormat) -> Vec<String> {
    let mirrored = rig.geometry.looks_alike();
    let of_side = |&side: &Side| Some((side, Exhaustion::of(rig.wheel(side))?));
    let found: Vec<(Side, Exhaustion)> = shown_sides(rig.geometry).iter().filter_map(of_side).collect();
    let told = found.iter().flat_map(|(side, found)| {
        let who = if mirrored { String::new() } else { format!("{}: ", side.name()) };
        present::runs_out::sentences(lengths, found).into_iter().map(move |sentence| format!("{who}{sentence}"))
    });
    let star = found.iter().find_map(|(_, found)| present::runs_out::typical(found));
    told.chain(star.map(str::to_owned)).collect()
}
