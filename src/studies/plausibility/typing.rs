//! The one slip of the pen that explains why a corner is odd.

use super::oddities::{Around, oddities};
use super::oddity::{About, Oddity};
use super::shaft::is_on_line;
use super::written::{Writing, end_pairs, place_of};
use crate::geometry::slips::{Slip, of_point};
use std::cmp::Ordering;

use nalgebra::Point3;

use super::{Doubt, Suspect};
use crate::geometry::{Axis, Corner, CornerPoint, End, Geometry, Pickup, Side, SpringMount};

/// Two sides of one drawing that were welded and measured agree to this, mm.
pub(super) const ALIKE_MM: f64 = 5.0;
/// What is left of hub axes and of inches between two numbers that were typed as one, mm.
const SAME_HOLE_MM: f64 = 0.05;
/// More mistakes than this in one corner are another kind of file.
const MAX_SLIPS: usize = 8;
/// A slip explains an odd corner when no more than this share of its excess is left.
const EXPLAINS: f64 = 0.6;
/// As many points are named as a builder measures again for one mistake.
const MAX_SUSPECTS: usize = 2;
/// How much more usual a rarer slip has to leave a corner, for each step of rarity; no unit.
const RARER: f64 = 0.5;
/// No single oddity counts for more than this: two mistakes stay two, however large one is.
const MAX_RATIO: f64 = 4.0;

/// Numbers that a slip explains, and points and links that are none of a car; the corner goes on without the slips.
///
/// `told` is what was told of the car so far: where the left side is sound, a mistake of the right one is where it differs.
pub(super) fn mend(geometry: &mut Geometry, side: Side, told: &[Doubt]) -> Vec<Doubt> {
    let writing = Writing::of(geometry);
    let left = geometry.left.clone();
    let is_alike =
        |corner: &Corner, point: CornerPoint| (place_of(corner, point) - place_of(&left, point)).norm() <= ALIKE_MM;
    let beside_sound = side == Side::Right && told.is_empty();
    let fits = |corner: &Corner, guess: &Guess| {
        !beside_sound || guess.points().all(|point| !is_alike(corner, point) && is_alike(&guess.corner, point))
    };
    let around = Around::of(geometry, side);
    let corner = geometry.corner_mut(side);
    let mut found = Vec::new();
    let mut odd = oddities(corner, around);
    while odd.iter().any(Oddity::asks_for_a_slip) && found.len() < MAX_SLIPS {
        let best = best_guesses(corner, (around, &fits), &odd, &writing);
        let Some(guess) = best.first() else { break };
        found.push(doubt(&best, corner, &odd, &writing));
        *corner = guess.corner.clone();
        odd = oddities(corner, around);
    }
    // How a right wheel alone moves oddly is told by where it differs.
    odd.retain(|oddity| !beside_sound || oddity.about != About::Corner);
    found.extend(unexplained(corner, &odd, &writing));
    found
}

/// Whether a guess about a corner may be meant.
type Fits<'f> = dyn Fn(&Corner, &Guess) -> bool + 'f;

/// A corner with one number, or one point, as it was probably meant.
struct Guess {
    point: CornerPoint,
    /// The point that it stands in place of, when two points of one kind are exchanged.
    with: Option<CornerPoint>,
    /// `None` when more than one number changes.
    axis: Option<Axis>,
    slip: Slip,
    meant: [f64; 3],
    corner: Corner,
}

/// How far a corner is outside of what sound corners keep; 0 when it is inside, no unit.
fn excess(odd: &[Oddity]) -> f64 {
    odd.iter().filter(|oddity| oddity.ratio > 1.0).map(|oddity| oddity.ratio.min(MAX_RATIO)).sum()
}

/// How unusual a corner is, inside what sound corners keep as well, no unit.
fn strain(odd: &[Oddity]) -> f64 {
    odd.iter().map(|oddity| oddity.ratio.min(MAX_RATIO).powi(2)).sum()
}

/// The slip that leaves the soundest corner, when it explains enough, and the best one of another point that leaves no more.
fn best_guesses(corner: &Corner, (around, fits): (Around, &Fits), odd: &[Oddity], writing: &Writing) -> Vec<Guess> {
    let before = excess(odd);
    // A wheel that is off its road takes all of its upright along, and any part of that may look odd.
    let is_meant = |guess: &Guess| {
        fits(corner, guess) && (guess.slip == Slip::OffTheRoad || guess.points().any(|point| is_suspected(point, odd)))
    };
    // A joint that is put back is where it runs.
    let runs = |guess: &Guess| guess.point != CornerPoint::HalfshaftOuter || is_on_line(&guess.corner);
    let is_one = |guess: &Guess| guess.with.is_some() || !shares_hole(corner, guess.point);
    let suspected =
        guesses(corner, around.placed, writing).filter(|guess| is_one(guess) && is_meant(guess) && runs(guess));
    let judged = suspected.filter_map(|guess| {
        let odd = oddities(&guess.corner, around);
        let after = excess(&odd);
        (guess.points().all(|point| settles(&odd, point)) && after <= EXPLAINS * before)
            .then(|| (after, strain(&odd) + RARER * f64::from(guess.slip.rarity()), guess))
    });
    let mut judged: Vec<(f64, f64, Guess)> = judged.collect();
    // Of slips that leave as much, those come first that are where it looks odd, and then those that leave it most usual.
    let is_odd = |point: CornerPoint| odd.iter().any(|oddity| oddity.ratio > 1.0 && oddity.touches(point));
    let is_elsewhere = |guess: &Guess| !guess.points().any(is_odd);
    judged.sort_by(|(a, a_strain, a_guess), (b, b_strain, b_guess)| {
        let elsewhere = is_elsewhere(a_guess).cmp(&is_elsewhere(b_guess));
        a.total_cmp(b).then(elsewhere).then(a_strain.total_cmp(b_strain))
    });
    let mut best: Vec<Guess> = Vec::new();
    let least = judged.first().map_or(0.0, |(least, ..)| *least);
    for (_, _, guess) in judged.into_iter().take_while(|(after, ..)| *after <= least) {
        if best.iter().all(|other| other.point != guess.point) {
            best.push(guess);
        }
    }
    best.truncate(MAX_SUSPECTS);
    best
}

/// With a point as it was meant nothing of it is odd, and the wheel moves as wheels do unless something else is odd too.
fn settles(odd: &[Oddity], point: CornerPoint) -> bool {
    let odd = || odd.iter().filter(|oddity| oddity.ratio > 1.0);
    let moves_oddly = odd().any(|oddity| oddity.about == About::Corner);
    let is_odd_elsewhere = odd().any(|oddity| oddity.about != About::Corner);
    !odd().any(|oddity| oddity.touches(point)) && (!moves_oddly || is_odd_elsewhere)
}

/// Where one or two parts by themselves are none of a car, the mistake is in one of their points; where more are, it may be
/// in what they have in common.
fn is_suspected(point: CornerPoint, odd: &[Oddity]) -> bool {
    let mut parts: Vec<&Oddity> = Vec::new();
    for oddity in odd.iter().filter(|oddity| oddity.is_beyond_any_car() && oddity.about != About::Corner) {
        if !parts.iter().any(|part| same_part(part.about, oddity.about)) {
            parts.push(oddity);
        }
    }
    let touched = || odd.iter().any(|oddity| oddity.is_beyond_any_car() && oddity.touches(point));
    parts.is_empty() || parts.len() > 2 || touched()
}

/// Every point of the corner with every slip in one of its numbers, in the unit of all three, or with two of them exchanged.
fn guesses(corner: &Corner, placed: [bool; 5], writing: &Writing) -> impl Iterator<Item = Guess> {
    let is_typed = move |point: &CornerPoint| match point {
        CornerPoint::Pickup(Pickup { link, end: End::Chassis }) => placed[*link],
        CornerPoint::SpringMount => corner.spring.as_ref().is_some_and(|spring| spring.on == SpringMount::Upright),
        _ => true,
    };
    let points = corner.points().into_iter().map(|(point, _)| point).filter(is_typed);
    let one_point = points.flat_map(move |point| {
        let written = writing.numbers(corner, point);
        let on_road = (point == CornerPoint::WheelCentre)
            .then(|| (Some(Axis::Z), Slip::OffTheRoad, [written[0], written[1], writing.height_on_road(corner)]));
        let axes = writing.in_other_axes(corner, point).map(|(slip, numbers)| (None, slip, numbers));
        of_point(written, writing.units).chain(on_road).chain(axes).map(move |(axis, slip, meant)| {
            let corner = writing.reread(corner, point, meant);
            Guess { point, with: None, axis, slip, meant, corner }
        })
    });
    one_point.chain(of_two_points(corner, placed, writing))
}

/// The same ends of two links, both ends of one, or those of a spring in each other's place.
fn of_two_points(corner: &Corner, placed: [bool; 5], writing: &Writing) -> impl Iterator<Item = Guess> {
    let links = end_pairs(placed).map(|(pair, end)| pair.map(|link| CornerPoint::Pickup(Pickup { link, end })));
    let ends = (0..placed.len()).filter(move |&link| placed[link]);
    let ends = ends.map(|link| End::BOTH.map(|end| CornerPoint::Pickup(Pickup { link, end })));
    let spring = corner.spring.as_ref().filter(|spring| spring.on == SpringMount::Upright);
    let spring = spring.map(|_| [CornerPoint::SpringChassis, CornerPoint::SpringMount]);
    links.chain(ends).chain(spring).map(move |[point, with]| {
        let numbers = [point, with].map(|point| writing.numbers(corner, point));
        let turned = writing.reread(&writing.reread(corner, point, numbers[1]), with, numbers[0]);
        Guess { point, with: Some(with), axis: None, slip: Slip::OfOtherPoint, meant: numbers[1], corner: turned }
    })
}

/// A hole that two links share was typed twice, and no slip is made twice.
fn shares_hole(corner: &Corner, point: CornerPoint) -> bool {
    let place = place_of(corner, point);
    let is_same = |at: &Point3<f64>| (at - place).norm() < SAME_HOLE_MM;
    corner.points().iter().filter(|(_, at)| is_same(at)).count() > 1
}

impl Guess {
    /// Every point that would be another one.
    fn points(&self) -> impl Iterator<Item = CornerPoint> + use<> {
        [self.point].into_iter().chain(self.with)
    }

    /// The number as it stands in the file and as it was probably meant.
    fn numbers(&self, before: &Corner, writing: &Writing) -> (String, String) {
        let written = writing.numbers(before, self.point);
        match self.axis {
            Some(axis) => {
                let index = axis.index();
                (format!("{} = {:?}", axis.name(), written[index]), format!("{:?}", self.meant[index]))
            }
            None => (format!("{written:?}"), format!("{:?}", self.meant)),
        }
    }
}

/// Of guesses that explain as much as each other, the likeliest first.
fn doubt(guesses: &[Guess], before: &Corner, odd: &[Oddity], writing: &Writing) -> Doubt {
    let side = before.side;
    let mut sentence = String::new();
    let mut suspects = Vec::new();
    for guess in guesses {
        let (about, (number, meant)) = (before.name_of(guess.point), guess.numbers(before, writing));
        let other = guess.with.map(|with| before.name_of(with));
        let points = other.as_ref().map_or(about.clone(), |other| format!("{about} and {other}"));
        let head = match suspects.is_empty() {
            true => format!("{points}, {}", side.name()),
            false => format!("; or {points}"),
        };
        match other {
            Some(other) => {
                sentence += &format!("{head}: {}", guess.slip.words());
                suspects.extend([about, other].map(|about| Suspect { about, probably: None }));
            }
            None => {
                sentence += &format!("{head}: {number} is probably {meant}: {}", guess.slip.words());
                suspects.push(Suspect { about, probably: Some(meant) });
            }
        }
    }
    let why = guesses.first().and_then(|guess| reason(odd, guess.point));
    let why = why.map(|oddity| format!("; as written {}", oddity.words(before, writing.units)));
    Doubt { side: Some(side), suspects, sentence: sentence + &why.unwrap_or_default() + "." }
}

/// The oddity that shows a mistake in a point best: one that by itself is none of a car before all others.
fn reason(odd: &[Oddity], point: CornerPoint) -> Option<&Oddity> {
    let worst = |touching: bool| {
        let asked = odd.iter().filter(move |oddity| oddity.ratio > 1.0 && oddity.touches(point) == touching);
        asked.max_by(|a, b| a.strength().partial_cmp(&b.strength()).unwrap_or(Ordering::Equal))
    };
    worst(true).or_else(|| worst(false))
}

/// What no slip explains and no car has: the worst of each link and part, or of the motion when nothing else is odd; of the
/// wheel centre where most of the upright misses it.
fn unexplained(corner: &Corner, odd: &[Oddity], writing: &Writing) -> Vec<Doubt> {
    if let Some(missed) = misses_upright(corner, odd, writing) {
        return vec![missed];
    }
    let beyond = || odd.iter().filter(|oddity| oddity.is_beyond_any_car());
    let mut told: Vec<&Oddity> = Vec::new();
    for oddity in beyond().filter(|oddity| oddity.about != About::Corner) {
        match told.iter_mut().find(|told| same_part(told.about, oddity.about)) {
            // A joint or an end that is wrong by itself is what makes its shaft or spring odd.
            Some(told) if is_whole(told.about) && !is_whole(oddity.about) => *told = oddity,
            Some(told) if told.ratio < oddity.ratio && is_whole(told.about) == is_whole(oddity.about) => *told = oddity,
            Some(_) => {}
            None => told.push(oddity),
        }
    }
    if told.is_empty() {
        told.extend(beyond().max_by(|a, b| a.ratio.total_cmp(&b.ratio)));
    }
    told.into_iter().map(|oddity| plain_doubt(corner, oddity, writing)).collect()
}

/// One wheel centre in place of five good points.
fn misses_upright(corner: &Corner, odd: &[Oddity], writing: &Writing) -> Option<Doubt> {
    let misses = |link: &usize| {
        let point = CornerPoint::Pickup(Pickup { link: *link, end: End::Upright });
        odd.iter().any(|oddity| oddity.about == About::Point(point) && oddity.is_beyond_any_car())
    };
    let missing = (0..corner.links.len()).filter(misses).count();
    (missing > corner.links.len() / 2).then(|| {
        let (about, side) = (corner.name_of(CornerPoint::WheelCentre), corner.side);
        let written = writing.numbers(corner, CornerPoint::WheelCentre);
        let sentence = format!(
            "{about}, {}: {missing} of the upright's {} link points are where no wheel at {written:?} has them; measure the \
             wheel centre again, or those points if they were counted from another datum.",
            side.name(),
            corner.links.len()
        );
        Doubt::new(Some(side), about, None, sentence)
    })
}

fn same_part(a: About, b: About) -> bool {
    let link = |about: About| match about {
        About::Link(link) | About::Point(CornerPoint::Pickup(Pickup { link, .. })) => Some(link),
        _ => None,
    };
    let is_end = |part: About, of: About| match part {
        About::Halfshaft => matches!(of, About::Point(CornerPoint::HalfshaftInner | CornerPoint::HalfshaftOuter)),
        About::Spring => matches!(of, About::Point(CornerPoint::SpringChassis | CornerPoint::SpringMount)),
        _ => false,
    };
    a == b || (link(a).is_some() && link(a) == link(b)) || is_end(a, b) || is_end(b, a)
}

/// Of a shaft or spring, not of one end.
fn is_whole(about: About) -> bool {
    matches!(about, About::Halfshaft | About::Spring)
}

fn plain_doubt(corner: &Corner, oddity: &Oddity, writing: &Writing) -> Doubt {
    let (about, advice) = match oddity.about {
        About::Point(point) => {
            let written = writing.numbers(corner, point);
            let beside = match point {
                CornerPoint::HalfshaftInner if oddity.is_across() => {
                    "; a final drive beside the middle of the car needs a halfshaft of its own under [right]"
                }
                _ => "",
            };
            (corner.name_of(point), format!("measure {written:?} again{beside}"))
        }
        About::Link(link) | About::Pair(link, _) => {
            (format!("link {:?}", corner.links[link].name), "measure both its points again".to_owned())
        }
        About::Halfshaft => ("halfshaft".to_owned(), "measure both its joints again".to_owned()),
        About::Spring => ("spring".to_owned(), "measure both its ends again".to_owned()),
        About::Corner => {
            ("the whole corner".to_owned(), "no car is like that; measure every point of it again".to_owned())
        }
    };
    let why = oddity.words(corner, writing.units);
    let sentence = format!("{about}, {}: {why}; {advice}.", corner.side.name());
    Doubt::new(Some(corner.side), about, None, sentence)
}
