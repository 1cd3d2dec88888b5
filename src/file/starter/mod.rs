//! The file that a builder begins with: the demo car's corner made to fit another wheel and track.

mod request;
mod tyre;

use nalgebra::Point3;
use toml_edit::{Array, DocumentMut, Item, Value};

use self::request::rounded;
pub use self::request::{StarterError, StarterRequest};
pub use self::tyre::{Construction, Tyre, TyreError};
use crate::geometry::Geometry;

/// The corner of the demo car, with the comments that tell how to measure.
const TEMPLATE: &str = include_str!("starter.toml");
const DEMO_TRAVEL_MM: f64 = 60.0;
/// Two points nearer than this are the same numbers: below the digits written, above rounding in inches.
const SAME_MM: f64 = 1e-6;

/// A complete, commented geometry file whose numbers fit the request. They are no design.
///
/// The demo car's corner is scaled about its wheel centre, by the room inside the rim or by the distance from the
/// centreline where the car is too narrow for that, and set down where the wheel stands. Angles stay, so it moves as
/// the demo car does, over a travel that is scaled too. Tested by the tests of this file.
pub fn starter_text(request: &StarterRequest) -> String {
    starter(request).to_string()
}

fn starter(request: &StarterRequest) -> DocumentMut {
    let mut file: DocumentMut = TEMPLATE.parse().expect("the template is TOML: every test of this file reads it");
    let (from, to, scale) = (StarterRequest::default().wheel_centre(), request.wheel_centre(), request.scale());
    for point in points(&mut file) {
        let moved = to + (place(point) - from) * scale;
        write_place(point, &moved.map(|v| rounded(v, 10.0)));
    }
    let travel_mm = (DEMO_TRAVEL_MM * scale / 5.0).round() * 5.0;
    put(&mut file["starter"], request.to_string());
    put(&mut file["wheel"]["tyre_radius"], request.tyre_radius_mm());
    put(&mut file["wheel"]["rim_radius"], rounded(request.tyre.rim_inside_radius_mm(), 10.0));
    put(&mut file["wheel"]["toe_span"], request.tyre.rim_outside_diameter_mm());
    put(&mut file["travel"]["bump"], travel_mm);
    put(&mut file["travel"]["droop"], travel_mm);
    if let Some(centre) = file["wheel"]["centre"].as_array_mut() {
        write_place(centre, &to);
    }
    file
}

/// Which points of a file are still those of its starter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Untouched {
    /// By name, in the order of the file: `toe link chassis`.
    pub names: Vec<String>,
    /// How many points the left side has.
    pub of: usize,
}

/// The points of the left side that still have starter numbers; `None` when the file does not say what its starter was
/// made for.
///
/// A point counts as touched as soon as one coordinate differs. Links may have been renamed or put in another order.
pub fn untouched_points(geometry: &Geometry) -> Option<Untouched> {
    let request: StarterRequest = geometry.starter.as_ref()?.parse().ok()?;
    let corner = &geometry.left;
    let points_now = corner.points().into_iter().map(|(point, place)| (corner.name_of(point), place));
    Some(untouched(&request, points_now.collect()))
}

fn untouched(request: &StarterRequest, points_now: Vec<(String, Point3<f64>)>) -> Untouched {
    let mut file = starter(request);
    let starters: Vec<_> = points(&mut file).into_iter().map(|point| place(point)).collect();
    let is_starter = |p: &Point3<f64>| starters.iter().any(|s| (s - p).norm() < SAME_MM);
    let of = points_now.len();
    let names = points_now.into_iter().filter(|(_, p)| is_starter(p)).map(|(name, _)| name).collect();
    Untouched { names, of }
}

/// Every point of a starter file, to read or to write.
fn points(file: &mut DocumentMut) -> Vec<&mut Array> {
    const KEYS: [&str; 6] = ["centre", "chassis", "upright", "inner", "outer", "mount"];
    let mut found = Vec::new();
    for (_, section) in file.iter_mut() {
        let tables: Vec<_> = match section {
            Item::Table(table) => vec![table],
            Item::ArrayOfTables(tables) => tables.iter_mut().collect(),
            Item::None | Item::Value(_) => continue,
        };
        for table in tables {
            let points = table.iter_mut().filter(|(key, _)| KEYS.contains(&key.get()));
            found.extend(points.filter_map(|(_, item)| item.as_array_mut()));
        }
    }
    found
}

fn place(point: &Array) -> Point3<f64> {
    let coordinate = |i| point.get(i).and_then(Value::as_float).unwrap_or(f64::NAN);
    Point3::new(coordinate(0), coordinate(1), coordinate(2))
}

fn write_place(point: &mut Array, place: &Point3<f64>) {
    for (value, coordinate) in point.iter_mut().zip(place.iter()) {
        replace(value, *coordinate);
    }
}

/// Writes a value where another stood and keeps the comment behind it.
fn put(item: &mut Item, new: impl Into<Value>) {
    if let Some(value) = item.as_value_mut() {
        replace(value, new);
    }
}

fn replace(value: &mut Value, new: impl Into<Value>) {
    let decor = value.decor().clone();
    *value = new.into();
    *value.decor_mut() = decor;
}

#[cfg(test)]
mod tests {
    use std::iter::zip;

    use nalgebra::{Matrix6, Point3, RowVector6, Vector3};
    use toml_edit::DocumentMut;

    use super::request::{CAMBER_DEG, TOE_DEG};
    use super::{StarterError, StarterRequest, place, points, starter, starter_text, untouched};

    fn request(tyre: &str, track_mm: f64) -> StarterRequest {
        StarterRequest::new(Some(tyre.parse().expect(tyre)), Some(track_mm)).expect("a car's track")
    }

    /// Wheels from the smallest to the largest on cars from the narrowest to the widest.
    fn every_car() -> impl Iterator<Item = StarterRequest> {
        let tyres = ["145/80R10", "165/70R12", "185/60R13", "205/50R15", "225/45ZR17", "265/35R18", "335/30R20"];
        let tracks = [1100.0, 1250.0, 1337.3, 1490.0, 1700.0, 1900.0];
        tyres.into_iter().flat_map(move |tyre| tracks.map(|track_mm| request(tyre, track_mm)))
    }

    fn all_points(file: &mut DocumentMut) -> Vec<Point3<f64>> {
        points(file).into_iter().map(|point| place(point)).collect()
    }

    /// The wheel centre comes first, then the links' chassis and upright points in turn.
    fn links(request: &StarterRequest) -> (Point3<f64>, Vec<[Point3<f64>; 2]>) {
        let all = all_points(&mut starter(request));
        (all[0], all[1..11].chunks(2).map(|link| [link[0], link[1]]).collect())
    }

    fn wheel_number(request: &StarterRequest, key: &str) -> f64 {
        starter(request)["wheel"][key].as_float().expect(key)
    }

    #[test]
    fn without_options_it_is_the_corner_of_the_first_cut() {
        let mut first_cut: DocumentMut = include_str!("../../../geometries/first-cut.toml").parse().expect("TOML");
        let starter_points = all_points(&mut starter(&StarterRequest::default()));
        assert_eq!(starter_points, all_points(&mut first_cut));
        assert_eq!(starter_points.len(), 15);
        let toe_and_camber = ["toe", "camber"].map(|key| wheel_number(&StarterRequest::default(), key));
        assert_eq!(toe_and_camber, [TOE_DEG, CAMBER_DEG]);
        for key in ["tyre_radius", "toe", "camber", "rim_radius", "toe_span"] {
            assert_eq!(
                Some(wheel_number(&StarterRequest::default(), key)),
                first_cut["wheel"][key].as_float(),
                "{key}"
            );
        }
    }

    /// The contact point by its definition in `docs/conventions.md`, from the numbers as written.
    #[test]
    fn contact_points_are_one_track_apart_on_the_floor() {
        for request in every_car() {
            let (toe, camber) =
                (wheel_number(&request, "toe").to_radians(), wheel_number(&request, "camber").to_radians());
            let spin = Vector3::new(camber.cos() * toe.sin(), camber.cos() * toe.cos(), -camber.sin());
            let down = (spin * spin.z - Vector3::z()).normalize();
            let contact = links(&request).0 + down * wheel_number(&request, "tyre_radius");
            assert!((2.0 * contact.y - request.track_mm).abs() < 0.0011, "{request}: {}", 2.0 * contact.y);
            assert!(contact.z.abs() < 0.0006, "{request}: {}", contact.z);
        }
    }

    #[test]
    fn pickups_turn_inside_the_rim_and_stay_off_floor_and_centreline() {
        for request in every_car() {
            let (centre, links) = links(&request);
            for [chassis, upright] in links {
                let arm = upright - centre;
                assert!(
                    arm.x.hypot(arm.z) + 30.0 * request.scale() < wheel_number(&request, "rim_radius"),
                    "{request}"
                );
                assert!(upright.z > 60.0 && chassis.z > 60.0 && chassis.y > 100.0, "{request}: {chassis}");
            }
        }
    }

    /// Smallest singular value of the link rows and the driver, arms in units of 100 mm; the demo's is 0.50, and a
    /// corner scaled to two thirds has little more than two thirds of it.
    #[test]
    fn no_starter_is_near_binding() {
        for request in every_car() {
            let (centre, links) = links(&request);
            let mut jacobian = Matrix6::zeros();
            for (i, [chassis, upright]) in links.into_iter().enumerate() {
                let along = (upright - chassis).normalize();
                let moment = (upright - centre).cross(&along) / 100.0;
                jacobian.set_row(i, &RowVector6::new(along.x, along.y, along.z, moment.x, moment.y, moment.z));
            }
            jacobian[(5, 2)] = 1.0;
            assert!(jacobian.singular_values().min() > 0.3, "{request}: {}", jacobian.singular_values().min());
        }
    }

    #[test]
    fn another_wheel_changes_numbers_and_no_comment() {
        let comments = |text: &str| -> Vec<String> {
            text.lines().filter_map(|line| line.split_once('#').map(|(_, comment)| comment.to_owned())).collect()
        };
        let text = starter_text(&request("145/80R10", 1250.0));
        assert_eq!(comments(&text), comments(super::TEMPLATE));
        assert!(text.contains("starter = \"145/80R10, track 1250 mm\" #"), "{text}");
        assert_eq!(starter_text(&StarterRequest::default()).lines().count(), text.lines().count());
    }

    #[test]
    fn the_starter_key_reads_as_it_was_written() {
        for request in every_car() {
            assert_eq!(request.to_string().parse(), Ok(request));
        }
    }

    #[test]
    fn points_are_counted_until_one_coordinate_changes() {
        let request = request("225/45R17", 1520.0);
        let mut now: Vec<_> = all_points(&mut starter(&request)).into_iter().map(|p| (format!("{p}"), p)).collect();
        assert_eq!(untouched(&request, now.clone()).names.len(), 15);
        now[3].1.z += 0.1;
        now[14].1.x -= 12.0;
        let left = untouched(&request, now.clone());
        assert_eq!((left.names.len(), left.of), (13, 15));
        assert!(zip([3, 14], &now).all(|(i, _)| !left.names.contains(&now[i].0)));
    }

    #[test]
    fn a_track_of_no_car_is_refused_with_what_to_write() {
        for track_mm in [149.0, 14900.0, -1490.0, f64::NAN, f64::INFINITY] {
            let said = StarterRequest::new(None, Some(track_mm)).expect_err("no car").to_string();
            assert!(
                said.contains("write the distance between the contact points") && said.contains("900 to 2100"),
                "{said}"
            );
        }
    }

    #[test]
    fn a_starter_key_that_says_nothing_is_refused_with_its_form() {
        for text in ["", "205/50R15", "205/50R15, track 1490", "205/50R15 track 1490 mm", "205/50R15, track wide mm"] {
            assert!(matches!(text.parse::<StarterRequest>(), Err(StarterError::Form { .. })), "{text}");
        }
        assert!(matches!("20550R15, track 1490 mm".parse::<StarterRequest>(), Err(StarterError::Tyre(_))));
        assert!(matches!("205/50R15, track 5 mm".parse::<StarterRequest>(), Err(StarterError::Track { .. })));
    }
}
