//! What looks wrong in a file that reads well: numbers of no car, slips of the pen, parts that do not fit each other.
//!
//! Nothing is corrected and nothing is refused here: each [`Doubt`] names the point or the key, the number as the file
//! writes it and, where one slip explains it, what was probably meant. A sound car has none.
//!
//! In reading order: `doubt` (what is told of one), `written` (the points of a corner as their file writes them),
//! `oddity` (one number of a corner that is none of a car), `oddities` (how far a corner is from those that are built) with
//! `motion` (what its wheel does) and `alone` (its links beside each other), `guesses` (every slip that may have been made), `typing` (the one slip that explains an odd corner), `odd_corner` (what is told of it), `exchanged` (a bracket with
//! x and y in each other's place), `one_hole` (two ends that were meant to be one), `boxes` (the room of a link without a chassis point), `tubes` (the end of a
//! frame tube that its brackets deny), `facts` (the one number of a link that its tape, its bolts or its tube deny), `digits` (the
//! one number that is finer than all others), `whole_wheel` (the one number of a wheel that moves a whole upright), `copied` (a row of
//! another link), `link_names` (ends that the names of their links deny), `upright_axes` (one question, not fifteen), `wheel`, `shaft`, `inner_joint`, `reach`, `parts`, `spring`, `free_length`,
//! `sides`, `moved_side` (a right side that stands elsewhere as a whole), `car`, `figures`, `makers`, `bodies`, `plunge`, `limits`, `threads`, `shanks`, `driveline`, `flanges` and `datums` (one class of mistakes each), `on_frame` (places of
//! datums and of the ends of tubes where no frame is), `nodes` (ends of tubes beside other tubes), `tube_od` (how thick a tube is beside the others). A mistake that was found is mended for the checks after it, so that it is told
//! once; what they find then must stand in the file as written too.
//!
//! Tested by `tests/plausibility/`.

mod alone;
mod at_wheel;
mod bodies;
mod boxes;
mod car;
mod copied;
mod datums;
mod digits;
mod doubt;
mod driveline;
mod exchanged;
mod facts;
mod figures;
mod flanges;
mod free_length;
mod guesses;
mod inner_joint;
mod likeliest;
mod limits;
mod link_names;
mod makers;
mod motion;
mod moved_side;
mod nodes;
mod odd_corner;
mod oddities;
mod oddity;
mod on_frame;
mod one_hole;
mod parts;
mod plunge;
mod reach;
mod shaft;
mod shanks;
mod sides;
mod spring;
mod threads;
mod tube_od;
mod tubes;
mod typing;
mod upright_axes;
mod wheel;
mod whole_wheel;
mod written;

pub use doubt::{Doubt, Suspect};

use crate::geometry::{CornerPoint, Geometry, Side};
use doubt::{Kind, Sentence};

fn is_in(number: f64, [least, most]: [f64; 2]) -> bool {
    (least..=most).contains(&number)
}

/// What a builder should look at again, the wheels first; empty when nothing stands out.
///
/// Limits of what is believed are common practice with room to spare; `docs/validation.md`, "Mistakes in a file", says how
/// many mistakes of which size are found and that 100,000 sound cars raise none.
pub fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let mut mended = geometry.clone();
    let mut found: Vec<Doubt> = sides::datum(&mut mended).into_iter().collect();
    for &side in geometry.own_sides() {
        let of_side = of_side(geometry, &mut mended, side, &found);
        let mut of_side = whole_wheel::instead(geometry, &mut mended, side, &found, of_side);
        if !is_told(&of_side, side, "offset") {
            of_side.extend(upright_axes::small_offset(geometry, side));
        }
        copied::tell(geometry, side, &mut of_side);
        // What is told of both sides alike stands once in the file.
        of_side.retain(|doubt| !found.iter().any(|told| told.is_same_but_for_side(doubt)));
        found.extend(of_side);
        let of_names = link_names::doubts(geometry, side, written::placed(geometry, side));
        // It is the hole that crosses, and not the room.
        let names = |link: &usize| of_names.iter().any(|doubt| doubt.names(*link));
        found.retain(|told| told.kind != Kind::Crossing || !told.links().iter().any(names));
        let is_told = |link: &usize| found.iter().any(|told| told.names(*link));
        let is_new = |doubt: &Doubt| !doubt.links().iter().any(is_told);
        let of_names: Vec<Doubt> = of_names.into_iter().filter(is_new).collect();
        found.extend(of_names);
        if side == Side::Left && !geometry.mirrored {
            whole_wheel::carry(geometry, &mut mended);
        }
    }
    if !geometry.mirrored {
        let of_sides = sides::doubts(&mended, &found);
        let mut of_sides = if found.is_empty() { of_sides } else { alike(of_sides, &sides::doubts(geometry, &found)) };
        // The tape says that a link is wrong, and the other side which number of it.
        found.retain(|doubt| !of_sides.iter().any(|of_side| doubt.is_of_link_of(of_side)));
        Side::BOTH.into_iter().for_each(|side| copied::tell(geometry, side, &mut of_sides));
        found.extend(of_sides);
    }
    found.extend(car::doubts(geometry));
    found.extend(threads::doubts(geometry));
    found.extend(shanks::doubts(geometry));
    found.extend(makers::doubts(geometry));
    found.extend(driveline::doubts(&mended));
    let is_of_flange = |suspect: &Suspect| flanges::PLACED_BY.contains(&suspect.about.as_str());
    if !found.iter().flat_map(|doubt| &doubt.suspects).any(is_of_flange) {
        let of_flanges = flanges::doubt(&mended);
        if of_flanges.is_some() {
            found.retain(|doubt| doubt.kind != Kind::Sides(Some(CornerPoint::HalfshaftInner))); // a final drive gives both
        }
        found.extend(of_flanges);
    }
    let is_new = |doubt: &Doubt| {
        doubt
            .suspects
            .iter()
            .all(|new| found.iter().flat_map(|told| &told.suspects).all(|told| told.about != new.about))
    };
    let of_tubes: Vec<Doubt> = on_frame::tube_ends(&mended).into_iter().filter(is_new).collect();
    found.extend(of_tubes);
    let of_ends = nodes::doubts(&mended, |about| {
        found.iter().flat_map(|told| &told.suspects).any(|suspect| suspect.about == about)
    });
    found.extend(of_ends);
    found.extend(tube_od::doubts(geometry));
    found.extend(datums::doubts(&mended));
    found
}

/// What is told of one side by itself, `before` being told already; `mended` goes on without it.
fn of_side(written: &Geometry, mended: &mut Geometry, side: Side, before: &[Doubt]) -> Vec<Doubt> {
    let mut found = before.to_vec();
    let (of_wheel, spindle_is_known) = wheel::mend(mended, side);
    found.extend(of_wheel);
    if let Some(question) = upright_axes::question(mended, side) {
        found.push(question);
        return found.split_off(before.len());
    }
    found.extend(upright_axes::unused_offset(mended, side));
    found.extend(parts::mend_tapes(mended, side));
    found.extend(one_hole::mend(mended, side));
    found.extend(typing::mend(mended, written, side, &found));
    let mends: [&Mend; 4] = [
        &|geometry| exchanged::mend(geometry, side),
        &|geometry| tubes::mend(geometry, side),
        &|geometry| facts::mend(geometry, side),
        &|geometry| digits::mend(geometry, side).into_iter().collect(),
    ];
    for mend in mends {
        let told = found.clone();
        // A link that is told as a whole is measured again, and no slip of one of its points explained it.
        let is_told = |link: &usize| told.iter().any(|doubt| doubt.kind == Kind::Link && doubt.names(*link));
        let of_others = |geometry: &mut Geometry| {
            let before = geometry.clone();
            let of_all = mend(geometry);
            if of_all.iter().any(|doubt| doubt.links().iter().any(is_told)) {
                *geometry = before;
                return Vec::new();
            }
            of_all
        };
        after(&mut found, written, mended, &of_others);
    }
    if spindle_is_known {
        if !is_told(&found, side, "wheel centre") && !is_told(&found, side, "halfshaft outer") {
            after(&mut found, written, mended, &|geometry| shaft::mend(geometry, side).into_iter().collect());
        }
        let outer_was_off = is_told(&found, side, "halfshaft outer");
        if outer_was_off {
            found.extend(inner_joint::mend(mended, side, true)); // it says that the outer one was put back
        } else {
            after(&mut found, written, mended, &|geometry| {
                inner_joint::mend(geometry, side, false).into_iter().collect()
            });
        }
    }
    let told = found.clone();
    let is_new = |doubt: &Doubt| doubt.suspects.iter().all(|suspect| !is_told(&told, side, &suspect.about));
    after(&mut found, written, mended, &|geometry| parts::doubts(geometry, side).into_iter().filter(is_new).collect());
    if !is_told(&found, side, "wheel centre") && !is_told(&found, side, "tyre_radius") {
        after(&mut found, written, mended, &|geometry| wheel::off_floor(geometry, side).into_iter().collect());
    }
    after(&mut found, written, mended, &|geometry| reach::too_far(geometry, side).into_iter().collect());
    after(&mut found, written, mended, &|geometry| spring::make(geometry, side).into_iter().collect());
    after(&mut found, written, mended, &|geometry| spring::rate(geometry, side).into_iter().collect());
    after(&mut found, written, mended, &|geometry| free_length::doubt(geometry, side).into_iter().collect());
    after(&mut found, written, mended, &|geometry| boxes::doubts(geometry, side));
    found.split_off(before.len())
}

/// A check that may mend what it finds.
type Mend<'a> = dyn Fn(&mut Geometry) -> Vec<Doubt> + 'a;

/// Adds what a check finds. Once something was mended, no number may be told that is not in the file, or innocents are blamed with numbers
/// that nobody wrote: then only that is added which is found of the car as written too.
fn after(found: &mut Vec<Doubt>, written: &Geometry, mended: &mut Geometry, check: &Mend) {
    let of_mended = check(mended);
    if found.is_empty() || of_mended.is_empty() {
        return found.extend(of_mended);
    }
    let as_written = check(&mut written.clone());
    found.extend(alike(of_mended, &as_written));
}

fn alike(of_mended: Vec<Doubt>, as_written: &[Doubt]) -> Vec<Doubt> {
    of_mended.into_iter().filter(|doubt| as_written.contains(doubt)).collect()
}

/// A number that is told as wrong is judged no further.
fn is_told(found: &[Doubt], side: Side, about: &str) -> bool {
    found.iter().any(|doubt| doubt.is_about(side, about))
}
