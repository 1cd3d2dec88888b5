//! The linkage drawn to scale at design height and at both ends of travel: front, side and plan view.

use super::context::{ChartContext, WheelStyle};
use super::frame::{heading, notes};
use super::labels::{Area, broken, spread, width_of};
use super::linkage::{Drawn, Seen, View};
use super::scale::{round_step, short};
use super::sheet::{Anchor, PenError, Sheet, SheetPoint, TextStyle, draw};
use super::stroke::Stroke;
use crate::mechanism::Posture;
use crate::present::words::sentence_start;

const HEIGHT: u32 = 750;
/// Width of a view of one wheel, and of two beside each other.
const WIDTHS: [u32; 2] = [900, 1240];
/// Upper and lower end of the drawing on the sheet.
const TOP: f64 = 98.0;
const BOTTOM: f64 = 640.0;
const MARGIN: f64 = 24.0;
/// Longest line of a name beside the drawing, letters, and how many lines it may take.
const NAME_LETTERS: usize = 18;
const NAME_LINES: usize = 3;
const LINE_HEIGHT: f64 = 15.0;
/// Names are led to a link at this share of its length from the chassis; further out when another link begins so near
/// to it, mm, that they could not be told apart.
const NAMED_AT: f64 = 0.22;
const NAMED_FURTHER_OUT_AT: f64 = 0.5;
const TOO_NEAR_MM: f64 = 8.0;
/// Room for the lines from the names to the links.
const LEADER_ROOM: f64 = 56.0;
/// Radius of the circle round a pickup.
const PICKUP: f64 = 4.2;
const KEY_TOP: f64 = 668.0;
const BUMP: Stroke = Stroke { grey: 105, width: 1.0, dash: &[7.0, 4.0] };
const DROOP: Stroke = Stroke { grey: 105, width: 1.2, dash: &[2.0, 4.0] };
const LINK: Stroke = Stroke { grey: 0, width: 2.6, dash: &[] };
const TYRE: Stroke = Stroke { grey: 0, width: 1.4, dash: &[] };
const SHAFT: Stroke = Stroke { grey: 150, width: 5.0, dash: &[] };
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
    let mut panels: Vec<Panel> = context.wheels.iter().map(|wheel| Panel::new(context, view, *wheel)).collect();
    if view == View::Front {
        // From the front the right wheel is on the left.
        panels.reverse();
    }
    let share = (f64::from(width) - 2.0 * MARGIN) / panels.len().max(1) as f64;
    let area = |k: usize| {
        let left = MARGIN + share * k as f64;
        Area { left, right: left + share, top: TOP, bottom: BOTTOM }
    };
    // One scale for all panels.
    let points_per_mm = panels.iter().enumerate().map(|(k, panel)| panel.fits(&area(k))).fold(f64::INFINITY, f64::min);
    draw((width, HEIGHT), |sheet| {
        heading(sheet, title, context.name())?;
        for (k, panel) in panels.iter().enumerate() {
            panel.draw(sheet, &area(k), points_per_mm)?;
        }
        key(context, sheet, f64::from(width), points_per_mm)?;
        notes(sheet, 712.0, &context.binds())
    })
}

/// One wheel in one view.
struct Panel {
    /// Whose wheel it is and from where it is seen.
    caption: String,
    design: Drawn,
    ends: Vec<(Drawn, Stroke)>,
    /// The road at design height; not to be seen from above.
    road: Option<f64>,
    /// Names with the place that each belongs to.
    names: Vec<(Vec<String>, Seen)>,
    columns: Columns,
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

/// Where the names stand.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Columns {
    Left,
    Right,
    Both,
}

impl Panel {
    fn new(context: &ChartContext, view: View, wheel: WheelStyle) -> Self {
        let on_rig = context.car.rig.wheel(wheel.side);
        let (corner, postures) = (on_rig.corner, on_rig.path.postures());
        let drawn = |posture: &Posture| Drawn::new(view, corner, posture);
        let design = drawn(on_rig.design_posture());
        let ends = postures.first().map(|lowest| (lowest, DROOP)).into_iter();
        let ends = ends.chain(postures.last().map(|highest| (highest, BUMP)));
        let moved = ends.filter(|(posture, _)| posture.bump_mm != 0.0);
        let ends = moved.map(|(posture, stroke)| (drawn(posture), stroke)).collect();
        let mut names: Vec<(&str, Seen)> = corner
            .links
            .iter()
            .zip(&design.links)
            .map(|(link, ends)| (link.name.as_str(), named_at(ends, &design.links)))
            .collect();
        names.extend(design.halfshaft.map(|[inner, outer]| ("halfshaft", between(inner, outer, 0.1))));
        names.extend(design.spring.as_ref().and_then(|coil| Some(("spring", *coil.get(3)?))));
        let outboard_is_right = view.see(wheel.side, &corner.wheel.centre).0 > 0.0;
        let columns = match view {
            View::Side => Columns::Both,
            _ if outboard_is_right => Columns::Left,
            _ => Columns::Right,
        };
        Self {
            caption: caption(view, &wheel),
            ends,
            road: (view != View::Plan).then_some(on_rig.design_contact.ground_mm),
            names: names.into_iter().map(|(name, at)| (broken(name, NAME_LETTERS, NAME_LINES), at)).collect(),
            design,
            columns,
        }
    }

    /// Room for the names on the left and on the right.
    fn margins(&self) -> (f64, f64) {
        let lines = self.names.iter().flat_map(|(lines, _)| lines);
        let room = lines.map(|line| width_of(line, TextStyle::PLAIN)).fold(0.0, f64::max) + LEADER_ROOM;
        match self.columns {
            Columns::Left => (room, 0.0),
            Columns::Right => (0.0, room),
            Columns::Both => (room, room),
        }
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
        let (on_left, on_right) = self.margins();
        let across = (area.width() - on_left - on_right - MARGIN) / (right - left);
        across.min(area.height() / (upper - lower))
    }

    fn draw(&self, sheet: &Sheet, area: &Area, points_per_mm: f64) -> Result<(), PenError> {
        let [left, lower, right, upper] = self.extent();
        let (on_left, on_right) = self.margins();
        let inner = Area { left: area.left + on_left, right: area.right - on_right, ..*area };
        let (x, y) = inner.middle();
        let origin = (x - (left + right) / 2.0 * points_per_mm, y + (lower + upper) / 2.0 * points_per_mm);
        let ink = Canvas { sheet, origin, points_per_mm };
        sheet.words(&self.caption, (area.left, TOP - 26.0), TextStyle::PLAIN.bold())?;
        self.ends.iter().try_for_each(|(drawn, stroke)| ink.moved(drawn, *stroke))?;
        if let Some(road_mm) = self.road {
            ink.line(&[(left, road_mm), (right, road_mm)], Stroke::BASELINE)?;
            let (end, beside, anchor) = match self.columns {
                Columns::Right => (right, 7.0, Anchor::Start),
                _ => (left, -7.0, Anchor::End),
            };
            let (x, y) = ink.place((end, road_mm));
            sheet.words("road", (x + beside, y), TextStyle::PLAIN.anchored(anchor))?;
        }
        ink.design(&self.design)?;
        self.write_names(&ink, &inner)
    }

    fn write_names(&self, ink: &Canvas, inner: &Area) -> Result<(), PenError> {
        let mut names: Vec<(&[String], SheetPoint)> =
            self.names.iter().map(|(lines, at)| (lines.as_slice(), ink.place(*at))).collect();
        names.sort_by(|a, b| a.1.0.total_cmp(&b.1.0));
        let on_left = match self.columns {
            Columns::Left => names.len(),
            Columns::Right => 0,
            Columns::Both => names.len().div_ceil(2),
        };
        let (left, right) = names.split_at(on_left);
        ink.column(left, inner.left - LEADER_ROOM / 2.0, Anchor::End)?;
        ink.column(right, inner.right + LEADER_ROOM / 2.0, Anchor::Start)
    }
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

    /// Names in a column, each led to its place.
    fn column(&self, names: &[(&[String], SheetPoint)], x: f64, anchor: Anchor) -> Result<(), PenError> {
        let height = |lines: &[String]| lines.len() as f64 * LINE_HEIGHT;
        let wanted: Vec<(f64, f64)> = names.iter().map(|(lines, at)| (at.1, height(lines) + 8.0)).collect();
        let towards = if anchor == Anchor::End { 4.0 } else { -4.0 };
        for ((lines, at), y) in names.iter().zip(spread(&wanted, TOP, BOTTOM)) {
            self.sheet.line(&[(x + towards, y), *at], Stroke::LEADER)?;
            self.sheet.circle(*at, 1.6, Stroke::LEADER, true)?;
            let top = y - (height(lines) - LINE_HEIGHT) / 2.0;
            for (k, line) in lines.iter().enumerate() {
                self.sheet.words(line, (x, top + k as f64 * LINE_HEIGHT), TextStyle::PLAIN.anchored(anchor))?;
            }
        }
        Ok(())
    }
}

/// The sign of a wheel centre.
fn cross(sheet: &Sheet, (x, y): SheetPoint) -> Result<(), PenError> {
    sheet.line(&[(x - 7.0, y), (x + 7.0, y)], TYRE)?;
    sheet.line(&[(x, y - 7.0), (x, y + 7.0)], TYRE)
}

/// What the lines and signs mean, and a bar of known length.
fn key(context: &ChartContext, sheet: &Sheet, width: f64, points_per_mm: f64) -> Result<(), PenError> {
    let travel = &context.car.geometry().travel;
    let bound = !context.binds().is_empty();
    let end = |way: &str, mm: f64| match bound {
        true => format!("as far as it goes in {way}"),
        false => format!("{} of {way}", context.length_words(mm)),
    };
    let mut lines = vec![(LINK, "design height".to_owned())];
    lines.extend((travel.bump_mm > 0.0).then(|| (BUMP, end("bump", travel.bump_mm))));
    lines.extend((travel.droop_mm > 0.0).then(|| (DROOP, end("droop", travel.droop_mm))));
    let mut x = MARGIN;
    for (stroke, words) in lines {
        sheet.line(&[(x, KEY_TOP), (x + 34.0, KEY_TOP)], stroke)?;
        sheet.words(&words, (x + 42.0, KEY_TOP), TextStyle::PLAIN)?;
        x += width_of(&words, TextStyle::PLAIN) + 68.0;
    }
    let second = KEY_TOP + 22.0;
    let signs = ["pickup on the chassis", "pickup on the upright", "wheel centre"];
    for (k, words) in signs.into_iter().enumerate() {
        let at = (MARGIN + 10.0 + 200.0 * k as f64, second);
        match k {
            2 => cross(sheet, at)?,
            _ => sheet.circle(at, PICKUP, TYRE, k == 1)?,
        }
        sheet.words(words, (at.0 + 14.0, second), TextStyle::PLAIN)?;
    }
    scale_bar(context, sheet, (width - MARGIN, second), points_per_mm)
}

/// A bar of a round length, ending at a place.
fn scale_bar(
    context: &ChartContext,
    sheet: &Sheet,
    (right, y): SheetPoint,
    points_per_mm: f64,
) -> Result<(), PenError> {
    let unit_mm = context.car.geometry().units.in_mm();
    let length = round_step(60.0 / points_per_mm / unit_mm);
    let left = right - length * unit_mm * points_per_mm;
    sheet.line(&[(left, y - 5.0), (left, y + 5.0)], TYRE)?;
    sheet.line(&[(right, y - 5.0), (right, y + 5.0)], TYRE)?;
    sheet.line(&[(left, y), (right, y)], TYRE)?;
    let words = format!("{} {}", short(length, 2), context.unit_name());
    sheet.words(&words, ((left + right) / 2.0, y - 13.0), TextStyle::PLAIN.anchored(Anchor::Middle))
}

/// The place on a link to which its name is led.
fn named_at([chassis, upright]: &[Seen; 2], links: &[[Seen; 2]; 5]) -> Seen {
    let near = links.iter().filter(|[other, _]| (other.0 - chassis.0).hypot(other.1 - chassis.1) < TOO_NEAR_MM);
    // The link itself is one of them.
    let share = if near.count() > 1 { NAMED_FURTHER_OUT_AT } else { NAMED_AT };
    between(*chassis, *upright, share)
}

fn between(from: Seen, to: Seen, share: f64) -> Seen {
    (from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share)
}
