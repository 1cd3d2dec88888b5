//! The setting chart against cars that were solved with the change in them.

use hubtrace::geometry::{Geometry, Interval, LengthAdjuster, LengthKind, Side};
use hubtrace::measures::{camber_deg, spin_axis, toe_deg};
use hubtrace::mechanism::{Linkage, PickupErrors, Posture};
use hubtrace::studies::Rig;
use hubtrace::studies::fabrication::{Setting, SettingStep, setting_chart};

use crate::{car, demo};

fn with_sleeves() -> Geometry {
    let mut geometry = car(&demo());
    for link in &mut geometry.left.links {
        link.adjusters.length = Some(LengthAdjuster {
            kind: LengthKind::Sleeve,
            pitch_mm: 1.5,
            step_turns: None,
            range_turns: Interval::either_way(4.0),
        });
    }
    geometry
}

fn row<'c>(chart: &'c [Setting], link: &str, is_turn: bool) -> &'c Setting {
    let is_row = |row: &&Setting| row.link == link && matches!(row.what, SettingStep::Flat) == is_turn;
    chart.iter().find(is_row).expect("a row")
}

/// Half a step either way, so that the curvature of the answer falls out.
#[test]
fn a_flat_and_a_shim_do_what_solved_cars_differ_by() {
    let geometry = with_sleeves();
    let rig = Rig::new(&geometry).expect("a car");
    let chart = setting_chart(rig.wheel(Side::Left));
    let (corner, linkage) = (&geometry.left, Linkage::new(&geometry.left));
    assert_eq!(chart.len(), 10);
    for (index, link) in corner.links.iter().enumerate() {
        let flat = row(&chart, &link.name, true);
        // A turn of both ends is 3 mm, a flat a sixth of it.
        assert_eq!(flat.by_mm, 0.5);
        let longer = linkage.lengthened(index, 0.25).design().expect("a posture");
        let shorter = linkage.lengthened(index, -0.25).design().expect("a posture");
        agrees(corner, flat, [&longer, &shorter]);
        let shimmed = |mm: f64| {
            let mut by = PickupErrors::default();
            by.chassis[index].z = mm;
            linkage.shimmed(&by).design().expect("a posture")
        };
        agrees(corner, row(&chart, &link.name, false), [&shimmed(0.25), &shimmed(-0.25)]);
    }
}

fn agrees(corner: &hubtrace::geometry::Corner, row: &Setting, [more, less]: [&Posture; 2]) {
    let axes = [more, less].map(|posture| spin_axis(corner, posture));
    let toe = toe_deg(&axes[0]) - toe_deg(&axes[1]);
    let camber = camber_deg(&axes[0]) - camber_deg(&axes[1]);
    let back = less.displacement.x - more.displacement.x;
    let errors = [row.toe_deg - toe, row.camber_deg - camber, row.recession_mm - back];
    assert!(errors.iter().all(|error| error.abs() < 2e-5), "{row:?}: {toe} {camber} {back}");
}
