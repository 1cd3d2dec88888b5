//! A pickup that the facts of its own link contradict: its tape, its two bolts, the tube that carries its bracket.
//!
//! A corner with a bracket 100 mm aside can be a sound one; then only what else the file knows of the link tells the mistake.

use nalgebra::{Unit, Vector3};

use super::oddities::{Around, count_odd};
use super::parts::{TAPE_MM, nearer_tube, out_of_square, rod_end_limit_deg, tube_of};
use super::written::Writing;
use super::{Doubt, Sentence, Suspect, link_names};
use crate::geometry::slips::{Slip, as_measured, of_point};
use crate::geometry::{Axis, Corner, CornerPoint, End, Geometry, Pickup, Side};
use crate::measures::out_of_square_deg;

/// A tape that is off by less may be a tape read badly; some slip of a point always fits it, mm.
const TAPE_OFF_MM: f64 = 10.0;
/// Bolts of a drawing are as nearly square to their links as this, deg; with more many a number would do.
const SQUARE_DEG: f64 = 1.5;
/// A slip explains bolts that stand far out of square when it leaves no more than this share of it: tuning and a drawing round off.
const SQUARE_SHARE: f64 = 0.125;
/// Two bolts of one link that were both drawn right stand this alike when the link is turned, deg.
const BOLTS_ALIKE_DEG: f64 = 4.0;
/// Guesses that differ by less explain the bolts as well as each other, deg.
const ALIKE_DEG: f64 = 1.0;
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
        let corner = geometry.corner(side);
        if let Some(end) = why.lone_bolt_at {
            found.push(of_bolt(corner, link, end, &guesses, &why.words));
            continue; // either may be wrong
        }
        let tape = of_tape(geometry, side, link, &why);
        found.push(doubt(corner, &guesses, &format!("{}{tape}", why.words), None));
        *geometry.corner_mut(side) = guesses[0].corner.clone();
    }
    found
}

/// A point of the link as it was probably meant.
pub(super) struct Guess {
    point: CornerPoint,
    /// `None` when more than one number changes.
    axis: Option<Axis>,
    pub(super) slip: Slip,
    written: [f64; 3],
    meant: [f64; 3],
    pub(super) corner: Corner,
    /// What is left of the bolts' angle, and how rare the slip is, deg.
    unlikely_deg: f64,
}

/// The likeliest points with which every fact of the link agrees; the corner is no odder for one.
pub(super) fn guesses(geometry: &Geometry, side: Side, link: usize, around: Around) -> Vec<Guess> {
    let (writing, corner) = (Writing::of(geometry), geometry.corner(side));
    let before = count_odd(corner, around);
    let misnamed = link_names::count(corner, around.placed);
    let square_deg = SQUARE_DEG.max(SQUARE_SHARE * worst_bolt_deg(corner, link));
    let mut all: Vec<Guess> = Vec::new();
    for point in End::BOTH.map(|end| CornerPoint::Pickup(Pickup { link, end })) {
        let written = writing.numbers(corner, point);
        for (axis, slip, meant) in of_point(written, writing.units) {
            let corner = writing.reread(corner, point, meant);
            let is_named_so = link_names::count(&corner, around.placed) <= misnamed;
            if is_named_so
                && agrees(geometry, &corner, (side, link), square_deg)
                && count_odd(&corner, around) <= before
            {
                let unlikely_deg = worst_bolt_deg(&corner, link) + SQUARE_DEG * f64::from(slip.rarity());
                all.push(Guess { point, axis, slip, written, meant, corner, unlikely_deg });
            }
        }
    }
    all.sort_by(|a, b| a.unlikely_deg.total_cmp(&b.unlikely_deg));
    let least_deg = all.first().map_or(0.0, |guess| guess.unlikely_deg);
    all.retain(|guess| guess.unlikely_deg < least_deg + ALIKE_DEG);
    all
}

/// The larger angle by which the two bolts stand out of square to the link, or that of a lone one, deg; 0 where bolts tell nothing.
pub(super) fn worst_bolt_deg(corner: &Corner, link: usize) -> f64 {
    let both_deg = bolts_deg(corner, link).map(|[chassis, upright]| chassis.max(upright));
    both_deg.or_else(|| Some(lone_bolt(corner, link)?.1)).unwrap_or(0.0)
}

/// Bolts of a drawing, and not of a frame whose brackets were made before its links, stand so square to their links, deg.
pub(super) const DRAWN_SQUARE_DEG: f64 = 3.0;
/// So many links with such bolts tell how the others were drawn.
pub(super) const DRAWN_LINKS: usize = 3;

/// The only bolt of a link whose neighbours were drawn with bolts square to them, and how far it stands out of square, deg.
fn lone_bolt(corner: &Corner, link: usize) -> Option<(End, f64)> {
    let of = |link: usize| out_of_square(&corner.links[link]);
    let mut own = of(link);
    let (Some(lone), None) = (own.next(), own.next()) else { return None };
    let others = || (0..corner.links.len()).filter(|&other| other != link && of(other).next().is_some());
    let is_drawn = others().flat_map(of).all(|(_, deg)| deg <= DRAWN_SQUARE_DEG);
    (is_drawn && others().count() >= DRAWN_LINKS).then_some(lone)
}

/// True when the bolt is square to its link with x and y in each other's place: then it is the bolt that is wrong.
fn is_bolt_exchanged(corner: &Corner, link: usize, end: End) -> bool {
    let link = &corner.links[link];
    let bolt = if end == End::Chassis { &link.chassis_bolt } else { &link.upright_bolt };
    let Some([x, y, z]) = bolt.map(|bolt| [bolt.x, bolt.y, bolt.z]) else { return false };
    // On the right the file has the other sign of y.
    let turned = [[y, x, z], [-y, -x, z]];
    let along = link.upright - link.chassis;
    let is_square = |[x, y, z]: [f64; 3]| {
        out_of_square_deg(&along, &Unit::new_normalize(Vector3::new(x, y, z))) <= DRAWN_SQUARE_DEG
    };
    turned.into_iter().any(is_square)
}

/// How far its two bolts stand out of square to the link, deg; `None` without both.
pub(super) fn bolts_deg(corner: &Corner, link: usize) -> Option<[f64; 2]> {
    let link = &corner.links[link];
    let along = link.upright - link.chassis;
    Some([link.chassis_bolt.as_ref()?, link.upright_bolt.as_ref()?].map(|bolt| out_of_square_deg(&along, bolt)))
}

/// How far the link is longer than its tape, mm.
pub(super) fn off_tape_mm(corner: &Corner, link: usize) -> Option<f64> {
    corner.links[link].taped_mm.map(|taped_mm| corner.links[link].length_mm() - taped_mm)
}

/// A point, or the bolt that denies it.
fn of_bolt(corner: &Corner, link: usize, end: End, guesses: &[Guess], why: &str) -> Doubt {
    let end = end.name();
    let or_bolt = format!(
        "{why}; or `{end}_bolt` is wrong: it is the way the bolt points, square to the link as nearly as can be"
    );
    doubt(corner, guesses, &or_bolt, Some(format!("{} {end}_bolt", corner.links[link].name)))
}

/// Why a link is not where its points are, to stand behind "as written". A bolt alone may itself be wrong.
fn contradiction(geometry: &Geometry, corner: &Corner, side: Side, link: usize) -> Option<Contradiction> {
    let limit_deg = rod_end_limit_deg(&corner.links[link]);
    let show = |mm: f64| geometry.units.show(mm);
    let bolts = bolts_deg(corner, link)
        .filter(|off| off.iter().all(|deg| *deg > limit_deg) || is_turned(corner, link))
        .map(|[chassis, upright]| format!("its bolts stand {chassis:.1} and {upright:.1} deg out of square to it"));
    let tape = off_tape_mm(corner, link).filter(|off_mm| off_mm.abs() > TAPE_OFF_MM).map(|off_mm| {
        format!("it is {} {} than its tape says", show(off_mm.abs()), if off_mm < 0.0 { "shorter" } else { "longer" })
    });
    // Where it is at home on another tube, the name may be the mistake.
    let has_own = nearer_tube(geometry, corner, side, link).is_none();
    let tube = tube_of(geometry, corner, side, link).filter(|(_, apart_mm)| *apart_mm > 0.0 && has_own).map(
        |(tube, apart_mm)| {
            format!("it is {} too far from tube {:?}, which carries its bracket", show(apart_mm), tube.name)
        },
    );
    let is_tape_alone = tape.is_some() && tube.is_none() && bolts.is_none();
    let lone =
        lone_bolt(corner, link).filter(|(end, off_deg)| *off_deg > limit_deg && !is_bolt_exchanged(corner, link, *end));
    let lone_bolt_at = lone.map(|(end, _)| end).filter(|_| tape.is_none() && tube.is_none());
    let bolt = lone.filter(|_| lone_bolt_at.is_some()).map(|(end, off_deg)| {
        let end = end.name();
        format!("its bolt at the {end} end stands {off_deg:.1} deg out of square to it, and its rod end allows {limit_deg:.1} deg")
    });
    let all: Vec<String> = [tape, tube, bolts, bolt].into_iter().flatten().collect();
    (!all.is_empty()).then(|| Contradiction { words: all.join(", and "), is_tape_alone, lone_bolt_at })
}

/// What speaks against the points of a link.
struct Contradiction {
    words: String,
    is_tape_alone: bool,
    /// Where the one bolt is that alone does.
    lone_bolt_at: Option<End>,
}

/// A tape that is off by less than this was as likely read wrong as a point, mm.
const TAPE_READ_MM: f64 = 50.0;

/// What the tape would read along the points, where it alone speaks against them and may be the one that is wrong.
fn of_tape(geometry: &Geometry, side: Side, link: usize, why: &Contradiction) -> String {
    let corner = geometry.corner(side);
    let off_mm = off_tape_mm(corner, link).filter(|off_mm| why.is_tape_alone && off_mm.abs() <= TAPE_READ_MM);
    let length = as_measured(corner.links[link].length_mm() / geometry.units.in_mm(), geometry.units);
    off_mm
        .map_or(String::new(), |_| format!("; or the tape was read wrong, and `taped` is {length:?}: measure it again"))
}

/// True when both bolts of a link stand as far out of square as each other, one of them further than its rod end allows: it is
/// the link that is turned.
fn is_turned(corner: &Corner, link: usize) -> bool {
    let limit_deg = rod_end_limit_deg(&corner.links[link]);
    bolts_deg(corner, link).is_some_and(|[a, b]| (a - b).abs() <= BOLTS_ALIKE_DEG && a.max(b) > limit_deg)
}

/// True when nothing that the file knows of the link speaks against its points.
fn agrees(geometry: &Geometry, corner: &Corner, (side, link): (Side, usize), square_deg: f64) -> bool {
    worst_bolt_deg(corner, link) <= rod_end_limit_deg(&corner.links[link]).min(square_deg)
        && off_tape_mm(corner, link).is_none_or(|off_mm| off_mm.abs() <= TAPE_MM)
        && tube_of(geometry, corner, side, link).is_none_or(|(_, apart_mm)| apart_mm <= 0.0)
}

fn doubt(corner: &Corner, guesses: &[Guess], why: &str, bolt: Option<String>) -> Doubt {
    let meant = |guess: &Guess| {
        guess.axis.map_or(format!("{:?}", guess.meant), |axis| format!("{:?}", guess.meant[axis.index()]))
    };
    let one = |guess: &Guess| format!(": {}", guess.slip.told_of_point(guess.axis, [guess.written, guess.meant]));
    let about = |guess: &Guess| corner.name_of(guess.point);
    let others: String = guesses[1..].iter().map(|guess| format!("; or {}{}", about(guess), one(guess))).collect();
    let sentence = Sentence::of_side(&about(&guesses[0]), corner.side, &one(&guesses[0]));
    let sentence = sentence.followed_by(&format!("{others}; as written {why}."));
    let suspect = |guess: &Guess| Suspect { about: about(guess), probably: Some(meant(guess)) };
    let of_bolt = bolt.map(|about| Suspect { about, probably: None });
    Doubt::of(Some(corner.side), guesses.iter().map(suspect).chain(of_bolt).collect(), sentence)
        .naming(guesses.iter().filter_map(|guess| guess.point.link()))
}
