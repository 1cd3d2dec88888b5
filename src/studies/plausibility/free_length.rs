//! The free length of a spring beside the place that it has: under its corner, and where full bump presses it.

use super::figures::FREE_LENGTH_MM;
use super::spring::{HARD_HZ, OPENS_TIMES, SHORTEST_SHARE, SOLID_SHARE, agrees_with_car};
use super::{Doubt, Sentence, is_in};
use crate::geometry::slips::{as_typed, one_slip};
use crate::geometry::{Car, Geometry, Side, SpringMake};
use crate::measures::spring;
use crate::mechanism::{Linkage, WheelPath};

/// A rate is believed with which the corner bounces no more slowly, Hz, and no faster than a car without much downforce.
const SLOW_HZ: f64 = 0.9;

/// A spring that would be longer under its corner than its eyes are apart, or of which full bump leaves nothing; of a right
/// spring that is made like the left one nothing.
pub(super) fn doubt(geometry: &Geometry, side: Side) -> Option<Doubt> {
    let make_of = |side: Side| geometry.corner(side).spring.as_ref().map(|spring| &spring.make);
    let make = make_of(side).filter(|make| side == Side::Left || make_of(Side::Left) != Some(*make))?;
    let free_mm = make.free_length_mm.filter(|mm| is_in(*mm, FREE_LENGTH_MM))?;
    let place = Place::of(geometry, side, make)?;
    let why = place.why_not(free_mm).filter(|_| free_mm <= place.most_mm)?;
    let units = geometry.units;
    let fits = |number: f64| {
        let free_mm = units.to_mm(number);
        let usual_mm = [SHORTEST_SHARE * place.eyes_mm, place.most_mm];
        is_in(free_mm, usual_mm) && !place.is_solid(free_mm) && place.why_not(free_mm).is_none()
    };
    let slip = one_slip(as_typed(free_mm / units.in_mm()), units, fits);
    let advice = match slip {
        Some((slip, meant)) => format!("probably {meant:?}: {}", slip.words()),
        None => "measure it again, off the damper".to_owned(),
    };
    let [free, under] = [free_mm, free_mm - place.squeezed_mm].map(|mm| units.show(mm));
    let beside = match why {
        WhyNot::Long => format!("its eyes are {} apart there", units.show(place.eyes_mm)),
        WhyNot::Short => format!("the bump of [travel] presses it by {} more", units.show(place.bump_mm)),
    };
    let rest =
        format!(": the spring is {free} long and at design, under `corner_mass`, {under}, and {beside}; {advice}.");
    let sentence = Sentence::of_side("free_length", side, &rest);
    Some(Doubt::new(Some(side), "free_length", slip.map(|(_, meant)| format!("{meant:?}")), sentence))
}

enum WhyNot {
    Long,
    Short,
}

/// What a spring has, mm.
struct Place {
    /// Eye to eye at design.
    eyes_mm: f64,
    /// By how much its corner presses it.
    squeezed_mm: f64,
    /// By how much more full bump does, or as much of it as the damper allows.
    bump_mm: f64,
    /// A longer one is told by its damper.
    most_mm: f64,
}

impl Place {
    /// `None` where mass or rate are not known well enough.
    fn of(geometry: &Geometry, side: Side, make: &SpringMake) -> Option<Self> {
        let corner = geometry.corner(side);
        let (mass_kg, rate) = make.corner_mass_kg.zip(make.rate_n_per_mm)?;
        let linkage = Linkage::new(corner);
        let design = spring(corner, &linkage.design().ok()?).filter(|spring| spring.ratio > 0.05)?;
        let bounce_hz = (1000.0 * rate / mass_kg).sqrt() * design.ratio / std::f64::consts::TAU;
        let is_known = geometry.is_placed(side) && agrees_with_car(make, &geometry.car);
        if !is_known || !is_in(bounce_hz, [SLOW_HZ, HARD_HZ]) {
            return None;
        }
        let bump_mm = geometry.travel.bump_mm;
        let path = WheelPath::follow(&linkage, &[0.0, bump_mm]).ok();
        let bumped = path.and_then(|path| spring(corner, &path.at(bump_mm)?));
        let drawn_mm = bumped.map_or(0.0, |bumped| design.length_mm - bumped.length_mm);
        let rubber_mm = make.bump_rubber.map_or(0.0, |rubber| rubber.solid_mm);
        let stops_mm = make.closed_mm.map_or(f64::INFINITY, |closed_mm| design.length_mm - closed_mm - rubber_mm);
        Some(Self {
            eyes_mm: design.length_mm,
            squeezed_mm: mass_kg * Car::GRAVITY_N_PER_KG / design.ratio / rate,
            bump_mm: drawn_mm.min(stops_mm).max(0.0),
            most_mm: make.open_mm.unwrap_or(OPENS_TIMES * design.length_mm),
        })
    }

    /// `None` for a length that fits, and for one that is told by the rate.
    fn why_not(&self, free_mm: f64) -> Option<WhyNot> {
        let under_mm = free_mm - self.squeezed_mm;
        if under_mm > self.eyes_mm {
            return Some(WhyNot::Long);
        }
        let is_short = under_mm - self.bump_mm < SOLID_SHARE * free_mm;
        (is_short && !self.is_solid(free_mm)).then_some(WhyNot::Short)
    }

    /// At design already.
    fn is_solid(&self, free_mm: f64) -> bool {
        free_mm - self.squeezed_mm < SOLID_SHARE * free_mm
    }
}
