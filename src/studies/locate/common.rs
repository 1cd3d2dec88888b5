//! One error behind several readings that do not fit: a datum that is elsewhere, or a tape whose zero is off.
//!
//! Each is tried as a hypothesis: a datum is sought like a point, or one length is added to every taped distance. It is believed
//! when it leaves fewer doubts, itself counted too, and every place that was known is still known.
//!
//! Tested by `tests/survey/common.rs`.

use super::adjustment::Adjustment;
use super::network::Network;
use super::observation::{index_of, observations};
use super::statistics::critical_residual;
use crate::survey::{Reading, ReadingKind, Station, Survey};

/// The standard deviation with which a datum is sought: no reading feels it.
const SOUGHT_SD_MM: f64 = 1e4;
/// Three readings place a datum; one more shows that it was the datum.
const LEAST_READINGS: usize = 4;
/// Fewer doubts are readings that were misread, one by one.
const LEAST_DOUBTS: usize = 2;
/// Readings that scatter far more than was said count as so many doubts.
const SCATTER_DOUBTS: usize = 2;
/// As many errors of this kind as one survey is believed to have.
const MAX_ERRORS: usize = 3;
/// Times that it is sought anew without the readings that do not fit.
const ZERO_ROUNDS: usize = 2;
/// Steps in which the tape's zero is sought, mm: a parabola through three sums of squares, then a finer one.
const ZERO_STEPS_MM: [f64; 3] = [8.0, 2.0, 0.5];

/// One error behind several readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum CommonError {
    /// By its number.
    Datum(usize),
    /// So much is to be added to every taped distance.
    TapeZero { by_mm: f64, sd_mm: f64 },
}

impl CommonError {
    /// As many doubts as it must at least take away: three coordinates fit any two readings that were misread.
    fn counts_as(self) -> usize {
        match self {
            CommonError::Datum(_) => 2,
            CommonError::TapeZero { .. } => 1,
        }
    }
}

/// A survey without the errors that several readings share.
pub(super) struct Corrected {
    pub(super) survey: Survey,
    /// Each with the readings that it explains, by their index.
    pub(super) errors: Vec<(CommonError, Vec<usize>)>,
}

impl Corrected {
    pub(super) fn of(survey: &Survey) -> Self {
        let mut corrected = Self { survey: survey.clone(), errors: Vec::new() };
        while corrected.errors.len() < MAX_ERRORS {
            let Some((survey, error)) = corrected.next() else { break };
            corrected.survey = survey;
            corrected.errors.push(error);
        }
        corrected
    }

    /// The survey with the error that explains most, when there is one.
    fn next(&self) -> Option<(Survey, (CommonError, Vec<usize>))> {
        let before = Adjustment::of(&self.survey);
        let doubts = doubts(&before);
        if doubts < LEAST_DOUBTS {
            return None;
        }
        let tried = hypotheses(&before).into_iter().filter_map(|(survey, error)| {
            let after = Adjustment::of(&survey);
            let left = self::doubts(&after) + error.counts_as();
            let explained = explained(&before, &after);
            let is_believed = left < doubts && keeps_places(&before, &after);
            is_believed.then_some((left, after.noise.factor, survey.clone(), (error, explained)))
        });
        let best = tried.min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)))?;
        Some((best.2, best.3))
    }
}

/// Readings and datums that do not fit, and readings that scatter more than was said.
fn doubts(adjustment: &Adjustment<'_>) -> usize {
    let contradictions: usize = adjustment.groups.iter().map(|group| group.snooped.contradiction.len()).sum();
    let scatter = if adjustment.noise.is_scaled { SCATTER_DOUBTS } else { 0 };
    adjustment.suspects().len() + contradictions + scatter
}

/// Readings that were doubted and are no longer.
fn explained(before: &Adjustment<'_>, after: &Adjustment<'_>) -> Vec<usize> {
    let doubted = |adjustment: &Adjustment<'_>| {
        let suspects = adjustment.suspects().into_iter().map(|(index, _)| index);
        let contradictions = adjustment.groups.iter().flat_map(|group| group.snooped.contradiction.clone());
        let readings = suspects.chain(contradictions).filter_map(|index| adjustment.observations[index].reading());
        readings.collect::<Vec<usize>>()
    };
    let still = doubted(after);
    let mut explained: Vec<usize> = doubted(before).into_iter().filter(|reading| !still.contains(reading)).collect();
    explained.sort_unstable();
    explained
}

fn keeps_places(before: &Adjustment<'_>, after: &Adjustment<'_>) -> bool {
    (0..before.places().len()).all(|place| !before.is_determined(place) || after.is_determined(place))
}

/// Surveys that each leave one thing open.
fn hypotheses(adjustment: &Adjustment<'_>) -> Vec<(Survey, CommonError)> {
    let survey = adjustment.survey;
    let reaches = |reading: &Reading, datum: usize| {
        reading.read_mm.is_some() && reading.kind.stations().any(|end| end == Station::Datum(datum))
    };
    let readings_of = |datum: usize| survey.readings.iter().filter(|reading| reaches(reading, datum)).count();
    let is_open = |datum: &usize| survey.datums[*datum].sd_mm < SOUGHT_SD_MM && readings_of(*datum) >= LEAST_READINGS;
    let sought = (0..survey.datums.len()).filter(is_open).map(|datum| {
        let mut survey = survey.clone();
        survey.datums[datum].sd_mm = SOUGHT_SD_MM;
        (survey, CommonError::Datum(datum))
    });
    let zero =
        tape_zero(adjustment).map(|(by_mm, sd_mm)| (with_hook(survey, by_mm), CommonError::TapeZero { by_mm, sd_mm }));
    sought.chain(zero).collect()
}

/// What added to every taped distance makes the sum of squares least, and its standard deviation, mm; `None` when it is nothing to
/// speak of. Readings that do not fit with it are left out, and it is sought again.
fn tape_zero(adjustment: &Adjustment<'_>) -> Option<(f64, f64)> {
    let survey = adjustment.survey;
    let is_taped = |reading: &&Reading| matches!(reading.kind, ReadingKind::Distance(_)) && reading.read_mm.is_some();
    if survey.readings.iter().filter(is_taped).count() < LEAST_READINGS {
        return None;
    }
    let (mut by_mm, mut sd_mm) = least_squares_zero(adjustment, 0.0, &[])?;
    for _ in 0..ZERO_ROUNDS {
        let hooked = with_hook(survey, by_mm);
        let left_out: Vec<usize> = Adjustment::of(&hooked).suspects().into_iter().map(|(index, _)| index).collect();
        (by_mm, sd_mm) = least_squares_zero(adjustment, by_mm, &left_out)?;
    }
    (by_mm.abs() > critical_residual(adjustment.observations.len()) * sd_mm).then_some((by_mm, sd_mm))
}

/// The lowest point of parabolas through three sums of squares, the last of them narrow, and its standard deviation, mm.
fn least_squares_zero(adjustment: &Adjustment<'_>, from_mm: f64, left_out: &[usize]) -> Option<(f64, f64)> {
    let sum = |by_mm: f64| sum_of_squares(&with_hook(adjustment.survey, by_mm), adjustment, left_out);
    let (mut by_mm, mut sd_mm) = (from_mm, f64::INFINITY);
    for step_mm in ZERO_STEPS_MM {
        let [below, here, above] = [-step_mm, 0.0, step_mm].map(|step| sum(by_mm + step));
        let bend = (above + below - 2.0 * here) / (2.0 * step_mm * step_mm);
        if bend <= 0.0 {
            return None;
        }
        by_mm -= (above - below) / (4.0 * step_mm * bend);
        sd_mm = bend.sqrt().recip();
    }
    Some((by_mm, sd_mm))
}

fn with_hook(survey: &Survey, by_mm: f64) -> Survey {
    Survey { hook_mm: survey.hook_mm + by_mm, ..survey.clone() }
}

/// Of the observations that are not left out, with every place that is sought where it fits best.
fn sum_of_squares(survey: &Survey, adjustment: &Adjustment<'_>, left_out: &[usize]) -> f64 {
    let observations = observations(survey);
    let is_kept = |index: &usize| !left_out.contains(index);
    let seen: Vec<_> = (0..observations.len()).filter(is_kept).map(|index| &observations[index]).collect();
    let datums = (0..survey.datums.len()).filter(|&datum| survey.datums[datum].sd_mm > 0.0);
    let points = (0..survey.points.len()).map(|point| index_of(survey, Station::Point(point)));
    let unknowns: Vec<usize> = datums.chain(points).collect();
    Network { unknowns: &unknowns, observations: &seen }.solve(adjustment.places()).sum_of_squares
}
