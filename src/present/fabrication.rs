//! Shop sheets in words.

use super::length::{LengthFormat, rounded};
use super::words;
use crate::studies::fabrication::{Bracket, LinkClock, TapeCheck, TapeStart};

/// How the two angles of a bolt are set.
pub const BOLT_ANGLES: &str = "Angles are read at the end of the bolt that points forward: \"plan\" from straight ahead, seen \
    from above, outboard positive; \"tilt\" from level, up positive. \"leans\" is how far the rod end tilts from square at worst \
    over bump and droop.";
/// How the ends of a link are locked.
pub const CLOCKING: &str = "Clock angle: look along the link from its chassis end; turn the far rod end clockwise from the near \
    one by this angle and lock both. \"may be off\" is what the angle may miss either way before a rod end reaches its limit \
    somewhere in the travel.";

/// What the tape check starts from, and how well it fixes the pickups.
pub fn tape_check(lengths: LengthFormat, check: &TapeCheck) -> String {
    let count = check.distances.len();
    let head = match check.measured_from {
        TapeStart::Datums => format!("Tape check: {count} distances, three of each pickup from datums of the file."),
        TapeStart::DatumsAndPickups => format!(
            "Tape check: {count} distances; the file has fewer than three [[datum]], so other pickups stand in. Add datums to \
             fix the car in its frame."
        ),
        TapeStart::Pickups => format!(
            "Tape check: {count} distances between the pickups themselves, for the file has no [[datum]]. They hold the shape \
             and not its place in the frame: add three datums or more."
        ),
    };
    let fixed = check.fixes.iter().filter_map(|fix| Some((fix.within_mm?, &fix.point)));
    let worst = fixed.max_by(|(a, _), (b, _)| a.total_cmp(b));
    let worst = worst.map(|(within_mm, point)| {
        let within = lengths.with_unit(within_mm);
        format!(" With each distance inside its tolerance, every pickup is within {within} of its place ({point:?} at worst).")
    });
    let loose: Vec<String> =
        check.fixes.iter().filter(|fix| fix.within_mm.is_none()).map(|fix| fix.point.clone()).collect();
    let loose = match &loose[..] {
        [] => String::new(),
        names => format!(
            " Not fixed by any three of these places: {}; add a datum that is well above or below the others.",
            words::listed(names)
        ),
    };
    head + &worst.unwrap_or_default() + &loose
}

/// How many bolts of the file there are, and how many are proposed.
pub fn bolts(brackets: &[Bracket]) -> Option<String> {
    use crate::studies::fabrication::BoltFrom;
    let best = brackets.iter().filter(|bracket| bracket.bolt_from == Some(BoltFrom::Best)).count();
    (best > 0).then(|| {
        format!(
            "{best} of {} bolts have no direction in the file: the one that leaves the least lean is shown (marked *); weld to \
             it, or write yours as `chassis_bolt` or `upright_bolt`.",
            brackets.len()
        )
    })
}

/// Of a link whose ends cannot be locked so that both stay inside their limit.
pub fn clock_without_room(link: &LinkClock) -> Option<String> {
    let short_deg = -link.permitted_deg.filter(|deg| *deg < 0.0)?;
    Some(format!(
        "Link {:?}: at no clock angle do both rod ends stay inside their limit, it lacks {} deg either way; turn a bolt toward \
         its best direction, or take rod ends that lean more.",
        link.link,
        rounded(short_deg, 2)
    ))
}
