//! How long a shaft is, what its joints allow, where it sits in its plunge, and where the wheel may stand with it.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{HalfshaftJoint, Interval, Side};
use hubtrace::studies::driveline::HalfshaftFindings;
use hubtrace::studies::{Rig, State};

/// Level parallel links, so that the upright and the joint in it go round circles of 400 mm that are nearly upright.
const CORNER: &str = include_str!("../good/corner.toml");

fn file(keys: &str) -> GeometryFile {
    let text = CORNER.replace("outer = [-0.16, 655.0, 305.64]\n", &format!("outer = [-0.16, 655.0, 305.64]\n{keys}\n"));
    assert!(text.len() > CORNER.len());
    GeometryFile::parse("car.toml", &text).unwrap_or_else(|error| panic!("{error}"))
}

fn found(keys: &str) -> HalfshaftFindings {
    let file = file(keys);
    assert_eq!(file.set_aside, []);
    let rig = Rig::new(&file.geometry).expect("a car that moves");
    HalfshaftFindings::of(rig.wheel(Side::Left)).expect("a shaft")
}

/// |(-0.16, 450, -6.36)| = 450.0449 mm.
const DESIGN_MM: f64 = 450.044_97;

#[test]
fn a_donor_shaft_sits_where_its_two_lengths_put_it() {
    let found =
        found("length_min = 420.0\nlength_max = 472.0\ninner_type = \"plunging tripod\"\nouter_type = \"fixed ball\"");
    assert!((found.length_mm - DESIGN_MM).abs() < 1e-4, "{}", found.length_mm);
    // The middle is 446: at design it is pulled out by 4.045 of the 52 mm.
    assert!((found.from_mid_plunge_mm.expect("known") - 4.045).abs() < 1e-3);
    let window = found.window_mm.expect("a window");
    assert!((window.low + 30.045).abs() < 1e-3 && (window.high - 21.955).abs() < 1e-3);
    assert!(!found.window_is_typical && found.to_make.is_none());
    let least = found.least_margin.expect("a margin");
    let by_hand = (window.high - found.plunge_mm.high).min(found.plunge_mm.low - window.low);
    assert!(
        (least.margin_mm - by_hand).abs() < 1e-12
            && least.pulled_out == (window.high - found.plunge_mm.high <= by_hand)
    );
    let states: Vec<State> = found.checks.iter().map(|check| check.state).collect();
    assert_eq!(states, [State::Pass; 3]);
    assert_eq!(found.checks.iter().map(|check| check.typical).collect::<Vec<_>>(), [true, true, false]);
    assert_eq!((found.checks[0].most, found.checks[1].most), (Some(26.0), Some(47.0)));
}

/// Moved outboard with its upright the joint is as far away as the shaft allows: checked on a car that is built so.
#[test]
fn the_half_track_that_a_donor_shaft_permits_is_that_at_which_a_moved_car_runs_out() {
    let keys = "length_min = 420.0\nlength_max = 472.0";
    let room = found(keys).half_track.expect("a window");
    for (half_track_mm, end) in [(room.least_mm.expect("one"), false), (room.most_mm.expect("one"), true)] {
        let by_mm = half_track_mm - room.now_mm;
        let mut moved = file(keys).geometry;
        // Everything that stands on the wheel goes outboard, chassis pickups of the links with it; the inner joint stays.
        moved.left.wheel.centre.y += by_mm;
        for link in &mut moved.left.links {
            link.chassis.y += by_mm;
            link.upright.y += by_mm;
        }
        moved.left.halfshaft.as_mut().expect("a shaft").outer.y += by_mm;
        let rig = Rig::new(&moved).expect("a car that moves");
        let found = HalfshaftFindings::of(rig.wheel(Side::Left)).expect("a shaft");
        let length = |mm: f64| found.length_mm + mm;
        let reached = if end { length(found.plunge_mm.high) - 472.0 } else { length(found.plunge_mm.low) - 420.0 };
        assert!(reached.abs() < 1e-6, "{half_track_mm}: {reached}");
        assert!(found.least_margin.expect("a margin").margin_mm.abs() < 1e-6);
        assert!((found.half_track.expect("a window").now_mm - half_track_mm).abs() < 1e-9);
    }
}

#[test]
fn a_shaft_to_be_made_is_told_with_what_is_left_at_each_end() {
    let unknown = found("").to_make.expect("to be made");
    assert_eq!(unknown.left_each_end_mm, None);
    let known = found("plunge = 30.0").to_make.expect("to be made");
    let found_with = found;
    let found = found("length = 447.0\ninner_type = \"plunging tripod\"");
    let used = found.plunge_mm.high - found.plunge_mm.low;
    let shaft = found.to_make.expect("to be made");
    assert!((shaft.length_mm - (DESIGN_MM + 0.5 * (found.plunge_mm.high + found.plunge_mm.low))).abs() < 1e-4);
    assert!((shaft.longer_than_design_mm - (shaft.length_mm - DESIGN_MM)).abs() < 1e-4);
    assert!((shaft.left_each_end_mm.expect("known") - 0.5 * (50.0 - used)).abs() < 1e-12 && shaft.plunge_is_typical);
    assert!((known.left_each_end_mm.expect("known") - 0.5 * (30.0 - used)).abs() < 1e-12 && !known.plunge_is_typical);
    // A window of 24 mm says what the joints plunge, over what is typical of them and under what their maker says.
    let windowed = |keys: &str| found_with(keys).to_make.expect("to be made").left_each_end_mm.expect("known");
    let window = "plunge_window = [-16.0, 8.0]\ninner_type = \"plunging tripod\"";
    assert!((windowed(window) - 0.5 * (24.0 - used)).abs() < 1e-12);
    assert!((windowed(&format!("{window}\nplunge = 30.0")) - 0.5 * (30.0 - used)).abs() < 1e-12);
    // 447 at mid-plunge, 50 mm of plunge: from 422 to 472.
    let window = found.window_mm.expect("a window");
    assert!((window.low - (422.0 - DESIGN_MM)).abs() < 1e-4 && (window.high - (472.0 - DESIGN_MM)).abs() < 1e-4);
    assert!(found.window_is_typical && found.checks[2].typical);
}

/// Made to the length that is told, the shaft has the same left at both ends.
#[test]
fn the_length_told_centres_the_used_plunge() {
    let length_mm = found("plunge = 30.0").to_make.expect("to be made").length_mm;
    let found = found(&format!("plunge = 30.0\nlength = {length_mm}"));
    let window = found.window_mm.expect("a window");
    let [pushed, pulled] = [found.plunge_mm.low - window.low, window.high - found.plunge_mm.high];
    assert!((pushed - pulled).abs() < 1e-9, "{pushed} {pulled}");
}

#[test]
fn both_joints_may_plunge() {
    let both = found("inner_type = \"plunging tripod\"\nouter_type = \"cross groove\"\nlength = 450.0");
    assert_eq!(both.window_mm.map(|window| window.width().round()), Some(90.0));
    assert_eq!(
        HalfshaftJoint::PlungingTripod.typical_plunge_mm() + HalfshaftJoint::CrossGroove.typical_plunge_mm(),
        90.0
    );
}

/// Full window up to 2 deg, nothing of it beyond; the least left is where the angle has eaten most, not where the plunge is
/// furthest: compared with every posture.
#[test]
fn a_window_that_narrows_with_the_angle_is_judged_at_every_posture() {
    let keys = "length_min = 440.0\nlength_max = 460.0\ninner_type = \"plunging tripod\"\n\
                narrows = [[1.0, -9.0, 9.0], [9.0, -1.0, 1.5], [20.0, -0.5, 0.5]]";
    let file = file(keys);
    let rig = Rig::new(&file.geometry).expect("a car that moves");
    let wheel = rig.wheel(Side::Left);
    let found = HalfshaftFindings::of(wheel).expect("a shaft");
    let straight =
        |angle: f64, (a, low_a, b, low_b): (f64, f64, f64, f64)| low_a + (angle - a) / (b - a) * (low_b - low_a);
    let mut least = f64::MAX;
    for k in 0..=24_000 {
        let posture = wheel.path.at(-60.0 + f64::from(k) * 0.005).expect("there");
        let shaft = hubtrace::measures::shaft(wheel.corner, &posture).expect("a shaft");
        let angle = shaft.inner_angle_deg;
        let [low, high] = match angle {
            a if a < 1.0 => [-9.0, 9.0],
            a if a < 9.0 => [straight(a, (1.0, -9.0, 9.0, -1.0)), straight(a, (1.0, 9.0, 9.0, 1.5))],
            a => [straight(a, (9.0, -1.0, 20.0, -0.5)), straight(a, (9.0, 1.5, 20.0, 0.5))],
        };
        let (low, high) = (low.max(440.0 - DESIGN_MM), high.min(460.0 - DESIGN_MM));
        least = least.min(shaft.plunge_mm - low).min(high - shaft.plunge_mm);
    }
    let margin = found.least_margin.expect("a margin");
    assert!((margin.margin_mm - least).abs() < 2e-3 && margin.margin_mm <= least + 1e-9, "{margin:?} {least}");
    assert_eq!(found.checks[2].state, if least < 0.0 { State::Fail } else { State::Pass });
    assert!(found.window_narrows && found.rows.iter().any(|row| row.window_mm.expect("one").width() < 12.0));
}

/// One universal joint: tan β sin β of its angle. Two, the shaft straight in one plane: the difference of their squares.
#[test]
fn a_universal_jointed_halfshaft_turns_the_wheel_unevenly() {
    let one = found("inner_type = \"universal\"\nouter_type = \"fixed ball\"");
    let ripple = |deg: f64| deg.to_radians().tan() * deg.to_radians().sin();
    let told = one.ripple.expect("a universal joint");
    assert!((told.at_design - ripple(one.inner_angle_deg.at_design)).abs() < 1e-12);
    assert!((told.worst - ripple(one.inner_angle_deg.high)).abs() < 1e-9, "{told:?}");
    assert!((told.worst_at_bump_mm - one.inner_angle_deg.high_at_bump_mm).abs() < 1e-2);
    let two = |phase: &str| {
        let keys = format!("inner_type = \"universal\"\nouter_type = \"universal\"\nphase = {phase}");
        found(&keys).ripple.expect("universal joints")
    };
    let (line, quarter) = (two("0.0"), two("90.0"));
    let (inner, outer) = (one.inner_angle_deg.at_design, one.outer_angle_deg.at_design);
    // First order; planes that are not one and the same leave the rest.
    assert!(
        quarter.at_design < ripple(inner.hypot(outer)) * 1.01 && line.at_design < quarter.at_design,
        "{line:?} {quarter:?}"
    );
    assert!(found("").ripple.is_none());
}

#[test]
fn without_a_type_and_a_limit_nothing_is_checked() {
    let found = found("");
    assert!(found.checks.iter().all(|check| check.state == State::NotChecked && !check.reason.is_empty()));
    assert_eq!((found.window_mm, found.least_margin, found.half_track), (None, None, None));
}

/// The share of the travel in each class, against postures every hundredth of a millimetre.
#[test]
fn the_classes_of_angle_hold_the_share_of_the_travel() {
    let file = file("");
    let rig = Rig::new(&file.geometry).expect("a car that moves");
    let wheel = rig.wheel(Side::Left);
    let found = HalfshaftFindings::of(wheel).expect("a shaft");
    for joint in ["inner", "outer"] {
        let classes: Vec<_> = found.angle_shares.iter().filter(|class| class.joint == joint).collect();
        assert!((classes.iter().map(|class| class.share_of_travel).sum::<f64>() - 1.0).abs() < 1e-12);
        for class in classes {
            let inside = (0..12_000).filter(|k| {
                let posture = wheel.path.at(-60.0 + (f64::from(*k) + 0.5) * 0.01).expect("there");
                let shaft = hubtrace::measures::shaft(wheel.corner, &posture).expect("a shaft");
                let deg = if joint == "inner" { shaft.inner_angle_deg } else { shaft.outer_angle_deg };
                (class.from_deg..class.to_deg).contains(&deg)
            });
            let share = inside.count() as f64 / 12_000.0;
            assert!((class.share_of_travel - share).abs() < 1e-3, "{class:?} {share}");
        }
    }
}

#[test]
fn the_window_of_the_file_and_that_of_the_lengths_both_hold() {
    let found = found("length_min = 440.0\nlength_max = 490.0\nplunge_window = [-30.0, 8.0]");
    let Interval { low, high } = found.window_mm.expect("a window");
    assert!((low - (440.0 - DESIGN_MM)).abs() < 1e-4 && high == 8.0);
}
