//! Parts that come off a shelf beside the place that the file gives them: springs and rod ends.

use crate::told::changed;

const DEMO: &str = include_str!("../../geometries/first-cut.toml");

fn told(changes: &[(&str, &str)]) -> Vec<String> {
    crate::told::told(&changed(DEMO, changes))
}

const NONE: [&str; 0] = [];

/// 165 kg at a motion ratio of 0.826 press 30 N/mm by 65.3 mm, as `driveline` says of the same car.
#[test]
fn a_spring_of_which_full_bump_leaves_nothing_is_told() {
    for (free, under, advice) in [
        ("140.0", "74.7", "probably 410.0: two digits are swapped"),
        ("100.0", "34.7", "measure it again, off the damper"),
    ] {
        let sentence = format!(
            "free_length, left: the spring is {free} mm long and at design, under `corner_mass`, {under} mm, and the bump of [travel] \
             presses it by 50.6 mm more; {advice}."
        );
        assert_eq!(told(&[("free_length = 400.0", &format!("free_length = {free}"))]), [sentence]);
    }
    assert_eq!(told(&[("free_length = 400.0", "free_length = 220.0")]), NONE);
}

#[test]
fn a_spring_that_is_longer_than_its_eyes_are_apart_is_told() {
    let open = ("open = 482.0", "open = 600.0");
    assert_eq!(
        told(&[open, ("free_length = 400.0", "free_length = 530.0")]),
        [
            "free_length, left: the spring is 530.0 mm long and at design, under `corner_mass`, 464.7 mm, and its eyes are 430.2 mm apart \
          there; probably 350.0: two digits are swapped."
        ]
    );
    assert_eq!(told(&[open, ("free_length = 400.0", "free_length = 480.0")]), NONE);
}

/// Half of 55 % of 620 kg is 170.5 kg.
#[test]
fn a_sprung_mass_above_that_on_the_wheel_is_told() {
    let of = |mass: &str| told(&[("corner_mass = 165.0", &format!("corner_mass = {mass}"))]);
    let is = "and `mass` and `rear_mass_share` put 170 kg on each rear wheel";
    let write = "write what is sprung on this one wheel, in kg";
    assert_eq!(of("216.0"), [format!("corner_mass, left: 216 kg, {is}; probably 126.0: two digits are swapped.")]);
    assert_eq!(of("181.0"), [format!("corner_mass, left: 181 kg, {is}; {write}.")]);
    assert_eq!(of("172.0"), [format!("corner_mass, left: 172 kg, {is}; {write}.")]);
    assert_eq!(of("170.0"), NONE);
}

/// The stress area of M12 is 84.3 mm² in ISO 898-1.
#[test]
fn a_rating_that_breaks_the_shank_is_told() {
    let of = |rating: &str| told(&[("static_kn = 32.0", &format!("static_kn = {rating}"))]);
    assert_eq!(
        of("132.0"),
        [
            "`static_kn`: 132.0 kN is no rod end's with a thread of M12x1.75; it would load the shank with 1566 MPa, and 100 to 1220 MPa \
          is what rod ends bear."
        ]
    );
    assert_eq!(of("105.0").len(), 1);
    assert_eq!(of("100.0"), NONE);
    assert_eq!(of("132.0\nshank_yield_mpa = 1600.0"), NONE);
}

#[test]
fn a_shank_without_room_for_its_head_and_its_nut_is_told() {
    let of = |shank: &str| told(&[("shank = 54.0", &format!("shank = {shank}"))]);
    assert_eq!(
        of("36.0"),
        [
            "`shank`: 36.0 mm is no rod end's of M12x1.75: a head, `lock_nut` and `engagement` take 39.0 mm of it; probably 63.0: two \
          digits are swapped."
        ]
    );
    let without_nut = [("shank = 54.0", "shank = 22.0"), ("lock_nut = 7.0", "")];
    assert_eq!(
        told(&without_nut),
        [
            "`shank`: 22.0 mm is no rod end's of M12x1.75: a head and a lock nut take 26.4 mm of it; measure it again, from the ball \
          centre to the end of the thread."
        ]
    );
    assert_eq!(of("40.0"), NONE);
}

/// Beside a lock nut of 7 mm and 20 mm of thread that is held a shank of 54 mm has 27 mm.
#[test]
fn a_range_that_its_shank_does_not_hold_is_told() {
    const LINK: &str = "rod_end_limit = 14.0";
    let of = |range: &str| {
        let adjust = format!("{LINK}\nadjust = {{ length = {{ kind = \"sleeve\", pitch = 1.75, range = {range} }} }}");
        told(&[(LINK, &adjust)])
    };
    let told = of("[-40.0, 40.0]");
    assert_eq!(told.len(), 1, "{told:?}");
    let rest = "on the left: from end to end `range` turns a rod end by 80.0 turns, 140.0 mm of its thread, and its shank has 27.0 mm \
                beside `lock_nut` and `engagement`.";
    assert!(told[0].ends_with(rest), "{told:?}");
    assert_eq!(of("[-4.0, 4.0]"), NONE);
    assert_eq!(of("[-7.0, 8.0]"), NONE);
}
