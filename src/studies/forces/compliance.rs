//! What a load does to toe, camber and the place of the tyre: links and rod ends give along themselves, all else is rigid.

use nalgebra::Vector3;
use serde::Serialize;

use super::balance::strut;
use super::cases::CaseLoad;
use super::margins::{metal, section};
use super::wheel_load::on_upright;
use crate::geometry::{Corner, Geometry, Link, Side, Spring, TorquePath};
use crate::measures::spin_axis;
use crate::mechanism::{Flexibility, Linkage, Posture, Wrench};
use crate::studies::inspection::Lacking;

/// Change of a wheel under a load.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Deflection {
    /// Toe-in positive.
    pub toe_deg: f64,
    /// Top outboard positive.
    pub camber_deg: f64,
    /// Of the tyre at the road, outboard positive.
    pub lateral_mm: f64,
}

/// What is held while the links give, which can turn the sign of the answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Held {
    /// The wheel centre keeps its height against the chassis, as on a rig that is clamped in height; the spring does not feel
    /// the load.
    WheelTravel,
    /// The height is free: the spring takes its part of the load and gives by its rate, so bump steer comes in.
    Nothing,
}

impl Held {
    /// As JSON and tables write it.
    pub fn name(self) -> &'static str {
        match self {
            Self::WheelTravel => "wheel_travel",
            Self::Nothing => "nothing",
        }
    }
}

/// What one unit of a load does to a wheel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct UnitResponse {
    /// The load.
    pub load: UnitLoad,
    /// What is held.
    pub held: Held,
    /// What comes of it.
    #[serde(flatten)]
    pub deflection: Deflection,
}

/// A load of one unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum UnitLoad {
    /// 1 kN at the contact point, outboard: what an inner wheel feels; the outer one has the opposite.
    LateralOutboard,
    /// 1 kN at the contact point, rearward, its torque where the brake is.
    Braking,
    /// 1 kN at the contact point, forward, its torque where the drive comes from.
    Driving,
    /// 100 N·m about the vertical, as on a left wheel: toe-out.
    Aligning,
}

impl UnitLoad {
    /// In the order in which they are told.
    pub const ALL: [Self; 4] = [Self::LateralOutboard, Self::Braking, Self::Driving, Self::Aligning];

    /// As JSON and tables write it.
    pub fn name(self) -> &'static str {
        match self {
            Self::LateralOutboard => "lateral_outboard",
            Self::Braking => "braking",
            Self::Driving => "driving",
            Self::Aligning => "aligning",
        }
    }

    /// `None` where the car does not say which way the torque goes.
    fn load(self, geometry: &Geometry) -> Option<CaseLoad> {
        let contact = |contact_n: Vector3<f64>, torque_to: Option<TorquePath>| CaseLoad {
            contact_n,
            torque_to,
            ..CaseLoad::default()
        };
        let car = &geometry.car;
        match self {
            Self::LateralOutboard => Some(contact(Vector3::y() * 1000.0, None)),
            Self::Braking => Some(contact(Vector3::x() * -1000.0, Some(car.brake_torque_to?))),
            Self::Driving => Some(contact(Vector3::x() * 1000.0, Some(car.drive_torque_to?))),
            Self::Aligning => Some(CaseLoad { moment_nm: Vector3::z() * 100.0, ..CaseLoad::default() }),
        }
    }
}

/// The stiffness of one link from bracket to upright, N/mm, its rod ends and bracket with it; `None` without the sizes or the
/// metal of its tube.
///
/// Source: springs in a row: `L/(E A) + 2/k_rod end + 1/k_bracket`. Tested by `tests/forces/compliance.rs`.
pub fn link_stiffness_n_per_mm(geometry: &Geometry, link: &Link) -> Option<f64> {
    let tube = link.tube.as_ref()?;
    let (metal, section) = (metal(geometry, tube).ok()?, section(tube)?);
    let joint = link.hardware.rod_end.as_ref().and_then(|rod_end| rod_end.stiffness_n_per_mm);
    let flexible = link.length_mm() / (metal.e_mpa * section.area_mm2())
        + joint.map_or(0.0, |k| 2.0 / k)
        + link.hardware.bracket_stiffness_n_per_mm.map_or(0.0, |k| 1.0 / k);
    Some(1.0 / flexible)
}

/// A wheel whose links give.
pub(super) struct FlexibleWheel<'g> {
    corner: &'g Corner,
    geometry: &'g Geometry,
    posture: Posture,
    /// Height held; height free when the rate of the spring is known.
    held: Flexibility,
    free: Option<Flexibility>,
}

impl<'g> FlexibleWheel<'g> {
    /// At a posture; `None` when a link has no stiffness or nothing can be solved there.
    pub(super) fn at(geometry: &'g Geometry, corner: &'g Corner, spring: &Spring, posture: &Posture) -> Option<Self> {
        let stiffness: Vec<f64> =
            corner.links.iter().map(|link| link_stiffness_n_per_mm(geometry, link)).collect::<Option<_>>()?;
        let stiffness: [f64; 5] = stiffness.try_into().ok()?;
        let linkage = Linkage::new(corner);
        Some(Self {
            corner,
            geometry,
            posture: *posture,
            held: Flexibility::with_travel_held(&linkage, posture, &stiffness)?,
            free: spring.make.rate_n_per_mm.and_then(|rate_n_per_mm| {
                let strut = strut(corner, spring, posture);
                Flexibility::on_spring(&linkage, posture, &stiffness, &strut, rate_n_per_mm)
            }),
        })
    }

    /// Under a load, with this held; `None` with nothing held while the spring has no rate.
    pub(super) fn deflection(&self, load: &CaseLoad, held: Held) -> Option<Deflection> {
        let flexibility = match held {
            Held::WheelTravel => Some(&self.held),
            Held::Nothing => self.free.as_ref(),
        }?;
        let (wrench, _) = on_upright(load, self.corner, &self.posture);
        Some(self.seen(flexibility, &wrench))
    }

    /// First order in the load, so that it grows in proportion with it.
    fn seen(&self, flexibility: &Flexibility, wrench: &Wrench) -> Deflection {
        let (shift, turn) = flexibility.displacement(wrench);
        let s = spin_axis(self.corner, &self.posture);
        let turned = turn.cross(&s);
        let level = s.x.hypot(s.y);
        // The lowest point of the disc: down the wheel plane, which turns with the spindle.
        let down = (s * s.z - Vector3::z()) / level;
        let down_turned = turned * s.z + s * turned.z;
        let contact = (down_turned - down * down.dot(&down_turned)) / level * self.corner.wheel.tyre_radius_mm;
        Deflection {
            toe_deg: ((s.y * turned.x - s.x * turned.y) / level.powi(2)).to_degrees(),
            camber_deg: (-turned.z / level).to_degrees(),
            lateral_mm: shift.y + contact.y,
        }
    }

    /// What one unit of every load does.
    pub(super) fn units(&self) -> Vec<UnitResponse> {
        let both = [Held::WheelTravel, Held::Nothing];
        let each = UnitLoad::ALL.into_iter().flat_map(|load| both.map(|held| (load, held)));
        each.filter_map(|(load, held)| {
            let deflection = self.deflection(&load.load(self.geometry)?, held)?;
            Some(UnitResponse { load, held, deflection })
        })
        .collect()
    }
}

/// What of the compliance of these wheels cannot be told, and the keys that would tell it.
pub(super) fn lacking(geometry: &Geometry, sides: &[Side]) -> Vec<Lacking> {
    let corners = || sides.iter().map(|&side| geometry.corner(side));
    let no_link =
        corners().flat_map(|corner| &corner.links).any(|link| link_stiffness_n_per_mm(geometry, link).is_none());
    let no_rate =
        corners().any(|corner| corner.spring.as_ref().is_some_and(|spring| spring.make.rate_n_per_mm.is_none()));
    let lacking = [
        (no_link, "toe and camber under load", "od, wall and a known material in the `tube` of every link"),
        (no_rate && !no_link, "toe and camber under load with the height free", "rate in [spring]"),
    ];
    let told = lacking.into_iter().filter(|(lacks, ..)| *lacks);
    told.map(|(_, what, needs)| Lacking { what: what.to_owned(), needs: needs.to_owned() }).collect()
}
