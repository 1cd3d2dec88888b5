//! What a bracket rides on, and a step along it: a frame tube, or a plate.

use nalgebra::Vector3;

use super::design_variables::{DesignVariable, DesignVariables, TubeWay, VariableKind};
use crate::geometry::{AdjustmentRange, CornerPoint, End, Geometry, Link, Pickup, Side};

/// A way of the ride that lies less than this in the wanted direction does not go there: cosine, 75° from it.
const LEAST_SHARE: f64 = 0.26;

/// What carries the bracket of a chassis pickup.
///
/// A **tube** is that of `chassis_tube`; the bracket keeps to the ways of `free` (along, off, round), or goes along it when the
/// file names none. A **plate** carries a bracket of which `free` leaves two coordinates; the third stays.
#[derive(Debug, Clone)]
pub struct Ride<'g> {
    link: usize,
    /// `None` of a plate.
    tube: Option<&'g str>,
    variables: DesignVariables<'g>,
}

impl<'g> Ride<'g> {
    /// Of a point of the car as it is now; `None` of a point that rides on nothing.
    ///
    /// Tested by `tests/live/walk.rs` and the unit tests below.
    pub fn of(geometry: &'g Geometry, side: Side, point: CornerPoint) -> Option<Self> {
        let CornerPoint::Pickup(Pickup { link, end: End::Chassis }) = point else { return None };
        let on_tube = geometry.adjustments[side].links[link].tube;
        let tube = on_tube.and_then(|on| geometry.tubes.get(on.tube)).map(|tube| tube.name.as_str());
        let mut variables = DesignVariables::of(geometry, side);
        variables.list.retain(|variable| match variable.kind {
            VariableKind::OnTube { link: of, .. } => of == link,
            VariableKind::Pickup { link: of, end: End::Chassis, .. } => of == link && tube.is_none(),
            _ => false,
        });
        if let Some(on) = on_tube.filter(|_| variables.list.is_empty()) {
            let kind = VariableKind::OnTube { link, tube: on.tube, way: TubeWay::Slide };
            variables.list.push(DesignVariable { kind, range: AdjustmentRange { low: 0.0, high: 0.0, step: None } });
        }
        (tube.is_some() || variables.list.len() == 2).then_some(Self { link, tube, variables })
    }

    /// Name of the tube; `None` of a plate.
    pub fn tube(&self) -> Option<&'g str> {
        self.tube
    }

    /// The link after a step of so many mm along the way that lies nearest to a direction in side axes, a unit vector; its bolt
    /// turns with a bracket that goes round its tube. `None` when no way goes there.
    ///
    /// Tested by `tests/live/walk.rs` and the unit tests below.
    pub fn step(&self, towards: &Vector3<f64>, mm: f64) -> Option<Link> {
        let shares = self.variables.list.iter().enumerate().filter_map(|(k, variable)| {
            let velocity = self.variables.chassis_velocity(variable.kind)?;
            let rate = velocity.norm(); // mm per mm or per degree
            let share = velocity.dot(towards) / rate;
            (share.abs() >= LEAST_SHARE).then_some((k, rate, share))
        });
        let (k, rate, share) = shares.max_by(|a, b| a.2.abs().total_cmp(&b.2.abs()))?;
        let mut design_vector = vec![0.0; self.variables.list.len()];
        design_vector[k] = mm * share.signum() / rate;
        Some(self.variables.apply(&design_vector).corner.links[self.link].clone())
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{Unit, Vector3};

    use super::Ride;
    use crate::file::GeometryFile;
    use crate::geometry::{AdjustmentRange, CornerPoint, End, Geometry, Link, Pickup, Side, Tube, TubeAdjustment};
    use crate::studies::{RoomUse, keep_room_of_point};

    const POINT: CornerPoint = CornerPoint::Pickup(Pickup { link: 4, end: End::Chassis });

    /// The toe link 30 mm above a tube that runs forward.
    fn on_tube() -> Geometry {
        let text = include_str!("../../geometries/first-cut.toml");
        let mut car = GeometryFile::parse("demo", text).expect("a sound car").geometry;
        let at = car.left.links[4].chassis;
        let line = |x_mm: f64| at + Vector3::new(x_mm, 0.0, -30.0);
        let name = "rail".to_owned();
        car.tubes =
            vec![Tube { name, from: line(-200.0), to: line(300.0), od_mm: None, wall_mm: None, material: None }];
        let room = |mm: f64| Some(AdjustmentRange { low: -mm, high: mm, step: None });
        let may = &mut car.adjustments.left.links[4];
        may.chassis = [None; 3];
        may.tube = Some(TubeAdjustment { tube: 0, slide: room(40.0), stand_off: None, turn: room(30.0) });
        car.left.links[4].chassis_bolt = Some(Unit::new_normalize(Vector3::new(0.0, 0.0, 1.0)));
        car
    }

    fn stepped(car: &Geometry, towards: Vector3<f64>, mm: f64) -> Option<Link> {
        Ride::of(car, Side::Left, POINT)?.step(&towards.normalize(), mm)
    }

    #[test]
    fn a_bracket_walks_along_its_tube_and_round_it_and_its_bolt_turns_with_it() {
        let car = on_tube();
        let from = car.left.links[4].chassis;
        let along = stepped(&car, Vector3::new(-0.8, 0.3, 0.5), 10.0).expect("a way");
        assert!((along.chassis - from - Vector3::new(-10.0, 0.0, 0.0)).norm() < 1e-12);
        assert_eq!(along.chassis_bolt, car.left.links[4].chassis_bolt);
        // Outboard, that is round the tube, 10 mm of arc at 30 mm: a third of a radian.
        let round = stepped(&car, Vector3::new(0.1, 0.9, 0.1), 10.0).expect("a way");
        let (sin, cos) = (1.0_f64 / 3.0).sin_cos();
        assert!((round.chassis - from - Vector3::new(0.0, 30.0 * sin, 30.0 * cos - 30.0)).norm() < 1e-12);
        let bolt = round.chassis_bolt.expect("a bolt");
        assert!((bolt.into_inner() - Vector3::new(0.0, sin, cos)).norm() < 1e-12, "{bolt:?}");
        // The file lets it neither stand off nor come nearer.
        assert!(stepped(&car, Vector3::z(), 10.0).is_none());
    }

    #[test]
    fn a_walk_on_a_tube_is_read_back_from_its_place() {
        let drawn = on_tube();
        let mut car = drawn.clone();
        for (towards, mm) in [(Vector3::x(), 12.0), (Vector3::y(), 5.0), (Vector3::x(), -3.0)] {
            let link = stepped(&car, towards, mm).expect("a way");
            car.left.links[4] = link;
        }
        keep_room_of_point(&drawn, &mut car, Side::Left, POINT);
        let used = RoomUse::of(&drawn, &car.left, Side::Left, POINT);
        let turn_deg = -(5.0_f64 / 30.0).to_degrees(); // right-hand about x takes the top inboard
        let moved: Vec<f64> = used.iter().map(|used| used.moved).collect();
        assert!((moved[0] - 9.0).abs() < 1e-9 && (moved[1] - turn_deg).abs() < 1e-9, "{moved:?}");
        let left = car.adjustments.left.links[4].tube.expect("a tube");
        let [slide, turn] = [left.slide, left.turn].map(|range| range.expect("room").interval());
        assert!((slide.low + 49.0).abs() < 1e-9 && (slide.high - 31.0).abs() < 1e-9, "{slide:?}");
        assert!((turn.low + 30.0 + turn_deg).abs() < 1e-9 && (turn.high - 30.0 + turn_deg).abs() < 1e-9, "{turn:?}");
    }

    #[test]
    fn a_tube_without_room_is_walked_along_and_a_plate_in_its_two_coordinates() {
        let mut car = on_tube();
        let may = &mut car.adjustments.left.links[4];
        may.tube = Some(TubeAdjustment { tube: 0, slide: None, stand_off: None, turn: None });
        let from = car.left.links[4].chassis;
        let by = |car: &Geometry, towards: Vector3<f64>| Some(stepped(car, towards, 2.0)?.chassis - from);
        assert_eq!(by(&car, Vector3::x()), Some(Vector3::new(2.0, 0.0, 0.0)));
        assert_eq!(by(&car, Vector3::y()), None);
        let may = &mut car.adjustments.left.links[4];
        let room = Some(AdjustmentRange { low: -5.0, high: 5.0, step: None });
        (may.tube, may.chassis) = (None, [None, room, room]);
        assert_eq!(by(&car, Vector3::new(0.9, 0.4, 0.1).normalize()), Some(Vector3::new(0.0, 2.0, 0.0)));
        assert_eq!(by(&car, Vector3::x()), None);
        // One coordinate is no plate, three are none either.
        for chassis in [[None, None, room], [room; 3]] {
            car.adjustments.left.links[4].chassis = chassis;
            assert!(Ride::of(&car, Side::Left, POINT).is_none());
        }
    }
}
