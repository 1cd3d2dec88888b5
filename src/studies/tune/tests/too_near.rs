//! Parts that are too near as drawn and cannot be parted as far as the file asks: they come no nearer, and what can be had is told.

use crate::file::GeometryFile;
use crate::geometry::{AdjustmentRange, Corner, Geometry, Interval, Limits, Quantity, Side, Target};
use crate::studies::tune::{Choice, SearchOptions, TunedSide, tune};
use crate::studies::{JudgedCar, Rig};

const PAIR: &str = "lower rear / halfshaft";

/// The first cut with a halfshaft so thick that the lower rear link is 1 mm from it; its bracket may go up by 25 mm, which closes the
/// gap, and down by 1 mm.
fn near_the_shaft() -> Geometry {
    let text = include_str!("../../../../geometries/first-cut.toml");
    let mut geometry = GeometryFile::parse("rear.toml", text).unwrap_or_else(|error| panic!("{error}")).geometry;
    geometry.limits = Limits::default();
    geometry.adjustments.left.links = Default::default();
    geometry.adjustments.left.links[3].chassis[2] = Some(AdjustmentRange { low: -1.0, high: 25.0, step: None });
    geometry.clearance.shaft_radius_mm = Some(14.0);
    let gap_mm = least_gap_mm(&geometry, &geometry.left);
    geometry.clearance.shaft_radius_mm = Some(14.0 + gap_mm - 1.0);
    geometry
}

fn least_gap_mm(geometry: &Geometry, left: &Corner) -> f64 {
    let right = Corner { side: Side::Right, ..left.clone() };
    let car = Geometry { left: left.clone(), right, ..geometry.clone() };
    let found = JudgedCar::of(Rig::new(&car).expect("a sound design"));
    found.clearance.left.pairs.iter().find(|of| of.pair == PAIR).expect("a pair").least_mm
}

fn tuned(geometry: &Geometry) -> TunedSide {
    let options = SearchOptions { starts: 4, ..SearchOptions::default() };
    tune(geometry, &[Side::Left], &options, &|car| Some(car.clone())).expect("a tuned side").swap_remove(0)
}

/// A roll centre far below and one far above draw the bracket to either end of its room.
#[test]
fn parts_that_cannot_be_parted_as_far_as_the_file_asks_come_no_nearer() {
    for height_mm in [-300.0, 500.0] {
        let mut geometry = near_the_shaft();
        let (quantity, band) = (Quantity::RollCentreHeight, Interval::single(height_mm));
        geometry.targets.list.push(Target { quantity, band, weight: 100.0 });
        let side = tuned(&geometry);
        for answer in side.answers.iter().chain(&side.forgiving) {
            let gap_mm = least_gap_mm(&geometry, &answer.corner);
            assert!(gap_mm > 0.9, "{gap_mm} mm, for a roll centre at {height_mm} mm");
        }
        let mut lowest = geometry.left.clone();
        lowest.links[3].chassis.z -= 1.0;
        let most_mm = least_gap_mm(&geometry, &lowest);
        assert!((1.2..2.5).contains(&most_mm), "{most_mm} mm");
        let [told] = &side.uncleared[..] else { panic!("{:?}", side.uncleared) };
        assert!(told.pair == PAIR && told.gap_mm.is_some_and(|mm| (mm - 1.0).abs() < 0.01), "{told:?}");
        assert!(told.most_mm.is_some_and(|mm| (mm - most_mm).abs() < 0.02), "{told:?}, {most_mm} mm");
        // Fewer than the 2 mm or more that the file asks for.
        assert!(most_mm < geometry.clearance.least_mm() && !side.chosen(Choice::MostForgiving).limits_hold);
    }
}
