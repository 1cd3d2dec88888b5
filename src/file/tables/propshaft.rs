//! `[propshaft]`: the chain of joints between gearbox and final drive. What its parts must keep beside each other is told and
//! leaves the shaft out; nothing else stands on it.

use nalgebra::{Point3, Unit, Vector3};

use super::final_drive::RawFinalDrive;
use super::propshaft_tube::RawShaftTube;
use crate::file::reader::{
    ANGLE, At, Diagnostics, Direction, Flag, Frame, Number, NumberUnit, PointKind, Span, Table, Text, Word,
};
use crate::geometry::{LengthUnit, Propshaft, PropshaftCase, ShaftJoint, ShaftJointKind};

const RPM: Number = Number::positive("rpm", " in rpm", 30_000.0);
const TORQUE: Number = Number::positive("N·m", " in N·m", 20_000.0);
const STIFFNESS: Number = Number::positive("N/mm", " in N/mm", 1e6);
const PHASE: Number = Number { measure: NumberUnit::Degrees, least: -180.0, most: 180.0, least_included: true };
/// Beyond this no joint of a propeller shaft works, deg.
const MAX_BEND_DEG: f64 = 60.0;
/// A spline may look bent by the rounding of the points, deg.
const STRAIGHT_DEG: f64 = 0.2;

pub(super) struct RawPropshaft {
    header: Span,
    rpm: Option<f64>,
    torque_nm: Option<f64>,
    input_axis: At<Unit<Vector3<f64>>>,
    /// `None` where a final drive gives it.
    output_axis: Option<At<Unit<Vector3<f64>>>>,
    joints: Vec<RawJoint>,
    tubes: Vec<RawShaftTube>,
    cases: Vec<RawCase>,
}

struct RawJoint {
    at: At<Point3<f64>>,
    kind: ShaftJointKind,
    phase_deg: Option<At<f64>>,
    limit_deg: Option<f64>,
    radial_stiffness_n_per_mm: Option<At<f64>>,
    centred: Option<At<bool>>,
}

struct RawCase {
    name: At<String>,
    first_by: Vector3<f64>,
    last_by: Vector3<f64>,
    input_axis: Option<Unit<Vector3<f64>>>,
    output_axis: Option<Unit<Vector3<f64>>>,
}

impl RawPropshaft {
    pub(super) fn read(mut table: Table) -> Option<Self> {
        let rpm = table.value("rpm", &RPM);
        let torque_nm = table.value("torque", &TORQUE);
        let axis = Direction(Frame::Car);
        let input_axis = table.required("input_axis", &axis, "the line of the shaft that enters the first joint");
        let output_axis = match table.scope.final_drive {
            true => table.optional("output_axis", &axis),
            false => table.required("output_axis", &axis, "the line of the shaft that leaves the last joint"),
        };
        let has_housing = table.scope.final_drive;
        let joints = table.required_tables("joint", "two or more, from the gearbox to the final drive");
        let joints: Vec<Option<RawJoint>> = joints.into_iter().map(RawJoint::read).collect();
        let tubes: Vec<Option<RawShaftTube>> = table.tables("tube").into_iter().map(RawShaftTube::read).collect();
        let cases: Vec<Option<RawCase>> = table.tables("case").into_iter().map(RawCase::read).collect();
        let header = table.header.clone();
        table.finish();
        if output_axis.is_none() && !has_housing {
            return None;
        }
        Some(Self {
            header,
            rpm,
            torque_nm,
            input_axis: input_axis?,
            output_axis,
            joints: joints.into_iter().collect::<Option<_>>()?,
            tubes: tubes.into_iter().collect::<Option<_>>()?,
            cases: cases.into_iter().collect::<Option<_>>()?,
        })
    }

    /// The shaft; `None` when something about it was told.
    pub(super) fn checked(
        &self,
        housing: Option<&RawFinalDrive>,
        units: LengthUnit,
        diagnostics: &Diagnostics,
    ) -> Option<Propshaft> {
        if let [] | [_] = self.joints[..] {
            let advice = "add the [[propshaft.joint]] tables that are missing: a shaft has one at either end";
            diagnostics.set_aside(&self.header, "a propeller shaft of one joint connects nothing", advice);
            return None;
        }
        let apart = self.joints.windows(2).filter(|pair| !self.note_same_place(pair, diagnostics)).count();
        if apart + 1 < self.joints.len() {
            return None;
        }
        let output_axis = self.output_axis(housing, units, diagnostics)?;
        let notes = [
            self.note_phases(diagnostics),
            self.note_couplings(diagnostics),
            self.note_bends(output_axis, diagnostics),
            self.note_tubes(units, diagnostics),
        ];
        let cases = self.cases(output_axis, diagnostics);
        if notes.contains(&true) {
            return None;
        }
        Some(Propshaft { cases: cases?, ..self.without_cases(output_axis) })
    }

    /// That of the final drive's pinion wins over the one written here; `None` when it was told that neither is there.
    fn output_axis(
        &self,
        housing: Option<&RawFinalDrive>,
        units: LengthUnit,
        diagnostics: &Diagnostics,
    ) -> Option<Unit<Vector3<f64>>> {
        if let Some(housing) = housing.filter(|housing| housing.pinion.is_some()) {
            return housing.output_axis(&self.joints.last()?.at, units, diagnostics);
        }
        if self.output_axis.is_none() {
            let advice = "add `output_axis`, or the `pinion` of [final_drive]";
            diagnostics.set_aside(&self.header, "nothing says where the shaft behind the last joint points", advice);
        }
        self.output_axis.as_ref().map(|axis| axis.value)
    }

    fn places(&self) -> Vec<Point3<f64>> {
        self.joints.iter().map(|joint| joint.at.value).collect()
    }

    /// Either sense may be written: both axes are turned to point along the chain.
    fn without_cases(&self, output_axis: Unit<Vector3<f64>>) -> Propshaft {
        let places = self.places();
        let lengths_mm = places.windows(2).map(|pair| (pair[1] - pair[0]).norm());
        let tubes = self.tubes.iter().zip(lengths_mm).map(|(tube, length_mm)| tube.tube(length_mm)).collect();
        let joints = self.joints.iter().map(|joint| ShaftJoint {
            kind: joint.kind,
            at: joint.at.value,
            phase_deg: joint.phase_deg.as_ref().map_or(0.0, |phase| phase.value),
            limit_deg: joint.limit_deg,
            radial_stiffness_n_per_mm: joint.radial_stiffness_n_per_mm.as_ref().map(|at| at.value),
            centred: joint.centred.as_ref().is_some_and(|at| at.value),
        });
        Propshaft {
            rpm: self.rpm,
            torque_nm: self.torque_nm,
            input_axis: along(self.input_axis.value, &(places[1] - places[0])),
            output_axis: along(output_axis, &(places[places.len() - 1] - places[places.len() - 2])),
            joints: joints.collect(),
            tubes,
            cases: Vec::new(),
        }
    }

    fn note_same_place(&self, pair: &[RawJoint], diagnostics: &Diagnostics) -> bool {
        let same = (pair[1].at.value - pair[0].at.value).norm() < Propshaft::SAME_PLACE_MM;
        if same {
            let advice = "write the centre of each joint, from the gearbox to the final drive";
            diagnostics.set_aside(&pair[1].at.span, "two joints of the propeller shaft are at the same point", advice);
        }
        same
    }

    /// A phase is between a universal joint and the next one of the chain.
    fn note_phases(&self, diagnostics: &Diagnostics) -> bool {
        let is_universal = |joint: &RawJoint| joint.kind == ShaftJointKind::Universal;
        let last = self.joints.iter().rposition(is_universal);
        let mut noted = false;
        for (k, joint) in self.joints.iter().enumerate() {
            let Some(phase) = &joint.phase_deg else { continue };
            let what = match is_universal(joint) {
                false => format!("a {} has no yoke and no phase", joint.kind.name()),
                true if Some(k) == last => "no universal joint follows against which this one has a phase".to_owned(),
                true => continue,
            };
            let advice =
                "remove `phase`; write it on the universal joint before, for the yoke of the next one against its own";
            diagnostics.set_aside(&phase.span, what, advice);
            noted = true;
        }
        noted
    }

    fn note_couplings(&self, diagnostics: &Diagnostics) -> bool {
        let mut noted = false;
        for joint in self.joints.iter().filter(|joint| joint.kind != ShaftJointKind::Flexible) {
            let spans = [
                joint.radial_stiffness_n_per_mm.as_ref().map(|at| &at.span),
                joint.centred.as_ref().map(|at| &at.span),
            ];
            for span in spans.into_iter().flatten() {
                let what = format!("a {} is held at its centre", joint.kind.name());
                diagnostics.set_aside(span, what, "remove the key: it is for a flexible coupling");
                noted = true;
            }
        }
        noted
    }

    /// No joint is bent more than it can be, and no spline is bent at all.
    fn note_bends(&self, output_axis: Unit<Vector3<f64>>, diagnostics: &Diagnostics) -> bool {
        let shaft = self.without_cases(output_axis);
        let Some(directions) = Propshaft::directions(&shaft.places(), shaft.input_axis, shaft.output_axis) else {
            return true;
        };
        let mut noted = false;
        for (joint, pair) in self.joints.iter().zip(directions.windows(2)) {
            let bend_deg = pair[0].angle(&pair[1]).to_degrees();
            let (what, advice) = match joint.kind {
                ShaftJointKind::Spline if bend_deg > STRAIGHT_DEG => (
                    format!("the shaft bends by {bend_deg:.2} deg at this slip spline"),
                    "put its centre on the line of the shaft, or name the joint that bends there",
                ),
                _ if bend_deg > MAX_BEND_DEG => (
                    format!("the shaft bends by {bend_deg:.1} deg at this joint"),
                    "check the points of the joints and both axes; the joints stand in order from the gearbox",
                ),
                _ => continue,
            };
            diagnostics.set_aside(&joint.at.span, what, advice);
            noted = true;
        }
        noted
    }

    /// The tubes fill the chain, or there are none.
    fn note_tubes(&self, units: LengthUnit, diagnostics: &Diagnostics) -> bool {
        let wanted = self.joints.len() - 1;
        if !self.tubes.is_empty() && self.tubes.len() != wanted {
            let at = &self.tubes[self.tubes.len().min(wanted + 1) - 1].header;
            let what = format!("the chain has {} tubes between {} joints", self.tubes.len(), self.joints.len());
            let advice = format!("write one [[propshaft.tube]] between each pair of joints, {wanted} of them, or none");
            diagnostics.set_aside(at, what, advice);
            return true;
        }
        let lengths_mm = self.places().windows(2).map(|pair| (pair[1] - pair[0]).norm()).collect::<Vec<_>>();
        let noted = self.tubes.iter().zip(lengths_mm).map(|(tube, mm)| tube.note_length(mm, units, diagnostics));
        noted.collect::<Vec<_>>().contains(&true)
    }

    fn cases(&self, output_axis: Unit<Vector3<f64>>, diagnostics: &Diagnostics) -> Option<Vec<PropshaftCase>> {
        let shaft = self.without_cases(output_axis);
        let mut sound = Some(Vec::new());
        for (i, raw) in self.cases.iter().enumerate() {
            let name = &raw.name;
            let twice = self.cases[..i].iter().any(|other| other.name.value == name.value);
            let drawn = [Some(shaft.input_axis), Some(shaft.output_axis)];
            let [input_axis, output_axis] = [raw.input_axis, raw.output_axis];
            let case = PropshaftCase {
                name: name.value.clone(),
                first_by: raw.first_by,
                last_by: raw.last_by,
                input_axis: input_axis.zip(drawn[0]).map(|(axis, drawn)| along(axis, &drawn)),
                output_axis: output_axis.zip(drawn[1]).map(|(axis, drawn)| along(axis, &drawn)),
            };
            let moved = shaft.moved(&case);
            let directions = Propshaft::directions(&moved.places(), moved.input_axis, moved.output_axis);
            let bent = |pair: &[Unit<Vector3<f64>>]| pair[0].angle(&pair[1]).to_degrees() > MAX_BEND_DEG;
            let (what, advice) = if twice {
                (format!("two cases of the propeller shaft are called {:?}", name.value), "give each its own name")
            } else if directions.is_none_or(|all| all.windows(2).any(bent)) {
                let what = format!("case {:?} bends a joint by more than {MAX_BEND_DEG} deg", name.value);
                (what, "check its moves and axes; they count from the points as drawn")
            } else {
                sound.iter_mut().for_each(|cases| cases.push(case.clone()));
                continue;
            };
            diagnostics.set_aside(&name.span, what, advice);
            sound = None;
        }
        sound
    }
}

/// An axis in the sense of a direction.
fn along(axis: Unit<Vector3<f64>>, direction: &Vector3<f64>) -> Unit<Vector3<f64>> {
    if axis.dot(direction) < 0.0 { -axis } else { axis }
}

impl RawJoint {
    fn read(mut table: Table) -> Option<Self> {
        let kind = table.required("kind", &Word(&ShaftJointKind::BY_NAME), "what the joint is");
        let at = table.required("at", &PointKind(Frame::Car), "its centre");
        let phase_deg = table.optional("phase", &PHASE);
        let limit_deg = table.value("limit", &ANGLE);
        let radial_stiffness_n_per_mm = table.optional("radial_stiffness", &STIFFNESS);
        let centred = table.optional("centred", &Flag);
        table.finish();
        Some(Self { at: at?, kind: kind?.value, phase_deg, limit_deg, radial_stiffness_n_per_mm, centred })
    }
}

impl RawCase {
    fn read(mut table: Table) -> Option<Self> {
        let name = table.required("name", &Text, "what you call it, such as \"engine rocked by full torque\"");
        let by = |table: &mut Table, key| table.value(key, &MOVE).map_or(Vector3::zeros(), |at| at.coords);
        let (first_by, last_by) = (by(&mut table, "first_by"), by(&mut table, "last_by"));
        let input_axis = table.value("input_axis", &Direction(Frame::Car));
        let output_axis = table.value("output_axis", &Direction(Frame::Car));
        table.finish();
        Some(Self { name: name?, first_by, last_by, input_axis, output_axis })
    }
}

/// A move is written as a point is.
const MOVE: PointKind = PointKind(Frame::Car);
