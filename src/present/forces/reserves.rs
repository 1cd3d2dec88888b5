//! What each part has in hand, and what breaks first.

use super::super::length::{LengthFormat, rounded, trimmed};
use super::super::words;
use super::newtons;
use crate::geometry::RodEnd;
use crate::strength::ENGAGEMENT_IN_DIAMETERS;
use crate::studies::forces::{Check, ForcesFindings, HousingBolt, Margin, MountFindings, TubeLoad, WANTED_RESERVE};

/// Tubes that are told to carry the final drive.
const TUBES_TOLD: usize = 2;

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
        "Reserve of a rod end: {said}, and that divided by the force along its link. Of a force across its shank: a tenth of the \
         rating, divided by that force."
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
        "Threads in their inserts, held over at least {ENGAGEMENT_IN_DIAMETERS} diameters: {which} (the shortest, {}, is {} times that). Such a \
         length is judged by a rule, not by a force, so it is not among the reserves.",
        least.part,
        reserve(least.reserve)
    ))
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
