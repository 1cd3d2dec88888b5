//! A link and the frame tube that carries its bracket: it leaves the tube and does not run through it.
//!
//! Seen along the tube, the link starts at its bracket and goes off in one direction. Where it starts on the far side of the
//! centre line and passes that nearer than tube and rod end are thick, no bracket can hold it.

use nalgebra::{Point3, Vector3};

use super::gradient::Gradient;
use crate::geometry::{Corner, Link, Tube};

/// The shank of a rod end beside the link that it is in: an M12 in a tube of 25 mm. Common practice.
const SHANK_OF_LINK: f64 = 0.5;
/// The head of a rod end, round its ball, beside its shank: 28 mm of an M10, 32 mm of an M12, 36 mm of an M14 (series K of ISO 12240-4,
/// from memory).
const HEAD_OF_SHANK: f64 = 2.8;
/// A bracket this far behind the centre line is measured on it, mm.
const ON_LINE_MM: f64 = 2.0;
/// What the last digits of a written file move, mm.
const WRITTEN_MM: f64 = 0.01;
/// Directions shorter than this have none, mm.
const NO_DIRECTION_MM: f64 = 1e-9;

/// A tube with a body that carries the bracket of a link; side axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CarryingTube {
    /// Of the five.
    pub link: usize,
    from: Point3<f64>,
    along: Vector3<f64>,
    length_mm: f64,
    radius_mm: f64,
    /// The rod end's shank.
    shank_mm: f64,
    /// How far from its surface the centre of the rod end's ball stays, mm.
    ball_off_mm: f64,
}

/// How far a link is from running through the tube or starting nearer to it than a rod end has room, mm, below 0 where it does; with
/// its derivatives.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ClearOfTube {
    pub mm: f64,
    pub gradient: Gradient,
}

/// Of the rod end of the file, or of the usual one.
fn shank_radius_mm(link: &Link) -> f64 {
    let thread = link.hardware.rod_end.as_ref().and_then(|rod_end| rod_end.thread.as_ref());
    thread.map_or(SHANK_OF_LINK * link.radius_mm(), |thread| 0.5 * thread.diameter_mm)
}

/// Round the ball of its rod end, mm.
pub(crate) fn head_radius_mm(link: &Link) -> f64 {
    HEAD_OF_SHANK * shank_radius_mm(link)
}

/// The link as seen along the tube.
struct Seen {
    /// From the centre line to the bracket, and from there to the upright, mm.
    start: Vector3<f64>,
    way: Vector3<f64>,
    /// The bracket ahead of the centre line, in the link's direction, and beside it, mm.
    ahead_mm: f64,
    beside_mm: f64,
}

impl CarryingTube {
    /// `None` without a body.
    pub fn new(corner: &Corner, link: usize, tube: &Tube) -> Option<Self> {
        let length_mm = tube.length_mm();
        Some(Self {
            link,
            from: tube.from,
            along: (tube.to - tube.from) / length_mm,
            length_mm,
            radius_mm: 0.5 * tube.od_mm?,
            shank_mm: shank_radius_mm(&corner.links[link]),
            ball_off_mm: 0.0,
        })
    }

    /// The same with room for the head of the rod end, or for as much of it as the drawing leaves.
    pub fn with_room_for_head(self, drawn: &Corner) -> Self {
        let off_mm = self.off_axis(drawn).norm() - self.radius_mm - WRITTEN_MM;
        Self { ball_off_mm: off_mm.clamp(0.0, HEAD_OF_SHANK * self.shank_mm), ..self }
    }

    /// The link leaves the tube and does not run through it, by this much, mm.
    pub fn is_left(&self, corner: &Corner, surely_mm: f64) -> bool {
        self.seen(corner, surely_mm).is_none_or(|seen| self.clear_of_run_mm(&seen) >= surely_mm)
    }

    /// The ball of the rod end is as far off the tube as there is room for, wherever the link goes; and the link does not run
    /// through it, where it does not pass its ends or lie along it.
    ///
    /// Tested by the unit tests below: against a distance that is looked for in steps, and central differences.
    pub fn clear(&self, corner: &Corner) -> ClearOfTube {
        let ball = self.clear_of_ball(corner);
        let run = self.seen(corner, 0.0).map(|seen| self.clear_of_run(&seen));
        run.filter(|run| run.mm < ball.mm).unwrap_or(ball)
    }

    fn clear_of_ball(&self, corner: &Corner) -> ClearOfTube {
        let (off, link) = (self.off_axis(corner), &corner.links[self.link]);
        // A ball on the centre line is off it in no direction; that of its link leads out.
        let out = off.try_normalize(NO_DIRECTION_MM).unwrap_or_else(|| (link.upright - link.chassis).normalize());
        self.told(off.norm() - self.radius_mm - self.ball_off_mm, out, Vector3::zeros())
    }

    fn clear_of_run(&self, seen: &Seen) -> ClearOfTube {
        let wide_mm = seen.way.norm();
        let ahead = seen.way / wide_mm;
        let mm = self.clear_of_run_mm(seen);
        if seen.ahead_mm + ON_LINE_MM >= seen.beside_mm.abs() - self.thick_mm() {
            return self.told(mm, ahead, (seen.start - ahead * seen.ahead_mm) / wide_mm);
        }
        let side = self.along.cross(&ahead) * seen.beside_mm.signum();
        let turned = seen.start.cross(&self.along) * seen.beside_mm.signum();
        self.told(mm, side, (turned - ahead * seen.beside_mm.abs()) / wide_mm)
    }

    /// With its derivatives by the bracket while the direction of the link stays, and by the direction.
    fn told(&self, mm: f64, by_start: Vector3<f64>, by_way: Vector3<f64>) -> ClearOfTube {
        let mut gradient = Gradient::default();
        gradient.links.chassis[self.link] = by_start - by_way;
        gradient.links.upright[self.link] = by_way;
        ClearOfTube { mm, gradient }
    }

    /// From the place of the tube's centre line that is nearest to the bracket, to the bracket, mm.
    fn off_axis(&self, corner: &Corner) -> Vector3<f64> {
        let from = corner.links[self.link].chassis - self.from;
        from - self.along * self.along.dot(&from).clamp(0.0, self.length_mm)
    }

    fn thick_mm(&self) -> f64 {
        self.radius_mm + self.shank_mm
    }

    /// Ahead of the centre line, or past it by what both are thick.
    fn clear_of_run_mm(&self, seen: &Seen) -> f64 {
        (seen.ahead_mm + ON_LINE_MM).max(seen.beside_mm.abs() - self.thick_mm())
    }

    /// Where the link comes nearest beside the tube, or no further past an end of it than this.
    fn seen(&self, corner: &Corner, past_mm: f64) -> Option<Seen> {
        let link = &corner.links[self.link];
        let across = |v: Vector3<f64>| v - self.along * self.along.dot(&v);
        let start = across(link.chassis - self.from);
        let way = across(link.upright - link.chassis);
        let ahead = way.try_normalize(NO_DIRECTION_MM)?;
        let (ahead_mm, beside_mm) = (start.dot(&ahead), start.dot(&self.along.cross(&ahead)));
        // The place of the link that is nearest to the endless centre line; its bracket, where it starts ahead of that.
        let share = (-ahead_mm / way.norm()).clamp(0.0, 1.0);
        let nearest = link.chassis + (link.upright - link.chassis) * share;
        let place_mm = (nearest - self.from).dot(&self.along);
        let is_beside_tube = (-past_mm..=self.length_mm + past_mm).contains(&place_mm);
        is_beside_tube.then_some(Seen { start, way, ahead_mm, beside_mm })
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{Point3, Vector3};

    use super::CarryingTube;
    use crate::file::GeometryFile;
    use crate::geometry::{Corner, RodEnd, Tube};

    const LINK: usize = 1;

    fn corner(chassis: [f64; 3], upright: [f64; 3]) -> Corner {
        let demo = include_str!("../../geometries/first-cut.toml");
        let mut corner = GeometryFile::parse("demo", demo).expect("a sound car").geometry.left;
        corner.links[LINK].chassis = chassis.into();
        corner.links[LINK].upright = upright.into();
        corner
    }

    /// A rail of 40 mm along the car, y = 330, z = 192.
    fn rail(corner: &Corner) -> CarryingTube {
        let tube = Tube {
            name: "rail".to_owned(),
            from: Point3::new(-350.0, 330.0, 192.0),
            to: Point3::new(400.0, 330.0, 192.0),
            od_mm: Some(40.0),
            wall_mm: None,
            material: None,
        };
        CarryingTube::new(corner, LINK, &tube).expect("a tube with a body")
    }

    const UPRIGHT: [f64; 3] = [-40.0, 680.0, 170.0];

    #[test]
    fn a_link_from_the_far_side_runs_through_and_one_from_below_or_outboard_does_not() {
        let runs_through = |y: f64, z: f64| {
            let corner = corner([-80.0, y, z], UPRIGHT);
            !rail(&corner).is_left(&corner, 0.0)
        };
        assert!(runs_through(292.0, 193.0) && runs_through(305.0, 180.0) && runs_through(322.0, 176.0));
        assert!(!runs_through(365.0, 190.0) && !runs_through(352.0, 184.0));
        assert!(!runs_through(322.0, 158.0) && !runs_through(330.0, 160.0) && !runs_through(338.0, 228.0));
        let beyond = corner([420.0, 292.0, 193.0], [430.0, 680.0, 170.0]);
        assert!(rail(&beyond).is_left(&beyond, 0.0));
    }

    /// The middle line of the link, in steps, as near as that to the rail: the least distance anywhere but at its start.
    #[test]
    fn what_runs_through_comes_nearer_to_the_centre_line_than_both_are_thick() {
        for (y, z) in [(292.0, 193.0), (310.0, 175.0), (300.0, 225.0), (300.0, 235.0), (322.0, 158.0), (360.0, 200.0)] {
            let corner = corner([-80.0, y, z], UPRIGHT);
            let tube = rail(&corner);
            let link = &corner.links[LINK];
            let off_mm = |k: u32| {
                let at = link.chassis + (link.upright - link.chassis) * (f64::from(k) / 20_000.0);
                (at.y - 330.0).hypot(at.z - 192.0)
            };
            let nearest_mm = (1..=20_000).map(off_mm).fold(f64::INFINITY, f64::min);
            let passes_mm = nearest_mm - (20.0 + 0.5 * link.radius_mm());
            let is_nearest_on_its_way = nearest_mm < off_mm(0) - 0.1;
            assert_eq!(!tube.is_left(&corner, 0.0), is_nearest_on_its_way && passes_mm < 0.0, "{y} {z}");
        }
    }

    /// The rail ends at x = 400 mm, and the link comes nearest to its line beyond that: its ball, in the rail, is 15 mm from the
    /// centre line, or ends 10 mm past it and 8 mm below.
    #[test]
    fn a_ball_stays_off_a_tube_whose_end_its_link_passes() {
        for (chassis, off_mm) in [([398.0, 315.0, 192.0], 15.0), ([410.0, 330.0, 184.0], f64::hypot(10.0, 8.0))] {
            let corner = corner(chassis, [470.0, 680.0, 170.0]);
            let rail = rail(&corner);
            assert!(rail.is_left(&corner, 0.0));
            assert!((rail.clear(&corner).mm - (off_mm - 20.0)).abs() < 1e-9, "{chassis:?}");
        }
    }

    /// An M10 has a head of 28 mm; without a thread a link of 25.4 mm is taken to have 12.7 mm, and a head of 35.56 mm. As drawn the
    /// ball is 30 mm off the surface, or 9 mm.
    #[test]
    fn the_head_of_the_rod_end_keeps_its_room_or_what_the_drawing_leaves_of_it() {
        let thread = Some("M10".parse().expect("a thread"));
        for (z, thread, kept_mm) in [(242.0, None, 17.78), (242.0, thread.clone(), 14.0), (221.0, thread, 8.99)] {
            let mut drawn = corner([-80.0, 330.0, z], UPRIGHT);
            let rod_end = RodEnd { thread, ..RodEnd::default() };
            drawn.links[LINK].hardware.rod_end = Some(rod_end);
            let rail = rail(&drawn).with_room_for_head(&drawn);
            let at = |off_mm: f64| corner([-80.0, 330.0, 212.0 + off_mm], UPRIGHT);
            assert!(rail.clear(&at(kept_mm)).mm.abs() < 1e-9, "{z} {kept_mm}");
        }
    }

    #[test]
    fn derivatives_are_those_of_central_differences() {
        const STEP_MM: f64 = 1e-4;
        let beside = [(292.0, 193.0), (305.0, 222.0), (300.0, 235.0), (318.0, 166.0), (352.0, 190.0), (331.0, 196.0)];
        let past_end = [(338.0, 186.0), (315.0, 192.0)];
        let beside = beside.map(|(y, z)| (-80.0, y, z, UPRIGHT)).into_iter();
        for (x, y, z, upright) in beside.chain(past_end.map(|(y, z)| (410.0, y, z, [470.0, 680.0, 170.0]))) {
            let drawn = corner([x, y, z], upright);
            let gradient = rail(&drawn).clear(&drawn).gradient.links;
            for axis in 0..3 {
                let mut by = Vector3::zeros();
                by[axis] = STEP_MM;
                let clear_mm = |chassis: Vector3<f64>, upright: Vector3<f64>| {
                    let mut moved = drawn.clone();
                    moved.links[LINK].chassis += chassis;
                    moved.links[LINK].upright += upright;
                    rail(&moved).clear(&moved).mm
                };
                let none = Vector3::zeros();
                let of_chassis = (clear_mm(by, none) - clear_mm(-by, none)) / (2.0 * STEP_MM);
                let of_upright = (clear_mm(none, by) - clear_mm(none, -by)) / (2.0 * STEP_MM);
                assert!((gradient.chassis[LINK][axis] - of_chassis).abs() < 1e-7, "{y} {z} chassis {axis}");
                assert!((gradient.upright[LINK][axis] - of_upright).abs() < 1e-7, "{y} {z} upright {axis}");
            }
        }
    }
}
