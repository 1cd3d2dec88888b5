//! From a tacked frame to a welded car: taped, located, tuned, welded, the last bracket by the gauge.

use hubtrace::geometry::LengthUnit;
use hubtrace::geometry::{Axis, Coordinate, End, Geometry, Pickup, Side, Weld};
use hubtrace::mechanism::PickupErrors;
use hubtrace::studies::locate::LocateFindings;
use hubtrace::studies::tune::{Choice, SearchOptions, tune, tuned_geometry};
use hubtrace::studies::{Rig, Sensitivity};
use hubtrace::survey::{Datum, Reading, ReadingKind, Station, Survey, SurveyPoint};
use nalgebra::{Matrix2, Point3, Vector2, Vector3};
use rand::rngs::StdRng;

use crate::rounds::toe_link;
use crate::shop::{FinishedCar, GAUGED_MM, Gauge, normal, read_toe_deg, welded};

const TAPE_SD_MM: f64 = 1.5;
const WELD_SD_MM: f64 = 0.5;
const UPRIGHT_SD_MM: f64 = 0.1;
/// Where the gauge puts the last bracket, the weld pulls it off by this, mm.
const PLACING_SD_MM: f64 = 0.2;

/// Four places on the floor and two high on the frame, mm.
const DATUMS: [[f64; 3]; 6] = [
    [-500.0, 0.0, 0.0],
    [500.0, 0.0, 0.0],
    [-500.0, 900.0, 0.0],
    [500.0, 900.0, 0.0],
    [-300.0, 300.0, 700.0],
    [400.0, 300.0, 700.0],
];

/// The car as drawn after taping, tuning and placing its last bracket, and how far the welded one is off that.
pub fn built(truth: &Geometry, gauge: &Gauge, rng: &mut StdRng) -> Option<(Geometry, PickupErrors)> {
    let taped = taped(truth, rng)?;
    let options = SearchOptions { starts: 1, ..SearchOptions::default() };
    let tuned = tune(&taped, &[Side::Left], &options, &|changed| Some(changed.clone())).ok()?;
    let mut drawn = tuned_geometry(&taped, &[(Side::Left, tuned[0].chosen(Choice::MostForgiving))]);
    // What is drawn was measured with an error, and welded with another.
    let mut errors = welded(rng, WELD_SD_MM, UPRIGHT_SD_MM);
    for link in 0..5 {
        errors.chassis[link] += truth.left.links[link].chassis - taped.left.links[link].chassis;
        errors.upright[link] += truth.left.links[link].upright - taped.left.links[link].upright;
    }
    place_last_bracket(&mut drawn, &mut errors, gauge, rng)?;
    Some((drawn, errors))
}

/// The geometry as a tape finds it: every pickup from six datums, and plumbed.
fn taped(truth: &Geometry, rng: &mut StdRng) -> Option<Geometry> {
    let pickups: Vec<Pickup> = Pickup::all().collect();
    let mut survey = Survey {
        name: "tacked frame".into(),
        units: LengthUnit::Millimetre,
        tape_sd_mm: TAPE_SD_MM,
        hook_mm: 0.0,
        datums: Vec::new(),
        points: Vec::new(),
        readings: Vec::new(),
        parts: Vec::new(),
    };
    for (index, at) in DATUMS.iter().enumerate() {
        survey.datums.push(Datum { name: format!("datum {index}"), at: Point3::from(*at), sd_mm: 0.0, line: index });
    }
    for (index, pickup) in pickups.iter().enumerate() {
        let link = &truth.left.links[pickup.link];
        let at = if pickup.end == End::Chassis { link.chassis } else { link.upright };
        survey.points.push(SurveyPoint { name: format!("point {index}"), near: None, line: index });
        let point = Station::Point(index);
        let taped = DATUMS.iter().enumerate().map(|(datum, from)| {
            (ReadingKind::Distance([Station::Datum(datum), point]), (at - Point3::from(*from)).norm())
        });
        let plumbed = Axis::ALL.map(|axis| (ReadingKind::Plumbed { axis, of: point }, at[axis.index()]));
        for (kind, true_mm) in taped.chain(plumbed) {
            let number = survey.readings.len() + 1;
            let read_mm = Some(true_mm + TAPE_SD_MM * normal(rng));
            survey.readings.push(Reading { number, kind, read_mm, sd_mm: TAPE_SD_MM, line: number });
        }
    }
    let located = LocateFindings::of(&survey).located;
    let mut taped = truth.clone();
    for (pickup, found) in pickups.iter().zip(&located.points) {
        let (at, sd_mm) = (Point3::from(found.at_mm?), found.sd_mm?);
        let link = &mut taped.left.links[pickup.link];
        match pickup.end {
            End::Chassis => link.chassis = at,
            End::Upright => link.upright = at,
        }
        *link.measured_sd.at_mut(pickup.end) = Some(sd_mm);
    }
    taped.weld = Some(Weld { upright_sd_mm: Some(UPRIGHT_SD_MM), ..Weld::new(WELD_SD_MM) });
    Some(taped)
}

/// The toe link's bracket is moved in y and z to where the gauged curve comes flattest by what the drawing says that a
/// millimetre does, and welded there.
fn place_last_bracket(drawn: &mut Geometry, errors: &mut PickupErrors, gauge: &Gauge, rng: &mut StdRng) -> Option<()> {
    let link = toe_link(&drawn.left);
    let rig = Rig::new(drawn).ok()?;
    let sensitivity = Sensitivity::of(&rig, Side::Left)?;
    let by_move: Vec<Vector2<f64>> = GAUGED_MM
        .iter()
        .map(|at_mm| {
            let row = sensitivity.bump_mm.iter().position(|bump_mm| bump_mm == at_mm)?;
            let by = |axis| {
                let coordinate = Coordinate { link, end: End::Chassis, axis };
                let index = Coordinate::all().position(|known| known == coordinate)?;
                Some(sensitivity.toe_by_coordinate[row][index])
            };
            Some(Vector2::new(by(Axis::Y)?, by(Axis::Z)?))
        })
        .collect::<Option<_>>()?;
    let car = FinishedCar::new(&drawn.left, *errors, link);
    let toe_deg = read_toe_deg(&car.gauged(rng, gauge)?);
    let design_deg = toe_deg[GAUGED_MM.iter().position(|at_mm| *at_mm == 0.0)?];
    let mut normal_matrix = Matrix2::zeros();
    let mut against = Vector2::zeros();
    for (by, toe_deg) in by_move.iter().zip(&toe_deg) {
        normal_matrix += by * by.transpose();
        against += by * (toe_deg - design_deg);
    }
    // No further than slots and shims go.
    let by_mm = (-normal_matrix.try_inverse()? * against).map(|by_mm| by_mm.clamp(-10.0, 10.0));
    drawn.left.links[link].chassis += Vector3::new(0.0, by_mm.x, by_mm.y);
    for axis in 1..3 {
        errors.chassis[link][axis] += PLACING_SD_MM * normal(rng);
    }
    Some(())
}
