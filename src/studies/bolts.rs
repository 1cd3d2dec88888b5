//! Which way the bolt of each rod end should point: the direction that leaves the least misalignment over the travel.

use nalgebra::{Matrix3, Unit, Vector3};
use serde::Serialize;

use super::rig::RigWheel;
use crate::geometry::{End, UprightFrame};
use crate::mechanism::Posture;

/// The best bolt of one rod end.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BestBolt {
    /// What the builder calls the link.
    pub link: String,
    /// Which end of it.
    pub end: &'static str,
    /// The way the bolt should point at design, car axes, a unit vector (no unit); in the sense of the file's bolt, where
    /// it has one, else either.
    pub direction: [f64; 3],
    /// The same as `chassis_bolt` or `upright_bolt` of the file has it: of a bolt in the upright in the axes of `upright_axes`.
    pub as_written: [f64; 3],
    /// Largest misalignment that it leaves over the travel, deg.
    pub leaves_deg: f64,
    /// The same with the bolt of the file, deg; `null` without one.
    pub as_drawn_deg: Option<f64>,
    /// What the rod end takes, deg; `null` when the file does not say.
    pub limit_deg: Option<f64>,
}

/// Places of the wheel at which the links are looked at, evenly over the travel.
const PLACES: usize = 41;
/// Directions whose worst sines differ by less than this (no unit) are equally good.
const EQUAL: f64 = 1e-12;

/// Of every rod end of a wheel, in the order of the file, the inner end first; over the travel as far as it moves.
pub fn best_bolts(wheel: &RigWheel) -> Vec<BestBolt> {
    let corner = wheel.corner;
    let frame = UprightFrame::of(wheel.geometry.upright_axes, corner.side, &corner.wheel);
    let postures = places(wheel);
    let mut bolts = Vec::new();
    for link in &corner.links {
        for end in End::BOTH {
            let drawn = match end {
                End::Chassis => &link.chassis_bolt,
                End::Upright => &link.upright_bolt,
            };
            // A bolt in the upright turns with it, so there the link is seen from the upright.
            let links: Vec<Vector3<f64>> = postures
                .iter()
                .map(|posture| {
                    let along = (posture.point(&link.upright) - link.chassis).normalize();
                    if end == End::Upright { posture.direction_at_design(&along) } else { along }
                })
                .collect();
            let Some(best) = squarest(&links) else { continue };
            // The file's own sense: a spacer counts its room the way that the bolt points.
            let best = if drawn.is_some_and(|drawn| drawn.dot(&best) < 0.0) { -best } else { best };
            let as_written = match end {
                End::Chassis => frame.car_direction(&best),
                End::Upright => frame.direction_as_written(&best),
            };
            let deg = |bolt: &Unit<Vector3<f64>>| worst_sine(&links, bolt).asin().to_degrees();
            bolts.push(BestBolt {
                link: link.name.clone(),
                end: end.name(),
                direction: frame.car_direction(&best).into_inner().into(),
                as_written: as_written.into_inner().into(),
                leaves_deg: deg(&best),
                as_drawn_deg: drawn.as_ref().map(deg),
                limit_deg: link.rod_end_limit_deg,
            });
        }
    }
    bolts
}

/// The wheel at design and evenly over its travel, as far as it moves.
pub(super) fn places(wheel: &RigWheel) -> Vec<Posture> {
    let travel = &wheel.geometry.travel;
    let bump = |k: usize| -travel.droop_mm + (travel.droop_mm + travel.bump_mm) * k as f64 / (PLACES - 1) as f64;
    std::iter::once(0.0).chain((0..PLACES).map(bump)).filter_map(|bump_mm| wheel.path.at(bump_mm)).collect()
}

/// The direction with the least largest |sine| to all of these unit vectors, which must not all be one.
///
/// At such a direction three of them stand equally far from square, so it is the best of those of three vectors and the
/// signs of their sines. Only those that turn out worst are taken into the trial, until none beyond it is worse.
fn squarest(links: &[Vector3<f64>]) -> Option<Unit<Vector3<f64>>> {
    let furthest = |from: &Vector3<f64>| {
        (0..links.len()).max_by(|&a, &b| links[a].cross(from).norm().total_cmp(&links[b].cross(from).norm()))
    };
    let first = furthest(links.first()?)?;
    let second = furthest(&links[first])?;
    let mut best = Unit::try_new(links[first].cross(&links[second]), EQUAL)?;
    let mut tried = vec![first, second];
    loop {
        let sine = |k: usize| links[k].dot(&best).abs();
        let worst = (0..links.len()).max_by(|&a, &b| sine(a).total_cmp(&sine(b)))?;
        if tried.contains(&worst) {
            return Some(best);
        }
        tried.push(worst);
        let trial: Vec<Vector3<f64>> = tried.iter().map(|&k| links[k]).collect();
        let candidates = of_three(&trial).into_iter().chain([best]);
        best = candidates.min_by(|a, b| worst_sine(&trial, a).total_cmp(&worst_sine(&trial, b)))?;
    }
}

/// The directions to which three of these vectors have sines of one size.
fn of_three(vectors: &[Vector3<f64>]) -> Vec<Unit<Vector3<f64>>> {
    let mut found = Vec::new();
    for c in 2..vectors.len() {
        for b in 1..c {
            for a in 0..b {
                let rows = [vectors[a], vectors[b], vectors[c]].map(|vector| vector.transpose());
                let Some(inverse) = Matrix3::from_rows(&rows).try_inverse() else { continue };
                for signs in [[1.0, 1.0, 1.0], [-1.0, 1.0, 1.0], [1.0, -1.0, 1.0], [1.0, 1.0, -1.0]] {
                    found.extend(Unit::try_new(inverse * Vector3::from(signs), EQUAL));
                }
            }
        }
    }
    found
}

fn worst_sine(links: &[Vector3<f64>], bolt: &Unit<Vector3<f64>>) -> f64 {
    links.iter().map(|along| along.dot(bolt).abs().min(1.0)).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::{best_bolts, squarest, worst_sine};
    use crate::file::GeometryFile;
    use crate::geometry::Side;
    use crate::measures::rod_ends;
    use crate::studies::Rig;
    use nalgebra::{Unit, Vector3};
    use std::path::Path;

    fn unit(x: f64, y: f64, z: f64) -> Vector3<f64> {
        Vector3::new(x, y, z).normalize()
    }

    /// A link that swings in a plane is square to that plane's normal all the way.
    #[test]
    fn a_link_that_swings_in_a_plane_wants_its_bolt_square_to_the_plane() {
        let normal = Unit::new_normalize(Vector3::new(0.3, -0.2, 0.9));
        let (along, across) =
            (normal.cross(&Vector3::x()).normalize(), normal.cross(&Vector3::x()).cross(&normal).normalize());
        let links: Vec<_> = (-9..10)
            .map(|k| {
                let t = 0.02 * f64::from(k);
                along * t.cos() + across * t.sin()
            })
            .collect();
        assert!(squarest(&links).expect("a direction").cross(&normal).norm() < 1e-12);
    }

    /// A grid of directions, refined around its best, finds none that is better and one that is as good.
    #[test]
    fn no_direction_of_a_fine_grid_is_better() {
        for bow in [0.0, 0.1, 0.4] {
            let links: Vec<_> = (-10..11)
                .map(|k| {
                    let t = f64::from(k) / 10.0;
                    unit(0.1 + 0.2 * bow * t * t * t, 1.0, 0.25 * t + bow * t * t)
                })
                .collect();
            let best = squarest(&links).expect("a direction");
            let (mut centre, mut span) = (Vector3::new(1.0, 0.0, 0.0), 1.0);
            let mut least = f64::INFINITY;
            for _ in 0..14 {
                let middle = centre;
                for i in -20..=20 {
                    for j in -20..=20 {
                        let way = middle + Vector3::new(0.0, f64::from(i), f64::from(j)) * (span / 20.0);
                        let worst = worst_sine(&links, &Unit::new_normalize(way));
                        if worst < least {
                            (least, centre) = (worst, way);
                        }
                    }
                }
                span *= 0.3;
            }
            let ours = worst_sine(&links, &best);
            assert!(ours <= least + 1e-9 && ours > least - 1e-4, "{bow}: {ours} {least}");
        }
    }

    /// With the best bolts in the car, the sweep's own rod-end angles are those that were told.
    #[test]
    fn what_a_bolt_leaves_is_what_the_car_with_it_has() {
        let mut car = GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a car").geometry;
        let found = best_bolts(Rig::new(&car).expect("a rig").wheel(Side::Left));
        for (link, bolts) in car.left.links.iter_mut().zip(found.chunks(2)) {
            let drawn = link.chassis_bolt.expect("a bolt");
            assert!(drawn.dot(&Vector3::from(bolts[0].direction)) > 0.9, "the bolt was turned round: {bolts:?}");
            let way = |k: usize| Some(Unit::new_normalize(Vector3::from(bolts[k].direction)));
            (link.chassis_bolt, link.upright_bolt) = (way(0), way(1));
        }
        let rig = Rig::new(&car).expect("a rig");
        let wheel = rig.wheel(Side::Left);
        let mut worst = [[0.0_f64; 2]; 5];
        for bump_mm in -60..=60 {
            let posture = wheel.path.at(f64::from(bump_mm)).expect("it moves");
            for (worst, now) in worst.iter_mut().zip(rod_ends(wheel.corner, &posture)) {
                let [chassis_deg, upright_deg] = [now.chassis_deg, now.upright_deg].map(|deg| deg.expect("a bolt"));
                *worst = [worst[0].max(chassis_deg), worst[1].max(upright_deg)];
            }
        }
        for (bolt, deg) in found.iter().zip(worst.as_flattened()) {
            assert!((bolt.leaves_deg - deg).abs() < 0.01, "{bolt:?} {deg}");
        }
    }
}
