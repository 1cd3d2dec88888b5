//! Links that share a hole: what may move both moves them as one, for no bracket parts them by less than two rod ends need.

use super::{DesignVariable, VariableKind};
use crate::geometry::{AdjustmentRange, Corner, End};
use crate::measures::SAME_JOINT_MM;

/// A link whose end is in the hole of another one, and goes where that goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Follower {
    link: usize,
    leader: VariableKind,
}

impl Follower {
    /// The same variable of the link that follows.
    fn kind(&self) -> Option<VariableKind> {
        match self.leader {
            VariableKind::Pickup { end, axis, .. } => Some(VariableKind::Pickup { link: self.link, end, axis }),
            _ => None,
        }
    }
}

/// Takes out of the list what follows another variable: one way of an end of a link, free as that of an earlier link in the same hole. The
/// hole has the room that both have.
pub(super) fn followers(drawn: &Corner, unplaced: [bool; 5], list: &mut Vec<DesignVariable>) -> Vec<Follower> {
    let mut found = Vec::new();
    let mut kept: Vec<DesignVariable> = Vec::new();
    for variable in list.drain(..) {
        let leader = kept.iter_mut().find_map(|other| {
            let room = room_of_both((drawn, unplaced), other, &variable)?;
            Some((other, room))
        });
        match (leader, variable.kind) {
            (Some((leader, room)), VariableKind::Pickup { link, .. }) => {
                leader.range = room;
                found.push(Follower { link, leader: leader.kind });
            }
            _ => kept.push(variable),
        }
    }
    *list = kept;
    found
}

/// `None` where they move no hole that is shared.
fn room_of_both(
    (drawn, unplaced): (&Corner, [bool; 5]),
    a: &DesignVariable,
    b: &DesignVariable,
) -> Option<AdjustmentRange> {
    let (VariableKind::Pickup { link, end, axis }, VariableKind::Pickup { link: other, end: of_other, axis: of_axis }) =
        (a.kind, b.kind)
    else {
        return None;
    };
    let place = |link: usize| match end {
        End::Chassis => drawn.links[link].chassis,
        End::Upright => drawn.links[link].upright,
    };
    let is_placed = end == End::Upright || !(unplaced[link] || unplaced[other]);
    let is_one = is_placed && (end, axis) == (of_other, of_axis) && (place(link) - place(other)).norm() < SAME_JOINT_MM;
    let (low, high) = (a.range.low.max(b.range.low), a.range.high.min(b.range.high));
    (is_one && a.range.step == b.range.step && low < high).then_some(AdjustmentRange { low, high, step: a.range.step })
}

/// The variable and those that follow it.
pub(super) fn with_followers(followers: &[Follower], kind: VariableKind) -> impl Iterator<Item = VariableKind> {
    let follow = followers.iter().filter(move |of| of.leader == kind).filter_map(Follower::kind);
    std::iter::once(kind).chain(follow)
}
