//! Places that a tape starts from, beside what a frame reaches and beside each other: each doubt names one datum, or two of
//! which one is wrong.
//!
//! A datum may be on the floor, on either side and anywhere along the frame, so that one alone says little. Two that are
//! called alike but for "left" and "right" are mirror images.

use nalgebra::{Point3, Vector3};

use super::digits::decimals;
use super::on_frame::{Guess, is_on_frame, numbers, off_frame};
use super::{Doubt, Suspect};
use crate::geometry::slips::Slip;
use crate::geometry::{Axis, Datum, Geometry, LengthUnit, Side};

/// A frame is built and measured to this between its two sides, mm.
const ALIKE_MM: f64 = 10.0;
/// A frame may be staggered from side to side by less, mm; what is less may be meant.
const STAGGERED_MM: f64 = 160.0;
/// What is staggered by less is how a frame came out of its jig, mm; and mirror images that a slip makes are exact to this, mm.
const LEAST_STAGGER_MM: f64 = 40.0;
const EXACT_MM: f64 = 0.06;
/// So near to the middle line a place is on neither side, mm.
const MIDDLE_MM: f64 = 20.0;
/// Nobody sets all datums so near together, mm: a tape finds no place from them.
const TOGETHER_MM: f64 = 150.0;
/// As many datums as a builder measures again for one mistake.
const MAX_SUSPECTS: usize = 2;

/// One for each mistake.
pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    if let Some(together) = together(geometry) {
        return vec![together];
    }
    let datums = &geometry.datums;
    let mut told = vec![false; datums.len()];
    let mut found = Vec::new();
    for left in 0..datums.len() {
        let Some(right) = partner(datums, left) else { continue };
        let apart_mm = apart_mm(&datums[left].at, &datums[right].at);
        // What is staggered, or was measured, becomes no exact mirror image by a slip.
        let alike_mm = if apart_mm <= STAGGERED_MM { EXACT_MM } else { ALIKE_MM };
        if apart_mm <= LEAST_STAGGER_MM || told[left] || told[right] {
            continue;
        }
        if let Some((doubt, other)) = exchanged(geometry, left, right) {
            found.push(doubt);
            [left, right].into_iter().chain(other).for_each(|at| told[at] = true);
        } else if let Some(doubt) = no_mirror_images(geometry, left, right, alike_mm) {
            found.push(doubt);
            (told[left], told[right]) = (true, true);
        }
    }
    let alone = datums.iter().zip(told).filter(|(_, is_told)| !is_told).map(|(datum, _)| datum);
    let off = |datum: &Datum| off_frame(geometry, datum, &about(datum)).or_else(|| on_other_side(geometry, datum));
    found.extend(alone.filter_map(off));
    if found.is_empty() {
        found.extend(too_fine(geometry));
    }
    found
}

/// The side that a name speaks of, and the name without it.
fn side_of(name: &str) -> Option<(Side, String)> {
    let side = |word: &str| match word {
        "left" | "l" | "lh" | "lhs" => Some(Side::Left),
        "right" | "r" | "rh" | "rhs" => Some(Side::Right),
        _ => None,
    };
    let lower = name.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let mut sides = words.iter().filter_map(|word| side(word));
    let only = sides.next().filter(|_| sides.next().is_none())?;
    let rest: Vec<&str> = words.into_iter().filter(|word| side(word).is_none()).collect();
    Some((only, rest.join(" ")))
}

/// Of a left datum the one that is called like it on the right.
fn partner(datums: &[Datum], left: usize) -> Option<usize> {
    let (_, of_left) = side_of(&datums[left].name).filter(|(side, _)| *side == Side::Left)?;
    datums.iter().position(|datum| side_of(&datum.name) == Some((Side::Right, of_left.clone())))
}

/// How far one place is from the mirror image of the other, in the direction in which it is furthest, mm.
fn apart_mm(a: &Point3<f64>, b: &Point3<f64>) -> f64 {
    Vector3::new(a.x - b.x, a.y + b.y, a.z - b.z).amax()
}

/// Two datums that are called like mirror images and are none, where one slip in one of them makes them so.
fn no_mirror_images(geometry: &Geometry, left: usize, right: usize, alike_mm: f64) -> Option<Doubt> {
    let [left, right] = [left, right].map(|at| &geometry.datums[at]);
    let of = |datum, other: &Datum| {
        let at = other.at;
        Guess::all(geometry, datum).filter(move |guess| apart_mm(&guess.place(geometry), &at) <= alike_mm)
    };
    let is_on_its_side =
        |guess: &Guess| side_of(&guess.datum.name).is_some_and(|(side, _)| is_on(side, guess.meant[1]));
    let mut fits: Vec<Guess> = of(left, right).chain(of(right, left)).filter(is_on_its_side).collect();
    let Some(least) = fits.iter().map(|guess| guess.slip.rarity()).min() else {
        let is_far = apart_mm(&left.at, &right.at) > STAGGERED_MM;
        // What is off the frame is told by itself.
        let are_on_frame = || [left, right].iter().all(|datum| off_frame(geometry, datum, &about(datum)).is_none());
        return (is_far && are_on_frame()).then(|| far_from_alike(geometry, [left, right]));
    };
    fits.retain(|guess| guess.slip.rarity() == least);
    fits.sort_by_key(|guess| std::cmp::Reverse(guess.decimals()));
    fits.dedup_by(|a, b| a.datum == b.datum);
    fits.truncate(MAX_SUSPECTS);
    let all: Vec<String> = fits.iter().map(|guess| format!("{}: {}", about(guess.datum), guess.words())).collect();
    let other = if fits[0].datum == left { right } else { left };
    let sentence = format!(
        "{}; as written it is no mirror image of {} at {:?}.",
        all.join("; or "),
        about(other),
        numbers(geometry, other)
    );
    Some(Doubt::of(None, fits.iter().map(|guess| guess.suspect(&about(guess.datum))).collect(), sentence))
}

/// Further apart than any frame is staggered, and by no slip: one of the two was measured or typed wrong.
fn far_from_alike(geometry: &Geometry, both: [&Datum; 2]) -> Doubt {
    let [a, b] = both.map(|datum| format!("{} at {:?}", about(datum), numbers(geometry, datum)));
    let apart = geometry.units.show(apart_mm(&both[0].at, &both[1].at));
    let sentence = format!("{a} and {b} are called alike and are {apart} from mirror images: measure both again.");
    let suspects = both.map(|datum| Suspect { about: about(datum), probably: None });
    Doubt::of(None, suspects.into(), sentence)
}

/// Two datums of one side in each other's place: each is then the mirror image of the other's partner. With both that are exchanged
/// and the partner of the other.
fn exchanged(geometry: &Geometry, left: usize, right: usize) -> Option<(Doubt, [usize; 2])> {
    let datums = &geometry.datums;
    let pairs =
        (0..datums.len()).filter(|&other| other != left).filter_map(|other| Some((other, partner(datums, other)?)));
    let alike = |a: usize, b: usize| apart_mm(&datums[a].at, &datums[b].at) <= ALIKE_MM;
    let (other_left, other_right) = { pairs }.find(|&(l, r)| alike(left, r) && alike(l, right) && !alike(l, r))?;
    let [a, b, c, d] = [left, other_left, right, other_right].map(|at| about(&datums[at]));
    let sentence = format!(
        "{a} and {b}, or {c} and {d}, are probably in each other's place: as written neither pair is a pair of mirror images, and \
         exchanged both are."
    );
    let suspects = [&a, &b].map(|about| Suspect { about: about.clone(), probably: None });
    Some((Doubt::of(None, suspects.into(), sentence), [other_left, other_right]))
}

/// A number that is finer than all others of the datums, and ten times as large on the frame as well: its point is shifted.
fn too_fine(geometry: &Geometry) -> Option<Doubt> {
    const LEAST: usize = 4; // datums, to tell how finely this builder measures
    let all = || geometry.datums.iter().flat_map(|datum| numbers(geometry, datum).map(|number| (datum, number)));
    let finest = all().map(|(_, number)| decimals(number)).max()?;
    let mut fine = all().filter(|(_, number)| decimals(*number) == finest);
    let (datum, number) = fine.next().filter(|_| fine.next().is_none() && geometry.datums.len() >= LEAST)?;
    let usual = all().filter(|(other, _)| *other != datum).map(|(_, number)| decimals(number)).max()?;
    let own = numbers(geometry, datum);
    if finest != usual.max(1) + 1 {
        return None;
    }
    let axis = Axis::ALL.into_iter().find(|axis| own[axis.index()] == number)?;
    let guess = Guess::all(geometry, datum).find(|guess| {
        guess.axis == Some(axis) && guess.slip == Slip::PointShifted && guess.meant[axis.index()].abs() > number.abs()
    })?;
    let sentence = format!("{}: {}; as written no other number is as fine.", about(datum), guess.words());
    Some(Doubt::of(None, vec![guess.suspect(&about(datum))], sentence))
}

/// A datum that is called left and stands on the right, or the other way round.
fn on_other_side(geometry: &Geometry, datum: &Datum) -> Option<Doubt> {
    let (side, _) = side_of(&datum.name)?;
    let y = numbers(geometry, datum)[1];
    (datum.at.y.abs() > MIDDLE_MM && !is_on(side, y)).then(|| {
        let sentence = format!(
            "{}: y = {y:?} is probably {:?}: {}; as written it stands on the {} of the car, for y counts to the left.",
            about(datum),
            -y,
            Slip::SignTurned.words(),
            side.other().name()
        );
        Doubt::new(None, about(datum), Some(format!("{:?}", -y)), sentence)
    })
}

/// Three datums and more, all of them so near together that the file's unit is none of theirs.
fn together(geometry: &Geometry) -> Option<Doubt> {
    let places = || geometry.datums.iter().map(|datum| datum.at);
    let spread_mm = places().flat_map(|a| places().map(move |b| (a - b).norm())).fold(0.0, f64::max);
    if geometry.datums.len() < 3 || spread_mm > TOGETHER_MM {
        return None;
    }
    let (first, spread) = (&geometry.datums[0], geometry.units.show(spread_mm));
    let units = [(Slip::InInches, LengthUnit::Inch.in_mm()), (Slip::InCentimetres, 10.0), (Slip::InMetres, 1000.0)];
    let fits = units.into_iter().find(|(_, factor)| {
        let is_there = |place: Point3<f64>| is_on_frame(geometry, &(place * *factor));
        geometry.units == LengthUnit::Millimetre && spread_mm * factor > 4.0 * TOGETHER_MM && places().all(is_there)
    });
    let why = fits.map_or("measure them again, or set them further apart", |(slip, _)| match slip {
        Slip::InInches => "are they in inches, and the file in mm?",
        Slip::InCentimetres => "are they in cm, and the file in mm?",
        _ => "are they in metres, and the file in mm?",
    });
    let sentence = format!(
        "Datums: all {} are within {spread}, and a tape finds no place from them; {why}",
        geometry.datums.len()
    );
    let sentence = if sentence.ends_with('?') { sentence } else { sentence + "." };
    Some(Doubt::new(None, about(first), None, sentence))
}

fn is_on(side: Side, y: f64) -> bool {
    match side {
        Side::Left => y > 0.0,
        Side::Right => y < 0.0,
    }
}

fn about(datum: &Datum) -> String {
    format!("datum {:?}", datum.name)
}

#[cfg(test)]
mod tests {
    use super::side_of;
    use crate::geometry::Side;

    #[test]
    fn a_name_speaks_of_one_side_or_of_none() {
        let of = |name| side_of(name);
        assert_eq!(of("Hoop foot, LEFT"), Some((Side::Left, "hoop foot".into())));
        assert_eq!(of("R-rail 2"), Some((Side::Right, "rail 2".into())));
        assert_eq!([of("rail"), of("left of right seat"), of("cleft")], [None, None, None]);
    }
}
