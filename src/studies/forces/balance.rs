//! The forces in the links, the spring or the droop strap, and the brackets of one wheel at one position.

use std::fmt;

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use super::cases::CaseLoad;
use super::compliance::Deflection;
use super::part::Part;
use super::wheel_load::{HalfshaftTorque, direction, on_upright};
use crate::geometry::{Corner, Spring, SpringMount, Strap};
use crate::measures::spring_mount_point;
use crate::mechanism::{Linkage, Posture, SpringDoesNotHold, Strut, Tensions, Wrench, tensions};

/// The forces of one wheel at one position.
#[derive(Debug, Clone, PartialEq)]
pub struct WheelForces {
    /// Bump travel, mm, up positive.
    pub bump_mm: f64,
    /// Of the links, in file order.
    pub links: [PartForce; 5],
    /// Tension of the spring, N, pull positive; 0 where the strap holds the wheel.
    pub spring_n: f64,
    /// Tension of the droop strap, N; 0 where the spring holds the wheel, `None` without a strap.
    pub strap_n: Option<f64>,
    /// When the halfshaft takes the torque of the wheel.
    pub halfshaft: Option<HalfshaftTorque>,
    /// On the frame, in the order of [`Part::all`].
    pub brackets: Vec<BracketForce>,
    /// How far the brackets miss the load: the larger of force and moment that is left, over the load (no unit). A check of
    /// the whole: the brackets stand elsewhere than the balance was made.
    pub equilibrium_error: f64,
    /// What the load does to the wheel, its height held; `None` where the links have no stiffness.
    pub deflection: Option<Deflection>,
    /// The parts nearly fail to hold the wheel here.
    pub nearly_singular: bool,
}

/// What one part carries, N and N·m, pull positive. Only a link that carries the spring has more than a force along itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartForce {
    /// Mean along the link; everywhere the same unless the spring stands on it.
    pub axial_n: f64,
    /// Between its chassis end and the spring.
    pub axial_chassis_n: f64,
    /// Between the spring and its upright end.
    pub axial_upright_n: f64,
    /// Force across its chassis end; 0 unless the spring stands on it.
    pub shear_chassis_n: f64,
    /// Force across its upright end; 0 unless the spring stands on it.
    pub shear_upright_n: f64,
    /// Largest bending moment, at the spring; 0 unless the spring stands on the link.
    pub bending_nm: f64,
}

impl PartForce {
    fn along(axial_n: f64) -> Self {
        Self {
            axial_n,
            axial_chassis_n: axial_n,
            axial_upright_n: axial_n,
            shear_chassis_n: 0.0,
            shear_upright_n: 0.0,
            bending_nm: 0.0,
        }
    }

    /// Largest force across the link, N; never negative.
    pub fn shear_n(&self) -> f64 {
        self.shear_chassis_n.max(self.shear_upright_n)
    }

    /// The forces along its parts.
    pub fn axial(&self) -> [f64; 2] {
        [self.axial_chassis_n, self.axial_upright_n]
    }
}

/// What a part does to the frame at one place, side axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BracketForce {
    /// The part whose end on the frame it is.
    pub part: Part,
    /// Where it stands, mm.
    pub at: Point3<f64>,
    /// Force on the frame, N.
    pub force_n: Vector3<f64>,
}

/// Why a taut strap does not hold the wheel under a load.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StrapFails {
    /// It would have to push.
    WouldPush,
    /// The wheel moves without changing its length.
    DoesNotHold,
}

impl fmt::Display for StrapFails {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::WouldPush => "the strap would have to push",
            Self::DoesNotHold => "the strap does not hold the wheel here: the wheel moves without changing its length",
        })
    }
}

impl std::error::Error for StrapFails {}

impl WheelForces {
    /// On the spring under a load at a posture of this corner; a strap hangs slack.
    ///
    /// Source: `docs/theory.md`, "Forces in links and brackets". Tested by `tests/forces/balance.rs`.
    pub fn of(corner: &Corner, spring: &Spring, posture: &Posture, load: &CaseLoad) -> Result<Self, SpringDoesNotHold> {
        let felt = on_upright(load, corner, posture);
        let tensions = tensions(&Linkage::new(corner), posture, &strut(corner, spring, posture), &felt.0)?;
        let strap_n = spring.make.strap.map(|_| 0.0);
        Ok(Self::balanced((corner, spring), posture, felt, &tensions, (tensions.strut_n, strap_n)))
    }

    /// The same on the taut strap; the spring hangs slack.
    ///
    /// Source: `docs/theory.md`, "Forces in links and brackets". Tested by `tests/forces/strap.rs`.
    pub fn on_strap(
        (corner, spring, strap): (&Corner, &Spring, &Strap),
        posture: &Posture,
        load: &CaseLoad,
    ) -> Result<Self, StrapFails> {
        let felt = on_upright(load, corner, posture);
        let at = posture.point(&strap.upright);
        let strut = Strut { direction: direction(&strap.chassis, &at), at, share: 1.0 };
        let tensions = tensions(&Linkage::new(corner), posture, &strut, &felt.0);
        let tensions = tensions.map_err(|SpringDoesNotHold| StrapFails::DoesNotHold)?;
        if tensions.strut_n < 0.0 {
            return Err(StrapFails::WouldPush);
        }
        Ok(Self::balanced((corner, spring), posture, felt, &tensions, (0.0, Some(tensions.strut_n))))
    }

    fn balanced(
        (corner, spring): (&Corner, &Spring),
        posture: &Posture,
        (wrench, halfshaft): (Wrench, Option<HalfshaftTorque>),
        tensions: &Tensions,
        (spring_n, strap_n): (f64, Option<f64>),
    ) -> Self {
        let carrier = match spring.on {
            SpringMount::Upright => None,
            SpringMount::Link { index, share } => Some((index, share)),
        };
        // What the spring does to the link that carries it.
        let along_spring = strut(corner, spring, posture).direction;
        let pull_n = along_spring * -spring_n;
        let spans = corner.links.each_ref().map(|link| posture.point(&link.upright) - link.chassis);
        let carried = |i: usize| carrier.filter(|(index, _)| *index == i).map(|(_, share)| share);
        let links = std::array::from_fn(|i| match carried(i) {
            None => PartForce::along(tensions.links_n[i]),
            Some(share) => bent(tensions.links_n[i], &pull_n, share, &spans[i]),
        });
        let of_link = |i: usize| {
            let along_n = spans[i].normalize() * tensions.links_n[i];
            let force_n = along_n + carried(i).map_or(Vector3::zeros(), |share| pull_n * (1.0 - share));
            BracketForce { part: Part::Link(i), at: corner.links[i].chassis, force_n }
        };
        let of_spring = BracketForce { part: Part::Spring, at: spring.chassis, force_n: along_spring * spring_n };
        let of_strap = spring.make.strap.zip(strap_n).map(|(strap, strap_n)| BracketForce {
            part: Part::Strap,
            at: strap.chassis,
            force_n: direction(&strap.chassis, &posture.point(&strap.upright)) * strap_n,
        });
        let brackets: Vec<BracketForce> = (0..5).map(of_link).chain([of_spring]).chain(of_strap).collect();
        let equilibrium_error = equilibrium_error(&brackets, &wrench, &posture.wheel_centre());
        Self {
            bump_mm: posture.bump_mm,
            links,
            spring_n,
            strap_n,
            halfshaft,
            brackets,
            equilibrium_error,
            deflection: None,
            nearly_singular: tensions.nearly_singular,
        }
    }

    /// What one part carries.
    pub fn of_part(&self, part: Part) -> PartForce {
        match part {
            Part::Link(index) => self.links[index],
            Part::Spring => PartForce::along(self.spring_n),
            Part::Strap => PartForce::along(self.strap_n.unwrap_or_default()),
        }
    }
}

/// The spring as the upright feels it.
pub(super) fn strut(corner: &Corner, spring: &Spring, posture: &Posture) -> Strut {
    let direction = direction(&spring.chassis, &spring_mount_point(corner, spring, posture));
    let (at, share) = match spring.on {
        SpringMount::Upright => (spring.mount, 1.0),
        SpringMount::Link { index, share } => (corner.links[index].upright, share),
    };
    Strut { direction, at: posture.point(&at), share }
}

/// A link of span `span` pulled by `pull_n` at a share of its length from the chassis, a beam on two rod ends.
fn bent(axial_n: f64, pull_n: &Vector3<f64>, share: f64, span: &Vector3<f64>) -> PartForce {
    let unit = span.normalize();
    let along_n = pull_n.dot(&unit);
    let across_n = (pull_n - unit * along_n).norm();
    PartForce {
        axial_n,
        axial_chassis_n: axial_n + (1.0 - share) * along_n,
        axial_upright_n: axial_n - share * along_n,
        shear_chassis_n: (1.0 - share) * across_n,
        shear_upright_n: share * across_n,
        bending_nm: across_n * share * (1.0 - share) * span.norm() / 1000.0,
    }
}

/// The frame feels what the load brings to the wheel: forces on the brackets and their moments about the wheel centre.
fn equilibrium_error(brackets: &[BracketForce], load: &Wrench, wheel_centre: &Point3<f64>) -> f64 {
    let felt = brackets.iter().map(|bracket| Wrench::of_force(bracket.force_n, &bracket.at, wheel_centre));
    let felt = felt.fold(Wrench::default(), |sum, part| sum + part);
    let left = Wrench { force_n: felt.force_n - load.force_n, moment_n_mm: felt.moment_n_mm - load.moment_n_mm };
    if load.size_n() == 0.0 { left.size_n() } else { left.size_n() / load.size_n() }
}
