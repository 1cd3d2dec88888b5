//! The file that a builder begins with: the demo car's corner made to fit another wheel and track.

mod request;
mod tyre;

use nalgebra::Point3;
use toml_edit::{Array, DocumentMut, Item, Value};

pub use self::request::{StarterError, StarterRequest};
use self::request::{centre_parts, point_parts, rounded};
pub use self::tyre::{Construction, Tyre, TyreError};
use crate::geometry::{Corner, Geometry, LengthUnit};

/// The corner of the demo car in mm, with the comments that tell how to measure. `<25.0|1.0>` is what the file says in mm, and
/// what it says in inches: round numbers of either. Points are written over.
const TEMPLATE: &str = include_str!("starter.toml");
const DEMO_TRAVEL_MM: f64 = 60.0;
/// Where the demo car has its spring, mm: a starter leaves more room for coils. A demo car that the page saved is a starter too.
const DEMO_SPRING: [[f64; 3]; 2] = [[195.0, 490.0, 570.0], [60.0, 652.0, 195.0]];
/// Two points nearer than this are the same numbers: below the digits written, above rounding in inches.
const SAME_MM: f64 = 1e-6;

/// A complete, commented geometry file in these units whose numbers fit the request. They are no design.
///
/// The demo car's corner is scaled about its wheel centre, by the room inside the rim or by the distance from the
/// centreline where the car is too narrow for that, and set down where the wheel stands. Angles stay, so it moves as
/// the demo car does, over a travel that is scaled too. Tested by the tests of this file.
pub fn starter_text(request: &StarterRequest, units: LengthUnit) -> String {
    starter(request, units).to_string().lines().map(with_comment_in_column).collect()
}

/// The text of the demo car as a file that somebody goes on with: by its key `starter` every command counts the points that are still
/// those of the demo car.
///
/// Tested by `the_demo_car_is_called_so_and_its_numbers_are_counted_under_any_name` in `tests/live/session.rs`.
pub fn demo_to_go_on_with(text: &str) -> String {
    let (units, request) = ("units = \"mm\"\n", StarterRequest::default());
    let starter = format!("starter = \"{request}\" # whose numbers are the demo car's; leave it");
    text.replacen(units, &format!("{units}{}", with_comment_in_column(&starter)), 1)
}

/// The line with what stands behind its value in the column of comments, however long the value has become.
fn with_comment_in_column(line: &str) -> String {
    const COLUMN: usize = 38;
    // A key that is not in force yet begins with # itself.
    match line.char_indices().skip(1).find(|(_, c)| *c == '#') {
        Some((at, _)) => format!("{:<COLUMN$}{}\n", line[..at].trim_end().to_owned() + " ", &line[at..]),
        None => format!("{line}\n"),
    }
}

fn starter(request: &StarterRequest, units: LengthUnit) -> DocumentMut {
    let mut file: DocumentMut =
        template(units).parse().expect("the template is TOML in either unit: every test of this file reads it");
    let to = request.wheel_centre(units);
    let (from, scale) = (StarterRequest::default().wheel_centre(LengthUnit::Millimetre), request.scale());
    for point in points(&mut file) {
        let moved = to + (place(point) - from) * scale;
        write_place(point, &moved.map(|mm| rounded(mm / units.in_mm(), point_parts(units))));
    }
    let length = |mm: f64, parts: f64| rounded(mm / units.in_mm(), parts);
    let travel = travel(scale, units);
    put(&mut file["starter"], request.to_string());
    put(&mut file["wheel"]["tyre_radius"], length(request.tyre_radius_mm(units), point_parts(units)));
    put(&mut file["wheel"]["rim_radius"], length(request.tyre.rim_inside_radius_mm(), point_parts(units)));
    put(&mut file["wheel"]["toe_span"], length(request.tyre.rim_outside_diameter_mm(), 10.0));
    put(&mut file["travel"]["bump"], travel);
    put(&mut file["travel"]["droop"], travel);
    if let Some(centre) = file["wheel"]["centre"].as_array_mut() {
        write_place(centre, &to.map(|mm| length(mm, centre_parts(units))));
    }
    file
}

/// The template as it reads in these units.
fn template(units: LengthUnit) -> String {
    let mut pieces = TEMPLATE.split('<');
    let mut text = pieces.next().unwrap_or_default().to_owned();
    for (choice, rest) in pieces.filter_map(|piece| piece.split_once('>')) {
        let (mm, inches) = choice.split_once('|').unwrap_or((choice, choice));
        text.push_str(if units == LengthUnit::Millimetre { mm } else { inches });
        text.push_str(rest);
    }
    text
}

/// Of the wheel either way, in a round number of these units.
fn travel(scale: f64, units: LengthUnit) -> f64 {
    let step = match units {
        LengthUnit::Millimetre => 5.0,
        LengthUnit::Inch => 0.2,
    };
    rounded((DEMO_TRAVEL_MM * scale / units.in_mm() / step).round() * step, 10.0)
}

/// Which points of a file are still those of its starter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Untouched {
    /// By name, in the order of the file: `toe link chassis`.
    pub names: Vec<String>,
    /// How many points the left side has.
    pub of: usize,
}

/// Where the points of the left side stood in the starter of a file, mm.
#[derive(Debug, Clone)]
pub struct StarterPoints(Vec<Point3<f64>>);

impl StarterPoints {
    /// `None` when the file does not say what its starter was made for.
    pub fn of(geometry: &Geometry) -> Option<Self> {
        Some(Self::made_for(&geometry.starter.as_ref()?.parse().ok()?, geometry.units))
    }

    fn made_for(request: &StarterRequest, units: LengthUnit) -> Self {
        let mut file = starter(request, units);
        let of_file = points(&mut file).into_iter().map(|point| place(point) * units.in_mm());
        let of_demo = DEMO_SPRING.map(Point3::from).into_iter().filter(|_| *request == StarterRequest::default());
        Self(of_file.chain(of_demo).collect())
    }

    /// Which points of a left side still stand there.
    ///
    /// A point counts as touched as soon as one coordinate differs. Links may have been renamed or put in another order.
    pub fn untouched(&self, corner: &Corner) -> Untouched {
        self.among(corner.points().into_iter().map(|(point, place)| (corner.name_of(point), place)).collect())
    }

    fn among(&self, points: Vec<(String, Point3<f64>)>) -> Untouched {
        let is_starter = |p: &Point3<f64>| self.0.iter().any(|s| (s - p).norm() < SAME_MM);
        let of = points.len();
        let names = points.into_iter().filter(|(_, p)| is_starter(p)).map(|(name, _)| name).collect();
        Untouched { names, of }
    }
}

/// The points of the left side that still have starter numbers; `None` when the file does not say what its starter was
/// made for.
pub fn untouched_points(geometry: &Geometry) -> Option<Untouched> {
    Some(StarterPoints::of(geometry)?.untouched(&geometry.left))
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
    use super::{StarterError, StarterPoints, StarterRequest, place, points, starter, starter_text, untouched_points};
    use crate::file::GeometryFile;
    use crate::geometry::Geometry;
    use crate::geometry::LengthUnit;
    use crate::geometry::LengthUnit::{Inch, Millimetre};

    fn request(tyre: &str, track_mm: f64) -> StarterRequest {
        StarterRequest::new(Some(tyre.parse().expect(tyre)), Some(track_mm)).expect("a car's track")
    }

    /// Wheels from the smallest to the largest on cars from the narrowest to the widest.
    fn every_car() -> impl Iterator<Item = StarterRequest> {
        let tyres = ["145/80R10", "165/70R12", "185/60R13", "205/50R15", "225/45ZR17", "265/35R18", "335/30R20"];
        let tracks = [1100.0, 1250.0, 1337.3, 1490.0, 1700.0, 1900.0];
        tyres.into_iter().flat_map(move |tyre| tracks.map(|track_mm| request(tyre, track_mm)))
    }

    /// Of a file in these units, mm.
    fn all_points(file: &mut DocumentMut, units: LengthUnit) -> Vec<Point3<f64>> {
        points(file).into_iter().map(|point| place(point) * units.in_mm()).collect()
    }

    /// The wheel centre comes first, then the links' chassis and upright points in turn.
    fn links(request: &StarterRequest, units: LengthUnit) -> (Point3<f64>, Vec<[Point3<f64>; 2]>) {
        let all = all_points(&mut starter(request, units), units);
        (all[0], all[1..11].chunks(2).map(|link| [link[0], link[1]]).collect())
    }

    /// As the file has it.
    fn wheel_number(request: &StarterRequest, units: LengthUnit, key: &str) -> f64 {
        starter(request, units)["wheel"][key].as_float().expect(key)
    }

    /// But for the spring, which leaves room for coils and their neighbours.
    #[test]
    fn without_options_it_is_the_corner_of_the_first_cut() {
        let mut first_cut: DocumentMut = include_str!("../../../geometries/first-cut.toml").parse().expect("TOML");
        let demo = StarterRequest::default();
        let starter_points = all_points(&mut starter(&demo, Millimetre), Millimetre);
        let demo_points = all_points(&mut first_cut, Millimetre);
        assert_eq!(starter_points[..13], demo_points[..13]);
        assert_eq!(super::DEMO_SPRING.map(Point3::from), demo_points[13..]);
        assert_eq!(starter_points.len(), 15);
        let toe_and_camber = ["toe", "camber"].map(|key| wheel_number(&demo, Millimetre, key));
        assert_eq!(toe_and_camber, [TOE_DEG, CAMBER_DEG]);
        for key in ["tyre_radius", "toe", "camber", "rim_radius", "toe_span"] {
            assert_eq!(Some(wheel_number(&demo, Millimetre, key)), first_cut["wheel"][key].as_float(), "{key}");
        }
    }

    /// The contact point by its definition in `docs/conventions.md`, from the numbers as written; half of the last digit of
    /// the wheel centre (0.001 mm, 0.0001 in) is what it may be off either way.
    #[test]
    fn contact_points_are_one_track_apart_on_the_floor() {
        for (units, half_digit_mm) in [(Millimetre, 0.0005), (Inch, 0.000_05 * 25.4)] {
            for request in every_car() {
                let number = |key| wheel_number(&request, units, key);
                let (toe, camber) = (number("toe").to_radians(), number("camber").to_radians());
                let spin = Vector3::new(camber.cos() * toe.sin(), camber.cos() * toe.cos(), -camber.sin());
                let down = (spin * spin.z - Vector3::z()).normalize();
                let contact = links(&request, units).0 + down * number("tyre_radius") * units.in_mm();
                assert!(
                    (2.0 * contact.y - request.track_mm).abs() < 2.2 * half_digit_mm,
                    "{request}: {}",
                    2.0 * contact.y
                );
                assert!(contact.z.abs() < 1.2 * half_digit_mm, "{request}: {}", contact.z);
            }
        }
    }

    /// A point is rounded by half a tenth of a millimetre and half a thousandth of an inch, and so is the tyre radius, which
    /// sets the corner on the floor; the wheel centre is finer. What else is a length comes within a tenth of its millimetres.
    #[test]
    fn a_starter_in_inches_is_the_same_car_in_round_numbers() {
        for request in every_car() {
            let [mm, inches] = [Millimetre, Inch].map(|units| starter_text(&request, units));
            let read = |text: &str| GeometryFile::parse("starter", text).expect("a geometry").geometry;
            let (mm, inch) = (read(&mm), read(&inches));
            assert_eq!((mm.units, inch.units), (Millimetre, Inch));
            let pairs = zip(mm.left.points(), inch.left.points());
            let apart_mm = pairs.map(|((_, a), (_, b))| (a - b).amax()).fold(0.0, f64::max);
            assert!(apart_mm < (0.05 + 0.0127) + (0.05 + 0.0127) + 0.0018, "{request}: {apart_mm}");
            assert_eq!(mm.left.wheel.spin_axis, inch.left.wheel.spin_axis, "toe and camber");
            let lengths = |car: &Geometry| {
                let free = car.adjustments.left.links.iter().flat_map(|may| may.chassis.iter().chain(&may.upright));
                let free = free.flatten().map(|range| range.high).collect::<Vec<_>>();
                let rest = [car.travel.step_mm, car.left.wheel.toe_span_mm, car.weld.as_ref().expect("given").sd_mm];
                let car_mm = [car.car.wheelbase_mm, car.car.cg_height_mm].map(|mm| mm.expect("given"));
                [&free[..], &rest, &car_mm].concat()
            };
            // Each to the nearest of its own steps.
            assert!((mm.travel.bump_mm - inch.travel.bump_mm).abs() <= 2.5 + 2.54, "{request}");
            for (mm, inch) in zip(lengths(&mm), lengths(&inch)) {
                assert!((inch / mm - 1.0).abs() < 0.1, "{request}: {mm} and {inch} mm");
            }
            let longest = inches.lines().filter(|line| !line.starts_with('#')).flat_map(|line| {
                let line = line.split('#').next().unwrap_or("");
                line.split(|c: char| !c.is_ascii_digit() && c != '.')
                    .filter_map(|n| n.split_once('.'))
                    .map(|(_, d)| d.len())
            });
            assert_eq!(longest.max(), Some(4), "{inches}");
            assert_eq!(untouched_points(&inch).expect("a starter").names.len(), 15, "{request}");
        }
    }

    #[test]
    fn pickups_turn_inside_the_rim_and_stay_off_floor_and_centreline() {
        for request in every_car() {
            let (centre, links) = links(&request, Millimetre);
            for [chassis, upright] in links {
                let arm = upright - centre;
                let rim_radius_mm = wheel_number(&request, Millimetre, "rim_radius");
                assert!(arm.x.hypot(arm.z) + 30.0 * request.scale() < rim_radius_mm, "{request}");
                assert!(upright.z > 60.0 && chassis.z > 60.0 && chassis.y > 100.0, "{request}: {chassis}");
            }
        }
    }

    /// Smallest singular value of the link rows and the driver, arms in units of 100 mm; the demo's is 0.50, and a
    /// corner scaled to two thirds has little more than two thirds of it.
    #[test]
    fn no_starter_is_near_binding() {
        for request in every_car() {
            let (centre, links) = links(&request, Millimetre);
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
            let behind = text.lines().filter_map(|line| line.split_once('#'));
            behind.map(|(_, comment)| comment.split_whitespace().collect::<Vec<_>>().join(" ")).collect()
        };
        for units in [Millimetre, Inch] {
            let text = starter_text(&request("145/80R10", 1250.0), units);
            assert_eq!(comments(&text), comments(&super::template(units)));
            assert!(text.contains("starter = \"145/80R10, track 1250 mm\" "), "{text}");
            assert!(!text.contains(['<', '>', '|']), "{text}");
            assert_eq!(starter_text(&StarterRequest::default(), units).lines().count(), text.lines().count());
        }
    }

    #[test]
    fn comments_behind_values_stand_in_one_column() {
        for (request, units) in every_car().flat_map(|request| [(request.clone(), Millimetre), (request, Inch)]) {
            let text = starter_text(&request, units);
            for line in text.lines().filter(|line| !line.is_empty()) {
                let Some((value, _)) = line[1..].split_once('#') else { continue };
                assert!(value.len() == 37 || value.trim_end().len() >= 37, "{line}");
            }
        }
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
        let mut now: Vec<_> = all_points(&mut starter(&request, Millimetre), Millimetre)
            .into_iter()
            .map(|p| (format!("{p}"), p))
            .collect();
        assert_eq!(StarterPoints::made_for(&request, Millimetre).among(now.clone()).names.len(), 15);
        now[3].1.z += 0.1;
        now[14].1.x -= 12.0;
        let left = StarterPoints::made_for(&request, Millimetre).among(now.clone());
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
