//! A double wishbone with a toe link, written in code, and its toe curve: `cargo run --example corner`.

use hubtrace::geometry::{Corner, Geometry, Link, Side, Travel, Wheel};
use hubtrace::studies::{JudgedCar, Rig, SingularDesign, ToeCurve};
use nalgebra::Point3;

fn main() -> Result<(), SingularDesign> {
    for raised_mm in [0.0, 5.0] {
        let curve = toe_curve(raised_mm)?;
        println!("Inner end of the toe link {raised_mm} mm above the lower arm:");
        println!("  slope at design {:+.4} deg per mm of bump, toe-in positive", curve.gradient_deg_per_mm);
        println!("  worst bump steer {:.3} deg at {} mm", curve.worst_bump_steer_deg, curve.worst_at_bump_mm);
    }
    Ok(())
}

/// Bump steer of the left wheel; mm, x forward, y outboard, z up from the road.
///
/// Seen from the front the toe link is the lower arm, so that the wheel does not steer; raising its inner end spoils that.
fn toe_curve(raised_mm: f64) -> Result<ToeCurve, SingularDesign> {
    let link = |name: &str, chassis: [f64; 3], upright: [f64; 3]| Link::new(name, chassis.into(), upright.into());
    let links = [
        link("lower front", [150.0, 300.0, 180.0], [0.0, 690.0, 170.0]),
        link("lower rear", [-150.0, 300.0, 180.0], [0.0, 690.0, 170.0]),
        link("upper front", [120.0, 380.0, 430.0], [0.0, 650.0, 450.0]),
        link("upper rear", [-120.0, 380.0, 430.0], [0.0, 650.0, 450.0]),
        link("toe link", [-140.0, 300.0, 180.0 + raised_mm], [-140.0, 690.0, 170.0]),
    ];
    let (toe_deg, camber_deg, tyre_radius_mm) = (0.0, 0.0, 300.0);
    let wheel = Wheel::new(Point3::new(0.0, 740.0, 300.0), toe_deg, camber_deg, tyre_radius_mm);
    let corner = Corner { side: Side::Left, wheel, links, halfshaft: None, spring: None };
    let car =
        Geometry::mirrored("double wishbone", corner, Travel { bump_mm: 60.0, droop_mm: 60.0, ..Travel::default() });
    Ok(JudgedCar::of(Rig::new(&car)?).toe.left)
}

/// On paper: a link of 390 mm whose slope is off by 5 mm pulls its outer end by 5/390 mm for each mm of bump, and turns the
/// wheel with a lever of 140 mm about the ball joints. The end rises a little less than the wheel, which stands further out.
#[test]
fn a_toe_link_beside_its_arm_does_not_steer_and_a_raised_one_does() -> Result<(), SingularDesign> {
    assert!(toe_curve(0.0)?.worst_bump_steer_deg < 1e-9);
    let on_paper = (5.0_f64 / 390.0 / 140.0).to_degrees();
    let slope = toe_curve(5.0)?.gradient_deg_per_mm.abs();
    assert!((slope / on_paper - 1.0).abs() < 0.1, "{slope} deg/mm, on paper {on_paper}");
    Ok(())
}
