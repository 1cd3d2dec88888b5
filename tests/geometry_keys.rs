//! What the keys of tuning and tolerance mean once they are read.

use hubtrace::file::GeometryFile;
use hubtrace::geometry::{
    AdjustmentRange, Boots, Clearance, End, Geometry, Interval, LengthKind, LinkAdjusters, Pickup, Quantity, Side,
    Tape, Target, Targets, Tube, TubeAdjustment,
};
use hubtrace::studies::plausibility::doubts;
use nalgebra::{Point3, Vector3};

const CORNER: &str = include_str!("good/corner.toml");
const TOE_LINK: &str = "chassis = [-220.0, 360.0, 262.0]\n";
const TUBE: &str = "[[tube]]\nname = \"lower rail\"\nfrom = [-300.0, 360.0, 222.0]\nto = [200.0, 360.0, 222.0]\n";

fn read(text: &str) -> Geometry {
    GeometryFile::parse("rear.toml", text).map_or_else(|error| panic!("{error}"), |file| file.geometry)
}

fn warnings(car: &Geometry) -> Vec<String> {
    doubts(car).into_iter().map(String::from).collect()
}

/// The test corner with more keys on its toe link.
fn with_toe_link(keys: &str) -> String {
    CORNER.replace(TOE_LINK, &format!("{TOE_LINK}{keys}"))
}

fn play(low: f64, high: f64) -> Option<AdjustmentRange> {
    Some(AdjustmentRange { low, high, step: None })
}

fn targets(keys: &str) -> Targets {
    read(&format!("{CORNER}[targets]\n{keys}")).targets
}

#[test]
fn a_link_moves_as_its_free_says() {
    let keys = "chassis_tube = \"lower rail\"\nchassis_bolt = [1, 0, 0]\nupright_bolt = [0, 0, 1]\n\
        free = { chassis = { bolt = [-3, 6, 1.5], slide = [-40, 40], stand_off = [-10, 20], turn = [-5, 5] }, \
        upright = { z = [-8, 8], bolt = [0, 3] }, length = [-4, 4, 0.75] }\n";
    let car = read(&format!("{}{TUBE}", with_toe_link(keys)));
    let free = car.adjustments.left.links[4];
    assert_eq!((free.chassis, free.upright), ([None; 3], [None, None, play(-8.0, 8.0)]));
    assert_eq!(free.chassis_bolt, Some(AdjustmentRange { low: -3.0, high: 6.0, step: Some(1.5) }));
    assert_eq!(free.upright_bolt, play(0.0, 3.0));
    assert_eq!(free.length, Some(AdjustmentRange { low: -4.0, high: 4.0, step: Some(0.75) }));
    let ride =
        TubeAdjustment { tube: 0, slide: play(-40.0, 40.0), stand_off: play(-10.0, 20.0), turn: play(-5.0, 5.0) };
    assert_eq!(free.tube, Some(ride));
    let (from, to) = (Point3::new(-300.0, 360.0, 222.0), Point3::new(200.0, 360.0, 222.0));
    assert_eq!(car.tubes, [Tube { name: "lower rail".into(), from, to, od_mm: None, wall_mm: None, material: None }]);
    assert_eq!(car.adjustments.right.links[4], free);
}

#[test]
fn each_end_of_a_link_says_how_well_it_is_known() {
    let car = read(&with_toe_link("measured_sd = { chassis = [1.3, 0, 0.4] }\n"));
    for side in Side::BOTH {
        let known = car.corner(side).links[4].measured_sd;
        assert_eq!((known.at(End::Chassis), known.at(End::Upright)), (Some([1.3, 0.0, 0.4]), None));
        assert_eq!(car.measured_points(side), 1);
    }
    let text = with_toe_link("measured_sd = { upright = [0.1, 0.2, 0.3] }\n");
    let text = text.replace("= 60.0", "= 2.0").replace("tyre_radius = 308.0", "tyre_radius = 12.0");
    let inches = read(&format!("units = \"in\"\n{text}"));
    let known = inches.left.links[4].measured_sd.upright_mm.unwrap();
    assert!(known.iter().zip([2.54, 5.08, 7.62]).all(|(read, mm)| (read - mm).abs() < 1e-12), "{known:?}");
    assert_eq!(read(CORNER).measured_points(Side::Left), 0);
}

const ADJUST: &str = "adjust = { chassis = { kind = \"shim\", along = [0, 3, 4], step = 0.5, range = [-6, 4] }, \
    upright = { kind = \"slot\", along = [1, 0, 0], range = [0, 3] }, \
    length = { kind = \"sleeve\", pitch = 1.5, step = 0.25, range = [-4, 2] } }\nsets_toe = true\n";

#[test]
fn a_link_is_adjusted_as_its_adjust_says() {
    let car = read(&with_toe_link(ADJUST));
    for side in Side::BOTH {
        let link = &car.corner(side).links[4];
        let (chassis, upright) = (link.adjusters.at(End::Chassis).unwrap(), link.adjusters.at(End::Upright).unwrap());
        // The mirror image goes outboard too.
        assert!((chassis.along.into_inner() - Vector3::new(0.0, 0.6, 0.8)).norm() < 1e-15);
        assert_eq!((chassis.step_mm, chassis.range_mm), (Some(0.5), Interval { low: -6.0, high: 4.0 }));
        assert_eq!((upright.along, upright.step_mm), (Vector3::x_axis(), None));
        assert_eq!(upright.range_mm, Interval { low: 0.0, high: 3.0 });
        let length = link.adjusters.length.unwrap();
        assert_eq!((length.kind, length.pitch_mm, length.step_turns), (LengthKind::Sleeve, 1.5, Some(0.25)));
        assert_eq!((length.range_turns, length.mm_per_turn()), (Interval { low: -4.0, high: 2.0 }, 3.0));
        assert!(link.sets_toe && !car.corner(side).links[0].sets_toe);
        assert_eq!(car.corner(side).links[0].adjusters, LinkAdjusters::default());
    }
}

#[test]
fn a_rod_end_turns_by_halves_and_a_sleeve_by_any_part() {
    let step = |length: &str| {
        let car =
            read(&with_toe_link(&format!("adjust = {{ length = {{ {length}, pitch = 1.25, range = [-4, 4] }} }}\n")));
        let length = car.left.links[4].adjusters.length.unwrap();
        (length.step_turns, length.mm_per_turn())
    };
    assert_eq!(step("kind = \"end\""), (Some(0.5), 1.25));
    assert_eq!(step("kind = \"end\", step = 1.5"), (Some(1.5), 1.25));
    assert_eq!(step("kind = \"sleeve\""), (None, 2.5));
    assert_eq!(step("kind = \"sleeve\", step = 0"), (None, 2.5));
}

/// 1/24 of an inch of pitch, shims of 0.02 in; turns have no unit of length. On the right y counts to the left.
#[test]
fn adjusters_in_inches_and_on_the_right_are_those_of_the_shop() {
    let keys = "adjust = { chassis = { kind = \"shim\", along = [0, -1, 0], step = 0.02, range = [-0.2, 0.1] }, \
        length = { kind = \"end\", pitch = 0.041666666666666664, range = [-4, 2] } }\n";
    let right = format!(
        "[[right.link]]\nname = \"toe link\"\n{}upright = [-130.0, -668.0, 270.0]\n{keys}sets_toe = true\n",
        TOE_LINK.replace("360", "-360")
    );
    let text = CORNER.replace("= 60.0", "= 2.0").replace("tyre_radius = 308.0", "tyre_radius = 12.0");
    let car = read(&format!("units = \"in\"\n{text}{right}"));
    let adjusters = car.right.links[4].adjusters;
    let chassis = adjusters.chassis.unwrap();
    assert_eq!(chassis.along, Vector3::y_axis());
    assert!((chassis.step_mm.unwrap() - 0.508).abs() < 1e-12 && (chassis.range_mm.low + 5.08).abs() < 1e-12);
    let length = adjusters.length.unwrap();
    assert!((length.mm_per_turn() - 25.4 / 24.0).abs() < 1e-12);
    assert_eq!(length.range_turns, Interval { low: -4.0, high: 2.0 });
    assert!(car.right.links[4].sets_toe && !car.left.links[4].sets_toe);
    assert_eq!(car.left.links[4].adjusters, LinkAdjusters::default());
}

#[test]
fn a_point_stands_along_a_tube_and_off_it() {
    let (from, to) = (Point3::new(10.0, 20.0, 30.0), Point3::new(10.0, 60.0, 60.0));
    let tube = Tube { name: "brace".into(), from, to, od_mm: None, wall_mm: None, material: None };
    assert_eq!(tube.length_mm(), 50.0);
    // 20 mm along (0, 0.8, 0.6), then 5 mm square to it along (0, −0.6, 0.8), then 12 mm along x: 13 mm off.
    let point = Point3::new(22.0, 20.0 + 16.0 - 3.0, 30.0 + 12.0 + 4.0);
    assert!((tube.along_mm(&point) - 20.0).abs() < 1e-12 && (tube.off_mm(&point) - 13.0).abs() < 1e-12);
}

#[test]
fn room_past_the_end_of_a_tube_or_through_it_is_a_warning() {
    let room = |room: &str| {
        let keys = format!("chassis_tube = \"lower rail\"\nfree = {{ chassis = {{ {room} }} }}\n");
        warnings(&read(&format!("{}{TUBE}", with_toe_link(&keys))))
    };
    assert!(room("slide = [-80.0, 420.0], stand_off = [-39.9, 10.0], turn = [-5.0, 5.0]").is_empty());
    let bracket = "The bracket of link \"toe link\" on the left has room to";
    let ends = "80.0 mm from its `from` and 420.0 mm from its `to`";
    assert_eq!(room("slide = [-90.0, 0.0]"), [format!("{bracket} slide past the end of tube \"lower rail\", {ends}.")]);
    let through = format!("{bracket} move through the centre line of tube \"lower rail\", 40.0 mm away.");
    assert_eq!(room("stand_off = [-40.0, 0.0]"), [through]);
}

#[test]
fn wheel_halfshaft_and_spring_have_play_of_their_own() {
    let text = CORNER
        .replace("toe = 0.10\n", "toe = 0.10\nclock = [-2.0, 2.0]\n")
        .replace(
            "outer = [-0.16, 655.0, 305.64]\n",
            "outer = [-0.16, 655.0, 305.64]\nfree = { inner = { x = [-9, 9] } }\n",
        )
        .replace(
            "mount = [-40.0, 610.0, 260.0]\n",
            "mount = [-40.0, 610.0, 260.0]\nfree = { chassis = { y = [0, 5] }, mount = { z = [-4, 0, 2] } }\n",
        );
    let may = read(&text).adjustments.right;
    assert_eq!(may.clock, play(-2.0, 2.0));
    assert_eq!(may.halfshaft_inner, [play(-9.0, 9.0), None, None]);
    assert_eq!(may.spring_chassis, [None, play(0.0, 5.0), None]);
    assert_eq!(may.spring_mount, [None, None, Some(AdjustmentRange { low: -4.0, high: 0.0, step: Some(2.0) })]);
}

#[test]
fn a_right_link_has_room_of_its_own_that_counts_to_the_left() {
    let right = "[[right.link]]\nname = \"toe link\"\nupright = [-130.0, -668.0, 270.0]\n\
        within = { x = [-260, -200], y = [-390, -340], z = [240, 290] }\n\
        [right.halfshaft]\ninner = [0, -205, 312]\nouter = [0, -655, 310]\naxis = [0, -1, 0]\n\
        free = { inner = { y = [-2, 5] } }\n";
    let car = read(&format!("{CORNER}{right}"));
    let band = |low, high| Interval { low, high };
    let (left, right) = (&car.adjustments.left, &car.adjustments.right);
    assert_eq!(right.links[4].within(), Some([band(-260.0, -200.0), band(340.0, 390.0), band(240.0, 290.0)]));
    assert_eq!(car.right.links[4].chassis, Point3::new(-230.0, 365.0, 265.0));
    assert_eq!(right.halfshaft_inner[1], play(-5.0, 2.0));
    assert_eq!((left.links[4].within(), car.unplaced()), (None, vec!["toe link".to_owned()]));
}

#[test]
fn links_without_chassis_points_are_named_and_stand_in_the_middle_of_their_boxes() {
    let text = CORNER.replace(TOE_LINK, "within = { x = [-10, -8], y = [12, 14], z = [9, 11] }\n");
    let car = read(&format!(
        "units = \"in\"\n{}",
        text.replace("= 60.0", "= 2.0").replace("tyre_radius = 308.0", "tyre_radius = 12.0")
    ));
    assert_eq!(car.unplaced(), ["toe link"]);
    assert!((car.left.links[4].chassis - Point3::new(-228.6, 330.2, 254.0)).norm() < 1e-9);
    assert!(read(CORNER).unplaced().is_empty());
}

#[test]
fn targets_are_values_or_bands_with_a_weight() {
    let keys = "camber_gain = -0.6\nroll_centre_height = { value = 60.0, weight = 2.0 }\nroll_centre_migration = 30.0\n\
        anti_squat = { band = [10.0, 30.0] }\nscrub = 6.0\nplunge = [-8.0, 10.0]\n\
        inner_joint_angle = 8\nouter_joint_angle = [2.0, 9.0]\n";
    let wish = |quantity, low, high, weight| Target { quantity, band: Interval { low, high }, weight };
    let expected = [
        wish(Quantity::Scrub, -6.0, 6.0, 1.0),
        wish(Quantity::Plunge, -8.0, 10.0, 1.0),
        wish(Quantity::InnerJointAngle, 0.0, 8.0, 1.0),
        wish(Quantity::OuterJointAngle, 2.0, 9.0, 1.0),
        wish(Quantity::CamberGain, -0.6, -0.6, 1.0),
        wish(Quantity::RollCentreHeight, 60.0, 60.0, 2.0),
        wish(Quantity::RollCentreMigration, 0.0, 30.0, 1.0),
        wish(Quantity::AntiSquat, 10.0, 30.0, 1.0),
    ];
    let targets = targets(keys);
    assert_eq!((targets.list, targets.toe), (expected.to_vec(), None));
    assert_eq!(read(CORNER).targets, Targets::default());
}

#[test]
fn a_toe_curve_is_straight_between_its_rows() {
    let bare = targets("toe = [[-60.0, 0.06], [0.0, 0.0], [40.0, -0.02]]\n").toe.unwrap();
    assert_eq!((bare.curve.as_slice(), bare.weight), ([(-60.0, 0.06), (0.0, 0.0), (40.0, -0.02)].as_slice(), 1.0));
    for (bump, toe) in [(-90.0, 0.06), (-60.0, 0.06), (-30.0, 0.03), (0.0, 0.0), (20.0, -0.01), (50.0, -0.02)] {
        assert!((bare.toe_change_deg(bump) - toe).abs() < 1e-15, "{bump}");
    }
    let weighed = targets("toe = { curve = [[-50, 0.05], [50, -0.05]], weight = 3.0 }\n").toe.unwrap();
    assert!(weighed.weight == 3.0 && (weighed.toe_change_deg(25.0) + 0.025).abs() < 1e-15);
}

#[test]
fn tape_and_ride_heights_are_lengths() {
    let car = read(&format!("{CORNER}ride_heights = [-15.0, 0.0, 10.0]\n[tape]\nsd = 1.5\n"));
    assert_eq!((car.travel.ride_heights_mm, car.tape), (vec![-15.0, 0.0, 10.0], Some(Tape { sd_mm: 1.5 })));
    let car = read(CORNER);
    assert!(car.tape.is_none() && car.travel.ride_heights_mm.is_empty());
}

#[test]
fn bodies_have_the_thickness_that_the_file_gives_or_a_default() {
    let bare = read(CORNER);
    assert_eq!(bare.clearance, Clearance::default());
    assert_eq!((bare.clearance.least_mm(), bare.clearance.shaft_radius_mm()), (5.0, 14.0));
    assert_eq!((bare.left.links[4].radius_mm(), bare.left.wheel.tyre_width_mm), (12.7, None));
    let keys = "tube = { od = 22.2, wall = 2.1, material = \"4130\" }\n";
    let tables = "[clearance]\nleast = 6\nshaft_radius = 13\nspring_radius = 32\nboot_radius = 40\nboot_length = 100\n";
    let text =
        format!("{}{TUBE}od = 38.1\n{tables}", with_toe_link(keys)).replace("toe = ", "tyre_width = 205\ntoe = ");
    let car = read(&text);
    assert_eq!(car.clearance.boots, Some(Boots { radius_mm: 40.0, length_mm: 100.0 }));
    assert_eq!((car.clearance.least_mm(), car.clearance.shaft_radius_mm()), (6.0, 13.0));
    assert_eq!((car.clearance.spring_radius_mm, car.tubes[0].od_mm), (Some(32.0), Some(38.1)));
    assert_eq!((car.left.wheel.tyre_width_mm, car.right.links[4].radius_mm()), (Some(205.0), 11.1));
    let tube = car.left.links[4].tube.as_ref().expect("a tube");
    assert_eq!((tube.wall_mm, tube.material.as_deref()), (Some(2.1), Some("4130")));
}

#[test]
fn weld_groups_name_ends_of_links() {
    let weld = "[weld]\nsd = 0.5\n[[weld.group]]\nname = \"rear bracket\"\nsd = 0.3\n\
        pickups = [\"toe link chassis\", \"upper front upright\"]\n\
        [[weld.group]]\nname = \"subframe\"\npickups = [\"all chassis\"]\nsd = 1.0\ntogether = true\n";
    let weld = read(&format!("{CORNER}{weld}")).weld.unwrap();
    assert_eq!((weld.sd_mm, weld.uniform, weld.groups.len()), (0.5, false, 2));
    let [bracket, subframe] = &weld.groups[..] else { panic!("two groups") };
    assert_eq!((bracket.name.as_str(), bracket.sd_mm, bracket.together), ("rear bracket", 0.3, false));
    assert_eq!(bracket.pickups, [Pickup { link: 4, end: End::Chassis }, Pickup { link: 0, end: End::Upright }]);
    assert!(subframe.together);
    assert_eq!(subframe.pickups, [0, 1, 2, 3, 4].map(|link| Pickup { link, end: End::Chassis }));
}

#[test]
fn all_of_a_uniform_weld_lies_within() {
    let weld = read(&format!("{CORNER}[weld]\nwithin = 1.0\nshape = \"uniform\"\n")).weld.unwrap();
    assert!(weld.uniform && (weld.sd_mm - 1.0 / 3.0_f64.sqrt()).abs() < 1e-15);
    let weld = read(&format!("{CORNER}[weld]\nwithin = 1.0\nshape = \"normal\"\n")).weld.unwrap();
    assert!(!weld.uniform && (weld.sd_mm - 1.0 / 1.96).abs() < 1e-15);
}

#[test]
fn holes_of_the_upright_may_have_an_error_of_their_own() {
    let weld = |text: &str| read(&format!("{CORNER}[weld]\n{text}\n")).weld.unwrap();
    assert_eq!(weld("sd = 0.5\nupright_sd = 0.1").upright_sd_mm, Some(0.1));
    assert_eq!(weld("sd = 0.5").upright_sd_mm, None);
}

/// Its y counts to the left on either side of the car, in the unit of the file.
#[test]
fn a_datum_is_a_place_of_the_car() {
    let datum = "[[datum]]\nname = \"right foot\"\nat = [300, -450, 120.0]\n";
    let car = read(&format!("{CORNER}{datum}"));
    assert_eq!(car.datums.iter().map(|datum| datum.name.as_str()).collect::<Vec<_>>(), ["right foot"]);
    assert_eq!(car.datums[0].at, Point3::new(300.0, -450.0, 120.0));
    let inches = CORNER.replace("= 60.0", "= 2.0").replace("tyre_radius = 308.0", "tyre_radius = 12.0");
    let inches = read(&format!("units = \"in\"\n{inches}{}", datum.replace("[300", "[10")));
    assert!((inches.datums[0].at.x - 254.0).abs() < 1e-12);
    assert!(read(CORNER).datums.is_empty());
}
