//! A pickup that the facts of its own link contradict: its tape, its two bolts, the tube that carries its bracket.
//!
//! A corner with a bracket 100 mm aside can be a sound one; then only what else the file knows of the link tells the mistake.

use super::oddities::{Around, count_odd};
use super::parts::{TAPE_MM, rod_end_limit_deg, tube_of};
use super::slips::{Slip, hundred_off, meant};
use super::written::Writing;
use super::{Doubt, Suspect};
use crate::geometry::{Axis, Corner, CornerPoint, End, Geometry, Pickup, Side};
use crate::measures::out_of_square_deg;

/// A tape that is off by less may be a tape read badly; some slip of a point always fits it, mm.
const TAPE_OFF_MM: f64 = 10.0;
/// Bolts of a drawing are as nearly square to their links as this, deg; with more many a number would do.
const SQUARE_DEG: f64 = 1.5;
/// Where more numbers would do, none is named.
const MAX_SUSPECTS: usize = 2;

/// One doubt for each link whose facts one number of a point explains; the corner goes on with that number.
pub(super) fn mend(geometry: &mut Geometry, side: Side) -> Vec<Doubt> {
    let around = Around::of(geometry, side);
    let mut found = Vec::new();
    for link in (0..5).filter(|&link| around.placed[link]) {
        let Some(why) = contradiction(geometry, geometry.corner(side), side, link) else { continue };
        let guesses = guesses(geometry, side, link, around);
        if !(1..=MAX_SUSPECTS).contains(&guesses.len()) {
            continue;
        }
        found.push(doubt(geometry.corner(side), &guesses, &why));
        *geometry.corner_mut(side) = guesses[0].corner.clone();
    }
    found
}

/// One number of a point of the link, as it was probably meant.
struct Guess {
    point: CornerPoint,
    axis: Axis,
    written: f64,
    meant: f64,
    slip: Slip,
    corner: Corner,
}

/// The numbers with which every fact of the link agrees, the commonest slips of those there are; the corner is no odder for one.
fn guesses(geometry: &Geometry, side: Side, link: usize, around: Around) -> Vec<Guess> {
    let (writing, corner) = (Writing::of(geometry), geometry.corner(side));
    let before = count_odd(corner, around);
    let mut all: Vec<Guess> = Vec::new();
    for point in End::BOTH.map(|end| CornerPoint::Pickup(Pickup { link, end })) {
        let numbers = writing.numbers(corner, point);
        for axis in Axis::ALL {
            let written = numbers[axis.index()];
            for (slip, meant) in meant(written, writing.units).into_iter().chain(hundred_off(written, writing.units)) {
                let mut others = numbers;
                others[axis.index()] = meant;
                let corner = writing.reread(corner, point, others);
                if agrees(geometry, &corner, side, link) && count_odd(&corner, around) <= before {
                    all.push(Guess { point, axis, written, meant, slip, corner });
                }
            }
        }
    }
    let commonest = all.iter().map(|guess| guess.slip.rarity()).min();
    all.retain(|guess| Some(guess.slip.rarity()) == commonest);
    all
}

/// How far its two bolts stand out of square to the link, deg; `None` without both.
fn bolts_deg(corner: &Corner, link: usize) -> Option<[f64; 2]> {
    let link = &corner.links[link];
    let along = link.upright - link.chassis;
    Some([link.chassis_bolt.as_ref()?, link.upright_bolt.as_ref()?].map(|bolt| out_of_square_deg(&along, bolt)))
}

/// How far the link is longer than its tape, mm.
fn off_tape_mm(corner: &Corner, link: usize) -> Option<f64> {
    corner.links[link].taped_mm.map(|taped_mm| corner.links[link].length_mm() - taped_mm)
}

/// Why a link is not where its points are, to stand behind "as written". A bolt alone may itself be wrong.
fn contradiction(geometry: &Geometry, corner: &Corner, side: Side, link: usize) -> Option<String> {
    let limit_deg = rod_end_limit_deg(&corner.links[link]);
    let show = |mm: f64| geometry.units.show(mm);
    let bolts = bolts_deg(corner, link)
        .filter(|off| off.iter().all(|deg| *deg > limit_deg))
        .map(|[chassis, upright]| format!("its bolts stand {chassis:.1} and {upright:.1} deg out of square to it"));
    let tape = off_tape_mm(corner, link).filter(|off_mm| off_mm.abs() > TAPE_OFF_MM).map(|off_mm| {
        format!("it is {} {} than its tape says", show(off_mm.abs()), if off_mm < 0.0 { "shorter" } else { "longer" })
    });
    let tube = tube_of(geometry, corner, side, link).filter(|(_, apart_mm)| *apart_mm > 0.0).map(|(tube, apart_mm)| {
        format!("it is {} too far from tube {:?}, which carries its bracket", show(apart_mm), tube.name)
    });
    let all: Vec<String> = [tape, tube, bolts].into_iter().flatten().collect();
    (!all.is_empty()).then(|| all.join(", and "))
}

/// True when nothing that the file knows of the link speaks against its points.
fn agrees(geometry: &Geometry, corner: &Corner, side: Side, link: usize) -> bool {
    let limit_deg = rod_end_limit_deg(&corner.links[link]).min(SQUARE_DEG);
    bolts_deg(corner, link).is_none_or(|off| off.iter().all(|deg| *deg <= limit_deg))
        && off_tape_mm(corner, link).is_none_or(|off_mm| off_mm.abs() <= TAPE_MM)
        && tube_of(geometry, corner, side, link).is_none_or(|(_, apart_mm)| apart_mm <= 0.0)
}

fn doubt(corner: &Corner, guesses: &[Guess], why: &str) -> Doubt {
    let one = |(nth, guess): (usize, &Guess)| {
        let about = corner.name_of(guess.point);
        let head = if nth == 0 { format!("{about}, {}", corner.side.name()) } else { format!("; or {about}") };
        let (axis, words) = (guess.axis.name(), guess.slip.words());
        format!("{head}: {axis} = {:?} is probably {:?}: {words}", guess.written, guess.meant)
    };
    let sentence: String = guesses.iter().enumerate().map(one).collect();
    let suspect =
        |guess: &Guess| Suspect { about: corner.name_of(guess.point), probably: Some(format!("{:?}", guess.meant)) };
    Doubt {
        side: Some(corner.side),
        suspects: guesses.iter().map(suspect).collect(),
        sentence: format!("{sentence}; as written {why}."),
    }
}
