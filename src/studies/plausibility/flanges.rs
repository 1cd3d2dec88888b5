//! The two flanges of a final drive: they turn about one line, and neither is many times as far out as the other.

use super::oddities::JOINT_FROM_MIDDLE_MM;
use super::{Doubt, Suspect, is_in};
use crate::geometry::slips::{Slip, as_typed, meant};
use crate::geometry::{Axis, FinalDrive, Flange, Geometry, Halfshaft, Interval, PerSide, Side};

/// Measured on a bench over the width of a housing, two flanges of one differential are in line to this, mm.
const OFF_LINE_MM: f64 = 20.0;
/// A number that was meant brings them in line to this, mm.
const IN_LINE_MM: f64 = 5.0;
/// A housing is seldom symmetric, but no flange is so many times as far from its datum as one slip away from the other; no unit.
const FURTHER: f64 = 4.0;
/// What was meant is as far out as the other one to this, mm.
const ALIKE_MM: f64 = 15.0;

/// A flange that points further away from its shaft than this was read wrongly, deg: joints turn by half as much.
const AWAY_DEG: f64 = 45.0;

/// What gives the place of a flange: where one of these is told as wrong, the flanges tell nothing of each other.
pub(super) const PLACED_BY: [&str; 3] = ["final_drive origin", "final_drive left", "final_drive right"];

/// What is wrong between the flanges; each of them by itself is judged with its shaft, the right one here where the wheels are alike.
pub(super) fn doubt(geometry: &Geometry) -> Option<Doubt> {
    let drive = geometry.final_drive.as_ref()?;
    off_line(geometry, drive).or_else(|| far_nearer(geometry, drive)).or_else(|| of_right(geometry, drive))
}

/// One number of a flange as it was probably meant, and the final drive with it.
struct Guess {
    side: Side,
    axis: Axis,
    written: f64,
    slip: Slip,
    meant: f64,
    drive: FinalDrive,
}

impl Guess {
    /// Every slip in these numbers of both flanges.
    fn all<'a>(geometry: &'a Geometry, drive: &'a FinalDrive, axes: &'a [Axis]) -> impl Iterator<Item = Self> + 'a {
        let units = geometry.units;
        let numbers = Side::BOTH.into_iter().flat_map(|side| axes.iter().map(move |&axis| (side, axis)));
        numbers.flat_map(move |(side, axis)| {
            let written = as_typed(drive.outputs[side].at[axis.index()] / units.in_mm());
            meant(written, units).into_iter().map(move |(slip, meant)| {
                let mut drive = drive.clone();
                drive.outputs[side].at[axis.index()] = units.to_mm(meant);
                Self { side, axis, written, slip, meant, drive }
            })
        })
    }

    fn doubt(&self, why: &str) -> Doubt {
        let Self { side, axis, written, slip, meant, .. } = self;
        let about = format!("final_drive {}", side.name());
        let sentence = format!("{about}: {}; {why}.", slip.told_of(*axis, [*written, *meant]));
        Doubt::new(Some(*side), about, Some(format!("{meant:?}")), sentence)
    }

    /// How far the shafts go along the guessed axis, both together, mm: a final drive is placed so that they run straight.
    fn along_mm(&self, geometry: &Geometry) -> f64 {
        let along_mm = |side: Side| {
            let shaft = geometry.corner(side).halfshaft.as_ref()?;
            Some((shaft.outer - self.drive.output(side).at)[self.axis.index()].abs())
        };
        Side::BOTH.into_iter().filter_map(along_mm).sum()
    }
}

/// Both flanges of a differential turn about one line.
fn off_line(geometry: &Geometry, drive: &FinalDrive) -> Option<Doubt> {
    let off_mm = apart_mm(&drive.outputs);
    if off_mm <= OFF_LINE_MM {
        return None;
    }
    let off = geometry.units.show(off_mm);
    let guesses = Guess::all(geometry, drive, &[Axis::X, Axis::Z]);
    let guess = guesses
        .filter(|guess| apart_mm(&guess.drive.outputs) <= IN_LINE_MM)
        .min_by(|a, b| a.along_mm(geometry).total_cmp(&b.along_mm(geometry)));
    const LINE: &str = "both flanges of a final drive turn about one line";
    if let Some(guess) = guess {
        return Some(guess.doubt(&format!("as written it is {off} off the line of the other flange, and {LINE}")));
    }
    let suspects = Side::BOTH.map(|side| Suspect { about: format!("final_drive {}", side.name()), probably: None });
    let sentence = format!("final_drive: `left` and `right` are {off} off one line; measure both again: {LINE}.");
    Some(Doubt::of(None, suspects.into(), sentence))
}

/// How far one flange is from the line of the other, mm; the smaller of the two, as an axis is measured less well than a place.
fn apart_mm(outputs: &PerSide<Flange>) -> f64 {
    let between = outputs.right.at - outputs.left.at;
    let off_mm = |side: Side| outputs[side].axis.cross(&between).norm();
    off_mm(Side::Left).min(off_mm(Side::Right))
}

/// A flange that is many times as far from the datum as the other, and as far as it after one slip of size.
fn far_nearer(geometry: &Geometry, drive: &FinalDrive) -> Option<Doubt> {
    let out_mm = |drive: &FinalDrive, side: Side| drive.outputs[side].at.y.abs();
    let [left_mm, right_mm] = Side::BOTH.map(|side| out_mm(drive, side));
    if left_mm.max(right_mm) < FURTHER * left_mm.min(right_mm) {
        return None;
    }
    let fits = |guess: &Guess| {
        let [left_mm, right_mm] = Side::BOTH.map(|side| out_mm(&guess.drive, side));
        let is_between_shafts =
            Side::BOTH.into_iter().all(|side| is_in(guess.drive.output(side).at.y, JOINT_FROM_MIDDLE_MM));
        guess.slip.is_of_size() && (left_mm - right_mm).abs() <= ALIKE_MM && is_between_shafts
    };
    let guess = Guess::all(geometry, drive, &[Axis::Y]).find(fits)?;
    let show = |side: Side| geometry.units.show(out_mm(drive, side));
    let why = format!(
        "as written that flange is {} out from the datum of the housing, and the other one {}",
        show(guess.side),
        show(guess.side.other())
    );
    Some(guess.doubt(&why))
}

/// Between wheels that are alike the right flange has the only numbers of its side, and no other check comes by.
fn of_right(geometry: &Geometry, drive: &FinalDrive) -> Option<Doubt> {
    let shaft = geometry.right.halfshaft.as_ref().filter(|_| geometry.mirrored && !geometry.looks_alike())?;
    let why = format!("as written {}", odd_shaft(geometry, shaft)?);
    let with = |drive: &FinalDrive| {
        let Flange { at, axis } = drive.output(Side::Right);
        Halfshaft { inner: at, axis, ..shaft.clone() }
    };
    let of_right = Guess::all(geometry, drive, &[Axis::Y]).filter(|guess| guess.side == Side::Right);
    let left_mm = geometry.left.halfshaft.as_ref()?.length_mm();
    let sound =
        of_right.map(|guess| (with(&guess.drive), guess)).filter(|(shaft, _)| odd_shaft(geometry, shaft).is_none());
    let unlike_mm = |(shaft, _): &(Halfshaft, Guess)| (shaft.length_mm() - left_mm).abs();
    let guess = sound.min_by(|a, b| unlike_mm(a).total_cmp(&unlike_mm(b))).map(|(_, guess)| guess);
    Some(guess.map_or_else(
        || {
            let about = "final_drive right";
            Doubt::new(Some(Side::Right), about, None, format!("{about}: {why}; measure it again."))
        },
        |guess| guess.doubt(&why),
    ))
}

/// What no right shaft is, in words.
fn odd_shaft(geometry: &Geometry, shaft: &Halfshaft) -> Option<String> {
    let (show, length_mm) = (|mm: f64| geometry.units.show(mm), shaft.length_mm());
    let [least_mm, wide_mm] = JOINT_FROM_MIDDLE_MM;
    let most_mm = wide_mm.max(shaft.outer.y - geometry.right.wheel.tyre_radius_mm);
    if !is_in(shaft.inner.y, [least_mm, most_mm]) {
        let (out, least, most) = (show(shaft.inner.y), show(least_mm), show(most_mm));
        return Some(format!(
            "it is {out} out from the middle of the car, and {least} to {most} is where a flange stands"
        ));
    }
    if let Some(Interval { low, high }) = shaft.reach_mm().filter(|reach| !is_in(length_mm, [reach.low, reach.high])) {
        let (long, low, high) = (show(length_mm), show(low), show(high));
        return Some(format!("its shaft is {long} between the joints, and can be {low} to {high} long"));
    }
    let away_deg = shaft.axis.angle(&(shaft.outer - shaft.inner)).to_degrees();
    (away_deg > AWAY_DEG).then(|| format!("it points {away_deg:.0} deg away from its shaft"))
}
