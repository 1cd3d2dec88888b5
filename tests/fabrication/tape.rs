//! The tape check against the survey solver, which knows nothing of it, and against tolerances on paper.

use std::collections::BTreeMap;
use std::fmt::Write;

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{CornerPoint, Geometry, LengthUnit, Side};
use hubtrace::present::{self, LengthFormat};
use hubtrace::studies::fabrication::{TapeCheck, TapeStart, Taped, named_points, tape_check};
use hubtrace::studies::locate::LocateFindings;
use hubtrace::survey::SurveyFile;
use nalgebra::Point3;

use crate::{DATUMS, car, demo};

fn surveyed_car() -> Geometry {
    car(&(demo() + DATUMS))
}

/// The pickups of both wheels as sheets call them.
fn pickups(geometry: &Geometry) -> BTreeMap<String, Point3<f64>> {
    let points = named_points(geometry, &Side::BOTH).into_iter();
    points.filter(|point| matches!(point.point, Some(CornerPoint::Pickup(_)))).map(|of| (of.name, of.at)).collect()
}

/// The places that a survey finds from the fixing distances, each off by its tolerance times one of these factors in turn.
fn relocated(geometry: &Geometry, check: &TapeCheck, factors: &[f64]) -> BTreeMap<String, Point3<f64>> {
    let mut text = format!("schema = 1\n{DATUMS}");
    for (name, at) in pickups(geometry) {
        let near = [at.x + 15.0, at.y - 10.0, at.z + 12.0];
        writeln!(text, "[[point]]\nname = {name:?}\nnear = {near:?}").unwrap();
    }
    let fixing = check.distances.iter().filter(|row| row.what == Taped::Fixes);
    for (row, factor) in fixing.zip(factors.iter().cycle()) {
        let read = row.distance_mm + factor * row.tolerance_mm;
        writeln!(text, "[[distance]]\nbetween = [{:?}, {:?}]\nread = {read:?}", row.point, row.to).unwrap();
    }
    let survey = SurveyFile::parse("survey", &text).unwrap_or_else(|error| panic!("{error}")).survey;
    let points = LocateFindings::of(&survey).located.points;
    points.into_iter().map(|point| (point.point, point.at_mm.expect("placed").into())).collect()
}

#[test]
fn the_distances_give_the_pickups_back() {
    let car = surveyed_car();
    let check = tape_check(&car, &Side::BOTH);
    assert_eq!(check.measured_from, TapeStart::Datums);
    let (drawn, found) = (pickups(&car), relocated(&car, &check, &[0.0]));
    assert_eq!(drawn.len(), 20);
    for (name, at) in drawn {
        assert!((found[&name] - at).norm() < 1e-5, "{name}: {} for {at}", found[&name]);
    }
}

/// With every distance off by its whole tolerance, one way or the other, no pickup leaves the room that is told of it, and some
/// come near to its end.
#[test]
fn distances_inside_their_tolerance_keep_a_pickup_within_what_is_said() {
    let car = surveyed_car();
    let check = tape_check(&car, &Side::BOTH);
    let drawn = pickups(&car);
    let mut most = 0.0_f64;
    for factors in [[1.0, 1.0, 1.0], [-1.0, 1.0, 1.0], [1.0, -1.0, 1.0], [1.0, 1.0, -1.0]] {
        let found = relocated(&car, &check, &factors);
        for fix in &check.fixes {
            let within_mm = fix.within_mm.expect("fixed");
            let off_mm = (found[&fix.point] - drawn[&fix.point]).norm();
            // The bound is of first order; the rest grows with the square of a millimetre over half a metre.
            assert!(off_mm < within_mm + 0.02, "{fix:?}: {off_mm}");
            most = most.max(off_mm / within_mm);
        }
    }
    assert!(most > 0.99, "{most}");
}

/// No other three datums leave a pickup less room, each tried by solving the three distances anew.
#[test]
fn no_three_datums_fix_a_pickup_better() {
    let car = surveyed_car();
    let check = tape_check(&car, &[Side::Left]);
    let fix = check.fixes.iter().find(|fix| fix.point == "toe link chassis").expect("a pickup");
    let at = pickups(&car)["toe link chassis"];
    let room = |three: [usize; 3]| {
        let rows = three.map(|k| (at - car.datums[k].at).normalize());
        // The corner of a box is solved from three planes, each off by the tolerance.
        let corner = |signs: [f64; 3]| {
            let [a, b, c] = rows;
            let volume = a.dot(&b.cross(&c));
            let sum = b.cross(&c) * signs[0] + c.cross(&a) * signs[1] + a.cross(&b) * signs[2];
            (sum * (0.5 * 1.96 / volume)).norm()
        };
        [[1.0, 1.0, 1.0], [-1.0, 1.0, 1.0], [1.0, -1.0, 1.0], [1.0, 1.0, -1.0]]
            .map(corner)
            .into_iter()
            .fold(0.0, f64::max)
    };
    let mut least = (f64::INFINITY, [0; 3]);
    for c in 2..5 {
        for b in 1..c {
            for a in 0..b {
                let room = room([a, b, c]);
                least = if room < least.0 { (room, [a, b, c]) } else { least };
            }
        }
    }
    let mut names = least.1.map(|k| car.datums[k].name.clone()).to_vec();
    let mut chosen = fix.from.clone();
    names.sort();
    chosen.sort();
    assert_eq!(chosen, names);
    assert!((fix.within_mm.expect("fixed") - least.0).abs() < 1e-9, "{fix:?} {least:?}");
}

fn tolerance_mm(check: &TapeCheck, point: &str, what: Taped) -> f64 {
    let row = check.distances.iter().find(|row| row.point == point && row.what == what).expect("a distance");
    row.tolerance_mm
}

/// 19 of 20 of a distance with one end that errs by 0.5 mm, with two such ends, with a bracket that is off as one besides, and of
/// holes that are drilled already.
#[test]
fn a_tolerance_is_that_of_the_welds() {
    let close = |got: f64, sd_mm: f64| assert!((got - 1.96 * sd_mm).abs() < 1e-9, "{got} for {sd_mm}");
    let plain = tape_check(&surveyed_car(), &Side::BOTH);
    close(tolerance_mm(&plain, "toe link chassis", Taped::Fixes), 0.5);
    close(tolerance_mm(&plain, "toe link chassis", Taped::Opposite), 0.5 * f64::sqrt(2.0));
    let group = "\n[[weld.group]]\nname = \"box\"\npickups = [\"toe link chassis\"]\nsd = 1.2\ntogether = true\n";
    let grouped =
        tape_check(&car(&(demo().replace("[weld]\n", "[weld]\nupright_sd = 0.1\n") + group + DATUMS)), &Side::BOTH);
    close(tolerance_mm(&grouped, "toe link chassis", Taped::Fixes), 1.3);
    close(tolerance_mm(&grouped, "upper rear chassis", Taped::Fixes), 0.5);
    close(tolerance_mm(&grouped, "toe link upright", Taped::Fixes), 0.1);
    close(tolerance_mm(&grouped, "toe link upright", Taped::Opposite), 0.1 * f64::sqrt(2.0));
}

#[test]
fn every_pickup_is_taped_across_the_car_once() {
    let car = surveyed_car();
    let check = tape_check(&car, &Side::BOTH);
    let of = |what: Taped| check.distances.iter().filter(move |row| row.what == what);
    assert_eq!((of(Taped::Fixes).count(), of(Taped::Opposite).count()), (60, 10));
    for row in of(Taped::Opposite) {
        assert_eq!(row.to, format!("right {}", row.point));
        assert_eq!(row.distance_mm, 2.0 * pickups(&car)[&row.point].y);
    }
    let pair = |row: &hubtrace::studies::fabrication::TapeRow| {
        let mut pair = [row.point.clone(), row.to.clone()];
        pair.sort();
        pair
    };
    let mut pairs: Vec<_> = check.distances.iter().map(pair).collect();
    pairs.sort();
    pairs.dedup();
    assert_eq!(pairs.len(), check.distances.len());
}

#[test]
fn without_enough_datums_other_pickups_stand_in() {
    let check = tape_check(&car(&demo()), &[Side::Left]);
    assert_eq!(check.measured_from, TapeStart::Pickups);
    assert!(
        check.fixes.iter().all(|fix| fix.from.len() == 3 && fix.from.iter().all(|from| from.ends_with(" chassis")))
    );
    let two: String = DATUMS.split_inclusive("\n\n").take(2).collect();
    let check = tape_check(&car(&(demo() + &two)), &[Side::Left]);
    assert_eq!(check.measured_from, TapeStart::DatumsAndPickups);
    let hoop = |fix: &hubtrace::studies::fabrication::PointFix| {
        fix.from.iter().filter(|from| from.starts_with("main hoop")).count()
    };
    assert!(check.fixes.iter().all(|fix| fix.from.len() == 3 && hoop(fix) == 2), "{:?}", check.fixes);
}

/// On the centreline both sides have one place: there is nothing to tape between them.
#[test]
fn points_that_meet_have_no_distance() {
    for y_mm in [0.0, 5e-324, 4.0] {
        let mut car = surveyed_car();
        car.left.links[1].chassis.y = y_mm;
        car.right.links[1].chassis.y = y_mm;
        let check = tape_check(&car, &Side::BOTH);
        assert!(check.distances.iter().all(|row| row.distance_mm > 19.0 && row.tolerance_mm.is_finite()), "{y_mm}");
        assert_eq!(check.distances.iter().filter(|row| row.what == Taped::Opposite).count(), 9);
    }
}

/// The inner pivots of a semi-trailing arm are nearly in line with all that a tape can be held to.
#[test]
fn a_pickup_that_the_tape_leaves_more_room_than_a_link_takes_up_is_no_check() {
    let said = |name: &str| {
        let file =
            GeometryFile::read(format!("geometries/{name}.toml").as_ref()).unwrap_or_else(|error| panic!("{error}"));
        let check = tape_check(&file.geometry, &Side::BOTH);
        let loose = check.fixes.iter().filter(|fix| fix.within_mm.is_some_and(|mm| mm > 8.0)).count();
        (loose, present::fabrication::tape_check(LengthFormat(LengthUnit::Millimetre), &check))
    };
    let (loose, told) = said("semi-trailing");
    let no_check = "The tape does not check pickups that may be further off than a link can be turned to take up";
    assert!(loose > 1 && told.contains(no_check), "{told}");
    let list = told.split("here mostly").nth(1).and_then(|rest| rest.split('.').next()).expect("names");
    let named = list.matches(" upright\"").count();
    assert!(2 * named == loose && told.contains(", on both sides."), "{loose}: {told}");
    let (loose, told) = said("first-cut");
    assert!(loose == 0 && !told.contains("take up"), "{told}");
}

/// Of four datums in a level plane no distance tells how high a pickup of about their height is; two more above them do.
#[test]
fn where_the_tape_leaves_most_room_is_told_with_the_datum_that_helps() {
    let datums = |z_mm: f64| {
        [("a", 700.0, 430.0), ("b", 700.0, -430.0), ("c", -400.0, 290.0), ("d", -400.0, -290.0)]
            .map(|(name, x, y)| format!("\n[[datum]]\nname = \"{name} {z_mm}\"\nat = [{x:?}, {y:?}, {z_mm:?}]\n"))
            .concat()
    };
    let told = |datums: &str| {
        let check = tape_check(&car(&(demo() + datums)), &Side::BOTH);
        for fix in check.too_loose() {
            let way = fix.loosest_way.expect("fixed");
            assert!(way[2].abs() > 0.9 && way.map(|of| of * of).iter().sum::<f64>() - 1.0 < 1e-12, "{fix:?}");
        }
        present::fabrication::tape_check(LengthFormat(LengthUnit::Millimetre), &check)
    };
    let level = told(&datums(250.0));
    assert!(level.contains("take up, here mostly up and down: "), "{level}");
    assert!(level.ends_with(" Add a datum well above the others, or below them down to the floor."), "{level}");
    let stacked = told(&(datums(250.0) + &datums(900.0)));
    assert!(!stacked.contains("take up"), "{stacked}");
}

/// A high datum on the left leaves the right brackets loose: another one on the left would help none of them.
#[test]
fn the_side_of_the_car_on_which_a_datum_helps_is_told() {
    let told = |extra: &str| {
        let level = [("a", 700.0, 430.0), ("b", 700.0, -430.0), ("c", -400.0, 290.0), ("d", -400.0, -290.0)]
            .map(|(name, x, y)| format!("\n[[datum]]\nname = \"{name}\"\nat = [{x:?}, {y:?}, 250.0]\n"))
            .concat();
        let check = tape_check(&car(&(demo() + &level + extra)), &Side::BOTH);
        present::fabrication::tape_check(LengthFormat(LengthUnit::Millimetre), &check)
    };
    let high = |name: &str, y_mm: f64| format!("\n[[datum]]\nname = {name:?}\nat = [100.0, {y_mm:?}, 400.0]\n");
    let left = told(&high("high left", 420.0));
    assert!(left.contains(": \"right ") && !left.contains("on both sides"), "{left}");
    assert!(
        left.ends_with(
            " Add a datum on the right of the car, well above the others there, or below them down to the floor."
        ),
        "{left}"
    );
    let both = told(&(high("high left", 420.0) + &high("high right", -420.0)));
    assert!(!both.contains("take up"), "{both}");
}
