//! Cars read from files, and the same cars moved, scaled and with their right side written out.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Corner, Geometry, SpringMount};
use nalgebra::{Point3, Vector3};

pub const CARS: [&str; 6] = [
    "geometries/first-cut.toml",
    "geometries/double-wishbone.toml",
    "geometries/semi-trailing.toml",
    "geometries/as-built.toml",
    "tests/outside/fl-c.toml",
    "tests/outside/spring-on-link.toml",
];

pub fn read(path: &str) -> Geometry {
    GeometryFile::read(path.as_ref()).unwrap_or_else(|error| panic!("{error}")).geometry
}

/// Every car above: with static toe and camber, two different sides, a spring on a link.
pub fn cars() -> Vec<Geometry> {
    CARS.map(read).into()
}

/// The car with every point moved.
pub fn moved(geometry: &Geometry, by: Vector3<f64>) -> Geometry {
    with_points(geometry, |point| point + by)
}

/// The car so many times as large, its travel too.
pub fn scaled(geometry: &Geometry, size: f64) -> Geometry {
    let mut large = with_points(geometry, |point| point * size);
    for corner in [&mut large.left, &mut large.right] {
        corner.wheel.tyre_radius_mm *= size;
    }
    let (car, travel) = (&mut large.car, &mut large.travel);
    car.wheelbase_mm = car.wheelbase_mm.map(|mm| mm * size);
    car.cg_height_mm = car.cg_height_mm.map(|mm| mm * size);
    for mm in [&mut travel.bump_mm, &mut travel.droop_mm, &mut travel.step_mm] {
        *mm *= size;
    }
    large
}

fn with_points(geometry: &Geometry, change: impl Fn(Point3<f64>) -> Point3<f64>) -> Geometry {
    let corner = |corner: &Corner| {
        let mut corner = corner.clone();
        corner.points_mut().into_iter().for_each(|(_, place)| *place = change(*place));
        corner
    };
    Geometry { left: corner(&geometry.left), right: corner(&geometry.right), ..geometry.clone() }
}

/// The text of a file in mm and car axes, with the mirror image of its left side written out as `[right]`.
pub fn with_own_right_side(text: &str, geometry: &Geometry) -> String {
    let corner = &geometry.left;
    let at = |p: Point3<f64>| format!("[{:?}, {:?}, {:?}]", p.x, -p.y, p.z);
    let wheel = &corner.wheel;
    let lean = |key| {
        let line = text.lines().find(|line| line.starts_with(key)).map(|line| line.split('#').next());
        line.flatten().unwrap_or_default().to_owned()
    };
    let mut right = format!(
        "\n[right.wheel]\ncentre = {}\ntyre_radius = {:?}\ntoe_span = {:?}\n{}\n{}\n",
        at(wheel.centre),
        wheel.tyre_radius_mm,
        wheel.toe_span_mm,
        lean("toe ="),
        lean("camber =")
    );
    if let Some(rim_mm) = wheel.rim_radius_mm {
        right += &format!("rim_radius = {rim_mm:?}\n");
    }
    for link in &corner.links {
        right += &format!("[[right.link]]\nname = {:?}\n", link.name);
        right += &format!("chassis = {}\nupright = {}\n", at(link.chassis), at(link.upright));
    }
    if let Some(shaft) = &corner.halfshaft {
        let axis = at(Point3::from(shaft.axis.into_inner()));
        right +=
            &format!("[right.halfshaft]\ninner = {}\nouter = {}\naxis = {axis}\n", at(shaft.inner), at(shaft.outer));
    }
    if let Some(spring) = &corner.spring {
        let on = match spring.on {
            SpringMount::Upright => "upright",
            SpringMount::Link { index, .. } => &corner.links[index].name,
        };
        right +=
            &format!("[right.spring]\nchassis = {}\nmount = {}\non = {on:?}\n", at(spring.chassis), at(spring.mount));
    }
    text.to_owned() + &right
}
