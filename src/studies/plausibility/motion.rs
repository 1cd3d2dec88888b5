//! How far the motion of a corner is from that of corners that are built: what its wheel does at the drawn height and over its
//! travel.

use super::oddity::{About, Oddity, What};
use crate::geometry::Corner;
use crate::measures::{
    DesignContact, Road, RollCentreLine, camber_gradient_deg_per_mm, spin_axis, toe_deg, toe_gradient_deg_per_mm,
};
use crate::mechanism::{Linkage, Posture, WheelPath, margin_at_design};

/// A wheel is driven so far, mm either way, to see whether the links bind at once.
const BINDS_AT_ONCE_MM: f64 = 25.0;
/// What a wheel steers in less is its bump steer at the drawn height, mm.
const STEERS_FROM_MM: f64 = 12.0;
/// On its way from the drawn height a corner that was not tuned yet steers by less: 2.75 deg in 60 mm.
const STEER_DEG_PER_MM: f64 = 2.75 / 60.0;

/// What the wheel does in the first millimetres.
pub(super) fn motion(corner: &Corner, [droop_mm, bump_mm]: [f64; 2], found: &mut Vec<Oddity>) {
    let linkage = Linkage::new(corner);
    let about = About::Corner;
    let Ok(posture) = linkage.design() else {
        return found.push(Oddity { about, what: What::Margin, value: 0.0, ratio: f64::INFINITY });
    };
    found.push(Oddity::at_least(about, What::Margin, margin_at_design(&linkage), 0.04));
    let spin = corner.wheel.spin_axis.into_inner();
    let per_25_mm = |per_mm: f64| 25.0 * per_mm;
    let toe = per_25_mm(toe_gradient_deg_per_mm(&spin, &posture.motion));
    let camber = per_25_mm(camber_gradient_deg_per_mm(&spin, &posture.motion));
    let contact = DesignContact::of(corner);
    let road = Road::new(corner.side, 0.0, 0.0, contact.ground_mm);
    let roll_centre = RollCentreLine::new(&posture, &contact.point, &road).own_side_height_mm();
    let slope = -posture.motion.velocity.x / posture.motion.velocity.z;
    found.extend([
        Oddity::within(about, What::ToeGain, toe, -1.4, 1.4),
        Oddity::within(about, What::CamberGain, camber, -3.0, 1.0),
        Oddity::within(about, What::RollCentre, roll_centre.unwrap_or(f64::INFINITY), -160.0, 400.0),
        Oddity::within(about, What::PathSlope, slope, -0.4, 0.4),
    ]);
    let stations_mm = [-BINDS_AT_ONCE_MM, BINDS_AT_ONCE_MM, -droop_mm, bump_mm];
    if let Ok(path) = WheelPath::follow(&linkage, &stations_mm) {
        steer(corner, &path, found);
        let binds = [path.binds_in_droop, path.binds_in_bump].into_iter().flatten();
        let binds = binds.filter(|bind| bind.at_bump_mm.abs() <= BINDS_AT_ONCE_MM);
        let ratio = |at_mm: f64| BINDS_AT_ONCE_MM / at_mm.max(1.0);
        found.extend(binds.map(|bind| bind.at_bump_mm.abs()).map(|at_mm| Oddity {
            about,
            what: What::Bind,
            value: at_mm,
            ratio: ratio(at_mm).max(1.01),
        }));
    }
}

/// How far the wheel steers on its way through its travel, where it is the most for the way.
fn steer(corner: &Corner, path: &WheelPath, found: &mut Vec<Oddity>) {
    let toe = |posture: &Posture| toe_deg(&spin_axis(corner, posture));
    let drawn_deg = toe_deg(&corner.wheel.spin_axis);
    let gone = path.postures().iter().filter(|posture| posture.bump_mm.abs() >= STEERS_FROM_MM);
    let most = gone.map(|posture| {
        let (steer_deg, most_deg) = (toe(posture) - drawn_deg, STEER_DEG_PER_MM * posture.bump_mm.abs());
        Oddity::within(About::Corner, What::Steer, steer_deg, -most_deg, most_deg)
    });
    found.extend(most.max_by(|a, b| a.ratio.total_cmp(&b.ratio)));
}

#[cfg(test)]
mod tests {
    use nalgebra::Vector3;

    use super::{What, motion};
    use crate::file::GeometryFile;

    /// Upper links of 60 mm whose outer ends hang 52 mm below their brackets: no more than 8 mm further down they hang straight.
    #[test]
    fn a_wheel_that_binds_in_droop_alone_binds() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let mut corner = GeometryFile::parse("demo", demo).expect("a sound car").geometry.left;
        let binds = |corner: &_| -> Vec<f64> {
            let mut found = Vec::new();
            motion(corner, [60.0; 2], &mut found);
            found.iter().filter(|oddity| oddity.what == What::Bind).map(|oddity| oddity.value).collect()
        };
        assert!(binds(&corner).is_empty());
        for link in &mut corner.links[..2] {
            link.chassis = link.upright + Vector3::new(0.0, -30.0, 52.0);
        }
        let at_mm = binds(&corner);
        assert!(at_mm.len() == 1 && (0.1..8.0).contains(&at_mm[0]), "{at_mm:?}");
    }

    /// Links of 60 mm that hang straight after a little droop, and after less.
    #[test]
    fn a_wheel_is_the_odder_the_sooner_it_binds() {
        let demo = include_str!("../../../geometries/first-cut.toml");
        let drawn = GeometryFile::parse("demo", demo).expect("a sound car").geometry.left;
        let [later, sooner] = [(-30.0, 52.0), (-21.5, 56.0)].map(|(in_mm, up_mm)| {
            let mut corner = drawn.clone();
            for link in &mut corner.links[..2] {
                link.chassis = link.upright + Vector3::new(0.0, in_mm, up_mm);
            }
            let mut found = Vec::new();
            motion(&corner, [60.0; 2], &mut found);
            let bind = found.iter().find(|oddity| oddity.what == What::Bind).expect("a bind");
            (bind.value, bind.ratio)
        });
        assert!(sooner.0 < later.0 && sooner.1 > later.1, "{sooner:?} {later:?}");
    }
}
