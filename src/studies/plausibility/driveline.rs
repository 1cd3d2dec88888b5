//! Final drive and propeller shaft beside the car that they drive: a torque, a joint and a mounting hole of no car.

use nalgebra::{Point3, Vector3};

use super::car::on_wheel_kg;
use super::wheel::is_tyre;
use super::{Doubt, is_in};
use crate::geometry::slips::{Slip, as_typed, meant_of_car};
use crate::geometry::{Axis, Car, FinalDrive, Geometry, LengthUnit, Propshaft};

/// The rear tyres of no car push with more than so many times what they carry; no unit.
const MOST_GRIP: f64 = 10.0;
/// While the file gives none, the least reduction of a final drive; no unit.
const LEAST_RATIO: f64 = 2.5;
/// A propeller shaft with a tube, from its first joint to its last, mm: any, and what most cars have.
const LENGTH_MM: [f64; 2] = [120.0, 4000.0];
const USUAL_LENGTH_MM: [f64; 2] = [250.0, 2600.0];
/// Shaft and axis of the gearbox are in line to this, deg.
const IN_LINE_DEG: f64 = 15.0;
/// A joint that is so near to the pinion is at the pinion, mm.
const AT_PINION_MM: f64 = 5.0;
/// From the middle between its flanges to the furthest hole of a housing, mm: any, and what most have.
const HOUSING_MM: f64 = 550.0;
/// Two bolts have no room nearer to each other, mm.
const ONE_HOLE_MM: f64 = 8.0;
/// A joint of a shaft that turns fast bends by less at the gearbox, deg.
const BENT_DEG: f64 = 18.0;
/// A joint that is nearer to the axle may be beside the final drive, mm.
const PAST_AXLE_MM: f64 = 50.0;
const USUAL_HOUSING_MM: f64 = 400.0;

pub(super) fn doubts(geometry: &Geometry) -> Vec<Doubt> {
    let shaft = geometry.propshaft.as_ref();
    let torque = shaft.and_then(|shaft| torque(geometry, shaft.torque_nm?));
    let course = shaft.and_then(|shaft| course(geometry, shaft));
    let hole = geometry.final_drive.as_ref().and_then(|housing| hole(geometry.units, housing));
    let twice = geometry.final_drive.as_ref().and_then(one_hole);
    let bent = shaft.filter(|_| course.is_none()).and_then(|shaft| bent(geometry, shaft));
    let is_sound = course.is_none() && bent.is_none();
    let through = shaft.filter(|_| is_sound).and_then(|shaft| through_axle(geometry, shaft));
    torque.into_iter().chain(course).chain(bent).chain(through).chain(hole).chain(twice).collect()
}

/// A torque with which the rear tyres would push like no tyre.
fn torque(geometry: &Geometry, torque_nm: f64) -> Option<Doubt> {
    let carried_n = 2.0 * on_wheel_kg(&geometry.car)? * Car::GRAVITY_N_PER_KG;
    let radius_m = 0.001 * geometry.left.wheel.tyre_radius_mm;
    let ratio = geometry.final_drive.as_ref().and_then(|housing| housing.mount.as_ref()).map(|mount| mount.ratio);
    let grip = |torque_nm: f64| torque_nm * ratio.unwrap_or(LEAST_RATIO) / radius_m / carried_n;
    (is_tyre(geometry.left.wheel.tyre_radius_mm) && grip(torque_nm) > MOST_GRIP).then(|| {
        let meant = as_typed(torque_nm / 10.0);
        let probably = (grip(meant) <= MOST_GRIP).then(|| format!("{meant:?}"));
        let why = match &probably {
            Some(meant) => format!("; probably {meant}: {}", Slip::PointShifted.words()),
            None => String::new(),
        };
        let of_ratio = ratio.map_or(format!("{LEAST_RATIO:?} or more"), |ratio| format!("{ratio:?}"));
        let sentence = format!(
            "`torque`: with {torque_nm:?} N m and a final drive of {of_ratio} the rear tyres would push with {:.0} times the load that \
             they carry{why}.",
            grip(torque_nm)
        );
        Doubt::new(None, "propshaft torque", probably, sentence)
    })
}

/// A shaft that is none from its first joint to its last, with the one number of a joint that makes it one.
fn course(geometry: &Geometry, shaft: &Propshaft) -> Option<Doubt> {
    let units = geometry.units;
    let places: Vec<Point3<f64>> = shaft.joints.iter().map(|joint| joint.at).collect();
    let length_mm = length_mm(&places);
    if shaft.tubes.is_empty() || is_in(length_mm, LENGTH_MM) {
        return None;
    }
    let [length, least, most] = [length_mm, LENGTH_MM[0], LENGTH_MM[1]].map(|mm| units.show(mm));
    let why =
        format!("the shaft is {length} from its first joint to its last, and {least} to {most} is what cars have");
    let pinion = geometry.final_drive.as_ref().and_then(|drive| Some(drive.place.flange(drive.pinion.as_ref()?).at));
    let is_at_pinion = |at: &Point3<f64>| pinion.is_some_and(|pinion| (pinion - at).norm() <= AT_PINION_MM);
    // A pinion points at the shaft that drives it.
    let axis = geometry.final_drive.as_ref().and_then(|drive| Some(drive.place.flange(drive.pinion.as_ref()?).axis));
    let is_ahead = |places: &[Point3<f64>]| {
        let last = spans(places).last().copied();
        axis.zip(last).is_none_or(|(axis, span)| span.dot(&axis) < 0.0)
    };
    let guess = Guess::of(&places, units, |joint, moved| {
        !is_at_pinion(&places[joint]) && is_usual(moved, &shaft.input_axis) && is_ahead(moved)
    });
    let about = format!("propshaft joint {}", guess.as_ref().map_or(1, |guess| guess.nth + 1));
    let sentence = match &guess {
        Some(guess) => format!("{about}: {}; as written {why}.", guess.words()),
        None => format!("{about}: measure every joint again: {why}."),
    };
    Some(Doubt::new(None, about, guess.map(|guess| format!("{:?}", guess.meant)), sentence))
}

/// A shaft that leaves the gearbox at an angle that no joint runs at, or backwards.
fn bent(geometry: &Geometry, shaft: &Propshaft) -> Option<Doubt> {
    let places: Vec<Point3<f64>> = shaft.joints.iter().map(|joint| joint.at).collect();
    let off_deg = |places: &[Point3<f64>]| Some(spans(places).first()?.angle(&shaft.input_axis).to_degrees());
    let bent_deg = off_deg(&places).filter(|deg| *deg > BENT_DEG)?;
    let guess = Guess::of(&places, geometry.units, |joint, moved| {
        joint + 1 < places.len() && is_usual(moved, &shaft.input_axis)
    });
    // Nobody reads one number of a joint in a third unit.
    let guess = guess.filter(|guess| !matches!(guess.slip, Slip::InCentimetres | Slip::InMetres));
    let is = match bent_deg > 90.0 {
        true => {
            "it runs towards the front of `input_axis`, which points from the gearbox to the final drive".to_owned()
        }
        false => format!(
            "it stands {bent_deg:.0} deg to `input_axis`, and {BENT_DEG:.0} deg is more than such joints run at"
        ),
    };
    let nth = guess.as_ref().map_or(0, |guess| guess.nth);
    let about = format!("propshaft joint {}", nth + 1);
    let sentence = match &guess {
        Some(guess) => format!("{about}: {}; as written the shaft behind the gearbox is wrong: {is}.", guess.words()),
        None => {
            format!("{about}: the shaft behind the gearbox is wrong: {is}; measure the joints and `input_axis` again.")
        }
    };
    Some(Doubt::new(None, about, guess.map(|guess| format!("{:?}", guess.meant)), sentence))
}

/// A shaft from one side of the axle to the other, where the final drive is in its way.
fn through_axle(geometry: &Geometry, shaft: &Propshaft) -> Option<Doubt> {
    let places: Vec<Point3<f64>> = shaft.joints.iter().map(|joint| joint.at).collect();
    let axle_mm = geometry.left.halfshaft.as_ref().map_or(geometry.left.wheel.centre.x, |shaft| shaft.inner.x);
    let ends_mm = |places: &[Point3<f64>]| Some([places.first()?.x - axle_mm, places.last()?.x - axle_mm]);
    let [first_mm, last_mm] = ends_mm(&places)?;
    if first_mm * last_mm > 0.0 || first_mm.abs().min(last_mm.abs()) < PAST_AXLE_MM {
        return None;
    }
    // A final drive has its pinion ahead of the axle.
    let is_ahead = |moved: &[Point3<f64>]| ends_mm(moved).is_some_and(|ends| ends.iter().all(|mm| *mm > PAST_AXLE_MM));
    let guess = Guess::of(&places, geometry.units, |_, moved| is_ahead(moved) && is_usual(moved, &shaft.input_axis));
    let side = |mm: f64| if mm < 0.0 { "behind" } else { "ahead of" };
    let why =
        format!("the shaft runs from {} the axle to {} it, through the final drive", side(first_mm), side(last_mm));
    let about = format!("propshaft joint {}", guess.as_ref().map_or(1, |guess| guess.nth + 1));
    let sentence = match &guess {
        Some(guess) => format!("{about}: {}; as written {why}.", guess.words()),
        None => format!("{about}: {why}; measure every joint again."),
    };
    Some(Doubt::new(None, about, guess.map(|guess| format!("{:?}", guess.meant)), sentence))
}

/// Two mounting holes in one place.
fn one_hole(housing: &FinalDrive) -> Option<Doubt> {
    let holes = &housing.holes;
    let pairs = (0..holes.len()).flat_map(|a| (a + 1..holes.len()).map(move |b| (a, b)));
    let (a, b) = { pairs }.find(|&(a, b)| (holes[a] - holes[b]).norm() < ONE_HOLE_MM)?;
    let sentence = format!(
        "final_drive holes: holes {} and {} are in one place; measure them again, or write the hole once.",
        a + 1,
        b + 1
    );
    Some(Doubt::new(None, "final_drive holes", None, sentence))
}

/// One number of a place that one slip explains.
struct Guess {
    /// Which of the places.
    nth: usize,
    axis: Axis,
    written: f64,
    slip: Slip,
    meant: f64,
}

impl Guess {
    /// The first with which all places, that one moved, are where they belong.
    fn of(places: &[Point3<f64>], units: LengthUnit, fits: impl Fn(usize, &[Point3<f64>]) -> bool) -> Option<Self> {
        let coordinates = (0..places.len()).flat_map(|nth| Axis::ALL.map(|axis| (nth, axis)));
        let mut guesses = coordinates.flat_map(|(nth, axis)| {
            let written = as_typed(places[nth][axis.index()] / units.in_mm());
            let all = meant_of_car(written, units).into_iter();
            all.map(move |(slip, meant)| Self { nth, axis, written, slip, meant })
        });
        guesses.find(|guess| {
            let mut moved = places.to_vec();
            moved[guess.nth][guess.axis.index()] = units.to_mm(guess.meant);
            fits(guess.nth, &moved)
        })
    }

    fn words(&self) -> String {
        self.slip.told_of(self.axis, [self.written, self.meant])
    }
}

fn spans(places: &[Point3<f64>]) -> Vec<Vector3<f64>> {
    places.windows(2).map(|pair| pair[1] - pair[0]).collect()
}

fn length_mm(places: &[Point3<f64>]) -> f64 {
    spans(places).iter().map(Vector3::norm).sum()
}

/// True for a shaft that runs straight on from the gearbox, as long as most.
fn is_usual(places: &[Point3<f64>], input_axis: &Vector3<f64>) -> bool {
    let is_in_line = |span: &Vector3<f64>| {
        let off_deg = span.angle(input_axis).to_degrees();
        off_deg.min(180.0 - off_deg) <= IN_LINE_DEG
    };
    let goes_on = spans(places).windows(2).all(|pair| pair[0].dot(&pair[1]) > 0.0);
    goes_on && is_in(length_mm(places), USUAL_LENGTH_MM) && spans(places).iter().all(is_in_line)
}

/// A mounting hole where no housing is, with the one number that brings it there.
fn hole(units: LengthUnit, housing: &FinalDrive) -> Option<Doubt> {
    let middle = nalgebra::center(&housing.outputs.left.at, &housing.outputs.right.at);
    let (nth, hole) = housing.holes.iter().enumerate().find(|(_, at)| (*at - middle).norm() > HOUSING_MM)?;
    let guess = Guess::of(&[*hole], units, |_, moved| (moved[0] - middle).norm() <= USUAL_HOUSING_MM);
    let why = match &guess {
        Some(guess) => format!("{}; as written", guess.words()),
        None => format!("measure {:?} again:", hole.coords.map(|mm| as_typed(mm / units.in_mm())).as_slice()),
    };
    let sentence = format!(
        "final_drive holes: hole {}: {why} it is {} from the middle between the flanges, and no housing is so large.",
        nth + 1,
        units.show((hole - middle).norm())
    );
    Some(Doubt::new(None, "final_drive holes", guess.map(|guess| format!("{:?}", guess.meant)), sentence))
}
