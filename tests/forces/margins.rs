//! What breaks first, worked by hand from the forces of a corner that are known from outside.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Geometry, Load, Side, Travel, WheelLoad};
use hubtrace::studies::Rig;
use hubtrace::studies::forces::{Check, ForcesFindings, Margin, WANTED_RESERVE};
use nalgebra::Vector3;

const FL_C: &str = include_str!("../outside/fl-c.toml");
const SPRING_ON_LINK: &str = include_str!("../outside/spring-on-link.toml");

/// A corner at design height alone under 4 kN up, with these keys on every link and these tables.
fn car(text: &str, on_links: &str, tables: &str) -> Geometry {
    let text = text.replace("upright = [", &format!("{on_links}\nupright = [")) + tables;
    let file = GeometryFile::parse("car", &text).unwrap_or_else(|error| panic!("{error}"));
    let up = WheelLoad { contact_n: Some(Vector3::z() * 4000.0), ..WheelLoad::default() };
    Geometry {
        travel: Travel { bump_mm: 0.0, droop_mm: 0.0, ..Travel::default() },
        loads: vec![Load { case: "up".to_owned(), side: None, on_wheel: up }],
        ..file.geometry
    }
}

fn ranked(car: &Geometry) -> Vec<Margin> {
    let found = ForcesFindings::of(&Rig::new(car).unwrap(), &Side::BOTH, &[]).unwrap();
    assert_eq!(found.margins.len(), 1, "mirrored");
    found.margins[0].ranked.clone()
}

fn reserve(margins: &[Margin], part: &str, check: Check) -> f64 {
    let found = margins.iter().find(|margin| margin.part == part && margin.check == check);
    found.unwrap_or_else(|| panic!("no {check:?} of {part} in {margins:?}")).reserve
}

fn assert_near(got: f64, expected: f64, what: &str) {
    assert!((got - expected).abs() < 5e-4 * expected, "{what}: {got}, expected {expected}");
}

const TUBE: &str = "tube = { od = 25.0, wall = 2.0, material = \"E355\" }";
const ROD_END: &str = "\n[rod_end]\nthread = \"M10x1.25\"\nengagement = 18.0\nstatic_kn = 22.0\n";
const BOLT: &str = "\n[bolt]\nthread = \"M10\"\nclass = \"8.8\"\n";

/// Forces of FL-C: upper rear −1295.400 N, lower rear 2265.496 N. Tube 25 x 2: 144.51 mm², radius of gyration 8.1624 mm.
#[test]
fn reserves_are_those_worked_by_hand() {
    let margins = ranked(&car(FL_C, TUBE, &format!("{ROD_END}{BOLT}")));
    // 259.09 mm: slenderness 31.74; 51 302 N · (1 − 355 · 31.74² / (4 π² · 210 000)) = 49 089 N.
    assert_near(reserve(&margins, "upper rear", Check::TubeBuckling), 49_089.0 / 1295.400, "buckling");
    assert_near(reserve(&margins, "lower rear", Check::TubePull), 51_302.0 / 2265.496, "pull");
    assert_near(reserve(&margins, "lower rear", Check::RodEnd), 22_000.0 / 3.0 / 2265.496, "rod end, factor 3");
    // Two planes of 0.6 · 800 MPa · 57.99 mm² / 1.25.
    assert_near(reserve(&margins, "lower rear", Check::ChassisBolt), 44_536.0 / 2265.496, "bolt");
    assert_near(reserve(&margins, "upper rear", Check::UprightBolt), 44_536.0 / 1295.400, "bolt");
    assert_near(reserve(&margins, "toe link", Check::Engagement), 18.0 / 15.0, "thread");
    assert!(margins.iter().all(|margin| margin.reserve.is_finite()));
    let absent = |part: &str, check: Check| !margins.iter().any(|m| m.part == part && m.check == check);
    assert!(absent("upper rear", Check::TubePull) && absent("lower rear", Check::TubeBuckling));
    assert!(absent("lower rear", Check::RodEndAcross) && absent("lower rear", Check::RodEndShank));
    // Threads that are held far enough stand below everything that a force decides.
    let (forces, threads) = margins.split_at(margins.len() - 5);
    assert!(forces.is_sorted_by(|a, b| a.reserve <= b.reserve) && forces.iter().all(|m| m.check != Check::Engagement));
    assert!(threads.iter().all(|m| m.check == Check::Engagement && !m.is_thin()));
    assert_eq!((forces[0].part.as_str(), forces[0].check, forces[0].is_thin()), ("lower rear", Check::RodEnd, false));
}

/// `tests/outside/forces/` has the forces of the link that carries the spring: at design under 6 kN up 4722.4 N between
/// chassis and spring, 786.54 N·m, 6454.3 N across it; here two thirds of that.
#[test]
fn a_link_that_carries_the_spring_bends_and_its_rod_ends_are_pushed_aside() {
    let tube = "tube = { od = 40.0, wall = 4.0, material = \"4130\" }";
    let rod_end = "\n[rod_end]\nthread = \"M16x1.5\"\nshank = 60.0\nengagement = 26.0\nstatic_kn = 60.0\napplication_factor = 2.0\n\
                   shank_yield_mpa = 700.0\n";
    let margins = ranked(&car(SPRING_ON_LINK, tube, rod_end));
    let (axial_n, nm, across_n) = (4722.4417 / 1.5, 786.543_56 / 1.5, 6454.2634 / 1.5);
    // 452.39 mm² and 3710.0 mm³.
    let stress_mpa = axial_n / 452.389 + 1000.0 * nm / 3709.6;
    assert_near(reserve(&margins, "lower rear", Check::TubePull), 435.0 / stress_mpa, "bent tube");
    let is_buckling = |margin: &&Margin| margin.part == "lower rear" && margin.check == Check::TubeBuckling;
    assert_eq!(margins.iter().find(is_buckling), None, "it is pulled and bent, and nothing pushes it");
    assert_near(reserve(&margins, "lower rear", Check::RodEndAcross), 6000.0 / across_n, "across");
    // M16x1.5: 167.25 mm², 14.593 mm; 34 mm of shank stand out.
    let stress_mpa = axial_n / 167.25 + 34.0 * across_n / 305.08;
    assert_near(reserve(&margins, "lower rear", Check::RodEndShank), 700.0 / stress_mpa, "shank");
    let others = margins.iter().filter(|m| m.part != "lower rear" && m.check == Check::RodEndAcross);
    assert_eq!(others.count(), 0);
}

/// The spring stands six tenths out along the link, so the bolt on the frame takes the moment over that arm across the link, beside
/// the force along it.
#[test]
fn the_bolt_of_a_link_that_carries_the_spring_takes_the_force_across_it_too() {
    let car = car(SPRING_ON_LINK, "", BOLT);
    let arm_m = 0.6 * car.left.links.iter().find(|link| link.name == "lower rear").unwrap().length_mm() / 1000.0;
    let (along_n, across_n) = (4722.4417 / 1.5, 786.543_56 / 1.5 / arm_m);
    assert!(across_n > 0.8 * along_n);
    let margins = ranked(&car);
    assert_near(reserve(&margins, "lower rear", Check::ChassisBolt), 44_536.0 / along_n.hypot(across_n), "bolt");
}

/// A load on one wheel of a mirrored car asks the same of its links whichever wheel it is, and the place says which.
#[test]
fn the_right_wheel_breaks_as_the_left_one() {
    let on = |side: Side| {
        let mut car = car(FL_C, TUBE, &format!("{ROD_END}{BOLT}"));
        car.loads[0].side = Some(side);
        ranked(&car).into_iter().filter(|margin| margin.check != Check::Engagement).collect::<Vec<Margin>>()
    };
    let (left, right) = (on(Side::Left), on(Side::Right));
    assert!(left.len() >= 20 && left.len() == right.len(), "{} {}", left.len(), right.len());
    for (left, right) in left.iter().zip(&right) {
        assert_eq!((&left.part, left.check, left.reserve), (&right.part, right.check, right.reserve));
        let sides = [left, right].map(|margin| margin.at.as_ref().unwrap().side);
        assert_eq!(sides, [Side::Left, Side::Right]);
    }
}

/// A bracket that holds the shank of an M12 rod end with its ball 22 mm off: 84.27 mm² and 109.11 mm³ under 2265.496 N of the lower rear link.
#[test]
fn a_shank_in_its_bracket_bends_by_the_stand_off_at_that_end_alone() {
    let held = |ends: &str| {
        format!("\n[rod_end]\nthread = \"M12\"\nstatic_kn = 40.0\nshank_yield_mpa = 700.0\nstand_off = {{ {ends} }}\n")
    };
    let expected = 700.0 / (2265.496 * (1.0_f64 / 84.27).hypot(22.0 / 109.11));
    for ends in ["chassis = 22.0", "upright = 22.0", "chassis = 22.0, upright = 5.0"] {
        let margins = ranked(&car(FL_C, "", &held(ends)));
        assert_near(reserve(&margins, "lower rear", Check::RodEndShank), expected, ends);
        assert_near(reserve(&margins, "lower rear", Check::RodEndAcross), 4000.0 / 2265.496, "a tenth of 40 kN");
        assert_near(reserve(&margins, "lower rear", Check::RodEnd), 40_000.0 / 3.0 / 2265.496, "along");
    }
    let in_line = ranked(&car(FL_C, "", &held("chassis = 22.0").replace("stand_off = { chassis = 22.0 }", "")));
    assert_near(reserve(&in_line, "lower rear", Check::RodEndShank), 700.0 * 84.27 / 2265.496, "an axial load alone");
    assert!(!in_line.iter().any(|margin| margin.check == Check::RodEndAcross));
}

/// Without its lever or its yield strength a bent shank is not checked, and that is said: never passed for want of a key.
#[test]
fn a_bent_shank_that_lacks_a_key_is_told() {
    let of = |text: &str, rod_end: &str| {
        let car = car(text, "", rod_end);
        let found = ForcesFindings::of(&Rig::new(&car).unwrap(), &Side::BOTH, &[]).unwrap();
        let has_shank = |margin: &Margin| margin.check == Check::RodEndShank;
        let carrier = found.margins[0].ranked.iter().any(|margin| margin.part == "lower rear" && has_shank(margin));
        let told = found.lacking.iter().find(|lacks| lacks.what.starts_with("bent rod-end shanks"));
        (carrier, told.map(|lacks| format!("{}: {}", lacks.what, lacks.needs)))
    };
    let whole = "\n[rod_end]\nthread = \"M16x1.5\"\nshank = 60.0\nengagement = 26.0\nshank_yield_mpa = 700.0\n";
    assert_eq!(of(SPRING_ON_LINK, whole), (true, None));
    for line in ["shank = 60.0\n", "engagement = 26.0\n", "shank_yield_mpa = 700.0\n", "thread = \"M16x1.5\"\n"] {
        let key = line.split(' ').next().unwrap();
        let told = format!("bent rod-end shanks of lower rear: {key} in [rod_end]");
        assert_eq!(of(SPRING_ON_LINK, &whole.replace(line, "")), (false, Some(told)));
    }
    assert_eq!(of(FL_C, whole), (true, None), "nothing bends it");
    let held = "\n[rod_end]\nthread = \"M12\"\nstand_off = { chassis = 22.0 }\n";
    let of_every_link = "bent rod-end shanks of every link: shank, engagement and shank_yield_mpa in [rod_end]";
    assert_eq!(of(FL_C, held), (false, Some(of_every_link.to_owned())), "its other end is held by no bracket");
    let at_both = held.replace("22.0", "22.0, upright = 22.0");
    let of_every_link = "bent rod-end shanks of every link: shank_yield_mpa in [rod_end]";
    assert_eq!(of(FL_C, &at_both), (false, Some(of_every_link.to_owned())));
}

#[test]
fn a_link_takes_its_own_parts_whole_and_the_upright_end_what_differs() {
    let own = format!(
        "{TUBE}\nrod_end = {{ static_kn = 11.0 }}\nbolt = {{ thread = \"M8\", class = \"10.9\", upright = {{ shear = \"single\", gap = 12.0 }} }}"
    );
    let text = FL_C.replace("name = \"toe link\"", &format!("name = \"toe link\"\n{own}"));
    let car = car(&text, "", &format!("{ROD_END}{BOLT}"));
    let [toe, lower] = [&car.left.links[4].hardware, &car.left.links[0].hardware];
    let (toe_end, lower_end) = (toe.rod_end.as_ref().unwrap(), lower.rod_end.as_ref().unwrap());
    assert_eq!((toe_end.static_n, toe_end.thread.is_none()), (Some(11_000.0), true));
    assert_eq!((lower_end.static_n, lower_end.engagement_mm), (Some(22_000.0), Some(18.0)));
    let [chassis, upright] = [toe.chassis_bolt.as_ref().unwrap(), toe.upright_bolt.as_ref().unwrap()];
    assert_eq!((chassis.planes.name(), chassis.gap_mm, chassis.class.name()), ("double", None, "10.9"));
    assert_eq!((upright.planes.name(), upright.gap_mm, upright.thread.diameter_mm), ("single", Some(12.0), 8.0));
    assert_eq!(lower.upright_bolt.as_ref().unwrap().class.name(), "8.8");
    assert_eq!(car.left.links, car.right.links);
}

#[test]
fn what_is_not_known_is_named_and_never_passes() {
    let lacking = |on_links: &str, tables: &str| {
        let car = car(FL_C, on_links, tables);
        let found = ForcesFindings::of(&Rig::new(&car).unwrap(), &Side::BOTH, &[]).unwrap();
        let told = found.lacking.iter().map(|lacks| format!("{}: {}", lacks.what, lacks.needs)).collect::<Vec<_>>();
        (told, found.margins[0].ranked.len())
    };
    let (told, checks) = lacking("", "");
    assert_eq!(checks, 0);
    for lacks in [
        "tube of every link: od, wall and material in its `tube`",
        "rod ends of every link: static_kn in [rod_end]",
        "thread engagement of every link: thread and engagement in [rod_end]",
        "bolts of every link: thread and class in [bolt]",
    ] {
        assert!(told.contains(&lacks.to_owned()), "{lacks} in {told:?}");
    }
    let (told, _) = lacking("tube = { od = 25.0, wall = 2.0, material = \"unobtanium\" }", "");
    assert!(told.iter().any(|lacks| lacks.starts_with("tube of toe link (\"unobtanium\" is no metal")), "{told:?}");
    let (told, _) = lacking("tube = { od = 25.0, wall = 2.0, material = \"E235+C\" }", "");
    assert!(
        told.iter().any(|lacks| lacks.contains("no guaranteed yield") && lacks.contains("certificate")),
        "{told:?}"
    );
    let own = "\n[[material]]\nname = \"E235+C\"\nyield_mpa = 400.0\ne_gpa = 210.0\ndensity = 7850.0\n";
    let (told, checks) = lacking("tube = { od = 25.0, wall = 2.0, material = \"E235+C\" }", own);
    assert_eq!((told.iter().any(|lacks| lacks.contains("E235")), checks), (false, 5));
}

#[test]
fn a_thread_that_is_held_too_short_breaks_first() {
    let margins = ranked(&car(FL_C, TUBE, &ROD_END.replace("18.0", "14.0")));
    assert!(margins[..5].iter().all(|m| m.check == Check::Engagement && m.is_thin() && m.reserve < 1.0));
}

/// The insert of an M12 rod end needs 16 mm inside.
#[test]
fn a_light_tube_still_takes_its_insert() {
    let light = car(FL_C, TUBE, "\n[rod_end]\nthread = \"M12\"\n");
    let found = ForcesFindings::of(&Rig::new(&light).unwrap(), &Side::BOTH, &[]).unwrap().with_lightest_tubes();
    for link in found.margins[0].lightest_tubes.iter().flatten() {
        let tube = link.tube.unwrap();
        assert!(tube.od_mm - 2.0 * tube.wall_mm >= 16.0, "{link:?}");
        assert_eq!((tube.od_mm, tube.wall_mm), (20.0, 1.5), "the lightest that does");
    }
}

/// Each lightest tube keeps what is wanted, and every lighter one of the list does not.
#[test]
fn the_lightest_tube_is_the_lightest_that_keeps_the_reserve() {
    use hubtrace::strength::STANDARD_TUBES;
    let drawn = car(FL_C, TUBE, "");
    let loads = vec![Load {
        case: "up".to_owned(),
        side: None,
        on_wheel: WheelLoad { contact_n: Some(Vector3::new(0.0, -9000.0, 20_000.0)), ..WheelLoad::default() },
    }];
    let loaded = Geometry { loads, ..drawn };
    let found = ForcesFindings::of(&Rig::new(&loaded).unwrap(), &Side::BOTH, &[]).unwrap().with_lightest_tubes();
    let lightest = found.margins[0].lightest_tubes.clone().unwrap();
    assert_eq!(lightest.len(), 5);
    for (index, link) in lightest.iter().enumerate() {
        assert_eq!((link.material.as_str(), link.assumed), ("E355+N", false));
        let tube = link.tube.unwrap();
        let with = |od_mm: f64, wall_mm: f64| {
            let mut car = loaded.clone();
            for corner in [&mut car.left, &mut car.right] {
                let of = corner.links[index].tube.as_mut().unwrap();
                (of.od_mm, of.wall_mm) = (od_mm, Some(wall_mm));
            }
            let tubes = ranked(&car).into_iter().filter(|margin| margin.part == link.link);
            tubes.map(|margin| margin.reserve).fold(f64::INFINITY, f64::min)
        };
        assert!((with(tube.od_mm, tube.wall_mm) - tube.reserve).abs() < 1e-9 && tube.reserve >= WANTED_RESERVE);
        let area = |(od, wall): (f64, f64)| wall * (od - wall);
        for lighter in STANDARD_TUBES.into_iter().filter(|size| area(*size) < area((tube.od_mm, tube.wall_mm)) - 1e-9) {
            assert!(with(lighter.0, lighter.1) < WANTED_RESERVE, "{}: {lighter:?}", link.link);
        }
        let length_mm = loaded.left.links[index].length_mm();
        let kg = 7.85e-6 * std::f64::consts::PI * area((tube.od_mm, tube.wall_mm)) * length_mm;
        assert!((tube.mass_kg - kg).abs() < 1e-9);
    }
}
