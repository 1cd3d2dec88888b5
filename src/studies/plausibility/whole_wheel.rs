//! One number of the wheel that explains what is odd of a corner whose upright counts from its hub.
//!
//! In axes of the hub a wheel that is wrong takes all of its upright along: links, shaft and spring look wrong, and none of them is.

use super::copied::WHOLE;
use super::facts::{off_tape_mm, worst_bolt_deg};
use super::inner_joint::bent_deg;
use super::oddities::{Around, oddities};
use super::oddity::Oddity;
use super::typing::{ALIKE_MM, strain};
use super::written::{Writing, place_of};
use super::{Doubt, Sentence, Suspect, of_side};
use crate::geometry::slips::{Slip, as_typed, hundred_off, meant, of_point};
use crate::geometry::{Axis, Corner, CornerPoint, Geometry, Side, UprightAxes, Wheel};

/// What the facts of a corner deny is told alone where they deny so much less of another guess; no unit.
const CLEARLY: f64 = 3.0;
/// Facts that differ by less say nothing.
const ALIKE: f64 = 0.5;
/// No likelier than this than another guess, both are told.
const AS_LIKELY: f64 = 2.0;
/// Cars are counted from their axle: its x is 0.
const DATUM: f64 = 3.0;
/// For each step of rarity of a slip.
const RARER: f64 = 1.5;

/// A wheel with one number as it was probably meant.
struct Guess {
    about: &'static str,
    /// The number in the file and what was meant, as they are shown.
    number: String,
    meant: String,
    slip: Slip,
    corner: Corner,
    /// How far the slip moved the upright, in tenths of a mm.
    by_tenths: f64,
    /// What the facts of the corner say against it, and how unusual it is then.
    denied: f64,
    strain: f64,
}

impl Guess {
    /// The wheel stands then where most cars are counted from.
    fn is_of_datum(&self) -> bool {
        self.about == "wheel centre" && self.number.starts_with('x') && self.meant == "0.0"
    }

    fn words(&self) -> String {
        format!("{} is probably {}: {}", self.number, self.meant, self.slip.words())
    }
}

/// What was found of one side, or the number of its wheel that explains it; where both do, both in one doubt.
pub(super) fn instead(
    geometry: &Geometry,
    mended: &mut Geometry,
    side: Side,
    before: &[Doubt],
    found: Vec<Doubt>,
) -> Vec<Doubt> {
    let corner = geometry.corner(side);
    let (of_corner, mut others): (Vec<Doubt>, Vec<Doubt>) =
        found.into_iter().partition(|doubt| is_of_corner(corner, doubt));
    let of_wheel = |suspect: &Suspect| OF_WHEEL.contains(&suspect.about.as_str());
    let is_guessed =
        |doubt: &Doubt| doubt.suspects.iter().any(|suspect| of_wheel(suspect) && suspect.probably.is_some());
    let is_told = |doubt: &Doubt| doubt.suspects.iter().any(of_wheel);
    let is_asked = !of_corner.is_empty() && !of_corner.iter().any(is_guessed) && !others.iter().any(is_told);
    let mut guesses = match is_asked && geometry.upright_axes != UprightAxes::Car {
        true => best(geometry, side, before, &others).into_iter(),
        false => Vec::new().into_iter(),
    };
    let (Some(guess), second) = (guesses.next(), guesses.next()) else {
        return of_corner.into_iter().chain(others).collect();
    };
    let (axes, by_axes) = (Around::of(mended, side), mended.corner(side));
    let [of_part, part_strain] = [denied(by_axes), strain(&oddities(by_axes, axes))];
    let other = geometry.corner(side.other());
    let is_alike = |corner: &Corner| (corner.wheel.centre - other.wheel.centre).norm() <= ALIKE_MM;
    let of_other_side = !geometry.mirrored && !is_alike(corner) && is_alike(&guess.corner);
    let first = &of_corner[0];
    let of_shaft =
        first.suspects[0].about.starts_with("halfshaft") || first.suspects[0].about.starts_with("final_drive ");
    let of_one = of_corner.len() == 1 && !of_other_side;
    // One link by itself tells nothing of the wheel, and a guess that facts or usage deny is none.
    let is_likely =
        guess.denied <= of_part + ALIKE && (guess.denied + ALIKE < of_part || guess.strain <= part_strain + ALIKE);
    if of_one && !(of_shaft && is_likely) {
        return of_corner.into_iter().chain(others).collect();
    }
    let is_alone = !of_one || guess.denied + CLEARLY < of_part;
    let is_first = guess.denied + ALIKE < of_part || guess.is_of_datum();
    let (about, rest) = first.around_side();
    let (rest, why) = rest.split_once(WHY).unwrap_or((rest.trim_end_matches('.'), ""));
    let why = if why.is_empty() { ".".to_owned() } else { format!("{WHY}{why}") };
    let or_second =
        second.as_ref().map_or(String::new(), |second| format!("; or {}: {}", second.about, second.words()));
    let of_guess = |guess: &Guess| Suspect { about: guess.about.to_owned(), probably: Some(guess.meant.clone()) };
    let of_wheels: Vec<Suspect> = [Some(&guess), second.as_ref()].into_iter().flatten().map(of_guess).collect();
    let is_across = second.is_none() && guess.number.starts_with('y') && geometry.upright_axes == UprightAxes::HubFace;
    let or_offset = if is_across { " (or `offset` is wrong by as much)" } else { "" };
    let goes_along = format!("its upright, which counts from it, goes along{or_offset}");
    let of_wheel = |rest: &str| Sentence::of_side(guess.about, side, &format!(": {}{or_second}{rest}", guess.words()));
    let (sentence, suspects, links) = if is_alone {
        (of_wheel(&format!(", and {goes_along}{why}")), of_wheels, Vec::new())
    } else if is_first {
        let of_both = [of_wheels, first.suspects.clone()].concat();
        (of_wheel(&format!("; or {about}{rest}{why}")), of_both, first.links().to_vec())
    } else {
        let or_wheel = format!("{rest}; or {}: {}{or_second}{why}", guess.about, guess.words());
        (first.retold(&or_wheel), [first.suspects.clone(), of_wheels].concat(), first.links().to_vec())
    };
    if is_alone || is_first {
        *mended.corner_mut(side) = guess.corner;
    }
    others.insert(0, Doubt::of(Some(side), suspects, sentence).naming(links));
    others
}

/// Behind it stands why.
const WHY: &str = "; as written ";
const OF_WHEEL: [&str; 7] = ["wheel centre", "offset", "tyre_radius", "toe", "camber", "rim_radius", "upright_axes"];

/// About a point, a link, a shaft, a spring or the corner.
fn is_of_corner(corner: &Corner, doubt: &Doubt) -> bool {
    let is_point = |about: &str| corner.points().into_iter().any(|(point, _)| corner.name_of(point) == about);
    let is_part = |about: &str| ["halfshaft", "spring", WHOLE].contains(&about) || about.starts_with("final_drive ");
    let is_link = |about: &str| about.starts_with("link \"") || about.ends_with("_bolt");
    doubt
        .suspects
        .iter()
        .map(|suspect| suspect.about.as_str())
        .any(|about| is_point(about) || is_part(about) || is_link(about))
}

/// The likeliest number of the wheel with which nothing of the corner is told; and one of the other of centre and offset that is as likely.
fn best(geometry: &Geometry, side: Side, before: &[Doubt], others: &[Doubt]) -> Vec<Guess> {
    let around = Around::of(geometry, side);
    let is_sound = |guess: &Guess| {
        let mut moved = geometry.clone();
        *moved.corner_mut(side) = guess.corner.clone();
        let odd = oddities(&guess.corner, around);
        let found = || of_side(&moved, &mut moved.clone(), side, before);
        !odd.iter().any(Oddity::asks_for_a_slip) && found().iter().all(|doubt| others.contains(doubt))
    };
    let order = |guess: &Guess| {
        let usual = if guess.is_of_datum() { DATUM } else { 0.0 };
        guess.denied + RARER * f64::from(guess.slip.rarity()) + guess.strain - usual
    };
    let mut all: Vec<Guess> = guesses(geometry, side, around);
    all.sort_by(|a, b| order(a).total_cmp(&order(b)));
    let mut sound = all.into_iter().filter(is_sound);
    let Some(first) = sound.next() else { return Vec::new() };
    let second =
        sound.find(|guess| guess.about != first.about).filter(|second| order(second) < order(&first) + AS_LIKELY);
    let mut told: Vec<Guess> = [Some(first), second].into_iter().flatten().collect();
    // The nearer slip first; of two as near the offset, which no track confirms, unless it is one of a tape: it is read off a wheel.
    let is_of_tape = |guess: &Guess| guess.about == "offset" && guess.slip == Slip::HundredOff;
    let order = |guess: &Guess| (is_of_tape(guess), guess.about);
    told.sort_by(|a, b| a.by_tenths.total_cmp(&b.by_tenths).then(order(a).cmp(&order(b))));
    told
}

fn guesses(geometry: &Geometry, side: Side, around: Around) -> Vec<Guess> {
    let (writing, units, corner) = (Writing::of(geometry), geometry.units, geometry.corner(side));
    let centre = CornerPoint::WheelCentre;
    let written = writing.numbers(corner, centre);
    let on_road = [written[0], written[1], writing.height_on_road(corner)];
    let all = of_point(written, units).filter_map(|(axis, slip, numbers)| Some((axis?, slip, numbers)));
    let all = all.chain([(Axis::Z, Slip::OffTheRoad, on_road)]).filter(|(.., numbers)| *numbers != written);
    let guess = |about, number: String, meant: f64, slip, moved: Corner| {
        let strain = strain(&oddities(&moved, around));
        let by_mm = (moved.links[0].upright - corner.links[0].upright).norm();
        let (denied, by_tenths) = (denied(&moved), (10.0 * by_mm).round());
        Guess { about, number, meant: format!("{meant:?}"), slip, denied, strain, by_tenths, corner: moved }
    };
    let of_centre = all.map(|(axis, slip, numbers)| {
        let at = axis.index();
        let number = format!("{} = {:?}", axis.name(), written[at]);
        guess("wheel centre", number, numbers[at], slip, writing.reread(corner, centre, numbers))
    });
    let offset_mm = corner.wheel.offset_mm.filter(|_| geometry.upright_axes == UprightAxes::HubFace);
    let of_offset = offset_mm.into_iter().flat_map(|mm| {
        let written = as_typed(mm / units.in_mm());
        meant(written, units).into_iter().chain(hundred_off(written, units)).map(move |guess| (written, guess))
    });
    let of_offset = of_offset.map(|(written, (slip, meant))| {
        let wheel = Wheel { offset_mm: Some(units.to_mm(meant)), ..corner.wheel.clone() };
        guess("offset", format!("{written:?}"), meant, slip, writing.with_wheel(corner, wheel))
    });
    of_centre.chain(of_offset).collect()
}

/// What bolts, tapes, the road and the shaft say against a corner; no unit.
fn denied(corner: &Corner) -> f64 {
    const SQUARE_DEG: f64 = 0.5;
    const STRAIGHT_DEG: f64 = 4.0;
    const ON_ROAD_MM: f64 = 1.5;
    const OFF_ROAD: f64 = 5.0;
    let bolts_deg = (0..corner.links.len()).map(|link| (worst_bolt_deg(corner, link) - SQUARE_DEG).max(0.0));
    let tapes_mm = (0..corner.links.len()).filter_map(|link| off_tape_mm(corner, link));
    let tapes = tapes_mm.map(|mm| (mm.abs() - super::parts::TAPE_MM).max(0.0));
    let road = if corner.contact_height_mm().abs() > ON_ROAD_MM { OFF_ROAD } else { 0.0 };
    let shaft_deg = bent_deg(corner).map_or(0.0, |deg| (deg - STRAIGHT_DEG).max(0.0));
    bolts_deg.sum::<f64>() + tapes.sum::<f64>() + road + shaft_deg
}

/// Right points whose numbers are those of the left ones go along with what was mended there: they stand once in the file.
pub(super) fn carry(written: &Geometry, mended: &mut Geometry) {
    let writing = Writing::of(written);
    for (point, place) in written.left.points() {
        let numbers = |corner: &Corner| writing.numbers(corner, point);
        let is_mended = numbers(&written.left) != numbers(&mended.left);
        let is_joint = point == CornerPoint::HalfshaftInner && written.final_drive.is_some();
        let is_same = match writing.is_of_hub(&written.left, point) {
            true => numbers(&written.left) == numbers(&written.right),
            false => place_of(&written.right, point) == place,
        };
        if !is_mended || !is_same || is_joint {
            continue;
        }
        let right = &mended.right;
        let meant = match writing.is_of_hub(&written.left, point) {
            true => numbers(&mended.left),
            false => writing.of_place(right, point, &place_of(&mended.left, point)),
        };
        mended.right = writing.reread(right, point, meant);
    }
}
