//! Mechanisms with an answer on paper.

use crate::support::{HINGED, PLANAR, Pickups, SPATIAL, car, corner};
use hubtrace::geometry::Corner;
use hubtrace::measures::{Road, RoadMeasures, WheelMeasures, contact_point, instant_axis, rod_ends};
use hubtrace::mechanism::{Linkage, Posture, SolveError, WheelPath, independent_links_at_design, margin_at_design};
use hubtrace::studies::{Rig, stations};
use nalgebra::{Point3, Rotation3, Unit, Vector3};

fn path(corner: &Corner, reach_mm: f64) -> WheelPath {
    WheelPath::follow(&Linkage::new(corner), &stations(-reach_mm, reach_mm, 5.0)).expect("a sound design")
}

fn wheel(corner: &Corner, posture: &Posture) -> WheelMeasures {
    WheelMeasures::of(corner, &Default::default(), posture)
}

#[test]
fn circular_translation_keeps_toe_and_camber() {
    let corner = translating();
    let (out, up) = ARM;
    let radius = f64::hypot(out, up);
    for posture in path(&corner, 60.0).postures() {
        let measures = wheel(&corner, posture);
        assert!(measures.toe_deg.abs() < 1e-9 && measures.camber_deg.abs() < 1e-9);
        // The arc: (y, z) of the arm from the chassis end, swung so that it rises by the bump travel.
        let rise = up + posture.bump_mm;
        let lateral = (radius * radius - rise * rise).sqrt() - out;
        let expected = Vector3::new(0.0, lateral, posture.bump_mm);
        assert!((posture.displacement - expected).norm() < 1e-9, "at {} mm", posture.bump_mm);
    }
}

/// A bolt along z is square to a level link; at both ends alike, because the upright does not turn.
#[test]
fn a_bolt_is_out_of_square_by_the_rise_of_its_link() {
    let mut corner = translating();
    for link in &mut corner.links {
        (link.chassis_bolt, link.upright_bolt) = (Some(Vector3::z_axis()), Some(Vector3::z_axis()));
    }
    for posture in path(&corner, 60.0).postures() {
        for (ends, link) in rod_ends(&corner, posture).iter().zip(&corner.links) {
            let expected = ((ARM.1 + posture.bump_mm) / link.length_mm()).asin().to_degrees().abs();
            for deg in [ends.chassis_deg, ends.upright_deg] {
                assert!((deg.expect("a bolt") - expected).abs() < 1e-9, "at {} mm", posture.bump_mm);
            }
        }
    }
}

/// How far every link of [`translating`] reaches outboard and up, mm.
const ARM: (f64, f64) = (300.0, -40.0);

/// Five links of unequal length and direction whose projections on the plane x = const are equal vectors: every point of
/// the upright moves on the same circle arc, without turning.
fn translating() -> Corner {
    let (out, up) = ARM;
    let upright: [[f64; 3]; 5] = [
        [60.0, 690.0, 160.0],
        [-60.0, 680.0, 170.0],
        [30.0, 650.0, 450.0],
        [-40.0, 655.0, 440.0],
        [-130.0, 690.0, 250.0],
    ];
    let along = [90.0, -100.0, 60.0, -120.0, 40.0];
    let mut number = 0;
    let pickups: Pickups = upright.map(|u| {
        number += 1;
        ([u[0] + along[number - 1], u[1] - out, u[2] - up], u)
    });
    corner(pickups, [0.0, 750.0, 310.0], 310.0)
}

/// Five links whose chassis ends lie on one line hold every point of the upright at its distance from that line: exact
/// rotation about it.
#[test]
fn links_on_a_hinge_line_turn_the_upright_about_it() {
    let corner = corner(HINGED, [0.0, 750.0, 310.0], 310.0);
    let on_axis = Point3::new(450.0, 620.0, 300.0);
    let axis = Unit::new_normalize(Vector3::new(-15.0, -60.0, 0.0));
    for posture in path(&corner, 90.0).postures() {
        let angle = hinge_angle(&corner.wheel.centre, &on_axis, &axis, posture.bump_mm);
        let turn = Rotation3::from_axis_angle(&axis, angle);
        let centre = on_axis + turn * (corner.wheel.centre - on_axis);
        assert!((posture.wheel_centre() - centre).norm() < 1e-9);
        assert!((posture.rotation - turn.matrix()).norm() < 1e-11);
        let s = turn * Vector3::y();
        let measures = wheel(&corner, posture);
        assert!((measures.toe_deg - s.x.atan2(s.y).to_degrees()).abs() < 1e-9);
        assert!((measures.camber_deg - (-s.z).asin().to_degrees()).abs() < 1e-9);
    }
}

/// Angle about a hinge that lifts a point by `rise`: the root of a·cos + b·sin + c nearest to zero, in closed form.
fn hinge_angle(point: &Point3<f64>, on_axis: &Point3<f64>, axis: &Unit<Vector3<f64>>, rise: f64) -> f64 {
    let arm = point - on_axis;
    let along = axis.as_ref() * axis.dot(&arm);
    let (cosine, sine) = ((arm - along).z, axis.cross(&arm).z);
    let size = cosine.hypot(sine);
    let phase = sine.atan2(cosine);
    let swing = ((cosine + rise) / size).acos();
    let candidates = [phase + swing, phase - swing];
    candidates.into_iter().min_by(|a, b| a.abs().total_cmp(&b.abs())).expect("two candidates")
}

#[test]
fn the_instant_axis_of_hinged_links_is_their_hinge() {
    let corner = corner(HINGED, [0.0, 750.0, 310.0], 310.0);
    let axis = Vector3::new(-15.0, -60.0, 0.0).normalize();
    for posture in path(&corner, 60.0).postures() {
        let instant = instant_axis(posture).expect("a turning upright");
        assert!(instant.direction.cross(&axis).norm() < 1e-9);
        assert!((instant.point - Point3::new(450.0, 620.0, 300.0)).cross(&axis).norm() < 1e-7);
        assert!(instant.pitch_mm_per_rad.abs() < 1e-7);
    }
}

/// A double wishbone in the front view is a planar four-bar; Freudenstein's equation gives the rocker for each crank
/// angle (F. Freudenstein, 1954; R. L. Norton, *Design of Machinery*, "four-bar position": formula from memory).
#[test]
fn a_planar_double_wishbone_follows_freudenstein() {
    let corner = corner(PLANAR, [0.0, 750.0, 310.0], 310.0);
    let (lower_in, lower_out) = ((300.0, 180.0), (690.0, 170.0));
    let (upper_in, upper_out) = ((380.0, 430.0), (650.0, 450.0));
    let four_bar = FourBar::new(lower_in, lower_out, upper_in, upper_out);
    for posture in path(&corner, 60.0).postures() {
        let lower = posture.point(&Point3::new(0.0, lower_out.0, lower_out.1));
        let crank = (lower.z - lower_in.1).atan2(lower.y - lower_in.0);
        let upper = posture.point(&Point3::new(0.0, upper_out.0, upper_out.1));
        let expected = four_bar.rocker_end(crank);
        assert!((upper.y - expected.0).hypot(upper.z - expected.1) < 1e-9, "at {} mm", posture.bump_mm);
        assert!(posture.displacement.x.abs() < 1e-9 && wheel(&corner, posture).toe_deg.abs() < 1e-9);
    }
}

struct FourBar {
    ground_angle: f64,
    rocker_pivot: (f64, f64),
    rocker: f64,
    k: [f64; 3],
    other_branch: f64,
}

impl FourBar {
    fn new(crank_in: (f64, f64), crank_out: (f64, f64), rocker_in: (f64, f64), rocker_out: (f64, f64)) -> Self {
        let length = |a: (f64, f64), b: (f64, f64)| (b.0 - a.0).hypot(b.1 - a.1);
        let (ground, crank) = (length(crank_in, rocker_in), length(crank_in, crank_out));
        let (coupler, rocker) = (length(crank_out, rocker_out), length(rocker_in, rocker_out));
        let ground_angle = (rocker_in.1 - crank_in.1).atan2(rocker_in.0 - crank_in.0);
        let mut bar =
            Self { ground_angle, rocker_pivot: rocker_in, ..Self::of_lengths(ground, crank, coupler, rocker) };
        let at_design = bar.rocker_end((crank_out.1 - crank_in.1).atan2(crank_out.0 - crank_in.0));
        if length(at_design, rocker_out) > 1e-6 {
            bar.other_branch = -1.0;
        }
        bar
    }

    /// The crank's pivot at the origin, the rocker's on the first axis.
    fn of_lengths(ground: f64, crank: f64, coupler: f64, rocker: f64) -> Self {
        let squares = crank * crank - coupler * coupler + rocker * rocker + ground * ground;
        let k = [ground / crank, ground / rocker, squares / (2.0 * crank * rocker)];
        Self { ground_angle: 0.0, rocker_pivot: (ground, 0.0), rocker, k, other_branch: 1.0 }
    }

    /// Freudenstein: K1 cos θ4 − K2 cos θ2 + K3 = cos(θ2 − θ4), solved by the half-angle tangent.
    fn rocker_end(&self, crank: f64) -> (f64, f64) {
        let t = crank - self.ground_angle;
        let [k1, k2, k3] = self.k;
        let (a, b) = (t.cos() - k1 - k2 * t.cos() + k3, -2.0 * t.sin());
        let c = k1 - (k2 + 1.0) * t.cos() + k3;
        let half = (-b + self.other_branch * (b * b - 4.0 * a * c).sqrt()) / (2.0 * a);
        let angle = 2.0 * half.atan() + self.ground_angle;
        (self.rocker_pivot.0 + self.rocker * angle.cos(), self.rocker_pivot.1 + self.rocker * angle.sin())
    }
}

/// R. L. Norton, *Design of Machinery*, example 4-1: ground 100, crank 40, coupler 120, rocker 80 at 40° (from memory,
/// recomputed): open rocker 57.33°, crossed −98.01°. Only the lengths go in; 57.325° and −98.005° come out.
#[test]
fn the_four_bar_used_here_gives_the_textbook_example() {
    for (other_branch, printed_deg) in [(-1.0, 57.33), (1.0, -98.01)] {
        let bar = FourBar { other_branch, ..FourBar::of_lengths(100.0, 40.0, 120.0, 80.0) };
        let end = bar.rocker_end(40f64.to_radians());
        let got_deg = end.1.atan2(end.0 - 100.0).to_degrees();
        assert!((got_deg - printed_deg).abs() < 0.01, "{got_deg}");
    }
}

/// Front view of a planar double wishbone: instant centre where the arms meet, roll centre where the line from the
/// contact point to it meets the middle of the car.
#[test]
fn the_roll_centre_of_a_planar_double_wishbone_is_found_by_construction() {
    for (lower, upper, half_track) in [
        ([300.0, 180.0, 690.0, 170.0], [380.0, 430.0, 650.0, 450.0], 750.0),
        ([250.0, 160.0, 700.0, 140.0], [340.0, 420.0, 650.0, 400.0], 760.0),
    ] {
        let line = |x_in: f64, x_out: f64, [y1, z1, y2, z2]: [f64; 4]| ([x_in, y1, z1], [x_out, y2, z2]);
        let corner = corner(
            [
                line(150.0, 60.0, lower),
                line(-150.0, -60.0, lower),
                line(120.0, 30.0, upper),
                line(-120.0, -30.0, upper),
                line(-260.0, -140.0, lower),
            ],
            [0.0, half_track, 310.0],
            310.0,
        );
        let (centre_y, centre_z) = meet(lower, upper);
        let expected = -centre_z * half_track / (centre_y - half_track);
        let design = Linkage::new(&corner).design().expect("a sound design");
        let got = own_side_roll_centre(&corner, &design);
        assert!((got - expected).abs() < 1e-9, "{got} against {expected}");
    }
}

fn meet([y1, z1, y2, z2]: [f64; 4], [y3, z3, y4, z4]: [f64; 4]) -> (f64, f64) {
    let (m1, m2) = ((z2 - z1) / (y2 - y1), (z4 - z3) / (y4 - y3));
    let y = (z3 - m2 * y3 - z1 + m1 * y1) / (m1 - m2);
    (y, z1 + m1 * (y - y1))
}

fn own_side_roll_centre(corner: &Corner, posture: &Posture) -> f64 {
    let contact =
        contact_point(&corner.wheel.centre, &corner.wheel.spin_axis, corner.wheel.tyre_radius_mm, &Vector3::z());
    let road = Road::new(corner.side, 0.0, 0.0, contact.z);
    let measures = RoadMeasures::of(corner, &Default::default(), posture, &road, contact.y);
    measures.roll_centre_line.own_side_height_mm().expect("a line that meets the middle of the car")
}

/// Parallel arms, level or rising inboard by 4°: the instant centre is at infinity and nothing divides by zero.
#[test]
fn parallel_arms_put_the_roll_centre_at_half_track_times_their_slope() {
    for slope_deg in [0.0_f64, 4.0] {
        let fall = 300.0 * slope_deg.to_radians().tan();
        let arm = |x_in: f64, x_out: f64, z: f64, y: f64| ([x_in, y - 300.0, z + fall], [x_out, y, z]);
        let corner = corner(
            [
                arm(150.0, 60.0, 170.0, 690.0),
                arm(-150.0, -60.0, 170.0, 690.0),
                arm(120.0, 30.0, 450.0, 650.0),
                arm(-120.0, -30.0, 450.0, 650.0),
                arm(-260.0, -140.0, 200.0, 690.0),
            ],
            [0.0, 750.0, 310.0],
            310.0,
        );
        let design = Linkage::new(&corner).design().expect("a sound design");
        let expected = 750.0 * slope_deg.to_radians().tan();
        assert!((own_side_roll_centre(&corner, &design) - expected).abs() < 1e-9);
    }
}

/// The textbook picture: five equal parallel links leave the upright three freedoms.
#[test]
fn five_equal_parallel_links_are_singular() {
    let pickups: Pickups = SPATIAL.map(|(_, u)| ([u[0], u[1] - 400.0, u[2]], u));
    let linkage = Linkage::new(&corner(pickups, [0.0, 760.0, 300.0], 300.0));
    assert!(margin_at_design(&linkage) < 1e-8);
    assert_eq!(independent_links_at_design(&linkage), 3);
    assert_eq!(linkage.design(), Err(SolveError::Singular { bump_mm: 0.0 }));
}

/// Lines of five links that all meet one line together with the vertical through the wheel centre: bump cannot be driven.
#[test]
fn links_that_meet_one_line_with_the_vertical_through_the_wheel_are_singular() {
    // The common line: vertical through the wheel centre itself met at different heights.
    let heights = [200.0, 260.0, 330.0, 400.0, 470.0];
    let mut number = 0;
    let pickups: Pickups = SPATIAL.map(|(c, _)| {
        number += 1;
        let on_line = [0.0, 760.0, heights[number - 1]];
        (c, std::array::from_fn(|k| c[k] + 0.85 * (on_line[k] - c[k])))
    });
    let linkage = Linkage::new(&corner(pickups, [0.0, 760.0, 300.0], 300.0));
    assert!(margin_at_design(&linkage) < 1e-8);
    assert!(linkage.design().is_err());
}

#[test]
fn a_hinge_line_alone_is_not_singular() {
    let linkage = Linkage::new(&corner(HINGED, [0.0, 750.0, 310.0], 310.0));
    assert!(margin_at_design(&linkage) > 1e-3);
}

/// A planar wheel tilts with the road: camber to the road is camber less the roll angle.
#[test]
fn camber_to_the_road_of_a_planar_corner_is_camber_less_roll() {
    let geometry = car(corner(PLANAR, [0.0, 750.0, 310.0], 310.0), 60.0, 60.0);
    let roll = hubtrace::studies::Roll::run(&Rig::new(&geometry).expect("a sound design"));
    assert_eq!(roll.rows.iter().count(), 18);
    for row in roll.rows.iter() {
        let own_roll_deg = row.side.sign() * row.body_roll_deg;
        assert!((row.road.inclination_deg - (row.wheel.camber_deg - own_roll_deg)).abs() < 1e-9);
        assert!(row.closure_error_mm <= 1e-9);
    }
}
