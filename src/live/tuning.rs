//! A tuning that was started from the page: it runs beside the page and can be stopped.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use serde::Serialize;

use super::refusal::Refusal;
use crate::file::{GeometryFile, rewrite};
use crate::geometry::{Geometry, Side};
use crate::studies::tune::{Answer, Choice, SearchOptions, tune, tuned_geometry};

/// As many as the command line takes when it is not told.
const STARTS: usize = 8;
const SEED: u64 = 1;

/// How far a tuning is.
#[derive(Debug, Clone, Default)]
pub(super) struct Tuning {
    stop: Arc<AtomicBool>,
    descents: Arc<AtomicUsize>,
    end: Arc<Mutex<Option<String>>>,
}

/// The same as the page is told it.
#[derive(Debug, Serialize)]
pub(super) struct TuningView {
    running: bool,
    descents: usize,
    /// How it ended.
    told: Option<String>,
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

    /// Does the work and tells how it ended, also when it ends by a fault of the program.
    pub(super) fn end_with(&self, work: impl FnOnce(&Self) -> Result<(), Refusal>) {
        let ended = catch_unwind(AssertUnwindSafe(|| work(self)));
        let told = match ended.unwrap_or_else(|_| Err(Refusal::fault("the tuning broke off"))) {
            Ok(()) if self.is_stopped() => {
                "Stopped before the search was done: this is the best so far; undo takes it back.".to_owned()
            }
            Ok(()) => "Tuned; undo takes it back.".to_owned(),
            Err(refusal) => format!("Not tuned: {}; {}.", refusal.what, refusal.advice),
        };
        *self.end.lock().unwrap_or_else(PoisonError::into_inner) = Some(told);
    }

    pub(super) fn view(&self) -> TuningView {
        let told = self.end.lock().unwrap_or_else(PoisonError::into_inner).clone();
        TuningView { running: told.is_none(), descents: self.descents.load(Ordering::Relaxed), told }
    }

    /// The tuned car, as it reads back from its file.
    pub(super) fn run(&self, file: &GeometryFile, car: &Geometry) -> Result<Geometry, Refusal> {
        let count = || {
            self.descents.fetch_add(1, Ordering::Relaxed);
        };
        let stop = || self.is_stopped();
        let options = SearchOptions { seed: SEED, starts: STARTS, stop: &stop, progress: &count };
        let as_written =
            |changed: &Geometry| Some(GeometryFile::parse(&file.source, &rewrite(file, changed).ok()?).ok()?.geometry);
        let advice = "give `free` and [targets] in the file; `hubtrace tune` tells more";
        let tuned = tune(car, &Side::BOTH, &options, &as_written).map_err(|error| Refusal::unsound(error, advice))?;
        let best: Vec<(Side, &Answer)> =
            tuned.iter().map(|side| (side.side, side.chosen(Choice::MostForgiving))).collect();
        Ok(tuned_geometry(car, &best))
    }
}

impl TuningView {
    /// None was started.
    pub(super) fn none() -> Self {
        Self { running: false, descents: 0, told: None }
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
