//! The linkage drawn to scale at design height and at both ends of travel: front, side and plan view, all to one scale.

use super::caption::Caption;
use super::context::{ChartContext, WheelStyle};
use super::labels::{Area, LabelPlacer, Place, square_to_part, width_of};
use super::linkage::{Drawn, Seen, View};
use super::points::{self, PointTable};
use super::scale::{round_step, short};
use super::sheet::{Anchor, MARGIN, POINT_MM, PenError, Sheet, TextStyle};
use super::stroke::{SheetPoint, Stroke};
use super::verdict::all_limits;
use crate::mechanism::Posture;
use crate::present::words::sentence_start;
use crate::studies::WheelStop;

/// Width of a view of one wheel, and of two beside each other.
const WIDTHS: [u32; 2] = [900, 1040];
/// Upper and lower end of the drawing under the words above it, and where its caption, its key, the table of the links and
/// the notes stand.
const TOP: f64 = 32.0;
const BOTTOM: f64 = 462.0;
const CAPTION: f64 = 14.0;
const KEY_TOP: f64 = 482.0;
const TABLE_TOP: f64 = 528.0;
const HEIGHT: f64 = TABLE_TOP + points::HEIGHT + 6.0;
/// The drawing is so many times smaller than the car: the first that fits the paper.
const REDUCTIONS: [f64; 14] = [1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 12.0, 15.0, 20.0, 50.0];
/// How far off a link its number can stand, the nearest first, and its size.
const NUMBER_OFF: [f64; 5] = [15.0, 22.0, 32.0, 48.0, 70.0];
const NUMBER: f64 = 16.0;
/// How much nearer a number stands to its own link than to any other.
const CLEARLY_NEARER: f64 = 1.15;
/// Places along a link, as shares from the chassis, where its number is led to.
const NUMBERED_AT: [f64; 9] = [0.4, 0.5, 0.3, 0.6, 0.2, 0.7, 0.8, 0.1, 0.9];
/// Radius of the circle round a pickup, and how wide words keep clear of a point.
const PICKUP: f64 = 4.2;
const CLEAR_OF_POINT: f64 = 12.0;
const UPRIGHT_GREY: u8 = 232;
const BUMP: Stroke = Stroke { grey: 105, width: 1.0, dash: &[7.0, 4.0] };
const DROOP: Stroke = Stroke { grey: 105, width: 1.2, dash: &[2.0, 4.0] };
const LINK: Stroke = Stroke { grey: 0, width: 2.6, dash: &[] };
const TYRE: Stroke = Stroke { grey: 0, width: 1.4, dash: &[] };
const SHAFT: Stroke = Stroke { grey: 150, width: 5.0, dash: &[] };
/// A tube that is seen shorter, nearly along its length, is not drawn, mm.
const LEAST_TUBE_MM: f64 = 30.0;
const TUBE: Stroke = Stroke { grey: 165, width: 1.6, dash: &[] };
const SPRING: Stroke = Stroke { grey: 110, width: 1.2, dash: &[] };

pub fn front(context: &ChartContext) -> Result<String, PenError> {
    view(context, View::Front, "Front view of the linkage")
}

pub fn side(context: &ChartContext) -> Result<String, PenError> {
    view(context, View::Side, "Side view of the linkage")
}

pub fn plan(context: &ChartContext) -> Result<String, PenError> {
    view(context, View::Plan, "Plan view of the linkage")
}

fn view(context: &ChartContext, view: View, title: &str) -> Result<String, PenError> {
    let width = WIDTHS[usize::from(context.wheels.len() > 1)];
    let areas = areas(width, context.wheels.len());
    let reduction = reduction(context, &areas);
    let points_per_mm = 1.0 / (reduction * POINT_MM);
    let scale = format!("{title}, {}", scale_words(context, reduction, "the bar", bar_length(context, points_per_mm)));
    let caption = Caption { title: &scale, verdict: all_limits(context), notes: context.binds() };
    caption.sheet(&context.subject, (width, HEIGHT), |sheet| {
        let panels = panels(context, view);
        for (panel, area) in panels.iter().zip(&areas) {
            panel.draw(sheet, area, points_per_mm)?;
        }
        let wheels: Vec<_> = context.wheels.iter().map(|wheel| context.car.geometry().corner(wheel.side)).collect();
        PointTable { context, corners: &wheels }.write(sheet, (MARGIN, TABLE_TOP), f64::from(width) - 2.0 * MARGIN)?;
        let shows_tubes = panels.iter().any(|panel| !panel.tubes.is_empty());
        key(context, shows_tubes, sheet, (f64::from(width), points_per_mm))
    })
}

/// Where the wheels stand beside each other.
fn areas(width: u32, wheels: usize) -> Vec<Area> {
    let share = (f64::from(width) - 2.0 * MARGIN) / wheels.max(1) as f64;
    let area = |k: usize| {
        let left = MARGIN + share * k as f64;
        Area { left, right: left + share, top: TOP, bottom: BOTTOM }
    };
    (0..wheels).map(area).collect()
}

/// The least reduction at which every view of every wheel fits: all views of a car have one scale.
fn reduction(context: &ChartContext, areas: &[Area]) -> f64 {
    let fits = |view: View| {
        let each =
            panels(context, view).into_iter().zip(areas).map(|(panel, area)| panel.fits(area)).collect::<Vec<_>>();
        each.into_iter().fold(f64::INFINITY, f64::min)
    };
    let most = [View::Front, View::Side, View::Plan].map(fits).into_iter().fold(f64::INFINITY, f64::min);
    round_reduction(1.0 / (most * POINT_MM))
}

/// A scale that a rule on the paper proves, however large that is printed: `scale 1:6 where the bar of 100 mm measures 16.7 mm`;
/// `length` of what is drawn is in the unit of the file.
pub fn scale_words(context: &ChartContext, reduction: f64, drawn: &str, length: f64) -> String {
    let unit = context.unit_name();
    let on_paper = short(length / reduction, context.lengths().decimals());
    format!("scale 1:{} where {drawn} of {} {unit} measures {on_paper} {unit}", short(reduction, 1), short(length, 2))
}

/// The first of the usual reductions that is not below `least`.
pub fn round_reduction(least: f64) -> f64 {
    REDUCTIONS.into_iter().find(|&reduction| reduction >= least).unwrap_or(least)
}

fn panels(context: &ChartContext, view: View) -> Vec<Panel> {
    let mut panels: Vec<Panel> = context.wheels.iter().map(|wheel| Panel::new(context, view, *wheel)).collect();
    if view == View::Front {
        // From the front the right wheel is on the left.
        panels.reverse();
    }
    panels
}

/// One wheel in one view.
struct Panel {
    /// Whose wheel it is and from where it is seen.
    caption: String,
    design: Drawn,
    ends: Vec<(Drawn, Stroke)>,
    /// The road at design height; not to be seen from above.
    road: Option<f64>,
    /// Centre lines of the frame's tubes, as far as they are within what else is drawn.
    tubes: Vec<[Seen; 2]>,
}

fn caption(view: View, wheel: &WheelStyle) -> String {
    let side = wheel.side.name();
    let seen = match view {
        View::Front => "seen from the front".to_owned(),
        View::Side => format!("seen from outside, the front of the car to the {side}"),
        View::Plan => "seen from above, the front of the car up".to_owned(),
    };
    let mirrored = if wheel.name == side { "" } else { "; the right one is its mirror image" };
    format!("{} wheel, {seen}{mirrored}", sentence_start(side))
}

impl Panel {
    fn new(context: &ChartContext, view: View, wheel: WheelStyle) -> Self {
        let on_rig = context.car.rig.wheel(wheel.side);
        let (corner, postures) = (on_rig.corner, on_rig.path.postures());
        let drawn = |posture: &Posture| Drawn::new(view, corner, posture);
        let ends = postures.first().map(|lowest| (lowest, DROOP)).into_iter();
        let ends = ends.chain(postures.last().map(|highest| (highest, BUMP)));
        let moved = ends.filter(|(posture, _)| posture.bump_mm != 0.0);
        let panel = Self {
            caption: caption(view, &wheel),
            ends: moved.map(|(posture, stroke)| (drawn(posture), stroke)).collect(),
            road: (view != View::Plan).then_some(on_rig.design_contact.ground_mm),
            design: drawn(on_rig.design_posture()),
            tubes: Vec::new(),
        };
        let seen =
            context.car.geometry().tubes.iter().map(|tube| [&tube.from, &tube.to].map(|at| view.see(corner.side, at)));
        Self { tubes: seen.filter_map(|tube| within(tube, panel.extent())).collect(), ..panel }
    }

    /// Left, lower, right and upper end of what is drawn, mm of the view.
    fn extent(&self) -> [f64; 4] {
        let all = self.ends.iter().map(|(drawn, _)| drawn).chain([&self.design]).flat_map(Drawn::extent);
        all.fold([f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY], |[l, b, r, t], (x, y)| {
            [l.min(x), b.min(y), r.max(x), t.max(y)]
        })
    }

    /// The largest scale at which the drawing fits, points of the page a millimetre.
    fn fits(&self, area: &Area) -> f64 {
        let [left, lower, right, upper] = self.extent();
        let across = (area.width() - 2.0 * MARGIN) / (right - left);
        across.min(area.height() / (upper - lower))
    }

    fn draw(&self, sheet: &Sheet, area: &Area, points_per_mm: f64) -> Result<(), PenError> {
        let [left, lower, right, upper] = self.extent();
        let (x, y) = area.middle();
        let origin = (x - (left + right) / 2.0 * points_per_mm, y + (lower + upper) / 2.0 * points_per_mm);
        let ink = Canvas { sheet, origin, points_per_mm };
        sheet.words(&self.caption, (area.left, CAPTION), TextStyle::PLAIN.bold())?;
        let upright: Vec<SheetPoint> = self.design.upright.iter().map(|&at| ink.place(at)).collect();
        sheet.region(&upright, UPRIGHT_GREY)?;
        sheet.line(&upright, Stroke::EDGE)?;
        self.tubes.iter().try_for_each(|tube| ink.line(tube, TUBE))?;
        self.ends.iter().try_for_each(|(drawn, stroke)| ink.moved(drawn, *stroke))?;
        let mut taken = self.taken(&ink);
        if let Some(road_mm) = self.road {
            let road = [(left, road_mm), (right, road_mm)];
            ink.line(&road, Stroke::BASELINE)?;
            taken.add_path(&road.map(|at| ink.place(at)));
        }
        ink.design(&self.design)?;
        self.write_numbers(&ink, area, &mut taken)?;
        self.write_names(&ink, area, &mut taken)
    }

    /// What numbers and names keep clear of.
    fn taken(&self, ink: &Canvas) -> LabelPlacer {
        let mut taken = LabelPlacer::default();
        let mut add = |path: &[Seen]| taken.add_path(&path.iter().map(|&at| ink.place(at)).collect::<Vec<_>>());
        for drawn in self.ends.iter().map(|(drawn, _)| drawn).chain([&self.design]) {
            drawn.links.iter().chain(&drawn.halfshaft).for_each(|line| add(line));
            add(&drawn.tyre);
        }
        self.tubes.iter().for_each(|tube| add(tube));
        let Drawn { links, rim, spring, upright, centre, .. } = &self.design;
        rim.iter().chain(spring).chain([upright]).for_each(|line| add(line));
        let eyes = spring.iter().flat_map(|coil| coil.first().into_iter().chain(coil.last()));
        for &at in links.iter().flatten().chain(eyes).chain([centre]) {
            taken.add_area(Area::around(ink.place(at), CLEAR_OF_POINT, CLEAR_OF_POINT));
        }
        taken
    }

    /// The number of each link, led to it.
    fn write_numbers(&self, ink: &Canvas, area: &Area, taken: &mut LabelPlacer) -> Result<(), PenError> {
        let links = self.design.links.map(|link| link.map(|at| ink.place(at)));
        for (k, &[from, to]) in links.iter().enumerate() {
            let along = (to.0 - from.0, to.1 - from.1);
            let length = along.0.hypot(along.1).max(1.0);
            let square = (-along.1 / length, along.0 / length);
            let on_link = |share: f64| (from.0 + share * along.0, from.1 + share * along.1);
            let beside = |off: f64, share: f64| {
                let (x, y) = on_link(share);
                Place::led((x + off * square.0, y + off * square.1), NUMBER, NUMBER, (x, y))
            };
            let near = NUMBER_OFF
                .into_iter()
                .flat_map(|off| NUMBERED_AT.into_iter().flat_map(move |share| [(-off, share), (off, share)]))
                .map(|(off, share)| beside(off, share));
            let off = Place::anywhere(*area, NUMBER, NUMBER, on_link(0.5));
            let letters = TextStyle::PLAIN.bold().anchored(Anchor::Middle);
            // Nearer to its own link than to any other: else it reads as the number of that one.
            let is_own = |place: &Place| {
                let square_off = |&[from, to]: &[SheetPoint; 2]| square_to_part(place.area.middle(), from, to);
                let others = links.iter().enumerate().filter(|(other, _)| *other != k);
                let nearest = others.map(|(_, other)| square_off(other)).fold(f64::INFINITY, f64::min);
                square_off(&links[k]) * CLEARLY_NEARER * CLEARLY_NEARER < nearest
            };
            let places = near.clone().filter(&is_own).chain(off.filter(&is_own)).chain(near);
            taken.write(ink.sheet, &(k + 1).to_string(), letters, places, area)?;
        }
        Ok(())
    }

    /// Names of halfshaft, spring and road.
    fn write_names(&self, ink: &Canvas, area: &Area, taken: &mut LabelPlacer) -> Result<(), PenError> {
        let shaft = self.design.halfshaft.map(|[inner, outer]| ("halfshaft", between(inner, outer, 0.2)));
        let spring =
            self.design.spring.as_ref().and_then(|coil| Some(("spring", between(*coil.first()?, *coil.get(1)?, 0.5))));
        let [left, ..] = self.extent();
        let road = self.road.map(|road_mm| ("road", (left, road_mm)));
        for (name, at) in [shaft, spring, road].into_iter().flatten() {
            let (x, y) = ink.place(at);
            let long = width_of(name, TextStyle::PLAIN) + 6.0;
            let near = [14.0, -14.0].into_iter().flat_map(|down| {
                [0.0, 0.5, -0.5].map(|aside| Place::beside((x + aside * long, y + down), long, NUMBER))
            });
            let places = near.chain(Place::anywhere(*area, long, NUMBER, (x, y)));
            taken.write(ink.sheet, name, TextStyle::PLAIN.anchored(Anchor::Middle), places, area)?;
        }
        Ok(())
    }
}

/// The part of a line within left, lower, right and upper end; `None` where all of it is outside, or it is seen almost as a point.
fn within([from, to]: [Seen; 2], [left, lower, right, upper]: [f64; 4]) -> Option<[Seen; 2]> {
    let along = (to.0 - from.0, to.1 - from.1);
    let (mut first, mut last) = (0.0_f64, 1.0_f64);
    for (start, step, low, high) in [(from.0, along.0, left, right), (from.1, along.1, lower, upper)] {
        if step == 0.0 {
            if !(low..=high).contains(&start) {
                return None;
            }
            continue;
        }
        let ends = [(low - start) / step, (high - start) / step];
        (first, last) = (first.max(ends[0].min(ends[1])), last.min(ends[0].max(ends[1])));
    }
    (last > first && along.0.hypot(along.1) > LEAST_TUBE_MM)
        .then(|| [first, last].map(|share| between(from, to, share)))
}

/// The pen for one panel: places in millimetres of the view.
struct Canvas<'s, 'b> {
    sheet: &'s Sheet<'b>,
    origin: SheetPoint,
    points_per_mm: f64,
}

impl Canvas<'_, '_> {
    fn place(&self, (right, up): Seen) -> SheetPoint {
        (self.origin.0 + right * self.points_per_mm, self.origin.1 - up * self.points_per_mm)
    }

    fn line(&self, path: &[Seen], stroke: Stroke) -> Result<(), PenError> {
        self.sheet.line(&path.iter().map(|&at| self.place(at)).collect::<Vec<_>>(), stroke)
    }

    /// Links and tyre away from design height.
    fn moved(&self, drawn: &Drawn, stroke: Stroke) -> Result<(), PenError> {
        self.line(&drawn.tyre, stroke)?;
        drawn.links.iter().chain(&drawn.halfshaft).try_for_each(|line| self.line(line, stroke))
    }

    fn design(&self, drawn: &Drawn) -> Result<(), PenError> {
        self.line(&drawn.tyre, TYRE)?;
        drawn.rim.iter().try_for_each(|rim| self.line(rim, Stroke::THIN))?;
        drawn.halfshaft.iter().try_for_each(|shaft| self.line(shaft, SHAFT))?;
        drawn.spring.iter().try_for_each(|coil| self.line(coil, SPRING))?;
        drawn.links.iter().try_for_each(|link| self.line(link, LINK))?;
        let eyes = drawn.spring.iter().flat_map(|coil| coil.first().into_iter().chain(coil.last()));
        eyes.into_iter().try_for_each(|&eye| self.sheet.circle(self.place(eye), 2.6, SPRING, false))?;
        for [chassis, upright] in &drawn.links {
            self.sheet.circle(self.place(*chassis), PICKUP, TYRE, false)?;
            self.sheet.circle(self.place(*upright), PICKUP, TYRE, true)?;
        }
        cross(self.sheet, self.place(drawn.centre))
    }
}

/// The sign of a wheel centre.
fn cross(sheet: &Sheet, (x, y): SheetPoint) -> Result<(), PenError> {
    sheet.line(&[(x - 7.0, y), (x + 7.0, y)], TYRE)?;
    sheet.line(&[(x, y - 7.0), (x, y + 7.0)], TYRE)
}

/// What the lines and signs mean, and a bar of known length.
fn key(
    context: &ChartContext,
    shows_tubes: bool,
    sheet: &Sheet,
    (width, points_per_mm): (f64, f64),
) -> Result<(), PenError> {
    let travel = &context.car.geometry().travel;
    let end = |stop: WheelStop, mm: f64| match context.binds_towards(stop) {
        true => format!("as far as it goes in {}", stop.name()),
        false => format!("{} of {}", context.length_words(mm), stop.name()),
    };
    let mut lines = vec![(LINK, "design height".to_owned())];
    lines.extend((travel.bump_mm > 0.0).then(|| (BUMP, end(WheelStop::Bump, travel.bump_mm))));
    lines.extend((travel.droop_mm > 0.0).then(|| (DROOP, end(WheelStop::Droop, travel.droop_mm))));
    lines.extend(shows_tubes.then(|| (TUBE, "frame tube".to_owned())));
    let mut x = MARGIN;
    for (stroke, words) in lines {
        sheet.line(&[(x, KEY_TOP), (x + 34.0, KEY_TOP)], stroke)?;
        sheet.words(&words, (x + 42.0, KEY_TOP), TextStyle::PLAIN)?;
        x += width_of(&words, TextStyle::PLAIN) + 68.0;
    }
    let second = KEY_TOP + 22.0;
    let signs = ["pickup on the chassis", "pickup on the upright", "wheel centre", "upright"];
    for (k, words) in signs.into_iter().enumerate() {
        let at = (MARGIN + 10.0 + 175.0 * k as f64, second);
        match k {
            2 => cross(sheet, at)?,
            3 => {
                let patch = [(-8.0, -6.0), (8.0, -6.0), (8.0, 6.0), (-8.0, 6.0), (-8.0, -6.0)];
                let patch = patch.map(|(right, down)| (at.0 + right, at.1 + down));
                sheet.region(&patch, UPRIGHT_GREY)?;
                sheet.line(&patch, Stroke::EDGE)?;
            }
            _ => sheet.circle(at, PICKUP, TYRE, k == 1)?,
        }
        sheet.words(words, (at.0 + 14.0, second), TextStyle::PLAIN)?;
    }
    scale_bar(context, sheet, (width - MARGIN, second), points_per_mm)
}

/// A round length of some 60 points, in the unit of the file.
pub fn bar_length(context: &ChartContext, points_per_mm: f64) -> f64 {
    round_step(60.0 / points_per_mm / context.car.geometry().units.in_mm())
}

/// A bar of a round length, ending at a place.
pub fn scale_bar(
    context: &ChartContext,
    sheet: &Sheet,
    (right, y): SheetPoint,
    points_per_mm: f64,
) -> Result<(), PenError> {
    let length = bar_length(context, points_per_mm);
    let left = right - length * context.car.geometry().units.in_mm() * points_per_mm;
    sheet.line(&[(left, y - 5.0), (left, y + 5.0)], TYRE)?;
    sheet.line(&[(right, y - 5.0), (right, y + 5.0)], TYRE)?;
    sheet.line(&[(left, y), (right, y)], TYRE)?;
    let words = format!("{} {}", short(length, 2), context.unit_name());
    sheet.words(&words, ((left + right) / 2.0, y - 13.0), TextStyle::PLAIN.anchored(Anchor::Middle))
}

fn between(from: Seen, to: Seen, share: f64) -> Seen {
    (from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share)
}
