//! The bolts of a solidly mounted final drive: which carries what under the torques of the shafts, and which tubes that reaches.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use super::findings::CaseForces;
use super::wheel_load::direction;
use crate::geometry::{FinalDrive, Geometry, HousingMount, PerSide, Side, Tube};
use crate::mechanism::Posture;
use crate::strength::{BoltShare, GroupBolt, bolt_group};
use crate::studies::inspection::Lacking;
use crate::studies::rig::Rig;

/// What holds the final drive, in every case.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MountFindings {
    /// Every bolt, the least reserve of all cases first.
    pub bolts: Vec<HousingBolt>,
    /// Tubes nearest to the bolts, the one with the largest force first; empty without `[[tube]]`.
    pub tubes: Vec<TubeLoad>,
    /// Everything, case by case.
    #[serde(skip)]
    pub cases: Vec<MountCase>,
}

/// One bolt where its reserve is least.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HousingBolt {
    /// Number of its hole in the file, from 1.
    pub hole: usize,
    /// Axes of the car.
    pub at_mm: [f64; 3],
    /// The tube with the nearest centre line, a mirror image told by its name and side.
    pub tube: Option<NearTube>,
    /// Along the bolt, off the frame positive.
    pub pull_out_n: f64,
    /// Across the bolt.
    pub shear_n: f64,
    /// What the bolt bears over that (no unit).
    pub reserve: f64,
    /// In which case.
    pub case: String,
}

/// The tube nearest to a bolt.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NearTube {
    /// Its name, with the side where it is a mirror image.
    pub name: String,
    /// From its centre line to the hole.
    pub off_mm: f64,
}

/// What all bolts near one tube put on it, in the case in which that is most.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TubeLoad {
    /// Its name, with the side where it is a mirror image.
    pub tube: String,
    /// Numbers of the holes whose nearest tube it is.
    pub holes: Vec<usize>,
    /// From its centre line to the farthest of them.
    pub farthest_mm: f64,
    /// The sum of the sizes of the forces of its bolts.
    pub force_n: f64,
    /// In which case.
    pub case: String,
}

/// The torques of the shafts on a housing, and what its bolts make of them.
#[derive(Debug, Clone, PartialEq)]
pub struct MountCase {
    /// Of the load case, or which way the propeller shaft drives.
    pub case: String,
    /// Of both wheels, mm.
    pub bump_mm: f64,
    /// About the axis of the pinion that points out of the housing, right-hand rule, N·m.
    pub pinion_nm: f64,
    /// Of each output, driving positive, N·m.
    pub output_nm: PerSide<f64>,
    /// In the order of the holes.
    pub bolts: Vec<BoltInCase>,
}

/// One bolt of a housing in one case.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BoltInCase {
    /// Number of its hole in the file, from 1.
    pub hole: usize,
    /// Where it is, car axes.
    pub at: Point3<f64>,
    /// Of the frame on the housing, N, car axes.
    pub force_n: Vector3<f64>,
    /// Along the bolt, off the frame positive, N.
    pub pull_out_n: f64,
    /// Across the bolt, N.
    pub shear_n: f64,
    /// What the bolt bears over that (no unit); infinite without a load.
    pub reserve: f64,
}

/// A housing on its bolts in the car.
struct Mounted<'g> {
    housing: &'g FinalDrive,
    mount: &'g HousingMount,
    /// Pointing out of the housing, car axes.
    pinion: Vector3<f64>,
    bolts: Vec<GroupBolt>,
}

impl<'g> Mounted<'g> {
    fn of(geometry: &'g Geometry) -> Option<Self> {
        let housing = geometry.final_drive.as_ref()?;
        let mount = housing.mount.as_ref()?;
        let pinion = housing.place.flange(housing.pinion.as_ref()?).axis.into_inner();
        let bolt = |(at, along)| GroupBolt {
            at: housing.place.point(at),
            along: housing.place.direction(along),
            axial_over_shear: 1.0,
        };
        Some(Self { housing, mount, pinion, bolts: housing.holes.iter().zip(&mount.along).map(bolt).collect() })
    }

    /// Moment of a halfshaft on the housing for a torque of 1 at its output, car axes: the joint passes it on along the bisector
    /// of flange and shaft, `(a + e) / (1 + a·e)`, and the housing feels the reaction.
    fn reaction(&self, geometry: &Geometry, side: Side, posture: Option<&Posture>) -> Vector3<f64> {
        let flange = self.housing.output(side);
        let a = flange.axis.into_inner();
        let shaft = geometry.corner(side).halfshaft.as_ref().zip(posture);
        let e = shaft.map_or(a, |(shaft, posture)| direction(&flange.at, &posture.point(&shaft.outer)));
        let felt = -(a + e) / (1.0 + a.dot(&e));
        // A moment is mirrored with the other sign.
        Vector3::new(side.sign() * felt.x, felt.y, side.sign() * felt.z)
    }

    /// `None` when the bolts leave the housing a motion.
    fn case(
        &self,
        case: &str,
        bump_mm: f64,
        pinion_nm: f64,
        outputs: &PerSide<(f64, Vector3<f64>)>,
    ) -> Option<MountCase> {
        let moment_nm = self.pinion * pinion_nm
            + Side::BOTH.into_iter().map(|side| outputs[side].1 * outputs[side].0).sum::<Vector3<f64>>();
        let shares = bolt_group(&self.bolts, &Vector3::zeros(), &(moment_nm * 1000.0))?;
        Some(MountCase {
            case: case.to_owned(),
            bump_mm,
            pinion_nm,
            output_nm: PerSide::of(|side| outputs[side].0),
            bolts: (1..).zip(self.bolts.iter().zip(&shares)).map(|(hole, each)| self.bolt(hole, each)).collect(),
        })
    }

    fn bolt(&self, hole: usize, (bolt, share): (&GroupBolt, &BoltShare)) -> BoltInCase {
        BoltInCase {
            hole,
            at: bolt.at,
            force_n: share.force_n,
            pull_out_n: share.pull_out_n,
            shear_n: share.shear_n,
            reserve: self.mount.bolt.pull_and_shear_reserve(share.pull_out_n, share.shear_n),
        }
    }

    /// Both senses in which the pinion may turn.
    fn both_senses(&self, case: &str, bump_mm: f64, outputs: &PerSide<(f64, Vector3<f64>)>) -> Vec<MountCase> {
        let pinion_nm = (outputs.left.0 + outputs.right.0) / self.mount.ratio;
        [pinion_nm, -pinion_nm].into_iter().filter_map(|nm| self.case(case, bump_mm, nm, outputs)).collect()
    }
}

impl MountFindings {
    /// Of the load cases in which halfshafts carry torque, and of the propeller shaft at its largest torque, driving and
    /// overrunning, with the differential's bias to either side. `None` without a mount, or when nothing turns it, or when its
    /// bolts leave it a motion.
    ///
    /// Torques alone: the weight of the housing, joints that push along their shafts and shock are not in it, nor friction under
    /// the bolts. The engine may turn either way: both are looked at. Braking torque in a halfshaft is taken to be that of a brake
    /// on the housing, so that the pinion feels none of it.
    ///
    /// Source: `docs/theory.md`, "Final drive on its bolts". Tested by `tests/forces/mounts.rs`.
    pub(super) fn of(rig: &Rig, sides: &[Side], cases: &[CaseForces]) -> Option<Self> {
        let geometry = rig.geometry;
        let mounted = Mounted::of(geometry).filter(|_| sides.len() == Side::BOTH.len())?;
        let mut told: Vec<MountCase> = cases.iter().flat_map(|case| of_load_case(rig, &mounted, case)).collect();
        told.extend(at_full_torque(rig, &mounted));
        let bolts = worst_bolts(geometry, &told);
        if bolts.is_empty() {
            return None;
        }
        Some(Self { tubes: tube_loads(&bolts, &told), bolts, cases: told })
    }

    /// Whether a bolt bears less than a case asks of it.
    pub fn breaks(&self) -> bool {
        self.bolts.iter().any(|bolt| bolt.reserve < 1.0)
    }
}

fn of_load_case(rig: &Rig, mounted: &Mounted, case: &CaseForces) -> Vec<MountCase> {
    let Some(first) = case.wheels.values().next() else { return Vec::new() };
    // A wheel that the case does not load has none; one that does not reach the position is not known.
    let torque = |side: Side, bump_mm: f64| match case.wheels.get(&side) {
        None => Some(0.0),
        Some(wheel) => {
            let at = wheel.positions.iter().find(|at| at.bump_mm == bump_mm)?;
            Some(at.halfshaft.map_or(0.0, |shaft| shaft.torque_nm))
        }
    };
    let of = |bump_mm: f64| {
        let torques = torque(Side::Left, bump_mm).zip(torque(Side::Right, bump_mm));
        let Some((left, right)) = torques else { return Vec::new() };
        let output_nm = PerSide { left, right };
        let outputs = PerSide::of(|side| {
            let posture = rig.wheel(side).path.at(bump_mm);
            (output_nm[side], mounted.reaction(rig.geometry, side, posture.as_ref()))
        });
        let axle_nm = left + right;
        match left == 0.0 && right == 0.0 {
            true => Vec::new(),
            false if axle_nm < 0.0 => mounted.case(&case.name, bump_mm, 0.0, &outputs).into_iter().collect(),
            false => mounted.both_senses(&case.name, bump_mm, &outputs),
        }
    };
    first.positions.iter().flat_map(|at| of(at.bump_mm)).collect()
}

/// The propeller shaft at its largest torque, at design height.
fn at_full_torque(rig: &Rig, mounted: &Mounted) -> Vec<MountCase> {
    let Some(torque_nm) = rig.geometry.propshaft.as_ref().and_then(|shaft| shaft.torque_nm) else { return Vec::new() };
    let reaction = PerSide::of(|side| mounted.reaction(rig.geometry, side, rig.wheel(side).path.at(0.0).as_ref()));
    let more = mounted.mount.bias;
    let ways = [("full torque, driving", 1.0), ("full torque, overrunning", -1.0)];
    let shares = [(more, 1.0 - more), (1.0 - more, more)];
    let all = ways.into_iter().flat_map(|way| shares.map(|share| (way, share)));
    all.flat_map(|((name, sign), (left, right))| {
        let axle_nm = sign * torque_nm * mounted.mount.ratio;
        let outputs = PerSide { left: (axle_nm * left, reaction.left), right: (axle_nm * right, reaction.right) };
        mounted.both_senses(name, 0.0, &outputs)
    })
    .collect()
}

/// Of every hole, the least reserve first; empty without a case.
fn worst_bolts(geometry: &Geometry, cases: &[MountCase]) -> Vec<HousingBolt> {
    let of = |hole: usize| {
        let all = cases.iter().map(|case| (case, &case.bolts[hole]));
        let (case, bolt) = all.min_by(|a, b| a.1.reserve.total_cmp(&b.1.reserve))?;
        Some(HousingBolt {
            hole: bolt.hole,
            at_mm: bolt.at.into(),
            tube: nearest_tube(&geometry.tubes, &bolt.at),
            pull_out_n: bolt.pull_out_n,
            shear_n: bolt.shear_n,
            reserve: bolt.reserve,
            case: case.case.clone(),
        })
    };
    let holes = cases.first().map_or(0, |case| case.bolts.len());
    let mut bolts: Vec<HousingBolt> = (0..holes).filter_map(of).collect();
    bolts.sort_by(|a, b| a.reserve.total_cmp(&b.reserve));
    bolts
}

/// Of the tubes and their mirror images, by the distance of the centre line between its ends.
fn nearest_tube(tubes: &[Tube], at: &Point3<f64>) -> Option<NearTube> {
    let seen = |tube: &Tube, side: Side| {
        let point = side.to_car(*at);
        let along_mm = tube.along_mm(&point).clamp(0.0, tube.length_mm());
        let foot = tube.from + (tube.to - tube.from) * (along_mm / tube.length_mm());
        let is_across = tube.from.y * tube.to.y <= 0.0;
        let name = if is_across { tube.name.clone() } else { format!("{}, {}", tube.name, side.name()) };
        NearTube { name, off_mm: (point - foot).norm() }
    };
    let all = tubes.iter().flat_map(|tube| Side::BOTH.map(|side| seen(tube, side)));
    all.min_by(|a, b| a.off_mm.total_cmp(&b.off_mm))
}

fn tube_loads(bolts: &[HousingBolt], cases: &[MountCase]) -> Vec<TubeLoad> {
    let mut loads: Vec<TubeLoad> = Vec::new();
    for bolt in bolts {
        let Some(tube) = &bolt.tube else { continue };
        match loads.iter_mut().find(|load| load.tube == tube.name) {
            Some(load) => {
                load.holes.push(bolt.hole);
                load.farthest_mm = load.farthest_mm.max(tube.off_mm);
            }
            None => {
                let (holes, case) = (vec![bolt.hole], String::new());
                let (tube, farthest_mm) = (tube.name.clone(), tube.off_mm);
                loads.push(TubeLoad { tube, holes, farthest_mm, force_n: 0.0, case });
            }
        }
    }
    for load in &mut loads {
        load.holes.sort_unstable();
        for case in cases {
            let force_n: f64 =
                case.bolts.iter().filter(|bolt| load.holes.contains(&bolt.hole)).map(|bolt| bolt.force_n.norm()).sum();
            if force_n > load.force_n {
                (load.force_n, load.case) = (force_n, case.case.clone());
            }
        }
    }
    loads.sort_by(|a, b| b.force_n.total_cmp(&a.force_n));
    loads
}

/// What of the mounts cannot be told, and the keys that would tell it; nothing without a final drive.
pub(super) fn lacking(geometry: &Geometry, sides: &[Side], found: Option<&MountFindings>) -> Option<Lacking> {
    let housing = geometry.final_drive.as_ref()?;
    let needs = match (&housing.mount, &housing.pinion, found) {
        (_, _, Some(_)) => return None,
        (None, ..) => "mount in [final_drive]",
        (_, None, _) => "pinion in [final_drive]",
        _ if sides.len() < Side::BOTH.len() => "both wheels: leave out --side",
        _ if bolt_group_holds(geometry) => "torque in [propshaft], or a load whose torque goes to the halfshafts",
        _ => "bolts of the final drive that hold it every way: three that are not in one line",
    };
    Some(Lacking { what: "bolts of the final drive".to_owned(), needs: needs.to_owned() })
}

fn bolt_group_holds(geometry: &Geometry) -> bool {
    let mounted = Mounted::of(geometry);
    mounted.is_some_and(|mounted| bolt_group(&mounted.bolts, &Vector3::x(), &Vector3::zeros()).is_some())
}
