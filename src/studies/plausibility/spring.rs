//! The rate of a spring beside the mass that it carries and its own length.

use super::slips::as_typed;
use super::{Doubt, Suspect};
use crate::geometry::{Car, Corner, Geometry, Side};
use crate::measures::spring;
use crate::mechanism::Linkage;

/// Up and down on their springs, from soft road cars to cars with much downforce, with room, Hz.
const BOUNCE_HZ: [f64; 2] = [0.7, 9.0];
/// No spring is pressed down to less of its length.
const SOLID_SHARE: f64 = 0.2;
/// What a rate that was read in another unit, or typed with its point elsewhere, is multiplied by.
const MISTAKES: [(f64, &str); 4] = [
    (Car::GRAVITY_N_PER_KG, "it is in kgf/mm"),
    (0.175_126_8, "it is in lbf/in"),
    (10.0, "the decimal point is shifted"),
    (0.1, "the decimal point is shifted"),
];
/// As many explanations as a builder compares with the paint on the spring.
const MAX_SUSPECTS: usize = 2;

/// A spring in its place.
struct Carried {
    /// Sprung mass on this wheel.
    mass_kg: f64,
    /// Damper mm per wheel mm at design; no unit.
    ratio: f64,
    free_length_mm: Option<f64>,
}

/// A rate with which the car would lie on its bump stops or bounce like no car.
pub(super) fn rate(geometry: &Geometry, side: Side) -> Option<Doubt> {
    let corner = geometry.corner(side);
    let carried = geometry.is_placed(side).then(|| Carried::of(corner)).flatten()?;
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
    let sentence = format!("rate of the spring, {}: with {rate:?} N/mm {why}; {advice}.", side.name());
    Some(Doubt { side: Some(side), suspects, sentence })
}

impl Carried {
    /// `None` where the file does not say what the spring carries, or nothing moves it.
    fn of(corner: &Corner) -> Option<Self> {
        let make = &corner.spring.as_ref()?.make;
        let posture = Linkage::new(corner).design().ok()?;
        let ratio = spring(corner, &posture)?.ratio;
        let mass_kg = make.corner_mass_kg.filter(|_| ratio > 0.05)?;
        Some(Self { mass_kg, ratio, free_length_mm: make.free_length_mm })
    }

    /// What is wrong with a rate, N/mm; `None` for one that a car may have.
    fn why_not(&self, rate: f64, geometry: &Geometry) -> Option<String> {
        let force_n = self.mass_kg * Car::GRAVITY_N_PER_KG / self.ratio;
        let squeezed_mm = force_n / rate;
        if let Some(free_mm) = self.free_length_mm.filter(|free_mm| free_mm - squeezed_mm < SOLID_SHARE * free_mm) {
            return Some(format!(
                "the {force_n:.0} N of its corner press it by {}, and it is {} long",
                geometry.units.show(squeezed_mm),
                geometry.units.show(free_mm)
            ));
        }
        let bounce_hz = (1000.0 * rate / self.mass_kg).sqrt() * self.ratio / std::f64::consts::TAU;
        let [least, most] = BOUNCE_HZ;
        (!(least..=most).contains(&bounce_hz)).then(|| {
            format!("its {} kg bounce at {bounce_hz:.1} Hz, and cars do at {least} to {most} Hz", self.mass_kg)
        })
    }
}

/// To three figures, as rates are painted on springs.
fn rounded(rate: f64) -> f64 {
    let decimals = (2.0 - rate.log10().floor()).clamp(0.0, 3.0);
    as_typed((rate * 10f64.powf(decimals)).round() / 10f64.powf(decimals))
}
