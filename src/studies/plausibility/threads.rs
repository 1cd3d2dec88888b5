//! What the thread of a rod end denies: the rating of its shank, and the way that one turn of it goes.

use super::figures::about_part;
use super::{Doubt, is_in};
use crate::geometry::slips::as_typed;
use crate::geometry::{Geometry, Link, RodEnd, Side};

/// A pitch is written to two figures, and from threads to the inch to three; no unit.
const SAME_PITCH: f64 = 0.02;

/// Static ratings that their own shanks deny, and pitches of links that are not those of their rod ends.
pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let sides = geometry.own_sides().iter();
    let links = sides.flat_map(|&side| geometry.corner(side).links.iter().map(move |link| (side, link)));
    let mut found = ratings(geometry);
    found.extend(links.filter_map(|(side, link)| pitch(geometry, side, link)));
    found
}

/// A rod end that is turned goes by the pitch of its own thread.
fn pitch(geometry: &Geometry, side: Side, link: &Link) -> Option<Doubt> {
    let thread = link.hardware.rod_end.as_ref()?.thread.as_ref()?;
    let pitch_mm = link.adjusters.length?.pitch_mm;
    ((pitch_mm / thread.pitch_mm).ln().abs() > SAME_PITCH).then(|| {
        let units = geometry.units;
        let [written, meant] = [pitch_mm, thread.pitch_mm].map(|mm| (1e5 * mm / units.in_mm()).round() / 1e5);
        let (name, symbol) = (&link.name, units.symbol());
        let sentence = format!(
            "Link {name:?} on the {}: `pitch` = {written:?} {symbol}, and the thread of its rod ends, {}, has {meant:?} {symbol} \
             from crest to crest.",
            side.name(),
            thread.name
        );
        Doubt::new(Some(side), format!("{name} adjust"), Some(format!("{meant:?}")), sentence)
    })
}

/// Static ratings that their own shanks deny.
fn ratings(geometry: &Geometry) -> Vec<Doubt> {
    // Over the stress area, from the softest rod end of metal to a shank of class 12.9, which breaks there; a maker of harder ones gives
    // their yield strength.
    const LEAST_MPA: f64 = 100.0;
    const MOST_MPA: f64 = 1220.0;
    const SENSIBLE_MPA: f64 = 220.0; // a rating that is a little too high is not ten times one below this
    let of_link = |name: &str, rod_end: &RodEnd| {
        let (static_n, thread) = (rod_end.static_n?, rod_end.thread.as_ref()?);
        let stress_mpa = static_n / thread.stress_area_mm2();
        let most_mpa = rod_end.shank_yield_mpa.map_or(MOST_MPA, |mpa| mpa.max(MOST_MPA));
        let is_borne = |mpa: f64| is_in(mpa, [LEAST_MPA, most_mpa]);
        (!is_borne(stress_mpa)).then(|| {
            let meant_n = [10.0, 0.1].map(|factor| as_typed(factor * static_n / 1000.0));
            let meant_n = meant_n.into_iter().find(|kn| {
                let mpa = 1000.0 * kn / thread.stress_area_mm2();
                is_borne(mpa) && (mpa > stress_mpa || mpa > SENSIBLE_MPA)
            });
            let meant = meant_n.map(|kn| format!("{kn:?}"));
            let probably = meant.as_ref().map_or(String::new(), |meant| format!(", probably {meant}"));
            let sentence = format!(
                "`static_kn`: {:?} kN is no rod end's with a thread of {}{probably}; it would load the shank with {stress_mpa:.0} \
                 MPa, and {LEAST_MPA} to {most_mpa} MPa is what rod ends bear.",
                as_typed(static_n / 1000.0),
                thread.name
            );
            Doubt::new(None, about_part(geometry, name, "rod_end", "static_kn"), meant, sentence)
        })
    };
    let links = geometry.left.links.iter();
    let mut found: Vec<Doubt> = links.filter_map(|link| of_link(&link.name, link.hardware.rod_end.as_ref()?)).collect();
    found.dedup_by(|a, b| a.sentence == b.sentence); // what every link has is told once
    found
}
