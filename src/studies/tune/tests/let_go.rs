//! Limits that were let go take nothing from the others, and the best of all answers as built is the one that is written.

use crate::file::GeometryFile;
use crate::geometry::{Axis, End, Geometry, Quantity, Side};
use crate::studies::tolerance::Watch;
use crate::studies::tune::{Answer, BuildOdds, Choice, SearchOptions, TunedSide, VariableKind, tune, tuned_geometry};
use crate::studies::{JudgedCar, Rig, State};

fn parsed(text: &str) -> Geometry {
    GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry
}

/// Its spring is 1.8 mm from the tyre where 6 mm are asked for, and no room makes more than some 3.6 mm of it: there the roll centre
/// stands exactly at its limit of 140 mm.
fn wide_coupe() -> Geometry {
    parsed(include_str!("wide_coupe.toml"))
}

/// Five links with a room each in place of a chassis point; two of the rooms lie on the rails.
fn plates() -> Geometry {
    parsed(include_str!("plates.toml"))
}

fn tuned_from(geometry: &Geometry, seed: u64) -> TunedSide {
    let options = SearchOptions { seed, ..SearchOptions::default() };
    tune(geometry, &[Side::Left], &options, &|car| Some(car.clone())).expect("a tuned side").swap_remove(0)
}

/// The share of cars inside all limits but those of gaps.
fn share_but_gaps(geometry: &Geometry, answer: &Answer) -> f64 {
    share_of(&tuned_geometry(geometry, &[(Side::Left, answer)]), &[Quantity::Clearance])
}

fn share_of(car: &Geometry, let_go: &[Quantity]) -> f64 {
    let odds = BuildOdds::beside(car, 10_000, let_go, Watch::NONE).expect("a car that moves");
    odds.kept.unwrap_or(odds.chance).share.expect("limits").value()
}

/// Worst of a quantity, and whether every verdict on it passes.
fn judged(car: &Geometry, quantity: Quantity) -> (f64, bool) {
    let judged = JudgedCar::of(Rig::new(car).expect("a sound design"));
    let of: Vec<_> = judged.verdicts.iter().filter(|verdict| verdict.quantity == quantity).collect();
    (of[0].worst().expect("a value"), of.iter().all(|verdict| verdict.state == State::Pass))
}

/// As near as it can be the gap left 1.4 % of the cars inside the other limits; where the same rooms have 24 %.
#[test]
fn a_gap_that_cannot_be_kept_does_not_draw_the_others_onto_their_limits() {
    let geometry = wide_coupe();
    let side = tuned_from(&geometry, 1);
    let answer = side.chosen(Choice::MostForgiving);
    assert_eq!(side.uncleared.len(), 1, "{:?}", side.uncleared);
    let share = share_but_gaps(&geometry, answer);
    assert!(share > 0.2, "{share}");
    let car = tuned_geometry(&geometry, &[(Side::Left, answer)]);
    // As near as that allows: in these rooms there are 3.1 mm at 24 %.
    let (gap_mm, _) = judged(&car, Quantity::Clearance);
    assert!(gap_mm > 2.2, "{gap_mm} mm");
    // Tuned again it is left for no worse one.
    let again = tuned_from(&car, 1);
    let share_again = share_but_gaps(&car, again.chosen(Choice::MostForgiving));
    assert!(share_again > share - 0.01, "{share} to {share_again}");
}

/// 0.31 % of the written answer passed, and 1.2 % of the one that was told above it.
#[test]
fn the_best_of_all_answers_as_built_is_written() {
    let geometry = plates();
    for seed in [1, 2] {
        let side = tuned_from(&geometry, seed);
        let (chosen, let_go) = (side.chosen(Choice::MostForgiving), side.let_go());
        let share = |answer: &Answer| share_of(&tuned_geometry(&geometry, &[(Side::Left, answer)]), &let_go);
        let written = share(chosen);
        for other in side.others(Choice::MostForgiving) {
            assert!(share(other) < 1.1 * written + 0.002, "seed {seed}: {written}, another {}", share(other));
        }
    }
}

/// The flattest answer was told above a most forgiving one that steers less.
#[test]
fn no_answer_is_flatter_than_the_flattest() {
    let mut geometry = wide_coupe();
    for corner in [&mut geometry.left, &mut geometry.right] {
        corner.wheel.tyre_width_mm = Some(275.0);
    }
    let side = tuned_from(&geometry, 2);
    let [flattest, forgiving] =
        [Choice::Flattest, Choice::MostForgiving].map(|of| side.chosen(of).worst_bump_steer_deg);
    assert!(flattest <= 1.01 * forgiving, "{flattest}, {forgiving} deg");
}

/// A gap of 4.8 mm was told as all that can be had beside the other limits; a room cut to its outer part had 5 mm, at the same chance.
#[test]
fn of_a_car_that_has_nothing_drawn_every_gap_is_held_from_the_start() {
    let mut geometry = plates();
    for corner in [&mut geometry.left, &mut geometry.right] {
        corner.wheel.tyre_width_mm = Some(205.0);
    }
    for seed in [1, 2] {
        let side = tuned_from(&geometry, seed);
        assert!(side.uncleared.is_empty() && side.given_up.is_empty(), "{:?}, {:?}", side.uncleared, side.given_up);
        let car = tuned_geometry(&geometry, &[(Side::Left, side.chosen(Choice::MostForgiving))]);
        let (gap_mm, passes) = judged(&car, Quantity::Clearance);
        assert!(passes, "{gap_mm} mm");
    }
}

/// The same with rooms on the rails themselves, which `check` doubts wherever the pickup is put.
fn plates_on_rails() -> Geometry {
    let text = include_str!("plates.toml");
    let on_rail = [("y = [365.0, 365.0]", "y = [340.0, 340.0]"), ("z = [385.0, 440.0]", "z = [360.0, 440.0]")];
    let text = on_rail.iter().fold(text.to_owned(), |text, (from, to)| text.replace(from, to));
    parsed(&text.replace("395.0, 354.0]", "395.0, 340.0]"))
}

/// What is doubted of every answer kept the most forgiving one from being found: 1.9, 0.78 and 0.44 % of the cars passed. The rooms have
/// 15 %, where no rod end stands in a rail; 1 mm off the rails they had 51 %.
#[test]
fn rooms_that_ask_for_a_doubt_have_a_most_forgiving_answer() {
    let mut geometry = plates_on_rails();
    geometry.tubes.retain(|tube| tube.name != "upper rail");
    for seed in [1, 2, 3] {
        let side = tuned_from(&geometry, seed);
        let answer = side.chosen(Choice::MostForgiving);
        let share = share_of(&tuned_geometry(&geometry, &[(Side::Left, answer)]), &[]);
        assert!(share > 0.145, "seed {seed}: {share}");
        assert!(!side.doubts_of(Choice::MostForgiving).is_empty(), "the rail is told");
    }
}

/// The halfshaft runs into the upper rail wherever the pickups are, which levelled the lower link with it, 3 mm inside the tyre.
#[test]
fn parts_that_nothing_parts_let_no_others_touch() {
    let geometry = plates_on_rails();
    for seed in [1, 2] {
        let side = tuned_from(&geometry, seed);
        let told: Vec<&str> = side.uncleared.iter().map(|of| of.pair.as_str()).collect();
        assert_eq!(told, ["halfshaft / tube upper rail"]);
        let answer = side.chosen(Choice::MostForgiving);
        let car = tuned_geometry(&geometry, &[(Side::Left, answer)]);
        let found = JudgedCar::of(Rig::new(&car).expect("a sound design"));
        for of in found.clearance.left.pairs.iter().filter(|of| of.pair != told[0]) {
            assert!(of.least_mm > 4.99, "seed {seed}: {} {} mm", of.pair, of.least_mm);
        }
        let share = share_but_gaps(&geometry, answer);
        assert!(share > 0.13, "seed {seed}: {share}");
    }
}

/// Rooms with a rail in them. Pickups were put inside the rails, which `check` doubts, and of what was left of the answers 3.6 to 56 % of
/// the cars passed, by the seed.
#[test]
fn pickups_are_placed_outside_of_the_frame_tubes_in_their_rooms() {
    let geometry = parsed(include_str!("rooms_round_rails.toml"));
    for seed in [1, 2] {
        let side = tuned_from(&geometry, seed);
        let answer = side.chosen(Choice::MostForgiving);
        for (link, tube) in
            answer.corner.links.iter().flat_map(|link| geometry.tubes.iter().map(move |tube| (link, tube)))
        {
            let off_mm = tube.off_mm(&link.chassis) - 0.5 * tube.od_mm.expect("a body");
            // Half of a head of 36 mm is as much as the narrowest room leaves.
            assert!(off_mm > 8.8, "seed {seed}: {} is {off_mm} mm out of {}", link.name, tube.name);
        }
        let share = share_of(&tuned_geometry(&geometry, &[(Side::Left, answer)]), &[]);
        assert!(share > 0.5 && side.doubts_of(Choice::MostForgiving).is_empty(), "seed {seed}: {share}");
    }
}

/// Bump steer of -0.097 deg was told as the nearest beside the other limits, which a gap forbids: 0.119 deg was the flattest answer, and
/// 0.170 deg was written.
#[test]
fn the_nearest_that_is_told_is_beside_every_limit_that_is_kept() {
    let geometry = parsed(include_str!("trailing.toml"));
    let side = tuned_from(&geometry, 1);
    let [told] = &side.given_up[..] else { panic!("{:?}", side.given_up) };
    assert!(told.quantity == Quantity::BumpSteer && side.uncleared.is_empty(), "{told:?}, {:?}", side.uncleared);
    let worst_deg = |choice: Choice| side.chosen(choice).worst_bump_steer_deg;
    let flattest_deg = worst_deg(Choice::Flattest);
    assert!((told.nearest_beside.abs() - flattest_deg).abs() < 0.02 * flattest_deg, "{told:?}, {flattest_deg} deg");
    assert!(worst_deg(Choice::MostForgiving) < 1.05 * flattest_deg, "{} deg", worst_deg(Choice::MostForgiving));
}

/// Of four hundred starts that are stopped, and of the eight that were searched to the end.
#[test]
fn a_search_that_is_stopped_has_the_answer_of_its_first_starts() {
    use std::sync::atomic::{AtomicUsize, Ordering};
    let geometry = plates();
    let done = AtomicUsize::new(0);
    let count = || {
        done.fetch_add(1, Ordering::Relaxed);
    };
    let searched = |starts: usize, stop: &(dyn Fn() -> bool + Sync)| {
        let options = SearchOptions { starts, stop, progress: &count, ..SearchOptions::default() };
        tune(&geometry, &[Side::Left], &options, &|car| Some(car.clone())).expect("a tuned side").swap_remove(0)
    };
    let whole = searched(8, &|| false);
    let of_whole = done.swap(0, Ordering::Relaxed);
    let stopped = searched(400, &|| done.load(Ordering::Relaxed) > of_whole);
    let corner = |side: &TunedSide| side.chosen(Choice::MostForgiving).corner.clone();
    assert!(corner(&stopped) == corner(&whole), "another answer");
}

#[test]
fn counting_that_is_stopped_tells_the_cars_that_are_built() {
    let watch = Watch { stop: &|| true, built: &|_| () };
    let car = parsed(include_str!("../../../../geometries/first-cut.toml"));
    let odds = BuildOdds::beside(&car, 1_000_000, &[], watch).expect("a car that moves");
    assert!((10_000..100_000).contains(&odds.cars), "{} cars", odds.cars);
}

/// The toe link's bracket may stand 84 mm below its upright end at most. The wheel steers by degrees then, of which the squares outweighed
/// what broken limits cost: the bracket ended 10 mm from the centre line of a rail, and no limit was told as one that cannot be kept.
#[test]
fn a_room_that_cannot_be_reached_is_told_and_draws_no_bracket_into_a_rail() {
    let toe_link_up_to = |high_mm: f64| {
        let rooms = include_str!("rooms_round_rails.toml");
        let geometry = parsed(&rooms.replace("z = [230.0, 290.0]", &format!("z = [180.0, {high_mm:?}]")));
        let side = tuned_from(&geometry, 1);
        let of_toe =
            side.given_up.iter().find(|of| of.quantity == Quantity::BumpSteer).expect("a limit let go").clone();
        (geometry, side, of_toe)
    };
    let (geometry, side, told) = toe_link_up_to(186.0);
    for link in side.answers.iter().chain(&side.forgiving).flat_map(|answer| &answer.corner.links) {
        let off_mm = geometry.tubes[1].off_mm(&link.chassis);
        assert!(off_mm > 19.05 + 8.8, "{} is {off_mm} mm from the centre line of the rail", link.name);
    }
    let room = told.room.expect("an end of a room");
    assert_eq!(room.variable, VariableKind::Pickup { link: 4, end: End::Chassis, axis: Axis::Z });
    let (_, _, with_more) = toe_link_up_to(188.0);
    let gained = 0.5 * (told.nearest.abs() - with_more.nearest.abs());
    assert!(told.nearest.abs() > 3.0 && (room.buys - gained).abs() < 0.1 * gained, "{gained} deg/mm for {}", room.buys);
}
