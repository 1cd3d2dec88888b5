//! Every sheet: what it is of, whether it passed, and words that stand free of each other and of every curve.

use hubtrace::geometry::{Geometry, Interval, LengthUnit, MeasuredSd, Quantity, Side};
use hubtrace::outputs::{CarShown, ChartSource, chart_names, charts_beside};
use hubtrace::studies::{CarFindings, JudgedCar, Rig};

use crate::paper::Paper;
use crate::{assert_contains, car, drawn, words};

/// Cars that fill their sheets in different ways.
fn cars() -> Vec<(&'static str, Geometry)> {
    let many_heights = |name: &str, step_mm: f64| {
        let mut geometry = car(name);
        geometry.travel.ride_heights_mm =
            (1..=5).flat_map(|k| [-step_mm, step_mm].map(|by| by * f64::from(k))).collect();
        geometry
    };
    let mut binding = car("first-cut.toml");
    (binding.travel.bump_mm, binding.travel.droop_mm) = (500.0, 500.0);
    let mut uneven_binding = car("as-built.toml");
    (uneven_binding.travel.bump_mm, uneven_binding.travel.droop_mm) = (300.0, 300.0);
    let mut stopped = car("first-cut.toml");
    stopped.travel.roll_deg = 6.0;
    let mut still = car("first-cut.toml");
    (still.travel.bump_mm, still.travel.droop_mm, still.travel.roll_deg) = (0.0, 0.0, 0.0);
    let mut long = car("as-built.toml");
    long.name = "A car with a name as long as the sheet is wide ".repeat(4);
    for corner in [&mut long.left, &mut long.right] {
        corner.links.iter_mut().for_each(|link| link.name = format!("{} of the frame behind the seat", link.name));
    }
    let mut wide_limit = car("as-built.toml");
    wide_limit.limits.set(Quantity::BumpSteer, Some(Interval::either_way(0.2)));
    vec![
        ("first cut", car("first-cut.toml")),
        ("double wishbone", car("double-wishbone.toml")),
        ("semi-trailing", car("semi-trailing.toml")),
        ("as built", car("as-built.toml")),
        ("in inches", Geometry { units: LengthUnit::Inch, ..car("as-built.toml") }),
        ("ride heights", many_heights("first-cut.toml", 5.0)),
        ("ride heights of two wheels", many_heights("as-built.toml", 2.0)),
        ("binding", binding),
        ("two wheels that bind", uneven_binding),
        ("on its stops", stopped),
        ("not moved", still),
        ("long names", long),
        ("wide limit", wide_limit),
    ]
}

#[test]
fn words_never_lie_on_curves_or_on_each_other_and_stay_on_the_sheet() {
    let mut faults = Vec::new();
    for (name, geometry) in cars() {
        for (file, svg) in drawn(&geometry, &Side::BOTH) {
            faults.extend(Paper::read(&svg).faults().into_iter().map(|fault| format!("{name}, {file}: {fault}")));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// On a phone nothing lies on another: two panels stand below each other, and names of curves have less room.
#[test]
fn words_stand_free_on_a_phone_too() {
    let mut faults = Vec::new();
    for name in ["first-cut.toml", "as-built.toml"] {
        let mut geometry = car(name);
        geometry.travel.ride_heights_mm = vec![-15.0, 10.0];
        let found = CarFindings::of(JudgedCar::of(Rig::new(&geometry).expect("a car that moves")), &Side::BOTH);
        let source = ChartSource { file: "rear.toml", input_sha256: "0123456789abcdef", car: CarShown::AsInFile };
        let (car, curves, sides) = (&found.judged, &found.curves, &Side::BOTH[..]);
        // Views of the linkage are drawn to scale, as on paper.
        let wanted = chart_names(car, curves, sides, source).into_iter().filter(|name| !name.starts_with("view-"));
        let wanted: Vec<String> = wanted.map(str::to_owned).collect();
        let charts = charts_beside((car, curves), None, (sides, source), (&wanted, true)).expect("charts");
        for (chart, svg) in charts {
            faults.extend(Paper::read(&svg).faults().into_iter().map(|fault| format!("{name}, {chart}: {fault}")));
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

impl Paper {
    /// Words that a reader would stumble over.
    pub fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        for (k, words) in self.words.iter().enumerate() {
            let on_sheet =
                words.left >= 0.0 && words.top >= 0.0 && words.right <= self.width && words.bottom <= self.height;
            if !on_sheet {
                faults.push(format!("{:?} runs off the sheet", words.text));
            }
            for other in self.words[..k].iter().filter(|other| words.meets(other)) {
                faults.push(format!("{:?} lies on {:?}", words.text, other.text));
            }
            for line in self.curves().filter(|line| words.is_cut_by(&line.path)) {
                faults.push(format!("{:?} is cut by a line of {}", words.text, line.stroke));
            }
        }
        faults
    }
}

#[test]
fn every_sheet_says_whose_file_it_shows_and_whether_the_car_is_drawn_tuned_or_measured() {
    let foot = |geometry: &Geometry, expected: &str| {
        let charts = drawn(geometry, &Side::BOTH);
        charts.iter().for_each(|(file, _)| assert_contains(&words(&charts, file), &[expected]));
    };
    let mut geometry = car("first-cut.toml");
    foot(&geometry, "rear.toml · SHA-256 0123456789ab… · the car as drawn");
    let sd = Some([1.0; 3]);
    geometry.left.links[0].measured_sd = MeasuredSd { chassis_mm: sd, upright_mm: sd };
    geometry.right.links[0].measured_sd = MeasuredSd { chassis_mm: sd, upright_mm: sd };
    foot(&geometry, "the car as in the file");
    for corner in [&mut geometry.left, &mut geometry.right] {
        corner.links.iter_mut().for_each(|link| link.measured_sd = MeasuredSd { chassis_mm: sd, upright_mm: sd });
    }
    foot(&geometry, "rear.toml · SHA-256 0123456789ab… · the car as measured");
    geometry.tuned = true;
    foot(&geometry, "the car as tuned");
}

#[test]
fn every_sheet_has_a_verdict() {
    let charts = drawn(&car("first-cut.toml"), &Side::BOTH);
    for (file, verdict) in [
        ("toe.svg", "bump steer, limit ±0.05 deg: FAIL"),
        ("camber.svg", "camber change, limit ±1.6 deg: pass"),
        ("scrub.svg", "scrub, limit ±13 mm: pass"),
        ("clearance.svg", "clearance, limit ≥5 mm: pass"),
        ("plunge.svg", "halfshaft plunge, limit ±10 mm: pass"),
        ("recession.svg", "recession, limit ±5 mm: pass"),
        ("roll-centre.svg", "roll-centre height, limit 40 to 110 mm: pass"),
        ("anti-squat.svg", "anti-squat, limit 10 to 40 %: pass"),
        ("roll-steer.svg", "roll steer, limit ±0.3 deg: pass"),
        ("rod-ends.svg", "rod-end misalignment, limit 0 to 14 deg: pass"),
        ("joint-angles.svg", "inner joint angle, limit 0 to 14 deg: pass"),
        ("view-front.svg", "14 limits: 13 pass, 1 fail. FAIL: bump steer."),
        ("view-side.svg", "14 limits: 13 pass, 1 fail. FAIL: bump steer."),
        ("view-plan.svg", "14 limits: 13 pass, 1 fail. FAIL: bump steer."),
    ] {
        assert_contains(&words(&charts, file), &[verdict]);
    }
    assert_eq!(charts.len(), 14);
}

#[test]
fn the_verdict_of_one_wheel_names_it_and_what_is_not_checked_has_its_reason() {
    let mut geometry = car("as-built.toml");
    geometry.limits.set(Quantity::BumpSteer, Some(Interval::either_way(0.1)));
    geometry.limits.set(Quantity::Recession, None);
    let charts = drawn(&geometry, &Side::BOTH);
    assert_contains(&words(&charts, "toe.svg"), &["bump steer, limit ±0.1 deg: FAIL right"]);
    assert_contains(&words(&charts, "recession.svg"), &["recession: not checked (no limit in the file)"]);
    let left = drawn(&geometry, &[Side::Left]);
    assert_contains(&words(&left, "toe.svg"), &["bump steer, limit ±0.1 deg: pass"]);
    assert_contains(&words(&left, "view-plan.svg"), &["12 limits: 12 pass, 0 fail."]);
}

/// A print has the size that the sheet says, the same both ways, and fits A4 and Letter laid across.
#[test]
fn every_sheet_has_a_size_in_millimetres() {
    for (name, geometry) in cars() {
        for (file, svg) in drawn(&geometry, &Side::BOTH) {
            let paper = Paper::read(&svg);
            let (across, up) = (paper.width_mm / paper.width, paper.height_mm / paper.height);
            assert!((across - up).abs() < 1e-5 && across > 0.02, "{name}, {file}: {across} and {up} mm");
            assert!(paper.width_mm <= 297.0 && paper.height_mm <= 210.0, "{name}, {file}: {} mm high", paper.height_mm);
        }
    }
}
