//! Forces in words: the caution that goes with every table of them, and where the largest come up.

mod droop_strap;
mod frame;
mod reserves;

use super::length::{LengthFormat, rounded};
use super::words;
use crate::geometry::{End, Link, Side};
use crate::strength::ShearPlanes;
use crate::studies::Lacking;
use crate::studies::forces::{
    Deflection, Extreme, ForcesFindings, Held, Margin, Masses, SpringFails, UnitLoad, WheelCompliance,
};
pub use droop_strap::strap;
pub use frame::{TUBE_FORMS_NOTE, TUBE_FORMS_TITLE, TubeLine, brackets_on_tubes, tube_forms, tube_size};
pub use reserves::{
    breaks_first_title, check, long_enough, mounts, rating_divisor, reserve, reserve_verdict, weaker_than_ranked,
    weakest,
};

/// Goes with every study of forces.
pub const CAUTION: &str = "Static forces in a rigid frame: guidance, not approval. Welds, fatigue, brackets and shock are not \
    covered; the rulebook and a licensed engineer decide. A failed link can kill.";
/// The same in a cell of a table.
pub const TABLE_CAUTION: &str = "static rigid-frame guidance, not approval";
/// Goes with cases that the file did not give.
pub const COMMON_PRACTICE: &str =
    "No load case of this car is given: these are common practice, not measured on any car.";
/// The same for who runs the program.
pub const LOAD_ADVICE: &str = "Load cases of the car itself go into [[load]].";

/// Why a case may have its largest force at a height where nobody would look for it.
pub const EVERY_HEIGHT: &str = "Every case is put on the wheel at design height and at both ends of its travel, whatever its name. At each of them the \
    spring carries what balances the load, however far it is squeezed there: most where it gives least for the travel of the wheel.";

/// A force as a bathroom scale would read it: whole newtons.
pub fn newtons(n: f64) -> String {
    rounded(n, 0)
}

/// In which case, by its number in the list of [`cases`], and where: `3 right, 60.0 mm bump`; no side when the table is of one
/// wheel.
pub fn place(found: &ForcesFindings, extreme: &Extreme, of_one_wheel: bool) -> String {
    numbered(found, (&extreme.case, extreme.side, extreme.at_bump_mm), of_one_wheel)
}

/// The same of a check; nothing where no force decides.
pub fn margin_place(found: &ForcesFindings, margin: &Margin, of_one_wheel: bool) -> String {
    let at = margin.at.as_ref().map(|at| numbered(found, (&at.case, at.side, at.bump_mm), of_one_wheel));
    at.unwrap_or_default()
}

fn numbered(found: &ForcesFindings, (case, side, bump_mm): (&str, Side, f64), of_one_wheel: bool) -> String {
    let number = found.cases.iter().position(|known| known.name == case).map_or(0, |index| index + 1);
    let side = if of_one_wheel { String::new() } else { format!(" {}", side.name()) };
    format!("{number}{side}, {}", words::travel(LengthFormat(found.geometry.units), bump_mm))
}

/// A load of one unit.
pub fn unit_load(load: UnitLoad) -> &'static str {
    match load {
        UnitLoad::LateralOutboard => "1 kN outboard",
        UnitLoad::Braking => "1 kN braking",
        UnitLoad::Driving => "1 kN driving",
        UnitLoad::Aligning => "100 N·m aligning",
    }
}

/// One line of the compliance of a wheel: toe and camber in deg and the tyre in the unit of the file with the height held, then toe
/// in deg with the height free.
pub struct ComplianceLine {
    /// Which load of one unit.
    pub load: &'static str,
    /// Of the wheel at its height: toe, camber, tyre.
    pub held: [String; 3],
    /// `-` where the spring has no rate.
    pub free_toe: String,
}

/// Every load of one unit on a wheel.
pub fn compliance(lengths: LengthFormat, wheel: &WheelCompliance) -> Vec<ComplianceLine> {
    let line = |load: UnitLoad| {
        let of = |held: Held| wheel.responses.iter().find(|of| of.load == load && of.held == held);
        let Deflection { toe_deg, camber_deg, lateral_mm } = of(Held::WheelTravel)?.deflection;
        let deg = |deg: f64| rounded(deg, 4);
        Some(ComplianceLine {
            load: unit_load(load),
            held: [deg(toe_deg), deg(camber_deg), lengths.finer(lateral_mm)],
            free_toe: of(Held::Nothing).map_or("-".to_owned(), |free| deg(free.deflection.toe_deg)),
        })
    };
    UnitLoad::ALL.into_iter().filter_map(line).collect()
}

/// `Compliance at design height (left): toe-in, top outboard, tyre outboard positive`.
pub fn compliance_title(whose: &str) -> String {
    format!("Compliance at design height ({whose}): toe-in, top outboard, tyre outboard positive")
}

/// How the compliance is to be read.
pub const COMPLIANCE_NOTE: &str = "Links and rod ends give along themselves, all else is rigid, so a real car gives more. The outer \
    wheel in a corner is pushed inboard: turn the sign.";

/// What the tubes weigh; `None` when no size is known.
pub fn masses(masses: &Masses) -> Option<String> {
    let links = masses.links_kg.map(|kg| format!("the link tubes of both wheels weigh {} kg", rounded(kg, 2)));
    let frame = (masses.frame_tubes > 0)
        .then(|| format!("{} frame tubes of the file {} kg", masses.frame_tubes, rounded(masses.frame_tubes_kg, 2)));
    let all: Vec<String> = links.into_iter().chain(frame).collect();
    (!all.is_empty()).then(|| words::sentence_start(&format!("{}.", all.join(", "))))
}

/// What goes beside the parts that are there: cautions that no number holds.
pub fn part_cautions(found: &ForcesFindings) -> Vec<String> {
    let corners = || found.sides.iter().map(|&side| found.geometry.corner(side));
    let links = || corners().flat_map(|corner| &corner.links);
    let single = |end: End| {
        let is_single =
            move |link: &&Link| link.hardware.bolt(end).is_some_and(|bolt| bolt.planes == ShearPlanes::Single);
        links().filter(is_single).map(move |link| format!("{} {}", link.name, end.name()))
    };
    let mut names: Vec<String> = End::BOTH.into_iter().flat_map(single).collect();
    names.sort();
    names.dedup();
    let single = (!names.is_empty()).then(|| {
        format!("Single shear at {}: a bolt on one plate bends and works loose; use two cheeks where the load is a suspension load.", names.join(", "))
    });
    let rod_ends = links().any(|link| link.hardware.rod_end.is_some()).then(|| {
        "Rod ends: a washer wider than the housing on either side keeps a link on its bolt when the rod end fails; a left-hand \
         thread has a left-hand lock nut, and both are tight."
            .to_owned()
    });
    single.into_iter().chain(rod_ends).collect()
}

/// What the numbers of the cases stand for.
pub fn cases(found: &ForcesFindings) -> String {
    let each: Vec<String> = (1..).zip(&found.cases).map(|(number, case)| format!("{number} {}", case.name)).collect();
    format!("Cases: {}.", each.join("; "))
}

/// Cases that were not told, one sentence; `None` when all were.
pub fn not_checked(lacking: &[Lacking]) -> Option<String> {
    let each: Vec<String> = lacking.iter().map(|lacks| format!("{} (needs {})", lacks.what, lacks.needs)).collect();
    (!each.is_empty()).then(|| format!("Not checked: {}.", each.join("; ")))
}

/// A wheel that its spring does not hold.
pub fn spring_fails(lengths: LengthFormat, fails: &SpringFails) -> String {
    let at = words::travel(lengths, fails.at_bump_mm);
    format!(
        "the spring does not hold the {} wheel at {at}: bump travel hardly changes its length there",
        fails.side.name()
    )
}

/// What to do about it.
pub const SPRING_FAILS_ADVICE: &str = "forces.csv lacks these rows; move an end of the spring so that it shortens in bump, and see `damper_per_wheel` of a sweep";

/// What a file without a spring is told.
pub fn no_spring(side: Side) -> String {
    format!(
        "the {} wheel has no spring: five links alone do not carry its load, so their forces cannot be told",
        side.name()
    )
}
