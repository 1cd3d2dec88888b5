//! What must hold of any car: mirror images, datum and scale, exact derivatives, virtual work, lengths.

use crate::cars::{CARS, cars, moved, read, scaled, with_own_right_side};
use crate::tables::{Columns, Row, studies};
use hubtrace::file::GeometryFile;
use hubtrace::geometry::{Corner, Geometry, Side};
use hubtrace::studies::{Rig, Rows, SweepFindings};
use nalgebra::Vector3;

/// mm, deg, % or no unit: what two ways of rounding leave of the largest numbers here.
const AGREES: f64 = 1e-9;

#[test]
fn the_right_rows_of_a_mirrored_car_mirror_the_left_ones() {
    for geometry in cars().iter().filter(|geometry| geometry.mirrored) {
        for study in studies(geometry) {
            for row in &study.of(Side::Right) {
                let twin = study.row(Side::Left, row.ride_height_mm(), -row.body_roll_deg(), row.commanded_mm());
                let image = twin.mirrored();
                image.agrees(row, AGREES, &geometry.name);
            }
        }
    }
}

#[test]
fn a_right_side_that_is_given_as_the_mirror_image_changes_nothing() {
    for path in CARS {
        let text = std::fs::read_to_string(path).expect("a readable file");
        let drawn = GeometryFile::parse(path, &text).expect("a sound file").geometry;
        if !drawn.mirrored {
            continue;
        }
        let own = GeometryFile::parse(path, &with_own_right_side(&text, &drawn)).unwrap_or_else(|e| panic!("{e}"));
        assert!(!own.geometry.mirrored && own.geometry.right.wheel == drawn.right.wheel, "{path}");
        for (study, again) in studies(&drawn).iter().zip(&studies(&own.geometry)) {
            // The roll centre is then met, not drawn to the middle: a line crossed at a small angle.
            study.agrees(again, 1e-7, path);
        }
    }
}

#[test]
fn a_car_with_its_sides_exchanged_rolls_the_other_way() {
    let drawn = read("geometries/as-built.toml");
    let other = |corner: &Corner, side| Corner { side, ..corner.clone() };
    let exchanged =
        Geometry { left: other(&drawn.right, Side::Left), right: other(&drawn.left, Side::Right), ..drawn.clone() };
    for (study, again) in studies(&drawn).iter().zip(&studies(&exchanged)) {
        for side in Side::BOTH {
            let across = if side == Side::Left { Side::Right } else { Side::Left };
            for row in &study.of(side) {
                let twin = again.row(across, row.ride_height_mm(), -row.body_roll_deg(), row.commanded_mm());
                twin.mirrored().agrees(row, 1e-7, "as built");
            }
        }
    }
}

#[test]
fn moving_the_datum_leaves_every_measure_that_is_no_coordinate() {
    for geometry in cars() {
        let by = Vector3::new(-1234.5, 0.0, 417.25);
        for (study, again) in studies(&geometry).iter().zip(&studies(&moved(&geometry, by))) {
            study.plus(by).agrees(again, 1e-8, &geometry.name);
        }
    }
}

#[test]
fn a_car_of_twice_the_size_measures_twice_the_lengths() {
    for geometry in cars() {
        for (study, again) in studies(&geometry).iter().zip(&studies(&scaled(&geometry, 2.0))) {
            study.times(2.0).agrees(again, 1e-8, &geometry.name);
        }
    }
}

#[test]
fn every_link_keeps_its_length_in_every_row() {
    for geometry in cars() {
        let sweep = SweepFindings::of(Rig::new(&geometry).expect("a sound design"), &Side::BOTH);
        for row in sweep.rows().into_iter().flat_map(Rows::iter) {
            let wheel = sweep.car.judged.rig.wheel(row.side);
            let posture = wheel.path.at(row.bump_mm).expect("inside the path");
            assert!((posture.wheel_centre() - row.wheel.wheel_centre).norm() < AGREES);
            for link in &wheel.corner.links {
                let off_mm = (posture.point(&link.upright) - link.chassis).norm() - link.length_mm();
                assert!(off_mm.abs() <= AGREES, "{}: {} off by {off_mm} mm", geometry.name, link.name);
            }
        }
    }
}

#[test]
fn every_contact_point_lies_on_its_road() {
    for geometry in cars() {
        let rig = Rig::new(&geometry).expect("a sound design");
        let grounds = Side::BOTH.map(|side| rig.wheel(side).design_contact.ground_mm);
        for study in studies(&geometry) {
            for row in study.rows() {
                let (sin, cos) = row.body_roll_deg().to_radians().sin_cos();
                let ground_mm = grounds[usize::from(row.side == Side::Right)];
                let [y, z] = ["contact_y_mm", "contact_z_mm"].map(|column| row.number(column));
                let height_mm = y * sin + (z - ground_mm) * cos + row.ride_height_mm();
                assert!(height_mm.abs() <= AGREES, "{}: {height_mm} mm above the road", geometry.name);
            }
        }
    }
}

/// The distance of the contact points needs neither scrub nor road axes. Where both sides stand on one road, that is: a car
/// as built has its tyres at heights of their own.
#[test]
fn track_change_is_that_of_the_distance_between_the_contact_points() {
    let mut tried = 0;
    for geometry in cars().iter().filter(|geometry| geometry.mirrored) {
        let [_, roll, grid] = studies(geometry);
        let rows: Vec<_> = roll.rows().iter().chain(grid.rows()).collect();
        let apart_mm = |pair: &[&Row]| {
            let [left, right] = [pair[0], pair[1]].map(|row| (row.number("contact_y_mm"), row.number("contact_z_mm")));
            (left.0 - right.0).hypot(left.1 - right.1)
        };
        let pairs: Vec<_> =
            rows.windows(2).filter(|pair| pair[0].side == Side::Left && pair[1].side == Side::Right).collect();
        let level = |pair: &&&[&Row]| pair[0].body_roll_deg() == 0.0 && pair[0].ride_height_mm() == 0.0;
        let design_mm = apart_mm(pairs.iter().find(level).expect("a design row"));
        for pair in &pairs {
            let expected_mm = apart_mm(pair) - design_mm;
            for row in *pair {
                assert!(
                    (row.number("track_change_mm") - expected_mm).abs() <= AGREES,
                    "{}: {expected_mm}",
                    geometry.name
                );
            }
            tried += 1;
        }
    }
    assert!(tried > 700, "{tried}");
}

#[test]
fn the_roll_centre_goes_to_the_other_side_when_the_roll_does() {
    for geometry in cars().iter().filter(|geometry| geometry.mirrored) {
        let [_, roll, _] = studies(geometry);
        for row in &roll.of(Side::Left) {
            let twin = roll.row(Side::Left, 0.0, -row.body_roll_deg(), None);
            let [one, other] = [row, twin].map(|row| row.get(Columns::ROLL_CENTRE_LATERAL));
            let sum = one.zip(other).map_or(0.0, |(one, other)| one + other);
            assert!(one.is_some() == other.is_some() && sum.abs() <= 1e-7, "{}: {sum}", geometry.name);
        }
    }
}
