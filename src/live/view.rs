//! What the page is told of a car: findings in the words of `present`, charts of `outputs`, and where its points are.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::beside::{JudgedBeside, KnownBeside};
use super::points::{PointView, points};
use super::posture::{PostureView, posture};
use super::refusal::Refusal;
use super::results::{LimitView, gaps, limits, told, totals};
use super::session::Session;
use super::variant::{FileFacts, Letter};
use crate::file::GeometryFile;
use crate::geometry::{Geometry, LengthUnit, Side};
use crate::outputs::{CarBeside, CarShown, ChartSource, chart_names, charts_beside};
use crate::present::{self, LengthFormat, words};
use crate::studies::{CarFindings, Curves, JudgedCar, LooseDesign, Rig};

/// Which posture and which charts the page shows.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub(super) struct Show {
    /// Travel of the left wheel, the body level, mm.
    pub bump_mm: f64,
    /// ISO 8855 sign, deg.
    pub roll_deg: f64,
    /// File names of charts; none for the posture alone.
    pub charts: Vec<String>,
    /// Charts are drawn for a phone.
    pub narrow: bool,
    /// Only the posture is asked for.
    pub posture_only: bool,
    /// Of the start of the program that the page was loaded from; empty where it does not say.
    pub run: String,
}

/// The car of a session, for the moment in which a view is made.
pub(super) struct Shown {
    pub revision: u64,
    run: String,
    pub(super) now: Arc<Geometry>,
    /// The car that it is compared with.
    pub(super) beside: Arc<Geometry>,
    letter: Letter,
    /// Of the car beside, when it is the other variant.
    beside_letter: Option<Letter>,
    beside_name: &'static str,
    other: Option<Letter>,
    pub(super) drawn: Arc<Geometry>,
    source: String,
    /// Under which a save would put it.
    file_name: String,
    facts: Arc<FileFacts>,
    demo: bool,
    changed: bool,
    was_tuned: bool,
    undo: Option<String>,
    redo: Option<String>,
    saved: Option<String>,
    has_pinned: bool,
}

impl Shown {
    /// Copies what a view needs, so that the session is free while it is made.
    pub(super) fn of(session: &Session) -> Self {
        let [undo, redo] = session.steps();
        let file: &GeometryFile = session.file();
        let (beside, beside_letter) = session.beside();
        Self {
            revision: session.revision(),
            run: session.run().to_owned(),
            now: Arc::clone(session.car()),
            beside: Arc::clone(beside),
            letter: session.letter(),
            beside_letter,
            beside_name: session.beside_name(),
            other: session.other(),
            drawn: Arc::clone(session.drawn()),
            source: file.source.clone(),
            file_name: session.file_name(),
            facts: Arc::clone(session.facts()),
            demo: session.is_demo(),
            changed: session.is_changed(),
            was_tuned: session.was_tuned(),
            undo,
            redo,
            saved: None,
            has_pinned: session.has_pinned(),
        }
    }

    /// With the name under which the car was just saved.
    pub(super) fn saved_as(self, name: String) -> Self {
        Self { saved: Some(name), ..self }
    }
}

/// Everything the page shows.
#[derive(Debug, Serialize)]
pub(super) struct View {
    pub revision: u64,
    /// Of this start of the program.
    run: String,
    #[serde(flatten)]
    pub posture: PostureView,
    #[serde(skip_serializing_if = "Option::is_none", flatten)]
    pub car: Option<CarView>,
}

/// The car, apart from where it stands.
#[derive(Debug, Serialize)]
pub(super) struct CarView {
    name: String,
    source: String,
    file_name: String,
    stage: &'static str,
    demo: bool,
    changed: bool,
    undo: Option<String>,
    redo: Option<String>,
    saved: Option<String>,
    /// What is to be known of points that are no longer those of the built car.
    plan: Option<&'static str>,
    /// A car was pinned, compared with now or not.
    has_pinned: bool,
    /// Which variant this is.
    letter: Letter,
    /// Which one is kept aside.
    other: Option<Letter>,
    /// Which one it is compared with, unless it is the pinned car or that of the start.
    beside: Option<Letter>,
    beside_name: &'static str,
    unit: &'static str,
    unit_mm: f64,
    travel: TravelView,
    steps: [StepView; 3],
    points: Vec<PointView>,
    tubes: Vec<TubeView>,
    totals: String,
    /// How many points are still those of the starter, and which.
    starter: Option<[String; 2]>,
    limits: Vec<LimitView>,
    told: Vec<String>,
    gaps: Vec<String>,
    chart_names: Vec<&'static str>,
    charts: Vec<ChartView>,
    cautions: Vec<&'static str>,
}

#[derive(Debug, Serialize)]
struct TravelView {
    bump_mm: f64,
    droop_mm: f64,
    roll_deg: f64,
}

/// How far a key or a button moves the picked point.
#[derive(Debug, Serialize)]
struct StepView {
    mm: f64,
    words: String,
}

/// A member of the frame, car axes.
#[derive(Debug, Serialize)]
struct TubeView {
    ends: [[f64; 3]; 2],
    /// Without an outside diameter it is a line.
    radius_mm: Option<f64>,
}

#[derive(Debug, Serialize)]
struct ChartView {
    name: &'static str,
    svg: String,
}

/// The view of a car at a posture.
pub(super) fn view(shown: Shown, show: &Show, known: &KnownBeside) -> Result<View, Refusal> {
    let rig = rig(&shown.now)?;
    let lengths = LengthFormat(shown.now.units);
    let posture = posture(&rig, lengths, show);
    let (revision, run) = (shown.revision, shown.run.clone());
    if show.posture_only {
        return Ok(View { revision, run, posture, car: None });
    }
    // A second variant has its column from the start.
    let is_alone = shown.beside_letter.is_none() && Arc::ptr_eq(&shown.now, &shown.beside);
    let (found, beside) = rayon::join(
        || CarFindings::without_advice(JudgedCar::of(rig), &Side::BOTH),
        || if is_alone { None } else { known.judged(&shown.beside) },
    );
    let car = CarView::of(&shown, &found, beside.as_deref().map(JudgedBeside::judged), show)?;
    Ok(View { revision, run, posture, car: Some(car) })
}

fn rig(car: &Geometry) -> Result<Rig<'_>, Refusal> {
    Rig::new(car).map_err(|singular| {
        let (what, advice) = present::loose_design(LooseDesign::of(car.corner(singular.side)), singular.side);
        Refusal::unsound(what, advice)
    })
}

impl CarView {
    fn of(
        shown: &Shown,
        found: &CarFindings,
        beside: Option<&(JudgedCar, Curves)>,
        show: &Show,
    ) -> Result<Self, Refusal> {
        let car: &Geometry = &shown.now;
        let lengths = LengthFormat(car.units);
        let which = if shown.changed { CarShown::NotSaved } else { CarShown::AsInFile };
        let source = ChartSource { file: &shown.source, input_sha256: &shown.facts.input_sha256, car: which };
        let pale = beside.map(|(car, curves)| CarBeside { name: shown.beside_name, car, curves });
        let draw =
            || charts_beside((&found.judged, &found.curves), pale, (&found.sides, source), (&show.charts, show.narrow));
        let (charts, points) = rayon::join(draw, || points(shown, found));
        let charts = charts.map_err(|error| Refusal::fault(&error))?;
        Ok(Self {
            name: car.name.clone(),
            source: shown.source.clone(),
            file_name: shown.file_name.clone(),
            stage: words::stage(car),
            demo: shown.demo,
            changed: shown.changed,
            undo: shown.undo.clone(),
            redo: shown.redo.clone(),
            saved: shown.saved.clone(),
            plan: (car.built && car.planned).then_some(present::PLANNED),
            has_pinned: shown.has_pinned,
            letter: shown.letter,
            other: shown.other,
            beside: shown.beside_letter,
            beside_name: shown.beside_name,
            unit: lengths.symbol(),
            unit_mm: car.units.in_mm(),
            travel: TravelView {
                bump_mm: car.travel.bump_mm,
                droop_mm: car.travel.droop_mm,
                roll_deg: car.travel.roll_deg,
            },
            steps: steps(lengths),
            points,
            tubes: tubes(car),
            totals: totals(lengths, found),
            starter: starter(shown),
            limits: limits(lengths, car, &found.limits, beside.map(|(car, _)| &car.verdicts[..])),
            told: told(lengths, found),
            gaps: gaps(lengths, found),
            chart_names: chart_names(&found.judged, &found.curves, &found.sides, source),
            charts: charts.into_iter().map(|(name, svg)| ChartView { name, svg }).collect(),
            cautions: cautions(car),
        })
    }
}

/// Round steps in the unit of the file, the finest first.
fn steps(lengths: LengthFormat) -> [StepView; 3] {
    let steps = match lengths.0 {
        LengthUnit::Millimetre => [0.1, 1.0, 10.0],
        LengthUnit::Inch => [0.005, 0.05, 0.5],
    };
    steps.map(|step| StepView { mm: step * lengths.0.in_mm(), words: format!("{step} {}", lengths.symbol()) })
}

/// Both sides of the frame: a tube is given for the left one.
fn tubes(car: &Geometry) -> Vec<TubeView> {
    let on = |side: Side| {
        car.tubes.iter().map(move |tube| TubeView {
            ends: [tube.from, tube.to].map(|end| side.to_car(end).into()),
            radius_mm: tube.od_mm.map(|od_mm| 0.5 * od_mm),
        })
    };
    Side::BOTH.into_iter().flat_map(on).collect()
}

fn starter(shown: &Shown) -> Option<[String; 2]> {
    let untouched = shown.facts.starter.as_ref()?.untouched(&shown.now.left);
    let (count, names) = present::starter_count(&untouched, shown.was_tuned)?;
    Some([words::sentence_start(&count) + ".", names])
}

fn cautions(car: &Geometry) -> Vec<&'static str> {
    let rows = car.left.halfshaft.as_ref().map(|_| present::SHAFT_ROWS);
    [present::STUDY_CAUTION, present::ROLL_CENTRE].into_iter().chain(rows).collect()
}

/// One side stands for both when they are mirror images.
pub(super) fn shown_sides(car: &Geometry) -> &'static [Side] {
    car.told_sides(&Side::BOTH)
}
