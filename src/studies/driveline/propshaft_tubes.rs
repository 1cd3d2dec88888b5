//! The tubes of the propeller shaft: stress, twist and mass, and the speed at which each span whirls.

use std::f64::consts::PI;

use serde::Serialize;

use crate::geometry::{Propshaft, ShaftJoint, ShaftJointKind, ShaftTube, TubePiece, TubeSection};
use crate::shafts::{BeamEnd, BeamPiece, Section, first_critical_rad_per_s, mass_kg, splice_weld_mpa, twist_deg};

/// Throat of a fillet weld whose leg is the wall, over that wall; no unit.
const THROAT_OVER_WALL: f64 = 0.7;

/// The tube between two neighbouring joints.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TubeFindings {
    /// The joint before it, counted from 1 at the gearbox.
    pub after_joint: usize,
    /// Between the joints.
    pub length_mm: f64,
    /// Largest shear stress of all pieces; `None` without a torque.
    pub torsion_mpa: Option<f64>,
    /// From end to end; `None` without a torque.
    pub twist_deg: Option<f64>,
    /// Of the tube alone.
    pub mass_kg: f64,
    /// The splice weld that carries most; `None` of a tube in one piece.
    pub weld: Option<WeldFindings>,
    /// Another tube of the same length in its place.
    pub beside: Option<OtherTube>,
}

/// The splice weld with the highest stress.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeldFindings {
    /// Throat, as the file has it or as taken.
    pub throat_mm: f64,
    /// The file gives no throat: it is 0.7 of the thinner wall.
    pub throat_is_taken: bool,
    /// In the throat; `None` without a torque.
    pub shear_mpa: Option<f64>,
}

/// A tube set beside the one in the file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OtherTube {
    /// Outside diameter.
    pub od_mm: f64,
    /// Wall.
    pub wall_mm: f64,
    /// As of the tube in the file.
    pub torsion_mpa: Option<f64>,
    /// As of the tube in the file.
    pub twist_deg: Option<f64>,
    /// As of the tube in the file.
    pub mass_kg: f64,
    /// Of the span that holds the tube, all its tubes replaced; `None` where that of the file has none.
    pub critical_rpm: Option<f64>,
}

/// What the ends of a span are held by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SpanHold {
    /// Joints that keep their centre.
    Centred,
    /// A flexible coupling without a centring device, whose radial stiffness is known, at one end or both.
    OnCoupling,
    /// The same with a stiffness that is not known: where the shaft whirls is not either.
    Unknown,
}

/// A part of the shaft between two joints that articulate; a spline carries bending.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpanFindings {
    /// The joints at its ends, counted from 1 at the gearbox.
    pub joints: [usize; 2],
    /// Between them.
    pub length_mm: f64,
    /// First bending critical speed; `None` when a coupling's radial stiffness is not known.
    pub critical_rpm: Option<f64>,
    /// The same if both ends kept their centre: never below the real one.
    pub centred_critical_rpm: f64,
    /// Over the highest speed of the shaft; no unit.
    pub over_highest_speed: Option<f64>,
    /// What holds its ends.
    pub held: SpanHold,
}

impl TubeFindings {
    /// From the gearbox to the final drive.
    pub(super) fn all(shaft: &Propshaft) -> Vec<Self> {
        shaft.tubes.iter().enumerate().map(|(k, tube)| Self::of(shaft, k, tube)).collect()
    }

    fn of(shaft: &Propshaft, index: usize, tube: &ShaftTube) -> Self {
        let other = |section: TubeSection| {
            let mut replaced = shaft.clone();
            for piece in &mut replaced.tubes[index].pieces {
                piece.section = section;
            }
            let spans = SpanFindings::all(&replaced);
            let span = spans.iter().find(|span| (span.joints[0]..span.joints[1]).contains(&(index + 1)));
            let tube = &replaced.tubes[index];
            OtherTube {
                od_mm: section.od_mm,
                wall_mm: section.wall_mm,
                torsion_mpa: torsion_mpa(tube, shaft.torque_nm),
                twist_deg: shaft.torque_nm.map(|nm| twist_deg(tube, nm)),
                mass_kg: mass_kg(tube),
                critical_rpm: span.and_then(|span| span.critical_rpm),
            }
        };
        Self {
            after_joint: index + 1,
            length_mm: tube.length_mm(),
            torsion_mpa: torsion_mpa(tube, shaft.torque_nm),
            twist_deg: shaft.torque_nm.map(|nm| twist_deg(tube, nm)),
            mass_kg: mass_kg(tube),
            weld: WeldFindings::of(tube, shaft.torque_nm),
            beside: tube.beside.map(other),
        }
    }
}

fn torsion_mpa(tube: &ShaftTube, torque_nm: Option<f64>) -> Option<f64> {
    let mpa = |nm: f64| tube.pieces.iter().map(|piece| Section::of(&piece.section).torsion_mpa(nm)).reduce(f64::max);
    torque_nm.and_then(mpa)
}

impl WeldFindings {
    /// The splice with the least of radius squared times throat.
    fn of(tube: &ShaftTube, torque_nm: Option<f64>) -> Option<Self> {
        let splice = |pair: &[TubePiece]| {
            let (a, b) = (pair[0].section, pair[1].section);
            let throat_mm = tube.throat_mm.unwrap_or(THROAT_OVER_WALL * a.wall_mm.min(b.wall_mm));
            (a.od_mm.min(b.od_mm), throat_mm)
        };
        let worst = tube.pieces.windows(2).map(splice);
        let (od_mm, throat_mm) = worst.min_by(|a, b| (a.0 * a.0 * a.1).total_cmp(&(b.0 * b.0 * b.1)))?;
        Some(Self {
            throat_mm,
            throat_is_taken: tube.throat_mm.is_none(),
            shear_mpa: torque_nm.map(|nm| splice_weld_mpa(od_mm, throat_mm, nm)),
        })
    }
}

impl SpanFindings {
    /// From the gearbox to the final drive; none without tubes.
    pub(super) fn all(shaft: &Propshaft) -> Vec<Self> {
        if shaft.tubes.is_empty() {
            return Vec::new();
        }
        let ends: Vec<usize> = (0..shaft.joints.len()).filter(|&k| shaft.joints[k].kind.articulates()).collect();
        ends.windows(2).filter_map(|pair| Self::of(shaft, [pair[0], pair[1]])).collect()
    }

    fn of(shaft: &Propshaft, [first, last]: [usize; 2]) -> Option<Self> {
        let tubes = &shaft.tubes[first..last];
        let pieces: Vec<BeamPiece> = tubes.iter().flat_map(beam).collect();
        let rpm = |ends: [BeamEnd; 2]| first_critical_rad_per_s(&pieces, ends).map(|rad_per_s| rad_per_s * 30.0 / PI);
        let centred_critical_rpm = rpm([BeamEnd::Pinned, BeamEnd::Pinned])?;
        let ends = [first, last].map(|k| beam_end(&shaft.joints[k]));
        let (critical_rpm, held) = match ends {
            [Some(BeamEnd::Pinned), Some(BeamEnd::Pinned)] => (Some(centred_critical_rpm), SpanHold::Centred),
            [Some(one), Some(other)] => (rpm([one, other]), SpanHold::OnCoupling),
            _ => (None, SpanHold::Unknown),
        };
        Some(Self {
            joints: [first + 1, last + 1],
            length_mm: tubes.iter().map(ShaftTube::length_mm).sum(),
            critical_rpm,
            centred_critical_rpm,
            over_highest_speed: critical_rpm.zip(shaft.rpm).map(|(critical, rpm)| critical / rpm),
            held,
        })
    }
}

fn beam(tube: &ShaftTube) -> impl Iterator<Item = BeamPiece> + '_ {
    tube.pieces.iter().map(|piece| {
        let section = Section::of(&piece.section);
        BeamPiece {
            stiffness_n_mm2: 1000.0 * tube.e_gpa * section.second_moment_mm4,
            mass_kg_per_mm: 1e-9 * tube.density_kg_per_m3 * section.area_mm2,
            length_mm: piece.length_mm,
        }
    })
}

/// `None` when it is not known.
fn beam_end(joint: &ShaftJoint) -> Option<BeamEnd> {
    match joint.kind {
        ShaftJointKind::Flexible if !joint.centred => joint.radial_stiffness_n_per_mm.map(BeamEnd::Spring),
        _ => Some(BeamEnd::Pinned),
    }
}
