//! A tuning that was started from the page: it runs beside the page and can be stopped.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use serde::Serialize;

use super::refusal::Refusal;
use super::view::shown_sides;
use crate::file::{GeometryFile, rewrite};
use crate::geometry::{Geometry, Side};
use crate::present::{self, LengthFormat, words};
use crate::studies::plausibility::doubts;
use crate::studies::tolerance::{USUAL_CARS, Watch};
use crate::studies::tune::{
    Answer, Choice, OtherOdds, SearchOptions, TunedOdds, TunedSide, hidden_doubts, tune, tuned_geometry,
};
use crate::studies::{JudgedCar, Rig};

/// As many as the command line takes when it is not told.
const STARTS: usize = 8;
const SEED: u64 = 1;
/// Built of each answer, as many as there.
const CARS: usize = USUAL_CARS as usize;
const STOPPED: &str = "Stopped before the search was done: this is the best so far; undo takes it back. A search that is done chooses the \
    answer that leaves most room for weld errors.";
const AS_IT_WAS: &str = "Tuned: the search found no better place for any point, so nothing was changed.";
const STOPPED_AS_IT_WAS: &str = "Stopped before the search found a better place for any point: nothing was changed.";

/// How far a tuning is.
#[derive(Debug, Clone, Default)]
pub(super) struct Tuning {
    stop: Arc<AtomicBool>,
    descents: Arc<AtomicUsize>,
    end: Arc<Mutex<Option<End>>>,
}

/// How a tuning ended.
#[derive(Debug, Clone)]
struct End {
    told: String,
    /// The car is another one now.
    tuned: bool,
    /// Nothing went wrong.
    good: bool,
}

/// The same as the page is told it.
#[derive(Debug, Serialize)]
pub(super) struct TuningView {
    running: bool,
    descents: usize,
    /// How it ended.
    told: Option<String>,
    /// It ended with another car.
    tuned: bool,
    /// It ended as it should, with another car or because none is better.
    good: bool,
}

impl Tuning {
    /// Ends early, with the best so far.
    pub(super) fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    /// Whether it was asked to end early.
    pub(super) fn is_stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    pub(super) fn is_running(&self) -> bool {
        self.end.lock().unwrap_or_else(PoisonError::into_inner).is_none()
    }

    /// Does the work, which gives whether the car is another one now and what was done, and tells how it ended, also when it ends by
    /// a fault of the program.
    pub(super) fn end_with(&self, work: impl FnOnce(&Self) -> Result<(bool, Vec<String>), Refusal>) {
        let ended = catch_unwind(AssertUnwindSafe(|| work(self)));
        let end = match ended.unwrap_or_else(|_| Err(Refusal::fault("the tuning broke off"))) {
            Ok((true, did)) => {
                let head = if self.is_stopped() { STOPPED } else { "Tuned; undo takes it back." };
                End { told: [&[head.to_owned()], &did[..]].concat().join("\n"), tuned: true, good: true }
            }
            Ok((false, _)) => {
                let told = if self.is_stopped() { STOPPED_AS_IT_WAS } else { AS_IT_WAS };
                End { told: told.to_owned(), tuned: false, good: true }
            }
            Err(refusal) => {
                End { told: format!("Not tuned: {}.\n{}", refusal.what, refusal.advice), tuned: false, good: false }
            }
        };
        *self.end.lock().unwrap_or_else(PoisonError::into_inner) = Some(end);
    }

    pub(super) fn view(&self) -> TuningView {
        let end = self.end.lock().unwrap_or_else(PoisonError::into_inner).clone();
        TuningView {
            running: end.is_none(),
            descents: self.descents.load(Ordering::Relaxed),
            tuned: end.as_ref().is_some_and(|end| end.tuned),
            good: end.as_ref().is_some_and(|end| end.good),
            told: end.map(|end| end.told),
        }
    }

    /// The tuned car, as it reads back from its file, and what became another one.
    pub(super) fn run(&self, file: &GeometryFile, car: &Geometry) -> Result<(Geometry, Vec<String>), Refusal> {
        let count = || {
            self.descents.fetch_add(1, Ordering::Relaxed);
        };
        let stop = || self.is_stopped();
        let options =
            SearchOptions { seed: SEED, starts: STARTS, stop: &stop, progress: &count, ..SearchOptions::default() };
        let as_written =
            |changed: &Geometry| Some(GeometryFile::parse(&file.source, &rewrite(file, changed).ok()?).ok()?.geometry);
        let found = tune(car, &Side::BOTH, &options, &as_written).map_err(|error| {
            let (what, advice) = present::tuning::not_tuned(car, &error);
            Refusal::unsound(what, advice)
        })?;
        let best: Vec<(Side, &Answer)> =
            found.iter().map(|side| (side.side, side.chosen(Choice::MostForgiving))).collect();
        let tuned = tuned_geometry(car, &best);
        let lengths = LengthFormat(car.units);
        let judged = |car| Rig::new(car).ok().map(|rig| JudgedCar::of(rig).verdicts);
        let verdicts = judged(car)
            .zip(judged(&tuned))
            .map(|(before, after)| present::changed_verdicts(lengths, [&before, &after], shown_sides(car)));
        let moved = present::moved_points(lengths, car, &best);
        // Who stops it does not wait for thousands of cars.
        let odds = (!self.is_stopped())
            .then(|| TunedOdds::of(car, &found, &as_written, Choice::MostForgiving, CARS, Watch::NONE).others);
        let of_sides = found.iter().flat_map(|side| of_side(car, side, odds.as_deref().unwrap_or_default()));
        let hidden = hidden_doubts(&doubts(car), &doubts(&tuned));
        let hidden = hidden.iter().map(present::tuning::hidden_doubt);
        let unmoved = found.iter().filter(|side| side.chosen(Choice::MostForgiving).corner == *car.corner(side.side));
        let unmoved = unmoved.filter(|_| self.is_stopped() && found.len() > 1).map(|side| {
            let who = words::sentence_start(side.side.name());
            format!("{who} wheel: not moved; the search was stopped before it found anything better there.")
        });
        let did = unmoved.chain(moved).chain(verdicts.unwrap_or_default()).chain(of_sides).chain(hidden).collect();
        Ok((tuned, did))
    }
}

/// What a wheel used of its room and what it could be instead, with the chance of each other answer; of unlike wheels each says whose it is.
fn of_side(car: &Geometry, side: &TunedSide, odds: &[OtherOdds]) -> Vec<String> {
    let ends: Vec<_> = side.chosen(Choice::MostForgiving).at_ends.iter().collect();
    let ends = present::tuning::at_ends(car, side.side, &ends, usize::MAX);
    let others = side.others(Choice::MostForgiving);
    // The page writes no file of them.
    let others = present::tuning::other_answers(LengthFormat(car.units), &others, &[], odds)
        .map(|told| format!("{told} `hubtrace tune` writes each as a file."));
    let who =
        if car.looks_alike() { String::new() } else { format!("{} wheel: ", words::sentence_start(side.side.name())) };
    ends.into_iter().chain(others).map(|sentence| format!("{who}{sentence}")).collect()
}

impl TuningView {
    /// None was started.
    pub(super) fn none() -> Self {
        Self { running: false, descents: 0, told: None, tuned: false, good: false }
    }
}

#[cfg(test)]
mod tests {
    use super::Tuning;

    #[test]
    fn a_tuning_that_breaks_off_runs_no_longer_and_says_so() {
        let tuning = Tuning::default();
        assert!(tuning.is_running());
        tuning.end_with(|_| panic!("on purpose"));
        assert!(!tuning.is_running());
        let told = tuning.view().told.expect("an end");
        assert!(told.starts_with("Not tuned: a fault of hubtrace itself"), "{told}");
    }
}
