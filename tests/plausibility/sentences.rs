//! What a builder reads of a mistake in the demo car, word for word.

use hubtrace::file::{GeometryFile, StarterRequest, starter_text};
use hubtrace::geometry::{LengthUnit, Link, Side};
use hubtrace::studies::plausibility::doubts;
use nalgebra::Point3;

use crate::sound_cars::SoundCar;

const DEMO: &str = include_str!("../../geometries/first-cut.toml");

/// What is told of the demo car with one piece of its text in place of another.
fn sentences(piece: &str, other: &str) -> Vec<String> {
    assert!(DEMO.contains(piece), "{piece}");
    doubts_of(&DEMO.replacen(piece, other, 1))
}

fn doubts_of(text: &str) -> Vec<String> {
    let file = GeometryFile::parse("rear.toml", text);
    let geometry = file.unwrap_or_else(|error| panic!("{error}")).geometry;
    doubts(&geometry).into_iter().map(String::from).collect()
}

#[test]
fn every_doubt_names_the_point_the_number_and_what_was_meant() {
    for (piece, other, told) in [
        (
            "chassis = [150.0, 380.0, 400.0]",
            "chassis = [150.0, -380.0, 400.0]",
            "upper front chassis, left: y = -380.0 is probably 380.0: the sign is turned; as written it is on the \
             other side of the car.",
        ),
        (
            "chassis = [150.0, 380.0, 400.0]",
            "chassis = [150.0, 830.0, 400.0]",
            "upper front chassis, left: y = 830.0 is probably 380.0: two digits are swapped; as written its \
             chassis end is 175.0 mm outboard of its upright end.",
        ),
        (
            "upright = [28.0, 655.0, 405.0]",
            "upright = [28.0, 565.0, 405.0]",
            "upper front upright, left: y = 565.0 is probably 655.0: two digits are swapped; or 665.0: 100 mm off, as a tape held at \
             its 100 mm mark reads; as written it is \
             103.6 mm inboard of the others.",
        ),
        (
            "chassis = [240.0, 372.0, 181.0]",
            "chassis = [9.449, 14.646, 7.126]",
            "lower front chassis, left: [9.449, 14.646, 7.126] is probably [240.0, 372.0, 181.0]: it is in inches, \
             and the file in mm; as written it is 7.1 mm above the road.",
        ),
        (
            "chassis = [-150.0, 376.0, 255.0]",
            "chassis = [-150.0, 376.0, 855.0]",
            "link \"toe link\", left: it climbs 601.0 mm in 668.9 mm; measure both its points again.",
        ),
        (
            "tyre_radius = 281.3",
            "tyre_radius = 562.6",
            "tyre_radius, left: 562.6 mm is no tyre's; probably 281.3: that is the diameter.",
        ),
        (
            "toe = 0.10",
            "toe = 2.0",
            "toe, left: 2.00 deg is no toe of a rear wheel; probably 0.28: it is in mm over 416.0 mm, and the key \
             is in deg per wheel (or 0.2: the decimal point is shifted).",
        ),
        (
            "camber = -1.50",
            "camber = -15.0",
            "camber, left: -15.00 deg is no camber of a rear wheel; probably -1.5: the decimal point is shifted.",
        ),
        (
            "camber = -1.50",
            "camber = 15.0",
            "camber, left: 15.00 deg is no camber of a rear wheel; probably -1.5: sign and decimal point are \
             wrong.",
        ),
        (
            "bump_steer = 0.05",
            "bump_steer = 5.0",
            "`bump_steer` in [limits]: a limit of 5 deg on bump steer holds nothing back; 0.9 deg is much on \
             anything that rolls.",
        ),
        (
            "wheelbase = 2450.0",
            "wheelbase = 96.5",
            "wheelbase: 96.5 mm is no car's; probably 2451.1: it is in inches, and the file in mm.",
        ),
        (
            "centre = [0.0, 737.636, 281.204]",
            "centre = [0.0, 737.636, 218.204]",
            "wheel centre, left: z = 218.204 is probably 281.204: two digits are swapped; as written it is 62.9 mm \
             from the spindle's line.",
        ),
        (
            "outer = [-0.1, 659.0, 279.1]",
            "outer = [-0.1, 659.0, 282.1]",
            "halfshaft outer, left: [-0.1, 659.0, 282.1] is 3.0 mm off the spindle's line, and the joint runs in \
             the hub; z = 279.145 alone puts it there. One of the joint, the wheel centre, toe and camber is \
             wrong: measure them again.",
        ),
        (
            "inner = [4.0, 205.0, 279.0]",
            "inner = [4.0, -205.0, 279.0]",
            "halfshaft inner, left: y = -205.0 is probably 205.0: the sign is turned; as written it is on the \
             other side of the car.",
        ),
        (
            "centre = [0.0, 737.636, 281.204]",
            "centre = [0.0, 737.636, 0.0]",
            "wheel centre, left: z = 0.0 is probably 281.3: its tyre then stands on z = 0; as written it is 408.0 mm from the \
             spindle's line, and the wheel turns round it.",
        ),
        (
            "chassis = [150.0, 380.0, 400.0]",
            "chassis = [380.0, 150.0, 400.0]",
            "upper front chassis, left: [380.0, 150.0, 400.0] is probably [150.0, 380.0, 400.0]: x and y are exchanged; as written it \
             is 195.0 mm from the nearest bracket across the car.",
        ),
        (
            "chassis = [-150.0, 376.0, 255.0]",
            "chassis = [376.0, -150.0, 255.0]",
            "toe link chassis, left: [376.0, -150.0, 255.0] is probably [-150.0, 376.0, 255.0]: x and y are exchanged; as written it \
             is on the other side of the car.",
        ),
        (
            "camber = -1.50",
            "camber = -6.0",
            "halfshaft outer, left: [-0.1, 659.0, 279.1] is 6.1 mm off the spindle's line, and the joint runs in the hub; camber = \
             -6.0 is probably -1.5: the spindle's line then runs through the joint.",
        ),
        (
            "camber = -1.50",
            "camber = 1.5",
            "halfshaft outer, left: [-0.1, 659.0, 279.1] is 4.2 mm off the spindle's line, and the joint runs in the hub; camber = \
             1.5 is probably -1.5: top inboard is negative.",
        ),
        (
            "camber = -1.50",
            "camber = -3.5",
            "halfshaft outer, left: [-0.1, 659.0, 279.1] is 2.7 mm off the spindle's line, and the joint runs in the hub; z = \
             276.395 alone puts it there. One of the joint, the wheel centre, toe and camber is wrong: measure them again.",
        ),
        (
            "outer = [-0.1, 659.0, 279.1]",
            "outer = [-0.1, 790.0, 279.1]",
            "halfshaft outer, left: it is 52.3 mm outboard of the wheel's centre plane; measure [-0.1, 790.0, 279.1] again.",
        ),
        (
            "centre = [0.0, 737.636, 281.204]",
            "centre = [0.0, 29.04, 281.204]",
            "wheel centre, left: y = 29.04 makes a track of 72.8 mm, and no car has that; probably 737.6: it is in inches, and the \
             file in mm.",
        ),
        (
            "centre = [0.0, 737.636, 281.204]",
            "centre = [0.0, 1078.0, 281.204]",
            "wheel centre, left: 5 of the upright's 5 link points are where no wheel at [0.0, 1078.0, 281.204] has them; measure the \
             wheel centre again, or those points if they were counted from another datum.",
        ),
        ("wheelbase = 2450.0", "wheelbase = 2.45", "wheelbase: 2.45 mm is no car's; probably 2450.0: it is in metres."),
        ("wheelbase = 2450.0", "wheelbase = 245.0", "wheelbase: 245.0 mm is no car's; probably 2450.0: it is in cm."),
        (
            "cg_height = 380.0",
            "cg_height = 15.0",
            "cg_height: 15.0 mm is no car's centre of gravity; probably 381.0: it is in inches, and the file in mm.",
        ),
        (
            "rim_radius = 172.0",
            "rim_radius = 15.0",
            "rim_radius, left: 15.0 mm is no rim's: that is the size on the rim, in inches; measure its inside from the hub's centre, \
             in mm.",
        ),
        (
            "rim_radius = 172.0",
            "rim_radius = 190.5",
            "rim_radius, left: 190.5 mm is half of the 15 in stamped on the rim: a bracket touches further in; measure from the hub's \
             centre to the inside of the bare rim.",
        ),
        (
            "upright = [-120.0, 668.0, 254.0]\n",
            "upright = [-120.0, 668.0, 254.0]\ntaped = 11.5\n",
            "Link \"toe link\" on the left: taped = 11.5 is probably 292.1: it is in inches, and the file in mm; its points are 293.5 \
             mm apart.",
        ),
        (
            "upright = [-120.0, 668.0, 254.0]\n",
            "upright = [-120.0, 668.0, 254.0]\ntaped = 239.0\n",
            "Link \"toe link\" on the left is 293.5 mm between its points and 239.0 mm by tape, 54.5 mm apart: measure its chassis \
             and upright points again, or write `taped = 293.0`: two digits are swapped.",
        ),
        (
            "tube = { od = 25.4, wall = 2.41, material = \"4130\" }",
            "tube = { od = 1.0, wall = 0.095, material = \"4130\" }",
            "Tube of link \"upper front\" on the left: od = 1.0 mm is no link's, 12.0 mm to 80.0 mm is; wall = 0.095 mm is no link's, 0.7 \
             mm to 8.0 mm is; probably od = 25.4, wall = 2.4: it is in inches, and the file in mm.",
        ),
        (
            "tube = { od = 25.4, wall = 2.41, material = \"4130\" }",
            "tube = { od = 5.0, wall = 2.41, material = \"4130\" }",
            "Tube of link \"upper front\" on the left: od = 5.0 mm is no link's, 12.0 mm to 80.0 mm is.",
        ),
        (
            "inner = [4.0, 205.0, 279.0]",
            "inner = [4.0, 279.0, 205.0]",
            "halfshaft inner, left: [4.0, 279.0, 205.0] is probably [4.0, 205.0, 279.0]: y and z are exchanged; as written its joints \
             are drawn 387.2 mm apart, and the file's shaft reaches 432.0 mm to 475.0 mm.",
        ),
        (
            "length_min = 432.0",
            "length_min = 460.0",
            "halfshaft, left: its joints are drawn 454.0 mm apart, and the file's shaft reaches 460.0 mm to 475.0 mm; measure \
             both its joints again.",
        ),
        (
            "rate = 30.0",
            "rate = 3.5",
            "rate of the spring, left: with 3.5 N/mm the 1958 N of its corner press it by 559.4 mm, and it is 400.0 mm long; \
             the key is in N/mm: probably 34.3 (it is in kgf/mm) or 35.0 (the decimal point is shifted).",
        ),
        (
            "chassis_bolt = [275.0, 122.0, 0.0]",
            "chassis_bolt = [122.0, -275.0, 0.0]",
            "The bolt at the chassis end of link \"upper front\" on the left stands 89.0 deg out of square to its \
             link at design, and its rod end allows 14.0 deg: `chassis_bolt` is the way the bolt \
             points, square to the link as nearly as can be.",
        ),
        (
            "centre = [0.0, 737.636, 281.204]",
            "centre = [0.0, 1475.272, 281.204]",
            "wheel centre, left: y = 1475.272 makes a track of 2965.3 mm, and no car has that; probably 737.636: it counts from \
             the middle of the car.",
        ),
        (
            "chassis = [150.0, 380.0, 400.0]\nupright = [28.0, 655.0, 405.0]",
            "chassis = [28.0, 655.0, 405.0]\nupright = [150.0, 380.0, 400.0]",
            "upper front chassis and upper front upright, left: the two are probably in each other's place; as written its chassis end \
             is 275.0 mm outboard of its upright end.",
        ),
        (
            "rim_radius = 172.0",
            "rim_radius = 6.772",
            "rim_radius, left: 6.772 mm is no rim's; probably 172.0: it is in inches, and the file in mm.",
        ),
        (
            "rim_radius = 172.0",
            "rim_radius = 86.0",
            "rim_radius, left: 86.0 mm is no rim's round this upright; probably 172.0: that is half of it.",
        ),
        (
            "rim_radius = 172.0",
            "rim_radius = 17.2",
            "rim_radius, left: 17.2 mm is no rim's; probably 172.0: it is in cm.",
        ),
        (
            "sd = 0.5",
            "sd = 0.0197",
            "`sd`: 0.0197 mm is no welder's error, probably 0.5: it is in inches, and the file in mm; 0.05 mm to 3.0 mm is usual.",
        ),
        (
            "scrub = 13.0",
            "scrub = 0.04",
            "`scrub` in [limits]: a limit of 0.04 mm on scrub is less than any gauge reads; probably 1.0: it is in inches, and the \
             file in mm.",
        ),
        (
            "[travel]\nbump = 60.0",
            "[travel]\nbump = 6.0",
            "`bump`: 6.0 mm is no wheel's travel, probably 60.0: it is in cm; 8.0 mm to 350.0 mm is usual.",
        ),
        ("sd = 0.5", "sd = 50.0", "`sd`: 50.0 mm is no welder's error; 0.05 mm to 3.0 mm is usual."),
        (
            "[travel]",
            "[[tube]]\nname = \"rail\"\nfrom = [300.0, 375.0, 410.0]\nto = [-300.0, 375.0, 410.0]\nod = 38.0\n\n[travel]",
            "The chassis point of link \"upper front\" on the left is inside frame tube \"rail\": 11.2 mm from its centre \
             line, and the tube is 38.0 mm thick. Move the point or the tube, or correct its `od`.",
        ),
        ("mass = 620.0", "mass = 6200.0", "`mass`: 6200 kg is no car's; 150 kg to 5000 kg is usual."),
        (
            "inner_limit = 14.0",
            "inner_limit = 0.24",
            "`inner_limit`: 0.24 deg is no halfshaft joint's; 3 deg to 60 deg is usual.",
        ),
        (
            "rpm = 6800.0",
            "rpm = 68.0",
            "`rpm`: 68 1/min is no propeller shaft's speed; 1000 1/min to 20000 1/min is usual.",
        ),
        (
            "corner_mass = 165.0",
            "corner_mass = 363.8",
            "corner_mass, left: 363.8 kg, and `mass` and `rear_mass_share` put 170 kg on each rear wheel; probably 165.0: it is in \
             lb.",
        ),
        (
            "corner_mass = 165.0",
            "corner_mass = 800.0",
            "corner_mass, left: 800 kg, and `mass` and `rear_mass_share` put 170 kg on each rear wheel; write what is sprung on this \
             one wheel, in kg.",
        ),
        (
            "sd = 0.5",
            "sd = 0.02",
            "`sd`: 0.02 mm is no welder's error, probably 0.5: it is in inches, and the file in mm; 0.05 mm to 3.0 mm is usual.",
        ),
        (
            "free_length = 400.0",
            "free_length = 40.0",
            "`free_length`: 40.0 mm is no spring's, probably 400.0: it is in cm; 60.0 mm to 900.0 mm is usual.",
        ),
        (
            "closed = 366.0",
            "closed = 36.6",
            "damper, left: it is 36.6 mm closed and 482.0 mm open, and no damper moves by more than it is long closed; probably \
             `closed` = 366.0: it is in cm.",
        ),
        (
            "mass = 620.0",
            "mass = 1366.9",
            "mass: with `rear_mass_share` it puts 376 kg on each rear wheel, and `corner_mass` is 165 kg; probably 620.0: it is in lb.",
        ),
        (
            "corner_mass = 165.0",
            "corner_mass = 16.5",
            "corner_mass, left: 16.5 kg, and `mass` and `rear_mass_share` put 170 kg on each rear wheel; probably 165.0: the decimal \
             point is shifted.",
        ),
        (
            "torque = 560.0",
            "torque = 5600.0",
            "`torque`: with 5600.0 N m and a final drive of 2.5 or more the rear tyres would push with 15 times the load that they \
             carry; probably 560.0: the decimal point is shifted.",
        ),
        (
            "bump_rubber = { length = 30.0,",
            "bump_rubber = { length = 130.0,",
            "bump_rubber, left: it is 130.0 mm long, and the damper moves 116.0 mm in all.",
        ),
        (
            "rear_drive_share = 1.0",
            "rear_drive_share = 0.0",
            "rear_drive_share: 0.0 says that the rear wheels are not driven, and the file has a halfshaft for them; 1.0 is a \
             car that only they drive.",
        ),
        (
            "upright = [28.0, 655.0, 405.0]",
            "upright = [-42.0, 652.0, 400.0]",
            "upper front upright and upper rear upright, left: 3.0 mm apart, and two rod ends have no room there: give both the same \
             numbers if they share a hole, or measure both again; the sign of x of one of them may be turned.",
        ),
        (
            "chassis = [195.0, 490.0, 570.0]\nmount = [60.0, 652.0, 195.0]",
            "chassis = [60.0, 652.0, 195.0]\nmount = [195.0, 490.0, 570.0]",
            "spring chassis and spring mount, left: the two are probably in each other's place; as written its frame end is 375.0 mm \
             below its other one, in a length of 430.2 mm.",
        ),
        (
            "chassis = [195.0, 490.0, 570.0]",
            "chassis = [915.0, 490.0, 570.0]",
            "spring chassis, left: x = 915.0 is probably 195.0: two digits are swapped; or 91.5: the decimal point is shifted; as written the spring leans 64 deg fore and \
             aft.",
        ),
        (
            "chassis = [195.0, 490.0, 570.0]",
            "chassis = [195.0, 940.0, 570.0]",
            "spring chassis, left: y = 940.0 is probably 490.0: two digits are swapped; as written it is 210.2 mm outboard of the \
             wheel's centre plane.",
        ),
        (
            "chassis = [195.0, 490.0, 570.0]",
            "chassis = [195.0, 49.0, 570.0]",
            "spring chassis, left: y = 49.0 is probably 490.0: the decimal point is shifted; as written the spring is 722.8 mm long, \
             like no other on such a wheel.",
        ),
        (
            "mount = [60.0, 652.0, 195.0]",
            "mount = [60.0, 652.0, 19.5]",
            "spring mount, left: z = 19.5 is probably 195.0: the decimal point is shifted; as written it is 19.5 mm above the road.",
        ),
        (
            "inner = [4.0, 205.0, 279.0]",
            "inner = [4.0, 20.5, 279.0]",
            "halfshaft inner, left: y = 20.5 is probably 205.0: the decimal point is shifted; as written it is 20.5 mm from the middle \
             of the car.",
        ),
        (
            "chassis = [-150.0, 376.0, 255.0]",
            "chassis = [-15.0, 376.0, 255.0]",
            "toe link chassis, left: x = -15.0 is probably -150.0: the decimal point is shifted; as written seen from above its link lies \
             across the others.",
        ),
        (
            "chassis = [-150.0, 376.0, 255.0]",
            "chassis = [-510.0, 376.0, 255.0]",
            "toe link chassis, left: x = -510.0 is probably -150.0: two digits are swapped; as written it is 510.0 mm behind the wheel \
             centre.",
        ),
        (
            "centre = [0.0, 737.636, 281.204]",
            "centre = [0.0, 837.636, 281.204]",
            "halfshaft outer, left: [-0.1, 659.0, 279.1] is 2.6 mm off the spindle's line, and the joint runs in the hub; wheel centre \
             y = 837.636 is probably 737.636: 100 mm off, as a tape held at its 100 mm mark reads.",
        ),
        (
            "step = 5.0",
            "step = 50.0",
            "`step`: 50.0 mm is more than half of the travel, 60.0 mm, and little is seen of it; probably 5.0.",
        ),
        (
            "bump_steer = 0.05",
            "bump_steer = 0.0005",
            "`bump_steer` in [limits]: a limit of 0.0005 deg on bump steer is less than any gauge reads.",
        ),
        (
            "scrub = 13.0",
            "scrub = 0.013",
            "`scrub` in [limits]: a limit of 0.013 mm on scrub is less than any gauge reads; probably 13.0: it is in metres.",
        ),
        (
            "roll_centre_height = [40.0, 110.0]",
            "roll_centre_height = [1.5, 4.5]",
            "`roll_centre_height` in [limits]: roll-centre height of 1.5 to 4.5 mm is probably [38.1, 114.3]: it is in inches, and the \
             file in mm.",
        ),
        (
            "sd = 0.5",
            "sd = 0.0005",
            "`sd`: 0.0005 mm is no welder's error, probably 0.5: it is in metres; 0.05 mm to 3.0 mm is usual.",
        ),
        (
            "plunge_window = [-10.0, 10.0]",
            "plunge_window = [-0.4, 0.4]",
            "`plunge_window`: [-0.4, 0.4] is probably [-10.2, 10.2]: it is in inches, and the file in mm; over the travel the shaft \
             plunges -2.4 mm, far out of it.",
        ),
        (
            "free = { chassis = { y = [-25.0, 25.0],",
            "free = { chassis = { y = [-250.0, 250.0],",
            "`free` of link \"upper front\" on the left: 500.0 mm from end to end is more room than a frame has; 400.0 mm is much.",
        ),
        (
            "chassis = [-110.0, 372.0, 388.0]",
            "chassis = [110.0, 372.0, 388.0]",
            "upper rear chassis, left: x = 110.0 is probably -110.0: the sign is turned; as written its bolts stand 42.0 and 42.0 \
             deg out of square to it.",
        ),
        (
            "chassis = [-110.0, 372.0, 388.0]",
            "chassis = [-37.0, 372.0, 388.0]",
            "Link \"upper rear\" on the left: its bolts stand 14.7 and 14.7 deg out of square to it at design, and its rod ends allow \
             14.0 deg: as they agree, one of its points is probably wrong; measure both again.",
        ),
        (
            "inner = [4.0, 205.0, 279.0]",
            "inner = [4.0, 205.0, 179.0]",
            "halfshaft inner, left: z = 179.0 is probably 279.0: 100 mm off, as a tape held at its 100 mm mark reads; as written \
             the shaft is bent by 12.4 deg at design, its inner joint turns 19.4 deg at 60.0 mm of bump, and the file allows 14.0 \
             deg.",
        ),
        (
            "inner = [4.0, 205.0, 279.0]",
            "inner = [4.0, 205.0, 149.0]",
            "halfshaft, left: the shaft is bent by 16.0 deg at design, its inner joint turns 16.0 deg, and the file allows 14.0 \
             deg; measure both its joints again.",
        ),
        (
            "rate = 30.0",
            "rate = 171.3",
            "rate of the spring, left: with 171.3 N/mm its 165 kg bounce at 4.2 Hz, and it is loose over 40.3 mm of the 51.8 mm by \
             which the damper opens; the key is in N/mm: probably 30.0 (it is in lbf/in) or 17.1 (the decimal point is shifted).",
        ),
        (
            "chassis = [195.0, 490.0, 570.0]",
            "chassis = [195.0, 490.0, 57.0]",
            "spring chassis, left: z = 57.0 is probably 570.0: the decimal point is shifted; as written its frame end is 138.0 mm \
             below its other one, in a length of 252.0 mm.",
        ),
    ] {
        assert_eq!(sentences(piece, other), [told]);
    }
}

#[test]
fn points_of_two_links_in_each_others_place_are_told_as_that() {
    let [rear, toe] = ["upright = [-32.0, 680.0, 157.0]", "upright = [-120.0, 668.0, 254.0]"];
    let turned = DEMO.replacen(rear, "?", 1).replacen(toe, rear, 1).replacen('?', toe, 1);
    assert_eq!(
        doubts_of(&turned),
        [
            "lower rear upright and toe link upright, left: the two are probably in each other's place; or lower rear chassis and toe \
          link chassis: the two are probably in each other's place; as written the middles of \"lower rear\" and \"toe link\" pass \
          each other at 3.2 mm."
        ]
    );
}

#[test]
fn a_right_wheel_that_steers_with_the_left_one_is_told() {
    let right =
        "\n[right.wheel]\ncentre = [0.0, -737.636, 281.204]\ntyre_radius = 281.3\ntoe = -0.10\ncamber = -1.50\n";
    assert_eq!(
        doubts_of(&format!("{DEMO}{right}")),
        [
            "toe: 0.10 deg on the left and -0.10 deg on the right; the sign of one is probably turned: toe in is positive on either \
          side."
        ]
    );
}

/// `starter` says that z counts from the floor; without it the datum may be anywhere.
#[test]
fn a_tyre_of_a_starter_that_does_not_stand_on_the_floor_is_told() {
    let high = DEMO.replacen("tyre_radius = 281.3", "tyre_radius = 291.3", 1);
    assert_eq!(doubts_of(&high), Vec::<String>::new());
    let starter = |radius: &str| {
        let text = DEMO.replacen("schema = 1", "schema = 1\nstarter = \"195/50R15, track 1466 mm\"", 1);
        doubts_of(&text.replacen("tyre_radius = 281.3", &format!("tyre_radius = {radius}"), 1))
    };
    assert_eq!(starter("281.3"), Vec::<String>::new());
    let stands = |radius: &str, by: &str| {
        format!("tyre_radius, left: with {radius} mm the tyre stands {by} z = 0, the floor of a starter")
    };
    let told = "measure it and the height of the wheel centre again.";
    assert_eq!(starter("291.3"), [format!("{}: {told}", stands("291.3", "10.0 mm below"))]);
    let swapped = stands("218.3", "63.0 mm above");
    assert!(!starter("218.3").contains(&swapped));
    assert_eq!(starter("265.3"), [format!("{}: {told}", stands("265.3", "16.0 mm above"))]);
}

/// A gap of no parts, in a table that the demo car lacks.
#[test]
fn a_least_gap_in_inches_is_told() {
    assert_eq!(
        doubts_of(&format!("{DEMO}\n[clearance]\nleast = 0.2\n")),
        [
            "`least`: 0.2 mm is no gap between parts that bend, probably 5.1: it is in inches, and the file in mm; 0.9 mm to 80.0 mm is usual."
        ]
    );
}

/// What is told of the demo car with these tables behind it.
fn told_with(tables: &str) -> Vec<String> {
    doubts_of(&format!("{DEMO}\n{tables}\n"))
}

#[test]
fn sizes_of_parts_in_another_unit_are_told() {
    for (tables, told) in [
        (
            "[clearance]\nshaft_radius = 1.4",
            "`shaft_radius`: 1.4 mm is no halfshaft's radius, probably 14.0: it is in cm; 6.0 mm to 70.0 mm is usual.",
        ),
        (
            "[clearance]\nspring_radius = 1.26",
            "`spring_radius`: 1.26 mm is no spring's radius, probably 32.0: it is in inches, and the file in mm; 12.0 mm to 130.0 mm is usual.",
        ),
        (
            "[clearance]\nboot_radius = 4.0\nboot_length = 80.0",
            "`boot_radius`: 4.0 mm is no boot's radius, probably 40.0: it is in cm; 15.0 mm to 130.0 mm is usual.",
        ),
        (
            "[tape]\nsd = 15.0",
            "`sd`: 15.0 mm is no error of a tape, probably 1.5: the decimal point is shifted; 0.01 mm to 5.0 mm is usual.",
        ),
        ("[tape]\nsd = 8.0", "`sd`: 8.0 mm is no error of a tape; 0.01 mm to 5.0 mm is usual."),
        (
            "[[weld.group]]\nname = \"cradle\"\npickups = [\"lower front chassis\", \"lower rear chassis\"]\nsd = 7.0\ntogether = true",
            "`sd`: 7.0 mm is no error of a bracket or a subframe; 0.005 mm to 3.0 mm is usual.",
        ),
    ] {
        assert_eq!(told_with(tables), [told]);
    }
}

#[test]
fn a_rod_end_in_another_unit_and_a_rating_that_its_thread_denies_are_told() {
    for (piece, other, told) in [
        (
            "lock_nut = 7.0",
            "lock_nut = 0.7",
            "`lock_nut`: 0.7 mm is no lock nut's height, probably 7.0: it is in cm; 1.5 mm to 30.0 mm is usual.",
        ),
        (
            "gap = 20.0",
            "gap = 0.787",
            "`gap`: 0.787 mm is no bracket's, between its plates, probably 20.0: it is in inches, and the file in mm; 5.0 mm to 120.0 \
             mm is usual.",
        ),
        (
            "static_kn = 32.0",
            "static_kn = 320.0",
            "`static_kn`: 320.0 kN is no rod end's with a thread of M12x1.75, probably 32.0; it would load the shank with 3797 MPa, \
             and 100 to 1220 MPa is what rod ends bear.",
        ),
        (
            "static_kn = 32.0",
            "static_kn = 6.5",
            "`static_kn`: 6.5 kN is no rod end's with a thread of M12x1.75, probably 65.0; it would load the shank with 77 MPa, and 100 \
             to 1220 MPa is what rod ends bear.",
        ),
    ] {
        assert_eq!(sentences(piece, other), [told]);
    }
}

/// A foot of the hoop and a crossmember, each with its mirror image, and a punch on the floor.
const DATUMS: &str = r#"
[[datum]]
name = "hoop foot left"
at = [712.0, 431.0, 96.0]
[[datum]]
name = "hoop foot right"
at = [713.0, -430.0, 97.0]
[[datum]]
name = "crossmember, L"
at = [-402.0, 288.0, 402.0]
[[datum]]
name = "crossmember, R"
at = [-401.0, -287.0, 401.0]
[[datum]]
name = "punch"
at = [900.0, 120.0, 0.0]
"#;

#[test]
fn a_datum_where_no_frame_is_and_one_that_is_no_mirror_image_are_told() {
    let told = |piece: &str, other: &str| {
        assert!(DATUMS.contains(piece), "{piece}");
        told_with(&DATUMS.replacen(piece, other, 1))
    };
    assert_eq!(told("punch", "punch"), Vec::<String>::new());
    for (piece, other, sentence) in [
        (
            "[900.0, 120.0, 0.0]",
            "[9000.0, 120.0, 0.0]",
            "datum \"punch\": x = 9000.0 is probably 900.0: the decimal point is shifted; as written it is 9000.0 mm ahead of the rear \
             axle.",
        ),
        (
            "[900.0, 120.0, 0.0]",
            "[900.0, 120.0, -300.0]",
            "datum \"punch\": z = -300.0 is probably 300.0: the sign is turned; as written it is 300.0 mm below the road.",
        ),
        (
            "[900.0, 120.0, 0.0]",
            "[900.0, 4711.0, 0.0]",
            "datum \"punch\": y = 4711.0 is probably 471.1: the decimal point is shifted; as written it is 4711.0 mm from the middle of \
             the car.",
        ),
        (
            "[900.0, 120.0, 0.0]",
            "[0.9, 0.12, 0.0]",
            "datum \"punch\": [0.9, 0.12, 0.0] is probably [900.0, 120.0, 0.0]: it is in metres; as written it is beside the origin, \
             where no frame is.",
        ),
        (
            "[713.0, -430.0, 97.0]",
            "[7130.0, -430.0, 97.0]",
            "datum \"hoop foot right\": x = 7130.0 is probably 713.0: the decimal point is shifted; as written it is no mirror image of \
             datum \"hoop foot left\" at [712.0, 431.0, 96.0].",
        ),
        (
            "[712.0, 431.0, 96.0]",
            "[712.0, -431.0, 96.0]",
            "datum \"hoop foot left\": y = -431.0 is probably 431.0: the sign is turned; as written it is no mirror image of datum \
             \"hoop foot right\" at [713.0, -430.0, 97.0].",
        ),
        (
            "[712.0, 431.0, 96.0]",
            "[28.03, 16.97, 3.78]",
            "datum \"hoop foot left\": [28.03, 16.97, 3.78] is probably [712.0, 431.0, 96.0]: it is in inches, and the file in mm; as \
             written it is no mirror image of datum \"hoop foot right\" at [713.0, -430.0, 97.0].",
        ),
        (
            "[-402.0, 288.0, 402.0]",
            "[402.0, 288.0, 402.0]",
            "datum \"crossmember, L\": x = 402.0 is probably -402.0: the sign is turned; or datum \"crossmember, R\": x = -401.0 is \
             probably 401.0: the sign is turned; as written it is no mirror image of datum \"crossmember, R\" at [-401.0, -287.0, \
             401.0].",
        ),
        (
            "name = \"punch\"\nat = [900.0, 120.0, 0.0]",
            "name = \"right rail\"\nat = [900.0, 120.0, 0.0]",
            "datum \"right rail\": y = 120.0 is probably -120.0: the sign is turned; as written it stands on the left of the car, for y \
             counts to the left.",
        ),
    ] {
        assert_eq!(told(piece, other), [sentence]);
    }
}

#[test]
fn datums_in_another_unit_all_together_are_told_once() {
    let datum = |name: &str, at: [f64; 3]| format!("[[datum]]\nname = {name:?}\nat = {at:?}\n");
    let told = |unit_mm: f64| {
        let at = [[712.0, 431.0, 96.0], [713.0, -430.0, 97.0], [-402.0, 40.0, 402.0]];
        let at = at.map(|at| at.map(|mm| (1e3 * mm / unit_mm).round() / 1e3));
        told_with(&["a", "b", "c"].into_iter().zip(at).map(|(name, at)| datum(name, at)).collect::<String>())
    };
    assert_eq!(told(1.0), Vec::<String>::new());
    let within = |mm: &str, unit: &str| {
        format!(
            "Datums: all 3 are within {mm} mm, and a tape finds no place from them; are they in {unit}, and the file in mm?"
        )
    };
    assert_eq!(told(25.4), [within("49.1", "inches")]);
    assert_eq!(told(1000.0), [within("1.2", "metres")]);
}

/// One number of two decimals among numbers of none and one.
#[test]
fn a_number_finer_than_all_others_is_told_where_its_point_was_shifted() {
    let told = |number: &str| sentences("chassis = [195.0,", &format!("chassis = [{number},"));
    assert_eq!(told("195.4"), Vec::<String>::new());
    assert_eq!(
        told("19.54"),
        [
            "spring chassis, left: x = 19.54 is probably 195.4: the decimal point is shifted; as written it is finer than every other \
          number that was measured."
        ]
    );
    // Half of a quarter, and what is as well elsewhere.
    assert_eq!(told("19.55"), Vec::<String>::new());
}

/// Both legs of a wishbone from one hole to the same side of the axle line.
#[test]
fn two_links_of_one_hole_that_stand_beside_each_other_are_told() {
    let text = include_str!("../../geometries/double-wishbone.toml");
    let legs = |x: &str| doubts_of(&text.replacen("chassis = [125.0, ", &format!("chassis = [{x}, "), 1));
    assert_eq!(legs("125.0"), Vec::<String>::new());
    let told = legs("-125.0");
    assert!(told.len() == 1 && told[0].contains("x = -125.0 is probably 125.0: the sign is turned"), "{told:?}");
    assert!(told[0].ends_with("share a hole and stand 5 deg apart, like one link."), "{told:?}");
}

/// A right side that was measured 30 mm aside, but for its wheel.
#[test]
fn a_right_side_from_another_datum_is_told_once() {
    let geometry = GeometryFile::parse("rear.toml", DEMO).expect("a sound car").geometry;
    let right_by = |off: [f64; 3], except: usize| -> String {
        let table = |(index, link): (usize, &Link)| {
            let at = |place: &Point3<f64>| {
                let off = if index == except { [0.0; 3] } else { off };
                [place.x + off[0], -place.y + off[1], place.z + off[2]]
            };
            let (name, chassis, upright) = (&link.name, at(&link.chassis), at(&link.upright));
            format!("[[right.link]]\nname = {name:?}\nchassis = {chassis:?}\nupright = {upright:?}\n")
        };
        geometry.left.links.iter().enumerate().map(table).collect()
    };
    let told = |off: [f64; 3], except: usize| doubts_of(&format!("{DEMO}\n{}", right_by(off, except)));
    assert_eq!(told([0.0; 3], 5), Vec::<String>::new());
    let all = "link points are 30.0 mm";
    let datum = "than those of the left side: was it measured from another datum? Give both sides one.";
    for (off, way) in [
        ([30.0, 0.0, 0.0], "further forward"),
        ([-30.0, 0.0, 0.0], "further back"),
        ([0.0, -30.0, 0.0], "further out"),
        ([0.0, 30.0, 0.0], "further in"),
        ([0.0, 0.0, 30.0], "higher"),
        ([0.0, 0.0, -30.0], "lower"),
    ] {
        assert_eq!(told(off, 5), [format!("The right side: 10 of its 10 {all} {way} {datum}")]);
    }
    // One link that was measured from the right datum: its points stand where the left ones do, and nothing is told of it.
    assert_eq!(told([30.0, 0.0, 0.0], 4), [format!("The right side: 8 of its 10 {all} further forward {datum}")]);
}

/// Where the left side is sound a mistake of the right one is where it differs, and nothing is told of what the program made of it.
#[test]
fn a_right_bracket_alone_is_blamed_for_what_is_odd_on_the_right() {
    let right =
        "\n[[right.link]]\nname = \"toe link\"\nchassis = [-150.0, -376.0, 315.0]\nupright = [-120.0, -668.0, 254.0]\n";
    let told = doubts_of(&format!("{DEMO}{right}"));
    assert_eq!(
        told,
        [
            "toe link chassis: z = 255.0 on the left and 315.0 on the right are 60.0 mm apart, more than welding explains: measure \
          both again."
        ]
    );
}

/// 128 mm outboard, by no slip of one digit; a bracket that stands 60 mm outboard is one of a trailing link.
#[test]
fn a_bracket_outboard_of_its_upright_is_told_as_a_link_and_no_other_number_of_it() {
    assert_eq!(
        sentences("chassis = [-150.0, 376.0, 255.0]", "chassis = [-150.0, 796.0, 255.0]"),
        [
            "link \"toe link\", left: its chassis end is 128.0 mm outboard of its upright end; measure both its points again."
        ]
    );
}

/// A slip of one digit is no sign and no swap: the twins are told without a number.
#[test]
fn datums_that_are_called_alike_and_are_far_from_mirror_images_are_told() {
    let with = |x: &str| {
        let datum = |name: &str, at: &str| format!("\n[[datum]]\nname = \"{name}\"\nat = {at}\n");
        let left = datum("hoop foot left", &format!("[{x}, 420.0, 120.0]"));
        doubts_of(&format!("{DEMO}{left}{}", datum("hoop foot right", "[700.0, -420.0, 120.0]")))
    };
    assert_eq!([with("700.0"), with("580.0")], [const { Vec::<String>::new() }; 2]); // a frame may be staggered
    assert_eq!(
        with("430.0"),
        [
            "datum \"hoop foot left\" at [430.0, 420.0, 120.0] and datum \"hoop foot right\" at [700.0, -420.0, 120.0] are called \
          alike and are 270.0 mm from mirror images: measure both again."
        ]
    );
}

#[test]
fn an_end_of_a_frame_tube_where_no_frame_is_is_told() {
    let with = |to: &str| {
        let tube = format!("[[tube]]\nname = \"brace\"\nfrom = [-300.0, 320.0, 165.0]\nto = {to}\n\n[travel]");
        doubts_of(&DEMO.replacen("[travel]", &tube, 1))
    };
    assert_eq!(with("[300.0, 320.0, 398.0]"), Vec::<String>::new());
    assert_eq!(
        with("[300.0, 320.0, -398.0]"),
        [
            "tube \"brace\" to: z = -398.0 is probably 398.0: the sign is turned; as written it is 398.0 mm below the road."
        ]
    );
    assert!(with("[300.0, 3200.0, 398.0]")[0].contains("it is 3200.0 mm from the middle of the car"));
}

/// Without brackets nothing but the names tells that a lower hole is not 4 mm below an upper one.
#[test]
fn an_upper_and_a_lower_hole_with_no_upright_between_them_are_told_before_there_are_brackets() {
    let room = |line: &str| {
        let place: Vec<f64> =
            line["chassis = [".len()..line.len() - 1].split(", ").map(|n| n.parse().expect("a number")).collect();
        let [x, y, z] = [0, 1, 2].map(|axis: usize| format!("[{:?}, {:?}]", place[axis] - 20.0, place[axis] + 20.0));
        format!("within = {{ x = {x}, y = {y}, z = {z} }}")
    };
    let bare: Vec<String> = include_str!("hub-face.toml")
        .lines()
        .filter(|line| !line.starts_with("chassis_tube"))
        .filter(|line| !line.starts_with("chassis_bolt") && !line.starts_with("free"))
        .map(
            |line| if line.starts_with("chassis = ") && !line.contains("508.0") { room(line) } else { line.to_owned() },
        )
        .collect();
    let bare = bare.join("\n");
    assert_eq!(doubts_of(&bare), Vec::<String>::new());
    let at = |z: &str| {
        let car = bare.replacen("upright = [42.5, -88.0, -128.0]", &format!("upright = [42.5, -88.0, {z}]"), 1);
        doubts_of(&car)
    };
    assert_eq!(
        at("128.0"),
        [
            "lower front upright, left: [42.5, -88.0, 128.0] is 3.3 mm above upper rear upright, and the links are named the other way round: \
          lower front upright probably has z = -128.0: the sign is turned."
        ]
    );
    assert!(
        at("98.0")[0].contains(
            "mm below upper rear upright, and one is named to be above the other: lower front upright probably"
        )
    );
}

/// 195 mm inboard of the wheel's middle, on the spindle's line, by no one slip: no hub reaches in so far.
#[test]
fn an_outer_joint_deep_inside_the_car_is_told() {
    let told = sentences("outer = [-0.1, 659.0, 279.1]", "outer = [-0.1, 550.0, 278.0]");
    assert!(
        told[0].contains("halfshaft outer, left") && told[0].contains("mm inboard of the wheel's centre plane"),
        "{told:?}"
    );
}

#[test]
fn a_tyre_that_leaves_no_rubber_above_its_rim_is_told() {
    let with = |rim: &str| {
        let radius = DEMO.lines().find(|line| line.starts_with("rim_radius")).expect("a rim").to_owned();
        doubts_of(&DEMO.replacen(&radius, &format!("rim_radius = {rim}"), 1))
    };
    assert_eq!(with("250.0"), Vec::<String>::new());
    assert_eq!(
        with("260.0"),
        [
            "tyre_radius, left: 281.3 mm is 21.3 mm above the inside of its rim, which is no tyre's: measure it and `rim_radius` again."
        ]
    );
}

/// A tube far above the rod end, whose bracket it shall carry.
#[test]
fn a_bracket_that_does_not_reach_its_tube_is_told() {
    let below = |tube_mm: f64| {
        let ends = format!("from = [300.0, 372.0, {tube_mm:?}]\nto = [-20.0, 372.0, {tube_mm:?}]");
        let text = DEMO.replacen("[travel]", &format!("[[tube]]\nname = \"rail\"\n{ends}\n\n[travel]"), 1);
        let bracket = "chassis = [240.0, 372.0, 181.0]";
        doubts_of(&text.replacen(bracket, &format!("{bracket}\nchassis_tube = \"rail\""), 1))
    };
    assert_eq!(below(271.0), Vec::<String>::new());
    assert_eq!(
        below(361.0),
        [
            "lower front chassis, left: z = 181.0 is probably 281.0: 100 mm off, as a tape held at its 100 mm mark reads; as written \
          it is 80.0 mm too far from tube \"rail\", which carries its bracket."
        ]
    );
    assert_eq!(
        below(511.0),
        [
            "The chassis point of link \"lower front\" on the left is 330.0 mm from frame tube \"rail\", which carries its bracket by \
          `chassis_tube`: measure the point and the tube again."
        ]
    );
}

/// The name of the tube is wrong, and none of the numbers.
#[test]
fn a_bracket_that_is_at_home_on_another_tube_is_told_with_that() {
    let tube = |name: &str, z: f64| {
        format!("[[tube]]\nname = \"{name}\"\nfrom = [300.0, 345.0, {z:?}]\nto = [-20.0, 345.0, {z:?}]\n\n")
    };
    let tubes = format!("{}{}[travel]", tube("rail", 181.0), tube("upper rail", 311.0));
    let bracket = "chassis = [240.0, 372.0, 181.0]";
    let text = DEMO.replacen("[travel]", &tubes, 1);
    let on = |name: &str| doubts_of(&text.replacen(bracket, &format!("{bracket}\nchassis_tube = \"{name}\""), 1));
    assert_eq!(on("rail"), Vec::<String>::new());
    assert_eq!(
        on("upper rail"),
        [
            "The chassis point of link \"lower front\" on the left is 132.8 mm from frame tube \"upper rail\", which carries its bracket \
          by `chassis_tube`: \"rail\", 27.0 mm away, probably does; name that, or measure the point and the tube again."
        ]
    );
}

/// A tube that is long enough in no direction but its own.
#[test]
fn a_tube_that_ends_short_of_its_bracket_is_told_at_its_end_alone() {
    let tube = "[[tube]]\nname = \"rail\"\nfrom = [135.0, 372.0, 181.0]\nto = [-20.0, 372.0, 181.0]\n\n[travel]";
    let bracket = "chassis = [240.0, 372.0, 181.0]";
    let text = DEMO.replacen("[travel]", tube, 1).replacen(bracket, &format!("{bracket}\nchassis_tube = \"rail\""), 1);
    assert_eq!(
        doubts_of(&text),
        [
            "tube \"rail\" from: the tube ends 105.0 mm short of the bracket of link \"lower front\" that it carries by `chassis_tube`: \
          measure this end again, or name the tube that carries the bracket."
        ]
    );
}

/// Both joints 100 mm low: the outer one by the spindle, the inner one by the shaft, which was straight.
#[test]
fn a_halfshaft_that_is_low_as_a_whole_is_told_at_both_joints() {
    let joints = ["inner = [4.0, 205.0, 279.0]", "outer = [-0.1, 659.0, 279.1]"];
    let low =
        joints.iter().fold(DEMO.to_owned(), |text, joint| text.replacen(joint, &joint.replace("279.", "179."), 1));
    let told = doubts_of(&low);
    assert_eq!(told.len(), 2, "{told:?}");
    assert!(told[0].starts_with("halfshaft outer, left: z = 179.1 is probably 279.1: 100 mm off"), "{told:?}");
    assert!(told[1].starts_with("halfshaft inner, left: z = 179.0 is probably 279.0: 100 mm off"), "{told:?}");
}

#[test]
fn a_final_drive_may_stand_beside_the_middle_as_long_as_its_flanges_do_not_pass_each_other() {
    let beside = |left_mm: f64, right_mm: f64| {
        let text = DEMO.replacen("inner = [4.0, 205.0, 279.0]", &format!("inner = [4.0, {left_mm:?}, 279.0]"), 1);
        let text = text.replacen("length_min = 432.0", "", 1).replacen("length_max = 475.0", "", 1);
        let right =
            format!("inner = [4.0, {right_mm:?}, 279.0]\naxis = [0.0, -1.0, 0.0]\nouter = [-0.1, -659.0, 279.1]");
        doubts_of(&format!("{text}\n[right.halfshaft]\n{right}\n"))
    };
    assert_eq!([beside(-20.0, -220.0), beside(120.0, -205.0)], [const { Vec::<String>::new() }; 2]);
    assert_eq!(beside(-150.0, -150.0).len(), 1);
    assert_eq!(
        sentences("inner = [4.0, 205.0, 279.0]", "inner = [4.0, -10.0, 279.0]")[0],
        "halfshaft inner, left: it is on the other side of the car; measure [4.0, -10.0, 279.0] again; a final drive beside the \
         middle of the car needs a halfshaft of its own under [right]."
    );
}

/// What can be adjusted at the toe link, beside the thread of its rod ends, M12x1.75.
#[test]
fn a_shim_and_a_pitch_of_no_such_link_are_told() {
    let told = |adjust: &str| {
        let upright = "upright = [-120.0, 668.0, 254.0]\n";
        sentences(upright, &format!("{upright}adjust = {{ {adjust} }}\n"))
    };
    let shim = |step: &str| {
        told(&format!("chassis = {{ kind = \"shim\", along = [0.0, 0.0, 1.0], step = {step}, range = [-6.0, 6.0] }}"))
    };
    assert_eq!(shim("3.0"), Vec::<String>::new());
    assert_eq!(shim("5.0"), ["`step`: 5.0 mm is no thinnest shim's; 0.02 mm to 4.0 mm is usual."]);
    let pitch = |pitch: &str| told(&format!("length = {{ kind = \"sleeve\", pitch = {pitch}, range = [-4.0, 4.0] }}"));
    assert_eq!(pitch("1.75"), Vec::<String>::new());
    assert_eq!(
        pitch("1.5"),
        [
            "Link \"toe link\" on the left: `pitch` = 1.5 mm, and the thread of its rod ends, M12x1.75, has 1.75 mm from crest to crest."
        ]
    );
}

/// Nothing else tells where a bracket stands: no bolts, and a frame that is straight in plan.
#[test]
fn a_front_bracket_with_x_and_y_exchanged_is_told_by_its_neighbours() {
    let is_bolt =
        |line: &str| ["chassis_bolt", "upright_bolt", "rod_end_limit"].iter().any(|key| line.starts_with(key));
    let text: String = DEMO.lines().filter(|line| !is_bolt(line)).map(|line| format!("{line}\n")).collect();
    assert_eq!(doubts_of(&text), Vec::<String>::new());
    let told = |bracket: &str| doubts_of(&text.replacen("chassis = [240.0, 372.0, 181.0]", bracket, 1));
    assert_eq!(
        told("chassis = [372.0, 240.0, 181.0]"),
        [
            "lower front chassis, left: [372.0, 240.0, 181.0] is probably [240.0, 372.0, 181.0]: x and y are exchanged; or y = \
          240.0 is probably 340.0: 100 mm off, as a tape held at its 100 mm mark reads; as written it \
          is 105.0 mm from the nearest bracket across the car."
        ]
    );
    // Exchanged it would be as far from the others.
    assert_eq!(told("chassis = [240.0, 280.0, 181.0]"), Vec::<String>::new());
}

/// A toe link straight across, ahead of the axle: the legs of both wishbones cross it, and it crosses nothing.
#[test]
fn a_toe_link_in_front_that_the_wishbones_cross_is_sound() {
    let points = [
        ([152.4, 279.7, 294.3], [27.9, 528.3, 309.9]),
        ([-129.5, 294.6, 320.5], [-40.6, 528.3, 307.3]),
        ([127.0, 271.8, 170.2], [55.9, 530.9, 167.6]),
        ([-81.3, 271.8, 175.3], [-55.9, 535.9, 167.6]),
        ([91.4, 293.0, 241.9], [91.4, 513.1, 238.8]),
    ];
    let car = |nth: usize, x_mm: f64| {
        let link = |(index, (chassis, upright)): (usize, &([f64; 3], [f64; 3]))| {
            let chassis = [if index == nth { x_mm } else { chassis[0] }, chassis[1], chassis[2]];
            format!("[[link]]\nname = \"{index}\"\nchassis = {chassis:?}\nupright = {upright:?}\n")
        };
        let links: String = points.iter().enumerate().map(link).collect();
        doubts_of(&format!("schema = 1\n[wheel]\ncentre = [0.0, 571.5, 236.2]\ntyre_radius = 236.2\n{links}"))
    };
    assert_eq!(car(0, 152.4), Vec::<String>::new());
    // What lies across is the link that slants.
    let told = car(4, -91.4);
    assert!(told.len() == 1 && told[0].contains("x = -91.4 is probably 91.4: the sign is turned"), "{told:?}");
}

/// The bracket of the upper rear link is on a post that leans by 20 mm.
#[test]
fn an_end_of_a_tube_that_its_bracket_denies_is_told_and_not_the_bracket() {
    let told = |to_y: &str| {
        let post = format!(
            "[[tube]]\nname = \"post\"\nfrom = [-135.0, 372.0, 120.0]\nto = [-135.0, {to_y}, 560.0]\n\n[travel]"
        );
        let bracket = "chassis = [-110.0, 372.0, 388.0]";
        let text = DEMO.replacen(bracket, &format!("{bracket}\nchassis_tube = \"post\""), 1);
        doubts_of(&text.replacen("[travel]", &post, 1))
    };
    assert_eq!(told("392.0"), Vec::<String>::new());
    assert_eq!(
        told("39.2"),
        [
            "tube \"post\" to: y = 39.2 is probably 392.0: the decimal point is shifted; as written it is 163.6 mm from a bracket that it \
          carries."
        ]
    );
}

/// The final drive is 18 mm beside the middle; a file whose final drive has a table of its own takes the joint from there.
#[test]
fn an_inner_joint_a_tenth_as_far_out_as_the_other_is_told() {
    let with = |right: &str| {
        let text = DEMO.replacen("length_min = 432.0", "", 1).replacen("length_max = 475.0", "", 1);
        doubts_of(&format!(
            "{text}\n[right.halfshaft]\ninner = [4.0, {right}, 279.0]\naxis = [0.0, -1.0, 0.0]\nouter = [-0.1, -659.0, 279.1]\n"
        ))
    };
    assert_eq!(with("-187.0"), Vec::<String>::new());
    assert_eq!(
        with("-18.7"),
        [
            "halfshaft inner: y = 205.0 on the left and -18.7 on the right are 186.3 mm apart, more than welding explains (the decimal \
          point is shifted?): measure both again."
        ]
    );
    // The same to the last figure, with two digits swapped.
    assert_eq!(
        with("-250.0"),
        [
            "halfshaft inner: y = 205.0 on the left and -250.0 on the right are 45.0 mm apart, more than welding explains (two digits \
          are swapped?): measure both again."
        ]
    );
    assert_eq!(with("-251.0"), Vec::<String>::new());
}

/// A right wheel of its own with the left one's halfshaft.
#[test]
fn a_right_side_without_its_own_halfshaft_is_told_as_that() {
    let right = "\n[right.wheel]\ncentre = [3.0, -737.636, 281.204]\ntyre_radius = 281.3\ntoe = 0.10\ncamber = -1.50\n";
    assert_eq!(
        doubts_of(&format!("{DEMO}{right}")),
        [
            "halfshaft outer, right: [-0.1, -659.0, 279.1] is 3.0 mm off the spindle's line, and the joint runs in the hub; nearest on \
          the line is [2.863, -658.994, 279.145]. These are the left one's numbers: measure both joints of the right shaft, and write \
          them as `inner` and `outer` of [right.halfshaft]."
        ]
    );
}

#[test]
fn a_hole_of_a_housing_that_is_ten_times_as_far_is_told() {
    let text = include_str!("../../geometries/semi-trailing.toml");
    assert_eq!(
        doubts_of(&text.replacen("holes = [[95.0, 80.0, 70.0]", "holes = [[950.0, 80.0, 70.0]", 1)),
        [
            "final_drive holes: hole 1: x = 950.0 is probably 95.0: the decimal point is shifted; as written it is 931.1 mm from the \
          middle between the flanges, and no housing is so large."
        ]
    );
}

#[test]
fn a_propeller_shaft_that_is_too_short_is_told() {
    let told = |joints: &[[f64; 2]]| {
        let joint =
            |[x, z]: &[f64; 2]| format!("[[propshaft.joint]]\nkind = \"universal\"\nat = [{x:?}, 0.0, {z:?}]\n");
        let shaft = "[propshaft]\ninput_axis = [-1.0, 0.0, -0.035]\noutput_axis = [-1.0, 0.0, -0.035]\n";
        let tubes = "[[propshaft.tube]]\nod = 70.0\nwall = 2.0\n".repeat(joints.len() - 1);
        let before = DEMO.split("[propshaft]").next().expect("a text");
        doubts_of(&format!("{before}{shaft}{}{tubes}", joints.iter().map(joint).collect::<String>()))
    };
    let [rear, middle] = [[165.0, 285.1], [600.0, 300.0]];
    assert_eq!(
        [told(&[[1115.0, 320.0], rear]), told(&[[1115.0, 320.0], middle, rear])],
        [const { Vec::<String>::new() }; 2]
    );
    let meant = "propshaft joint 1: x = 111.5 is probably 1115.0: it is in cm; as written the shaft";
    assert_eq!(
        told(&[[111.5, 320.0], rear]),
        [format!("{meant} is 63.9 mm from its first joint to its last, and 120.0 mm to 4000.0 mm is what cars have.")]
    );
}

/// An axis of either sense is turned to the shaft, so that a joint with its sign turned bends nothing.
#[test]
fn a_propeller_shaft_through_the_axle_is_told() {
    let told = |front: f64, rear: f64| {
        let joint = |x: f64| format!("[[propshaft.joint]]\nkind = \"universal\"\nat = [{x:?}, 0.0, 290.0]\n");
        let shaft = "[propshaft]\ninput_axis = [-1.0, 0.0, 0.0]\noutput_axis = [-1.0, 0.0, 0.0]\n";
        let before = DEMO.split("[propshaft]").next().expect("a text");
        doubts_of(&format!("{before}{shaft}{}{}", joint(front), joint(rear)))
    };
    assert_eq!([told(1115.0, 165.0), told(1115.0, 20.0)], [const { Vec::<String>::new() }; 2]);
    let sign = |what: &str, way: &str| {
        format!(
            "propshaft joint {what}: the sign is turned; as written the shaft runs from {way} it, through the final drive."
        )
    };
    assert_eq!(told(-1115.0, 165.0), [sign("1: x = -1115.0 is probably 1115.0", "behind the axle to ahead of")]);
    assert_eq!(told(1115.0, -165.0), [sign("2: x = -165.0 is probably 165.0", "ahead of the axle to behind")]);
}

/// Two of its numbers are on the spindle's line, and the shaft would run straight to the third as it was meant.
#[test]
fn a_digit_of_the_outer_joint_is_told_by_the_line_and_nothing_else_for_it() {
    for (z, off) in [("229.1", "50.0"), ("249.1", "30.0"), ("299.1", "19.9")] {
        assert_eq!(
            sentences("outer = [-0.1, 659.0, 279.1]", &format!("outer = [-0.1, 659.0, {z}]")),
            [format!(
                "halfshaft outer, left: [-0.1, 659.0, {z}] is {off} mm off the spindle's line, and the joint runs in the hub; z = {z} \
                 is probably 279.1: one digit is another, and x and y fit that line."
            )]
        );
    }
}

/// A joint that no slip puts back is off by more than a final drive that is low or high would bend its shaft.
#[test]
fn an_outer_joint_that_is_off_raises_no_doubt_of_the_inner_one() {
    assert_eq!(
        sentences("outer = [-0.1, 659.0, 279.1]", "outer = [-0.1, 659.0, 193.8]"),
        [
            "halfshaft outer, left: [-0.1, 659.0, 193.8] is 85.3 mm off the spindle's line, and the joint runs in the hub; z = 279.145 \
          alone puts it there. One of the joint, the wheel centre, toe and camber is wrong: measure them again."
        ]
    );
}

/// The numbers of the joint do not stand in such a file.
#[test]
fn an_inner_joint_on_a_final_drive_is_told_by_the_line_that_gives_it() {
    let text = include_str!("../../geometries/semi-trailing.toml");
    for (piece, other, told) in [
        (
            "origin = [-22.0, 0.0, 279.0]",
            "origin = [-22.0, 0.0, 379.0]",
            "final_drive origin: z = 379.0 is probably 279.0: 100 mm off, as a tape held at its 100 mm mark reads; as written the shaft \
             is bent by ",
        ),
        (
            "left = { at = [25.0, 205.0, 0.0]",
            "left = { at = [250.0, 205.0, 0.0]",
            "final_drive left: x = 250.0 is probably 25.0: the decimal point is shifted; as written the shaft is bent by ",
        ),
    ] {
        let changed = text.replacen(piece, other, 1);
        let file = GeometryFile::parse("rear.toml", &changed).unwrap_or_else(|error| panic!("{error}"));
        let doubt = doubts(&file.geometry).remove(0);
        assert!(doubt.sentence.starts_with(told), "{}", doubt.sentence);
        let line = file.line_of(Side::Left, &doubt.suspects[0].about).expect("a line");
        assert!(changed.lines().nth(line - 1).is_some_and(|line| line.starts_with(other)), "{line}");
    }
    let file = GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}"));
    let line = file.line_of(Side::Right, "halfshaft inner").expect("a line");
    assert!(text.lines().nth(line - 1).is_some_and(|line| line.starts_with("right = { at")));
}

/// A starter says nothing of its joints: what bends its shaft much at design is told, and what a low final drive bends is not.
#[test]
fn an_inner_joint_of_a_starter_that_bends_its_shaft_much_is_told() {
    let starter = starter_text(&StarterRequest::new(None, None).expect("a car"), LengthUnit::Millimetre);
    let inner = "inner = [4.0, 205.0, 279.0]";
    assert!(starter.contains(inner));
    let told = |[x, y, z]: [f64; 3]| doubts_of(&starter.replacen(inner, &format!("inner = [{x:?}, {y:?}, {z:?}]"), 1));
    for [x, y, z] in [[4.0, 205.0, 349.0], [4.0, 205.0, 209.0], [64.0, 205.0, 279.0], [4.0, 305.0, 279.0]] {
        assert_eq!(told([x, y, z]), Vec::<String>::new());
    }
    for [x, y, z] in [[4.0, 205.0, 379.0], [4.0, 205.0, 179.0], [4.0, 205.0, 479.0], [-96.0, 205.0, 279.0]] {
        assert!(matches!(&told([x, y, z])[..], [one] if one.contains("deg is much for a joint without `")), "{x} {z}");
    }
    assert_eq!(
        told([4.0, 205.0, 479.0]),
        [
            "halfshaft, left: the shaft is bent by 25.3 deg at design, and 11 deg is much for a joint without `inner_limit` in the file; \
          measure both its joints again."
        ]
    );
    // The two flanges would be 810 mm apart.
    let wide = told([4.0, 405.0, 279.0]);
    assert!(
        matches!(&wide[..], [one] if one.ends_with("as written it is 405.0 mm from the middle of the car.")),
        "{wide:?}"
    );
}

#[test]
fn a_shaft_that_plunges_further_than_its_joints_is_told() {
    assert_eq!(
        sentences("length_min = 432.0", "length_min = 342.0"),
        [
            "halfshaft, left: from `length_min` to `length_max` it plunges by 133.0 mm, and 3.0 mm to 100.0 mm is what a shaft with such \
          joints does; probably `length_min` = 432.0: two digits are swapped."
        ]
    );
}

#[test]
fn a_spring_that_is_longer_than_its_damper_is_told() {
    assert_eq!(
        sentences("free_length = 400.0", "free_length = 540.0"),
        [
            "free_length, left: the spring is 540.0 mm long, and its damper 482.0 mm from eye to eye fully out; probably 450.0: two \
          digits are swapped."
        ]
    );
    let without_damper = |free_length: &str| {
        let rubber = "bump_rubber = { length = 30.0, solid = 12.0 }";
        let keys = ["closed = 366.0", "open = 482.0", rubber, "free_length = 400.0"];
        let text = keys.iter().zip(["", "", "", free_length]).fold(DEMO.to_owned(), |text, (key, other)| {
            assert!(text.contains(key));
            text.replacen(key, other, 1)
        });
        doubts_of(&text)
    };
    assert_eq!(without_damper("free_length = 480.0"), Vec::<String>::new());
    assert_eq!(
        without_damper("free_length = 720.0"),
        [
            "free_length, left: the spring is 720.0 mm long, and its eyes are 430.2 mm apart at design; probably 270.0: two digits are \
          swapped."
        ]
    );
}

/// Ten times as far in inches, or in mm: both put it near the spindle, until the other side says which it was.
#[test]
fn two_slips_of_one_number_are_both_told_where_only_one_is_rarer() {
    let is_short = |car: &SoundCar| (0.8..1.6).contains(&car.upright[4][2].abs());
    let cars = (0..).map(SoundCar::of).filter(|car| car.inches && car.hub_axes && car.right.is_none() && is_short(car));
    let (mut both, mut with_other_side) = (0, 0);
    for car in cars.take(8) {
        let meant = format!("{:?}", car.upright[4][2]);
        let mut wrong = car.clone();
        wrong.upright[4][2] = (100.0 * 10.0 * car.upright[4][2]).round() / 100.0;
        let first = |car: &SoundCar| {
            let file = GeometryFile::parse("car.toml", &car.text()).unwrap_or_else(|error| panic!("{error}"));
            doubts(&file.geometry).remove(0)
        };
        let alone = first(&wrong);
        let told: Vec<&str> = alone.suspects.iter().filter_map(|suspect| suspect.probably.as_deref()).collect();
        assert!(told.contains(&meant.as_str()), "{meant} {}", alone.sentence);
        both += usize::from(alone.sentence.contains("; or "));
        let right = Some(car.chassis.map(|[x, y, z]| [x, -y, z]));
        let beside = first(&SoundCar { right, right_upright: Some(car.upright), ..wrong });
        with_other_side += usize::from(beside.suspects.len() == 1 && beside.suspects[0].probably == Some(meant));
    }
    assert!(both > 0 && with_other_side == 8, "{both} {with_other_side}");
}

/// It counts only from the face on which the wheel seats.
#[test]
fn an_offset_beside_points_in_the_axes_of_the_car_is_told() {
    let told = sentences("tyre_radius = 281.3", "tyre_radius = 281.3\noffset = 25.0");
    let expected = "offset, left: 25.0 mm is not used, for the upright points count in the axes of the car. Were the points \
                    measured from the face on which the wheel seats? Then write `upright_axes = \"hub face\"`; else take \
                    `offset` out.";
    assert_eq!(told, [expected]);
}

/// By hand: 737.636 - 732 = 5.6 mm, and 100.2 mm below the centre of a wheel of -1.5 deg 2.6 mm more, and 240 mm ahead of it with 0.1 deg
/// of toe-in 0.4 mm less, are 7.8 mm. A bracket ahead of its upright leaves no room for a link.
#[test]
fn a_bracket_in_the_tyre_or_beside_its_upright_is_told() {
    let lower = |y: &str| {
        let bare: String =
            DEMO.lines().filter(|line| !line.contains("_bolt =")).map(|line| format!("{line}\n")).collect();
        doubts_of(&bare.replacen("chassis = [240.0, 372.0, 181.0]", &format!("chassis = [240.0, {y}, 181.0]"), 1))
    };
    assert_eq!(
        lower("732.0"),
        [
            "lower front chassis, left: y = 732.0 is probably 372.0: two digits are swapped; as written it is in the tyre, 7.8 mm inboard \
             of the wheel's centre plane."
        ]
    );
    for y in ["600.0", "640.0", "684.0", "700.0", "720.0"] {
        let told = lower(y);
        assert!(told.len() == 1 && told[0].starts_with("lower front chassis, left: "), "{y}: {told:#?}");
    }
    for y in ["520.0", "540.0"] {
        assert_eq!(lower(y), Vec::<String>::new(), "{y}");
    }
}

/// A joint that no slip explains, beside a wheel whose tyre stands on the road: z = 282.104 would do too, and nothing says it was meant.
#[test]
fn a_wheel_that_stands_on_the_road_is_not_blamed_for_its_joint() {
    let told = sentences("outer = [-0.1, 659.0, 279.1]", "outer = [-0.1, 659.0, 280.7]");
    assert!(
        told.len() == 1 && told[0].contains("z = 279.145 alone puts it there. One of the joint, the wheel centre"),
        "{told:#?}"
    );
}

/// As `tune` writes a bracket that it found in the box of docs/measure-upright.md, and room of the same size that was typed.
#[test]
fn what_is_left_of_a_box_is_no_room_too_large() {
    let with = |place: &str, room: &str| {
        let free = format!("free = {{ chassis = {{ {room} }} }}");
        let typed = "free = { chassis = { y = [-25.0, 25.0], z = [-25.0, 25.0] } }";
        let told = DEMO.replacen("chassis = [150.0, 380.0, 400.0]", place, 1).replacen(typed, &free, 1);
        doubts_of(&told).into_iter().filter(|told| told.contains("`free`")).count()
    };
    let place = "chassis = [150.3524, 380.0, 400.4236]";
    assert_eq!(with(place, "x = [-450.3524, 149.6476], y = [-80.0, 120.0], z = [-300.4236, 99.5764]"), 0);
    // A tenth of it was meant.
    assert_eq!(with(place, "x = [-450.0, 150.0], y = [-80.0, 120.0]"), 1);
    assert_eq!(with("chassis = [150.0, 380.0, 400.0]", "x = [-450.0, 150.0]"), 1);
    // No box is so long.
    assert_eq!(with(place, "x = [-850.3524, 249.6476], y = [-80.0, 120.0]"), 1);
}
