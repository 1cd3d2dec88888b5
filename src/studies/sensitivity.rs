//! What a millimetre of each pickup does to one wheel.

use super::rig::{Rig, RigWheel};
use super::toe_curve::slope_through_design;
use crate::geometry::{Coordinate, Side};
use crate::measures::{Gradient, Measure, Row, gradient};
use crate::mechanism::{Linkage, Posture, PostureSensitivity};

/// What one millimetre of one coordinate changes, the link following its points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// That is one millimetre off.
    pub coordinate: Coordinate,
    /// Slope of the toe curve, deg per 25 mm, per mm.
    pub slope_deg_per_25mm: f64,
    /// Worst departure from that slope, deg per mm.
    pub bow_deg: f64,
    /// Worst bump steer, deg per mm.
    pub worst_deg: f64,
    /// Camber at the end of bump travel, less that at design, deg per mm.
    pub camber_change_deg: f64,
    /// Longest plunge either way, mm per mm; `None` without a halfshaft.
    pub plunge_mm: Option<f64>,
    /// Roll-centre height at design, mm per mm; `None` where it has none.
    pub roll_centre_height_mm: Option<f64>,
}

/// The toe curve of a wheel with its derivatives by all 30 coordinates, and what they do to the rest.
#[derive(Debug, Clone)]
pub struct Sensitivity {
    /// Of the wheel.
    pub side: Side,
    /// Bump travel of each row, mm.
    pub bump_mm: Vec<f64>,
    /// Change of toe from design at each row, deg.
    pub toe_change_deg: Vec<f64>,
    /// Its derivatives at each row, deg per mm, in the order of [`Coordinate::all`].
    pub toe_by_coordinate: Vec<Vec<f64>>,
    /// One for each coordinate of each pickup.
    pub effects: Vec<Effect>,
}

impl Sensitivity {
    /// Over the postures of the heave study of one wheel; `None` when a posture is singular.
    pub fn of(rig: &Rig, side: Side) -> Option<Self> {
        let wheel = rig.wheel(side);
        let travel = TravelSensitivity::new(rig, wheel)?;
        let toe = travel.changes(Measure::Toe)?;
        let camber = travel.changes(Measure::Camber)?;
        let plunge = travel.changes(Measure::Plunge);
        let roll_centre = travel.design()?.figure(rig, wheel, Measure::RollCentreHeight);
        let bump_mm: Vec<f64> = travel.stations.iter().map(|station| station.posture.bump_mm).collect();
        let toe_change_deg: Vec<f64> = toe.iter().map(|(value, _)| *value).collect();
        let curve = |values: &dyn Fn(usize) -> f64| {
            let pairs: Vec<(f64, f64)> = bump_mm.iter().enumerate().map(|(i, &b)| (b, values(i))).collect();
            slope_through_design(&pairs)
        };
        let slope = curve(&|i| toe_change_deg[i]);
        let bow: Vec<f64> = bump_mm.iter().zip(&toe_change_deg).map(|(b, change)| change - slope * b).collect();
        let (worst_at, bow_at) = (largest(&toe_change_deg)?, largest(&bow)?);
        let plunge_at = plunge.as_ref().and_then(|p| largest(&p.iter().map(|(v, _)| *v).collect::<Vec<_>>()));
        let effects = Coordinate::all()
            .map(|coordinate| {
                let slope_by = curve(&|i| toe[i].1.links.by(coordinate));
                let bow_by = toe[bow_at].1.links.by(coordinate) - slope_by * bump_mm[bow_at];
                let plunge_by = plunge
                    .as_ref()
                    .zip(plunge_at)
                    .map(|(plunge, at)| plunge[at].0.signum() * plunge[at].1.links.by(coordinate));
                Effect {
                    coordinate,
                    slope_deg_per_25mm: 25.0 * slope_by,
                    bow_deg: bow[bow_at].signum() * bow_by,
                    worst_deg: toe_change_deg[worst_at].signum() * toe[worst_at].1.links.by(coordinate),
                    camber_change_deg: camber[camber.len() - 1].1.links.by(coordinate),
                    plunge_mm: plunge_by,
                    roll_centre_height_mm: roll_centre.as_ref().map(|(_, gradient)| gradient.links.by(coordinate)),
                }
            })
            .collect();
        let toe_by_coordinate =
            toe.iter().map(|(_, gradient)| Coordinate::all().map(|c| gradient.links.by(c)).collect()).collect();
        Some(Self { side, bump_mm, toe_change_deg, toe_by_coordinate, effects })
    }

    /// Worst bump steer as drawn, deg.
    pub fn worst_deg(&self) -> f64 {
        self.toe_change_deg.iter().fold(0.0, |worst, change| change.abs().max(worst))
    }

    /// Largest effect of a coordinate on the toe curve anywhere in the travel, deg per mm.
    pub fn strength_deg(&self, index: usize) -> f64 {
        self.toe_by_coordinate.iter().fold(0.0, |most, row| row[index].abs().max(most))
    }
}

/// Index of the entry of the largest size.
fn largest(values: &[f64]) -> Option<usize> {
    (0..values.len()).max_by(|&a, &b| values[a].abs().total_cmp(&values[b].abs()))
}

struct SolvedStation {
    posture: Posture,
    sensitivity: PostureSensitivity,
}

impl SolvedStation {
    fn figure(&self, rig: &Rig, wheel: &RigWheel, measure: Measure) -> Option<(f64, Gradient)> {
        let car = &rig.geometry.car;
        let gradient = gradient(measure, wheel.corner, car, &self.posture, &self.sensitivity)?;
        Some((measure.of(&Row::level(wheel.corner, car, &self.posture, &wheel.design_contact))?, gradient))
    }
}

struct TravelSensitivity<'a, 'g> {
    rig: &'a Rig<'g>,
    wheel: &'a RigWheel<'g>,
    stations: Vec<SolvedStation>,
}

impl<'a, 'g> TravelSensitivity<'a, 'g> {
    fn new(rig: &'a Rig<'g>, wheel: &'a RigWheel<'g>) -> Option<Self> {
        let linkage = Linkage::new(wheel.corner);
        let stations = wheel
            .postures_shown()
            .map(|posture| {
                Some(SolvedStation { posture, sensitivity: PostureSensitivity::new(&linkage, &posture).ok()? })
            })
            .collect::<Option<Vec<SolvedStation>>>()?;
        Some(Self { rig, wheel, stations })
    }

    fn design(&self) -> Option<&SolvedStation> {
        self.stations.iter().find(|station| station.posture.bump_mm == 0.0)
    }

    /// A measure less its value at design, with its derivatives, at every station.
    fn changes(&self, measure: Measure) -> Option<Vec<(f64, Gradient)>> {
        let (at_design, by_design) = self.design()?.figure(self.rig, self.wheel, measure)?;
        self.stations
            .iter()
            .map(|station| {
                let (value, gradient) = station.figure(self.rig, self.wheel, measure)?;
                Some((value - at_design, gradient.minus(&by_design)))
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::Sensitivity;
    use crate::file::GeometryFile;
    use crate::geometry::{Coordinate, End, Geometry, Side};
    use crate::studies::judged_car::JudgedCar;
    use crate::studies::rig::Rig;

    /// What a sweep tells of a wheel: slope per 25 mm, bow, worst bump steer, camber change at full bump, largest plunge, and the
    /// height of the roll centre.
    fn swept(geometry: &Geometry, side: Side) -> [f64; 6] {
        let car = JudgedCar::of(Rig::new(geometry).expect("the drawing holds its wheels"));
        let (toe, design) = (&car.toe[side], &car.heave.design[side]);
        let rows = || car.heave.rows.of(side);
        let camber = |row: &crate::measures::Row| row.wheel.camber_deg;
        let plunge = |row: &crate::measures::Row| row.wheel.shaft.expect("a halfshaft").plunge_mm.abs();
        let full_bump = rows().last().expect("rows");
        [
            25.0 * toe.slope_deg_per_mm,
            toe.bow_deg,
            toe.worst_bump_steer_deg,
            camber(full_bump) - camber(design),
            rows().map(plunge).fold(0.0, f64::max),
            design.roll_centre_height_mm.expect("a roll centre"),
        ]
    }

    /// A drawing with one coordinate of a pickup moved.
    fn with_moved(drawn: &Geometry, side: Side, at: Coordinate, by_mm: f64) -> Geometry {
        let mut geometry = drawn.clone();
        let link = &mut geometry.corner_mut(side).links[at.link];
        let point = if at.end == End::Chassis { &mut link.chassis } else { &mut link.upright };
        point[at.axis.index()] += by_mm;
        geometry
    }

    /// With the bracket of the toe link higher and lower, so that curve and bow lie on either side of zero and a sign that is left out
    /// shows.
    #[test]
    fn what_a_millimetre_does_is_what_sweeps_of_moved_drawings_differ_by() {
        let drawn = GeometryFile::parse("as built", include_str!("../../geometries/as-built.toml"))
            .expect("a sound car")
            .geometry;
        let mut signs = [[0; 2]; 2];
        for (higher_mm, farther_mm) in [(0.0, 0.0), (30.0, 0.0), (-30.0, 0.0), (0.0, 60.0)] {
            for side in Side::BOTH {
                let mut geometry = drawn.clone();
                let bracket = &mut geometry.corner_mut(side).links[4].chassis;
                (bracket.y, bracket.z) = (bracket.y - farther_mm, bracket.z + higher_mm);
                let sensitivity = Sensitivity::of(&Rig::new(&geometry).expect("a sound car"), side).expect("it moves");
                assert_is_what_sweeps_differ_by(&geometry, &sensitivity);
                let largest = |values: &mut dyn Iterator<Item = f64>| {
                    values.max_by(|a, b| a.abs().total_cmp(&b.abs())).expect("rows") > 0.0
                };
                let at = || sensitivity.bump_mm.iter().zip(&sensitivity.toe_change_deg);
                let slope = at().map(|(b, toe)| b * toe).sum::<f64>() / at().map(|(b, _)| b * b).sum::<f64>();
                signs[0][usize::from(largest(&mut at().map(|(_, toe)| *toe)))] += 1;
                signs[1][usize::from(largest(&mut at().map(|(b, toe)| toe - slope * b)))] += 1;
            }
        }
        assert!(signs.as_flattened().iter().all(|count| *count > 0), "{signs:?}");
    }

    fn assert_is_what_sweeps_differ_by(drawn: &Geometry, sensitivity: &Sensitivity) {
        const STEP_MM: f64 = 0.01;
        let side = sensitivity.side;
        assert_eq!(sensitivity.effects.len(), 30);
        let mut largest = [0.0; 6];
        for effect in &sensitivity.effects {
            let at = effect.coordinate;
            let moved = |by_mm: f64| swept(&with_moved(drawn, side, at, by_mm), side);
            let (more, less) = (moved(STEP_MM), moved(-STEP_MM));
            let told = [
                effect.slope_deg_per_25mm,
                effect.bow_deg,
                effect.worst_deg,
                effect.camber_change_deg,
                effect.plunge_mm.expect("a halfshaft"),
                effect.roll_centre_height_mm.expect("a roll centre"),
            ];
            for (k, told) in told.into_iter().enumerate() {
                let expected = (more[k] - less[k]) / (2.0 * STEP_MM);
                assert!((told - expected).abs() < 1e-5, "{side:?} {at:?}, {k}: {told} for {expected}");
                largest[k] = f64::max(largest[k], expected.abs());
            }
        }
        assert!(largest.iter().all(|most| *most > 1e-3), "{largest:?}");
    }

    /// By the toe curves of drawings with that coordinate moved.
    #[test]
    fn a_strength_is_the_most_that_a_millimetre_turns_the_wheel() {
        const STEP_MM: f64 = 0.01;
        let drawn = GeometryFile::parse("as built", include_str!("../../geometries/as-built.toml"))
            .expect("a sound car")
            .geometry;
        let side = Side::Left;
        let sensitivity = Sensitivity::of(&Rig::new(&drawn).expect("a sound car"), side).expect("it moves");
        for (index, at) in Coordinate::all().enumerate().filter(|(index, _)| index % 7 == 2) {
            let curve = |by_mm: f64| -> Vec<f64> {
                let moved = with_moved(&drawn, side, at, by_mm);
                let car = JudgedCar::of(Rig::new(&moved).expect("the drawing holds its wheels"));
                let design_deg = car.heave.design[side].wheel.toe_deg;
                car.heave.rows.of(side).map(|row| row.wheel.toe_deg - design_deg).collect()
            };
            let (more, less) = (curve(STEP_MM), curve(-STEP_MM));
            let by_rows = more.iter().zip(&less).map(|(more, less)| (more - less).abs() / (2.0 * STEP_MM));
            let (told, expected) = (sensitivity.strength_deg(index), by_rows.fold(0.0, f64::max));
            assert!((told - expected).abs() < 1e-5 && expected > 1e-4, "{at:?}: {told} for {expected}");
        }
    }
}
