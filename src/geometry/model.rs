//! A checked geometry: what the file said, in millimetres and degrees, ready to be moved.

use super::adjustments::{Adjustments, ChassisPlace, LinkAdjustments};
use super::axis::End;
use super::clearance::Clearance;
use super::corner::Corner;
use super::datum::Datum;
use super::final_drive::FinalDrive;
use super::load::{Load, TorquePath};
use super::propshaft::Propshaft;
use super::quantity::Limits;
use super::side::{PerSide, Side};
use super::targets::Targets;
use super::travel::Travel;
use super::tube::Tube;
use super::units::LengthUnit;
use super::upright_frame::UprightAxes;
use super::weld::{Tape, Weld};
use crate::strength::Material;

/// One car's rear suspension as its file describes it.
#[derive(Debug, Clone)]
pub struct Geometry {
    /// What the builder calls the car.
    pub name: String,
    /// Of what is written for people; every number here is in mm.
    pub units: LengthUnit,
    /// Of what is written for people of the upright's points; every point here is in side axes.
    pub upright_axes: UprightAxes,
    /// The wheel and track that the starter numbers of the file were made for, when it began as a starter.
    pub starter: Option<String>,
    /// Whether its points stand as tuning left them: a hand that moves one makes it a drawing again.
    pub tuned: bool,
    /// Whether its file has the mark of a tuning at all, which a hand that moved a point since has made void.
    pub was_tuned: bool,
    /// The points are those of the finished car.
    pub built: bool,
    /// Points were moved since it was built: a plan for the built car.
    pub planned: bool,
    /// The left wheel with its links.
    pub left: Corner,
    /// The right wheel with its links.
    pub right: Corner,
    /// True when the file gives no `[right]` and the right side is the mirror image of the left.
    pub mirrored: bool,
    /// Data of the whole car.
    pub car: Car,
    /// How far the wheels move, and in which steps that is shown.
    pub travel: Travel,
    /// What the builder demands.
    pub limits: Limits,
    /// How exactly the brackets are placed, when the file says so.
    pub weld: Option<Weld>,
    /// How exactly the points were measured, when the file says so.
    pub tape: Option<Tape>,
    /// How near parts may come to each other.
    pub clearance: Clearance,
    /// Members of the frame.
    pub tubes: Vec<Tube>,
    /// Metals that the file gives itself.
    pub materials: Vec<Material>,
    /// The loads that the link forces are asked of.
    pub loads: Vec<Load>,
    /// Places of the real car that a tape starts from.
    pub datums: Vec<Datum>,
    /// The final drive as one body, when the file gives it: where the inner joints of the halfshafts are.
    pub final_drive: Option<FinalDrive>,
    /// From the gearbox to the final drive, when the file gives it.
    pub propshaft: Option<Propshaft>,
    /// What tuning may move.
    pub adjustments: PerSide<Adjustments>,
    /// What tuning aims at.
    pub targets: Targets,
}

impl Geometry {
    /// A car with this left corner and its mirror image, in mm, nothing else known of it.
    ///
    /// What a file would be refused for is not looked for here: five different links that hold the wheel, everything
    /// outboard of the centreline, a spring on the line of its link.
    pub fn mirrored(name: impl Into<String>, left: Corner, travel: Travel) -> Self {
        let left = Corner { side: Side::Left, ..left };
        Self {
            name: name.into(),
            units: LengthUnit::Millimetre,
            upright_axes: UprightAxes::Car,
            starter: None,
            tuned: false,
            was_tuned: false,
            built: false,
            planned: false,
            right: Corner { side: Side::Right, ..left.clone() },
            left,
            mirrored: true,
            car: Car::default(),
            travel,
            limits: Limits::default(),
            weld: None,
            tape: None,
            clearance: Clearance::default(),
            tubes: Vec::new(),
            materials: Vec::new(),
            loads: Vec::new(),
            datums: Vec::new(),
            final_drive: None,
            propshaft: None,
            adjustments: PerSide::default(),
            targets: Targets::default(),
        }
    }

    /// The corner of a side.
    pub fn corner(&self, side: Side) -> &Corner {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }

    /// The same, to be changed.
    pub fn corner_mut(&mut self, side: Side) -> &mut Corner {
        match side {
            Side::Left => &mut self.left,
            Side::Right => &mut self.right,
        }
    }

    /// Makes the right side the mirror image of the left one, but for the flange of a final drive.
    pub fn mirror_left(&mut self) {
        self.right = Corner { side: Side::Right, ..self.left.clone() };
        if let Some(housing) = &self.final_drive {
            housing.seat(&mut self.right);
        }
    }

    /// True when what is told of one wheel holds for the other: a mirrored car whose final drive is not lopsided.
    pub fn looks_alike(&self) -> bool {
        self.mirrored && self.left.halfshaft == self.right.halfshaft
    }

    /// Sides that have points of their own in the file: the right one is the mirror image of the left, or another.
    pub fn own_sides(&self) -> &'static [Side] {
        if self.mirrored { &Side::BOTH[..1] } else { &Side::BOTH }
    }

    /// Of these sides, those to tell: one where it stands for both.
    pub fn told_sides<'s>(&self, sides: &'s [Side]) -> &'s [Side] {
        if self.looks_alike() { &sides[..sides.len().min(1)] } else { sides }
    }

    /// How many pickups of a side were measured each with its own standard deviation.
    pub fn measured_points(&self, side: Side) -> usize {
        let links = self.corner(side).links.iter();
        links.flat_map(|link| End::BOTH.map(|end| link.measured_sd.at(end))).flatten().count()
    }

    /// Whether every pickup of both sides was measured with a standard deviation of its own.
    pub fn is_measured(&self) -> bool {
        let ends = |side: Side| End::BOTH.len() * self.corner(side).links.len();
        Side::BOTH.into_iter().all(|side| self.measured_points(side) == ends(side))
    }

    /// Whether nothing of it is still to be welded or made: the file says so, or every pickup was measured.
    pub fn is_finished(&self) -> bool {
        self.built || self.is_measured()
    }

    /// True when every link of a side has its chassis point.
    pub fn is_placed(&self, side: Side) -> bool {
        self.adjustments[side].links.iter().all(LinkAdjustments::is_placed)
    }

    /// Names of the links that have no chassis point yet, on either side, in the order of the file.
    pub fn unplaced(&self) -> Vec<String> {
        self.links_of_which(|may| !may.is_placed())
    }

    /// The same of those that have no box for it either.
    pub fn without_room(&self) -> Vec<String> {
        self.links_of_which(|may| may.place == ChassisPlace::Nowhere)
    }

    fn links_of_which(&self, is_so: impl Fn(&LinkAdjustments) -> bool) -> Vec<String> {
        let is_on_a_side = |index: usize| self.adjustments.iter().any(|(_, side)| is_so(&side.links[index]));
        let links = self.left.links.iter().enumerate().filter(|(index, _)| is_on_a_side(*index));
        links.map(|(_, link)| link.name.clone()).collect()
    }
}

/// Data of the whole car for anti-squat and anti-lift, which have no value without them, and for the usual load cases.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Car {
    /// Between the axles.
    pub wheelbase_mm: Option<f64>,
    /// Centre of gravity above the road.
    pub cg_height_mm: Option<f64>,
    /// Share of the driving force at this axle, 0 to 1.
    pub rear_drive_share: Option<f64>,
    /// Share of the braking force at this axle, 0 to 1.
    pub rear_brake_share: Option<f64>,
    /// As it runs, driver and fuel in it.
    pub mass_kg: Option<f64>,
    /// Share of the mass that stands on this axle, 0 to 1.
    pub rear_mass_share: Option<f64>,
    /// What takes the torque of braking.
    pub brake_torque_to: Option<TorquePath>,
    /// What takes the torque of driving.
    pub drive_torque_to: Option<TorquePath>,
}

impl Car {
    /// Weight of a kilogram, N: the standard value.
    pub const GRAVITY_N_PER_KG: f64 = 9.806_65;

    /// Static load of one wheel of this axle, N, half of what stands on the axle; `None` without the masses.
    pub fn static_wheel_load_n(&self) -> Option<f64> {
        Some(0.5 * Self::GRAVITY_N_PER_KG * self.mass_kg? * self.rear_mass_share?)
    }
}
