//! The weld study against answers that need none: drawings with their points moved, and toe curves to first order with random
//! numbers of their own.

use nalgebra::{DMatrix, DVector};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use crate::file::GeometryFile;
use crate::geometry::{Coordinate, End, Geometry, Interval, Limits, Pickup, Quantity, Side, Tape, Weld, WeldGroup};
use crate::mechanism::{LinkSetting, Linkage, WheelPath};
use crate::studies::errors::model::pickup_errors;
use crate::studies::errors::{ErrorModel, ErrorSource};
use crate::studies::sensitivity::Sensitivity;
use crate::studies::tolerance::jigs::{JigBudget, Jigged, jig_budget};
use crate::studies::tolerance::last_bracket::last_brackets;
use crate::studies::tolerance::model::WheelModel;
use crate::studies::tolerance::monte_carlo::{MonteCarlo, Watch};
use crate::studies::tolerance::study::ToleranceStudy;
use crate::studies::tolerance::worst::WorstBumpSteer;
use crate::studies::tolerance::{Finish, LastBracket, Tolerance};
use crate::studies::{JudgedCar, Rig};

fn demo() -> Geometry {
    GeometryFile::parse("demo", include_str!("../../../geometries/first-cut.toml")).expect("a sound car").geometry
}

/// A standard normal number: twelve uniform ones (their sum has variance 1), good to a per cent of its percentiles.
fn normal(random: &mut StdRng) -> f64 {
    (0..12).map(|_| random.random::<f64>()).sum::<f64>() - 6.0
}

/// The number that this share of them stays below.
fn below(mut values: Vec<f64>, share: f64) -> f64 {
    values.sort_by(f64::total_cmp);
    values[(share * values.len() as f64) as usize]
}

/// Toe curve of a wheel whose coordinates are off, to first order, deg.
fn curve(sensitivity: &Sensitivity, errors_mm: &[f64]) -> Vec<f64> {
    let rows = sensitivity.toe_change_deg.iter().zip(&sensitivity.toe_by_coordinate);
    rows.map(|(drawn, by)| drawn + by.iter().zip(errors_mm).map(|(by, error)| by * error).sum::<f64>()).collect()
}

fn worst(curve: &[f64]) -> f64 {
    curve.iter().fold(0.0, |worst, change| f64::max(worst, change.abs()))
}

fn with_study<T>(geometry: &Geometry, work: impl FnOnce(&ToleranceStudy) -> T) -> T {
    let rig = Rig::new(geometry).expect("the drawing holds its wheels");
    work(&ToleranceStudy::new(&JudgedCar::of(rig)).expect("the drawing moves"))
}

/// A wheel built with errors and its links adjusted is the drawing with its points moved: the verdicts on that are its ranges.
#[test]
fn a_built_wheel_is_the_drawing_with_its_points_moved() {
    let mut geometry = demo();
    let is_of_travel = |quantity: &&Quantity| quantity.limit_key().is_some();
    for &quantity in Quantity::ALL.iter().filter(is_of_travel) {
        geometry.limits.set(quantity, Some(Interval::either_way(1e3)));
    }
    let mut random = StdRng::seed_from_u64(5);
    let rig = Rig::new(&geometry).expect("the drawing holds its wheels");
    for side in Side::BOTH {
        let model = WheelModel::new(&rig, side).expect("the drawing moves");
        let errors_mm: [f64; Coordinate::COUNT] = std::array::from_fn(|_| 3.0 * (random.random::<f64>() - 0.5));
        let mut moved = geometry.clone();
        for (coordinate, error_mm) in Coordinate::all().zip(errors_mm) {
            let link = &mut moved.corner_mut(side).links[coordinate.link];
            let point = if coordinate.end == End::Chassis { &mut link.chassis } else { &mut link.upright };
            point[coordinate.axis.index()] += error_mm;
        }
        let judged = JudgedCar::of(Rig::new(&moved).expect("it holds its wheels"));
        model.build(&[pickup_errors(&errors_mm)], LinkSetting::Adjusted, |_, built| {
            let (built, _) = built.expect("the wheel moves");
            let mut compared = 0;
            for (quantity, range) in model.tracked.iter().zip(&built.ranges) {
                let is_it = |side_: Option<Side>| side_ == Some(side);
                let verdict = judged.verdicts.iter().find(|v| v.quantity == *quantity && is_it(v.side));
                // Slope and bow are no verdicts.
                let Some(expected) = verdict.and_then(|verdict| verdict.range) else { continue };
                let got = range.expect("a value");
                let off = f64::max((got.low - expected.low).abs(), (got.high - expected.high).abs());
                assert!(off < 1e-7, "{side:?} {quantity:?}: {got:?} for {expected:?}");
                compared += 1;
            }
            assert!(compared >= 9, "{compared}");
            let [scrub, recession] = [built.travel[0].lateral_mm, built.travel[0].wheel_centre_x_mm].map(f64::abs);
            assert!(scrub > 0.0 && recession > 0.0 && !built.travel.is_empty());
        });
    }
}

/// Welds, a bracket with its own error and the tape add as squares; a car passes with both its wheels. First order, 10,000
/// cars with other random numbers.
#[test]
fn the_share_of_cars_is_that_of_curves_drawn_by_other_random_numbers() {
    const CARS: usize = 10_000;
    let (weld_mm, upright_mm, group_mm, tape_mm) = (0.08, 0.05, 0.15, 0.06);
    let mut geometry = demo();
    geometry.limits = Limits::default();
    geometry.tape = Some(Tape { sd_mm: tape_mm });
    let group = WeldGroup {
        name: "own".into(),
        pickups: vec![Pickup { link: 4, end: End::Chassis }],
        sd_mm: group_mm,
        together: false,
    };
    let weld = Weld { groups: vec![group], upright_sd_mm: Some(upright_mm), ..Weld::new(weld_mm) };
    let sd_mm: Vec<f64> = Coordinate::all()
        .map(|coordinate| match (coordinate.link, coordinate.end) {
            (4, End::Chassis) => f64::hypot(group_mm, tape_mm),
            (_, End::Chassis) => f64::hypot(weld_mm, tape_mm),
            (_, End::Upright) => f64::hypot(upright_mm, tape_mm),
        })
        .collect();
    let mut random = StdRng::seed_from_u64(17);
    let mut draw = |sensitivity: &Sensitivity| {
        let errors_mm: Vec<f64> = sd_mm.iter().map(|sd_mm| sd_mm * normal(&mut random)).collect();
        worst(&curve(sensitivity, &errors_mm))
    };
    let worse: Vec<f64> = with_study(&geometry, |study| {
        (0..CARS).map(|_| f64::max(draw(&study.sensitivities.left), draw(&study.sensitivities.right))).collect()
    });
    for share in [0.2, 0.5, 0.84] {
        let limit_deg = below(worse.clone(), share);
        geometry.limits.set(Quantity::BumpSteer, Some(Interval::either_way(limit_deg)));
        let options = MonteCarlo::new(&geometry, &ErrorSource::Weld(weld.clone()), CARS, 3, Finish::Adjusted);
        let built = with_study(&geometry, |study| study.build(&options, Watch::NONE).expect("no bracket is last"));
        let got = built.within_bump_steer.expect("a limit").value();
        let standard_error = (2.0 * share * (1.0 - share) / CARS as f64).sqrt();
        assert!((got - share).abs() < 4.0 * standard_error, "{got} for {share}");
        // There is no other limit.
        assert_eq!(built.within_all_limits, built.within_bump_steer);
    }
}

/// The toe link of the demo, welded last on wheels that are otherwise as drawn.
fn last(gauge_sd_deg: f64, placing_sd_mm: f64) -> Tolerance {
    let geometry = demo();
    let bracket = LastBracket { link: "toe link".into(), gauge_sd_deg, placing_sd_mm };
    let options = MonteCarlo::new(&geometry, &ErrorSource::Weld(Weld::new(1e-9)), 4000, 3, Finish::Last(bracket));
    with_study(&geometry, |study| study.build(&options, Watch::NONE).expect("it can flatten"))
}

/// Toe by outboard and up of the toe link's bracket, and the curve that is left when it stands best.
fn flattened() -> (DMatrix<f64>, DVector<f64>) {
    let mut geometry = demo();
    // Where the bracket stands best, by steps of Newton on drawings with it moved; the bolt keeps it level and square.
    for _ in 0..5 {
        let (by, change, plane) = bracket(&geometry);
        let step = -(by.clone().pseudo_inverse(1e-12).expect("finite numbers") * change);
        let chassis = &mut geometry.left.links[4].chassis;
        *chassis += plane[0] * step[0] + plane[1] * step[1];
    }
    let (by, change, _) = bracket(&geometry);
    (by, change)
}

/// Toe by the moves of the toe link's bracket square to its bolt, and the toe curve.
fn bracket(geometry: &Geometry) -> (DMatrix<f64>, DVector<f64>, [nalgebra::Vector3<f64>; 2]) {
    let bolt = geometry.left.links[4].chassis_bolt.expect("the demo has bolts").into_inner();
    let up = nalgebra::Vector3::z();
    let plane = [bolt.cross(&up).normalize(), up];
    with_study(geometry, |study| {
        let sensitivity = &study.sensitivities.left;
        let first = Coordinate::all().position(|c| c.link == 4 && c.end == End::Chassis).expect("the toe link");
        let rows = &sensitivity.toe_by_coordinate;
        let by = DMatrix::from_fn(rows.len(), 2, |row, k| (0..3).map(|a| rows[row][first + a] * plane[k][a]).sum());
        (by, DVector::from_column_slice(&sensitivity.toe_change_deg), plane)
    })
}

#[test]
fn a_bracket_that_is_welded_last_ends_up_off_by_its_placing_error() {
    const PLACING_MM: f64 = 0.4;
    let (by, left) = flattened();
    let mut random = StdRng::seed_from_u64(23);
    let drawn: Vec<f64> = (0..20_000)
        .map(|_| {
            let off_mm = DVector::from_fn(2, |_, _| PLACING_MM * normal(&mut random));
            (&left + &by * off_mm).amax()
        })
        .collect();
    let built = last(0.0, PLACING_MM);
    let spread = built.spread(Quantity::BumpSteer, Side::Left).expect("it is always told");
    for (got, share) in [(spread.p50, 0.5), (spread.p90, 0.9)] {
        let expected = below(drawn.clone(), share);
        assert!((got / expected - 1.0).abs() < 0.06, "{share}: {got} for {expected}");
    }
}

#[test]
fn a_bracket_that_is_placed_to_a_gauge_goes_off_by_the_errors_of_its_readings() {
    const GAUGE_DEG: f64 = 0.02;
    let (by, left) = flattened();
    let design = left.iter().position(|change| *change == 0.0).expect("the drawn wheel height");
    let inverse = by.clone().pseudo_inverse(1e-12).expect("finite numbers");
    let mut random = StdRng::seed_from_u64(29);
    let drawn: Vec<f64> = (0..20_000)
        .map(|_| {
            let readings =
                DVector::from_fn(
                    left.len(),
                    |row, _| {
                        if row == design { 0.0 } else { GAUGE_DEG * normal(&mut random) }
                    },
                );
            (&left - &by * (&inverse * readings)).amax()
        })
        .collect();
    let built = last(GAUGE_DEG, 0.0);
    let spread = built.spread(Quantity::BumpSteer, Side::Left).expect("it is always told");
    for (got, share) in [(spread.p50, 0.5), (spread.p90, 0.9)] {
        let expected = below(drawn.clone(), share);
        assert!((got / expected - 1.0).abs() < 0.06, "{share}: {got} for {expected}");
    }
}

/// A bracket is moved from where it came out to where the curve is flat: the move that the drawing asks for, less the error of the
/// bracket itself, when nothing else is off.
#[test]
fn a_last_bracket_moves_by_what_its_own_error_leaves_to_the_flat_curve() {
    const BRACKET_MM: f64 = 2.0;
    let geometry = demo();
    let mut flat = geometry.clone();
    let mut needed_mm = nalgebra::Vector2::zeros();
    for _ in 0..5 {
        let (by, change, plane) = bracket(&flat);
        let step = -(by.pseudo_inverse(1e-12).expect("finite numbers") * change);
        flat.left.links[4].chassis += plane[0] * step[0] + plane[1] * step[1];
        needed_mm += nalgebra::Vector2::new(step[0], step[1]);
    }
    let mut random = StdRng::seed_from_u64(37);
    let moves_mm: Vec<f64> = (0..20_000)
        .map(|_| (needed_mm - nalgebra::Vector2::from_fn(|_, _| BRACKET_MM * normal(&mut random))).norm())
        .collect();
    let pickups = vec![Pickup { link: 4, end: End::Chassis }];
    let group = WeldGroup { name: "own".into(), pickups, sd_mm: BRACKET_MM, together: false };
    let weld = Weld { groups: vec![group], ..Weld::new(1e-9) };
    let last = LastBracket { link: "toe link".into(), gauge_sd_deg: 0.0, placing_sd_mm: 0.0 };
    let options = MonteCarlo::new(&geometry, &ErrorSource::Weld(weld), 4000, 3, Finish::Last(last));
    let built = with_study(&geometry, |study| study.build(&options, Watch::NONE).expect("it can flatten"));
    let (p50_mm, p95_mm) = built.last_moves_mm.expect("a last bracket").left;
    for (got, share) in [(p50_mm, 0.5), (p95_mm, 0.95)] {
        let expected = below(moves_mm.clone(), share);
        assert!((got / expected - 1.0).abs() < 0.03, "{share}: {got} for {expected}");
    }
}

/// Only two brackets are off by anything that counts: a jig helps there and nowhere else.
#[test]
fn jigs_go_where_the_errors_are() {
    let loose = [Pickup { link: 3, end: End::Upright }, Pickup { link: 4, end: End::Chassis }];
    let mut geometry = demo();
    let group = WeldGroup { name: "loose".into(), pickups: loose.to_vec(), sd_mm: 0.5, together: false };
    let weld = Weld { groups: vec![group], ..Weld::new(1e-4) };
    let drawn_deg = with_study(&geometry, |study| study.sensitivities.left.worst_deg());
    geometry.limits.set(Quantity::BumpSteer, Some(Interval::either_way(drawn_deg + 0.02)));
    let options = MonteCarlo::new(&geometry, &ErrorSource::Weld(weld), 1000, 9, Finish::Adjusted);
    let budget_of = |jig_sd_mm: f64| -> JigBudget {
        with_study(&geometry, |study| {
            let without = study.build(&options, Watch::NONE).expect("no bracket is last");
            assert!(without.within_bump_steer.expect("a limit").value() < 0.8);
            jig_budget(study, &options, jig_sd_mm, Watch::NONE).expect("no bracket is last").expect("jigs help")
        })
    };
    let budget = budget_of(0.01);
    let place = |held: &Jigged| match held {
        Jigged::Coordinate(coordinate) => coordinate.pickup(),
        Jigged::Pickup(pickup) => *pickup,
    };
    let [two, three, two_pickups, _] = &budget.few[..] else { panic!("{budget:?}") };
    for set in [two, three] {
        assert!(set.held.iter().all(|held| loose.contains(&place(held))), "{set:?}");
    }
    assert!(loose.iter().all(|pickup| two_pickups.held.iter().any(|held| place(held) == *pickup)), "{two_pickups:?}");
    assert_eq!((two_pickups.chance.value(), two_pickups.predicted), (1.0, 1.0));
    let enough = budget.enough.as_ref().expect("six dimensions are all there is");
    assert!(enough.held.len() <= 6 && enough.held.iter().all(|held| loose.contains(&place(held))), "{enough:?}");
    // Jigs that are hardly better than the weld leave a share that is neither all nor none.
    let loose_jigs = budget_of(0.3);
    assert!(loose_jigs.few.iter().any(|set| (0.3..0.95).contains(&set.predicted)), "{loose_jigs:?}");
    for set in budget.few.iter().chain(&budget.enough).chain(&loose_jigs.few) {
        let standard_error = (2.0 * set.predicted * (1.0 - set.predicted) / 1000.0).sqrt();
        assert!((set.predicted - set.chance.value()).abs() <= 4.0 * standard_error + 0.005, "{set:?}");
    }
}

/// Its stop stands 0.3 mm before the wheel binds: wheels that do are followed one by one and counted.
#[test]
fn wheels_that_do_not_get_through_their_travel_are_counted() {
    const WHEELS: usize = 60;
    let text = include_str!("../../../tests/outside/near-fold.toml");
    let geometry = GeometryFile::parse("near fold", text).expect("a sound car").geometry;
    let rig = Rig::new(&geometry).expect("the drawing holds its wheels");
    let errors = ErrorModel::new(&geometry, Side::Left, &ErrorSource::Weld(Weld::new(0.3)), None);
    let bump_mm = WheelModel::new(&rig, Side::Left).expect("the drawing moves").bump_mm;
    let moves = |wheel: &u64| {
        let drawn = pickup_errors(&errors.draw(4, *wheel, Side::Left));
        WheelPath::follow_built(&Linkage::new(&geometry.left), &drawn, LinkSetting::Adjusted, &bump_mm).is_ok()
    };
    let lost = WHEELS - (0..WHEELS as u64).filter(moves).count();
    assert!(lost > 5 && lost < WHEELS - 5, "{lost}");
    let worst = WorstBumpSteer::of(&rig, Side::Left, &errors, WHEELS, 4).expect("the drawing moves");
    assert_eq!((worst.lost(), worst.wheels()), (lost, WHEELS));
}

/// A bracket tried as the last by hand.
#[derive(Debug)]
struct TriedByHand {
    link: String,
    /// Mean of the worst bump steer that is left.
    left_deg: f64,
    /// 95 of 100 moves are shorter.
    move_mm: f64,
}

/// Every bracket in cars of other random numbers, to first order.
fn brackets_by_hand(study: &ToleranceStudy, weld_mm: f64, trial: &LastBracket) -> Vec<TriedByHand> {
    const CARS: usize = 3000;
    let (sensitivity, corner) = (&study.sensitivities.left, &study.geometry.left);
    let rows = &sensitivity.toe_by_coordinate;
    let of = |link: usize| {
        // None of them stands up; without one a bracket goes up and the way in which its link is long.
        let long = corner.links[link].upright - corner.links[link].chassis;
        let across = if long.x.abs() > long.y.abs() { nalgebra::Vector3::y() } else { nalgebra::Vector3::x() };
        let bolt = corner.links[link].chassis_bolt.map_or(across, |bolt| *bolt);
        let first = bolt.cross(&nalgebra::Vector3::z()).normalize();
        let plane = [first, bolt.cross(&first)];
        let at = Coordinate::all().position(|c| c.link == link && c.end == End::Chassis).expect("five links");
        let by: DMatrix<f64> =
            DMatrix::from_fn(rows.len(), 2, |row, k| (0..3).map(|a| rows[row][at + a] * plane[k][a]).sum());
        let strongest = by.clone().svd(false, false).singular_values.max();
        let inverse = by.clone().pseudo_inverse(0.02 * strongest).expect("finite numbers");
        let mut random = StdRng::seed_from_u64(31);
        let (left_deg, moves_mm): (Vec<f64>, Vec<f64>) = (0..CARS)
            .map(|_| {
                let errors_mm: Vec<f64> = (0..Coordinate::COUNT).map(|_| weld_mm * normal(&mut random)).collect();
                let change = DVector::from_vec(curve(sensitivity, &errors_mm));
                let read: DVector<f64> = DVector::from_fn(rows.len(), |_, _| trial.gauge_sd_deg * normal(&mut random));
                let move_mm: DVector<f64> = &inverse * (-&change - read);
                let off_mm: DVector<f64> = DVector::from_fn(2, |_, _| trial.placing_sd_mm * normal(&mut random));
                ((change + &by * (&move_mm + off_mm)).amax(), move_mm.norm())
            })
            .unzip();
        TriedByHand {
            link: corner.links[link].name.clone(),
            left_deg: left_deg.iter().sum::<f64>() / CARS as f64,
            move_mm: below(moves_mm, 0.95),
        }
    };
    (0..5).map(of).collect()
}

/// What a bracket is best at depends on what goes wrong: a gauge that reads badly sends it far, a weld that pulls spoils the
/// one that turns the wheel most.
#[test]
fn the_bracket_that_is_advised_leaves_the_flattest_curve_of_those_within_reach() {
    const REACH_MM: f64 = 10.0;
    for (text, weld_mm, gauge_sd_deg, placing_sd_mm, expected) in [
        (include_str!("../../../geometries/semi-trailing.toml"), 0.5, 0.0, 0.0, "inner pivot, middle tube"),
        (include_str!("../../../geometries/semi-trailing.toml"), 0.5, 0.0, 1.0, "inner pivot, lower tube"),
        (include_str!("../../../geometries/as-built.toml"), 0.3, 0.0, 1.0, "lower rear"),
        (include_str!("../../../geometries/as-built.toml"), 0.3, 0.05, 1.0, "toe link"),
        // None within reach: the one that goes least far.
        (include_str!("../../../geometries/first-cut.toml"), 0.5, 0.0, 1.0, "toe link"),
    ] {
        let geometry = GeometryFile::parse("car", text).expect("a sound car").geometry;
        let trial = LastBracket { link: String::new(), gauge_sd_deg, placing_sd_mm };
        with_study(&geometry, |study| {
            let all = brackets_by_hand(study, weld_mm, &trial);
            let least = |way: fn(&TriedByHand) -> Option<f64>| {
                let able = all.iter().filter_map(|bracket| Some((&bracket.link, way(bracket)?)));
                able.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(link, _)| link.clone())
            };
            let by_hand = least(|tried| (tried.move_mm <= REACH_MM).then_some(tried.left_deg));
            let by_hand = by_hand.or_else(|| least(|tried| Some(tried.move_mm)));
            assert_eq!(by_hand.as_deref(), Some(expected), "{all:?}");
            let errors = ErrorModel::new(&geometry, Side::Left, &ErrorSource::Weld(Weld::new(weld_mm)), None);
            let got = last_brackets(&study.sensitivities.left, &geometry.left, &errors, 3, &trial);
            assert_eq!(got.first(), by_hand.as_ref(), "{all:?}");
        });
    }
}
