//! Tubes of links by addition on paper.

use hubtrace::geometry::{Interval, LengthAdjuster, LengthKind, LinkTube, RodEnd, Side};
use hubtrace::studies::Rig;
use hubtrace::studies::fabrication::{CutFault, CutLink, cut_list};

use crate::{car, demo};

fn m10() -> RodEnd {
    RodEnd {
        thread: "M10x1.5".parse().ok(),
        shank_mm: Some(48.0),
        lock_nut_mm: Some(6.0),
        insert_mm: Some(3.0),
        engagement_mm: Some(15.0),
        ..RodEnd::default()
    }
}

fn first_link(edit: impl FnOnce(&mut hubtrace::geometry::Link)) -> CutLink {
    let mut geometry = car(&demo());
    edit(&mut geometry.left.links[0]);
    let rig = Rig::new(&geometry).expect("a car");
    cut_list(rig.wheel(Side::Left)).remove(0)
}

/// A sleeve of 1.5 mm pitch that goes 4 turns either way takes 6 mm of each thread: 21 mm are held as drawn, 27 mm stand out, and with 3 mm
/// of insert the tube is 60 mm shorter than the link. A turn makes the link 3 mm longer.
#[test]
fn a_tube_is_what_the_rod_ends_leave() {
    let link = first_link(|link| {
        link.hardware.rod_end = Some(m10());
        link.tube = Some(LinkTube { od_mm: 20.0, wall_mm: Some(2.0), material: Some("E355".to_owned()) });
        link.adjusters.length = Some(LengthAdjuster {
            kind: LengthKind::Sleeve,
            pitch_mm: 1.5,
            step_turns: None,
            range_turns: Interval { low: -4.0, high: 4.0 },
        });
    });
    let tube = link.tube.expect("a tube");
    assert!((tube.tube_mm - (link.eye_to_eye_mm - 60.0)).abs() < 1e-9, "{tube:?}");
    assert_eq!((tube.engagement_mm, tube.stands_out_mm, tube.head_room_mm), (21.0, 27.0, 15.0));
    assert_eq!((tube.range_mm, tube.range_assumed), (Interval { low: -12.0, high: 12.0 }, false));
    assert_eq!((&link.faults[..], &link.needs[..]), (&[][..], &[][..]));
    // 20 mm over 16 mm inside: 36 pi mm2 of steel of 7.85 g/cm3.
    let kg = 36.0 * std::f64::consts::PI * tube.tube_mm * 7.85e-6;
    assert!((link.tube_mass_kg.expect("a mass") - kg).abs() < 1e-12);
}

/// One rod end that turns 2 times out and 3 times in: half as much length a turn, and thread for both ways. Without a range four
/// turns of one rod end are taken.
#[test]
fn a_rod_end_that_is_turned_alone_changes_the_link_by_its_pitch() {
    let turned = |adjuster: Option<LengthAdjuster>| {
        first_link(|link| {
            link.hardware.rod_end = Some(m10());
            link.adjusters.length = adjuster;
        })
    };
    let end = LengthAdjuster {
        kind: LengthKind::End,
        pitch_mm: 1.25,
        step_turns: Some(0.5),
        range_turns: Interval { low: -3.0, high: 2.0 },
    };
    let tube = turned(Some(end)).tube.expect("a tube");
    assert_eq!((tube.range_mm, tube.range_assumed), (Interval { low: -3.75, high: 2.5 }, false));
    // 15 mm that must be held and 2.5 mm to turn out; 48 mm of shank less 17.5, and less 3.75 of way in and 6 of nut.
    assert_eq!((tube.engagement_mm, tube.stands_out_mm, tube.head_room_mm), (17.5, 30.5, 20.75));
    let assumed = turned(None).tube.expect("a tube");
    assert_eq!((assumed.range_mm, assumed.range_assumed), (Interval { low: -6.0, high: 6.0 }, true));
}

#[test]
fn what_cannot_be_made_is_told() {
    let short = first_link(|link| link.hardware.rod_end = Some(RodEnd { engagement_mm: Some(12.0), ..m10() }));
    assert_eq!(short.faults, [CutFault::ShortEngagement { needs_mm: 15.0 }]);
    // Four turns of 1.5 mm inward and the nut leave 9 mm of 27.
    let no_head = first_link(|link| link.hardware.rod_end = Some(RodEnd { lock_nut_mm: Some(12.0), ..m10() }));
    assert_eq!(no_head.faults, [CutFault::NoRoomForHead { needs_mm: 10.0 }]);
    // Two shanks of 300 mm, 273 mm outside each, in a link of about 300 mm.
    let long = first_link(|link| link.hardware.rod_end = Some(RodEnd { shank_mm: Some(300.0), ..m10() }));
    assert!(long.faults.iter().any(|fault| matches!(fault, CutFault::TubeTooShort { .. })), "{long:?}");
    assert_eq!(long.tube_mass_kg, None);
    let bare = first_link(|link| link.hardware.rod_end = Some(RodEnd { shank_mm: None, insert_mm: None, ..m10() }));
    assert_eq!((bare.tube, &bare.needs[..]), (None, &["shank", "insert"][..]));
}
