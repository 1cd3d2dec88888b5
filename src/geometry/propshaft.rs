//! The propeller shaft: a chain of joints between gearbox and final drive, and the tubes between them. Car axes.

use nalgebra::{Point3, Unit, Vector3};

/// From the gearbox output to the final drive's input, in car axes.
#[derive(Debug, Clone, PartialEq)]
pub struct Propshaft {
    /// Highest speed of the shaft, 1/min.
    pub rpm: Option<f64>,
    /// Largest torque in the shaft, N·m.
    pub torque_nm: Option<f64>,
    /// Of the shaft that enters the first joint, pointing towards the final drive.
    pub input_axis: Unit<Vector3<f64>>,
    /// Of the shaft that leaves the last joint, pointing away from the gearbox.
    pub output_axis: Unit<Vector3<f64>>,
    /// From the gearbox to the final drive; at least two.
    pub joints: Vec<ShaftJoint>,
    /// One between each pair of joints; empty when the file gives none.
    pub tubes: Vec<ShaftTube>,
    /// Other positions of engine and final drive.
    pub cases: Vec<PropshaftCase>,
}

/// One joint of the chain.
#[derive(Debug, Clone, PartialEq)]
pub struct ShaftJoint {
    /// What it is.
    pub kind: ShaftJointKind,
    /// Its centre.
    pub at: Point3<f64>,
    /// Yoke of the next universal joint against this one's, deg, right-handed looking along the shaft towards the next
    /// joint; 0 is "yokes in line". Without meaning on a joint that is no universal joint.
    pub phase_deg: f64,
    /// Largest angle that its maker allows, deg.
    pub limit_deg: Option<f64>,
    /// Of a flexible coupling without a centring device, N/mm.
    pub radial_stiffness_n_per_mm: Option<f64>,
    /// A flexible coupling with a centring device.
    pub centred: bool,
}

/// What a joint of the chain is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ShaftJointKind {
    /// Cross and two yokes: bends, and passes an uneven speed.
    Universal,
    /// A disc of rubber or thin plates: bends a little, and passes its speed evenly.
    Flexible,
    /// Bends, and passes its speed evenly.
    ConstantVelocity,
    /// Slides, and does not bend.
    Spline,
}

impl ShaftJointKind {
    /// As the file writes them.
    pub const BY_NAME: [(&'static str, ShaftJointKind); 4] = [
        ("universal", ShaftJointKind::Universal),
        ("flexible", ShaftJointKind::Flexible),
        ("constant velocity", ShaftJointKind::ConstantVelocity),
        ("spline", ShaftJointKind::Spline),
    ];

    /// In the shop's words.
    pub fn name(self) -> &'static str {
        match self {
            ShaftJointKind::Universal => "universal joint",
            ShaftJointKind::Flexible => "flexible coupling",
            ShaftJointKind::ConstantVelocity => "constant-velocity joint",
            ShaftJointKind::Spline => "slip spline",
        }
    }

    /// Largest angle while the file gives no maker's figure, deg: typical of handbooks and catalogues, from memory. `None`
    /// for a spline, which does not bend.
    pub fn typical_limit_deg(self) -> Option<f64> {
        match self {
            ShaftJointKind::Universal => Some(20.0),
            ShaftJointKind::Flexible => Some(3.0),
            ShaftJointKind::ConstantVelocity => Some(18.0),
            ShaftJointKind::Spline => None,
        }
    }

    /// True for a joint at which a shaft may bend: bending of a span ends there.
    pub fn articulates(self) -> bool {
        self != ShaftJointKind::Spline
    }
}

/// The shaft between two neighbouring joints.
#[derive(Debug, Clone, PartialEq)]
pub struct ShaftTube {
    /// From the gearbox to the final drive; together as long as the joints are apart. More than one are joined by splice welds.
    pub pieces: Vec<TubePiece>,
    /// Young's modulus, GPa.
    pub e_gpa: f64,
    /// Shear modulus, GPa.
    pub g_gpa: f64,
    /// Density, kg/m³.
    pub density_kg_per_m3: f64,
    /// Throat of the splice welds, mm, when the file gives it.
    pub throat_mm: Option<f64>,
    /// Another tube to be set beside it.
    pub beside: Option<TubeSection>,
}

impl ShaftTube {
    /// Young's modulus of steel, GPa.
    pub const STEEL_E_GPA: f64 = 205.0;
    /// Density of steel, kg/m³.
    pub const STEEL_DENSITY_KG_PER_M3: f64 = 7850.0;
    /// Poisson's ratio of steel and aluminium; no unit.
    pub const POISSON: f64 = 0.3;

    /// Of all pieces, mm.
    pub fn length_mm(&self) -> f64 {
        self.pieces.iter().map(|piece| piece.length_mm).sum()
    }
}

/// A tube of one section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TubePiece {
    /// Across.
    pub section: TubeSection,
    /// Along, mm.
    pub length_mm: f64,
}

/// Outside diameter and wall of a round tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TubeSection {
    /// Outside diameter, mm.
    pub od_mm: f64,
    /// Wall, mm; at most half the diameter, which is a solid shaft.
    pub wall_mm: f64,
}

/// Engine or final drive elsewhere than drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct PropshaftCase {
    /// What the builder calls it.
    pub name: String,
    /// Move of the first joint, mm.
    pub first_by: Vector3<f64>,
    /// Move of the last joint, mm.
    pub last_by: Vector3<f64>,
    /// In place of that of the shaft, pointing towards the final drive.
    pub input_axis: Option<Unit<Vector3<f64>>>,
    /// In place of that of the shaft, pointing away from the gearbox.
    pub output_axis: Option<Unit<Vector3<f64>>>,
}

impl Propshaft {
    /// Centres of the joints, from the gearbox to the final drive.
    pub fn places(&self) -> Vec<Point3<f64>> {
        self.joints.iter().map(|joint| joint.at).collect()
    }

    /// Unit directions of all shafts of the chain through these centres, from the one that enters the first joint to the one
    /// that leaves the last; `None` where two neighbours coincide.
    pub fn directions(
        places: &[Point3<f64>],
        input_axis: Unit<Vector3<f64>>,
        output_axis: Unit<Vector3<f64>>,
    ) -> Option<Vec<Unit<Vector3<f64>>>> {
        let between = places.windows(2).map(|pair| Unit::try_new(pair[1] - pair[0], Self::SAME_PLACE_MM));
        std::iter::once(Some(input_axis)).chain(between).chain([Some(output_axis)]).collect()
    }

    /// Joints nearer to each other than this are one, mm.
    pub const SAME_PLACE_MM: f64 = 0.01;

    /// The same shaft with engine and final drive as in a case.
    #[must_use]
    pub fn moved(&self, case: &PropshaftCase) -> Self {
        let mut moved = self.clone();
        if let [first, .., last] = &mut moved.joints[..] {
            first.at += case.first_by;
            last.at += case.last_by;
        }
        moved.input_axis = case.input_axis.unwrap_or(self.input_axis);
        moved.output_axis = case.output_axis.unwrap_or(self.output_axis);
        moved
    }
}
