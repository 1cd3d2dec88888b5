//! The box `within` of a link beside where the chassis points of cars are, and beside the boxes and points of the other links.
//!
//! A box is wider than a point, and every place in it may be taken: doubted is one of which no place, or not its middle, is where
//! brackets are.

use super::oddities::{ABOVE_ROAD_MM, AHEAD_MM, FROM_MIDDLE_MM, OUTBOARD_OF_UPRIGHT_MM, TIMES_RADIUS};
use super::{Doubt, Kind, Sentence, alone, is_in};
use crate::geometry::slips::{Slip, as_measured, as_typed, other_unit};
use crate::geometry::{Axis, Corner, Geometry, Interval, LengthUnit, Side};

type Box3 = [Interval; 3];

/// No frame leaves a bracket so much room in one direction, mm.
pub(super) const LONGEST_MM: f64 = 1000.0;
/// Boxes that have more in common may both be meant, mm.
const COMMON_MM: f64 = 10.0;
/// The middle of a box is no lower above the road, mm.
const LOW_MM: f64 = 60.0;

/// A box that is longer than this, and so many times as long as any other of the car, may have one end that was typed wrong.
const MUCH_MM: f64 = 300.0;
const TIMES_OTHERS: f64 = 4.0;
/// Others that show how long boxes of this car are.
const LEAST_OTHERS: usize = 2;

/// Why a box is odd.
enum Why {
    Beyond(Axis),
    Long(Axis),
    /// And the longest of the others, mm; only where one slip explains it.
    LongBeside(Axis, f64),
    Alone(f64),
    /// With the other link, and seen from where.
    Crosses(usize, Axis),
}

impl Why {
    /// The other link that takes part in it.
    fn other(&self) -> Option<usize> {
        match self {
            Why::Crosses(other, _) => Some(*other),
            _ => None,
        }
    }
}

/// One for each box of this side that is odd; two that are in each other's place are told once.
pub(super) fn doubts(geometry: &Geometry, side: Side) -> Vec<Doubt> {
    let corner = geometry.corner(side);
    let given: [Option<Box3>; 5] = std::array::from_fn(|link| geometry.adjustments[side].links[link].within());
    let mut rooms: [Box3; 5] = std::array::from_fn(|link| {
        let at = corner.links[link].chassis;
        given[link].unwrap_or_else(|| [at.x, at.y, at.z].map(|mm| Interval { low: mm, high: mm }))
    });
    let mut found = Vec::new();
    let mut mended = [false; 5];
    let mut crossed_by = [None; 5];
    for link in (0..5).filter(|&link| given[link].is_some()) {
        if mended[link] {
            continue;
        }
        let Some(why) = why(corner, &rooms, link) else { continue };
        // Of two that cross the other one was told.
        if matches!(why, Why::Crosses(other, _) if crossed_by[other] == Some(link)) {
            continue;
        }
        if let Why::Crosses(other, _) = why {
            crossed_by[link] = Some(other);
        }
        let guess = guesses(geometry, &rooms, (link, &why), &given).into_iter().find(|guess| {
            let mut others = rooms;
            others[link] = guess.meant;
            let with = guess.with.inspect(|&other| others[other] = rooms[link]);
            self::why(corner, &others, link).is_none()
                && with.is_none_or(|other| self::why(corner, &others, other).is_none())
        });
        if guess.is_none() && matches!(why, Why::LongBeside(..)) {
            continue;
        }
        found.push(doubt(geometry, corner, (link, &why), &rooms, guess.as_ref()));
        if let Some(guess) = guess {
            if let Some(other) = guess.with {
                rooms[other] = rooms[link];
                mended[other] = true;
            }
            rooms[link] = guess.meant;
        }
    }
    found
}

/// What is odd about the room of a link, the plainest first.
fn why(corner: &Corner, rooms: &[Box3; 5], link: usize) -> Option<Why> {
    let room = &rooms[link];
    let (wheel, road_mm, upright) = (&corner.wheel, corner.contact_height_mm(), corner.links[link].upright);
    let [_, ahead_mm] = AHEAD_MM;
    let places = [
        Interval { low: wheel.centre.x + AHEAD_MM[0], high: wheel.centre.x + ahead_mm },
        Interval {
            low: FROM_MIDDLE_MM[0].max(upright.y + OUTBOARD_OF_UPRIGHT_MM[0]),
            high: FROM_MIDDLE_MM[1].min(upright.y + OUTBOARD_OF_UPRIGHT_MM[1]),
        },
        Interval { low: road_mm + ABOVE_ROAD_MM, high: road_mm + TIMES_RADIUS * wheel.tyre_radius_mm },
    ];
    let is_beyond = |axis: Axis| {
        let (room, place) = (room[axis.index()], places[axis.index()]);
        room.high < place.low || room.low > place.high
    };
    let is_low = middle(room[2]) < road_mm + LOW_MM;
    if let Some(axis) = Axis::ALL.into_iter().find(|&axis| is_beyond(axis) || axis == Axis::Z && is_low) {
        return Some(Why::Beyond(axis));
    }
    if let Some(axis) = Axis::ALL.into_iter().find(|axis| room[axis.index()].width() > LONGEST_MM) {
        return Some(Why::Long(axis));
    }
    if let Some((axis, others_mm)) = Axis::ALL.into_iter().find_map(|axis| long_beside(rooms, link, axis)) {
        return Some(Why::LongBeside(axis, others_mm));
    }
    let others = || (0..5).filter(|&other| other != link);
    let across_mm = |other: usize| apart_mm(room[1], rooms[other][1]);
    let nearest_mm = others().map(across_mm).fold(f64::INFINITY, f64::min);
    if nearest_mm > alone::ACROSS_MM {
        return Some(Why::Alone(nearest_mm));
    }
    // The same bound as links that are drawn, in plan and seen from behind.
    for axis in [Axis::X, Axis::Z] {
        let at_upright =
            |other: usize| corner.links[link].upright[axis.index()] - corner.links[other].upright[axis.index()];
        let crossed = |other: usize| {
            let [a, b] = [rooms[link], rooms[other]].map(|room| room[axis.index()]);
            let by_mm = if middle(a) < middle(b) { -apart_mm(a, b) } else { apart_mm(a, b) };
            if by_mm * at_upright(other) < 0.0 { by_mm.abs().min(at_upright(other).abs()) } else { 0.0 }
        };
        let worst = others().max_by(|&a, &b| crossed(a).total_cmp(&crossed(b)))?;
        if others().map(crossed).sum::<f64>() > alone::ACROSS_OTHERS_MM {
            return Some(Why::Crosses(worst, axis));
        }
    }
    None
}

/// An edge that is much longer than that of any other box, with the longest of those, mm.
fn long_beside(rooms: &[Box3; 5], link: usize, axis: Axis) -> Option<(Axis, f64)> {
    let width_mm = |link: usize| rooms[link][axis.index()].width();
    let others = || (0..rooms.len()).filter(|&other| other != link).map(width_mm).filter(|mm| *mm > 0.0);
    let longest_mm = others().fold(0.0, f64::max);
    let is_long = width_mm(link) > MUCH_MM.max(TIMES_OTHERS * longest_mm);
    (is_long && others().count() >= LEAST_OTHERS).then_some((axis, longest_mm))
}

fn middle(room: Interval) -> f64 {
    f64::midpoint(room.low, room.high)
}

/// Between the middles of two rooms, mm; 0 of two that have more than a little in common.
fn apart_mm(a: Interval, b: Interval) -> f64 {
    let common_mm = a.high.min(b.high) - a.low.max(b.low);
    if common_mm > COMMON_MM { 0.0 } else { (middle(a) - middle(b)).abs() }
}

/// A box as it was probably meant.
struct Guess {
    /// `None` when all three change.
    axis: Option<Axis>,
    slip: Slip,
    meant: Box3,
    /// The link whose box it is.
    with: Option<usize>,
}

/// The likeliest first.
fn guesses(
    geometry: &Geometry,
    rooms: &[Box3; 5],
    (link, why): (usize, &Why),
    given: &[Option<Box3>; 5],
) -> Vec<Guess> {
    let room = rooms[link];
    let scaled = |factor: f64| move |room: Interval| Interval { low: room.low * factor, high: room.high * factor };
    let one = |axis: Axis, slip: Slip, changed: Interval| {
        let mut meant = room;
        meant[axis.index()] = changed;
        Guess { axis: Some(axis), slip, meant, with: None }
    };
    let mut all = Vec::new();
    if let Why::LongBeside(axis, others_mm) = *why {
        let edge = room[axis.index()];
        let ends = [10.0, 0.1].into_iter().flat_map(|factor| {
            [Interval { low: factor * edge.low, ..edge }, Interval { high: factor * edge.high, ..edge }]
        });
        let is_as_others = |edge: &Interval| is_in(edge.width(), [others_mm / TIMES_OTHERS, TIMES_OTHERS * others_mm]);
        return ends.filter(is_as_others).map(|edge| one(axis, Slip::PointShifted, edge)).collect();
    }
    if let Why::Long(axis) = *why {
        let edge = room[axis.index()];
        all.push(one(axis, Slip::PointShifted, Interval { high: 0.1 * edge.high, ..edge }));
        all.push(one(axis, Slip::PointShifted, Interval { low: 0.1 * edge.low, ..edge }));
    }
    let (slip, factor) = other_unit(geometry.units);
    all.push(Guess { axis: None, slip, meant: room.map(scaled(factor)), with: None });
    for axis in Axis::ALL {
        let edge = room[axis.index()];
        all.push(one(axis, Slip::SignTurned, edge.reversed()));
        all.push(one(axis, Slip::PointShifted, scaled(10.0)(edge)));
        all.push(one(axis, Slip::PointShifted, scaled(0.1)(edge)));
    }
    for other in (0..5).filter(|&other| other != link) {
        all.extend(given[other].map(|meant| Guess { axis: None, slip: Slip::OfOtherPoint, meant, with: Some(other) }));
    }
    // A box that no slip of one number explains has its place across the car from another axis.
    let pairs = [[Axis::X, Axis::Y], [Axis::Y, Axis::Z]].into_iter().filter(|_| matches!(why, Why::Alone(_)));
    for [a, b] in pairs {
        let mut meant = room;
        meant.swap(a.index(), b.index());
        all.push(Guess { axis: None, slip: Slip::Exchanged([a, b]), meant, with: None });
    }
    all.retain(|guess| guess.meant.iter().all(|edge| edge.low <= edge.high));
    all
}

fn doubt(
    geometry: &Geometry,
    corner: &Corner,
    (link, why): (usize, &Why),
    rooms: &[Box3; 5],
    guess: Option<&Guess>,
) -> Doubt {
    let (units, name) = (geometry.units, &corner.links[link].name);
    let edge = |axis: Axis, room: &Box3, is_meant: bool| edge(units, corner.side, axis, room[axis.index()], is_meant);
    let whole = |room: &Box3, is_meant: bool| {
        let all = Axis::ALL.map(|axis| format!("{} = {}", axis.name(), edge(axis, room, is_meant)));
        format!("{{ {} }}", all.join(", "))
    };
    let probably = guess.map(|guess| match (guess.axis, guess.with) {
        (Some(axis), _) => {
            let (written, meant) = (edge(axis, &rooms[link], false), edge(axis, &guess.meant, true));
            format!("{} = {written} is probably {meant}: {}; ", axis.name(), guess.slip.words())
        }
        (None, Some(other)) => {
            format!("it is probably that of {:?}: {}; ", corner.links[other].name, guess.slip.words())
        }
        (None, None) => format!("probably {}: {}; ", whole(&guess.meant, true), guess.slip.words()),
    });
    let is = match why {
        Why::Beyond(axis) => {
            let (room, wheel) = (rooms[link][axis.index()], &corner.wheel);
            let show = |mm: f64| units.show(mm.abs());
            match axis {
                Axis::X => format!(
                    "every place in it is more than {} from the axle along the car",
                    show(nearest(room, wheel.centre.x))
                ),
                Axis::Y if middle(room) > FROM_MIDDLE_MM[0] => {
                    let outboard_mm = room.low - corner.links[link].upright.y;
                    format!("every place in it is {} or more outboard of the hole in the upright", show(outboard_mm))
                }
                Axis::Y => "no place in it is far enough from the middle of the car for a bracket".to_owned(),
                Axis::Z => {
                    let [low, high] = [room.low, room.high].map(|mm| units.show(mm - corner.contact_height_mm()));
                    format!("it is {low} to {high} above the road, where no bracket is")
                }
            }
        }
        Why::Long(axis) => format!(
            "it is {} long in {}, and no frame leaves a bracket more than {}",
            units.show(rooms[link][axis.index()].width()),
            axis.name(),
            units.show(LONGEST_MM)
        ),
        Why::LongBeside(axis, others_mm) => format!(
            "it is {} long in {}, and no other box more than {}",
            units.show(rooms[link][axis.index()].width()),
            axis.name(),
            units.show(*others_mm)
        ),
        Why::Alone(mm) => format!("its middle is {} from that of the nearest other across the car", units.show(*mm)),
        Why::Crosses(other, axis) => format!(
            "{} its link would cross that of {:?}, whose hole in the upright is on the other side",
            if *axis == Axis::X { "seen from above" } else { "seen from behind" },
            corner.links[*other].name
        ),
    };
    let has_guess = probably.is_some();
    let rest = format!(
        ": {}{}{is}{}.",
        probably.unwrap_or_default(),
        if has_guess { "as written " } else { "" },
        if has_guess { "" } else { "; measure the room of its bracket again" }
    );
    let sentence = Sentence::of_side(&format!("`within` of link {name:?}"), corner.side, &rest);
    let kind = if matches!(why, Why::Crosses(..)) && !has_guess { Kind::Crossing } else { Kind::Other };
    let others = [guess.and_then(|guess| guess.with), why.other()].into_iter().flatten();
    Doubt::new(Some(corner.side), format!("{name} within"), guess.map(|guess| whole(&guess.meant, true)), sentence)
        .naming([link].into_iter().chain(others))
        .of_kind(kind)
}

fn nearest(room: Interval, place: f64) -> f64 {
    (room.low - place).abs().min((room.high - place).abs())
}

/// As the file writes it, y counted to the left.
fn edge(units: LengthUnit, side: Side, axis: Axis, room: Interval, is_meant: bool) -> String {
    let room = if axis == Axis::Y && side == Side::Right { room.reversed() } else { room };
    let number = |mm: f64| match is_meant {
        true => as_measured(mm / units.in_mm(), units),
        false => as_typed(mm / units.in_mm()),
    };
    format!("[{:?}, {:?}]", number(room.low), number(room.high))
}
