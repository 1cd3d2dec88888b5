//! Space for what tuning places: a least distance between two pickups, a least length of their links, a place outboard of the
//! final drive and on the wheel's side of the tube that carries it, and a final drive that the halfshaft reaches.

use nalgebra::Vector3;

use super::residual::ResidualOf;
use crate::geometry::{Corner, Tube};
use crate::measures::{CarryingTube, Gradient};
use crate::studies::design_variables::{DesignVariables, VariableKind};

/// New pickups keep this far apart, and links at least this long, mm: room for two rod ends and their brackets.
const PICKUPS_APART_MM: f64 = 30.0;
const MIN_LINK_MM: f64 = 120.0;

/// A distance that may not fall below its least, with its derivatives.
pub(super) struct PickupSpacing {
    pub on: ResidualOf,
    pub mm: f64,
    pub least_mm: f64,
    pub gradient: Gradient,
}

impl PickupSpacing {
    pub fn is_there(&self) -> bool {
        self.mm >= self.least_mm
    }
}

/// The distances of every link whose chassis pickup the file leaves to tuning; those between pickups of the file are the
/// builder's. A pickup that moves stays outboard of the inner joint, for nearer the middle of the car is the final drive, and a
/// final drive that moves stays where the shaft of the file can be put in. A new pickup is in no frame tube. `carrying` are the tubes
/// that carry a bracket as drawn.
pub(super) fn spacings(corner: &Corner, variables: &DesignVariables, carrying: &[CarryingTube]) -> Vec<PickupSpacing> {
    let unplaced = variables.unplaced;
    let outboard = (0..5).filter(|&i| variables.outboard[i]).filter_map(|i| outboard_of_joint(corner, i));
    let lengths = (0..5).filter(|&i| unplaced[i]).map(|i| length(corner, i));
    let pairs = (0..5).flat_map(|i| (0..i).map(move |j| (i, j))).filter(|&(i, j)| unplaced[i] || unplaced[j]);
    let clear = carrying.iter().map(|tube| clear_of(tube, corner));
    let pairs = pairs.map(|(i, j)| apart(corner, i, j));
    let beside =
        variables.keeps_out_of.iter().filter_map(|&(i, tube, radius_mm)| outside_of(corner, i, tube, radius_mm));
    lengths.chain(pairs).chain(outboard).chain(clear).chain(beside).chain(reached(corner, variables)).collect()
}

/// How far a pickup is outside of a frame tube; nothing past the ends of that.
fn outside_of(corner: &Corner, i: usize, tube: &Tube, radius_mm: f64) -> Option<PickupSpacing> {
    let place = corner.links[i].chassis;
    if !(0.0..=tube.length_mm()).contains(&tube.along_mm(&place)) {
        return None;
    }
    let along = (tube.to - tube.from).normalize();
    let across = |way: Vector3<f64>| way - along * way.dot(&along);
    // On the centre line its link leads out.
    let off = across(place - tube.from);
    let out = off.try_normalize(0.0).or_else(|| across(corner.links[i].upright - place).try_normalize(0.0))?;
    let mut gradient = Gradient::default();
    gradient.links.chassis[i] = out;
    Some(PickupSpacing { on: ResidualOf::ClearOfTube, mm: off.norm() - radius_mm, least_mm: 0.0, gradient })
}

/// Less than the last digit of a file takes from what a shaft reaches, mm.
const WRITTEN_MM: f64 = 0.01;

/// What is left of the halfshaft's reach at either end, when the final drive moves and is within reach as drawn.
fn reached(corner: &Corner, variables: &DesignVariables) -> Vec<PickupSpacing> {
    let moves = variables.list.iter().any(|variable| matches!(variable.kind, VariableKind::FinalDrive { .. }));
    let drawn = variables.drawn().halfshaft.as_ref().filter(|_| moves);
    let Some((drawn, shaft)) = drawn.zip(corner.halfshaft.as_ref()) else { return Vec::new() };
    let reach = drawn.reach_mm().filter(|reach| (reach.low..=reach.high).contains(&drawn.length_mm()));
    let Some(reach) = reach else { return Vec::new() };
    let along = (shaft.outer - shaft.inner).normalize();
    let end = |sign: f64, end_mm: f64| {
        let gradient =
            Gradient { halfshaft_outer: along * sign, halfshaft_inner: -along * sign, ..Gradient::default() };
        let mm = sign * (shaft.length_mm() - end_mm);
        PickupSpacing { on: ResidualOf::ShaftLength, mm, least_mm: WRITTEN_MM, gradient }
    };
    vec![end(1.0, reach.low), end(-1.0, reach.high)]
}

fn length(corner: &Corner, i: usize) -> PickupSpacing {
    let along = corner.links[i].upright - corner.links[i].chassis;
    let mut gradient = Gradient::default();
    gradient.links.upright[i] = along.normalize();
    gradient.links.chassis[i] = -along.normalize();
    PickupSpacing { on: ResidualOf::LinkLength, mm: along.norm(), least_mm: MIN_LINK_MM, gradient }
}

fn outboard_of_joint(corner: &Corner, i: usize) -> Option<PickupSpacing> {
    let inner = corner.halfshaft.as_ref()?.inner;
    let mut gradient = Gradient::default();
    gradient.links.chassis[i] = Vector3::y();
    gradient.halfshaft_inner = -Vector3::y();
    let mm = corner.links[i].chassis.y - inner.y;
    Some(PickupSpacing { on: ResidualOf::OutboardOfJoint, mm, least_mm: 0.0, gradient })
}

fn clear_of(tube: &CarryingTube, corner: &Corner) -> PickupSpacing {
    let clear = tube.clear(corner);
    PickupSpacing { on: ResidualOf::ClearOfTube, mm: clear.mm, least_mm: 0.0, gradient: clear.gradient }
}

fn apart(corner: &Corner, i: usize, j: usize) -> PickupSpacing {
    let between = corner.links[i].chassis - corner.links[j].chassis;
    let mut gradient = Gradient::default();
    // Two pickups in one place are apart in no direction yet; any will do to part them.
    let away = between.try_normalize(0.0).unwrap_or_else(Vector3::x);
    gradient.links.chassis[i] = away;
    gradient.links.chassis[j] = -away;
    PickupSpacing { on: ResidualOf::PickupsApart, mm: between.norm(), least_mm: PICKUPS_APART_MM, gradient }
}
