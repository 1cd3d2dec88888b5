//! Everything that a file may leave free, there and back: the tuned file is the car that was found.

use crate::car::Car;
use crate::program::{Folder, Ran};

use super::tuned;

/// The tuned file, swept by itself, is as flat as was told.
fn assert_round_trip(folder: &Folder, ran: &Ran) {
    let again = folder.run("sweep hubtrace-out/tuned.toml --out again");
    let told = ran.number("/tune/sides/0/written/worst_bump_steer_deg");
    // Four digits of a coordinate are worth less than this.
    assert!((again.worst_deg("left") - told).abs() < 1e-4, "{again}");
}

fn tuned_toe_link_mm(ran: &Ran) -> [f64; 3] {
    Car::parse(&ran.text("tuned.toml")).numbers("toe link.chassis").try_into().expect("a point")
}

/// The demo car whose toe link has a box in place of its chassis point.
fn without_toe_link_bracket(within: &str) -> Car {
    let car = Car::demo_with_nothing_free().without("toe link.chassis").without("toe link.chassis_bolt");
    car.set("toe link.within", within)
}

#[test]
fn new_pickups_are_found_in_their_boxes() {
    let car = without_toe_link_bracket("{ x = [-200.0, -120.0], y = [340.0, 390.0], z = [240.0, 290.0] }");
    let folder = Folder::with(car);
    let before = folder.run("sweep car.toml").ends_with(2);
    before.assert_tells(&["link \"toe link\" has no chassis point yet", "hubtrace tune"]);
    let ran = folder.run("tune car.toml").ends_with(0);
    ran.assert_shows(&["no pickups yet ->", "toe link chassis new", "As tuned, toe depends most on"]);
    let place = tuned_toe_link_mm(&ran);
    assert!((-200.0..=-120.0).contains(&place[0]) && (340.0..=390.0).contains(&place[1]), "{place:?}");
    assert!((240.0..=290.0).contains(&place[2]) && !ran.text("tuned.toml").contains("within"), "{place:?}");
    // The box is its room from now on.
    let written = Car::parse(&ran.text("tuned.toml"));
    for ((axis, place), edges) in
        ["x", "y", "z"].into_iter().zip(place).zip([[-200.0, -120.0], [340.0, 390.0], [240.0, 290.0]])
    {
        let room = written.numbers(&format!("toe link.free.chassis.{axis}"));
        let is_box = room.iter().zip(edges).all(|(end, edge)| (place + end - edge).abs() < 1e-3);
        assert!(is_box, "{axis}: {room:?} about {place}");
    }
    assert!(ran.text("moves.csv").contains("left,toe link chassis,,,,-"), "{}", ran.text("moves.csv"));
    folder.run("sweep hubtrace-out/tuned.toml --out again").ends_with(0);
    assert_round_trip(&folder, &ran);
    // Its own move is none, and the end of its box is a place.
    let side = &ran.summary()["tune"]["sides"][0];
    assert!(side["written"]["longest_move_mm"].is_null() && !ran.out.contains(" 0.0 mm"), "{ran}");
    let ends = side["written"]["at_end_of_room"].as_array().expect("a list").iter();
    let edges = [-200.0, -120.0, 340.0, 390.0, 240.0, 290.0];
    for end in ends.map(|end| end["by"].as_f64().expect("a place")) {
        assert!(edges.iter().any(|edge| (edge - end).abs() < 1e-9), "{end}; {ran}");
        assert!(ran.screen().contains(&format!(" {end:.1} mm)")), "{end}; {ran}");
    }
}

/// A longer link turns the wheel where it stands; toe and camber must be what the file asks for all the same.
#[test]
fn lengths_are_changed_without_toeing_the_wheel() {
    let other = "{ chassis = { y = [-25.0, 25.0], z = [-25.0, 25.0] }, length = [-5.0, 5.0] }";
    let brackets = ["upper front.free", "upper rear.free", "lower rear.free"];
    let car = brackets.iter().fold(Car::demo(), |car, free| car.set(free, other));
    let length = "{ chassis = { z = [-25.0, 25.0] }, length = [-15.0, 15.0, 0.5] }";
    let (folder, ran) = tuned(car.set("toe link.free", length));
    let ran = ran.ends_with(0);
    let written = Car::parse(&ran.text("tuned.toml"));
    assert!((written.numbers("wheel.toe")[0] - 0.10).abs() < 0.0102, "{written}");
    assert!((written.numbers("wheel.camber")[0] + 1.50).abs() < 0.0102, "{written}");
    assert_round_trip(&folder, &ran);
}

#[test]
fn the_clock_angle_is_found_and_carries_every_point_of_the_upright() {
    let car = Car::demo_with_nothing_free()
        .set("toe link.free", "{ chassis = { y = [-25.0, 25.0] } }")
        .set("wheel.clock", "[-3.0, 3.0]");
    let (folder, ran) = tuned(car);
    ran.assert_shows(&["Set: clock angle of the upright"]);
    let moved = ran.table("moves.csv").column("point").iter().filter(|point| point.ends_with(" upright")).count();
    assert_eq!(moved, 5);
    let (before, after) = (Car::demo(), Car::parse(&ran.text("tuned.toml")));
    for key in ["wheel.centre", "wheel.toe", "wheel.camber"] {
        assert_eq!(before.numbers(key), after.numbers(key), "{key}");
    }
    assert!(ran.worst_deg("left") < 0.5 * 0.5175, "{ran}");
    assert_round_trip(&folder, &ran);
}

#[test]
fn a_bracket_on_a_tube_is_told_by_its_slide_and_stand_off() {
    let car = Car::demo_with_nothing_free()
        .set("toe link.chassis_tube", "\"lower rail\"")
        .set("toe link.free", "{ chassis = { stand_off = [-15.0, 15.0], turn = [-30.0, 30.0] } }");
    let tube = "\n[[tube]]\nname = \"lower rail\"\nfrom = [-300.0, 340.0, 230.0]\nto = [250.0, 340.0, 230.0]\n";
    let (folder, ran) = tuned(car.to_string() + tube);
    ran.assert_shows(&["\"toe link\" inner bracket off its tube", "\"toe link\" inner bracket round its tube", "deg"]);
    assert!(ran.worst_deg("left") < 0.05, "{ran}");
    let [_, y, z] = tuned_toe_link_mm(&ran);
    let drawn_mm = (376.0_f64 - 340.0).hypot(255.0 - 230.0);
    assert!(((y - 340.0).hypot(z - 230.0) - drawn_mm).abs() <= 15.0001);
    assert_round_trip(&folder, &ran);
}

/// Turned by much of its room, what is left of it the other way is more than half a turn.
#[test]
fn a_bracket_that_may_turn_right_round_its_tube_is_tuned() {
    let car = Car::demo_with_nothing_free()
        .set("toe link.chassis_tube", "\"lower rail\"")
        .set("toe link.free", "{ chassis = { turn = [-20.0, 180.0] } }");
    let tube = "\n[[tube]]\nname = \"lower rail\"\nfrom = [-300.0, 360.0, 262.0]\nto = [250.0, 360.0, 262.0]\n";
    let (folder, ran) = tuned(car.to_string() + tube);
    let left_deg = Car::parse(&ran.text("tuned.toml")).numbers("toe link.free.chassis.turn");
    assert!((left_deg[1] - left_deg[0] - 200.0).abs() < 1e-3 && left_deg[0] < -20.5, "{left_deg:?}");
    folder.run("check hubtrace-out/tuned.toml").ends_with(0);
}

/// Both answers: the forgiving one is put on the steps as the flattest is.
#[test]
fn stepped_rooms_are_left_in_whole_steps() {
    let free = "{ chassis = { y = [-24.0, 24.0, 2.0], z = [-24.0, 24.0, 2.0] } }";
    let other = "{ chassis = { y = [-20.0, 20.0], z = [-20.0, 20.0] } }";
    let car = Car::demo_with_nothing_free().set("toe link.free", free).set("upper rear.free", other);
    let (folder, ran) = tuned(car);
    assert!(ran.summary()["tune"]["sides"][0]["most_forgiving"].is_object(), "{ran}");
    let flattest = folder.run("tune car.toml --flattest --out flattest");
    for (name, answer) in [("most forgiving", &ran), ("flattest", &flattest)] {
        let text = answer.text("tuned.toml");
        let place: [f64; 3] = Car::parse(&text).numbers("toe link.chassis").try_into().expect("a point");
        for (now, drawn) in place.iter().zip([-150.0, 376.0, 255.0]) {
            assert!(((now - drawn) / 2.0 - ((now - drawn) / 2.0_f64).round()).abs() < 1e-9, "{name}: {place:?}");
        }
    }
    assert!(ran.worst_deg("left") < 0.2, "{ran}");
    assert_round_trip(&folder, &ran);
}

#[test]
fn joint_limits_are_held() {
    let car = Car::demo()
        .set("halfshaft.inner_limit", "7.36")
        .set("halfshaft.free", "{ inner = { x = [-8.0, 8.0], z = [-8.0, 8.0] } }");
    let (folder, ran) = tuned(car);
    ran.ends_with(0);
    let drawn = folder.run("sweep car.toml --out drawn").ends_with(1);
    drawn.assert_shows(&["inner joint angle deg 0.52 to 7.46 0 to 7.36 FAIL"]);
}

#[test]
fn a_car_in_inches_is_told_in_inches_and_comes_back_in_inches() {
    let car = Car::read("tests/outside/inch-hub-axes.toml");
    let free = "{ chassis = { y = [-1.0, 1.0], z = [-1.0, 1.0] }, upright = { z = [-0.3, 0.3] } }";
    let (folder, ran) = tuned(car.clone().set("toe link.free", free));
    assert!(matches!(ran.code, Some(0 | 1)), "{ran}");
    ran.assert_shows(&["moves, in", "upright holes 0.0197 in one sd"]);
    let before = ran.number("/tune/sides/0/before_worst_bump_steer_deg");
    assert!(ran.worst_deg("left") < before, "{before}");
    let differ = car.to_string().lines().filter(|line| !ran.text("tuned.toml").contains(line)).count();
    assert!(differ <= 2, "only the toe link moves: {differ} lines");
    assert_round_trip(&folder, &ran);
}

/// The ends of every range of the file in the car, mm: place and room together.
fn boxes(car: &Car) -> Vec<[f64; 2]> {
    let ends = |link: &str, end: &str, axis: usize, key: &str| {
        let at = car.numbers(&format!("{link}.{end}"))[axis];
        car.numbers(&format!("{link}.free.{end}.{key}")).into_iter().take(2).map(|by| at + by).collect::<Vec<_>>()
    };
    let asked = [("toe link", "chassis", 1, "y"), ("toe link", "chassis", 2, "z"), ("toe link", "upright", 2, "z")];
    asked.into_iter().map(|(link, end, axis, key)| ends(link, end, axis, key).try_into().expect("two ends")).collect()
}

/// Whatever was moved, the boxes stay where the first drawing has them, and tuning again ends inside.
#[test]
fn a_tuned_car_that_is_tuned_again_stays_in_the_first_boxes() {
    let first = Car::read("geometries/first-cut.toml");
    let folder = Folder::with(Car::read("geometries/first-cut.toml"));
    folder.run("tune car.toml --starts 2 --cars 100");
    let again = folder.run("tune hubtrace-out/tuned.toml --starts 2 --cars 100 --out again");
    for text in [folder.text("hubtrace-out/tuned.toml"), folder.text("again/tuned.toml")] {
        let tuned = Car::parse(&text);
        for (now, drawn) in boxes(&tuned).into_iter().zip(boxes(&first)) {
            assert!((now[0] - drawn[0]).abs() < 3e-4 && (now[1] - drawn[1]).abs() < 3e-4, "{now:?} {drawn:?}\n{again}");
        }
        let moved =
            [1, 2].map(|axis| tuned.numbers("toe link.chassis")[axis] - first.numbers("toe link.chassis")[axis]);
        assert!(moved.iter().all(|mm| mm.abs() < 25.001) && moved.iter().any(|mm| mm.abs() > 1.0), "{moved:?}");
    }
}

/// A gusset: the bracket goes anywhere on it, and never off it.
#[test]
fn a_flat_plate_keeps_its_bracket() {
    let car = without_toe_link_bracket("{ x = [-200.0, -120.0], y = [376.0, 376.0], z = [240.0, 290.0] }");
    let ran = Folder::with(car).run("tune car.toml --starts 4 --cars 100");
    assert_eq!(tuned_toe_link_mm(&ran)[1], 376.0, "{ran}");
}
