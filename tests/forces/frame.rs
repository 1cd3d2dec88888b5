//! Brackets on frame tubes, what toe they cost, and what the tubes weigh.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Geometry, Load, Side, WheelLoad};
use hubtrace::measures::{spin_axis, toe_deg};
use hubtrace::mechanism::{Linkage, travel_held_stretch};
use hubtrace::studies::Rig;
use hubtrace::studies::forces::{BracketOnTube, ForcesFindings, TubeForm, WheelForces};
use nalgebra::{Point3, Vector3};

use super::geometry;

/// The toe link's bracket of FL-C 20 mm above a level rail 30 x 2 along the car, 600 mm between its nodes, 200 mm from one.
fn car() -> Geometry {
    let toe_link = "chassis = [-165.0, 335.0, 250.0]";
    let text = include_str!("../outside/fl-c.toml");
    assert!(text.contains(toe_link));
    let text = text.replace(toe_link, &format!("{toe_link}\nchassis_tube = \"rail\""))
        + "\n[[tube]]\nname = \"rail\"\nfrom = [-365.0, 335.0, 230.0]\nto = [235.0, 335.0, 230.0]\nod = 30.0\nwall = 2.0\n\
           material = \"E235\"\n";
    let up = WheelLoad { contact_n: Some(Vector3::z() * 4000.0), ..WheelLoad::default() };
    let file = GeometryFile::parse("car", &text).unwrap_or_else(|error| panic!("{error}"));
    Geometry { loads: vec![Load { case: "up".to_owned(), side: None, on_wheel: up }], ..file.geometry }
}

fn found(car: &Geometry) -> ForcesFindings<'_> {
    ForcesFindings::of(&Rig::new(car).unwrap(), &Side::BOTH, &[]).unwrap()
}

fn only(car: &Geometry) -> BracketOnTube {
    let found = found(car);
    let [wheels] = &found.frame[..] else { panic!("{:?}", found.frame) };
    let [bracket] = &wheels.brackets[..] else { panic!("{wheels:?}") };
    bracket.clone()
}

/// 30 x 2 has 17 328 mm⁴ and 1155.2 mm³.
#[test]
fn a_bracket_between_nodes_is_as_stiff_as_the_tables_say() {
    let bracket = only(&car());
    assert_eq!((bracket.link.as_str(), bracket.tube.as_str()), ("toe link", "rail"));
    assert!((bracket.from_node_mm - 200.0).abs() < 1e-9 && (bracket.span_mm - 600.0).abs() < 1e-9);
    assert!((bracket.stand_off_mm - 20.0).abs() < 1e-9);
    // 3 · 210 000 · 17 328 · 600 / (200² · 400²); built in 600²/(200 · 400) = 4.5 times as much.
    let hinged = 3.0 * 210_000.0 * 17_328.0 * 600.0 / (200.0 * 400.0_f64).powi(2);
    let off = |got: f64, expected: f64| (got - expected).abs() / expected;
    assert!(off(bracket.stiffness_n_per_mm.low, hinged) < 1e-4, "{bracket:?}");
    assert!(off(bracket.stiffness_n_per_mm.high, 4.5 * hinged) < 1e-4, "{bracket:?}");
}

/// The link made longer by what the tube gives under 1 kN in it, solved again: the toe that the table promises.
#[test]
fn the_toe_that_a_soft_tube_costs_is_that_of_a_longer_link() {
    let car = car();
    let (bracket, corner) = (only(&car), &car.left);
    let link = &corner.links[4];
    let u = (link.upright - link.chassis).normalize();
    let across = 1.0 - u.x * u.x;
    let toe = |by_mm: f64| {
        let posture = Linkage::new(corner).lengthened(4, by_mm).design().unwrap();
        toe_deg(&spin_axis(corner, &posture))
    };
    for (stiffness, told) in [
        (bracket.stiffness_n_per_mm.low, bracket.toe_deg_per_kn),
        (bracket.stiffness_n_per_mm.high, bracket.toe_deg_per_kn),
    ] {
        let by_mm = 1000.0 * across / stiffness;
        let deg = 0.5 * (toe(by_mm) - toe(-by_mm));
        let nearest = if (told.low - deg).abs() < (told.high - deg).abs() { told.low } else { told.high };
        assert!((nearest - deg).abs() < 1e-4 * deg.abs(), "{deg} {told:?}");
    }
    let (velocity, _) = travel_held_stretch(&Linkage::new(corner), &Linkage::new(corner).design().unwrap(), 4).unwrap();
    assert!(velocity.z.abs() < 1e-12, "the height is held");
}

/// The pull of the toe link across the rail, and its moment about it.
#[test]
fn the_largest_force_across_the_tube_is_that_of_the_table_of_brackets() {
    let car = car();
    let (bracket, found) = (only(&car), found(&car));
    let forces = found.all().map(|(_, side, forces)| (side, forces.brackets[4].force_n));
    let (side, force) = forces.max_by(|a, b| a.1.y.hypot(a.1.z).total_cmp(&b.1.y.hypot(b.1.z))).expect("forces");
    assert!((bracket.across_n - force.y.hypot(force.z)).abs() < 1e-9);
    let brace = Point3::from(Vector3::from(bracket.brace_along));
    let expected = side.to_car(Point3::new(0.0, force.y, force.z)).coords / bracket.across_n;
    assert!((brace.coords - expected).norm() < 1e-9, "{brace} {expected}");
    // The point stands 20 mm above the line: force across and along the car have that lever.
    assert!((bracket.stand_off_nm - 0.02 * force.x.hypot(force.y)).abs() < 1e-9, "{bracket:?}");
    let bending_nm = bracket.across_n * 200.0 * 400.0 / 600.0 / 1000.0;
    assert!((bracket.reserve - 235.0 * 1155.2 / (1000.0 * bending_nm)).abs() < 1e-3 * bracket.reserve);
}

/// What breaks first may be the tube: it stands among the parts with the force across it and its place, and counts once.
#[test]
fn a_frame_tube_stands_among_what_breaks_first() {
    let car = car();
    let (bracket, found) = (only(&car), found(&car));
    let [margin] = &found.margins[0].ranked[..] else { panic!("{:?}", found.margins) };
    assert_eq!((margin.part.as_str(), margin.check.name()), ("toe link", "frame_tube"));
    assert_eq!(
        (margin.reserve, margin.load_n, &margin.at),
        (bracket.reserve, Some(bracket.across_n), &Some(bracket.at))
    );
    let Some(at) = &margin.at else { panic!("{margin:?}") };
    let there = |&(_, side, forces): &(_, Side, &WheelForces)| side == at.side && forces.bump_mm == at.bump_mm;
    let (_, _, forces) = found.all().find(there).expect("its place");
    let force = forces.brackets[4].force_n;
    assert!((force.y.hypot(force.z) - bracket.across_n).abs() < 1e-9);
    let mut weak = car.clone();
    weak.loads[0].on_wheel.contact_n = Some(Vector3::z() * 4000.0 * 1.2 * bracket.reserve);
    let found = self::found(&weak);
    assert!(found.breaks() && found.low_reserves() == [1, 0], "{:?}", found.margins);
}

/// A square tube that bears as much across its corners has more metal than the round one: about a fifth.
#[test]
fn round_is_lighter_than_square_where_the_load_may_come_from_anywhere() {
    let bracket = only(&car());
    let of = |form: TubeForm| bracket.instead.iter().find(|other| other.form == form).unwrap();
    let square = of(TubeForm::SquareOfEqualStrength);
    let (side, inside) = (square.outside_mm, square.outside_mm - 4.0);
    let across_corners = (side.powi(4) - inside.powi(4)) / 12.0 / (side / 2.0_f64.sqrt());
    assert!((across_corners - 1155.2).abs() < 0.5, "{across_corners}");
    assert!((1.1..1.3).contains(&square.mass_ratio), "{square:?}");
    assert!((square.strength_ratio - 1.0).abs() < 1e-9 && (square.stiffness_ratio - 1.302).abs() < 1e-3, "{square:?}");
    // 600 mm of E235, side² − inside² of it.
    let kg = 7.85e-6 * 600.0 * (side * side - inside * inside);
    assert!((square.mass_kg - kg).abs() < 1e-9, "{kg} {square:?}");
    let two = of(TubeForm::TwoBesideEachOther);
    assert_eq!((two.mass_ratio, two.stiffness_ratio, two.strength_ratio), (2.0, 2.0, 2.0));
    // π · 2 · 28 mm² of metal.
    let round_kg = 7.85e-6 * 600.0 * std::f64::consts::PI * 56.0;
    assert!((bracket.mass_kg - round_kg).abs() < 1e-9 && (two.mass_kg - 2.0 * round_kg).abs() < 1e-9, "{bracket:?}");
}

#[test]
fn masses_are_those_of_the_scales() {
    let with_tubes = geometry("geometries/first-cut.toml");
    let kg = |od: f64, wall: f64, mm: f64| 7.85e-6 * std::f64::consts::PI * wall * (od - wall) * mm;
    let links: f64 = with_tubes.left.links.iter().map(|link| kg(25.4, 2.41, link.length_mm())).sum();
    let masses = found(&with_tubes).masses;
    assert!((masses.links_kg.unwrap() - 2.0 * links).abs() < 1e-9 && masses.frame_tubes == 0, "{masses:?}");
    let car = car();
    let masses = found(&car).masses;
    assert_eq!((masses.links_kg, masses.frame_tubes), (None, 2));
    assert!((masses.frame_tubes_kg - 2.0 * kg(30.0, 2.0, 600.0)).abs() < 1e-9);
}

#[test]
fn a_tube_without_size_or_metal_is_named() {
    let mut car = car();
    car.tubes[0].wall_mm = None;
    let found = found(&car);
    assert!(found.frame[0].brackets.is_empty());
    assert!(found.lacking.iter().any(|lacks| lacks.what == "frame tube \"rail\""), "{:?}", found.lacking);
}

/// Its rail ends 65 mm short of the bracket: no row was there, and no word.
#[test]
fn a_bracket_past_the_end_of_its_tube_is_told_as_not_checked() {
    let mut car = car();
    car.tubes[0].from.x = -100.0;
    let found = found(&car);
    assert!(found.frame.iter().all(|wheels| wheels.brackets.is_empty()));
    let told = found.lacking.iter().find(|lacks| lacks.what == "frame tube \"rail\" under \"toe link\"");
    assert_eq!(told.map(|lacks| lacks.needs.as_str()), Some("bracket between the ends of that [[tube]]"));
}
