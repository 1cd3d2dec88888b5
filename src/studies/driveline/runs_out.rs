//! What runs out first, on the way up and on the way down: every margin solved to zero, beyond the stops too.

use serde::Serialize;

use super::envelope::root;
use super::plunge::PlungeRoom;
use crate::geometry::{BumpRubber, Corner, End, HalfshaftJoint};
use crate::measures::{Bodies, ShaftMeasures, rod_ends, shaft, spring, strap_mm};
use crate::mechanism::{Linkage, Posture, WheelPath};
use crate::studies::{OVERTRAVEL_MM, RigWheel, SideBind, WheelStop};

/// Between two neighbouring places a margin goes through zero once at most, mm of bump travel.
const STEP_MM: f64 = 1.0;
/// The same for gaps between parts, of which there are many.
const GAP_STEP_MM: f64 = 3.0;

/// Something that a wheel runs out of.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RunsOut {
    /// What: `damper closed`, `inner joint angle`, `toe link / halfshaft gap`.
    pub what: String,
    /// Bump travel at which nothing is left of it, mm, up positive; 0 when nothing is left at design height.
    pub at_bump_mm: f64,
    /// That is a limit typical of such parts, and not one of the file.
    pub typical: bool,
    /// A gap or a rod end, which the driveline does not judge.
    #[serde(skip)]
    pub of_sweep: bool,
}

impl Exhaustion {
    /// Something that the driveline does not judge has nothing left at design height.
    pub fn has_nothing_left_of_sweep(&self) -> bool {
        self.bump.iter().chain(&self.droop).any(|out| out.of_sweep && out.at_bump_mm == 0.0)
    }
}

/// What runs out on both ways, in order of travel, and what follows for the stops.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Exhaustion {
    /// On the way up.
    pub bump: Vec<RunsOut>,
    /// On the way down.
    pub droop: Vec<RunsOut>,
    /// Travel that damper and strap give.
    pub stops: PartStops,
    /// The strap that saves the joints; `None` when nothing of them runs out in droop before the damper is open, or what does leaves
    /// no droop to a strap.
    pub strap: Option<StrapLength>,
}

/// Where a part stops the wheel, mm of bump travel; `None` where none does within the travel that was looked at.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartStops {
    /// Up positive.
    pub bump_mm: Option<f64>,
    /// What does: the rubber squashed solid, or the damper closed.
    pub bump_by: Option<String>,
    /// Down negative.
    pub droop_mm: Option<f64>,
    /// What does: the strap taut, or the damper open.
    pub droop_by: Option<String>,
    /// One of them is nearer than the stop of the file, so that figures over its travel go further than the wheel.
    pub inside_travel: bool,
}

/// How long a droop strap may be at most.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StrapLength {
    /// Between its two ends, mm; the spring's eyes when the file gives no strap.
    pub length_mm: f64,
    /// It is taken from eye to eye of the spring.
    pub on_spring_eyes: bool,
    /// What it saves.
    pub saves: String,
    /// Where that would run out, mm of bump travel, down negative.
    pub at_bump_mm: f64,
}

/// A margin along the path: what it is of, and what is left; nothing is left at zero.
struct Margin<'m> {
    what: String,
    typical: bool,
    of_sweep: bool,
    /// A stop, strap or rubber: it acts on one way alone.
    is_stop: bool,
    step_mm: f64,
    left: Box<Left<'m>>,
}

/// What is left of something at a posture; `None` where it has no value.
type Left<'m> = dyn Fn(&Posture) -> Option<f64> + 'm;

impl<'m> Margin<'m> {
    fn new(what: impl Into<String>, left: impl Fn(&Posture) -> Option<f64> + 'm) -> Self {
        Self {
            what: what.into(),
            typical: false,
            of_sweep: false,
            is_stop: false,
            step_mm: STEP_MM,
            left: Box::new(left),
        }
    }

    fn stop(what: impl Into<String>, left: impl Fn(&Posture) -> Option<f64> + 'm) -> Self {
        Self { is_stop: true, ..Self::new(what, left) }
    }

    fn of_sweep(self) -> Self {
        Self { of_sweep: true, ..self }
    }

    fn typical(self, typical: bool) -> Self {
        Self { typical, ..self }
    }
}

const BUMP_RUBBER: &str = "bump rubber touched";
const RUBBER_SOLID: &str = "bump rubber solid";
const CLOSED: &str = "damper closed";
const OPEN: &str = "damper open";
const STRAP: &str = "strap taut";
/// A strap that leaves the wheel less droop is no cure, mm.
const LEAST_DROOP_MM: f64 = 5.0;
/// What a droop strap saves.
const SHAFT: [&str; 3] = ["inner joint angle", "outer joint angle", "plunge"];

impl Exhaustion {
    /// Of one wheel, as far as its links let it go within [`OVERTRAVEL_MM`] either way.
    pub fn of(wheel: &RigWheel) -> Option<Self> {
        let corner = wheel.corner;
        let path = WheelPath::follow(&Linkage::new(corner), &[-OVERTRAVEL_MM, OVERTRAVEL_MM]).ok()?;
        let bodies = Bodies::of(wheel.geometry, corner.side);
        let room = corner.halfshaft.as_ref().and_then(PlungeRoom::of);
        let mut margins = shaft_margins(corner, room.as_ref());
        margins.extend(damper_margins(corner));
        margins.extend(rod_end_margins(corner));
        let least_mm = wheel.geometry.clearance.least_mm();
        margins.extend(bodies.pairs().map(|pair| {
            let bodies = &bodies;
            let gap = move |posture: &Posture| Some(bodies.gap_mm(pair, corner, posture)? - least_mm);
            Margin { step_mm: GAP_STEP_MM, ..Margin::new(format!("gap {}", bodies.name(pair)), gap).of_sweep() }
        }));
        let travel = &wheel.geometry.travel;
        let way = |towards: WheelStop| {
            let sign = if towards == WheelStop::Bump { 1.0 } else { -1.0 };
            let mut found: Vec<RunsOut> = margins.iter().filter_map(|margin| runs_out(margin, &path, sign)).collect();
            let stop_mm = if towards == WheelStop::Bump { travel.bump_mm } else { travel.droop_mm };
            found.push(RunsOut {
                what: "travel stop".to_owned(),
                at_bump_mm: sign * stop_mm,
                typical: false,
                of_sweep: false,
            });
            let bind = if towards == WheelStop::Bump { path.binds_in_bump } else { path.binds_in_droop };
            found.extend(bind.map(|bind| {
                let bind = SideBind::of(corner, towards, bind);
                RunsOut {
                    what: format!("links bind ({})", bind.links.join(", ")),
                    at_bump_mm: bind.at_bump_mm,
                    typical: false,
                    of_sweep: false,
                }
            }));
            found.sort_by(|a, b| (sign * a.at_bump_mm).total_cmp(&(sign * b.at_bump_mm)));
            found
        };
        let (bump, droop) = (way(WheelStop::Bump), way(WheelStop::Droop));
        let first = |found: &[RunsOut], what: &[&str]| {
            let stop = found.iter().find(|runs_out| what.contains(&runs_out.what.as_str()));
            stop.map(|stop| (stop.at_bump_mm, stop.what.clone())).unzip()
        };
        let (bump_mm, bump_by) = first(&bump, &[RUBBER_SOLID, CLOSED]);
        let (droop_mm, droop_by) = first(&droop, &[STRAP, OPEN]);
        // A damper that is fully open before them saves the joints by itself.
        let until_open = droop.iter().take_while(|found| found.what != OPEN);
        let strap = until_open.into_iter().find(|found| SHAFT.contains(&found.what.as_str()));
        let strap = strap.filter(|saved| saved.at_bump_mm < -LEAST_DROOP_MM);
        Some(Self {
            stops: PartStops {
                bump_mm,
                bump_by,
                droop_mm,
                droop_by,
                inside_travel: bump_mm.is_some_and(|mm| mm < travel.bump_mm)
                    || droop_mm.is_some_and(|mm| -mm < travel.droop_mm),
            },
            strap: strap.and_then(|saved| StrapLength::of(corner, &path, saved)),
            bump,
            droop,
        })
    }
}

/// Where nothing is left of a margin on one way from design; `None` when something always is, and of a stop that the way leaves behind.
fn runs_out(margin: &Margin, path: &WheelPath, sign: f64) -> Option<RunsOut> {
    let left =
        |bump_mm: f64| path.at(bump_mm).and_then(|posture| (margin.left)(&posture)).filter(|left| left.is_finite());
    let (low_mm, high_mm) = path.reach_mm();
    let end_mm = if sign > 0.0 { high_mm } else { -low_mm };
    let found = |at_bump_mm: f64| {
        Some(RunsOut { what: margin.what.clone(), at_bump_mm, typical: margin.typical, of_sweep: margin.of_sweep })
    };
    let at_design = left(0.0)?;
    if at_design < 0.0 {
        let leaves = margin.is_stop && left(sign * margin.step_mm).is_some_and(|next| next > at_design);
        return if leaves { None } else { found(0.0) };
    }
    let mut before_mm = 0.0;
    while before_mm < end_mm {
        let next_mm = (before_mm + margin.step_mm).min(end_mm);
        if left(sign * next_mm)? < 0.0 {
            return found(root(&left, sign * before_mm, sign * next_mm)?);
        }
        before_mm = next_mm;
    }
    None
}

fn shaft_margins<'m>(corner: &'m Corner, room: Option<&'m PlungeRoom<'m>>) -> Vec<Margin<'m>> {
    let Some(halfshaft) = &corner.halfshaft else { return Vec::new() };
    type Angle = fn(&ShaftMeasures) -> f64;
    let angles: [(&str, Angle, Option<f64>, Option<HalfshaftJoint>); 2] = [
        ("inner joint angle", |shaft| shaft.inner_angle_deg, halfshaft.inner_limit_deg, halfshaft.make.inner),
        ("outer joint angle", |shaft| shaft.outer_angle_deg, halfshaft.outer_limit_deg, halfshaft.make.outer),
    ];
    let of_angle = |(what, angle, limit_deg, joint): (&'static str, Angle, Option<f64>, Option<HalfshaftJoint>)| {
        let most_deg = limit_deg.or(joint.map(HalfshaftJoint::typical_limit_deg))?;
        let left = move |posture: &Posture| Some(most_deg - angle(&shaft(corner, posture)?));
        Some(Margin::new(what, left).typical(limit_deg.is_none()))
    };
    let plunge = room.map(|room| {
        let left = move |posture: &Posture| {
            let measures = shaft(corner, posture)?;
            let window = room.at(&measures);
            Some((measures.plunge_mm - window.low).min(window.high - measures.plunge_mm))
        };
        Margin::new("plunge", left).typical(room.typical)
    });
    angles.into_iter().filter_map(of_angle).chain(plunge).collect()
}

fn damper_margins(corner: &Corner) -> Vec<Margin<'_>> {
    let Some(make) = corner.spring.as_ref().map(|spring| &spring.make) else { return Vec::new() };
    let length = move |posture: &Posture| spring(corner, posture).map(|spring| spring.length_mm);
    let above =
        |what: &str, least_mm: f64| Margin::stop(what, move |posture: &Posture| Some(length(posture)? - least_mm));
    let mut margins = Vec::new();
    if let Some(closed_mm) = make.closed_mm {
        margins.push(above(CLOSED, closed_mm));
        if let Some(BumpRubber { length_mm, solid_mm }) = make.bump_rubber {
            margins.push(above(BUMP_RUBBER, closed_mm + length_mm));
            margins.push(above(RUBBER_SOLID, closed_mm + solid_mm));
        }
    }
    if let Some(open_mm) = make.open_mm {
        margins.push(Margin::stop(OPEN, move |posture: &Posture| Some(open_mm - length(posture)?)));
    }
    if let Some((strap, taut_mm)) = make.strap.and_then(|strap| Some((strap, strap.length_mm?))) {
        margins.push(Margin::stop(STRAP, move |posture: &Posture| Some(taut_mm - strap_mm(&strap, posture))));
    }
    margins
}

fn rod_end_margins(corner: &Corner) -> Vec<Margin<'_>> {
    let links = corner.links.iter().enumerate();
    let both = links.filter_map(|(index, link)| Some((index, link, link.rod_end_limit_deg?)));
    let ends = both.flat_map(move |(index, link, most_deg)| {
        let of_end = move |end: End| {
            let left = move |posture: &Posture| {
                let ends = rod_ends(corner, posture)[index];
                let deg = if end == End::Chassis { ends.chassis_deg } else { ends.upright_deg };
                Some(most_deg - deg?)
            };
            Margin::new(format!("rod end of {}, {}", link.name, end.name()), left).of_sweep()
        };
        End::BOTH.map(of_end)
    });
    ends.collect()
}

impl StrapLength {
    fn of(corner: &Corner, path: &WheelPath, saved: &RunsOut) -> Option<Self> {
        let posture = path.at(saved.at_bump_mm)?;
        let own = corner.spring.as_ref()?.make.strap;
        let length_mm = match own {
            Some(strap) => strap_mm(&strap, &posture),
            None => spring(corner, &posture)?.length_mm,
        };
        let (saves, at_bump_mm) = (saved.what.clone(), saved.at_bump_mm);
        Some(Self { length_mm, on_spring_eyes: own.is_none(), saves, at_bump_mm })
    }
}
