//! Round tube that is notched to sit on another round tube: the edge of the cut, unrolled, to wrap round the tube and mark it.

use std::f64::consts::TAU;

use nalgebra::{Point3, Vector3};

use crate::geometry::Tube;

/// Points of the edge round the tube.
const AROUND: usize = 180;
/// Tubes flatter to each other than this have no notch that a saw can cut, deg.
const MIN_ANGLE_DEG: f64 = 15.0;
/// From the farthest point of the edge to the base line of the wrap, mm.
const BASE_MM: f64 = 40.0;
/// An axis steeper than this to level has no side that faces up, cosine.
const STEEP: f64 = 0.98;
/// A diameter of the notched tube may be larger by this and still count as equal, mm.
const EQUAL_MM: f64 = 1e-9;

/// One notched end of a frame tube.
#[derive(Debug, Clone, PartialEq)]
pub struct Notch {
    /// The tube that is cut.
    pub tube: String,
    /// Which of its ends, `from` or `to`.
    pub end: &'static str,
    /// The tube that it sits on.
    pub on: String,
    /// Outside diameters of the two, mm.
    pub od_mm: f64,
    /// See `od_mm`.
    pub on_od_mm: f64,
    /// Between the two centre lines, 0 to 90 deg.
    pub angle_deg: f64,
    /// Shortest distance of the two centre lines, mm.
    pub offset_mm: f64,
    /// The edge: round the outside from the line at 0, right-handed looking toward this end, and from the base line toward this end,
    /// mm; the first and the last point are one place.
    pub edge: Vec<[f64; 2]>,
    /// From the base line to where the centre line of the tube comes nearest to that of the other, along the tube, mm.
    pub base_mm: f64,
    /// From the other end of the centre line, as drawn, to the base line, mm.
    pub base_from_far_mm: f64,
    /// The side of the tube that the line at 0 runs along.
    pub zero: ZeroLine,
}

/// The side of a tube that a line runs along.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ZeroLine {
    /// The side that faces up.
    Up,
    /// The side that faces forward, of a tube that stands.
    Forward,
}

/// Why an end has no notch.
#[derive(Debug, Clone, PartialEq)]
pub enum NoNotch {
    /// It is thicker than what it sits on, or stands beside it.
    Overhangs,
    /// The two are too near to parallel.
    TooFlat {
        /// Between their centre lines, deg.
        angle_deg: f64,
    },
}

/// An end of a frame tube that lies on another one, with its notch or why there is none.
#[derive(Debug, Clone, PartialEq)]
pub struct TubeEnd {
    /// The tube.
    pub tube: String,
    /// Which of its ends.
    pub end: &'static str,
    /// What it sits on.
    pub on: String,
    /// Its notch.
    pub notch: Result<Notch, NoNotch>,
}

/// Every end of a frame tube of the left side that lies inside another one, both with a diameter.
pub fn tube_ends(tubes: &[Tube]) -> Vec<TubeEnd> {
    let mut ends = Vec::new();
    for tube in tubes {
        for (end, tip, far) in [("from", tube.from, tube.to), ("to", tube.to, tube.from)] {
            let others = tubes.iter().filter(|other| other.name != tube.name && lies_in(&tip, other));
            ends.extend(others.filter(|other| !ends_there(tube, other)).filter_map(|other| {
                let notch = notch(&tip, &far, tube.od_mm?, other, other.od_mm?);
                let named = |notch| Notch { tube: tube.name.clone(), end, on: other.name.clone(), ..notch };
                Some(TubeEnd { tube: tube.name.clone(), end, on: other.name.clone(), notch: notch.map(named) })
            }));
        }
    }
    ends
}

/// The point is inside a tube, not beyond its ends.
fn lies_in(point: &Point3<f64>, tube: &Tube) -> bool {
    let inside_mm = tube.od_mm.unwrap_or(0.0) * 0.5 + EQUAL_MM;
    let along_mm = tube.along_mm(point);
    tube.off_mm(point) <= inside_mm && (-inside_mm..=tube.length_mm() + inside_mm).contains(&along_mm)
}

/// Two tubes whose ends meet: the thinner sits on the thicker, of equal ones the later in the file on the earlier.
fn ends_there(tube: &Tube, other: &Tube) -> bool {
    let tips = [other.from, other.to];
    let meets =
        tips.iter().any(|tip| lies_in(tip, tube) && [tube.from, tube.to].iter().any(|end| (end - tip).norm() < 1.0));
    meets && tube.od_mm > other.od_mm
}

/// The notch of a tube whose end is `tip`, on another one.
///
/// A line along the outside of the tube, turned by φ from the common normal of the two centre lines, meets the outside of
/// the other where `R² = (r cos φ − e)² + (s sin θ + r sin φ cos θ)²`, with θ the angle and e the distance of the centre lines; of the
/// two places the one on the side of the tube counts. Source: intersection of a line and a cylinder. Tested by
/// `tests/fabrication/notch.rs`.
fn notch(tip: &Point3<f64>, far: &Point3<f64>, od_mm: f64, other: &Tube, on_od_mm: f64) -> Result<Notch, NoNotch> {
    let along = (tip - far).normalize();
    let on = (other.to - other.from).normalize();
    let cross = along.cross(&on);
    let angle_deg = cross.norm().atan2(along.dot(&on).abs()).to_degrees();
    if angle_deg < MIN_ANGLE_DEG {
        return Err(NoNotch::TooFlat { angle_deg });
    }
    // Where the centre lines come nearest.
    let normal = cross.normalize();
    let between = other.from - tip;
    let nearest = tip + along * (between.cross(&on).dot(&normal) / cross.norm());
    let offset_mm = between.dot(&normal);
    let (zero, first) = zero_line(&along);
    let beside = along.cross(&first);
    let (radius, on_radius) = (0.5 * od_mm, 0.5 * on_od_mm);
    let mut edge = Vec::with_capacity(AROUND + 1);
    for k in 0..=AROUND {
        let angle = TAU * k as f64 / AROUND as f64;
        let out = first * angle.cos() + beside * angle.sin();
        let start = nearest + out * radius;
        let toward = reach_mm(&start, &along, other, &on, on_radius).ok_or(NoNotch::Overhangs)?;
        edge.push([radius * angle, toward]);
    }
    let least = edge.iter().map(|point| point[1]).fold(f64::INFINITY, f64::min);
    edge.iter_mut().for_each(|point| point[1] += BASE_MM - least);
    Ok(Notch {
        tube: String::new(),
        end: "",
        on: String::new(),
        od_mm,
        on_od_mm,
        angle_deg,
        offset_mm: offset_mm.abs(),
        edge,
        base_mm: BASE_MM - least,
        base_from_far_mm: (nearest - far).dot(&along) - (BASE_MM - least),
        zero,
    })
}

/// The side of a tube that a builder finds, and its direction square to the tube.
fn zero_line(along: &Vector3<f64>) -> (ZeroLine, Vector3<f64>) {
    let (zero, way) =
        if along.z.abs() < STEEP { (ZeroLine::Up, Vector3::z()) } else { (ZeroLine::Forward, Vector3::x()) };
    (zero, (way - along * along.dot(&way)).normalize())
}

/// How far along a line its first place on the outside of a tube lies, mm; `None` when it passes the tube by.
fn reach_mm(
    start: &Point3<f64>,
    along: &Vector3<f64>,
    tube: &Tube,
    axis: &Vector3<f64>,
    radius_mm: f64,
) -> Option<f64> {
    let square = |v: Vector3<f64>| v - axis * axis.dot(&v);
    let (from, way) = (square(start - tube.from), square(*along));
    let (a, b, c) = (way.norm_squared(), from.dot(&way), from.norm_squared() - radius_mm * radius_mm);
    let root = b * b - a * c;
    // A tube as thick as the other touches its sides.
    let rounding = 1e-9 * a * radius_mm * radius_mm;
    (root >= -rounding).then(|| (-b - root.max(0.0).sqrt()) / a)
}
