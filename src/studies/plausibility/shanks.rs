//! Shanks of rod ends beside their thread, their lock nut and the way that their link is turned.

use super::figures::about_part;
use super::{Doubt, is_in};
use crate::geometry::slips::{as_typed, one_slip};
use crate::geometry::{Geometry, Link, RodEnd, Side};

/// A shank that the check of numbers tells by itself, mm.
const SHANK_MM: [f64; 2] = [14.0, 200.0];
/// From the ball centre to where the head ends, in threads; no unit.
const HEAD: f64 = 1.4;
/// A lock nut is as high, in threads; no unit.
const NUT: f64 = 0.8;
/// The longest shank that is meant, in threads; no unit.
const LONGEST: f64 = 8.0;

/// A shank without room for a head and a lock nut, and ways to turn a link that its shanks do not hold.
pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let links = geometry.left.links.iter();
    let mut found: Vec<Doubt> = links.filter_map(|link| short(geometry, link)).collect();
    found.dedup_by(|a, b| a.sentence == b.sentence); // what every link has is told once
    if !found.is_empty() {
        return found;
    }
    let sides = geometry.own_sides().iter();
    let links = sides.flat_map(|&side| geometry.corner(side).links.iter().map(move |link| (side, link)));
    links.filter_map(|(side, link)| turned_out(geometry, side, link)).collect()
}

/// What a rod end needs from its ball centre to the end of its thread, mm, and of what.
fn needs_mm(rod_end: &RodEnd) -> Option<(f64, &'static str)> {
    let thread_mm = rod_end.thread.as_ref()?.diameter_mm;
    let least = ((HEAD + NUT) * thread_mm, "a head and a lock nut");
    // As where the cut list is made: a head takes a thread's diameter at least.
    let held = rod_end.lock_nut_mm.zip(rod_end.engagement_mm).map(|(nut_mm, held_mm)| thread_mm + nut_mm + held_mm);
    let held = held.map(|mm| (mm, "a head, `lock_nut` and `engagement`"));
    Some(held.filter(|(mm, _)| *mm > least.0).unwrap_or(least))
}

fn short(geometry: &Geometry, link: &Link) -> Option<Doubt> {
    let rod_end = link.hardware.rod_end.as_ref()?;
    let (thread, (needs_mm, of)) = (rod_end.thread.as_ref()?, needs_mm(rod_end)?);
    let shank_mm = rod_end.shank_mm.filter(|mm| is_in(*mm, SHANK_MM) && *mm < needs_mm)?;
    let units = geometry.units;
    let fits = |number: f64| is_in(units.to_mm(number), [needs_mm, LONGEST * thread.diameter_mm]);
    let slip = one_slip(as_typed(shank_mm / units.in_mm()), units, fits);
    let advice = match slip {
        Some((slip, meant)) => format!("probably {meant:?}: {}", slip.words()),
        None => "measure it again, from the ball centre to the end of the thread".to_owned(),
    };
    let [shank, needs] = [shank_mm, needs_mm].map(|mm| units.show(mm));
    let sentence = format!("`shank`: {shank} is no rod end's of {}: {of} take {needs} of it; {advice}.", thread.name);
    let about = about_part(geometry, &link.name, "rod_end", "shank");
    Some(Doubt::new(None, about, slip.map(|(_, meant)| format!("{meant:?}")), sentence))
}

/// Turned from one end of its range to the other, a shank goes by more than it is long beside its lock nut and what is held.
fn turned_out(geometry: &Geometry, side: Side, link: &Link) -> Option<Doubt> {
    let (rod_end, length) = (link.hardware.rod_end.as_ref()?, link.adjusters.length?);
    let thread = rod_end.thread.as_ref()?;
    let (shank_mm, nut_mm) = rod_end.shank_mm.zip(rod_end.lock_nut_mm)?;
    let free_mm = shank_mm - nut_mm - rod_end.engagement_mm?;
    let turns = (-length.range_turns.low).max(0.0) + length.range_turns.high.max(0.0);
    (turns * thread.pitch_mm > free_mm).then(|| {
        let show = |mm: f64| geometry.units.show(mm);
        let name = &link.name;
        let sentence = format!(
            "Link {name:?} on the {}: from end to end `range` turns a rod end by {turns:?} turns, {} of its thread, and its shank has {} \
             beside `lock_nut` and `engagement`.",
            side.name(),
            show(turns * thread.pitch_mm),
            show(free_mm)
        );
        Doubt::new(Some(side), format!("{name} adjust"), None, sentence)
    })
}
