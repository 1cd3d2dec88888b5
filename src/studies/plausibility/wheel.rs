//! Tyre, toe, camber and track beside what rolls.

use super::at_wheel::at_wheel_mm;
use super::oddities::{Around, count_odd};
use super::shaft;
use super::upright_axes::in_wheel;
use super::written::Writing;
use super::{Doubt, Sentence, Suspect, is_in};
use crate::geometry::slips::{IS_DIAMETER, Slip, as_typed, meant, meant_of_car, one_slip, radius_on_floor};
use crate::geometry::{Corner, CornerPoint, Geometry, LengthUnit, Link, Side, Wheel};
use crate::measures::{DesignContact, camber_deg, toe_deg};

/// Insides of their rims, mm, the smallest and the largest with room.
const RIM_RADIUS_MM: [f64; 2] = [45.0, 320.0];
/// What most cars have of either, mm: nobody is told to mean a kart's wheel.
const USUAL_TYRE_MM: [f64; 2] = [150.0, 430.0];
const USUAL_RIM_MM: [f64; 2] = [90.0, 320.0];
/// Sizes of rims, inches.
const RIM_SIZE_IN: [f64; 2] = [8.0, 24.0];
/// A tyre is at most so many times as large as the inside of its rim.
const TYRE_TO_RIM: f64 = 2.8;
/// Static toe of a rear wheel, deg per wheel, either way.
const TOE_DEG: f64 = 0.95;
/// What most rear wheels are set to, deg.
const USUAL_TOE_DEG: f64 = 0.25;
/// Between the contact points, mm.
const TRACK_MM: [f64; 2] = [800.0, 2200.0];
/// A car with a wider track than this stands on large tyres: its track is no more times their radius.
const WIDE_TRACK_MM: f64 = 1850.0;
const WIDE_TRACK_RADII: f64 = 6.3;
/// So many of the five links end in a wheel that stands where it was meant to.
const MOST_LINKS: usize = 4;

/// Doubts of the wheel itself, and whether the spindle's line is known; what one slip explains is mended, and a toe or a
/// camber that nothing explains is taken as none.
pub(super) fn mend(geometry: &mut Geometry, side: Side) -> (Vec<Doubt>, bool) {
    let mut found = Vec::new();
    if let Some((doubt, mended)) = centre_y(geometry, side) {
        found.push(doubt);
        let corner = geometry.corner_mut(side);
        *corner = mended.unwrap_or_else(|| corner.clone());
    }
    if let Some((doubt, meant_mm)) = rim_radius(geometry, side) {
        found.push(doubt);
        geometry.corner_mut(side).wheel.rim_radius_mm = meant_mm;
    }
    found.extend(nominal_rim(geometry, side));
    if let Some((doubt, meant_mm)) = tyre_radius(geometry, side) {
        found.push(doubt);
        let radius_mm = &mut geometry.corner_mut(side).wheel.tyre_radius_mm;
        *radius_mm = meant_mm.unwrap_or(*radius_mm);
    }
    found.extend(thin_tyre(geometry, side));
    let mut is_known = true;
    let set_to = |geometry: &mut Geometry, toe_deg: f64, camber_deg: f64| {
        *geometry.corner_mut(side) = with_angles(geometry, side, toe_deg, camber_deg);
    };
    if let Some((doubt, meant_deg)) = toe(geometry, side) {
        found.push(doubt);
        is_known &= meant_deg.is_some();
        let camber_deg = camber_deg(&geometry.corner(side).wheel.spin_axis);
        set_to(geometry, meant_deg.unwrap_or(0.0), camber_deg);
    }
    if let Some((doubt, meant_deg)) = camber(geometry, side) {
        found.push(doubt);
        is_known &= meant_deg.is_some();
        let toe_deg = toe_deg(&geometry.corner(side).wheel.spin_axis);
        set_to(geometry, toe_deg, meant_deg.unwrap_or(0.0));
    }
    (found, is_known)
}

/// The corner that the file would give with this toe and camber.
pub(super) fn with_angles(geometry: &Geometry, side: Side, toe_deg: f64, camber_deg: f64) -> Corner {
    let corner = geometry.corner(side);
    let wheel = &corner.wheel;
    let spin_axis = Wheel::new(wheel.centre, toe_deg, camber_deg, wheel.tyre_radius_mm).spin_axis;
    Writing::of(geometry).with_wheel(corner, Wheel { spin_axis, ..wheel.clone() })
}

/// A track that no car has, and the corner with the wheel centre where most of its upright, or else its links, fit it; no corner
/// where no number of `y` does that.
fn centre_y(geometry: &Geometry, side: Side) -> Option<(Doubt, Option<Corner>)> {
    const WHOLE: &str = "it counts from the middle of the car";
    let (corner, point) = (geometry.corner(side), CornerPoint::WheelCentre);
    let (track_mm, radius_mm) = (track_mm(corner), corner.wheel.tyre_radius_mm);
    if is_track(track_mm, radius_mm) {
        return None;
    }
    let (writing, around) = (Writing::of(geometry), Around::of(geometry, side));
    let [x, y, z] = writing.numbers(corner, point);
    let slips = meant(y, geometry.units).into_iter();
    let all = std::iter::once((WHOLE, 0.5 * y)).chain(slips.map(|(slip, number)| (slip.words(), number)));
    let fits = all.filter_map(|(words, number)| {
        let meant = writing.reread(corner, point, [x, number, z]);
        let is_fit = is_track(self::track_mm(&meant), radius_mm) && in_wheel(&meant) >= MOST_LINKS;
        is_fit.then(|| (count_odd(&meant, around), words, number, meant))
    });
    let best = fits.min_by_key(|(odd, ..)| *odd);
    // What is wide for its tyres alone may have been meant; no slip makes another one of it.
    if best.is_none() && is_in(track_mm, TRACK_MM) {
        return None;
    }
    let track = geometry.units.show(track_mm);
    let has = if is_in(track_mm, TRACK_MM) {
        format!("no car on tyres of {} radius has that", geometry.units.show(radius_mm))
    } else {
        "no car has that".to_owned()
    };
    let number = format!("y = {y:?} makes a track of {track}, and {has}");
    let (words, number_meant, mended) = match best {
        Some((_, words, number, mended)) => (words, Some(number), Some(mended)),
        None => ("measure the wheel centre from the middle of the car", None, None),
    };
    Some((number_doubt(side, "wheel centre", &number, number_meant, words), mended))
}

/// Half of a size that is stamped on rims, where the bead sits; a bracket touches further in.
fn nominal_rim(geometry: &Geometry, side: Side) -> Option<Doubt> {
    const SAME_MM: f64 = 0.06;
    let rim_mm = geometry.corner(side).wheel.rim_radius_mm.filter(|_| geometry.units == LengthUnit::Millimetre)?;
    let size_in = (2.0 * rim_mm / LengthUnit::Inch.in_mm()).round();
    let is_whole = (rim_mm - rim_mm.round()).abs() < SAME_MM; // as a tape is read too
    let is_size = is_in(size_in, RIM_SIZE_IN) && (rim_mm - 0.5 * size_in * LengthUnit::Inch.in_mm()).abs() < SAME_MM;
    (is_size && !is_whole).then(|| {
        let number = format!("{rim_mm:?} mm is half of the {size_in} in stamped on the rim");
        let why = "a bracket touches further in; measure from the hub's centre to the inside of the bare rim";
        number_doubt(side, "rim_radius", &number, None, why)
    })
}

/// A rim inside which most ends of the links have no room, under a tyre of any car: what is wrong is the rim.
fn is_beside_its_links(corner: &Corner) -> bool {
    let wheel = &corner.wheel;
    let is_small = wheel.rim_radius_mm.is_some_and(|rim_mm| wheel.tyre_radius_mm > TYRE_TO_RIM * rim_mm);
    let is_outside = |link: &&Link| {
        let (_, from_spindle_mm) = at_wheel_mm(corner, &link.upright);
        wheel.rim_radius_mm.is_some_and(|rim_mm| from_spindle_mm > rim_mm)
    };
    let outside = corner.links.iter().filter(is_outside).count();
    is_small && is_in(wheel.tyre_radius_mm, USUAL_TYRE_MM) && outside >= MOST_LINKS
}

/// The doubt, and the radius that was probably meant, mm.
fn rim_radius(geometry: &Geometry, side: Side) -> Option<(Doubt, Option<f64>)> {
    let units = geometry.units;
    let corner = geometry.corner(side);
    let is_small = is_beside_its_links(corner);
    let rim_mm = corner.wheel.rim_radius_mm.filter(|mm| is_small || !is_in(*mm, RIM_RADIUS_MM))?;
    let written = rim_mm / units.in_mm();
    // Sizes are stamped in whole inches, and some in halves.
    let is_size = units == LengthUnit::Millimetre && is_in(written, RIM_SIZE_IN) && (2.0 * written).fract() == 0.0;
    let fits = |number: f64| {
        let mm = units.to_mm(number);
        is_in(mm, USUAL_RIM_MM) && mm < corner.wheel.tyre_radius_mm && corner.wheel.tyre_radius_mm <= TYRE_TO_RIM * mm
    };
    let slips = meant_of_car(written, units).into_iter().map(|(slip, number)| (slip.words(), number));
    let twice = is_small.then_some(("that is half of it", 2.0 * written));
    let slip = twice.into_iter().chain(slips).find(|(_, number)| fits(*number)).filter(|_| !is_size);
    let why = match slip {
        _ if is_size => "that is the size on the rim, in inches; measure its inside from the hub's centre, in mm",
        Some((words, _)) => words,
        None => "measure the inside of the rim from the hub's centre",
    };
    let shown = as_typed(written);
    let is = if is_small && is_in(rim_mm, RIM_RADIUS_MM) { "is no rim's round this upright" } else { "is no rim's" };
    let number = format!("{shown:?} {} {is}", units.symbol());
    let meant = slip.map(|(_, meant)| meant);
    Some((number_doubt(side, "rim_radius", &number, meant, why), meant.map(|meant| units.to_mm(meant))))
}

/// True for the loaded radius of any tyre, mm.
pub(super) fn is_tyre(mm: f64) -> bool {
    Wheel::TYRE_RADIUS_MM.contains(&mm)
}

/// The doubt, and the radius that was probably meant, mm.
fn tyre_radius(geometry: &Geometry, side: Side) -> Option<(Doubt, Option<f64>)> {
    let units = geometry.units;
    let wheel = &geometry.corner(side).wheel;
    let rim_mm = wheel.rim_radius_mm.unwrap_or(*Wheel::TYRE_RADIUS_MM.start());
    let fits_rim = |mm: f64| wheel.rim_radius_mm.is_none() || mm <= TYRE_TO_RIM * rim_mm;
    let is_tyre = |mm: f64| is_tyre(mm) && fits_rim(mm);
    let is_usual = |mm: f64| is_in(mm, USUAL_TYRE_MM) && fits_rim(mm);
    if is_tyre(wheel.tyre_radius_mm) {
        return None;
    }
    let written = wheel.tyre_radius_mm / units.in_mm();
    let slip = one_slip(written, units, |number| is_usual(units.to_mm(number)));
    let by_size = match slip {
        _ if is_tyre(wheel.tyre_radius_mm / 2.0) => Some((None, written / 2.0)),
        slip => slip.map(|(slip, meant)| (Some(slip), meant)),
    };
    // A tyre that stands on the floor says more than the size of most.
    let on_floor = wheel.centre.z / camber_deg(&wheel.spin_axis).to_radians().cos() / units.in_mm();
    let of_floor = radius_on_floor(as_typed(written), on_floor, units, |number| is_tyre(units.to_mm(number)));
    let (why, meant) = match of_floor.or(by_size) {
        Some((slip, meant)) => (slip.map_or(IS_DIAMETER, Slip::words), Some(meant)),
        None => ("measure it from the hub's centre to the floor, car on its wheels", None),
    };
    let number = format!("{} is no tyre's", units.show(wheel.tyre_radius_mm));
    Some((number_doubt(side, "tyre_radius", &number, meant, why), meant.map(|meant| units.to_mm(meant))))
}

/// A tyre that all but leaves no rubber above its rim: one of the two was measured or typed wrong.
fn thin_tyre(geometry: &Geometry, side: Side) -> Option<Doubt> {
    const LEAST_MM: f64 = 25.0; // above the inside of the rim; a bead and the lowest of walls are more
    let (wheel, units) = (&geometry.corner(side).wheel, geometry.units);
    let rim_mm = wheel.rim_radius_mm.filter(|mm| wheel.tyre_radius_mm - mm < LEAST_MM)?;
    let number = format!(
        "{} is {} above the inside of its rim, which is no tyre's",
        units.show(wheel.tyre_radius_mm),
        units.show(wheel.tyre_radius_mm - rim_mm)
    );
    let suspects = ["tyre_radius", "rim_radius"].map(|about| Suspect { about: about.to_owned(), probably: None });
    let sentence = Sentence::of_side("tyre_radius", side, &format!(": {number}: measure it and `rim_radius` again."));
    Some(Doubt::of(Some(side), suspects.into(), sentence))
}

/// A tyre that does not stand on z = 0 though the file was begun as a starter, which counts from the floor.
pub(super) fn off_floor(geometry: &Geometry, side: Side) -> Option<Doubt> {
    const OFF_MM: [f64; 2] = [8.0, 60.0]; // what is further off was counted from another datum
    let units = geometry.units;
    let corner = geometry.corner(side);
    let off_mm = |radius_mm: f64| {
        let wheel = Wheel { tyre_radius_mm: radius_mm, ..corner.wheel.clone() };
        Corner { wheel, ..corner.clone() }.contact_height_mm()
    };
    let now_mm = off_mm(corner.wheel.tyre_radius_mm);
    let asked = geometry.starter.is_some() && is_in(now_mm.abs(), OFF_MM);
    asked.then(|| {
        let fits = |number: f64| off_mm(units.to_mm(number)).abs() < 1.0;
        let slip = one_slip(corner.wheel.tyre_radius_mm / units.in_mm(), units, fits);
        let way = if now_mm < 0.0 { "below" } else { "above" };
        let number = format!(
            "with {} the tyre stands {} {way} z = 0, the floor of a starter",
            units.show(corner.wheel.tyre_radius_mm),
            units.show(now_mm.abs())
        );
        let why = slip.map_or("measure it and the height of the wheel centre again", |(slip, _)| slip.words());
        number_doubt(side, "tyre_radius", &number, slip.map(|(_, meant)| meant), why)
    })
}

/// The doubt, and the toe that was probably meant, deg.
fn toe(geometry: &Geometry, side: Side) -> Option<(Doubt, Option<f64>)> {
    let wheel = &geometry.corner(side).wheel;
    let toe_deg = toe_deg(&wheel.spin_axis);
    (toe_deg.abs() > TOE_DEG).then(|| {
        let units = geometry.units;
        let meant_deg = (units.to_mm(toe_deg) / wheel.toe_span_mm).clamp(-1.0, 1.0).asin().to_degrees();
        let meant_deg = (meant_deg.abs() <= TOE_DEG).then_some((100.0 * meant_deg).round() / 100.0);
        let number = format!("{toe_deg:.2} deg is no toe of a rear wheel");
        let (symbol, span) = (units.symbol(), units.show(wheel.toe_span_mm));
        let shifted = as_typed(toe_deg / 10.0);
        let or_shifted = if shifted.abs() <= USUAL_TOE_DEG {
            format!(" (or {shifted:?}: {})", Slip::PointShifted.words())
        } else {
            String::new()
        };
        let why = match meant_deg {
            Some(_) => format!("it is in {symbol} over {span}, and the key is in deg per wheel{or_shifted}"),
            None => "write degrees per wheel, toe-in positive".to_owned(),
        };
        (number_doubt(side, "toe", &number, meant_deg, &why), meant_deg)
    })
}

/// The doubt, and the camber that was probably meant, deg: the only one that a slip makes, or the one with which the outer
/// joint is on the spindle's line.
fn camber(geometry: &Geometry, side: Side) -> Option<(Doubt, Option<f64>)> {
    let spin_axis = &geometry.corner(side).wheel.spin_axis;
    let (toe_deg, camber_deg) = (toe_deg(spin_axis), (100.0 * camber_deg(spin_axis)).round() / 100.0);
    let is_camber = |deg: f64| Wheel::CAMBER_DEG.contains(&deg);
    if is_camber(camber_deg) {
        return None;
    }
    let (turned, shifted) = ("top inboard is negative", Slip::PointShifted.words());
    let slips =
        [(-camber_deg, turned), (camber_deg / 10.0, shifted), (-camber_deg / 10.0, "sign and decimal point are wrong")];
    let fitting: Vec<_> = slips.into_iter().filter(|(deg, _)| is_camber(*deg)).collect();
    let is_on_line = |deg: f64| shaft::is_on_line(&with_angles(geometry, side, toe_deg, deg));
    let confirmed = fitting.iter().find(|(deg, _)| is_on_line(*deg) && !is_on_line(camber_deg));
    let only = fitting.first().filter(|_| fitting.len() == 1);
    let meant = confirmed.or(only);
    let number = format!("{camber_deg:.2} deg is no camber of a rear wheel");
    let why = meant.map_or("write degrees, top inboard negative", |(_, why)| why);
    let meant_deg = meant.map(|(deg, _)| (100.0 * deg).round() / 100.0);
    Some((number_doubt(side, "camber", &number, meant_deg, why), meant_deg))
}

fn track_mm(corner: &Corner) -> f64 {
    2.0 * DesignContact::of(corner).point.y
}

fn is_track(mm: f64, tyre_radius_mm: f64) -> bool {
    let is_wide = mm > WIDE_TRACK_MM.max(WIDE_TRACK_RADII * tyre_radius_mm);
    is_in(mm, TRACK_MM) && !(is_wide && is_tyre(tyre_radius_mm))
}

fn number_doubt(side: Side, about: &str, number: &str, meant: Option<f64>, why: &str) -> Doubt {
    let probably = meant.map(|meant| format!("{meant:?}"));
    let rest = match &probably {
        Some(meant) => format!(": {number}; probably {meant}: {why}."),
        None => format!(": {number}: {why}."),
    };
    Doubt::new(Some(side), about, probably, Sentence::of_side(about, side, &rest))
}

#[cfg(test)]
mod tests {
    use super::centre_y;
    use crate::file::GeometryFile;
    use crate::geometry::Side;

    /// A wheel centre at 737.636 mm, written with its point one digit further on.
    #[test]
    fn a_track_of_no_car_is_told_with_the_wheel_centre_that_was_meant() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let mut car = GeometryFile::parse("demo", demo).expect("a sound car").geometry;
        assert!(centre_y(&car, Side::Left).is_none());
        for side in Side::BOTH {
            car.corner_mut(side).wheel.centre.y = 7376.36;
            let (doubt, _) = centre_y(&car, side).expect("a doubt");
            let meant = doubt.suspects[0].probably.as_deref();
            assert!(meant.is_some_and(|number| number.ends_with("737.636")), "{doubt:?}");
        }
    }
}
