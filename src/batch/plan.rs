//! The drawn car at each station: where the built cars start, and what they are held to.

use nalgebra::{Unit, Vector3};

use crate::measures::{camber_deg, toe_deg};
use crate::mechanism::kernel::{LinkResidual, Lu5, pivoted_order};
use crate::mechanism::{LinkConstants, Linkage, Posture, ROTATION_SCALE_MM};

/// Stations from which the next is extrapolated. More gain nothing at 5 mm between them.
const MAX_NODES: usize = 5;
/// Closure error that the last Newton step may leave, mm, by the bound of [`residual_bound`].
const CLOSED_MM: f64 = 1e-12;
/// The bound is that of the drawn car; a built one is held to half of it.
const BUILT_FACTOR: f64 = 2.0;
/// Largest first correction of an extrapolated posture, as a share of the distance from the nearest station: that of a
/// step along a path.
const MAX_CORRECTION: f64 = 0.1;
/// Largest first correction at the drawn wheel height, mm, where links cut to length move the wheel at once.
const MAX_CORRECTION_AT_DESIGN_MM: f64 = 20.0;

/// The stations in the order in which they are solved: from design to full bump, then from design to full droop.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    pub(super) stations: Vec<Station>,
    /// Order of the links in which the elimination has its largest pivots.
    pub(super) order: [usize; 5],
    pub(super) spin_axis: [f64; 3],
    /// Square of the longest Newton step that may be the last, mm² (rotations times 100 mm).
    pub(super) last_step_square: f64,
}

/// The drawn car at one station.
#[derive(Debug, Clone)]
pub(super) struct Station {
    pub(super) bump_mm: f64,
    /// x, y of the wheel centre's displacement (mm) and Rodrigues parameters.
    pub(super) pose: [f64; 5],
    /// Spin axis, outboard, side axes.
    pub(super) spin_axis: [f64; 3],
    pub(super) toe_deg: f64,
    pub(super) camber_deg: f64,
    /// One over each pivot of the elimination.
    pub(super) inverse_pivots: [f64; 5],
    /// Stations solved before, with their weights in the extrapolation.
    pub(super) nodes: Vec<(usize, f64)>,
    /// Square of the longest first Newton step, mm² (rotations times 100 mm).
    pub(super) max_step_square: f64,
}

impl Plan {
    /// The plan of the drawn car's postures at the stations, and for each of them its row in the plan.
    pub(super) fn new(
        drawn: &Linkage,
        spin_axis: &Unit<Vector3<f64>>,
        design: Posture,
        postures: &[Posture],
    ) -> (Self, Vec<usize>) {
        let visited = in_order_of_visit(design, postures);
        let systems: Vec<[[f64; 6]; 5]> = visited.iter().map(|posture| equations(drawn, posture)).collect();
        let order = best_order(&systems);
        let mut stations: Vec<Station> = Vec::with_capacity(visited.len());
        for (posture, system) in visited.iter().zip(&systems) {
            let s = posture.direction(spin_axis);
            let pivots = *Lu5::of(order.map(|i| system[i])).pivots();
            stations.push(Station {
                bump_mm: posture.bump_mm,
                pose: pose_of(posture),
                spin_axis: s.into(),
                toe_deg: toe_deg(&s),
                camber_deg: camber_deg(&s),
                inverse_pivots: pivots.map(|pivot| 1.0 / pivot),
                nodes: extrapolation(&stations, posture.bump_mm),
                max_step_square: max_correction_mm(&stations, posture.bump_mm).powi(2),
            });
        }
        let row_of = |posture: &Posture| visited.iter().position(|known| known.bump_mm == posture.bump_mm).unwrap_or(0);
        let rows = postures.iter().map(row_of).collect();
        let last_step_square = CLOSED_MM / (BUILT_FACTOR * residual_bound(drawn));
        (Self { stations, order, spin_axis: (**spin_axis).into(), last_step_square }, rows)
    }
}

/// x, y of the wheel centre's displacement (mm) and Rodrigues parameters of a posture.
pub(super) fn pose_of(posture: &Posture) -> [f64; 5] {
    let (d, g) = (&posture.displacement, &posture.rodrigues);
    [d.x, d.y, g.x, g.y, g.z]
}

/// The stations and the design in the order of [`Plan`], each once.
fn in_order_of_visit(design: Posture, postures: &[Posture]) -> Vec<Posture> {
    let mut visited = postures.to_vec();
    visited.push(design);
    visited.sort_by(|a, b| a.bump_mm.total_cmp(&b.bump_mm));
    visited.dedup_by(|a, b| a.bump_mm == b.bump_mm);
    let (mut droop, mut up): (Vec<Posture>, Vec<Posture>) = visited.into_iter().partition(|p| p.bump_mm < 0.0);
    droop.reverse();
    up.append(&mut droop);
    up
}

/// The five closure equations at a posture, each not yet divided by its length, in `(v_x, v_y, ω)`.
fn equations(linkage: &Linkage, posture: &Posture) -> [[f64; 6]; 5] {
    linkage.link_residuals(posture).map(equation)
}

/// One link's row in the elimination.
#[inline(always)]
pub(super) fn equation(link: LinkResidual) -> [f64; 6] {
    let LinkResidual { half_square, along, moment } = link;
    [along[0], along[1], moment[0], moment[1], moment[2], -half_square]
}

/// Of the orders that partial pivoting finds at the stations, the one whose pivots are best at the worst station.
fn best_order(systems: &[[[f64; 6]; 5]]) -> [usize; 5] {
    let worst_growth =
        |order: &[usize; 5]| systems.iter().map(|system| growth(order.map(|i| system[i]))).fold(0.0_f64, f64::max);
    let mut orders: Vec<[usize; 5]> = Vec::new();
    for order in systems.iter().map(|system| pivoted_order(*system)) {
        if !orders.contains(&order) {
            orders.push(order);
        }
    }
    orders.into_iter().min_by(|a, b| worst_growth(a).total_cmp(&worst_growth(b))).unwrap_or([0, 1, 2, 3, 4])
}

/// How badly an elimination in order is pivoted: the sum of its inverse pivots, each times the column it stands in.
fn growth(system: [[f64; 6]; 5]) -> f64 {
    let column = |k: usize| system.iter().map(|row| row[k].abs()).fold(0.0, f64::max);
    let pivots = *Lu5::of(system).pivots();
    let growth = pivots.iter().enumerate().map(|(k, pivot)| column(k) / pivot.abs()).sum::<f64>();
    if growth.is_nan() { f64::INFINITY } else { growth }
}

/// The nearest stations solved before, with the weights of the polynomial through them.
fn extrapolation(solved: &[Station], bump_mm: f64) -> Vec<(usize, f64)> {
    let far_mm = |i: usize| (solved[i].bump_mm - bump_mm).abs();
    let nearer = |a: &usize, b: &usize| far_mm(*a).total_cmp(&far_mm(*b)).then(a.cmp(b));
    let mut nearest: Vec<usize> = (0..solved.len()).collect();
    if nearest.len() > MAX_NODES {
        nearest.select_nth_unstable_by(MAX_NODES, nearer);
        nearest.truncate(MAX_NODES);
    }
    nearest.sort_by(nearer);
    let weight = |&i: &usize| {
        let others = nearest.iter().filter(|&&j| j != i);
        others.map(|&j| (bump_mm - solved[j].bump_mm) / (solved[i].bump_mm - solved[j].bump_mm)).product::<f64>()
    };
    nearest.iter().map(|i| (*i, weight(i))).collect()
}

/// Longest first Newton step that is accepted at a station, mm.
fn max_correction_mm(solved: &[Station], bump_mm: f64) -> f64 {
    let gaps = solved.iter().map(|station| (station.bump_mm - bump_mm).abs());
    gaps.min_by(f64::total_cmp).map_or(MAX_CORRECTION_AT_DESIGN_MM, |gap_mm| MAX_CORRECTION * gap_mm)
}

/// Largest closure error that a Newton step of 1 mm (rotations times 100 mm) can leave on any link, mm; it grows with the
/// square of the step.
///
/// With the wheel centre moved by `v ≤ δ` and the upright turned by `ω ≤ δ / 100 mm`, a link `e` of length L on an arm a has
/// `Δe = v + ω × a` and terms of second order of at most `ω² a`, so `f` keeps at most
/// `½ (1 + a/100)² δ² / L + (a/100²) δ²`.
fn residual_bound(linkage: &Linkage) -> f64 {
    let of_link = |link: &LinkConstants| {
        let arm = link.arm.norm() / ROTATION_SCALE_MM;
        0.5 * (1.0 + arm).powi(2) * link.inverse_length + arm / ROTATION_SCALE_MM
    };
    linkage.links.iter().map(of_link).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use nalgebra::{Rotation3, Unit, Vector3};
    use rand::rngs::StdRng;
    use rand::{Rng, SeedableRng};

    use super::{Linkage, Plan, residual_bound};
    use crate::file::GeometryFile;
    use crate::mechanism::WheelPath;

    fn drawn() -> (Linkage, Unit<Vector3<f64>>) {
        let file = GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a sound file");
        (Linkage::new(&file.geometry.left), file.geometry.left.wheel.spin_axis)
    }

    /// Turned by a rotation and taken from its length: what is left of a step beside its linear part never reaches the bound,
    /// and comes near enough to it that the bound costs no steps. Of links as drawn, and with one of 30 mm.
    #[test]
    fn no_step_leaves_more_than_the_bound() {
        let mut corner =
            GeometryFile::read(Path::new("geometries/first-cut.toml")).expect("a sound file").geometry.left;
        assert_bounds_every_step(&Linkage::new(&corner));
        corner.links[0].chassis = corner.links[0].upright - Vector3::y() * 30.0;
        assert_bounds_every_step(&Linkage::new(&corner));
    }

    fn assert_bounds_every_step(linkage: &Linkage) {
        let bound = residual_bound(linkage);
        let mut random = StdRng::seed_from_u64(5);
        let mut most = 0.0_f64;
        for _ in 0..20_000 {
            let mut parts = [0.0; 6].map(|_: f64| random.random_range(-1.0..1.0));
            let size = parts.iter().map(|x| x * x).sum::<f64>().sqrt();
            parts.iter_mut().for_each(|x| *x /= size);
            let (v, omega) = (Vector3::from_column_slice(&parts[..3]), Vector3::from_column_slice(&parts[3..]) / 100.0);
            for link in &linkage.links {
                let (drawn, length) = (link.base + link.arm, link.length_squared.sqrt());
                let moved = link.base + v + Rotation3::new(omega) * link.arm;
                let linear = drawn.dot(&(v + omega.cross(&link.arm))) / length;
                most = most.max(((moved.norm_squared() - link.length_squared) / (2.0 * length) - linear).abs());
            }
        }
        assert!(most < bound && most > 0.1 * bound, "{most} of {bound}");
    }

    /// A tenth of the way from the nearest station solved before; twenty millimetres at design, where there is none.
    #[test]
    fn a_first_correction_is_a_tenth_of_the_way_at_most() {
        let (linkage, spin_axis) = drawn();
        let path = WheelPath::follow(&linkage, &[-10.0, 10.0, 30.0]).expect("a sound design");
        let at = |bump_mm: f64| path.at(bump_mm).expect("a posture");
        let (plan, _) = Plan::new(&linkage, &spin_axis, at(0.0), &[at(-10.0), at(10.0), at(30.0)]);
        let most: Vec<(f64, f64)> = plan.stations.iter().map(|s| (s.bump_mm, s.max_step_square.sqrt())).collect();
        let wanted = [(0.0, 20.0), (10.0, 1.0), (30.0, 2.0), (-10.0, 1.0)];
        assert_eq!(most.len(), wanted.len());
        assert!(most.iter().zip(&wanted).all(|(a, b)| a.0 == b.0 && (a.1 - b.1).abs() < 1e-9), "{most:?}");
    }
}
