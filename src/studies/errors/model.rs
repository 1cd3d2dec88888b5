//! The errors of the pickups of one wheel, and how they are drawn.

use super::iso13920::WeldClass;
use super::random::{Purpose, UnitDeviates, stream};
use crate::geometry::{Coordinate, Corner, End, Geometry, PerSide, Side, Tape, Weld};
use crate::measures::SAME_JOINT_MM;
use crate::mechanism::PickupErrors;

/// Standard deviation of a bracket when the file says nothing, mm.
const DEFAULT_SD_MM: f64 = 0.5;

/// Where the errors of the brackets are taken from.
#[derive(Debug, Clone, PartialEq)]
pub enum ErrorSource {
    /// The standard deviations and groups of `[weld]`.
    Weld(Weld),
    /// A class of ISO 13920 for every dimension: a bracket's coordinates count from the datum, those of a pickup on the
    /// upright from the wheel centre. Normal, half the tolerance being one standard deviation.
    Class(WeldClass),
}

impl ErrorSource {
    /// `[weld]` of the file; 0.5 mm on each coordinate when it says nothing.
    pub fn of_file(weld: Option<&Weld>) -> Self {
        let default = || Weld::new(DEFAULT_SD_MM);
        ErrorSource::Weld(weld.cloned().unwrap_or_else(default))
    }
}

/// The errors of the thirty pickup coordinates of one wheel, in the order of [`Coordinate::all`], mm, side axes.
///
/// Each is the sum of its own building error, of the errors of the groups that it belongs to, and of its measuring error;
/// all are independent and have mean 0. Pickups in one hole, as those of the two legs of a wishbone, are off as one.
#[derive(Debug, Clone, PartialEq)]
pub struct ErrorModel {
    /// For each coordinate that of the first pickup in its hole, whose error it has.
    first_in_hole: [usize; Coordinate::COUNT],
    own_sd_mm: [f64; Coordinate::COUNT],
    /// Building errors are uniform; normal when false. Measuring errors are always normal.
    uniform: bool,
    together: Vec<Together>,
    measured_sd_mm: [f64; Coordinate::COUNT],
}

/// Pickups that are off as one.
#[derive(Debug, Clone, PartialEq)]
struct Together {
    sd_mm: f64,
    takes: [bool; Coordinate::COUNT],
}

impl ErrorModel {
    /// Of one wheel: brackets that come out as `source` says, drawn from points that were measured each as the corner says of it,
    /// else with `tape`.
    pub fn new(geometry: &Geometry, side: Side, source: &ErrorSource, tape: Option<Tape>) -> Self {
        let corner = geometry.corner(side);
        let built = match source {
            ErrorSource::Weld(weld) => Self::of_weld(weld),
            ErrorSource::Class(class) => {
                let sd_mm = |k| class.sd_mm(dimension_mm(corner, Coordinate::nth(k)));
                Self { own_sd_mm: std::array::from_fn(sd_mm), ..Self::exact() }
            }
        };
        Self { measured_sd_mm: measured_sd_mm(corner, tape), ..built }.in_holes_of(geometry, side)
    }

    /// What the file says of both wheels: its welds and its tape.
    pub fn of_file(geometry: &Geometry) -> PerSide<Self> {
        let source = ErrorSource::of_file(geometry.weld.as_ref());
        PerSide::of(|side| Self::new(geometry, side, &source, geometry.tape))
    }

    /// The errors of measuring alone, every bracket being where it was drawn.
    pub fn of_measuring(geometry: &Geometry, side: Side, tape: Option<Tape>) -> Self {
        let measured_sd_mm = measured_sd_mm(geometry.corner(side), tape);
        Self { measured_sd_mm, ..Self::exact() }.in_holes_of(geometry, side)
    }

    /// The same where some pickups of a wheel share a hole: what is said of any of them is said of the hole.
    fn in_holes_of(mut self, geometry: &Geometry, side: Side) -> Self {
        self.first_in_hole = first_in_hole(geometry, side);
        for (k, first) in self.first_in_hole.into_iter().enumerate() {
            self.own_sd_mm[first] = self.own_sd_mm[first].max(self.own_sd_mm[k]);
            self.measured_sd_mm[first] = self.measured_sd_mm[first].max(self.measured_sd_mm[k]);
            self.together.iter_mut().for_each(|group| group.takes[first] |= group.takes[k]);
        }
        self
    }

    fn exact() -> Self {
        let none = [0.0; Coordinate::COUNT];
        let first_in_hole = std::array::from_fn(|k| k);
        Self { first_in_hole, own_sd_mm: none, uniform: false, together: Vec::new(), measured_sd_mm: none }
    }

    fn of_weld(weld: &Weld) -> Self {
        let mut own_sd_mm = std::array::from_fn(|k| match Coordinate::nth(k).end {
            End::Chassis => weld.sd_mm,
            End::Upright => weld.upright_sd_mm.unwrap_or(weld.sd_mm),
        });
        let mut together = Vec::new();
        for group in &weld.groups {
            let takes = std::array::from_fn(|k| group.pickups.contains(&Coordinate::nth(k).pickup()));
            if group.together {
                together.push(Together { sd_mm: group.sd_mm, takes });
            } else {
                own_sd_mm.iter_mut().zip(takes).filter(|(_, takes)| *takes).for_each(|(sd, _)| *sd = group.sd_mm);
            }
        }
        Self { own_sd_mm, uniform: weld.uniform, together, ..Self::exact() }
    }

    /// Derivatives of a figure by the errors of holes: those of the pickups in a hole together, at the first of them, and 0 at the
    /// others.
    pub fn by_holes(&self, by: &[f64]) -> [f64; Coordinate::COUNT] {
        let mut by_holes = [0.0; Coordinate::COUNT];
        self.first_in_hole.into_iter().zip(by).for_each(|(first, by)| by_holes[first] += by);
        by_holes
    }

    /// The same with some coordinates held by a jig, each with its whole hole: it is off by `sd_mm` (or less, where it was better) and by nothing
    /// that it shares with others. Measuring errors stay.
    pub fn jigged(&self, coordinates: &[usize], sd_mm: f64) -> Self {
        let mut jigged = self.clone();
        for k in coordinates.iter().map(|&k| self.first_in_hole[k]) {
            jigged.own_sd_mm[k] = jigged.own_sd_mm[k].min(sd_mm);
            jigged.together.iter_mut().for_each(|group| group.takes[k] = false);
        }
        jigged
    }

    /// The errors of one wheel of a car; they depend on the seed, the car's number and the side alone. mm, side axes.
    pub fn draw(&self, seed: u64, car: u64, side: Side) -> [f64; Coordinate::COUNT] {
        let mut units = UnitDeviates::new(stream(seed, car, side, Purpose::Pickups), self.uniform);
        let mut errors_mm = self.own_sd_mm.map(|sd_mm| sd_mm * units.next());
        for group in &self.together {
            let shared_mm: [f64; 3] = std::array::from_fn(|_| group.sd_mm * units.next());
            for k in (0..Coordinate::COUNT).filter(|&k| group.takes[k]) {
                errors_mm[k] += shared_mm[k % 3];
            }
        }
        if self.measured_sd_mm.iter().any(|&sd_mm| sd_mm > 0.0) {
            units.make_normal();
            errors_mm.iter_mut().zip(&self.measured_sd_mm).for_each(|(error, sd_mm)| *error += sd_mm * units.next());
        }
        self.first_in_hole.map(|first| errors_mm[first])
    }

    /// The same as what it does to the pickups.
    pub fn draw_pickups(&self, seed: u64, car: u64, side: Side) -> PickupErrors {
        pickup_errors(&self.draw(seed, car, side))
    }

    /// What one standard deviation of each independent error makes of a figure with these derivatives by the coordinates:
    /// first each coordinate's own error (built and measured), then the three of each group.
    pub fn effects(&self, by: &[f64]) -> Vec<f64> {
        let by = self.by_holes(by);
        let own = self.own_sd_mm.iter().zip(&self.measured_sd_mm).map(|(own, measured)| own.hypot(*measured));
        let mut effects: Vec<f64> = own.zip(&by).map(|(sd_mm, by)| sd_mm * by).collect();
        for group in &self.together {
            let along =
                |axis: usize| (axis..Coordinate::COUNT).step_by(3).filter(|&k| group.takes[k]).map(|k| by[k]).sum();
            effects.extend((0..3).map(along).map(|by: f64| group.sd_mm * by));
        }
        effects
    }

    /// How many independent errors there are: one of each coordinate, three of each group.
    pub fn independent(&self) -> usize {
        Coordinate::COUNT + 3 * self.together.len()
    }

    /// The errors of the coordinates, mm, of so many standard deviations of each independent error, in the order of [`Self::effects`].
    pub fn of_units(&self, units: &[f64]) -> [f64; Coordinate::COUNT] {
        let own_mm = |k: usize| self.own_sd_mm[k].hypot(self.measured_sd_mm[k]) * units[k];
        let mut errors_mm: [f64; Coordinate::COUNT] = std::array::from_fn(own_mm);
        for (group, shared) in self.together.iter().zip(units[Coordinate::COUNT..].chunks_exact(3)) {
            for k in (0..Coordinate::COUNT).filter(|&k| group.takes[k]) {
                errors_mm[k] += group.sd_mm * shared[k % 3];
            }
        }
        self.first_in_hole.map(|first| errors_mm[first])
    }

    /// Variance of a figure with these derivatives by the coordinates, to first order: the law of propagation of
    /// uncertainty (JCGM 100, from memory). Tested by `the_variance_is_that_of_the_draws`.
    pub fn variance(&self, by: &[f64]) -> f64 {
        self.effects(by).iter().map(|effect| effect * effect).sum()
    }
}

/// Of each coordinate that of the first pickup in the same hole: as near as one hole that was measured twice. A bracket that tuning is
/// still to place is in none.
fn first_in_hole(geometry: &Geometry, side: Side) -> [usize; Coordinate::COUNT] {
    let (links, adjustments) = (&geometry.corner(side).links, &geometry.adjustments[side].links);
    let is_placed = |Coordinate { link, end, .. }: Coordinate| end == End::Upright || adjustments[link].is_placed();
    let place = |Coordinate { link, end, .. }: Coordinate| match end {
        End::Chassis => links[link].chassis,
        End::Upright => links[link].upright,
    };
    std::array::from_fn(|k| {
        let own = Coordinate::nth(k);
        let shares = |other: &usize| {
            let other = Coordinate::nth(*other);
            let is_same_way = other.end == own.end && other.axis == own.axis;
            is_same_way && is_placed(own) && is_placed(other) && (place(other) - place(own)).norm() < SAME_JOINT_MM
        };
        (0..k).find(shares).unwrap_or(k)
    })
}

/// One standard deviation of each coordinate as it was measured, mm: the point's own in place of that of the tape, for the
/// two are of one and the same measuring.
fn measured_sd_mm(corner: &Corner, tape: Option<Tape>) -> [f64; Coordinate::COUNT] {
    std::array::from_fn(|k| {
        let Coordinate { link, end, axis } = Coordinate::nth(k);
        let own = corner.links[link].measured_sd.at(end).map(|sd_mm| sd_mm[axis.index()]);
        own.or(tape.map(|tape| tape.sd_mm)).unwrap_or(0.0)
    })
}

/// Thirty errors, in the order of [`Coordinate::all`], as what they do to the pickups.
pub fn pickup_errors(errors_mm: &[f64; Coordinate::COUNT]) -> PickupErrors {
    let mut errors = PickupErrors::default();
    for (k, error) in errors_mm.iter().enumerate() {
        let Coordinate { link, end, axis } = Coordinate::nth(k);
        match end {
            End::Chassis => errors.chassis[link][axis.index()] = *error,
            End::Upright => errors.upright[link][axis.index()] = *error,
        }
    }
    errors
}

fn dimension_mm(corner: &Corner, Coordinate { link, end, axis }: Coordinate) -> f64 {
    let link = &corner.links[link];
    match end {
        End::Chassis => link.chassis[axis.index()],
        End::Upright => link.upright[axis.index()] - corner.wheel.centre[axis.index()],
    }
}

#[cfg(test)]
mod tests {
    use super::{ErrorModel, ErrorSource, WeldClass};
    use crate::file::GeometryFile;
    use crate::geometry::{ChassisPlace, Coordinate, End, Geometry, Interval, Pickup, Side, Tape, Weld, WeldGroup};

    fn error_model(weld: Weld) -> ErrorModel {
        ErrorModel::of_weld(&weld)
    }

    #[test]
    fn a_bracket_off_as_one_keeps_its_pickups_together() {
        let pickups = vec![Pickup { link: 0, end: End::Chassis }, Pickup { link: 1, end: End::Chassis }];
        let group = WeldGroup { name: "box".into(), pickups, sd_mm: 2.0, together: true };
        let error_model = error_model(Weld { groups: vec![group], ..Weld::new(1e-9) });
        let errors_mm = error_model.draw(3, 14, Side::Left);
        assert!((0..3).all(|axis| (errors_mm[axis] - errors_mm[6 + axis]).abs() < 1e-7));
        assert!(errors_mm[0].abs() > 1e-3 && errors_mm[3].abs() < 1e-7);
    }

    /// A jig holds its own pickup and leaves the box; the other one goes off with it as before.
    #[test]
    fn a_jig_takes_its_pickup_out_of_the_bracket_that_is_off_as_one() {
        let pickups = vec![Pickup { link: 0, end: End::Chassis }, Pickup { link: 1, end: End::Chassis }];
        let group = WeldGroup { name: "box".into(), pickups, sd_mm: 2.0, together: true };
        let free = error_model(Weld { groups: vec![group], ..Weld::new(0.5) });
        let held = free.jigged(&[0, 1, 2], 1e-9);
        for car in 0..50 {
            let (errors_mm, free_mm) = (held.draw(3, car, Side::Left), free.draw(3, car, Side::Left));
            assert!(errors_mm[..3].iter().all(|mm| mm.abs() < 1e-7), "{errors_mm:?}");
            assert_eq!(errors_mm[6..9], free_mm[6..9]);
        }
    }

    /// `of_units` and `effects` are one matrix and its transpose.
    #[test]
    fn a_figure_changes_by_the_effects_of_the_units() {
        let pickups = (0..3).map(|link| Pickup { link, end: End::Upright }).collect();
        let group = WeldGroup { name: "upright".into(), pickups, sd_mm: 0.8, together: true };
        let mut error_model = error_model(Weld { groups: vec![group], ..Weld::new(0.5) });
        error_model.measured_sd_mm = [1.2; Coordinate::COUNT];
        let by: [f64; Coordinate::COUNT] = std::array::from_fn(|k| (k as f64).sin());
        let units: Vec<f64> = (0..error_model.independent()).map(|k| (0.3 * k as f64).cos()).collect();
        let figure: f64 = error_model.of_units(&units).iter().zip(by).map(|(error, by)| error * by).sum();
        let effects: f64 = error_model.effects(&by).iter().zip(&units).map(|(effect, unit)| effect * unit).sum();
        assert!((figure - effects).abs() < 1e-12 && units.len() == 33, "{figure} {effects}");
        let shared = error_model.of_units(&[vec![0.0; 30], vec![0.0, 1.0, 0.0]].concat());
        assert_eq!([shared[3], shared[4], shared[10], shared[22], shared[1]], [0.0, 0.8, 0.8, 0.0, 0.0]);
    }

    /// ±1 mm taken as uniform has a standard deviation of 0.57735 mm, and no error is larger.
    #[test]
    fn uniform_errors_have_their_standard_deviation_and_their_end() {
        let error_model = error_model(Weld { uniform: true, ..Weld::new(1.0 / f64::sqrt(3.0)) });
        let errors: Vec<f64> = (0..4000).flat_map(|car| error_model.draw(1, car, Side::Right)).collect();
        let square = errors.iter().map(|e| e * e).sum::<f64>() / errors.len() as f64;
        assert!(errors.iter().all(|e| e.abs() <= 1.0));
        assert!((square.sqrt() - 0.577_35).abs() < 0.004);
    }

    #[test]
    fn the_variance_is_that_of_the_draws() {
        let pickups = (0..5).map(|link| Pickup { link, end: End::Chassis }).collect();
        let group = WeldGroup { name: "frame".into(), pickups, sd_mm: 0.8, together: true };
        let error_model = error_model(Weld { groups: vec![group], ..Weld::new(0.5) });
        let by: [f64; Coordinate::COUNT] = std::array::from_fn(|k| (k as f64).sin());
        let figure = |car| error_model.draw(5, car, Side::Left).iter().zip(by).map(|(e, by)| e * by).sum::<f64>();
        let cars = 20_000;
        let square = (0..cars).map(|car| figure(car).powi(2)).sum::<f64>() / cars as f64;
        // The standard error of a variance is √(2/n) of it.
        assert!((square / error_model.variance(&by) - 1.0).abs() < 4.0 * (2.0 / cars as f64).sqrt());
    }

    /// A point's own standard deviation stands in for the tape's, to the last bit, and not beside it.
    #[test]
    fn a_point_that_was_measured_by_itself_is_not_taped_again() {
        let mut car = GeometryFile::parse("car", include_str!("../../../geometries/first-cut.toml")).unwrap().geometry;
        let source = ErrorSource::Weld(Weld::new(0.5));
        let with = |car: &Geometry, tape: Option<f64>| {
            let model = ErrorModel::new(car, Side::Left, &source, tape.map(|sd_mm| Tape { sd_mm }));
            (model.draw(7, 11, Side::Left), model)
        };
        let (welded, taped) = (with(&car, None).0, with(&car, Some(2.0)).0);
        car.left.links[1].measured_sd.upright_mm = Some([0.4, 0.0, 6.0]);
        for tape in [Some(2.0), None] {
            let (errors, model) = with(&car, tape);
            for k in 0..Coordinate::COUNT {
                let sd_mm = match k {
                    9 => 0.4,
                    10 => 0.0,
                    11 => 6.0,
                    _ => tape.unwrap_or(0.0),
                };
                let expected = welded[k] + (taped[k] - welded[k]) * sd_mm / 2.0;
                assert!((errors[k] - expected).abs() < 1e-12, "{k}: {} {expected}", errors[k]);
                let by: [f64; Coordinate::COUNT] = std::array::from_fn(|of| f64::from(of == k));
                assert!((model.variance(&by) - (0.25 + sd_mm * sd_mm)).abs() < 1e-12);
            }
        }
    }

    /// A weld is off by half the class's tolerance of its distance from the axle, from the floor and from the centreline; a hole of the
    /// upright by half that of its distance from the wheel centre.
    #[test]
    fn a_class_gives_each_coordinate_the_tolerance_of_its_own_length() {
        let mut car = GeometryFile::parse("car", include_str!("../../../geometries/first-cut.toml")).unwrap().geometry;
        let corner = &mut car.left;
        corner.wheel.centre = [0.0, 700.0, 300.0].into();
        (corner.links[2].chassis, corner.links[2].upright) =
            ([-80.0, 350.0, 1100.0].into(), [25.0, 640.0, 750.0].into());
        let model = ErrorModel::new(&car, Side::Left, &ErrorSource::Class(WeldClass::B), None);
        // ISO 13920, class B: 30 to 120 mm 2, 120 to 400 mm 2, 400 to 1000 mm 3, 1000 to 2000 mm 4, below 30 mm 1 mm.
        let sds_mm = [1.0, 1.0, 2.0, 0.5, 1.0, 1.5];
        for (k, sd_mm) in (12..).zip(sds_mm) {
            let by: [f64; Coordinate::COUNT] = std::array::from_fn(|of| f64::from(of == k));
            assert!((model.variance(&by) - sd_mm * sd_mm).abs() < 1e-12, "{k}: {}", model.variance(&by));
        }
    }

    /// The legs of a wishbone end in one ball joint: it is off once, whatever is figured of both legs, and a jig holds it once. A
    /// bracket that has no place yet is in nobody's hole.
    #[test]
    fn pickups_in_one_hole_are_off_as_one() {
        let file = GeometryFile::parse("car", include_str!("../../../geometries/double-wishbone.toml"));
        let mut car = file.expect("a sound car").geometry;
        let source = ErrorSource::Weld(Weld { upright_sd_mm: Some(0.3), ..Weld::new(0.5) });
        let model = ErrorModel::new(&car, Side::Left, &source, Some(Tape { sd_mm: 0.4 }));
        // Legs 0 and 1, and 2 and 3; the second three coordinates of each link are those of its hole.
        let holes =
            |errors: &[f64; Coordinate::COUNT]| [0, 1, 2, 3, 4].map(|link| errors[6 * link + 3..6 * link + 6].to_vec());
        for car in 0..20 {
            let [a, b, c, d, toe] = holes(&model.draw(3, car, Side::Left));
            assert!(a == b && c == d && a != c && toe != a && toe != c);
            let brackets: Vec<f64> = (0..5).map(|link| model.draw(3, car, Side::Left)[6 * link]).collect();
            assert!((1..5).all(|link| brackets[..link].iter().all(|other| *other != brackets[link])), "{brackets:?}");
            let held = model.jigged(&[9], 1e-9).draw(3, car, Side::Left);
            assert!(
                (held[3] - held[9]).abs() == 0.0 && held[3].abs() < 3.0 && held[4] == model.draw(3, car, Side::Left)[4]
            );
        }
        // (1 + 2)² and 1² + 2² of a variance of 0.3² + 0.4².
        let by = |legs: [usize; 2]| {
            let mut by = [0.0; Coordinate::COUNT];
            (by[6 * legs[0] + 4], by[6 * legs[1] + 4]) = (1.0, 2.0);
            model.variance(&by)
        };
        assert!((by([0, 1]) - 9.0 * 0.25).abs() < 1e-12 && (by([0, 2]) - 5.0 * 0.25).abs() < 1e-12);
        let units: Vec<f64> = (0..model.independent()).map(|k| (0.7 * k as f64).sin()).collect();
        let of: [f64; Coordinate::COUNT] = std::array::from_fn(|k| (k as f64).cos());
        let figure: f64 = model.of_units(&units).iter().zip(of).map(|(error, by)| error * by).sum();
        let effects: f64 = model.effects(&of).iter().zip(&units).map(|(effect, unit)| effect * unit).sum();
        assert!((figure - effects).abs() < 1e-12);
        car.left.links[1].chassis = car.left.links[0].chassis;
        let chassis = |car: &Geometry| ErrorModel::new(car, Side::Left, &source, None).draw(3, 1, Side::Left);
        assert_eq!(chassis(&car)[0], chassis(&car)[6]);
        car.adjustments.left.links[1].place = ChassisPlace::Within([Interval::single(0.0); 3]);
        assert_ne!(chassis(&car)[0], chassis(&car)[6]);
    }

    #[test]
    fn holes_that_are_drilled_already_have_an_error_of_their_own() {
        let [welded, drilled] = [None, Some(0.1)]
            .map(|upright_sd_mm| error_model(Weld { upright_sd_mm, ..Weld::new(0.5) }).draw(4, 7, Side::Left));
        for k in 0..Coordinate::COUNT {
            let factor = if Coordinate::nth(k).end == End::Upright { 0.2 } else { 1.0 };
            assert!((drilled[k] - factor * welded[k]).abs() < 1e-15);
        }
    }

    #[test]
    fn a_jig_holds_what_it_holds_and_leaves_the_rest_alone() {
        let error_model = error_model(Weld::new(0.5));
        let (before, after) =
            (error_model.draw(2, 9, Side::Left), error_model.jigged(&[4], 0.1).draw(2, 9, Side::Left));
        assert!((after[4] - 0.2 * before[4]).abs() < 1e-15);
        assert!((0..Coordinate::COUNT).filter(|&k| k != 4).all(|k| after[k] == before[k]));
    }

    #[test]
    fn a_file_without_welds_has_half_a_millimetre() {
        assert!(matches!(ErrorSource::of_file(None), ErrorSource::Weld(Weld { sd_mm, .. }) if sd_mm == 0.5));
    }
}
