//! Places of a frame, of its datums and of the ends of its tubes: where none is, and the slip that puts one there.

use nalgebra::Point3;

use super::car::WHEELBASE_MM;
use super::digits::decimals;
use super::{Doubt, Suspect, is_in};
use crate::geometry::slips::{Slip, as_measured, as_typed, of_point};
use crate::geometry::{Axis, Datum, Geometry, LengthUnit};

/// From the rear axle line to the rear end of a frame, and from the front axle line to its front end, mm.
const OVERHANG_MM: f64 = 1400.0;
/// From the middle of the car to the widest part of a frame, mm.
const HALF_WIDTH_MM: f64 = 1200.0;
/// From a floor that is not quite level to the top of a roll hoop, mm above the road. A car that stands on blocks while z counts
/// from the floor has its road above that floor.
const HEIGHT_MM: [f64; 2] = [-40.0, 1800.0];
/// Nobody sets a datum so near to the origin, mm: on the floor below the axle.
const NEAR_ORIGIN_MM: f64 = 5.0;

/// Ends of frame tubes where no frame is.
pub(super) fn tube_ends(geometry: &Geometry) -> Vec<Doubt> {
    let ends = geometry.tubes.iter().flat_map(|tube| [("from", tube.from, tube), ("to", tube.to, tube)]);
    let off = ends.filter_map(|(end, at, tube)| {
        let name = format!("tube {:?} {end}", tube.name);
        (!is_on_frame(geometry, &at)).then(|| off_frame(geometry, &Datum { name: name.clone(), at }, &name)).flatten()
    });
    off.collect()
}

/// A datum as it was probably meant.
pub(super) struct Guess<'g> {
    pub(super) datum: &'g Datum,
    /// `None` when more than one number changes.
    pub(super) axis: Option<Axis>,
    pub(super) slip: Slip,
    written: [f64; 3],
    pub(super) meant: [f64; 3],
}

impl<'g> Guess<'g> {
    /// Every slip after which the datum is on a frame.
    pub(super) fn all(geometry: &Geometry, datum: &'g Datum) -> impl Iterator<Item = Self> {
        let (units, written) = (geometry.units, numbers(geometry, datum));
        let whole = [(Slip::InMetres, 1000.0), (Slip::InCentimetres, 10.0)].map(|(slip, unit_mm)| {
            (None, slip, written.map(|number| as_measured(number * unit_mm / units.in_mm(), units)))
        });
        let all = of_point(written, units).chain(whole);
        let all = all.map(move |(axis, slip, meant)| Self { datum, axis, slip, written, meant });
        all.filter(|guess| is_on_frame(geometry, &guess.place(geometry)))
    }

    pub(super) fn place(&self, geometry: &Geometry) -> Point3<f64> {
        Point3::from(self.meant.map(|number| geometry.units.to_mm(number)))
    }

    pub(super) fn words(&self) -> String {
        self.slip.told_of_point(self.axis, [self.written, self.meant])
    }

    pub(super) fn suspect(&self, about: &str) -> Suspect {
        let meant = self.axis.map_or(format!("{:?}", self.meant), |axis| format!("{:?}", self.meant[axis.index()]));
        Suspect { about: about.to_owned(), probably: Some(meant) }
    }

    /// Digits behind the point of the number that changes: a point that was shifted to the left makes one more.
    pub(super) fn decimals(&self) -> usize {
        self.axis.map_or(0, |axis| decimals(self.written[axis.index()]))
    }
}

/// From where to where a frame reaches along one axis, car axes, mm.
struct Reach {
    axis: Axis,
    mm: [f64; 2],
}

impl Reach {
    fn holds(&self, place: &Point3<f64>) -> bool {
        is_in(place[self.axis.index()], self.mm)
    }
}

/// A frame may reach there.
pub(super) fn is_on_frame(geometry: &Geometry, place: &Point3<f64>) -> bool {
    reach(geometry).iter().all(|within| within.holds(place))
}

fn reach(geometry: &Geometry) -> [Reach; 3] {
    let (axle_mm, road_mm) = (geometry.left.wheel.centre.x, geometry.left.contact_height_mm());
    let wheelbase_mm = geometry.car.wheelbase_mm.filter(|mm| is_in(*mm, WHEELBASE_MM)).unwrap_or(WHEELBASE_MM[1]);
    [
        Reach { axis: Axis::X, mm: [axle_mm - OVERHANG_MM, axle_mm + wheelbase_mm + OVERHANG_MM] },
        Reach { axis: Axis::Y, mm: [-HALF_WIDTH_MM, HALF_WIDTH_MM] },
        Reach { axis: Axis::Z, mm: [road_mm.min(0.0) + HEIGHT_MM[0], road_mm + HEIGHT_MM[1]] },
    ]
}

/// A place where no frame is, with the one slip that puts it on one.
pub(super) fn off_frame(geometry: &Geometry, datum: &Datum, about: &str) -> Option<Doubt> {
    let show = |mm: f64| geometry.units.show(mm.abs());
    let place = datum.at;
    let beyond = reach(geometry).into_iter().find(|within| !within.holds(&place));
    let why = if let Some(Reach { axis, .. }) = &beyond {
        let (ahead_mm, above_mm) =
            (place.x - geometry.left.wheel.centre.x, place.z - geometry.left.contact_height_mm());
        match axis {
            Axis::X if ahead_mm > 0.0 => format!("it is {} ahead of the rear axle", show(ahead_mm)),
            Axis::X => format!("it is {} behind the rear axle", show(ahead_mm)),
            Axis::Y => format!("it is {} from the middle of the car", show(place.y)),
            Axis::Z => format!("it is {} {} the road", show(above_mm), if above_mm < 0.0 { "below" } else { "above" }),
        }
    } else {
        let nearest_mm = place.coords.amax();
        // No place is measured to hundredths of a mm, and in metres every one is.
        let is_fine = numbers(geometry, datum).into_iter().any(|number| decimals(number) > 1);
        let is_near = geometry.units == LengthUnit::Millimetre && nearest_mm < NEAR_ORIGIN_MM;
        (is_near && is_fine).then(|| "it is beside the origin, where no frame is".to_owned())?
    };
    let is_beyond = beyond.is_some();
    // The likeliest first: a sign, but for one that leads ahead of the front axle, then a point or a unit, then digits.
    let front_axle_mm = geometry.left.wheel.centre.x + geometry.car.wheelbase_mm.unwrap_or(WHEELBASE_MM[1]);
    let rank = |guess: &Guess| match guess.slip {
        Slip::SignTurned if guess.place(geometry).x <= front_axle_mm => 0,
        Slip::SignTurned => 2,
        slip if slip.is_of_size() => 1,
        slip => 2 + slip.rarity(),
    };
    let is_meant = |guess: &Guess| is_beyond || guess.slip == Slip::InMetres;
    let fits = Guess::all(geometry, datum).filter(is_meant);
    Some(match fits.min_by_key(rank) {
        Some(guess) => {
            let sentence = format!("{}: {}; as written {why}.", about, guess.words());
            Doubt::of(None, vec![guess.suspect(about)], sentence)
        }
        None => {
            let sentence = format!("{}: {why}; measure {:?} again.", about, numbers(geometry, datum));
            Doubt::new(None, about, None, sentence)
        }
    })
}

/// As the file writes it.
pub(super) fn numbers(geometry: &Geometry, datum: &Datum) -> [f64; 3] {
    datum.at.coords.map(|mm| as_typed(mm / geometry.units.in_mm())).into()
}
