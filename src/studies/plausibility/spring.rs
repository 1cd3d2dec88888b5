//! The rate of a spring beside the mass that it carries and its own length, and that mass beside the whole car; the damper beside
//! itself.

use super::car::on_wheel_kg;
use super::figures::FREE_LENGTH_MM;
use super::oddity::spring_rise_and_length_mm;
use super::{Doubt, Sentence, Suspect, is_in};
use crate::geometry::slips::{Slip, as_typed, meant, meant_of_car, one_slip};
use crate::geometry::{Car, Corner, Geometry, LengthUnit, Side, SpringMake};
use crate::measures::spring;
use crate::mechanism::Linkage;

/// Up and down on their springs, from soft road cars to cars with much downforce, with room, Hz.
const BOUNCE_HZ: [f64; 2] = [0.7, 9.0];
/// What one wheel carries, from the lightest car to the heaviest, with room, kg.
const CARRIED_KG: [f64; 2] = [60.0, 700.0];
/// Cars without much downforce bounce more softly, Hz; those with it have little droop. Common practice.
pub(super) const HARD_HZ: f64 = 3.0;
/// A spring that is loose over more than this share of the wheel's droop is that of no hard car.
const LOOSE_SHARE: f64 = 2.0 / 3.0;
/// No spring is pressed down to less of its length.
pub(super) const SOLID_SHARE: f64 = 0.2;
/// What a rate that was read in another unit, or typed with its point elsewhere, is multiplied by.
const MISTAKES: [(f64, &str); 5] = [
    (Car::GRAVITY_N_PER_KG, "it is in kgf/mm"),
    (0.175_126_8, "it is in lbf/in"),
    (0.001, "it is in N/m"),
    (10.0, "the decimal point is shifted"),
    (0.1, "the decimal point is shifted"),
];
/// As many explanations as a builder compares with the paint on the spring.
const MAX_SUSPECTS: usize = 2;

/// In one pound, kg.
const LB_KG: f64 = 0.453_592_37;

/// What is sprung on a wheel beside half of what its axle carries: wheel and upright take away more than a driver who sits to one
/// side adds.
const SPRUNG_SHARE: [f64; 2] = [0.5, 1.0];
/// Both are rounded to whole kilograms, kg.
const ROUNDED_KG: f64 = 0.5;
/// Below so many times that, no slip of the pen is named; and from there on a mass in lb is so far off. No unit.
const SLIPPED: f64 = 1.15;
const IN_LB: f64 = 1.3;

/// A sprung mass that the mass of the car denies, a damper that moves further than it is long, a spring longer than its damper and
/// a bump rubber longer than its damper moves; of a right spring that is made like the left one nothing.
pub(super) fn make(geometry: &Geometry, side: Side) -> Vec<Doubt> {
    let make_of = |side: Side| geometry.corner(side).spring.as_ref().map(|spring| &spring.make);
    let Some(make) = make_of(side).filter(|make| side == Side::Left || make_of(Side::Left) != Some(*make)) else {
        return Vec::new();
    };
    let mass = denied(make, &geometry.car).map(|denied| denied.doubt(side));
    let damper = damper(geometry, side, make);
    let long = longer_than_damper(geometry, side, make);
    let stroke_mm = make.open_mm.zip(make.closed_mm).map(|(open_mm, closed_mm)| open_mm - closed_mm);
    let rubber = make.bump_rubber.zip(stroke_mm).filter(|(rubber, stroke_mm)| rubber.length_mm > *stroke_mm);
    let rubber = rubber.map(|(rubber, stroke_mm)| {
        let [length, stroke] = [rubber.length_mm, stroke_mm].map(|mm| geometry.units.show(mm));
        let rest = format!(": it is {length} long, and the damper moves {stroke} in all.");
        let sentence = Sentence::of_side("bump_rubber", side, &rest);
        Doubt::new(Some(side), "bump_rubber", None, sentence)
    });
    mass.into_iter().chain(damper).chain(long).chain(rubber).collect()
}

/// A damper moves by no more than it is long fully in: its rod goes into its own body.
fn damper(geometry: &Geometry, side: Side, make: &SpringMake) -> Option<Doubt> {
    let units = geometry.units;
    let (closed_mm, open_mm) = make.closed_mm.zip(make.open_mm).filter(|(closed, open)| open - closed > *closed)?;
    let drawn_mm = geometry.corner(side).spring.as_ref().map(|spring| spring_rise_and_length_mm(spring).1)?;
    let all = meant_of_car(as_typed(closed_mm / units.in_mm()), units).into_iter();
    let slip = all
        .filter(|(slip, _)| slip.is_of_size())
        .find(|(_, number)| is_in(units.to_mm(*number), [0.5 * open_mm, drawn_mm]));
    let why = match slip {
        Some((slip, meant)) => format!("probably `closed` = {meant:?}: {}", slip.words()),
        None => "measure both again, eye to eye".to_owned(),
    };
    let [closed, open] = [closed_mm, open_mm].map(|mm| units.show(mm));
    let rest =
        format!(": it is {closed} closed and {open} open, and no damper moves by more than it is long closed; {why}.");
    let sentence = Sentence::of_side("damper", side, &rest);
    Some(Doubt::new(Some(side), "closed", slip.map(|(_, meant)| format!("{meant:?}")), sentence))
}

/// The eyes of a spring whose damper is not known are no further apart fully out than so many times as at design; no unit.
pub(super) const OPENS_TIMES: f64 = 1.6;
/// A spring is no shorter than this share of what is between its eyes at design; no unit.
pub(super) const SHORTEST_SHARE: f64 = 0.35;

/// A spring that is longer before it is pressed than the damper fully out, round which it stands.
fn longer_than_damper(geometry: &Geometry, side: Side, make: &SpringMake) -> Option<Doubt> {
    let units = geometry.units;
    let drawn_mm = geometry.corner(side).spring.as_ref().map(|spring| spring_rise_and_length_mm(spring).1)?;
    let most_mm = make.open_mm.unwrap_or(OPENS_TIMES * drawn_mm);
    let free_mm = make.free_length_mm.filter(|mm| is_in(*mm, FREE_LENGTH_MM) && *mm > most_mm)?;
    let fits = |number: f64| is_in(units.to_mm(number), [SHORTEST_SHARE * drawn_mm, most_mm]);
    let slip = one_slip(as_typed(free_mm / units.in_mm()), units, fits);
    let why = match slip {
        Some((slip, meant)) => format!("probably {meant:?}: {}", slip.words()),
        None => "measure it again, off the damper".to_owned(),
    };
    let [free, drawn] = [free_mm, drawn_mm].map(|mm| units.show(mm));
    let eyes = match make.open_mm {
        Some(open_mm) => format!("its damper {} from eye to eye fully out", units.show(open_mm)),
        None => format!("its eyes are {drawn} apart at design"),
    };
    let rest = format!(": the spring is {free} long, and {eyes}; {why}.");
    let sentence = Sentence::of_side("free_length", side, &rest);
    Some(Doubt::new(Some(side), "free_length", slip.map(|(_, meant)| format!("{meant:?}")), sentence))
}

/// A mass on one wheel and that of the whole car that do not go together.
struct Denied {
    sprung_kg: f64,
    on_wheel_kg: f64,
    /// The key that is probably wrong, what was meant, kg, and why.
    slip: Option<(&'static str, f64, &'static str)>,
}

/// `None` where both are not given, or agree.
fn denied(make: &SpringMake, car: &Car) -> Option<Denied> {
    let (sprung_kg, on_wheel_kg) = make.corner_mass_kg.zip(on_wheel_kg(car))?;
    let (in_lb, shifted) = (Slip::InPounds.words(), Slip::PointShifted.words());
    let rounded_kg = |kg: f64| (10.0 * kg).round() / 10.0;
    let of_corner = [(LB_KG, in_lb), (10.0, shifted), (0.1, shifted)].map(|(factor, words)| {
        let meant_kg = rounded_kg(factor * sprung_kg);
        let is_lb = factor == LB_KG;
        let is_meant = agree(meant_kg, on_wheel_kg) && !(is_lb && sprung_kg < IN_LB * on_wheel_kg);
        is_meant.then_some(("corner_mass", meant_kg, words))
    });
    let swapped = || {
        let is_swapped = |(slip, meant_kg): &(Slip, f64)| *slip == Slip::DigitsSwapped && agree(*meant_kg, on_wheel_kg);
        let (slip, meant_kg) = meant(sprung_kg, LengthUnit::Millimetre).into_iter().find(is_swapped)?;
        (sprung_kg > SLIPPED * on_wheel_kg).then(|| ("corner_mass", meant_kg, slip.words()))
    };
    let of_car = || {
        let meant_kg = rounded_kg(LB_KG * car.mass_kg?);
        agree(sprung_kg, LB_KG * on_wheel_kg).then_some(("mass", meant_kg, in_lb))
    };
    let slip = of_corner.into_iter().flatten().next().or_else(of_car).or_else(swapped);
    (!agree(sprung_kg, on_wheel_kg)).then_some(Denied { sprung_kg, on_wheel_kg, slip })
}

impl Denied {
    fn doubt(&self, side: Side) -> Doubt {
        let Self { sprung_kg, on_wheel_kg, slip } = self;
        let probably = slip.map(|(_, meant_kg, _)| format!("{meant_kg:?}"));
        let advice = match slip {
            Some((_, meant_kg, words)) => format!("probably {meant_kg:?}: {words}"),
            None => "write what is sprung on this one wheel, in kg".to_owned(),
        };
        if slip.is_some_and(|(key, ..)| key == "mass") {
            let sentence = format!(
                "mass: with `rear_mass_share` it puts {on_wheel_kg:.0} kg on each rear wheel, and `corner_mass` is {sprung_kg} kg; \
                 {advice}."
            );
            return Doubt::new(None, "mass", probably, sentence);
        }
        let rest = format!(
            ": {sprung_kg} kg, and `mass` and `rear_mass_share` put {on_wheel_kg:.0} kg on each rear wheel; {advice}."
        );
        let sentence = Sentence::of_side("corner_mass", side, &rest);
        Doubt::new(Some(side), "corner_mass", probably, sentence)
    }

    /// What is sprung on the wheel, as far as it is known, kg.
    fn probably_kg(&self) -> f64 {
        match self.slip {
            Some(("mass", ..)) => self.sprung_kg,
            Some((_, meant_kg, _)) => meant_kg,
            None => self.on_wheel_kg,
        }
    }
}

fn agree(sprung_kg: f64, on_wheel_kg: f64) -> bool {
    let [least, most] = SPRUNG_SHARE;
    is_in(sprung_kg, [least * on_wheel_kg, most * on_wheel_kg + ROUNDED_KG])
}

/// False where the mass of the car denies the sprung mass.
pub(super) fn agrees_with_car(make: &SpringMake, car: &Car) -> bool {
    denied(make, car).is_none()
}

/// A spring in its place.
struct Carried {
    /// Mass on this wheel, least and most: one number where the file says it.
    mass_kg: [f64; 2],
    /// Damper mm per wheel mm at design; no unit.
    ratio: f64,
    free_length_mm: Option<f64>,
    /// How far the damper opens from design, mm.
    opens_mm: Option<f64>,
}

/// A rate with which the car would lie on its bump stops or bounce like no car.
pub(super) fn rate(geometry: &Geometry, side: Side) -> Option<Doubt> {
    let corner = geometry.corner(side);
    let carried = geometry.is_placed(side).then(|| Carried::of(corner, &geometry.car)).flatten()?;
    let rate = corner.spring.as_ref()?.make.rate_n_per_mm?;
    let why = carried.why_not(rate, geometry)?;
    let fits = MISTAKES.iter().map(|&(factor, words)| (rounded(rate * factor), words));
    let fits = fits.filter(|(rate, _)| carried.why_not(*rate, geometry).is_none()).take(MAX_SUSPECTS);
    let fits: Vec<(f64, &str)> = fits.collect();
    let meant: Vec<String> = fits.iter().map(|(rate, words)| format!("{rate:?} ({words})")).collect();
    let advice = match meant.is_empty() {
        true => "look at `rate`, in N/mm, and at `corner_mass`, in kg".to_owned(),
        false => format!("the key is in N/mm: probably {}", meant.join(" or ")),
    };
    let suspect = |probably| Suspect { about: "rate".to_owned(), probably };
    let mut suspects: Vec<Suspect> = fits.iter().map(|(rate, _)| suspect(Some(format!("{rate:?}")))).collect();
    if suspects.is_empty() {
        suspects.push(suspect(None));
    }
    let rest = format!(": with {rate:?} N/mm {why}; {advice}.");
    Some(Doubt::of(Some(side), suspects, Sentence::of_side("rate of the spring", side, &rest)))
}

impl Carried {
    /// `None` where nothing moves it.
    fn of(corner: &Corner, car: &Car) -> Option<Self> {
        let make = &corner.spring.as_ref()?.make;
        let posture = Linkage::new(corner).design().ok()?;
        let spring = spring(corner, &posture).filter(|spring| spring.ratio > 0.05)?;
        // What is not sprung is a fifth of it or less, and all ranges have more room than that.
        let denied_kg = denied(make, car).map(|denied| denied.probably_kg());
        let sprung_kg = denied_kg.or(make.corner_mass_kg).or_else(|| on_wheel_kg(car));
        Some(Self {
            mass_kg: sprung_kg.map_or(CARRIED_KG, |kg| [kg, kg]),
            ratio: spring.ratio,
            free_length_mm: make.free_length_mm.filter(|mm| is_in(*mm, FREE_LENGTH_MM)),
            opens_mm: make.open_mm.map(|open_mm| open_mm - spring.length_mm),
        })
    }

    /// What is wrong with a rate, N/mm; `None` for one that a car may have.
    fn why_not(&self, rate: f64, geometry: &Geometry) -> Option<String> {
        let [lightest_kg, heaviest_kg] = self.mass_kg;
        let bounce_hz = |mass_kg: f64| (1000.0 * rate / mass_kg).sqrt() * self.ratio / std::f64::consts::TAU;
        let force_n = lightest_kg * Car::GRAVITY_N_PER_KG / self.ratio;
        let squeezed_mm = force_n / rate;
        let is_known = lightest_kg == heaviest_kg;
        let is_solid = |free_mm: &f64| is_known && free_mm - squeezed_mm < SOLID_SHARE * free_mm;
        if let Some(free_mm) = self.free_length_mm.filter(is_solid) {
            return Some(format!(
                "the {force_n:.0} N of its corner press it by {}, and it is {} long",
                geometry.units.show(squeezed_mm),
                geometry.units.show(free_mm)
            ));
        }
        let [least, most] = BOUNCE_HZ;
        let (too_soft, too_hard) = (bounce_hz(lightest_kg) < least, bounce_hz(heaviest_kg) > most);
        if too_soft || too_hard {
            let mass_kg = if too_soft { lightest_kg } else { heaviest_kg };
            let whose = if is_known { "its" } else { "even" };
            let hz = bounce_hz(mass_kg);
            return Some(format!("{whose} {mass_kg:.0} kg bounce at {hz:.1} Hz, and cars do at {least} to {most} Hz"));
        }
        let hz = bounce_hz(heaviest_kg);
        let opens_mm = self.opens_mm.filter(|opens_mm| squeezed_mm < (1.0 - LOOSE_SHARE) * opens_mm)?;
        (is_known && hz > HARD_HZ).then(|| {
            format!(
                "its {heaviest_kg:.0} kg bounce at {hz:.1} Hz, and it is loose over {} of the {} by which the damper opens",
                geometry.units.show(opens_mm - squeezed_mm),
                geometry.units.show(opens_mm)
            )
        })
    }
}

/// To three figures, as rates are painted on springs.
fn rounded(rate: f64) -> f64 {
    let decimals = (2.0 - rate.log10().floor()).clamp(0.0, 3.0);
    as_typed((rate * 10f64.powf(decimals)).round() / 10f64.powf(decimals))
}
