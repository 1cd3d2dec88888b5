//! Load cases: those of the file, or the usual ones of the trade when the file gives none.

use nalgebra::Vector3;

use crate::geometry::{Car, Geometry, Load, PerSide, Side, TorquePath, WheelLoad};
use crate::measures::DesignContact;
use crate::studies::inspection::Lacking;

/// What acts at the same time on the wheels.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadCase {
    /// Of the file, or of the trade.
    pub name: String,
    /// The file gives no loads, and this is one that the trade looks at.
    pub common_practice: bool,
    /// `None` for a wheel that the case says nothing of.
    pub wheels: PerSide<Option<CaseLoad>>,
}

/// What acts on one wheel, side axes: y outboard, moments as for a left wheel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CaseLoad {
    /// Road on tyre at the contact point, N.
    pub contact_n: Vector3<f64>,
    /// At the wheel centre, N.
    pub centre_n: Vector3<f64>,
    /// N·m.
    pub moment_nm: Vector3<f64>,
    /// What takes the torque of the contact force about the spindle; without it the wheel counts as locked to the upright.
    pub torque_to: Option<TorquePath>,
}

const LEFT_OUTSIDE: &str = ", left outside";

impl LoadCase {
    /// The same with the loads of the two wheels exchanged; `None` where both have the same.
    fn exchanged(&self) -> Option<Self> {
        let PerSide { left, right } = self.wheels;
        let name = match self.name.strip_suffix(LEFT_OUTSIDE) {
            Some(name) => format!("{name}, right outside"),
            None => format!("{}, sides exchanged", self.name),
        };
        (left != right).then(|| Self { name, wheels: PerSide { left: right, right: left }, ..self.clone() })
    }
}

/// The cases for these wheels of a car. One wheel of a car whose sides are alike stands for both, so it is asked for what
/// either has to bear.
pub(super) fn load_cases_of(geometry: &Geometry, sides: &[Side]) -> (Vec<LoadCase>, Vec<Lacking>) {
    let (cases, lacking) = load_cases(geometry);
    let stands_for_both = sides.len() == 1 && geometry.looks_alike();
    let both_ways = |case: LoadCase| {
        let exchanged = case.exchanged().filter(|_| stands_for_both);
        std::iter::once(case).chain(exchanged)
    };
    (cases.into_iter().flat_map(both_ways).collect(), lacking)
}

/// The cases that a car is asked about, and those that cannot be told for want of data.
///
/// Tested by `tests/forces/cases.rs`.
pub fn load_cases(geometry: &Geometry) -> (Vec<LoadCase>, Vec<Lacking>) {
    if geometry.loads.is_empty() { usual_cases(geometry) } else { cases_of_file(&geometry.loads, &geometry.car) }
}

fn cases_of_file(loads: &[Load], car: &Car) -> (Vec<LoadCase>, Vec<Lacking>) {
    let (mut cases, mut lacking): (Vec<LoadCase>, Vec<Lacking>) = Default::default();
    for load in loads {
        let what = || format!("load {:?}", load.case);
        let on_wheel = match in_newtons(&load.on_wheel, car) {
            Ok(on_wheel) => on_wheel,
            Err(needs) => {
                let lacks = Lacking { what: what(), needs: needs.to_owned() };
                lacking.extend((!lacking.contains(&lacks)).then_some(lacks));
                continue;
            }
        };
        let known = cases.iter().position(|case| case.name == load.case);
        let index = known.unwrap_or_else(|| {
            let wheels = PerSide::default();
            cases.push(LoadCase { name: load.case.clone(), common_practice: false, wheels });
            cases.len() - 1
        });
        for side in Side::BOTH.into_iter().filter(|&side| load.side.is_none_or(|only| only == side)) {
            cases[index].wheels[side] = Some(on_wheel);
        }
    }
    // A pair of which one wheel cannot be told is no case.
    cases.retain(|case| !lacking.iter().any(|lacks| lacks.what == format!("load {:?}", case.name)));
    (cases, lacking)
}

/// A load of the file in newtons, or what it lacks.
fn in_newtons(load: &WheelLoad, car: &Car) -> Result<CaseLoad, &'static str> {
    if load.is_empty() {
        return Err("`contact`, `contact_times_static`, `centre` or `moment` in that [[load]]");
    }
    let times = match load.contact_times_static {
        None => None,
        Some(times) => Some(times * car.static_wheel_load_n().ok_or(MASSES)?),
    };
    let given = |vector: Option<Vector3<f64>>| vector.unwrap_or_default();
    Ok(CaseLoad {
        contact_n: given(load.contact_n.or(times)),
        centre_n: given(load.centre_n),
        moment_nm: given(load.moment_nm),
        torque_to: load.torque_to,
    })
}

const MASSES: &str = "mass and rear_mass_share in [car]";

/// Bump, in static wheel loads; common practice.
const BUMP: f64 = 3.0;
/// Accelerations in g; common practice for a car on racing tyres.
const CORNER_G: f64 = 1.5;
const BRAKE_G: f64 = 1.2;
const DRIVE_G: f64 = 1.0;
/// Share of both accelerations when two act together: a tyre that is near its grip one way has little left the other.
const TOGETHER: f64 = 0.7;

/// A car that brakes, drives or corners steadily on a level road.
struct Manoeuvre<'g> {
    car: &'g Car,
    mass_kg: f64,
    rear_mass_share: f64,
    track_mm: f64,
}

/// One usual case.
struct Usual {
    name: &'static str,
    /// Forward, in g.
    along_g: f64,
    /// Towards the right, in g: the left wheel is the outer one.
    right_g: f64,
}

const LEFT_OUTER: [Usual; 5] = [
    Usual { name: "corner", along_g: 0.0, right_g: CORNER_G },
    Usual { name: "braking", along_g: -BRAKE_G, right_g: 0.0 },
    Usual { name: "driving", along_g: DRIVE_G, right_g: 0.0 },
    Usual { name: "corner and braking", along_g: -TOGETHER * BRAKE_G, right_g: TOGETHER * CORNER_G },
    Usual { name: "corner and driving", along_g: TOGETHER * DRIVE_G, right_g: TOGETHER * CORNER_G },
];

/// Standing, a bump, and what a car does with its tyres near their grip. A corner is one case with both wheels, the left one
/// outside; a car whose sides differ has it the other way round too.
///
/// Source: common practice. Tested by `tests/forces/cases.rs`.
fn usual_cases(geometry: &Geometry) -> (Vec<LoadCase>, Vec<Lacking>) {
    let car = &geometry.car;
    let (Some(mass_kg), Some(rear_mass_share)) = (car.mass_kg, car.rear_mass_share) else {
        return (
            Vec::new(),
            vec![Lacking { what: "the usual load cases".to_owned(), needs: format!("{MASSES}, or [[load]]") }],
        );
    };
    let static_n = 0.5 * Car::GRAVITY_N_PER_KG * mass_kg * rear_mass_share;
    let upwards = |name: &str, times: f64| {
        let load = CaseLoad { contact_n: Vector3::z() * times * static_n, ..CaseLoad::default() };
        usual(name, PerSide::of(|_| load))
    };
    let mut cases = vec![upwards("standing", 1.0), upwards("bump", BUMP)];
    let mut lacking = Vec::new();
    let track_mm = Side::BOTH.into_iter().map(|side| DesignContact::of(geometry.corner(side)).point.y).sum();
    let manoeuvre = Manoeuvre { car, mass_kg, rear_mass_share, track_mm };
    for case in &LEFT_OUTER {
        match manoeuvre.loads(case) {
            Err(needs) => lacking.push(Lacking { what: case.name.to_owned(), needs }),
            Ok(wheels) if case.right_g == 0.0 => cases.push(usual(case.name, wheels)),
            Ok(wheels) => {
                let left_outside = usual(&format!("{}{LEFT_OUTSIDE}", case.name), wheels);
                let right_outside = left_outside.exchanged().filter(|_| !geometry.looks_alike());
                cases.push(left_outside);
                cases.extend(right_outside);
            }
        }
    }
    (cases, lacking)
}

fn usual(name: &str, wheels: PerSide<CaseLoad>) -> LoadCase {
    LoadCase { name: name.to_owned(), common_practice: true, wheels: wheels.map(Some) }
}

impl Manoeuvre<'_> {
    /// Steady loads of both wheels: what stands on the axle, shifted along the car by `h/L` and across it by `h/track`; each
    /// axle holds its own mass in a corner, and its wheels share the side force as they share the load.
    fn loads(&self, case: &Usual) -> Result<PerSide<CaseLoad>, String> {
        let car = self.car;
        let (share, torque_to, share_key, path_key) = match case.along_g < 0.0 {
            true => (car.rear_brake_share, car.brake_torque_to, "rear_brake_share", "brake_torque_to"),
            false => (car.rear_drive_share, car.drive_torque_to, "rear_drive_share", "drive_torque_to"),
        };
        let is_along = case.along_g != 0.0;
        let needed = [
            ("cg_height", car.cg_height_mm.is_some()),
            ("wheelbase", car.wheelbase_mm.is_some() || !is_along),
            (share_key, share.is_some() || !is_along),
            (path_key, torque_to.is_some() || !is_along),
        ];
        let absent: Vec<&str> = needed.into_iter().filter(|(_, there)| !there).map(|(key, _)| key).collect();
        let (Some(height_mm), true) = (car.cg_height_mm, absent.is_empty()) else {
            return Err(format!("{} in [car]", absent.join(", ")));
        };
        let weight_n = Car::GRAVITY_N_PER_KG * self.mass_kg;
        let shift = car.wheelbase_mm.filter(|_| is_along).map_or(0.0, |wheelbase| case.along_g * height_mm / wheelbase);
        let axle_n = (weight_n * (self.rear_mass_share + shift)).max(0.0);
        let side_n = weight_n * self.rear_mass_share * case.right_g;
        // A wheel that would be pulled from the road carries nothing; the other one all.
        let across_n = (side_n * height_mm / self.track_mm).clamp(-0.5 * axle_n, 0.5 * axle_n);
        let along_n = 0.5 * weight_n * case.along_g * share.unwrap_or_default();
        Ok(PerSide::of(|side| {
            let up_n = 0.5 * axle_n + side.sign() * across_n;
            if up_n <= 0.0 {
                return CaseLoad::default();
            }
            // The road pushes to the right: inboard at the left wheel.
            let outboard_n = -side.sign() * side_n * up_n / axle_n;
            let contact_n = Vector3::new(if is_along { along_n } else { 0.0 }, outboard_n, up_n);
            CaseLoad { contact_n, torque_to: torque_to.filter(|_| is_along), ..CaseLoad::default() }
        }))
    }
}
