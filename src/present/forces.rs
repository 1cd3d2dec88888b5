//! Forces in words: the caution that goes with every table of them, and where the largest come up.

use super::length::{LengthFormat, rounded, trimmed};
use super::quantity::band;
use super::words;
use crate::geometry::{Axis, End, Link, RodEnd, Side};
use crate::strength::{ENGAGEMENT_IN_DIAMETERS, ShearPlanes};
use crate::studies::Lacking;
use crate::studies::forces::{
    BracketOnTube, Check, Deflection, Extreme, ForcesFindings, Held, HousingBolt, Margin, Masses, MountFindings,
    OtherTube, SpringFails, StrapFails, StrapOffItsLength, StrapSlack, TubeForm, TubeLoad, UnitLoad, WANTED_RESERVE,
    WheelCompliance, WheelFrame,
};

/// Tubes that are told to carry the final drive.
const TUBES_TOLD: usize = 2;

/// Goes with every study of forces.
pub const CAUTION: &str = "Static forces in a rigid frame: guidance, not approval. Welds, fatigue, brackets and shock are not \
    covered; the rulebook and a licensed engineer decide. A failed link can kill: see docs/safety.md.";
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

/// What of a part is looked at.
pub fn check(check: Check) -> &'static str {
    match check {
        Check::TubePull => "tube, pulled",
        Check::TubeBuckling => "tube, buckling",
        Check::RodEnd => "rod end, static rating",
        Check::RodEndAcross => "rod end, across",
        Check::RodEndShank => "rod-end shank",
        Check::ChassisBolt => "bolt at the frame",
        Check::UprightBolt => "bolt at the upright",
        Check::Engagement => "thread in its insert",
        Check::FrameTube => "frame tube, bent",
    }
}

/// `What breaks first (left): its strength over the force; below 1 it breaks on paper, 1.5 is wanted`.
pub fn breaks_first_title(whose: &str) -> String {
    format!(
        "What breaks first ({whose}): its strength over the force; below 1 it breaks on paper, {WANTED_RESERVE} is wanted"
    )
}

/// What the reserve of a rod end is, so that it can be worked out by hand; `None` when no rating is compared with a force.
pub fn rating_divisor(found: &ForcesFindings) -> Option<String> {
    let ranked = found.margins.iter().flat_map(|wheels| &wheels.ranked);
    let divisors = words::gathered(ranked.filter_map(|margin| Some((divided(found, margin)?, margin.part.clone()))));
    let said = match &divisors[..] {
        [] => return None,
        [(divided, _)] => divided.clone(),
        several => {
            let each = several.iter().map(|(divided, parts)| format!("{}: {divided}", words::listed(parts)));
            each.collect::<Vec<_>>().join("; ")
        }
    };
    Some(format!(
        "Reserve of the static rating: {said}, then by the force; across the shank a tenth of the rating, divided by the force across."
    ))
}

/// `rating divided by 3 (taken, for the file gives none)` of the check of a static rating; nothing of the others.
fn divided(found: &ForcesFindings, margin: &Margin) -> Option<String> {
    let corner = found.geometry.corner(margin.at.as_ref()?.side);
    let link = corner.links.iter().find(|link| link.name == margin.part)?;
    let of = |rod_end: &RodEnd| {
        let from =
            if rod_end.application_factor.is_some() { "given by the file" } else { "taken, for the file gives none" };
        format!("rating divided by {} ({from})", trimmed(&rounded(rod_end.application_factor(), 2)))
    };
    link.hardware.rod_end.as_ref().filter(|_| margin.check == Check::RodEnd).map(of)
}

/// A reserve with two decimals; one that no force will ever use up says so.
pub fn reserve(reserve: f64) -> String {
    if reserve < 100.0 { rounded(reserve, 2) } else { ">99".to_owned() }
}

/// What a reserve comes to: `FAIL` below 1, `thin` below the wanted one. A sentence on it has the same word.
pub fn reserve_verdict(margin: &Margin) -> &'static str {
    match margin {
        broken if broken.reserve < 1.0 => "FAIL",
        thin if thin.is_thin() => "thin",
        _ => "",
    }
}

/// Threads that are held over their least length, which no force decides: they stand in no order of strength. `None` without one.
pub fn long_enough(ranked: &[Margin]) -> Option<String> {
    let long = || ranked.iter().filter(|margin| margin.is_long_enough());
    let least = long().min_by(|a, b| a.reserve.total_cmp(&b.reserve))?;
    let which = match (long().count(), ranked.iter().filter(|margin| margin.check == Check::Engagement).count()) {
        (1, _) => least.part.clone(),
        (some, all) if some == all => "all".to_owned(),
        _ => words::listed(&long().map(|margin| margin.part.clone()).collect::<Vec<_>>()),
    };
    Some(format!(
        "Threads in their inserts, held over at least {ENGAGEMENT_IN_DIAMETERS} diameters: {which} (the shortest, {}, is {} times that). No force decides \
         a length, so it has no place among the reserves.",
        least.part,
        reserve(least.reserve)
    ))
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

/// Each bracket on a frame tube, of which side where they differ.
pub fn brackets_on_tubes(lengths: LengthFormat, found: &ForcesFindings) -> Vec<String> {
    let several = found.frame.len() > 1;
    let of = |wheels: &WheelFrame| {
        let side = wheels.wheels.first().filter(|_| several).map_or(String::new(), |side| format!("{}, ", side.name()));
        let sentence = |bracket| format!("{side}{}", bracket_on_tube(lengths, bracket));
        wheels.brackets.iter().map(|bracket| words::sentence_start(&sentence(bracket))).collect::<Vec<_>>()
    };
    found.frame.iter().flat_map(of).collect()
}

/// A bracket on a frame tube, in one sentence; stiffness and toe from hinged to built-in ends.
fn bracket_on_tube(lengths: LengthFormat, bracket: &BracketOnTube) -> String {
    let [low, high] = [bracket.stiffness_n_per_mm.low, bracket.stiffness_n_per_mm.high].map(|k| rounded(k / 1000.0, 1));
    let toe = bracket.toe_deg_per_kn;
    let toe = band(|deg| rounded(deg, 4), toe);
    format!(
        "{} on {:?}, {} of {} from a node: {low} to {high} kN/mm across it, which is {toe} deg of toe for 1 kN in the link. Largest \
         force across it {} N: brace it {}. Moment by its stand-off {} N·m; reserve of the tube {}{}.",
        words::inner_bracket(&bracket.link),
        bracket.tube,
        lengths.number(bracket.from_node_mm),
        lengths.with_unit(bracket.span_mm),
        newtons(bracket.across_n),
        words::along(Axis::nearest(bracket.brace_along)),
        newtons(bracket.stand_off_nm),
        reserve(bracket.reserve),
        if bracket.reserve < 1.0 { " (FAIL)" } else { "" }
    )
}

/// Outside and wall of a tube: `30.00 x 2.00 mm`.
pub fn tube_size(lengths: LengthFormat, outside_mm: f64, wall_mm: f64) -> String {
    format!("{} x {} {}", lengths.finer(outside_mm), lengths.finer(wall_mm), lengths.symbol())
}

/// A frame tube under a bracket, as it is or in another form: one line of the table that sets them side by side.
pub struct TubeLine {
    /// Name of the tube.
    pub tube: String,
    /// `round 30.00 x 2.00 mm, as it is`.
    pub form: String,
    /// Stiffness over that of the tube as it is.
    pub stiffness: String,
    /// Strength over that of the tube as it is.
    pub strength: String,
    /// Between its nodes, kg.
    pub mass_kg: String,
}

/// Every tube under a bracket once: as it is, two of it side by side, and a square one as strong.
pub fn tube_forms(lengths: LengthFormat, frame: &[WheelFrame]) -> Vec<TubeLine> {
    let mut brackets: Vec<&BracketOnTube> = Vec::new();
    for bracket in frame.iter().flat_map(|wheels| &wheels.brackets) {
        if brackets.iter().all(|known| known.tube != bracket.tube) {
            brackets.push(bracket);
        }
    }
    let of = |bracket: &BracketOnTube| {
        let line = |form: String, stiffness: f64, strength: f64, mass_kg: f64| TubeLine {
            tube: bracket.tube.clone(),
            form,
            stiffness: rounded(stiffness, 2),
            strength: rounded(strength, 2),
            mass_kg: rounded(mass_kg, 2),
        };
        let as_it_is = format!("round {}, as it is", tube_size(lengths, bracket.od_mm, bracket.wall_mm));
        let other = |other: &OtherTube| {
            let form = match other.form {
                TubeForm::TwoBesideEachOther => "two of it side by side".to_owned(),
                TubeForm::SquareOfEqualStrength => {
                    format!("square {}, as strong", tube_size(lengths, other.outside_mm, other.wall_mm))
                }
            };
            line(form, other.stiffness_ratio, other.strength_ratio, other.mass_kg)
        };
        let others: Vec<TubeLine> = bracket.instead.iter().map(other).collect();
        std::iter::once(line(as_it_is, 1.0, 1.0, bracket.mass_kg)).chain(others)
    };
    brackets.into_iter().flat_map(of).collect()
}

/// Stands above the lines of [`tube_forms`].
pub const TUBE_FORMS_TITLE: &str =
    "Frame tubes under brackets in other forms; stiffness and strength over those of the tube as it is";
/// How they are to be read.
pub const TUBE_FORMS_NOTE: &str = "As strong means in bending across its corners, the weakest way of a square tube; across its flats it bears \
    two fifths more. Two tubes share the load only when the bracket holds both.";

/// What the tubes weigh; `None` when no size is known.
pub fn masses(masses: &Masses) -> Option<String> {
    let links = masses.links_kg.map(|kg| format!("the link tubes of both wheels weigh {} kg", rounded(kg, 2)));
    let frame = (masses.frame_tubes > 0)
        .then(|| format!("{} frame tubes of the file {} kg", masses.frame_tubes, rounded(masses.frame_tubes_kg, 2)));
    let all: Vec<String> = links.into_iter().chain(frame).collect();
    (!all.is_empty()).then(|| words::sentence_start(&format!("{}.", all.join(", "))))
}

/// The bolts of the final drive: what breaks first, then the two tubes that carry most.
pub fn mounts(lengths: LengthFormat, mounts: &MountFindings) -> String {
    let bolt = |bolt: &HousingBolt| {
        let fails = if bolt.reserve < 1.0 { " (FAIL)" } else { "" };
        format!(
            "hole {} reserve {}{fails} ({} N off the frame, {} N across the bolt; {})",
            bolt.hole,
            reserve(bolt.reserve),
            newtons(bolt.pull_out_n),
            newtons(bolt.shear_n),
            bolt.case
        )
    };
    let bolts: Vec<String> = mounts.bolts.iter().map(bolt).collect();
    let tube = |load: &TubeLoad| {
        let off = lengths.with_unit(load.farthest_mm);
        format!("{:?} up to {} N in all (holes up to {off} from it)", load.tube, newtons(load.force_n))
    };
    let tubes: Vec<String> = mounts.tubes.iter().take(TUBES_TOLD).map(tube).collect();
    let carried = if tubes.is_empty() {
        String::new()
    } else {
        format!(" The nearest tubes of the file would carry: {}.", tubes.join(", "))
    };
    format!("Bolts of the final drive under the torques of its shafts: {}.{carried}", bolts.join("; "))
}

/// What is to be said of a droop strap; nothing without one.
pub fn strap(lengths: LengthFormat, found: &ForcesFindings) -> Vec<String> {
    let has_strap = |side: &Side| {
        let spring = found.geometry.corner(*side).spring.as_ref();
        spring.is_some_and(|spring| spring.make.strap.is_some())
    };
    if !found.sides.iter().any(has_strap) {
        return Vec::new();
    }
    let pulls = found.all().any(|(_, _, forces)| forces.strap_n.is_some_and(|n| n > 0.0));
    let taut = if pulls { STRAP_NOTE } else { STRAP_IDLE };
    let mut said: Vec<String> = found.strap_off_its_length.iter().map(|off| off_its_length(lengths, off)).collect();
    said.extend(
        [StrapFails::WouldPush, StrapFails::DoesNotHold].map(|why| slack(lengths, found, why)).into_iter().flatten(),
    );
    said.push(taut.to_owned());
    said
}

const STRAP_NOTE: &str = "Where the droop strap is taut it holds the wheel, and the spring counts as slack: one that is still squeezed there \
    pulls on the strap with its force too.";
const STRAP_IDLE: &str = "No case pulls on the droop strap. A wheel in the air does: add a [[load]] with its weight, for example \
    centre = [0.0, 0.0, -400.0] (N).";

fn off_its_length(lengths: LengthFormat, off: &StrapOffItsLength) -> String {
    let StrapOffItsLength { side, at_bump_mm, apart_mm, length_mm } = *off;
    let holds = match apart_mm < length_mm {
        true => "it hangs slack there, and what acts along the spring holds the wheel",
        false => "it holds the wheel before that",
    };
    format!(
        "The {} droop strap is {} long, and its ends are {} apart at {}: {holds}.",
        side.name(),
        lengths.with_unit(length_mm),
        lengths.with_unit(apart_mm),
        words::travel(lengths, at_bump_mm)
    )
}

/// In which cases a taut strap counts as slack; `None` when there is no such case.
fn slack(lengths: LengthFormat, found: &ForcesFindings, why: StrapFails) -> Option<String> {
    let of: Vec<&StrapSlack> = found.strap_slack.iter().filter(|slack| slack.why == why).collect();
    let mut heights_mm: Vec<f64> = of.iter().map(|slack| slack.at_bump_mm).collect();
    heights_mm.sort_by(f64::total_cmp);
    heights_mm.dedup();
    let case = |(number, name): (usize, &str), at_bump_mm: f64| {
        let there = of.iter().filter(|slack| slack.case == name && slack.at_bump_mm == at_bump_mm);
        let sides: Vec<Side> = there.map(|slack| slack.side).collect();
        match sides[..] {
            [] => None,
            [only] if found.sides.len() > 1 => Some(format!("{number} {}", only.name())),
            _ => Some(number.to_string()),
        }
    };
    let at = |&at_bump_mm: &f64| {
        let cases = (1..).zip(&found.cases).filter_map(|(number, of)| case((number, &of.name), at_bump_mm));
        let cases: Vec<String> = cases.collect();
        let plural = if cases.len() == 1 { "case" } else { "cases" };
        format!("{plural} {} at {}", words::listed(&cases), words::travel(lengths, at_bump_mm))
    };
    let places: Vec<String> = heights_mm.iter().map(at).collect();
    let says = match why {
        StrapFails::WouldPush => "would have to push, which a strap cannot",
        StrapFails::DoesNotHold => "does not hold the wheel, for travel hardly changes its length",
    };
    (!places.is_empty()).then(|| {
        format!(
            "The droop strap {says}, in {}: there what acts along the spring holds the wheel.",
            words::listed(&places)
        )
    })
}

/// The part with the least in hand, of the links, of the frame under their brackets and of the final drive's mounts; `None` when
/// nothing could be checked.
pub fn weakest(lengths: LengthFormat, found: &ForcesFindings) -> Option<String> {
    weaker_bolt(found).or_else(|| weakest_ranked(lengths, found)).map(|part| format!("Weakest part: {part}."))
}

/// A bolt of the final drive that has less in hand than all in the tables of what breaks first, for beside them.
pub fn weaker_than_ranked(found: &ForcesFindings) -> Option<String> {
    let head = if least_ranked(found).is_some() { "Weaker than all of these" } else { "Weakest part" };
    weaker_bolt(found).map(|part| format!("{head}: {part}."))
}

fn least_ranked<'f>(found: &'f ForcesFindings) -> Option<&'f Margin> {
    let ranked = found.margins.iter().filter_map(|wheels| wheels.ranked.first());
    ranked.min_by(|a, b| a.before(b))
}

fn weakest_ranked(lengths: LengthFormat, found: &ForcesFindings) -> Option<String> {
    let least = least_ranked(found)?;
    let place = least.at.as_ref();
    let at =
        place.map_or(String::new(), |at| format!(" in case {:?} at {}", at.case, words::travel(lengths, at.bump_mm)));
    let divided = divided(found, least).map_or(String::new(), |divided| format!(", {divided}"));
    let in_hand = match least.check {
        // No force decides it, so nothing breaks on paper.
        Check::Engagement => format!(
            "held over {} of its diameters, {ENGAGEMENT_IN_DIAMETERS} are wanted",
            rounded(ENGAGEMENT_IN_DIAMETERS * least.reserve, 2)
        ),
        _ => in_hand(least.reserve),
    };
    let part = match frame_tube(found, least) {
        Some(tube) => format!("frame tube {tube:?} under the {}", words::inner_bracket(&least.part)),
        None => format!("{}, {}", least.part, check(least.check)),
    };
    Some(format!("{part}{divided}{at}, {in_hand}"))
}

/// Name of the tube whose bending a margin is of; `None` of the others.
fn frame_tube<'f>(found: &'f ForcesFindings, margin: &Margin) -> Option<&'f str> {
    let mut brackets = found.frame.iter().flat_map(|wheels| &wheels.brackets);
    let under = brackets.find(|bracket| margin.check == Check::FrameTube && bracket.link == margin.part)?;
    Some(&under.tube)
}

fn weaker_bolt(found: &ForcesFindings) -> Option<String> {
    let bolts = found.mounts.iter().flat_map(|mounts| &mounts.bolts);
    let least = bolts.min_by(|a, b| a.reserve.total_cmp(&b.reserve))?;
    let ranked = least_ranked(found).map_or(f64::INFINITY, |margin| margin.reserve);
    let said = || format!("bolt of the final drive, hole {}, {}", least.hole, in_hand(least.reserve));
    (least.reserve < ranked).then(said)
}

fn in_hand(of: f64) -> String {
    let reserve = reserve(of);
    match of {
        of if of < 1.0 => format!("reserve {reserve}: it breaks on paper, {WANTED_RESERVE} is wanted"),
        of if of < WANTED_RESERVE => format!("reserve {reserve}, thin: below the {WANTED_RESERVE} that is wanted"),
        _ => format!("reserve {reserve} ({WANTED_RESERVE} is wanted)"),
    }
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
