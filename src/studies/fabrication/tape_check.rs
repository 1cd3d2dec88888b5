//! What a tape must read at every pickup before it is welded: distances to datums, to the opposite number and across the car.

use nalgebra::{Matrix3, Point3, Vector3};
use serde::Serialize;

use super::points::{pickup_name, pickup_place};
use crate::geometry::{Coordinate, End, Geometry, PerSide, Pickup, Side};
use crate::studies::errors::ErrorModel;

/// 19 of 20 lie within this many standard deviations of a normal distribution.
const SDS_IN_19_OF_20: f64 = 1.96;
/// Of more datums only the nearest are tried: a tape is best short.
const MAX_TRIED: usize = 24;
/// Three distances fix a point.
const FIXING: usize = 3;
/// Between nearer places no tape is held, mm.
const MIN_TAPED_MM: f64 = 20.0;
/// Directions whose determinant is smaller lie in one plane, and the point may leave it unseen (no unit).
const FLAT: f64 = 1e-3;

/// A bracket that is further off is beyond what the threads of a link take up, mm: four turns of one rod end, as is assumed of a
/// link without a range, and a little. Common practice.
const TAKEN_UP_MM: f64 = 8.0;

/// Every distance to be taped, and how well they fix the pickups.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TapeCheck {
    /// What is measured from.
    pub measured_from: TapeStart,
    /// One distance each, by pickup.
    pub distances: Vec<TapeRow>,
    /// One pickup each.
    pub fixes: Vec<PointFix>,
}

impl TapeCheck {
    /// The pickup that the distances leave most room, and how far it may be off, mm.
    pub fn loosest(&self) -> Option<(&str, f64)> {
        let fixed = self.fixes.iter().filter_map(|fix| Some((fix.point.as_str(), fix.within_mm?)));
        fixed.max_by(|(_, a), (_, b)| a.total_cmp(b))
    }

    /// Pickups that may be further off than a link takes up, although three distances fix them.
    pub fn too_loose(&self) -> impl Iterator<Item = &PointFix> {
        self.fixes.iter().filter(|fix| fix.within_mm.is_some_and(|mm| mm > TAKEN_UP_MM))
    }
}

/// What a tape starts from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum TapeStart {
    /// Three datums at every pickup.
    Datums,
    /// The file has too few datums for three at each pickup: other pickups on the frame stand in.
    DatumsAndPickups,
    /// The file has none: other pickups on the frame, so that all of them together may sit elsewhere.
    Pickups,
}

/// One distance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TapeRow {
    /// The pickup, as sheets call it.
    pub point: String,
    /// What it is measured to: a datum or another pickup.
    pub to: String,
    /// Which kind of distance.
    pub what: Taped,
    /// As drawn, mm.
    pub distance_mm: f64,
    /// 19 of 20 cars whose errors are those of the weld study read within this, either way, mm.
    pub tolerance_mm: f64,
}

/// What a distance is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Taped {
    /// It fixes the pickup together with two others.
    Fixes,
    /// To the same pickup on the other side.
    Opposite,
    /// To another pickup on the other side: a car that leans in plan has unequal ones.
    Diagonal,
}

/// How well three distances fix a pickup.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PointFix {
    /// The pickup, as sheets call it.
    pub point: String,
    /// The side of its wheel.
    #[serde(skip)]
    pub side: Side,
    /// Which pickup of its wheel that is.
    #[serde(skip)]
    pub pickup: Pickup,
    /// What it is measured to.
    pub from: Vec<String>,
    /// How far off it may be with each of the three distances within its tolerance, mm, to first order; `None` when they do
    /// not fix it.
    pub within_mm: Option<f64>,
    /// The way in which it may be so far off, of length 1, axes of the car; either sense is the same. `None` when they do not
    /// fix it.
    pub loosest_way: Option<[f64; 3]>,
}

/// How far off a point may be when each of its three distances is within its tolerance: the farthest corner of the box of
/// their errors, mm, axes of the car, to first order.
type FarthestOff = Vector3<f64>;

/// A place that a tape may be held to.
#[derive(Clone)]
struct Station {
    name: String,
    at: Point3<f64>,
    /// `None` for a datum, which is exact.
    pickup: Option<(Side, Pickup)>,
}

struct Check<'g> {
    geometry: &'g Geometry,
    errors: PerSide<ErrorModel>,
    anchors: Vec<Station>,
    /// Each triple has the datums of the file in it, where they are fewer than three.
    datums_needed: usize,
}

/// The tape check of a car as drawn, for the pickups of these wheels.
///
/// The three distances of a pickup are those of all triples whose tolerances together leave it the least room.
///
/// Tested by `tests/fabrication/tape.rs`.
pub fn tape_check(geometry: &Geometry, sides: &[Side]) -> TapeCheck {
    let datums = geometry.datums.len();
    let measured_from = match datums {
        0 => TapeStart::Pickups,
        few if few < FIXING => TapeStart::DatumsAndPickups,
        _ => TapeStart::Datums,
    };
    let check = Check {
        geometry,
        errors: ErrorModel::of_file(geometry),
        anchors: anchors(geometry, measured_from),
        datums_needed: if datums < FIXING { datums } else { 0 },
    };
    let (mut distances, mut fixes) = (Vec::<TapeRow>::new(), Vec::new());
    for (side, pickup) in sides.iter().flat_map(|&side| pickups().map(move |pickup| (side, pickup))) {
        let point = station(geometry, (side, pickup));
        let chosen = check.fixing(&point);
        fixes.push(PointFix {
            point: point.name.clone(),
            side,
            pickup,
            from: chosen.iter().flat_map(|(_, three)| three.map(|anchor| anchor.name.clone())).collect(),
            within_mm: chosen.as_ref().map(|(off, _)| off.norm()),
            loosest_way: chosen.as_ref().map(|(off, _)| off.normalize().into()),
        });
        let fixing = chosen.iter().flat_map(|(_, three)| three.map(|anchor| check.row(&point, anchor, Taped::Fixes)));
        for row in fixing.chain(check.across(&point)) {
            let is_same = |other: &TapeRow| {
                (&other.point, &other.to) == (&row.to, &row.point) || (&other.point, &other.to) == (&row.point, &row.to)
            };
            if !distances.iter().any(is_same) {
                distances.push(row);
            }
        }
    }
    TapeCheck { measured_from, distances, fixes }
}

/// Those on the frame first: they are welded.
fn pickups() -> impl Iterator<Item = Pickup> {
    End::BOTH.into_iter().flat_map(|end| (0..5).map(move |link| Pickup { link, end }))
}

fn station(geometry: &Geometry, (side, pickup): (Side, Pickup)) -> Station {
    let corner = geometry.corner(side);
    Station { name: pickup_name(corner, pickup), at: pickup_place(corner, pickup), pickup: Some((side, pickup)) }
}

fn anchors(geometry: &Geometry, from: TapeStart) -> Vec<Station> {
    let datum = |name: &String, at| Station { name: name.clone(), at, pickup: None };
    let mut anchors: Vec<Station> = geometry.datums.iter().map(|of| datum(&of.name, of.at)).collect();
    if from != TapeStart::Datums {
        let on_frame = pickups().take(5);
        let both = on_frame.flat_map(|pickup| Side::BOTH.map(|side| station(geometry, (side, pickup))));
        anchors.extend(both);
    }
    anchors
}

/// Nobody tapes what is closer, and no distance tells which way it lies where two points meet.
fn can_be_taped(a: &Station, b: &Station) -> bool {
    (a.at - b.at).norm() >= MIN_TAPED_MM
}

impl Check<'_> {
    /// The three places from which a pickup is fixed best, and how well.
    fn fixing(&self, point: &Station) -> Option<(FarthestOff, [&Station; FIXING])> {
        let is_opposite = |anchor: &Station| anchor.pickup.zip(point.pickup).is_some_and(|(a, p)| a.1 == p.1);
        let mut tried: Vec<&Station> =
            self.anchors.iter().filter(|anchor| !is_opposite(anchor) && can_be_taped(anchor, point)).collect();
        tried.sort_by(|a, b| (a.at - point.at).norm().total_cmp(&(b.at - point.at).norm()));
        // Datums that every triple must have come first, so that they are never left out.
        tried.sort_by_key(|anchor| self.datums_needed > 0 && anchor.pickup.is_some());
        tried.truncate(MAX_TRIED);
        let mut best: Option<(FarthestOff, [&Station; FIXING])> = None;
        for c in 2..tried.len() {
            for b in 1..c {
                for a in 0..b {
                    let three = [tried[a], tried[b], tried[c]];
                    let datums = three.iter().filter(|anchor| anchor.pickup.is_none()).count();
                    let off = if datums < self.datums_needed { None } else { self.farthest_off(point, three) };
                    if let Some(off) = off
                        && best.as_ref().is_none_or(|(least, _)| off.norm() < least.norm())
                    {
                        best = Some((off, three));
                    }
                }
            }
        }
        best
    }

    /// Of a pickup with the distances to these three places.
    fn farthest_off(&self, point: &Station, three: [&Station; FIXING]) -> Option<FarthestOff> {
        let toward = three.map(|anchor| (point.at - anchor.at).normalize().transpose());
        let rows = Matrix3::from_rows(&toward);
        if rows.determinant().abs() < FLAT {
            return None;
        }
        let inverse = rows.try_inverse()?;
        let [a, b, c] = three.map(|anchor| self.tolerance_mm(point, anchor));
        let corners = [[a, b, c], [-a, b, c], [a, -b, c], [a, b, -c]];
        let off = corners.map(|corner| inverse * Vector3::from(corner));
        off.into_iter().max_by(|a, b| a.norm().total_cmp(&b.norm()))
    }

    /// To the opposite number and across the car.
    fn across(&self, point: &Station) -> impl Iterator<Item = TapeRow> {
        let of = point.pickup.map(|(side, pickup)| {
            let there = |link: usize| station(self.geometry, (side.other(), Pickup { link, ..pickup }));
            let opposite = Some(there(pickup.link)).filter(|to| can_be_taped(to, point));
            let others = (0..5).filter(|&link| link != pickup.link).map(there);
            let diagonal = others.filter(|to| can_be_taped(to, point)).max_by(|a, b| {
                let along_mm = |to: &Station| (to.at.x - point.at.x).abs();
                along_mm(a).total_cmp(&along_mm(b))
            });
            let diagonal = diagonal.map(|to| self.row(point, &to, Taped::Diagonal));
            let opposite = opposite.map(|to| self.row(point, &to, Taped::Opposite));
            [opposite, diagonal]
        });
        of.into_iter().flatten().flatten()
    }

    fn row(&self, point: &Station, to: &Station, what: Taped) -> TapeRow {
        TapeRow {
            point: point.name.clone(),
            to: to.name.clone(),
            what,
            distance_mm: (point.at - to.at).norm(),
            tolerance_mm: self.tolerance_mm(point, to),
        }
    }

    /// Of the distance between two places, mm.
    fn tolerance_mm(&self, from: &Station, to: &Station) -> f64 {
        let toward = (from.at - to.at).normalize();
        let variance = |side: Side| {
            let mut by = [0.0; Coordinate::COUNT];
            for (station, sign) in [(from, 1.0), (to, -1.0)] {
                let Some((_, pickup)) = station.pickup.filter(|(of, _)| *of == side) else { continue };
                let along = side.to_car((sign * toward).into());
                let own = Coordinate::all().enumerate().filter(|(_, coordinate)| coordinate.pickup() == pickup);
                own.for_each(|(k, coordinate)| by[k] += along[coordinate.axis.index()]);
            }
            self.errors[side].variance(&by)
        };
        SDS_IN_19_OF_20 * Side::BOTH.map(variance).into_iter().sum::<f64>().sqrt()
    }
}
