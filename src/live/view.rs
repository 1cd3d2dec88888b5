//! What the page is told of a car: findings in the words of `present`, charts of `outputs`, and where its points are.

use std::sync::Arc;

use nalgebra::Point3;
use serde::{Deserialize, Serialize};

use super::refusal::Refusal;
use super::session::Session;
use crate::file::GeometryFile;
use crate::geometry::{CornerPoint, End, Geometry, Over, Pickup, Quantity, Side};
use crate::outputs::{CarShown, ChartSource, chart_names, charts_beside, sha256_hex};
use crate::present::{self, LengthFormat, LimitRow, weld_study, words};
use crate::studies::errors::ErrorSource;
use crate::studies::tune::BuildOdds;
use crate::studies::{CarFindings, Curves, JudgedCar, LooseDesign, PosedCar, PosedWheel, Rig, RoomUse, State, Verdict};

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
    /// Only the posture is asked for.
    pub posture_only: bool,
}

/// The car of a session, for the moment in which a view is made.
pub(super) struct Shown {
    pub revision: u64,
    now: Arc<Geometry>,
    pinned: Arc<Geometry>,
    drawn: Arc<Geometry>,
    source: String,
    input_sha256: String,
    demo: bool,
    changed: bool,
    undo: Option<String>,
    redo: Option<String>,
    saved: Option<String>,
}

impl Shown {
    /// Copies what a view needs, so that the session is free while it is made.
    pub(super) fn of(session: &Session) -> Self {
        let [undo, redo] = session.steps();
        let file: &GeometryFile = session.file();
        Self {
            revision: session.revision(),
            now: Arc::clone(session.car()),
            pinned: Arc::clone(session.pinned()),
            drawn: Arc::clone(session.drawn()),
            source: file.source.clone(),
            input_sha256: sha256_hex(file.text.as_bytes()),
            demo: session.is_demo(),
            changed: session.is_changed(),
            undo,
            redo,
            saved: None,
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
    stage: &'static str,
    demo: bool,
    changed: bool,
    undo: Option<String>,
    redo: Option<String>,
    saved: Option<String>,
    unit: &'static str,
    unit_mm: f64,
    travel: TravelView,
    points: Vec<PointView>,
    totals: String,
    limits: Vec<LimitView>,
    told: Vec<String>,
    gaps: Vec<String>,
    chart_names: Vec<&'static str>,
    charts: Vec<ChartView>,
    cautions: [&'static str; 2],
}

#[derive(Debug, Serialize)]
struct TravelView {
    bump_mm: f64,
    droop_mm: f64,
    roll_deg: f64,
}

/// A point that can be moved, car axes.
#[derive(Debug, Serialize)]
struct PointView {
    side: Side,
    name: String,
    /// Where the posture has it.
    part: PartView,
    at_mm: [f64; 3],
    pinned_mm: [f64; 3],
    /// Lowest and highest place of each coordinate that the frame leaves it, car axes.
    room_mm: [Option<[f64; 2]>; 3],
    /// What is wrong here, or how much room is left.
    told: Vec<String>,
    wrong: bool,
}

/// The part that a point belongs to, and which of its two ends it is.
#[derive(Debug, Serialize)]
#[serde(rename_all = "snake_case")]
enum PartView {
    Pickup(usize, usize),
    Halfshaft(usize),
    Spring(usize),
    Wheel,
}

impl PartView {
    fn of(point: CornerPoint) -> Self {
        match point {
            CornerPoint::Pickup(Pickup { link, end }) => Self::Pickup(link, usize::from(end == End::Upright)),
            CornerPoint::HalfshaftInner => Self::Halfshaft(0),
            CornerPoint::HalfshaftOuter => Self::Halfshaft(1),
            CornerPoint::SpringChassis => Self::Spring(0),
            CornerPoint::SpringMount => Self::Spring(1),
            CornerPoint::WheelCentre => Self::Wheel,
        }
    }
}

#[derive(Debug, Serialize)]
struct LimitView {
    name: String,
    over: &'static str,
    unit: &'static str,
    found: Vec<String>,
    pinned: Vec<String>,
    limit: String,
    verdict: String,
    state: State,
    reason: &'static str,
}

#[derive(Debug, Serialize)]
struct ChartView {
    name: &'static str,
    svg: String,
}

/// Where the car stands.
#[derive(Debug, Default, Serialize)]
pub(super) struct PostureView {
    bump_mm: f64,
    roll_deg: f64,
    wheels: Vec<WheelView>,
    road: Vec<[f64; 3]>,
    /// Why a wheel cannot stand there.
    stands: Vec<String>,
}

#[derive(Debug, Serialize)]
struct WheelView {
    side: Side,
    #[serde(flatten)]
    place: PosedWheel,
    radius_mm: f64,
    width_mm: Option<f64>,
    told: Vec<String>,
    /// A joint of the halfshaft is beyond its limit.
    joint_wrong: bool,
}

/// What comes of the car once it is welded: the second answer, which takes longer than a frame.
#[derive(Debug, Serialize)]
pub(super) struct OddsView {
    revision: u64,
    told: Vec<String>,
}

/// Cars that are built for it.
const CARS: usize = 2_000;

/// Chance and band of a welded car.
pub(super) fn odds(revision: u64, car: &Geometry) -> OddsView {
    let Some(odds) = BuildOdds::of(car, CARS) else {
        return OddsView { revision, told: vec!["No chance to tell: the drawn car binds.".to_owned()] };
    };
    let lengths = LengthFormat(car.units);
    let chance = odds.chance.share.map(|share| weld_study::chance(odds.chance.limits, share));
    let bands = shown_sides(car)
        .iter()
        .map(|&side| weld_study::worst_band(&odds.worst[side], words::wheel(car.mirrored, side)));
    let errors = ErrorSource::of_file(car.weld.as_ref());
    let cars = format!("{}, links adjusted.", weld_study::cars(lengths, odds.cars, &errors, car));
    OddsView { revision, told: chance.into_iter().chain(bands).chain([cars]).collect() }
}

/// The view of a car at a posture.
pub(super) fn view(shown: Shown, show: &Show) -> Result<View, Refusal> {
    let rig = rig(&shown.now)?;
    let lengths = LengthFormat(shown.now.units);
    let posture = posture(&rig, lengths, show);
    let revision = shown.revision;
    if show.posture_only {
        return Ok(View { revision, posture, car: None });
    }
    let pinned = || {
        let rig = Rig::new(&shown.pinned).ok()?;
        let curves = Curves::of(&rig);
        Some((JudgedCar::of(rig), curves))
    };
    let is_pinned = Arc::ptr_eq(&shown.now, &shown.pinned);
    let (found, pinned) =
        rayon::join(|| CarFindings::of(JudgedCar::of(rig), &Side::BOTH), || if is_pinned { None } else { pinned() });
    let car = CarView::of(&shown, &found, pinned.as_ref(), show)?;
    Ok(View { revision, posture, car: Some(car) })
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
        pinned: Option<&(JudgedCar, Curves)>,
        show: &Show,
    ) -> Result<Self, Refusal> {
        let car: &Geometry = &shown.now;
        let lengths = LengthFormat(car.units);
        let source = ChartSource { file: &shown.source, input_sha256: &shown.input_sha256, car: CarShown::AsInFile };
        let beside = pinned.map(|(car, curves)| (car, curves));
        let shown_car = (&found.judged, &found.curves);
        let charts = charts_beside(shown_car, beside, (&found.sides, source), &show.charts)
            .map_err(|error| Refusal::fault(&error))?;
        Ok(Self {
            name: car.name.clone(),
            source: shown.source.clone(),
            stage: words::stage(car),
            demo: shown.demo,
            changed: shown.changed,
            undo: shown.undo.clone(),
            redo: shown.redo.clone(),
            saved: shown.saved.clone(),
            unit: lengths.symbol(),
            unit_mm: car.units.in_mm(),
            travel: TravelView {
                bump_mm: car.travel.bump_mm,
                droop_mm: car.travel.droop_mm,
                roll_deg: car.travel.roll_deg,
            },
            points: points(shown, found),
            totals: present::limit_totals(&found.limit_totals),
            limits: limits(lengths, car.mirrored, &found.limits, pinned.map(|(car, _)| &car.verdicts[..])),
            told: told(lengths, found),
            gaps: gaps(lengths, found),
            chart_names: chart_names(&found.judged, &found.curves, &found.sides, source),
            charts: charts.into_iter().map(|(name, svg)| ChartView { name, svg }).collect(),
            cautions: [present::STUDY_CAUTION, present::ROLL_CENTRE],
        })
    }
}

/// One side stands for both when they are mirror images.
fn shown_sides(car: &Geometry) -> &'static [Side] {
    if car.mirrored { &Side::BOTH[..1] } else { &Side::BOTH }
}

fn points(shown: &Shown, found: &CarFindings) -> Vec<PointView> {
    let sides = shown_sides(&shown.now).iter();
    sides.flat_map(|&side| points_of(shown, found, side)).collect()
}

fn points_of(shown: &Shown, found: &CarFindings, side: Side) -> Vec<PointView> {
    let (now, lengths) = (&shown.now, LengthFormat(shown.now.units));
    let corner = now.corner(side);
    let places = corner.points().into_iter().zip(shown.pinned.corner(side).points());
    let view = |((point, at), (_, pinned)): ((CornerPoint, Point3<f64>), (CornerPoint, Point3<f64>))| {
        let room = RoomUse::of(&shown.drawn, corner, side, point);
        let mut room_mm = [None; 3];
        for used in &room {
            let axis = used.axis.index();
            let from = at[axis] - used.moved_mm;
            let ends = [from + used.room_mm.low, from + used.room_mm.high];
            let mirrored = axis == 1 && side == Side::Right;
            room_mm[axis] = Some(if mirrored { [-ends[1], -ends[0]] } else { ends });
        }
        let beyond = room.iter().filter(|used| used.beyond_mm() > 0.0).map(|used| {
            let by = lengths.with_unit(used.beyond_mm());
            format!("{by} {} of its room", beyond_words(used))
        });
        let mut told: Vec<String> = beyond.collect();
        let binds = found.heave.get(&side).map_or(&[][..], |toe| &toe.binds);
        let is_carrier = |names: &[String]| match point {
            CornerPoint::Pickup(Pickup { link, end: End::Chassis }) => names.contains(&corner.links[link].name),
            _ => false,
        };
        told.extend(binds.iter().filter(|bind| is_carrier(&bind.links)).map(|bind| present::bind(lengths, bind)));
        let wrong = !told.is_empty();
        if !wrong {
            told.extend(room.iter().map(|used| {
                let [down, up] = [used.moved_mm - used.room_mm.low, used.room_mm.high - used.moved_mm];
                let [less, more] = [-1.0, 1.0].map(|way| used.axis.way(way));
                format!("room left: {} {more}, {} {less}", lengths.with_unit(up), lengths.with_unit(down))
            }));
        }
        PointView {
            side,
            name: corner.name_of(point),
            part: PartView::of(point),
            at_mm: side.to_car(at).into(),
            pinned_mm: side.to_car(pinned).into(),
            room_mm,
            told,
            wrong,
        }
    };
    // A spring mount on a link goes where its link goes.
    let rides = |point: CornerPoint| {
        let on_link = |spring: &crate::geometry::Spring| matches!(spring.on, crate::geometry::SpringMount::Link { .. });
        point == CornerPoint::SpringMount && corner.spring.as_ref().is_some_and(on_link)
    };
    places.filter(|((point, _), _)| !rides(*point)).map(view).collect()
}

/// `forward out`, `down out`: which way a point left its room.
fn beyond_words(used: &RoomUse) -> String {
    format!("{} out", used.axis.way(used.moved_mm))
}

/// One row a quantity; those of the axle at design are zero by drawing in a mirrored car.
fn limits(lengths: LengthFormat, mirrored: bool, verdicts: &[Verdict], pinned: Option<&[Verdict]>) -> Vec<LimitView> {
    let is_shown = |verdict: &&Verdict| match verdict.side {
        Some(side) => !mirrored || side == Side::Left,
        None => verdict.quantity.definition().over != Over::Design || !mirrored,
    };
    let of = |verdicts: &[Verdict], quantity: Quantity| -> Vec<Verdict> {
        verdicts.iter().filter(is_shown).filter(|verdict| verdict.quantity == quantity).cloned().collect()
    };
    let mut quantities: Vec<Quantity> = Vec::new();
    for verdict in verdicts.iter().filter(is_shown) {
        if !quantities.contains(&verdict.quantity) {
            quantities.push(verdict.quantity);
        }
    }
    let row = |quantity: Quantity| {
        let own = of(verdicts, quantity);
        let refs: Vec<&Verdict> = own.iter().collect();
        let told = LimitRow::of(lengths, &refs)?;
        let before = pinned.map(|verdicts| of(verdicts, quantity)).unwrap_or_default();
        let before = LimitRow::of(lengths, &before.iter().collect::<Vec<_>>());
        let worst = [State::Fail, State::NotChecked].into_iter().find(|&state| own.iter().any(|v| v.state == state));
        Some(LimitView {
            name: told.name.to_owned(),
            over: quantity.definition().over.words(),
            unit: told.unit,
            found: told.found,
            pinned: before.map(|row| row.found).unwrap_or_default(),
            limit: told.limit,
            verdict: told.verdict,
            state: worst.unwrap_or(State::Pass),
            reason: own.first().map_or("", Verdict::reason),
        })
    };
    quantities.into_iter().filter_map(row).collect()
}

/// Sentences on the car, the gravest first.
fn told(lengths: LengthFormat, found: &CarFindings) -> Vec<String> {
    let geometry = found.judged.geometry();
    let sides = shown_sides(geometry);
    let toe = || sides.iter().filter_map(|side| found.heave.get(side));
    let side = |side: Side| (!geometry.mirrored).then_some(side);
    let binds = toe().flat_map(|toe| toe.binds.iter().map(|bind| present::bind(lengths, bind)));
    let cures = toe().filter_map(|toe| Some(present::cure(lengths, toe.cure.as_ref()?)));
    let stops = found.roll.stops.iter().map(|stop| present::roll_stop(stop, found.travel.body_roll_deg));
    let shafts = sides.iter().filter_map(|at| Some(present::halfshaft(lengths, side(*at), found.halfshaft.get(at)?)));
    let tapes = toe().filter_map(|toe| Some(present::tape_band(lengths, toe.tape_band.as_ref()?)));
    let ends = sides.iter().filter_map(|at| present::rod_ends(lengths, side(*at), &found.heave.get(at)?.rod_ends));
    let open = present::not_checked(&found.limits);
    let all = binds.chain(cures).chain(ends).chain(shafts).chain(tapes).chain(stops).chain(open);
    all.map(|sentence| words::sentence_start(&sentence)).collect()
}

/// Gaps that are told of a wheel beside those that are too small.
const GAPS: usize = 3;

fn gaps(lengths: LengthFormat, found: &CarFindings) -> Vec<String> {
    let geometry = found.judged.geometry();
    let told = shown_sides(geometry).iter().filter_map(|side| Some((side, &found.heave.get(side)?.clearance)));
    let of_side = |(side, clearance): (&Side, &crate::studies::ClearanceFindings)| {
        let who = if geometry.mirrored { String::new() } else { format!("{}: ", side.name()) };
        let nearest = clearance.pairs.iter().enumerate();
        let nearest = nearest.filter(|(k, pair)| *k < GAPS || pair.state == State::Fail);
        let words = nearest.map(|(_, pair)| {
            let at = words::travel(lengths, pair.at_bump_mm);
            format!("{who}{} {}: {} at {at}", pair.state.words(), pair.pair, lengths.with_unit(pair.least_mm))
        });
        words.collect::<Vec<_>>()
    };
    let first = shown_sides(geometry).first().and_then(|side| Some(&found.heave.get(side)?.clearance));
    let taken = first.and_then(|of| {
        let default_mm = of.limit_is_default.then_some(of.limit_mm);
        present::assumed_sizes(lengths, &of.assumed, default_mm)
    });
    let open = first.and_then(|of| present::without_body(&of.without_body));
    told.flat_map(of_side).chain(taken).chain(open).collect()
}

fn posture(rig: &Rig, lengths: LengthFormat, show: &Show) -> PostureView {
    let travel = &rig.geometry.travel;
    let bump_mm = show.bump_mm.clamp(-travel.droop_mm, travel.bump_mm);
    let roll_deg = show.roll_deg.clamp(-travel.roll_deg, travel.roll_deg);
    let asked = PostureView { bump_mm, roll_deg, ..PostureView::default() };
    let Some(posed) = PosedCar::of(rig, bump_mm, roll_deg) else {
        let at = words::travel(lengths, bump_mm);
        return PostureView { stands: vec![format!("The left wheel binds before {at}.")], ..asked };
    };
    let edges = [-1.0, 1.0].map(|side| side * ROAD_EDGE_MM);
    let road = edges.iter().flat_map(|&left| {
        let z = posed.road_height_mm(rig, left);
        [-1.0, 1.0].map(|end| [end * ROAD_HALF_LENGTH_MM, left, z])
    });
    let road = road.collect();
    let mut stands = Vec::new();
    let mut wheels = Vec::new();
    for (side, stood) in posed.wheels {
        match stood {
            Ok(place) => wheels.push(wheel(rig, lengths, side, place)),
            Err(why) => stands.push(format!("{}: {why}.", words::sentence_start(side.name()))),
        }
    }
    PostureView { wheels, road, stands, ..asked }
}

/// How far the road is drawn from the middle of the axle.
const ROAD_EDGE_MM: f64 = 1000.0;
const ROAD_HALF_LENGTH_MM: f64 = 500.0;

fn wheel(rig: &Rig, lengths: LengthFormat, side: Side, place: PosedWheel) -> WheelView {
    let corner = rig.wheel(side).corner;
    let mut told = vec![format!("{} wheel at {}", side.name(), words::travel(lengths, place.bump_mm))];
    let mut joint_wrong = false;
    if let Some(shaft) = place.shaft {
        for (quantity, value) in [
            (Quantity::InnerJointAngle, shaft.inner_angle_deg),
            (Quantity::OuterJointAngle, shaft.outer_angle_deg),
            (Quantity::Plunge, shaft.plunge_mm),
        ] {
            let number =
                |value: f64| present::number(lengths, quantity, present::decimals(lengths, quantity, None), value);
            let unit = present::unit(lengths, quantity.unit());
            let short = |value: f64| present::trimmed(&number(value)).to_owned();
            let limit = rig.geometry.limit(quantity, side);
            let of = limit.map_or(String::new(), |limit| format!(", limit {}", present::limit_band(short, limit)));
            let broken = limit.is_some_and(|limit| value < limit.low || value > limit.high);
            joint_wrong |= broken;
            let state = if broken { "FAIL: " } else { "" };
            told.push(format!("{state}{} {} {unit}{of}", quantity.name(), number(value)));
        }
    }
    WheelView {
        side,
        place,
        radius_mm: corner.wheel.tyre_radius_mm,
        width_mm: corner.wheel.tyre_width_mm,
        told,
        joint_wrong,
    }
}
