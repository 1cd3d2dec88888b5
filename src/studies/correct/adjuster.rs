//! What can be adjusted at one wheel, in the steps in which the shop can do it.

use nalgebra::Vector3;

use super::finding::ToeSetting;
use super::finished_wheel::DrawnWheel;
use crate::gauge::{Change, What};
use crate::geometry::{BracketAdjuster, Corner, End, Interval, LengthAdjuster, LengthKind, LengthUnit};

/// A slot is set to this, mm.
const SLOT_STEP_MM: f64 = 0.1;
/// A sleeve that takes every length is turned by a twelfth of a turn: half a flat of its hexagon.
const SLEEVE_STEP_TURNS: f64 = 1.0 / 12.0;
/// A step of toe above this, deg, is too coarse to set toe to a gauge.
const COARSE_DEG: f64 = 0.1;
/// As many assumed shims go in or out.
const ASSUMED_SHIMS: f64 = 12.0;
/// Of an M10 rod end, where the file gives no thread, mm.
const ASSUMED_PITCH_MM: f64 = 1.25;
/// Rounding of a range that ends on a step.
const ON_STEP: f64 = 1e-6;

/// One thing that can be changed, in whole steps from how it is now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Adjuster {
    pub link: usize,
    pub what: What,
    pub step_mm: f64,
    /// How many steps it may go down and up.
    pub steps: [i32; 2],
    /// Length of a turn, mm, of a thread.
    pub mm_per_turn: Option<f64>,
    /// How far it is from the drawing already, mm.
    pub so_far_mm: f64,
}

impl Adjuster {
    fn new(link: usize, what: What, step_mm: f64, range_mm: Interval, earlier: &[Change]) -> Self {
        let so_far_mm: f64 = earlier.iter().filter(|change| change.link == link).map(|change| part(what, change)).sum();
        let low = ((range_mm.low - so_far_mm) / step_mm - ON_STEP).ceil().min(0.0);
        let high = ((range_mm.high - so_far_mm) / step_mm + ON_STEP).floor().max(0.0);
        Self { link, what, step_mm, steps: [low as i32, high as i32], mm_per_turn: None, so_far_mm }
    }

    fn of_bracket(link: usize, end: End, bracket: &BracketAdjuster, earlier: &[Change]) -> Self {
        let along = bracket.along;
        let (what, step_mm) = match bracket.step_mm {
            Some(step_mm) => (What::Shim { end, along }, step_mm),
            None => (What::Slot { end, along }, SLOT_STEP_MM),
        };
        Self::new(link, what, step_mm, bracket.range_mm, earlier)
    }

    fn of_length(link: usize, length: &LengthAdjuster, earlier: &[Change]) -> Self {
        let mm_per_turn = length.mm_per_turn();
        let step_mm = length.step_turns.unwrap_or(SLEEVE_STEP_TURNS) * mm_per_turn;
        let range_mm =
            Interval { low: length.range_turns.low * mm_per_turn, high: length.range_turns.high * mm_per_turn };
        Self { mm_per_turn: Some(mm_per_turn), ..Self::new(link, What::Length, step_mm, range_mm, earlier) }
    }

    /// So many steps of it.
    pub fn change(&self, steps: i32) -> Change {
        Change { link: self.link, what: self.what, by_mm: f64::from(steps) * self.step_mm }
    }
}

/// How much of an earlier change lies along this one, mm.
fn part(what: What, change: &Change) -> f64 {
    match (what.moves(), change.what.moves()) {
        (None, None) => change.by_mm,
        (Some((end, along)), Some((moved, was))) if end == moved => change.by_mm * along.dot(&was),
        _ => 0.0,
    }
}

/// Everything that can be adjusted at a wheel but its static toe, and whether that was assumed because the file says nothing.
pub(super) fn adjusters(drawn: &DrawnWheel<'_>, earlier: &[Change]) -> (Vec<Adjuster>, bool) {
    let given = of_corner(drawn.corner, drawn.toe_link, earlier);
    if given.is_empty() { (assumed(drawn, earlier), true) } else { (given, false) }
}

fn of_corner(corner: &Corner, toe_link: usize, earlier: &[Change]) -> Vec<Adjuster> {
    let mut all = Vec::new();
    for (link, of) in corner.links.iter().enumerate() {
        let brackets = End::BOTH.into_iter().filter_map(|end| Some((end, of.adjusters.at(end)?)));
        all.extend(brackets.map(|(end, bracket)| Adjuster::of_bracket(link, end, &bracket, earlier)));
        let length = of.adjusters.length.filter(|_| link != toe_link);
        all.extend(length.map(|length| Adjuster::of_length(link, &length, earlier)));
    }
    all
}

/// Shims under the toe link's bracket on the frame, and a rod end that is turned by half turns on each of the other links.
fn assumed(drawn: &DrawnWheel<'_>, earlier: &[Change]) -> Vec<Adjuster> {
    let step_mm = assumed_shim_mm(drawn.geometry.units);
    let range_mm = Interval::either_way(ASSUMED_SHIMS * step_mm);
    let bracket = BracketAdjuster { along: Vector3::z_axis(), step_mm: Some(step_mm), range_mm };
    let length = |link: usize| LengthAdjuster {
        kind: LengthKind::End,
        pitch_mm: drawn.corner.links[link].pitch_mm().unwrap_or(ASSUMED_PITCH_MM),
        step_turns: Some(0.5),
        range_turns: Interval::either_way(4.0),
    };
    let others = (0..5).filter(|link| *link != drawn.toe_link);
    std::iter::once(Adjuster::of_bracket(drawn.toe_link, End::Chassis, &bracket, earlier))
        .chain(others.map(|link| Adjuster::of_length(link, &length(link), earlier)))
        .collect()
}

/// The thinnest shim of a shop whose file says of no link what can be adjusted, mm: 0.5 mm, or 0.02 in.
pub fn assumed_shim_mm(units: LengthUnit) -> f64 {
    match units {
        LengthUnit::Millimetre => 0.5,
        LengthUnit::Inch => units.to_mm(0.02),
    }
}

/// Index of the link that sets toe: the one that the file names, else the one whose length moves toe most.
pub(super) fn toe_link(corner: &Corner, toe_by_length: &[f64; 5]) -> usize {
    let said = corner.links.iter().position(|link| link.sets_toe);
    let size = |link: &usize| toe_by_length[*link].abs();
    said.or_else(|| (0..5).max_by(|a, b| size(a).total_cmp(&size(b)))).unwrap_or(0)
}

/// How toe is set.
pub(super) fn toe_setting(drawn: &DrawnWheel<'_>) -> ToeSetting {
    let link = &drawn.corner.links[drawn.toe_link];
    let deg_per_mm = drawn.toe_by_length[drawn.toe_link];
    let step_mm = link.adjusters.length.and_then(|length| Some(length.step_turns? * length.mm_per_turn()));
    let step_deg = step_mm.filter(|&step_mm| step_mm > 0.0).map(|step_mm| (step_mm * deg_per_mm).abs());
    ToeSetting {
        said_in_file: link.sets_toe,
        deg_per_mm,
        step_deg,
        is_coarse: step_deg.is_some_and(|step| step > COARSE_DEG),
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::Vector3;

    use super::{Adjuster, DrawnWheel, adjusters, toe_setting};
    use crate::file::GeometryFile;
    use crate::gauge::{Change, What};
    use crate::geometry::{
        BracketAdjuster, End, Geometry, Interval, LengthAdjuster, LengthKind, LengthUnit, LinkAdjusters, RodEnd, Side,
    };
    use crate::strength::Thread;

    fn car() -> Geometry {
        GeometryFile::parse("car", include_str!("../../../geometries/first-cut.toml")).unwrap().geometry
    }

    /// A range counts from the stack as drawn, over all rounds.
    #[test]
    fn what_was_used_in_earlier_rounds_is_not_there_again() {
        let bracket =
            BracketAdjuster { along: Vector3::z_axis(), step_mm: Some(0.5), range_mm: Interval::either_way(6.0) };
        let what = What::Shim { end: End::Chassis, along: Vector3::z_axis() };
        let of = |link, by_mm| Change { link, what, by_mm };
        let other_end = Change { what: What::Shim { end: End::Upright, along: Vector3::z_axis() }, ..of(2, 3.0) };
        let earlier = [of(2, -4.0), of(1, 3.0), other_end, of(2, -1.5), Change { what: What::Length, ..of(2, 2.0) }];
        let left = Adjuster::of_bracket(2, End::Chassis, &bracket, &earlier);
        assert_eq!((left.so_far_mm, left.steps), (-5.5, [-1, 23]));
        assert_eq!(left.change(-1).by_mm, -0.5);
    }

    /// A sleeve of 1.5 mm pitch makes 3 mm a turn; the link that sets toe is no choice.
    #[test]
    fn what_the_file_allows_is_what_is_open_in_its_own_steps() {
        let mut geometry = car();
        let length = LengthAdjuster {
            kind: LengthKind::Sleeve,
            pitch_mm: 1.5,
            step_turns: Some(0.25),
            range_turns: Interval { low: -1.0, high: 2.0 },
        };
        for link in [1, 4] {
            geometry.left.links[link].adjusters.length = Some(length);
        }
        let slot = BracketAdjuster { along: -Vector3::y_axis(), step_mm: None, range_mm: Interval::up_to(2.0) };
        geometry.left.links[4].adjusters.chassis = Some(slot);
        geometry.left.links[4].sets_toe = true;
        let drawn = DrawnWheel::new(&geometry, Side::Left).unwrap();
        let (open, assumed) = adjusters(&drawn, &[]);
        let told: Vec<_> = open.iter().map(|of| (of.link, of.what.name(), of.steps)).collect();
        assert_eq!((told, assumed), (vec![(1, "length", [-4, 8]), (4, "slot", [0, 20])], false));
        assert_eq!(open[0].step_mm, 0.75);
    }

    /// M12x1.75 makes 0.875 mm of half a turn; without a thread it is taken for 1.25 mm. Shims are in the unit of the file.
    #[test]
    fn where_nothing_is_said_half_a_turn_is_that_of_the_thread_of_the_file() {
        let mut geometry = car();
        for link in &mut geometry.left.links {
            link.adjusters = LinkAdjusters::default();
            link.hardware.rod_end = None;
        }
        let coarse = RodEnd { thread: "M12x1.75".parse::<Thread>().ok(), ..RodEnd::default() };
        geometry.left.links[1].hardware.rod_end = Some(coarse);
        let steps = |geometry: &Geometry| -> Vec<f64> {
            let drawn = DrawnWheel::new(geometry, Side::Left).unwrap();
            let (open, assumed) = adjusters(&drawn, &[]);
            assert!(assumed);
            open.iter().map(|of| of.step_mm).collect()
        };
        assert_eq!(steps(&geometry), [0.5, 0.625, 0.875, 0.625, 0.625]);
        geometry.units = LengthUnit::Inch;
        assert_eq!(steps(&geometry)[0], 0.508);
    }

    /// A toe link 30 mm and more behind the axle turns the wheel by 0.2 to 1 deg with each millimetre.
    #[test]
    fn a_toe_link_that_only_turns_by_half_turns_is_told() {
        let mut geometry = car();
        let unsaid = DrawnWheel::new(&geometry, Side::Left).unwrap();
        assert_eq!(
            (unsaid.toe_link, toe_setting(&unsaid).said_in_file, toe_setting(&unsaid).is_coarse),
            (4, false, false)
        );
        geometry.left.links[4].adjusters.length = Some(LengthAdjuster {
            kind: LengthKind::End,
            pitch_mm: 1.25,
            step_turns: Some(0.5),
            range_turns: Interval::either_way(3.0),
        });
        let turned = DrawnWheel::new(&geometry, Side::Left).unwrap();
        let setting = toe_setting(&turned);
        // The same by solved cars: half a turn of 1.25 mm.
        let longer = turned.linkage.lengthened(4, 0.3125).design().unwrap();
        let shorter = turned.linkage.lengthened(4, -0.3125).design().unwrap();
        let toe = |posture| crate::measures::toe_deg(&crate::measures::spin_axis(turned.corner, &posture));
        let step_deg = setting.step_deg.unwrap();
        assert!((step_deg - (toe(longer) - toe(shorter)).abs()).abs() < 1e-3 && setting.is_coarse, "{step_deg}");
    }
}
