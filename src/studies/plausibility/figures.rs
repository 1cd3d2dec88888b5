//! Single numbers of car, axle and parts beside the range of anything that rolls: common practice with much room.

use super::car::{MASS_KG, REAR_MASS_SHARE};
use super::parts::{ANY_ROD_END_DEG, LEAST_ROD_END_DEG};
use super::{Doubt, bodies, is_in, makers, plunge};
use crate::geometry::slips::{as_typed, meant_of_car};
use crate::geometry::{End, Geometry, Link, Propshaft, RodEnd, Side};

/// A number of which both ends are known.
pub(super) struct Range {
    /// As the sentence names it.
    pub(super) key: &'static str,
    /// Where it stands in the file.
    about: String,
    number: f64,
    unit: Shown,
    low: f64,
    high: f64,
    /// What it is not.
    of: &'static str,
    /// What most cars have, mm: with a slip that makes it that, what was meant is told.
    usual_mm: Option<[f64; 2]>,
    /// What most of those that are no lengths are.
    usual: Option<Usual>,
}

/// What most numbers of a kind are, and what was multiplied by what, with its words, to make a written number one of those.
#[derive(Clone, Copy)]
struct Usual {
    ends: [f64; 2],
    slips: &'static [(f64, &'static str)],
}

/// How a number of a range is shown.
#[derive(Clone, Copy)]
pub(super) enum Shown {
    /// mm, in the unit of the file.
    Length,
    /// With this symbol.
    With(&'static str),
    /// A share.
    Plain,
}

/// One for each number outside its range.
pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let mut ranges = of_travel(geometry);
    ranges.extend(of_wheel(geometry));
    ranges.extend(of_errors(geometry));
    ranges.extend(of_springs(geometry));
    ranges.extend(of_shims(geometry));
    ranges.extend(bodies::ranges(&geometry.clearance));
    ranges.extend(of_shafts(geometry));
    ranges.extend(of_rod_ends(geometry));
    ranges.extend(of_car(geometry));
    ranges.extend(geometry.propshaft.iter().flat_map(of_propshaft));
    ranges.extend(makers::ranges(geometry));
    let mut found: Vec<Doubt> = ranges.iter().filter_map(|range| range.doubt(geometry)).collect();
    // What every link has is told once.
    let mut told: Vec<String> = Vec::new();
    found.retain(|doubt| {
        let is_new = !told.contains(&doubt.sentence);
        told.push(doubt.sentence.clone());
        is_new
    });
    found
}

fn of_travel(geometry: &Geometry) -> Vec<Range> {
    let travel = &geometry.travel;
    let moved = |key, mm: f64| Range::mm(key, mm, [8.0, 350.0], "no wheel's travel", [30.0, 150.0]);
    let moved = [moved("bump", travel.bump_mm), moved("droop", travel.droop_mm)];
    let roll = Range::deg("roll", travel.roll_deg, [0.2, 15.0], "no car's body roll");
    // A wheel or a body that is not moved has none.
    moved.into_iter().chain([roll]).filter(|range| range.number != 0.0).collect()
}

fn of_wheel(geometry: &Geometry) -> Vec<Range> {
    let wheel = &geometry.left.wheel;
    let span = [150.0, 2500.0];
    let span = Range::mm("toe_span", wheel.toe_span_mm, span, "no plate or rim that toe is read over", [250.0, 700.0]);
    let width = wheel.tyre_width_mm.map(|mm| Range::mm("tyre_width", mm, [80.0, 500.0], "no tyre's", [130.0, 350.0]));
    [span].into_iter().chain(width).collect()
}

fn of_errors(geometry: &Geometry) -> Vec<Range> {
    let weld = geometry.weld.iter().filter(|weld| weld.sd_mm != 0.0);
    // What is less is the error of a welder in inches.
    let (ends_mm, usual_mm, of) = ([0.05, 3.0], [0.2, 2.0], "no welder's error");
    let weld = weld.map(|weld| match weld.within_mm {
        // As many times as far out as 19 of 20 are.
        Some(mm) => Range {
            about: "`within` in [weld]".to_owned(),
            ..Range::mm("within", mm, ends_mm.map(|mm| 2.0 * mm), of, usual_mm.map(|mm| 2.0 * mm))
        },
        None => Range { about: "`sd` in [weld]".to_owned(), ..Range::mm("sd", weld.sd_mm, ends_mm, of, usual_mm) },
    });
    // Holes of an upright are measured on a machine, or at worst with a rule.
    let holes = geometry.weld.iter().filter_map(|weld| weld.upright_sd_mm).filter(|sd_mm| *sd_mm != 0.0);
    let holes = holes.map(|sd_mm| Range {
        about: "`upright_sd` in [weld]".to_owned(),
        ..Range::mm("upright_sd", sd_mm, [0.005, 1.5], "no error of a drilled hole", [0.02, 1.0])
    });
    let weld = weld.chain(holes);
    let groups = geometry.weld.iter().flat_map(|weld| &weld.groups).filter(|group| group.sd_mm != 0.0);
    let groups = groups.map(|group| Range {
        about: format!("weld group {:?}", group.name),
        ..Range::mm("sd", group.sd_mm, [0.005, 3.0], "no error of a bracket or a subframe", [0.2, 2.0])
    });
    // Points are measured on a machine or with a tape in a dark garage.
    let tape = geometry.tape.iter().map(|tape| Range {
        about: "`sd` in [tape]".to_owned(),
        ..Range::mm("sd", tape.sd_mm, [0.01, 5.0], "no error of a tape", [0.3, 4.0])
    });
    weld.chain(groups).chain(tape).collect()
}

/// A spring in nobody's hands, mm.
pub(super) const FREE_LENGTH_MM: [f64; 2] = [60.0, 900.0];

fn of_springs(geometry: &Geometry) -> Vec<Range> {
    let springs = Side::BOTH.into_iter().filter_map(|side| geometry.corner(side).spring.as_ref());
    let lengths = springs.filter_map(|spring| spring.make.free_length_mm);
    lengths.map(|mm| Range::mm("free_length", mm, FREE_LENGTH_MM, "no spring's", [180.0, 500.0])).collect()
}

/// The thinnest shims of brackets.
fn of_shims(geometry: &Geometry) -> Vec<Range> {
    let links = Side::BOTH.into_iter().flat_map(|side| &geometry.corner(side).links);
    let ends = links.flat_map(|link| End::BOTH.map(|end| (link, link.adjusters.at(end))));
    let steps = ends.filter_map(|(link, adjuster)| Some((link, adjuster?.step_mm?)));
    let step = |(link, mm): (&Link, f64)| Range {
        about: format!("{} adjust", link.name),
        ..Range::mm("step", mm, [0.02, 4.0], "no thinnest shim's", [0.2, 2.0])
    };
    steps.map(step).collect()
}

fn of_shafts(geometry: &Geometry) -> Vec<Range> {
    let shafts = || Side::BOTH.into_iter().filter_map(|side| geometry.corner(side).halfshaft.as_ref());
    let joint = |key, deg| Range::deg(key, deg, [3.0, 60.0], "no halfshaft joint's");
    let window = |wide_mm| {
        Range::mm("plunge_window", wide_mm, plunge::WINDOW_MM, "no halfshaft's plunge, end to end", [12.0, 80.0])
    };
    let windows = shafts().filter_map(|shaft| shaft.plunge_window_mm).map(|window| window.width());
    let inner = shafts().filter_map(|shaft| shaft.inner_limit_deg).map(|deg| joint("inner_limit", deg));
    let outer = shafts().filter_map(|shaft| shaft.outer_limit_deg).map(|deg| joint("outer_limit", deg));
    windows.map(window).chain(inner).chain(outer).collect()
}

/// Where a part of a link's ends stands in the file: in the table of all links, or else in that of the link.
pub(super) fn about_part(geometry: &Geometry, name: &str, table: &str, key: &str) -> String {
    let links = &geometry.left.links;
    let is_shared = links.iter().all(|link| {
        let (part, first) = (&link.hardware, &links[0].hardware);
        if table == "rod_end" { part.rod_end == first.rod_end } else { part.chassis_bolt == first.chassis_bolt }
    });
    if is_shared { format!("{table} {key}") } else { format!("{name} {table}") }
}

/// Rod ends of the links and the gaps of their brackets.
fn of_rod_ends(geometry: &Geometry) -> Vec<Range> {
    let of_rod_end = |rod_end: &RodEnd| {
        let given = |key, mm: Option<f64>, ends_mm, of, usual_mm| {
            mm.filter(|mm| *mm != 0.0).map(|mm| Range::mm(key, mm, ends_mm, of, usual_mm))
        };
        [
            given("shank", rod_end.shank_mm, [14.0, 200.0], "no rod end's, ball centre to end", [28.0, 110.0]),
            given("lock_nut", rod_end.lock_nut_mm, [1.5, 30.0], "no lock nut's height", [3.0, 14.0]),
            given("insert", rod_end.insert_mm, [1.2, 35.0], "no insert's that stands out of its tube", [2.0, 15.0]),
            given("engagement", rod_end.engagement_mm, [4.0, 120.0], "no thread's that is held", [8.0, 45.0]),
        ]
    };
    let mut found = Vec::new();
    for link in &geometry.left.links {
        let limits = link.rod_end_limit_deg.into_iter();
        found.extend(limits.map(|deg| Range {
            about: format!("{} rod_end_limit", link.name),
            ..Range::deg("rod_end_limit", deg, [LEAST_ROD_END_DEG, ANY_ROD_END_DEG], "no rod end's")
        }));
        let parts = link.hardware.rod_end.iter().flat_map(of_rod_end).flatten();
        found.extend(
            parts.map(|range| Range { about: about_part(geometry, &link.name, "rod_end", range.key), ..range }),
        );
        let bolts = End::BOTH.into_iter().filter_map(|end| link.hardware.bolt(end));
        found.extend(bolts.filter_map(|bolt| bolt.gap_mm).map(|mm| Range {
            about: about_part(geometry, &link.name, "bolt", "gap"),
            ..Range::mm("gap", mm, [5.0, 120.0], "no bracket's, between its plates", [10.0, 60.0])
        }));
    }
    found
}

fn of_car(geometry: &Geometry) -> Vec<Range> {
    let car = &geometry.car;
    let share = |key, share: Option<f64>, ends, of| share.map(|share| Range::new(key, share, Shown::Plain, ends, of));
    let brakes = car.rear_brake_share.filter(|share| *share != 0.0);
    let drives = car.rear_drive_share.filter(|share| *share != 0.0);
    let all = [
        car.mass_kg.map(|kg| Range::new("mass", kg, Shown::With("kg"), MASS_KG, "no car's")),
        share("rear_mass_share", car.rear_mass_share, REAR_MASS_SHARE, "no rear axle's share of a car"),
        share("rear_brake_share", brakes, [0.05, 1.0], "no rear axle's share of a car's braking"),
        share("rear_drive_share", drives, [0.05, 1.0], "no driven rear axle's share"),
    ];
    all.into_iter().flatten().collect()
}

fn of_propshaft(shaft: &Propshaft) -> Vec<Range> {
    let rpm = |number| Range {
        about: "propshaft rpm".to_owned(),
        ..Range::new("rpm", number, Shown::With("1/min"), [1000.0, 20_000.0], "no propeller shaft's speed").usually(
            [3000.0, 15_000.0],
            &[(10.0, "the decimal point is shifted"), (0.1, "the decimal point is shifted")],
        )
    };
    let torque = |number| Range {
        about: "propshaft torque".to_owned(),
        ..Range::new("torque", number, Shown::With("N m"), [20.0, 12_000.0], "no propeller shaft's torque")
    };
    let mut found: Vec<Range> = shaft.rpm.map(rpm).into_iter().chain(shaft.torque_nm.map(torque)).collect();
    for section in shaft.tubes.iter().flat_map(|tube| &tube.pieces).map(|piece| piece.section) {
        found.push(Range::mm("od", section.od_mm, [15.0, 250.0], "no propeller shaft's", [35.0, 160.0]));
        // A wall of half the diameter is a solid shaft.
        let is_solid = section.wall_mm > 0.499 * section.od_mm;
        let wall = Range::mm("wall", section.wall_mm, [0.5, 15.0], "no propeller shaft tube's", [1.0, 6.0]);
        found.extend(Some(wall).filter(|_| !is_solid));
    }
    let of_tube = |range: Range| match range.key {
        "od" | "wall" => Range { about: "propshaft tube".to_owned(), ..range },
        _ => range,
    };
    found.into_iter().map(of_tube).collect()
}

impl Range {
    pub(super) fn new(key: &'static str, number: f64, unit: Shown, [low, high]: [f64; 2], of: &'static str) -> Self {
        Self { key, about: key.to_owned(), number, unit, low, high, of, usual_mm: None, usual: None }
    }

    pub(super) fn mm(key: &'static str, mm: f64, ends_mm: [f64; 2], of: &'static str, usual_mm: [f64; 2]) -> Self {
        Self { usual_mm: Some(usual_mm), ..Self::new(key, mm, Shown::Length, ends_mm, of) }
    }

    /// The same, that stands there in the file.
    pub(super) fn at(self, about: String) -> Self {
        Self { about, ..self }
    }

    /// With what most are, and the slips that make them that.
    pub(super) fn usually(self, ends: [f64; 2], slips: &'static [(f64, &'static str)]) -> Self {
        Self { usual: Some(Usual { ends, slips }), ..self }
    }

    fn deg(key: &'static str, deg: f64, ends_deg: [f64; 2], of: &'static str) -> Self {
        Self::new(key, deg, Shown::With("deg"), ends_deg, of)
    }

    fn doubt(&self, geometry: &Geometry) -> Option<Doubt> {
        let units = geometry.units;
        let shown = |number: f64| match self.unit {
            Shown::Length => format!("{:?} {}", as_typed(number / units.in_mm()), units.symbol()),
            Shown::With(symbol) => format!("{number} {symbol}"),
            Shown::Plain => number.to_string(),
        };
        if is_in(self.number, [self.low, self.high]) {
            return None;
        }
        let (key, of) = (self.key, self.of);
        // Of several units the one that makes the most usual number.
        let fits = meant_of_car(self.number / units.in_mm(), units).into_iter().filter_map(|(slip, meant)| {
            let [least_mm, most_mm] = self.usual_mm?;
            let mm = units.to_mm(meant);
            let from_middle = (mm / (least_mm * most_mm).sqrt()).ln().abs();
            (slip.is_of_size() && is_in(mm, [least_mm, most_mm])).then_some((from_middle, slip, meant))
        });
        let meant = fits.min_by(|(a, ..), (b, ..)| a.total_cmp(b));
        let of_size = meant.map(|(_, slip, meant)| (meant, slip.words()));
        let of_number = self.usual.and_then(|Usual { ends, slips }| {
            let all = slips.iter().map(|(factor, words)| (as_typed(factor * self.number), *words));
            all.into_iter().find(|(meant, _)| is_in(*meant, ends))
        });
        let meant = of_size.or(of_number);
        let why = meant.map_or(String::new(), |(meant, words)| format!(", probably {meant:?}: {words}"));
        let sentence = format!(
            "`{key}`: {} is {of}{why}; {} to {} is usual.",
            shown(self.number),
            shown(self.low),
            shown(self.high)
        );
        Some(Doubt::new(None, self.about.clone(), meant.map(|(meant, _)| format!("{meant:?}")), sentence))
    }
}
